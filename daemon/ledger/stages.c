/* stages.c: the end of a run, and of its stages, as it was: a later version of the rules rewrites no history. */
#include "ledger/inside.h"

#include <string.h>

/* Bits are stored: see inside.h. */
#define STAGE_FLAGS                                                                                  \
	(WET_STAGE_BEGUN | WET_STAGE_DONE | WET_STAGE_EARLY | WET_STAGE_OVERTIME | WET_STAGE_UNCERTAIN | \
	 WET_STAGE_UNHEARD)
static_assert(STAGE_FLAGS == 63, "stored");

static int put_stage(struct wet_ledger *l, int64_t run_id, int stage, const struct wet_stage_record *r,
					 struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l, "INSERT INTO stage(run_id, stage, begin_ns, end_ns, late_pour_ms, flags) VALUES(?,?,?,?,?,?)",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	(void)sqlite3_bind_int(s, 2, stage);
	(void)sqlite3_bind_int64(s, 3, r->begin_ns);
	(void)sqlite3_bind_int64(s, 4, r->end_ns);
	(void)sqlite3_bind_int(s, 5, r->late_pour_ms);
	(void)sqlite3_bind_int64(s, 6, r->flags);
	return ledger_finish(l, s, reterr);
}

/* A run that is finished already stays as it is; the same end once more is fine. */
static int check_finished(struct wet_ledger *l, int64_t run_id, const char *outcome, int64_t ended_wall_ms,
						  struct wet_fault *reterr)
{
	struct wet_ledger_run run;
	int rc = wet_ledger_get_run(l, run_id, &run, reterr);
	if (rc == 0 && (strcmp(run.outcome, outcome) != 0 || run.ended_wall_ms != ended_wall_ms))
		rc = wet_fault_set(reterr, WET_ERR_EXISTS, l->path, run.outcome, "a live run");
	return rc;
}

static int finish_run(struct wet_ledger *l, int64_t run_id, const char *outcome, int64_t ended_wall_ms,
					  bool *ret_was_live, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l, "UPDATE run SET is_live = 0, outcome = ?, ended_wall_ms = ? WHERE id = ? AND is_live = 1", reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, outcome);
	(void)sqlite3_bind_int64(s, 2, ended_wall_ms);
	(void)sqlite3_bind_int64(s, 3, run_id);
	int rc = ledger_finish(l, s, reterr);
	if (rc != 0)
		return rc;
	*ret_was_live = sqlite3_changes(l->db) > 0;
	return *ret_was_live ? WET_OK : check_finished(l, run_id, outcome, ended_wall_ms, reterr);
}

int wet_ledger_finish_run(struct wet_ledger *l, int64_t run_id, const char *outcome, int64_t ended_wall_ms,
						  const struct wet_stage_record *stages, int stage_count, struct wet_fault *reterr)
{
	bool is_own, was_live = false;
	if (!outcome[0] || !text_fits(outcome, WET_NAME_BYTES) || stage_count < 0 ||
		stage_count > WET_RECIPE_STAGES)
		return ledger_invalid(l, "the end of a run", reterr);
	for (int i = 0; i < stage_count; i++) {
		if (stages[i].flags & ~(uint32_t)STAGE_FLAGS)
			return ledger_invalid(l, "the flags of a stage", reterr);
	}
	int rc = ledger_several_begin(l, &is_own, reterr);
	if (rc != 0)
		return rc;
	rc = finish_run(l, run_id, outcome, ended_wall_ms, &was_live, reterr);
	for (int i = 0; rc == 0 && was_live && i < stage_count; i++) {
		if (stages[i].flags != 0) /* a stage that was never begun has no times */
			rc = put_stage(l, run_id, i, &stages[i], reterr);
	}
	return ledger_several_end(l, is_own, rc, reterr);
}

struct taking_stages {
	wet_ledger_stage_cb *cb;
	void *ctx;
};

static int take_stage(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking_stages *t = ctx;
	struct wet_stage_record r;
	int64_t stage, late_ms, flags;
	if (!column_number(s, 0, 0, WET_RECIPE_STAGES - 1, &stage) ||
		!column_number(s, 1, INT64_MIN, INT64_MAX, &r.begin_ns) ||
		!column_number(s, 2, INT64_MIN, INT64_MAX, &r.end_ns) ||
		!column_number(s, 3, INT32_MIN, INT32_MAX, &late_ms) || !column_number(s, 4, 1, STAGE_FLAGS, &flags))
		return ledger_corrupt(l, "a stage", reterr);
	r.late_pour_ms = (int32_t)late_ms;
	r.flags = (uint32_t)flags;
	return t->cb(t->ctx, (int)stage, &r);
}

int wet_ledger_each_stage(struct wet_ledger *l, int64_t run_id, wet_ledger_stage_cb *cb, void *ctx,
						  struct wet_fault *reterr)
{
	struct taking_stages t = { cb, ctx };
	sqlite3_stmt *s = ledger_prepare(
		l, "SELECT stage, begin_ns, end_ns, late_pour_ms, flags FROM stage WHERE run_id = ? ORDER BY stage",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	return ledger_each(l, s, take_stage, &t, reterr);
}
