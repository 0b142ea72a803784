/* exchange_run.c: taking in one run with its events and the ends of its stages, all or nothing. */
#include "base/text.h"
#include "ledger/exchange.h"
#include "ledger/inside.h"

#include <string.h>

/* Numbers are handed on by adding one: a file must not bring one that leaves no room. */
#define RUN_ID_MAX (INT64_C(1) << 52)

/* What is in this ledger of the run. */
struct known {
	struct wet_ledger_run run; /* id 0: nothing */
	const struct wet_ledger_import *import;
	int event_count; /* equal ones, from the first on */
	int more;        /* behind those, if the file has no more */
	int64_t odd_seq; /* the first that differs; 0: none */
	struct wet_stage_record stages[WET_RECIPE_STAGES];
};

static int take_known(void *ctx, const struct wet_ledger_run *run)
{
	((struct known *)ctx)->run = *run;
	return WET_LEDGER_FULL;
}

/* The name of the first member that differs; NULL: none. */
static const char *odd_setup(const struct wet_run_setup *a, const struct wet_run_setup *b)
{
	if (!ledger_same_vessel(&a->vessel, &b->vessel))
		return "vessel";
	if (!ledger_same_vessel(&a->washer, &b->washer))
		return "washer";
	if (a->forecast.kind != b->forecast.kind || a->forecast.room_mc != b->forecast.room_mc ||
		a->forecast.tau_ns != b->forecast.tau_ns)
		return "forecast";
	if (a->is_rehearsal != b->is_rehearsal || a->is_mine != b->is_mine || a->is_wet != b->is_wet ||
		memcmp(a->rate_milli, b->rate_milli, sizeof a->rate_milli) != 0)
		return "rehearsal";
	if (a->pieces != b->pieces || strcmp(a->room, b->room) != 0)
		return "pieces or room";
	return a->tolerance_mc != b->tolerance_mc || a->is_unheard != b->is_unheard || a->no_beat != b->no_beat ||
				   a->rules_version != b->rules_version
			   ? "setup"
			   : NULL;
}

static const char *odd_run(const struct wet_ledger_run *a, const struct wet_ledger_run *b)
{
	if (strcmp(a->person, b->person) != 0 || a->owner_uid != b->owner_uid ||
		a->group_controls != b->group_controls)
		return "owner";
	if (strcmp(a->recipe_hash, b->recipe_hash) != 0 || strcmp(a->recipe_name, b->recipe_name) != 0)
		return "recipe";
	if (a->armed_wall_ms != b->armed_wall_ms)
		return "armed_wall_ms";
	return odd_setup(&a->setup, &b->setup);
}

static bool same_event(const struct wet_event *a, const struct wet_event *b)
{
	return a->kind == b->kind && a->flags == b->flags && a->boot_ns == b->boot_ns &&
		   a->wall_ms == b->wall_ms && strcmp(a->boot_id, b->boot_id) == 0 && a->a_ns == b->a_ns &&
		   a->b_ns == b->b_ns && a->c_ns == b->c_ns && a->temperature_mc == b->temperature_mc &&
		   a->bath == b->bath && a->number == b->number && strcmp(a->token, b->token) == 0 &&
		   a->uid == b->uid;
}

static int compare_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	struct known *k = ctx;
	if (k->event_count == k->import->event_count) {
		k->more++;
		return WET_OK;
	}
	if (seq != k->import->seqs[k->event_count] || !same_event(event, &k->import->events[k->event_count])) {
		k->odd_seq = k->import->seqs[k->event_count];
		return WET_LEDGER_FULL;
	}
	k->event_count++;
	return WET_OK;
}

static int take_known_stage(void *ctx, int stage, const struct wet_stage_record *record)
{
	((struct known *)ctx)->stages[stage] = *record;
	return WET_OK;
}

static bool same_stages(const struct wet_stage_record *a, const struct wet_stage_record *b)
{
	for (int i = 0; i < WET_RECIPE_STAGES; i++) {
		if (a[i].flags != b[i].flags || a[i].begin_ns != b[i].begin_ns || a[i].end_ns != b[i].end_ns ||
			a[i].late_pour_ms != b[i].late_pour_ms)
			return false;
	}
	return true;
}

static int find_known(struct wet_ledger *l, struct known *k, struct wet_fault *reterr)
{
	int rc = ledger_find_armed(l, &k->import->run, take_known, k, reterr);
	if (rc == WET_LEDGER_FULL)
		rc = WET_OK;
	if (rc != 0 || k->run.id == 0)
		return rc;
	rc = wet_ledger_each_event(l, k->run.id, compare_event, k, reterr);
	if (rc == WET_LEDGER_FULL)
		rc = WET_OK;
	return rc == 0 ? wet_ledger_each_stage(l, k->run.id, take_known_stage, k, reterr) : rc;
}

static bool is_unfinished(const struct wet_ledger_run *run)
{
	return run->is_live || strcmp(run->outcome, WET_OUTCOME_UNFINISHED) == 0;
}

/* There is one: the same, less than here, more than here, or another story. */
static int judge_known(struct wet_ledger *l, const struct known *k, bool *ret_goes_on,
					   struct wet_fault *reterr)
{
	const struct wet_ledger_run *there = &k->import->run, *here = &k->run;
	char text[96];
	const char *odd = odd_run(there, here);
	bool has_all = k->odd_seq == 0 && k->event_count == k->import->event_count;
	bool is_same_end = strcmp(there->outcome, here->outcome) == 0 &&
					   there->ended_wall_ms == here->ended_wall_ms &&
					   same_stages(k->import->stages, k->stages);
	*ret_goes_on = false;
	if (!odd && has_all && (is_unfinished(there) || (k->more == 0 && is_same_end)))
		return WET_OK;
	if (!odd && k->odd_seq == 0 && k->more == 0 && !here->is_live && is_unfinished(here)) {
		*ret_goes_on = true;
		return WET_OK;
	}
	wet_text_format(text, sizeof text, "%s, number %lld here", there->name, (long long)here->id);
	if (!odd && here->is_live && k->odd_seq == 0)
		return wet_fault_set(reterr, WET_ERR_EXISTS, "run", text,
							 "a run that is not live here; end it first");
	if (odd)
		return wet_fault_set(reterr, WET_ERR_EXISTS, "run", text, "the content in %s: its %s differs",
							 l->path, odd);
	if (k->odd_seq != 0)
		return wet_fault_set(reterr, WET_ERR_EXISTS, "run", text, "the content in %s: its event %lld differs",
							 l->path, (long long)k->odd_seq);
	return wet_fault_set(reterr, WET_ERR_EXISTS, "run", text,
						 "the content in %s: its end or its stages differ", l->path);
}

static int append_from(struct wet_ledger *l, const struct wet_ledger_import *in, int64_t id, int from,
					   struct wet_fault *reterr)
{
	int rc = WET_OK;
	for (int i = from; i < in->event_count && rc == 0; i++)
		rc = wet_ledger_append(l, id, in->seqs[i], &in->events[i], reterr);
	if (rc != 0)
		return rc;
	if (!in->run.is_live)
		return wet_ledger_finish_run(l, id, in->run.outcome, in->run.ended_wall_ms, in->stages,
									 WET_RECIPE_STAGES, reterr);
	int64_t last_ms = in->event_count > 0 ? in->events[in->event_count - 1].wall_ms : in->run.armed_wall_ms;
	return wet_ledger_finish_run(l, id, WET_OUTCOME_UNFINISHED, last_ms, NULL, 0, reterr);
}

static int choose_id(struct wet_ledger *l, int64_t wanted, int64_t *ret_id, struct wet_fault *reterr)
{
	struct wet_ledger_run run;
	struct wet_fault ignored;
	int rc = wanted <= RUN_ID_MAX ? wet_ledger_get_run(l, wanted, &run, &ignored) : WET_OK;
	if (rc == WET_ERR_NOT_FOUND) {
		*ret_id = wanted;
		return WET_OK;
	}
	return wet_ledger_next_run_id(l, ret_id, reterr);
}

static int put_checks(struct wet_ledger *l, const struct wet_ledger_import *in, int64_t run_id, int from,
					  struct wet_fault *reterr)
{
	int rc = WET_OK;
	for (int i = from; i < in->check_count && rc == 0; i++) {
		struct wet_check check = in->checks[i];
		check.run_id = run_id;
		rc = wet_ledger_insert_check(l, &check, reterr);
	}
	return rc;
}

/* Within a transaction of several, a run is never seen live by anyone. */
static int put_new(struct wet_ledger *l, const struct wet_ledger_import *in, struct wet_fault *reterr)
{
	struct wet_ledger_run row = in->run;
	int rc = choose_id(l, in->run.id, &row.id, reterr);
	row.is_live = true;
	row.outcome[0] = '\0';
	row.ended_wall_ms = 0;
	if (rc == 0)
		rc = wet_ledger_put_run(l, &row, reterr);
	if (rc == 0)
		rc = append_from(l, in, row.id, 0, reterr);
	return rc == 0 ? put_checks(l, in, row.id, 0, reterr) : rc;
}

static int put_rest(struct wet_ledger *l, const struct known *k, struct wet_fault *reterr)
{
	sqlite3_stmt *s =
		ledger_prepare(l, "UPDATE run SET is_live = 1, outcome = '', ended_wall_ms = 0 WHERE id = ?", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, k->run.id);
	int rc = ledger_finish(l, s, reterr);
	return rc == 0 ? append_from(l, k->import, k->run.id, k->event_count, reterr) : rc;
}

/* Those of an export are the first of the run's answers, in order: what is behind them is new. */
struct known_checks {
	const struct wet_ledger_import *import;
	int count;
	bool is_odd;
};

static int compare_check(void *ctx, const struct wet_check *here)
{
	struct known_checks *k = ctx;
	if (k->count == k->import->check_count)
		return WET_LEDGER_FULL;
	const struct wet_check *there = &k->import->checks[k->count++];
	k->is_odd = there->seq != here->seq || there->answer != here->answer || there->uid != here->uid ||
				there->wall_ms != here->wall_ms || there->since_ms != here->since_ms || strcmp(there->key, here->key) != 0 ||
				strcmp(there->text, here->text) != 0 || strcmp(there->person, here->person) != 0;
	return k->is_odd ? WET_LEDGER_FULL : WET_OK;
}

static int judge_checks(struct wet_ledger *l, const struct known *k, int *ret_known, struct wet_fault *reterr)
{
	struct known_checks checks = { .import = k->import };
	int rc = wet_ledger_each_check(l, k->run.id, 0, compare_check, &checks, reterr);
	if (rc == WET_LEDGER_FULL)
		rc = WET_OK;
	if (rc == 0 && checks.is_odd)
		rc = wet_fault_set(reterr, WET_ERR_EXISTS, "run", k->run.name, "the content in %s: an answer of its checklist differs",
						   l->path);
	*ret_known = checks.count;
	return rc;
}

int wet_ledger_import_run(struct wet_ledger *l, bool is_dry, const struct wet_ledger_import *in,
						  bool *ret_is_new, struct wet_fault *reterr)
{
	struct known k = { .import = in };
	bool is_own, goes_on = false;
	int known_checks = 0;
	int rc = find_known(l, &k, reterr);
	if (rc == 0 && k.run.id != 0)
		rc = judge_known(l, &k, &goes_on, reterr);
	if (rc == 0 && k.run.id != 0)
		rc = judge_checks(l, &k, &known_checks, reterr);
	if (rc != 0)
		return rc;
	bool is_new = k.run.id == 0 || goes_on || known_checks < in->check_count;
	if (is_new && !is_dry) {
		rc = ledger_several_begin(l, &is_own, reterr);
		if (rc != 0)
			return rc;
		if (k.run.id == 0)
			rc = put_new(l, in, reterr);
		else
			rc = goes_on ? put_rest(l, &k, reterr) : WET_OK;
		if (rc == 0 && k.run.id != 0)
			rc = put_checks(l, in, k.run.id, known_checks, reterr);
		rc = ledger_several_end(l, is_own, rc, reterr);
	}
	if (rc == 0)
		*ret_is_new = is_new;
	return rc;
}
