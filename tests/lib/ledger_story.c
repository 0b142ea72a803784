/* ledger_story.c: see ledger_story.h. */
#include "ledger_story.h"

#include "base/random.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

#define RECIPE_BYTES 30000 /* several pages */
#define STAGES 5

/* What a step stores. Events lie in the run's order over the steps. */
static const struct step {
	int arms, finishes; /* run number; 0: none */
	int run, events;    /* so many events of that run */
} steps[STORY_STEPS] = {
	{ .arms = 1 },
	{ .run = 1, .events = 1 },
	{ .run = 1, .events = 3 },
	{ .run = 1, .events = 1 },
	{ .run = 1, .events = 2 },
	{ .arms = 2 },
	{ .run = 2, .events = 1 },
	{ .run = 1, .events = 4 },
	{ .run = 2, .events = 2 },
	{ .run = 1, .events = 1 },
	{ .run = 1, .finishes = 1 },
	{ .run = 2, .events = 12 },
	{ .run = 2, .events = 1 },
	{ .run = 2, .finishes = 2 },
};

static int first_seq(int step)
{
	int seq = 1;
	for (int i = 0; i < step; i++)
		seq += steps[i].run == steps[step].run ? steps[i].events : 0;
	return seq;
}

static void make_event(int run, int seq, struct wet_event *e)
{
	struct wet_random r;
	wet_random_seed(&r, (uint64_t)(run * 1000 + seq));
	memset(e, 0, sizeof *e);
	e->kind = (int)wet_random_below(&r, WET_EVENT_KIND_N);
	e->flags = (uint32_t)wet_random_below(&r, WET_EVENT_SHIFTED << 1);
	e->boot_ns = (int64_t)(wet_random_next(&r) >> 1);
	e->wall_ms = (int64_t)wet_random_next(&r);
	e->a_ns = (int64_t)wet_random_next(&r);
	e->b_ns = (int64_t)wet_random_next(&r);
	e->c_ns = (int64_t)wet_random_next(&r);
	e->temperature_mc = (int32_t)(uint32_t)wet_random_next(&r);
	e->bath = (int)wet_random_between(&r, -1, WET_RECIPE_BATHS - 1);
	e->number = (int64_t)wet_random_next(&r);
	e->uid = (uint32_t)wet_random_next(&r);
	wet_text_copy(e->boot_id, sizeof e->boot_id, "1f2e3d4c-0000-4000-8000-00c0ffee0001");
	wet_text_format(e->token, sizeof e->token, "token %d of run %d", seq, run);
}

static void make_recipe(int run, char *ret_hash, char *ret_json)
{
	for (int i = 0; i < 64; i++)
		ret_hash[i] = "0123456789abcdef"[(run * 7 + i) % 16];
	ret_hash[64] = '\0';
	for (int i = 0; i < RECIPE_BYTES; i++)
		ret_json[i] = (char)('a' + (i * run + i / 26) % 26);
}

static void make_vessel(int run, struct wet_vessel *v)
{
	*v = (struct wet_vessel){ .kind = WET_VESSEL_CLOSED_TANK,
							  .fill_ns = run * 9000000000LL,
							  .drain_ns = run * 11000000000LL,
							  .pieces_max = 8,
							  .tau_ns = 2400000000000 };
	wet_text_format(v->name, sizeof v->name, "creek tank %d", run);
}

static void make_run(int run, struct wet_ledger_run *r)
{
	char json[RECIPE_BYTES];
	memset(r, 0, sizeof *r);
	r->id = run;
	wet_text_format(r->name, sizeof r->name, "creek %d", run);
	wet_text_copy(r->recipe_name, sizeof r->recipe_name, "tin-box");
	make_recipe(run, r->recipe_hash, json);
	r->owner_uid = 1000;
	r->group_controls = run == 2;
	wet_text_copy(r->person, sizeof r->person, "the wash-house");
	make_vessel(run, &r->setup.vessel);
	r->setup.washer.kind = WET_VESSEL_WASHER;
	r->setup.pieces = 4;
	wet_text_copy(r->setup.room, sizeof r->setup.room, "darkroom");
	r->setup.tolerance_mc = 500;
	r->setup.is_rehearsal = run == 1;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		r->setup.rate_milli[i] = run == 1 ? 60000 + (uint32_t)i : 1000;
	r->setup.rules_version = WET_RULES_VERSION;
	wet_text_copy(r->armed_boot_id, sizeof r->armed_boot_id, "1f2e3d4c-0000-4000-8000-00c0ffee0001");
	r->armed_boot_ns = run * 1000000;
	r->armed_wall_ms = 1700000000000 + run;
	r->is_live = true;
}

static void make_stages(int run, struct wet_stage_record *stages)
{
	for (int i = 0; i < STAGES; i++)
		stages[i] = (struct wet_stage_record){ .begin_ns = i * 60000000000LL + run,
											   .end_ns = (i + 1) * 60000000000LL,
											   .late_pour_ms = i * 100,
											   .flags = WET_STAGE_BEGUN | WET_STAGE_DONE };
}

/* -- telling -------------------------------------------------------------------------- */
static int tell_arming(struct wet_ledger *l, int run, struct wet_fault *reterr)
{
	char hash[65], json[RECIPE_BYTES];
	struct wet_ledger_run row;
	make_recipe(run, hash, json);
	make_run(run, &row);
	int rc = wet_ledger_put_recipe(l, hash, "tin-box", json, sizeof json, reterr);
	if (rc == 0)
		rc = wet_ledger_put_acknowledgement(l, "the wash-house", "tin-box", run, 1700000000000, reterr);
	if (rc == 0)
		rc = wet_ledger_put_vessel(l, &row.setup.vessel, 1700000000000, reterr);
	return rc == 0 ? wet_ledger_put_run(l, &row, reterr) : rc;
}

int story_tell(struct wet_ledger *l, int step, struct wet_fault *reterr)
{
	const struct step *s = &steps[step];
	struct wet_stage_record stages[STAGES];
	struct wet_event event;
	int rc = wet_ledger_begin(l, reterr);
	if (rc != 0)
		return rc;
	if (s->arms)
		rc = tell_arming(l, s->arms, reterr);
	for (int i = 0; rc == 0 && i < s->events; i++) {
		make_event(s->run, first_seq(step) + i, &event);
		rc = wet_ledger_append(l, s->run, first_seq(step) + i, &event, reterr);
	}
	if (rc == 0 && s->finishes) {
		make_stages(s->finishes, stages);
		rc = wet_ledger_finish_run(l, s->finishes, "finished", 1700000009000, stages, STAGES, reterr);
	}
	if (rc == 0)
		return wet_ledger_commit(l, reterr);
	wet_ledger_rollback(l);
	return rc;
}

/* -- looking ---------------------------------------------------------------------------- */
struct looking {
	int run, first, last; /* events from first to last */
	int found, other;
};

static bool is_same_event(const struct wet_event *a, const struct wet_event *b)
{
	return a->kind == b->kind && a->flags == b->flags && a->boot_ns == b->boot_ns &&
		   a->wall_ms == b->wall_ms && strcmp(a->boot_id, b->boot_id) == 0 && a->a_ns == b->a_ns &&
		   a->b_ns == b->b_ns && a->c_ns == b->c_ns && a->temperature_mc == b->temperature_mc &&
		   a->bath == b->bath && a->number == b->number && strcmp(a->token, b->token) == 0 &&
		   a->uid == b->uid;
}

static int look_at_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	struct looking *k = ctx;
	struct wet_event want;
	if (seq < k->first || seq > k->last)
		return WET_OK;
	make_event(k->run, (int)seq, &want);
	if (is_same_event(event, &want))
		k->found++;
	else
		k->other++;
	return WET_OK;
}

static int look_at_stage(void *ctx, int stage, const struct wet_stage_record *r)
{
	struct looking *k = ctx;
	struct wet_stage_record want[STAGES];
	make_stages(k->run, want);
	if (stage < STAGES && r->begin_ns == want[stage].begin_ns && r->end_ns == want[stage].end_ns &&
		r->late_pour_ms == want[stage].late_pour_ms && r->flags == want[stage].flags)
		k->found++;
	else
		k->other++;
	return WET_OK;
}

static bool is_same_run(const struct wet_ledger_run *a, const struct wet_ledger_run *b)
{
	const struct wet_run_setup *u = &a->setup, *v = &b->setup;
	return strcmp(a->name, b->name) == 0 && strcmp(a->recipe_hash, b->recipe_hash) == 0 &&
		   a->armed_boot_ns == b->armed_boot_ns && a->armed_wall_ms == b->armed_wall_ms &&
		   a->group_controls == b->group_controls && strcmp(u->vessel.name, v->vessel.name) == 0 &&
		   u->vessel.fill_ns == v->vessel.fill_ns && u->pieces == v->pieces &&
		   u->is_rehearsal == v->is_rehearsal &&
		   memcmp(u->rate_milli, v->rate_milli, sizeof u->rate_milli) == 0;
}

/* NOT_FOUND is an answer here: counts a piece that is there. */
static int count_piece(int rc, bool is_right, struct looking *k)
{
	if (rc == WET_ERR_NOT_FOUND)
		return WET_OK;
	if (rc == WET_OK && is_right)
		k->found++;
	else
		k->other += rc == WET_OK;
	return rc;
}

static int look_at_arming(struct wet_ledger *l, int run, struct looking *k, struct wet_fault *reterr)
{
	char hash[65], json[RECIPE_BYTES], *read = NULL;
	size_t n = 0;
	bool has = false;
	struct wet_ledger_run row = { 0 }, want;
	struct wet_vessel vessel = { 0 };
	make_recipe(run, hash, json);
	make_run(run, &want);
	int rc = wet_ledger_get_recipe(l, hash, &read, &n, reterr);
	rc = count_piece(rc, rc == 0 && n == sizeof json && memcmp(read, json, n) == 0, k);
	free(read);
	if (rc == 0) {
		rc = wet_ledger_has_acknowledgement(l, "the wash-house", "tin-box", run, &has, reterr);
		k->found += rc == 0 && has;
	}
	if (rc == 0) {
		rc = wet_ledger_get_vessel(l, want.setup.vessel.name, &vessel, reterr);
		rc = count_piece(
			rc, vessel.fill_ns == want.setup.vessel.fill_ns && vessel.tau_ns == want.setup.vessel.tau_ns, k);
	}
	if (rc == 0) {
		rc = wet_ledger_get_run(l, run, &row, reterr);
		rc = count_piece(rc, is_same_run(&row, &want), k);
	}
	return rc;
}

static int look_at_end(struct wet_ledger *l, int run, struct looking *k, struct wet_fault *reterr)
{
	struct wet_ledger_run row = { 0 };
	int rc = wet_ledger_get_run(l, run, &row, reterr);
	if (rc == WET_ERR_NOT_FOUND)
		return WET_OK;
	if (rc == 0 && !row.is_live) {
		if (strcmp(row.outcome, "finished") == 0 && row.ended_wall_ms == 1700000009000)
			k->found++;
		else
			k->other++;
	}
	return rc == 0 ? wet_ledger_each_stage(l, run, look_at_stage, k, reterr) : rc;
}

int story_look(struct wet_ledger *l, int step, enum story_trace *ret_trace, struct wet_fault *reterr)
{
	const struct step *s = &steps[step];
	struct looking k = { .run = s->run, .first = first_seq(step), .last = first_seq(step) + s->events - 1 };
	int rc = WET_OK, whole = 0;
	if (s->arms) {
		rc = look_at_arming(l, s->arms, &k, reterr);
		whole += 4;
	}
	if (rc == 0 && s->events) {
		rc = wet_ledger_each_event(l, s->run, look_at_event, &k, reterr);
		whole += s->events;
	}
	if (rc == 0 && s->finishes) {
		rc = look_at_end(l, s->finishes, &k, reterr);
		whole += 1 + STAGES;
	}
	if (rc != 0)
		return rc;
	*ret_trace = k.found == 0 && k.other == 0       ? STORY_NONE
				 : k.found == whole && k.other == 0 ? STORY_WHOLE
													: STORY_HALF;
	return WET_OK;
}
