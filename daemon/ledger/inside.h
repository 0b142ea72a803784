/* inside.h: what the files of the ledger share. */
#ifndef WET_LEDGER_INSIDE_H
#define WET_LEDGER_INSIDE_H

#include "ledger/ledger.h"

#include <sqlite3.h>

#define LEDGER_APPLICATION 0x77657473 /* "wets" */
#define LEDGER_VERSION 1

struct wet_ledger {
	sqlite3 *db;
	char path[512];
	bool is_in_transaction;
};

extern const char wet_migration_0001[];

int err_from_sqlite(int rc);
/* The connection's last error, as the fault of a failed ledger_prepare tells it. */
int ledger_err(struct wet_ledger *ledger);
/* The fault of the connection's last error. */
int ledger_fault(struct wet_ledger *ledger, int rc, struct wet_fault *reterr);
/* A prepared statement; NULL with the fault set. */
sqlite3_stmt *ledger_prepare(struct wet_ledger *ledger, const char *sql, struct wet_fault *reterr);
/* Steps a statement that returns no row, and finalizes it. Refuses within a transaction that SQLite has already undone
 * by itself (a full disk): the statement would be committed alone. */
int ledger_finish(struct wet_ledger *ledger, sqlite3_stmt *statement, struct wet_fault *reterr);
int ledger_corrupt(const char *what, struct wet_fault *reterr);
/* Columns, checked: false for another type or a value no wetside wrote. A text must be UTF-8 and fit its buffer. */
bool column_text(sqlite3_stmt *statement, int column, char *ret_text, size_t text_bytes);
bool column_number(sqlite3_stmt *statement, int column, int64_t least, int64_t most, int64_t *ret_number);
/* Seven columns: name, kind, fill, drain, pieces_max, stagger, tau. */
bool column_vessel(sqlite3_stmt *statement, int column, struct wet_vessel *ret_vessel);
void bind_text(sqlite3_stmt *statement, int column, const char *text);

#endif
