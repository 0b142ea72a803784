/* Steps of the wall clock, on clocks that the test turns: what becomes an event, and that nothing moves by it. */
#include "darkroom/inside.h"

#include "base/text.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL
#define BOOT (1000 * S)
#define WALL 1700000000000LL /* any */
#define MS_PER_S 1000LL

static int64_t boot_ns, wall_ms, stands_still_ns; /* the last one: after the next look at the wall, once */
static struct wet_job *jobs, **jobs_tail;
static struct wet_darkroom *room;

static int64_t port_now(void *ctx)
{
	(void)ctx;
	return boot_ns;
}
static int64_t port_wall(void *ctx)
{
	(void)ctx;
	int64_t seen = wall_ms;
	boot_ns += stands_still_ns;
	wall_ms += stands_still_ns / 1000000;
	stands_still_ns = 0;
	return seen;
}
static const char *port_boot_id(void *ctx)
{
	(void)ctx;
	return "5ea5ea00-0000-4000-8000-000000000001";
}
static bool port_yes(void *ctx)
{
	(void)ctx;
	return true;
}
static uint64_t port_random(void *ctx)
{
	(void)ctx;
	return 4;
}
static void port_store(void *ctx, struct wet_job *job)
{
	(void)ctx;
	job->next = NULL;
	*jobs_tail = job;
	jobs_tail = &job->next;
}
static void port_cue_at(void *ctx, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips, uint32_t rate_milli)
{
	(void)ctx, (void)owner, (void)at_ns, (void)tone, (void)pips, (void)rate_milli;
}
static void port_cue_now(void *ctx, enum wet_tone tone, int pips)
{
	(void)ctx, (void)tone, (void)pips;
	cr_assert_fail("a step is no news for the ear");
}
static void port_cancel(void *ctx, uint64_t owner, int64_t from_ns)
{
	(void)ctx, (void)owner, (void)from_ns;
}
static void port_want(void *ctx, bool is_wanted)
{
	(void)ctx, (void)is_wanted;
}
static bool port_well(void *ctx, char *text, unsigned text_bytes)
{
	(void)ctx, (void)text, (void)text_bytes;
	return true;
}
static bool port_inhibit(void *ctx, bool is_wanted)
{
	(void)ctx, (void)is_wanted;
	return true;
}

static void set_up(void)
{
	struct wet_ports ports = {
		.now_ns = port_now, .wall_ms = port_wall, .boot_id = port_boot_id, .is_wall_trusted = port_yes, .random = port_random,
		.store = port_store, .cue_at = port_cue_at, .cue_now = port_cue_now, .cue_cancel = port_cancel,
		.sound_want = port_want, .sound_is_well = port_well, .inhibit = port_inhibit,
	};
	boot_ns = BOOT;
	wall_ms = WALL;
	jobs_tail = &jobs;
	cr_assert_eq(wet_darkroom_new(&room, &ports, NULL), WET_OK);
}

/* The ledger has them all: handed back as the worker does. */
static void store_all(void)
{
	struct wet_fault good = { .err = WET_OK };
	struct wet_job *job = jobs;
	jobs = NULL;
	jobs_tail = &jobs;
	for (struct wet_job *next; job; job = next) {
		next = job->next;
		job->done(job, &good);
	}
}

static void tear_down(void)
{
	store_all();
	wet_darkroom_free(room);
}

TestSuite(wall, .init = set_up, .fini = tear_down);

/* A run in its handling, begun now. */
static struct wet_live *add_run(int64_t id)
{
	struct wet_recipe recipe;
	wet_rehearsal_recipe(&recipe, WET_VESSEL_CLOSED_TANK);
	struct wet_frozen *frozen = frozen_hold(room, &recipe, "same");
	cr_assert_not_null(frozen);
	struct wet_live *live = live_add(room, id, frozen);
	cr_assert_not_null(live);
	struct wet_run_setup setup = { .recipe = &frozen->recipe, .pieces = 1, .rules_version = WET_RULES_VERSION };
	wet_text_copy(setup.room, sizeof setup.room, "darkroom");
	wet_run_init(&live->run, &setup, boot_ns);
	live->last_boot_ns = boot_ns;
	live->last_wall_ms = wall_ms;
	return live;
}

static void append(struct wet_live *live, int kind)
{
	struct wet_answer a = { .kind = WET_ANSWER_DO };
	struct wet_event e = { .kind = kind, .bath = -1, .number = -1 };
	stamp_event(room, live, &e, boot_ns);
	cr_assert_eq(live_append(room, live, &e, &a, NULL, NULL), WET_OK);
}

/* All clocks go on. */
static void pass(int64_t ns)
{
	boot_ns += ns;
	wall_ms += ns / 1000000;
}

static int event_count(void)
{
	int n = 0;
	for (const struct wet_job *j = jobs; j; j = j->next)
		n++;
	return n;
}

static const struct writing *event_at(int i)
{
	const struct wet_job *j = jobs;
	while (i-- > 0 && j)
		j = j->next;
	cr_assert_not_null(j);
	return j->ctx;
}

Test(wall, each_live_run_is_told_by_how_much_and_nothing_moves)
{
	static const int64_t steps_s[] = { 3600, -3600, 2, -2, 86400 * 365 };
	struct wet_live *a = add_run(1), *b = add_run(2), *over = add_run(3);
	append(a, WET_ACT_BEGIN);
	append(over, WET_ACT_ABANDON);
	store_all();
	for (size_t i = 0; i < sizeof steps_s / sizeof steps_s[0]; i++) {
		struct wet_view before, after;
		int64_t change = wet_darkroom_change_seq(room);
		pass(7 * S);
		wet_run_view(&a->run, boot_ns, &before);
		wall_ms += steps_s[i] * MS_PER_S;
		wet_darkroom_wall_changed(room);
		wet_darkroom_wall_changed(room); /* told twice: written once */
		cr_assert_eq(event_count(), 2);
		for (int n = 0; n < 2; n++) {
			const struct wet_event *e = &event_at(n)->event;
			cr_assert_eq(e->kind, WET_EVENT_CLOCK);
			cr_assert_eq(e->a_ns, steps_s[i] * S);
			cr_assert_eq(e->boot_ns, boot_ns);
			cr_assert_eq(e->wall_ms, wall_ms);
			cr_assert_str_eq(e->boot_id, port_boot_id(NULL));
			cr_assert(event_at(n)->live == (n == 0 ? a : b), "the one that changed longest ago first");
			cr_assert_eq(event_at(n)->seq, event_at(n)->live->seq);
		}
		cr_assert_eq(wet_darkroom_change_seq(room), change + 2, "followers learn the new time of day");
		wet_run_view(&a->run, boot_ns, &after);
		cr_assert_eq(memcmp(&before, &after, sizeof before), 0);
		store_all();
	}
	cr_assert_eq(over->seq, 1);
	cr_assert_eq(b->seq, 5);
}

Test(wall, little_is_no_step_until_it_adds_up_since_the_last_event)
{
	struct wet_live *live = add_run(1);
	for (int i = 0; i < 2; i++) {
		int64_t sign = i == 0 ? 1 : -1;
		wall_ms += sign * 1999;
		wet_darkroom_wall_changed(room);
		cr_assert_eq(event_count(), 0);
		append(live, WET_ACT_GO);
		cr_assert_eq(event_count(), 1);
		wall_ms += sign * 1500;
		wet_darkroom_wall_changed(room);
		cr_assert_eq(event_count(), 1, "counted from the last event");
		wall_ms += sign * 500;
		wet_darkroom_wall_changed(room);
		cr_assert_eq(event_count(), 2);
		cr_assert_eq(event_at(1)->event.a_ns, sign * 2 * S);
		store_all();
	}
}

/* Boot time goes on through suspend (clock_gettime(2), CLOCK_BOOTTIME), so both went on together. */
Test(wall, a_suspended_machine_has_not_been_set)
{
	(void)add_run(1);
	pass(8 * 3600 * S);
	wet_darkroom_wall_changed(room);
	cr_assert_eq(event_count(), 0);
}

Test(wall, a_process_that_stands_still_between_two_looks_sees_no_step)
{
	struct wet_live *live = add_run(1);
	stands_still_ns = 60 * S;
	wet_darkroom_wall_changed(room);
	cr_assert_eq(event_count(), 0);
	stands_still_ns = 60 * S;
	int64_t at_ns = boot_ns, at_ms = wall_ms;
	append(live, WET_ACT_GO);
	cr_assert_eq(event_count(), 1);
	cr_assert_eq(event_at(0)->event.boot_ns, at_ns);
	cr_assert_eq(event_at(0)->event.wall_ms, at_ms, "the wall's time of that moment, not of a minute later");
}

Test(wall, an_act_that_is_faster_than_the_news_stands_behind_the_step)
{
	struct wet_live *live = add_run(1);
	wall_ms -= 3600 * MS_PER_S;
	append(live, WET_ACT_GO);
	cr_assert_eq(event_count(), 2);
	cr_assert_eq(event_at(0)->event.kind, WET_EVENT_CLOCK);
	cr_assert_eq(event_at(0)->event.a_ns, -3600 * S);
	cr_assert_eq(event_at(1)->event.kind, WET_ACT_GO);
	cr_assert_eq(event_at(1)->seq, 2);
	wet_darkroom_wall_changed(room);
	cr_assert_eq(event_count(), 2, "the news is old");
}

Test(wall, a_damaged_time_is_a_step_like_any_other)
{
	static const int64_t seen[] = { INT64_MIN, INT64_MAX, INT64_MIN / 2, INT64_MAX / 1000000, INT64_MIN / 1000000 };
	for (size_t i = 0; i < sizeof seen / sizeof seen[0]; i++) {
		struct wet_live *live = add_run((int64_t)i + 1);
		live->last_wall_ms = seen[i];
		append(live, WET_ACT_GO);
		cr_assert_eq(event_count(), 2);
		cr_assert_eq(event_at(0)->event.a_ns < 0, seen[i] > 0);
		store_all();
	}
	cr_assert_eq(wall_apart_ns(WALL, WALL + 5), 5000000);
	cr_assert_eq(wall_apart_ns(WALL, WALL - 5), -5000000);
	cr_assert_eq(wall_apart_ns(INT64_MIN, INT64_MAX), INT64_MAX / 4);
	cr_assert_eq(wall_apart_ns(INT64_MAX, INT64_MIN), INT64_MIN / 4);
}

Test(wall, two_programs_that_fight_over_the_clock_do_not_fill_the_ledger)
{
	struct wet_live *live = add_run(1);
	live->seq = WET_RUN_EVENTS - 1;
	for (int i = 0; i < 5; i++) {
		wall_ms += i % 2 ? 3600 * MS_PER_S : -3600 * MS_PER_S;
		wet_darkroom_wall_changed(room);
	}
	cr_assert_eq(event_count(), 1);
	append(live, WET_ACT_GO);
	cr_assert_eq(event_count(), 2, "acts still count");
}

Test(wall, what_a_run_says_as_it_comes_back_waits_for_the_worker_in_order)
{
	struct wet_live *live = add_run(1);
	room->is_loading = true;
	append(live, WET_ACT_GO);
	append(live, WET_ACT_EMERGENCY);
	cr_assert_eq(event_count(), 0);
	room->is_loading = false;
	(void)wet_darkroom_turn(room);
	cr_assert_eq(event_count(), 2);
	cr_assert_eq(event_at(0)->seq, 1);
	cr_assert_eq(event_at(1)->seq, 2);
	(void)wet_darkroom_turn(room);
	cr_assert_eq(event_count(), 2);
}
