/* events.c: the events of a run, typed columns. */
#include "ledger/inside.h"

#include <string.h>

int wet_ledger_append(struct wet_ledger *l, int64_t run_id, int64_t seq, const struct wet_event *e,
					  struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, "INSERT INTO event VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", reterr);
	if (!s)
		return err_from_sqlite(sqlite3_errcode(l->db));
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

static bool read_event(sqlite3_stmt *s, struct wet_event *e)
{
	memset(e, 0, sizeof *e);
	e->kind = sqlite3_column_int(s, 1);
	e->flags = (uint32_t)sqlite3_column_int64(s, 2);
	e->boot_ns = sqlite3_column_int64(s, 3);
	e->wall_ms = sqlite3_column_int64(s, 4);
	e->a_ns = sqlite3_column_int64(s, 6);
	e->b_ns = sqlite3_column_int64(s, 7);
	e->c_ns = sqlite3_column_int64(s, 8);
	e->temperature_mc = sqlite3_column_int(s, 9);
	e->bath = sqlite3_column_int(s, 10);
	e->number = sqlite3_column_int64(s, 11);
	e->uid = (uint32_t)sqlite3_column_int64(s, 13);
	return e->kind >= 0 && e->kind < WET_EVENT_KIND_N && e->bath >= -1 && e->bath < WET_RECIPE_BATHS &&
		   e->boot_ns >= 0 && column_text(s, 5, e->boot_id, sizeof e->boot_id) &&
		   column_text(s, 12, e->token, sizeof e->token);
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
		return err_from_sqlite(sqlite3_errcode(l->db));
	(void)sqlite3_bind_int64(s, 1, run_id);
	int rc, out = WET_OK;
	while (out == WET_OK && (rc = sqlite3_step(s)) == SQLITE_ROW) {
		struct wet_event e;
		out =
			read_event(s, &e) ? cb(ctx, sqlite3_column_int64(s, 0), &e) : ledger_corrupt("an event", reterr);
	}
	if (out == WET_OK && rc != SQLITE_DONE)
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}
