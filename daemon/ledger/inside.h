/* inside.h: what the files of the ledger share.
 *
 * Numbers that are stored keep their meaning for ever: the values of an enum that goes into a column are pinned where they
 * are bound. A new value an older wetside would refuse raises LEDGER_VERSION, with an empty migration if no table changes,
 * so that the older one says "newer" and not "damaged". */
#ifndef WET_LEDGER_INSIDE_H
#define WET_LEDGER_INSIDE_H

#include "ledger/exchange.h"
#include "ledger/ledger.h"

#include <sqlite3.h>

#define LEDGER_APPLICATION 0x77657473 /* "wets" */
#define LEDGER_VERSION 9
#define LEDGER_STATEMENTS 96  /* kept prepared; there are under eighty */
#define LEDGER_PATH_BYTES 500 /* SQLite's own limit is 512, and "-journal" follows */

struct ledger_statement {
	const char *sql; /* a literal: told apart by its address */
	sqlite3_stmt *statement;
	bool is_out;
};

struct wet_ledger {
	sqlite3 *db;
	char path[LEDGER_PATH_BYTES];
	int create_errno; /* why a new file could not be made; 0: it could, or was there */
	bool is_in_transaction;
	struct wet_fault undone; /* why the transaction can only be rolled back; err 0: it can be committed */
	struct ledger_statement statements[LEDGER_STATEMENTS];
};

/* Migration n brings version n - 1 to version n. */
extern const char wet_migration_0001[];
extern const char wet_migration_0002[];
extern const char wet_migration_0003[];
extern const char wet_migration_0004[];
extern const char wet_migration_0005[];
extern const char wet_migration_0006[];
extern const char wet_migration_0007[];
extern const char wet_migration_0008[];
extern const char wet_migration_0009[];

/* -- ledger.c */
int err_from_sqlite(int rc);
/* The connection's last error, as the fault of a failed ledger_prepare tells it. */
int ledger_err(struct wet_ledger *ledger);
/* The fault of an error code of SQLite. */
int ledger_fault(struct wet_ledger *ledger, int rc, struct wet_fault *reterr);
/* A row that no wetside wrote, or (if that is why it could not be read) a lack of memory. */
int ledger_corrupt(struct wet_ledger *ledger, const char *what, struct wet_fault *reterr);
/* A value that could not be read back: refused before it is stored. */
int ledger_invalid(struct wet_ledger *ledger, const char *what, struct wet_fault *reterr);
int ledger_run_sql(struct wet_ledger *ledger, const char *sql, struct wet_fault *reterr);
/* Lends a prepared statement (sql: a literal); NULL with the fault set. Give it back with ledger_release. */
sqlite3_stmt *ledger_prepare(struct wet_ledger *ledger, const char *sql, struct wet_fault *reterr);
void ledger_release(struct wet_ledger *ledger, sqlite3_stmt *statement);
/* Steps a statement that returns no row, and releases it. A transaction in which a write failed for want of room,
 * memory or disk is undone as a whole: later writes are refused with the first fault until it is rolled back. */
int ledger_finish(struct wet_ledger *ledger, sqlite3_stmt *statement, struct wet_fault *reterr);
/* Steps through all rows. take: WET_OK to go on; a bad row returns WET_ERR_CORRUPT through ledger_corrupt. */
typedef int ledger_take(struct wet_ledger *ledger, sqlite3_stmt *statement, void *ctx,
						struct wet_fault *reterr);
int ledger_each(struct wet_ledger *ledger, sqlite3_stmt *statement, ledger_take *take, void *ctx,
				struct wet_fault *reterr);

/* Does the statement find a row? Releases it. */
int ledger_ask(struct wet_ledger *ledger, sqlite3_stmt *statement, bool *ret_is_there, struct wet_fault *reterr);

/* Round several statements that belong together: all or none of them, within a transaction or not. `rc` is how they
 * went; returns it, or what kept them from being stored. */
int ledger_several_begin(struct wet_ledger *ledger, bool *ret_is_own, struct wet_fault *reterr);
int ledger_several_end(struct wet_ledger *ledger, bool is_own, int rc, struct wet_fault *reterr);

/* -- columns.c: all binding and reading of cells */
/* The text must live until the statement is released. */
void bind_text(sqlite3_stmt *statement, int column, const char *text);
/* UTF-8, with its NUL within the buffer? */
bool text_fits(const char *text, size_t text_bytes);
/* False for another type or a value no wetside wrote. A text must be UTF-8 and fit its buffer. */
bool column_text(sqlite3_stmt *statement, int column, char *ret_text, size_t text_bytes);
bool column_number(sqlite3_stmt *statement, int column, int64_t least, int64_t most, int64_t *ret_number);

/* -- migrate.c */
int ledger_migrate(struct wet_ledger *ledger, struct wet_fault *reterr);
/* Is it ours, or new? Changes nothing. */
int ledger_identify(struct wet_ledger *ledger, struct wet_fault *reterr);

/* -- runs.c: the run of this name that was armed in the same boot at the same time; not called if there is none. */
int ledger_find_armed(struct wet_ledger *ledger, const struct wet_ledger_run *run, wet_ledger_run_cb *cb, void *ctx,
					  struct wet_fault *reterr);

/* -- stock.c: rows as they are, for what comes from elsewhere; each in a transaction with what makes the item the sum of
 * its history. */
int ledger_check_stock(struct wet_ledger *ledger, const struct wet_stock *item, struct wet_fault *reterr);
/* Numbers rise, and so *ret_id is over all that are there, and least_id or more. */
int ledger_insert_stock(struct wet_ledger *ledger, const struct wet_stock *item, int64_t least_id, int64_t *ret_id,
						struct wet_fault *reterr);
/* All but the kind, of item->id. */
int ledger_update_stock(struct wet_ledger *ledger, const struct wet_stock *item, struct wet_fault *reterr);
int ledger_put_stock_event(struct wet_ledger *ledger, int64_t stock_id, const struct wet_stock_event *why,
						   struct wet_fault *reterr);

/* -- exchange_numbers.c: WET_ERR_INVALID if `there` is known already; `where` is the member that told it. */
int ledger_check_number(const struct wet_numbers *numbers, const char *where, int64_t there, struct wet_fault *reterr);
int ledger_add_number(struct wet_numbers *numbers, const char *where, const struct wet_number *number,
					  struct wet_fault *reterr);
/* The one that is `here`; NULL: none. */
const struct wet_number *ledger_number_of(const struct wet_numbers *numbers, int64_t here);

/* -- plans.c: a statement that is given numbers and returns no row. */
int ledger_run_numbers(struct wet_ledger *ledger, const char *sql, const int64_t *values, int count,
					   struct wet_fault *reterr);

/* -- vessels.c: ten columns. */
#define VESSEL_COLUMNS "name, kind, fill_ns, drain_ns, pieces_max, stagger_ns, tau_ns, tau_error_ns, tau_count, chill_ppm"
int ledger_check_vessel(const struct wet_vessel *vessel, struct wet_fault *reterr);
int bind_vessel(sqlite3_stmt *statement, int column, const struct wet_vessel *vessel); /* the next column */
bool ledger_same_vessel(const struct wet_vessel *a, const struct wet_vessel *b);
bool column_vessel(sqlite3_stmt *statement, int column, struct wet_vessel *ret_vessel);

#endif
