/* test_saying.c: which words the darkroom gives to the voice, when, and until when. */
#include "lib/room_fake.h"

#include "sound/talk.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#define S 1000000000LL
#define TANK "direct-positive-fibre-tank"

static struct room_fake f;

static struct {
	struct wet_saying saying;
	char name[WET_NAME_BYTES], text[WET_LINE_BYTES];
	int64_t at_ns;
} said[512];
static int said_count, soon_count;
static bool was_let_go;

static void fake_say(void *ctx, const struct wet_saying *saying)
{
	(void)ctx;
	cr_assert_lt(said_count, 512);
	said[said_count].saying = *saying;
	said[said_count].at_ns = f.now_ns;
	snprintf(said[said_count].name, WET_NAME_BYTES, "%s", saying->name);
	snprintf(said[said_count++].text, WET_LINE_BYTES, "%s", saying->text);
}

static void fake_say_soon(void *ctx, const char *text)
{
	(void)ctx;
	was_let_go = text == NULL;
	soon_count += text != NULL;
}

static bool fake_is_well(void *ctx, char *text, unsigned text_bytes)
{
	(void)ctx;
	snprintf(text, text_bytes, "the fake has a cold");
	return false;
}

static void open_room(void)
{
	room_fake_open(&f);
	struct wet_ports *ports = (struct wet_ports *)wet_darkroom_ports(f.room);
	ports->say = fake_say;
	ports->say_soon = fake_say_soon;
	ports->voice_is_well = fake_is_well;
}

static void close_room(void)
{
	room_fake_close(&f);
}

static void arm(const char *name, bool is_rehearsal)
{
	struct wet_arming a = { .recipe_name = TANK,
							.person = "creek",
							.pieces = 2,
							.fill_ns = -1,
							.drain_ns = -1,
							.stagger_ns = -1,
							.room_mc = INT32_MIN,
							.is_rehearsal = is_rehearsal,
							.is_mine = is_rehearsal };
	snprintf(a.run_name, sizeof a.run_name, "%s", name);
	room_fake_arm(&f, &a);
	cr_assert_eq(f.fault.err, WET_OK, "%s", f.fault.want);
}

static void press(int kind)
{
	room_fake_act(&f, kind, 0);
	cr_assert_eq(f.answer.kind, WET_ANSWER_DO, "%s", f.answer.text);
	room_fake_go_to(&f, f.now_ns + 3 * S);
}

static int find(const char *text, int from)
{
	for (int i = from; i < said_count; i++)
		if (strstr(said[i].text, text))
			return i;
	return -1;
}

static void to_the_developer(void)
{
	press(WET_ACT_BEGIN);
	while (f.live->run.pos.base == WET_PHASE_HANDLING)
		press(WET_ACT_GO);
	press(WET_ACT_GO);
}

TestSuite(saying, .init = open_room, .fini = close_room);

Test(saying, a_run_that_is_armed_names_all_it_will_say_and_arming_tells_that_there_is_no_voice)
{
	arm("creek", true);
	cr_assert_gt(soon_count, 40);
	cr_assert_not_null(strstr(f.told, "No voice: the fake has a cold."), "%s", f.told);
}

Test(saying, words_begin_after_the_tone_and_end_before_the_next_cue)
{
	arm("creek", true);
	to_the_developer();
	room_fake_go_to(&f, f.now_ns + 400 * S);
	int next = find("Rinse next", 0), out = find("Pour back", 0), change = find("Rinse.", 0);
	cr_assert(next >= 0 && out > next && change > out);
	for (int i = next; i <= change; i++) {
		const struct wet_saying *s = &said[i].saying;
		cr_assert(s->is_planned);
		cr_assert_eq(s->from_ns, s->cue_ns + wet_tone_length_ns(s->tone, 1, 1000) + WET_TALK_GAP_NS);
		cr_assert_leq(said[i].at_ns, s->cue_ns, "handed over too late");
		/* Twenty seconds before pour-out, and the next cue is the count, three seconds before it. */
		if (i == next)
			cr_assert_eq(s->until_ns, s->cue_ns + 17 * S - WET_TALK_GAP_NS, "%lld", (long long)(s->until_ns - s->cue_ns));
		cr_assert_str_eq(said[i].name, "", "one run needs no name");
	}
}

Test(saying, of_several_runs_each_says_its_name)
{
	arm("tank-2", true);
	arm("creek", true);
	int from = said_count;
	press(WET_ACT_BEGIN);
	cr_assert_gt(said_count, from);
	cr_assert_str_eq(said[from].name, "creek");
}

Test(saying, the_emergency_is_nobodys)
{
	arm("tank-2", true);
	arm("creek", true);
	press(WET_ACT_BEGIN);
	int from = said_count;
	room_fake_act(&f, WET_ACT_EMERGENCY, 0);
	int i = find("Lights on.", from);
	cr_assert_geq(i, 0);
	cr_assert_str_eq(said[i].name, "");
	cr_assert_eq(said[i].saying.tone, WET_TONE_ALARM);
	cr_assert_eq(said[i].saying.until_ns, INT64_MAX);
}

Test(saying, where_tells_stage_time_left_what_comes_next_temperature_and_its_age)
{
	arm("creek", false);
	room_fake_read(&f, 0, 19400);
	to_the_developer();
	room_fake_go_to(&f, f.now_ns + 30 * S);
	room_fake_act(&f, WET_ACT_WHERE, 0);
	const char *text = said[said_count - 1].text;
	const char *stage = strstr(text, "Developer, "), *left = strstr(text, "pour out in "), *next = strstr(text, "Rinse next"),
			   *at = strstr(text, "19.4 C, read ");
	cr_assert(stage == text && left > stage && next > left && at > next, "%s", text);
	cr_assert_str_eq(f.answer.text, text, "what is spoken is what is printed");
}

Test(saying, the_number_of_the_sound_check_can_be_said_or_counted)
{
	arm("creek", false);
	f.live->digit = 4;
	int from = said_count, tones = f.heard_count;
	wet_darkroom_play_digit(f.room, f.live);
	cr_assert_eq(said_count, from + 1);
	cr_assert_str_eq(said[from].text, "4.");
	cr_assert_eq(said[from].saying.pips, 4);
	cr_assert_eq(f.heard_count, tones, "a tone would give it away");
}

Test(saying, with_the_last_run_its_words_are_let_go)
{
	arm("creek", true);
	cr_assert_not(was_let_go);
	press(WET_ACT_BEGIN);
	room_fake_act(&f, WET_ACT_ABANDON, WET_EVENT_HELD);
	room_fake_go_to(&f, f.now_ns + S);
	cr_assert(was_let_go);
	cr_assert_geq(find("Abandoned.", 0), 0);
}
