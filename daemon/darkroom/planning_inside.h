/* planning_inside.h: between the files of planning. */
#ifndef WET_DARKROOM_PLANNING_INSIDE_H
#define WET_DARKROOM_PLANNING_INSIDE_H

#include "darkroom/inside.h"
#include "darkroom/planning.h"

struct planning_job {
	struct wet_job job;
	struct wet_planning_request want;
	struct wet_recipe recipe;
	char recipe_hash[65];
	int64_t wall_ms;
	bool is_hurried; /* a run is live, and its acts wait for this thread */
	struct wet_planning planning;
	void *workspace;
	wet_planned_cb *cb;
	void *ctx;
};

/* The recipe's bath that a solution is mixed like. */
const struct wet_bath *planning_bath_of(const struct wet_planning *planning, int solution);
/* Bottles, baths and graduates into the question; once its solutions are known. */
int planning_ask_shelf(struct planning_job *job, struct wet_ledger *ledger, struct wet_fault *reterr);
/* What was counted as stock of its formula's own strength, as it is drawn from bottles of another. */
void planning_draw_strengths(struct planning_job *job);

#endif
