/* ledger.c: opening, transactions, statements, errors. */
#include "ledger/inside.h"

#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Codes are extended ones (SQLite, "Result and Error Codes"). */
int err_from_sqlite(int rc)
{
	switch (rc) {
	case SQLITE_IOERR_NOMEM: return WET_ERR_NOMEM;
	case SQLITE_CONSTRAINT_PRIMARYKEY:
	case SQLITE_CONSTRAINT_ROWID:
	case SQLITE_CONSTRAINT_UNIQUE: return WET_ERR_EXISTS;
	case SQLITE_CONSTRAINT_FOREIGNKEY: return WET_ERR_NOT_FOUND;
	default: break;
	}
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
	case SQLITE_CONSTRAINT:
	case SQLITE_MISMATCH: return WET_ERR_INVALID;
	case SQLITE_TOOBIG: return WET_ERR_TOO_LONG;
	case SQLITE_MISUSE:
	case SQLITE_RANGE: return WET_ERR_INTERNAL;
	default: return WET_ERR_IO;
	}
}

static const char *advice(int err)
{
	switch (err) {
	case WET_ERR_FULL:
		return "room on the disk; acts in a live run are kept in memory and written when there is room";
	case WET_ERR_LOCKED: return "stop that one, or give another --ledger";
	case WET_ERR_READONLY: return "a folder and a file that can be written";
	case WET_ERR_CORRUPT:
		return "keep a copy of the file as it is, then try: sqlite3 FILE .recover; or start with another "
			   "--ledger";
	case WET_ERR_NOMEM: return "more memory";
	case WET_ERR_EXISTS: return "a number that was not used before";
	case WET_ERR_NOT_FOUND: return "the row it belongs to, stored before it";
	case WET_ERR_INVALID:
	case WET_ERR_TOO_LONG: return "values that can be read back";
	case WET_ERR_INTERNAL: return "a report: this is a mistake of wetside";
	default: return "a disk that works, and a folder that exists and can be written";
	}
}

/* A commit that failed leaves the system's number only with the file that it was written to. */
static int journal_errno(struct wet_ledger *l)
{
	sqlite3_file *file = NULL;
	int number = 0;
	if (sqlite3_file_control(l->db, "main", SQLITE_FCNTL_JOURNAL_POINTER, &file) == SQLITE_OK && file && file->pMethods)
		(void)file->pMethods->xFileControl(file, SQLITE_FCNTL_LAST_ERRNO, &number);
	return number;
}

/* SQLite tells a full quota, and a folder that can't be written, only by the system's own number; and of a new file not
 * even that: it tries again to read it, and then it is merely not there. */
static int err_from_system(struct wet_ledger *l, int rc)
{
	int primary = rc & 0xff, number = l->db ? sqlite3_system_errno(l->db) : 0;
	bool is_open = primary == SQLITE_CANTOPEN;
	if (is_open && l->create_errno != 0)
		number = l->create_errno;
	if (primary == SQLITE_IOERR && number == 0 && l->db)
		number = journal_errno(l);
	bool is_system = is_open || (primary == SQLITE_IOERR && rc != SQLITE_IOERR_NOMEM);
	if (is_system && (number == ENOSPC || number == EDQUOT))
		return WET_ERR_FULL;
	/* Of an open file too: a disk that turned read-only, a file that was made immutable. */
	if (is_system && (number == EROFS || number == EACCES || number == EPERM))
		return WET_ERR_READONLY;
	return err_from_sqlite(rc);
}

int ledger_err(struct wet_ledger *l)
{
	return err_from_system(l, sqlite3_extended_errcode(l->db));
}

int ledger_fault(struct wet_ledger *l, int rc, struct wet_fault *reterr)
{
	int err = err_from_system(l, rc);
	return wet_fault_set(reterr, err, l->path, l->db ? sqlite3_errmsg(l->db) : sqlite3_errstr(rc), "%s",
						 advice(err));
}

int ledger_corrupt(struct wet_ledger *l, const char *what, struct wet_fault *reterr)
{
	int err = sqlite3_errcode(l->db) == SQLITE_NOMEM ? WET_ERR_NOMEM : WET_ERR_CORRUPT;
	return wet_fault_set(reterr, err, l->path, what, "%s", advice(err));
}

int ledger_invalid(struct wet_ledger *l, const char *what, struct wet_fault *reterr)
{
	return wet_fault_set(reterr, WET_ERR_INVALID, l->path, what, "%s", advice(WET_ERR_INVALID));
}

int ledger_run_sql(struct wet_ledger *l, const char *sql, struct wet_fault *reterr)
{
	int rc = sqlite3_exec(l->db, sql, NULL, NULL, NULL);
	return rc == SQLITE_OK ? WET_OK : ledger_fault(l, rc, reterr);
}

/* -- statements --------------------------------------------------------------- */
sqlite3_stmt *ledger_prepare(struct wet_ledger *l, const char *sql, struct wet_fault *reterr)
{
	struct ledger_statement *room = NULL;
	sqlite3_stmt *s = NULL;
	for (int i = 0; i < LEDGER_STATEMENTS; i++) {
		struct ledger_statement *known = &l->statements[i];
		if (known->sql == sql && !known->is_out) {
			known->is_out = true;
			return known->statement;
		}
		if (!known->sql && !room)
			room = known;
	}
	/* Without room, or while it is out (a read within the same read), it is prepared for this once. */
	int rc = sqlite3_prepare_v3(l->db, sql, -1, room ? SQLITE_PREPARE_PERSISTENT : 0, &s, NULL);
	if (rc != SQLITE_OK)
		(void)ledger_fault(l, rc, reterr);
	else if (room)
		*room = (struct ledger_statement){ .sql = sql, .statement = s, .is_out = true };
	return s;
}

void ledger_release(struct wet_ledger *l, sqlite3_stmt *s)
{
	for (int i = 0; i < LEDGER_STATEMENTS; i++) {
		if (l->statements[i].statement == s) {
			(void)sqlite3_reset(s); /* repeats the error of the step, which was told */
			(void)sqlite3_clear_bindings(s);
			l->statements[i].is_out = false;
			return;
		}
	}
	(void)sqlite3_finalize(s);
}

/* The statement alone is undone, and the transaction goes on, where a value was at fault. */
static bool is_of_value(int err)
{
	return err == WET_ERR_EXISTS || err == WET_ERR_NOT_FOUND || err == WET_ERR_INVALID ||
		   err == WET_ERR_TOO_LONG;
}

/* May the transaction (if there is one) still be committed? */
static int check_undone(struct wet_ledger *l, struct wet_fault *reterr)
{
	if (l->is_in_transaction && l->undone.err == 0 && sqlite3_get_autocommit(l->db))
		(void)wet_fault_set(&l->undone, WET_ERR_IO, l->path, "the transaction was undone",
							"all of it once more");
	if (l->is_in_transaction && l->undone.err != 0 && reterr)
		*reterr = l->undone;
	return l->is_in_transaction ? l->undone.err : WET_OK;
}

int ledger_finish(struct wet_ledger *l, sqlite3_stmt *s, struct wet_fault *reterr)
{
	int out = check_undone(l, reterr);
	if (out == 0) {
		int rc = sqlite3_step(s);
		if (rc != SQLITE_DONE && rc != SQLITE_ROW) {
			struct wet_fault fault;
			out = ledger_fault(l, rc, &fault);
			if (reterr)
				*reterr = fault;
			/* SQLite may have undone all of it by itself, and would commit what follows row by row. */
			if (l->is_in_transaction && (!is_of_value(out) || sqlite3_get_autocommit(l->db)))
				l->undone = fault;
		}
	}
	ledger_release(l, s);
	return out;
}

int ledger_each(struct wet_ledger *l, sqlite3_stmt *s, ledger_take *take, void *ctx, struct wet_fault *reterr)
{
	int rc = SQLITE_DONE, out = WET_OK;
	while (out == WET_OK && (rc = sqlite3_step(s)) == SQLITE_ROW)
		out = take(l, s, ctx, reterr);
	if (out == WET_OK && rc != SQLITE_DONE)
		out = ledger_fault(l, rc, reterr);
	ledger_release(l, s);
	return out;
}

/* -- opening -------------------------------------------------------------------- */
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
	ledger_release(l, s);
	return out;
}

/* The file may have been made by a stranger: nothing in its schema may run, and no setting loosens the journal. */
static void distrust(struct wet_ledger *l)
{
	(void)sqlite3_db_config(l->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
	(void)sqlite3_db_config(l->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
	(void)sqlite3_db_config(l->db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
	(void)sqlite3_db_config(l->db, SQLITE_DBCONFIG_ENABLE_VIEW, 0, NULL);
	(void)sqlite3_limit(l->db, SQLITE_LIMIT_LENGTH, 4 * WET_RECIPE_FILE_BYTES);
	(void)sqlite3_limit(l->db, SQLITE_LIMIT_ATTACHED, 0);
}

static int set_up(struct wet_ledger *l, struct wet_fault *reterr)
{
	(void)sqlite3_extended_result_codes(l->db, 1);
	distrust(l);
	/* EXCLUSIVE before WAL: no shared memory file, so no SIGBUS on a nearly full disk, and one daemon a ledger. */
	int rc = ledger_run_sql(l,
							"PRAGMA locking_mode = EXCLUSIVE;"
							"PRAGMA trusted_schema = OFF;"
							"PRAGMA cell_size_check = ON;"
							"PRAGMA mmap_size = 0;"
							"PRAGMA temp_store = MEMORY;"
							"PRAGMA foreign_keys = ON;"
							"PRAGMA synchronous = FULL;",
							reterr);
	if (rc == 0)
		rc = ledger_identify(l, reterr);
	if (rc == 0)
		rc = set_wal(l, reterr);
	if (rc == 0)
		rc = ledger_run_sql(l, "PRAGMA journal_size_limit = 4194304; PRAGMA wal_autocheckpoint = 1000",
							reterr);
	return rc == 0 ? ledger_migrate(l, reterr) : rc;
}

/* A new ledger is its owner's alone, whatever the umask; SQLite gives its journal the same mode. An old one is not
 * touched: closing a second descriptor of it would drop the locks of another connection of this process (POSIX). */
static void make_private(struct wet_ledger *l)
{
	int fd = open(l->path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
	if (fd >= 0)
		close(fd);
	else if (errno != EEXIST)
		l->create_errno = errno;
}

int wet_ledger_open(struct wet_ledger **ret_ledger, const char *path, struct wet_fault *reterr)
{
	/* Names that SQLite would take for a database in memory or a URI are files like any other. */
	bool is_special = strncmp(path, "file:", 5) == 0 || path[0] == ':';
	if (!path[0])
		return wet_fault_set(reterr, WET_ERR_INVALID, "ledger", NULL, "a path");
	if (strlen(path) + (is_special ? 2 : 0) >= LEDGER_PATH_BYTES)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "ledger", path, "a path of under %d bytes",
							 LEDGER_PATH_BYTES - 2);
	struct wet_ledger *l = calloc(1, sizeof *l);
	if (!l)
		return wet_fault_set(reterr, WET_ERR_NOMEM, path, NULL, "%s", advice(WET_ERR_NOMEM));
	wet_text_format(l->path, sizeof l->path, "%s%s", is_special ? "./" : "", path);
	make_private(l);
	int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_PRIVATECACHE;
	int sq = sqlite3_open_v2(l->path, &l->db, flags, NULL);
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
	for (int i = 0; i < LEDGER_STATEMENTS; i++)
		(void)sqlite3_finalize(l->statements[i].statement);
	(void)sqlite3_close(l->db); /* undoes what was not committed */
	free(l);
}

/* -- transactions ------------------------------------------------------------------ */
int wet_ledger_begin(struct wet_ledger *l, struct wet_fault *reterr)
{
	if (l->is_in_transaction)
		return wet_fault_set(reterr, WET_ERR_INTERNAL, l->path, "a transaction within another", "%s",
							 advice(WET_ERR_INTERNAL));
	int rc = ledger_run_sql(l, "BEGIN IMMEDIATE", reterr);
	l->is_in_transaction = rc == 0;
	l->undone.err = 0;
	return rc;
}

int wet_ledger_commit(struct wet_ledger *l, struct wet_fault *reterr)
{
	int rc = WET_OK;
	if (!l->is_in_transaction) {
		rc = wet_fault_set(reterr, WET_ERR_INTERNAL, l->path, "no transaction", "%s",
						   advice(WET_ERR_INTERNAL));
	} else {
		rc = check_undone(l, reterr);
		if (rc == 0)
			rc = ledger_run_sql(l, "COMMIT", reterr);
	}
	if (rc != 0)
		wet_ledger_rollback(l);
	l->is_in_transaction = false;
	l->undone.err = 0;
	return rc;
}

void wet_ledger_rollback(struct wet_ledger *l)
{
	if (!sqlite3_get_autocommit(l->db))
		(void)ledger_run_sql(l, "ROLLBACK", NULL);
	l->is_in_transaction = false;
	l->undone.err = 0;
}

int ledger_ask(struct wet_ledger *l, sqlite3_stmt *s, bool *ret_is_there, struct wet_fault *reterr)
{
	int rc = sqlite3_step(s), out = WET_OK;
	if (rc == SQLITE_ROW || rc == SQLITE_DONE)
		*ret_is_there = rc == SQLITE_ROW;
	else
		out = ledger_fault(l, rc, reterr);
	ledger_release(l, s);
	return out;
}

int ledger_several_begin(struct wet_ledger *l, bool *ret_is_own, struct wet_fault *reterr)
{
	*ret_is_own = !l->is_in_transaction;
	if (*ret_is_own)
		return wet_ledger_begin(l, reterr);
	int rc = check_undone(l, reterr);
	return rc == 0 ? ledger_run_sql(l, "SAVEPOINT several", reterr) : rc;
}

int ledger_several_end(struct wet_ledger *l, bool is_own, int rc, struct wet_fault *reterr)
{
	if (is_own && rc == 0)
		return wet_ledger_commit(l, reterr);
	if (is_own) {
		wet_ledger_rollback(l);
		return rc;
	}
	if (l->undone.err != 0)
		return rc;
	struct wet_fault fault = { .err = WET_OK };
	(void)ledger_run_sql(l, rc == 0 ? "RELEASE several" : "ROLLBACK TO several; RELEASE several", &fault);
	l->undone = fault; /* where even that failed */
	if (rc == 0 && fault.err != 0 && reterr)
		*reterr = fault;
	return rc == 0 ? fault.err : rc;
}
