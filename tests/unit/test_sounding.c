/* When the sound device is open: the darkroom on simulated time with fake ports, the shipped recipe and a real ledger.
 * The rule is design 3's: open while a bath is live, closed when the next cue is over five minutes away, open again two
 * seconds ahead. */
#include "darkroom/darkroom.h"
#include "ledger/ledger.h"
#include "shelf/shelf.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define NS_PER_S 1000000000LL
#define AHEAD_NS (2 * NS_PER_S)
#define FAR_NS (300 * NS_PER_S)
#define ORIGIN_NS (1000 * NS_PER_S)

struct fake {
	struct wet_darkroom *darkroom;
	struct wet_ledger *ledger;
	struct wet_shelf *shelf;
	struct wet_live *live;
	struct wet_job *head, **tail;
	int64_t now_ns, wake_ns;
	bool is_open;
	int64_t opened_ns, closed_ns; /* when last */
	int openings, turns, cues;
	int64_t acted_ns, cue_ns;
	int64_t open_from_ns; /* of the last cue: since when the device was open for it */
	char folder[64], path[96];
};

static int64_t fake_now(void *ctx)
{
	return ((struct fake *)ctx)->now_ns;
}

static int64_t fake_wall(void *ctx)
{
	return 1700000000000 + ((struct fake *)ctx)->now_ns / 1000000;
}

static const char *fake_boot_id(void *ctx)
{
	(void)ctx;
	return "11111111-2222-3333-4444-555555555555";
}

static bool fake_trusted(void *ctx)
{
	(void)ctx;
	return true;
}

static uint64_t fake_random(void *ctx)
{
	(void)ctx;
	return 1;
}

static void fake_store(void *ctx, struct wet_job *job)
{
	struct fake *f = ctx;

	job->next = NULL;
	*f->tail = job;
	f->tail = &job->next;
}

static void work_off(struct fake *f)
{
	while (f->head) {
		struct wet_job *job = f->head;
		struct wet_fault fault = { 0 };

		f->head = job->next;
		if (!f->head)
			f->tail = &f->head;
		if (job->work(job, f->ledger, &fault) == WET_OK)
			fault.err = WET_OK;
		job->done(job, &fault);
	}
}

/* Every cue, wherever it comes from: the device was open two seconds before it, or since the act that brought it. */
static void fake_cue_at(void *ctx, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips, uint32_t rate)
{
	struct fake *f = ctx;

	(void)owner, (void)tone, (void)pips, (void)rate;
	f->cues++;
	f->cue_ns = at_ns;
	f->open_from_ns = f->opened_ns;
	cr_assert(f->is_open, "a cue %lld ms after the start on a closed device",
			  (long long)((at_ns - ORIGIN_NS) / 1000000));
	int64_t latest_ns = f->acted_ns > at_ns - AHEAD_NS ? f->acted_ns : at_ns - AHEAD_NS;
	cr_assert_leq(f->opened_ns, latest_ns, "opened %lld ms before its cue",
				  (long long)((at_ns - f->opened_ns) / 1000000));
}

static void fake_cue_now(void *ctx, enum wet_tone tone, int pips)
{
	(void)ctx, (void)tone, (void)pips;
}

static void fake_cancel(void *ctx, uint64_t owner, int64_t from_ns)
{
	(void)ctx, (void)owner, (void)from_ns;
}

static void fake_want(void *ctx, bool is_wanted)
{
	struct fake *f = ctx;

	cr_assert_neq(f->is_open, is_wanted, "told again what it knows");
	f->is_open = is_wanted;
	if (is_wanted) {
		f->opened_ns = f->now_ns;
		f->openings++;
	} else {
		f->closed_ns = f->now_ns;
	}
}

static bool fake_well(void *ctx, char *text, unsigned text_bytes)
{
	(void)ctx;
	if (text_bytes > 0)
		text[0] = '\0';
	return true;
}

static bool fake_inhibit(void *ctx, bool is_wanted)
{
	(void)ctx, (void)is_wanted;
	return true;
}

static void open_fake(struct fake *f)
{
	const char *recipes[] = { WET_SOURCE_DIR "/recipes", NULL },
			   *safety[] = { WET_SOURCE_DIR "/safety", NULL };
	struct wet_fault fault = { 0 };

	*f = (struct fake){ .now_ns = ORIGIN_NS, .folder = "/tmp/wet-sounding-XXXXXX" };
	f->tail = &f->head;
	cr_assert_not_null(mkdtemp(f->folder));
	snprintf(f->path, sizeof f->path, "%s/ledger", f->folder);
	cr_assert_eq(wet_ledger_open(&f->ledger, f->path, &fault), 0);
	cr_assert_eq(wet_shelf_open(&f->shelf, recipes, safety), 0);
	struct wet_ports ports = {
		.ctx = f,
		.now_ns = fake_now,
		.wall_ms = fake_wall,
		.boot_id = fake_boot_id,
		.is_wall_trusted = fake_trusted,
		.random = fake_random,
		.store = fake_store,
		.cue_at = fake_cue_at,
		.cue_now = fake_cue_now,
		.cue_cancel = fake_cancel,
		.sound_want = fake_want,
		.sound_is_well = fake_well,
		.inhibit = fake_inhibit,
	};
	cr_assert_eq(wet_darkroom_new(&f->darkroom, &ports, f->shelf), 0);
}

static void close_fake(struct fake *f)
{
	char command[128];

	work_off(f);
	wet_darkroom_free(f->darkroom);
	wet_shelf_free(f->shelf);
	wet_ledger_close(f->ledger);
	snprintf(command, sizeof command, "rm -rf %s", f->folder);
	cr_assert_eq(system(command), 0);
}

static void one_turn(struct fake *f)
{
	f->turns++;
	f->wake_ns = wet_darkroom_turn(f->darkroom);
	work_off(f);
	f->wake_ns = wet_darkroom_wake_ns(f->darkroom);
}

/* Sleeps as the loop does: until the wake-up it was told, and no longer than until_ns. */
static void sleep_to(struct fake *f, int64_t until_ns)
{
	while (f->wake_ns < until_ns) {
		cr_assert_gt(f->wake_ns, f->now_ns, "it wakes without end");
		f->now_ns = f->wake_ns;
		one_turn(f);
	}
	f->now_ns = until_ns;
	one_turn(f);
}

static void take_armed(void *ctx, const struct wet_armed *armed, const struct wet_fault *fault)
{
	char line[WET_LINE_BYTES];

	wet_fault_line(fault, line, sizeof line);
	cr_assert_eq(fault->err, WET_OK, "%s", line);
	((struct fake *)ctx)->live = armed->live;
}

static void arm(struct fake *f, bool is_rehearsal)
{
	struct wet_arming want = { .recipe_name = "direct-positive-fibre-tank",
							   .person = "a person",
							   .pieces = 6,
							   .fill_ns = -1,
							   .drain_ns = -1,
							   .stagger_ns = -1,
							   .room_mc = INT32_MIN,
							   .is_rehearsal = is_rehearsal,
							   .is_mine = true };

	cr_assert_eq(wet_ledger_put_acknowledgement(f->ledger, "a person", want.recipe_name, 1, 1, NULL), 0);
	wet_darkroom_arm(f->darkroom, &want, take_armed, f);
	work_off(f);
	one_turn(f);
}

static void take_answer(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored)
{
	(void)ctx, (void)live, (void)answer, (void)is_stored;
}

static void act_for(struct fake *f, int kind, int64_t a_ns)
{
	struct wet_event event = { .kind = kind, .bath = -1, .number = -1, .a_ns = a_ns };

	f->acted_ns = f->now_ns;
	wet_darkroom_act(f->darkroom, f->live, &event, take_answer, f);
	work_off(f);
	/* No turn in between: after the acts the loop goes to sleep until this. */
	f->wake_ns = wet_darkroom_wake_ns(f->darkroom);
}

static void act(struct fake *f, int kind)
{
	act_for(f, kind, 0);
}

/* A person: begins, says a go for each piece and each waiting bath, and twenty seconds after a bath was ready. */
static void work_to_stage(struct fake *f, int stage)
{
	struct wet_view view;

	act(f, WET_ACT_BEGIN);
	for (int i = 0; i < 2000; i++) {
		wet_run_view(&f->live->run, f->now_ns, &view);
		if (view.phase == WET_PHASE_ENDED || (view.phase >= WET_PHASE_POURING && view.stage == stage))
			return;
		sleep_to(f, f->now_ns + 20 * NS_PER_S);
		wet_run_view(&f->live->run, f->now_ns, &view);
		if (view.phase == WET_PHASE_HANDLING || view.phase == WET_PHASE_WAITING ||
			view.phase == WET_PHASE_PAST)
			act(f, WET_ACT_GO);
	}
	cr_assert_fail("stage %d was never reached", stage);
}

static int last_stage(const struct fake *f)
{
	return f->live->frozen->recipe.stage_count - 1;
}

Test(sounding, nothing_live_is_closed_and_nothing_wakes)
{
	struct fake f;

	open_fake(&f);
	one_turn(&f);
	cr_assert(!f.is_open);
	cr_assert_eq(f.wake_ns, INT64_MAX);
	arm(&f, true);
	cr_assert(!f.is_open, "armed, without a sound check: nothing sounds by itself");
	cr_assert_eq(f.wake_ns, INT64_MAX);
	close_fake(&f);
}

Test(sounding, the_sound_check_opens_it_for_five_minutes_or_until_it_is_answered)
{
	struct fake f;

	open_fake(&f);
	arm(&f, false);
	cr_assert(f.is_open, "the digit is being played");
	sleep_to(&f, f.opened_ns + FAR_NS + NS_PER_S);
	cr_assert(!f.is_open);
	cr_assert_eq(f.closed_ns - f.opened_ns, FAR_NS);
	cr_assert_eq(f.wake_ns, INT64_MAX);
	wet_darkroom_play_digit(f.darkroom, f.live);
	cr_assert(f.is_open, "played again");
	cr_assert_eq(wet_darkroom_heard(f.darkroom, f.live, f.live->digit, NULL), 0);
	cr_assert(!f.is_open, "nothing is live yet");
	act(&f, WET_ACT_BEGIN);
	cr_assert(f.is_open);
	close_fake(&f);
}

Test(sounding, a_whole_session_hears_every_cue_on_an_open_device)
{
	struct fake f;

	open_fake(&f);
	arm(&f, true);
	work_to_stage(&f, last_stage(&f));
	cr_assert_gt(f.cues, 50, "%d cues", f.cues);
	cr_assert_eq(f.openings, 1, "no silence was over five minutes: opened %d times", f.openings);
	/* The last wash, twenty minutes: its next word is "last minute". */
	int64_t begun_ns = f.now_ns;
	sleep_to(&f, begun_ns + 60 * NS_PER_S);
	cr_assert(!f.is_open, "the next cue is over five minutes away");
	int turns = f.turns;
	sleep_to(&f, begun_ns + 1000 * NS_PER_S);
	cr_assert_eq(f.turns - turns, 1, "it woke %d times in between", f.turns - turns - 1);
	cr_assert(!f.is_open);
	cr_assert_eq(f.wake_ns, f.live->next_cue.at_boot_ns - AHEAD_NS);
	sleep_to(&f, begun_ns + 1205 * NS_PER_S);
	cr_assert_eq(f.openings, 2);
	cr_assert_lt(f.open_from_ns, f.cue_ns);
	cr_assert(!f.is_open, "a wash never nags: nothing more to be heard but answers");
	act(&f, WET_ACT_GO);
	sleep_to(&f, f.now_ns + 3600 * NS_PER_S);
	cr_assert(wet_live_is_over(f.live));
	cr_assert(!f.is_open);
	cr_assert_eq(f.wake_ns, INT64_MAX);
	close_fake(&f);
}

/* The hint follows what acts do to the cue: later, earlier, and taken back. */
Test(sounding, a_cue_that_an_act_moves_is_followed)
{
	struct fake f;

	open_fake(&f);
	arm(&f, true);
	work_to_stage(&f, last_stage(&f));
	int64_t begun_ns = f.now_ns;
	sleep_to(&f, begun_ns + 100 * NS_PER_S);
	cr_assert(!f.is_open);
	int64_t before_ns = f.live->next_cue.at_boot_ns;
	cr_assert_eq(f.wake_ns, before_ns - AHEAD_NS);
	act_for(&f, WET_ACT_LONGER, 100 * NS_PER_S);
	cr_assert_eq(f.live->next_cue.at_boot_ns, before_ns + 100 * NS_PER_S, "the act moved it");
	cr_assert_eq(f.wake_ns, before_ns + 98 * NS_PER_S, "the wake-up did not follow");
	sleep_to(&f, before_ns - NS_PER_S);
	cr_assert(!f.is_open, "opened for a cue that is no more");
	act(&f, WET_ACT_UNDO);
	cr_assert_leq(f.live->next_cue.at_boot_ns, before_ns);
	cr_assert(f.is_open, "what came near by an act opens it in the same turn");
	sleep_to(&f, before_ns + NS_PER_S);
	cr_assert_eq(f.cue_ns, before_ns);
	close_fake(&f);
}

/* Loading in the dark has no clock: a long pause closes the device once, a key opens it again. */
Test(sounding, a_run_without_cues_stays_open_five_minutes_after_the_last_key)
{
	struct fake f;

	open_fake(&f);
	arm(&f, true);
	act(&f, WET_ACT_BEGIN);
	sleep_to(&f, f.now_ns + 20 * NS_PER_S);
	act(&f, WET_ACT_GO);
	int64_t acted_ns = f.now_ns;
	sleep_to(&f, acted_ns + FAR_NS - NS_PER_S);
	cr_assert(f.is_open);
	int turns = f.turns;
	sleep_to(&f, acted_ns + 5 * FAR_NS);
	cr_assert(!f.is_open);
	cr_assert_eq(f.closed_ns, acted_ns + FAR_NS);
	cr_assert_eq(f.turns - turns, 2, "one wake-up to close it");
	cr_assert_eq(f.wake_ns, INT64_MAX);
	act(&f, WET_ACT_GO);
	cr_assert(f.is_open);
	act(&f, WET_ACT_EMERGENCY);
	sleep_to(&f, f.now_ns + 2 * FAR_NS);
	cr_assert(!f.is_open, "interrupted: stage sounds have stopped");
	close_fake(&f);
}
