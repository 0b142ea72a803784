/* caution.h: what is met where people work: from bath to bath of a process, in the vessel in which something is mixed,
 * down a drain, on a shelf. PURE.
 *
 * The rules are those of incompatibility.h; here they are asked about whole recipes and whole lists of weighing. What
 * is ordinary practice and no news is left out: a note (WET_SEVERITY_INFORM) about what one bath holds, or what is
 * poured into it, is told only where a condition goes with it. */
#ifndef WETSIDE_CAUTION_H
#define WETSIDE_CAUTION_H

#include "wetside/contents.h"
#include "wetside/incompatibility.h"
#include "wetside/recipe.h"

/* Capacities. */
#define WET_CAUTIONS 24 /* of one recipe, list or shelf; worst first, so that only the mildest are lost */

/* One rule that is met. */
struct wet_caution {
	const struct wet_incompatibility *rule; /* of the caller's table */
	const struct wet_override *override;    /* that decided; NULL: the rule's own severity */
	uint8_t severity, meeting;              /* enum wet_severity, enum wet_meeting */
	int16_t first, then;                    /* what meets, in its order; the same twice: within one */
};
/* The condition under which it may be; "": none. */
const char *wet_caution_needs(const struct wet_caution *caution);

/* A whole process. */
struct wet_process {
	const struct wet_incompatibility_table *table;
	const struct wet_recipe *recipe;
	const struct wet_contents *baths[WET_RECIPE_BATHS]; /* as the recipe's; NULL: nobody knows what it holds */
	bool is_stale_air; /* the room is hardly aired: what stands in open trays is breathed */
};
/* What its baths hold, and what a print carries from each to the next: `first` and `then` are places of baths. A rinse
 * or a wash ends carry-over; a bath that nobody knows meets nothing. Worst first, then in the order of the process; a
 * rule once for two baths. Returns how many there are, at most WET_CAUTIONS. */
int wet_process_cautions(const struct wet_process *process, struct wet_caution ret_cautions[WET_CAUTIONS]);

/* Each with each, down a drain or on a shelf: `first` and `then` are places of things, `first` the smaller. Worst first.
 * Returns how many there are, at most WET_CAUTIONS. */
int wet_cautions_among(const struct wet_incompatibility_table *table, enum wet_meeting meeting,
					   const struct wet_thing *things, int thing_count, struct wet_caution ret_cautions[WET_CAUTIONS]);

/* Acetic acid over 28 % goes into a solution of sulfite only after it was stirred into so many parts of water: S.
 * Anchell, The Darkroom Cookbook, 3rd ed., 2008, p. 268, makes 28 % acid so (3 parts and 8); rounded up. */
#define WET_POUR_WATER_PARTS 3

/* From here on water is hot: it burns in a moment, and caustic soda makes it boil. Our decision. */
#define WET_POUR_HOT_MC 40000

/* What pouring a list of weighing meets, step by step. */
struct wet_pouring {
	int count;
	struct wet_caution cautions[WET_CAUTIONS]; /* `then`: the step, `first`: what is in the vessel before it (-1) */
	bool is_diluted[WET_WEIGH_STEPS]; /* this acid goes into WET_POUR_WATER_PARTS parts of cold water first: else forbidden */
	bool is_dust[WET_WEIGH_STEPS];    /* a powder that harms who breathes it or gets it on the skin */
};
/* Each rule once, where it is worst; worst first. */
void wet_pouring_cautions(const struct wet_incompatibility_table *table, const struct wet_hazard_table *hazards,
						  const struct wet_substances *substances, const struct wet_weigh_out *list,
						  struct wet_pouring *ret_pouring);

#endif
