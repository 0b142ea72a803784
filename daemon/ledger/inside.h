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
/* The fault of the connection's last error. */
int ledger_fault(struct wet_ledger *ledger, int rc, struct wet_fault *reterr);
/* A prepared statement; NULL with the fault set. */
sqlite3_stmt *ledger_prepare(struct wet_ledger *ledger, const char *sql, struct wet_fault *reterr);
/* Steps a statement that returns no row, and finalizes it. */
int ledger_finish(struct wet_ledger *ledger, sqlite3_stmt *statement, struct wet_fault *reterr);
int ledger_corrupt(const char *what, struct wet_fault *reterr);
/* A text column into a fixed buffer; false if it is too long or no text. */
bool column_text(sqlite3_stmt *statement, int column, char *ret_text, size_t text_bytes);
void bind_text(sqlite3_stmt *statement, int column, const char *text);

#endif
