/* entries.h: entries into the ledger and out of it. Answers come through the callback, on the loop, once. */
#ifndef WET_DARKROOM_ENTRIES_H
#define WET_DARKROOM_ENTRIES_H

#include "darkroom/darkroom.h"
#include "ledger/entries.h"

struct wet_entries {
	int count;
	bool has_more; /* behind the last one */
	struct wet_entry *list;
};
/* entries is valid during the call; NULL without memory. */
typedef void wet_entries_cb(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault);

/* All of them, or none and the fault of the first that can't be. `follows`: of each, see wet_ledger_put_entry. The copies in the
 * answer have their revisions; wall time is set here. */
void wet_darkroom_put_entries(struct wet_darkroom *darkroom, const struct wet_entry *entries, const int *follows, int count,
							  wet_entries_cb *cb, void *ctx);
void wet_darkroom_get_entries(struct wet_darkroom *darkroom, const struct wet_entry_query *query, wet_entries_cb *cb, void *ctx);

#endif
