/* The seven sounds: names, rank and exact length. */
#include "wetside/tones.h"

#include <criterion/criterion.h>
#include <string.h>

#define MS 1000000LL

Test(tones, there_are_seven_sounds_to_learn)
{
	const char *sounds[WET_TONE_N];
	int n = 0;
	for (int t = 0; t < WET_TONE_N; t++) {
		bool is_new = true;
		for (int i = 0; i < n; i++)
			if (strcmp(sounds[i], wet_tone_sound((enum wet_tone)t)) == 0)
				is_new = false;
		if (is_new)
			sounds[n++] = wet_tone_sound((enum wet_tone)t);
		cr_assert(wet_tone_name((enum wet_tone)t)[0] && wet_tone_text((enum wet_tone)t)[0]);
	}
	cr_assert_eq(n, 7);
}

/* The order in which a cue gives way to another: the design's list. */
Test(tones, rank_is_the_order_of_the_design)
{
	static const enum wet_tone order[] = { WET_TONE_ALARM, WET_TONE_CHANGE, WET_TONE_POUR_OUT,
										   WET_TONE_COUNT, WET_TONE_ATTEND, WET_TONE_ANSWER,
										   WET_TONE_TURN,  WET_TONE_REST,   WET_TONE_BEAT };
	for (size_t i = 1; i < sizeof order / sizeof order[0]; i++)
		cr_assert_lt(wet_tone_rank(order[i - 1]), wet_tone_rank(order[i]), "%s before %s",
					 wet_tone_name(order[i - 1]), wet_tone_name(order[i]));
	cr_assert_eq(wet_tone_rank(WET_TONE_REFUSED), wet_tone_rank(WET_TONE_ANSWER));
	cr_assert_eq(wet_tone_rank(WET_TONE_PIPS), wet_tone_rank(WET_TONE_ANSWER));
}

Test(tones, the_count_is_three_pips_a_second_apart)
{
	cr_assert_eq(wet_tone_spacing_ns(1000), 1000 * MS);
	cr_assert_eq(wet_tone_length_ns(WET_TONE_COUNT, 1, 1000), 2100 * MS);
}

Test(tones, a_rehearsal_counts_faster_but_not_too_fast_to_hear)
{
	cr_assert_eq(wet_tone_spacing_ns(2000), 500 * MS);
	cr_assert_eq(wet_tone_length_ns(WET_TONE_COUNT, 1, 2000), 1100 * MS);
	int64_t before = INT64_MAX;
	for (uint32_t rate = 1; rate <= 1000000; rate = rate * 3 / 2 + 1) {
		int64_t spacing = wet_tone_spacing_ns(rate);
		cr_assert_geq(spacing, WET_COUNT_SPACING_MS_MIN * MS);
		cr_assert_leq(spacing, before, "rate %u", rate);
		cr_assert_eq(wet_tone_length_ns(WET_TONE_COUNT, 1, rate), 2 * spacing + WET_COUNT_PIP_MS * MS);
		before = spacing;
	}
	cr_assert_eq(before, WET_COUNT_SPACING_MS_MIN * MS);
	cr_assert_eq(wet_tone_spacing_ns(0), 1000 * MS, "no rate is the plain one");
	cr_assert_gt(WET_COUNT_SPACING_MS_MIN, WET_COUNT_PIP_MS, "pips never run together");
}

Test(tones, pips_are_as_long_as_their_number)
{
	for (int n = 1; n <= WET_PIPS_MAX; n++)
		cr_assert_eq(wet_tone_length_ns(WET_TONE_PIPS, n, 1000), ((n - 1) * 280 + 90) * MS);
	cr_assert_eq(wet_tone_length_ns(WET_TONE_PIPS, 0, 1000), 90 * MS);
	cr_assert_eq(wet_tone_length_ns(WET_TONE_PIPS, -5, 1000), 90 * MS);
	cr_assert_eq(wet_tone_length_ns(WET_TONE_PIPS, WET_PIPS_MAX + 1, 1000),
				 wet_tone_length_ns(WET_TONE_PIPS, WET_PIPS_MAX, 1000));
}

Test(tones, the_others_have_one_length_whatever_the_rate)
{
	for (int t = 0; t < WET_TONE_N; t++) {
		int64_t length = wet_tone_length_ns((enum wet_tone)t, 1, 1000);
		cr_assert_gt(length, 0, "%s", wet_tone_name((enum wet_tone)t));
		if (t == WET_TONE_COUNT)
			continue;
		cr_assert_eq(wet_tone_length_ns((enum wet_tone)t, 1, 64000), length);
		if (t != WET_TONE_PIPS)
			cr_assert_eq(wet_tone_length_ns((enum wet_tone)t, 9, 1000), length);
	}
	cr_assert_eq(wet_tone_length_ns(WET_TONE_POUR_OUT, 1, 1000), 800 * MS);
	cr_assert_gt(wet_tone_length_ns(WET_TONE_REFUSED, 1, 1000), wet_tone_length_ns(WET_TONE_ANSWER, 1, 1000));
}

Test(tones, a_number_that_is_no_tone_is_answered_all_the_same)
{
	enum wet_tone wild = (enum wet_tone)(WET_TONE_N + 3);
	cr_assert_str_eq(wet_tone_name(wild), "UNKNOWN");
	cr_assert_eq(wet_tone_length_ns(wild, 1, 1000), 0);
	for (int t = 0; t < WET_TONE_N; t++)
		cr_assert_gt(wet_tone_rank(wild), wet_tone_rank((enum wet_tone)t));
}
