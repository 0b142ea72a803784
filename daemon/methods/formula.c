/* formula.c: formulas from raw chemicals: the list, one in full, what to weigh out. */
#include "methods/caution.h"
#include "methods/graduates.h"
#include "methods/hazard.h"
#include "methods/inside.h"

#include "base/text.h"
#include "shelf/formula_note.h"
#include "shelf/formulary.h"
#include "shelf/shelf.h"
#include "wetside/quantity.h"
#include "wetside/tempering.h"

#include <stdlib.h>
#include <string.h>

#define STEP_BYTES 640
#define SCALE_USUAL_MG 100   /* a kitchen or school balance shows 0.1 g */
#define MEASURE_MOST_UL 5000  /* what is marked more coarsely measures no liquid of a formula */
#define MEASURE_USUAL_UL 500 /* a 25 mL graduate is read to half a millilitre */

void serve_formula_list(struct wet_call *c)
{
	const struct wet_formulary *formulary = c->methods->formulary;
	json_t *list = json_array(), *faults = json_array();
	for (size_t i = 0; i < wet_formulary_count(formulary) && i < 4 * WET_PAGE; i++) {
		const struct wet_formula *f = &wet_formulary_at(formulary, i)->formula;
		(void)json_array_append_new(
			list, json_pack("{s:s, s:s, s:i}", "name", f->name, "title", f->title, "version", f->version));
	}
	for (size_t i = 0; i < wet_formulary_fault_count(formulary) && i < WET_PAGE; i++) {
		char line[512];
		(void)json_array_append_new(
			faults, json_string(wet_fault_line(wet_formulary_fault(formulary, i), line, sizeof line)));
	}
	call_result(c, json_pack("{s:o, s:o}", "formulas", list, "faults", faults));
}

static const struct wet_formulary_item *find_formula(struct wet_call *c)
{
	char name[WET_NAME_BYTES];
	struct wet_fault fault = { 0 };
	if (!want_text(c, "name", true, name, sizeof name))
		return NULL;
	const struct wet_formulary_item *item = wet_formulary_find(c->methods->formulary, name);
	const struct wet_fault *why = item ? NULL : wet_formulary_fault_of(c->methods->formulary, name);
	if (!item && !why) {
		wet_fault_set(&fault, WET_ERR_NOT_FOUND, "name", name,
					  "one of the formulas that `wetside formula` lists");
		why = &fault;
	}
	if (why)
		call_fault(c, why);
	return item;
}

const struct wet_formula *want_formula(struct wet_call *c)
{
	const struct wet_formulary_item *item = find_formula(c);
	return item ? &item->formula : NULL;
}

static json_t *cautions_json(const struct wet_formula *f)
{
	json_t *list = json_array();
	for (int i = 0; i < f->caution_count; i++)
		(void)json_array_append_new(list, json_string(f->cautions[i]));
	for (size_t i = 0; i < WET_CLOSING_LINES; i++)
		(void)json_array_append_new(list, json_string(wet_closing_lines[i]));
	return list;
}

void serve_formula_get(struct wet_call *c)
{
	const struct wet_formulary_item *item = find_formula(c);
	if (item)
		call_result(c, json_pack("{s:s, s:s, s:o, s:o}", "name", item->formula.name, "title",
								 item->formula.title, "formula",
								 json_loadb(item->json, item->json_bytes, 0, NULL), "cautions",
								 cautions_json(&item->formula)));
}

/* -- compute -------------------------------------------------------------------------- */

static bool take_own(struct wet_call *c, const struct wet_formula *f, struct wet_formula_want *want)
{
	const struct wet_substances *table = wet_formulary_substances(c->methods->formulary);
	json_t *own = json_object_get(c->params, "own");
	struct wet_fault fault = { 0 };
	size_t n = json_is_array(own) ? json_array_size(own) : own && !json_is_null(own) ? 1 : 0;
	for (size_t i = 0; i < n; i++) {
		const char *name = json_string_value(json_is_array(own) ? json_array_get(own, i) : own);
		if (!name)
			wet_fault_set(&fault, WET_ERR_PARAMS, "own", NULL, "a text, or a list of texts");
		if (!name || wet_formula_own(table, f, name, want, &fault) != 0) {
			call_fault(c, &fault);
			return false;
		}
	}
	return true;
}

/* An optional mass or volume; absent ones leave the result untouched. */
static bool take_quantity(struct wet_call *c, const char *key,
						  int (*parse)(const char *, int64_t *, struct wet_fault *), int64_t *ret_amount)
{
	char text[48] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	if (text[0] == '\0' || parse(text, ret_amount, &fault) == 0)
		return true;
	wet_fault_prefix(&fault, key);
	call_fault(c, &fault);
	return false;
}

/* A scale that shows grains or ounces is read in them. */
static bool take_scale(struct wet_call *c, struct wet_scale *ret)
{
	char text[48] = "", one[24];
	enum wet_unit unit, same;
	if (!want_text(c, "scale", false, text, sizeof text))
		return false;
	if (wet_parse_mass_exact(text, &ret->step_mg, &unit, NULL) != 0 || unit == WET_UNIT_MG || unit == WET_UNIT_G ||
		unit == WET_UNIT_KG) {
		ret->step_mg = 0;
		return true; /* in grams, or not told */
	}
	wet_text_copy(ret->unit, sizeof ret->unit, wet_unit_text(unit));
	return wet_parse_mass_exact(wet_text_format(one, sizeof one, "1 %s", ret->unit), &ret->unit_mg, &same, NULL) == 0;
}

static const char *kind_word(enum wet_weigh_kind kind)
{
	static const char *const kind_words[] = { "water",  "pinch", "weigh", "measure", "percent-solution",
											  "fill-up" };
	return kind_words[kind];
}

#define HEAT_TOLD_MC 1000 /* dissolving that changes the temperature by less is not told */

/* A solid whose heat of solution is known warms or chills the water it goes into; none is guessed for the others. The
 * solid is taken to be as warm as the room, which the change does not feel. */
static void say_heat(const struct wet_substances *table, const struct wet_weigh_out *list, int i, json_t *step, char *text)
{
	const struct wet_weigh_step *s = &list->steps[i];
	const char *formula = table->forms[s->form].formula;
	struct wet_solution_heat heat;
	struct wet_dissolved done;
	struct wet_fault fault = { 0 };
	struct wet_dissolving ask = {
		.water_ul = list->steps[0].shown, .water_mc = list->steps[0].temperature_mc, .solid_mg = s->shown, .solid_mc = 20000
	};
	if (wet_solution_heat(formula, &heat, NULL) != 0 || wet_molar_mass(formula, &ask.g_per_mol, NULL) != 0)
		return;
	ask.j_per_mol = heat.j_per_mol;
	if (wet_dissolve(&ask, &done, &fault) != 0) {
		wet_text_append(text, STEP_BYTES, " Dissolving it needs %s.", fault.want);
		return;
	}
	(void)json_object_set_new(step, "change_mc", json_integer(done.change_mc));
	(void)json_object_set_new(step, "change_spread_mc", json_integer(done.spread_mc));
	int change_mc = abs(done.change_mc), spread_mc = done.spread_mc;
	if (change_mc >= HEAT_TOLD_MC)
		wet_text_append(text, STEP_BYTES, " It %s the water by about %d C (%d to %d).",
						done.change_mc > 0 ? "warms" : "chills", (change_mc + 500) / 1000,
						(change_mc - spread_mc) / 1000, (change_mc + spread_mc + 999) / 1000);
}

static json_t *step_json(const struct wet_substances *table, const struct wet_formula *f,
						 const struct wet_weigh_out *list, int i)
{
	char text[STEP_BYTES];
	const struct wet_weigh_step *s = &list->steps[i];
	wet_weigh_step_text(table, f, list, i, text, sizeof text);
	json_t *step = json_pack("{s:s}", "do", kind_word(s->kind));
	if (!step)
		return NULL;
	if (s->kind == WET_WEIGH_MASS && list->steps[0].kind == WET_WEIGH_WATER)
		say_heat(table, list, i, step, text);
	(void)json_object_set_new(step, "text", json_string(text));
	if (s->ingredient < 0) {
		(void)json_object_set_new(step, "volume_ul", json_integer(s->shown));
		return step;
	}
	(void)json_object_set_new(step, "substance", json_string(table->forms[s->form].key));
	if (s->kind == WET_WEIGH_PINCH)
		return step;
	bool is_volume = s->kind == WET_WEIGH_VOLUME || s->kind == WET_WEIGH_STOCK;
	(void)json_object_set_new(step, is_volume ? "volume_ul" : "mass_mg", json_integer(s->shown));
	(void)json_object_set_new(step, s->kind == WET_WEIGH_VOLUME ? "exact_ul" : "exact_mg",
							  json_integer(s->exact));
	(void)json_object_set_new(step, "is_replaced", json_boolean(s->is_replaced));
	(void)json_object_set_new(step, "is_coarse", json_boolean(s->is_coarse));
	if (s->kind == WET_WEIGH_STOCK) {
		(void)json_object_set_new(step, "stock_percent_milli", json_integer(s->stock_percent_milli));
		(void)json_object_set_new(step, "stock_mg", json_integer(s->stock_mg));
		(void)json_object_set_new(step, "stock_ul", json_integer(s->stock_ul));
	}
	return step;
}

bool want_weigh_out(struct wet_call *c, const struct wet_formula *f, struct wet_weigh_out *ret_list,
					struct wet_pouring *ret_pouring)
{
	const struct wet_substances *table = wet_formulary_substances(c->methods->formulary);
	const struct wet_safety *safety = c->methods->safety;
	struct wet_formula_want want = { .make_ul = f->makes_ul,
									 .scale_step_mg = SCALE_USUAL_MG,
									 .measure_step_ul = MEASURE_USUAL_UL };
	struct wet_fault fault = { 0 };
	if (!take_quantity(c, "make", wet_parse_volume, &want.make_ul) ||
		!take_quantity(c, "scale", wet_parse_mass, &want.scale_step_mg) || !take_scale(c, &want.scale) ||
		!take_quantity(c, "measure", wet_parse_volume, &want.measure_step_ul) || !take_own(c, f, &want))
		return false;
	int rc = wet_formula_compute(table, f, &want, ret_list, &fault);
	if (rc == 0) {
		wet_pouring_cautions(&safety->incompatibilities, &safety->hazards, table, ret_list, ret_pouring);
		rc = wet_pouring_check(table, f, ret_list, ret_pouring, safety, &fault);
	}
	if (rc == 0)
		return true;
	call_fault(c, &fault);
	return false;
}

/* Where the amounts come from: "3.1 g of metol: AUTHOR, ..." would say the same thing often, so each source once, with the
 * substances it is for; memory first, since it wants to be checked most. */
static json_t *amount_sources(const struct wet_formulary_item *item, const struct wet_substances *table)
{
	json_t *lines = json_array(), *whole = json_loadb(item->json, item->json_bytes, 0, NULL);
	const json_t *cited = json_object_get(whole, "sources"), *rows = json_object_get(whole, "ingredients");
	const char *done[WET_FORMULA_INGREDIENTS] = { "from memory" };
	int done_count = 1;
	for (int k = 0; k < done_count; k++) {
		const json_t *citation = json_object_get(cited, done[k]);
		char names[256] = "", line[STEP_BYTES];
		for (size_t i = 0; i < json_array_size(rows); i++) {
			const json_t *row = json_array_get(rows, i);
			const char *source = json_string_value(json_object_get(json_object_get(row, "source"), "amount"));
			if (!source || i >= (size_t)item->formula.ingredient_count)
				continue;
			bool is_known = false;
			for (int j = 0; j < done_count; j++)
				is_known = is_known || strcmp(done[j], source) == 0;
			if (!is_known && done_count < WET_FORMULA_INGREDIENTS)
				done[done_count++] = source;
			if (strcmp(source, done[k]) == 0)
				wet_text_append(names, sizeof names, "%s%s", names[0] ? ", " : "",
								table->forms[item->formula.ingredients[i].form].name);
		}
		wet_text_format(line, sizeof line, "%s: %s", names, citation ? json_string_value(citation) : done[k]);
		if (names[0])
			(void)json_array_append_new(lines, json_string(line));
	}
	json_decref(whole);
	return lines;
}

static void compute_with(struct wet_call *c, const char *measured)
{
	const struct wet_substances *table = wet_formulary_substances(c->methods->formulary);
	const struct wet_formula *f = want_formula(c);
	struct wet_weigh_out list;
	struct wet_pouring pouring;
	if (!f || !want_weigh_out(c, f, &list, &pouring))
		return;
	char makes[32];
	int64_t make_ul = list.steps[list.step_count - 1].shown;
	json_t *steps = json_array();
	for (int i = 0; i < list.step_count; i++) {
		json_t *step = step_json(table, f, &list, i);
		(void)json_object_set_new(step, "cautions", wet_step_cautions(&pouring, i));
		(void)json_array_append_new(steps, step);
	}
	call_result(c, json_pack("{s:s, s:s, s:s, s:b, s:o, s:s, s:I, s:s, s:o, s:o, s:o}", "measured", measured,
							 "name", f->name, "title", f->title,
							 "needs_acknowledgement", wet_formula_is_hazardous(c->methods->safety, table, f), "hazards",
							 wet_formula_hazards(c->methods->safety, table, f),
							 "makes", wet_print_volume(make_ul, makes, sizeof makes), "make_ul",
							 (json_int_t)make_ul, "use", f->use, "steps", steps, "cautions",
							 cautions_json(f), "sources",
							 amount_sources(wet_formulary_find(c->methods->formulary, f->name), table)));
}

/* The finest of the shelf that could do; the usual step where that is too coarse to say anything of small amounts. */
static void compute_by_shelf(struct wet_call *c, const struct own_graduates *own)
{
	char measured[WET_LINE_BYTES] = "", step[32];
	int best = -1;
	for (int i = 0; i < (int)own->count; i++)
		if (best < 0 || own->graduates[i].step_ul < own->graduates[best].step_ul)
			best = i;
	if (best >= 0 && own->graduates[best].step_ul <= MEASURE_MOST_UL) {
		wet_print_volume(own->graduates[best].step_ul, step, sizeof step);
		(void)json_object_set_new(c->params, "measure", json_string(step));
		wet_text_format(measured, sizeof measured, "Liquids are measured to %s, as %s on the shelf is marked.", step,
						own->names[best]);
	} else if (best >= 0) {
		wet_text_format(measured, sizeof measured, "No graduate on the shelf is fine enough: liquids are told to %s.",
						wet_print_volume(MEASURE_USUAL_UL, step, sizeof step));
	}
	compute_with(c, measured);
}

void serve_formula_compute(struct wet_call *c)
{
	const json_t *typed = json_object_get(c->params, "measure");
	if (typed && !json_is_null(typed))
		compute_with(c, "");
	else
		with_own_graduates(c, compute_by_shelf);
}
