/* cutting_words.c: a cutting plan as orders for people whose hands are in the dark. */
#include "wetside/cutting.h"

#include "base/text.h"

#include <string.h>

/* -- marks -------------------------------------------------------------------------- */

#define ONES 5 /* nicks on the long side are fewer; each on the short side counts so many */

int wet_cut_code_of(int number, struct wet_cut_code *ret_code, struct wet_fault *reterr)
{
	char found[16];
	if (number >= 1 && number <= WET_CUT_CODES) {
		*ret_code = (struct wet_cut_code){ .ones = number % ONES, .fives = number / ONES };
		return WET_OK;
	}
	wet_text_format(found, sizeof found, "%d", number);
	return wet_fault_set(reterr, WET_ERR_RANGE, "number", found, "a number from 1 to %d", WET_CUT_CODES);
}

char *wet_cut_say_code(struct wet_cut_code code, char *buf, unsigned buf_bytes)
{
	return wet_text_format(buf, buf_bytes, "long %d, short %d", code.ones, code.fives);
}

char *wet_cut_say_mark(const struct wet_cut_words *words, int number, char *buf, unsigned buf_bytes)
{
	struct wet_cut_code code;
	char nicks[48];
	if (!words->is_resin_coated)
		return wet_text_format(buf, buf_bytes, "%d on its back", number);
	if (wet_cut_code_of(number, &code, NULL) != 0)
		return wet_text_copy(buf, buf_bytes, "no code, kept apart");
	return wet_text_format(buf, buf_bytes, "nicks %s", wet_cut_say_code(code, nicks, sizeof nicks));
}

/* -- orders -------------------------------------------------------------------------- */

char *wet_cut_say_stop(const struct wet_cut_words *words, int stop, char *buf, unsigned buf_bytes)
{
	char length[48];
	const struct wet_cut_stop *s = &words->plan->stops[stop];
	return wet_text_format(buf, buf_bytes, "Stop %d: %s, for %d cut%s%s.", stop + 1,
						   wet_cut_print_length(s->length_t, words->unit, length, sizeof length), s->uses,
						   s->uses == 1 ? "" : "s", s->is_margin ? " (the margin: beyond the blade)" : "");
}

/* "sheet", "strip 3", "piece 7". */
static char *name_part(const struct wet_cut_part *part, int before, char *buf, unsigned n)
{
	switch (part->kind) {
	case WET_CUT_PIECE: return wet_text_format(buf, n, "piece %d", before + part->number);
	case WET_CUT_REST: return wet_text_copy(buf, n, "the rest");
	case WET_CUT_WASTE: return wet_text_copy(buf, n, "waste");
	default:
		return part->strip > 0 ? wet_text_format(buf, n, "strip %d", part->strip)
							   : wet_text_copy(buf, n, "the sheet");
	}
}

/* What becomes of it: "Piece 3 stays: 3 on its back, piece box." */
static void say_part(const struct wet_cut_words *words, const struct wet_cut_part *part, int before,
					 const char *does, char *buf, unsigned n)
{
	char name[32], mark[64];
	name_part(part, before, name, sizeof name);
	name[0] = (char)(name[0] - 'a' + 'A');
	wet_text_append(buf, n, " %s %s", name, does);
	if (part->kind == WET_CUT_PIECE)
		wet_text_append(buf, n, ": %s, into the piece box.",
						wet_cut_say_mark(words, before + part->number, mark, sizeof mark));
	else if (part->kind == WET_CUT_REST)
		wet_text_append(buf, n, ": into the paper box.");
	else
		wet_text_append(buf, n, part->kind == WET_CUT_WASTE ? "." : ": aside, emulsion down.");
}

char *wet_cut_say_step(const struct wet_cut_words *words, const struct wet_cut_layout *layout, int step,
					   int before, char *buf, unsigned buf_bytes)
{
	const struct wet_cut_step *s = &layout->steps[step];
	const struct wet_cut_part *on = &layout->parts[s->table], *falls = &layout->parts[s->falls];
	char table[32], length[48];
	int32_t along = s->is_across ? on->width_t : on->height_t,
			other = s->is_across ? on->height_t : on->width_t;
	name_part(on, before, table, sizeof table);
	table[0] = (char)(table[0] - 'a' + 'A');
	wet_text_format(
		buf, buf_bytes, "%s, stop %d, %s along %s side.", table, s->stop + 1,
		wet_cut_print_length(words->plan->stops[s->stop].length_t, words->unit, length, sizeof length),
		along > other   ? "the long"
		: along < other ? "the short"
						: "any");
	if (s->is_margin) {
		const struct wet_cut_part *stays = &layout->parts[s->stays];
		bool is_far = falls->x_t > stays->x_t || falls->y_t > stays->y_t;
		wet_text_append(buf, buf_bytes, " %shat much hangs over the blade and falls: waste.",
						is_far ? "The other edge: t" : "T");
		return buf;
	}
	say_part(words, &layout->parts[s->stays], before, "stays", buf, buf_bytes);
	if (falls->width_t > 0 && falls->height_t > 0)
		say_part(words, falls, before, "falls", buf, buf_bytes);
	return buf;
}

/* -- the guide ----------------------------------------------------------------------- */

static char *add_step(struct wet_cut_guide *g, const char *name)
{
	wet_text_copy(g->steps[g->step_count].name, WET_NAME_BYTES, name);
	return g->steps[g->step_count++].say;
}

static int check_length(const struct wet_cut_plan *plan, struct wet_fault *reterr)
{
	int steps = 3, longest = 0; /* the guard, the boxes, the light */
	char found[24];
	for (int i = 0; i < plan->layout_count; i++) {
		int each = plan->layouts[i].step_count + 2;
		steps += each * plan->layouts[i].times;
		longest = each > longest ? each : longest;
	}
	if (steps <= WET_RECIPE_STAGES)
		return WET_OK;
	wet_text_format(found, sizeof found, "%d steps", steps);
	int sheets = (WET_RECIPE_STAGES - 3) / longest;
	if (sheets < 1)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "guide", found,
							 "at most %d steps: cut by the drawing, in strips first", WET_RECIPE_STAGES);
	return wet_fault_set(reterr, WET_ERR_TOO_MANY, "guide", found, "at most %d steps: %d sheet%s at a time",
						 WET_RECIPE_STAGES, sheets, sheets == 1 ? "" : "s");
}

static void guide_sheet(const struct wet_cut_words *words, const struct wet_cut_layout *layout, int sheet,
						int before, struct wet_cut_guide *g)
{
	char name[WET_NAME_BYTES];
	wet_text_format(name, sizeof name, "Sheet %d", sheet);
	wet_text_format(
		add_step(g, name), WET_LINE_BYTES,
		"Sheet %d of %d out, paper box shut. Emulsion side up on the trimmer; hold it by its edges.%s", sheet,
		words->plan->sheets, words->is_resin_coated ? "" : " It curls towards the emulsion.");
	for (int i = 0; i < layout->step_count; i++) {
		wet_text_format(name, sizeof name, "Cut %d", i + 1);
		(void)wet_cut_say_step(words, layout, i, before, add_step(g, name), WET_LINE_BYTES);
	}
	wet_text_format(name, sizeof name, "Sheet %d done", sheet);
	char *say = add_step(g, name);
	if (layout->piece_count == 1)
		wet_text_format(say, WET_LINE_BYTES, "Piece %d in the piece box, emulsion side down: box shut.",
						before + 1);
	else
		wet_text_format(say, WET_LINE_BYTES,
						"Pieces %d to %d in the piece box, emulsion sides down, all the same way: box shut.",
						before + 1, before + layout->piece_count);
}

int wet_cut_guide_make(const struct wet_cut_words *words, struct wet_cut_guide *ret_guide,
					   struct wet_fault *reterr)
{
	const struct wet_cut_plan *plan = words->plan;
	int rc = check_length(plan, reterr), sheet = 1, before = words->first_number - 1;
	if (rc != 0)
		return rc;
	struct wet_cut_guide *g = ret_guide;
	g->step_count = 0;
	/* Common practice, no source: as for all guards and blades. */
	wet_text_copy(add_step(g, "Guard"), WET_LINE_BYTES,
				  "Guard on, blade down? A guarded trimmer only, no open blade in the dark. Fingers flat "
				  "behind the guard. Pupils "
				  "cut with a teacher beside them. Press after each step.");
	for (int i = 0; i < plan->layout_count; i++) {
		for (int k = 0; k < plan->layouts[i].times; k++) {
			guide_sheet(words, &plan->layouts[i], sheet++, before, g);
			before += plan->layouts[i].piece_count;
		}
	}
	wet_text_copy(
		add_step(g, "Boxes"), WET_LINE_BYTES,
		"Feel over the table: nothing left on it? Blade down and locked. Paper box shut, piece box shut.");
	g->dark_count = g->step_count;
	wet_text_copy(add_step(g, "Light"), WET_LINE_BYTES,
				  "Lights may come on if both boxes are shut, no piece is open and nothing else in this room "
				  "is dark. Press to end.");
	return WET_OK;
}
