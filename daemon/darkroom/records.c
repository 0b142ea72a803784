/* records.c: what is asked of the ledger for people: acknowledgements, finished runs, vessels. */
#include "darkroom/records.h"

#include "base/text.h"
#include "darkroom/inside.h"
#include "darkroom/stock.h"
#include "ledger/exchange.h"
#include "wetside/capacity.h"
#include "wetside/cues.h"
#include "ledger/plans.h"

#include <stdlib.h>

#define GAP_CUES 1000 /* of one gap: a night without power in a wash */

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

/* What was due between the last sign of life and the return; before the run is folded over the gap. */
static void take_gap(struct wet_records *r, const struct wet_event *event)
{
	struct wet_run run = r->tracing.run;
	struct wet_cue cue;
	int64_t at_ns, from_ns = wet_run_boot(&run, event->a_ns);
	for (int i = 0; i < GAP_CUES && wet_run_deadline(&run, &at_ns) && at_ns <= from_ns; i++)
		wet_run_advance(&run, at_ns);
	r->gap_count++;
	r->gap_ns += event->b_ns - event->a_ns;
	for (int i = 0; i < GAP_CUES && wet_cue_next(&run, from_ns, &cue) && cue.at_run_ns <= event->b_ns; i++) {
		from_ns = cue.at_boot_ns;
		if (cue.kind == WET_CUE_BEAT || cue.kind == WET_CUE_COUNT)
			continue;
		if (r->missed_count++ < 4)
			wet_text_append(r->missed, sizeof r->missed, "%s%s", r->missed[0] ? " " : "", cue.text);
	}
}

static int take_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	struct asking *a = ctx;
	struct wet_records *r = &a->records;
	(void)seq;
	if (event && a->is_traced && event->kind == WET_EVENT_RESUMED)
		take_gap(r, event);
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

static void take_plan(const struct wet_recipe *recipe, struct wet_records *r)
{
	const struct wet_run_setup *s = &r->runs[0].setup;
	r->is_direct_positive = recipe->is_direct_positive;
	for (int i = recipe->stage_count - 1; i >= 0; i--) {
		const struct wet_stage *stage = &recipe->stages[i];
		if (wet_stage_kind_is_bath(stage->kind))
			r->planned_ns[i] = wet_stage_times(recipe, i, stage->in_washer ? &s->washer : &s->vessel, s->pieces).aim_ns;
		if (stage->kind == WET_STAGE_DEVELOP)
			r->developing = i;
	}
	if (r->developing >= 0 && recipe->stages[r->developing].law.kind != WET_LAW_NONE)
		r->reference_mc = recipe->stages[r->developing].law.tref_mc;
}

struct using {
	struct wet_ledger *ledger;
	const struct wet_recipe *recipe;
	struct wet_records *records;
	int64_t until_ms;
	struct wet_fix_bath done;
	const struct wet_booking *booking;
	struct wet_stock_event booked; /* id 0: not, or it was gone by then */
	struct wet_fault *fault;
};

static int take_use(void *ctx, const struct wet_stock_event *event)
{
	struct using *u = ctx;
	if (event->wall_ms <= u->until_ms) {
		u->done.as_first_mm2 += event->area_mm2;
		u->done.as_second_mm2 += event->second_mm2;
	}
	if (event->act == WET_STOCK_ACT_BOOK && event->run_id == u->booking->run_id && event->stage == u->booking->stage)
		u->booked = *event;
	return WET_OK;
}

/* How old it was as its stage began, whatever became of it since. */
static int take_age(struct using *u, int bath, const struct wet_stock *item, struct wet_used_bath *used)
{
	struct wet_stock_age age;
	struct wet_age_end end;
	if (u->booked.id == 0 || item->since_ms == 0 || bath < 0 || u->recipe->baths[bath].mix.keeps_ns <= 0)
		return WET_OK;
	int rc = wet_ledger_stock_age_before(u->ledger, item, &u->booked, &age, u->fault);
	if (rc == 0)
		rc = wet_recipe_age_end(u->recipe, bath, item->kind == WET_STOCK_BOTTLE, &age, &end, u->fault);
	if (rc == 0)
		used->aged_milli = end.used_ppm > 1000000000 ? 1000000 : (int32_t)(end.used_ppm / 1000);
	return rc;
}

/* How far it was used by the end of this run; what the recipe doesn't say of its bath is not known. */
static int take_booking(void *ctx, const struct wet_booking *booking)
{
	struct using *u = ctx;
	struct wet_records *r = u->records;
	struct wet_stock item;
	if (r->used_count == WET_RECIPE_BATHS || booking->stage >= u->recipe->stage_count ||
		wet_ledger_get_stock_by_id(u->ledger, booking->stock_id, &item, u->fault) != WET_OK)
		return WET_OK;
	struct wet_used_bath *used = &r->used[r->used_count++];
	int bath = u->recipe->stages[booking->stage].bath;
	int64_t per_l = bath >= 0 ? u->recipe->baths[bath].mix.capacity_mm2_per_l : 0;
	int64_t volume_ul = item.volume_ul > item.full_ul ? item.volume_ul : item.full_ul;
	*used = (struct wet_used_bath){ .stage = booking->stage, .area_mm2 = booking->area_mm2 + booking->second_mm2,
									.used_milli = INT32_MIN, .aged_milli = INT32_MIN };
	wet_text_copy(used->name, sizeof used->name, item.name);
	wet_text_copy(used->what, sizeof used->what, item.what);
	u->done = (struct wet_fix_bath){ 0, 0 };
	u->booking = booking;
	u->booked.id = 0;
	int rc = wet_ledger_each_stock_event_after(u->ledger, item.id, 0, INT64_MAX, take_use, u, u->fault);
	if (rc == 0 && per_l > 0 && volume_ul > 0) {
		double share = (double)wet_fix_bath_counted(&u->done, WET_SECOND_SHARE_PPM) * 1e9 / ((double)per_l * (double)volume_ul);
		used->used_milli = share > 1e6 ? 1000000 : (int32_t)share;
	}
	return rc == 0 ? take_age(u, bath, &item, used) : rc;
}

static int take_bookings(struct wet_ledger *ledger, const struct wet_recipe *recipe, struct wet_records *r, struct wet_fault *reterr)
{
	struct using u = { .ledger = ledger, .recipe = recipe, .records = r, .fault = reterr,
					   .until_ms = r->runs[0].ended_wall_ms ? r->runs[0].ended_wall_ms : INT64_MAX };
	const struct wet_booking before = { .run_id = r->runs[0].id - 1, .stage = INT32_MAX, .stock_id = INT64_MAX };
	return wet_ledger_each_booking(ledger, &before, r->runs[0].id, take_booking, &u, reterr);
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
	a->records.developing = -1;
	a->records.reference_mc = INT32_MIN;
	int rc = wet_ledger_get_run(ledger, a->id, row, reterr);
	if (rc == 0 && recipe_of_row(ledger, row, &recipe, &ignored) == WET_OK) {
		struct wet_run_setup setup = row->setup;
		setup.recipe = recipe;
		take_names(recipe, &a->records);
		take_plan(recipe, &a->records);
		rc = take_bookings(ledger, recipe, &a->records, reterr);
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
