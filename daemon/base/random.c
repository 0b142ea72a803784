/* random.c: splitmix64.
 * Source: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014. */
#include "base/random.h"

void wet_random_seed(struct wet_random *random, uint64_t seed)
{
	random->state = seed;
}

uint64_t wet_random_next(struct wet_random *random)
{
	uint64_t z = (random->state += 0x9E3779B97F4A7C15u);
	z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
	z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
	return z ^ (z >> 31);
}

uint64_t wet_random_below(struct wet_random *random, uint64_t below)
{
	uint64_t limit = UINT64_MAX - UINT64_MAX % below, v;
	do
		v = wet_random_next(random);
	while (v >= limit);
	return v % below;
}

int64_t wet_random_between(struct wet_random *random, int64_t low, int64_t high)
{
	uint64_t span = (uint64_t)high - (uint64_t)low;
	uint64_t step = span == UINT64_MAX ? wet_random_next(random) : wet_random_below(random, span + 1);
	return (int64_t)((uint64_t)low + step);
}

double wet_random_unit(struct wet_random *random)
{
	return (double)(wet_random_next(random) >> 11) * 0x1p-53;
}
