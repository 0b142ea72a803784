/* test_recipe_values.c: the times of the shipped recipes lie within what handbooks print. Each row names its
 * source. */
#include "shelf_files.h"
#include "wetside/quantity.h"
#include "wetside/recipe.h"

#include <criterion/criterion.h>
#include <math.h>
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
