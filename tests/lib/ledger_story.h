/* ledger_story.h: a session of two runs as a chain of steps, each one transaction: told to a ledger, and looked for in it
 * again. A step must be there whole or not at all. */
#ifndef WET_LEDGER_STORY_H
#define WET_LEDGER_STORY_H

#include "ledger/ledger.h"

#define STORY_STEPS 14

enum story_trace { STORY_NONE, STORY_WHOLE, STORY_HALF };

/* One transaction; on failure it was rolled back. */
int story_tell(struct wet_ledger *ledger, int step, struct wet_fault *reterr);
/* What of a step is there. STORY_HALF also for a value that is not the one that was told. An error of the ledger is
 * returned. */
int story_look(struct wet_ledger *ledger, int step, enum story_trace *ret_trace, struct wet_fault *reterr);

#endif
