#include "darkroom/checklist.h"

#include "base/text.h"
#include "darkroom/inside.h"
#include "ledger/exchange.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

static const char *const words[] = {
#define WET_CHECK_WORD(name, word) word,
	WET_CHECK_ANSWERS(WET_CHECK_WORD)
#undef WET_CHECK_WORD
};

const char *wet_check_answer_word(int answer)
{
	return answer >= 0 && answer < WET_CHECK_ANSWER_N ? words[answer] : "unknown";
}

int wet_check_answer_from_word(const char *word, enum wet_check_answer *ret_answer)
{
	for (int i = 0; i < WET_CHECK_ANSWER_N; i++) {
		if (strcmp(word, words[i]) == 0) {
			*ret_answer = (enum wet_check_answer)i;
			return WET_OK;
		}
	}
	return WET_ERR_NOT_FOUND;
}

const struct wet_check *wet_answer_to(const struct wet_answers *answers, const char *key)
{
	for (int i = 0; i < answers->count; i++)
		if (strcmp(answers->list[i].key, key) == 0)
			return &answers->list[i];
	return NULL;
}

void wet_answers_add(struct wet_answers *a, const struct wet_check *check)
{
	struct wet_check *known = (struct wet_check *)wet_answer_to(a, check->key);
	if (!known && a->count < WET_CHECK_ITEMS)
		known = &a->list[a->count++];
	if (known)
		*known = *check;
}

bool wet_check_stands(const struct wet_check *check, int64_t wall_ms)
{
	bool is_well = check && (check->answer == WET_CHECK_CONFIRMED || check->answer == WET_CHECK_STANDS);
	/* One from the future tells of a clock that was set: it may be of any day. */
	return is_well && check->since_ms <= wall_ms && wall_ms - check->since_ms <= WET_WORKING_DAY_MS;
}

#define HOUR_NS 3600000000000LL

struct asking {
	struct wet_job job;
	struct wet_checklist list;
	struct wet_check *checks; /* to be stored first */
	int check_count;
	int64_t wall_ms;
	struct wet_ledger *ledger;
	const struct wet_recipe *recipe; /* freed with the rest */
	struct wet_fault *reterr;
	wet_checklist_cb *cb;
	void *ctx;
};

static int take_answer(void *ctx, const struct wet_check *check)
{
	wet_answers_add(ctx, check);
	return WET_OK;
}

/* -- what the shelf knows ---------------------------------------------------------------- */

/* "fix-a, mixed 2 days ago, keeps 5 days more" */
static int tell_item(struct asking *a, int bath, const struct wet_stock *item)
{
	char *buf = a->list.baths[bath], days[24];
	struct wet_stock_age age;
	struct wet_age_end end = { 0 };
	int rc = wet_ledger_stock_age(a->ledger, item, a->wall_ms, &age, a->reterr);
	if (rc == 0)
		rc = wet_recipe_age_end(a->recipe, bath, false, &age, &end, a->reterr);
	if (rc != 0)
		return rc;
	if (age.age_ns < HOUR_NS)
		wet_text_format(buf, WET_LINE_BYTES, "%s, mixed just now", item->name);
	else
		wet_text_format(buf, WET_LINE_BYTES, "%s, mixed %s ago", item->name, wet_print_days(age.age_ns, days, sizeof days));
	if (end.left_ns < 0)
		wet_text_append(buf, WET_LINE_BYTES, ": TOO OLD, since %s", wet_print_days(-end.left_ns, days, sizeof days));
	else if (end.left_ns < INT64_MAX)
		wet_text_append(buf, WET_LINE_BYTES, ", keeps %s more", wet_print_days(end.left_ns, days, sizeof days));
	return WET_OK;
}

/* What the run was promised, by its plan. */
static int take_booking(void *ctx, const struct wet_booking *booking)
{
	struct asking *a = ctx;
	struct wet_stock item;
	if (booking->run_id != a->list.run_id)
		return WET_LEDGER_FULL;
	int bath = booking->stage < a->recipe->stage_count ? a->recipe->stages[booking->stage].bath : -1;
	if (bath < 0 || wet_ledger_get_stock_by_id(a->ledger, booking->stock_id, &item, NULL) != 0)
		return WET_OK;
	return item.kind == WET_STOCK_BATH ? tell_item(a, bath, &item) : WET_OK;
}

/* Without a plan: what stands there of the same solution, mixed alike; one bath is poured in one place only. */
static int take_stock(void *ctx, const struct wet_stock *item)
{
	struct asking *a = ctx;
	for (int i = 0; i < a->recipe->bath_count; i++) {
		const struct wet_bath_mix *mix = &a->recipe->baths[i].mix;
		if (a->list.baths[i][0] || !mix->from[0] || strcmp(mix->from, item->what) != 0 ||
			!wet_stock_is_mixed(item, mix->stock_milli, mix->water_milli))
			continue;
		return tell_item(a, i, item);
	}
	return WET_OK;
}

static int tell_baths(struct asking *a)
{
	const struct wet_booking after = { .run_id = a->list.run_id - 1, .stage = INT32_MAX, .stock_id = INT64_MAX };
	bool is_planned = false;
	int rc = wet_ledger_has_bookings(a->ledger, a->list.run_id, &is_planned, a->reterr);
	if (rc == 0 && !is_planned)
		return wet_ledger_each_stock(a->ledger, WET_STOCK_BATH, false, 0, INT32_MAX, take_stock, a, a->reterr);
	if (rc == 0)
		rc = wet_ledger_each_booking(a->ledger, &after, a->list.run_id, take_booking, a, a->reterr);
	return rc == WET_LEDGER_FULL ? WET_OK : rc;
}

/* -- asking and answering ---------------------------------------------------------------- */

static int read_list(struct asking *a, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct wet_ledger_run run;
	struct wet_recipe *recipe = NULL;
	int rc = wet_ledger_get_run(ledger, a->list.run_id, &run, reterr);
	if (rc == 0)
		rc = wet_ledger_each_check(ledger, run.id, 0, take_answer, &a->list.now, reterr);
	if (rc == 0)
		rc = wet_ledger_run_before(ledger, &run, &a->list.before_id, reterr);
	if (rc == 0 && a->list.before_id > 0) {
		struct wet_ledger_run before;
		rc = wet_ledger_each_check(ledger, a->list.before_id, 0, take_answer, &a->list.before, reterr);
		if (rc == 0)
			rc = wet_ledger_get_run(ledger, a->list.before_id, &before, reterr);
		if (rc == 0)
			a->list.before_wall_ms = before.armed_wall_ms;
	}
	if (rc == 0)
		rc = recipe_of_row(ledger, &run, &recipe, reterr);
	a->recipe = recipe;
	return rc == 0 ? tell_baths(a) : rc;
}

static int work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct asking *a = job->ctx;
	int rc = WET_OK;
	a->ledger = ledger;
	a->reterr = reterr;
	for (int i = 0; i < a->check_count && rc == 0; i++)
		rc = wet_ledger_put_check(ledger, &a->checks[i], reterr);
	return rc == 0 ? read_list(a, ledger, reterr) : rc;
}

static void done(struct wet_job *job, const struct wet_fault *fault)
{
	struct asking *a = job->ctx;
	if (a->cb)
		a->cb(a->ctx, fault->err == WET_OK ? &a->list : NULL, fault);
	free((void *)a->recipe);
	free(a->checks);
	free(a);
}

static void start(struct wet_darkroom *d, struct asking *a, const struct wet_live *live, wet_checklist_cb *cb, void *ctx)
{
	struct wet_fault fault = { .err = WET_ERR_NOMEM };
	if (!a) {
		if (cb)
			cb(ctx, NULL, &fault);
		return;
	}
	a->list.run_id = live->id;
	a->wall_ms = d->ports.wall_ms(d->ports.ctx);
	a->cb = cb;
	a->ctx = ctx;
	a->job = (struct wet_job){ .work = work, .done = done, .ctx = a, .is_write = a->check_count > 0, .is_once = true };
	d->ports.store(d->ports.ctx, &a->job);
}

void wet_darkroom_checklist(struct wet_darkroom *d, const struct wet_live *live, wet_checklist_cb *cb, void *ctx)
{
	start(d, calloc(1, sizeof(struct asking)), live, cb, ctx);
}

void wet_darkroom_check(struct wet_darkroom *d, const struct wet_live *live, const char *person, uint32_t uid,
						const struct wet_check *checks, int count, wet_checklist_cb *cb, void *ctx)
{
	struct asking *a = calloc(1, sizeof *a);
	int64_t wall_ms = d->ports.wall_ms(d->ports.ctx);
	if (a && !(a->checks = calloc((size_t)count + 1, sizeof *a->checks))) {
		free(a);
		a = NULL;
	}
	for (int i = 0; a && i < count; i++) {
		struct wet_check *c = &a->checks[a->check_count++];
		*c = checks[i];
		c->run_id = live->id;
		c->uid = uid;
		c->wall_ms = wall_ms;
		if (c->since_ms == 0)
			c->since_ms = wall_ms;
		wet_text_copy(c->person, sizeof c->person, person);
	}
	start(d, a, live, cb, ctx);
}
