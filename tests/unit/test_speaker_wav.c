/* The speaker into a file: every tone at its exact sample, readable at any moment. Time is the test's. */
#include "speaker/speaker.h"
#include "wav_read.h"
#include "wetside/sound.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <criterion/criterion.h>

#define ORIGIN_NS 987654321012345LL
#define NS_PER_MS 1000000LL

static int64_t clock_ns = ORIGIN_NS;
static int changes;
static char folder[64], path[96], where[112];

static int64_t now_ns(void *ctx)
{
	(void)ctx;
	return clock_ns;
}

static void note_change(void *ctx)
{
	(void)ctx;
	changes++;
}

static struct wet_speaker *open_file(void)
{
	struct wet_speaker_options options = { .now_ns = now_ns, .changed = note_change, .level_milli = 1000 };
	struct wet_speaker *speaker = NULL;
	struct wet_fault fault = { 0 };

	snprintf(folder, sizeof folder, "/tmp/wet-wav-XXXXXX");
	cr_assert_not_null(mkdtemp(folder));
	snprintf(path, sizeof path, "%s/sound.wav", folder);
	snprintf(where, sizeof where, "file:%s", path);
	options.where = where;
	cr_assert_eq(wet_speaker_open(&speaker, &options, &fault), WET_OK, "%s %s", fault.where, fault.want);
	return speaker;
}

static void remove_file(void)
{
	unlink(path);
	rmdir(folder);
}

static int16_t *read_file(size_t *ret_frames)
{
	unsigned rate = 0;
	char comment[64] = "", want[64];
	int16_t *samples = wav_read(path, ret_frames, &rate, comment, sizeof comment);

	cr_assert_not_null(samples, "not readable as WAV");
	cr_assert_eq(rate, 48000u);
	snprintf(want, sizeof want, "origin_boot_ns=%lld", ORIGIN_NS);
	cr_assert_str_eq(comment, want);
	return samples;
}

/* What the file must hold, made with the renderer and arithmetic of another kind. */
struct expected {
	int16_t *samples;
	size_t frames;
};

static void expect_tone(struct expected *e, int64_t at_ns, enum wet_tone tone, int pips, uint32_t rate)
{
	static int16_t pcm[48000 * 20];
	size_t count = wet_tone_samples(tone, pips, rate);
	size_t at = (size_t)((at_ns - ORIGIN_NS) * 48 / 1000000 + ((at_ns - ORIGIN_NS) * 48 % 1000000 >= 500000));

	cr_assert_leq(at + count, e->frames);
	wet_tone_render(tone, pips, rate, 1000, pcm);
	wet_mix(e->samples + at, pcm, count);
}

static void assert_file(const struct expected *e)
{
	size_t frames = 0;
	int16_t *samples = read_file(&frames);

	for (size_t i = 0; i < frames || i < e->frames; i++) {
		int want = i < e->frames ? e->samples[i] : 0, got = i < frames ? samples[i] : 0;

		cr_assert_eq(got, want, "frame %zu is %d, not %d", i, got, want);
	}
	free(samples);
}

Test(speaker_wav, every_tone_lies_at_its_exact_sample)
{
	struct wet_speaker *speaker = open_file();
	struct expected e = { calloc(48000 * 30, sizeof(int16_t)), 48000 * 30 };
	uint64_t state = 5;

	for (int i = 0; i < 60; i++) {
		enum wet_tone tone = (enum wet_tone)(i % WET_TONE_N);
		int64_t at_ns;

		state = state * 6364136223846793005u + 1442695040888963407u;
		at_ns = ORIGIN_NS + (int64_t)(state % 25000000000u);
		if (at_ns < clock_ns) continue;
		cr_assert_eq(wet_speaker_at(speaker, 1, at_ns, tone, 2, 3000), WET_OK);
		expect_tone(&e, at_ns, tone, 2, 3000);
	}
	/* Turns come whenever they come. */
	for (int i = 0; i < 400; i++) {
		clock_ns += 71234567;
		wet_speaker_turn(speaker, clock_ns);
	}
	cr_expect_eq(wet_speaker_dropped(speaker), 0u);
	wet_speaker_close(speaker);
	assert_file(&e);
	free(e.samples);
	remove_file();
}

Test(speaker_wav, overlapping_tones_mix_whatever_their_order)
{
	struct wet_speaker *speaker = open_file();
	struct expected e = { calloc(48000 * 4, sizeof(int16_t)), 48000 * 4 };

	wet_speaker_at(speaker, 2, ORIGIN_NS + 700 * NS_PER_MS, WET_TONE_POUR_OUT, 1, 1000);
	wet_speaker_at(speaker, 1, ORIGIN_NS + 500 * NS_PER_MS, WET_TONE_CHANGE, 1, 1000);
	expect_tone(&e, ORIGIN_NS + 700 * NS_PER_MS, WET_TONE_POUR_OUT, 1, 1000);
	expect_tone(&e, ORIGIN_NS + 500 * NS_PER_MS, WET_TONE_CHANGE, 1, 1000);
	clock_ns = ORIGIN_NS + 750 * NS_PER_MS;
	wet_speaker_turn(speaker, clock_ns);
	cr_assert_eq(wet_speaker_now(speaker, WET_TONE_ANSWER, 1), WET_OK);
	expect_tone(&e, clock_ns, WET_TONE_ANSWER, 1, 1000);
	clock_ns = ORIGIN_NS + 3000 * NS_PER_MS;
	wet_speaker_close(speaker);
	assert_file(&e);
	free(e.samples);
	remove_file();
}

Test(speaker_wav, silence_fills_up_to_now)
{
	struct wet_speaker *speaker = open_file();
	size_t frames;
	int16_t *samples;

	samples = read_file(&frames);
	cr_expect_eq(frames, 0u, "readable at once");
	free(samples);
	clock_ns += 2500 * NS_PER_MS;
	wet_speaker_turn(speaker, clock_ns);
	samples = read_file(&frames);
	cr_expect_eq(frames, 48000u * 5 / 2);
	free(samples);
	clock_ns += 250 * NS_PER_MS;
	wet_speaker_close(speaker);
	samples = read_file(&frames);
	cr_expect_eq(frames, 48000u * 11 / 4);
	for (size_t i = 0; i < frames; i++) cr_assert_eq(samples[i], 0);
	free(samples);
	remove_file();
}

Test(speaker_wav, hours_of_silence_take_no_room)
{
	struct wet_speaker *speaker = open_file();
	struct stat st;

	clock_ns += 12 * 3600 * 1000 * NS_PER_MS;
	wet_speaker_turn(speaker, clock_ns);
	cr_expect_eq(stat(path, &st), 0);
	cr_expect_gt(st.st_size, 12LL * 3600 * 96000);
	cr_expect_lt(st.st_blocks * 512, 1000000);
	wet_speaker_close(speaker);
	remove_file();
}

Test(speaker_wav, a_cancelled_tone_is_not_in_the_file)
{
	struct wet_speaker *speaker = open_file();
	struct expected e = { calloc(48000 * 8, sizeof(int16_t)), 48000 * 8 };

	for (int s = 1; s <= 6; s++) {
		wet_speaker_at(speaker, 1, ORIGIN_NS + s * 1000 * NS_PER_MS, WET_TONE_BEAT, 1, 1000);
		wet_speaker_at(speaker, 2, ORIGIN_NS + s * 1000 * NS_PER_MS + 1, WET_TONE_TURN, 1, 1000);
		expect_tone(&e, ORIGIN_NS + s * 1000 * NS_PER_MS + 1, WET_TONE_TURN, 1, 1000);
		if (s <= 3) expect_tone(&e, ORIGIN_NS + s * 1000 * NS_PER_MS, WET_TONE_BEAT, 1, 1000);
	}
	clock_ns += 2000 * NS_PER_MS;
	wet_speaker_turn(speaker, clock_ns);
	wet_speaker_cancel(speaker, 1, ORIGIN_NS + 4000 * NS_PER_MS); /* the third is before it */
	wet_speaker_cancel(speaker, 3, 0);                            /* nobody's */
	clock_ns += 5000 * NS_PER_MS;
	wet_speaker_close(speaker);
	assert_file(&e);
	free(e.samples);
	remove_file();
}

Test(speaker_wav, what_is_over_a_tenth_of_a_second_late_is_dropped_and_counted)
{
	struct wet_speaker *speaker = open_file();
	struct expected e = { calloc(48000 * 3, sizeof(int16_t)), 48000 * 3 };

	clock_ns += 2000 * NS_PER_MS;
	wet_speaker_turn(speaker, clock_ns); /* silence has been written up to here: a late tone goes back into it */
	cr_assert_eq(wet_speaker_at(speaker, 1, clock_ns - 100 * NS_PER_MS, WET_TONE_ANSWER, 1, 1000), WET_OK);
	cr_assert_eq(wet_speaker_at(speaker, 1, clock_ns - 100 * NS_PER_MS - 1, WET_TONE_CHANGE, 1, 1000), WET_OK);
	expect_tone(&e, clock_ns - 100 * NS_PER_MS, WET_TONE_ANSWER, 1, 1000);
	cr_expect_eq(wet_speaker_dropped(speaker), 1u);
	wet_speaker_close(speaker);
	assert_file(&e);
	free(e.samples);
	remove_file();
}

Test(speaker_wav, what_was_not_due_at_the_end_is_not_in_the_file)
{
	struct wet_speaker *speaker = open_file();
	size_t frames;
	int16_t *samples;

	wet_speaker_at(speaker, 1, clock_ns + 500 * NS_PER_MS, WET_TONE_CHANGE, 1, 1000);
	clock_ns += 400 * NS_PER_MS;
	wet_speaker_close(speaker);
	samples = read_file(&frames);
	cr_expect_eq(frames, 400u * 48);
	free(samples);
	remove_file();
}

Test(speaker_wav, after_a_kill_it_can_be_read)
{
	struct expected e = { calloc(48000 * 4, sizeof(int16_t)), 48000 * 4 };
	struct wet_speaker *speaker = open_file();
	int status;
	pid_t child = fork();

	cr_assert_geq(child, 0);
	if (child == 0) {
		wet_speaker_at(speaker, 1, ORIGIN_NS + 900 * NS_PER_MS, WET_TONE_ALARM, 1, 1000);
		clock_ns += 1000 * NS_PER_MS;
		wet_speaker_turn(speaker, clock_ns);
		raise(SIGKILL);
	}
	cr_assert_eq(waitpid(child, &status, 0), child);
	cr_assert(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
	expect_tone(&e, ORIGIN_NS + 900 * NS_PER_MS, WET_TONE_ALARM, 1, 1000);
	assert_file(&e);
	free(e.samples);
	wet_speaker_close(speaker);
	remove_file();
}

Test(speaker_wav, a_full_disk_is_said_and_stops_nothing_and_heals)
{
	struct expected e = { calloc(48000 * 6, sizeof(int16_t)), 48000 * 6 };
	struct wet_speaker *speaker = open_file();
	struct rlimit before, tight;
	char text[128];
	size_t frames;

	/* A limit on the file's size is the full disk that a test can have: EFBIG for ENOSPC. */
	signal(SIGXFSZ, SIG_IGN);
	cr_assert_eq(getrlimit(RLIMIT_FSIZE, &before), 0);
	tight = before;
	tight.rlim_cur = 100 + 2 * (48000 + 5000); /* it ends within the tone */
	wet_speaker_at(speaker, 1, ORIGIN_NS + 1000 * NS_PER_MS, WET_TONE_CHANGE, 1, 1000);
	wet_speaker_at(speaker, 1, ORIGIN_NS + 3000 * NS_PER_MS, WET_TONE_TURN, 1, 1000);
	expect_tone(&e, ORIGIN_NS + 1000 * NS_PER_MS, WET_TONE_CHANGE, 1, 1000);
	expect_tone(&e, ORIGIN_NS + 3000 * NS_PER_MS, WET_TONE_TURN, 1, 1000);
	cr_assert_eq(setrlimit(RLIMIT_FSIZE, &tight), 0);
	for (int i = 0; i < 35; i++) {
		clock_ns += 100 * NS_PER_MS;
		wet_speaker_turn(speaker, clock_ns);
	}
	cr_assert_eq(setrlimit(RLIMIT_FSIZE, &before), 0);
	cr_expect_eq(wet_speaker_health(speaker, text, sizeof text), WET_SPEAKER_LOST);
	cr_expect_str_eq(text, wet_err_text(WET_ERR_FULL));
	cr_expect_eq(changes, 1, "said %d times, not once", changes);
	free(read_file(&frames)); /* readable all the time */
	cr_assert_eq(wet_speaker_now(speaker, WET_TONE_ANSWER, 1), WET_OK);
	expect_tone(&e, clock_ns, WET_TONE_ANSWER, 1, 1000);
	clock_ns += 1500 * NS_PER_MS;
	wet_speaker_turn(speaker, clock_ns);
	cr_expect_eq(wet_speaker_health(speaker, NULL, 0), WET_SPEAKER_OK);
	cr_expect_eq(changes, 2);
	cr_expect_eq(wet_speaker_dropped(speaker), 0u);
	wet_speaker_close(speaker);
	assert_file(&e);
	free(e.samples);
	remove_file();
}

Test(speaker_wav, a_lost_file_gives_up_the_earliest_when_no_more_fits)
{
	struct wet_speaker *speaker = open_file();
	struct rlimit before, tight;

	signal(SIGXFSZ, SIG_IGN);
	cr_assert_eq(getrlimit(RLIMIT_FSIZE, &before), 0);
	tight = before;
	tight.rlim_cur = 1000;
	cr_assert_eq(setrlimit(RLIMIT_FSIZE, &tight), 0);
	for (int i = 0; i < 1500; i++) {
		clock_ns += 100 * NS_PER_MS;
		cr_assert_eq(wet_speaker_at(speaker, 1, clock_ns, WET_TONE_BEAT, 1, 1000), WET_OK);
		wet_speaker_turn(speaker, clock_ns);
	}
	cr_assert_eq(setrlimit(RLIMIT_FSIZE, &before), 0);
	cr_expect_eq(wet_speaker_dropped(speaker), 1500u - 1024u);
	wet_speaker_close(speaker);
	remove_file();
}

Test(speaker_wav, a_full_queue_is_an_error)
{
	struct wet_speaker *speaker = open_file();
	int rc = WET_OK, queued = 0;

	while (rc == WET_OK && queued < 5000) {
		rc = wet_speaker_at(speaker, 1, clock_ns + 1000000000LL, WET_TONE_BEAT, 1, 1000);
		queued += rc == WET_OK;
	}
	cr_expect_eq(rc, WET_ERR_TOO_MANY);
	cr_expect_eq(queued, 1024);
	wet_speaker_cancel(speaker, 1, 0);
	cr_expect_eq(wet_speaker_at(speaker, 1, clock_ns, WET_TONE_BEAT, 1, 1000), WET_OK);
	wet_speaker_close(speaker);
	remove_file();
}

Test(speaker_wav, beyond_what_a_wav_can_hold_it_says_so_and_the_rest_stays)
{
	struct wet_speaker *speaker = open_file();
	char text[128];

	clock_ns += 13LL * 3600 * 1000 * NS_PER_MS;
	wet_speaker_turn(speaker, clock_ns);
	cr_expect_eq(wet_speaker_health(speaker, text, sizeof text), WET_SPEAKER_LOST);
	cr_expect_not_null(strstr(text, "twelve hours"));
	cr_expect_eq(wet_speaker_now(speaker, WET_TONE_ALARM, 1), WET_OK);
	wet_speaker_turn(speaker, clock_ns + 2000 * NS_PER_MS);
	cr_expect_eq(wet_speaker_dropped(speaker), 1u);
	wet_speaker_close(speaker);
	remove_file();
}

Test(speaker_wav, what_cannot_be_written_is_an_error_with_its_place)
{
	static const struct {
		const char *where;
		int err;
	} rows[] = {
		{ "file:/tmp/no-such-folder-of-wet/x.wav", WET_ERR_NOT_FOUND },
		{ "file:/dev/null", WET_ERR_INVALID },
		{ "file:/tmp", WET_ERR_IO },
		{ "file:", WET_ERR_INVALID },
		{ "alsa:", WET_ERR_INVALID },
		{ "loud", WET_ERR_INVALID },
		{ "", WET_ERR_INVALID },
	};

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct wet_speaker_options options = { .where = rows[i].where, .now_ns = now_ns };
		struct wet_speaker *speaker = (void *)&options; /* untouched on failure */
		struct wet_fault fault = { 0 };

		cr_expect_eq(wet_speaker_open(&speaker, &options, &fault), rows[i].err, "%s", rows[i].where);
		cr_expect_eq(fault.err, rows[i].err);
		cr_expect_neq(fault.where[0], '\0');
		cr_expect_eq((void *)speaker, (void *)&options);
	}
}

Test(speaker_wav, a_place_as_long_as_a_configuration_holds_opens)
{
	struct wet_speaker_options options = { .now_ns = now_ns };
	struct wet_speaker *speaker;
	struct wet_fault fault = { 0 };
	char deep[WET_SPEAKER_WHERE_BYTES + 1];

	cr_assert_eq(mkdtemp(strcpy(folder, "/tmp/wet-wav-XXXXXX")), folder);
	for (int n = (int)sizeof deep - 2; n < (int)sizeof deep; n++) { /* 255 bytes, and one too many */
		snprintf(deep, sizeof deep, "file:%s/%0*d", folder, n - (int)strlen(folder) - 6, 0);
		cr_assert_eq((int)strlen(deep), n);
		options.where = deep;
		cr_expect_eq(wet_speaker_open(&speaker, &options, &fault), n < WET_SPEAKER_WHERE_BYTES ? WET_OK : WET_ERR_TOO_LONG);
		if (n < WET_SPEAKER_WHERE_BYTES) wet_speaker_close(speaker);
		unlink(deep + 5);
	}
	rmdir(folder);
}

Test(speaker_wav, words_under_way_when_the_daemon_ends_are_whole_in_a_younger_file)
{
	static int16_t said[48000];
	struct wet_speaker *speaker;
	struct wet_fault fault = { 0 };
	struct wet_pcm *words;
	size_t frames = 0;
	int16_t *in_file;
	char other[112];

	for (int i = 0; i < 48000; i++) said[i] = 1000;
	clock_ns = ORIGIN_NS - 250 * NS_PER_MS;
	speaker = open_file();
	words = wet_speaker_words(speaker, said, 48000, 1000);
	cr_assert_eq(wet_speaker_say(speaker, clock_ns, words), WET_OK);
	clock_ns = ORIGIN_NS;
	wet_speaker_turn(speaker, clock_ns);
	snprintf(other, sizeof other, "file:%s/other.wav", folder);
	cr_assert_eq(wet_speaker_switch(speaker, other, &fault), WET_OK, "%s", fault.want);
	cr_assert(wet_speaker_switched(speaker, &fault));
	wet_speaker_close(speaker);
	cr_assert(wet_speaker_words_free(NULL, words));
	unlink(path);
	snprintf(path, sizeof path, "%s", other + 5);
	in_file = read_file(&frames);
	cr_assert_eq(frames, 36000u, "the second's other three quarters; %zu", frames);
	for (size_t i = 0; i < frames; i++) cr_assert_eq(in_file[i], 1000, "frame %zu", i);
	free(in_file);
	remove_file();
}

Test(speaker_wav, none_takes_everything_and_says_silent)
{
	struct wet_speaker_options options = { .where = "none", .now_ns = now_ns };
	struct wet_speaker *speaker;
	char text[64];

	cr_assert_eq(wet_speaker_open(&speaker, &options, NULL), WET_OK);
	cr_expect_eq(wet_speaker_at(speaker, 1, clock_ns, WET_TONE_CHANGE, 1, 1000), WET_OK);
	cr_expect_eq(wet_speaker_now(speaker, WET_TONE_ANSWER, 1), WET_OK);
	wet_speaker_want(speaker, true);
	wet_speaker_turn(speaker, clock_ns);
	wet_speaker_cancel(speaker, 1, 0);
	cr_expect_eq(wet_speaker_health(speaker, text, sizeof text), WET_SPEAKER_SILENT);
	cr_expect_eq(wet_speaker_dropped(speaker), 0u);
	wet_speaker_close(speaker);
	wet_speaker_close(NULL);
}

Test(speaker_wav, words_are_written_as_they_are_said_and_can_be_stopped)
{
	static int16_t said[48000];
	struct wet_speaker *speaker = open_file();
	struct wet_pcm *words;
	size_t frames = 0;
	int16_t *in_file;

	for (int i = 0; i < 48000; i++) said[i] = 1000;
	clock_ns = ORIGIN_NS;
	words = wet_speaker_words(speaker, said, 48000, 500);
	cr_assert_not_null(words);
	cr_assert_eq(wet_speaker_words_samples(words), 48000u);
	cr_assert_eq(wet_speaker_say(speaker, ORIGIN_NS + 100 * 1000000LL, words), WET_OK);
	cr_assert_not(wet_speaker_words_free(speaker, words), "they are to be said");
	for (int ms = 0; ms <= 500; ms += 50) {
		clock_ns = ORIGIN_NS + ms * 1000000LL;
		wet_speaker_turn(speaker, clock_ns);
	}
	wet_speaker_stop_words(speaker, clock_ns);
	clock_ns = ORIGIN_NS + 2000 * 1000000LL;
	wet_speaker_turn(speaker, clock_ns);
	cr_assert(wet_speaker_words_free(speaker, words));
	wet_speaker_close(speaker);
	in_file = read_file(&frames);
	for (int i = 0; i < (int)frames; i++) {
		if (i < 4800 || i >= 24000 + 480) cr_assert_eq(in_file[i], 0, "frame %d", i);
		else if (i < 24000) cr_assert_eq(in_file[i], 500, "frame %d", i);
		else cr_assert_leq(abs(in_file[i] - in_file[i - 1]), 2, "frame %d", i);
	}
	free(in_file);
	remove_file();
}
