/* ledger.c: opening, transactions, errors. */
#include "ledger/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

int err_from_sqlite(int rc)
{
	switch (rc & 0xff) {
	case SQLITE_OK:
	case SQLITE_ROW:
	case SQLITE_DONE: return WET_OK;
	case SQLITE_NOMEM: return WET_ERR_NOMEM;
	case SQLITE_FULL: return WET_ERR_FULL;
	case SQLITE_BUSY:
	case SQLITE_LOCKED: return WET_ERR_LOCKED;
	case SQLITE_READONLY:
	case SQLITE_PERM: return WET_ERR_READONLY;
	case SQLITE_CORRUPT:
	case SQLITE_NOTADB: return WET_ERR_CORRUPT;
	default: return WET_ERR_IO;
	}
}

static const char *advice(int err)
{
	switch (err) {
	case WET_ERR_FULL:
		return "room on the disk; what was heard is kept in memory and written when there is room";
	case WET_ERR_LOCKED: return "one daemon a ledger: stop the other one, or give another --ledger";
	case WET_ERR_READONLY: return "a folder and a file that can be written";
	case WET_ERR_CORRUPT:
		return "keep a copy of the file as it is, then try: sqlite3 FILE .recover; or start with another "
			   "--ledger";
	case WET_ERR_NOMEM: return "more memory";
	default: return "a folder that exists and can be written";
	}
}

int ledger_fault(struct wet_ledger *l, int rc, struct wet_fault *reterr)
{
	int err = err_from_sqlite(rc);
	return wet_fault_set(reterr, err, l->path, l->db ? sqlite3_errmsg(l->db) : sqlite3_errstr(rc), "%s",
						 advice(err));
}

int ledger_corrupt(const char *what, struct wet_fault *reterr)
{
	return wet_fault_set(reterr, WET_ERR_CORRUPT, "ledger", what, "%s", advice(WET_ERR_CORRUPT));
}

sqlite3_stmt *ledger_prepare(struct wet_ledger *l, const char *sql, struct wet_fault *reterr)
{
	sqlite3_stmt *s = NULL;
	int rc = sqlite3_prepare_v2(l->db, sql, -1, &s, NULL);
	if (rc != SQLITE_OK)
		(void)ledger_fault(l, rc, reterr);
	return s;
}

int ledger_finish(struct wet_ledger *l, sqlite3_stmt *s, struct wet_fault *reterr)
{
	int rc = sqlite3_step(s), out = WET_OK;
	if (rc != SQLITE_DONE && rc != SQLITE_ROW)
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}

bool column_text(sqlite3_stmt *s, int column, char *ret_text, size_t text_bytes)
{
	const char *text = (const char *)sqlite3_column_text(s, column);
	if (!text || strlen(text) >= text_bytes)
		return false;
	wet_text_copy(ret_text, text_bytes, text);
	return true;
}

void bind_text(sqlite3_stmt *s, int column, const char *text)
{
	(void)sqlite3_bind_text(s, column, text, -1, SQLITE_TRANSIENT);
}

static int run_sql(struct wet_ledger *l, const char *sql, struct wet_fault *reterr)
{
	int rc = sqlite3_exec(l->db, sql, NULL, NULL, NULL);
	return rc == SQLITE_OK ? WET_OK : ledger_fault(l, rc, reterr);
}

static int read_pragma(struct wet_ledger *l, const char *sql, int *ret_value, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, sql, reterr);
	if (!s)
		return reterr ? reterr->err : WET_ERR_IO;
	int rc = sqlite3_step(s);
	if (rc == SQLITE_ROW)
		*ret_value = sqlite3_column_int(s, 0);
	int out = rc == SQLITE_ROW ? WET_OK : ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}

static int migrate(struct wet_ledger *l, struct wet_fault *reterr)
{
	int version = 0, application = 0;
	char text[32];
	int rc = read_pragma(l, "PRAGMA user_version", &version, reterr);
	if (rc == 0)
		rc = read_pragma(l, "PRAGMA application_id", &application, reterr);
	if (rc != 0)
		return rc;
	if (application != 0 && application != LEDGER_APPLICATION)
		return wet_fault_set(reterr, WET_ERR_CORRUPT, l->path, NULL,
							 "a ledger of wetside: this is another program's file");
	if (version > LEDGER_VERSION) {
		wet_text_format(text, sizeof text, "version %d", version);
		return wet_fault_set(reterr, WET_ERR_NEWER, l->path, text,
							 "at most version %d; install the newer wetside again", LEDGER_VERSION);
	}
	if (version == LEDGER_VERSION)
		return WET_OK;
	rc = run_sql(l, "BEGIN IMMEDIATE", reterr);
	if (rc == 0)
		rc = run_sql(l, wet_migration_0001, reterr);
	if (rc == 0)
		rc = run_sql(l, "PRAGMA application_id = 2003137651; PRAGMA user_version = 1", reterr);
	if (rc == 0)
		rc = run_sql(l, "COMMIT", reterr);
	if (rc != 0)
		(void)run_sql(l, "ROLLBACK", NULL);
	return rc;
}

static_assert(LEDGER_APPLICATION == 2003137651, "the pragma says the same");

int wet_ledger_open(struct wet_ledger **ret_ledger, const char *path, struct wet_fault *reterr)
{
	struct wet_ledger *l = calloc(1, sizeof *l);
	if (!l)
		return wet_fault_set(reterr, WET_ERR_NOMEM, path, NULL, "more memory");
	if (strlen(path) >= sizeof l->path) {
		free(l);
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "ledger", path, "a path of under 512 bytes");
	}
	wet_text_copy(l->path, sizeof l->path, path);
	int sq =
		sqlite3_open_v2(path, &l->db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, NULL);
	int rc = sq == SQLITE_OK ? WET_OK : ledger_fault(l, sq, reterr);
	/* A file that can only be read opens all the same: asked here. */
	if (rc == 0 && sqlite3_db_readonly(l->db, "main") == 1)
		rc = wet_fault_set(reterr, WET_ERR_READONLY, path, NULL, "%s", advice(WET_ERR_READONLY));
	if (rc == 0)
		rc = run_sql(
			l,
			"PRAGMA locking_mode = EXCLUSIVE;" /* before WAL: no shared memory file, no SIGBUS on a nearly full disk */
			"PRAGMA journal_mode = WAL;"
			"PRAGMA synchronous = FULL;"
			"PRAGMA foreign_keys = ON;"
			"PRAGMA trusted_schema = OFF;"
			"PRAGMA journal_size_limit = 4194304;"
			"PRAGMA wal_autocheckpoint = 1000;",
			reterr);
	if (rc == 0)
		rc = migrate(l, reterr);
	if (rc != 0) {
		wet_ledger_close(l);
		return rc;
	}
	*ret_ledger = l;
	return WET_OK;
}

void wet_ledger_close(struct wet_ledger *l)
{
	if (!l)
		return;
	(void)sqlite3_close(l->db);
	free(l);
}

int wet_ledger_begin(struct wet_ledger *l, struct wet_fault *reterr)
{
	int rc = run_sql(l, "BEGIN IMMEDIATE", reterr);
	l->is_in_transaction = rc == 0;
	return rc;
}

int wet_ledger_commit(struct wet_ledger *l, struct wet_fault *reterr)
{
	int rc = run_sql(l, "COMMIT", reterr);
	if (rc != 0)
		wet_ledger_rollback(l);
	l->is_in_transaction = false;
	return rc;
}

void wet_ledger_rollback(struct wet_ledger *l)
{
	if (!sqlite3_get_autocommit(l->db))
		(void)run_sql(l, "ROLLBACK", NULL);
	l->is_in_transaction = false;
}

int wet_ledger_check(struct wet_ledger *l, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, "PRAGMA integrity_check(1)", reterr);
	if (!s)
		return WET_ERR_CORRUPT;
	int rc = sqlite3_step(s), out = WET_OK;
	const char *text = rc == SQLITE_ROW ? (const char *)sqlite3_column_text(s, 0) : NULL;
	if (!text || strcmp(text, "ok") != 0)
		out = ledger_corrupt(text ? text : "not readable", reterr);
	(void)sqlite3_finalize(s);
	return out;
}
