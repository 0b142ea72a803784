/* events.c: the events of a run, typed columns. */
#include "ledger/inside.h"

#include <string.h>

int wet_ledger_append(struct wet_ledger *l, int64_t run_id, int64_t seq, const struct wet_event *e,
					  struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, "INSERT INTO event VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	(void)sqlite3_bind_int64(s, 2, seq);
	(void)sqlite3_bind_int(s, 3, e->kind);
	(void)sqlite3_bind_int64(s, 4, e->flags);
	(void)sqlite3_bind_int64(s, 5, e->boot_ns);
	(void)sqlite3_bind_int64(s, 6, e->wall_ms);
	bind_text(s, 7, e->boot_id);
	(void)sqlite3_bind_int64(s, 8, e->a_ns);
	(void)sqlite3_bind_int64(s, 9, e->b_ns);
	(void)sqlite3_bind_int64(s, 10, e->c_ns);
	(void)sqlite3_bind_int(s, 11, e->temperature_mc);
	(void)sqlite3_bind_int(s, 12, e->bath);
	(void)sqlite3_bind_int64(s, 13, e->number);
	bind_text(s, 14, e->token);
	(void)sqlite3_bind_int64(s, 15, e->uid);
	return ledger_finish(l, s, reterr);
}

static bool read_event(sqlite3_stmt *s, int64_t *ret_seq, struct wet_event *e)
{
	int64_t kind, flags, temperature_mc, bath, uid;
	memset(e, 0, sizeof *e);
	if (!column_number(s, 0, 1, INT64_MAX, ret_seq) || !column_number(s, 1, 0, WET_EVENT_KIND_N - 1, &kind) ||
		!column_number(s, 2, 0, UINT32_MAX, &flags) || !column_number(s, 3, 0, INT64_MAX, &e->boot_ns) ||
		!column_number(s, 4, INT64_MIN, INT64_MAX, &e->wall_ms) ||
		!column_text(s, 5, e->boot_id, sizeof e->boot_id) ||
		!column_number(s, 6, INT64_MIN, INT64_MAX, &e->a_ns) ||
		!column_number(s, 7, INT64_MIN, INT64_MAX, &e->b_ns) ||
		!column_number(s, 8, INT64_MIN, INT64_MAX, &e->c_ns) ||
		!column_number(s, 9, INT32_MIN, INT32_MAX, &temperature_mc) ||
		!column_number(s, 10, -1, WET_RECIPE_BATHS - 1, &bath) ||
		!column_number(s, 11, INT64_MIN, INT64_MAX, &e->number) ||
		!column_text(s, 12, e->token, sizeof e->token) || !column_number(s, 13, 0, UINT32_MAX, &uid))
		return false;
	e->kind = (int)kind;
	e->flags = (uint32_t)flags;
	e->temperature_mc = (int32_t)temperature_mc;
	e->bath = (int)bath;
	e->uid = (uint32_t)uid;
	return true;
}

int wet_ledger_each_event(struct wet_ledger *l, int64_t run_id, wet_ledger_event_cb *cb, void *ctx,
						  struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT seq, kind, flags, boot_ns, wall_ms, boot_id, a_ns, b_ns, c_ns, temperature_mc, bath, number,"
		" token, uid FROM event WHERE run_id = ? ORDER BY seq",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	int rc = SQLITE_DONE, out = WET_OK;
	while (out == WET_OK && (rc = sqlite3_step(s)) == SQLITE_ROW) {
		struct wet_event e;
		int64_t seq;
		out = read_event(s, &seq, &e) ? cb(ctx, seq, &e) : ledger_corrupt("an event", reterr);
	}
	if (out == WET_OK && rc != SQLITE_DONE)
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}
