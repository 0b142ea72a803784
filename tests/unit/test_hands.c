/* Two tanks and one pair of hands: told at arming, at begin and before the first pour; refused never. */
#include "room_fake.h"
#include "wetside/hands.h"

#include "base/text.h"

#include <string.h>

#include <criterion/criterion.h>

#define S 1000000000LL

static struct room_fake f;

static struct wet_live *arm(const char *name, const char *person, bool is_rehearsal)
{
	struct wet_arming a = { .pieces = 1, .fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN };
	a.is_rehearsal = is_rehearsal;
	wet_text_copy(a.recipe_name, sizeof a.recipe_name, "direct-positive-fibre-tank");
	wet_text_copy(a.run_name, sizeof a.run_name, name);
	wet_text_copy(a.person, sizeof a.person, person);
	room_fake_arm(&f, &a);
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
	return f.live;
}

static void act(struct wet_live *live, int kind)
{
	room_fake_go_to(&f, f.now_ns + 3 * S);
	f.live = live;
	room_fake_act(&f, kind, 0);
	cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
}

/* The first tank is in its developer. */
static struct wet_live *first_tank(void)
{
	struct wet_live *live = arm("tank", "Ada", false);
	act(live, WET_ACT_BEGIN);
	while (live->run.pos.base != WET_PHASE_EARLY)
		act(live, WET_ACT_GO);
	return live;
}

Test(hands, two_tanks_of_one_person_are_told_of)
{
	room_fake_open(&f);
	(void)first_tank();
	struct wet_live *second = arm("tank-2", "Ada", false);
	cr_assert_not_null(strstr(f.told, "tank and tank-2 both need you in "), "%s", f.told);
	act(second, WET_ACT_BEGIN);
	cr_assert_not_null(strstr(f.answer.text, "both need you in "), "%s", f.answer.text);
	cr_assert_not_null(strstr(f.answer.text, "later."), "%s", f.answer.text);
	while (second->run.pos.base != WET_PHASE_WAITING)
		act(second, WET_ACT_GO);
	cr_assert_not_null(strstr(f.answer.text, "both need you in "), "at the last moment before the first pour: %s", f.answer.text);
	act(second, WET_ACT_GO);
	cr_assert_null(strstr(f.answer.text, "both need you"), "%s", f.answer.text);
	room_fake_close(&f);
}

Test(hands, anothers_hands_and_a_rehearsal_are_no_matter)
{
	room_fake_open(&f);
	(void)first_tank();
	struct wet_live *other = arm("tank-2", "Mia", false);
	cr_assert_null(strstr(f.told, "both need you"), "%s", f.told);
	act(other, WET_ACT_BEGIN);
	cr_assert_null(strstr(f.answer.text, "both need you"), "%s", f.answer.text);
	(void)arm("again", "Ada", true);
	cr_assert_null(strstr(f.told, "both need you"), "%s", f.told);
	room_fake_close(&f);
}

static struct wet_hands one(int64_t from_s, int64_t to_s, uint8_t what)
{
	return (struct wet_hands){ .count = 1, .list = { { .from_ns = from_s * S, .to_ns = to_s * S, .what = what } } };
}

Test(hands, what_is_said)
{
	char text[WET_LINE_BYTES];
	struct wet_hands a = one(760, 790, WET_HANDS_POUR), b = one(745, 765, WET_HANDS_POUR), far = one(60, 70, WET_HANDS_TURN);
	cr_assert_str_eq(wet_hands_sentence(&a, "tank", &b, "tank-2", 0, text, sizeof text),
					 "tank and tank-2 both need you in 12 minutes 40 seconds; pour 48 seconds later.");
	cr_assert_str_eq(wet_hands_sentence(&a, "tank", &far, "tank-2", 0, text, sizeof text), "");
	/* Turned all the time there: pouring can be freed, turning can't. */
	struct wet_hands all = one(700, 2000, WET_HANDS_TURN);
	wet_hands_add(&all, &a, 0);
	wet_hands_add(&b, &far, 0);
	struct wet_hands turn = one(745, 755, WET_HANDS_TURN);
	cr_assert_str_eq(wet_hands_sentence(&all, "tank", &turn, "tank-2", 0, text, sizeof text),
					 "tank and tank-2 both need you in 11 minutes 40 seconds; turn one, then the other.");
	cr_assert_str_eq(wet_hands_sentence(&all, "tank", &b, "tank-2", 0, text, sizeof text),
					 "tank and tank-2 both need you in 12 minutes 40 seconds; pour 48 seconds later. Turning has to wait.");
	struct wet_hands ever = one(700, 2000, WET_HANDS_POUR);
	cr_assert_str_eq(wet_hands_sentence(&ever, "tank", &b, "tank-2", 0, text, sizeof text),
					 "tank and tank-2 both need you in 11 minutes 40 seconds; no later start helps: ask for a second pair of hands.");
}
