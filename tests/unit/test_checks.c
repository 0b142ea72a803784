/* Answers to a checklist: kept in order, the last counts, and they stand for a working day. */
#include "darkroom/checklist.h"
#include "room_fake.h"

#include "base/text.h"

#include <string.h>

#include <criterion/criterion.h>

static struct room_fake f;
static struct wet_checklist got;
static int got_err;

static void take(void *ctx, const struct wet_checklist *list, const struct wet_fault *fault)
{
	(void)ctx;
	got_err = fault->err;
	if (list)
		got = *list;
}

static struct wet_check check_of(const char *key, enum wet_check_answer answer)
{
	struct wet_check check = { .answer = answer };
	wet_text_copy(check.key, sizeof check.key, key);
	wet_text_format(check.text, sizeof check.text, "Is the %s all right?", key);
	return check;
}

static void answer(struct wet_live *live, const char *key, enum wet_check_answer word)
{
	const struct wet_check check = check_of(key, word);
	wet_darkroom_check(f.room, live, "Ada", 7, &check, 1, take, NULL);
	cr_assert_eq(got_err, WET_OK);
}

static struct wet_live *arm(const char *name, const char *room)
{
	struct wet_arming a = { .pieces = 2, .fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN };
	wet_text_copy(a.recipe_name, sizeof a.recipe_name, "direct-positive-fibre-tank");
	wet_text_copy(a.run_name, sizeof a.run_name, name);
	wet_text_copy(a.person, sizeof a.person, "Ada");
	wet_text_copy(a.room, sizeof a.room, room);
	room_fake_arm(&f, &a);
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	return f.live;
}

Test(checks, the_last_answer_counts_and_none_is_lost)
{
	room_fake_open(&f);
	struct wet_live *live = arm("one", "");
	answer(live, "vessel", WET_CHECK_SKIPPED);
	answer(live, "gloves", WET_CHECK_CONFIRMED);
	answer(live, "vessel", WET_CHECK_CONFIRMED);
	answer(live, "vessel", WET_CHECK_CONFIRMED); /* said twice is once */
	cr_assert_eq(got.now.count, 2);
	cr_assert_eq(wet_answer_to(&got.now, "vessel")->answer, WET_CHECK_CONFIRMED);
	cr_assert_eq(wet_answer_to(&got.now, "vessel")->seq, 3);
	cr_assert_str_eq(wet_answer_to(&got.now, "gloves")->person, "Ada");
	cr_assert_eq(wet_answer_to(&got.now, "gloves")->uid, 7);
	cr_assert_null(wet_answer_to(&got.now, "tide"));
	cr_assert_eq(got.before_id, 0);
	room_fake_restart(&f, 1000000000LL);
	live = wet_darkroom_find(f.room, "one");
	wet_darkroom_checklist(f.room, live, take, NULL);
	cr_assert_eq(got.now.count, 2, "the answers outlive the daemon");
	room_fake_close(&f);
}

Test(checks, what_came_before_is_of_the_same_person_vessel_and_room)
{
	room_fake_open(&f);
	struct wet_live *first = arm("one", "");
	answer(first, "gloves", WET_CHECK_CONFIRMED);
	struct wet_live *other = arm("two", "cellar");
	wet_darkroom_checklist(f.room, other, take, NULL);
	cr_assert_eq(got.before_id, 0);
	struct wet_live *again = arm("three", "");
	wet_darkroom_checklist(f.room, again, take, NULL);
	cr_assert_eq(got.before_id, first->id);
	cr_assert_eq(got.before.count, 1);
	room_fake_close(&f);
}

Test(checks, an_answer_stands_for_a_working_day_of_one_clock)
{
	const int64_t now = 1700000000000;
	struct wet_check c = check_of("gloves", WET_CHECK_CONFIRMED);
	static const struct {
		int64_t ago_ms;
		bool stands;
	} rows[] = { { 0, true }, { WET_WORKING_DAY_MS, true }, { WET_WORKING_DAY_MS + 1, false }, { -1, false } };
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		c.since_ms = now - rows[i].ago_ms;
		cr_assert_eq(wet_check_stands(&c, now), rows[i].stands, "%d", (int)i);
	}
	c.since_ms = now;
	for (int a = 0; a < WET_CHECK_ANSWER_N; a++) {
		c.answer = (enum wet_check_answer)a;
		cr_assert_eq(wet_check_stands(&c, now), a == WET_CHECK_CONFIRMED || a == WET_CHECK_STANDS);
	}
	cr_assert_not(wet_check_stands(NULL, now));
}

Test(checks, words_are_read_back_and_too_many_answers_are_refused)
{
	enum wet_check_answer back;
	for (int a = 0; a < WET_CHECK_ANSWER_N; a++) {
		cr_assert_eq(wet_check_answer_from_word(wet_check_answer_word(a), &back), WET_OK);
		cr_assert_eq((int)back, a);
	}
	cr_assert_eq(wet_check_answer_from_word("maybe", &back), WET_ERR_NOT_FOUND);
	room_fake_open(&f);
	struct wet_live *live = arm("one", "");
	for (int i = 0; i < WET_CHECKS; i++)
		answer(live, "vessel", i % 2 ? WET_CHECK_CONFIRMED : WET_CHECK_SKIPPED);
	const struct wet_check more = check_of("vessel", WET_CHECK_SKIPPED);
	wet_darkroom_check(f.room, live, "Ada", 7, &more, 1, take, NULL);
	cr_assert_eq(got_err, WET_ERR_TOO_MANY);
	room_fake_close(&f);
}
