/* test_press.c: what a foot switch does in each state of a run: begin, go, held, and refused with a sound. */
#include "darkroom/inputs.h"

#include "lib/room_fake.h"

#include <criterion/criterion.h>
#include <string.h>

#define S 1000000000LL
#define TANK "direct-positive-fibre-tank"

static struct room_fake f;

static void arm(const char *run)
{
	struct wet_arming a = { .recipe_name = TANK, .room = "darkroom", .pieces = 2, .fill_ns = -1, .drain_ns = -1,
							.stagger_ns = -1, .room_mc = INT32_MIN };
	strncat(a.run_name, run, sizeof a.run_name - 1);
	room_fake_arm(&f, &a);
	cr_assert_eq(f.fault.err, 0, "%s", f.fault.want);
}

static void setup(void)
{
	room_fake_open(&f);
}

static void teardown(void)
{
	room_fake_close(&f);
}

static enum wet_tone last_tone(void)
{
	cr_assert_gt(f.heard_count, 0);
	return f.heard[f.heard_count - 1].tone;
}

/* A press at its moment; true if it was refused or ignored, with the sound of that. */
static bool press_is_refused(int64_t after_ns, const char *run)
{
	room_fake_go_to(&f, f.now_ns + after_ns);
	int before = f.heard_count;
	wet_darkroom_press(f.room, run);
	cr_assert_gt(f.heard_count, before, "every press sounds");
	return last_tone() == WET_TONE_REFUSED;
}

static enum wet_run_phase phase(void)
{
	struct wet_view v;
	wet_run_view(&f.live->run, f.now_ns, &v);
	return v.phase;
}

/* Into the developer: begin, two cameras, the lid, the pour. */
static void into_developer(void)
{
	for (int i = 0; i < 5; i++)
		cr_assert_not(press_is_refused(3 * S, ""));
	cr_assert_eq(f.live->run.setup.recipe->stages[f.live->run.pos.stage].kind, WET_STAGE_DEVELOP);
}

Test(press, no_run_is_refused_with_a_sound, .init = setup, .fini = teardown)
{
	cr_expect(press_is_refused(0, ""));
	cr_expect(press_is_refused(3 * S, "creek"));
}

Test(press, begins_only_after_the_sound_check, .init = setup, .fini = teardown)
{
	arm("creek");
	f.live->digit = 3;
	cr_expect(press_is_refused(3 * S, ""));
	cr_expect_eq(phase(), WET_PHASE_READY);
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_darkroom_heard(f.room, f.live, 3, &fault), 0);
	cr_expect_not(press_is_refused(3 * S, ""));
	cr_expect_eq(phase(), WET_PHASE_HANDLING);
	/* A bounce of begin, or the foot beside the hand that pressed it, is no first piece. */
	cr_expect(press_is_refused(S, ""));
	cr_expect_eq(f.live->run.pos.piece, 0);
	cr_expect_not(press_is_refused(S, ""));
	cr_expect_eq(f.live->run.pos.piece, 1);
}

Test(press, held_is_three_within_two_seconds, .init = setup, .fini = teardown)
{
	arm("creek");
	into_developer();
	cr_expect(press_is_refused(1 * S, ""), "a second go so soon");
	room_fake_go_to(&f, f.now_ns + 60 * S);
	cr_expect_eq(phase(), WET_PHASE_EARLY);
	cr_expect(press_is_refused(0, ""), "before the least");
	cr_expect(press_is_refused(5 * S, ""));
	cr_expect(press_is_refused(700000000, ""));
	cr_expect_not(press_is_refused(700000000, ""), "held");
	cr_expect_neq(f.live->run.setup.recipe->stages[f.live->run.pos.stage].kind, WET_STAGE_DEVELOP);
}

Test(press, interrupted_is_refused_until_resumed, .init = setup, .fini = teardown)
{
	arm("creek");
	into_developer();
	room_fake_go_to(&f, f.now_ns + 10 * S);
	room_fake_act(&f, WET_ACT_EMERGENCY, 0);
	cr_expect(press_is_refused(3 * S, ""));
	cr_expect_eq(phase(), WET_PHASE_INTERRUPTED);
	room_fake_act(&f, WET_ACT_RESUME, 0);
	cr_expect_neq(phase(), WET_PHASE_INTERRUPTED);
}

Test(press, interrupted_before_begin_is_no_begin, .init = setup, .fini = teardown)
{
	arm("creek");
	room_fake_act(&f, WET_ACT_EMERGENCY, 0);
	cr_expect(press_is_refused(3 * S, ""));
	cr_expect_eq(phase(), WET_PHASE_INTERRUPTED);
}

Test(press, one_a_tank, .init = setup, .fini = teardown)
{
	arm("left");
	struct wet_live *left = f.live;
	arm("right");
	cr_expect(press_is_refused(3 * S, ""), "which?");
	cr_expect_not(press_is_refused(3 * S, "left"));
	cr_expect_eq(left->run.pos.base, WET_PHASE_HANDLING);
	cr_expect_eq(f.live->run.pos.base, WET_PHASE_READY);
	/* The two seconds are each tank's own. */
	cr_expect_not(press_is_refused(100000000, "right"));
	cr_expect_eq(f.live->run.pos.base, WET_PHASE_HANDLING);
	cr_expect(press_is_refused(3 * S, "middle"));
}

static int tell(const char *run)
{
	const struct wet_input_place place = { .run = run, .bath = "", .room = "" };
	return wet_darkroom_tell_input(f.room, &place, "switch", "Gone.");
}

Test(press, trouble_is_told_to_whom_it_concerns, .init = setup, .fini = teardown)
{
	arm("left");
	struct wet_live *left = f.live;
	arm("right");
	cr_expect_eq(tell("left"), 1);
	cr_expect_eq(room_fake_told(left, "switch"), 1);
	cr_expect_eq(room_fake_told(f.live, "switch"), 0);
	cr_expect_eq(tell(""), 2);
	cr_expect_eq(tell("none"), 0);
	cr_expect_eq(last_tone(), WET_TONE_ALARM);
}
