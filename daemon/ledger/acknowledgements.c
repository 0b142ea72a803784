/* acknowledgements.c: who has acknowledged the safety note of which version of a recipe. */
#include "ledger/inside.h"

int wet_ledger_put_acknowledgement(struct wet_ledger *l, const char *person, const char *recipe_name,
								   int version, int64_t wall_ms, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l, "INSERT OR IGNORE INTO acknowledgement(person, recipe_name, version, wall_ms) VALUES(?,?,?,?)",
		reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, person);
	bind_text(s, 2, recipe_name);
	(void)sqlite3_bind_int(s, 3, version);
	(void)sqlite3_bind_int64(s, 4, wall_ms);
	return ledger_finish(l, s, reterr);
}

int wet_ledger_has_acknowledgement(struct wet_ledger *l, const char *person, const char *recipe_name,
								   int version, bool *ret_has, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l, "SELECT 1 FROM acknowledgement WHERE person = ? AND recipe_name = ? AND version = ?", reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, person);
	bind_text(s, 2, recipe_name);
	(void)sqlite3_bind_int(s, 3, version);
	int rc = sqlite3_step(s), out = WET_OK;
	if (rc == SQLITE_ROW || rc == SQLITE_DONE)
		*ret_has = rc == SQLITE_ROW;
	else
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}
