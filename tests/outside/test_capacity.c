/* Capacity against published counts. The source stands beside each check. */
#include "wetside/capacity.h"

#include <criterion/criterion.h>
#include <math.h>

#define GALLON_UL 3785411.784 /* US, 231 cubic inches, exact */
#define SHEET_MM2 (203.2 * 254.0)
#define IN_UM 25400

static double sheets_per_l(enum wet_fixer_regime regime, enum wet_emulsion emulsion)
{
	int64_t mm2 = 0;
	cr_assert_eq(wet_fixer_capacity(regime, emulsion, &mm2, NULL), 0);
	return (double)mm2 / SHEET_MM2;
}

static double per_gallon(double per_l)
{
	return per_l * GALLON_UL / 1e6;
}

/* G. Haist, Modern Photographic Processing, vol. 1 (1979), as quoted second-hand: paper in a single bath,
 * 30 sheets of 8 x 10 in a gallon for commercial, 5 for archival work. US Navy NAVEDTRA 14209: about 200 a
 * gallon. All share one constant, so they check that the constant is used, not its value. */
Test(capacity_published, paper_counts_follow_from_one_silver_load)
{
	cr_assert_float_eq(per_gallon(sheets_per_l(WET_FIXER_SINGLE_COMMERCIAL, WET_EMULSION_PAPER)), 30, 0.15);
	cr_assert_float_eq(per_gallon(sheets_per_l(WET_FIXER_SINGLE_ARCHIVAL, WET_EMULSION_PAPER)), 5, 0.025);
	cr_assert_float_eq(per_gallon(sheets_per_l(WET_FIXER_TWO_BATH, WET_EMULSION_PAPER)), 200, 1);
	/* A maker's "safe level" of 0.5 g/L, second-hand on darkside.photography: computed, 0.68 m2 or 13.2
	 * sheets a litre; 2 g/L for the first of two baths: 52.8 sheets. */
	cr_assert_float_eq(sheets_per_l(WET_FIXER_SINGLE_MODERATE, WET_EMULSION_PAPER), 13.2, 0.07);
	cr_assert_float_eq(sheets_per_l(WET_FIXER_TWO_BATH, WET_EMULSION_PAPER), 52.8, 0.27);
}

/* The same source for film: rolls of 80 in2, 2 a gallon archival, 25 commercial. The two imply different
 * silver loads; ours meets the first and stays under the second, the safe side. */
Test(capacity_published, film_errs_to_the_safe_side)
{
	cr_assert_float_eq(per_gallon(sheets_per_l(WET_FIXER_SINGLE_ARCHIVAL, WET_EMULSION_FILM)), 2, 0.02);
	double commercial = per_gallon(sheets_per_l(WET_FIXER_SINGLE_COMMERCIAL, WET_EMULSION_FILM));
	cr_assert(commercial < 25 && commercial > 12, "%f", commercial);
}

/* Haist again: after 30, 5 and 200 sheets in a gallon there are 0.3, 0.05 and 2 g/L of silver. */
Test(capacity_published, silver_of_so_many_sheets)
{
	static const struct {
		int sheets;
		double g_per_l;
	} rows[] = { { 30, 0.300 }, { 5, 0.050 }, { 200, 2.00 } };
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int64_t ug = 0;
		cr_assert_eq(wet_silver_load_ug(WET_EMULSION_PAPER, llround(rows[i].sheets * SHEET_MM2), &ug, NULL),
					 0);
		cr_assert_float_eq((double)ug / GALLON_UL / rows[i].g_per_l, 1.0, 0.005);
	}
}

/* Counts turned into area a litre. The Navy's 200 in a gallon: computed, 52.8 and 2.73 m2. J. B.
 * Schriever, Complete Self-Instructing Library (1909), 463: thirty 4 x 5 in 16 fl oz: 15.9 sheets of 8 x
 * 10 a litre, 0.82 m2. */
Test(capacity_published, counts_as_printed)
{
	int64_t mm2 = 0;
	cr_assert_eq(wet_capacity_from_count(200, 8 * IN_UM, 10 * IN_UM, 3785412, &mm2, NULL), 0);
	cr_assert_float_eq((double)mm2 / 1e6, 2.73, 0.005);
	cr_assert_float_eq((double)mm2 / SHEET_MM2, 52.8, 0.05);
	cr_assert_eq(wet_capacity_from_count(30, 4 * IN_UM, 5 * IN_UM, 473176, &mm2, NULL), 0);
	cr_assert_float_eq((double)mm2 / SHEET_MM2, 15.9, 0.06);
	cr_assert_float_eq((double)mm2 / 1e6, 0.82, 0.005);
}

/* S. Anchell, The Darkroom Cookbook, 3rd ed. (2008), p. 108: unknown capacity, 20 sheets of 8 x 10 a litre
 * of acid fixer, 25 of alkaline. The stop bath of acid and sulfate: about 12 rolls of 80 in2 a litre, 0.62
 * m2. */
Test(capacity_published, defaults)
{
	cr_assert_float_eq((double)wet_capacity_default(WET_CAPACITY_FIXER_ACID)->mm2_per_l / SHEET_MM2, 20,
					   1e-3);
	cr_assert_float_eq((double)wet_capacity_default(WET_CAPACITY_FIXER_ALKALINE)->mm2_per_l / SHEET_MM2, 25,
					   1e-3);
	cr_assert_float_eq((double)wet_capacity_default(WET_CAPACITY_STOP_SULFATE)->mm2_per_l / 1e6, 0.62, 0.005);
}

/* analogue-photography.org, "Fixing prints": about 50 sheets of 8 x 10 a litre in the first bath, then
 * rotate; both are discarded after 250. With pieces counted in the first bath only, and four rotations. */
Test(capacity_published, two_baths_of_fifty_make_two_hundred_and_fifty)
{
	struct wet_two_bath pair = { .volume_ul = 1000000, .rotations_most = 4 };
	cr_assert_eq(wet_capacity_from_count(50, 8 * IN_UM, 10 * IN_UM, 1000000, &pair.capacity_mm2_per_l, NULL),
				 0);
	int sheets = 0;
	for (;;) {
		while (wet_two_bath_book(&pair, (int64_t)SHEET_MM2, NULL) == 0)
			sheets++;
		if (wet_two_bath_rotate(&pair, NULL) != 0)
			break;
	}
	cr_assert_eq(sheets, 250);
}

/* Studio Light 1916, "Economy of Developers": trays of 154 and 238 in2, "approximately one-third more
 * solution"; 1.545 is the ratio of the surfaces. */
Test(capacity_published, a_larger_tray_takes_a_third_more)
{
	int64_t milli = 0;
	int64_t small = 154 * 645, large = 238 * 645;
	cr_assert_float_eq((double)large / (double)small, 1.545, 5e-4);
	cr_assert_eq(wet_tray_allowance_milli(large, small, &milli, NULL), 0);
	cr_assert_float_eq((double)milli / 1000, 1.33, 0.005);
	cr_assert_eq(wet_tray_allowance_milli(small, small, &milli, NULL), 0);
	cr_assert_eq(milli, 1000);
}

/* A maker's sheet for a rapid fixer, quoted in 2005: part-full 1 month, floating lid 2 months, open tray 7
 * days. The Darkroom Cookbook, p. 107: no working fixer over two months. T.O. 33B-1-1: replenisher one
 * week, concentrates two years. */
Test(capacity_published, keeping_times)
{
	const int64_t day = 86400LL * 1000000000;
	struct wet_keeping k;
	cr_assert_eq(wet_keeping_default(WET_KEEPING_FIXER_WORKING, &k), 0);
	cr_assert_eq(k.keeps_ns[WET_STANDING_FULL], 60 * day);
	cr_assert_eq(k.keeps_ns[WET_STANDING_PART], 30 * day);
	cr_assert_eq(k.keeps_ns[WET_STANDING_COVERED], 60 * day);
	cr_assert_eq(k.keeps_ns[WET_STANDING_OPEN], 7 * day);
	cr_assert_eq(wet_keeping_default(WET_KEEPING_REPLENISHER, &k), 0);
	cr_assert_eq(k.keeps_ns[WET_STANDING_FULL], 7 * day);
	cr_assert_eq(wet_keeping_default(WET_KEEPING_DEVELOPER_CONCENTRATE, &k), 0);
	cr_assert_eq(k.keeps_ns[WET_STANDING_UNOPENED], 730 * day);
}
