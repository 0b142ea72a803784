/* acknowledgements.c: who has acknowledged the safety note of which version of a recipe. The first time counts. */
#include "ledger/inside.h"

int wet_ledger_put_acknowledgement(struct wet_ledger *l, const char *person, const char *recipe_name,
								   int version, int64_t wall_ms, struct wet_fault *reterr)
{
	if (!text_fits(person, WET_NAME_BYTES) || !recipe_name[0] || !text_fits(recipe_name, WET_NAME_BYTES))
		return ledger_invalid(l, "an acknowledgement", reterr);
	/* Not OR IGNORE: it would take a row that could not be stored for one that is. */
	sqlite3_stmt *s =
		ledger_prepare(l,
					   "INSERT INTO acknowledgement(person, recipe_name, version, wall_ms) VALUES(?,?,?,?)"
					   " ON CONFLICT DO NOTHING",
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
	return ledger_ask(l, s, ret_has, reterr);
}
