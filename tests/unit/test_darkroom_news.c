/* The darkroom on virtual time: a ledger in a folder that is thrown away, jobs done at once, sounds written down. */
#include "darkroom/darkroom.h"
#include "ledger/ledger.h"
#include "shelf/shelf.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NS_PER_S INT64_C(1000000000)

static struct wet_darkroom *darkroom;
static struct wet_shelf *shelf;
static struct wet_ledger *ledger;
static int64_t clock_ns;
static char folder[32];
static bool is_sound_well;
static int alarms;

static int64_t port_now(void *ctx)
{
	(void)ctx;
	return clock_ns;
}

static int64_t port_wall(void *ctx)
{
	(void)ctx;
	return 1700000000000 + clock_ns / 1000000;
}

static const char *port_boot_id(void *ctx)
{
	(void)ctx;
	return "00000000-0000-0000-0000-000000000001";
}

static bool port_trusted(void *ctx)
{
	(void)ctx;
	return true;
}

static uint64_t port_random(void *ctx)
{
	(void)ctx;
	return 1;
}

static void port_store(void *ctx, struct wet_job *job)
{
	struct wet_fault fault = { 0 };

	(void)ctx;
	(void)job->work(job, ledger, &fault);
	job->done(job, &fault);
}

static void port_cue_at(void *ctx, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips, uint32_t rate_milli)
{
	(void)ctx;
	(void)owner;
	(void)at_ns;
	(void)tone;
	(void)pips;
	(void)rate_milli;
}

static void port_cue_now(void *ctx, enum wet_tone tone, int pips)
{
	(void)ctx;
	(void)pips;
	alarms += tone == WET_TONE_ALARM;
}

static void port_cue_cancel(void *ctx, uint64_t owner, int64_t from_ns)
{
	(void)ctx;
	(void)owner;
	(void)from_ns;
}

static void port_want(void *ctx, bool is_wanted)
{
	(void)ctx;
	(void)is_wanted;
}

static bool port_sound_well(void *ctx, char *text, unsigned text_bytes)
{
	(void)ctx;
	snprintf(text, text_bytes, is_sound_well ? "sounding" : "no sound from the card");
	return is_sound_well;
}

static bool port_inhibit(void *ctx, bool is_wanted)
{
	(void)ctx;
	return is_wanted;
}

static void set_up(void)
{
	static const struct wet_ports ports = {
		.now_ns = port_now, .wall_ms = port_wall, .boot_id = port_boot_id, .is_wall_trusted = port_trusted,
		.random = port_random, .store = port_store, .cue_at = port_cue_at, .cue_now = port_cue_now,
		.cue_cancel = port_cue_cancel, .sound_want = port_want, .sound_is_well = port_sound_well,
		.inhibit = port_inhibit,
	};
	const char *recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *safety[] = { WET_SOURCE_DIR "/safety", NULL };
	struct wet_fault fault = { 0 };
	char path[64];

	snprintf(folder, sizeof folder, "/tmp/wet-darkroom-XXXXXX");
	cr_assert_not_null(mkdtemp(folder));
	snprintf(path, sizeof path, "%s/ledger.sqlite", folder);
	clock_ns = 1000 * NS_PER_S;
	is_sound_well = true;
	cr_assert_eq(wet_shelf_open(&shelf, recipes, safety), 0);
	cr_assert_eq(wet_ledger_open(&ledger, path, &fault), 0);
	cr_assert_eq(wet_darkroom_new(&darkroom, &ports, shelf), 0);
}

static void tear_down(void)
{
	char command[64];

	wet_darkroom_free(darkroom);
	wet_ledger_close(ledger);
	wet_shelf_free(shelf);
	snprintf(command, sizeof command, "rm -rf %s", folder);
	cr_assert_eq(system(command), 0);
}

static void armed(void *ctx, const struct wet_armed *armed, const struct wet_fault *fault)
{
	cr_assert_eq(fault->err, WET_OK);
	*(struct wet_live **)ctx = armed->live;
}

static void acted(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored)
{
	(void)ctx;
	(void)live;
	(void)is_stored;
	cr_assert_eq(answer->kind, WET_ANSWER_DO, "%s", answer->text);
}

/* A rehearsal that is begun; with is_mine it stands in its first handling step. */
static struct wet_live *rehearse(const char *name, bool is_mine)
{
	struct wet_live *live = NULL;
	struct wet_event event = { .kind = WET_ACT_BEGIN, .bath = -1, .number = -1 };
	struct wet_arming arming = { .recipe_name = "direct-positive-fibre-tank", .pieces = 2, .fill_ns = -1,
		.drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN, .is_rehearsal = true, .is_mine = is_mine };

	snprintf(arming.run_name, sizeof arming.run_name, "%s", name);
	snprintf(arming.person, sizeof arming.person, "someone");
	wet_darkroom_arm(darkroom, &arming, armed, &live);
	cr_assert_not_null(live);
	wet_darkroom_act(darkroom, live, &event, acted, NULL);
	return live;
}

/* How often the run was told a text with this in it, of what its log still holds. */
static int told(const struct wet_live *live, const char *part)
{
	int count = 0;

	for (int i = 0; i < WET_CUE_LOG; i++) count += strstr(live->log[i].text, part) != NULL;
	return count;
}

/* Lets time pass from wake-up to wake-up. */
static void pass(int64_t ns)
{
	int64_t end_ns = clock_ns + ns, wake_ns;

	while ((wake_ns = wet_darkroom_wake_ns(darkroom)) <= end_ns) {
		if (wake_ns > clock_ns) clock_ns = wake_ns;
		cr_assert_gt(wet_darkroom_turn(darkroom), clock_ns, "a turn leaves nothing that is due");
	}
	clock_ns = end_ns;
	(void)wet_darkroom_turn(darkroom);
}

Test(darkroom_news, sound_is_told_when_lost_and_back_and_not_when_it_opens, .init = set_up, .fini = tear_down)
{
	struct wet_live *live = rehearse("creek", true);

	wet_darkroom_sound_changed(darkroom); /* the device was opened for the first cue */
	cr_assert_eq(alarms, 0);
	cr_assert_eq(told(live, "Sound is back."), 0);
	is_sound_well = false;
	wet_darkroom_sound_changed(darkroom);
	cr_assert_eq(told(live, "no sound from the card"), 1);
	wet_darkroom_sound_changed(darkroom); /* another reason of the same silence */
	cr_assert_eq(alarms, 1);
	pass(3 * NS_PER_S);
	is_sound_well = true;
	wet_darkroom_sound_changed(darkroom);
	cr_assert_eq(told(live, "Sound is back. It was gone for 3 seconds. Camera one, slot one."), 1, "and where the run is");
	cr_assert_eq(alarms, 2);
	wet_darkroom_sound_changed(darkroom); /* closed over a long silence, and opened again */
	cr_assert_eq(alarms, 2);
}

Test(darkroom_news, lights_wait_for_the_other_run_of_the_room_and_are_told_once, .init = set_up, .fini = tear_down)
{
	struct wet_live *dark = rehearse("dark", true), *tank = rehearse("tank", false);
	struct wet_event abandon = { .kind = WET_ACT_ABANDON, .flags = WET_EVENT_HELD, .bath = -1, .number = -1 };

	pass(60 * NS_PER_S); /* two pieces and the lid, ten seconds each by the rehearsal's own key, and two */
	cr_assert_eq(told(tank, "Leave the lights off: dark still needs the dark."), 1);
	cr_assert_eq(told(tank, "Lights may come on"), 0);
	wet_darkroom_act(darkroom, dark, &abandon, acted, NULL);
	pass(NS_PER_S);
	cr_assert_eq(told(tank, "Lights may come on"), 1);
	pass(5 * NS_PER_S);
	cr_assert_eq(told(tank, "Lights may come on"), 1);
}
