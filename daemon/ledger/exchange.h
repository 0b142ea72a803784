/* exchange.h: the whole ledger row by row: out, in pages, and into another ledger (or the same once more).
 *
 * Inside the daemon; the same thread as ledger.h. Every walk begins after a key, so that a page is one short read on the
 * worker's connection; a callback that returns WET_LEDGER_FULL ends it well. What comes in goes through the same checks as
 * what wetside writes itself. */
#ifndef WET_LEDGER_EXCHANGE_H
#define WET_LEDGER_EXCHANGE_H

#include "ledger/checks.h"
#include "ledger/ledger.h"
#include "ledger/plans.h"

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
/* An item's history from its first line on: after_id < id <= to_id. */
int wet_ledger_each_stock_event_after(struct wet_ledger *ledger, int64_t stock_id, int64_t after_id, int64_t to_id,
									  wet_ledger_stock_event_cb *cb, void *ctx, struct wet_fault *reterr);
typedef int wet_ledger_booking_cb(void *ctx, const struct wet_booking *booking);
/* By run, stage and item, after `after` (all zero: all); of runs up to to_run. */
int wet_ledger_each_booking(struct wet_ledger *ledger, const struct wet_booking *after, int64_t to_run,
							wet_ledger_booking_cb *cb, void *ctx, struct wet_fault *reterr);

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
	struct wet_check *checks; /* answers of its checklist, by seq */
	int check_count;
	struct wet_stage_record stages[WET_RECIPE_STAGES];
};
/* All of it or nothing. A run is the same if it was armed under its name in the same boot at the same nanosecond, whatever its number:
 * numbers are each ledger's own, and it gets a new one if its own is taken. It never becomes live here: one that was live
 * there is kept as "unfinished", and a later file that knows how it went on completes it. */
int wet_ledger_import_run(struct wet_ledger *ledger, bool is_dry, const struct wet_ledger_import *import,
						  bool *ret_is_new, struct wet_fault *reterr);

/* Numbers of runs and of the shelf's items belong to each ledger: what those of a file are in this one. */
struct wet_number {
	int64_t there, here; /* here: WET_NUMBER_NEW if it is not here and nothing is written */
	bool is_changed;     /* an item that goes on: it stands here by its older name until it is written */
};
struct wet_numbers {
	struct wet_number *rows; /* by `there`, rising; malloc'ed */
	int count, room;
};
/* Zero at the beginning of a file; grows with each run and each item that is taken in. */
struct wet_known {
	struct wet_numbers runs, items;
};
#define WET_NUMBER_NEW (-1)
#define WET_NUMBERS_MAX (1 << 22) /* of one file */
void wet_known_free(struct wet_known *known);
/* After wet_ledger_import_run, with the file's row: what stands behind it may name its number. A number that comes twice is
 * WET_ERR_INVALID. */
int wet_ledger_know_run(struct wet_ledger *ledger, const struct wet_ledger_run *run, struct wet_known *known,
						struct wet_fault *reterr);

/* An item of the shelf with its whole history. */
struct wet_ledger_item {
	struct wet_stock item; /* id: its number there */
	struct wet_stock_event *events; /* from the first on */
	int event_count;
};
/* All of it or nothing; it must be the sum of its history. Numbers in *in become this ledger's.
 *
 * An item is the same if it is of the same kind and the first line of its history has the same time and token, and it has
 * the same name; else, if one of the two was changed since (a rename) and the lines that both have are equal. Of several, such
 * as the baths of one plan, the first that no earlier line of the file was. A history that goes on in the file completes the
 * one here, one that goes on here stays; one that differs is WET_ERR_EXISTS. It gets its own number, or if that is not over
 * all that are here, the next one: a bottle's number is always below its baths'. Another item that stands here by its name
 * is WET_ERR_EXISTS, also where a later line would rename that. */
int wet_ledger_import_item(struct wet_ledger *ledger, bool is_dry, struct wet_ledger_item *in, struct wet_known *known,
						   bool *ret_is_new, struct wet_fault *reterr);
/* All of it or nothing. A plan is the same by its name. A load that was armed, or a bath that was mixed, in one of the two only is
 * so here afterwards; anything else that differs is WET_ERR_EXISTS. Numbers in *plan become this ledger's. */
int wet_ledger_import_plan(struct wet_ledger *ledger, bool is_dry, struct wet_kept_plan *plan, struct wet_known *known,
						   bool *ret_is_new, struct wet_fault *reterr);
int wet_ledger_import_booking(struct wet_ledger *ledger, bool is_dry, const struct wet_booking *booking,
							  struct wet_known *known, bool *ret_is_new, struct wet_fault *reterr);
/* 0 stays 0. WET_ERR_INVALID for a number that no earlier line of the file has; where: the member. */
int wet_numbers_here(const struct wet_numbers *numbers, const char *where, int64_t *number, struct wet_fault *reterr);

#endif
