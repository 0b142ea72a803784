/* test_planning.c: from the shelf to a kept plan to loads that book their baths, on virtual time. */
#include "base/text.h"
#include "darkroom/planning.h"
#include "darkroom/records.h"
#include "lib/room_fake.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL
#define TANK "direct-positive-fibre-tank"

static struct room_fake f;
static struct wet_planning *planning; /* a copy of the last answer; its plan's arrays are not valid any more */
static int loads, baths;

static int64_t put(enum wet_stock_kind kind, const char *name, const char *what, int64_t full_ul, int64_t least_ul)
{
	struct wet_stock item = { .kind = kind, .full_ul = full_ul, .least_ul = least_ul };
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD };
	struct wet_fault fault = { 0 };
	wet_text_copy(item.name, sizeof item.name, name);
	wet_text_copy(item.what, sizeof item.what, what);
	if (kind == WET_STOCK_VESSEL)
		item.pieces_max = 4;
	else
		item.volume_ul = full_ul;
	cr_assert_eq(wet_ledger_add_stock(f.ledger, &item, &why, &fault), 0, "%s", fault.want);
	return item.id;
}

static struct wet_stock get(enum wet_stock_kind kind, const char *name)
{
	struct wet_stock item = { .id = 0 };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_get_stock(f.ledger, kind, name, &item, &fault), 0, "%s: %s", name, fault.want);
	return item;
}

static void open_room(void)
{
	struct wet_vessel tank = { .name = "creek-tank", .kind = WET_VESSEL_CLOSED_TANK, .fill_ns = 20 * S, .drain_ns = 20 * S };
	struct wet_fault fault = { 0 };
	room_fake_open(&f);
	planning = calloc(1, sizeof *planning);
	(void)wet_ledger_put_vessel(f.ledger, &tank, 1, &fault);
	put(WET_STOCK_VESSEL, "creek-tank", "closed-tank", 600000, 350000);
	put(WET_STOCK_BOTTLE, "developer", "print-developer-metol-hydroquinone", 1000000, 0);
	put(WET_STOCK_BOTTLE, "stop", "stop-bath-citric", 2000000, 0);
	put(WET_STOCK_BOTTLE, "fixer", "fixer-rapid", 500000, 0);
	put(WET_STOCK_BOTTLE, "aid", "washing-aid-sulfite", 2000000, 0);
}

static void close_room(void)
{
	free(planning);
	room_fake_close(&f);
}

TestSuite(planning, .init = open_room, .fini = close_room);

static void planned(void *ctx, const struct wet_planning_request *request, const struct wet_planning *p,
					const struct wet_fault *fault)
{
	(void)ctx;
	(void)request;
	f.fault = *fault;
	if (!p)
		return;
	*planning = *p;
	loads = p->plan.load_count;
	baths = p->plan.bath_count;
}

static const char *washer = "";

static void plan(int pieces, const char *keep)
{
	struct wet_planning_request r = { .recipe_name = TANK,
									  .vessel_name = "creek-tank",
									  .size_count = 1,
									  .hot_mc = INT32_MIN,
									  .cold_mc = INT32_MIN,
									  .stock_mc = INT32_MIN };
	r.sizes[0].count = pieces;
	r.sizes[0].width_um = 90000;
	r.sizes[0].height_um = 120000;
	wet_text_copy(r.keep, sizeof r.keep, keep);
	wet_text_copy(r.washer_name, sizeof r.washer_name, washer);
	wet_darkroom_plan(f.room, &r, planned, NULL);
}

static void arm_plan(const char *name)
{
	struct wet_arming a = { .person = "creek", .fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN };
	struct wet_fault fault = { 0 };
	wet_text_copy(a.plan_name, sizeof a.plan_name, name);
	(void)wet_ledger_put_acknowledgement(f.ledger, "creek", TANK, 1, 1, &fault);
	f.live = NULL;
	room_fake_arm(&f, &a);
}

static void press(uint32_t flags)
{
	room_fake_act(&f, WET_ACT_GO, flags);
	room_fake_go_to(&f, f.now_ns + 3 * S);
}

/* Through handling, then to this stage, ended by hand. */
static void go_to_stage(int stage)
{
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	room_fake_go_to(&f, f.now_ns + 3 * S);
	for (int i = 0; i < 60 && (f.live->run.pos.stage < stage || f.live->run.pos.base != WET_PHASE_EARLY); i++)
		press(WET_EVENT_HELD);
	cr_assert_eq(f.live->run.pos.stage, stage);
}

static int stage_of(const char *key)
{
	const struct wet_recipe *r = f.live->run.setup.recipe;
	for (int i = 0; i < r->stage_count; i++)
		if (r->stages[i].bath >= 0 && strcmp(r->baths[r->stages[i].bath].key, key) == 0)
			return i;
	return -1;
}

static int64_t least_in_washer(const char *solution)
{
	for (int i = 0; i < planning->ask.solution_count; i++)
		if (strcmp(planning->ask.solutions[i].name, solution) == 0)
			return planning->is_in_washer[i] ? planning->ask.solutions[i].least_ul : -1;
	return -2;
}

Test(planning, what_is_used_in_a_washer_takes_the_washers_volume)
{
	put(WET_STOCK_VESSEL, "basin", "washer", 1500000, 700000);
	washer = "basin";
	plan(4, "");
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	cr_assert(planning->is_feasible);
	cr_assert_eq(least_in_washer("washing-aid-sulfite"), 700000);
	cr_assert_eq(least_in_washer("print-developer-metol-hydroquinone"), -1);
	cr_assert(strstr(planning->text, "washing-aid-sulfite, load 1: 700 mL from aid"), "%s", planning->text);
	cr_assert(strstr(planning->text, "stop-bath-citric, load 1: 350 mL from stop"), "%s", planning->text);
	washer = "puddle";
	plan(4, "");
	cr_assert_eq(f.fault.err, WET_ERR_NOT_FOUND);
	cr_assert_str_eq(f.fault.where, "washer");
	washer = "";
	plan(4, "");
	cr_assert(strstr(planning->text, "washing-aid-sulfite, load 1: 350 mL from aid"), "%s", planning->text);
}

Test(planning, two_fixers_are_drawn_from_one_bottle)
{
	plan(6, "evening");
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	cr_assert(planning->is_feasible);
	cr_assert_eq(loads, 2); /* four slots */
	cr_assert_eq(planning->part_count, 5);
	arm_plan("evening");
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	cr_assert(strstr(f.told, "Load 1 of 2"), "%s", f.told);
	/* 350 mL of 1+4 is 70 mL, twice; of 1+2 it is 116.667 mL. */
	cr_assert_eq(get(WET_STOCK_BOTTLE, "fixer").volume_ul, 500000 - 2 * 70000);
	cr_assert_eq(get(WET_STOCK_BOTTLE, "developer").volume_ul, 1000000 - 116667);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid").volume_ul, 350000);
}

Test(planning, a_plan_books_nothing_until_it_is_armed_nor_twice)
{
	plan(6, "evening");
	cr_assert_eq(get(WET_STOCK_BOTTLE, "fixer").volume_ul, 500000);
	arm_plan("evening");
	struct wet_live *first = f.live;
	arm_plan("evening");
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	cr_assert_neq(f.live, first);
	cr_assert(strstr(f.told, "Load 2 of 2"), "%s", f.told);
	cr_assert_eq(get(WET_STOCK_BOTTLE, "fixer").volume_ul, 360000); /* both loads share the fixers */
	cr_assert_eq(get(WET_STOCK_BOTTLE, "stop").volume_ul, 2000000 - 2 * 350000); /* one-shot: a fresh one each */
	arm_plan("evening");
	cr_assert_eq(f.fault.err, WET_ERR_REFUSED);
	plan(6, "evening");
	cr_assert_eq(f.fault.err, WET_ERR_EXISTS);
}

Test(planning, what_a_load_touched_is_booked_once_also_over_a_crash)
{
	const int64_t area_mm2 = 3 * 90 * 120;
	plan(6, "evening");
	arm_plan("evening");
	go_to_stage(stage_of("first-fixer"));
	cr_assert_eq(get(WET_STOCK_BATH, "evening developer").area_mm2, area_mm2);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid").area_mm2, area_mm2);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid 2").area_mm2, 0); /* not yet */
	struct wet_stock stop = get(WET_STOCK_BATH, "evening stop");
	cr_assert(stop.is_gone); /* poured away with its load */
	cr_assert_eq(stop.area_mm2, area_mm2);
	room_fake_restart(&f, S);
	room_fake_go_to(&f, f.now_ns + S);
	cr_assert_eq(get(WET_STOCK_BATH, "evening developer").area_mm2, area_mm2);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid").area_mm2, area_mm2);
	/* Abandoned: only what it touched. */
	f.live = wet_darkroom_newest(f.room);
	room_fake_act(&f, WET_ACT_ABANDON, WET_EVENT_HELD);
	room_fake_go_to(&f, f.now_ns + S);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid 2").area_mm2, 0);
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_check(f.ledger, &fault), 0, "%s", fault.found);
}

Test(planning, the_next_plan_starts_from_the_truth)
{
	plan(4, "first");
	arm_plan("first");
	go_to_stage(stage_of("second-fixer"));
	plan(4, "");
	cr_assert(planning->is_feasible);
	/* Developer and both fixers stand there and bear more; stop and aid are fresh. */
	cr_assert_eq(planning->working_count, 3);
	cr_assert_eq(get(WET_STOCK_BATH, "first fixer-rapid").area_mm2, 4 * 90 * 120);
	cr_assert_eq(get(WET_STOCK_BATH, "first fixer-rapid 2").area_mm2, 0);
	cr_assert_eq(get(WET_STOCK_BATH, "first fixer-rapid 2").second_mm2, 4 * 90 * 120);
	cr_assert_eq(get(WET_STOCK_BATH, "first fixer-rapid 2").rotations, 1);
	plan(4, "second"); /* the same two, in the same places */
	arm_plan("second");
	go_to_stage(stage_of("second-fixer"));
	cr_assert_eq(get(WET_STOCK_BATH, "first fixer-rapid").area_mm2, 8 * 90 * 120);
	cr_assert_eq(get(WET_STOCK_BATH, "first fixer-rapid 2").second_mm2, 8 * 90 * 120);
}

static void end_run(void)
{
	room_fake_act(&f, WET_ACT_ABANDON, WET_EVENT_HELD);
	room_fake_go_to(&f, f.now_ns + S);
}

static struct wet_used_bath used[WET_RECIPE_STAGES];

static void take_record(void *ctx, const struct wet_records *r, const struct wet_fault *fault)
{
	(void)ctx;
	cr_assert_eq(fault->err, WET_OK, "%s", fault->want);
	for (int i = 0; i < r->used_count; i++)
		used[r->used[i].stage] = r->used[i];
}

/* What passed through a fixer as the second of two counts in it by its share (wetside/capacity.h), as it does on the shelf. */
Test(planning, the_record_tells_how_far_the_second_fixer_was_used)
{
	const int64_t area_mm2 = 4 * 90 * 120;
	plan(4, "evening");
	arm_plan("evening");
	int first = -1, second = -1;
	const struct wet_recipe *r = f.live->run.setup.recipe;
	for (int i = 0; i < r->stage_count; i++) {
		first = r->stages[i].kind == WET_STAGE_FIX ? i : first;
		second = r->stages[i].kind == WET_STAGE_SECOND_FIX ? i : second;
	}
	int64_t run_id = f.live->id, bears_mm2 = r->baths[r->stages[second].bath].mix.capacity_mm2_per_l * 350 / 1000;
	go_to_stage(second);
	end_run();
	wet_darkroom_get_record(f.room, run_id, take_record, NULL);
	room_fake_go_to(&f, f.now_ns + S);
	cr_assert_eq(used[first].area_mm2, area_mm2);
	cr_assert_eq(used[second].area_mm2, area_mm2);
	cr_assert_eq(used[first].used_milli, area_mm2 * 1000 / bears_mm2);
	cr_assert_eq(used[second].used_milli, area_mm2 / 20 * 1000 / bears_mm2);
	cr_assert_gt(used[second].used_milli, 0);
}

/* -- a shelf that has changed since --------------------------------------------------- */

#define DAY_MS (24LL * 3600 * 1000)

static void discard(enum wet_stock_kind kind, const char *name)
{
	struct wet_stock_event why = { .act = WET_STOCK_ACT_DISCARD, .wall_ms = f.wall_ms };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_discard_stock(f.ledger, get(kind, name).id, &why, NULL, &fault), 0, "%s", fault.want);
}

static void arm_is_refused(const char *plan_name, const char *why)
{
	arm_plan(plan_name);
	cr_assert_eq(f.fault.err, WET_ERR_STALE, "%s", why);
	cr_assert(strstr(f.fault.want, why) && strstr(f.fault.want, "Plan again"), "%s", f.fault.want);
}

Test(planning, a_load_whose_bath_or_vessel_is_gone_is_not_armed)
{
	plan(6, "evening");
	arm_plan("evening");
	discard(WET_STOCK_BATH, "evening developer");
	arm_is_refused("evening", "Load 2 of plan evening needs evening developer, which is gone.");
	discard(WET_STOCK_VESSEL, "creek-tank");
	arm_is_refused("evening", "needs creek-tank, which is gone");
	cr_assert_eq(get(WET_STOCK_BOTTLE, "stop").volume_ul, 2000000 - 350000); /* nothing was mixed for it */
}

Test(planning, a_load_whose_bath_has_become_too_old_is_not_armed)
{
	plan(6, "evening");
	arm_plan("evening");
	end_run();
	f.wall_ms += 3 * DAY_MS; /* the recipe's developer keeps 24 hours */
	arm_is_refused("evening", "evening developer, whose age ran out 2 days ago");
}

Test(planning, a_load_whose_bottle_has_too_little_is_not_armed)
{
	struct wet_stock_event why = { .act = WET_STOCK_ACT_USE, .volume_ul = -1500000 };
	struct wet_fault fault = { 0 };
	plan(6, "evening");
	arm_plan("evening");
	cr_assert_eq(wet_ledger_use_stock(f.ledger, get(WET_STOCK_BOTTLE, "stop").id, &why, NULL, &fault), 0, "%s", fault.want);
	arm_is_refused("evening", "needs stop, in which too little is left");
	why.volume_ul = -150000;
	cr_assert_eq(wet_ledger_use_stock(f.ledger, get(WET_STOCK_BOTTLE, "stop").id, &why, NULL, &fault), 0, "%s", fault.want);
	arm_is_refused("evening", "needs stop, which is empty");
}

Test(planning, a_load_whose_bath_was_used_up_meanwhile_is_not_armed)
{
	struct wet_stock_event why = { .act = WET_STOCK_ACT_USE, .area_mm2 = 300000 };
	struct wet_fault fault = { 0 };
	plan(6, "evening"); /* 350 mL of developer bear 360,500 mm2 */
	arm_plan("evening");
	cr_assert_eq(wet_ledger_use_stock(f.ledger, get(WET_STOCK_BATH, "evening developer").id, &why, NULL, &fault), 0, "%s",
				 fault.want);
	arm_is_refused("evening", "evening developer, which bears less by now");
}

Test(planning, what_is_promised_to_an_armed_run_counts)
{
	const int64_t load_mm2 = 3 * 90 * 120;
	plan(6, "evening");
	arm_plan("evening");
	cr_assert_eq(get(WET_STOCK_BATH, "evening developer").area_mm2, 0); /* booked as it begins */
	plan(6, "");
	cr_assert(strstr(planning->told, "evening developer: 324 cm2 are promised to runs that are armed"), "%s", planning->told);
	for (int i = 0; i < planning->working_count; i++)
		if (strcmp(planning->workings[i][0].name, "evening developer") == 0)
			cr_assert_eq(planning->plan_workings[i].used_mm2, load_mm2);
	go_to_stage(stage_of("first-fixer"));
	plan(6, "");
	cr_assert_null(strstr(planning->told, "evening developer:"), "%s", planning->told);
	end_run(); /* what it did not come to is promised no longer */
	plan(6, "");
	cr_assert_str_eq(planning->told, "");
}

Test(planning, a_bottle_that_stood_part_full_is_out_sooner)
{
	struct wet_stock_event why = { .act = WET_STOCK_ACT_USE, .wall_ms = f.wall_ms, .volume_ul = -600000 };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_ledger_use_stock(f.ledger, get(WET_STOCK_BOTTLE, "developer").id, &why, NULL, &fault), 0, "%s", fault.want);
	f.wall_ms += 59 * DAY_MS; /* of developer stock: 6 months full, 2 part full (wetside/capacity.h) */
	plan(4, "");
	cr_assert(planning->is_feasible);
	f.wall_ms += 2 * DAY_MS;
	plan(4, "");
	cr_assert_not(planning->is_feasible);
	cr_assert(strstr(planning->refusal.lines[2], "developer is 61 days old and keeps 60 days"), "%s", planning->refusal.lines[2]);
}

Test(planning, a_piece_that_is_too_large_is_told_also_while_a_run_is_live)
{
	struct wet_stock tank = get(WET_STOCK_VESSEL, "creek-tank");
	struct wet_stock_event why = { .act = WET_STOCK_ACT_CHANGE };
	struct wet_fault fault = { 0 };
	plan(3, "evening");
	arm_plan("evening");
	tank.piece_width_um = tank.piece_height_um = 100000;
	cr_assert_eq(wet_ledger_change_stock(f.ledger, &tank, &why, &fault), 0, "%s", fault.want);
	plan(3, "");
	cr_assert_eq(f.fault.err, WET_ERR_FIT);
	cr_assert(strstr(f.fault.want, "so large is the largest piece of creek-tank"), "%s", f.fault.want);
}

/* -- two fixers that rotate ---------------------------------------------------------- */

static void put_fixer(const char *name, int64_t area_mm2, int64_t second_mm2, int rotations)
{
	struct wet_stock item = { .kind = WET_STOCK_BATH, .what = "fixer-rapid", .strength = "1+4", .full_ul = 350000,
							  .volume_ul = 350000, .area_mm2 = area_mm2, .second_mm2 = second_mm2, .rotations = rotations,
							  .since_ms = f.wall_ms };
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD };
	struct wet_fault fault = { 0 };
	wet_text_copy(item.name, sizeof item.name, name);
	cr_assert_eq(wet_ledger_add_stock(f.ledger, &item, &why, &fault), 0, "%s", fault.want);
}

/* 350 mL bear 2 g/L of silver at 733 mg/m2: 954,979 mm2. One load of four leaves fix-a with too little for another. */
Test(planning, the_spent_fixer_goes_and_the_second_takes_its_place)
{
	const int64_t piece = 90 * 120;
	struct wet_fault fault = { 0 };
	put_fixer("fix-a", 954979 - 5 * piece, 0, 0);
	put_fixer("fix-b", 0, 954979 - 5 * piece, 0);
	plan(8, "evening");
	cr_assert(planning->is_feasible);
	arm_plan("evening");
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	cr_assert_eq(get(WET_STOCK_BATH, "fix-b").rotations, 1); /* by standing behind fix-a */
	go_to_stage(stage_of("second-fixer"));
	cr_assert_eq(get(WET_STOCK_BATH, "fix-a").area_mm2, 954979 - piece);
	cr_assert_eq(get(WET_STOCK_BATH, "fix-b").second_mm2, 954979 - piece);
	cr_assert_not(get(WET_STOCK_BATH, "fix-a").is_gone);
	end_run();
	arm_plan("evening");
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid").rotations, 2); /* the fresh one behind fix-b */
	cr_assert_not(get(WET_STOCK_BATH, "fix-a").is_gone);
	go_to_stage(stage_of("second-fixer"));
	cr_assert(get(WET_STOCK_BATH, "fix-a").is_gone); /* by the begin of the first fixer, in fix-b */
	cr_assert_eq(get(WET_STOCK_BATH, "fix-b").area_mm2, 4 * piece);
	cr_assert_eq(get(WET_STOCK_BATH, "fix-b").second_mm2, 954979 - piece);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid").second_mm2, 4 * piece);
	room_fake_restart(&f, S); /* a crash books nothing twice */
	room_fake_go_to(&f, f.now_ns + S);
	cr_assert_eq(get(WET_STOCK_BATH, "fix-b").area_mm2, 4 * piece);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid").second_mm2, 4 * piece);
	cr_assert_eq(wet_ledger_check(f.ledger, &fault), 0, "%s", fault.found);
}

/* A fixer that stands alone has a fresh one put behind it; one that was rotated too often is neither first nor second. */
Test(planning, a_lone_fixer_gets_a_fresh_second)
{
	const int64_t piece = 90 * 120;
	put_fixer("fix-c", 20 * piece, 60 * piece, 2);
	put_fixer("fix-x", 0, 60 * piece, 4);
	plan(4, "evening");
	cr_assert(planning->is_feasible);
	arm_plan("evening");
	go_to_stage(stage_of("second-fixer"));
	cr_assert_eq(get(WET_STOCK_BATH, "fix-c").area_mm2, 24 * piece);
	cr_assert_eq(get(WET_STOCK_BATH, "fix-c").second_mm2, 60 * piece);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid").rotations, 3);
	cr_assert_eq(get(WET_STOCK_BATH, "evening fixer-rapid").second_mm2, 4 * piece);
	cr_assert_eq(get(WET_STOCK_BATH, "fix-x").second_mm2, 60 * piece);
	cr_assert_eq(get(WET_STOCK_BOTTLE, "fixer").volume_ul, 500000 - 70000);
}

struct fixers {
	int count, first_count; /* that were mixed; that were the first */
	struct wet_stock firsts[8];
};

static int take_fixer(void *ctx, const struct wet_stock *item)
{
	struct fixers *x = ctx;
	if (item->kind != WET_STOCK_BATH || strcmp(item->what, "fixer-rapid") != 0)
		return WET_OK;
	x->count++;
	if (item->area_mm2 > 0 && x->first_count < 8)
		x->firsts[x->first_count++] = *item;
	return WET_OK;
}

/* Session after session, plan and book and plan again, till the pair is done with: four baths were the first in turn (after
 * the third rotation both are discarded, The Darkroom Cookbook, 3rd ed., p. 107), and a fifth only the second. Four pieces of
 * 8 x 10 in a session: 350 mL bear 18 of them at the Navy's 200 a gallon (NAVEDTRA 14209), so four whole sessions, also after
 * four passed through as the second. */
Test(planning, a_campaign_of_sessions_ends_after_the_third_rotation)
{
	static const char *const stocks[] = { "print-developer-metol-hydroquinone", "stop-bath-citric", "fixer-rapid",
										  "washing-aid-sulfite" };
	struct wet_planning_request r = { .recipe_name = TANK, .vessel_name = "creek-tank", .size_count = 1, .hot_mc = INT32_MIN,
									  .cold_mc = INT32_MIN, .stock_mc = INT32_MIN };
	struct wet_fault fault = { 0 };
	struct fixers x = { .count = 0 };
	const int64_t print = 51613; /* 203.2 x 254 mm, up */
	int sessions = 0;
	for (int i = 0; i < 4; i++)
		put(WET_STOCK_BOTTLE, stocks[i], stocks[i], 20000000, 0);
	r.sizes[0].count = 4;
	r.sizes[0].width_um = 203200;
	r.sizes[0].height_um = 254000;
	while (x.first_count < 5 && sessions < 20) {
		wet_text_format(r.keep, sizeof r.keep, "day %d", ++sessions);
		wet_darkroom_plan(f.room, &r, planned, NULL);
		cr_assert(planning->is_feasible, "session %d: %s", sessions, planning->refusal.lines[0]);
		arm_plan(r.keep);
		cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
		go_to_stage(stage_of("second-fixer"));
		end_run();
		x = (struct fixers){ .count = 0 };
		cr_assert_eq(wet_ledger_each_stock(f.ledger, WET_STOCK_BATH, true, 0, INT32_MAX, take_fixer, &x, &fault), 0);
	}
	cr_assert_eq(sessions, 4 * 4 + 1, "the seventeenth begins with two fresh ones: %d", sessions);
	cr_assert_eq(x.count, 5 + 2);
	for (int i = 0; i < 4; i++) {
		cr_assert_eq(x.firsts[i].area_mm2, 16 * print);
		cr_assert_eq(x.firsts[i].second_mm2, i == 0 ? 0 : 16 * print);
		cr_assert_eq(x.firsts[i].rotations, i);
	}
	cr_assert_eq(x.firsts[4].rotations, 0);
	cr_assert_eq(x.firsts[4].area_mm2, 4 * print);
	cr_assert_eq(wet_ledger_check(f.ledger, &fault), 0, "%s", fault.found);
}

Test(planning, what_cannot_be_is_said_with_ways_out)
{
	plan(60, "");
	cr_assert_eq(f.fault.err, WET_OK);
	cr_assert_not(planning->is_feasible);
	cr_assert_gt(planning->refusal.line_count, 1);
	cr_assert_gt(planning->refusal.short_ul, 0);
	cr_assert_gt(planning->refusal.pieces_now, 0);
}

Test(planning, the_older_bottle_goes_first_and_the_spent_one_is_left)
{
	struct wet_stock old = get(WET_STOCK_BOTTLE, "fixer");
	struct wet_stock_event why = { .act = WET_STOCK_ACT_CHANGE };
	struct wet_fault fault = { 0 };
	int64_t day_ms = 24LL * 3600 * 1000, now_ms = f.wall_ms + f.now_ns / 1000000;
	put(WET_STOCK_BOTTLE, "fixer-new", "fixer-rapid", 500000, 0);
	old.since_ms = now_ms - 100 * day_ms;
	cr_assert_eq(wet_ledger_change_stock(f.ledger, &old, &why, &fault), 0);
	plan(4, "a");
	arm_plan("a");
	cr_assert_lt(get(WET_STOCK_BOTTLE, "fixer").volume_ul, 500000);
	cr_assert_eq(get(WET_STOCK_BOTTLE, "fixer-new").volume_ul, 500000);
	/* Past the six months that an opened bottle keeps for unrepeatable work. */
	old = get(WET_STOCK_BOTTLE, "fixer");
	old.since_ms = now_ms - 200 * day_ms;
	cr_assert_eq(wet_ledger_change_stock(f.ledger, &old, &why, &fault), 0);
	for (int i = 0; i < 2; i++) { /* nor may the working ones be taken */
		struct wet_stock w = get(WET_STOCK_BATH, i == 0 ? "a fixer-rapid" : "a fixer-rapid 2");
		cr_assert_eq(wet_ledger_discard_stock(f.ledger, w.id, &why, NULL, &fault), 0);
	}
	int64_t left_ul = old.volume_ul;
	plan(4, "b");
	arm_plan("b");
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	cr_assert_eq(get(WET_STOCK_BOTTLE, "fixer").volume_ul, left_ul);
	cr_assert_lt(get(WET_STOCK_BOTTLE, "fixer-new").volume_ul, 500000);
}

Test(planning, a_rehearsal_books_nothing)
{
	plan(4, "evening");
	arm_plan("evening");
	struct wet_stock developer = get(WET_STOCK_BATH, "evening developer"), bottle = get(WET_STOCK_BOTTLE, "developer");
	struct wet_arming a = { .recipe_name = TANK,
							.vessel_name = "creek-tank",
							.pieces = 4,
							.fill_ns = -1,
							.drain_ns = -1,
							.stagger_ns = -1,
							.room_mc = INT32_MIN,
							.is_rehearsal = true };
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		a.rate_milli[i] = 100000;
	room_fake_arm(&f, &a);
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	room_fake_go_to(&f, f.now_ns + 600 * S);
	cr_assert(wet_live_is_over(f.live));
	cr_assert_eq(get(WET_STOCK_BATH, "evening developer").area_mm2, developer.area_mm2);
	cr_assert_eq(get(WET_STOCK_BOTTLE, "developer").volume_ul, bottle.volume_ul);
}
