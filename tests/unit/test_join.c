/* test_join.c: a wash that other pieces join: the row of the table, the sentences, undo, and changes of water as cues. */
#include "shelf/shelf.h"
#include "wetside/cues.h"

#include <criterion/criterion.h>
#include <string.h>

#define S 1000000000LL

static struct wet_shelf *shelf;
static struct wet_recipe wash; /* one wash by changes: six fills, the first for 1:00, the others for 4:00 */
static struct wet_run run;
static int64_t now;
static struct wet_answer said;

static void open_all(void)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = {
		WET_SOURCE_DIR "/safety", NULL
	};
	cr_assert_eq(wet_shelf_open(&shelf, recipes, safety), 0);
	wash = (struct wet_recipe){ .vessel_kind = WET_VESSEL_WASHER,
								.paper_light = WET_LIGHT_WHITE,
								.white_after = -1,
								.bath_count = 1,
								.stage_count = 1 };
	wash.stages[0] = (struct wet_stage){ .kind = WET_STAGE_WASH,
										 .name = "Wash",
										 .begin = WET_BEGIN_ON_GO,
										 .least_ns = 1260 * S,
										 .aim_ns = 1260 * S,
										 .most_ns = 2000 * S,
										 .in_washer = true,
										 .waters = { 6, 60 * S, 240 * S } };
}

static void close_all(void)
{
	wet_shelf_free(shelf);
}

TestSuite(join, .init = open_all, .fini = close_all);

static void start(const struct wet_recipe *recipe)
{
	struct wet_run_setup setup = { .recipe = recipe,
								   .pieces = 1,
								   .tolerance_mc = 500,
								   .rules_version = WET_RULES_VERSION,
								   .vessel = { .kind = recipe->vessel_kind },
								   .washer = { .kind = WET_VESSEL_WASHER } };
	setup.vessel.fill_ns = recipe->fill_ns;
	setup.vessel.drain_ns = recipe->drain_ns;
	now = 5000 * S;
	wet_run_init(&run, &setup, now);
}

static void act_on(struct wet_run *r, int kind, int64_t a_ns, uint32_t flags)
{
	struct wet_presses presses = { .has_doubt = false };
	struct wet_event e = {
		.kind = kind, .flags = flags, .a_ns = a_ns, .boot_ns = now, .bath = -1, .number = -1
	};
	wet_run_try(r, &presses, &e, &said);
	if (said.kind == WET_ANSWER_DO)
		wet_run_fold(r, &e);
}

static void act(int kind, int64_t a_ns)
{
	act_on(&run, kind, a_ns, WET_EVENT_HELD);
}

static void read_bath(struct wet_run *r, int32_t mc)
{
	struct wet_event e = { .kind = WET_ACT_READING, .boot_ns = now, .temperature_mc = mc, .number = -1 };
	e.bath = r->setup.recipe->stages[r->pos.stage].bath;
	wet_run_fold(r, &e);
}

static struct wet_view view(const struct wet_run *r)
{
	struct wet_view v;
	wet_run_view(r, now, &v);
	return v;
}

/* The creek tank, in its first wash of five minutes. */
static void go_to_first_wash(void)
{
	const struct wet_recipe *r = &wet_shelf_find(shelf, "direct-positive-fibre-tank")->recipe;
	start(r);
	act(WET_ACT_BEGIN, 0);
	for (int i = 0; i < 100 && r->stages[run.pos.stage].kind != WET_STAGE_WASH; i++) {
		now += 3 * S;
		act(WET_ACT_GO, 0);
	}
	cr_assert_eq(r->stages[run.pos.stage].kind, WET_STAGE_WASH);
	cr_assert_eq(view(&run).phase, WET_PHASE_EARLY);
}

Test(join, the_row_of_the_table)
{
	static const enum wet_cell row[WET_PHASE_N] = {
		[WET_PHASE_READY] = WET_CELL_REFUSE, [WET_PHASE_HANDLING] = WET_CELL_REFUSE,
		[WET_PHASE_WAITING] = WET_CELL_DO,   [WET_PHASE_POURING] = WET_CELL_DO,
		[WET_PHASE_EARLY] = WET_CELL_DO,     [WET_PHASE_BETWEEN] = WET_CELL_DO,
		[WET_PHASE_PAST] = WET_CELL_DO,      [WET_PHASE_INTERRUPTED] = WET_CELL_REFUSE,
		[WET_PHASE_ENDED] = WET_CELL_REFUSE,
	};
	for (int p = 0; p < WET_PHASE_N; p++)
		cr_expect_eq(wet_run_cell((enum wet_run_phase)p, WET_ACT_JOIN), row[p], "%s",
					 wet_run_phase_text((enum wet_run_phase)p));
	cr_expect_str_eq(wet_act_word(WET_ACT_JOIN), "join");
}

Test(join, a_joined_wash_begins_now_and_says_so)
{
	go_to_first_wash();
	int64_t first = view(&run).begin_ns;
	now += 100 * S;
	act(WET_ACT_JOIN, 2);
	cr_assert_str_eq(said.text, "Two more pieces joined: the first wash begins anew, 5:00.");
	cr_assert_eq(view(&run).begin_ns, first + 100 * S);
	cr_assert_eq(view(&run).aim_ns, first + 400 * S);
	now += 400 * S; /* past its aim */
	cr_assert_eq(view(&run).phase, WET_PHASE_PAST);
	act(WET_ACT_JOIN, 1);
	cr_assert_str_eq(said.text, "One more piece joined: the first wash begins anew, 5:00.");
	cr_assert_eq(view(&run).phase, WET_PHASE_EARLY);
	act(WET_ACT_JOIN, 0);
	cr_assert_str_eq(said.text, "The first wash begins anew, 5:00.");
	act(WET_ACT_JOIN, WET_PIECES + 1);
	cr_assert_eq(said.err, WET_ERR_RANGE);
}

Test(join, only_a_wash_is_joined)
{
	const struct wet_recipe *r = &wet_shelf_find(shelf, "direct-positive-fibre-tank")->recipe;
	start(r);
	act(WET_ACT_JOIN, 1);
	cr_assert_str_eq(said.text, "Begin first.");
	act(WET_ACT_BEGIN, 0);
	int refused = 0, done = 0;
	for (int i = 0; i < 100 && run.outcome == 0; i++) {
		const struct wet_stage *stage = &r->stages[run.pos.stage];
		act(WET_ACT_JOIN, 1);
		cr_assert_eq(said.kind == WET_ANSWER_DO, stage->kind == WET_STAGE_WASH, "%s: %s", stage->name,
					 said.text);
		refused += said.kind == WET_ANSWER_REFUSE;
		done += said.kind == WET_ANSWER_DO;
		if (stage->kind == WET_STAGE_AID)
			cr_assert_str_eq(said.text, "Only a wash can be joined, not the washing aid.");
		now += 3 * S;
		act(WET_ACT_GO, 0);
	}
	cr_assert_eq(done, 2);
	cr_assert_gt(refused, 5);
	act(WET_ACT_JOIN, 1);
	cr_assert_str_eq(said.text, "The run has ended.");
}

Test(join, a_wash_that_waits_is_not_begun_by_it)
{
	start(&wash);
	act(WET_ACT_BEGIN, 0);
	act(WET_ACT_JOIN, 3);
	cr_assert_str_eq(said.text, "Three more pieces joined: the wash begins with your press.");
	cr_assert_eq(view(&run).phase, WET_PHASE_WAITING);
	act(WET_ACT_UNDO, 0);
	cr_assert_str_eq(said.text, "Undone: join.");
	cr_assert_eq(view(&run).phase, WET_PHASE_WAITING);
	now += 3 * S;
	act(WET_ACT_GO, 0);
	cr_assert_str_eq(said.text, "Wash begins now. No beat now.");
}

Test(join, an_interrupted_wash_is_not_joined)
{
	go_to_first_wash();
	act(WET_ACT_EMERGENCY, 0);
	struct wet_view before = view(&run);
	act(WET_ACT_JOIN, 1);
	cr_assert_eq(said.err, WET_ERR_REFUSED);
	/* Nor by an event that got into the ledger all the same. */
	struct wet_event e = { .kind = WET_ACT_JOIN, .boot_ns = now + S, .bath = -1, .number = -1 };
	wet_run_fold(&run, &e);
	cr_assert_eq(view(&run).begin_ns, before.begin_ns);
}

/* As if it had never happened: the readings made since count as they would have. */
Test(join, undo_takes_back_the_join_and_keeps_what_was_read_since)
{
	go_to_first_wash();
	read_bath(&run, 12000);
	now += 40 * S;
	struct wet_run plain = run;
	act(WET_ACT_JOIN, 2);
	now += 20 * S;
	read_bath(&run, 6000);
	read_bath(&plain, 6000);
	cr_assert_neq(view(&run).aim_ns, view(&plain).aim_ns);
	now += 20 * S;
	act(WET_ACT_UNDO, 0);
	cr_assert_str_eq(said.text, "Undone: join.");
	cr_assert_eq(view(&run).begin_ns, view(&plain).begin_ns);
	cr_assert_eq(view(&run).least_ns, view(&plain).least_ns);
	cr_assert_eq(view(&run).aim_ns, view(&plain).aim_ns);
	act(WET_ACT_UNDO, 0);
	cr_assert_eq(said.err, WET_ERR_REFUSED, "nothing before the join can be taken back");
}

/* TM 11-2323, para. 33: half as fast at 50 F. Cold water is cold for who joins too. */
Test(join, who_joins_cold_water_washes_as_long_as_it_takes)
{
	go_to_first_wash();
	read_bath(&run, 10000);
	now += 60 * S;
	act(WET_ACT_JOIN, 1);
	cr_assert_str_eq(said.text, "One more piece joined: the first wash begins anew, 10:00.");
	cr_assert_eq(view(&run).aim_ns - view(&run).begin_ns, 600 * S);
}

static int waters(int64_t from, int64_t *at, char (*text)[WET_LINE_BYTES])
{
	struct wet_cue cue;
	int count = 0;
	while (wet_cue_next(&run, from, &cue) && cue.at_boot_ns < now + 4000 * S) {
		from = cue.at_boot_ns;
		cr_assert_neq(cue.kind, WET_CUE_BEAT, "a wash has no beat");
		if (cue.kind != WET_CUE_WATER)
			continue;
		cr_assert_lt(count, 8);
		at[count] = cue.at_run_ns;
		memcpy(text[count++], cue.text, WET_LINE_BYTES);
	}
	return count;
}

Test(join, each_change_of_water_is_told_and_begins_anew_with_the_wash)
{
	static const char *const texts[] = { "Change the water: second of six.",
										 "Change the water: third of six.",
										 "Change the water: fourth of six.",
										 "Change the water: fifth of six.",
										 "Change the water: sixth of six." };
	int64_t at[8];
	char text[8][WET_LINE_BYTES];
	start(&wash);
	act(WET_ACT_BEGIN, 0);
	act(WET_ACT_GO, 0);
	for (int round = 0; round < 2; round++) {
		int64_t begin = view(&run).begin_ns;
		cr_assert_eq(waters(now, at, text), 5);
		for (int i = 0; i < 5; i++) {
			cr_expect_eq(at[i], begin + 60 * S + i * 240 * S);
			cr_expect_str_eq(text[i], texts[i]);
		}
		now += 310 * S; /* in the third water */
		cr_assert_str_eq(view(&run).doing, "Wash: the third water of six.");
		act(WET_ACT_JOIN, 2);
		cr_assert_str_eq(
			said.text, "Two more pieces joined: the wash begins anew, 21:00. The water was planned for one.");
		cr_assert_str_eq(view(&run).doing, "Wash: the first water of six.");
	}
	now += 1270 * S;
	cr_assert_eq(waters(now, at, text), 0);
	cr_assert_eq(view(&run).phase, WET_PHASE_PAST);
	now += 100000 * S;
	cr_assert_eq(run.outcome, 0, "only a press ends it");
	act(WET_ACT_GO, 0);
	cr_assert_eq(run.outcome, 1);
}
