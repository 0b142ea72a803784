/* random.h: seeded random numbers (splitmix64) for tests and tokens. Not for secrets. Leaf. */
#ifndef WET_RANDOM_H
#define WET_RANDOM_H

#include <stdint.h>

struct wet_random {
	uint64_t state;
};
void wet_random_seed(struct wet_random *random, uint64_t seed);
uint64_t wet_random_next(struct wet_random *random);
/* 0 .. below - 1; below > 0. */
uint64_t wet_random_below(struct wet_random *random, uint64_t below);
/* low .. high, both included. */
int64_t wet_random_between(struct wet_random *random, int64_t low, int64_t high);
double wet_random_unit(struct wet_random *random); /* [0, 1) */

#endif
