/* records.c: what is asked of the ledger for people: acknowledgements, finished runs, vessels. */
#include "darkroom/records.h"

#include "base/text.h"
#include "darkroom/inside.h"

#include <stdlib.h>

struct asking {
	struct wet_job job;
	struct wet_records records;
	char person[WET_NAME_BYTES], recipe[WET_NAME_BYTES];
	bool is_traced; /* its recipe could be read */
	int version;
	int64_t wall_ms, id;
	wet_records_cb *cb;
	void *ctx;
};

static int take_run(void *ctx, const struct wet_ledger_run *run)
{
	struct wet_records *r = ctx;
	r->runs[r->run_count++] = *run;
	return WET_OK;
}

static int take_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	struct asking *a = ctx;
	struct wet_records *r = &a->records;
	(void)seq;
	if (event && a->is_traced)
		trace_event(&r->tracing, event);
	if (event && r->event_count < WET_RECORD_EVENTS) /* NULL: a row that can't be read */
		r->events[r->event_count++] = *event;
	return WET_OK;
}

static int take_answer(void *ctx, const struct wet_check *check)
{
	wet_answers_add(&((struct wet_records *)ctx)->answers, check);
	return WET_OK;
}

static int take_stage(void *ctx, int stage, const struct wet_stage_record *record)
{
	struct wet_records *r = ctx;
	if (stage >= 0 && stage < WET_RECIPE_STAGES)
		r->stages[stage] = *record;
	return WET_OK;
}

static int list_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct asking *a = job->ctx;
	return wet_ledger_each_finished_run(ledger, a->id, WET_PAGE, take_run, &a->records, reterr);
}

static void take_names(const struct wet_recipe *recipe, struct wet_records *r)
{
	for (int i = 0; i < recipe->stage_count; i++)
		wet_text_copy(r->stage_names[i], WET_NAME_BYTES, recipe->stages[i].name);
	for (int i = 0; i < recipe->bath_count; i++)
		wet_text_copy(r->bath_names[i], WET_NAME_BYTES, recipe->baths[i].name);
}

static int get_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct asking *a = job->ctx;
	struct wet_recipe *recipe = NULL;
	struct wet_fault ignored = { 0 };
	struct wet_ledger_run *row = &a->records.runs[0];
	int rc = wet_ledger_get_run(ledger, a->id, row, reterr);
	if (rc == 0 && recipe_of_row(ledger, row, &recipe, &ignored) == WET_OK) {
		struct wet_run_setup setup = row->setup;
		setup.recipe = recipe;
		take_names(recipe, &a->records);
		trace_begin(&a->records.tracing, &setup, row->armed_boot_ns);
		a->is_traced = true;
	}
	if (rc == 0)
		rc = wet_ledger_each_readable_event(ledger, a->id, take_event, a, reterr);
	if (rc == 0)
		rc = wet_ledger_each_stage(ledger, a->id, take_stage, &a->records, reterr);
	if (rc == 0)
		rc = wet_ledger_each_check(ledger, a->id, 0, take_answer, &a->records, reterr);
	if (rc == 0)
		a->records.run_count = 1;
	a->records.tracing.run.setup.recipe = NULL;
	free(recipe);
	return rc;
}

static int acknowledge_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct asking *a = job->ctx;
	return wet_ledger_put_acknowledgement(ledger, a->person, a->recipe, a->version, a->wall_ms, reterr);
}

static int acknowledged_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct asking *a = job->ctx;
	return wet_ledger_has_acknowledgement(ledger, a->person, a->recipe, a->version, &a->records.is_acknowledged, reterr);
}

static void ask_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct asking *a = job->ctx;
	a->cb(a->ctx, &a->records, fault);
	free(a);
}

static void ask(struct wet_darkroom *d, struct asking *a,
				int (*work)(struct wet_job *, struct wet_ledger *, struct wet_fault *), bool is_write,
				wet_records_cb *cb, void *ctx)
{
	if (!a) {
		struct wet_fault fault = { .err = WET_ERR_NOMEM };
		cb(ctx, NULL, &fault);
		return;
	}
	a->cb = cb;
	a->ctx = ctx;
	a->job =
		(struct wet_job){ .work = work, .done = ask_done, .ctx = a, .is_write = is_write, .is_once = true };
	d->ports.store(d->ports.ctx, &a->job);
}

void wet_darkroom_list_records(struct wet_darkroom *d, int64_t before_id, wet_records_cb *cb, void *ctx)
{
	struct asking *a = calloc(1, sizeof *a);
	if (a)
		a->id = before_id;
	ask(d, a, list_work, false, cb, ctx);
}

void wet_darkroom_get_record(struct wet_darkroom *d, int64_t run_id, wet_records_cb *cb, void *ctx)
{
	struct asking *a = calloc(1, sizeof *a);
	if (a)
		a->id = run_id;
	ask(d, a, get_work, false, cb, ctx);
}

static struct asking *new_acknowledgement(const char *person, const char *recipe, int version)
{
	struct asking *a = calloc(1, sizeof *a);
	if (a) {
		wet_text_copy(a->person, sizeof a->person, person);
		wet_text_copy(a->recipe, sizeof a->recipe, recipe);
		a->version = version;
	}
	return a;
}

void wet_darkroom_acknowledged(struct wet_darkroom *d, const char *person, const char *recipe, int version,
							   wet_records_cb *cb, void *ctx)
{
	ask(d, new_acknowledgement(person, recipe, version), acknowledged_work, false, cb, ctx);
}

void wet_darkroom_acknowledge(struct wet_darkroom *d, const char *person, const char *recipe, int version,
							  wet_records_cb *cb, void *ctx)
{
	struct asking *a = new_acknowledgement(person, recipe, version);
	if (a)
		a->wall_ms = d->ports.wall_ms(d->ports.ctx);
	ask(d, a, acknowledge_work, true, cb, ctx);
}
