/* runs.c: runs with their setup, as it was frozen at arming. */
#include "ledger/exchange.h"
#include "ledger/inside.h"

#include "base/text.h"

#include <string.h>

/* Stored as numbers: see inside.h. */
static_assert(WET_FORECAST_CONSTANT == 0 && WET_FORECAST_NEWTON == 1 && WET_FORECAST_ROOM == 2, "stored");
static_assert(WET_STAGE_HANDLING == 0 && WET_STAGE_PRE_SOAK == 1 && WET_STAGE_DEVELOP == 2, "stored");
static_assert(WET_STAGE_RINSE == 3 && WET_STAGE_STOP == 4 && WET_STAGE_FIX == 5, "stored");
static_assert(WET_STAGE_SECOND_FIX == 6 && WET_STAGE_BLEACH == 7 && WET_STAGE_CLEAR == 8, "stored");
static_assert(WET_STAGE_RE_EXPOSE == 9 && WET_STAGE_REDEVELOP == 10 && WET_STAGE_AID == 11, "stored");
static_assert(WET_STAGE_WASH == 12 && WET_STAGE_TONE == 13 && WET_STAGE_TEST == 14, "stored");

#define RATE_MILLI_USUAL 1000 /* not stored, so that a kind of stage made later has it in older runs */

/* In the order in which put binds and read reads. */
#define RUN_COLUMNS                                                                                        \
	"id, name, recipe_name, recipe_hash, owner_uid, group_controls, person, armed_boot_id, armed_boot_ns," \
	" armed_wall_ms, is_live, outcome, ended_wall_ms, vessel_name, vessel_kind, vessel_fill_ns,"           \
	" vessel_drain_ns, vessel_pieces_max, vessel_stagger_ns, vessel_tau_ns, vessel_tau_error_ns,"          \
	" vessel_tau_count, vessel_chill_ppm, washer_name, washer_kind,"                                       \
	" washer_fill_ns, washer_drain_ns, washer_pieces_max, washer_stagger_ns, washer_tau_ns,"               \
	" washer_tau_error_ns, washer_tau_count, washer_chill_ppm, pieces, room,"                              \
	" forecast_kind, forecast_room_mc, forecast_tau_ns, tolerance_mc, is_rehearsal, is_mine, is_wet,"      \
	" is_unheard, no_beat, rules_version"
enum { VESSEL_AT = 13, WASHER_AT = 23, SETUP_AT = 33 }; /* columns from 0 */

int wet_ledger_next_run_id(struct wet_ledger *l, int64_t *ret_id, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, "SELECT coalesce(max(id), 0) + 1 FROM run", reterr);
	if (!s)
		return ledger_err(l);
	int rc = sqlite3_step(s), out = WET_OK;
	if (rc != SQLITE_ROW)
		out = ledger_fault(l, rc, reterr);
	else if (!column_number(s, 0, 1, INT64_MAX, ret_id))
		out = ledger_corrupt(l, "the number of the last run", reterr);
	ledger_release(l, s);
	return out;
}

/* -- storing ---------------------------------------------------------------------- */
static bool setup_is_storable(const struct wet_run_setup *u)
{
	for (int i = 0; i < WET_STAGE_KIND_N; i++) {
		if (u->rate_milli[i] < 1 || u->rate_milli[i] > WET_RATE_MILLI_MAX)
			return false;
	}
	/* Newton's law divides by its constant. */
	return u->pieces >= 1 && u->pieces <= WET_PIECES && text_fits(u->room, sizeof u->room) &&
		   (unsigned)u->forecast.kind <= WET_FORECAST_ROOM && u->forecast.tau_ns >= 0 &&
		   (u->forecast.kind != WET_FORECAST_NEWTON || u->forecast.tau_ns > 0) && u->tolerance_mc >= 0 &&
		   u->rules_version >= 0;
}

static bool run_is_storable(const struct wet_ledger_run *r)
{
	return r->id >= 1 && text_fits(r->name, sizeof r->name) &&
		   text_fits(r->recipe_name, sizeof r->recipe_name) &&
		   text_fits(r->recipe_hash, sizeof r->recipe_hash) && text_fits(r->person, sizeof r->person) &&
		   text_fits(r->armed_boot_id, sizeof r->armed_boot_id) && r->armed_boot_ns >= 0 &&
		   text_fits(r->outcome, sizeof r->outcome) && setup_is_storable(&r->setup);
}

static int put_rates(struct wet_ledger *l, const struct wet_ledger_run *r, struct wet_fault *reterr)
{
	int rc = WET_OK;
	for (int i = 0; i < WET_STAGE_KIND_N && rc == 0; i++) {
		if (r->setup.rate_milli[i] == RATE_MILLI_USUAL)
			continue;
		sqlite3_stmt *s =
			ledger_prepare(l, "INSERT INTO rate(run_id, stage_kind, rate_milli) VALUES(?,?,?)", reterr);
		if (!s)
			return ledger_err(l);
		(void)sqlite3_bind_int64(s, 1, r->id);
		(void)sqlite3_bind_int(s, 2, i);
		(void)sqlite3_bind_int64(s, 3, r->setup.rate_milli[i]);
		rc = ledger_finish(l, s, reterr);
	}
	return rc;
}

static void bind_setup(sqlite3_stmt *s, int i, const struct wet_run_setup *u)
{
	i = bind_vessel(s, i, &u->vessel);
	i = bind_vessel(s, i, &u->washer);
	(void)sqlite3_bind_int(s, i++, u->pieces);
	bind_text(s, i++, u->room);
	(void)sqlite3_bind_int(s, i++, (int)u->forecast.kind);
	(void)sqlite3_bind_int(s, i++, u->forecast.room_mc);
	(void)sqlite3_bind_int64(s, i++, u->forecast.tau_ns);
	(void)sqlite3_bind_int(s, i++, u->tolerance_mc);
	(void)sqlite3_bind_int(s, i++, u->is_rehearsal);
	(void)sqlite3_bind_int(s, i++, u->is_mine);
	(void)sqlite3_bind_int(s, i++, u->is_wet);
	(void)sqlite3_bind_int(s, i++, u->is_unheard);
	(void)sqlite3_bind_int(s, i++, u->no_beat);
	(void)sqlite3_bind_int(s, i++, u->rules_version);
}

static int put_row(struct wet_ledger *l, const struct wet_ledger_run *r, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"INSERT INTO run(" RUN_COLUMNS ")"
		" VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
		reterr);
	if (!s)
		return ledger_err(l);
	int i = 1;
	(void)sqlite3_bind_int64(s, i++, r->id);
	bind_text(s, i++, r->name);
	bind_text(s, i++, r->recipe_name);
	bind_text(s, i++, r->recipe_hash);
	(void)sqlite3_bind_int64(s, i++, r->owner_uid);
	(void)sqlite3_bind_int(s, i++, r->group_controls);
	bind_text(s, i++, r->person);
	bind_text(s, i++, r->armed_boot_id);
	(void)sqlite3_bind_int64(s, i++, r->armed_boot_ns);
	(void)sqlite3_bind_int64(s, i++, r->armed_wall_ms);
	(void)sqlite3_bind_int(s, i++, r->is_live);
	bind_text(s, i++, r->outcome);
	(void)sqlite3_bind_int64(s, i++, r->ended_wall_ms);
	bind_setup(s, i, &r->setup);
	return ledger_finish(l, s, reterr);
}

int wet_ledger_put_run(struct wet_ledger *l, const struct wet_ledger_run *r, struct wet_fault *reterr)
{
	bool is_own;
	if (!run_is_storable(r))
		return ledger_invalid(l, "a run", reterr);
	int rc = ledger_check_vessel(&r->setup.vessel, reterr);
	if (rc == 0)
		rc = ledger_check_vessel(&r->setup.washer, reterr);
	if (rc == 0)
		rc = ledger_several_begin(l, &is_own, reterr);
	if (rc != 0)
		return rc;
	rc = put_row(l, r, reterr);
	if (rc == 0)
		rc = put_rates(l, r, reterr);
	return ledger_several_end(l, is_own, rc, reterr);
}

/* -- reading ------------------------------------------------------------------------ */
static bool read_flag(sqlite3_stmt *s, int column, bool *ret_flag)
{
	int64_t number;
	if (!column_number(s, column, 0, 1, &number))
		return false;
	*ret_flag = number != 0;
	return true;
}

static bool read_setup(sqlite3_stmt *s, struct wet_run_setup *u)
{
	int64_t pieces, forecast, room_mc, tolerance_mc, rules;
	int i = SETUP_AT;
	if (!column_vessel(s, VESSEL_AT, &u->vessel) || !column_vessel(s, WASHER_AT, &u->washer) ||
		!column_number(s, i, 1, WET_PIECES, &pieces) || !column_text(s, i + 1, u->room, sizeof u->room) ||
		!column_number(s, i + 2, 0, WET_FORECAST_ROOM, &forecast) ||
		!column_number(s, i + 3, INT32_MIN, INT32_MAX, &room_mc) ||
		!column_number(s, i + 4, forecast == WET_FORECAST_NEWTON, INT64_MAX, &u->forecast.tau_ns) ||
		!column_number(s, i + 5, 0, INT32_MAX, &tolerance_mc) || !read_flag(s, i + 6, &u->is_rehearsal) ||
		!read_flag(s, i + 7, &u->is_mine) || !read_flag(s, i + 8, &u->is_wet) ||
		!read_flag(s, i + 9, &u->is_unheard) || !read_flag(s, i + 10, &u->no_beat) ||
		!column_number(s, i + 11, 0, INT32_MAX, &rules))
		return false;
	u->pieces = (int)pieces;
	u->forecast.kind = (enum wet_forecast_kind)forecast;
	u->forecast.room_mc = (int32_t)room_mc;
	u->tolerance_mc = (int32_t)tolerance_mc;
	u->rules_version = (int)rules;
	return true;
}

/* False: a value no wetside wrote. */
static bool read_run(sqlite3_stmt *s, struct wet_ledger_run *r)
{
	int64_t uid;
	memset(r, 0, sizeof *r);
	if (!column_number(s, 0, 1, INT64_MAX, &r->id) || !column_text(s, 1, r->name, sizeof r->name) ||
		!column_text(s, 2, r->recipe_name, sizeof r->recipe_name) ||
		!column_text(s, 3, r->recipe_hash, sizeof r->recipe_hash) ||
		!column_number(s, 4, 0, UINT32_MAX, &uid) || !read_flag(s, 5, &r->group_controls) ||
		!column_text(s, 6, r->person, sizeof r->person) ||
		!column_text(s, 7, r->armed_boot_id, sizeof r->armed_boot_id) ||
		!column_number(s, 8, 0, INT64_MAX, &r->armed_boot_ns) ||
		!column_number(s, 9, INT64_MIN, INT64_MAX, &r->armed_wall_ms) || !read_flag(s, 10, &r->is_live) ||
		!column_text(s, 11, r->outcome, sizeof r->outcome) ||
		!column_number(s, 12, INT64_MIN, INT64_MAX, &r->ended_wall_ms))
		return false;
	r->owner_uid = (uint32_t)uid;
	return read_setup(s, &r->setup);
}

static int take_rate(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct wet_ledger_run *r = ctx;
	int64_t kind, rate;
	if (!column_number(s, 0, 0, WET_STAGE_KIND_N - 1, &kind) ||
		!column_number(s, 1, 1, WET_RATE_MILLI_MAX, &rate))
		return ledger_corrupt(l, "a rate", reterr);
	r->setup.rate_milli[kind] = (uint32_t)rate;
	return WET_OK;
}

static int read_rates(struct wet_ledger *l, struct wet_ledger_run *r, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, "SELECT stage_kind, rate_milli FROM rate WHERE run_id = ?", reterr);
	if (!s)
		return ledger_err(l);
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		r->setup.rate_milli[i] = RATE_MILLI_USUAL;
	(void)sqlite3_bind_int64(s, 1, r->id);
	return ledger_each(l, s, take_rate, r, reterr);
}

struct taking_runs {
	wet_ledger_run_cb *cb;
	void *ctx;
	bool is_lenient; /* a damaged row comes as NULL, so that it does not hide the others */
};

static int take_run(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking_runs *t = ctx;
	struct wet_ledger_run run;
	struct wet_fault fault;
	char text[32];
	wet_text_format(text, sizeof text, "run %lld", (long long)sqlite3_column_int64(s, 0));
	int rc = read_run(s, &run) ? read_rates(l, &run, &fault) : ledger_corrupt(l, text, &fault);
	if (rc == WET_ERR_CORRUPT && t->is_lenient)
		return t->cb(t->ctx, NULL);
	if (rc == 0)
		return t->cb(t->ctx, &run);
	if (reterr)
		*reterr = fault;
	return rc;
}

static int each_run(struct wet_ledger *l, sqlite3_stmt *s, bool is_lenient, wet_ledger_run_cb *cb, void *ctx,
					struct wet_fault *reterr)
{
	struct taking_runs t = { cb, ctx, is_lenient };
	return ledger_each(l, s, take_run, &t, reterr);
}

int wet_ledger_each_live_run(struct wet_ledger *l, wet_ledger_run_cb *cb, void *ctx, struct wet_fault *reterr)
{
	sqlite3_stmt *s =
		ledger_prepare(l, "SELECT " RUN_COLUMNS " FROM run WHERE is_live = 1 ORDER BY id", reterr);
	return s ? each_run(l, s, true, cb, ctx, reterr) : ledger_err(l);
}

int wet_ledger_each_finished_run(struct wet_ledger *l, int64_t before_id, int limit, wet_ledger_run_cb *cb,
								 void *ctx, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l, "SELECT " RUN_COLUMNS " FROM run WHERE is_live = 0 AND id < ? ORDER BY id DESC LIMIT ?", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, before_id);
	(void)sqlite3_bind_int(s, 2, limit > 0 ? limit : 0); /* a negative one would be none */
	return each_run(l, s, false, cb, ctx, reterr);
}

int wet_ledger_each_run(struct wet_ledger *l, int64_t after_id, int64_t to_id, wet_ledger_run_cb *cb, void *ctx,
						struct wet_fault *reterr)
{
	sqlite3_stmt *s =
		ledger_prepare(l, "SELECT " RUN_COLUMNS " FROM run WHERE id > ? AND id <= ? ORDER BY id", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, after_id);
	(void)sqlite3_bind_int64(s, 2, to_id);
	return each_run(l, s, false, cb, ctx, reterr);
}

int ledger_find_armed(struct wet_ledger *l, const struct wet_ledger_run *run, wet_ledger_run_cb *cb, void *ctx,
					  struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l, "SELECT " RUN_COLUMNS " FROM run WHERE armed_boot_ns = ? AND armed_boot_id = ? AND name = ?", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run->armed_boot_ns);
	bind_text(s, 2, run->armed_boot_id);
	bind_text(s, 3, run->name);
	return each_run(l, s, false, cb, ctx, reterr);
}

static int take_one(void *ctx, const struct wet_ledger_run *run)
{
	*(struct wet_ledger_run *)ctx = *run;
	return WET_OK;
}

int wet_ledger_get_run(struct wet_ledger *l, int64_t run_id, struct wet_ledger_run *ret_run,
					   struct wet_fault *reterr)
{
	struct wet_ledger_run run = { .id = 0 };
	sqlite3_stmt *s = ledger_prepare(l, "SELECT " RUN_COLUMNS " FROM run WHERE id = ?", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	int rc = each_run(l, s, false, take_one, &run, reterr);
	if (rc == 0 && run.id == 0)
		rc = wet_fault_set(reterr, WET_ERR_NOT_FOUND, "run", NULL,
						   "the number of a run, as `wetside record` shows it");
	if (rc == 0)
		*ret_run = run;
	return rc;
}
