/* spectrum.h: for tests, what is in a sound: spectrum, A-weighted level, notes. Knows nothing of how it was made. */
#ifndef WET_TESTS_SPECTRUM_H
#define WET_TESTS_SPECTRUM_H

#include <stddef.h>
#include <stdint.h>

#define SPECTRUM_BINS (1 << 16) /* of a transform over twice as many samples: 2.7 s at 48 kHz */

/* Power of each bin (0..SPECTRUM_BINS-1) of samples (full scale 1) padded with zeros; the sum over all bins is the sum
 * of the squares of the samples. Bin k is k * 48000 / (2 * SPECTRUM_BINS) Hz. 0: too long or no memory. */
int spectrum_power(const int16_t *samples, size_t count, double *ret_power);
double spectrum_hz(size_t bin);

/* IEC 61672-1, in dB. */
double a_weighting_db(double hz);

/* A-weighted level of samples, dB of full scale, over `sounding` samples. */
double level_dba(const double *power, size_t sounding);

struct note_span {
	size_t from, to; /* samples from..to-1 */
};
/* Notes: what stands between silences of 5 ms or more. Gives their number, at most max. */
size_t find_notes(const int16_t *samples, size_t count, struct note_span *ret_notes, size_t max);

struct peak {
	double hz, power;
};
/* The strongest peaks, at least `apart_hz` from each other, strongest first. Gives their number. */
size_t find_peaks(const double *power, double apart_hz, struct peak *ret_peaks, size_t max);

#endif
