/* events.c: the events of a run, in typed columns: replay parses nothing. */
#include "ledger/exchange.h"
#include "ledger/inside.h"

#include <string.h>

/* The number of a kind in the file. The enum's own would move when an act is added. 0 is none. */
static const uint8_t stored_kinds[] = {
	[WET_ACT_BEGIN] = 1,  [WET_ACT_GO] = 2,       [WET_ACT_LONGER] = 3,      [WET_ACT_HOLD] = 4,
	[WET_ACT_UNDO] = 5,   [WET_ACT_READING] = 6,  [WET_ACT_WHERE] = 7,       [WET_ACT_EMERGENCY] = 8,
	[WET_ACT_RESUME] = 9, [WET_ACT_ABANDON] = 10, [WET_ACT_JOIN] = 11,      [WET_EVENT_RESUMED] = 101,
	[WET_EVENT_CLOCK] = 102,
};
static_assert(sizeof stored_kinds == WET_EVENT_KIND_N && WET_EVENT_KIND_N == 13,
			  "a new kind needs a number of its own, one that never was another's");

/* Bits are stored: see inside.h. */
#define EVENT_FLAGS                                                                            \
	(WET_EVENT_HELD | WET_EVENT_BEFORE | WET_EVENT_AFTER | WET_EVENT_ROOM | WET_EVENT_REBOOT | \
	 WET_EVENT_UNCERTAIN | WET_EVENT_SHIFTED | WET_EVENT_FAHRENHEIT | WET_EVENT_PROBE)
static_assert(EVENT_FLAGS == 511, "stored");

static int kind_from_stored(int64_t stored)
{
	for (int i = 0; i < WET_EVENT_KIND_N; i++) {
		if (stored_kinds[i] == stored)
			return i;
	}
	return -1;
}

static bool event_is_storable(const struct wet_event *e)
{
	return e->kind >= 0 && e->kind < WET_EVENT_KIND_N && (e->flags & ~(uint32_t)EVENT_FLAGS) == 0 &&
		   e->boot_ns >= 0 && text_fits(e->boot_id, sizeof e->boot_id) && e->bath >= -1 &&
		   e->bath < WET_RECIPE_BATHS && text_fits(e->token, sizeof e->token);
}

int wet_ledger_append(struct wet_ledger *l, int64_t run_id, int64_t seq, const struct wet_event *e,
					  struct wet_fault *reterr)
{
	if (seq < 1 || !event_is_storable(e))
		return ledger_invalid(l, "an event", reterr);
	sqlite3_stmt *s = ledger_prepare(
		l,
		"INSERT INTO event(run_id, seq, kind, flags, boot_ns, wall_ms, boot_id, a_ns, b_ns, c_ns,"
		" temperature_mc, bath, number, token, uid) VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	(void)sqlite3_bind_int64(s, 2, seq);
	(void)sqlite3_bind_int(s, 3, stored_kinds[e->kind]);
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
	if (!column_number(s, 0, 1, INT64_MAX, ret_seq) || !column_number(s, 1, 1, UINT8_MAX, &kind) ||
		!column_number(s, 2, 0, EVENT_FLAGS, &flags) || !column_number(s, 3, 0, INT64_MAX, &e->boot_ns) ||
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
	e->kind = kind_from_stored(kind);
	e->flags = (uint32_t)flags;
	e->temperature_mc = (int32_t)temperature_mc;
	e->bath = (int)bath;
	e->uid = (uint32_t)uid;
	return e->kind >= 0;
}

struct taking_events {
	wet_ledger_event_cb *cb;
	void *ctx;
	bool is_lenient;
};

static int take_event(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking_events *t = ctx;
	struct wet_event e;
	int64_t seq;
	if (read_event(s, &seq, &e))
		return t->cb(t->ctx, seq, &e);
	if (t->is_lenient) /* the key is an integer: the table is strict */
		return t->cb(t->ctx, sqlite3_column_int64(s, 0), NULL);
	return ledger_corrupt(l, "an event", reterr);
}

static int each_event(struct wet_ledger *l, int64_t run_id, int64_t after_seq, struct taking_events *t,
					  struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT seq, kind, flags, boot_ns, wall_ms, boot_id, a_ns, b_ns, c_ns, temperature_mc, bath, number,"
		" token, uid FROM event WHERE run_id = ? AND seq > ? ORDER BY seq",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	(void)sqlite3_bind_int64(s, 2, after_seq);
	return ledger_each(l, s, take_event, t, reterr);
}

int wet_ledger_each_event(struct wet_ledger *l, int64_t run_id, wet_ledger_event_cb *cb, void *ctx,
						  struct wet_fault *reterr)
{
	struct taking_events t = { cb, ctx, false };
	return each_event(l, run_id, INT64_MIN, &t, reterr);
}

int wet_ledger_each_readable_event(struct wet_ledger *l, int64_t run_id, wet_ledger_event_cb *cb, void *ctx,
								   struct wet_fault *reterr)
{
	struct taking_events t = { cb, ctx, true };
	return each_event(l, run_id, INT64_MIN, &t, reterr);
}

int wet_ledger_each_event_after(struct wet_ledger *l, int64_t run_id, int64_t after_seq, wet_ledger_event_cb *cb,
								void *ctx, struct wet_fault *reterr)
{
	struct taking_events t = { cb, ctx, false };
	return each_event(l, run_id, after_seq, &t, reterr);
}
