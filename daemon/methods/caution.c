/* caution.c: what meets, in JSON and in lines of a sheet. */
#include "methods/caution.h"

#include "base/text.h"

#include <string.h>

#define LINE 512

static void add(json_t *lines, const char *text)
{
	(void)json_array_append_new(lines, json_string(text));
}

json_t *wet_caution_json(const struct wet_caution *c, const char *first, const char *then)
{
	char text[WET_CAUTION_BYTES];
	return json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s}", "severity", wet_severity_word(c->severity),
					 "meeting", wet_meeting_word(c->meeting), "rule", c->rule->key, "first", first, "then", then, "forms",
					 c->rule->forms, "harm", c->rule->harm, "needs", wet_caution_needs(c), "do", c->rule->action, "source",
					 c->rule->source, "text", wet_caution_text(c, first, then, text, sizeof text));
}

static void add_unknown(const struct wet_recipe *r, unsigned unknown, json_t *list)
{
	char names[LINE] = "", text[2 * LINE];
	for (int i = 0; i < r->bath_count; i++)
		if (unknown & 1u << i)
			wet_text_append(names, sizeof names, "%s%s", names[0] ? ", " : "", r->baths[i].name);
	if (!names[0])
		return;
	wet_text_format(text, sizeof text,
					"Note: what is in %s is not known here, so what it must not meet can't be told. Read its label and its "
					"safety data sheet.",
					names);
	(void)json_array_append_new(list, json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s}", "severity",
												wet_severity_word(WET_SEVERITY_INFORM), "meeting", "", "rule", "", "first",
												names, "then", names, "forms", "", "harm", "", "needs", "", "do", "", "source",
												"", "text", text));
}

json_t *wet_recipe_meets(const struct wet_recipe *r, const struct wet_formulary *formulary,
						 const struct wet_safety *safety, bool is_stale_air)
{
	struct wet_judgement j;
	json_t *list = json_array();
	wet_judge_recipe(r, formulary, safety, is_stale_air, &j);
	for (int i = 0; i < j.caution_count; i++) {
		const struct wet_caution *c = &j.cautions[i];
		(void)json_array_append_new(list, wet_caution_json(c, r->baths[c->first].name, r->baths[c->then].name));
	}
	add_unknown(r, j.unknown, list);
	return list;
}

/* -- a list of weighing -------------------------------------------------------------------- */

int wet_pouring_check(const struct wet_substances *substances, const struct wet_formula *f, const struct wet_weigh_out *list,
					  const struct wet_pouring *pouring, const struct wet_safety *safety, struct wet_fault *reterr)
{
	const struct wet_caution *worst = &pouring->cautions[0];
	struct wet_contents contents;
	wet_formula_contents(&safety->hazards, substances, f, 1, 0, &contents);
	const struct wet_hazards *refused = wet_contents_refused(&contents);
	if (refused)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "name", f->name, "a formula without %s: it is refused here",
							 refused->name);
	if (pouring->count == 0 || worst->severity < WET_SEVERITY_FORBID)
		return WET_OK;
	const struct wet_weigh_step *step = &list->steps[worst->then];
	return wet_fault_set(reterr, WET_ERR_REFUSED, "name", f->name, "another form or order: here %s gives %s; %s",
						 step->ingredient < 0 ? "water" : substances->forms[step->form].name, worst->rule->forms,
						 worst->rule->text);
}

json_t *wet_step_cautions(const struct wet_pouring *pouring, int step)
{
	json_t *list = json_array();
	char text[WET_CAUTION_BYTES];
	if (pouring->is_diluted[step]) {
		wet_text_format(text, sizeof text, "Care: first stir it into %d times as much cold water, beside; then pour that in.",
						WET_POUR_WATER_PARTS);
		add(list, text);
	}
	for (int n = 0; n < pouring->count; n++)
		if (pouring->cautions[n].then == step)
			add(list, wet_caution_text(&pouring->cautions[n], "", "", text, sizeof text));
	/* M. McCann, Photographic Processing Hazards, Center for Safety in the Arts: extraction or a respirator; the low, slow
	 * scoop: common practice, no source. */
	if (pouring->is_dust[step])
		add(list, "Powder: a low, slow scoop, no draught, extraction or a mask; shut its pack before the next.");
	return list;
}

/* -- discards ------------------------------------------------------------------------------ */

unsigned wet_silver_baths(const struct wet_shelf_recipe *shelved)
{
	const struct wet_recipe *r = &shelved->recipe;
	unsigned silver = 0;
	json_t *note = json_loads(shelved->note_json ? shelved->note_json : "{}", 0, NULL), *entry, *key;
	size_t i, k;
	for (int b = 0; b < r->bath_count; b++)
		silver |= r->baths[b].mix.regime[0] ? 1u << b : 0;
	json_array_foreach(json_object_get(note, "disposal"), i, entry)
	{
		if (!json_is_true(json_object_get(entry, "silver")))
			continue;
		json_array_foreach(json_object_get(entry, "baths"), k, key)
			for (int b = 0; b < r->bath_count; b++)
				silver |= strcmp(r->baths[b].key, json_string_value(key)) == 0 ? 1u << b : 0;
	}
	json_decref(note);
	return silver;
}

/* Of the baths in `which`: what they hold, and their places. */
struct waste {
	int count, baths[WET_RECIPE_BATHS + 2];
	struct wet_contents contents[WET_RECIPE_BATHS];
	struct wet_thing things[WET_RECIPE_BATHS + 2];
};

static void collect(const struct wet_recipe *r, const struct wet_formulary *formulary, const struct wet_safety *safety,
					unsigned which, struct waste *w)
{
	w->count = 0;
	for (int i = 0; i < r->bath_count; i++) {
		const struct wet_bath *b = &r->baths[i];
		const struct wet_formulary_item *item =
			(which & 1u << i) && b->mix.from[0] ? wet_formulary_find(formulary, b->mix.from) : NULL;
		if (!item)
			continue;
		struct wet_contents *c = &w->contents[w->count];
		wet_formula_contents(&safety->hazards, wet_formulary_substances(formulary), &item->formula, b->mix.stock_milli,
							 b->mix.water_milli, c);
		w->things[w->count] = (struct wet_thing){ .parts = c->components, .part_count = c->component_count };
		w->baths[w->count++] = i;
	}
}

/* One line a rule: "Developer and Stop bath, Stop bath and Washing aid". */
static void add_rule(const struct wet_recipe *r, const struct waste *w, const struct wet_caution *cautions, int count,
					 int at, bool is_bottle, json_t *lines)
{
	char pairs[LINE] = "", text[2 * LINE];
	const struct wet_caution *c = &cautions[at];
	for (int i = 0; i < at; i++)
		if (cautions[i].rule == c->rule)
			return;
	for (int i = at; i < count; i++)
		if (cautions[i].rule == c->rule)
			wet_text_append(pairs, sizeof pairs, "%s%s and %s", pairs[0] ? "; " : "", r->baths[w->baths[cautions[i].first]].name,
							r->baths[w->baths[cautions[i].then]].name);
	if (is_bottle)
		wet_text_format(text, sizeof text, "    never into one bottle: %s: they give %s", pairs, c->rule->forms);
	else if (c->severity == WET_SEVERITY_FORBID)
		wet_text_format(text, sizeof text,
						"    never down one drain: %s: they give %s; one of them goes to the waste collection, in a marked bottle",
						pairs, c->rule->forms);
	else
		wet_text_format(text, sizeof text,
						"    never one after the other: %s: they give %s; rinse the sink and let cold water run between them",
						pairs, c->rule->forms);
	add(lines, text);
}

static void add_pairs(const struct wet_recipe *r, const struct wet_safety *safety, const struct waste *w, bool is_bottle,
					  json_t *lines)
{
	struct wet_caution cautions[WET_CAUTIONS];
	int count = wet_cautions_among(&safety->incompatibilities, is_bottle ? WET_MEETING_MIXING : WET_MEETING_DRAIN,
								   w->things, w->count, cautions);
	for (int i = 0; i < count && cautions[i].severity > WET_SEVERITY_INFORM; i++)
		add_rule(r, w, cautions, count, i, is_bottle, lines);
}

void wet_discard_lines(const struct wet_recipe *r, const struct wet_formulary *formulary, const struct wet_safety *safety,
					   unsigned discarded, unsigned silver, json_t *lines)
{
	struct waste w;
	collect(r, formulary, safety, discarded & silver ? silver : 0, &w); /* a fixer that is kept has one before it in the bottle */
	add_pairs(r, safety, &w, true, lines);
	collect(r, formulary, safety, discarded & ~silver, &w);
	add_pairs(r, safety, &w, false, lines);
}

/* Bleach and drain cleaner: one line, whatever it is that they would meet. */
void wet_cleaner_line(const struct wet_recipe *r, const struct wet_formulary *formulary, const struct wet_safety *safety,
					  json_t *lines)
{
	struct wet_caution cautions[WET_CAUTIONS];
	struct waste w;
	collect(r, formulary, safety, ~0u, &w);
	int n = w.count;
	w.things[n] = (struct wet_thing){ .classes = WET_REACTION_BIT(HYPOCHLORITE) };
	w.things[n + 1] = (struct wet_thing){ .classes = WET_REACTION_BIT(DRAIN_CLEANER) };
	int count = wet_cautions_among(&safety->incompatibilities, WET_MEETING_DRAIN, w.things, n + 2, cautions);
	for (int i = 0; i < count; i++)
		if (cautions[i].then >= n) {
			add(lines, "    no household bleach and no drain cleaner in this sink or these trays: with these baths they give "
					   "poison gas; clean with water, then dish soap");
			return;
		}
}
