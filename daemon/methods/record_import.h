/* record_import.h: what has come of a file so far; what the two files that take its lines share. */
#ifndef WET_METHODS_RECORD_IMPORT_H
#define WET_METHODS_RECORD_IMPORT_H

#include "methods/inside.h"
#include "methods/rows.h"

#define EVENTS_MAX 65536 /* of one run or item: three hundred times a long session */

struct vessel_name {
	struct vessel_name *next;
	char name[WET_NAME_BYTES];
	bool is_latest;
};

struct wet_importing {
	struct wet_methods *methods;
	uint64_t client_id;
	bool is_dry, is_busy, is_complete;
	int64_t line_count;
	int schema; /* of the file */
	char check[65];
	json_t *hashes; /* recipes that have come, as members */
	struct vessel_name *vessels;
	/* What has not come whole. */
	char *recipe_text;
	size_t recipe_bytes;
	struct wet_recipe_part recipe; /* part: the last that has come; 0: none */
	struct wet_unit *run;
	struct wet_event *events;
	int64_t *seqs;
	int event_room;
	struct wet_unit *item, *plan;
	int history_room;
	json_t *marks;              /* acts of the item's history that may come once, as members */
	json_t *names;              /* of what stands on the shelf, and of plans, as members */
	struct wet_booking booking; /* the last that has come */
	int booking_count;          /* of its stage */
	struct wet_known known;
	/* What is whole and goes to the ledger with this batch. */
	struct wet_unit *units, **tail;
	int64_t new_count[WET_ROW_N], there_count[WET_ROW_N];
	struct pending *pending;
};

/* -- record_import.c */
int import_nomem(struct wet_fault *reterr);
/* NULL without memory. */
struct wet_unit *import_new_unit(struct wet_importing *importing, enum wet_row_kind kind);
/* It is whole, and the importing's from now on. */
void import_put_unit(struct wet_importing *importing, struct wet_unit *unit);

/* -- record_import_shelf.c: rows of the shelf, of plans and of bookings, in the order of rows.h */
int import_take_shelf(struct wet_importing *importing, const struct wet_row *row, struct wet_fault *reterr);
/* A row of this kind has come: is what went before it whole now? */
void import_finish_shelf(struct wet_importing *importing, enum wet_row_kind kind);

#endif
