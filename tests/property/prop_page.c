/* prop_page.c: random runs, sizes and texts against the laws of the page: the grid is whole; no cell holds what a terminal would
 * obey; a wide character has both its halves or is not there; the same state gives the same page; the next change is ahead, and
 * never further than a second. And random keys: every byte is a key, or part of one.
 *   prop_page --seed S --count N */
#include "base/random.h"
#include "base/text.h"
#include "client/keyboard.h"
#include "client/page.h"

#include "prop_args.h"

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case;
static struct scene scene;
static struct page *page, *again;

static void broken(const char *law, long a, long b)
{
	printf("broken in case %ld: %s (%ld, %ld)\nagain: prop_page --seed %llu --count %ld\n", this_case, law, a, b, seed,
		   this_case + 1);
	exit(1);
}

static int between(int low, int high)
{
	return (int)wet_random_between(&rnd, low, high);
}

/* Words, other scripts, marks, wide ones, and bytes of no kind; as scene.c cleans them, or not. */
static void random_text(char *buf, size_t bytes)
{
	static const char *const parts[] = { "pour ", "Rinse", " ", "\xC3\xA9", "\xE6\x9A\x97", "e\xCC\x81", "\xCC\x81", "\xF0\x9F\x93\xB7",
										 "\xE2\x80\xAE", "0:30", "\xFF", "\x1B[2J", "\xC2\x9B" };
	char text[512] = "";
	for (int i = between(0, 14); i > 0; i--)
		wet_text_append(text, sizeof text, "%s", parts[between(0, (int)(sizeof parts / sizeof parts[0]) - 1)]);
	if (between(0, 3) > 0)
		(void)wet_text_clean(text, sizeof text, text);
	wet_text_copy(buf, bytes, text);
}

static int64_t random_time(void)
{
	static const int64_t far[] = { -1, 0, INT64_MAX / 4 };
	return between(0, 5) == 0 ? far[between(0, 2)] : scene.now_us + between(-4000, 4000) * 1000000LL + between(0, 999999);
}

static void random_tank(struct scene_tank *t, int i)
{
	static const char *const phases[] = { "ready", "handling", "waiting", "pouring", "before least", "past aim", "interrupted", "ended" };
	*t = (struct scene_tank){ .id = i, .begin_us = random_time(), .hands_us = random_time(), .pour_out_us = random_time(),
							  .aim_us = random_time(), .rate = between(0, 3) ? 1 : between(1, 1000), .stage = between(-1, 20),
							  .is_rehearsal = between(0, 1), .is_overtime = between(0, 4) == 0, .is_held = between(0, 4) == 0,
							  .is_behind = between(0, 4) == 0, .next_waits = between(0, 1) };
	random_text(t->name, sizeof t->name);
	random_text(t->stage_name, sizeof t->stage_name);
	random_text(t->doing, sizeof t->doing);
	random_text(t->next, sizeof t->next);
	random_text(t->doubt, sizeof t->doubt);
	random_text(t->heard, sizeof t->heard);
	if (between(0, 1))
		wet_text_copy(t->hands, sizeof t->hands, "Turn: four slow turns.");
	if (between(0, 5) == 0)
		random_text(t->order, sizeof t->order);
	wet_text_copy(t->phase, sizeof t->phase, phases[between(0, 7)]);
}

static void random_scene(void)
{
	memset(&scene, 0, sizeof scene);
	scene.now_us = 1000000000000LL + between(0, 1000000000);
	scene.count = between(0, SCENE_TANKS);
	scene.watched = scene.count ? between(-1, scene.count - 1) : -1;
	for (int i = 0; i < scene.count; i++)
		random_tank(&scene.tanks[i], i);
	scene.stage_count = between(0, WET_RECIPE_STAGES);
	for (int i = 0; i < scene.stage_count; i++)
		random_text(scene.stages[i].name, sizeof scene.stages[i].name);
	scene.is_gone = between(0, 9) == 0;
	scene.is_emergency = between(0, 9) == 0;
	scene.is_help = between(0, 9) == 0;
	if (between(0, 4) == 0)
		random_text(scene.told, sizeof scene.told);
	if (between(0, 4) == 0)
		random_text(scene.entry, sizeof scene.entry);
}

static void check_cells(bool is_unicode)
{
	for (int y = 0; y < page->rows; y++) {
		const struct cell *row = &page->cells[y * page->columns];
		for (int x = 0; x < page->columns; x++) {
			if (!row[x].text[0] && (x == 0 || !row[x - 1].text[0] || wcwidth(row[x - 1].text[0]) != 2))
				broken("half of a wide character without the other", y, x);
			if (row[x].text[0] && wcwidth(row[x].text[0]) == 2 && (x + 1 == page->columns || row[x + 1].text[0]))
				broken("a wide character without its other half", y, x);
			for (const wchar_t *c = row[x].text; *c; c++)
				if (*c < 0x20 || (*c >= 0x7f && *c < 0xa0) || (!is_unicode && *c > 0x7f) || wcwidth(*c) < 0)
					broken("a cell that is not to be shown", y, (long)*c);
		}
	}
}

static void one_page(void)
{
	int rows = between(0, 19) ? between(-1, 50) : between(50, 400), columns = between(0, 19) ? between(-1, 140) : between(140, 700);
	bool is_unicode = between(0, 3) > 0;
	random_scene();
	page_fill(page, &scene, rows, columns, is_unicode);
	page_fill(again, &scene, rows, columns, is_unicode);
	if (page->rows < 1 || page->columns < 1 || page->rows > PAGE_ROWS_MAX || page->columns > PAGE_COLUMNS_MAX)
		broken("a grid of another size", page->rows, page->columns);
	if (memcmp(page->cells, again->cells, sizeof page->cells[0] * (size_t)(page->rows * page->columns)) != 0)
		broken("two pages of one state", rows, columns);
	check_cells(is_unicode);
	int64_t next_us = page_next_us(&scene);
	if (next_us != -1 && (next_us <= scene.now_us || next_us > scene.now_us + 1000000))
		broken("the next change", (long)(next_us - scene.now_us), 0);
}

static void some_keys(void)
{
	struct keyboard k = { 0 };
	struct presses p = { 0 };
	int64_t us = 1;
	for (int i = 0; i < 64; i++) {
		unsigned char byte = (unsigned char)between(0, 255);
		char key = keyboard_take(&k, byte);
		bool is_ours = key == 0 || key == KEY_WRONG || (key >= ' ' && key < 0x7f && !(key >= 'A' && key <= 'Z'));
		if (!is_ours)
			broken("a byte became no key", byte, key);
		if (key && presses_take(&p, key, us += between(0, 300000)) > PRESS_REPEAT)
			broken("a key is no press", key, 0);
	}
	if (keyboard_take(&k, 'e') != KEY_EMERGENCY)
		broken("the emergency key is hidden", 0, 0);
}

int main(int argc, char **argv)
{
	test_prop_args(argc, argv, &seed, &count);
	(void)setlocale(LC_CTYPE, "C.UTF-8");
	page = calloc(1, sizeof *page);
	again = calloc(1, sizeof *again);
	if (!page || !again)
		return 2;
	printf("prop_page --seed %llu --count %ld\n", seed, count);
	wet_random_seed(&rnd, seed);
	for (this_case = 0; this_case < count; this_case++) {
		one_page();
		some_keys();
	}
	free(page);
	free(again);
	printf("%ld pages, and keys: no law broken\n", count);
	return 0;
}
