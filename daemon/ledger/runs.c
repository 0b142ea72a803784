/* runs.c: recipes as frozen, runs, their ends, vessels, acknowledgements. */
#include "ledger/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

enum { REHEARSAL = 1, MINE = 2, WET = 4, UNHEARD = 8, NO_BEAT = 16 };

#define PREPARE(l, sql)                               \
	sqlite3_stmt *s = ledger_prepare(l, sql, reterr); \
	if (!s)                                           \
	return err_from_sqlite(sqlite3_errcode(l->db))

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

int wet_ledger_put_run(struct wet_ledger *l, const struct wet_ledger_run *r, struct wet_fault *reterr)
{
	const struct wet_run_setup *u = &r->setup;
	PREPARE(l, "INSERT INTO run VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)");
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
	bind_text(s, i++, u->vessel.name);
	(void)sqlite3_bind_int(s, i++, (int)u->vessel.kind);
	(void)sqlite3_bind_int64(s, i++, u->vessel.fill_ns);
	(void)sqlite3_bind_int64(s, i++, u->vessel.drain_ns);
	(void)sqlite3_bind_int(s, i++, u->vessel.pieces_max);
	(void)sqlite3_bind_int64(s, i++, u->vessel.stagger_ns);
	(void)sqlite3_bind_int64(s, i++, u->vessel.tau_ns);
	bind_text(s, i++, u->washer.name);
	(void)sqlite3_bind_int64(s, i++, u->washer.fill_ns);
	(void)sqlite3_bind_int64(s, i++, u->washer.drain_ns);
	(void)sqlite3_bind_int64(s, i++, u->washer.tau_ns);
	(void)sqlite3_bind_int(s, i++, u->pieces);
	bind_text(s, i++, u->room);
	(void)sqlite3_bind_int(s, i++, (int)u->forecast.kind);
	(void)sqlite3_bind_int(s, i++, u->forecast.room_mc);
	(void)sqlite3_bind_int64(s, i++, u->forecast.tau_ns);
	(void)sqlite3_bind_int(s, i++, u->tolerance_mc);
	(void)sqlite3_bind_int(s, i++,
						   (u->is_rehearsal ? REHEARSAL : 0) | (u->is_mine ? MINE : 0) |
							   (u->is_wet ? WET : 0) | (u->is_unheard ? UNHEARD : 0) |
							   (u->no_beat ? NO_BEAT : 0));
	(void)sqlite3_bind_blob(s, i++, u->rate_milli, sizeof u->rate_milli, SQLITE_TRANSIENT);
	(void)sqlite3_bind_int(s, i++, u->rules_version);
	return ledger_finish(l, s, reterr);
}

/* False: a value no wetside wrote. */
static bool read_run(sqlite3_stmt *s, struct wet_ledger_run *r)
{
	struct wet_run_setup *u = &r->setup;
	memset(r, 0, sizeof *r);
	bool is_good = column_text(s, 1, r->name, sizeof r->name) &&
				   column_text(s, 2, r->recipe_name, sizeof r->recipe_name) &&
				   column_text(s, 3, r->recipe_hash, sizeof r->recipe_hash) &&
				   column_text(s, 6, r->person, sizeof r->person) &&
				   column_text(s, 7, r->armed_boot_id, sizeof r->armed_boot_id) &&
				   column_text(s, 11, r->outcome, sizeof r->outcome) &&
				   column_text(s, 13, u->vessel.name, sizeof u->vessel.name) &&
				   column_text(s, 20, u->washer.name, sizeof u->washer.name) &&
				   column_text(s, 25, u->room, sizeof u->room);
	r->id = sqlite3_column_int64(s, 0);
	r->owner_uid = (uint32_t)sqlite3_column_int64(s, 4);
	r->group_controls = sqlite3_column_int(s, 5) != 0;
	r->armed_boot_ns = sqlite3_column_int64(s, 8);
	r->armed_wall_ms = sqlite3_column_int64(s, 9);
	r->is_live = sqlite3_column_int(s, 10) != 0;
	r->ended_wall_ms = sqlite3_column_int64(s, 12);
	int kind = sqlite3_column_int(s, 14), forecast = sqlite3_column_int(s, 26),
		flags = sqlite3_column_int(s, 30);
	u->vessel.fill_ns = sqlite3_column_int64(s, 15);
	u->vessel.drain_ns = sqlite3_column_int64(s, 16);
	u->vessel.pieces_max = sqlite3_column_int(s, 17);
	u->vessel.stagger_ns = sqlite3_column_int64(s, 18);
	u->vessel.tau_ns = sqlite3_column_int64(s, 19);
	u->washer.kind = WET_VESSEL_WASHER;
	u->washer.fill_ns = sqlite3_column_int64(s, 21);
	u->washer.drain_ns = sqlite3_column_int64(s, 22);
	u->washer.tau_ns = sqlite3_column_int64(s, 23);
	u->pieces = sqlite3_column_int(s, 24);
	u->forecast.room_mc = sqlite3_column_int(s, 27);
	u->forecast.tau_ns = sqlite3_column_int64(s, 28);
	u->tolerance_mc = sqlite3_column_int(s, 29);
	u->is_rehearsal = flags & REHEARSAL;
	u->is_mine = flags & MINE;
	u->is_wet = flags & WET;
	u->is_unheard = flags & UNHEARD;
	u->no_beat = flags & NO_BEAT;
	u->rules_version = sqlite3_column_int(s, 32);
	is_good = is_good && kind >= 0 && kind < WET_VESSEL_KIND_N && forecast >= 0 &&
			  forecast <= WET_FORECAST_NEWTON && u->pieces >= 1 && u->pieces <= WET_PIECES &&
			  u->vessel.fill_ns >= 0 && u->vessel.drain_ns >= 0 && u->vessel.fill_ns <= WET_STAGE_NS_MAX &&
			  u->vessel.drain_ns <= WET_STAGE_NS_MAX && u->vessel.tau_ns >= 0 && u->forecast.tau_ns >= 0 &&
			  sqlite3_column_bytes(s, 31) == (int)sizeof u->rate_milli;
	if (!is_good)
		return false;
	u->vessel.kind = (enum wet_vessel_kind)kind;
	u->forecast.kind = (enum wet_forecast_kind)forecast;
	memcpy(u->rate_milli, sqlite3_column_blob(s, 31), sizeof u->rate_milli);
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		if (u->rate_milli[i] < 1 || u->rate_milli[i] > WET_RATE_MILLI_MAX)
			return false;
	return true;
}

static int each_run(struct wet_ledger *l, sqlite3_stmt *s, wet_ledger_run_cb *cb, void *ctx,
					struct wet_fault *reterr)
{
	struct wet_ledger_run run;
	int rc, out = WET_OK;
	while (out == WET_OK && (rc = sqlite3_step(s)) == SQLITE_ROW)
		out = read_run(s, &run) ? cb(ctx, &run) : ledger_corrupt("a run", reterr);
	if (out == WET_OK && rc != SQLITE_DONE)
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}

int wet_ledger_each_live_run(struct wet_ledger *l, wet_ledger_run_cb *cb, void *ctx, struct wet_fault *reterr)
{
	/* The ids first: the callback may write. */
	PREPARE(l, "SELECT * FROM run WHERE is_live = 1 ORDER BY id");
	return each_run(l, s, cb, ctx, reterr);
}

int wet_ledger_each_finished_run(struct wet_ledger *l, int64_t before_id, int limit, wet_ledger_run_cb *cb,
								 void *ctx, struct wet_fault *reterr)
{
	PREPARE(l, "SELECT * FROM run WHERE is_live = 0 AND id < ? ORDER BY id DESC LIMIT ?");
	(void)sqlite3_bind_int64(s, 1, before_id);
	(void)sqlite3_bind_int(s, 2, limit);
	return each_run(l, s, cb, ctx, reterr);
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
	PREPARE(l, "SELECT * FROM run WHERE id = ?");
	(void)sqlite3_bind_int64(s, 1, run_id);
	int rc = each_run(l, s, take_one, &run, reterr);
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
	return ledger_finish(l, s, reterr);
}

int wet_ledger_each_stage(struct wet_ledger *l, int64_t run_id, wet_ledger_stage_cb *cb, void *ctx,
						  struct wet_fault *reterr)
{
	PREPARE(l,
			"SELECT stage, begin_ns, end_ns, late_pour_ms, flags FROM stage WHERE run_id = ? ORDER BY stage");
	(void)sqlite3_bind_int64(s, 1, run_id);
	int rc, out = WET_OK;
	while (out == WET_OK && (rc = sqlite3_step(s)) == SQLITE_ROW) {
		struct wet_stage_record r = { sqlite3_column_int64(s, 1), sqlite3_column_int64(s, 2),
									  sqlite3_column_int(s, 3), (uint32_t)sqlite3_column_int64(s, 4) };
		out = cb(ctx, sqlite3_column_int(s, 0), &r);
	}
	if (out == WET_OK && rc != SQLITE_DONE)
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}

/* -- vessels ----------------------------------------------------------------------- */

int wet_ledger_put_vessel(struct wet_ledger *l, const struct wet_vessel *v, int64_t wall_ms,
						  struct wet_fault *reterr)
{
	PREPARE(l, "INSERT INTO vessel(name, kind, fill_ns, drain_ns, pieces_max, stagger_ns, tau_ns, wall_ms) "
			   "VALUES(?,?,?,?,?,?,?,?)");
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

static bool read_vessel(sqlite3_stmt *s, struct wet_vessel *v)
{
	memset(v, 0, sizeof *v);
	int kind = sqlite3_column_int(s, 1);
	v->fill_ns = sqlite3_column_int64(s, 2);
	v->drain_ns = sqlite3_column_int64(s, 3);
	v->pieces_max = sqlite3_column_int(s, 4);
	v->stagger_ns = sqlite3_column_int64(s, 5);
	v->tau_ns = sqlite3_column_int64(s, 6);
	if (!column_text(s, 0, v->name, sizeof v->name) || kind < 0 || kind >= WET_VESSEL_KIND_N ||
		v->fill_ns < 0 || v->drain_ns < 0 || v->fill_ns > WET_STAGE_NS_MAX || v->drain_ns > WET_STAGE_NS_MAX)
		return false;
	v->kind = (enum wet_vessel_kind)kind;
	return true;
}

int wet_ledger_get_vessel(struct wet_ledger *l, const char *name, struct wet_vessel *ret_vessel,
						  struct wet_fault *reterr)
{
	PREPARE(l, "SELECT name, kind, fill_ns, drain_ns, pieces_max, stagger_ns, tau_ns FROM vessel WHERE name "
			   "= ? ORDER BY id DESC LIMIT 1");
	bind_text(s, 1, name);
	int rc = sqlite3_step(s), out = WET_OK;
	struct wet_vessel v;
	if (rc == SQLITE_DONE)
		out = wet_fault_set(reterr, WET_ERR_NOT_FOUND, "vessel", name, "a vessel that was measured or told");
	else if (rc != SQLITE_ROW)
		out = ledger_fault(l, rc, reterr);
	else if (!read_vessel(s, &v))
		out = ledger_corrupt("a vessel", reterr);
	else
		*ret_vessel = v;
	(void)sqlite3_finalize(s);
	return out;
}

int wet_ledger_each_vessel(struct wet_ledger *l, wet_ledger_vessel_cb *cb, void *ctx,
						   struct wet_fault *reterr)
{
	PREPARE(l, "SELECT name, kind, fill_ns, drain_ns, pieces_max, stagger_ns, tau_ns, max(id) FROM vessel "
			   "GROUP BY name ORDER BY name");
	int rc, out = WET_OK;
	while (out == WET_OK && (rc = sqlite3_step(s)) == SQLITE_ROW) {
		struct wet_vessel v;
		out = read_vessel(s, &v) ? cb(ctx, &v) : ledger_corrupt("a vessel", reterr);
	}
	if (out == WET_OK && rc != SQLITE_DONE)
		out = ledger_fault(l, rc, reterr);
	(void)sqlite3_finalize(s);
	return out;
}

/* -- acknowledgements ------------------------------------------------------------ */

int wet_ledger_put_acknowledgement(struct wet_ledger *l, const char *person, const char *recipe_name,
								   int version, int64_t wall_ms, struct wet_fault *reterr)
{
	PREPARE(l, "INSERT OR IGNORE INTO acknowledgement VALUES(?,?,?,?)");
	bind_text(s, 1, person);
	bind_text(s, 2, recipe_name);
	(void)sqlite3_bind_int(s, 3, version);
	(void)sqlite3_bind_int64(s, 4, wall_ms);
	return ledger_finish(l, s, reterr);
}

int wet_ledger_has_acknowledgement(struct wet_ledger *l, const char *person, const char *recipe_name,
								   int version, bool *ret_has, struct wet_fault *reterr)
{
	PREPARE(l, "SELECT 1 FROM acknowledgement WHERE person = ? AND recipe_name = ? AND version = ?");
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
