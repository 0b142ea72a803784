/* speaker_switch.c: the speaker between devices: a mixer that is muted, another card while tones are planned, one card under
 * two names, cards that are odd, slow, hanging or gone. Real time; waits for events with a deadline, judges no lateness but
 * that of the contract. */
#include "paced_card.h"
#include "speaker/speaker.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define NS_PER_MS 1000000LL
#define LATE_NS (100 * NS_PER_MS)
#define WAIT_NS (15000 * NS_PER_MS)

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

static const char *plugin;

static const char bench[] =
    "pcm.!default { type rtfile file \"@/card.raw\" gone \"@/gone\" stuck \"@/stuck\" }\n"
    "ctl.!default { type rtmixer file \"@/mixer\" }\n"
    "pcm.other { type rtfile file \"@/other.raw\" gone \"@/other-gone\" }\n"
    "pcm.again { type rtfile file \"@/card.raw\" gone \"@/gone\" }\n"
    "pcm.slow { type rtfile file \"@/slow.raw\" opening 6500 }\n"
    "pcm.late { type rtfile file \"@/late.raw\" opening 3500 }\n"
    "pcm.odd { type rtfile file \"@/odd.raw\" rate 44100 channels 2 format \"S32\" period 1764 }\n"
    "pcm.float { type rtfile file \"@/float.raw\" rate 44100 channels 2 format \"FLOAT\" period 64 }\n";

static struct paced_card card;

static struct wet_speaker *open_speaker(const char *where)
{
	struct wet_speaker_options options = { .where = where, .now_ns = boot_ns, .level_milli = 1000 };
	struct wet_speaker *speaker = NULL;

	if (wet_speaker_open(&speaker, &options, NULL) != 0) {
		printf("the speaker does not open\n");
		exit(1);
	}
	return speaker;
}

static struct wet_speaker *set_up(const char *where)
{
	if (!paced_card_bench(&card, plugin, bench)) {
		printf("%s is not there\n", plugin);
		exit(1);
	}
	paced_card_put(&card, "mixer", "Master on 60\nHeadphone on 80\nSpeaker off 0\n");
	return open_speaker(where);
}

static void tear_down(struct wet_speaker *speaker)
{
	wet_speaker_close(speaker);
	paced_card_remove(&card);
}

/* The loop's turns go on while it waits. */
static bool wait_for_health(struct wet_speaker *speaker, enum wet_speaker_health wanted)
{
	int64_t until_ns = boot_ns(NULL) + WAIT_NS;

	while (wet_speaker_health(speaker, NULL, 0) != wanted) {
		if (boot_ns(NULL) > until_ns) return false;
		wet_speaker_turn(speaker, boot_ns(NULL));
		sleep_until(boot_ns(NULL) + 2 * NS_PER_MS);
	}
	return true;
}

static bool wait_for_text(struct wet_speaker *speaker, const char *wanted)
{
	int64_t until_ns = boot_ns(NULL) + WAIT_NS;
	char text[320];

	for (;;) {
		(void)wet_speaker_health(speaker, text, sizeof text);
		if (strstr(text, wanted)) return true;
		if (boot_ns(NULL) > until_ns) {
			printf("it says: %s\n", text);
			return false;
		}
		wet_speaker_turn(speaker, boot_ns(NULL));
		sleep_until(boot_ns(NULL) + 2 * NS_PER_MS);
	}
}

static int switch_to(struct wet_speaker *speaker, const char *where, struct wet_fault *fault)
{
	int64_t until_ns = boot_ns(NULL) + WAIT_NS;
	int rc = wet_speaker_switch(speaker, where, fault);

	if (rc != 0) return rc;
	while (!wet_speaker_switched(speaker, fault)) {
		if (boot_ns(NULL) > until_ns) return WET_ERR_INTERNAL;
		wet_speaker_turn(speaker, boot_ns(NULL));
		sleep_until(boot_ns(NULL) + 2 * NS_PER_MS);
	}
	return fault->err;
}

static void assert_onsets(const char *raw, const int64_t *due_ns, int count, const char *what)
{
	struct paced_card one = card;
	int64_t onset_ns[64];
	int onsets;

	snprintf(one.raw, sizeof one.raw, "%.120s/%s", card.folder, raw);
	onsets = paced_card_onsets(&one, 480, onset_ns, 64);
	CHECK(onsets == count, "%s: %d onsets for %d tones", what, onsets, count);
	for (int i = 0; i < onsets && i < count; i++)
		CHECK(onset_ns[i] > due_ns[i] - NS_PER_MS && onset_ns[i] < due_ns[i] + LATE_NS,
		      "%s: tone %d began %.3f ms after its time", what, i, (double)(onset_ns[i] - due_ns[i]) / 1e6);
}

static void a_muted_mixer_is_told_whatever_mutes_it(void)
{
	static const struct {
		const char *mixer, *text; /* NULL: it can be heard */
	} cases[] = {
		{ "Master off 60\nHeadphone on 80\nSpeaker off 0\n", "Master is muted" },
		{ "Master on 60\nHeadphone on 80\nSpeaker off 0\n", NULL },
		{ "Master on 0\nHeadphone on 80\nSpeaker off 0\n", "Master is at zero" },
		{ "Master left 60\nHeadphone on 80\nSpeaker off 0\n", NULL },
		{ "Master on 60\nHeadphone on 0\nSpeaker off 70\n", "Headphone is at zero" },
		{ "Master on 1\nHeadphone left 1\nSpeaker off 70\n", NULL },
	};
	struct wet_speaker *speaker = set_up("default");
	char path[192];

	wet_speaker_want(speaker, true);
	CHECK(wait_for_text(speaker, "sounding"), "it never opened");
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		paced_card_put(&card, "mixer", cases[i].mixer);
		CHECK(wait_for_health(speaker, cases[i].text ? WET_SPEAKER_MUTED : WET_SPEAKER_OK), "case %zu is not told", i);
		if (cases[i].text) CHECK(wait_for_text(speaker, cases[i].text), "case %zu", i);
	}
	/* Its card is pulled with its mixer: nobody can say any more. */
	paced_card_put(&card, "mixer", NULL);
	CHECK(wait_for_health(speaker, WET_SPEAKER_UNSEEN), "a mixer that has gone still says something");
	snprintf(path, sizeof path, "%s/mixer.written", card.folder);
	CHECK(!fopen(path, "r"), "somebody moved the mixer");
	tear_down(speaker);
}

/* Muted while the device is closed over a long wash: told at once if a run is live, and not looked at if none is. */
static void a_mixer_is_looked_at_while_a_run_is_live(void)
{
	struct wet_speaker *speaker = set_up("default");

	wet_speaker_live(speaker, true);
	wet_speaker_want(speaker, true);
	CHECK(wait_for_text(speaker, "sounding"), "it never opened");
	wet_speaker_want(speaker, false);
	CHECK(wait_for_text(speaker, "closed"), "it never closed");
	paced_card_put(&card, "mixer", "Master off 60\nHeadphone on 80\nSpeaker off 0\n");
	CHECK(wait_for_health(speaker, WET_SPEAKER_MUTED), "not told while the device is closed");
	wet_speaker_live(speaker, false);
	CHECK(wait_for_health(speaker, WET_SPEAKER_OK), "looked at although no run is live");
	/* The device of the next run is judged as it is then. */
	wet_speaker_want(speaker, true);
	CHECK(wait_for_health(speaker, WET_SPEAKER_MUTED), "muted before it was opened is not told");
	tear_down(speaker);
}

static void tones_go_on_over_a_switch_by_the_clock(void)
{
	struct wet_speaker *speaker = set_up("default");
	struct wet_fault fault = { 0 };
	int64_t due_ns[8], at_ns;

	wet_speaker_want(speaker, true);
	CHECK(wait_for_text(speaker, "sounding"), "it never opened");
	at_ns = boot_ns(NULL) + 300 * NS_PER_MS;
	for (int i = 0; i < 8; i++) {
		due_ns[i] = at_ns + i * 500 * NS_PER_MS;
		CHECK(wet_speaker_at(speaker, 1, due_ns[i], WET_TONE_BEAT, 1, 1000) == 0, "tone %d", i);
	}
	sleep_until(due_ns[2] + 150 * NS_PER_MS);
	CHECK(switch_to(speaker, "alsa:other", &fault) == WET_OK, "%s", fault.want);
	CHECK(strcmp(wet_speaker_where(speaker), "alsa:other") == 0, "it says %s", wet_speaker_where(speaker));
	sleep_until(due_ns[7] + 200 * NS_PER_MS);
	CHECK(wet_speaker_dropped(speaker) == 0, "%llu dropped", (unsigned long long)wet_speaker_dropped(speaker));
	wet_speaker_close(speaker);
	/* Trying takes a quarter of a second; the machine may be slow, so either side of the switch may have one more. */
	{
		struct paced_card first = card, other = card;
		int64_t onset_ns[16], onset2_ns[16];
		int n, m;

		snprintf(other.raw, sizeof other.raw, "%.120s/other.raw", card.folder);
		n = paced_card_onsets(&first, 480, onset_ns, 16);
		m = paced_card_onsets(&other, 480, onset2_ns, 16);
		CHECK(n >= 3 && m >= 1 && n + m == 8, "%d tones here and %d there of 8", n, m);
		assert_onsets("card.raw", due_ns, n, "before");
		assert_onsets("other.raw", due_ns + n, m, "behind");
	}
	paced_card_remove(&card);
}

static void one_card_under_two_names_is_let_go_first(void)
{
	struct wet_speaker *speaker = set_up("default");
	struct wet_fault fault = { 0 };

	wet_speaker_want(speaker, true);
	CHECK(wait_for_text(speaker, "sounding"), "it never opened");
	CHECK(switch_to(speaker, "alsa:again", &fault) == WET_OK, "%s", fault.want);
	CHECK(wait_for_text(speaker, "sounding on \"again\""), "it is not the other");
	tear_down(speaker);
}

static void what_cannot_be_opened_is_refused_and_the_old_goes_on(void)
{
	static const char *const names[] = { "alsa:nothing", "alsa:null", "alsa:slow", "file:/nowhere/x.wav", "alsa:", "radio" };
	struct wet_speaker *speaker = set_up("default");
	struct wet_fault fault = { 0 };
	int64_t due_ns[1];
	char text[320];

	wet_speaker_want(speaker, true);
	CHECK(wait_for_text(speaker, "sounding"), "it never opened");
	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
		CHECK(switch_to(speaker, names[i], &fault) != WET_OK, "%s is no device", names[i]);
		CHECK(fault.want[0] && strcmp(fault.found, "default") != 0, "%s: %s", names[i], fault.want);
		CHECK(strcmp(wet_speaker_where(speaker), "default") == 0, "%s: it is on %s", names[i], wet_speaker_where(speaker));
		CHECK(wet_speaker_health(speaker, text, sizeof text) == WET_SPEAKER_OK, "%s: %s", names[i], text);
	}
	due_ns[0] = boot_ns(NULL) + 200 * NS_PER_MS;
	CHECK(wet_speaker_at(speaker, 1, due_ns[0], WET_TONE_BEAT, 1, 1000) == 0, "a tone");
	sleep_until(due_ns[0] + 150 * NS_PER_MS);
	/* A second one while one is under way. */
	CHECK(wet_speaker_switch(speaker, "alsa:other", &fault) == WET_OK, "%s", fault.want);
	CHECK(wet_speaker_switch(speaker, "alsa:again", &fault) == WET_ERR_REFUSED, "two at once");
	wet_speaker_close(speaker); /* in the middle of it */
	assert_onsets("card.raw", due_ns, 1, "after six refusals");
	paced_card_remove(&card);
}

static void to_a_file_and_to_nothing_and_back(void)
{
	struct wet_speaker *speaker = set_up("none");
	struct wet_fault fault = { 0 };
	int64_t due_ns[1];
	char file[192];

	CHECK(wet_speaker_now(speaker, WET_TONE_BEAT, 1) == 0, "into nothing");
	wet_speaker_want(speaker, true);
	CHECK(switch_to(speaker, "default", &fault) == WET_OK, "%s", fault.want);
	due_ns[0] = boot_ns(NULL) + 200 * NS_PER_MS;
	CHECK(wet_speaker_at(speaker, 1, due_ns[0], WET_TONE_CHANGE, 1, 1000) == 0, "a tone");
	sleep_until(due_ns[0] + 60 * NS_PER_MS); /* it is sounding */
	snprintf(file, sizeof file, "file:%s/session.wav", card.folder);
	CHECK(switch_to(speaker, file, &fault) == WET_OK, "%s", fault.want);
	CHECK(wait_for_health(speaker, WET_SPEAKER_OK), "the file");
	sleep_until(boot_ns(NULL) + 600 * NS_PER_MS);
	wet_speaker_turn(speaker, boot_ns(NULL));
	CHECK(wet_speaker_dropped(speaker) == 0, "what was sounding is lost");
	CHECK(switch_to(speaker, "none", &fault) == WET_OK, "%s", fault.want);
	CHECK(wait_for_health(speaker, WET_SPEAKER_SILENT), "none");
	wet_speaker_close(speaker);
	assert_onsets("card.raw", due_ns, 1, "begun on the card");
	paced_card_remove(&card);
}

/* What they record is not 16 bit mono; that it sounds at all, in time and at the pace, is the device's own clock's word. */
static void odd_cards_are_fed_through_the_converter(void)
{
	static const char *const names[] = { "alsa:odd", "alsa:float" };

	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
		struct wet_speaker *speaker = set_up(names[i]);
		char text[320];

		wet_speaker_want(speaker, true);
		CHECK(wait_for_text(speaker, "sounding"), "%s never opened", names[i]);
		for (int n = 0; n < 4; n++) {
			CHECK(wet_speaker_at(speaker, 1, boot_ns(NULL) + 200 * NS_PER_MS, WET_TONE_BEAT, 1, 1000) == 0, "a tone");
			sleep_until(boot_ns(NULL) + 300 * NS_PER_MS);
		}
		CHECK(wet_speaker_health(speaker, text, sizeof text) == WET_SPEAKER_UNSEEN, "%s: %s", names[i], text);
		CHECK(wet_speaker_dropped(speaker) == 0, "%s: %llu dropped", names[i], (unsigned long long)wet_speaker_dropped(speaker));
		tear_down(speaker);
	}
}

static void a_device_that_hangs_is_told_and_holds_nobody_up(void)
{
	struct wet_speaker *speaker = set_up("default");
	struct wet_fault fault = { 0 };
	int64_t began_ns;

	wet_speaker_want(speaker, true);
	CHECK(wait_for_text(speaker, "sounding"), "it never opened");
	paced_card_put(&card, "stuck", "");
	CHECK(wait_for_health(speaker, WET_SPEAKER_LOST), "a write that hangs is not told");
	paced_card_put(&card, "stuck", NULL);
	CHECK(wait_for_health(speaker, WET_SPEAKER_OK), "it goes on, and nobody says so");
	/* Away from a device that hangs. */
	paced_card_put(&card, "stuck", "");
	CHECK(wait_for_health(speaker, WET_SPEAKER_LOST), "a second time");
	CHECK(switch_to(speaker, "alsa:other", &fault) == WET_OK, "%s", fault.want);
	CHECK(wait_for_text(speaker, "sounding on \"other\""), "it stays where it hangs");
	/* The end does not wait for it for ever; what its thread may touch stays until it has gone. */
	began_ns = boot_ns(NULL);
	wet_speaker_close(speaker);
	CHECK(boot_ns(NULL) - began_ns < 10000 * NS_PER_MS, "closing hangs too");
	paced_card_put(&card, "stuck", NULL);
	sleep_until(boot_ns(NULL) + 200 * NS_PER_MS);
	paced_card_remove(&card);
}

static void a_slow_device_is_told_at_start(void)
{
	struct wet_speaker *speaker = set_up("alsa:late");

	wet_speaker_want(speaker, true);
	CHECK(wait_for_text(speaker, "has not opened"), "a device that takes long to open is not told");
	CHECK(wait_for_text(speaker, "sounding"), "and then it opens");
	tear_down(speaker);
}

static int count_fds(void)
{
	DIR *folder = opendir("/proc/self/fd");
	int n = 0;

	while (folder && readdir(folder)) n++;
	if (folder) closedir(folder);
	return n;
}

static void opening_and_closing_leaks_nothing(void)
{
	int before = -1;

	for (int i = 0; i < 10; i++) {
		struct wet_speaker *speaker = set_up("default");
		struct wet_fault fault = { 0 };

		wet_speaker_want(speaker, true);
		CHECK(wait_for_text(speaker, "sounding"), "it never opened");
		CHECK(switch_to(speaker, i % 2 ? "alsa:other" : "none", &fault) == WET_OK, "%s", fault.want);
		CHECK(switch_to(speaker, "default", &fault) == WET_OK, "%s", fault.want);
		tear_down(speaker);
		if (i == 0) before = count_fds(); /* libraries have been loaded by then */
	}
	CHECK(count_fds() == before, "%d descriptors, %d after the first", count_fds(), before);
}

int main(void)
{
	plugin = paced_card_plugin();
	a_muted_mixer_is_told_whatever_mutes_it();
	a_mixer_is_looked_at_while_a_run_is_live();
	tones_go_on_over_a_switch_by_the_clock();
	one_card_under_two_names_is_let_go_first();
	what_cannot_be_opened_is_refused_and_the_old_goes_on();
	to_a_file_and_to_nothing_and_back();
	odd_cards_are_fed_through_the_converter();
	opening_and_closing_leaks_nothing();
	a_slow_device_is_told_at_start();
	a_device_that_hangs_is_told_and_holds_nobody_up();
	printf("%d failures\n", failures);
	return failures != 0;
}
