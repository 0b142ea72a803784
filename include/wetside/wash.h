/* wash.h: how long, how often and with how much water to wash. PURE.
 *
 * One exponential describes film and resin-coated paper, but not fibre base: what lies in fibres and
 * baryta comes out "much slower" (L. P. Clerc, Photography: Theory and Practice, s. 607). So there are two
 * compartments: a fast one, emulsion and surface, and a slow one, the base. Both empty towards the water
 * they lie in, whose strength rises meanwhile; at each change what clings to the paper is carried over.
 *
 * The model plans; whether a print is washed, a test of residual thiosulfate tells. The share and the
 * half-life of the slow compartment are our model, chosen so that the published times in running water
 * leave a thousandth in the base, the ten half-lives of Studio Light 1915; no limit of a standard is
 * asserted. */
#ifndef WETSIDE_WASH_H
#define WETSIDE_WASH_H

#include "wetside/errors.h"

#include <stdbool.h>
#include <stdint.h>

/* X(NAME, word,
 *   minutes of running water or of changes, without aid, with it; minutes of the aid (0: not needed);
 *   minutes a change; fast half-life s; slow share ppm; slow half-life s, without aid, with it; liquid
 *   held, uL a dm2: surface, base)
 * RC: 4 min, from memory; needs no aid (US Army subcourse SS0509-8).
 * Fibre: 30 min thin, 90 min very thick, running or renewed every 5 min (Clerc, s. 607). With aid: 2 to 3
 * min in 20 g/L sulfite, then 10 to 20 min (a post of 2005: no better source found); the ends are given to
 * the two weights. Film: 20 min, a complete change every 3 min (US Navy NAVEDTRA 14209); with aid: from
 * memory. Fast half-life 60 s with full agitation (Studio Light 1915 and the Navy agree; still water 120
 * s: there). Liquid held: from memory, weak. */
#define WET_BASES(X)                                                                        \
	X(RC, "resin-coated", 4, 4, 0, 1, 24, 0, 0, 0, 800, 0)                                  \
	X(FIBRE_SINGLE, "fibre, single weight", 30, 10, 2, 5, 60, 250000, 226, 75, 1000, 1500)  \
	X(FIBRE_DOUBLE, "fibre, double weight", 90, 20, 3, 5, 60, 350000, 639, 142, 1000, 3000) \
	X(FILM, "film", 20, 5, 2, 3, 60, 0, 0, 0, 800, 0)

/* What is washed. */
enum wet_base {
#define WET_BASE_ENUM(name, word, plain, aided, aid, change, fast, share, slow, slow_aided, surface, held) \
	WET_BASE_##name,
	WET_BASES(WET_BASE_ENUM)
#undef WET_BASE_ENUM
		WET_BASE_N
};

/* What a wash may leave of the thiosulfate that was there: 0.2 %. "Free of hypo" of Studio Light 1915 is
 * ten half-lives, 0.1 %; our threshold is twice that, for changes of water never reach what running water
 * does. */
#define WET_WASHED_PPM 2000
/* Below 10 C fixer "cannot be adequately removed" in the tabulated time (T.O. 33B-1-1). */
#define WET_WASH_COLD_MC 10000
/* Changes in one plan; 90 minutes in cold water by short changes stay below. */
#define WET_WASH_CHANGES 64

const char *wet_base_word(enum wet_base base); /* as above; static; "?" out of range */
/* The base of a word; WET_ERR_NOT_FOUND, with the words there are. */
int wet_base_from_word(const char *word, enum wet_base *ret_base, struct wet_fault *reterr);

/* The two compartments and what they lie in; volumes are of the liquid in the paper. */
struct wet_wash_model {
	double fast_half_life_s; /* over 0 */
	double slow_half_life_s; /* over 0 where there is a slow share */
	double slow_share;       /* 0..1 of all at the begin */
	double surface_ul;       /* liquid carried over at each change */
	double held_ul;          /* liquid in the base, over 0 where there is a slow share */
};

/* The model of a base, for an area (one side) in water of a temperature (heat.h's factor for washing).
 * WET_ERR_RANGE. */
int wet_wash_model_of(enum wet_base base, bool is_aided, int64_t area_mm2, int32_t temperature_mc,
					  struct wet_wash_model *ret_model, struct wet_fault *reterr);
/* Fill and dump: what is left in the paper after each change, as a share of what was there. left[] takes
 * `changes` numbers; each change has `water_ul` of fresh water and its own time. Steps of a quarter second
 * or of a fiftieth of the fast half-life, whichever is shorter; each compartment is exponential within a
 * step. */
int wet_fill_and_dump(const struct wet_wash_model *model, int64_t water_ul, const int64_t *change_ns,
					  int changes, double *left, struct wet_fault *reterr);
/* Running water: what is left after a time, as a share. */
double wet_running_left(const struct wet_wash_model *model, double for_s);

/* What is asked. */
struct wet_wash_ask {
	enum wet_base base;
	bool is_aided;          /* a washing aid before the wash */
	int32_t temperature_mc; /* of the wash water; 0..40 C */
	int64_t area_mm2;       /* one side, of all pieces in the washer; over 0 */
	int64_t water_ul;       /* of one fill of the washer; 0: choose the least */
};

/* The plan of a wash. */
struct wet_wash_plan {
	int64_t aid_ns;                      /* 0: none asked or none needed */
	int64_t running_ns;                  /* in running water */
	int changes;                         /* by fill and dump: so many fills */
	int64_t change_ns[WET_WASH_CHANGES]; /* the first a quarter of a usual one ("short and dirty"), the
	                                        others longer by what it leaves ("Method of Washing", The Book of
	                                        Photography) */
	int64_t standing_ns;                 /* the sum of change_ns */
	int64_t least_water_ul;              /* least water of one fill for these changes */
	int64_t water_ul;                    /* of one fill as planned: as asked, or the least */
	int64_t total_water_ul;              /* of all fills */
	int32_t left_ppm;                    /* after the last change, by the model */
	double slower;    /* the factor of the temperature on the time; 1 at 18.3 C and above */
	bool is_too_cold; /* below 10 C fixer "cannot be adequately removed" in the
	                            tabulated time (T.O. 33B-1-1) */
	bool aid_is_idle; /* an aid was asked for on resin-coated paper, which needs none: left out */
};

/* Plans it. The number of changes is the published one, stretched in cold water, or more where the washer
 * holds too little water for so few. WET_ERR_RANGE: a field out of range. WET_ERR_REFUSED: no
 * WET_WASH_CHANGES changes of so little water wash it; the fault says how much does. */
int wet_wash_plan(const struct wet_wash_ask *ask, struct wet_wash_plan *ret_plan, struct wet_fault *reterr);

/* The factor of the temperature on the time: heat.h's for paper; for film the larger of that and three at
 * 60 F and below, of T.O. 33B-1-1 ("use the larger"). */
double wet_wash_slower(enum wet_base base, int32_t temperature_mc);

#endif
