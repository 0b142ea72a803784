/* speaker_card.c: the speaker on a card that keeps time: order and place of tones, a card that is missing, unplugged and
 * back, cancelling, closing. Real time, a few seconds; waits for events with a deadline, judges no lateness but that of
 * the contract (a planned tone is never over 100 ms late). */
#include "paced_card.h"
#include "speaker/speaker.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define NS_PER_MS 1000000LL
#define LATE_NS (100 * NS_PER_MS)
#define WAIT_NS (10000 * NS_PER_MS)

static int failures;

#define CHECK(claim, ...)                                  \
	do {                                                    \
		if (!(claim)) {                                     \
			failures++;                                     \
			printf("%s:%d: not so: %s: ", __FILE__, __LINE__, #claim); \
			printf(__VA_ARGS__);                            \
			printf("\n");                                   \
		}                                                   \
	} while (0)

static int64_t boot_ns(void *ctx)
{
	struct timespec ts;

	(void)ctx;
	clock_gettime(CLOCK_BOOTTIME, &ts);
	return ts.tv_sec * INT64_C(1000000000) + ts.tv_nsec;
}

static void sleep_until(int64_t at_ns)
{
	struct timespec ts = { .tv_sec = at_ns / 1000000000, .tv_nsec = at_ns % 1000000000 };

	while (clock_nanosleep(CLOCK_BOOTTIME, TIMER_ABSTIME, &ts, NULL) != 0) {
	}
}

static _Atomic int changes;
static _Atomic int64_t alive_ns;

static void note_change(void *ctx)
{
	(void)ctx;
	atomic_fetch_add(&changes, 1);
}

static struct wet_speaker *open_speaker(void)
{
	struct wet_speaker_options options = {
		.where = "default", .now_ns = boot_ns, .changed = note_change, .alive_ns = &alive_ns, .level_milli = 1000
	};
	struct wet_speaker *speaker = NULL;

	if (wet_speaker_open(&speaker, &options, NULL) != 0) {
		printf("the speaker does not open\n");
		exit(1);
	}
	return speaker;
}

static bool wait_for_health(struct wet_speaker *speaker, enum wet_speaker_health wanted)
{
	int64_t until_ns = boot_ns(NULL) + WAIT_NS;

	/* The card has no mixer: that is what "well" is here. */
	while (wet_speaker_health(speaker, NULL, 0) != wanted &&
	       (wanted != WET_SPEAKER_OK || wet_speaker_health(speaker, NULL, 0) != WET_SPEAKER_UNSEEN)) {
		if (boot_ns(NULL) > until_ns) return false;
		sleep_until(boot_ns(NULL) + 2 * NS_PER_MS);
	}
	return true;
}

/* Waits until the device has been opened: its text changes from closed to sounding. */
static bool wait_until_sounding(struct wet_speaker *speaker)
{
	int64_t until_ns = boot_ns(NULL) + WAIT_NS;
	char text[160];

	for (;;) {
		if (wet_speaker_health(speaker, text, sizeof text) <= WET_SPEAKER_UNSEEN && strncmp(text, "sounding", 8) == 0)
			return true;
		if (boot_ns(NULL) > until_ns) return false;
		sleep_until(boot_ns(NULL) + 2 * NS_PER_MS);
	}
}

static void assert_onsets(const struct paced_card *card, const int64_t *due_ns, int count, const char *what)
{
	int64_t onset_ns[64];
	int onsets = paced_card_onsets(card, 480, onset_ns, 64);

	CHECK(onsets == count, "%s: %d onsets for %d tones", what, onsets, count);
	for (int i = 0; i < onsets && i < count; i++)
		CHECK(onset_ns[i] > due_ns[i] - NS_PER_MS && onset_ns[i] < due_ns[i] + LATE_NS,
		      "%s: tone %d began %.3f ms after its time", what, i, (double)(onset_ns[i] - due_ns[i]) / 1e6);
}

static void planned_tones_come_in_order_and_cancelled_ones_never(const char *plugin)
{
	struct wet_speaker *speaker;
	struct paced_card card;
	int64_t due_ns[12], at_ns;

	if (!paced_card_make(&card, plugin, 0, 1)) exit(1);
	speaker = open_speaker();
	wet_speaker_want(speaker, true);
	CHECK(wait_until_sounding(speaker), "it never opened");
	at_ns = boot_ns(NULL) + 400 * NS_PER_MS;
	/* Queued backwards: the order of queueing is not that of time. */
	for (int i = 11; i >= 0; i--) {
		due_ns[i] = at_ns + i * 160 * NS_PER_MS;
		CHECK(wet_speaker_at(speaker, 1, due_ns[i], WET_TONE_BEAT, 1, 1000) == 0, "tone %d", i);
		CHECK(wet_speaker_at(speaker, 2, due_ns[i] + 80 * NS_PER_MS, WET_TONE_ALARM, 1, 1000) == 0, "tone %d", i);
	}
	wet_speaker_cancel(speaker, 2, 0);
	sleep_until(due_ns[11] + 200 * NS_PER_MS);
	CHECK(wet_speaker_dropped(speaker) == 0, "%llu dropped", (unsigned long long)wet_speaker_dropped(speaker));
	wet_speaker_close(speaker);
	assert_onsets(&card, due_ns, 12, "planned");
	paced_card_remove(&card);
}

static void an_answer_sounds_on_a_closed_device_and_before_closing(const char *plugin)
{
	struct wet_speaker *speaker;
	struct paced_card card;
	int64_t asked_ns[2];

	if (!paced_card_make(&card, plugin, 0, 1)) exit(1);
	speaker = open_speaker();
	asked_ns[0] = boot_ns(NULL);
	CHECK(wet_speaker_now(speaker, WET_TONE_BEAT, 1) == 0, "nobody wants the device");
	CHECK(wait_until_sounding(speaker), "it never opened");
	sleep_until(boot_ns(NULL) + 400 * NS_PER_MS);
	asked_ns[1] = boot_ns(NULL);
	CHECK(wet_speaker_now(speaker, WET_TONE_BEAT, 1) == 0, "a second one");
	wet_speaker_close(speaker); /* must let it sound */
	assert_onsets(&card, asked_ns, 2, "answers");
	paced_card_remove(&card);
}

static void a_missing_card_is_said_and_comes_back(const char *plugin)
{
	struct wet_speaker *speaker;
	struct paced_card card;
	int64_t due_ns[1], lost_ns;
	char text[160];

	if (!paced_card_make(&card, plugin, 0, 1)) exit(1);
	paced_card_unplug(&card, true);
	atomic_store(&changes, 0);
	speaker = open_speaker();
	CHECK(wet_speaker_health(speaker, text, sizeof text) == WET_SPEAKER_OK, "closed is well: %s", text);
	wet_speaker_want(speaker, true);
	CHECK(wait_for_health(speaker, WET_SPEAKER_MISSING), "missing was not said");
	CHECK(atomic_load(&changes) == 1, "said %d times", atomic_load(&changes));
	wet_speaker_health(speaker, text, sizeof text);
	CHECK(strstr(text, "default") != NULL, "it does not name the device: %s", text);
	/* A tone for which there is no device is counted, not kept for later. */
	CHECK(wet_speaker_at(speaker, 1, boot_ns(NULL) + 70 * NS_PER_MS, WET_TONE_CHANGE, 1, 1000) == 0, "it is taken");
	sleep_until(boot_ns(NULL) + 180 * NS_PER_MS);
	wet_speaker_turn(speaker, boot_ns(NULL));
	CHECK(wet_speaker_dropped(speaker) == 1, "%llu dropped", (unsigned long long)wet_speaker_dropped(speaker));
	paced_card_unplug(&card, false);
	CHECK(wait_for_health(speaker, WET_SPEAKER_OK), "it did not come back");
	paced_card_unplug(&card, true);
	CHECK(wait_for_health(speaker, WET_SPEAKER_LOST), "lost was not said");
	lost_ns = boot_ns(NULL);
	paced_card_unplug(&card, false);
	CHECK(wait_for_health(speaker, WET_SPEAKER_OK), "it did not come back a second time");
	CHECK(boot_ns(NULL) - lost_ns > 1500 * NS_PER_MS, "retried at once, not after two seconds");
	CHECK(atomic_load(&alive_ns) > lost_ns, "the feeder does not stamp");
	due_ns[0] = boot_ns(NULL) + 200 * NS_PER_MS;
	CHECK(wet_speaker_at(speaker, 1, due_ns[0], WET_TONE_BEAT, 1, 1000) == 0, "taken again");
	sleep_until(due_ns[0] + 150 * NS_PER_MS);
	wet_speaker_close(speaker);
	assert_onsets(&card, due_ns, 1, "after it came back");
	paced_card_remove(&card);
}

/* A long silence: the device is closed, nothing wakes, and it is wanted again two seconds before a cue that is handed over
 * when it is nearly due, as the darkroom does (test_sounding). Opening it takes 1.2 s; the silence that runs before the
 * cue is in the recording. */
static void a_slow_card_is_running_before_the_cue_that_ends_a_silence(const char *plugin)
{
	struct wet_speaker *speaker;
	struct paced_card card;
	int64_t due_ns[2], opened_ns, stamped_ns;

	if (!paced_card_make_slow(&card, plugin, 1200)) exit(1);
	speaker = open_speaker();
	wet_speaker_want(speaker, true);
	CHECK(wait_until_sounding(speaker), "it never opened");
	due_ns[0] = boot_ns(NULL) + 300 * NS_PER_MS;
	CHECK(wet_speaker_at(speaker, 1, due_ns[0], WET_TONE_BEAT, 1, 1000) == 0, "the last cue before the silence");
	wet_speaker_want(speaker, false); /* its next is far away */
	sleep_until(due_ns[0] + 400 * NS_PER_MS);
	stamped_ns = atomic_load(&alive_ns);
	sleep_until(due_ns[0] + 1400 * NS_PER_MS);
	CHECK(atomic_load(&alive_ns) == stamped_ns, "the feeder wakes although the device is closed");
	due_ns[1] = boot_ns(NULL) + 2000 * NS_PER_MS;
	wet_speaker_want(speaker, true);
	sleep_until(due_ns[1] - 150 * NS_PER_MS);
	opened_ns = atomic_load(&alive_ns);
	CHECK(due_ns[1] - opened_ns < 300 * NS_PER_MS, "not being fed when the cue comes");
	CHECK(wet_speaker_at(speaker, 1, due_ns[1], WET_TONE_BEAT, 1, 1000) == 0, "the cue");
	wet_speaker_want(speaker, false);
	sleep_until(due_ns[1] + 200 * NS_PER_MS);
	CHECK(wet_speaker_dropped(speaker) == 0, "%llu dropped", (unsigned long long)wet_speaker_dropped(speaker));
	wet_speaker_close(speaker);
	assert_onsets(&card, due_ns, 2, "after a silence");
	paced_card_remove(&card);
}

/* ALSA's null device swallows everything at once: it keeps no time and sounds nothing, which must not pass for sound,
 * nor make the feeder spin. */
static void a_device_that_keeps_no_time_is_no_device(void)
{
	struct wet_speaker_options options = { .where = "alsa:null", .now_ns = boot_ns, .level_milli = 1000 };
	struct wet_speaker *speaker = NULL;
	struct timespec before, after;

	unsetenv("ALSA_CONFIG_PATH");
	CHECK(wet_speaker_open(&speaker, &options, NULL) == 0, "null");
	wet_speaker_want(speaker, true);
	CHECK(wait_for_health(speaker, WET_SPEAKER_LOST), "null passes for sound");
	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &before);
	sleep_until(boot_ns(NULL) + 1000 * NS_PER_MS);
	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &after);
	CHECK((after.tv_sec - before.tv_sec) * 1000 + (after.tv_nsec - before.tv_nsec) / NS_PER_MS < 500, "it spins");
	wet_speaker_close(speaker);
}

static void a_name_that_alsa_does_not_know_is_missing(void)
{
	struct wet_speaker_options options = { .where = "alsa:no such card", .now_ns = boot_ns, .level_milli = 1000 };
	struct wet_speaker *speaker = NULL;

	CHECK(wet_speaker_open(&speaker, &options, NULL) == 0, "a missing device is health, not an error");
	wet_speaker_want(speaker, true);
	CHECK(wait_for_health(speaker, WET_SPEAKER_MISSING), "missing was not said");
	wet_speaker_close(speaker);
}

int main(void)
{
	const char *plugin = paced_card_plugin();
	FILE *file = fopen(plugin, "r");

	a_device_that_keeps_no_time_is_no_device();
	a_name_that_alsa_does_not_know_is_missing();
	if (!file) {
		printf("%s is not there\n", plugin);
		return 1;
	}
	fclose(file);
	planned_tones_come_in_order_and_cancelled_ones_never(plugin);
	an_answer_sounds_on_a_closed_device_and_before_closing(plugin);
	a_missing_card_is_said_and_comes_back(plugin);
	a_slow_card_is_running_before_the_cue_that_ends_a_silence(plugin);
	printf("%d failures\n", failures);
	return failures != 0;
}
