/* runs.c: recipes as frozen, runs, the ends of their stages. */
#include "ledger/inside.h"

#include <stdlib.h>
#include <string.h>

enum { REHEARSAL = 1, MINE = 2, WET = 4, UNHEARD = 8, NO_BEAT = 16, ALL_FLAGS = 31 };

#define RATES_BYTES (4 * WET_STAGE_KIND_N)

/* In the order in which put binds and read reads. */
#define RUN_COLUMNS                                                                                        \
	"id, name, recipe_name, recipe_hash, owner_uid, group_controls, person, armed_boot_id, armed_boot_ns," \
	" armed_wall_ms, is_live, outcome, ended_wall_ms, vessel_name, vessel_kind, vessel_fill_ns,"           \
	" vessel_drain_ns, vessel_pieces_max, vessel_stagger_ns, vessel_tau_ns, washer_name, washer_kind,"     \
	" washer_fill_ns, washer_drain_ns, washer_pieces_max, washer_stagger_ns, washer_tau_ns, pieces, room," \
	" forecast_kind, forecast_room_mc, forecast_tau_ns, tolerance_mc, flags, rates, rules_version"

#define PREPARE(l, sql)                               \
	sqlite3_stmt *s = ledger_prepare(l, sql, reterr); \
	if (!s)                                           \
	return ledger_err(l)

int wet_ledger_put_recipe(struct wet_ledger *l, const char *hash, const char *name, const char *json,
						  size_t json_bytes, struct wet_fault *reterr)
{
	PREPARE(l, "INSERT OR IGNORE INTO recipe(hash, name, json) VALUES(?, ?, ?)");
	bind_text(s, 1, hash);
	bind_text(s, 2, name);
	(void)sqlite3_bind_blob64(s, 3, json, json_bytes, SQLITE_STATIC);
	return ledger_finish(l, s, reterr);
}

int wet_ledger_get_recipe(struct wet_ledger *l, const char *hash, char **ret_json, size_t *ret_json_bytes,
						  struct wet_fault *reterr)
{
	PREPARE(l, "SELECT json FROM recipe WHERE hash = ?");
	bind_text(s, 1, hash);
	int rc = sqlite3_step(s), out = WET_OK;
	if (rc == SQLITE_ROW) {
		int n = sqlite3_column_bytes(s, 0);
		const void *blob = sqlite3_column_blob(s, 0);
		char *json = n > 0 && n <= WET_RECIPE_FILE_BYTES ? malloc((size_t)n + 1) : NULL;
		if (!json) {
			out = n > 0 && n <= WET_RECIPE_FILE_BYTES
					  ? wet_fault_set(reterr, WET_ERR_NOMEM, "", NULL, "more memory")
					  : ledger_corrupt("a recipe's size", reterr);
		} else {
			memcpy(json, blob, (size_t)n);
			json[n] = '\0';
			*ret_json = json;
			*ret_json_bytes = (size_t)n;
		}
	} else {
		out = rc == SQLITE_DONE
				  ? wet_fault_set(reterr, WET_ERR_NOT_FOUND, "recipe", hash, "a recipe of this ledger")
				  : ledger_fault(l, rc, reterr);
	}
	(void)sqlite3_finalize(s);
	return out;
}

int wet_ledger_next_run_id(struct wet_ledger *l, int64_t *ret_id, struct wet_fault *reterr)
{
	PREPARE(l, "SELECT coalesce(max(id), 0) + 1 FROM run");
	int rc = sqlite3_step(s), out = WET_OK;
	if (rc == SQLITE_ROW)
		*ret_id = sqlite3_column_int64(s, 0);
	else
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}

static int bind_vessel(sqlite3_stmt *s, int i, const struct wet_vessel *v)
{
	bind_text(s, i++, v->name);
	(void)sqlite3_bind_int(s, i++, (int)v->kind);
	(void)sqlite3_bind_int64(s, i++, v->fill_ns);
	(void)sqlite3_bind_int64(s, i++, v->drain_ns);
	(void)sqlite3_bind_int(s, i++, v->pieces_max);
	(void)sqlite3_bind_int64(s, i++, v->stagger_ns);
	(void)sqlite3_bind_int64(s, i++, v->tau_ns);
	return i;
}

/* Little-endian, so that the file may move to any machine. */
static void bind_rates(sqlite3_stmt *s, int i, const uint32_t *rate_milli)
{
	uint8_t bytes[RATES_BYTES];
	for (int k = 0; k < RATES_BYTES; k++)
		bytes[k] = (uint8_t)(rate_milli[k / 4] >> (k % 4 * 8));
	(void)sqlite3_bind_blob(s, i, bytes, RATES_BYTES, SQLITE_TRANSIENT);
}

static bool column_rates(sqlite3_stmt *s, int column, uint32_t *ret_rate_milli)
{
	if (sqlite3_column_type(s, column) != SQLITE_BLOB || sqlite3_column_bytes(s, column) != RATES_BYTES)
		return false;
	const uint8_t *bytes = sqlite3_column_blob(s, column);
	for (int i = 0; i < WET_STAGE_KIND_N; i++, bytes += 4) {
		ret_rate_milli[i] = (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 |
							(uint32_t)bytes[3] << 24;
		if (ret_rate_milli[i] < 1 || ret_rate_milli[i] > WET_RATE_MILLI_MAX)
			return false;
	}
	return true;
}

static int setup_flags(const struct wet_run_setup *u)
{
	return (u->is_rehearsal ? REHEARSAL : 0) | (u->is_mine ? MINE : 0) | (u->is_wet ? WET : 0) |
		   (u->is_unheard ? UNHEARD : 0) | (u->no_beat ? NO_BEAT : 0);
}

/* What reading would take for damage is not written: it would keep the next daemon from its runs. */
static int check_vessel(const struct wet_vessel *v, struct wet_fault *reterr)
{
	const int64_t times[] = { v->fill_ns, v->drain_ns, v->stagger_ns };
	for (size_t i = 0; i < sizeof times / sizeof times[0]; i++)
		if (times[i] < 0 || times[i] > WET_STAGE_NS_MAX)
			return wet_fault_set(reterr, WET_ERR_RANGE, "vessel", v->name,
								 "fill, drain and stagger of at most a day");
	return WET_OK;
}

int wet_ledger_put_run(struct wet_ledger *l, const struct wet_ledger_run *r, struct wet_fault *reterr)
{
	const struct wet_run_setup *u = &r->setup;
	int rc = check_vessel(&u->vessel, reterr);
	if (rc == 0)
		rc = check_vessel(&u->washer, reterr);
	if (rc != 0)
		return rc;
	PREPARE(l, "INSERT INTO run(" RUN_COLUMNS ")"
			   " VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)");
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
	i = bind_vessel(s, i, &u->vessel);
	i = bind_vessel(s, i, &u->washer);
	(void)sqlite3_bind_int(s, i++, u->pieces);
	bind_text(s, i++, u->room);
	(void)sqlite3_bind_int(s, i++, (int)u->forecast.kind);
	(void)sqlite3_bind_int(s, i++, u->forecast.room_mc);
	(void)sqlite3_bind_int64(s, i++, u->forecast.tau_ns);
	(void)sqlite3_bind_int(s, i++, u->tolerance_mc);
	(void)sqlite3_bind_int(s, i++, setup_flags(u));
	bind_rates(s, i++, u->rate_milli);
	(void)sqlite3_bind_int(s, i++, u->rules_version);
	return ledger_finish(l, s, reterr);
}

/* Columns 27 to 35. */
static bool read_setup(sqlite3_stmt *s, struct wet_run_setup *u)
{
	int64_t pieces, forecast, room_mc, tolerance_mc, flags, rules;
	if (!column_vessel(s, 13, &u->vessel) || !column_vessel(s, 20, &u->washer) ||
		!column_number(s, 27, 1, WET_PIECES, &pieces) || !column_text(s, 28, u->room, sizeof u->room) ||
		!column_number(s, 29, 0, WET_FORECAST_NEWTON, &forecast) ||
		!column_number(s, 30, INT32_MIN, INT32_MAX, &room_mc) ||
		!column_number(s, 31, 0, INT64_MAX, &u->forecast.tau_ns) ||
		!column_number(s, 32, 0, INT32_MAX, &tolerance_mc) || !column_number(s, 33, 0, ALL_FLAGS, &flags) ||
		!column_rates(s, 34, u->rate_milli) || !column_number(s, 35, 0, INT32_MAX, &rules))
		return false;
	/* Newton's law divides by it. */
	if (forecast == WET_FORECAST_NEWTON && u->forecast.tau_ns == 0)
		return false;
	u->pieces = (int)pieces;
	u->forecast.kind = (enum wet_forecast_kind)forecast;
	u->forecast.room_mc = (int32_t)room_mc;
	u->tolerance_mc = (int32_t)tolerance_mc;
	u->is_rehearsal = (flags & REHEARSAL) != 0;
	u->is_mine = (flags & MINE) != 0;
	u->is_wet = (flags & WET) != 0;
	u->is_unheard = (flags & UNHEARD) != 0;
	u->no_beat = (flags & NO_BEAT) != 0;
	u->rules_version = (int)rules;
	return true;
}

/* False: a value no wetside wrote. */
static bool read_run(sqlite3_stmt *s, struct wet_ledger_run *r)
{
	int64_t uid, group, live;
	memset(r, 0, sizeof *r);
	if (!column_number(s, 0, 1, INT64_MAX, &r->id) || !column_text(s, 1, r->name, sizeof r->name) ||
		!column_text(s, 2, r->recipe_name, sizeof r->recipe_name) ||
		!column_text(s, 3, r->recipe_hash, sizeof r->recipe_hash) ||
		!column_number(s, 4, 0, UINT32_MAX, &uid) || !column_number(s, 5, 0, 1, &group) ||
		!column_text(s, 6, r->person, sizeof r->person) ||
		!column_text(s, 7, r->armed_boot_id, sizeof r->armed_boot_id) ||
		!column_number(s, 8, 0, INT64_MAX, &r->armed_boot_ns) ||
		!column_number(s, 9, INT64_MIN, INT64_MAX, &r->armed_wall_ms) || !column_number(s, 10, 0, 1, &live) ||
		!column_text(s, 11, r->outcome, sizeof r->outcome) ||
		!column_number(s, 12, INT64_MIN, INT64_MAX, &r->ended_wall_ms))
		return false;
	r->owner_uid = (uint32_t)uid;
	r->group_controls = group != 0;
	r->is_live = live != 0;
	return read_setup(s, &r->setup);
}

static int each_run(struct wet_ledger *l, sqlite3_stmt *s, bool is_lenient, wet_ledger_run_cb *cb, void *ctx,
					struct wet_fault *reterr)
{
	struct wet_ledger_run run;
	int rc = SQLITE_DONE, out = WET_OK;
	while (out == WET_OK && (rc = sqlite3_step(s)) == SQLITE_ROW)
		out = read_run(s, &run) ? cb(ctx, &run) : is_lenient ? cb(ctx, NULL) : ledger_corrupt("a run", reterr);
	if (out == WET_OK && rc != SQLITE_DONE)
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}

int wet_ledger_each_live_run(struct wet_ledger *l, wet_ledger_run_cb *cb, void *ctx, struct wet_fault *reterr)
{
	PREPARE(l, "SELECT " RUN_COLUMNS " FROM run WHERE is_live = 1 ORDER BY id");
	return each_run(l, s, true, cb, ctx, reterr);
}

int wet_ledger_each_finished_run(struct wet_ledger *l, int64_t before_id, int limit, wet_ledger_run_cb *cb,
								 void *ctx, struct wet_fault *reterr)
{
	PREPARE(l, "SELECT " RUN_COLUMNS " FROM run WHERE is_live = 0 AND id < ? ORDER BY id DESC LIMIT ?");
	(void)sqlite3_bind_int64(s, 1, before_id);
	(void)sqlite3_bind_int(s, 2, limit > 0 ? limit : 0); /* a negative one would be none */
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
	PREPARE(l, "SELECT " RUN_COLUMNS " FROM run WHERE id = ?");
	(void)sqlite3_bind_int64(s, 1, run_id);
	int rc = each_run(l, s, false, take_one, &run, reterr);
	if (rc == 0 && run.id == 0)
		rc = wet_fault_set(reterr, WET_ERR_NOT_FOUND, "run", NULL,
						   "the number of a run, as `wetside record` shows it");
	if (rc == 0)
		*ret_run = run;
	return rc;
}

int wet_ledger_finish_run(struct wet_ledger *l, int64_t run_id, const char *outcome, int64_t ended_wall_ms,
						  const struct wet_stage_record *stages, int stage_count, struct wet_fault *reterr)
{
	for (int i = 0; i < stage_count; i++) {
		if (stages[i].flags == 0)
			continue;
		PREPARE(l, "INSERT OR REPLACE INTO stage VALUES(?,?,?,?,?,?)");
		(void)sqlite3_bind_int64(s, 1, run_id);
		(void)sqlite3_bind_int(s, 2, i);
		(void)sqlite3_bind_int64(s, 3, stages[i].begin_ns);
		(void)sqlite3_bind_int64(s, 4, stages[i].end_ns);
		(void)sqlite3_bind_int(s, 5, stages[i].late_pour_ms);
		(void)sqlite3_bind_int64(s, 6, stages[i].flags);
		int rc = ledger_finish(l, s, reterr);
		if (rc != 0)
			return rc;
	}
	PREPARE(l, "UPDATE run SET is_live = 0, outcome = ?, ended_wall_ms = ? WHERE id = ?");
	bind_text(s, 1, outcome);
	(void)sqlite3_bind_int64(s, 2, ended_wall_ms);
	(void)sqlite3_bind_int64(s, 3, run_id);
	int rc = ledger_finish(l, s, reterr);
	if (rc == 0 && sqlite3_changes(l->db) == 0)
		rc = wet_fault_set(reterr, WET_ERR_NOT_FOUND, "run", NULL, "the number of a run of this ledger");
	return rc;
}

static bool read_stage(sqlite3_stmt *s, int *ret_stage, struct wet_stage_record *r)
{
	int64_t stage, late_ms, flags;
	if (!column_number(s, 0, 0, WET_RECIPE_STAGES - 1, &stage) ||
		!column_number(s, 1, INT64_MIN, INT64_MAX, &r->begin_ns) ||
		!column_number(s, 2, INT64_MIN, INT64_MAX, &r->end_ns) ||
		!column_number(s, 3, INT32_MIN, INT32_MAX, &late_ms) || !column_number(s, 4, 0, UINT32_MAX, &flags))
		return false;
	*ret_stage = (int)stage;
	r->late_pour_ms = (int32_t)late_ms;
	r->flags = (uint32_t)flags;
	return true;
}

int wet_ledger_each_stage(struct wet_ledger *l, int64_t run_id, wet_ledger_stage_cb *cb, void *ctx,
						  struct wet_fault *reterr)
{
	PREPARE(l,
			"SELECT stage, begin_ns, end_ns, late_pour_ms, flags FROM stage WHERE run_id = ? ORDER BY stage");
	(void)sqlite3_bind_int64(s, 1, run_id);
	int rc = SQLITE_DONE, out = WET_OK;
	while (out == WET_OK && (rc = sqlite3_step(s)) == SQLITE_ROW) {
		struct wet_stage_record r;
		int stage;
		out = read_stage(s, &stage, &r) ? cb(ctx, stage, &r) : ledger_corrupt("a stage", reterr);
	}
	if (out == WET_OK && rc != SQLITE_DONE)
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}
