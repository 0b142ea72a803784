/* exchange.h: the whole ledger out, page by page, and units of it in. Answers come through the callback, on the loop, once;
 * the work is done by the ledger's worker, between the acts of live runs. */
#ifndef WET_EXCHANGE_H
#define WET_EXCHANGE_H

#include "darkroom/darkroom.h"
#include "ledger/entries.h"
#include "ledger/exchange.h"

/* A wet rehearsal's recipe is made by no file: its hash begins so, and is no hash of its text. */
#define WET_REHEARSAL_HASH "wet-rehearsal-"

/* X(NAME, word): in the order in which a ledger is told. */
#define WET_ROWS(X)                       \
	X(RECIPE, "recipe")                   \
	X(VESSEL, "vessel")                   \
	X(ACKNOWLEDGEMENT, "acknowledgement") \
	X(RUN, "run")                         \
	X(EVENT, "event")                     \
	X(CHECK, "check")                     \
	X(STAGE, "stage")                     \
	X(ITEM, "item")                       \
	X(HISTORY, "history")                 \
	X(PLAN, "plan")                       \
	X(LOAD, "load")                       \
	X(BATH, "bath")                       \
	X(DRAW, "draw")                       \
	X(BOOKING, "booking")                 \
	X(ENTRY, "entry")                     \
	X(END, "end")

enum wet_row_kind {
#define WET_ROW_ENUM(name, word) WET_ROW_##name,
	WET_ROWS(WET_ROW_ENUM)
#undef WET_ROW_ENUM
		WET_ROW_N
};

struct wet_recipe_part {
	char hash[65], name[WET_NAME_BYTES];
	int part; /* from 1 */
	bool is_last;
	const char *text; /* not NUL-terminated */
	size_t bytes;
};

struct wet_vessel_row {
	struct wet_vessel vessel;
	int64_t wall_ms;
};

struct wet_event_row {
	int64_t run_id, seq;
	struct wet_event event;
};

struct wet_stage_row {
	int64_t run_id;
	int stage;
	struct wet_stage_record record;
};

/* A plan and its parts are told under its name: its number is no matter of anyone else. */
struct wet_plan_row {
	char name[WET_NAME_BYTES], recipe_name[WET_NAME_BYTES], recipe_hash[65], vessel[WET_NAME_BYTES];
	int64_t wall_ms;
};

struct wet_load_row {
	char plan[WET_NAME_BYTES];
	int index;
	struct wet_kept_load load;
};

struct wet_bath_row {
	char plan[WET_NAME_BYTES];
	int index;
	struct wet_kept_bath bath; /* without its draws */
};

struct wet_draw_row {
	char plan[WET_NAME_BYTES];
	int bath;
	int64_t bottle_id, stock_ul;
};

struct wet_row {
	enum wet_row_kind kind;
	union {
		struct wet_recipe_part recipe;
		struct wet_vessel_row vessel;
		struct wet_acknowledgement acknowledgement;
		struct wet_ledger_run run;
		struct wet_event_row event;
		struct wet_check check;
		struct wet_stage_row stage;
		struct wet_stock item;
		struct wet_stock_event history; /* its own number is not told */
		struct wet_plan_row plan;
		struct wet_load_row load;
		struct wet_bath_row bath;
		struct wet_draw_row draw;
		struct wet_booking booking;
		struct wet_entry entry;
	} of;
};

/* Where the next page begins. All zero: at the beginning. A run that was live when it was told stays so, even if it ends
 * before its events are. An item is told with the history it has at that moment, and before it the runs that were armed
 * meanwhile, which may be in that. When the last item is told the picture is closed: of what comes later nothing is told, and
 * a load or a bath of a plan that is armed or mixed later is told as not. */
struct wet_cursor {
	enum wet_row_kind at;
	char hash[65];
	size_t offset; /* in the recipe's text */
	int part;
	int64_t vessel_id;
	struct wet_acknowledgement acknowledgement;
	int64_t run_id, to_run, seq;
	int stage;
	bool is_begun, was_live;
	int64_t item_id, event_id, to_event; /* the last that were told; the last of the item's history */
	int64_t plan_id, to_plan;
	int plan_row; /* of the plan that comes next: so many rows of it are told */
	struct wet_booking booking;
	int64_t entry_id;
};

#define WET_EXPORT_ROWS 64
/* A page as JSON strings within a reply, every quote and backslash doubled, stays below WET_REPLY_BYTES. */
#define WET_EXPORT_BYTES 40000
#define WET_EXPORT_PART_BYTES 16000 /* a part of a recipe, escaped */

struct wet_export_page {
	struct wet_cursor next;
	bool is_end;
	int row_count;
	struct wet_row rows[WET_EXPORT_ROWS];
	size_t bytes, text_bytes;
	char text[WET_EXPORT_BYTES]; /* the parts of recipes */
};
/* The version of the tables. */
int wet_darkroom_schema(void);
typedef void wet_export_cb(void *ctx, const struct wet_export_page *page, const struct wet_fault *fault);
/* page is valid during the call; NULL without memory. */
void wet_darkroom_export(struct wet_darkroom *darkroom, const struct wet_cursor *cursor, wet_export_cb *cb,
						 void *ctx);

/* One thing to take in: all of it or nothing. */
struct wet_unit {
	struct wet_unit *next;
	enum wet_row_kind kind;                     /* recipe, vessel, acknowledgement, run, item, plan, booking or entry */
	int64_t line;                               /* of the file, for the fault */
	bool is_new;                                /* the answer */
	char hash[65], name[WET_NAME_BYTES], *json; /* recipe */
	size_t json_bytes;
	struct wet_vessel_row vessel;
	bool *is_latest; /* vessel: see wet_ledger_import_vessel; must live until the answer */
	struct wet_acknowledgement acknowledgement;
	struct wet_ledger_import *run;
	struct wet_ledger_item *item;
	struct wet_kept_plan *plan;
	struct wet_booking booking;
	struct wet_entry *entry;
};
/* At the end of a file: wet_known_free. */
void wet_darkroom_forget(struct wet_known *known);
typedef void wet_import_cb(void *ctx, const struct wet_fault *fault);
/* All of the units in one transaction, or none and the fault with its line. Borrows them, and what is known of the file's
 * numbers, until the answer. */
void wet_darkroom_import(struct wet_darkroom *darkroom, struct wet_unit *units, struct wet_known *known, bool is_dry,
						 wet_import_cb *cb, void *ctx);

#endif
