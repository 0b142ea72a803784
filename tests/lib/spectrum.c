#include "spectrum.h"

#include <complex.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define N (2 * (size_t)SPECTRUM_BINS)
#define RATE 48000.0
#define SILENCE 240 /* samples: 5 ms */

/* The radix-2 transform of Cooley and Tukey, in place. */
static void transform(double complex *x)
{
	const double turn = acos(-1.0);

	for (size_t i = 1, j = 0; i < N; i++) {
		size_t bit = N >> 1;

		for (; j & bit; bit >>= 1) j ^= bit;
		j ^= bit;
		if (i < j) {
			double complex swap = x[i];

			x[i] = x[j];
			x[j] = swap;
		}
	}
	for (size_t size = 2; size <= N; size *= 2) {
		double complex step = cexp(-2 * turn * I / (double)size);

		for (size_t at = 0; at < N; at += size) {
			double complex w = 1;

			for (size_t k = 0; k < size / 2; k++, w *= step) {
				double complex even = x[at + k], odd = w * x[at + k + size / 2];

				x[at + k] = even + odd;
				x[at + k + size / 2] = even - odd;
			}
		}
	}
}

int spectrum_power(const int16_t *samples, size_t count, double *ret_power)
{
	double complex *x;

	if (count > N || !(x = calloc(N, sizeof *x))) return false;
	for (size_t i = 0; i < count; i++) x[i] = samples[i] / 32768.0;
	transform(x);
	for (size_t k = 0; k < SPECTRUM_BINS; k++) {
		double size = cabs(x[k]);

		ret_power[k] = (k == 0 ? 1 : 2) * size * size / (double)N;
	}
	free(x);
	return true;
}

double spectrum_hz(size_t bin)
{
	return (double)bin * RATE / (double)N;
}

double a_weighting_db(double hz)
{
	double f2 = hz * hz;
	double response = 12194.0 * 12194.0 * f2 * f2
	                  / ((f2 + 20.6 * 20.6) * (f2 + 12194.0 * 12194.0) * sqrt(f2 + 107.7 * 107.7)
	                     * sqrt(f2 + 737.9 * 737.9));

	return 20 * log10(response) + 2.0;
}

double level_dba(const double *power, size_t sounding)
{
	double sum = 0;

	for (size_t k = 1; k < SPECTRUM_BINS; k++) sum += power[k] * pow(10, a_weighting_db(spectrum_hz(k)) / 10);
	return 10 * log10(sum / (double)sounding);
}

size_t find_notes(const int16_t *samples, size_t count, struct note_span *ret_notes, size_t max)
{
	size_t found = 0, silent = SILENCE;

	for (size_t i = 0; i < count; i++) {
		if (samples[i] == 0) {
			silent++;
			continue;
		}
		if (silent >= SILENCE) {
			if (found == max) break;
			ret_notes[found++].from = i;
		}
		ret_notes[found - 1].to = i + 1;
		silent = 0;
	}
	return found;
}

size_t find_peaks(const double *power, double apart_hz, struct peak *ret_peaks, size_t max)
{
	size_t found = 0;

	while (found < max) {
		struct peak best = { 0, 0 };

		for (size_t k = 1; k < SPECTRUM_BINS; k++) {
			bool is_near = power[k] <= best.power;

			for (size_t i = 0; i < found && !is_near; i++) is_near = fabs(spectrum_hz(k) - ret_peaks[i].hz) < apart_hz;
			if (!is_near) best = (struct peak){ spectrum_hz(k), power[k] };
		}
		if (best.power <= 0) break;
		ret_peaks[found++] = best;
	}
	return found;
}
