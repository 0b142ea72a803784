/* plan_ways.h: the rules of a plan as they are written, by no means of the code under test, and every way
 * to split and draw, tried one by one. For shelves of a few pieces only. */
#ifndef WET_PLAN_WAYS_H
#define WET_PLAN_WAYS_H

#include "wetside/plan.h"

#define WAYS_LOADS (WET_PLAN_PIECES + 1)
#define WAYS_ENTRIES (2 * WAYS_LOADS) /* of two baths one for the first and one for the second */
#define WAYS_PIECES 6          /* that every way is tried of */
#define WAYS_OLDER (1LL << 61) /* a working solution counts as older than any bottle */

/* All keys of a plan, entry by entry. */
struct ways_keys {
	bool is_there;
	int loads;
	__extension__ __int128 squares;
	int64_t age[WET_PLAN_SOLUTIONS][WAYS_ENTRIES], id[WET_PLAN_SOLUTIONS][WAYS_ENTRIES];
	int mixed; /* fresh baths of solutions that are used again; of two baths none is counted */
	int64_t gone;
	int baths[WET_PLAN_SOLUTIONS];
};

int64_t ways_stock_in(const struct wet_plan_solution *s, int64_t volume);
/* Least volume of a bath for so much area in all, the largest load being of `largest`. */
/* The vessel that a solution is used in. */
struct wet_plan_vessel ways_vessel_of(const struct wet_plan_ask *ask, int solution);
int64_t ways_volume_needed(const struct wet_plan_ask *ask, int solution, int64_t area, int64_t largest);
bool ways_may_mix(const struct wet_plan_ask *ask, const struct wet_plan_bottle *a,
				  const struct wet_plan_bottle *b);
/* What counts in one of two baths. */
int64_t ways_counted(const struct wet_plan_solution *s, int64_t as_first, int64_t as_second);
int ways_entries(const struct wet_plan_ask *ask, int solution, int loads);
int64_t ways_smallest_piece(const struct wet_plan_ask *ask);
/* Negative: a is better; `key` is the one that differs, 0: none. */
int ways_compare(const struct wet_plan_ask *ask, const struct ways_keys *a, const struct ways_keys *b,
				 int *key);
/* The best of all ways; is_there is false where there is none. Lies in static memory until the next call. */
const struct ways_keys *ways_exhaust(const struct wet_plan_ask *ask);

#endif
