/* entries.h: what people write down and correct: notebook entries, pieces, judgements, sheets as they were printed.
 *
 * Depends on ledger.h. An entry is a text under a kind and a name, mostly JSON of the methods; the ledger only keeps it. A
 * correction is a new revision: none is ever changed or lost, the last one holds. */
#ifndef WET_LEDGER_ENTRIES_H
#define WET_LEDGER_ENTRIES_H

#include "ledger/ledger.h"

#define WET_ENTRY_KIND_BYTES 24
#define WET_ENTRY_BYTES 3000      /* of one body; what is longer goes in parts */
#define WET_ENTRY_PARTS 64
#define WET_ENTRY_WHATEVER (-1)   /* follow whichever is the last */

struct wet_entry {
	int64_t id;
	char kind[WET_ENTRY_KIND_BYTES]; /* "note", "piece" */
	char name[WET_NAME_BYTES];
	int part;                        /* from 0; each has revisions of its own */
	int revision;                    /* from 1 */
	bool is_gone;                    /* this revision takes it away; a later one may bring it back */
	int64_t wall_ms;
	uint32_t uid;
	char person[WET_NAME_BYTES];
	char token[WET_TOKEN_BYTES];     /* the act's; asking again with it stores nothing twice */
	char body[WET_ENTRY_BYTES];
};

/* Stores it as the revision after `follows`: 0 for one that must not be there (or is gone), WET_ENTRY_WHATEVER, or the number
 * of the last one its writer saw. Sets id and revision. WET_ERR_EXISTS, WET_ERR_STALE. */
int wet_ledger_put_entry(struct wet_ledger *ledger, struct wet_entry *entry, int follows, struct wet_fault *reterr);
/* The last revision; WET_ERR_NOT_FOUND for none, and for one that is gone. */
int wet_ledger_get_entry(struct wet_ledger *ledger, const char *kind, const char *name, int part, struct wet_entry *ret_entry,
						 struct wet_fault *reterr);

/* Which entries: of a kind, or with "" of all; of a name, or with "" of all. */
struct wet_entry_query {
	char kind[WET_ENTRY_KIND_BYTES], name[WET_NAME_BYTES];
	bool with_history, with_gone;
	int64_t after_id; /* of the revisions shown; rising */
	int limit;
};
typedef int wet_ledger_entry_cb(void *ctx, const struct wet_entry *entry);
int wet_ledger_each_entry(struct wet_ledger *ledger, const struct wet_entry_query *query, wet_ledger_entry_cb *cb, void *ctx,
						  struct wet_fault *reterr);

/* From another ledger, revision by revision in their order; see exchange.h. */
int wet_ledger_import_entry(struct wet_ledger *ledger, bool is_dry, const struct wet_entry *entry, bool *ret_is_new,
							struct wet_fault *reterr);

#endif
