#include "samples.h"

#include <stdio.h>
#include <stdlib.h>

void samples_add(struct samples *samples, int64_t ns)
{
	if (samples->count == samples->room) {
		samples->room = samples->room ? samples->room * 2 : 1024;
		samples->ns = realloc(samples->ns, samples->room * sizeof samples->ns[0]);
		if (!samples->ns) abort();
	}
	samples->ns[samples->count++] = ns;
}

static int compare(const void *a, const void *b)
{
	int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;

	return (x > y) - (x < y);
}

int64_t samples_quantile(struct samples *samples, double q)
{
	size_t at = (size_t)(q * (double)samples->count);

	if (samples->count == 0) return 0;
	qsort(samples->ns, samples->count, sizeof samples->ns[0], compare);
	return samples->ns[at < samples->count ? at : samples->count - 1];
}

size_t samples_negative(const struct samples *samples)
{
	size_t count = 0;

	for (size_t i = 0; i < samples->count; i++) count += samples->ns[i] < 0;
	return count;
}

void samples_print(const char *name, struct samples *samples)
{
	printf("  %-28s %6zu  p50 %8.1f  p99 %8.1f  max %8.1f us\n", name, samples->count,
	       (double)samples_quantile(samples, 0.5) / 1e3, (double)samples_quantile(samples, 0.99) / 1e3,
	       (double)samples_quantile(samples, 1) / 1e3);
}

void samples_free(struct samples *samples)
{
	free(samples->ns);
	*samples = (struct samples){ 0 };
}

int64_t samples_clock(clockid_t clock)
{
	struct timespec ts;

	clock_gettime(clock, &ts);
	return ts.tv_sec * INT64_C(1000000000) + ts.tv_nsec;
}

uint64_t samples_random(uint64_t *state)
{
	uint64_t z = (*state += 0x9e3779b97f4a7c15u);

	z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
	z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
	return z ^ (z >> 31);
}
