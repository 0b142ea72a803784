/* The page of the watch, without a terminal: what is on it at each size, what gives way, what hostile names do, and whether its
 * colours can be read. */
#include "client/page.h"
#include "client/palette.h"

#include "base/text.h"

#include <criterion/criterion.h>
#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static struct page *page;
static struct scene scene;

static void developer(void)
{
	struct scene_tank *t = &scene.tanks[0];
	page = page ? page : calloc(1, sizeof *page);
	(void)setlocale(LC_CTYPE, "C.UTF-8");
	memset(&scene, 0, sizeof scene);
	scene.count = 1;
	scene.now_us = 1000000000;
	*t = (struct scene_tank){ .id = 7,
							  .now_us = scene.now_us,
							  .begin_us = scene.now_us - 36400000,
							  .hands_us = scene.now_us + 23400000,
							  .pour_out_us = scene.now_us + 63600000,
							  .aim_us = scene.now_us + 83600000,
							  .most_us = -1,
							  .rate = 1,
							  .stage = 1 };
	wet_text_copy(t->name, sizeof t->name, "creek");
	wet_text_copy(t->phase, sizeof t->phase, "before least");
	wet_text_copy(t->light, sizeof t->light, "white");
	wet_text_copy(t->stage_name, sizeof t->stage_name, "Developer");
	wet_text_copy(t->doing, sizeof t->doing, "Developer: four slow turns, tap for air bells.");
	wet_text_copy(t->hands, sizeof t->hands, "Turn: four slow turns, tap for air bells.");
	wet_text_copy(t->next, sizeof t->next, "Rinse next, water jug.");
	wet_text_copy(t->temperature, sizeof t->temperature, "20.4 C");
	wet_text_copy(t->end, sizeof t->end, "2:00 +/- 4 s");
	wet_text_copy(t->heard, sizeof t->heard, "Rest.");
	scene.stage_count = 3;
	wet_text_copy(scene.stages[0].name, sizeof scene.stages[0].name, "Lid on");
	scene.stages[0].is_done = true;
	wet_text_copy(scene.stages[1].name, sizeof scene.stages[1].name, "Developer");
	wet_text_copy(scene.stages[1].time, sizeof scene.stages[1].time, "2:00");
	wet_text_copy(scene.stages[2].name, sizeof scene.stages[2].name, "Rinse");
}

TestSuite(page, .init = developer);

/* The rows as text, each ended by a newline, without blanks at their ends. */
static const char *shown(int rows, int columns)
{
	static char text[PAGE_ROWS_MAX * (PAGE_COLUMNS_MAX * 4 + 1) + 1];
	char *out = text;
	page_fill(page, &scene, rows, columns, true);
	for (int y = 0; y < page->rows; y++) {
		char *end = out;
		for (int x = 0; x < page->columns; x++) {
			for (const wchar_t *c = page->cells[y * page->columns + x].text; *c; c++)
				out += wctomb(out, *c);
			end = out > text && out[-1] != ' ' ? out : end;
		}
		out = end;
		*out++ = '\n';
	}
	*out = '\0';
	return text;
}

#define SEEN(text, what) cr_assert(strstr(text, what), "'%s' is not in:\n%s", what, text)
#define UNSEEN(text, what) cr_assert(!strstr(text, what), "'%s' is in:\n%s", what, text)

Test(page, a_common_terminal_shows_it_all)
{
	cr_assert_str_eq(shown(23, 80), "creek. Light: white allowed\n"
									"\n"
									"Turn: four slow turns, tap for air bells.\n"
									"in 0:24\n"
									"\n"
									"█████       █████ █   █\n"
									"█   █   █       █ █   █\n"
									"█   █       █████ █████\n"
									"█   █   █   █         █\n"
									"█████       █████     █\n"
									"\n"
									"Developer, 0:36 of 2:00\n"
									"Pour out in 1:04\n"
									"Bath at 20.4 C; ends at 2:00 +/- 4 s\n"
									"Now: Developer: four slow turns, tap for air bells.\n"
									"Then: Rinse next, water jug.\n"
									"Heard: Rest.\n"
									"\n"
									"done Lid on\n"
									"now  Developer                    2:00\n"
									"     Rinse\n"
									"space go on | + longer | h hold | u undo | w where | t reading | r resume | e\n"
									"EMERGENCY | q leave | ? keys\n");
}

Test(page, forty_by_twelve_and_twenty_by_five_keep_what_matters)
{
	const char *text = shown(12, 40);
	SEEN(text, "Turn: four slow turns, tap for air\nbells.\nin 0:24\n");
	SEEN(text, "Developer, 0:36 of 2:00\nPour out in 1:04\n");
	SEEN(text, "Bath at 20.4 C; ends at 2:00 +/- 4 s\n");
	cr_assert_str_eq(shown(5, 20), "Turn: four slow\nturns, tap for air\nbells.\nin 0:24\nDeveloper, 0:36 of\n");
	SEEN(shown(5, 24), "Developer, 0:36 of 2:00\n");
}

Test(page, sentence_and_time_are_there_at_every_size_from_twenty_by_five)
{
	for (int rows = 5; rows <= 60; rows++)
		for (int columns = 20; columns <= 200; columns += rows < 10 ? 1 : 13) {
			const char *text = shown(rows, columns);
			SEEN(text, "Turn: four slow");
			SEEN(text, "in 0:24");
			SEEN(text, "Developer, 0:36 of");
		}
	SEEN(shown(200, 500), "Pour out in 1:04");
	for (int rows = 1; rows < 5; rows++)
		for (int columns = 1; columns < 20; columns++)
			(void)shown(rows, columns); /* hard to read, but nothing breaks */
	(void)shown(0, -3);
	(void)shown(100000, 100000);
	cr_assert_eq(page->rows, PAGE_ROWS_MAX);
	cr_assert_eq(page->columns, PAGE_COLUMNS_MAX);
}

Test(page, time_runs_down_by_the_second_that_has_begun_and_up_by_the_one_that_is_over)
{
	static const struct {
		int64_t us;
		bool is_up;
		const char *want;
	} rows[] = { { 0, false, "0:00" },          { 1, false, "0:01" },           { 1000000, false, "0:01" },
				 { 1000001, false, "0:02" },    { 59999999, false, "1:00" },    { 59999999, true, "0:59" },
				 { 60000000, true, "1:00" },    { 3600000000, true, "1:00:00" }, { 86399000000, true, "23:59:59" },
				 { -5, false, "0:00" },         { -5000000, true, "0:00" } };
	char buf[32];
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		cr_assert_str_eq(page_time(rows[i].us, rows[i].is_up, buf, sizeof buf), rows[i].want);
}

/* It is looked at again when the time that leads shows another second, and not sooner. */
Test(page, next_change_is_the_next_second_of_the_time_that_leads)
{
	char before[64], after[64];
	for (int64_t ms = 0; ms < 3000; ms += 37) {
		scene.now_us = 1000000000 + ms * 1000;
		int64_t left_us = scene.tanks[0].hands_us - scene.now_us, wait_us = page_next_us(&scene) - scene.now_us;
		cr_assert(wait_us > 0 && wait_us <= 1000000, "%lld", (long long)wait_us);
		page_time(left_us, false, before, sizeof before);
		cr_assert_str_eq(page_time(left_us - wait_us + 1, false, after, sizeof after), before);
		cr_assert_str_neq(page_time(left_us - wait_us, false, after, sizeof after), before);
	}
	scene.tanks[0].rate = 100; /* a rehearsal: not each of its seconds */
	cr_assert_geq(page_next_us(&scene) - scene.now_us, 1);
	cr_assert_leq(page_next_us(&scene) - scene.now_us, 250000);
	scene.count = 0;
	scene.watched = -1;
	cr_assert_eq(page_next_us(&scene), -1);
}

Test(page, each_state_leads_with_what_the_hands_do)
{
	struct scene_tank *t = &scene.tanks[0];
	wet_text_copy(t->phase, sizeof t->phase, "pouring");
	t->hands[0] = '\0';
	wet_text_copy(t->doing, sizeof t->doing, "Pour in: Rinse, water jug. Press as you start to pour.");
	SEEN(shown(24, 80), "Pour in: Rinse, water jug. Press as you start to pour.\nnow; pour out in 1:04\n");
	t->pour_out_us = scene.now_us - 1;
	wet_text_copy(t->doing, sizeof t->doing, "Pour away.");
	SEEN(shown(24, 80), "Pour away.\nnow; the next begins in 1:24\n");
	t->is_overtime = true;
	t->aim_us = scene.now_us - 5200000;
	SEEN(shown(24, 80), "now; over by 0:05\n");
	wet_text_copy(t->order, sizeof t->order, "Pour in the stop bath now.");
	SEEN(shown(24, 80), "\nPour in the stop bath now.\n");
	wet_text_copy(t->phase, sizeof t->phase, "interrupted");
	SEEN(shown(5, 20), "Lights on. Get out,\nor rinse the eye for\nfifteen minutes.\nCall the emergency\nnumber.\n");
	SEEN(shown(24, 80), "Resume with r when all is well.");
	scene.is_gone = true;
	SEEN(shown(12, 40), "The daemon has gone.");
	SEEN(shown(12, 40), "start it: wetsided");
	scene.is_emergency = true;
	SEEN(shown(12, 40), "Lights on. Get out");
	SEEN(shown(12, 40), "No daemon heard it");
}

Test(page, what_is_urgent_says_so_in_words_and_stays_when_room_is_short)
{
	struct scene_tank *t = &scene.tanks[0];
	t->is_behind = t->is_held = true;
	wet_text_copy(scene.sound, sizeof scene.sound, "the device is lost");
	const char *text = shown(9, 60);
	SEEN(text, "! Not stored yet");
	SEEN(text, "! NO SOUND: the device is lost");
	SEEN(text, "Held: the next bath waits for you.");
	wet_text_copy(scene.entry, sizeof scene.entry, "Reading of the developer: 20.5 C?");
	SEEN(shown(5, 60), "Reading of the developer: 20.5 C?");
}

Test(page, other_tanks_have_their_digit_and_time_and_a_long_list_is_cut)
{
	for (int i = 1; i < SCENE_TANKS; i++) {
		scene.tanks[i] = scene.tanks[0];
		scene.tanks[i].hands_us += i * 1000000;
		wet_text_format(scene.tanks[i].name, sizeof scene.tanks[i].name, "tank-%d", i);
	}
	scene.count = SCENE_TANKS;
	scene.watched = 1;
	const char *text = shown(60, 80);
	SEEN(text, "1 creek: 0:24, Turn: four slow turns");
	SEEN(text, "3 tank-2: 0:26, Turn: four slow turns");
	SEEN(text, "and 7 more: wetside status");
	UNSEEN(text, "2 tank-1:"); /* it leads the page */
	SEEN(text, "1-9 tank");
}

/* Names as bad as the wire lets them through: cells hold nothing that a terminal would obey. */
Test(page, no_cell_holds_a_control_character_whatever_the_names_are)
{
	struct scene_tank *t = &scene.tanks[0];
	char bad[WET_LINE_BYTES];
	for (int first = 1; first < 256; first++)
		for (int second = 1; second < 256; second += 7) {
			const char bytes[] = { (char)first, (char)second, 'x', (char)first, '\0' };
			wet_text_copy(bad, sizeof bad, bytes);
			wet_text_copy(t->hands, sizeof t->hands, bad);
			wet_text_copy(t->name, sizeof t->name, bad);
			page_fill(page, &scene, 6, 20, true);
			for (int i = 0; i < 6 * 20; i++)
				for (const wchar_t *c = page->cells[i].text; *c; c++)
					cr_assert(*c >= 0x20 && (*c < 0x7f || *c >= 0xa0), "%x of %02x %02x", (unsigned)*c, first, second);
		}
}

Test(page, characters_are_measured_and_none_is_torn)
{
	struct scene_tank *t = &scene.tanks[0];
	wet_text_copy(t->hands, sizeof t->hands, "暗室の水 e\xCC\x81te\xCC\x81 \xCC\x81x");
	SEEN(shown(6, 40), "暗室の水 e\xCC\x81te\xCC\x81");
	SEEN(shown(9, 5), "暗室\nの水\n");
	page_fill(page, &scene, 6, 1, true);
	page_fill(page, &scene, 6, 40, false);
	for (int i = 0; i < 6 * 40; i++)
		cr_assert_lt(page->cells[i].text[0], 0x7f, "where the locale knows no more than ASCII nothing else is shown");
}

/* WCAG 2.2, success criterion 1.4.3, and its definitions of relative luminance and contrast ratio. */
static double luminance(const struct colour *c)
{
	const double part[] = { c->r / 255.0, c->g / 255.0, c->b / 255.0 };
	double linear[3];
	for (int i = 0; i < 3; i++)
		linear[i] = part[i] <= 0.04045 ? part[i] / 12.92 : pow((part[i] + 0.055) / 1.055, 2.4);
	return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
}

Test(page, colours_are_read_at_seven_to_one_and_the_red_at_four_and_a_half_with_little_light)
{
	for (int k = 0; k < PALETTE_N; k++)
		for (int ink = 0; ink < INK_N; ink++) {
			double over = luminance(&palettes[k].ink[ink]) + 0.05, under = luminance(&palettes[k].ground) + 0.05;
			cr_assert_geq(over / under, k == PALETTE_RED ? 4.5 : 7.0, "palette %d, ink %d: %.2f", k, ink, over / under);
			if (k == PALETTE_RED) {
				cr_assert_leq(luminance(&palettes[k].ink[ink]), 0.22);
				cr_assert_eq(palettes[k].ink[ink].g + palettes[k].ink[ink].b, 0, "red and nothing else");
			}
		}
	for (int k = 0; k < PALETTE_N; k++)
		cr_assert_eq(luminance(&palettes[k].ground), 0.0, "black");
}

/* The fixed part of 256 colours, as the terminals' manuals give it: 16 + 36 r + 6 g + b, and 24 greys. */
Test(page, colours_have_the_values_that_their_numbers_stand_for)
{
	static const int step[] = { 0, 95, 135, 175, 215, 255 };
	for (int k = 0; k < PALETTE_N; k++) {
		if (k == PALETTE_8)
			continue;
		for (int ink = -1; ink < INK_N; ink++) {
			const struct colour *c = ink < 0 ? &palettes[k].ground : &palettes[k].ink[ink];
			int i = c->index - 16;
			cr_assert_geq(i, 0);
			int r = i < 216 ? step[i / 36] : 8 + 10 * (i - 216), g = i < 216 ? step[i / 6 % 6] : r, b = i < 216 ? step[i % 6] : r;
			cr_assert(c->r == r && c->g == g && c->b == b, "colour %d", c->index);
		}
	}
}
