/* ledger.h: what must not be forgotten, in one SQLite file.
 *
 * Depends on base (and the event struct of process) and sqlite3. No threads: every call comes from one thread,
 * the worker's. locking_mode=EXCLUSIVE before journal_mode=WAL (no shared memory file), synchronous=FULL.
 * Rows are typed columns: replay parses no JSON. Migrations are numbered, one file each. */
#ifndef WET_LEDGER_H
#define WET_LEDGER_H

#include "wetside/errors.h"
#include "wetside/run.h"
#include "wetside/stock.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct wet_ledger;

/* Opens or creates. WET_ERR_LOCKED (two daemons), WET_ERR_NEWER, WET_ERR_READONLY, WET_ERR_FULL, WET_ERR_CORRUPT, WET_ERR_IO,
 * each with the path and what to do in the fault. */
int wet_ledger_open(struct wet_ledger **ret_ledger, const char *path, struct wet_fault *reterr);
void wet_ledger_close(struct wet_ledger *ledger); /* NULL is fine */

/* A transaction round several calls (group commit): begin, calls, commit. On a failed commit everything since
 * begin is undone and the error returned; the caller keeps its records and tries again. */
int wet_ledger_begin(struct wet_ledger *ledger, struct wet_fault *reterr);
int wet_ledger_commit(struct wet_ledger *ledger, struct wet_fault *reterr);
void wet_ledger_rollback(struct wet_ledger *ledger);

/* A frozen recipe, by hash; storing it again is fine. */
int wet_ledger_put_recipe(struct wet_ledger *ledger, const char *hash, const char *name, const char *json,
						  size_t json_bytes, struct wet_fault *reterr);
/* *ret_json is malloc'ed and the caller's. */
int wet_ledger_get_recipe(struct wet_ledger *ledger, const char *hash, char **ret_json,
						  size_t *ret_json_bytes, struct wet_fault *reterr);

/* One run's row. */
struct wet_ledger_run {
	int64_t id;                /* given by the caller, unique for ever (wet_ledger_next_run_id) */
	char name[WET_NAME_BYTES]; /* "creek"; unique among live runs */
	char recipe_name[WET_NAME_BYTES];
	char recipe_hash[65];
	uint32_t owner_uid;
	bool group_controls; /* the group may control it too */
	char person[WET_NAME_BYTES];
	struct wet_run_setup setup; /* without its recipe pointer; stored as typed columns */
	char armed_boot_id[37];
	int64_t armed_boot_ns, armed_wall_ms;
	bool is_live;
	char outcome[WET_NAME_BYTES]; /* "finished", "abandoned"; empty while live */
	int64_t ended_wall_ms;
};
int wet_ledger_next_run_id(struct wet_ledger *ledger, int64_t *ret_id, struct wet_fault *reterr);
int wet_ledger_put_run(struct wet_ledger *ledger, const struct wet_ledger_run *run, struct wet_fault *reterr);
/* Ends of the stages of a finished run, so that a later version of the rules rewrites no history: a run that has ended
 * stays as it is (WET_ERR_EXISTS, but the same end once more is fine). */
int wet_ledger_finish_run(struct wet_ledger *ledger, int64_t run_id, const char *outcome,
						  int64_t ended_wall_ms, const struct wet_stage_record *stages, int stage_count,
						  struct wet_fault *reterr);

/* Appends an event; seq is the caller's and counts from 1 in each run. Of a write that fails, WET_ERR_EXISTS (that seq is
 * there), WET_ERR_NOT_FOUND (no such run), WET_ERR_INVALID and WET_ERR_RANGE (could not be read back) are final: trying
 * again cannot help. */
int wet_ledger_append(struct wet_ledger *ledger, int64_t run_id, int64_t seq, const struct wet_event *event,
					  struct wet_fault *reterr);

/* Reads. A callback returns 0 to go on; anything else stops and is returned. */
typedef int wet_ledger_run_cb(void *ctx, const struct wet_ledger_run *run);
typedef int wet_ledger_event_cb(void *ctx, int64_t seq, const struct wet_event *event);
typedef int wet_ledger_stage_cb(void *ctx, int stage, const struct wet_stage_record *record);
/* A row that cannot be read comes as NULL: one damaged run must not keep the others from going on. */
int wet_ledger_each_live_run(struct wet_ledger *ledger, wet_ledger_run_cb *cb, void *ctx,
							 struct wet_fault *reterr);
/* Finished runs, newest first, with id < before_id (INT64_MAX: from the newest), at most limit. */
int wet_ledger_each_finished_run(struct wet_ledger *ledger, int64_t before_id, int limit,
								 wet_ledger_run_cb *cb, void *ctx, struct wet_fault *reterr);
int wet_ledger_get_run(struct wet_ledger *ledger, int64_t run_id, struct wet_ledger_run *ret_run,
					   struct wet_fault *reterr);
/* wet_ledger_each_event stops at a row that can't be read (WET_ERR_CORRUPT). The other passes it as NULL and goes on: a live
 * picture is better served by all that can be read. */
int wet_ledger_each_event(struct wet_ledger *ledger, int64_t run_id, wet_ledger_event_cb *cb, void *ctx,
						  struct wet_fault *reterr);
int wet_ledger_each_readable_event(struct wet_ledger *ledger, int64_t run_id, wet_ledger_event_cb *cb, void *ctx,
						  struct wet_fault *reterr);
int wet_ledger_each_stage(struct wet_ledger *ledger, int64_t run_id, wet_ledger_stage_cb *cb, void *ctx,
						  struct wet_fault *reterr);

/* Vessels as measured (a wet rehearsal) or told; latest wins, history is kept. */
int wet_ledger_put_vessel(struct wet_ledger *ledger, const struct wet_vessel *vessel, int64_t wall_ms,
						  struct wet_fault *reterr);
int wet_ledger_get_vessel(struct wet_ledger *ledger, const char *name, struct wet_vessel *ret_vessel,
						  struct wet_fault *reterr); /* WET_ERR_NOT_FOUND */
typedef int wet_ledger_vessel_cb(void *ctx, const struct wet_vessel *vessel);
int wet_ledger_each_vessel(struct wet_ledger *ledger, wet_ledger_vessel_cb *cb, void *ctx,
						   struct wet_fault *reterr);

/* Acknowledgements of a safety note: once per person and recipe version. */
int wet_ledger_put_acknowledgement(struct wet_ledger *ledger, const char *person, const char *recipe_name,
								   int version, int64_t wall_ms, struct wet_fault *reterr);
int wet_ledger_has_acknowledgement(struct wet_ledger *ledger, const char *person, const char *recipe_name,
								   int version, bool *ret_has, struct wet_fault *reterr);

/* -- the shelf: what stands on it (wetside/stock.h). An item is the sum of its history; where one is added or changed,
 * the amounts of `why` are worked out here. `why` is the line of history that is stored with it, in the same
 * transaction; a token or a run's stage that was stored for this item before changes nothing and is no error. */
/* Gives the item its id. WET_ERR_EXISTS: one of this kind and name stands there. */
int wet_ledger_add_stock(struct wet_ledger *ledger, struct wet_stock *item, const struct wet_stock_event *why,
						 struct wet_fault *reterr);
/* A bath that is drawn from a bottle: both or neither. item->from_id is filled. */
int wet_ledger_add_stock_from(struct wet_ledger *ledger, struct wet_stock *item, int64_t bottle_id, int64_t draw_ul,
							  const struct wet_stock_event *why, struct wet_fault *reterr);
/* Replaces all fields of item->id. */
int wet_ledger_change_stock(struct wet_ledger *ledger, const struct wet_stock *item, const struct wet_stock_event *why,
							struct wet_fault *reterr);
/* Draws -why->volume_ul and does why->area_mm2 (wet_stock_use). ret_item may be NULL. */
int wet_ledger_use_stock(struct wet_ledger *ledger, int64_t id, const struct wet_stock_event *why,
						 struct wet_stock *ret_item, struct wet_fault *reterr);
int wet_ledger_discard_stock(struct wet_ledger *ledger, int64_t id, const struct wet_stock_event *why,
							 struct wet_stock *ret_item, struct wet_fault *reterr);
/* What stands there by this name, else the last one that did; WET_ERR_NOT_FOUND. */
int wet_ledger_get_stock(struct wet_ledger *ledger, enum wet_stock_kind kind, const char *name,
						 struct wet_stock *ret_item, struct wet_fault *reterr);
int wet_ledger_get_stock_by_id(struct wet_ledger *ledger, int64_t id, struct wet_stock *ret_item,
							   struct wet_fault *reterr);
typedef int wet_ledger_stock_cb(void *ctx, const struct wet_stock *item);
typedef int wet_ledger_stock_event_cb(void *ctx, const struct wet_stock_event *event);
/* kind -1: all. Rising ids over after_id, at most limit. */
int wet_ledger_each_stock(struct wet_ledger *ledger, int kind, bool with_gone, int64_t after_id, int limit,
						  wet_ledger_stock_cb *cb, void *ctx, struct wet_fault *reterr);
/* How long a bottle or a bath has stood by now, and how, from its history. */
int wet_ledger_stock_age(struct wet_ledger *ledger, const struct wet_stock *item, int64_t wall_ms,
						 struct wet_stock_age *ret_age, struct wet_fault *reterr);
/* The same up to an event of its history, with what was held and how it was kept before it; an id of INT64_MAX is none. */
int wet_ledger_stock_age_before(struct wet_ledger *ledger, const struct wet_stock *item, const struct wet_stock_event *event,
								struct wet_stock_age *ret_age, struct wet_fault *reterr);
/* Newest first, ids below before_id, at most limit. */
int wet_ledger_each_stock_event(struct wet_ledger *ledger, int64_t stock_id, int64_t before_id, int limit,
								wet_ledger_stock_event_cb *cb, void *ctx, struct wet_fault *reterr);

/* SQLite's integrity_check, then every row read as a replay would; for `wetsided --check`,
 * refused while a daemon runs (WET_ERR_LOCKED at open). */
int wet_ledger_check(struct wet_ledger *ledger, struct wet_fault *reterr);

#endif
