/* test_darkroom.c: what the darkroom tells, on virtual time. */
#include "lib/room_fake.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL
#define HOUR (3600 * S)
#define TANK "direct-positive-fibre-tank"

static struct room_fake f;

static void arm_tank(void)
{
	struct wet_arming a = { .recipe_name = TANK,
							.person = "creek",
							.pieces = 1,
							.fill_ns = -1,
							.drain_ns = -1,
							.stagger_ns = -1,
							.room_mc = INT32_MIN };
	room_fake_arm(&f, &a);
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
}

static void after(int64_t ns)
{
	room_fake_go_to(&f, f.now_ns + ns);
}

static void press(int kind)
{
	room_fake_act(&f, kind, 0);
	cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
	after(3 * S);
}

/* To the first pour. */
static void load_tank(void)
{
	press(WET_ACT_BEGIN);
	while (f.live->run.pos.base == WET_PHASE_HANDLING)
		press(WET_ACT_GO);
}

/* Ends what is live by hand, until the run is over. */
static void hurry_to_the_end(void)
{
	for (int i = 0; i < 100 && !wet_live_is_over(f.live); i++) {
		room_fake_act(&f, WET_ACT_GO, WET_EVENT_HELD);
		after(3 * S);
	}
	cr_assert(wet_live_is_over(f.live));
	after(S);
}

static void open_room(void)
{
	room_fake_open(&f);
}

static void close_room(void)
{
	room_fake_close(&f);
}

TestSuite(darkroom, .init = open_room, .fini = close_room);

Test(darkroom, arming_says_that_nothing_keeps_the_machine_awake)
{
	arm_tank();
	cr_assert(strstr(f.told, "no login manager"), "%s", f.told);
	cr_assert(wet_darkroom_may_sleep(f.room));
}

Test(darkroom, arming_says_nothing_where_a_login_manager_answers)
{
	f.has_login_manager = true;
	arm_tank();
	cr_assert_null(strstr(f.told, "no login manager"));
	cr_assert_not(wet_darkroom_may_sleep(f.room));
}

Test(darkroom, a_missing_reading_is_told_once_a_run)
{
	arm_tank();
	load_tank();
	cr_assert_eq(room_fake_told(f.live, "no-reading"), 0);
	press(WET_ACT_GO);
	cr_assert_eq(room_fake_told(f.live, "no-reading"), 1);
	after(40 * S);
	cr_assert_eq(room_fake_told(f.live, "no-reading"), 1);
}

Test(darkroom, with_a_reading_nothing_is_told)
{
	arm_tank();
	room_fake_read(&f, 0, 20000);
	load_tank();
	press(WET_ACT_GO);
	after(40 * S);
	cr_assert_eq(room_fake_told(f.live, "no-reading"), 0);
	cr_assert_eq(room_fake_told(f.live, "out-of-range"), 0);
}

Test(darkroom, a_temperature_outside_the_law_is_told_once)
{
	arm_tank();
	room_fake_read(&f, 0, 20000);
	load_tank();
	press(WET_ACT_GO);
	room_fake_read(&f, 0, 9000);
	cr_assert_eq(f.answer.err, WET_ERR_REPEAT);
	after(3 * S);
	room_fake_read(&f, 0, 9000);
	cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
	after(S);
	cr_assert_eq(room_fake_told(f.live, "out-of-range"), 1);
	after(30 * S);
	cr_assert_eq(room_fake_told(f.live, "out-of-range"), 1);
}

Test(darkroom, a_cold_fix_is_told_at_its_reading_and_sounds_an_alarm)
{
	const struct wet_recipe *r;
	int fix = -1;
	arm_tank();
	r = f.live->run.setup.recipe;
	for (int i = 0; i < r->stage_count && fix < 0; i++)
		if (r->stages[i].kind == WET_STAGE_FIX)
			fix = i;
	cr_assert_geq(fix, 0);
	room_fake_read(&f, 0, 20000);
	room_fake_read(&f, r->stages[fix].bath, 20000);
	cr_assert_null(strstr(f.answer.text, "Warm it"));
	room_fake_read(&f, r->stages[fix].bath, -2000);
	after(3 * S);
	room_fake_read(&f, r->stages[fix].bath, -2000);
	cr_assert(strstr(f.answer.text, "Warm it"), "%s", f.answer.text);
	load_tank();
	for (int i = 0; i < 50 && f.live->run.pos.stage < fix; i++) {
		room_fake_act(&f, WET_ACT_GO, WET_EVENT_HELD);
		after(3 * S);
	}
	cr_assert_eq(f.live->run.pos.stage, fix);
	cr_assert_eq(room_fake_told(f.live, "too-cold"), 1);
}

Test(darkroom, a_finished_picture_dries_by_date_and_sounds_once)
{
	const struct wet_drying *list;
	arm_tank();
	load_tank();
	hurry_to_the_end();
	cr_assert_eq(wet_darkroom_drying(f.room, &list), 1);
	cr_assert_str_eq(list[0].name, "tank");
	int64_t dry_ns = f.live->run.setup.recipe->dry_least_ns;
	cr_assert_gt(dry_ns, 0);
	int before = f.heard_count;
	after(dry_ns - 60 * S);
	cr_assert_eq(f.heard_count, before);
	after(120 * S);
	cr_assert_eq(f.heard_count, before + 1);
	cr_assert_eq(f.heard[before].tone, WET_TONE_ATTEND);
	after(dry_ns + 100 * HOUR);
	cr_assert_eq(f.heard_count, before + 1);
	cr_assert_eq(wet_darkroom_drying(f.room, &list), 0);
}

Test(darkroom, drying_survives_a_restart_and_a_rehearsal_dries_nothing)
{
	const struct wet_drying *list;
	arm_tank();
	load_tank();
	hurry_to_the_end();
	cr_assert_eq(wet_darkroom_drying(f.room, &list), 1);
	int64_t due_ms = list[0].due_wall_ms;
	room_fake_restart(&f, 60 * S);
	cr_assert_eq(wet_darkroom_drying(f.room, &list), 1);
	cr_assert_leq(llabs(list[0].due_wall_ms - due_ms), 1000);
	cr_assert_not(list[0].is_told);
	struct wet_arming a = { .recipe_name = TANK,
							.pieces = 1,
							.fill_ns = -1,
							.drain_ns = -1,
							.stagger_ns = -1,
							.room_mc = INT32_MIN,
							.is_rehearsal = true };
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		a.rate_milli[i] = 100000;
	room_fake_arm(&f, &a);
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	after(600 * S);
	cr_assert(wet_live_is_over(f.live));
	cr_assert_eq(wet_darkroom_drying(f.room, &list), 1);
}

Test(darkroom, a_picture_of_a_clock_that_was_centuries_ahead_is_not_told_as_dry)
{
	int before;
	arm_tank();
	room_fake_read(&f, 0, 20000);
	/* As far ahead as makes the nanoseconds between then and now just too many: they would be taken for long ago. */
	int64_t wall_ms = f.wall_ms;
	f.wall_ms += INT64_MAX / 1000000 + 3600 * 1000;
	load_tank();
	hurry_to_the_end();
	f.wall_ms = wall_ms;
	room_fake_restart(&f, S);
	before = f.heard_count;
	after(S);
	cr_assert_eq(f.heard_count, before);
}

Test(darkroom, the_light_of_a_real_run_waits_for_no_rehearsal)
{
	struct wet_arming a = { .recipe_name = TANK, .pieces = 1, .fill_ns = -1, .drain_ns = -1, .stagger_ns = -1,
							.room_mc = INT32_MIN, .is_rehearsal = true, .is_mine = true };
	room_fake_arm(&f, &a);
	press(WET_ACT_BEGIN); /* stays in the dark of its first handling */
	arm_tank();
	load_tank();
	after(5 * S);
	cr_assert_eq(room_fake_told(f.live, "lights"), 1);
	for (int i = 0; i < WET_CUE_LOG; i++)
		cr_assert_null(strstr(f.live->log[i].text, "still needs the dark"), "%s", f.live->log[i].text);
}

/* -- arming while another arming is on its way to the disk ----------------------------------- */

static void count_armed(void *ctx, const struct wet_armed *armed, const struct wet_fault *fault)
{
	int *counts = ctx; /* armed, refused for the name */
	counts[0] += armed->live != NULL;
	counts[1] += fault->err == WET_ERR_EXISTS;
}

static void send_arming(const char *name, int *counts)
{
	struct wet_arming a = { .recipe_name = TANK, .person = "creek", .pieces = 1, .fill_ns = -1, .drain_ns = -1,
							.stagger_ns = -1, .room_mc = INT32_MIN };
	snprintf(a.run_name, sizeof a.run_name, "%s", name);
	wet_darkroom_arm(f.room, &a, count_armed, counts);
}

Test(darkroom, two_armings_at_once_never_make_two_runs_of_one_name)
{
	int counts[2] = { 0, 0 };
	arm_tank(); /* acknowledged; it is called tank */
	f.is_disk_slow = true;
	send_arming("creek", counts);
	send_arming("creek", counts);
	cr_assert_eq(counts[1], 1, "the second is refused at once");
	send_arming("", counts);
	send_arming("", counts);
	room_fake_disk(&f);
	cr_assert_eq(counts[0], 3);
	cr_assert_not_null(wet_darkroom_find(f.room, "tank-2"));
	cr_assert_not_null(wet_darkroom_find(f.room, "tank-3"));
	send_arming("creek", counts);
	cr_assert_eq(counts[1], 2);
	f.is_disk_slow = false;
}

/* -- longer and longer ------------------------------------------------------------------------- */

static void keep_answer(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored)
{
	(void)live;
	(void)is_stored;
	*(struct wet_answer *)ctx = *answer;
}

static struct wet_answer longer(int64_t by_ns)
{
	struct wet_answer answer = { 0 };
	struct wet_event event = {
		.kind = WET_ACT_LONGER, .flags = WET_EVENT_HELD, .a_ns = by_ns, .bath = -1, .number = -1
	};
	wet_darkroom_act(f.room, f.live, &event, keep_answer, &answer);
	return answer;
}

Test(darkroom, no_bath_becomes_longer_than_a_day)
{
	struct wet_view view;
	arm_tank();
	load_tank();
	press(WET_ACT_GO);
	cr_assert_eq(longer(23 * HOUR).kind, WET_ANSWER_DO);
	cr_assert_eq(longer(HOUR).err, WET_ERR_RANGE);
	cr_assert_eq(longer(30 * 60 * S).kind, WET_ANSWER_DO);
	wet_run_view(&f.live->run, f.now_ns, &view);
	cr_assert_leq(view.aim_ns - view.begin_ns, WET_STAGE_NS_MAX);
	cr_assert_geq(view.aim_ns - view.begin_ns, 23 * HOUR + 30 * 60 * S);
}

/* -- the emergency as something ends ------------------------------------------------------------- */

Test(darkroom, an_emergency_at_the_very_moment_a_run_ends_reaches_all_others)
{
	struct wet_arming rehearsal = { .recipe_name = TANK, .run_name = "ends", .pieces = 1, .fill_ns = -1, .drain_ns = -1,
									.stagger_ns = -1, .room_mc = INT32_MIN, .is_rehearsal = true };
	struct wet_live *others[3];
	struct wet_answer answer = { 0 };
	int64_t end_ns = 0;
	room_fake_arm(&f, &rehearsal);
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	struct wet_live *ends = f.live;
	while (ends->run.pos.stage + 1 < ends->run.setup.recipe->stage_count || ends->run.pos.base != WET_PHASE_EARLY)
		room_fake_go_to(&f, wet_darkroom_wake_ns(f.room));
	cr_assert(wet_run_deadline(&ends->run, &end_ns));
	room_fake_go_to(&f, end_ns - S);
	/* Behind it in the order of change as many that have ended as are kept: its own end lets go of the first of them. */
	for (int i = 0; i < 33; i++) {
		arm_tank();
		room_fake_act(&f, WET_ACT_ABANDON, WET_EVENT_HELD);
	}
	for (int i = 0; i < 3; i++) {
		arm_tank();
		others[i] = f.live;
	}
	f.now_ns = end_ns;
	wet_darkroom_emergency(f.room, 0, keep_answer, &answer);
	cr_assert_eq(answer.kind, WET_ANSWER_DO);
	for (int i = 0; i < 3; i++)
		cr_assert(others[i]->run.is_interrupted, "run %d", i);
}

Test(darkroom, where_says_how_long_it_still_takes)
{
	arm_tank();
	load_tank();
	press(WET_ACT_GO);
	after(27 * S); /* thirty seconds in */
	room_fake_act(&f, WET_ACT_WHERE, 0);
	cr_assert(strstr(f.answer.text, "30 seconds in; pour out in 1 minute 10 seconds."), "%s", f.answer.text);
}

Test(darkroom, a_reading_at_which_begin_will_be_refused_says_so)
{
	arm_tank();
	room_fake_read(&f, 0, 12000);
	cr_assert(strstr(f.answer.text, "Begin will be refused: Developer at 13 C or warmer"), "%s", f.answer.text);
	room_fake_act(&f, WET_ACT_BEGIN, 0);
	cr_assert_eq(f.answer.err, WET_ERR_POLICY);
	cr_assert(strstr(f.answer.text, "Not at 12 C: Developer"), "%s", f.answer.text);
	room_fake_read(&f, 0, 20000);
	cr_assert_null(strstr(f.answer.text, "refused"));
}
