/* test_learning.c: what a use tells of how a vessel cools is kept with it, in one transaction with the reading, and the next
 * run begins with it. */
#include "base/text.h"
#include "darkroom/records.h"
#include "darkroom/stock.h"
#include "room_fake.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define S 1000000000LL
#define TANK "direct-positive-fibre-tank"

static struct room_fake f;

static void open_room(void)
{
	room_fake_open(&f);
}

static void close_room(void)
{
	room_fake_close(&f);
}

TestSuite(learning, .init = open_room, .fini = close_room);

static void put_tank(void)
{
	struct wet_vessel v = { .name = "creek-tank", .kind = WET_VESSEL_CLOSED_TANK, .fill_ns = 20 * S, .drain_ns = 20 * S };
	struct wet_stock item = { .kind = WET_STOCK_VESSEL, .name = "creek-tank", .what = "closed-tank", .pieces_max = 6 };
	item.full_ul = 600000;
	item.least_ul = 350000;
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD, .wall_ms = 1 };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_put_vessel(f.ledger, &v, 1, &fault), WET_OK, "%s", fault.want);
	cr_assert_eq(wet_ledger_add_stock(f.ledger, &item, &why, &fault), WET_OK, "%s", fault.want);
}

static struct wet_vessel tank(void)
{
	struct wet_vessel v;
	cr_assert_eq(wet_ledger_get_vessel(f.ledger, "creek-tank", &v, NULL), WET_OK);
	return v;
}

static void arm(const char *vessel)
{
	struct wet_arming want = { .pieces = 2, .fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = 6000 };
	wet_text_copy(want.recipe_name, sizeof want.recipe_name, TANK);
	wet_text_copy(want.vessel_name, sizeof want.vessel_name, vessel);
	if (!vessel[0])
		want.fill_ns = want.drain_ns = 20 * S;
	room_fake_arm(&f, &want);
	cr_assert_eq(f.fault.err, WET_OK, "%s %s", f.fault.where, f.fault.want);
}

static int bath_of(enum wet_stage_kind kind, int *ret_stage)
{
	const struct wet_recipe *r = f.live->run.setup.recipe;
	for (int i = 0; i < r->stage_count; i++)
		if (r->stages[i].kind == kind) {
			*ret_stage = i;
			return r->stages[i].bath;
		}
	return -1;
}

/* To the end of the first fixer, which was poured in at 20 C. */
static int fix(void)
{
	int stage = 0, bath = bath_of(WET_STAGE_FIX, &stage);
	room_fake_read(&f, bath, 20000);
	cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	for (int i = 0; i < 200 && f.live->run.pos.stage <= stage; i++) {
		room_fake_go_to(&f, f.now_ns + 5 * S);
		if (f.live->run.pos.base != WET_PHASE_EARLY)
			room_fake_act(&f, WET_ACT_GO, 0);
	}
	cr_assert(f.live->run.records[stage].flags & WET_STAGE_DONE);
	return bath;
}

static void read_after(int bath, int32_t mc)
{
	struct wet_event e = { .kind = WET_ACT_READING, .flags = WET_EVENT_AFTER, .bath = bath, .temperature_mc = mc, .number = -1 };
	wet_darkroom_act(f.room, f.live, &e, (wet_acted_cb *)NULL, NULL);
}

static int lines_of_history;
static char newest[WET_LINE_BYTES];

static int take_line(void *ctx, const struct wet_stock_event *e)
{
	(void)ctx;
	if (lines_of_history++ == 0)
		wet_text_copy(newest, sizeof newest, e->note);
	return WET_OK;
}

static void look_at_history(void)
{
	struct wet_stock item;
	lines_of_history = 0;
	newest[0] = '\0';
	cr_assert_eq(wet_ledger_get_stock(f.ledger, WET_STOCK_VESSEL, "creek-tank", &item, NULL), WET_OK);
	cr_assert_eq(wet_ledger_each_stock_event(f.ledger, item.id, INT64_MAX, 50, take_line, NULL, NULL), WET_OK);
}

Test(learning, a_reading_after_a_bath_is_kept_with_the_vessel)
{
	put_tank();
	arm("creek-tank");
	int stage = 0, bath = fix();
	(void)bath_of(WET_STAGE_FIX, &stage);
	cr_assert_eq(tank().tau_ns, 0);
	const struct wet_stage_record *r = &f.live->run.records[stage];
	double for_s = (double)(r->end_ns - r->begin_ns) / 1e9 - 20;
	read_after(bath, 19400);
	double tau_s = for_s / log(14.0 / 13.4);
	struct wet_vessel v = tank();
	cr_assert_float_eq((double)v.tau_ns / 1e9, tau_s, 1e-3 * tau_s);
	cr_assert_eq(v.tau_count, 1);
	cr_assert_gt(v.tau_error_ns, v.tau_ns / 10);
	cr_assert_eq(v.fill_ns, 20 * S, "what was measured stays");
	look_at_history();
	cr_assert_eq(lines_of_history, 2);
	cr_assert_not_null(strstr(newest, "goes halfway to the room's temperature in "), "%s", newest);
	read_after(bath, 19400);
	cr_assert_eq(tank().tau_count, 1, "once a use");
	room_fake_restart(&f, S);
	cr_assert_eq(tank().tau_count, 1, "nor again as the run comes back");
	/* The next run begins with it. */
	arm("creek-tank");
	cr_assert_eq(f.live->run.setup.vessel.tau_ns, v.tau_ns);
	bath = fix();
	read_after(bath, 19400);
	cr_assert_eq(tank().tau_count, 2);
	cr_assert_lt(tank().tau_error_ns, v.tau_error_ns);
}

Test(learning, within_the_noise_or_with_no_vessel_nothing_is_learned)
{
	put_tank();
	arm("creek-tank");
	int bath = fix();
	read_after(bath, 19950);
	cr_assert_eq(tank().tau_ns, 0);
	look_at_history();
	cr_assert_eq(lines_of_history, 1);
	room_fake_act(&f, WET_ACT_ABANDON, WET_EVENT_HELD);
	arm("");
	bath = fix();
	read_after(bath, 19400);
	struct wet_vessel v;
	cr_assert_eq(wet_ledger_get_vessel(f.ledger, "closed-tank", &v, NULL), WET_ERR_NOT_FOUND);
	cr_assert_eq(tank().tau_ns, 0);
}

static struct wet_stock_answer listed;
static struct wet_fault fault_of;

static void take_answer(void *ctx, const struct wet_stock_answer *a, const struct wet_fault *fault)
{
	(void)ctx;
	listed = *a;
	fault_of = *fault;
}

static void change(int64_t tau_ns, int32_t heat_j_per_k, const char *rename)
{
	static struct wet_stock_request r;
	memset(&r, 0, sizeof r);
	r.op = WET_STOCK_OP_CHANGE;
	r.item.kind = WET_STOCK_VESSEL;
	wet_text_copy(r.item.name, sizeof r.item.name, "creek-tank");
	wet_text_copy(r.rename, sizeof r.rename, rename);
	r.fill_ns = r.drain_ns = -1;
	r.tau_ns = tau_ns;
	r.heat_j_per_k = heat_j_per_k;
	r.why.act = WET_STOCK_ACT_CHANGE;
	wet_darkroom_stock(f.room, &r, take_answer, NULL);
	cr_assert_eq(fault_of.err, WET_OK, "%s %s", fault_of.where, fault_of.want);
}

Test(learning, what_is_told_of_a_vessel_keeps_the_rest)
{
	char text[WET_LINE_BYTES];
	put_tank();
	change(3000 * S, -1, "");
	struct wet_vessel v = tank();
	cr_assert_eq(v.tau_ns, 3000 * S);
	cr_assert_eq(v.fill_ns, 20 * S);
	cr_assert_str_eq(wet_vessel_cooling(&v, text, sizeof text), "goes halfway to the room's temperature in 34:39: constant 50:00, as told");
	/* 200 g of plastic, 360 J/K, beside 350 mL of water, 1463 J/K. */
	change(-1, 360, "");
	v = tank();
	cr_assert_eq(v.tau_ns, 3000 * S);
	cr_assert_float_eq(v.chill_ppm, 1e6 * 360 / (360 + 1463), 1);
	change(-1, -1, "mud-tank");
	cr_assert_eq(wet_ledger_get_vessel(f.ledger, "mud-tank", &v, NULL), WET_OK, "another name, the same tank");
	cr_assert_eq(v.tau_ns, 3000 * S);
}

static struct wet_records seen_record;
static bool was_seen;

static void take_record(void *ctx, const struct wet_records *r, const struct wet_fault *fault)
{
	(void)ctx;
	cr_assert_eq(fault->err, WET_OK, "%s", fault->want);
	seen_record = *r;
	was_seen = true;
}

/* The record folds the run's events once more: each bath as it was poured in, as it was read, and as it went on. */
Test(learning, the_record_tells_how_warm_each_bath_was)
{
	int stage = 0;
	put_tank();
	change(3000 * S, -1, "");
	arm("creek-tank");
	int64_t id = f.live->id;
	int bath = bath_of(WET_STAGE_FIX, &stage);
	struct wet_event room = { .kind = WET_ACT_READING, .flags = WET_EVENT_ROOM, .bath = -1, .temperature_mc = 6000, .number = -1 };
	wet_darkroom_act(f.room, f.live, &room, (wet_acted_cb *)NULL, NULL);
	(void)fix();
	room_fake_read(&f, bath, 19000);
	room_fake_act(&f, WET_ACT_ABANDON, WET_EVENT_HELD);
	wet_darkroom_get_record(f.room, id, take_record, NULL);
	cr_assert(was_seen);
	const struct wet_trace *t = &seen_record.tracing.stages[stage];
	cr_assert_eq(t->in_mc, 20000);
	cr_assert_eq(t->readings, 0, "what was read after it belongs to no time in it");
	cr_assert_eq(t->course, WET_COURSE_VESSEL);
	double for_s = (double)(seen_record.stages[stage].end_ns - seen_record.stages[stage].begin_ns) / 1e9;
	cr_assert_float_eq(t->out_mc, 6000 + 14000 * exp(-for_s / 3000), 2);
	cr_assert_not_null(strstr(t->text, "by the constant you told"), "%s", t->text);
	cr_assert_str_eq(seen_record.tracing.stages[0].text, "", "handling has no bath");
	cr_assert_null(seen_record.tracing.run.setup.recipe, "it is gone");
}
