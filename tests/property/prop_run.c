/* prop_run.c: random vessels, readings and acts on the shipped recipes and on washes alone, against the laws of a run:
 * replaying the events gives the state that was seen live; undo restores; no live bath without an end; no end in the past; a
 * double press skips nothing; every allowed cell of the table was met.  --seed S --count N */
#include "base/random.h"
#include "darkroom/wash.h"
#include "shelf/shelf.h"
#include "wetside/cues.h"
#include "prop_args.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL
#define EVENTS 200

static struct wet_random rnd;
static unsigned long long seed = 1;
static uint64_t met[WET_PHASE_N][WET_ACT_N], join_done[WET_PHASE_N];
static long count = 2000, this_case;

static void broken(const char *law)
{
	printf("broken: %s\nagain: prop_run --seed %llu --count %ld\n", law, (unsigned long long)seed,
		   this_case + 1);
	exit(1);
}

static void same_view(const struct wet_run *a, const struct wet_run *b, int64_t at, const char *law)
{
	struct wet_view x, y;
	wet_run_view(a, at, &x);
	wet_run_view(b, at, &y);
	if (x.phase != y.phase || x.stage != y.stage || x.aim_ns != y.aim_ns || x.least_ns != y.least_ns ||
		x.begin_ns != y.begin_ns || x.piece != y.piece || x.is_held != y.is_held || x.is_late != y.is_late ||
		strcmp(x.doing, y.doing) != 0)
		broken(law);
}

static void check_now(const struct wet_run *run, int64_t at)
{
	struct wet_view v;
	struct wet_cue cue;
	wet_run_view(run, at, &v);
	bool is_bath =
		v.phase != WET_PHASE_INTERRUPTED && v.phase >= WET_PHASE_POURING && v.phase <= WET_PHASE_PAST;
	if (is_bath && (v.aim_ns <= v.begin_ns || v.aim_ns > v.begin_ns + 4 * WET_STAGE_NS_MAX))
		broken("a live bath has an end");
	if (is_bath && !v.next_waits && v.aim_ns <= v.now_ns)
		broken("no end lies in the past while the clock leads");
	if (is_bath && v.least_ns > v.aim_ns)
		broken("least is no later than aim");
	if (wet_cue_next(run, at, &cue) && cue.at_boot_ns <= at)
		broken("the next cue is later");
}

/* A wash begins anew, nothing else does; as long as if it had been begun by a press, and no sooner done. */
static void check_join(const struct wet_run *run, const struct wet_run *joined, const struct wet_view *v,
					   const struct wet_view *after)
{
	const struct wet_stage *stage = &run->setup.recipe->stages[v->stage];
	if (stage->kind != WET_STAGE_WASH || !stage->in_washer)
		broken("only a wash is joined");
	if (after->stage != v->stage || after->begin_ns != v->now_ns || joined->pos.longer_ns != 0)
		broken("a joined wash begins now");
	if (joined->pos.is_held != run->pos.is_held)
		broken("a join holds nothing and lets nothing go");
	if (v->phase == WET_PHASE_WAITING ? after->phase != WET_PHASE_WAITING : after->phase != WET_PHASE_EARLY)
		broken("a join begins no stage and ends none");
	if (v->phase != WET_PHASE_WAITING && stage->law.kind == WET_LAW_NONE &&
		after->aim_ns - after->begin_ns != stage->aim_ns)
		broken("a joined wash is as long as any");
}

static struct wet_event random_event(const struct wet_recipe *recipe, int64_t at)
{
	static const int wide[] = { WET_ACT_BEGIN, WET_ACT_GO,      WET_ACT_GO,      WET_ACT_GO,    WET_ACT_GO,
								WET_ACT_LONGER, WET_ACT_HOLD,    WET_ACT_UNDO,    WET_ACT_READING, WET_ACT_READING,
								WET_ACT_WHERE, WET_ACT_EMERGENCY, WET_ACT_RESUME, WET_ACT_RESUME, WET_ACT_JOIN };
	struct wet_event e = { .bath = -1, .number = -1, .boot_ns = at };
	e.kind = wide[wet_random_below(&rnd, sizeof wide / sizeof wide[0])];
	if (wet_random_below(&rnd, 200) == 0)
		e.kind = WET_ACT_ABANDON;
	if (wet_random_below(&rnd, 6) == 0)
		e.flags |= WET_EVENT_HELD;
	e.a_ns = wet_random_between(&rnd, 1, 90) * S;
	if (e.kind == WET_ACT_JOIN)
		e.a_ns = wet_random_between(&rnd, 0, 3);
	e.bath = (int)wet_random_below(&rnd, (uint64_t)recipe->bath_count);
	e.temperature_mc = (int32_t)wet_random_between(&rnd, 12000, 28000);
	return e;
}

static void one_case(const struct wet_recipe *recipe)
{
	static struct wet_event events[EVENTS];
	int event_count = 0;
	struct wet_run run, replay, before;
	struct wet_presses presses = { .has_doubt = false };
	struct wet_run_setup setup = { .recipe = recipe,
								   .tolerance_mc = 500,
								   .rules_version = WET_RULES_VERSION };
	setup.pieces = (int)wet_random_between(&rnd, 1, 6);
	setup.vessel.kind = recipe->vessel_kind;
	setup.vessel.fill_ns = wet_random_between(&rnd, 2, 20) * S;
	setup.vessel.drain_ns = wet_random_between(&rnd, 2, 20) * S;
	setup.vessel.stagger_ns = recipe->vessel_kind == WET_VESSEL_TRAYS ? 5 * S : 0;
	setup.washer.kind = WET_VESSEL_WASHER;
	int64_t at = 5000 * S;
	wet_run_init(&run, &setup, at);
	replay = run;
	for (int i = 0; i < EVENTS && run.outcome == 0; i++) {
		struct wet_answer a;
		struct wet_view v, after;
		at += wet_random_below(&rnd, 3) == 0 ? wet_random_between(&rnd, 1, 3 * S)
											 : wet_random_between(&rnd, 1, 60) * S;
		struct wet_event e = random_event(recipe, at);
		wet_run_view(&run, at, &v);
		before = run;
		wet_run_try(&run, &presses, &e, &a);
		if (memcmp(&before, &run, sizeof run) != 0)
			broken("deciding changes nothing");
		met[v.phase][e.kind]++;
		if (a.kind == WET_ANSWER_DO && wet_run_cell(v.phase, (enum wet_act_kind)e.kind) == WET_CELL_REFUSE)
			broken("the table says refuse");
		if (a.kind != WET_ANSWER_DO && !a.text[0])
			broken("a refusal says why");
		if (a.kind == WET_ANSWER_DO && e.kind != WET_ACT_WHERE) {
			wet_run_fold(&run, &e);
			events[event_count++] = e;
			wet_run_view(&run, at, &after);
			if (e.kind == WET_ACT_GO && after.stage > v.stage + 1)
				broken("a press goes on by one stage at most");
			if (e.kind == WET_ACT_JOIN) {
				join_done[v.phase]++;
				check_join(&before, &run, &v, &after);
			}
			if (e.kind == WET_ACT_GO) { /* bounced */
				struct wet_event twice = e;
				struct wet_answer b;
				twice.boot_ns = at + 100000000;
				wet_run_try(&run, &presses, &twice, &b);
				if (b.kind == WET_ANSWER_DO && !(e.flags & WET_EVENT_HELD))
					broken("a double press skips nothing");
			}
			if ((e.kind == WET_ACT_LONGER || e.kind == WET_ACT_HOLD || e.kind == WET_ACT_GO ||
				 e.kind == WET_ACT_JOIN) &&
				v.phase != WET_PHASE_PAST) {
				struct wet_run undone = run;
				struct wet_event u = { .kind = WET_ACT_UNDO, .boot_ns = at, .bath = -1, .number = -1 };
				wet_run_fold(&undone, &u);
				same_view(&before, &undone, at, "undo restores");
			}
		}
		check_now(&run, at);
		if (wet_random_below(&rnd, 4) == 0)
			wet_run_advance(&run,
							at + wet_random_between(&rnd, 0, S)); /* looking ahead a little changes nothing */
	}
	for (int i = 0; i < event_count; i++)
		wet_run_fold(&replay, &events[i]);
	same_view(&run, &replay, at + S, "replay equals what was seen live");
}

static void random_wash(struct wet_recipe *ret_recipe)
{
	struct wet_wash_plan plan;
	struct wet_washing washing;
	struct wet_wash_ask ask = { .base = (enum wet_base)wet_random_below(&rnd, WET_BASE_N),
								.is_aided = wet_random_below(&rnd, 2) == 0,
								.temperature_mc = (int32_t)wet_random_between(&rnd, 4000, 30000),
								.area_mm2 = 65000,
								.water_ul = 5000000 };
	if (wet_wash_plan(&ask, &plan, NULL) != 0)
		broken("a usual wash has a plan");
	wet_washing_of(&ask, &plan, wet_random_below(&rnd, 2) == 0, &washing);
	wet_wash_recipe(&washing, ret_recipe);
	/* No recipe may say so, but the table has the cell: a wash that the clock begins, with a pouring window. */
	if (wet_random_below(&rnd, 2) == 0) {
		struct wet_stage *again = &ret_recipe->stages[ret_recipe->stage_count++];
		*again = again[-1];
		again->begin = WET_BEGIN_STRAIGHT_ON;
	}
}

int main(int argc, char **argv)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = {
		WET_SOURCE_DIR "/safety", NULL
	};
	struct wet_shelf *shelf;
	test_prop_args(argc, argv, &seed, &count);
	printf("seed %llu count %ld\n", seed, count);
	if (wet_shelf_open(&shelf, recipes, safety) != 0 || wet_shelf_count(shelf) < 2)
		return 2;
	wet_random_seed(&rnd, seed);
	for (this_case = 0; this_case < count; this_case++) {
		static struct wet_recipe wash;
		/* A third of the cases is a wash alone, however many recipes there are. */
		size_t which = wet_random_below(&rnd, 3) == 0 ? wet_shelf_count(shelf)
													  : wet_random_below(&rnd, wet_shelf_count(shelf));
		if (which == wet_shelf_count(shelf))
			random_wash(&wash);
		one_case(which == wet_shelf_count(shelf) ? &wash : &wet_shelf_at(shelf, which)->recipe);
	}
	int unmet = 0;
	for (int p = 0; p < WET_PHASE_ENDED && count >= 1000; p++)
		for (int a = 0; a < WET_ACT_N; a++)
			if (met[p][a] == 0) {
				printf("never met: %s in %s\n", wet_act_word(a), wet_run_phase_text((enum wet_run_phase)p));
				unmet++;
			}
	for (int p = 0; p < WET_PHASE_ENDED && count >= 1000; p++)
		if (wet_run_cell((enum wet_run_phase)p, WET_ACT_JOIN) == WET_CELL_DO && join_done[p] == 0) {
			printf("never joined: %s\n", wet_run_phase_text((enum wet_run_phase)p));
			unmet++;
		}
	wet_shelf_free(shelf);
	return unmet ? 1 : 0;
}
