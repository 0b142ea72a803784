/* loudness.c: the level of speech. */
#include "sound/loudness.h"

#include "wetside/sound.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define BLOCK (WET_SAMPLE_RATE / 50)    /* 20 ms, in which the level is taken */
#define HOLD (WET_SAMPLE_RATE / 200)    /* 5 ms: peaks are held down in steps of this */
#define FADE (WET_SAMPLE_RATE / 200)    /* 5 ms at both ends */
#define ACTIVE 0.00316227766            /* -25 dB, as a ratio of power */
#define SILENT 0.003                    /* of the loudest sample: silence at the ends */
#define MARGIN (WET_SAMPLE_RATE / 100)  /* left of the silence */
#define ROUNDS 3

/* The poles of IEC 61672-1 (from memory; tests hold the filter to the standard's closed form). */
static const double high_pass_hz[] = { 20.598997, 20.598997, 107.65265, 737.86223 };
static const double low_pass_hz[] = { 12194.217, 12194.217 };
#define HIGHS 4
#define LOWS 2

struct section {
	double b0, b1, a1, x1, y1;
};

/* Six filters of first order, by the bilinear transform, each exact at its own corner. */
struct weighting {
	struct section section[HIGHS + LOWS];
};

static double gain_at_1_khz(void)
{
	double g = 1, hz = 1000;
	for (int i = 0; i < HIGHS; i++)
		g *= hz / hypot(hz, high_pass_hz[i]);
	for (int i = 0; i < LOWS; i++)
		g *= low_pass_hz[i] / hypot(hz, low_pass_hz[i]);
	return g;
}

static void weighting_init(struct weighting *w)
{
	memset(w, 0, sizeof *w);
	for (int i = 0; i < HIGHS + LOWS; i++) {
		struct section *s = &w->section[i];
		bool is_high = i < HIGHS;
		double k = tan(PI * (is_high ? high_pass_hz[i] : low_pass_hz[i - HIGHS]) / WET_SAMPLE_RATE);
		s->a1 = (k - 1) / (k + 1);
		s->b0 = (is_high ? 1 : k) / (k + 1);
		s->b1 = is_high ? -s->b0 : s->b0;
	}
	w->section[0].b0 /= gain_at_1_khz();
	w->section[0].b1 /= gain_at_1_khz();
}

static double weigh(struct weighting *w, double x)
{
	for (int i = 0; i < HIGHS + LOWS; i++) {
		struct section *s = &w->section[i];
		double y = s->b0 * x + s->b1 * s->x1 - s->a1 * s->y1;
		s->x1 = x;
		s->y1 = y;
		x = y;
	}
	return x;
}

/* Mean power of each block; gives the sum of those that are over the threshold, and how many. */
static double blocks_over(const float *sample, size_t samples, double threshold, size_t *ret_count, double *ret_loudest)
{
	struct weighting w;
	double sum = 0, loudest = 0;
	size_t count = 0;
	weighting_init(&w);
	for (size_t at = 0; at < samples; at += BLOCK) {
		size_t n = samples - at < BLOCK ? samples - at : BLOCK;
		double power = 0;
		for (size_t i = 0; i < n; i++) {
			double y = weigh(&w, sample[at + i]);
			power += y * y;
		}
		power /= BLOCK;
		if (power > loudest)
			loudest = power;
		if (power > threshold) {
			sum += power;
			count++;
		}
	}
	*ret_count = count;
	*ret_loudest = loudest;
	return sum;
}

double wet_speech_level(const float *sample, size_t samples)
{
	double loudest, ignored;
	size_t count;
	(void)blocks_over(sample, samples, INFINITY, &count, &loudest);
	if (loudest <= 0)
		return 0;
	double sum = blocks_over(sample, samples, loudest * ACTIVE, &count, &ignored);
	return count > 0 ? sqrt(sum / (double)count) : 0;
}

static double loudest_sample(const float *sample, size_t samples)
{
	double loudest = 0;
	for (size_t i = 0; i < samples; i++)
		loudest = fmax(loudest, fabs((double)sample[i]));
	return loudest;
}

void wet_speech_trim(const float *sample, size_t samples, size_t *ret_from, size_t *ret_to)
{
	double floor = loudest_sample(sample, samples) * SILENT;
	size_t from = 0, to = samples;
	while (from < to && fabs((double)sample[from]) <= floor)
		from++;
	while (to > from && fabs((double)sample[to - 1]) <= floor)
		to--;
	if (from < to) {
		from = from > MARGIN ? from - MARGIN : 0;
		to = samples - to > MARGIN ? to + MARGIN : samples;
	}
	*ret_from = from;
	*ret_to = to;
}

/* The gain of a step keeps the peaks of its neighbours down too; between the middles of two steps it goes in a straight
 * line, so it never passes what a sample needs. */
static void hold_peaks(float *sample, size_t samples)
{
	static_assert(WET_SPEECH_SAMPLES_MAX % HOLD == 0, "whole steps");
	float need[WET_SPEECH_SAMPLES_MAX / HOLD + 1], gain[WET_SPEECH_SAMPLES_MAX / HOLD + 1];
	size_t steps = (samples + HOLD - 1) / HOLD;
	for (size_t s = 0; s < steps; s++) {
		size_t at = s * HOLD, n = samples - at < HOLD ? samples - at : HOLD;
		double peak = loudest_sample(sample + at, n);
		need[s] = peak > WET_SPEECH_PEAK ? (float)(WET_SPEECH_PEAK / peak) : 1.0F;
	}
	for (size_t s = 0; s < steps; s++) {
		float before = s > 0 ? need[s - 1] : 1.0F, after = s + 1 < steps ? need[s + 1] : 1.0F;
		gain[s] = fminf(need[s], fminf(before, after));
	}
	for (size_t i = 0; i < samples; i++) {
		size_t s = i / HOLD, in = i % HOLD;
		bool is_late = in >= HOLD / 2;
		float mine = gain[s], other = is_late ? (s + 1 < steps ? gain[s + 1] : mine) : (s > 0 ? gain[s - 1] : mine);
		float share = (float)(is_late ? in - HOLD / 2 : HOLD / 2 - in) / HOLD;
		sample[i] *= mine + (other - mine) * share;
	}
}

void wet_speech_settle(float *sample, size_t samples, int16_t *out)
{
	assert(samples <= WET_SPEECH_SAMPLES_MAX);
	/* Held peaks cost some level: it is given back, a few times. */
	for (int round = 0; round < ROUNDS; round++) {
		double level = wet_speech_level(sample, samples);
		if (level <= 0)
			break;
		float gain = (float)(WET_LOUDNESS / level);
		for (size_t i = 0; i < samples; i++)
			sample[i] *= gain;
		hold_peaks(sample, samples);
	}
	for (size_t i = 0; i < samples; i++) {
		double end = fmin((double)i, (double)(samples - 1 - i)) / FADE;
		out[i] = (int16_t)lrint((double)sample[i] * fmin(1.0, end) * INT16_MAX);
	}
}
