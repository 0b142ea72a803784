/* The temperature laws, the dose over a track, and the time at which a dose is reached. */
#include "wetside/heat.h"

#include <criterion/criterion.h>
#include <math.h>

#define S 1000000000LL

static struct wet_law factor(double q, int32_t tref_mc)
{
	return (struct wet_law){ .kind = WET_LAW_FACTOR,
							 .factor_per_10c = q,
							 .tref_mc = tref_mc,
							 .min_mc = INT32_MIN,
							 .max_mc = INT32_MAX };
}

static struct wet_law plain(enum wet_law_kind kind)
{
	return (struct wet_law){ .kind = kind, .min_mc = INT32_MIN, .max_mc = INT32_MAX };
}

/* Times of an invented table: 6, 4, 3 and 2:30 minutes. */
static struct wet_law table(int32_t tref_mc)
{
	struct wet_law law = plain(WET_LAW_TABLE);
	law.tref_mc = tref_mc;
	law.row_count = 4;
	law.rows[0] = (struct wet_law_row){ 16000, 360 * S };
	law.rows[1] = (struct wet_law_row){ 20000, 240 * S };
	law.rows[2] = (struct wet_law_row){ 23000, 180 * S };
	law.rows[3] = (struct wet_law_row){ 26000, 150 * S };
	return law;
}

static struct wet_track level(int32_t mc)
{
	return (struct wet_track){ .default_mc = mc };
}

Test(law, at_the_reference_the_rate_is_one)
{
	for (double q = 1.1; q < 4; q += 0.3)
		for (int32_t t = 5000; t <= 40000; t += 2500) {
			struct wet_law law = factor(q, t);
			cr_assert_float_eq(wet_law_rate(&law, t / 1000.0), 1, 1e-15);
		}
	for (int32_t t = 16000; t <= 26000; t += 500) {
		struct wet_law law = table(t);
		cr_assert_float_eq(wet_law_rate(&law, t / 1000.0), 1, 1e-12, "%d", t);
	}
}

Test(law, without_a_law_the_rate_is_one_everywhere)
{
	struct wet_law law = plain(WET_LAW_NONE);
	for (double c = -20; c < 90; c += 5)
		cr_assert_eq(wet_law_rate(&law, c), 1);
	struct wet_track t = level(3000);
	cr_assert_eq(wet_dose_root_ns(&law, &t, 17, 90), 17 + 90 * S);
}

Test(law, as_much_warmer_as_colder_cancels)
{
	for (double q = 1.1; q < 4; q += 0.3) {
		struct wet_law law = factor(q, 20000);
		for (double d = 0; d < 15; d += 0.7)
			cr_assert_float_eq(wet_law_rate(&law, 20 + d) * wet_law_rate(&law, 20 - d), 1, 1e-13);
	}
}

Test(law, warmer_is_never_slower)
{
	struct wet_law laws[] = { factor(1.9, 20000), table(20000), plain(WET_LAW_FIXING), plain(WET_LAW_WASHING),
							  plain(WET_LAW_NONE) };
	laws[0].min_mc = 13000;
	laws[0].max_mc = 27000;
	for (size_t i = 0; i < sizeof laws / sizeof laws[0]; i++)
		for (double c = -10; c < 60; c += 0.05)
			cr_assert_geq(wet_law_rate(&laws[i], c + 0.05), wet_law_rate(&laws[i], c), "law %zu at %f", i, c);
}

Test(law, outside_its_range_the_nearest_limit_rules)
{
	struct wet_law law = factor(2, 20000);
	law.min_mc = 13000;
	law.max_mc = 27000;
	cr_assert_float_eq(wet_law_rate(&law, 5), pow(2, -0.7), 1e-15);
	cr_assert_float_eq(wet_law_rate(&law, 13), pow(2, -0.7), 1e-15);
	cr_assert_float_eq(wet_law_rate(&law, 40), pow(2, 0.7), 1e-14);
	cr_assert(wet_law_covers(&law, 13) && wet_law_covers(&law, 27));
	cr_assert(!wet_law_covers(&law, 12.999) && !wet_law_covers(&law, 27.001));
	struct wet_law t = table(20000);
	cr_assert_float_eq(wet_law_rate(&t, 4), 240.0 / 360, 1e-14);
	cr_assert_float_eq(wet_law_rate(&t, 50), 240.0 / 150, 1e-14);
	cr_assert(wet_law_covers(&t, 16) && wet_law_covers(&t, 26));
	cr_assert(!wet_law_covers(&t, 15.999) && !wet_law_covers(&t, 26.001));
	t.max_mc = 23000; /* both limits count */
	cr_assert_float_eq(wet_law_rate(&t, 25), 240.0 / 180, 1e-14);
	cr_assert(!wet_law_covers(&t, 25));
	struct wet_law none = plain(WET_LAW_WASHING);
	cr_assert(wet_law_covers(&none, -5) && wet_law_covers(&none, 80));
}

Test(law, a_table_is_linear_in_log_time_between_its_rows)
{
	struct wet_law law = table(20000);
	for (int i = 0; i < law.row_count; i++)
		cr_assert_float_eq(wet_law_rate(&law, law.rows[i].temperature_mc / 1000.0),
						   240e9 / (double)law.rows[i].time_ns, 1e-13);
	cr_assert_float_eq(240 / wet_law_rate(&law, 18), sqrt(360.0 * 240), 1e-10,
					   "half way: the geometric mean");
	cr_assert_float_eq(240 / wet_law_rate(&law, 21), 240 * pow(180.0 / 240, 1.0 / 3), 1e-10);
	/* A reference between rows is interpolated; beyond them the end row rules. */
	struct wet_law between = table(18000), below = table(10000), above = table(30000);
	cr_assert_float_eq(wet_law_rate(&between, 16), sqrt(360.0 * 240) / 360, 1e-13);
	cr_assert_float_eq(wet_law_rate(&below, 20), 360.0 / 240, 1e-13);
	cr_assert_float_eq(wet_law_rate(&above, 20), 150.0 / 240, 1e-13);
}

Test(track, is_linear_between_readings_and_level_before_them)
{
	static const struct wet_track_point points[] = {
		{ 10 * S, 20000 }, { 20 * S, 24000 }, { 20 * S, 18000 }, { 40 * S, 16000 }
	};
	struct wet_track t = { .points = points, .point_count = 4, .default_mc = 99000 };
	cr_assert_float_eq(wet_track_c(&t, 0), 20, 1e-12);
	cr_assert_float_eq(wet_track_c(&t, 15 * S), 22, 1e-12);
	cr_assert_float_eq(wet_track_c(&t, 20 * S - 1), 24, 1e-6);
	cr_assert_float_eq(wet_track_c(&t, 20 * S), 18, 1e-12, "of two at one time the later rules");
	cr_assert_float_eq(wet_track_c(&t, 30 * S), 17, 1e-12);
	cr_assert_float_eq(wet_track_c(&t, 4000 * S), 16, 1e-12);
	t.point_count = 0;
	cr_assert_float_eq(wet_track_c(&t, 15 * S), 99, 1e-12);
}

Test(track, cools_towards_the_room_after_the_last_reading)
{
	static const struct wet_track_point point = { 5 * S, 24000 };
	struct wet_track t = { .points = &point,
						   .point_count = 1,
						   .forecast = { WET_FORECAST_NEWTON, 14000, 600 * S, 0 } };
	cr_assert_float_eq(wet_track_c(&t, 5 * S), 24, 1e-12);
	cr_assert_float_eq(wet_track_c(&t, 605 * S), 14 + 10 * exp(-1), 1e-12);
	cr_assert_float_eq(wet_track_c(&t, 605 * S), wet_newton_c(24, 14, 600, 600), 1e-12);
	cr_assert_float_eq(wet_track_c(&t, 864000 * S), 14, 1e-9);
	t.forecast.tau_ns = 0; /* no constant known: level */
	cr_assert_float_eq(wet_track_c(&t, 605 * S), 24, 1e-12);
}

static const struct wet_track_point hilly[] = { { 0, 12000 },       { 60 * S, 23000 },  { 61 * S, 9000 },
												{ 90 * S, 9000 },   { 200 * S, 28000 }, { 200 * S, 21000 },
												{ 300 * S, 21001 }, { 420 * S, 14000 } };

static struct wet_track hills(enum wet_forecast_kind kind)
{
	return (struct wet_track){ .points = hilly,
							   .point_count = sizeof hilly / sizeof hilly[0],
							   .default_mc = 20000,
							   .forecast = { kind, 25000, 90 * S, 0 } };
}

Test(dose, parts_add_up)
{
	struct wet_law laws[] = { factor(2.3, 20000), table(20000), plain(WET_LAW_FIXING),
							  plain(WET_LAW_WASHING) };
	laws[0].min_mc = 13000;
	laws[0].max_mc = 27000;
	for (int k = 0; k < 2; k++) {
		struct wet_track t = hills(k ? WET_FORECAST_NEWTON : WET_FORECAST_CONSTANT);
		for (size_t i = 0; i < sizeof laws / sizeof laws[0]; i++) {
			double whole = wet_dose_s(&laws[i], &t, -30 * S, 900 * S);
			for (int64_t cut = -30 * S; cut <= 900 * S; cut += 7 * S + 123456789)
				cr_assert_float_eq(wet_dose_s(&laws[i], &t, -30 * S, cut) +
									   wet_dose_s(&laws[i], &t, cut, 900 * S),
								   whole, 1e-11 * whole, "law %zu cut at %lld", i, (long long)cut);
		}
	}
	struct wet_track t = hills(WET_FORECAST_NEWTON);
	cr_assert_eq(wet_dose_s(&laws[0], &t, 100 * S, 100 * S), 0);
}

Test(dose, the_time_found_has_the_dose_asked_for)
{
	struct wet_law laws[] = { factor(2.3, 20000), table(20000), plain(WET_LAW_FIXING), plain(WET_LAW_WASHING),
							  plain(WET_LAW_NONE) };
	laws[0].min_mc = 13000;
	for (int k = 0; k < 2; k++) {
		struct wet_track t = hills(k ? WET_FORECAST_NEWTON : WET_FORECAST_CONSTANT);
		for (size_t i = 0; i < sizeof laws / sizeof laws[0]; i++)
			for (double target = 1e-9; target < 5000; target *= 1.7) {
				int64_t from = -40 * S + 3, end = wet_dose_root_ns(&laws[i], &t, from, target);
				cr_assert_geq(end, from);
				/* The nearest nanosecond: one earlier is too little, one later is too much. */
				double slack = 1e-10 * (1 + target * 1e-3);
				cr_assert_lt(wet_dose_s(&laws[i], &t, from, end - 1), target + slack, "law %zu target %g", i,
							 target);
				cr_assert_gt(wet_dose_s(&laws[i], &t, from, end + 1), target - slack, "law %zu target %g", i,
							 target);
			}
	}
}

Test(dose, a_later_reading_never_changes_the_past)
{
	struct wet_law law = factor(2, 20000);
	struct wet_track all = hills(WET_FORECAST_CONSTANT), few = all;
	for (few.point_count = 2; few.point_count < all.point_count; few.point_count++) {
		int64_t known = hilly[few.point_count - 1].at_ns;
		cr_assert_float_eq(wet_dose_s(&law, &few, 0, known), wet_dose_s(&law, &all, 0, known), 1e-12);
	}
}

Test(dose, one_degree_warmer_is_never_longer)
{
	struct wet_law laws[] = { factor(1.9, 20000), table(20000), plain(WET_LAW_FIXING),
							  plain(WET_LAW_WASHING) };
	laws[0].min_mc = 13000;
	laws[0].max_mc = 27000;
	for (size_t i = 0; i < sizeof laws / sizeof laws[0]; i++) {
		int64_t before = INT64_MAX;
		for (int32_t mc = 0; mc <= 40000; mc += 250) {
			struct wet_track_point p[2] = { { 0, mc }, { 100 * S, mc - 3000 } };
			struct wet_track t = { .points = p,
								   .point_count = 2,
								   .forecast = { WET_FORECAST_NEWTON, mc - 4000, 300 * S, 0 } };
			int64_t end = wet_dose_root_ns(&laws[i], &t, 0, 120);
			cr_assert_leq(end, before, "law %zu at %d", i, mc);
			before = end;
		}
	}
}

/* The closed form where it could lose its digits: a slope of a millidegree in hours is nearly no slope. */
Test(dose, a_tiny_slope_is_as_good_as_none)
{
	struct wet_law law = factor(2, 20000);
	for (int64_t hours = 1; hours <= 24; hours++) {
		struct wet_track_point p[2] = { { 0, 20000 }, { hours * 3600 * S, 20001 } };
		struct wet_track t = { .points = p, .point_count = 2 };
		/* The series of (e^d - 1)/d; its next term is 2e-19. */
		double k = log(2) / 10, d = k * 0.001, s = (double)hours * 3600;
		cr_assert_float_eq(wet_dose_s(&law, &t, 0, p[1].at_ns), s * (1 + d / 2 + d * d / 6 + d * d * d / 24),
						   s * 2e-15);
		cr_assert_float_eq(wet_dose_s(&law, &t, 500, 501) * 1e9, 1, 1e-9, "one nanosecond");
	}
}

Test(dose, no_end_is_later_than_a_day)
{
	struct wet_law law = factor(2, 20000);
	struct wet_track t = level(20000);
	cr_assert_eq(wet_dose_root_ns(&law, &t, 5, 86400), 5 + 86400 * S);
	cr_assert_eq(wet_dose_root_ns(&law, &t, 5, 86401), 5 + WET_STAGE_NS_MAX);
	cr_assert_eq(wet_dose_root_ns(&law, &t, 5, INFINITY), 5 + WET_STAGE_NS_MAX);
	t = hills(WET_FORECAST_NEWTON);
	cr_assert_eq(wet_dose_root_ns(&law, &t, 5, 1e12), 5 + WET_STAGE_NS_MAX);
	cr_assert_eq(wet_dose_root_ns(&law, &t, INT64_MAX - 10, 1e6), INT64_MAX);
}

Test(dose, ends_are_at_the_nearest_nanosecond)
{
	struct wet_law law = factor(2, 20000);
	struct wet_track at_reference = level(20000), twice = level(30000);
	for (int64_t ns = 1; ns < 2000000000; ns = ns * 3 + 1) {
		cr_assert_eq(wet_dose_root_ns(&law, &at_reference, 0, ((double)ns + 0.3) * 1e-9), ns);
		cr_assert_eq(wet_dose_root_ns(&law, &at_reference, 0, ((double)ns + 0.7) * 1e-9), ns + 1);
		cr_assert_eq(wet_dose_root_ns(&law, &twice, 0, ((double)ns + 0.7) * 2e-9), ns + 1);
	}
}

Test(dose, nothing_asked_for_is_reached_at_once)
{
	struct wet_law law = factor(2, 20000);
	struct wet_track t = level(20000);
	cr_assert_eq(wet_dose_root_ns(&law, &t, 77, 0), 77);
	cr_assert_eq(wet_dose_root_ns(&law, &t, 77, -5), 77);
	cr_assert_eq(wet_dose_root_ns(&law, &t, 77, (double)NAN), 77);
}

/* Clocks count from the boot of the machine: months later the same bath ends as long after its start. */
Test(dose, the_same_bath_months_after_boot)
{
	struct wet_law law = factor(2.1, 20000);
	struct wet_track_point p[8];
	const int64_t late = 300LL * 86400 * S + 1;
	for (int i = 0; i < 8; i++)
		p[i] = (struct wet_track_point){ hilly[i].at_ns + late, hilly[i].temperature_mc };
	struct wet_track early = hills(WET_FORECAST_NEWTON), now = early;
	now.points = p;
	for (double target = 1; target < 2000; target *= 1.3) {
		int64_t a = wet_dose_root_ns(&law, &early, 10 * S, target);
		int64_t b = wet_dose_root_ns(&law, &now, 10 * S + late, target) - late;
		cr_assert(a - b <= 1 && b - a <= 1, "%g: %lld %lld", target, (long long)a, (long long)b);
	}
}
