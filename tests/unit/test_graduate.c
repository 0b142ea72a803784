/* Measuring with the graduates one owns. */
#include "base/random.h"
#include "wetside/dilution.h"
#include "wetside/graduate.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static struct wet_graduate graduate(const char *text)
{
	struct wet_graduate g = { 0 };
	struct wet_fault f = { 0 };
	cr_assert_eq(wet_parse_graduate(text, &g, &f), 0, "%s: %s", text, f.want);
	return g;
}

Test(graduate, as_people_name_them)
{
	struct wet_graduate g = graduate("100mL");
	char text[48];
	cr_assert(g.capacity_ul == 100000 && g.step_ul == 1000 && g.class_of == WET_CLASS_UNSAID);
	g = graduate(" 250 mL A / 2 mL");
	cr_assert(g.capacity_ul == 250000 && g.step_ul == 2000 && g.class_of == WET_CLASS_A);
	g = graduate("10 mL syringe/0.5 mL");
	cr_assert(g.kind == WET_GRADUATE_SYRINGE && g.step_ul == 500);
	cr_assert_str_eq(wet_print_graduate(&g, text, sizeof text), "10 mL syringe");
	g = graduate("32 US fl oz/1 US fl oz");
	cr_assert(g.unit == WET_UNIT_US_FL_OZ && g.step_ul == 29574);
	cr_assert_str_eq(wet_print_graduate(&g, text, sizeof text), "32 US fl oz");
	static const char *const bad[] = {
		"",          "100",      "600 mL",        "10 mL syringe", "100 mL/200 mL", "100 mL/0 mL",
		"0 mL/1 mL", "100 mL C", "32 oz/1 oz",    "-5 mL",         "nan mL",        "100 mL/x",
		"A",         "syringe",  "100 mL/1 mL/1", "100 mL A B"
	};
	struct wet_fault f;
	g.capacity_ul = -7;
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		memset(&f, 0, sizeof f);
		cr_assert_neq(wet_parse_graduate(bad[i], &g, &f), 0, "%s", bad[i]);
		cr_assert(f.want[0], "%s", bad[i]);
	}
	cr_assert_eq(g.capacity_ul, -7);
}

Test(graduate, the_smallest_that_holds_it_and_the_finest_of_equals)
{
	struct wet_graduate set[] = { graduate("100 mL"), graduate("25 mL"), graduate("25 mL/0.1 mL"),
								  graduate("25 mL A/0.1 mL") };
	struct wet_measure m;
	cr_assert_eq(wet_measure(set, 4, 25000, &m, NULL), 0);
	cr_assert(m.last == 3 && m.last_ul == 25000 && m.full_fills == 0 && m.tolerance_ul == 170);
	cr_assert_eq(wet_measure(set, 3, 12345, &m, NULL), 0);
	cr_assert(m.last == 2 && m.measured_ul == 12300 && m.wanted_ul == 12345);
	cr_assert_eq(wet_measure(set, 4, 25001, &m, NULL), 0);
	cr_assert(m.full == 3 && m.full_fills == 1 && m.measured_ul == 25000, "the 100 mL would be 4 %% off");
}

/* ASTM E1272-02 (2012), table 1, class B: 0.2 mL of 10, 1 mL of 100. */
Test(graduate, a_finer_one_is_filled_twice_where_the_larger_is_too_coarse)
{
	struct wet_graduate set[] = { graduate("100 mL"), graduate("10 mL/0.2 mL") };
	struct wet_measure m;
	cr_assert_eq(wet_measure(set, 2, 12000, &m, NULL), 0);
	cr_assert(m.full == 1 && m.full_fills == 1 && m.last == 1 && m.last_ul == 2000 && m.tolerance_ul == 400);
	cr_assert_eq(wet_measure(set, 2, 60000, &m, NULL), 0);
	cr_assert(m.full_fills == 0 && m.last == 0 && m.last_ul == 60000, "one fill that is right to 3 %%");
	struct wet_graduate jug[] = { graduate("500 mL/50 mL"), graduate("100 mL") };
	cr_assert_eq(wet_measure(jug, 2, 280000, &m, NULL), 0);
	cr_assert(m.full == 1 && m.full_fills == 2 && m.last == 1 && m.last_ul == 80000, "not 300 mL in the jug");
}

Test(graduate, more_than_it_holds_is_filled_again)
{
	struct wet_graduate set[] = { graduate("25 mL"), graduate("100 mL") };
	struct wet_measure m;
	struct wet_fault f;
	cr_assert_eq(wet_measure(set, 2, 540000, &m, NULL), 0);
	cr_assert(m.full == 1 && m.full_fills == 5 && m.last == 1 && m.last_ul == 40000 &&
			  m.measured_ul == 540000);
	cr_assert_eq(m.tolerance_ul, 6000, "six fills, each off by at most 1 mL");
	cr_assert_eq(wet_measure(set, 2, 512340, &m, NULL), 0);
	cr_assert(m.full_fills == 5 && m.last == 0 && m.last_ul == 12400 && m.measured_ul == 512400);
	cr_assert_eq(m.tolerance_ul, 5340);
	cr_assert_eq(wet_measure(set, 2, 300000, &m, NULL), 0);
	cr_assert(m.full_fills == 3 && m.last_ul == 0 && m.tolerance_ul == 3000);
	cr_assert_eq(wet_measure(set, 2, 2099999, &m, NULL), 0);
	cr_assert_eq(wet_measure(set, 2, 2100000, &m, &f), WET_ERR_REFUSED);
	cr_assert(strstr(f.want, "larger"), "%s", f.want);
}

Test(graduate, less_than_it_can_measure_is_refused)
{
	struct wet_graduate g = graduate("100 mL");
	struct wet_measure m = { .wanted_ul = -7 };
	struct wet_fault f;
	cr_assert_eq(wet_measure(&g, 1, 499, &m, &f), WET_ERR_REFUSED);
	cr_assert(strstr(f.want, "1 mL") && strstr(f.want, "finer"), "%s", f.want);
	cr_assert_eq(wet_measure(&g, 1, 0, &m, &f), WET_ERR_RANGE);
	cr_assert_eq(wet_measure(&g, 1, -5, &m, &f), WET_ERR_RANGE);
	cr_assert_eq(wet_measure(&g, 0, 5000, &m, &f), WET_ERR_RANGE);
	cr_assert_eq(m.wanted_ul, -7);
	cr_assert_eq(wet_measure(&g, 1, 500, &m, &f), 0);
	cr_assert(m.measured_ul == 1000 && m.is_coarse && m.is_too_coarse);
}

/* Nearest mark, by plain search over all marks of all graduates. */
Test(graduate, rounding_is_the_nearest_mark)
{
	struct wet_random r;
	wet_random_seed(&r, 6);
	for (int i = 0; i < 20000; i++) {
		struct wet_graduate g = { .unit = WET_UNIT_ML };
		struct wet_measure m;
		g.step_ul = wet_random_between(&r, 1, 3000);
		g.capacity_ul = g.step_ul * wet_random_between(&r, 1, 60) + wet_random_between(&r, 0, g.step_ul - 1);
		int64_t volume = wet_random_between(&r, 1, g.capacity_ul), best = 0;
		for (int64_t mark = g.step_ul; mark <= g.capacity_ul; mark += g.step_ul)
			if (llabs(mark - volume) < llabs(best - volume) || (llabs(mark - volume) == llabs(best - volume)))
				best = mark;
		int rc = wet_measure(&g, 1, volume, &m, NULL);
		if (best == 0)
			cr_assert_eq(rc, WET_ERR_REFUSED);
		else
			cr_assert(rc == 0 && m.measured_ul == best, "%lld by %lld", (long long)volume,
					  (long long)g.step_ul);
	}
}

Test(graduate, least_and_most_of_a_set)
{
	struct wet_graduate set[] = { graduate("100 mL"), graduate("25 mL"), graduate("600 mL/50 mL"),
								  graduate("10 mL syringe/0.5 mL") };
	/* 2 % of 17 mL is the 0.34 mL of the 25; a syringe of 10 measures 4.5 to 0.195, never to 2 % below half. */
	cr_assert_eq(wet_graduates_least(set, 2), 17000);
	cr_assert_eq(wet_graduates_most(set, 2), 100000);
	cr_assert_eq(wet_graduates_least(&set[2], 1), 500000);
	cr_assert_eq(wet_graduates_most(set, 4), 600000);
	cr_assert_eq(wet_graduates_least(set, 4), 5000, "ten of its marks");
	struct wet_graduate huge = { WET_GRADUATE_SYRINGE, WET_CLASS_UNSAID, 1000000000000000, 1, WET_UNIT_ML };
	cr_assert_eq(wet_graduates_least(&huge, 1), 10, "without a long search");
}

Test(graduate, what_rounding_does_to_the_strength)
{
	cr_assert_eq(wet_strength_change_milli(60000, 540000, 60000, 540000), 0);
	cr_assert_eq(wet_strength_change_milli(10000, 90000, 11000, 90000), 8911); /* 11/101 against 1/10 */
	cr_assert_eq(wet_strength_change_milli(10000, 90000, 10000, 100000), -9091);
	cr_assert_eq(wet_strength_change_milli(50000, 0, 49000, 0), 0, "neat is neat");
	cr_assert_eq(wet_strength_change_milli(1, 999999999, 1000000, 1), INT32_MAX);
}

Test(dilution_steps, a_single_step_where_that_is_enough)
{
	struct wet_series s;
	cr_assert_eq(wet_series_measurable(1000, 9000, 600000, 17000, 1000000, &s, NULL), 0);
	cr_assert(s.count == 1 && s.steps[0].draw_ul == 60000 && s.steps[0].water_ul == 540000 &&
			  s.steps[0].left_ul == 0);
}

Test(dilution_steps, a_small_draw_is_made_larger_by_a_thinner_stock)
{
	struct wet_series s;
	struct wet_parts all;
	/* 1+99 for 100 mL where nothing under 5 mL is measured: 5 of 1+4 (25 mL of it) and 95 of water. */
	cr_assert_eq(wet_series_measurable(1000, 99000, 100000, 5000, 1000000, &s, NULL), 0);
	cr_assert_eq(s.count, 2);
	cr_assert(s.steps[0].draw_ul == 5000 && s.steps[0].water_ul == 20000 && s.steps[0].left_ul == 20000);
	cr_assert(s.steps[1].draw_ul == 5000 && s.steps[1].water_ul == 95000 && s.steps[1].left_ul == 0);
	cr_assert_eq(wet_series_ratio(&s, &all), 0);
	cr_assert(all.milli[0] == 1000 && all.milli[1] == 99000);
}

Test(dilution_steps, random_series_hold_what_they_promise)
{
	struct wet_random r;
	int made = 0, longer = 0;
	wet_random_seed(&r, 7);
	for (int i = 0; i < 20000; i++) {
		int64_t b = wet_random_between(&r, 1, i % 2 ? 300 : 50000) * 1000,
				total = wet_random_between(&r, 10000, 2000000);
		int64_t least = wet_random_between(&r, 500, 20000), most = least * wet_random_between(&r, 2, 50);
		struct wet_series s;
		struct wet_parts all;
		int rc = wet_series_measurable(1000, b, total, least, most, &s, NULL);
		if (rc != 0) {
			cr_assert_eq(rc, WET_ERR_REFUSED);
			continue;
		}
		made++;
		longer += s.count > 1;
		for (uint32_t k = 0; k < s.count; k++) {
			cr_assert(s.steps[k].draw_ul >= least &&
					  s.steps[k].draw_ul + s.steps[k].water_ul == s.steps[k].total_ul);
			cr_assert(k + 1 == s.count ||
					  (s.steps[k].total_ul <= most && s.steps[k].left_ul >= 0 &&
					   s.steps[k].total_ul - s.steps[k].left_ul == s.steps[k + 1].draw_ul));
		}
		cr_assert_eq(s.steps[s.count - 1].total_ul, total);
		cr_assert_eq(s.count == 1, total * 1000 >= least * (1000 + b));
		cr_assert_eq(wet_series_ratio(&s, &all), 0);
		cr_assert(all.milli[0] * (1000 + b) == 1000 * (all.milli[0] + all.milli[1]), "the whole is 1+%lld",
				  (long long)b / 1000);
	}
	cr_assert(made > 5000 && longer > 2000, "%d, %d", made, longer);
}

Test(dilution_steps, what_cannot_be_is_refused)
{
	struct wet_series s = { .count = 77 };
	struct wet_fault f;
	cr_assert_eq(wet_series_measurable(1000, 9000, 4000, 5000, 100000, &s, &f), WET_ERR_REFUSED);
	cr_assert(strstr(f.want, "5.000 mL"), "%s", f.want);
	cr_assert_eq(wet_series_measurable(1000, 9000, 5000, 5000, 100000, &s, &f), WET_ERR_REFUSED,
				 "5 mL cannot be 5 mL and water");
	cr_assert_eq(wet_series_measurable(1000, 9000, 600000, 0, 100000, &s, &f), WET_ERR_REFUSED);
	cr_assert_eq(wet_series_measurable(0, 9000, 600000, 5000, 100000, &s, &f), WET_ERR_RANGE);
	cr_assert_eq(wet_series_measurable(1000, 9000, -1, 5000, 100000, &s, &f), WET_ERR_RANGE);
	struct wet_parts three = { 3, { 1000, 1000, 1000 } }, two[7];
	for (int i = 0; i < 7; i++)
		two[i] = (struct wet_parts){ 2, { 1000, 1000 } };
	cr_assert_eq(wet_series_chain(&three, 1, 600000, &s, &f), WET_ERR_INVALID);
	cr_assert_eq(wet_series_chain(two, 7, 600000, &s, &f), WET_ERR_TOO_MANY);
	cr_assert_eq(wet_series_chain(two, 0, 600000, &s, &f), WET_ERR_TOO_MANY);
	cr_assert_eq(s.count, 77);
}
