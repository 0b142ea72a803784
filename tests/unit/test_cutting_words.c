/* Cutting in words: orders, the drawing, the code of nicks, and the run that leads through it. */
#include "wetside/cutting.h"

#include "base/phrases.h"
#include "base/random.h"
#include "shelf/cutting.h"
#include "shelf/phrasebook.h"
#include "wetside/run.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MM WET_CUT_TICKS_PER_MM

static void *workspace;
static struct wet_cut_ask ask;
static struct wet_cut_plan plan;
static struct wet_cut_words words;

static void make_plan(void)
{
	workspace = malloc(wet_cut_workspace_bytes());
	ask = (struct wet_cut_ask){ .sheet_width_t = 240 * MM,
								.sheet_height_t = 300 * MM,
								.sheets = 2,
								.size_count = 1,
								.sizes = { { 90 * MM, 120 * MM, 0 } } };
	cr_assert_eq(wet_cut_plan(&ask, workspace, wet_cut_workspace_bytes(), &plan, NULL), 0);
	words = (struct wet_cut_words){ &ask, &plan, WET_UNIT_CM, false, 1 };
}

static void free_plan(void)
{
	free(workspace);
}

TestSuite(cutting_words, .init = make_plan, .fini = free_plan);

Test(cutting_words, an_order_says_what_where_and_whereto)
{
	char line[WET_LINE_BYTES], all[2048] = "";
	for (int i = 0; i < plan.layouts[0].step_count; i++) {
		wet_cut_say_step(&words, &plan.layouts[0], i, 0, line, sizeof line);
		strcat(strcat(all, line), "\n");
	}
	cr_expect_str_eq(all,
					 "The sheet, stop 2, 9 cm along the long side. Strip 1 stays: aside, emulsion down. "
					 "Strip 2 falls: aside, emulsion "
					 "down.\n"
					 "Strip 2, stop 2, 9 cm along the short side. Strip 3 stays: aside, emulsion down. Strip "
					 "4 falls: aside, emulsion "
					 "down.\n"
					 "Strip 4, stop 2, 9 cm along the short side. Strip 5 stays: aside, emulsion down. The "
					 "rest falls: into the paper "
					 "box.\n"
					 "Strip 1, stop 1, 12 cm along the long side. Piece 1 stays: 1 on its back, into the "
					 "piece box. Piece 2 falls: 2 on "
					 "its back, into the piece box.\n"
					 "Strip 3, stop 1, 12 cm along the long side. Piece 3 stays: 3 on its back, into the "
					 "piece box. Piece 4 falls: 4 on "
					 "its back, into the piece box.\n"
					 "Strip 5, stop 1, 12 cm along the long side. Piece 5 stays: 5 on its back, into the "
					 "piece box. Piece 6 falls: 6 on "
					 "its back, into the piece box.\n",
					 "%s", all);
	words.is_resin_coated = true;
	wet_cut_say_step(&words, &plan.layouts[0], 3, 6, line, sizeof line);
	cr_expect(strstr(line, "Piece 7 stays: nicks long 2, short 1, into the piece box."), "%s", line);
	cr_expect_str_eq(wet_cut_say_stop(&words, 0, line, sizeof line), "Stop 1: 12 cm, for 6 cuts.");
}

/* A corner and nicks on a card, turned and turned over in all eight ways: the reader gets the number, and, where the piece
 * is not square, which side it looks at. */
struct card {
	int corner;   /* 0..3 sunwise from upper left: the clipped one */
	int nicks[4]; /* on the side from corner i to corner i + 1: upper, right, lower, left */
	bool is_face; /* the emulsion is up */
};

static struct card clipped(struct wet_cut_code code)
{
	/* As told: a long side up, the clipped corner at its left, the emulsion facing: ones on the long side, fives on the left. */
	struct card c = { .corner = 0, .is_face = true };
	c.nicks[0] = code.ones;
	c.nicks[3] = code.fives;
	return c;
}

static struct card turned(struct card c)
{
	struct card t = { .corner = (c.corner + 1) % 4, .is_face = c.is_face };
	for (int i = 0; i < 4; i++)
		t.nicks[(i + 1) % 4] = c.nicks[i];
	return t;
}

static struct card turned_over(struct card c) /* like a page: left becomes right */
{
	static const int corners[] = { 1, 0, 3, 2 }, sides[] = { 0, 3, 2, 1 };
	struct card t = { .corner = corners[c.corner], .is_face = !c.is_face };
	for (int i = 0; i < 4; i++)
		t.nicks[sides[i]] = c.nicks[i];
	return t;
}

/* The reader turns it until a long side is up and the clipped corner is up too. `turns` since it was made tells which side is long. */
static void read_card(struct card c, int turns, int *ret_number, bool *ret_is_face)
{
	for (int i = 0; i < 4; i++, turns++, c = turned(c)) {
		if (turns % 2 != 0 || c.corner > 1)
			continue;
		*ret_number = c.nicks[0] + 5 * c.nicks[c.corner == 0 ? 3 : 1];
		*ret_is_face = c.corner == 0;
		return;
	}
	cr_assert_fail("no way to hold it");
}

Test(cutting_words, nicks_are_read_whichever_way_a_piece_comes_into_the_hand)
{
	struct wet_cut_code code;
	for (int number = 1; number <= WET_CUT_CODES; number++) {
		cr_assert_eq(wet_cut_code_of(number, &code, NULL), 0);
		cr_assert(code.ones >= 0 && code.ones < 5 && code.fives >= 0 && code.fives <= 6);
		for (int over = 0; over < 2; over++) {
			struct card c = over ? turned_over(clipped(code)) : clipped(code);
			for (int turns = 0; turns < 4; turns++, c = turned(c)) {
				int read = 0;
				bool is_face = false;
				read_card(c, turns, &read, &is_face);
				cr_assert_eq(read, number, "%d read as %d", number, read);
				cr_assert_eq(is_face, c.is_face);
			}
		}
	}
	cr_expect_eq(wet_cut_code_of(0, &code, NULL), WET_ERR_RANGE);
	cr_expect_eq(wet_cut_code_of(WET_CUT_CODES + 1, &code, NULL), WET_ERR_RANGE);
}

Test(cutting_words, a_drawing_holds_every_number_and_nothing_but_ascii)
{
	char *drawing = malloc(WET_CUT_DRAWING_BYTES), number[16];
	for (int columns = 24; columns <= 120; columns += 12) {
		wet_cut_draw(&words, &plan.layouts[0], 6, columns, drawing, WET_CUT_DRAWING_BYTES);
		for (const char *p = drawing; *p; p++)
			cr_assert(*p == '\n' || (*p >= ' ' && *p < 127));
		for (const char *p = strchr(drawing, '\n') + 1, *end; *p; p = end + 1) {
			end = strchr(p, '\n');
			cr_assert_leq(end - p, columns);
			cr_assert_neq(end[-1], ' ');
		}
		for (int i = 1; i <= 6; i++) {
			snprintf(number, sizeof number, " %d ", 6 + i);
			cr_assert(strstr(drawing, number), "%d in\n%s", 6 + i, drawing);
			snprintf(number, sizeof number, "(%d)", i);
			cr_assert(strstr(drawing, number), "cut %d in\n%s", i, drawing);
		}
	}
	free(drawing);
}

static void act(struct wet_run *run, int kind, int64_t boot_ns)
{
	struct wet_event e = { .kind = kind, .boot_ns = boot_ns, .bath = -1, .number = -1 };
	struct wet_presses presses = { 0 };
	struct wet_answer answer;
	wet_run_try(run, &presses, &e, &answer);
	cr_assert_eq(answer.kind, WET_ANSWER_DO, "%s", answer.text);
	wet_run_fold(run, &e);
}

/* Through the ledger's text and back, then press by press: dark until both boxes are shut, then light. */
Test(cutting_words, the_run_is_dark_until_the_boxes_are_shut)
{
	static struct wet_recipe r;
	static struct wet_run run;
	struct wet_cutting c = { .title = "Cut: 12 pieces" };
	struct wet_fault fault = { 0 };
	struct wet_view view;
	char *json, told[256];
	size_t bytes;
	for (int safelight = 0; safelight < 2; safelight++) {
		strcpy(c.safelight, safelight ? "deep red" : "");
		cr_assert_eq(wet_cut_guide_make(&words, &c.guide, &fault), 0, "%s", fault.want);
		cr_assert_eq(wet_cutting_text(&c, &json, &bytes, &fault), 0);
		cr_assert_eq(wet_cutting_decode(json, bytes, "here", &r, &fault), 0, "%s %s", fault.where,
					 fault.want);
		free(json);
		struct wet_run_setup setup = { .recipe = &r, .pieces = 1, .rules_version = WET_RULES_VERSION };
		setup.vessel.kind = r.vessel_kind;
		cr_assert_eq(wet_recipe_fit(&r, &setup.vessel, 1, NULL, told, sizeof told, &fault), 0);
		wet_run_init(&run, &setup, 1000);
		int64_t now = WET_NS_PER_S;
		act(&run, WET_ACT_BEGIN, now);
		for (int i = 0; i < c.guide.step_count; i++) {
			wet_run_view(&run, now, &view);
			cr_assert_str_eq(view.doing, c.guide.steps[i].say);
			bool is_last = i == c.guide.step_count - 1;
			cr_assert_eq(view.light,
						 is_last     ? WET_LIGHT_WHITE
						 : safelight ? WET_LIGHT_SAFELIGHT
									 : WET_LIGHT_DARK,
						 "%s", view.doing);
			cr_assert_eq(view.is_paper_open, !is_last);
			now += 3 * WET_NS_PER_S;
			act(&run, WET_ACT_GO, now);
		}
		cr_assert_eq(run.outcome, 1);
	}
	/* Emulsion and boxes are told at each sheet, the guard and the pupils first of all. */
	cr_expect(strstr(c.guide.steps[0].say, "guarded trimmer only") && strstr(c.guide.steps[0].say, "Pupils"));
	cr_expect(strstr(c.guide.steps[1].say, "paper box shut") &&
			  strstr(c.guide.steps[1].say, "Emulsion side up"));
	cr_expect(strstr(c.guide.steps[c.guide.step_count - 2].say, "Paper box shut, piece box shut."));
	cr_expect_eq(c.guide.step_count, 1 + 2 * (6 + 2) + 2);
}

Test(cutting_words, a_sequence_too_long_for_one_run_says_how_many_sheets_would_do)
{
	struct wet_cut_guide guide;
	struct wet_fault fault = { 0 };
	ask.sheets = 8;
	cr_assert_eq(wet_cut_plan(&ask, workspace, wet_cut_workspace_bytes(), &plan, NULL), 0);
	cr_expect_eq(wet_cut_guide_make(&words, &guide, &fault), WET_ERR_TOO_MANY);
	cr_expect(strstr(fault.want, "7 sheets at a time"), "%s", fault.want);
	ask.sheets = 7;
	cr_assert_eq(wet_cut_plan(&ask, workspace, wet_cut_workspace_bytes(), &plan, NULL), 0);
	cr_expect_eq(wet_cut_guide_make(&words, &guide, &fault), 0);
}

/* No order is ever cut short, and each has its pattern in the phrase book, so that it can be said in another language. */
Test(cutting_words, orders_are_whole_and_can_be_translated)
{
	struct wet_random rnd;
	struct wet_fault fault = { 0 };
	struct wet_phrasebook *book = NULL;
	struct wet_cut_guide guide;
	char said[1024];
	bool is_known;
	cr_assert_eq(wet_phrasebook_read(WET_SOURCE_DIR "/daemon/ship/speech/en.json", &book, &fault), 0, "%s",
				 fault.want);
	wet_random_seed(&rnd, 5);
	for (int i = 0, guided = 0; guided < 150 && i < 2000; i++) {
		ask = (struct wet_cut_ask){ .sheet_width_t =
										(int32_t)wet_random_between(&rnd, 150 * MM, 600 * MM) / 6096 * 6096,
									.sheet_height_t =
										(int32_t)wet_random_between(&rnd, 150 * MM, 600 * MM) / 6096 * 6096,
									.sheets = 1,
									.size_count = 1 };
		ask.margin_t = wet_random_below(&rnd, 3) ? 0 : 5 * MM;
		ask.sizes[0] = (struct wet_cut_size){ (int32_t)wet_random_between(&rnd, 50 * MM, 140 * MM),
											  (int32_t)wet_random_between(&rnd, 50 * MM, 140 * MM), 0 };
		if (wet_cut_plan(&ask, workspace, wet_cut_workspace_bytes(), &plan, NULL) != 0)
			continue;
		words = (struct wet_cut_words){ &ask, &plan, wet_random_below(&rnd, 2) ? WET_UNIT_IN : WET_UNIT_MM,
										wet_random_below(&rnd, 2), 1 };
		words.first_number = wet_random_below(&rnd, 2) ? 1 : 9970;
		if (wet_cut_guide_make(&words, &guide, &fault) != 0)
			continue;
		guided++;
		for (int k = 0; k < guide.step_count; k++) {
			cr_assert_lt(strlen(guide.steps[k].say), WET_LINE_BYTES - 1, "%s", guide.steps[k].say);
			wet_phrases_say(&book->phrases, guide.steps[k].say, said, sizeof said, &is_known);
			cr_assert(is_known, "no pattern: %s", guide.steps[k].say);
		}
	}
	wet_phrasebook_free(book);
}
