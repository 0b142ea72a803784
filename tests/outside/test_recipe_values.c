/* test_recipe_values.c: the times of the shipped recipes lie within what handbooks print. Each row names its
 * source. */
#include "shelf/shelf.h"
#include "shelf_files.h"
#include "wetside/quantity.h"
#include "wetside/recipe.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define S WET_NS_PER_S

static const struct wet_stage *stage_of(const struct wet_recipe *r, const char *name)
{
	const struct wet_stage *found = NULL;
	for (int i = 0; i < r->stage_count; i++) {
		if (strcmp(r->stages[i].name, name) == 0)
			found = &r->stages[i];
	}
	cr_assert_not_null(found, "%s has no stage %s", r->name, name);
	return found;
}

Test(recipe_values, times_are_those_of_the_handbooks)
{
	static struct wet_recipe tank, trays;
	test_recipe_file(TEST_CREEK_RECIPE, &tank);
	test_recipe_file(TEST_TRAY_RECIPE, &trays);
	const struct {
		const struct wet_recipe *recipe;
		const char *stage;
		int64_t least_s, most_s; /* the aim lies between, both included */
		const char *source;
	} rows[] = {
		{ &tank, "Developer", 90, 120, "US Army SS0509-8 (1988): prints 1-1/2 to 2 min on average" },
		{ &trays, "Developer", 90, 120, "US Army SS0509-8 (1988): prints 1-1/2 to 2 min on average" },
		{ &tank, "Stop bath", 60, 60, "US Army SS0509-8 (1988): stop bath 1 min" },
		{ &trays, "Stop bath", 5, 60, "NAVEDTRA 14209: about 5 s; US Army SS0509-8: 1 min" },
		{ &tank, "First fixer", 180, 300,
		  "analogue-photography.org, Fixing prints: two baths, 3 to 5 min each" },
		{ &tank, "Second fixer", 180, 300,
		  "analogue-photography.org, Fixing prints: two baths, 3 to 5 min each" },
		{ &trays, "Fixer", 30, 120, "analogue-photography.org, Fixing prints: resin-coated at most 2 min" },
		{ &tank, "Washing aid", 120, 180, "forum post 75985: sulfite washing aid 2 to 3 min" },
		{ &tank, "Wash", 600, 1200, "forum post 75985: 10 to 20 min after the aid" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const struct wet_stage *s = stage_of(rows[i].recipe, rows[i].stage);
		cr_expect_geq(s->aim_ns, rows[i].least_s * S, "%s: %s", rows[i].stage, rows[i].source);
		cr_expect_leq(s->aim_ns, rows[i].most_s * S, "%s: %s", rows[i].stage, rows[i].source);
	}
	/* Clerc, Photography: Theory and Practice, s. 557: up to twice the shortest time for full black. */
	const struct wet_stage *d = stage_of(&tank, "Developer");
	cr_expect_leq(d->most_ns, 2 * d->least_ns);
	/* analogue-photography.org: resin-coated paper never over 2 min in the fixer. */
	cr_expect_leq(stage_of(&trays, "Fixer")->most_ns, 120 * S);
	/* Mees and James (1966), pp. 403-405, as summarised: fix no longer than 10 min. */
	cr_expect_leq(tank.both_fix_most_ns, 600 * S);
	/* Anchell, The Darkroom Cookbook (2008), p. 107: two-bath fixing is agitated at least 30 s in every
	 * minute. */
	cr_expect_geq(stage_of(&tank, "First fixer")->agitation.burst_ns, 30 * S);
	cr_expect_eq(stage_of(&tank, "First fixer")->agitation.every_ns, 60 * S);
}

/* What handbooks print of a kind of stage holds in every recipe on the shelf, whatever its name. */
static void check_stage(const struct wet_recipe *r, int stage)
{
	const struct wet_stage *s = &r->stages[stage];
	const char *what = r->name;
	bool is_fix = s->kind == WET_STAGE_FIX || s->kind == WET_STAGE_SECOND_FIX;
	/* US Navy NAVEDTRA 14209: a stop bath of about 5 s; US Army SS0509-8: 1 min. */
	if (s->kind == WET_STAGE_STOP)
		cr_expect(s->aim_ns >= 5 * S && s->aim_ns <= 60 * S, "%s: stop", what);
	/* analogue-photography.org, Fixing prints: resin-coated at most 2 min. */
	if (is_fix && r->is_resin_coated)
		cr_expect_leq(s->most_ns, 120 * S, "%s: fix", what);
	/* The same: two baths for fibre base, 3 to 5 min each; tests make no picture to keep. */
	if (is_fix && !r->is_resin_coated && !r->is_test)
		cr_expect(s->aim_ns >= 180 * S && s->most_ns <= 300 * S, "%s: two-bath fix", what);
	/* Forum post 75985: 2 to 3 min in the washing aid, then 10 to 20 min of washing. */
	if (s->kind == WET_STAGE_AID)
		cr_expect(s->aim_ns >= 120 * S && s->aim_ns <= 180 * S, "%s: washing aid", what);
	if (s->kind == WET_STAGE_WASH && stage == r->stage_count - 1 && !r->is_resin_coated)
		cr_expect(s->aim_ns >= 600 * S, "%s: wash", what);
	/* Clerc, s. 557: up to twice the shortest time for full black. */
	if (s->kind == WET_STAGE_DEVELOP)
		cr_expect_leq(s->most_ns, 2 * s->least_ns, "%s: develop", what);
}

Test(recipe_values, what_handbooks_print_holds_in_every_recipe)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = {
		WET_SOURCE_DIR "/safety", NULL
	};
	struct wet_shelf *shelf;
	cr_assert_eq(wet_shelf_open(&shelf, recipes, safety), WET_OK);
	cr_assert_geq(wet_shelf_count(shelf), 8);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_recipe *r = &wet_shelf_at(shelf, i)->recipe;
		bool has_second = false, has_aid = false;
		for (int j = 0; j < r->stage_count; j++) {
			check_stage(r, j);
			has_second = has_second || r->stages[j].kind == WET_STAGE_SECOND_FIX;
			has_aid = has_aid || r->stages[j].kind == WET_STAGE_AID;
		}
		/* US Army SS0509-8: a clearing agent is not needed for resin-coated paper. */
		if (!r->is_test)
			cr_expect(has_aid == !r->is_resin_coated && has_second == !r->is_resin_coated, "%s", r->name);
		/* Mees and James (1966), as summarised: fix no longer than 10 min. */
		if (has_second)
			cr_expect(r->both_fix_most_ns > 0 && r->both_fix_most_ns <= 600 * S, "%s", r->name);
	}
	wet_shelf_free(shelf);
}

Test(recipe_values, bisulfate_gives_the_acid_of_the_published_bleach)
{
	/* Cyclopaedia of Photography (1911): sulfuric acid 2 mL in a litre of bleach. Density 1.84 g/mL, 96 %, molar mass
	 * 98.08, second dissociation constant 0.0102, activities left out: all from memory. Both give h hydrogen ions. */
	const double k2 = 0.0102, acid = 2 * 1.84 * 0.96 / 98.08;
	/* acid: h = a + x, k2 = (a + x) x / (a - x); bisulfate: k2 = h h / (c - h) */
	double x = (-(acid + k2) + sqrt((acid + k2) * (acid + k2) + 4 * k2 * acid)) / 2, h = acid + x;
	double grams = (h + h * h / k2) * 120.06;
	cr_expect_float_eq(h, 0.043, 0.0005, "%.4f mol/L", h);
	static struct wet_recipe r;
	double said = 0;
	test_recipe_file(WET_SOURCE_DIR "/recipes/reversal-resin-coated-trays.json", &r);
	for (int i = 0; i < r.bath_count; i++) {
		const char *at = strstr(r.baths[i].solution, "bisulfate ");
		said = at != NULL ? atof(at + strlen("bisulfate ")) : said;
	}
	cr_expect_float_eq(said, grams, 0.5, "%.1f g, not %.1f", grams, said);
}

Test(recipe_values, factor_of_development_is_the_slope_of_the_published_table)
{
	/* T.O. 33B-1-1, Nondestructive Inspection Methods, Table 6-16: degrees F, minutes. 1.92 is fitted to this
	 * same table, so this checks our fit and the copy of the table in the corpus, not the value for any other
	 * developer. */
	const struct {
		double f, min;
	} rows[] = { { 63, 6 }, { 65, 5.5 }, { 68, 5 }, { 70, 4.5 }, { 72, 4 }, { 76, 3.75 }, { 80, 3.25 } };
	const int n = sizeof rows / sizeof rows[0];
	static struct wet_recipe tank, table;
	test_recipe_file(TEST_CREEK_RECIPE, &tank);
	test_recipe_file(TEST_GOOD_RECIPE("published-table"), &table);
	const struct wet_law *law = &table.stages[2].law;
	cr_assert_eq(law->row_count, n);
	double sx = 0, sy = 0, sxx = 0, sxy = 0;
	for (int i = 0; i < n; i++) {
		double c = (rows[i].f - 32) * 5 / 9, y = log(rows[i].min);
		sx += c;
		sy += y;
		sxx += c * c;
		sxy += c * y;
		cr_expect_float_eq(law->rows[i].temperature_mc / 1000.0, c, 0.006, "row %d", i);
		cr_expect_eq(law->rows[i].time_ns, (int64_t)(rows[i].min * 60) * S, "row %d", i);
	}
	double slope = (n * sxy - sx * sy) / (n * sxx - sx * sx);
	cr_expect_float_eq(tank.stages[2].law.factor_per_10c, exp(-10 * slope), 0.01);
}
