/* test_contents.c: what a bath holds, from its formula. The sums are done by hand from the formulas' own amounts. */
#include "formula_files.h"
#include "safety_files.h"
#include "wetside/contents.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static int32_t share_of(const struct wet_contents *c, const char *key)
{
	for (int i = 0; i < c->component_count; i++) {
		if (strcmp(c->components[i].substance->key, key) == 0)
			return c->components[i].share_ppm;
	}
	return -1;
}

static struct wet_contents contents_of(const char *name, int64_t stock, int64_t water)
{
	struct wet_contents c;
	wet_formula_contents(&test_safety()->hazards, test_substances(), test_formula(name), stock, water, &c);
	return c;
}

Test(contents, weighed_and_thinned)
{
	struct wet_contents c = contents_of("print-developer-metol-hydroquinone", 1, 0);
	cr_expect_eq(c.component_count, 5); /* the pinch of sulfite is no sixth */
	cr_expect_eq(c.unknown_count, 0);
	cr_expect_eq(share_of(&c, "metol"), 3100);
	cr_expect_eq(share_of(&c, "hydroquinone"), 12000);
	c = contents_of("print-developer-metol-hydroquinone", 1000, 2000);
	cr_expect_eq(share_of(&c, "metol"), 1033);
	cr_expect_eq(share_of(&c, "hydroquinone"), 4000);
}

Test(contents, liquids_and_hydrates)
{
	/* 48 mL of 28 % acid, 1.036 g/mL: 13.9 g. */
	struct wet_contents c = contents_of("stop-bath-acetic", 1, 0);
	cr_expect(share_of(&c, "acetic-acid") > 13800 && share_of(&c, "acetic-acid") < 14000, "%d",
			  share_of(&c, "acetic-acid"));
	/* 2 g of dry sodium sulfide in 125 mL; the hazards are of the nonahydrate, 240.18 to 78.04 g/mol: 4.92 %. */
	c = contents_of("residual-silver-test", 1, 0);
	cr_expect(share_of(&c, "sodium-sulfide") > 49100 && share_of(&c, "sodium-sulfide") < 49400, "%d",
			  share_of(&c, "sodium-sulfide"));
}

Test(contents, unknown_ones_and_more_than_the_whole)
{
	static struct wet_hazard_table few;
	struct wet_formula heavy = *test_formula("stop-bath-citric");
	struct wet_contents c;
	few.substance_count = 1;
	few.substances[0] = *test_hazards("metol");
	wet_formula_contents(&few, test_substances(), test_formula("print-developer-metol-hydroquinone"), 1, 0, &c);
	cr_expect_eq(c.component_count, 1);
	cr_expect_eq(c.unknown_count, 4);
	cr_expect_str_eq(c.unknown[0]->key, "sodium-sulfite");
	heavy.ingredient_count = 2;
	heavy.ingredients[1] = heavy.ingredients[0];
	heavy.ingredients[0].amount = heavy.makes_ul; /* as many milligrams as microlitres */
	heavy.ingredients[1].form = (uint8_t)test_form("metol");
	heavy.ingredients[1].amount = heavy.makes_ul / 3;
	wet_formula_contents(&test_safety()->hazards, test_substances(), &heavy, 1, 0, &c);
	cr_expect_eq(share_of(&c, "citric-acid"), 750000);
	cr_expect_eq(share_of(&c, "metol"), 249999); /* rounded down: the sum stays within the whole */
}

/* The pH of so much of one acid, in thousandths; -1: not said. */
static int32_t ph_of(const char *key, int32_t share_ppm)
{
	struct wet_contents c = { .component_count = 1, .components = { { test_hazards(key), share_ppm } } };
	int32_t ph_milli;
	return wet_contents_ph(&c, &ph_milli) ? ph_milli : -1;
}

/* Acetic acid 2 % w/v, pH 2.62 within 0.05, and 0.15 more at half of it, is worked out so in the project's chemistry notes from
 * pKa 4.756; J. Black, Ionization constants of acids, gives 2.88 for 0.1 mol/L (from memory), citric acid 0.1 mol/L 2.1 (CRC
 * Handbook of Chemistry and Physics, from memory; computed without activities 2.08). */
Test(contents, ph_of_acids)
{
	int32_t two = ph_of("acetic-acid", 20000), one = ph_of("acetic-acid", 10000);
	cr_expect(two > 2570 && two < 2670, "%d", two);
	cr_expect(one - two > 140 && one - two < 160, "%d", one - two);
	cr_expect(abs(ph_of("acetic-acid", 6005) - 2880) < 10, "%d", ph_of("acetic-acid", 6005));
	cr_expect(abs(ph_of("citric-acid", 19212) - 2080) < 15, "%d", ph_of("citric-acid", 19212));
	/* Strong ones give their proton: 0.05 mol/L of hydrochloric acid, -log10(0.05) = 1.301. */
	cr_expect(abs(ph_of("hydrochloric-acid", 1823) - 1301) < 2, "%d", ph_of("hydrochloric-acid", 1823));
	cr_expect(ph_of("sulfuric-acid", 490) > 2000 && ph_of("sulfuric-acid", 490) < 2302, "%d", ph_of("sulfuric-acid", 490));
	cr_expect_eq(ph_of("sulfuric-acid", 1000000), 0);
	cr_expect_eq(ph_of("metol", 1000), -1);
}

Test(contents, ph_is_said_only_where_nothing_else_takes_protons)
{
	int32_t ph_milli = -1;
	struct wet_contents c = contents_of("reversal-bleach-permanganate", 1, 0);
	cr_assert(wet_contents_ph(&c, &ph_milli));
	cr_expect(ph_milli > 1000 && ph_milli < 2000, "%d", ph_milli); /* acid enough to count as corrosive, till tested */
	c = contents_of("stop-bath-citric", 1, 0);
	cr_assert(wet_contents_ph(&c, &ph_milli));
	cr_expect(ph_milli > 2000 && ph_milli < 2400, "%d", ph_milli);
	c = contents_of("fixer-acid", 1, 0);
	cr_expect_not(wet_contents_ph(&c, &ph_milli));
	c = contents_of("print-developer-metol-hydroquinone", 1, 0);
	cr_expect_not(wet_contents_ph(&c, &ph_milli));
}
