/* speaker_threads.c: the loop's thread, feeders and mixers at once, as fast as the loop can, for ThreadSanitizer; without it
 * the counts are checked all the same. With a card that is unplugged and comes back in between, another one, one that is the
 * first under another name, and a mixer that somebody moves.
 *
 *   speaker_threads [--seed S] [--seconds N] */
#include "paced_card.h"
#include "speaker/speaker.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define NS_PER_MS 1000000LL
#define OWNERS 4

static int64_t boot_ns(void *ctx)
{
	struct timespec ts;

	(void)ctx;
	clock_gettime(CLOCK_BOOTTIME, &ts);
	return ts.tv_sec * INT64_C(1000000000) + ts.tv_nsec;
}

static uint64_t next_random(uint64_t *state)
{
	uint64_t z = (*state += 0x9e3779b97f4a7c15u);

	z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
	z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
	return z ^ (z >> 31);
}

static _Atomic int changes;
static int switches;
static _Atomic int64_t alive_ns;

static void note_change(void *ctx)
{
	(void)ctx;
	atomic_fetch_add(&changes, 1);
}

static const struct paced_card *bench;

/* Another device, the mixer: seldom, as they take their time. */
static bool act_seldom(struct wet_speaker *speaker, uint64_t r)
{
	static const char *const names[] = { "default", "alsa:other", "alsa:again", "none", "alsa:nothing", "alsa:other" };
	struct wet_fault fault = { 0 };
	int rc = WET_OK;

	if (r / 37 % 2 == 0)
		paced_card_put(bench, "mixer", r / 74 % 2 ? "Master on 50\n" : "Master off 50\n");
	else if (r / 74 % 2 == 0)
		wet_speaker_live(speaker, r / 148 % 4 != 0);
	else
		rc = wet_speaker_switch(speaker, names[r / 148 % (sizeof names / sizeof names[0])], &fault);
	return rc == WET_OK || rc == WET_ERR_REFUSED;
}

/* One act of the loop; returns false if the speaker broke its word. */
static bool act(struct wet_speaker *speaker, uint64_t *state)
{
	struct wet_fault fault = { 0 };
	uint64_t r = next_random(state), owner = 1 + r / 100 % OWNERS;
	int64_t now_ns = boot_ns(NULL), at_ns = now_ns + (int64_t)(r / 1000 % 400) * NS_PER_MS - 150 * NS_PER_MS;
	enum wet_tone tone = (enum wet_tone)(r / 7 % WET_TONE_N);
	char text[160];
	int rc = 0;

	switch (r % 10) {
	case 0:
	case 1:
	case 2: rc = wet_speaker_at(speaker, owner, at_ns, tone, 1 + (int)(r / 13 % 5), 1000 + (uint32_t)(r / 17 % 9) * 500); break;
	case 3: rc = wet_speaker_now(speaker, tone, 1 + (int)(r / 13 % 3)); break;
	case 4:
	case 5: wet_speaker_cancel(speaker, owner, now_ns + (int64_t)(r / 29 % 100) * NS_PER_MS); break;
	case 6:
		wet_speaker_turn(speaker, now_ns);
		switches += wet_speaker_switched(speaker, &fault) && fault.err == WET_OK;
		(void)wet_speaker_wake_ns(speaker);
		if (r / 31 % 64 == 0) return act_seldom(speaker, next_random(state));
		break;
	case 7: wet_speaker_want(speaker, r / 31 % 8 != 0); break;
	case 8:
		if (wet_speaker_health(speaker, text, sizeof text) > WET_SPEAKER_MUTED || text[0] == '\0') return false;
		break;
	default: (void)(wet_speaker_dropped(speaker) + wet_speaker_underruns(speaker)); break;
	}
	/* A crowded queue may refuse; nothing else may go wrong. */
	return rc == WET_OK || rc == WET_ERR_TOO_MANY;
}

static bool hammer(const struct paced_card *card, uint64_t seed, int64_t length_ns)
{
	struct wet_speaker_options options = { .where = "default", .now_ns = boot_ns,
		.changed = note_change, .alive_ns = &alive_ns, .level_milli = 100 };
	struct wet_speaker *speaker = NULL;
	int64_t end_ns = boot_ns(NULL) + length_ns, gone_ns = end_ns - length_ns / 2, back_ns = gone_ns + 300 * NS_PER_MS;
	uint64_t acts = 0;
	bool is_gone = false, is_good = true;

	if (wet_speaker_open(&speaker, &options, NULL) != WET_OK) return false;
	wet_speaker_want(speaker, true);
	while (is_good && boot_ns(NULL) < end_ns) {
		bool should_be_gone = boot_ns(NULL) > gone_ns && boot_ns(NULL) < back_ns;

		if (should_be_gone != is_gone) paced_card_unplug(card, is_gone = should_be_gone);
		is_good = act(speaker, &seed);
		/* Now and then the loop sleeps, so that the feeder meets it in every place. */
		if (++acts % 64 == 0) {
			struct timespec pause = { .tv_nsec = 300000 };

			nanosleep(&pause, NULL);
		}
	}
	if (!is_good) printf("the speaker broke its word after %llu acts\n", (unsigned long long)acts);
	if (atomic_load(&alive_ns) == 0) {
		printf("the feeder did not stamp\n");
		is_good = false;
	}
	printf("%llu acts, %d switches, %llu dropped, %llu underruns, health changed %d times\n", (unsigned long long)acts, switches,
	       (unsigned long long)wet_speaker_dropped(speaker), (unsigned long long)wet_speaker_underruns(speaker),
	       atomic_load(&changes));
	wet_speaker_close(speaker);
	return is_good;
}

/* Opening and closing in quick succession: the thread's beginning and end. */
static bool open_and_close(void)
{
	struct wet_speaker_options options = { .where = "default", .now_ns = boot_ns, .changed = note_change,
		.level_milli = 100 };

	for (int i = 0; i < 12; i++) {
		struct wet_speaker *speaker;

		if (wet_speaker_open(&speaker, &options, NULL) != WET_OK) return false;
		if (i % 3 > 0) wet_speaker_want(speaker, true);
		if (i % 3 > 1) (void)wet_speaker_now(speaker, WET_TONE_BEAT, 1);
		wet_speaker_close(speaker);
	}
	return true;
}

int main(int argc, char **argv)
{
	uint64_t seed = 1;
	long seconds = 4;
	struct paced_card card;
	bool is_good;

	for (int i = 1; i + 1 < argc; i += 2) {
		if (strcmp(argv[i], "--seed") == 0) seed = strtoull(argv[i + 1], NULL, 10);
		else if (strcmp(argv[i], "--seconds") == 0) seconds = strtol(argv[i + 1], NULL, 10);
		else return 2;
	}
	printf("seed %llu\n", (unsigned long long)seed);
	bench = &card;
	if (!paced_card_bench(&card, paced_card_plugin(),
	                      "pcm.!default { type rtfile file \"@/card.raw\" gone \"@/gone\" }\n"
	                      "ctl.!default { type rtmixer file \"@/mixer\" }\n"
	                      "pcm.other { type rtfile file \"@/other.raw\" }\n"
	                      "pcm.again { type rtfile file \"@/card.raw\" gone \"@/gone\" }\n")) {
		printf("%s is not there\n", paced_card_plugin());
		return 1;
	}
	is_good = hammer(&card, seed, seconds * 1000 * NS_PER_MS) && open_and_close();
	paced_card_remove(&card);
	if (!is_good) printf("again: speaker_threads --seed %llu --seconds %ld\n", (unsigned long long)seed, seconds);
	return !is_good;
}
