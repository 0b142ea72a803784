/* cut_ways.h: all ways to cut small sheets, one by one, and a trimmer that does what a plan says. */
#ifndef WET_TESTS_CUT_WAYS_H
#define WET_TESTS_CUT_WAYS_H

#include "wetside/cutting.h"

/* The keys of the best of all ways. */
struct test_cut_best {
	int pieces;   /* as many as a sheet gives: of one sheet */
	int sheets;   /* wanted counts */
	int64_t rest; /* the largest, in square ticks */
	int stops, cuts;
};

/* By exhaustive search. Lengths up to 20 ticks, no margin. False: too many ways for this machine's memory. */
bool test_cut_all_ways(const struct wet_cut_ask *ask, struct test_cut_best *ret_best);

/* Cuts each sheet by its sequence. NULL: it gives exactly the pieces that are told; else what is wrong. */
const char *test_cut_by_plan(const struct wet_cut_ask *ask, const struct wet_cut_plan *plan);

#endif
