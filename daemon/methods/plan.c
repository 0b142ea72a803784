/* plan.c: "what do I mix?" */
#include "darkroom/planning.h"
#include "methods/caution.h"
#include "methods/inside.h"
#include "methods/plan_kept.h"
#include "methods/sheet.h"

#include "base/text.h"
#include "shelf/formulary.h"
#include "shelf/shelf.h"
#include "wetside/quantity.h"
#include "wetside/wash.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CAUTION_BYTES 512

/* "pieces": [{"count": 6, "size": "9x12cm"}, ...] */
static bool want_pieces(struct wet_call *c, struct wet_planning_request *r)
{
	json_t *list = json_object_get(c->params, "pieces"), *row;
	size_t i;
	int total = 0;
	struct wet_fault fault = { 0 };
	if (!json_is_array(list) || json_array_size(list) == 0 || json_array_size(list) > WET_PLAN_SIZES) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "pieces", NULL,
					  "a list of one to %d sizes, as in [{\"count\": 6, \"size\": \"9x12cm\"}]", WET_PLAN_SIZES);
		call_fault(c, &fault);
		return false;
	}
	json_array_foreach(list, i, row)
	{
		json_int_t count = json_integer_value(json_object_get(row, "count"));
		const char *size = json_string_value(json_object_get(row, "size"));
		if (!json_is_integer(json_object_get(row, "count")) || !size || count < 1 || count > WET_PLAN_PIECES) {
			wet_fault_set(&fault, WET_ERR_PARAMS, "pieces", NULL, "a count from 1 to %d and a size, as in 9x12cm",
						  WET_PLAN_PIECES);
			call_fault(c, &fault);
			return false;
		}
		if (wet_parse_size(size, &r->sizes[i].width_um, &r->sizes[i].height_um, &fault) != 0)
			return call_fault_at(c, "pieces", &fault);
		r->sizes[i].count = (int)count;
		total += (int)count;
		r->size_count++;
	}
	if (total <= WET_PLAN_PIECES)
		return true;
	wet_fault_set(&fault, WET_ERR_TOO_MANY, "pieces", NULL, "at most %d pieces in one plan", WET_PLAN_PIECES);
	call_fault(c, &fault);
	return false;
}

static void add_lines(json_t *list, const char *text)
{
	while (list && *text) {
		size_t n = strcspn(text, "\n");
		if (n > 0)
			(void)json_array_append_new(list, json_stringn(text, n));
		text += n + (text[n] == '\n');
	}
}

/* Percent in grams in 100 mL, in thousandths, of what is one solid in water; 0 of all else. */
static int32_t percent_of(const struct wet_formulary *formulary, const char *name)
{
	const struct wet_formulary_item *item = wet_formulary_find(formulary, name);
	const struct wet_formula *f = item ? &item->formula : NULL;
	if (!f || f->ingredient_count != 1 || f->ingredients[0].is_pinch ||
		wet_form_is_liquid(&wet_formulary_substances(formulary)->forms[f->ingredients[0].form]))
		return 0;
	return (int32_t)((f->ingredients[0].amount * 100000 + f->makes_ul / 2) / f->makes_ul);
}

/* The strengths that bottles of the recipe's stocks are told in. */
static void name_strengths(const struct wet_call *c, struct wet_planning_request *r)
{
	const struct wet_shelf_recipe *shelved = wet_shelf_find(wet_darkroom_shelf(c->methods->darkroom), r->recipe_name);
	for (int i = 0; shelved && i < shelved->recipe.bath_count && r->own_count < WET_PLAN_SOLUTIONS; i++) {
		const char *from = shelved->recipe.baths[i].mix.from;
		int32_t percent_milli = percent_of(c->methods->formulary, from);
		if (percent_milli == 0)
			continue;
		wet_text_copy(r->own[r->own_count].what, WET_NAME_BYTES, from);
		r->own[r->own_count++].percent_milli = percent_milli;
	}
}

/* Where a mark of sources ends, "[6, from memory]", that begins here; NULL: it is none. */
static const char *mark_end(const char *p, const char *end)
{
	const char *q = *p == '[' ? memchr(p, ']', (size_t)(end - p)) : NULL;
	bool is_mark = q && ((p[1] >= '0' && p[1] <= '9') || strncmp(p + 1, "from memory", 11) == 0 ||
						 strncmp(p + 1, "common practice", 15) == 0);
	return is_mark ? q + 1 : NULL;
}

/* One line of the note for the sheet: joined where it was broken, without the marks of sources that stand in the note. */
static void add_caution(json_t *list, const char *p, const char *end)
{
	char line[CAUTION_BYTES];
	size_t n = 0;
	while (p < end && n + 1 < sizeof line) {
		const char *after = mark_end(p, end);
		bool is_blank = *p == ' ' || *p == '\n';
		if (after)
			p = after;
		else if (is_blank && (n == 0 || line[n - 1] == ' '))
			p++;
		else
			line[n++] = is_blank ? ' ' : *p, p++;
	}
	while (n > 0 && line[n - 1] == ' ')
		n--;
	if (n > 0)
		(void)json_array_append_new(list, json_stringn(line, n));
}

/* The parts of the recipe's note that mixing needs: what to wear and open, and what never to mix. */
static json_t *cautions_of(const struct wet_shelf_recipe *shelved)
{
	static const char *const heads[] = { "## First", "## Never mix" };
	json_t *list = json_array();
	for (size_t i = 0; i < sizeof heads / sizeof heads[0] && shelved; i++) {
		const char *p = strstr(shelved->note, heads[i]);
		const char *end = p ? strstr(p + 2, "\n## ") : NULL;
		end = p && !end ? p + strlen(p) : end;
		p = p ? p + 3 : NULL;
		while (p && p < end) {
			const char *next = p;
			do {
				const char *line = memchr(next, '\n', (size_t)(end - next));
				next = line ? line + 1 : end;
			} while (next < end && next[0] == ' ');
			add_caution(list, p, next);
			p = next;
		}
	}
	for (int i = 0; i < WET_CLOSING_LINES; i++)
		(void)json_array_append_new(list, json_string(wet_closing_lines[i]));
	return list;
}

#define HANDLING_NS (10 * WET_NS_PER_S) /* a piece in the dark, or a lid: common practice, no source */

/* How many times as long a wash takes in water from the cold tap; 1 where nothing was told of it. */
static double wash_slower(const struct wet_planning_request *request, const struct wet_planning *p)
{
	enum wet_base base = p->recipe->is_resin_coated ? WET_BASE_RC : WET_BASE_FIBRE_DOUBLE;
	return request->cold_mc == INT32_MIN ? 1 : wet_wash_slower(base, request->cold_mc);
}

/* A wash in cold water takes longer than the recipe says. */
static void say_cold_wash(const struct wet_planning_request *request, const struct wet_planning *p, json_t *text)
{
	double slower = wash_slower(request, p);
	char cold[24], line[WET_LINE_BYTES];
	if (slower <= 1)
		return;
	wet_print_temperature(request->cold_mc, cold, sizeof cold);
	wet_text_format(line, sizeof line, "washes in water of %s take %.2g times as long as the recipe says, and are so counted%s",
					cold, slower,
					request->cold_mc < WET_WASH_COLD_MC
						? "; below 10 C fixer does not come out well in any time: temper the wash water"
						: "");
	(void)json_array_append_new(text, json_string(line));
}

/* From the first press to the end of the last wash; baths at the reference temperature, washes from the cold tap. */
static void say_time(const struct wet_planning_request *request, const struct wet_planning *p, char *buf, unsigned n)
{
	int64_t ns = p->plan.between_ns;
	double slower = wash_slower(request, p);
	char total[32], least[32], most[32];
	for (int i = 0; i < p->plan.load_count; i++) {
		int pieces = 0;
		for (int s = 0; s < p->ask.size_count; s++)
			pieces += p->plan.loads[i].counts[s];
		for (int s = 0; s < p->recipe->stage_count; s++) {
			const struct wet_stage *stage = &p->recipe->stages[s];
			bool is_each = stage->handling == WET_HANDLING_PIECES;
			if (stage->kind == WET_STAGE_WASH)
				ns += llround((double)stage->aim_ns * slower);
			else
				ns += wet_stage_kind_is_bath(stage->kind) ? stage->aim_ns : HANDLING_NS * (is_each ? pieces : 1);
		}
	}
	wet_text_format(buf, n, "about %s in all, from the first press to the last wash, between loads included",
					wet_print_duration((ns + 30 * WET_NS_PER_S) / (60 * WET_NS_PER_S) * (60 * WET_NS_PER_S), total,
									   sizeof total));
	if (p->recipe->dry_most_ns > 0)
		wet_text_append(buf, n, "; then %s to %s to dry", wet_print_seconds(p->recipe->dry_least_ns, least, sizeof least),
						wet_print_seconds(p->recipe->dry_most_ns, most, sizeof most));
}

/* What is used in the washer is told where it could surprise. */
static void say_washer(const struct wet_planning *p, json_t *text)
{
	for (int i = 0; i < p->ask.solution_count && p->washer.id == 0; i++)
		if (p->is_in_washer[i])
			(void)json_array_append_new(
				text, json_sprintf("%s is used in the washer, but counted as if in %s: --washer NAME counts the washer",
								   p->ask.solutions[i].name, p->vessel.name));
	if (p->washer.id != 0 && p->most_pieces < p->vessel.pieces_max)
		(void)json_array_append_new(text, json_sprintf("%s takes %d piece%s, so no load is larger", p->washer.name,
													   p->most_pieces, p->most_pieces == 1 ? "" : "s"));
}

/* Allowed, and told all the same: of which bottles nobody knows how they do together. */
static void say_lots(const struct wet_planning *p, json_t *text)
{
	for (int i = 0; i < p->plan.bath_count; i++) {
		const struct wet_plan_bath *b = &p->plan.baths[i];
		for (int n = 1; n < b->draw_count; n++) {
			const struct wet_stock *a = &p->bottles[p->plan.draws[b->first_draw + n - 1].bottle];
			const struct wet_stock *z = &p->bottles[p->plan.draws[b->first_draw + n].bottle];
			if (p->plan_bottles[p->plan.draws[b->first_draw + n - 1].bottle].lot ==
				p->plan_bottles[p->plan.draws[b->first_draw + n].bottle].lot)
				continue;
			(void)json_array_append_new(text, json_sprintf("%s of lots %s and %s is mixed in one bath, as allowed: from %s and %s",
														   a->what, a->lot[0] ? a->lot : "unknown", z->lot[0] ? z->lot : "unknown",
														   a->name, z->name));
		}
	}
}

/* A tray that is smaller than the count of its pieces says. */
static void say_room(const struct wet_planning_request *request, const struct wet_planning *p, json_t *text)
{
	char a[32], b[32];
	for (int i = 0; i < p->ask.size_count; i++)
		if (p->room[i] < p->most_pieces && p->plan.load_count > 1)
			(void)json_array_append_new(
				text, json_sprintf("of %s x %s, %d lie%s side by side in %s; as a stack that is turned over, more: vessel change "
								   "--piece",
								   wet_print_length(request->sizes[i].width_um, a, sizeof a),
								   wet_print_length(request->sizes[i].height_um, b, sizeof b), p->room[i],
								   p->room[i] == 1 ? "s" : "", p->vessel.name));
}

static json_t *loads_json(const struct wet_planning *p)
{
	json_t *list = json_array();
	for (int i = 0; i < p->plan.load_count; i++) {
		json_t *counts = json_array();
		for (int n = 0; n < p->ask.size_count; n++)
			(void)json_array_append_new(counts, json_integer(p->plan.loads[i].counts[n]));
		(void)json_array_append_new(list, json_pack("{s:o, s:I, s:b}", "counts", counts, "area_mm2",
													(json_int_t)p->plan.loads[i].area_mm2, "is_trial",
													p->plan.loads[i].is_trial));
	}
	return list;
}

static json_t *draws_json(const struct wet_planning *p, const struct wet_planning_part *part,
						  const struct wet_plan_bath *b)
{
	json_t *list = json_array();
	int n = p->alike[part->solution];
	for (int i = 0; i < b->draw_count; i++) {
		const struct wet_plan_draw *d = &p->plan.draws[b->first_draw + i];
		(void)json_array_append_new(
			list, json_pack("{s:s, s:I}", "bottle", p->bottles[d->bottle].name, "stock_ul",
							(json_int_t)(d->stock_ul / n + (part->among < d->stock_ul % n))));
	}
	return list;
}

/* A bath in one of its places. One of two that changes its place has a row for each: what it is drawn from stands in the
 * first of them, and `was` in the other is the place it had. */
static json_t *bath_json(const struct wet_planning *p, const struct wet_planning_part *part, const struct wet_plan_bath *b)
{
	int alike = p->alike[part->solution];
	bool is_second = p->ask.solutions[part->solution].has_second && part->among == 1;
	bool was_second = !is_second && b->second_count > 0;
	const struct wet_stock *w = wet_planning_working(p, part, b);
	int64_t stock_ul = was_second ? 0 : b->stock_ul / alike + (part->among < b->stock_ul % alike);
	const char *was = "";
	for (int i = 0; was_second && i < p->part_count; i++)
		if (p->parts[i].solution == part->solution && p->parts[i].among == 1)
			was = p->recipe->baths[p->parts[i].recipe_bath].key;
	json_t *row = json_pack(
		"{s:s, s:i, s:i, s:s, s:I, s:I, s:I, s:o, s:I, s:I, s:b}", "bath", p->recipe->baths[part->recipe_bath].key,
		"first_load", is_second ? b->second_load : b->first_load, "load_count", is_second ? b->second_count : b->load_count,
		"working", w ? w->name : "", "volume_ul", (json_int_t)b->volume_ul, "stock_ul", (json_int_t)stock_ul, "water_ul",
		(json_int_t)(w || was_second ? 0 : b->volume_ul - stock_ul), "draws", was_second ? json_array() : draws_json(p, part, b),
		"area_mm2", (json_int_t)b->area_mm2, "left_mm2", (json_int_t)b->left_mm2, "is_kept", b->is_kept);
	if (p->ask.solutions[part->solution].has_second) {
		(void)json_object_set_new(row, "second_mm2", json_integer(b->second_mm2));
		(void)json_object_set_new(row, "rotations", json_integer(b->rotations));
		(void)json_object_set_new(row, "was", json_string(was));
	}
	return row;
}

static json_t *baths_json(const struct wet_planning *p)
{
	json_t *list = json_array();
	for (int n = 0; n < p->part_count; n++)
		for (int i = 0; i < p->plan.bath_count; i++) {
			const struct wet_plan_bath *b = &p->plan.baths[i];
			const struct wet_planning_part *part = &p->parts[n];
			bool is_second = p->ask.solutions[part->solution].has_second && part->among == 1;
			if (b->solution == part->solution && (is_second ? b->second_count : b->load_count) > 0)
				(void)json_array_append_new(list, bath_json(p, part, b));
		}
	return list;
}

static json_t *refusal_json(const struct wet_plan_refusal *r)
{
	json_t *lines = json_array();
	for (int i = 0; i < r->line_count; i++)
		(void)json_array_append_new(lines, json_string(r->lines[i]));
	return json_pack("{s:o, s:I, s:I, s:I, s:i, s:i}", "lines", lines, "have_ul", (json_int_t)r->have_ul, "need_ul",
					 (json_int_t)r->need_ul, "short_ul", (json_int_t)r->short_ul, "pieces_now", r->pieces_now,
					 "loads_now", r->loads_now);
}

static void planned(void *ctx, const struct wet_planning_request *request, const struct wet_planning *p,
					const struct wet_fault *fault)
{
	struct pending *pending = ctx;
	if (fault->err != WET_OK || !p) {
		reply_fault(pending, fault);
		return;
	}
	if (!p->is_feasible) {
		json_t *refusal = refusal_json(&p->refusal);
		add_lines(json_object_get(refusal, "lines"), p->told);
		reply_result(pending, json_pack("{s:b, s:o}", "is_feasible", 0, "refusal", refusal));
		return;
	}
	const struct wet_shelf_recipe *shelved =
		wet_shelf_find(wet_darkroom_shelf(pending->methods->darkroom), request->recipe_name);
	const struct wet_sheet_care care = { shelved, pending->methods->formulary, pending->methods->safety };
	char time[WET_LINE_BYTES];
	json_t *text = json_array();
	add_lines(text, p->text);
	add_lines(text, p->told);
	say_time(request, p, time, sizeof time);
	(void)json_array_append_new(text, json_string(time));
	say_cold_wash(request, p, text);
	say_washer(p, text);
	say_room(request, p, text);
	say_lots(p, text);
	json_t *result = json_pack("{s:b, s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:i, s:I, s:I, s:b, s:I, s:I}", "is_feasible",
									1,
									"recipe", p->recipe->name, "vessel", p->vessel.name, "washer", p->washer.name, "kept_as", request->keep,
									"loads", loads_json(p), "baths", baths_json(p), "text", text, "sheet",
									wet_mixing_sheet(request, p, &care), "cautions", cautions_of(shelved), "meets",
									wet_recipe_meets(p->recipe, pending->methods->formulary, pending->methods->safety,
													 request->is_stale_air), "loads_bound",
									p->plan.loads_bound, "squares", (json_int_t)p->plan.squares, "squares_bound",
									(json_int_t)p->plan.squares_bound, "is_exact", p->plan.is_exact, "gone_ul",
									(json_int_t)p->plan.gone_ul, "between_us",
									(json_int_t)(p->plan.between_ns / 1000));
	if (result && request->keep[0])
		keep_plan_sheet(pending, result);
	else
		reply_result(pending, result);
}

/* Hot and cold go together, and which is which is not guessed; all of them are water that can be poured. */
static bool want_taps(struct wet_call *c, const struct wet_planning_request *r)
{
	const struct {
		const char *key;
		int32_t mc;
	} told[] = { { "hot", r->hot_mc }, { "cold", r->cold_mc }, { "stock", r->stock_mc }, { "room", r->room_mc } };
	struct wet_fault fault = { 0 };
	char found[48], other[24];
	for (size_t i = 0; i < sizeof told / sizeof told[0]; i++)
		if (told[i].mc != INT32_MIN && (told[i].mc < 0 || told[i].mc > 100000))
			wet_fault_set(&fault, WET_ERR_RANGE, told[i].key, wet_print_temperature(told[i].mc, found, sizeof found),
						  "0 C to 100 C");
	if (fault.err == WET_OK && (r->hot_mc == INT32_MIN) != (r->cold_mc == INT32_MIN))
		wet_fault_set(&fault, WET_ERR_PARAMS, r->hot_mc == INT32_MIN ? "hot" : "cold", NULL,
					  "both hot and cold water, or neither: with one alone nothing is brought to a temperature");
	if (fault.err == WET_OK && r->hot_mc < r->cold_mc) {
		wet_print_temperature(r->hot_mc, found, sizeof found);
		wet_fault_set(&fault, WET_ERR_INVALID, "hot", found, "the warmer water as hot: cold is %s",
					  wet_print_temperature(r->cold_mc, other, sizeof other));
	}
	if (fault.err != WET_OK)
		call_fault(c, &fault);
	return fault.err == WET_OK;
}

void serve_plan(struct wet_call *c)
{
	struct wet_planning_request *r = calloc(1, sizeof *r);
	if (!r) {
		call_result(c, NULL);
		return;
	}
	r->hot_mc = r->cold_mc = r->stock_mc = r->room_mc = INT32_MIN;
	bool is_good = want_text(c, "recipe", true, r->recipe_name, sizeof r->recipe_name) &&
				   want_text(c, "vessel", true, r->vessel_name, sizeof r->vessel_name) &&
				   want_text(c, "washer", false, r->washer_name, sizeof r->washer_name) &&
				   want_name(c, "keep", r->keep, sizeof r->keep) && want_bool(c, "trial", &r->wants_trial) &&
				   want_bool(c, "mix_lots", &r->mixes_lots) &&
				   want_bool(c, "stale_air", &r->is_stale_air) &&
				   want_temperature(c, "hot", false, &r->hot_mc) && want_temperature(c, "cold", false, &r->cold_mc) &&
				   want_temperature(c, "stock", false, &r->stock_mc) &&
				   want_temperature(c, "room", false, &r->room_mc) && want_taps(c, r) && want_pieces(c, r);
	name_strengths(c, r);
	struct pending *p = is_good ? hold_reply(c) : NULL;
	if (p)
		wet_darkroom_plan(c->methods->darkroom, r, planned, p);
	free(r);
}

static void listed(void *ctx, const struct wet_plan_names *names, const struct wet_fault *fault)
{
	if (fault->err != WET_OK) {
		reply_fault(ctx, fault);
		return;
	}
	json_t *list = json_array();
	for (int i = 0; i < names->count; i++)
		(void)json_array_append_new(list, json_pack("{s:s, s:s, s:I}", "name", names->rows[i].name, "recipe",
													names->rows[i].recipe, "wall_ms", (json_int_t)names->rows[i].wall_ms));
	reply_result(ctx, json_pack("{s:o}", "plans", list));
}

void serve_plan_list(struct wet_call *c)
{
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_list_plans(c->methods->darkroom, listed, p);
}
