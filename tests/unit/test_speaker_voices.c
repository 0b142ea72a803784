/* Which samples go into the next frames of a device: the commit of the feeder, without a device. */
#include "speaker/voices.h"

#include "wetside/errors.h"

#include <stdlib.h>
#include <string.h>

#include <criterion/criterion.h>

#define PERIOD 240
#define PERIOD_NS 5000000LL

/* Frame f is audible at exactly f / 48000 s after ORIGIN_NS. */
#define ORIGIN_NS 5000000000000LL
#define FRAME_NS(frame) (ORIGIN_NS + (frame) * 1000000000LL / WET_SAMPLE_RATE)

static struct wet_voices voices;
static struct wet_clock_map map;
static int16_t heard[48000 * 4];

static struct wet_pcm *make_pcm(size_t samples, int16_t value)
{
	struct wet_pcm *pcm = calloc(1, sizeof *pcm + samples * sizeof pcm->sample[0]);

	cr_assert_not_null(pcm);
	pcm->samples = samples;
	pcm->users = 1;
	for (size_t i = 0; i < samples; i++) pcm->sample[i] = value;
	return pcm;
}

static void begin(void)
{
	memset(&voices, 0, sizeof voices);
	memset(heard, 0, sizeof heard);
	wet_clock_map_init(&map, WET_SAMPLE_RATE);
	wet_clock_map_look(&map, ORIGIN_NS, 0);
}

/* Plays frames from..to in periods, as the feeder does: committed 30 ms ahead. */
static void play(uint32_t stream, int64_t from, int64_t to)
{
	for (int64_t at = from; at < to; at += PERIOD)
		wet_voices_mix(&voices, &map, stream, FRAME_NS(at) - 30000000, at, heard + at, PERIOD);
}

static void assert_heard(int64_t from, int64_t to, int16_t value)
{
	for (int64_t i = 0; i < (int64_t)(sizeof heard / sizeof heard[0]); i++)
		cr_assert_eq(heard[i], i >= from && i < to ? value : 0, "frame %ld is %d", (long)i, heard[i]);
}

static void add_planned(struct wet_pcm *pcm, uint64_t owner, int64_t at_ns)
{
	struct wet_voice voice = { .owner = owner, .at_ns = at_ns, .pcm = pcm };

	cr_assert_eq(wet_voices_add(&voices, &voice), WET_OK);
}

Test(voices, a_planned_tone_sounds_at_its_very_frame_wherever_periods_end)
{
	for (int64_t frame = 4700; frame < 4700 + 2 * PERIOD; frame += 37) {
		struct wet_pcm *pcm = make_pcm(1000, 5);

		begin();
		add_planned(pcm, 1, FRAME_NS(frame));
		play(0, 0, 9600);
		assert_heard(frame, frame + 1000, 5);
		cr_assert_eq(voices.count, 0u);
		cr_assert_eq(pcm->users, 0u);
		cr_assert_eq(voices.dropped, 0u);
		free(pcm);
	}
}

Test(voices, an_answer_sounds_at_the_next_frame_without_a_map)
{
	struct wet_pcm *pcm = make_pcm(500, 3);
	struct wet_voice voice = { .at_ns = FRAME_NS(960) - 30000000, .is_asap = true, .pcm = pcm };

	begin();
	wet_clock_map_reset(&map);
	play(0, 0, 960);
	cr_assert_eq(wet_voices_add(&voices, &voice), WET_OK);
	play(0, 960, 4800);
	assert_heard(960, 1460, 3);
	free(pcm);
}

Test(voices, a_planned_tone_waits_for_the_map)
{
	struct wet_pcm *pcm = make_pcm(500, 3);

	begin();
	add_planned(pcm, 1, FRAME_NS(480));
	wet_clock_map_reset(&map);
	play(0, 0, 240);
	cr_assert_eq(voices.count, 1u);
	wet_clock_map_look(&map, ORIGIN_NS, 0);
	play(0, 240, 2400);
	assert_heard(480, 980, 3);
	free(pcm);
}

Test(voices, what_overlaps_is_added)
{
	struct wet_pcm *one = make_pcm(1000, 5), *other = make_pcm(1000, 7);

	begin();
	add_planned(one, 1, FRAME_NS(1000));
	add_planned(other, 2, FRAME_NS(1500));
	play(0, 0, 4800);
	cr_assert_eq(heard[999], 0);
	cr_assert_eq(heard[1000], 5);
	cr_assert_eq(heard[1499], 5);
	cr_assert_eq(heard[1500], 12);
	cr_assert_eq(heard[1999], 12);
	cr_assert_eq(heard[2000], 7);
	cr_assert_eq(heard[2499], 7);
	cr_assert_eq(heard[2500], 0);
	free(one);
	free(other);
}

Test(voices, a_little_late_sounds_at_once_and_over_a_tenth_of_a_second_never)
{
	struct wet_pcm *late = make_pcm(500, 3), *lost = make_pcm(500, 9);

	begin();
	add_planned(late, 1, FRAME_NS(9600) - 99000000);
	add_planned(lost, 1, FRAME_NS(9600) - 101000000);
	play(0, 9600, 12000);
	assert_heard(9600, 10100, 3);
	cr_assert_eq(voices.dropped, 1u);
	free(late);
	free(lost);
}

Test(voices, cancel_forgets_the_owners_planned_ones_from_then_on)
{
	struct wet_pcm *pcm = make_pcm(100, 3);

	begin();
	pcm->users = 4;
	add_planned(pcm, 1, FRAME_NS(1000)); /* under way when the cancel comes */
	add_planned(pcm, 1, FRAME_NS(2000)); /* before from_ns */
	add_planned(pcm, 2, FRAME_NS(3000)); /* another's */
	add_planned(pcm, 1, FRAME_NS(4000));
	play(0, 960, 1080 + 120);
	wet_voices_cancel(&voices, 1, FRAME_NS(2500));
	cr_assert_eq(voices.count, 2u);
	wet_voices_cancel(&voices, 1, FRAME_NS(2000)); /* from_ns itself is forgotten too */
	cr_assert_eq(voices.count, 1u);
	play(0, 1200, 9600);
	cr_assert_eq(heard[1000], 3);
	cr_assert_eq(heard[2000], 0);
	cr_assert_eq(heard[3000], 3);
	cr_assert_eq(heard[4000], 0);
	cr_assert_eq(pcm->users, 0u);
	cr_assert_eq(voices.dropped, 0u, "what is cancelled is not dropped");
	free(pcm);
}

Test(voices, cancel_leaves_a_tone_that_sounds)
{
	struct wet_pcm *pcm = make_pcm(2000, 3);

	begin();
	add_planned(pcm, 1, FRAME_NS(1000));
	play(0, 0, 1200);
	wet_voices_cancel(&voices, 1, 0);
	play(0, 1200, 4800);
	assert_heard(1000, 3000, 3);
	free(pcm);
}

Test(voices, after_an_underrun_a_tone_goes_on_where_the_clock_is)
{
	struct wet_pcm *pcm = make_pcm(4800, 3);

	begin();
	add_planned(pcm, 1, FRAME_NS(1200));
	play(0, 0, 2400);
	/* The device stood still for 1,000 frames of time: the new stream's frame f is audible 1,000 frames later. */
	wet_clock_map_reset(&map);
	play(1, 2400, 2880); /* no map yet: silent */
	wet_clock_map_look(&map, FRAME_NS(2880 + 1000), 2880);
	play(1, 2880, 9600);
	for (int i = 0; i < 9600; i++)
		cr_assert_eq(heard[i], (i >= 1200 && i < 2400) || (i >= 2880 && i < 5000) ? 3 : 0, "frame %d is %d", i, heard[i]);
	cr_assert_eq(voices.count, 0u);
	free(pcm);
}

Test(voices, what_is_too_late_is_dropped_and_counted_without_a_device)
{
	struct wet_pcm *pcm = make_pcm(480, 3);
	struct wet_voice answer = { .at_ns = FRAME_NS(0), .is_asap = true, .pcm = pcm };

	begin();
	pcm->users = 2;
	add_planned(pcm, 1, FRAME_NS(0));
	cr_assert_eq(wet_voices_add(&voices, &answer), WET_OK);
	wet_voices_drop_late(&voices, FRAME_NS(0) + 100000000);
	cr_assert_eq(voices.count, 2u);
	wet_voices_drop_late(&voices, FRAME_NS(0) + 100000001);
	cr_assert_eq(voices.count, 1u);
	wet_voices_drop_late(&voices, FRAME_NS(0) + 500000001);
	cr_assert_eq(voices.count, 0u);
	cr_assert_eq(voices.dropped, 2u);
	cr_assert_eq(pcm->users, 0u);
	free(pcm);
}

Test(voices, a_device_is_needed_two_seconds_ahead_and_at_once_for_an_answer)
{
	struct wet_pcm *pcm = make_pcm(480, 3);
	struct wet_voice answer = { .at_ns = FRAME_NS(0), .is_asap = true, .pcm = pcm };

	begin();
	pcm->users = 2;
	cr_assert_eq(wet_voices_needed_ns(&voices), INT64_MAX);
	add_planned(pcm, 1, FRAME_NS(480000));
	cr_assert_eq(wet_voices_needed_ns(&voices), FRAME_NS(480000) - 2000000000);
	cr_assert_eq(wet_voices_add(&voices, &answer), WET_OK);
	cr_assert_lt(wet_voices_needed_ns(&voices), FRAME_NS(0));
	wet_voices_clear(&voices);
	free(pcm);
}

Test(voices, a_full_queue_refuses_and_takes_nothing)
{
	struct wet_pcm *pcm = make_pcm(10, 3);
	struct wet_voice one = { .owner = 1, .at_ns = FRAME_NS(480000), .pcm = pcm };

	begin();
	pcm->users = WET_VOICES + 1;
	for (int i = 0; i < WET_VOICES; i++) cr_assert_eq(wet_voices_add(&voices, &one), WET_OK);
	cr_assert_eq(wet_voices_add(&voices, &one), WET_ERR_TOO_MANY);
	cr_assert_eq(voices.count, (size_t)WET_VOICES);
	wet_voices_clear(&voices);
	cr_assert_eq(pcm->users, 1u);
	free(pcm);
}

Test(voices, the_cache_gives_one_rendering_to_all_and_keeps_what_is_in_use)
{
	static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
	struct wet_tone_cache cache;
	struct wet_pcm *one, *same, *other;

	wet_tone_cache_init(&cache, 1000);
	cr_assert_eq(wet_tone_cache_get(&cache, &lock, WET_TONE_BEAT, 1, 1000, &one), WET_OK);
	cr_assert_eq(wet_tone_cache_get(&cache, &lock, WET_TONE_BEAT, 9, 7000, &same), WET_OK);
	cr_assert_eq(one, same);
	cr_assert_eq(one->users, 2u);
	/* More numbers than fit: 64 pips are 1.7 MB, the cache holds 8 MiB. What nobody uses makes room. */
	for (int pips = 1; pips <= WET_PIPS_MAX; pips++) {
		cr_assert_eq(wet_tone_cache_get(&cache, &lock, WET_TONE_PIPS, pips, 1000, &other), WET_OK);
		cr_assert_leq(cache.bytes, (size_t)WET_TONE_CACHE_BYTES);
		other->users--;
	}
	cr_assert_eq(wet_tone_cache_get(&cache, &lock, WET_TONE_BEAT, 1, 1000, &same), WET_OK);
	cr_assert_eq(one, same, "it was in use and is still there");
	/* Everything in use: refused, and nothing is lost. */
	int rc = WET_OK, got = 0;

	for (int pips = 1; pips <= WET_PIPS_MAX && rc == WET_OK; pips++, got++)
		rc = wet_tone_cache_get(&cache, &lock, WET_TONE_PIPS, pips, 1000, &other);
	cr_assert_eq(rc, WET_ERR_TOO_MANY);
	cr_assert_gt(got, 8);
	cr_assert_eq(wet_tone_cache_get(&cache, &lock, WET_TONE_N, 1, 1000, &other), WET_ERR_INVALID);
	wet_tone_cache_release(&cache);
}

static struct wet_pcm *add_words(int64_t at_ns)
{
	struct wet_pcm *pcm = make_pcm(9600, 1000);
	struct wet_voice voice = { .at_ns = at_ns, .pcm = pcm, .is_words = true };

	begin();
	cr_assert_eq(wet_voices_add(&voices, &voice), WET_OK);
	return pcm;
}

/* A fade over 10 ms from where it was stopped, then nothing; no step is larger than one of the fade. */
static void assert_faded(int64_t from, int64_t stopped)
{
	for (int64_t i = from; i < stopped; i++) cr_assert_eq(heard[i], 1000, "frame %ld", (long)i);
	for (int64_t i = stopped; i < stopped + WET_VOICE_FADE; i++)
		cr_assert(abs(heard[i] - heard[i - 1]) <= 3 && heard[i] <= heard[i - 1], "frame %ld: %d", (long)i, heard[i]);
	for (int64_t i = stopped + WET_VOICE_FADE; i < 48000; i++) cr_assert_eq(heard[i], 0, "frame %ld", (long)i);
}

Test(voices, words_stop_where_they_are_told_to_and_do_not_click)
{
	for (int64_t stop = 3000; stop < 3000 + 2 * PERIOD; stop += 53) {
		struct wet_pcm *pcm = add_words(FRAME_NS(1000));

		play(0, 0, 2400);
		wet_voices_stop_words(&voices, FRAME_NS(stop));
		play(0, 2400, 48000);
		/* The clock's nanoseconds may lie a frame beside. */
		assert_faded(1000, heard[stop - 1] == 1000 ? stop : stop - 1);
		cr_assert_eq(voices.count, 0u);
		cr_assert_eq(pcm->users, 0u);
		free(pcm);
	}
}

Test(voices, words_that_are_stopped_too_late_fade_from_what_can_still_be_changed)
{
	struct wet_pcm *pcm = add_words(FRAME_NS(1000));

	play(0, 0, 4800);
	wet_voices_stop_words(&voices, FRAME_NS(3000));
	play(0, 4800, 48000);
	assert_faded(1000, 4800);
	free(pcm);
}

Test(voices, words_that_were_to_begin_after_the_stop_are_forgotten_and_tones_go_on)
{
	struct wet_pcm *words = add_words(FRAME_NS(5000)), *tone = make_pcm(100, 7);

	add_planned(tone, 1, FRAME_NS(6000));
	wet_voices_cancel(&voices, 0, FRAME_NS(0)); /* what an act takes back is tones: words have their own queue */
	cr_assert_eq(voices.count, 2u);
	wet_voices_stop_words(&voices, FRAME_NS(4000));
	cr_assert_eq(words->users, 0u);
	play(0, 0, 48000);
	assert_heard(6000, 6100, 7);
	cr_assert_eq(voices.dropped, 0u);
	free(words);
	free(tone);
}
