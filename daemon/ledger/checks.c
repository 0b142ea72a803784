#include "ledger/checks.h"

#include "ledger/inside.h"

#include <string.h>

static_assert(WET_CHECK_CONFIRMED == 0 && WET_CHECK_SKIPPED == 1 && WET_CHECK_STANDS == 2 && WET_CHECK_ASSUMED == 3,
			  "stored");

struct taking {
	wet_ledger_check_cb *cb;
	void *ctx;
	int64_t run_id;
};

static int take_check(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking *t = ctx;
	struct wet_check c = { .run_id = t->run_id };
	int64_t answer, uid;
	if (!column_number(s, 0, 1, INT64_MAX, &c.seq) || !column_text(s, 1, c.key, sizeof c.key) ||
		!column_text(s, 2, c.text, sizeof c.text) || !column_number(s, 3, 0, WET_CHECK_ANSWER_N - 1, &answer) ||
		!column_text(s, 4, c.person, sizeof c.person) || !column_number(s, 5, 0, UINT32_MAX, &uid) ||
		!column_number(s, 6, INT64_MIN, INT64_MAX, &c.wall_ms) || !column_number(s, 7, INT64_MIN, INT64_MAX, &c.since_ms))
		return ledger_corrupt(l, "an answer of a checklist", reterr);
	c.answer = (enum wet_check_answer)answer;
	c.uid = (uint32_t)uid;
	return t->cb(t->ctx, &c);
}

int wet_ledger_each_check(struct wet_ledger *l, int64_t run_id, int64_t after_seq, wet_ledger_check_cb *cb, void *ctx,
						  struct wet_fault *reterr)
{
	struct taking t = { cb, ctx, run_id };
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT seq, key, text, answer, person, uid, wall_ms, since_ms FROM run_check"
									 " WHERE run_id = ? AND seq > ? ORDER BY seq",
									 reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	(void)sqlite3_bind_int64(s, 2, after_seq);
	return ledger_each(l, s, take_check, &t, reterr);
}

int wet_ledger_insert_check(struct wet_ledger *l, const struct wet_check *c, struct wet_fault *reterr)
{
	if (c->seq < 1 || !c->key[0] || !text_fits(c->key, sizeof c->key) || !text_fits(c->text, sizeof c->text) ||
		!text_fits(c->person, sizeof c->person) || (unsigned)c->answer >= WET_CHECK_ANSWER_N)
		return ledger_invalid(l, "an answer of a checklist", reterr);
	sqlite3_stmt *s = ledger_prepare(l,
									 "INSERT INTO run_check(run_id, seq, key, text, answer, person, uid, wall_ms, since_ms)"
									 " VALUES(?,?,?,?,?,?,?,?,?)",
									 reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, c->run_id);
	(void)sqlite3_bind_int64(s, 2, c->seq);
	bind_text(s, 3, c->key);
	bind_text(s, 4, c->text);
	(void)sqlite3_bind_int(s, 5, (int)c->answer);
	bind_text(s, 6, c->person);
	(void)sqlite3_bind_int64(s, 7, c->uid);
	(void)sqlite3_bind_int64(s, 8, c->wall_ms);
	(void)sqlite3_bind_int64(s, 9, c->since_ms);
	return ledger_finish(l, s, reterr);
}

struct last {
	const char *key;
	struct wet_check check; /* seq 0: none of this key */
	int64_t seq;            /* of all */
};

static int take_last(void *ctx, const struct wet_check *check)
{
	struct last *last = ctx;
	last->seq = check->seq;
	if (strcmp(check->key, last->key) == 0)
		last->check = *check;
	return WET_OK;
}

int wet_ledger_put_check(struct wet_ledger *l, const struct wet_check *check, struct wet_fault *reterr)
{
	struct last last = { .key = check->key };
	int rc = wet_ledger_each_check(l, check->run_id, 0, take_last, &last, reterr);
	if (rc != 0)
		return rc;
	if (last.check.seq > 0 && last.check.answer == check->answer && strcmp(last.check.person, check->person) == 0)
		return WET_OK;
	if (last.seq >= WET_CHECKS)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "key", check->key, "at most %d answers in one run", WET_CHECKS);
	struct wet_check next = *check;
	next.seq = last.seq + 1;
	return wet_ledger_insert_check(l, &next, reterr);
}

int wet_ledger_run_before(struct wet_ledger *l, const struct wet_ledger_run *run, int64_t *ret_id, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT id FROM run WHERE id < ? AND is_rehearsal = 0 AND recipe_hash = ? AND"
									 " vessel_name = ? AND person = ? AND room = ? ORDER BY id DESC LIMIT 1",
									 reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run->id);
	bind_text(s, 2, run->recipe_hash);
	bind_text(s, 3, run->setup.vessel.name);
	bind_text(s, 4, run->person);
	bind_text(s, 5, run->setup.room);
	int rc = sqlite3_step(s), out = WET_OK;
	if (rc == SQLITE_ROW)
		*ret_id = sqlite3_column_int64(s, 0);
	else if (rc == SQLITE_DONE)
		*ret_id = 0;
	else
		out = ledger_fault(l, rc, reterr);
	ledger_release(l, s);
	return out;
}
