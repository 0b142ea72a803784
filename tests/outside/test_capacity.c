/* Capacity against published counts. The source stands beside each check. */
#include "wetside/capacity.h"
#include "wetside/plan.h"

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

/* A whole campaign by plans: session after session of `pieces` on a shelf of baths of a litre (or `volume_ul`), each planned,
 * booked and the next one planned from that; till the pair is done with. Returns the sheets that passed. */
static int campaign(const struct wet_plan_solution *two, int64_t volume_ul, int pieces, int *ret_firsts)
{
	static unsigned char workspace[8 << 20];
	static struct wet_plan_working shelf[WET_PLAN_SOURCES];
	const struct wet_plan_bottle stock = { .id = 1, .stock_ul = 1000000000, .keeps_ns = 1 };
	struct wet_plan_ask ask = { .size_count = 1, .solution_count = 1, .bottle_count = 1, .bottles = &stock, .workings = shelf };
	int sheets = 0, shelf_count = 0;
	*ret_firsts = 0;
	ask.sizes[0] = (struct wet_plan_size){ (int64_t)SHEET_MM2, pieces, 1 };
	ask.vessel = (struct wet_plan_vessel){ .least_ul = volume_ul, .most_ul = volume_ul, .slots = 4 };
	ask.solutions[0] = *two;
	for (;;) {
		struct wet_plan plan;
		struct wet_plan_refusal refusal;
		ask.working_count = shelf_count;
		cr_assert_leq(wet_plan_workspace_bytes(&ask), sizeof workspace);
		cr_assert_eq(wet_plan_make(&ask, workspace, sizeof workspace, &plan, &refusal, NULL), 0);
		for (int i = 0; i < plan.bath_count; i++) {
			const struct wet_plan_bath *b = &plan.baths[i];
			if (b->first_load == 0 && b->load_count > 0 && b->working < 0 && shelf_count > 0)
				return sheets; /* a new pair */
			if (b->first_load > 0 && b->second_count == 0)
				return sheets;
			struct wet_plan_working *w = &shelf[b->working >= 0 ? b->working : shelf_count];
			if (b->working < 0)
				*w = (struct wet_plan_working){ .id = 100 + shelf_count++, .volume_ul = b->volume_ul };
			*ret_firsts += w->used_mm2 == 0 && b->load_count > 0;
			w->used_mm2 = b->area_mm2;
			w->second_mm2 = b->second_mm2;
			w->rotations = b->rotations;
			for (int n = b->first_load; n < b->first_load + b->load_count; n++)
				sheets += plan.loads[n].counts[0];
		}
	}
}

static struct wet_plan_solution two_baths(int64_t capacity_mm2_per_l, int32_t share_ppm, int rotations)
{
	return (struct wet_plan_solution){ .name = "fixer", .stock_milli = 1000, .water_milli = 4000, .has_time = true,
									   .has_second = true, .capacity_mm2_per_l = capacity_mm2_per_l,
									   .second_share_ppm = share_ppm, .rotations_most = rotations };
}

/* analogue-photography.org again, "Fixing prints": 50 sheets of 8 x 10 in a litre, then the second becomes the first, and both
 * are discarded after 250; a sheet counts in its first bath only. In sessions of one, two and five sheets. */
Test(capacity_published, planned_sessions_reach_two_hundred_and_fifty)
{
	static const int sessions[] = { 1, 2, 5, 25 };
	int64_t mm2 = 0;
	int firsts;
	cr_assert_eq(wet_capacity_from_count(50, 8 * IN_UM, 10 * IN_UM, 1000000, &mm2, NULL), 0);
	for (size_t i = 0; i < sizeof sessions / sizeof sessions[0]; i++) {
		const struct wet_plan_solution two = two_baths(mm2, 0, 4);
		cr_assert_eq(campaign(&two, 1000000, sessions[i], &firsts), 250, "%d a session", sessions[i]);
		cr_assert_eq(firsts, 5);
	}
}

/* US Navy NAVEDTRA 14209, "Life of a Fixing Bath": about 200 sheets of 8 x 10 in a gallon, then the first is discarded, the
 * second becomes the first; S. Anchell, The Darkroom Cookbook, 3rd ed., p. 107: after the third rotation both are discarded. So
 * four baths are the first, 200 each; with our share of what passed before (from memory), 200 and then 10 less. */
Test(capacity_published, planned_sessions_by_the_gallon_rotate_thrice)
{
	int64_t mm2 = 0;
	int firsts;
	cr_assert_eq(wet_capacity_from_count(200, 8 * IN_UM, 10 * IN_UM, 3785412, &mm2, NULL), 0);
	struct wet_plan_solution two = two_baths(mm2 + 1, 0, WET_ROTATIONS_MOST);
	cr_assert_eq(campaign(&two, 3785412, 1, &firsts), 4 * 200);
	cr_assert_eq(firsts, 4);
	two.second_share_ppm = WET_SECOND_SHARE_PPM;
	cr_assert_eq(campaign(&two, 3785412, 1, &firsts), 200 + 190 + 190 + 190); /* 200/20 = 10, 190/20 = 9.5, and 9.5 */
	cr_assert_eq(firsts, 4);
	cr_assert_eq(wet_fixer_capacity(WET_FIXER_TWO_BATH, WET_EMULSION_PAPER, &mm2, NULL), 0);
	two = two_baths(mm2, 0, WET_ROTATIONS_MOST);
	int sheets = campaign(&two, 3785412, 1, &firsts);
	cr_assert(sheets >= 4 * 199 && sheets <= 4 * 201, "%d", sheets); /* the computed regime meets the Navy's count */
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
