/* test_mixing_run.c: a solution mixed as a run, in a darkroom on virtual time: once on the shelf whenever the daemon dies, never
 * beside open paper, never without its note where that is grave. */
#include "base/text.h"
#include "formula_files.h"
#include "lib/room_fake.h"
#include "shelf/shelf.h"
#include "wetside/stock.h"

#include <criterion/criterion.h>
#include <string.h>

#define S 1000000000LL
#define STEPS_MAX 60

static struct room_fake f;

static void open_room(void)
{
	room_fake_open(&f);
}

static void close_room(void)
{
	room_fake_close(&f);
}

TestSuite(mixing_run, .init = open_room, .fini = close_room);

static void after(int64_t ns)
{
	room_fake_go_to(&f, f.now_ns + ns);
}

static struct wet_arming arming_of(const char *formula)
{
	struct wet_arming a = {
		.pieces = 1, .fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN, .is_mix = true
	};
	struct wet_formula_want want = { .make_ul = 1000000, .scale_step_mg = 100, .measure_step_ul = 500 };
	a.mix.table = test_substances();
	a.mix.formula = test_formula(formula);
	cr_assert_eq(wet_formula_compute(a.mix.table, a.mix.formula, &want, &a.mix.list, NULL), 0);
	return a;
}

static struct wet_live *begin(const struct wet_arming *a)
{
	f.live = NULL;
	room_fake_arm(&f, a);
	cr_assert_eq(f.fault.err, WET_OK, "%s: %s", f.fault.where, f.fault.want);
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
	return f.live;
}

/* Presses as a person does: when it is told, and when what is timed has its aim. */
static void press_on(struct wet_live *live)
{
	struct wet_view v;
	f.live = live;
	wet_run_view(&live->run, f.now_ns, &v);
	after(v.aim_ns > v.now_ns ? v.aim_ns - v.now_ns + S : 3 * S);
	room_fake_act(&f, WET_ACT_GO, 0);
	cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
}

struct seen {
	int bottles, baths;
	struct wet_stock last;
};

static int see(void *ctx, const struct wet_stock *item)
{
	struct seen *s = ctx;
	s->bottles += item->kind == WET_STOCK_BOTTLE;
	s->baths += item->kind == WET_STOCK_BATH;
	s->last = *item;
	return WET_OK;
}

static struct seen shelf(void)
{
	struct seen s = { .bottles = 0 };
	cr_assert_eq(wet_ledger_each_stock(f.ledger, -1, true, 0, 1000, see, &s, NULL), WET_OK);
	return s;
}

static void mix_to_the_end(struct wet_live *live)
{
	for (int i = 0; i < STEPS_MAX && live->run.outcome == 0; i++)
		press_on(live);
	cr_assert_eq(live->run.outcome, 1);
	after(S);
}

Test(mixing_run, at_its_end_the_bottle_stands_on_the_shelf)
{
	struct wet_arming a = arming_of("fixer-plain");
	struct wet_live *live = begin(&a);
	cr_expect_str_eq(live->name, "mix");
	cr_expect_not(wet_live_is_dark(f.room, live));
	cr_expect_eq(wet_darkroom_light(f.room, "darkroom"), WET_LIGHT_WHITE);
	cr_expect_eq(live->digit, 0, "no pips are counted in the light");
	for (int i = 0; i < 5; i++)
		press_on(live);
	cr_expect_eq(shelf().bottles, 0, "not before it is made");
	mix_to_the_end(live);
	struct seen s = shelf();
	cr_expect_eq(s.bottles, 1);
	cr_expect_eq(s.baths, 0);
	cr_expect_str_eq(s.last.name, "fixer-plain");
	cr_expect_str_eq(s.last.what, "fixer-plain"); /* as plans look for it */
	cr_expect_eq(s.last.volume_ul, 1000000);
	cr_expect_eq(s.last.full_ul, 1000000);
	cr_expect_gt(s.last.since_ms, 0, "it ages from today");
	cr_expect_eq(room_fake_told(live, "shelf"), 1);
	cr_expect_eq(room_fake_told(live, "not-stored"), 0);
}

Test(mixing_run, the_daemon_dies_after_each_press_and_the_bottle_is_there_once)
{
	struct wet_arming a = arming_of("fixer-acid-hardening");
	int ended = 0;
	(void)begin(&a);
	for (int i = 0; i < STEPS_MAX && !ended; i++) {
		struct wet_live *live = wet_darkroom_find(f.room, "mix");
		cr_assert_not_null(live);
		press_on(live);
		ended = live->run.outcome;
		room_fake_restart(&f, 1 * S);
		after(S);
		cr_expect_eq(shelf().bottles, ended, "press %d", i);
	}
	cr_expect_eq(ended, 1);
	room_fake_restart(&f, 1 * S);
	after(S);
	cr_expect_eq(shelf().bottles, 1);
	cr_expect_eq(wet_darkroom_count(f.room), 0);
}

/* What was pressed is stored, its end is not: the daemon dies in between, and the next one ends the run. */
Test(mixing_run, a_disk_that_was_slow_at_the_end_loses_nothing_and_books_once)
{
	struct wet_arming a = arming_of("stop-bath-citric");
	struct wet_live *live = begin(&a);
	for (int i = 0; live->run.pos.stage + 1 < live->run.setup.recipe->stage_count; i++)
		press_on(live);
	f.is_disk_slow = true;
	after(3 * S);
	f.live = live;
	room_fake_act(&f, WET_ACT_GO, 0);
	after(S);
	cr_expect_eq(live->run.outcome, 1);
	cr_expect_eq(shelf().bottles, 0);
	cr_assert_eq(f.waiting_count, 2, "the press, then the end: %d", f.waiting_count);
	struct wet_job *end = f.waiting[1];
	f.waiting_count = 1;
	room_fake_disk(&f); /* the press only */
	free(end->ctx);     /* the end dies with the daemon */
	f.is_disk_slow = false;
	room_fake_restart(&f, 5 * S);
	after(S);
	cr_expect_eq(shelf().bottles, 1);
	cr_expect_eq(wet_darkroom_count(f.room), 0);
	room_fake_restart(&f, 5 * S);
	after(S);
	cr_expect_eq(shelf().bottles, 1);
}

/* A commit of which nobody knows whether it came through is tried again. */
Test(mixing_run, the_same_end_stored_once_more_books_nothing_more)
{
	struct wet_arming a = arming_of("stop-bath-citric");
	struct wet_live *live = begin(&a);
	struct wet_fault fault = { 0 };
	while (live->run.pos.stage + 1 < live->run.setup.recipe->stage_count)
		press_on(live);
	f.is_disk_slow = true;
	after(3 * S);
	f.live = live;
	room_fake_act(&f, WET_ACT_GO, 0);
	after(S);
	cr_assert_eq(f.waiting_count, 2);
	for (int i = 0; i < 2; i++) {
		cr_assert_eq(wet_ledger_begin(f.ledger, &fault), WET_OK);
		cr_assert_eq(f.waiting[1]->work(f.waiting[1], f.ledger, &fault), WET_OK, "%s", fault.want);
		cr_assert_eq(wet_ledger_commit(f.ledger, &fault), WET_OK);
	}
	room_fake_disk(&f);
	cr_expect_eq(shelf().bottles, 1);
}

Test(mixing_run, a_rehearsal_or_what_is_abandoned_books_nothing)
{
	struct wet_arming a = arming_of("stop-bath-citric");
	a.is_rehearsal = true;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		a.rate_milli[i] = 20000;
	struct wet_live *live = begin(&a);
	after(120 * S);
	cr_expect_eq(live->run.outcome, 1);
	cr_expect_eq(room_fake_told(live, "shelf"), 0);
	a.is_rehearsal = false;
	live = begin(&a);
	press_on(live);
	f.live = live;
	room_fake_act(&f, WET_ACT_ABANDON, WET_EVENT_HELD);
	after(S);
	cr_expect_eq(live->run.outcome, 2);
	struct seen s = shelf();
	cr_expect_eq(s.bottles + s.baths, 0);
}

static void add_item(enum wet_stock_kind kind, const char *name)
{
	struct wet_stock item = { .kind = kind, .full_ul = 1000, .volume_ul = 1000 };
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD };
	strcpy(item.name, name);
	strcpy(item.what, "salt");
	cr_assert_eq(wet_ledger_add_stock(f.ledger, &item, &why, NULL), WET_OK);
}

Test(mixing_run, its_name_is_free_and_on_the_label)
{
	struct wet_arming a = arming_of("stop-bath-citric");
	add_item(WET_STOCK_BOTTLE, "stop-bath-citric");
	struct wet_live *live = begin(&a);
	bool is_on_label = false;
	for (int i = 0; i < live->run.setup.recipe->stage_count; i++)
		is_on_label = is_on_label || strstr(live->run.setup.recipe->stages[i].say, "stop-bath-citric-2.");
	cr_expect(is_on_label);
	add_item(WET_STOCK_BOTTLE, "stop-bath-citric-2"); /* while it is mixed somebody else takes it */
	mix_to_the_end(live);
	cr_expect_str_eq(shelf().last.name, "stop-bath-citric-2-2");
	cr_expect_eq(shelf().bottles, 3);

	strcpy(a.mix.called, "low-shelf");
	live = begin(&a);
	mix_to_the_end(live);
	cr_expect_str_eq(shelf().last.name, "low-shelf");
	room_fake_arm(&f, &a);
	cr_expect_eq(f.fault.err, WET_ERR_EXISTS);
	cr_expect_str_eq(f.fault.where, "bottle");
	a.mix.is_bath = true; /* of another kind the name is free */
	live = begin(&a);
	mix_to_the_end(live);
	cr_expect_eq(shelf().baths, 1);
	strcpy(a.mix.called, "-dash");
	room_fake_arm(&f, &a);
	cr_expect_eq(f.fault.err, WET_ERR_INVALID, "what can't be put on the shelf is not begun");
	strcpy(a.mix.called, "");
	memset(a.mix.list.steps, 0, sizeof a.mix.list.steps);
	room_fake_arm(&f, &a);
	cr_expect_eq(f.fault.err, WET_ERR_RANGE);
}

Test(mixing_run, a_grave_one_is_acknowledged_by_each_person_and_version)
{
	static struct wet_formula next;
	struct wet_arming a = arming_of("fixer-acid");
	a.mix.needs_acknowledgement = true;
	strcpy(a.person, "keeper");
	room_fake_arm(&f, &a);
	cr_expect_eq(f.fault.err, WET_ERR_SAFETY);
	cr_expect(strstr(f.fault.want, "wetside safety fixer-acid --acknowledge") != NULL, "%s", f.fault.want);
	cr_assert_eq(wet_ledger_put_acknowledgement(f.ledger, "keeper", "mix-fixer-acid", 1, 5, NULL), WET_OK);
	(void)begin(&a);
	strcpy(a.person, "pupil");
	room_fake_arm(&f, &a);
	cr_expect_eq(f.fault.err, WET_ERR_SAFETY);
	strcpy(a.person, "keeper");
	next = *a.mix.formula;
	next.version = 2;
	a.mix.formula = &next;
	room_fake_arm(&f, &a);
	cr_expect_eq(f.fault.err, WET_ERR_SAFETY);
	a.is_rehearsal = true; /* nothing is touched */
	room_fake_arm(&f, &a);
	cr_expect_eq(f.fault.err, WET_OK);
}

static struct wet_live *arm_tank(const char *run, const char *room)
{
	struct wet_arming a = { .pieces = 2, .fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN };
	strcpy(a.recipe_name, "direct-positive-fibre-tank");
	strcpy(a.run_name, run);
	strcpy(a.room, room);
	f.live = NULL;
	room_fake_arm(&f, &a);
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	return f.live;
}

Test(mixing_run, nothing_is_mixed_beside_open_paper)
{
	struct wet_arming a = arming_of("stop-bath-citric");
	struct wet_live *tank = arm_tank("tank", "darkroom");
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	cr_assert(wet_live_is_dark(f.room, tank));
	room_fake_arm(&f, &a);
	cr_expect_eq(f.fault.err, WET_ERR_REFUSED);
	cr_expect(strstr(f.fault.want, "tank has open paper in this room") != NULL, "%s", f.fault.want);
	strcpy(a.room, "kitchen");
	(void)begin(&a);
	strcpy(a.room, "");
	a.is_rehearsal = true; /* nothing is touched */
	room_fake_arm(&f, &a);
	cr_expect_eq(f.fault.err, WET_OK);
	a.is_rehearsal = false;
	for (int i = 0; i < 3; i++) { /* two pieces, then the lid */
		after(3 * S);
		f.live = tank;
		room_fake_act(&f, WET_ACT_GO, 0);
	}
	cr_assert_not(wet_live_is_dark(f.room, tank), "the lid is on");
	(void)begin(&a);
}

Test(mixing_run, the_room_is_not_made_dark_while_something_is_mixed_in_it)
{
	struct wet_arming a = arming_of("print-developer-metol-hydroquinone");
	struct wet_live *tank = arm_tank("tank", "darkroom"), *other = arm_tank("other", "cellar");
	struct wet_live *mix = begin(&a);
	press_on(mix);
	f.live = tank;
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	cr_expect_eq(f.answer.kind, WET_ANSWER_REFUSE);
	cr_expect(strstr(f.answer.text, "mix mixes in this room") != NULL, "%s", f.answer.text);
	f.live = other;
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	cr_expect_eq(f.answer.kind, WET_ANSWER_DO);
	while (mix->run.setup.recipe->stages[mix->run.pos.stage].kind != WET_STAGE_STAND)
		press_on(mix);
	f.live = tank; /* it is bottled and labelled, and only has to stand */
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	cr_expect_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
	struct wet_live *one = NULL;
	f.live = other;
	room_fake_act(&f, WET_ACT_ABANDON, WET_EVENT_HELD);
	after(S);
	cr_expect_eq(wet_darkroom_the_run(f.room, &one, NULL), 0);
	cr_expect_eq(one, tank, "an act without a name is not the standing bottle's");
}

Test(mixing_run, a_thermometer_in_it_is_read)
{
	struct wet_arming a = arming_of("fixer-plain");
	struct wet_live *live = begin(&a);
	for (int i = 0; i < 4; i++)
		press_on(live);
	f.live = live;
	room_fake_read(&f, 0, 52000); /* warmer than any bath, but not than water to dissolve in */
	cr_expect_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
	cr_expect_str_eq(f.answer.text, "Solution 52 C.");
	room_fake_read(&f, 0, 70000);
	cr_expect_eq(f.answer.kind, WET_ANSWER_REFUSE);
}

Test(mixing_run, the_emergency_interrupts_it_and_it_goes_on_with_an_order)
{
	struct wet_arming a = arming_of("fixer-plain");
	struct wet_live *live = begin(&a);
	while (live->run.pos.base != WET_PHASE_EARLY)
		press_on(live);
	after(5 * S);
	f.live = live;
	room_fake_act(&f, WET_ACT_EMERGENCY, 0);
	after(600 * S);
	room_fake_act(&f, WET_ACT_RESUME, 0);
	cr_expect_eq(f.answer.kind, WET_ANSWER_DO);
	cr_expect_not(live->run.has_open_paper_seen_light);
	cr_expect(strstr(f.answer.text, "all dissolved? Then press; else stir on.") != NULL, "%s", f.answer.text);
	cr_expect_null(strstr(f.answer.text, "paper"), "%s", f.answer.text);
}
