/* vessels.c: vessels as measured or told; the latest row of a name wins, the older ones are its history. */
#include "ledger/inside.h"

#include <string.h>

int wet_ledger_put_vessel(struct wet_ledger *l, const struct wet_vessel *v, int64_t wall_ms,
						  struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"INSERT INTO vessel(name, kind, fill_ns, drain_ns, pieces_max, stagger_ns, tau_ns, wall_ms)"
		" VALUES(?,?,?,?,?,?,?,?)",
		reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, v->name);
	(void)sqlite3_bind_int(s, 2, (int)v->kind);
	(void)sqlite3_bind_int64(s, 3, v->fill_ns);
	(void)sqlite3_bind_int64(s, 4, v->drain_ns);
	(void)sqlite3_bind_int(s, 5, v->pieces_max);
	(void)sqlite3_bind_int64(s, 6, v->stagger_ns);
	(void)sqlite3_bind_int64(s, 7, v->tau_ns);
	(void)sqlite3_bind_int64(s, 8, wall_ms);
	return ledger_finish(l, s, reterr);
}

bool column_vessel(sqlite3_stmt *s, int column, struct wet_vessel *ret_vessel)
{
	struct wet_vessel v;
	int64_t kind, pieces_max;
	memset(&v, 0, sizeof v);
	if (!column_text(s, column, v.name, sizeof v.name) ||
		!column_number(s, column + 1, 0, WET_VESSEL_KIND_N - 1, &kind) ||
		!column_number(s, column + 2, 0, WET_STAGE_NS_MAX, &v.fill_ns) ||
		!column_number(s, column + 3, 0, WET_STAGE_NS_MAX, &v.drain_ns) ||
		!column_number(s, column + 4, 0, INT32_MAX, &pieces_max) ||
		!column_number(s, column + 5, 0, WET_STAGE_NS_MAX, &v.stagger_ns) ||
		!column_number(s, column + 6, 0, INT64_MAX, &v.tau_ns))
		return false;
	v.kind = (enum wet_vessel_kind)kind;
	v.pieces_max = (int)pieces_max;
	*ret_vessel = v;
	return true;
}

int wet_ledger_get_vessel(struct wet_ledger *l, const char *name, struct wet_vessel *ret_vessel,
						  struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT name, kind, fill_ns, drain_ns, pieces_max, stagger_ns, tau_ns FROM vessel WHERE name = ?"
		" ORDER BY id DESC LIMIT 1",
		reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, name);
	int rc = sqlite3_step(s), out = WET_OK;
	if (rc == SQLITE_DONE)
		out = wet_fault_set(reterr, WET_ERR_NOT_FOUND, "vessel", name, "a vessel that was measured or told");
	else if (rc != SQLITE_ROW)
		out = ledger_fault(l, rc, reterr);
	else if (!column_vessel(s, 0, ret_vessel))
		out = ledger_corrupt("a vessel", reterr);
	(void)sqlite3_finalize(s);
	return out;
}

int wet_ledger_each_vessel(struct wet_ledger *l, wet_ledger_vessel_cb *cb, void *ctx,
						   struct wet_fault *reterr)
{
	/* With max() the other columns are those of the row that holds the maximum (SQLite, "Quirks", section 6). */
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT name, kind, fill_ns, drain_ns, pieces_max, stagger_ns, tau_ns, max(id) FROM vessel"
		" GROUP BY name ORDER BY name",
		reterr);
	if (!s)
		return ledger_err(l);
	int rc = SQLITE_DONE, out = WET_OK;
	while (out == WET_OK && (rc = sqlite3_step(s)) == SQLITE_ROW) {
		struct wet_vessel v;
		out = column_vessel(s, 0, &v) ? cb(ctx, &v) : ledger_corrupt("a vessel", reterr);
	}
	if (out == WET_OK && rc != SQLITE_DONE)
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}
