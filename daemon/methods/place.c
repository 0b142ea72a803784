/* place.c: what stands together and should not. A bottle is not refused for where it stands: it stands there. */
#include "methods/place.h"

#include "base/text.h"
#include "darkroom/stock.h"
#include "methods/caution.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* What people tell of a place: what it is to the rules, and what is to be said where they are silent. */
static const struct {
	const char *name;
	uint64_t classes;
	const char *text, *source;
} besides[WET_BESIDE_N] = {
	[WET_BESIDE_BLEACH] = { "household bleach", WET_REACTION_BIT(HYPOCHLORITE),
							"Household bleach stands beside it: with fixer, acid or developer it gives poison gas. Another room.",
							"Washington State Department of Health on mixing bleach, as reported by Healthline" },
	[WET_BESIDE_DRAIN_CLEANER] = { "drain cleaner", WET_REACTION_BIT(DRAIN_CLEANER),
								   "Drain cleaner stands beside it: it sets gas free from many baths. Another room.",
								   "from memory" },
	[WET_BESIDE_DESCALER] = { "descaler", WET_REACTION_BIT(ACID) | WET_REACTION_BIT(STRONG_ACID), NULL, NULL },
	[WET_BESIDE_AMMONIA] = { "household ammonia", WET_REACTION_BIT(AMMONIA), NULL, NULL },
	[WET_BESIDE_FOOD] = { "food", 0, "Food or drink stands beside it: no chemistry where somebody may take it for either.",
						  "common practice, no source" },
	[WET_BESIDE_CHILDREN] = { "children", 0, "Children can reach it: lock it away, a litre of developer stock can kill.",
							  "Massachusetts Department of Environmental Protection, Photography Chemicals (lock up); the "
							  "dose: from memory" },
	[WET_BESIDE_SUN] = { "sunlight", WET_REACTION_BIT(SUNLIGHT), NULL, NULL },
	[WET_BESIDE_HEAT] = { "heat", WET_REACTION_BIT(HEAT), NULL, NULL },
};

/* -- what an item holds ---------------------------------------------------------------- */

/* "28 %" on the label of what is one substance. */
static void take_label(const struct wet_stock *item, struct wet_contents *c)
{
	struct wet_strength strength;
	if (c->component_count != 1 || !item->strength[0] || wet_parse_strength(item->strength, &strength, NULL) != 0)
		return;
	int64_t ppm = (int64_t)strength.milli * 10;
	c->components[0].share_ppm = ppm > WET_PPM ? WET_PPM : (int32_t)ppm;
	c->is_dry = false;
}

/* By formula, by a form of a chemical, by a substance; nothing where nobody knows. */
static void contents_of(const struct wet_methods *m, const struct wet_stock *item, struct wet_contents *ret)
{
	const struct wet_substances *table = wet_formulary_substances(m->formulary);
	const struct wet_formulary_item *f = wet_formulary_find(m->formulary, item->what);
	const struct wet_hazards *h = wet_hazards_find(&m->safety->hazards, item->what);
	int64_t stock = 1, water = 0;
	int form = wet_form_find(table, item->what);
	memset(ret, 0, sizeof *ret);
	if (f != NULL) {
		if (item->kind != WET_STOCK_BATH || wet_parse_dilution(item->strength, &stock, &water, NULL) != 0 || stock <= 0)
			stock = 1, water = 0;
		wet_formula_contents(&m->safety->hazards, table, &f->formula, stock, water, ret);
	} else if (form >= 0 || h != NULL) {
		if (form >= 0)
			wet_form_contents(&m->safety->hazards, table, form, ret);
		else
			*ret = (struct wet_contents){ .component_count = 1, .components = { { h, WET_PPM } }, .is_dry = true };
		take_label(item, ret);
	}
}

/* -- pairs --------------------------------------------------------------------------------- */

/* The worst first, else in the order of the shelf. */
static void keep(json_t *list, json_t *caution, const char *place, int most)
{
	static const char *const ranks[] = { "inform", "warn", "forbid" };
	size_t at = json_array_size(list);
	int rank = 0;
	(void)json_object_set_new(caution, "place", json_string(place));
	while (rank < 2 && strcmp(json_string_value(json_object_get(caution, "severity")), ranks[rank]) != 0)
		rank++;
	while (at > 0 && rank == 2 &&
		   strcmp(json_string_value(json_object_get(json_array_get(list, at - 1), "severity")), ranks[2]) != 0)
		at--;
	(void)json_array_insert_new(list, at, caution);
	if (json_array_size(list) > (size_t)most)
		(void)json_array_remove(list, (size_t)most);
}

/* The worst of two things; false: nothing that people need to know. */
static bool worst_of(const struct wet_methods *m, const struct wet_contents *a, const struct wet_contents *b,
					 uint64_t b_classes, struct wet_caution *ret)
{
	struct wet_caution cautions[WET_CAUTIONS];
	struct wet_thing things[2] = { { .parts = a->components,
									 .part_count = a->component_count,
									 .states = a->is_dry ? 1u << WET_STATE_DRY : 0 },
								   { .classes = b_classes } };
	if (b != NULL) {
		things[1].parts = b->components;
		things[1].part_count = b->component_count;
		things[1].states = b->is_dry ? 1u << WET_STATE_DRY : 0;
	}
	int n = wet_cautions_among(&m->safety->incompatibilities, WET_MEETING_SHELF, things, 2, cautions);
	if (n == 0 || cautions[0].severity < WET_SEVERITY_WARN)
		return false;
	*ret = cautions[0];
	return true;
}

static void tell_beside(enum wet_beside beside, const char *name, const char *place, int most, json_t *list)
{
	char text[512];
	if (besides[beside].text == NULL)
		return;
	wet_text_format(text, sizeof text, "Care: %s. %s", name, besides[beside].text);
	keep(list, json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s}", "severity", "warn", "meeting", "shelf",
						 "rule", "", "first", name, "then", besides[beside].name, "forms", "", "harm", "", "needs", "",
						 "do", "", "source", besides[beside].source, "text", text),
		 place, most);
}

/* Of these items, which stand at one place, the one that it is worst for; where no rule speaks, what is always said. */
static void meet_beside(const struct wet_methods *m, const struct wet_stock *const *items, int count,
						enum wet_beside beside, const char *place, int most, json_t *list)
{
	struct wet_caution worst = { .rule = NULL }, c;
	struct wet_contents holds;
	int at = 0;
	for (int i = 0; i < count && besides[beside].classes != 0; i++) {
		contents_of(m, items[i], &holds);
		if (!worst_of(m, &holds, NULL, besides[beside].classes, &c) || (worst.rule != NULL && c.severity <= worst.severity))
			continue;
		worst = c;
		at = i;
	}
	if (worst.rule != NULL)
		keep(list, wet_caution_json(&worst, items[at]->name, besides[beside].name), place, most);
	else
		tell_beside(beside, count > 1 ? place : items[0]->name, place, most, list);
}

static void meet_pair(const struct wet_methods *m, const struct wet_stock *a, const struct wet_stock *b, const char *place,
					  int most, json_t *list)
{
	struct wet_contents a_holds, b_holds;
	struct wet_caution c;
	contents_of(m, a, &a_holds);
	contents_of(m, b, &b_holds);
	if (worst_of(m, &a_holds, &b_holds, 0, &c))
		keep(list, wet_caution_json(&c, a->name, b->name), place, most);
}

/* -- the shelf ------------------------------------------------------------------------------- */

/* Those of a place, the item itself not among them; what anybody told stands beside there. */
static int others_of(const struct wet_placed *placed, const struct wet_stock *item, const char *place,
					 const struct wet_stock **others, unsigned *beside)
{
	char its[WET_NAME_BYTES];
	int count = 0;
	for (int i = 0; i < placed->count && place[0]; i++) {
		unsigned more = wet_stock_place(&placed->items[i], its);
		if (placed->items[i].id == item->id || strcasecmp(its, place) != 0)
			continue;
		*beside |= more;
		others[count++] = &placed->items[i];
	}
	return count;
}

json_t *wet_item_meets(const struct wet_methods *m, const struct wet_stock *item, int most)
{
	const struct wet_stock *others[WET_PLACED];
	char place[WET_NAME_BYTES];
	bool is_chemistry = item->kind == WET_STOCK_BOTTLE || item->kind == WET_STOCK_BATH;
	json_t *list = json_array();
	if (!list || !is_chemistry || item->is_gone || !item->place[0])
		return list;
	unsigned beside = wet_stock_place(item, place);
	int count = others_of(wet_darkroom_placed(m->darkroom), item, place, others, &beside);
	for (int i = 0; i < count; i++)
		meet_pair(m, item, others[i], place, most, list);
	for (int i = 0; i < WET_BESIDE_N; i++)
		if (beside & 1u << i)
			meet_beside(m, &item, 1, (enum wet_beside)i, place, most, list);
	return list;
}

/* As the first of its place, an item speaks for all of them. */
static void meet_place(const struct wet_methods *m, const struct wet_placed *placed, int at, json_t *list)
{
	const struct wet_stock *item = &placed->items[at], *all[WET_PLACED + 1] = { item };
	char place[WET_NAME_BYTES];
	unsigned beside = wet_stock_place(item, place);
	int count = 1 + others_of(placed, item, place, all + 1, &beside);
	if (count > 1 && all[1] < item)
		return;
	for (int i = 0; i < count; i++)
		for (int k = i + 1; k < count; k++)
			meet_pair(m, all[i], all[k], place, WET_PLACED, list);
	for (int i = 0; i < WET_BESIDE_N; i++)
		if (beside & 1u << i)
			meet_beside(m, all, count, (enum wet_beside)i, place, WET_PLACED, list);
}

json_t *wet_shelf_meets(struct wet_methods *m)
{
	const struct wet_placed *placed = wet_darkroom_placed(m->darkroom);
	if (m->shelf_meets && m->shelf_version == placed->version)
		return m->shelf_meets;
	json_decref(m->shelf_meets);
	m->shelf_meets = json_array();
	m->shelf_version = placed->version;
	for (int i = 0; m->shelf_meets && i < placed->count; i++)
		meet_place(m, placed, i, m->shelf_meets);
	return m->shelf_meets;
}
