/* test_probed.c: what a probe's values do to runs: stored by steps, silent, never an end moved at once by much. */
#include "darkroom/inputs.h"

#include "lib/room_fake.h"

#include <criterion/criterion.h>
#include <string.h>

#define S 1000000000LL
#define TANK "direct-positive-fibre-tank"

static struct room_fake f;
static struct wet_presses doubt;
static const struct wet_input_place developer = { .run = "", .bath = "developer", .room = "" };
static const struct wet_input_place room = { .run = "", .bath = "", .room = "darkroom" };

static void arm(const char *run)
{
	struct wet_arming a = { .recipe_name = TANK, .room = "darkroom", .pieces = 1, .fill_ns = -1, .drain_ns = -1,
							.stagger_ns = -1, .room_mc = INT32_MIN };
	strncat(a.run_name, run, sizeof a.run_name - 1);
	room_fake_arm(&f, &a);
	cr_assert_eq(f.fault.err, 0, "%s", f.fault.want);
}

static void setup(void)
{
	room_fake_open(&f);
	arm("creek");
}

static void teardown(void)
{
	room_fake_close(&f);
}

/* A value so much later; how many events of the run it became. */
static int64_t probed(int64_t after_ns, int32_t mc)
{
	room_fake_go_to(&f, f.now_ns + after_ns);
	int64_t before = f.live->seq;
	(void)wet_darkroom_probed(f.room, &developer, mc, &doubt);
	return f.live->seq - before;
}

static void into_developer(void)
{
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	for (int i = 0; i < 3; i++) {
		room_fake_go_to(&f, f.now_ns + 3 * S);
		room_fake_act(&f, WET_ACT_GO, 0);
		cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
	}
	cr_assert_eq(f.live->run.setup.recipe->stages[f.live->run.pos.stage].kind, WET_STAGE_DEVELOP);
}

static struct wet_view view(void)
{
	struct wet_view v;
	wet_run_view(&f.live->run, f.now_ns, &v);
	return v;
}

Test(probed, a_bath_that_waits_is_stored_by_steps, .init = setup, .fini = teardown)
{
	cr_expect_eq(probed(10 * S, 20000), 1);
	cr_expect_eq(probed(10 * S, 20250), 0);
	cr_expect_eq(probed(10 * S, 20300), 1);
	cr_expect_eq(probed(60 * S, 20300), 0);
	cr_expect_eq(probed(540 * S, 20300), 1, "ten minutes");
	int heard = f.heard_count;
	cr_expect_eq(probed(10 * S, 19900), 1);
	cr_expect_eq(f.heard_count, heard, "nothing is sounded");
	/* The person's own reading counts as well. */
	room_fake_read(&f, 0, 19700);
	cr_expect_eq(probed(10 * S, 19800), 0);
}

Test(probed, the_live_bath_is_stored_by_smaller_ones, .init = setup, .fini = teardown)
{
	cr_expect_eq(probed(10 * S, 20000), 1);
	into_developer();
	int heard = f.heard_count;
	cr_expect_eq(probed(1 * S, 20050), 0);
	cr_expect_eq(probed(1 * S, 20100), 1);
	cr_expect_eq(probed(1 * S, 20000), 1);
	int64_t aim = view().aim_ns;
	cr_expect_eq(probed(1 * S, 19500), 1);
	cr_expect_gt(view().aim_ns, aim);
	cr_expect_eq(f.heard_count, heard, "a small step is not said");
	cr_expect_eq(room_fake_told(f.live, "probe"), 0);
	cr_expect_eq(view().temperature_mc, 19500);
}

Test(probed, an_end_that_moves_by_much_waits_for_the_repetition, .init = setup, .fini = teardown)
{
	cr_expect_eq(probed(10 * S, 20000), 1);
	into_developer();
	room_fake_go_to(&f, f.now_ns + 5 * S);
	int64_t aim = view().aim_ns;
	cr_expect(wet_darkroom_probed(f.room, &developer, 16000, &doubt), "asked again soon");
	cr_expect_eq(view().aim_ns, aim);
	cr_expect_eq(room_fake_told(f.live, "refused"), 0, "nobody is asked");
	cr_expect_eq(probed(5 * S, 16100), 1);
	cr_expect_gt(view().aim_ns, aim + 12 * S);
	cr_expect_eq(room_fake_told(f.live, "probe"), 1, "and that is said");
	/* Not repeated in time is not repeated. */
	aim = view().aim_ns;
	cr_expect_eq(probed(5 * S, 20000), 0);
	cr_expect_eq(probed(31 * S, 20000), 0);
	cr_expect_eq(probed(5 * S, 20000), 1);
}

/* A person's doubted reading is not confirmed by the probe, nor the probe's by the person. */
Test(probed, doubts_are_kept_apart, .init = setup, .fini = teardown)
{
	cr_expect_eq(probed(10 * S, 20000), 1);
	into_developer();
	room_fake_read(&f, 0, 16000);
	cr_expect_eq(f.answer.err, WET_ERR_REPEAT);
	cr_expect_eq(probed(5 * S, 16000), 0);
	room_fake_read(&f, 0, 15000);
	cr_expect_eq(f.answer.err, WET_ERR_REPEAT);
	cr_expect_eq(probed(5 * S, 16000), 1);
}

Test(probed, several_runs, .init = setup, .fini = teardown)
{
	struct wet_live *creek = f.live;
	arm("lake");
	cr_expect_eq(probed(10 * S, 20000), 1);
	cr_expect_eq(creek->run.before_mc[0], 20000, "of every run that has the bath");
	const struct wet_input_place lake = { .run = "lake", .bath = "developer", .room = "" };
	(void)wet_darkroom_probed(f.room, &lake, 21000, &doubt);
	cr_expect_eq(creek->run.before_mc[0], 20000);
	cr_expect_eq(f.live->run.before_mc[0], 21000);
	/* Two runs in the bath: one's doubt at this moment is no repetition for the other. */
	into_developer();
	struct wet_live *other = f.live;
	f.live = creek;
	into_developer();
	(void)wet_darkroom_probed(f.room, &developer, 20500, &doubt);
	int64_t seq = creek->seq + other->seq;
	cr_expect(wet_darkroom_probed(f.room, &developer, 15000, &doubt));
	cr_expect_eq(creek->seq + other->seq, seq);
	room_fake_go_to(&f, f.now_ns + 5 * S);
	cr_expect_not(wet_darkroom_probed(f.room, &developer, 15000, &doubt));
	cr_expect_eq(creek->seq + other->seq, seq + 2);
}

Test(probed, the_room, .init = setup, .fini = teardown)
{
	(void)wet_darkroom_probed(f.room, &room, 12000, &doubt);
	cr_expect_eq(f.live->run.room_mc, 12000);
	int64_t seq = f.live->seq;
	room_fake_go_to(&f, f.now_ns + 3600 * S);
	(void)wet_darkroom_probed(f.room, &room, 12200, &doubt);
	cr_expect_eq(f.live->seq, seq);
	const struct wet_input_place elsewhere = { .run = "", .bath = "", .room = "school" };
	cr_expect_not(wet_darkroom_needs_probe(f.room, &elsewhere));
	(void)wet_darkroom_probed(f.room, &elsewhere, 30000, &doubt);
	cr_expect_eq(f.live->run.room_mc, 12000);
}

Test(probed, read_only_while_it_is_needed, .init = setup, .fini = teardown)
{
	const struct wet_input_place fixer = { .run = "", .bath = "fixer-1", .room = "" };
	const struct wet_input_place none = { .run = "", .bath = "no such bath", .room = "" };
	const struct wet_input_place by_name = { .run = "", .bath = f.live->run.setup.recipe->baths[0].name, .room = "" };
	cr_expect(wet_darkroom_needs_probe(f.room, &developer));
	cr_expect(wet_darkroom_needs_probe(f.room, &by_name));
	cr_expect(wet_darkroom_needs_probe(f.room, &room));
	cr_expect_not(wet_darkroom_needs_probe(f.room, &none));
	(void)fixer;
	into_developer();
	cr_expect(wet_darkroom_needs_probe(f.room, &developer));
	room_fake_go_to(&f, view().aim_boot_ns + S);
	cr_expect_not(wet_darkroom_needs_probe(f.room, &developer), "the developer is behind");
	room_fake_act(&f, WET_ACT_ABANDON, WET_EVENT_HELD);
	room_fake_go_to(&f, f.now_ns + S);
	cr_expect_not(wet_darkroom_needs_probe(f.room, &room));
	struct wet_arming a = { .recipe_name = TANK, .room = "darkroom", .pieces = 1, .fill_ns = -1, .drain_ns = -1,
							.stagger_ns = -1, .room_mc = INT32_MIN, .is_rehearsal = true };
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		a.rate_milli[i] = 1000;
	room_fake_arm(&f, &a);
	cr_assert_eq(f.fault.err, 0);
	cr_expect_not(wet_darkroom_needs_probe(f.room, &developer), "a rehearsal has no baths");
	cr_expect_not(wet_darkroom_needs_probe(f.room, &room));
}

/* A run that is armed for days leaves room for acts. */
Test(probed, the_ledger_does_not_fill, .init = setup, .fini = teardown)
{
	for (int i = 0; i < WET_RUN_EVENTS; i++)
		(void)probed(10 * S, i % 2 ? 20000 : 20400);
	cr_expect_leq(f.live->seq, WET_RUN_EVENTS / 2);
	room_fake_read(&f, 0, 20700);
	cr_expect_eq(f.answer.kind, WET_ANSWER_DO);
}

/* The daemon dies: what it had of probes is in the ledger. */
Test(probed, state_is_what_is_stored, .init = setup, .fini = teardown)
{
	cr_expect_eq(probed(10 * S, 20000), 1);
	into_developer();
	cr_expect_eq(probed(10 * S, 19400), 1);
	int64_t aim = view().aim_ns;
	int32_t known = f.live->run.before_mc[0];
	room_fake_restart(&f, S);
	f.live = wet_darkroom_newest(f.room);
	cr_assert_not_null(f.live);
	cr_expect_eq(view().aim_ns, aim);
	cr_expect_eq(f.live->run.before_mc[0], known);
}
