/* exchange.h: the whole ledger row by row: out, in pages, and into another ledger (or the same once more).
 *
 * Inside the daemon; the same thread as ledger.h. Every walk begins after a key, so that a page is one short read on the
 * worker's connection; a callback that returns WET_LEDGER_FULL ends it well. What comes in goes through the same checks as
 * what wetside writes itself. */
#ifndef WET_LEDGER_EXCHANGE_H
#define WET_LEDGER_EXCHANGE_H

#include "ledger/ledger.h"

#define WET_LEDGER_FULL (-1)                /* a callback's: enough for now */
#define WET_OUTCOME_UNFINISHED "unfinished" /* of a run that was live in the ledger it came from */

struct wet_acknowledgement {
	char person[WET_NAME_BYTES], recipe_name[WET_NAME_BYTES];
	int version;
	int64_t wall_ms;
};

/* The version of the tables. */
int wet_ledger_schema(void);

/* -- out; in the order in which it can be put in -- */
typedef int wet_ledger_recipe_cb(void *ctx, const char *hash, const char *name, const char *json,
								 size_t json_bytes);
typedef int wet_ledger_vessel_row_cb(void *ctx, int64_t id, const struct wet_vessel *vessel, int64_t wall_ms);
typedef int wet_ledger_acknowledgement_cb(void *ctx, const struct wet_acknowledgement *acknowledgement);
/* Hashes from from_hash on ("": all), so that a long recipe can be come back to. */
int wet_ledger_each_recipe(struct wet_ledger *ledger, const char *from_hash, wet_ledger_recipe_cb *cb,
						   void *ctx, struct wet_fault *reterr);
/* The history too; numbers over after_id (INT64_MIN: all). */
int wet_ledger_each_vessel_row(struct wet_ledger *ledger, int64_t after_id, wet_ledger_vessel_row_cb *cb,
							   void *ctx, struct wet_fault *reterr);
/* By person, recipe and version, after `after` (NULL: all). */
int wet_ledger_each_acknowledgement(struct wet_ledger *ledger, const struct wet_acknowledgement *after,
									wet_ledger_acknowledgement_cb *cb, void *ctx, struct wet_fault *reterr);
/* Live ones too; after_id < id <= to_id. */
int wet_ledger_each_run(struct wet_ledger *ledger, int64_t after_id, int64_t to_id, wet_ledger_run_cb *cb,
						void *ctx, struct wet_fault *reterr);
int wet_ledger_each_event_after(struct wet_ledger *ledger, int64_t run_id, int64_t after_seq,
								wet_ledger_event_cb *cb, void *ctx, struct wet_fault *reterr);

/* -- in -- */
/* With is_dry nothing is written: only told what would happen. What is there already with the same content is fine and
 * counts as not new; with other content it is WET_ERR_EXISTS, and the fault says what differs. */
int wet_ledger_import_recipe(struct wet_ledger *ledger, bool is_dry, const char *hash, const char *name,
							 const char *json, size_t json_bytes, bool *ret_is_new, struct wet_fault *reterr);
/* A vessel that was measured here keeps that: a row that is not the next of a history which ends here becomes older than
 * it. *is_latest, false before a file's first row of this name, goes from each of its rows to the next. */
int wet_ledger_import_vessel(struct wet_ledger *ledger, bool is_dry, const struct wet_vessel *vessel,
							 int64_t wall_ms, bool *is_latest, bool *ret_is_new, struct wet_fault *reterr);
int wet_ledger_import_acknowledgement(struct wet_ledger *ledger, bool is_dry,
									  const struct wet_acknowledgement *acknowledgement, bool *ret_is_new,
									  struct wet_fault *reterr);

/* One run with all that belongs to it. */
struct wet_ledger_import {
	struct wet_ledger_run run; /* is_live: it was, there */
	const struct wet_event *events;
	const int64_t *seqs; /* rising */
	int event_count;
	struct wet_stage_record stages[WET_RECIPE_STAGES];
};
/* All of it or nothing. A run is the same if it was armed under its name in the same boot at the same nanosecond, whatever its number:
 * numbers are each ledger's own, and it gets a new one if its own is taken. It never becomes live here: one that was live
 * there is kept as "unfinished", and a later file that knows how it went on completes it. */
int wet_ledger_import_run(struct wet_ledger *ledger, bool is_dry, const struct wet_ledger_import *import,
						  bool *ret_is_new, struct wet_fault *reterr);

#endif
