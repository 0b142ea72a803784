/* ledger.c: opening, transactions, errors. */
#include "ledger/inside.h"

#include "base/text.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

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
	case SQLITE_ERROR: /* a table or column is not there */
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
	case WET_ERR_LOCKED: return "stop that one, or give another --ledger";
	case WET_ERR_READONLY: return "a folder and a file that can be written";
	case WET_ERR_CORRUPT:
		return "keep a copy of the file as it is, then try: sqlite3 FILE .recover; or start with another "
			   "--ledger";
	case WET_ERR_NOMEM: return "more memory";
	default: return "a folder that exists and can be written";
	}
}

/* SQLite tells a full quota, and a folder that can't be written, only by the system's own number. */
static int err_from_system(struct wet_ledger *l, int rc)
{
	int primary = rc & 0xff, number = l->db ? sqlite3_system_errno(l->db) : 0;
	if (primary == SQLITE_IOERR && (number == ENOSPC || number == EDQUOT))
		return WET_ERR_FULL;
	if (primary == SQLITE_CANTOPEN && (number == EROFS || number == EACCES || number == EPERM))
		return WET_ERR_READONLY;
	return err_from_sqlite(rc);
}

int ledger_err(struct wet_ledger *l)
{
	return err_from_system(l, sqlite3_errcode(l->db));
}

int ledger_fault(struct wet_ledger *l, int rc, struct wet_fault *reterr)
{
	int err = err_from_system(l, rc);
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
	int out = WET_OK;
	if (l->is_in_transaction && sqlite3_get_autocommit(l->db)) {
		out = wet_fault_set(reterr, WET_ERR_IO, l->path, "the transaction was undone", "all of it once more");
	} else {
		int rc = sqlite3_step(s);
		if (rc != SQLITE_DONE && rc != SQLITE_ROW)
			out = ledger_fault(l, rc, reterr);
	}
	(void)sqlite3_finalize(s);
	return out;
}

bool column_text(sqlite3_stmt *s, int column, char *ret_text, size_t text_bytes)
{
	if (sqlite3_column_type(s, column) != SQLITE_TEXT)
		return false;
	const char *text = (const char *)sqlite3_column_text(s, column);
	size_t n = (size_t)sqlite3_column_bytes(s, column);
	if (!text || n >= text_bytes || !wet_text_is_utf8(text, n))
		return false;
	memcpy(ret_text, text, n + 1);
	return true;
}

bool column_number(sqlite3_stmt *s, int column, int64_t least, int64_t most, int64_t *ret_number)
{
	if (sqlite3_column_type(s, column) != SQLITE_INTEGER)
		return false;
	int64_t number = sqlite3_column_int64(s, column);
	if (number < least || number > most)
		return false;
	*ret_number = number;
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
		return ledger_err(l);
	int rc = sqlite3_step(s);
	if (rc == SQLITE_ROW)
		*ret_value = sqlite3_column_int(s, 0);
	int out = rc == SQLITE_ROW ? WET_OK : ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}

/* Is it ours, or new? Nothing is changed before this is known: it could be another program's file. */
static int identify(struct wet_ledger *l, int *ret_version, struct wet_fault *reterr)
{
	int version = 0, application = 0, tables = 0;
	char text[32];
	int rc = read_pragma(l, "PRAGMA user_version", &version, reterr);
	if (rc == 0)
		rc = read_pragma(l, "PRAGMA application_id", &application, reterr);
	if (rc == 0)
		rc = read_pragma(l, "SELECT count(*) FROM sqlite_schema", &tables, reterr);
	if (rc != 0)
		return rc;
	bool is_new = application == 0 && version == 0 && tables == 0;
	if (!is_new && (application != LEDGER_APPLICATION || version < 1))
		return wet_fault_set(reterr, WET_ERR_CORRUPT, l->path, "another program's file",
							 "a ledger of wetside; leave this file, and give another --ledger");
	if (version > LEDGER_VERSION) {
		wet_text_format(text, sizeof text, "version %d", version);
		return wet_fault_set(reterr, WET_ERR_NEWER, l->path, text,
							 "at most version %d; install the newer wetside again", LEDGER_VERSION);
	}
	*ret_version = version;
	return WET_OK;
}

static int migrate(struct wet_ledger *l, int version, struct wet_fault *reterr)
{
	if (version == LEDGER_VERSION)
		return WET_OK;
	int rc = run_sql(l, "BEGIN IMMEDIATE", reterr);
	if (rc == 0)
		rc = run_sql(l, wet_migration_0001, reterr);
	if (rc == 0)
		rc = run_sql(l, "PRAGMA application_id = 2003137651; PRAGMA user_version = 1", reterr);
	if (rc == 0)
		rc = run_sql(l, "COMMIT", reterr);
	if (rc != 0)
		wet_ledger_rollback(l);
	return rc;
}

static_assert(LEDGER_APPLICATION == 2003137651, "the pragma says the same");
static_assert(LEDGER_VERSION == 1, "the pragma says the same");

/* The pragma answers with the mode that rules, which is the old one where WAL was not possible. */
static int set_wal(struct wet_ledger *l, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, "PRAGMA journal_mode = WAL", reterr);
	if (!s)
		return ledger_err(l);
	int rc = sqlite3_step(s), out = WET_OK;
	const char *mode = rc == SQLITE_ROW ? (const char *)sqlite3_column_text(s, 0) : NULL;
	if (rc != SQLITE_ROW)
		out = ledger_fault(l, rc, reterr);
	else if (!mode || strcmp(mode, "wal") != 0)
		out = wet_fault_set(reterr, WET_ERR_IO, l->path, mode, "a file system that allows a write-ahead log");
	(void)sqlite3_finalize(s);
	return out;
}

static int set_up(struct wet_ledger *l, struct wet_fault *reterr)
{
	int version = 0;
	/* EXCLUSIVE before WAL: no shared memory file, so no SIGBUS on a nearly full disk, and one daemon a ledger. */
	int rc = run_sql(l,
					 "PRAGMA locking_mode = EXCLUSIVE;"
					 "PRAGMA trusted_schema = OFF;"
					 "PRAGMA foreign_keys = ON;"
					 "PRAGMA synchronous = FULL;",
					 reterr);
	if (rc == 0)
		rc = identify(l, &version, reterr);
	if (rc == 0)
		rc = set_wal(l, reterr);
	if (rc == 0)
		rc = run_sql(l, "PRAGMA journal_size_limit = 4194304; PRAGMA wal_autocheckpoint = 1000", reterr);
	return rc == 0 ? migrate(l, version, reterr) : rc;
}

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
	int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX;
	int sq = sqlite3_open_v2(path, &l->db, flags, NULL);
	int rc = sq == SQLITE_OK ? WET_OK : ledger_fault(l, sq, reterr);
	/* A file that can only be read opens all the same: asked here. */
	if (rc == 0 && sqlite3_db_readonly(l->db, "main") == 1)
		rc = wet_fault_set(reterr, WET_ERR_READONLY, path, NULL, "%s", advice(WET_ERR_READONLY));
	if (rc == 0)
		rc = set_up(l, reterr);
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
	int rc = WET_OK;
	if (sqlite3_get_autocommit(l->db))
		rc = wet_fault_set(reterr, WET_ERR_IO, l->path, "the transaction was undone", "all of it once more");
	else
		rc = run_sql(l, "COMMIT", reterr);
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
		return ledger_err(l);
	int rc = sqlite3_step(s), out = WET_OK;
	const char *text = rc == SQLITE_ROW ? (const char *)sqlite3_column_text(s, 0) : NULL;
	if (!text || strcmp(text, "ok") != 0)
		out = ledger_corrupt(text ? text : "not readable", reterr);
	(void)sqlite3_finalize(s);
	return out;
}
