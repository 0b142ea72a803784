/* cut_words.c: a cutting plan as data and in words. */
#include "methods/cut.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

#define PARTS_TOLD 420 /* rectangles in one reply: it must stay under WET_REPLY_BYTES */

int64_t cut_um(int32_t length_t)
{
	return ((int64_t)length_t + WET_CUT_TICKS_PER_UM / 2) / WET_CUT_TICKS_PER_UM;
}

static const char *const kind_words[] = {
	[WET_CUT_TO_CUT] = "strip", [WET_CUT_PIECE] = "piece", [WET_CUT_REST] = "rest", [WET_CUT_WASTE] = "waste"
};

static void add_line(json_t *list, const char *line)
{
	(void)json_array_append_new(list, json_string(line));
}

/* -- in words ------------------------------------------------------------------------------ */

static void say_counts(const struct cut_request *r, json_t *text)
{
	const struct wet_cut_plan *p = r->words.plan;
	char line[512] = "", size[80];
	for (int i = 0; i < r->ask.size_count; i++) {
		const struct wet_cut_size *s = &r->ask.sizes[i];
		wet_text_append(line, sizeof line, "%s%d piece%s of %s", i == 0 ? "" : ", ", p->counts[i],
						p->counts[i] == 1 ? "" : "s",
						wet_cut_print_size(s->width_t, s->height_t, r->words.unit, size, sizeof size));
	}
	wet_text_append(
		line, sizeof line, " from %d sheet%s of %s; %d cut%s, %d setting%s of the stop.", p->sheets,
		p->sheets == 1 ? "" : "s",
		wet_cut_print_size(r->ask.sheet_width_t, r->ask.sheet_height_t, r->words.unit, size, sizeof size),
		p->cuts, p->cuts == 1 ? "" : "s", p->stop_count, p->stop_count == 1 ? "" : "s");
	add_line(text, line);
	if (r->is_inside) {
		char under[48];
		wet_text_format(line, sizeof line,
						"The sizes told are the cameras' insides: the pieces are %s smaller each way.",
						wet_cut_print_length(r->under_t, r->words.unit, under, sizeof under));
		add_line(text, line);
	}
}

/* How far it is proven. */
static void say_proof(const struct wet_cut_plan *p, json_t *text)
{
	static const char *const most[] = { "the count of pieces", "the settings", "the cuts" };
	static const char *const wanted[] = { "the count of sheets", "the rest", "the settings", "the cuts" };
	const char *const *keys = p->keys == 3 ? most : wanted;
	char line[256] = "";
	if (p->proven == p->keys) {
		add_line(text, p->keys == 3 ? "Proven: no straight cuts from edge to edge give more pieces; nor as "
									  "many with fewer settings or cuts."
									: "Proven: not with fewer sheets, nor with a larger rest in one part, "
									  "nor with fewer settings or cuts.");
		return;
	}
	for (int i = 0; i < p->keys; i++) {
		if (i == p->proven)
			wet_text_append(line, sizeof line, "%sNot proven, the best found: ", i > 0 ? ". " : "");
		wet_text_append(line, sizeof line, "%s%s",
						i == 0 && p->proven > 0    ? "Proven best: "
						: i == 0 || i == p->proven ? ""
												   : ", ",
						keys[i]);
	}
	wet_text_append(line, sizeof line, ".");
	if (p->keys == 4 && p->proven == 0 && p->sheets > p->sheets_bound)
		wet_text_append(line, sizeof line, " Fewer than %d sheets can't do.", p->sheets_bound);
	add_line(text, line);
}

static void say_rest(const struct cut_request *r, json_t *text)
{
	const struct wet_cut_plan *p = r->words.plan;
	const struct wet_cut_part *best = NULL;
	int64_t most = 0;
	char line[256], size[80];
	for (int i = 0; i < p->layout_count; i++) {
		const struct wet_cut_layout *l = &p->layouts[i];
		const struct wet_cut_part *part = l->rest >= 0 ? &l->parts[l->rest] : NULL;
		if (!part || (int64_t)part->width_t * part->height_t <= most)
			continue;
		most = (int64_t)part->width_t * part->height_t;
		best = part;
	}
	if (!best)
		return;
	wet_text_format(
		line, sizeof line,
		"The largest rest in one part: %s. Rests of 2 cm or more do as test strips: into the paper box.",
		wet_cut_print_size(best->width_t, best->height_t, r->words.unit, size, sizeof size));
	add_line(text, line);
}

/* What is done while there is light. Common practice, no source. */
static json_t *before_dark(const struct cut_request *r)
{
	const struct wet_cut_plan *p = r->words.plan;
	json_t *list = json_array();
	char line[256];
	add_line(list, "A trimmer with a guard, which cuts straight through; never an open blade, knife or "
				   "scissors in the dark. Its blade is "
				   "down and locked whenever no hand is on it.");
	add_line(list, "Pupils cut with a teacher beside them, one at a time.");
	add_line(list, "Measure one sheet of the box: sheets differ from their name by a millimetre or two.");
	if (p->stop_count > 0)
		add_line(list, "Set the stops, or lay out a gauge of card for each, the largest first, so that they "
					   "are found by touch. What lies "
					   "between stop and blade is measured and stays; what hangs over falls off.");
	for (int i = 0; i < p->stop_count; i++) {
		wet_cut_say_stop(&r->words, i, line, sizeof line);
		add_line(list, line);
	}
	add_line(
		list,
		r->words.is_resin_coated
			? "Clip one corner of each piece; nicks count from it: on the long side ones, on the short side "
			  "fives. With a long side "
			  "up and the clipped corner at the left, the emulsion faces you. Nicks by a ticket punch, which "
			  "has no open blade."
			: "A soft pencil for the backs, and room to write: no pressure, or it shows in the picture.");
	add_line(list, "A second light-tight box for the pieces, open beside the trimmer; the paper box shut. A "
				   "clean table: emulsion scratches.");
	add_line(list, "Go through one sheet with scrap paper in the light: --guide --rehearse.");
	return list;
}

/* -- as data ----------------------------------------------------------------------------------- */

static json_t *part_json(const struct cut_request *r, const struct wet_cut_part *p, int before)
{
	char mark[64];
	json_t *part = json_pack("{s:s, s:[I, I, I, I]}", "is", kind_words[p->kind], "um",
							 (json_int_t)cut_um(p->x_t), (json_int_t)cut_um(p->y_t),
							 (json_int_t)cut_um(p->width_t), (json_int_t)cut_um(p->height_t));
	if (part && p->kind == WET_CUT_PIECE) {
		(void)json_object_set_new(part, "number", json_integer(before + p->number));
		(void)json_object_set_new(
			part, "mark", json_string(wet_cut_say_mark(&r->words, before + p->number, mark, sizeof mark)));
	}
	return part;
}

static json_t *layout_json(const struct cut_request *r, const struct wet_cut_layout *l, int sheet, int before,
						   bool is_whole)
{
	json_t *layout =
		json_pack("{s:i, s:i, s:i, s:i, s:i, s:i}", "times", l->times, "sheet", sheet, "pieces",
				  l->piece_count, "cuts", l->step_count, "first_number", before + 1, "rest", l->rest);
	if (!layout || !is_whole)
		return layout;
	json_t *parts = json_array(), *steps = json_array();
	char line[WET_LINE_BYTES];
	char *drawing = malloc(WET_CUT_DRAWING_BYTES);
	for (int i = 0; i < l->part_count; i++)
		(void)json_array_append_new(parts, part_json(r, &l->parts[i], before));
	for (int i = 0; i < l->step_count; i++) {
		const struct wet_cut_step *s = &l->steps[i];
		wet_cut_say_step(&r->words, l, i, before, line, sizeof line);
		(void)json_array_append_new(
			steps, json_pack("{s:s, s:i, s:i, s:i, s:i, s:[I, I, I, I]}", "text", line, "table", s->table,
							 "stop", s->stop, "stays", s->stays, "falls", s->falls, "line_um",
							 (json_int_t)cut_um(s->from_x_t), (json_int_t)cut_um(s->from_y_t),
							 (json_int_t)cut_um(s->to_x_t), (json_int_t)cut_um(s->to_y_t)));
	}
	(void)json_object_set_new(layout, "parts", parts);
	(void)json_object_set_new(layout, "steps", steps);
	if (drawing)
		(void)json_object_set_new(
			layout, "drawing",
			json_string(wet_cut_draw(&r->words, l, before, r->columns, drawing, WET_CUT_DRAWING_BYTES)));
	free(drawing);
	return layout;
}

static json_t *stops_json(const struct cut_request *r)
{
	const struct wet_cut_plan *p = r->words.plan;
	json_t *stops = json_array();
	char line[96];
	for (int i = 0; i < p->stop_count; i++) {
		wet_cut_say_stop(&r->words, i, line, sizeof line);
		(void)json_array_append_new(
			stops, json_pack("{s:I, s:i, s:b, s:s}", "length_um", (json_int_t)cut_um(p->stops[i].length_t),
							 "cuts", p->stops[i].uses, "is_margin", p->stops[i].is_margin, "text", line));
	}
	return stops;
}

json_t *cut_plan_json(const struct cut_request *r)
{
	const struct wet_cut_plan *p = r->words.plan;
	json_t *text = json_array(), *layouts = json_array();
	int sheet = 1, before = r->words.first_number - 1, told = 0;
	say_counts(r, text);
	say_proof(p, text);
	say_rest(r, text);
	for (int i = 0; i < p->layout_count; i++) {
		const struct wet_cut_layout *l = &p->layouts[i];
		bool is_asked = i == r->layout,
			 is_whole = is_asked || (i > r->layout && told + l->part_count <= PARTS_TOLD);
		told += is_whole ? l->part_count : 0;
		(void)json_array_append_new(layouts, layout_json(r, l, sheet, before, is_whole));
		sheet += l->times;
		before += l->times * l->piece_count;
	}
	return json_pack("{s:i, s:i, s:i, s:i, s:i, s:I, s:o, s:o, s:o, s:o}", "sheets", p->sheets, "pieces",
					 p->pieces, "cuts", p->cuts, "keys", p->keys, "proven", p->proven, "rest_mm2",
					 (json_int_t)p->rest_mm2, "text", text, "stops", stops_json(r), "before_dark",
					 before_dark(r), "layouts", layouts);
}
