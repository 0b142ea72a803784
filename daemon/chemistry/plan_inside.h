/* plan_inside.h: between the files of the plan. Everything lies in the caller's workspace. */
#ifndef WET_PLAN_INSIDE_H
#define WET_PLAN_INSIDE_H

#include "wetside/plan.h"

__extension__ typedef __int128 wide;

#define NEVER INT64_MAX          /* a sum of squares that no split reaches */
#define WORKING_AGE (1LL << 61)  /* added to a working solution's age: older than any bottle */
#define SPLIT_WORK_MOST 2000000u /* nodes of one search for a split */
#define DRAW_WORK_MOST 400000u   /* nodes of one search for draws */
#define DRAW_WORK_MANY 2000u     /* the same, of many pieces, where nothing is proven */
#define WORK_MOST 4000000u       /* nodes of one plan, all in all */
#define HURRIED_WORK_MOST 60000u /* the same while something else waits */
#define ASIDE_WORK_MOST 30000u   /* nodes of a search that only seeks a way out */

/* Bottles that may be mixed with each other, usable ones only, in the order they are drawn. */
struct lot {
	int first, count; /* into search.order */
	int64_t stock_ul;
	int64_t drawn_ul; /* by the draws being tried */
};

/* A bath being tried: `source` is a lot, or a working solution's index in the ask. */
struct turn {
	bool is_working;
	int source;
	int first, run; /* loads */
	int64_t volume_ul, stock_ul;
	int behind;    /* of two baths: so many loads before `first` it is the second of; run may be 0 */
	int rotations; /* of two baths */
};

/* All baths of one solution, with its share of the keys. Arrays hold one entry a load, of two baths two: its first's and
 * its second's. */
struct draws {
	int turn_count;
	struct turn *turns;
	int64_t *age, *id; /* keys 3 and 6 */
	int mixed;         /* key 4 */
	int64_t gone_ul;   /* key 5 */
};

/* A lot as it now stands: the bottle that is drawn from next, and what is left. */
struct head {
	int64_t age_ns, id;
	int64_t left_ul, head_ul; /* in the lot; in that bottle */
	bool is_last;             /* that bottle is the lot's last */
};

#define STATE_WORDS (WET_PLAN_SOURCES + 4)

/* What was learnt of a state. */
struct learnt {
	uint32_t stamp; /* of the search that it is of */
	uint32_t first; /* its words */
	int count;
	bool is_barren; /* nothing goes on from here */
	uint32_t best;  /* seen to the end on ages like those of this best, with so many mixed and so much gone; 0: not */
	int mixed;
	int64_t gone_ul;
};

struct memo {
	struct learnt *slots;
	uint64_t *words;
	size_t slot_count, word_count; /* slot_count: 0, or a power of two */
	size_t used, words_used;
	uint32_t stamp;
};

/* A load that could be. */
struct load_type {
	int64_t area_mm2;
	int v; /* its counts as one number */
	unsigned char counts[WET_PLAN_SIZES];
};

/* One solution's sources. */
struct shelf {
	int first_lot, lot_count;
	int64_t stock_ul; /* of all lots */
};

#define REACH_V 2401 /* (6 + 1)^4: no 24 pieces of up to four sizes have more remainders */

/* For every remainder of pieces: see plan_reach.c. Sets of counts of loads are bits. */
struct reach {
	uint32_t *counts;         /* of each size, a byte a size */
	int64_t *needs;           /* [loads][remainder]: least stock */
	int64_t *baths;           /* [remainder]: least stock in baths that are used again */
	uint32_t *one, *before;   /* what one source could serve; all before it */
	uint32_t *all;            /* [solution][remainder]: what all its sources could */
	bool is_known[WET_PLAN_SOLUTIONS];
};

struct search {
	const struct wet_plan_ask *ask;
	/* what is asked, as it may be varied to find out why there is no plan */
	int counts[WET_PLAN_SIZES], pieces,
		least_size;    /* without the trial; least_size: the smallest area there is */
	int only_solution; /* -1: all */
	bool ignores_age, mixes_lots;
	bool wants_any;    /* whether there is a plan, not which is the best */
	int64_t trial_mm2; /* 0: no trial */
	int trial_size;
	int64_t area_mm2; /* of all pieces, without the trial */
	/* the shelf */
	struct shelf shelves[WET_PLAN_SOLUTIONS];
	struct lot *lots;
	int lot_count, *order;
	/* splits */
	bool is_small; /* few enough pieces for a proof */
	int radix[WET_PLAN_SIZES], v_count, type_count, layers;
	struct load_type *types;
	int *type_of;     /* type with these counts, -1: none */
	int64_t *squares; /* [layer][v]: least sum of squares of so many loads */
	struct wet_plan_load *loads, *best_loads;
	int64_t *areas;  /* of the loads being tried, in order, trial included */
	int64_t *barren; /* the areas last found to have no draws, barren_count of them */
	int barren_count;
	int64_t limit; /* no split over this is looked at */
	struct memo memo;
	struct reach reach; /* of several sizes, few pieces; else never known */
	/* results */
	struct draws tried[WET_PLAN_SOLUTIONS], found[WET_PLAN_SOLUTIONS], best[WET_PLAN_SOLUTIONS];
	bool has_best;
	bool is_cut;    /* the search for a split met its limit */
	bool is_proven; /* no limit was met on the way to the best */
	int best_count; /* loads, trial included */
	int64_t best_squares;
	int loads_bound;
	uint64_t work;
	uint64_t split_work;
	uint64_t work_most, draw_most;
};

/* plan_memo.c */
void plan_memo_clear(struct memo *m); /* a new search; before the first, too */
/* What was learnt of the state with these words, a new entry if it is new, with so many spare words behind its own;
 * NULL: no more can be learnt. */
struct learnt *plan_memo_of(struct memo *m, const uint64_t *words, int count, int spare);

bool plan_head(const struct search *k, int lot, struct head *ret_head); /* false: it is empty */
bool plan_is_taken(const struct draws *now, int working);
/* Appends the shelf as k->tried[solution] leaves it, from words[n] on; returns how many words there are then. Lots that no
 * bath to come can be drawn from, having less than least_ul, are left out; what is lost in them is added to *gone_ul. */
int plan_state_words(const struct search *k, int solution, int64_t least_ul, uint64_t *words, int n, int64_t *gone_ul);

/* plan_draw.c */
int64_t plan_least_ul(const struct wet_plan_ask *ask, int solution); /* of the vessel it is used in */
int64_t plan_most_ul(const struct wet_plan_ask *ask, int solution);
int64_t plan_volume(const struct search *k, int solution,
					int64_t area_mm2); /* least working volume for one load */
int64_t plan_stock(const struct wet_plan_solution *s,
				   int64_t volume_ul); /* stock in so much, as it is measured */
int64_t plan_working_left(const struct search *k, const struct wet_plan_working *w);
bool plan_is_usable(const struct search *k, const struct wet_plan_working *w);
void plan_shelve(struct search *k); /* usable bottles into lots */
/* The best draws for the loads in k->areas into k->found[solution]; false: there are none. */
bool plan_draw(struct search *k, int solution, int loads);
/* For several loads in one bath: the capacity is for all, the concentrate for the largest. */
int64_t plan_volume_for(const struct search *k, int solution, int64_t area_mm2, int64_t largest_mm2);
void plan_copy_draws(struct draws *to, const struct draws *from, int entries);
int64_t plan_concentrate(const struct wet_plan_solution *s, int64_t area_mm2); /* volume for the least concentrate */
int64_t plan_capacity(const struct wet_plan_solution *s, int64_t volume_ul);   /* area that a volume bears */
/* Area that so much stock bears at most, mixed in up to `baths` baths. */
int64_t plan_area_from(const struct wet_plan_solution *s, int64_t stock_ul, int baths);
int64_t plan_too_little_in(const struct search *k, const struct lot *lot); /* in bottles of it that were drawn from */
int64_t plan_too_little(const struct search *k, const struct shelf *shelf); /* left in bottles drawn from */
/* False: by area alone, all the sources of a solution that is used again are too little. */
bool plan_could_bear(const struct search *k, int solution, int64_t area_mm2);
/* Negative: a is better. Key 3; key 6. */
int plan_compare_ages(const struct draws *a, const struct draws *b, int loads);
int plan_compare_ids(const struct draws *a, const struct draws *b, int loads);

/* plan_pair.c: two baths */
/* As plan_draw. */
bool plan_draw_pairs(struct search *k, int solution, int loads);
int64_t plan_counted(const struct wet_plan_solution *s, int64_t first_mm2, int64_t second_mm2); /* of one bath */
int plan_entries(const struct wet_plan_solution *s, int loads); /* of keys 3 and 6 */
/* Is this bath kept after the last load? */
bool plan_pair_keeps(const struct search *k, int solution, const struct draws *d, int turn);

/* plan_reach.c */
void plan_reach(struct search *k, int solution); /* fills k->reach.all of it */

/* plan_split.c */
void plan_search(struct search *k); /* fills best_* and has_best */
bool plan_type_fits(const struct search *k,
					const int *counts);       /* a load of these counts breaks no rule of its own */
int plan_least_loads(const struct search *k); /* a bound; over k->pieces: there is no split */
int64_t plan_squares_bound(const struct search *k, int loads); /* of key 2 */
int64_t plan_least_need(const struct search *k, int solution, int64_t area_mm2, int loads);

/* plan_words.c */
void plan_refuse(struct search *k, struct wet_plan_refusal *ret_refusal);

/* plan.c */
void plan_begin(struct search *k); /* after counts or flags were varied */
int plan_smallest(
	const struct wet_plan_ask *ask); /* the size with the least area of those that are asked for */

#endif
