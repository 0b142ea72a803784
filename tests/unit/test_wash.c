/* The plan of a wash. */
#include "wetside/wash.h"

#include <criterion/criterion.h>
#include <string.h>

#define PIECES_MM2 (6 * 90 * 120)

static const struct wet_wash_ask six = { WET_BASE_FIBRE_DOUBLE, false, 20000, PIECES_MM2, 0 };

Test(wash, every_base_is_washed_by_its_own_plan)
{
	for (int base = 0; base < WET_BASE_N; base++)
		for (int aided = 0; aided < 2; aided++)
			for (int mc = 2000; mc <= 30000; mc += 2800) {
				struct wet_wash_ask ask = { (enum wet_base)base, aided != 0, mc, PIECES_MM2, 0 };
				struct wet_wash_plan p;
				struct wet_wash_model m;
				cr_assert_eq(wet_wash_plan(&ask, &p, NULL), 0);
				cr_assert(p.left_ppm <= WET_WASHED_PPM);
				cr_assert_eq(p.total_water_ul, p.changes * p.least_water_ul);
				cr_assert_eq(wet_wash_model_of(ask.base, ask.is_aided, PIECES_MM2, mc, &m, NULL), 0);
				cr_assert(wet_running_left(&m, (double)p.running_ns / 1e9) <= WET_WASHED_PPM / 1e6,
						  "%s %d %d: %g", wet_base_word(ask.base), aided, mc,
						  wet_running_left(&m, (double)p.running_ns / 1e9));
				/* A little less water and as many changes do not wash it. */
				double left[WET_WASH_CHANGES];
				cr_assert_eq(
					wet_fill_and_dump(&m, p.least_water_ul - 1100, p.change_ns, p.changes, left, NULL), 0);
				cr_assert(left[p.changes - 1] * 1e6 > WET_WASHED_PPM);
			}
}

Test(wash, aid_shortens_fibre_and_is_idle_on_resin_coated)
{
	struct wet_wash_ask ask = six;
	struct wet_wash_plan plain, aided;
	cr_assert_eq(wet_wash_plan(&ask, &plain, NULL), 0);
	ask.is_aided = true;
	cr_assert_eq(wet_wash_plan(&ask, &aided, NULL), 0);
	cr_assert(aided.running_ns + aided.aid_ns < plain.running_ns / 2);
	cr_assert_gt(aided.aid_ns, 0);
	ask.base = WET_BASE_RC;
	cr_assert_eq(wet_wash_plan(&ask, &aided, NULL), 0);
	cr_assert(aided.aid_is_idle && aided.aid_ns == 0);
}

Test(wash, little_water_takes_more_changes_until_none_do)
{
	struct wet_wash_ask ask = six;
	struct wet_wash_plan most, p = { .changes = -7 };
	struct wet_fault f;
	cr_assert_eq(wet_wash_plan(&ask, &most, NULL), 0);
	ask.water_ul = most.least_water_ul / 2;
	cr_assert_eq(wet_wash_plan(&ask, &p, &f), 0);
	cr_assert_gt(p.changes, most.changes);
	cr_assert_eq(p.water_ul, ask.water_ul);
	p.changes = -7;
	ask.water_ul = 100;
	cr_assert_eq(wet_wash_plan(&ask, &p, &f), WET_ERR_REFUSED);
	cr_assert_str_eq(f.where, "water");
	cr_assert_eq(p.changes, -7);
}

Test(wash, nonsense_is_refused_and_named)
{
	struct wet_wash_plan p;
	struct wet_fault f;
	struct wet_wash_ask ask = six;
	ask.area_mm2 = 0;
	cr_assert_eq(wet_wash_plan(&ask, &p, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "area");
	ask = six;
	ask.temperature_mc = -1;
	cr_assert_eq(wet_wash_plan(&ask, &p, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "temperature");
	ask = six;
	ask.water_ul = -5;
	cr_assert_eq(wet_wash_plan(&ask, &p, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "water");
	ask = six;
	ask.base = WET_BASE_N;
	cr_assert_eq(wet_wash_plan(&ask, &p, &f), WET_ERR_RANGE);
	enum wet_base base;
	for (int i = 0; i < WET_BASE_N; i++) {
		cr_assert_eq(wet_base_from_word(wet_base_word((enum wet_base)i), &base, &f), 0);
		cr_assert_eq(base, (enum wet_base)i);
	}
	cr_assert_eq(wet_base_from_word("cloth", &base, &f), WET_ERR_NOT_FOUND);
}
