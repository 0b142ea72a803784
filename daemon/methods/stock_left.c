/* stock_left.c: the two clocks of what stands on the shelf, as the recipes that use it have them. */
#include "methods/stock_left.h"

#include "base/text.h"
#include "darkroom/stock.h"
#include "wetside/quantity.h"

#include <string.h>

#define WAYS 8 /* in which recipes use one solution at one strength; there are two or three */
#define LEFT_BYTES 512

/* The ways in which recipes use a solution at a strength: how much a litre bears differs with how clean the picture must be. */
struct ways {
	int count;
	const struct wet_bath_mix *mixes[WAYS];
	struct wet_bath_mix archival; /* of no recipe */
	bool is_named;                /* a recipe uses the solution, at whatever strength */
	int64_t keeps_ns;             /* the strictest; 0: no recipe says */
	bool has_keeping;
	struct wet_keeping keeping;
};

static void add_way(struct ways *w, const struct wet_bath_mix *mix)
{
	for (int i = 0; i < w->count; i++)
		if (strcmp(w->mixes[i]->regime, mix->regime) == 0 && w->mixes[i]->capacity_mm2_per_l == mix->capacity_mm2_per_l)
			return;
	if (w->count < WAYS)
		w->mixes[w->count++] = mix;
}

/* A fixer is told by the archival regime too, which may be wanted whatever the recipe. */
static void add_archival(struct ways *w)
{
	for (int i = 0; i < w->count; i++) {
		if (!w->mixes[i]->regime[0])
			continue;
		w->archival = *w->mixes[i];
		wet_text_copy(w->archival.regime, sizeof w->archival.regime, wet_fixer_regime_word(WET_FIXER_SINGLE_ARCHIVAL));
		if (wet_fixer_capacity(WET_FIXER_SINGLE_ARCHIVAL, WET_EMULSION_PAPER, &w->archival.capacity_mm2_per_l, NULL) == 0)
			add_way(w, &w->archival);
		return;
	}
}

static void take_recipe(struct ways *w, const struct wet_recipe *r, const struct wet_stock *item)
{
	bool is_stock = item->kind == WET_STOCK_BOTTLE;
	for (int b = 0; b < r->bath_count; b++) {
		const struct wet_bath_mix *mix = &r->baths[b].mix;
		int64_t keeps_ns = is_stock ? mix->stock_keeps_ns : mix->keeps_ns;
		if (strcmp(mix->from, item->what) != 0)
			continue;
		w->is_named = true;
		if (!is_stock && !wet_stock_is_mixed(item, mix->stock_milli, mix->water_milli))
			continue;
		if (!is_stock)
			add_way(w, mix);
		if (w->keeps_ns == 0 || keeps_ns < w->keeps_ns)
			w->keeps_ns = keeps_ns;
		w->has_keeping = w->has_keeping || wet_recipe_keeping(r, b, is_stock, &w->keeping);
	}
}

static void ways_of(const struct wet_shelf *shelf, const struct wet_stock *item, struct ways *w)
{
	*w = (struct ways){ .count = 0 };
	for (size_t i = 0; i < wet_shelf_count(shelf); i++)
		take_recipe(w, &wet_shelf_at(shelf, i)->recipe, item);
	add_archival(w);
}

/* -- age ---------------------------------------------------------------------------------- */

/* False: nothing is known of how long it keeps, or when it was opened. */
static bool age_end(const struct ways *w, const struct wet_stock *item, const struct wet_stock_age *age,
					struct wet_age_end *ret_end)
{
	return item->since_ms > 0 && w->keeps_ns > 0 &&
		   wet_age_end(w->has_keeping ? &w->keeping : NULL, w->keeps_ns, age->age_ns, age->now, age->spells, WET_STANDING_N,
					   ret_end, NULL) == 0;
}

/* "mixed 3 days ago; keeps 4 days more in an open tray, 40 % of its age used" */
static json_t *say_age(const struct ways *w, const struct wet_stock *item, const struct wet_stock_age *age, char *buf,
					   unsigned n)
{
	struct wet_age_end end;
	const char *act = item->kind == WET_STOCK_BOTTLE ? "opened" : "mixed";
	char days[24];
	if (item->since_ms == 0)
		wet_text_append(buf, n, "no day on which it was %s is known, so it counts as fresh", act);
	else if (age->age_ns < 3600 * WET_NS_PER_S)
		wet_text_append(buf, n, "%s just now", act);
	else
		wet_text_append(buf, n, "%s %s ago", act, wet_print_days(age->age_ns, days, sizeof days));
	if (!age_end(w, item, age, &end)) {
		if (w->keeps_ns == 0)
			wet_text_append(buf, n, "; how long it keeps is not known");
		return json_null();
	}
	const char *standing = end.is_by_standing || age->now != WET_STANDING_FULL ? wet_standing_word(age->now) : "";
	if (end.left_ns > 0)
		wet_text_append(buf, n, "; keeps %s more%s%s", wet_print_days(end.left_ns, days, sizeof days), standing[0] ? " " : "",
						standing);
	else
		wet_text_append(buf, n, "; its age ran out %s ago%s%s", wet_print_days(-end.left_ns, days, sizeof days),
						standing[0] ? ", " : "", standing);
	if (end.used_ppm >= 10000)
		wet_text_append(buf, n, ", %lld %% of its age used", (long long)((end.used_ppm + 9999) / 10000));
	return json_pack("{s:I, s:I, s:I, s:s, s:s}", "age_ms", (json_int_t)(age->age_ns / 1000000), "left_ms",
					 (json_int_t)(end.left_ns / 1000000), "used_ppm", (json_int_t)end.used_ppm, "by",
					 end.is_by_standing ? "standing" : "recipe", "standing", wet_standing_word(age->now));
}

/* -- area --------------------------------------------------------------------------------- */

static const char *say_regime(const struct wet_bath_mix *mix)
{
	static const char *const said[WET_FIXER_REGIME_N] = { [WET_FIXER_SINGLE_COMMERCIAL] = "alone, commercial",
														  [WET_FIXER_SINGLE_ARCHIVAL] = "alone, archival",
														  [WET_FIXER_SINGLE_MODERATE] = "alone, moderate",
														  [WET_FIXER_TWO_BATH] = "as first of two baths" };
	enum wet_fixer_regime regime;
	return wet_fixer_regime_from_word(mix->regime, &regime, NULL) == 0 ? said[regime] : "";
}

static int left_in(const struct wet_stock *item, const struct wet_bath_mix *mix, int64_t age_used_ppm, int64_t piece_mm2,
				   struct wet_bath_left *ret_left, struct wet_fault *reterr)
{
	const struct wet_fix_bath done = { item->area_mm2, item->second_mm2 };
	const struct wet_working_bath bath = { .volume_ul = item->volume_ul,
										   .capacity_mm2_per_l = mix->capacity_mm2_per_l,
										   .used_mm2 = wet_fix_bath_counted(&done, WET_SECOND_SHARE_PPM),
										   .age_used_ppm = age_used_ppm };
	return wet_bath_left(&bath, piece_mm2 > 0 ? piece_mm2 : 1, ret_left, reterr);
}

/* "as first of two baths: 88 pieces", or in area where no piece was named; with its row for programs. */
static json_t *say_way(const struct wet_stock *item, const struct wet_bath_mix *mix, int64_t age_ppm, int64_t piece_mm2,
					   char *buf, unsigned n)
{
	static const char *const clocks[] = { "", "area", "age", "area and age" };
	struct wet_bath_left left = { .spent = WET_BATH_CLOCK_AREA };
	struct wet_fault fault = { 0 };
	char area[48];
	const char *regime = say_regime(mix);
	int rc = left_in(item, mix, age_ppm, piece_mm2, &left, &fault);
	wet_text_append(buf, n, "%s%s", regime, regime[0] ? ": " : "");
	if (rc != 0)
		wet_text_append(buf, n, "none; %s", fault.want);
	else if (left.spent != WET_BATH_CLOCK_NEITHER)
		wet_text_append(buf, n, "none, its %s ran out", clocks[left.spent & 3]);
	else if (piece_mm2 > 0)
		wet_text_append(buf, n, "%lld piece%s", (long long)left.pieces_left, left.pieces_left == 1 ? "" : "s");
	else
		wet_text_append(buf, n, "%s", wet_stock_print_area(left.left_mm2, area, sizeof area));
	return json_pack("{s:s, s:s, s:I, s:I, s:I, s:I, s:s}", "regime", mix->regime, "as", regime, "left_mm2",
					 (json_int_t)left.left_mm2, "pieces_left", (json_int_t)(piece_mm2 > 0 ? left.pieces_left : -1),
					 "area_used_ppm", (json_int_t)left.area_used_ppm, "age_used_ppm", (json_int_t)age_ppm, "spent",
					 clocks[left.spent & 3]);
}

static json_t *say_ways(const struct ways *w, const struct wet_stock *item, int64_t age_ppm, int64_t piece_mm2, char *buf,
						unsigned n)
{
	json_t *list = json_array();
	if (w->count == 0) {
		wet_text_append(buf, n, "; what it bears is not known: no recipe uses %s %s", item->what,
						!w->is_named		 ? ""
						: item->strength[0] ? item->strength
											: "undiluted; if it is diluted: wetside bath change NAME --dilution 1+4");
		return list;
	}
	if (item->rotations > WET_ROTATIONS_MOST) {
		wet_text_append(buf, n, "; the second only: rotated often enough, it goes with its first");
		return list;
	}
	char text[LEFT_BYTES] = "";
	for (int i = 0; i < w->count; i++) {
		wet_text_append(text, sizeof text, "%s", i > 0 ? "; " : "");
		(void)json_array_append_new(list, say_way(item, w->mixes[i], age_ppm, piece_mm2, text, sizeof text));
	}
	wet_text_append(buf, n, "; left: %s", age_ppm >= 1000000 ? "nothing" : text);
	return list;
}

void stock_say_left(const struct wet_shelf *shelf, const struct wet_stock *item, const struct wet_stock_age *age,
					int64_t piece_mm2, json_t *object)
{
	char text[LEFT_BYTES] = "";
	struct ways ways;
	struct wet_age_end end;
	if ((item->kind == WET_STOCK_BATH || item->kind == WET_STOCK_BOTTLE) && !item->is_gone) {
		ways_of(shelf, item, &ways);
		(void)json_object_set_new(object, "age", say_age(&ways, item, age, text, sizeof text));
		int64_t age_ppm = age_end(&ways, item, age, &end) ? end.used_ppm : 0;
		if (item->kind == WET_STOCK_BATH)
			(void)json_object_set_new(object, "ways", say_ways(&ways, item, age_ppm, piece_mm2, text, sizeof text));
	}
	(void)json_object_set_new(object, "left", json_string(text));
}

bool stock_warn(const struct wet_shelf *shelf, const struct wet_stock *item, const struct wet_stock_age *age, char *buf,
				unsigned n)
{
	struct ways ways;
	struct wet_age_end end;
	struct wet_bath_left left;
	char days[24];
	ways_of(shelf, item, &ways);
	if (age_end(&ways, item, age, &end) && end.left_ns <= 0) {
		wet_text_format(buf, n, "%s %s: its age ran out %s ago", wet_stock_kind_word(item->kind), item->name,
						wet_print_days(-end.left_ns, days, sizeof days));
		return true;
	}
	for (int i = 0; i < ways.count; i++)
		if (left_in(item, ways.mixes[i], 0, 0, &left, NULL) != 0 || left.left_mm2 > 0)
			return false;
	if (ways.count > 0)
		wet_text_format(buf, n, "%s %s: its area is used up", wet_stock_kind_word(item->kind), item->name);
	return ways.count > 0;
}
