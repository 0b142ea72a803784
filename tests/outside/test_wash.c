/* Washing against published rules. The source stands beside each check. */
#include "wetside/wash.h"

#include <criterion/criterion.h>
#include <math.h>

#define MINUTE_NS (60LL * 1000000000)
#define PIECES_MM2 (6 * 90 * 120)

static int32_t celsius_mc(double f)
{
	return (int32_t)lround((f - 32) / 1.8 * 1000);
}

static struct wet_wash_plan plan(enum wet_base base, bool is_aided, double f)
{
	struct wet_wash_ask ask = { base, is_aided, celsius_mc(f), PIECES_MM2, 0 };
	struct wet_wash_plan p = { 0 };
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_wash_plan(&ask, &p, &fault), 0, "%s: %s", fault.where, fault.want);
	return p;
}

/* L. P. Clerc, Photography: Theory and Practice, s. 607: thin paper 30 min, very thick 90 min, running
 * water or renewed every 5 min: 6 and 18 changes. */
Test(wash_published, fibre_base)
{
	struct wet_wash_plan thin = plan(WET_BASE_FIBRE_SINGLE, false, 68),
						 thick = plan(WET_BASE_FIBRE_DOUBLE, false, 68);
	cr_assert_eq(thin.running_ns, 30 * MINUTE_NS);
	cr_assert_eq(thick.running_ns, 90 * MINUTE_NS);
	cr_assert_eq(thin.changes, 6);
	cr_assert_eq(thick.changes, 18);
	cr_assert(llabs(thin.standing_ns - 30 * MINUTE_NS) < 100);
	cr_assert(thin.change_ns[0] < thin.change_ns[1], "the first is short");
}

/* US Navy NAVEDTRA 14209: film 20 min with a complete change every 3 min: 6.67, so 7. */
Test(wash_published, film)
{
	cr_assert_eq(plan(WET_BASE_FILM, false, 68).changes, 7);
}

/* US Army TM 11-2323, para. 33: prints at 50 F twice, at 35 F four times. T.O. 33B-1-1: film at 50 to 60 F
 * three times. Studio Light 1915: 65, 70 and 80 F alike. */
Test(wash_published, temperature)
{
	cr_assert_float_eq(wet_wash_slower(WET_BASE_FIBRE_SINGLE, celsius_mc(50)), 2, 1e-3);
	cr_assert_float_eq(wet_wash_slower(WET_BASE_FIBRE_SINGLE, celsius_mc(35)), 4, 0.02);
	const double film_cold[] = { 50, 55, 60 }, warm[] = { 65, 70, 80 };
	for (int i = 0; i < 3; i++) {
		cr_assert_float_eq(wet_wash_slower(WET_BASE_FILM, celsius_mc(film_cold[i])), 3, 1e-9);
		cr_assert_float_eq(wet_wash_slower(WET_BASE_FILM, celsius_mc(warm[i])), 1, 2e-3);
		cr_assert_float_eq(wet_wash_slower(WET_BASE_RC, celsius_mc(warm[i])), 1, 2e-3);
	}
	struct wet_wash_plan cold = plan(WET_BASE_FIBRE_SINGLE, false, 50);
	cr_assert_float_eq((double)cold.running_ns, 60.0 * MINUTE_NS, 0.01 * MINUTE_NS);
	cr_assert_eq(cold.changes, 6);
	cr_assert(plan(WET_BASE_FIBRE_SINGLE, false, 45).is_too_cold);
	cr_assert_not(plan(WET_BASE_FIBRE_SINGLE, false, 55).is_too_cold);
}

/* Studio Light 1915 and the Navy: half in a minute; 2 min leave a quarter, ten half-lives 1/1024. */
Test(wash_published, half_lives)
{
	struct wet_wash_model m = { .fast_half_life_s = 60 };
	cr_assert_float_eq(wet_running_left(&m, 120), 0.25, 1e-12);
	cr_assert_float_eq(wet_running_left(&m, 600), 1 / 1024.0, 1e-12);
	m.fast_half_life_s = 120;
	cr_assert_float_eq(wet_running_left(&m, 1200), 1 / 1024.0, 1e-12);
}

/* Textbook dilution at rest: (v / (v + V))^n. 10 mL into 500 mL: 1.96e-2, 3.84e-4, 7.54e-6. J. Torzynski
 * 2004 (largeformatphotography.info): 10 mL of fixer with 600 mg of thiosulfate into 500 mL make 1.2 g/L;
 * 2 mL, 0.24 g/L. */
Test(wash_published, fill_and_dump_at_rest)
{
	struct wet_wash_model m = { .fast_half_life_s = 60, .surface_ul = 10000 };
	int64_t times[3] = { 40 * MINUTE_NS, 40 * MINUTE_NS, 40 * MINUTE_NS };
	double left[3];
	cr_assert_eq(wet_fill_and_dump(&m, 500000, times, 3, left, NULL), 0);
	cr_assert_float_eq(left[0], 1.9608e-2, 1e-6);
	cr_assert_float_eq(left[1], 3.8447e-4, 1e-8);
	cr_assert_float_eq(left[2], 7.5386e-6, 1e-10);
	cr_assert_float_eq(600 * (1 - left[0]) / 500, 1.18,
					   0.005); /* printed 1.2, without the carried 10 mL 600/510 */
	m.surface_ul = 2000;
	cr_assert_eq(wet_fill_and_dump(&m, 500000, times, 1, left, NULL), 0);
	cr_assert_float_eq(120 * (1 - left[0]) / 500, 0.24, 0.005);
}

/* T.O. 33B-1-1, table 6-17: 4 changes an hour take 35 min, 8 take 20: fewer changes, more time. */
Test(wash_published, fewer_changes_take_longer)
{
	struct wet_wash_model m = { .fast_half_life_s = 60, .surface_ul = 10000 };
	int64_t seldom[8], often[8];
	double a[8], b[8];
	for (int i = 0; i < 8; i++) {
		seldom[i] = 15 * MINUTE_NS;
		often[i] = 15 * MINUTE_NS / 2;
	}
	cr_assert_eq(wet_fill_and_dump(&m, 500000, seldom, 2, a, NULL), 0); /* 30 min */
	cr_assert_eq(wet_fill_and_dump(&m, 500000, often, 4, b, NULL), 0);  /* 30 min */
	cr_assert(b[3] < a[1] / 100);
}

/* Against the fourth-order Runge-Kutta of the same three equations, in a thousandth of a second. */
Test(wash_published, both_compartments_agree_with_a_plain_integration)
{
	struct wet_wash_model m = { 60, 226, 0.25, 6480, 9720 };
	int64_t time = 2 * MINUTE_NS;
	double left[1], y[3] = { 0.75, 0.25, 0 }, h = 0.01, V = 200000;
	double kf = log(2) / 60, ks = log(2) / 226;
	cr_assert_eq(wet_fill_and_dump(&m, 200000, &time, 1, left, NULL), 0);
	for (int n = 0; n < 12000; n++) {
		double k[4][2];
		for (int s = 0; s < 4; s++) {
			double d = s == 0 ? 0 : s == 3 ? h : h / 2, f = y[0], o = y[1];
			if (s > 0) {
				f += d * k[s - 1][0];
				o += d * k[s - 1][1];
			}
			double water = 1 - f - o, both = f + water;
			k[s][0] = -kf * (f - both * m.surface_ul / (m.surface_ul + V));
			k[s][1] = -ks * (o - water / V * m.held_ul);
		}
		for (int i = 0; i < 2; i++)
			y[i] += h / 6 * (k[0][i] + 2 * k[1][i] + 2 * k[2][i] + k[3][i]);
	}
	cr_assert_float_eq(left[0], y[0] + y[1], 2e-4);
}
