/* migrate.c: which version of the ledger a file is, and the way to the present one. */
#include "ledger/inside.h"

#include "base/text.h"

/* Row n brings version n to version n + 1. A migration that was ever shipped is never edited. */
static const char *const migrations[] = { wet_migration_0001, wet_migration_0002, wet_migration_0003, wet_migration_0004,
										  wet_migration_0005, wet_migration_0006, wet_migration_0007, wet_migration_0008,
										  wet_migration_0009 };
#define MIGRATION_COUNT ((int)(sizeof migrations / sizeof migrations[0]))
static_assert(MIGRATION_COUNT == LEDGER_VERSION, "one migration a version");

static int read_number(struct wet_ledger *l, const char *sql, int *ret_value, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, sql, reterr);
	if (!s)
		return ledger_err(l);
	int rc = sqlite3_step(s), out = WET_OK;
	if (rc == SQLITE_ROW)
		*ret_value = sqlite3_column_int(s, 0);
	else
		out = ledger_fault(l, rc, reterr);
	ledger_release(l, s);
	return out;
}

int ledger_identify(struct wet_ledger *l, struct wet_fault *reterr)
{
	int version = 0, application = 0, tables = 0;
	char text[32];
	int rc = read_number(l, "PRAGMA user_version", &version, reterr);
	if (rc == 0)
		rc = read_number(l, "PRAGMA application_id", &application, reterr);
	if (rc == 0)
		rc = read_number(l, "SELECT count(*) FROM sqlite_schema", &tables, reterr);
	if (rc != 0)
		return rc;
	if (application == 0 && version == 0 && tables == 0)
		return WET_OK;
	if (application != LEDGER_APPLICATION)
		return wet_fault_set(reterr, WET_ERR_CORRUPT, l->path, "another program's file",
							 "a ledger of wetside; leave this file, and give another --ledger");
	wet_text_format(text, sizeof text, "version %d", version);
	if (version < 1)
		return ledger_corrupt(l, text, reterr);
	if (version > LEDGER_VERSION)
		return wet_fault_set(reterr, WET_ERR_NEWER, l->path, text,
							 "at most version %d; install the newer wetside again, or give another --ledger",
							 LEDGER_VERSION);
	return WET_OK;
}

/* One migration is one transaction, with the number it leads to. */
static int migrate_once(struct wet_ledger *l, int version, struct wet_fault *reterr)
{
	char pragmas[96];
	wet_text_format(pragmas, sizeof pragmas, "PRAGMA application_id = %d; PRAGMA user_version = %d",
					LEDGER_APPLICATION, version + 1);
	int rc = ledger_run_sql(l, "BEGIN IMMEDIATE", reterr);
	if (rc == 0)
		rc = ledger_run_sql(l, migrations[version], reterr);
	if (rc == 0)
		rc = ledger_run_sql(l, pragmas, reterr);
	if (rc == 0)
		rc = ledger_run_sql(l, "COMMIT", reterr);
	if (rc != 0)
		wet_ledger_rollback(l);
	return rc;
}

int ledger_migrate(struct wet_ledger *l, struct wet_fault *reterr)
{
	int version = 0;
	int rc = read_number(l, "PRAGMA user_version", &version, reterr);
	for (; rc == 0 && version < LEDGER_VERSION; version++)
		rc = migrate_once(l, version, reterr);
	return rc;
}
