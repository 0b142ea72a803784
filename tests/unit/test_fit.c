/* test_fit.c: does a recipe fit a vessel? */
#include "shelf_files.h"
#include "wetside/quantity.h"
#include "wetside/recipe.h"

#include <criterion/criterion.h>
#include <string.h>

#define S WET_NS_PER_S

enum { DEVELOP = 2, RINSE, STOP, FIRST_FIX, SECOND_FIX, FIRST_WASH, AID, WASH }; /* of the creek recipe */
enum { TRAY_DEVELOP = 1, TRAY_STOP, TRAY_FIX, TRAY_WASH };

static struct wet_recipe creek, trays;
static struct wet_vessel tank, row;

static void load(void)
{
	test_recipe_file(TEST_CREEK_RECIPE, &creek);
	test_recipe_file(TEST_TRAY_RECIPE, &trays);
	tank = test_vessel_of(&creek);
	row = test_vessel_of(&trays);
	row.stagger_ns = 10 * S;
}
TestSuite(fit, .init = load);

Test(fit, creek_recipe_fits_its_tank_unchanged_and_in_silence)
{
	char told[512] = "stale";
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_recipe_fit(&creek, &tank, 6, NULL, told, sizeof told, &fault), WET_OK, "%s: %s",
				 fault.where, fault.want);
	cr_expect_str_eq(told, "");
	for (int i = 0; i < creek.stage_count; i++) {
		struct wet_times t = wet_stage_times(&creek, i, &tank, 6);
		cr_expect_eq(t.least_ns, creek.stages[i].least_ns, "stage %d", i);
		cr_expect_eq(t.aim_ns, creek.stages[i].aim_ns, "stage %d", i);
		cr_expect_eq(t.most_ns, creek.stages[i].most_ns, "stage %d", i);
		cr_expect_not(t.is_raised, "stage %d", i);
	}
}

Test(fit, fill_and_drain_belong_to_the_vessel_and_its_baths_only)
{
	tank.fill_ns = 11 * S;
	tank.drain_ns = 12 * S;
	for (int i = 0; i < creek.stage_count; i++) {
		bool is_in_tank = i >= DEVELOP && i <= SECOND_FIX;
		cr_expect_eq(wet_stage_fill_ns(&creek, i, &tank), is_in_tank ? 11 * S : 0, "stage %d", i);
		cr_expect_eq(wet_stage_drain_ns(&creek, i, &tank), is_in_tank ? 12 * S : 0, "stage %d", i);
	}
	struct wet_vessel washer = { .kind = WET_VESSEL_WASHER, .fill_ns = 60 * S, .drain_ns = 60 * S };
	cr_expect_eq(wet_stage_fill_ns(&creek, WASH, &washer), 0);
	cr_expect_eq(wet_stage_drain_ns(&creek, FIRST_FIX, &washer), 0);
	cr_expect_eq(wet_stage_fill_ns(&creek, -1, &tank), 0);
	cr_expect_eq(wet_stage_fill_ns(&creek, creek.stage_count, &tank), 0);
	tank.fill_ns = -1;
	cr_expect_eq(wet_stage_fill_ns(&creek, STOP, &tank), 0);
}

Test(fit, uncompensated_bath_is_raised_to_fill_drain_and_twenty_seconds)
{
	tank.fill_ns = 30 * S;
	tank.drain_ns = 25 * S;
	struct wet_times t = wet_stage_times(&creek, STOP, &tank, 6);
	cr_expect_eq(t.aim_ns, 75 * S);
	cr_expect_eq(t.least_ns, 65 * S); /* fill + drain + 10 s */
	cr_expect_eq(t.most_ns, creek.stages[STOP].most_ns);
	cr_expect(t.is_raised);
	char told[512];
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_recipe_fit(&creek, &tank, 6, NULL, told, sizeof told, &fault), WET_OK, "%s", fault.want);
	cr_expect(strstr(told, "Rinse: aim raised from 1:00 to 1:15") != NULL, "%s", told);
	cr_expect(strstr(told, "Stop bath: aim raised from 1:00 to 1:15") != NULL, "%s", told);
	cr_expect(strstr(told, "over a third") != NULL, "55 s of 2:00 is over a third: %s", told);
	cr_expect(strstr(told, "Wash") == NULL, "the washer has no fill: %s", told);
}

Test(fit, least_alone_is_raised_where_the_aim_is_long_enough)
{
	creek.stages[STOP].least_ns = 20 * S;
	struct wet_times t = wet_stage_times(&creek, STOP, &tank, 6);
	cr_expect_eq(t.least_ns, 50 * S);
	cr_expect_eq(t.aim_ns, 60 * S);
	cr_expect(t.is_raised);
	char told[512];
	cr_assert_eq(wet_recipe_fit(&creek, &tank, 6, NULL, told, sizeof told, NULL), WET_OK);
	cr_expect_str_eq(told, "Stop bath: least raised from 0:20 to 0:50 for this vessel.\n");
}

Test(fit, nothing_is_raised_past_most)
{
	tank.fill_ns = 60 * S;
	tank.drain_ns = 41 * S; /* needs 2:01, a second over the stop's most */
	struct wet_times t = wet_stage_times(&creek, STOP, &tank, 6);
	cr_expect_eq(t.aim_ns, creek.stages[STOP].most_ns);
	cr_expect_leq(t.least_ns, t.aim_ns);
	creek.stages[DEVELOP].aim_ns = creek.stages[DEVELOP].most_ns; /* 3:00 is long enough */
	struct wet_fault fault = { 0 };
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, NULL, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect_str_eq(fault.where, "/stages/3/aim");
	cr_expect_str_eq(fault.found, "2:00");
	cr_expect(strstr(fault.want, "2:01") != NULL, "both numbers: %s", fault.want);
	tank.drain_ns = 40 * S;
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, NULL, NULL, 0, &fault), WET_OK, "%s", fault.want);
}

Test(fit, development_is_never_raised_for_the_vessel)
{
	tank.fill_ns = 50 * S;
	tank.drain_ns = 50 * S; /* needs exactly 2:00 */
	struct wet_fault fault = { 0 };
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, NULL, NULL, 0, &fault), WET_OK, "%s", fault.want);
	tank.drain_ns = 51 * S;
	cr_expect_eq(wet_stage_times(&creek, DEVELOP, &tank, 6).aim_ns, 120 * S);
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, NULL, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect_str_eq(fault.where, "/stages/2/aim");
	cr_expect(strstr(fault.want, "Developer") != NULL && strstr(fault.want, "cooler bath") != NULL, "%s",
			  fault.want);
}

Test(fit, the_aim_counts_as_compensated)
{
	uint32_t scale_milli[WET_RECIPE_STAGES];
	struct wet_fault fault = { 0 };
	for (int i = 0; i < WET_RECIPE_STAGES; i++)
		scale_milli[i] = 1000;
	scale_milli[DEVELOP] = 500; /* 1:00: exactly 20 + 20 + 20 s */
	char told[512];
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, scale_milli, told, sizeof told, &fault), WET_OK, "%s",
				 fault.want);
	cr_expect(strstr(told, "over a third") != NULL, "%s", told);
	scale_milli[DEVELOP] = 499;
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, scale_milli, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect_str_eq(fault.where, "/stages/2/aim");
	/* A cold fix is longer, but ends at most; a scale of a bath without a law means nothing. */
	scale_milli[DEVELOP] = 1000;
	scale_milli[FIRST_FIX] = UINT32_MAX;
	scale_milli[STOP] = 1;
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, scale_milli, NULL, 0, &fault), WET_OK, "%s", fault.want);
}

Test(fit, cold_lengthens_development_past_most_but_never_a_fix)
{
	uint32_t scale_milli[WET_RECIPE_STAGES];
	struct wet_fault fault = { 0 };
	for (int i = 0; i < WET_RECIPE_STAGES; i++)
		scale_milli[i] = 1000;
	tank.fill_ns = 100 * S;
	tank.drain_ns = 70 * S; /* needs 3:10; the developer's most at the reference is 3:00 */
	creek.stages[RINSE].most_ns = creek.stages[STOP].most_ns = 600 * S;
	creek.stages[FIRST_FIX].most_ns = 180 * S;
	scale_milli[DEVELOP] = 1600; /* 3:12: its most is as much longer */
	scale_milli[FIRST_FIX] = 2000;
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, scale_milli, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect_str_eq(fault.where, "/stages/5/aim", "the fix ends at its most: %s", fault.where);
	cr_expect_str_eq(fault.found, "3:00");
	scale_milli[DEVELOP] = 1500;
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, scale_milli, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect_str_eq(fault.where, "/stages/2/aim");
}

Test(fit, over_a_third_means_over_it)
{
	char told[512];
	/* 40 s of 2:00 is exactly a third: silence. */
	cr_assert_eq(wet_recipe_fit(&creek, &tank, 6, NULL, told, sizeof told, NULL), WET_OK);
	cr_expect_str_eq(told, "");
	creek.stages[DEVELOP].aim_ns -= 1;
	cr_assert_eq(wet_recipe_fit(&creek, &tank, 6, NULL, told, sizeof told, NULL), WET_OK);
	cr_expect(strstr(told, "Developer: filling and draining take 0:40") != NULL, "%s", told);
}

Test(fit, trays_hold_each_piece_as_long_as_the_last_takes_to_go_in)
{
	char told[512];
	struct wet_fault fault = { 0 };
	/* 9 x 10 s = 1:30: develop and fix as they are, the stop is over its most. */
	cr_expect_eq(wet_recipe_fit(&trays, &row, 9, NULL, told, sizeof told, &fault), WET_ERR_FIT);
	cr_expect_str_eq(fault.where, "/stages/2/aim");
	cr_expect_str_eq(fault.found, "1:00");
	cr_expect(strstr(fault.want, "1:30") != NULL && strstr(fault.want, "fewer pieces, 6 at a time") != NULL,
			  "%s", fault.want);
	/* What it proposes fits, and one more does not. */
	cr_expect_eq(wet_recipe_fit(&trays, &row, 6, NULL, told, sizeof told, &fault), WET_OK, "%s", fault.want);
	cr_expect_str_eq(told, "Stop bath: aim raised from 0:30 to 1:00 for this vessel.\n");
	cr_expect_eq(wet_recipe_fit(&trays, &row, 7, NULL, told, sizeof told, &fault), WET_ERR_FIT);
	row.stagger_ns = 5 * S;
	cr_expect_eq(wet_recipe_fit(&trays, &row, 12, NULL, told, sizeof told, &fault), WET_OK, "%s", fault.want);
	row.stagger_ns = 61 * S;
	cr_expect_eq(wet_recipe_fit(&trays, &row, 1, NULL, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect(strstr(fault.want, "shorter stagger") != NULL, "%s", fault.want);
}

Test(fit, development_in_trays_is_raised_for_the_pieces_up_to_most)
{
	trays.stages[TRAY_STOP].most_ns = 600 * S;
	struct wet_times t = wet_stage_times(&trays, TRAY_DEVELOP, &row, 11);
	cr_expect_eq(t.aim_ns, 110 * S);
	cr_expect(t.is_raised);
	char told[512];
	cr_expect_eq(wet_recipe_fit(&trays, &row, 12, NULL, told, sizeof told, NULL), WET_OK);
	cr_expect(strstr(told, "Developer: aim raised from 1:30 to 2:00") != NULL, "%s", told);
	struct wet_fault fault = { 0 };
	cr_expect_eq(wet_recipe_fit(&trays, &row, 13, NULL, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect(strstr(fault.want, "12 at a time") != NULL, "%s", fault.want);
	/* Warm, the same pieces do not fit any more: 2:00 becomes 1:00. */
	uint32_t scale_milli[WET_RECIPE_STAGES];
	for (int i = 0; i < WET_RECIPE_STAGES; i++)
		scale_milli[i] = 1000;
	scale_milli[TRAY_DEVELOP] = 500;
	cr_expect_eq(wet_recipe_fit(&trays, &row, 12, scale_milli, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect(strstr(fault.want, "6 at a time") != NULL, "%s", fault.want);
}

Test(fit, washer_and_tanks_know_no_stagger)
{
	trays.stages[TRAY_WASH].aim_ns = trays.stages[TRAY_WASH].least_ns = 60 * S;
	cr_expect_eq(wet_stage_times(&trays, TRAY_WASH, &row, 64).aim_ns, 60 * S);
	tank.stagger_ns = 10 * S;
	cr_expect_eq(wet_stage_times(&creek, STOP, &tank, 64).aim_ns, 60 * S);
}

Test(fit, wrong_vessel_and_wrong_numbers_are_refused)
{
	struct wet_fault fault = { 0 };
	cr_expect_eq(wet_recipe_fit(&creek, &row, 6, NULL, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect_str_eq(fault.found, "trays");
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 0, NULL, NULL, 0, &fault), WET_ERR_RANGE);
	cr_expect_eq(wet_recipe_fit(&creek, &tank, WET_PIECES, NULL, NULL, 0, &fault), WET_OK);
	cr_expect_eq(wet_recipe_fit(&creek, &tank, WET_PIECES + 1, NULL, NULL, 0, &fault), WET_ERR_RANGE);
	tank.pieces_max = 4;
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 6, NULL, NULL, 0, &fault), WET_ERR_FIT);
	cr_expect(strstr(fault.want, "4 a load in creek tank: 2 loads") != NULL, "%s", fault.want);
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 4, NULL, NULL, 0, &fault), WET_OK);
	tank.fill_ns = -1;
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 4, NULL, NULL, 0, &fault), WET_ERR_RANGE);
	cr_expect_str_eq(fault.where, "/vessel/fill");
	tank.fill_ns = INT64_MAX / 2;
	cr_expect_eq(wet_recipe_fit(&creek, &tank, 4, NULL, NULL, 0, &fault), WET_ERR_RANGE);
}

Test(fit, what_times_promise_fit_keeps)
{
	/* For every tank: fit says yes exactly when each raised aim holds fill, drain and 20 s. */
	int fits = 0, refused = 0;
	for (int64_t fill = 1; fill <= 120; fill += 7) {
		for (int64_t drain = 1; drain <= 120; drain += 7) {
			tank.fill_ns = fill * S;
			tank.drain_ns = drain * S;
			bool expected = true;
			for (int i = DEVELOP; i <= WASH; i++) {
				struct wet_times t = wet_stage_times(&creek, i, &tank, 6);
				int64_t need = (i <= SECOND_FIX ? fill + drain : 0) + 20;
				expected = expected && t.aim_ns >= need * S;
				cr_assert(0 < t.least_ns && t.least_ns <= t.aim_ns && t.aim_ns <= t.most_ns, "stage %d", i);
			}
			int rc = wet_recipe_fit(&creek, &tank, 6, NULL, NULL, 0, NULL);
			cr_assert_eq(rc, expected ? WET_OK : WET_ERR_FIT, "fill %lld, drain %lld", (long long)fill,
						 (long long)drain);
			fits += rc == WET_OK;
			refused += rc != WET_OK;
		}
	}
	cr_expect_gt(fits, 20);
	cr_expect_gt(refused, 20);
}
