/* cutting.h: sheets of paper cut into pieces: the plan is sought on the ledger's thread, so that no cue waits for it. */
#ifndef WET_DARKROOM_CUTTING_H
#define WET_DARKROOM_CUTTING_H

#include "darkroom/darkroom.h"
#include "wetside/cutting.h"

/* The plan is valid during the call; NULL where the fault says why. */
typedef void wet_cut_cb(void *ctx, const struct wet_cut_ask *ask, const struct wet_cut_plan *plan,
						const struct wet_fault *fault);
/* Answers through cb, once, on the loop. */
void wet_darkroom_cut(struct wet_darkroom *darkroom, const struct wet_cut_ask *ask, wet_cut_cb *cb,
					  void *ctx);

#endif
