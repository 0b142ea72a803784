/* Seeded random numbers. */
#include "base/random.h"

#include <criterion/criterion.h>

/* The first outputs of splitmix64 for seed 1234567, as widely printed beside the algorithm (from memory). */
Test(random, the_published_sequence)
{
	static const uint64_t want[] = { 6457827717110365317u, 3203168211198807973u, 9817491932198370423u,
									 4593380528125082431u, 16408922859458223821u };
	struct wet_random r;
	wet_random_seed(&r, 1234567);
	for (size_t i = 0; i < sizeof want / sizeof want[0]; i++)
		cr_assert_eq(wet_random_next(&r), want[i], "%zu", i);
}

Test(random, ranges_are_kept_and_filled)
{
	struct wet_random r;
	int64_t low = 0, high = 0;
	unsigned seen = 0;
	wet_random_seed(&r, 7);
	for (int i = 0; i < 2000; i++) {
		uint64_t below = wet_random_below(&r, 7);
		int64_t v = wet_random_between(&r, -3, 3), wide = wet_random_between(&r, INT64_MIN, INT64_MAX);
		double unit = wet_random_unit(&r);
		cr_assert_lt(below, 7);
		cr_assert(v >= -3 && v <= 3);
		cr_assert(unit >= 0 && unit < 1);
		seen |= 1u << below | 1u << (v + 11);
		low = wide < low ? wide : low;
		high = wide > high ? wide : high;
	}
	cr_assert_eq(seen, 0x7F7Fu, "all seven of both");
	cr_assert(low < INT64_MIN / 2 && high > INT64_MAX / 2, "the whole range is met");
	cr_assert_eq(wet_random_between(&r, 5, 5), 5);
	cr_assert_eq(wet_random_below(&r, 1), 0);
}
