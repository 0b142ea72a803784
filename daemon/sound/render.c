/* render.c: the tones as samples.
 *
 * Seven sounds for the dark, told apart by rhythm first and by length, register and timbre besides (people learn
 * melodies of equal length badly). Two rules: rising is "do", falling or low is "don't".
 *
 *   alarm    ###.###.###....###.###   three and two, rough: two copies a few Hz apart; nothing planned sounds so
 *   change   ##.#######               short, long, rising, full
 *   count    #....#....#....########  bright pips, and pour-out is their long last note
 *   attend   ####.##.##               long, short, short on one pitch, hollow (odd partials)
 *   answer   #.#  rising; refused: ### low;  pips: # # # to count, plucked
 *   turn     #.#.###  rising; rest: the same falling
 *   beat     #   low, short, struck
 *
 * Every note has the same A-weighted level over its length (IEC 61672-1), whatever its pitch, timbre and envelope. */
#include "sound/loudness.h"
#include "wetside/sound.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define PARTIALS 7
#define NOTES 5
#define ATTACK_SAMPLES (WET_SAMPLE_RATE * 15 / 1000)  /* 15 ms; IEC 60601-1-8 asks for a rise one does not startle at */
#define RELEASE_SAMPLES (WET_SAMPLE_RATE * 15 / 1000) /* 15 ms: no click */

struct timbre {
	double partial[PARTIALS]; /* amplitudes of 1, 2, 3 ... times the pitch */
	double beat_hz;           /* a second copy this much higher; 0: none */
	double decay_s;           /* struck or plucked: time constant; 0: sustained */
};

static const struct timbre rough = { { 1, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4 }, 31, 0 };
static const struct timbre full = { { 1, 0.8, 0.7, 0.5, 0.35, 0.25, 0 }, 0, 0 };
static const struct timbre bright = { { 1, 0.6, 0.4, 0.3, 0, 0, 0 }, 0, 0 };
static const struct timbre hollow = { { 1, 0, 0.75, 0, 0.5, 0, 0.35 }, 0, 0 };
static const struct timbre plucked = { { 1, 0.5, 0.45, 0.3, 0, 0, 0 }, 0, 0.08 };
static const struct timbre plucked_low = { { 0.6, 0.7, 0.8, 0.9, 1, 0.9, 0.7 }, 0, 0.4 };
static const struct timbre soft = { { 1, 0.4, 0.3, 0.25, 0, 0, 0 }, 0, 0 };
static const struct timbre struck = { { 0.7, 0.8, 0.9, 1, 0.6, 0, 0 }, 0, 0.06 };

struct note {
	unsigned at_ms, ms;
	double hz;
};

/* Notes end exactly where the tone's length in wetside/tones.h says; ms 0 ends the list. COUNT and PIPS repeat theirs. */
static const struct shape {
	const struct timbre *timbre;
	struct note notes[NOTES];
} shapes[WET_TONE_N] = {
	[WET_TONE_ALARM] = { &rough,
	                     { { 0, 160, 520 }, { 220, 160, 520 }, { 440, 160, 520 }, { 820, 160, 520 }, { 1040, 160, 520 } } },
	[WET_TONE_CHANGE] = { &full, { { 0, 240, 392 }, { 280, 620, 587 } } },
	[WET_TONE_POUR_OUT] = { &bright, { { 0, 800, 880 } } },
	[WET_TONE_COUNT] = { &bright, { { 0, WET_COUNT_PIP_MS, 880 } } },
	[WET_TONE_ATTEND] = { &hollow, { { 0, 300, 262 }, { 360, 140, 262 }, { 560, 140, 262 } } },
	[WET_TONE_ANSWER] = { &plucked, { { 0, 50, 659 }, { 70, 50, 784 } } },
	[WET_TONE_REFUSED] = { &plucked_low, { { 0, 260, 165 } } },
	[WET_TONE_PIPS] = { &plucked, { { 0, WET_PIP_MS, 659 } } },
	[WET_TONE_TURN] = { &soft, { { 0, 60, 440 }, { 80, 60, 554 }, { 160, 180, 740 } } },
	[WET_TONE_REST] = { &soft, { { 0, 60, 740 }, { 80, 60, 554 }, { 160, 180, 440 } } },
	[WET_TONE_BEAT] = { &struck, { { 0, 60, 220 } } },
};

static size_t samples_of_ns(int64_t ns)
{
	return ns <= 0 ? 0 : (size_t)((ns * (WET_SAMPLE_RATE / 1000) + 500000) / 1000000);
}

static size_t samples_of_ms(unsigned ms)
{
	return (size_t)ms * (WET_SAMPLE_RATE / 1000);
}

size_t wet_tone_samples(enum wet_tone tone, int pips, uint32_t rate_milli)
{
	if ((unsigned)tone >= WET_TONE_N) return 0;
	return samples_of_ns(wet_tone_length_ns(tone, pips, rate_milli));
}

/* A-weighting as a factor of amplitude, 1 at 1,000 Hz: the closed form of IEC 61672-1 (pole frequencies from memory;
 * test_sound holds the same form to the standard's table). */
static double a_weight(double hz)
{
	double f2 = hz * hz;
	double poles = (f2 + 20.6 * 20.6) * sqrt((f2 + 107.7 * 107.7) * (f2 + 737.9 * 737.9)) * (f2 + 12194.0 * 12194.0);

	return 12194.0 * 12194.0 * f2 * f2 / poles * pow(10.0, 2.00 / 20.0);
}

static double envelope(const struct timbre *timbre, size_t i, size_t n)
{
	double up = (double)(i + 1) / ATTACK_SAMPLES, down = (double)(n - i) / RELEASE_SAMPLES;
	double level = fmin(1.0, fmin(up, down));

	return timbre->decay_s > 0 ? level * exp(-(double)i / (timbre->decay_s * WET_SAMPLE_RATE)) : level;
}

/* What an amplitude of 1 must be multiplied by so that the note has the loudness of all. */
static double note_gain(const struct timbre *timbre, double hz, size_t n)
{
	double power = 0, energy = 0;

	for (int k = 0; k < PARTIALS; k++) {
		double a = timbre->partial[k] * a_weight(hz * (k + 1));
		double b = timbre->beat_hz > 0 ? timbre->partial[k] * a_weight((hz + timbre->beat_hz) * (k + 1)) : 0;

		power += (a * a + b * b) / 2;
	}
	for (size_t i = 0; i < n; i++) {
		double e = envelope(timbre, i, n);

		energy += e * e;
	}
	return WET_LOUDNESS / sqrt(power * energy / (double)n);
}

/* Partials of one pitch at an angle: odd ones as cosines, so that the first sample is not zero; even ones as sines,
 * which keeps the peaks down. The k-th comes from the one before by turning it once more. */
static double partials(const struct timbre *timbre, double angle)
{
	double c1 = cos(angle), s1 = sin(angle), c = c1, s = s1, sum = timbre->partial[0] * c1;

	for (int k = 1; k < PARTIALS; k++) {
		double turned = c * c1 - s * s1;

		s = s * c1 + c * s1;
		c = turned;
		sum += timbre->partial[k] * (k % 2 == 0 ? c : s);
	}
	return sum;
}

static void render_note(const struct timbre *timbre, double hz, size_t n, double level, int16_t *out)
{
	double gain = note_gain(timbre, hz, n) * level * INT16_MAX;
	double step = 2 * PI * hz / WET_SAMPLE_RATE, beat_step = 2 * PI * (hz + timbre->beat_hz) / WET_SAMPLE_RATE;

	for (size_t i = 0; i < n; i++) {
		double x = partials(timbre, step * (double)i);

		if (timbre->beat_hz > 0) x += partials(timbre, beat_step * (double)i);
		out[i] = (int16_t)lrint(fmax(INT16_MIN, fmin(INT16_MAX, x * envelope(timbre, i, n) * gain)));
	}
	/* However soft it is, a note begins at its first sample: so an onset can be found exactly. */
	if (n > 0 && out[0] == 0 && level > 0) out[0] = 1;
}

/* The same note again and again, each at its exact place: PIPS and COUNT. */
static void render_repeats(const struct shape *shape, int64_t spacing_ns, double level, int16_t *out, size_t total)
{
	size_t n = samples_of_ms(shape->notes[0].ms);

	if (spacing_ns <= 0 || n > total) return;
	render_note(shape->timbre, shape->notes[0].hz, n, level, out);
	for (int64_t i = 1;; i++) {
		size_t at = samples_of_ns(i * spacing_ns);

		if (at + n > total) break;
		memcpy(out + at, out, n * sizeof *out);
	}
}

void wet_tone_render(enum wet_tone tone, int pips, uint32_t rate_milli, uint32_t level_milli, int16_t *out)
{
	size_t total = wet_tone_samples(tone, pips, rate_milli);
	double level = (level_milli > 1000 ? 1000 : level_milli) / 1000.0;
	const struct shape *shape;

	if (total == 0) return;
	shape = &shapes[tone];
	memset(out, 0, total * sizeof *out);
	if (tone == WET_TONE_PIPS) {
		render_repeats(shape, WET_PIP_SPACING_MS * INT64_C(1000000), level, out, total);
	} else if (tone == WET_TONE_COUNT) {
		render_repeats(shape, wet_tone_spacing_ns(rate_milli), level, out, total);
	} else {
		for (int i = 0; i < NOTES && shape->notes[i].ms > 0; i++) {
			const struct note *note = &shape->notes[i];
			size_t at = samples_of_ms(note->at_ms), n = samples_of_ms(note->ms);

			if (at + n <= total) render_note(shape->timbre, note->hz, n, level, out + at);
		}
	}
}
