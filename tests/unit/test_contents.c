/* test_contents.c: what a bath holds, from its formula. The sums are done by hand from the formulas' own amounts. */
#include "formula_files.h"
#include "safety_files.h"
#include "wetside/contents.h"

#include <criterion/criterion.h>
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
