/* samples.h: for benches: measured times, their quantiles, and the clock. */
#ifndef WET_TESTS_SAMPLES_H
#define WET_TESTS_SAMPLES_H

#include <stddef.h>
#include <stdint.h>
#include <time.h>

struct samples {
	int64_t *ns; /* owned; zero the struct to begin, samples_free at the end */
	size_t count, room;
};

/* Aborts without memory: a bench has nothing better to do. */
void samples_add(struct samples *samples, int64_t ns);
/* The q-th quantile, 0 to 1, nearest rank; sorts. 0 if there is none. */
int64_t samples_quantile(struct samples *samples, double q);
/* How many are below zero. */
size_t samples_negative(const struct samples *samples);
/* "name: N, p50 ... p99 ... max ... us" */
void samples_print(const char *name, struct samples *samples);
void samples_free(struct samples *samples);

int64_t samples_clock(clockid_t clock);
/* splitmix64 */
uint64_t samples_random(uint64_t *state);

#endif
