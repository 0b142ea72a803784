/* test_light.c: needed light is a function of vessel and stage. */
#include "shelf_files.h"
#include "wetside/recipe.h"

#include <criterion/criterion.h>

static int first_of(const struct wet_recipe *r, enum wet_stage_kind kind)
{
	for (int i = 0; i < r->stage_count; i++) {
		if (r->stages[i].kind == kind)
			return i;
	}
	cr_assert(false, "the recipe has no %s", wet_stage_kind_word(kind));
	return -1;
}

Test(light, closed_tank_is_dark_only_until_its_lid_is_on)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_CREEK_RECIPE, &r);
	cr_assert_eq(r.stages[0].kind, WET_STAGE_HANDLING);
	cr_assert(r.stages[1].lid_on);
	/* The handling up to and with the lid. */
	cr_expect_eq(wet_recipe_light(&r, 0), WET_LIGHT_DARK);
	cr_expect_eq(wet_recipe_light(&r, 1), WET_LIGHT_DARK);
	for (int i = 2; i < r.stage_count; i++)
		cr_expect_eq(wet_recipe_light(&r, i), WET_LIGHT_WHITE, "stage %d", i);
	/* Before and after the list, the strictest and the freest of it. */
	cr_expect_eq(wet_recipe_light(&r, -1), WET_LIGHT_DARK);
	cr_expect_eq(wet_recipe_light(&r, r.stage_count), WET_LIGHT_WHITE);
}

Test(light, drum_is_a_closed_vessel)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_GOOD_RECIPE("drum"), &r);
	cr_expect_eq(wet_recipe_light(&r, 1), WET_LIGHT_DARK);
	cr_expect_eq(wet_recipe_light(&r, 2), WET_LIGHT_WHITE);
}

Test(light, without_a_lid_a_closed_tank_stays_dark)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_CREEK_RECIPE, &r);
	r.stages[1].lid_on = false;
	for (int i = 0; i < r.stage_count; i++)
		cr_expect_eq(wet_recipe_light(&r, i), WET_LIGHT_DARK, "stage %d", i);
}

Test(light, trays_are_under_safelight_until_the_named_fix_has_ended)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_TRAY_RECIPE, &r);
	int fix = first_of(&r, WET_STAGE_FIX);
	cr_assert_eq(r.white_after, fix);
	for (int i = 0; i < r.stage_count; i++)
		cr_expect_eq(wet_recipe_light(&r, i), i <= fix ? WET_LIGHT_SAFELIGHT : WET_LIGHT_WHITE, "stage %d",
					 i);
	r.white_after = -1;
	cr_expect_eq(wet_recipe_light(&r, r.stage_count - 1), WET_LIGHT_SAFELIGHT);
}

Test(light, paper_that_bears_none_is_dark_in_trays)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_GOOD_RECIPE("dark-trays"), &r);
	int fix = first_of(&r, WET_STAGE_FIX);
	cr_expect_eq(wet_recipe_light(&r, fix), WET_LIGHT_DARK);
	cr_expect_eq(wet_recipe_light(&r, fix + 1), WET_LIGHT_WHITE);
}

Test(light, open_tank_is_as_trays)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_GOOD_RECIPE("open-tank"), &r);
	int fix = first_of(&r, WET_STAGE_FIX);
	cr_expect_eq(wet_recipe_light(&r, fix), WET_LIGHT_SAFELIGHT);
	cr_expect_eq(wet_recipe_light(&r, fix + 1), WET_LIGHT_WHITE);
}

Test(light, re_exposure_requires_white_light)
{
	static struct wet_recipe r;
	test_recipe_file(TEST_GOOD_RECIPE("reversal-trays"), &r);
	int light = first_of(&r, WET_STAGE_RE_EXPOSE);
	int bleach = first_of(&r, WET_STAGE_BLEACH);
	cr_expect_eq(wet_recipe_light(&r, bleach), WET_LIGHT_SAFELIGHT);
	cr_expect_eq(wet_recipe_light(&r, bleach + 1), WET_LIGHT_WHITE);
	cr_expect_eq(wet_recipe_light(&r, light), WET_LIGHT_REQUIRED);
	cr_expect_eq(wet_recipe_light(&r, light + 1), WET_LIGHT_WHITE);
	r.vessel_kind = WET_VESSEL_CLOSED_TANK;
	cr_expect_eq(wet_recipe_light(&r, light), WET_LIGHT_REQUIRED);
}
