/* Whose words are next: by urgency, never into the run's next cue, one at a time. */
#include "sound/talk.h"

#include <criterion/criterion.h>

#define S 1000000000LL
#define MS 1000000LL

static struct wet_talk talk;

static int64_t add(uint64_t owner, enum wet_tone tone, bool is_planned, int64_t cue_ns, int64_t length_ns, int64_t until_ns)
{
	return wet_talk_add(&talk,
						&(struct wet_sentence){ .owner = owner,
												.tone = tone,
												.is_planned = is_planned,
												.cue_ns = cue_ns,
												.from_ns = cue_ns + S,
												.until_ns = until_ns,
												.length_ns = length_ns },
						cue_ns - 150 * MS);
}

Test(talk, words_begin_when_their_tone_has_ended)
{
	struct wet_sentence s;
	add(1, WET_TONE_CHANGE, true, 10 * S, 2 * S, INT64_MAX);
	cr_assert_not(wet_talk_next(&talk, 10 * S, &s));
	cr_assert_eq(wet_talk_wake_ns(&talk), 11 * S - WET_TALK_AHEAD_NS);
	cr_assert(wet_talk_next(&talk, wet_talk_wake_ns(&talk), &s));
	cr_assert_eq(s.from_ns, 11 * S);
	cr_assert_eq(wet_talk_wake_ns(&talk), INT64_MAX, "nothing waits: nobody is woken");
}

Test(talk, the_most_urgent_goes_first_then_the_earliest_and_one_at_a_time)
{
	static const struct {
		uint64_t owner;
		enum wet_tone tone;
		int64_t cue_ns;
	} in[] = { { 1, WET_TONE_TURN, 10 * S }, { 2, WET_TONE_ATTEND, 10 * S + 2 }, { 3, WET_TONE_CHANGE, 10 * S + 3 },
			   { 4, WET_TONE_ATTEND, 10 * S + 1 } };
	static const uint64_t order[] = { 3, 4, 2, 1 };
	struct wet_sentence s;
	int64_t now_ns = 11 * S + 4, ended_ns = 0;
	for (int i = 0; i < 4; i++)
		add(in[i].owner, in[i].tone, true, in[i].cue_ns, S, INT64_MAX);
	for (int i = 0; i < 4; i++) {
		cr_assert(wet_talk_next(&talk, now_ns, &s), "%d", i);
		cr_assert_eq(s.owner, order[i]);
		cr_assert_geq(s.from_ns, ended_ns);
		ended_ns = s.from_ns + S;
		cr_assert_not(wet_talk_next(&talk, ended_ns - 1, &s), "two at once");
		now_ns = ended_ns;
	}
	cr_assert_eq(talk.left_out, 0);
}

Test(talk, what_would_run_into_the_next_cue_is_left_out_whole)
{
	struct wet_sentence s;
	add(1, WET_TONE_ATTEND, true, 10 * S, 2 * S, 12 * S + 999 * MS);
	cr_assert_not(wet_talk_next(&talk, 11 * S - 60 * MS, &s));
	cr_assert_eq(talk.left_out, 1);
	cr_assert_eq(talk.count, 0);
	add(1, WET_TONE_ATTEND, true, 20 * S, 2 * S, 23 * S);
	cr_assert(wet_talk_next(&talk, 21 * S - 60 * MS, &s));
}

Test(talk, what_waited_for_another_run_too_long_is_left_out)
{
	struct wet_sentence s;
	add(1, WET_TONE_ATTEND, true, 10 * S, 8 * S, INT64_MAX);
	cr_assert(wet_talk_next(&talk, 11 * S, &s));
	add(2, WET_TONE_TURN, true, 11 * S, S, INT64_MAX);
	cr_assert_not(wet_talk_next(&talk, 18 * S, &s));
	cr_assert(!wet_talk_next(&talk, 19 * S + 100 * MS, &s) && talk.count == 0 && talk.left_out == 1);
}

Test(talk, an_answer_cuts_what_its_run_says_and_no_other)
{
	struct wet_sentence s;
	add(1, WET_TONE_ATTEND, true, 10 * S, 5 * S, INT64_MAX);
	cr_assert(wet_talk_next(&talk, 11 * S, &s));
	cr_assert_eq(add(2, WET_TONE_ANSWER, false, 12 * S, S, INT64_MAX), INT64_MAX);
	cr_assert_eq(add(1, WET_TONE_ANSWER, false, 13 * S, S, INT64_MAX), 13 * S - 150 * MS);
}

Test(talk, only_the_newest_answer_of_a_run_is_said)
{
	struct wet_sentence s;
	add(1, WET_TONE_ANSWER, false, 10 * S, S, INT64_MAX);
	add(1, WET_TONE_ANSWER, false, 10 * S + 1, 2 * S, INT64_MAX);
	cr_assert_eq(talk.count, 1);
	cr_assert(wet_talk_next(&talk, 11 * S + 1, &s));
	cr_assert_eq(s.length_ns, 2 * S);
}

Test(talk, a_change_cuts_its_run_at_its_tone_and_a_turn_does_not)
{
	struct wet_sentence s;
	add(1, WET_TONE_ATTEND, true, 10 * S, 5 * S, INT64_MAX);
	cr_assert(wet_talk_next(&talk, 11 * S, &s));
	cr_assert_eq(add(1, WET_TONE_TURN, true, 12 * S, S, INT64_MAX), INT64_MAX);
	cr_assert_eq(add(1, WET_TONE_CHANGE, true, 13 * S, S, INT64_MAX), 13 * S);
}

Test(talk, an_alarm_cuts_another_run_which_says_it_again_afterwards)
{
	struct wet_sentence s;
	add(1, WET_TONE_ATTEND, true, 10 * S, 2 * S, 20 * S);
	cr_assert(wet_talk_next(&talk, 11 * S, &s));
	cr_assert_eq(add(2, WET_TONE_ALARM, false, 12 * S, S, INT64_MAX), 12 * S - 150 * MS);
	cr_assert(wet_talk_next(&talk, 13 * S, &s));
	cr_assert_eq(s.owner, 2);
	cr_assert(wet_talk_next(&talk, s.from_ns + S, &s));
	cr_assert_eq(s.owner, 1);
}

Test(talk, what_two_alarms_cut_is_said_again_once)
{
	struct wet_sentence s;
	add(1, WET_TONE_ATTEND, true, 10 * S, 5 * S, INT64_MAX);
	cr_assert(wet_talk_next(&talk, 11 * S, &s));
	cr_assert_eq(add(2, WET_TONE_ALARM, true, 13 * S, S, INT64_MAX), 13 * S);
	cr_assert_eq(add(3, WET_TONE_ALARM, false, 12 * S, S, INT64_MAX), 12 * S - 150 * MS);
	cr_assert_eq(talk.count, 3, "the two alarms, and once what they cut");
}

Test(talk, words_that_were_never_made_are_given_up_and_pips_say_the_digit)
{
	struct wet_sentence s;
	wet_talk_add(&talk, &(struct wet_sentence){ .tone = WET_TONE_ATTEND, .from_ns = S, .until_ns = INT64_MAX, .pips = 3 }, S);
	cr_assert_not(wet_talk_next(&talk, S + WET_TALK_LATE_NS, &s));
	cr_assert_eq(wet_talk_wake_ns(&talk), S + WET_TALK_LATE_NS + 1);
	cr_assert(wet_talk_next(&talk, wet_talk_wake_ns(&talk), &s));
	cr_assert_eq(s.length_ns, 0);
	cr_assert_eq(s.pips, 3);
	cr_assert_not(wet_talk_next(&talk, wet_talk_wake_ns(&talk), &s));
}

Test(talk, what_an_act_took_back_is_not_said)
{
	struct wet_sentence s;
	add(1, WET_TONE_CHANGE, true, 10 * S, S, INT64_MAX);
	add(2, WET_TONE_CHANGE, true, 10 * S, S, INT64_MAX);
	cr_assert_not(wet_talk_cancel(&talk, 1, 10 * S));
	cr_assert_eq(talk.count, 1);
	cr_assert(wet_talk_next(&talk, 11 * S, &s));
	cr_assert_not(wet_talk_cancel(&talk, 2, 10 * S + 1), "it had sounded");
	cr_assert(wet_talk_cancel(&talk, 2, 10 * S));
}

Test(talk, a_full_queue_leaves_out_the_least_urgent)
{
	for (int i = 0; i < WET_TALK; i++)
		add((uint64_t)i + 1, WET_TONE_ATTEND, true, 10 * S + i, S, INT64_MAX);
	add(200, WET_TONE_TURN, true, 10 * S, S, INT64_MAX);
	add(201, WET_TONE_CHANGE, true, 11 * S, S, INT64_MAX);
	cr_assert_eq(talk.count, WET_TALK);
	cr_assert_eq(talk.left_out, 2);
	for (size_t i = 0; i < talk.count; i++)
		cr_assert(talk.waiting[i].owner != 200 && talk.waiting[i].owner != WET_TALK);
}
