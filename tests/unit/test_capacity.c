/* Capacity: errors, both clocks, two baths. */
#include "base/random.h"
#include "wetside/capacity.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define DAY_NS (86400LL * 1000000000)
#define PIECE_MM2 (90 * 120) /* 9 x 12 cm */

static const struct wet_working_bath fresh = { 600000, 1000000, 0, 0 };

Test(capacity, nonsense_is_refused_and_named)
{
	int64_t mm2 = -7;
	struct wet_fault f;
	const double wrong[] = { 0, -1, NAN, INFINITY, -INFINITY, 100.1, 1e-9 };
	for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
		cr_assert_eq(wet_capacity_from_m2(wrong[i], &mm2, &f), WET_ERR_RANGE);
		cr_assert_str_eq(f.where, "capacity");
		cr_assert_eq(wet_capacity_from_count(wrong[i] > 100 && wrong[i] < 1e9 ? 1e9 : wrong[i], 254000,
											 203200, 1000000, &mm2, &f),
					 WET_ERR_RANGE);
	}
	cr_assert_eq(wet_capacity_from_count(30, 0, 203200, 1000000, &mm2, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "width");
	cr_assert_eq(wet_capacity_from_count(30, 254000, 203200, 0, &mm2, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "volume");
	cr_assert_eq(mm2, -7, "untouched");
	cr_assert_eq(wet_capacity_from_m2(1.03, &mm2, &f), 0);
	cr_assert_eq(mm2, 1030000);
}

Test(capacity, a_regime_is_a_name)
{
	enum wet_fixer_regime regime = WET_FIXER_REGIME_N;
	struct wet_fault f;
	for (int i = 0; i < WET_FIXER_REGIME_N; i++) {
		cr_assert_eq(wet_fixer_regime_from_word(wet_fixer_regime_word((enum wet_fixer_regime)i), &regime, &f),
					 0);
		cr_assert_eq(regime, (enum wet_fixer_regime)i);
	}
	cr_assert_eq(wet_fixer_regime_from_word("usual", &regime, &f), WET_ERR_NOT_FOUND);
	cr_assert(strstr(f.want, "single-bath archival") != NULL, "%s", f.want);
	int64_t mm2 = -7;
	cr_assert_eq(wet_fixer_capacity(WET_FIXER_TWO_BATH, WET_EMULSION_FILM, &mm2, &f), WET_ERR_NOT_FOUND);
	cr_assert_eq(mm2, -7);
}

Test(capacity, a_bath_of_nothing_has_nothing_left_to_ask)
{
	struct wet_bath_left left = { .pieces_left = -7 };
	struct wet_fault f;
	struct wet_working_bath b = fresh;
	b.volume_ul = 0;
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "volume");
	b = fresh;
	b.capacity_mm2_per_l = -1;
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "capacity");
	cr_assert_str_eq(f.found, "-1");
	cr_assert_eq(wet_bath_left(&fresh, 0, &left, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "piece");
	b = fresh;
	b.used_mm2 = -1;
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, &f), WET_ERR_RANGE);
	cr_assert_eq(left.pieces_left, -7, "untouched");
}

/* 1 m2 a litre: 9 x 12 cm takes 10.8 mL. */
Test(capacity, too_little_for_one_piece_says_how_much_one_takes)
{
	struct wet_bath_left left;
	struct wet_fault f;
	struct wet_working_bath b = fresh;
	b.volume_ul = 10799;
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, &f), WET_ERR_FIT);
	cr_assert(strstr(f.want, "10.8 mL") != NULL, "%s", f.want);
	b.volume_ul = 10800;
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, &f), 0);
	cr_assert_eq(left.pieces_left, 1);
}

Test(capacity, which_clock_ran_out)
{
	char line[120];
	struct wet_bath_left left;
	struct wet_working_bath b = fresh; /* 600,000 mm2: 55 pieces of 10,800 */
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, NULL), 0);
	cr_assert_eq(left.pieces_left, 55);
	cr_assert_eq(left.spent, WET_BATH_CLOCK_NEITHER);
	b.used_mm2 = 54 * PIECE_MM2;
	b.age_used_ppm = 400000;
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, NULL), 0);
	cr_assert_eq(left.pieces_left, 1);
	cr_assert_eq(left.nearer, WET_BATH_CLOCK_AREA);
	cr_assert_str_eq(wet_bath_left_line(&left, line, sizeof line),
					 "1 piece left: 98 % of the area used, 40 % of the age");
	b.used_mm2 = 55 * PIECE_MM2; /* 6,000 mm2 are left: less than a piece */
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, NULL), 0);
	cr_assert_eq(left.spent, WET_BATH_CLOCK_AREA);
	b.age_used_ppm = 1000000;
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, NULL), 0);
	cr_assert_eq(left.spent, WET_BATH_CLOCK_BOTH);
	b.used_mm2 = 0;
	cr_assert_eq(wet_bath_left(&b, PIECE_MM2, &left, NULL), 0);
	cr_assert_eq(left.spent, WET_BATH_CLOCK_AGE);
	cr_assert_eq(left.pieces_left, 0);
	cr_assert_str_eq(wet_bath_left_line(&left, line, sizeof line),
					 "its age ran out: 0 % of the area used, 100 % of the age");
}

Test(capacity, pieces_left_are_never_more_than_it_bears)
{
	struct wet_random r;
	wet_random_seed(&r, 1);
	for (int i = 0; i < 100000; i++) {
		struct wet_working_bath b = { wet_random_between(&r, 1, 10000000),
									  wet_random_between(&r, 1, 10000000),
									  wet_random_between(&r, 0, 10000000),
									  wet_random_between(&r, 0, 1500000) };
		int64_t piece = wet_random_between(&r, 1, 100000), volume;
		struct wet_bath_left left;
		if (wet_bath_left(&b, piece, &left, NULL) != 0)
			continue;
		cr_assert(left.pieces_left * piece <= left.left_mm2);
		if (left.pieces_left == 0)
			continue;
		/* The volume that so much area takes, old and new, is never more than there is. */
		cr_assert_eq(
			wet_capacity_volume(b.capacity_mm2_per_l, b.used_mm2 + left.pieces_left * piece, &volume, NULL),
			0);
		cr_assert(volume <= b.volume_ul);
		if (left.spent == WET_BATH_CLOCK_NEITHER) {
			cr_assert_eq(wet_capacity_volume(b.capacity_mm2_per_l,
											 b.used_mm2 + (left.pieces_left + 1) * piece, &volume, NULL),
						 0);
			cr_assert(volume > b.volume_ul);
		}
	}
}

Test(capacity, ages_in_different_places_add_up)
{
	struct wet_keeping k;
	struct wet_fault f;
	int64_t ppm = -7;
	cr_assert_eq(wet_keeping_default(WET_KEEPING_DEVELOPER_STOCK, &k), 0);
	struct wet_spell spells[] = { { WET_STANDING_FULL, 45 * DAY_NS, 0, 0 },  /* a quarter of 180 days */
								  { WET_STANDING_PART, 30 * DAY_NS, 0, 0 },  /* half of 60 */
								  { WET_STANDING_OPEN, DAY_NS / 8, 0, 0 } }; /* an eighth of a day */
	cr_assert_eq(wet_age_used_ppm(&k, spells, 3, &ppm, &f), 0);
	cr_assert_eq(ppm, 875000);
	/* 600 mL in 48,000 mm2 stand 12.5 mm deep: half of 25, so twice as fast. */
	spells[2].volume_ul = 600000;
	spells[2].surface_mm2 = 48000;
	cr_assert_eq(wet_age_used_ppm(&k, spells, 3, &ppm, &f), 0);
	cr_assert(ppm >= 1000000 && ppm <= 1000002, "%lld", (long long)ppm);
	spells[2].surface_mm2 = 10000; /* 60 mm deep: no longer than published */
	cr_assert_eq(wet_age_used_ppm(&k, spells, 3, &ppm, &f), 0);
	cr_assert_eq(ppm, 875000);
	spells[1].standing = WET_STANDING_COVERED;
	ppm = -7;
	cr_assert_eq(wet_age_used_ppm(&k, spells, 3, &ppm, &f), WET_ERR_NOT_FOUND);
	cr_assert(strstr(f.where, "floating lid") != NULL);
	spells[1] = (struct wet_spell){ WET_STANDING_FULL, -1, 0, 0 };
	cr_assert_eq(wet_age_used_ppm(&k, spells, 3, &ppm, &f), WET_ERR_RANGE);
	cr_assert_eq(ppm, -7);
	cr_assert_eq(wet_age_used_ppm(&k, NULL, 0, &ppm, &f), 0);
	cr_assert_eq(ppm, 0);
}

/* US Navy NAVEDTRA 14209: the first is discarded, the second becomes the first; here it keeps its own
 * count, the conservative reading. */
Test(capacity, a_promoted_bath_keeps_its_own_count)
{
	struct wet_fault f;
	int64_t left = 0;
	struct wet_two_bath pair = {
		.volume_ul = 1000000, .capacity_mm2_per_l = 1000000, .second_share_ppm = 50000, .rotations_most = 2
	};
	cr_assert_eq(wet_two_bath_book(&pair, 1000000, &f), 0);
	cr_assert_eq(wet_two_bath_book(&pair, 1, &f), WET_ERR_REFUSED);
	cr_assert(strstr(f.want, "the second becomes the first") != NULL, "%s", f.want);
	cr_assert_eq(pair.first.as_first_mm2, 1000000, "nothing booked");
	cr_assert_eq(wet_two_bath_rotate(&pair, &f), 0);
	cr_assert_eq(pair.first.as_second_mm2, 1000000);
	cr_assert_eq(pair.second.as_second_mm2, 0);
	cr_assert_eq(wet_two_bath_left(&pair, &left, &f), 0);
	cr_assert_eq(left, 950000);
	cr_assert_eq(wet_two_bath_rotate(&pair, &f), 0);
	cr_assert_eq(wet_two_bath_rotate(&pair, &f), WET_ERR_REFUSED);
	cr_assert_eq(pair.rotations, 2);
	cr_assert_eq(wet_two_bath_book(&pair, 1000001, &f), WET_ERR_REFUSED);
	cr_assert(strstr(f.want, "discard both") != NULL, "%s", f.want);

	/* Counted alike, the promoted bath is spent at once. */
	struct wet_two_bath alike = {
		.volume_ul = 1000000, .capacity_mm2_per_l = 1000000, .second_share_ppm = 1000000, .rotations_most = 2
	};
	cr_assert_eq(wet_two_bath_book(&alike, 1000000, &f), 0);
	cr_assert_eq(wet_two_bath_rotate(&alike, &f), 0);
	cr_assert_eq(wet_two_bath_left(&alike, &left, &f), 0);
	cr_assert_eq(left, 0);
}

/* Working fixer: two months full, one part full, a week in an open tray (a maker's sheet quoted in 2005; a month is 30 days). */
Test(capacity, the_stricter_of_the_recipe_and_of_how_it_stood_is_the_end)
{
	struct wet_keeping fixer;
	struct wet_age_end end;
	cr_assert_eq(wet_keeping_default(WET_KEEPING_FIXER_WORKING, &fixer), 0);
	struct wet_spell spells[] = { { .standing = WET_STANDING_FULL, .for_ns = 30 * DAY_NS },
								  { .standing = WET_STANDING_PART } };
	/* Half of its life in a full bottle; of one that is part full half a month is left. */
	cr_assert_eq(wet_age_end(&fixer, 60 * DAY_NS, 30 * DAY_NS, WET_STANDING_PART, spells, 2, &end, NULL), 0);
	cr_assert_eq(end.left_ns, 15 * DAY_NS);
	cr_assert_eq(end.used_ppm, 500000);
	cr_assert(end.is_by_standing);
	/* A recipe that asks for less rules, and one without a table is alone. */
	cr_assert_eq(wet_age_end(&fixer, 35 * DAY_NS, 30 * DAY_NS, WET_STANDING_PART, spells, 2, &end, NULL), 0);
	cr_assert_eq(end.left_ns, 5 * DAY_NS);
	cr_assert_not(end.is_by_standing);
	cr_assert_eq(wet_age_end(NULL, 20 * DAY_NS, 30 * DAY_NS, WET_STANDING_PART, spells, 2, &end, NULL), 0);
	cr_assert_eq(end.left_ns, -10 * DAY_NS);
	cr_assert_eq(end.used_ppm, 1500000);
	/* 6.25 mm deep in a tray: a quarter of the usual depth, a quarter of the week. */
	spells[1] = (struct wet_spell){ WET_STANDING_OPEN, 0, 312500, 50000 };
	cr_assert_eq(wet_age_end(&fixer, 60 * DAY_NS, 30 * DAY_NS, WET_STANDING_OPEN, spells, 2, &end, NULL), 0);
	cr_assert(end.left_ns > 7 * DAY_NS / 8 - DAY_NS / 1000 && end.left_ns <= 7 * DAY_NS / 8, "%lld", (long long)end.left_ns);
	/* Nothing is known of a stop bath under a lid: the recipe rules. */
	cr_assert_eq(wet_keeping_default(WET_KEEPING_DEVELOPER_STOCK, &fixer), 0);
	spells[1] = (struct wet_spell){ .standing = WET_STANDING_COVERED };
	cr_assert_eq(wet_age_end(&fixer, 31 * DAY_NS, 30 * DAY_NS, WET_STANDING_COVERED, spells, 2, &end, NULL), 0);
	cr_assert_eq(end.left_ns, DAY_NS);
	cr_assert_eq(wet_age_end(&fixer, 0, 1, WET_STANDING_FULL, spells, 2, &end, NULL), WET_ERR_RANGE);
}
