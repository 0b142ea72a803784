/* cutting.h: sheets of paper cut into pieces: the plan is sought on the ledger's thread, so that no cue waits for it. */
#ifndef WET_DARKROOM_CUTTING_H
#define WET_DARKROOM_CUTTING_H

#include "darkroom/darkroom.h"
#include "wetside/cutting.h"

#define WET_PIECE_KIND \
	"piece" /* of the ledger's entries: a piece under its number; its body as wet_cutting_piece writes it */

/* The plan is valid during the call; NULL where the fault says why. next_number: behind those of all pieces in the ledger. */
typedef void wet_cut_cb(void *ctx, const struct wet_cut_plan *plan, int next_number,
						const struct wet_fault *fault);
/* Answers through cb, once, on the loop. */
void wet_darkroom_cut(struct wet_darkroom *darkroom, const struct wet_cut_ask *ask, wet_cut_cb *cb,
					  void *ctx);

#endif
