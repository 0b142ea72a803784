/* plan.h: how many loads, and what to draw from which bottle. PURE.
 *
 * A plan splits the pieces into loads of one vessel and gives every load, for every solution, a bath: a
 * working solution that stands there, or a fresh one mixed from bottles. Among all plans that break no
 * hard rule it is the best by these keys, in order:
 *
 *   1. fewest loads
 *   2. least difference between loads: the least sum of the squares of the loads' areas (their variance)
 *   3. oldest source first: solution by solution, load by load, the age of the oldest bottle that the
 *      load's bath was drawn from; a working solution counts as older than any bottle. Of two baths: of the
 *      load's first, then of its second, and of working solutions the one that has done most comes first
 *   4. fewest baths to mix of solutions that are used again, summed; two baths are not counted: their rule says
 *      how many there are
 *   5. least stock gone for good, microlitres, summed: in one-shot baths, in baths that afterwards bear
 *      not even the smallest piece, and left, too little to measure, in bottles that were drawn from. Of two
 *      baths: in those that are discarded
 *   6. lowest bottle id, solution by solution, load by load, as in 3
 *
 * Hard rules: the vessel's least and most volume (a solution may have a vessel of its own), slots and area;
 * capacity; age; the least concentrate an area; no bath from two lots unless that is allowed; no dilution
 * without a published time.
 *
 * How baths are made, so that "all plans" has a meaning: loads are run largest first. A lot is drawn
 * oldest bottle first, then lowest id, each emptied before the next; where lots may be mixed all bottles
 * are one lot. A bath holds no more than it must for the loads that it serves. One that is used again serves
 * some loads, one after the other, and then is not gone back to: how many is free.
 *
 * Two baths (has_second): each load passes through a first, then a second. The first serves until it cannot
 * take the next load; then it is discarded, the second becomes the first and keeps its own count, and another
 * is put behind it (the rule and its sources: wetside/capacity.h). What was before that one's turn as the
 * first, a share of all that passes through it as the second, counts in it: the second must bear that too,
 * hold as much as the largest load takes in either place, and may never have done more than the first it
 * stands behind. One that is put behind a first has its rotations and one more; over rotations_most it is no
 * first any more. Where the second may not or cannot take the next load as the first, both are discarded, and
 * another pair begins: a working solution with its own rotations, or a fresh bath with none. A fresh bath is
 * mixed when it is put behind a first, as large as its loads in both places can use. After the last load the
 * first is kept if it bears one more of the smallest piece, and the second with it; else the second alone, if
 * it may and can be the first.
 *
 * Exact up to WET_PLAN_EXACT_PIECES pieces of four sizes and twelve bottles a solution, and for equal
 * pieces; beyond, or when the search meets its own limit on work, the best found, with its distance to a
 * bound: is_exact tells. (Of random shelves of that size, with bottles alike in age far more often than real
 * ones, one of some 2,000 meets the limit, and with two baths one of some 300; most of them are such as have
 * no plan.) The same input gives the same bytes. Nothing is kept between calls; results lie in the
 * caller's workspace: under nine megabytes, most of it for what the search has learnt. */
#ifndef WETSIDE_PLAN_H
#define WETSIDE_PLAN_H

#include "wetside/errors.h"
#include "wetside/limits.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WET_PLAN_SIZES 4         /* sizes of pieces in one plan */
#define WET_PLAN_PIECES 200      /* pieces in one plan; a school's day */
#define WET_PLAN_EXACT_PIECES 24 /* of several sizes; up to here the best is proven */
#define WET_PLAN_SOLUTIONS 8     /* baths of chemistry in one process */
#define WET_PLAN_SLOTS 1000000   /* in one vessel */
#define WET_PLAN_SOURCES 64      /* bottles in one plan, and working solutions likewise */

/* What the loads need of one bath. */
struct wet_plan_solution {
	char name[WET_NAME_BYTES];     /* "developer" */
	int64_t stock_milli;           /* parts of stock, in thousandths; over 0 */
	int64_t water_milli;           /* parts of water; 0: used undiluted */
	bool has_time;                 /* a time is published for this dilution */
	bool is_one_shot;              /* poured away after one load; else used again */
	bool may_mix_lots;             /* one bath may be drawn from bottles of several lots */
	int64_t capacity_mm2_per_l;    /* of working solution; over 0 */
	int64_t least_stock_ul_per_m2; /* stock in the bath for the area of a load; 0: no such rule */
	int64_t keeps_ns;              /* a fresh bath, for wet_plan_explain; 0: not told */
	int64_t least_ul, most_ul;     /* of the vessel it is used in, where that is another; 0, 0: the plan's */
	char said_dilution[24];         /* for people, where the parts above are not what they know ("1+4"); empty: from the parts */
	bool has_second;                /* two baths, one behind the other, that rotate; never one-shot */
	int32_t second_share_ppm;       /* how much a piece in the second counts against one in the first; 0..1000000 */
	int rotations_most;             /* then both are discarded; 0..100 */
};

/* A bottle of stock on the shelf. */
struct wet_plan_bottle {
	int64_t id;
	int solution;     /* index into solutions */
	int64_t lot;      /* bottles of one lot may always be mixed */
	int64_t stock_ul; /* what is in it; 0..1e9 */
	int64_t age_ns;   /* 0.. */
	int64_t keeps_ns; /* fresh enough for unrepeatable work up to this age */
	const char *name; /* for wet_plan_explain, borrowed; NULL: its number is said */
};

/* A working solution that stands ready; only for solutions that are used again. */
struct wet_plan_working {
	int64_t id;
	int solution;
	int64_t volume_ul;
	int64_t used_mm2; /* of two baths: as the first */
	int64_t age_ns;
	int64_t keeps_ns;
	const char *name;   /* as above */
	int64_t second_mm2; /* of two baths: passed through it as the second; else 0 */
	int rotations;      /* of two baths: of the pair when it becomes, or became, the first; 0.. */
};

/* Pieces of one size. */
struct wet_plan_size {
	int64_t area_mm2; /* one piece, one side; over 0, up to 1e7 */
	int count;        /* 0.. */
	int slots;        /* that one piece takes in the vessel; 1.. */
};

/* The vessel of all loads. */
struct wet_plan_vessel {
	int64_t least_ul, most_ul; /* 0 < least <= most */
	int slots;                 /* over 0 */
	int64_t area_mm2;          /* most in one load; 0: no such limit */
};

/* What is asked. All arrays are borrowed for the call. */
struct wet_plan_ask {
	int size_count;
	struct wet_plan_size sizes[WET_PLAN_SIZES];
	struct wet_plan_vessel vessel;
	int solution_count;
	struct wet_plan_solution solutions[WET_PLAN_SOLUTIONS];
	int bottle_count;
	const struct wet_plan_bottle *bottles;
	int working_count;
	const struct wet_plan_working *workings;
	int64_t measure_least_ul; /* less than this left in a bottle cannot be measured out; 0: anything can */
	bool wants_trial;         /* one piece of the commonest size alone, before the rest */
	bool is_hurried;          /* something else waits: tens of milliseconds, not seconds; is_exact tells what it costs */
};

/* One load. */
struct wet_plan_load {
	int counts[WET_PLAN_SIZES];
	int64_t area_mm2;
	bool is_trial;
};

/* One bath: mixed, or a working solution, for a run of loads. */
struct wet_plan_bath {
	int solution;
	int first_load, load_count; /* the loads it serves: one or more, but see below */
	int working;                /* index into workings; -1: mixed fresh */
	int64_t volume_ul;          /* stock + water, or the working solution's */
	int64_t stock_ul, water_ul; /* 0 of a working solution */
	int first_draw, draw_count; /* index into draws */
	int64_t area_mm2;           /* booked on it after these loads, what it had before included */
	int64_t left_mm2;           /* that it still bears */
	bool is_kept; /* it bears one more of the smallest piece; else, and one-shot, it is to be discarded */
	/* of two baths, where first_load and load_count are those it is the first of, perhaps none */
	int second_load, second_count; /* the loads it is the second of, just before first_load; perhaps none */
	int64_t second_mm2;            /* passed through it as the second after these, what had before included */
	int rotations;                 /* as above, with the place it has here */
};

/* So much from one bottle. */
struct wet_plan_draw {
	int bottle; /* index into bottles */
	int64_t stock_ul;
};

/* X(NAME, what to do between two loads, s)
 * Fixer on the fingers leaves white marks, traces spoil the developer. Common practice, no source; so are
 * the times. */
#define WET_BETWEEN_STEPS(X)                                                           \
	X(LEAVE, "leave the next pieces in their closed cameras until all is dry", 0)      \
	X(RINSE, "rinse the tank, its lid and inside under running water", 120)            \
	X(DRY, "dry tank, lid and inside: a wet one sticks and waters the developer", 300) \
	X(HANDS, "wash hands and dry them", 60)                                            \
	X(READ, "take a new reading of the developer and the next baths", 60)

/* The steps between two loads, in order. */
enum wet_between_step {
#define WET_BETWEEN_ENUM(name, text, seconds) WET_BETWEEN_##name,
	WET_BETWEEN_STEPS(WET_BETWEEN_ENUM)
#undef WET_BETWEEN_ENUM
		WET_BETWEEN_N
};

const char *wet_between_text(enum wet_between_step step); /* static; "" out of range */
int64_t wet_between_ns(enum wet_between_step step);       /* its time; 0 out of range */

/* The plan. Arrays lie in the workspace and are valid as long as it is. */
struct wet_plan {
	int load_count, bath_count, draw_count;
	const struct wet_plan_load *loads; /* in the order they are run */
	const struct wet_plan_bath *baths; /* solution by solution, in the order of use */
	const struct wet_plan_draw *draws;
	int64_t difference_mm2; /* between the largest load and the smallest, a trial not counted */
	int64_t squares;        /* key 2, mm4 */
	int64_t gone_ul;        /* key 5 */
	int64_t between_ns;     /* all steps between loads together */
	bool is_exact;          /* proven best */
	int loads_bound;        /* no plan has fewer loads; without a trial */
	int64_t squares_bound;  /* no plan with so many loads has a smaller key 2 */
	uint64_t work;          /* steps of the search; for the bench */
};

/* Which hard rule stands in the way. */
enum wet_plan_rule {
	WET_PLAN_RULE_NONE,
	WET_PLAN_RULE_TIME,  /* a dilution without a published time */
	WET_PLAN_RULE_FIT,   /* a piece takes more slots or area than the vessel has */
	WET_PLAN_RULE_MOST,  /* one piece alone takes more than the vessel holds: capacity or concentrate */
	WET_PLAN_RULE_STOCK, /* too little stock on the shelf, or none */
	WET_PLAN_RULE_AGE,   /* there would be enough, were it fresh enough */
	WET_PLAN_RULE_LOTS,  /* there would be enough, might lots be mixed */
	WET_PLAN_RULE_N
};

/* Why there is no plan. */
struct wet_plan_refusal {
	enum wet_plan_rule rule;
	int solution;     /* that it concerns; -1: none */
	int size;         /* FIT, MOST: the size; else -1 */
	int64_t have_ul;  /* usable stock of that solution; MOST: what the vessel holds */
	int64_t need_ul;  /* at least; MOST: what one piece takes */
	int64_t short_ul; /* need - have, or 0 where it is not the amount */
	int pieces_now;   /* so many of the pieces, the largest left for later, have a plan today; 0: none */
	int loads_now;    /* in so many loads */
	bool is_proven;   /* there is none; else none was found within the limit on work */
	int line_count;
	char lines[4][WET_LINE_BYTES]; /* what is wrong, and the ways out, each with its numbers */
};

/* Bytes of workspace that a plan of this ask takes; 0 where the ask is not in range. */
size_t wet_plan_workspace_bytes(const struct wet_plan_ask *ask);

/* Plans. The workspace is any memory of wet_plan_workspace_bytes(ask), aligned as int64_t. WET_ERR_RANGE:
 * the fault names the field. WET_ERR_TOO_LONG: the workspace is too small. WET_ERR_FIT: no plan;
 * ret_refusal says why (the first line is in the fault too). ret_plan is untouched but on success,
 * ret_refusal but on WET_ERR_FIT. */
int wet_plan_make(const struct wet_plan_ask *ask, void *workspace, size_t workspace_bytes,
				  struct wet_plan *ret_plan, struct wet_plan_refusal *ret_refusal, struct wet_fault *reterr);

/* The plan for people, one line a thing: the loads and why not fewer, each bath, what is kept, what goes
 * between loads, and the offer of a trial. Returns buf; cut when too long. */
char *wet_plan_explain(const struct wet_plan_ask *ask, const struct wet_plan *plan, char *buf,
					   unsigned buf_bytes);

#endif
