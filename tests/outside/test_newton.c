/* test_newton.c: a bottle in a bath, a tank in a bath in a room, and the fit of Newton's law, against
 * published examples, rows computed with scipy, and, live, Debian's python3-scipy. */
#include "wetside/tempering.h"

#include "base/random.h"
#include "oracle.h"
#include "rows.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define MINUTE 60000000000LL
#define READINGS 16

static int32_t mc(double c)
{
	return (int32_t)lround(c * 1000);
}

/* teacher.smartermaths.com.au, smc-1184-50 (100 C, 80 C after 5 min, 20 C around: 65 C after 10), and
 * mathhelpforum.com calculus 126430 (95 C, 61 C after 30 min, 20 C around: k = 0.02), as the rows say. */
Test(newton, published_examples)
{
	json_t *doc = test_rows_load(WET_TEST_DATA "/newton.json");
	const json_t *rows = test_rows(doc, "published", 2);
	const json_t *row = json_array_get(rows, 0), *expected = json_object_get(row, "expected");
	double tau_min = test_number(expected, "tau_min"), surround_c, tau_s;
	int64_t tau_ns = llround(tau_min * 60e9), time_ns;
	int32_t after_mc;
	cr_assert_eq(wet_newton_time(mc(100), mc(80), mc(20), tau_ns, &time_ns, NULL), 0);
	cr_assert_float_eq((double)time_ns, 5.0 * MINUTE, test_number(row, "tolerance") * MINUTE);
	cr_assert_eq(wet_newton_after(mc(100), mc(20), tau_ns, 10 * MINUTE, &after_mc, NULL), 0);
	cr_assert_eq(after_mc, mc(test_number(expected, "T_at_10min_c")));
	/* The same from its three temperatures. */
	cr_assert_eq(wet_newton_three(100, 80, 65, 300, &surround_c, &tau_s, NULL), 0);
	cr_assert_float_eq(surround_c, 20, 1e-9);
	cr_assert_float_eq(tau_s, tau_min * 60, 1e-4);
	/* The second: its k, 1/tau, from any time constant, for times are as tau. */
	row = json_array_get(rows, 1);
	cr_assert_eq(wet_newton_time(mc(95), mc(61), mc(20), MINUTE, &time_ns, NULL), 0);
	double k = (double)time_ns / MINUTE / 30;
	cr_assert_float_eq(k, test_number(json_object_get(row, "expected"), "k_per_min"), 1e-6, "%f", k);
	cr_assert_float_eq(k, test_number(row, "published_k"), test_number(row, "tolerance_to_published"));
	json_decref(doc);
}

Test(newton, three_readings_of_the_rows)
{
	size_t i;
	json_t *row, *doc = test_rows_load(WET_TEST_DATA "/newton.json");
	json_array_foreach(test_rows(doc, "three_point", 3), i, row)
	{
		const json_t *in = json_object_get(row, "inputs"), *expected = json_object_get(row, "expected");
		double surround_c, tau_s, tolerance = test_number(row, "tolerance");
		cr_assert_eq(wet_newton_three(test_number(in, "T1"), test_number(in, "T2"), test_number(in, "T3"),
									  test_number(in, "equal_step_s"), &surround_c, &tau_s, NULL),
					 0);
		cr_assert_float_eq(surround_c, test_number(expected, "Tenv_c"), tolerance);
		cr_assert_float_eq(tau_s, test_number(expected, "tau_s"), tolerance, "%f", tau_s);
	}
	json_decref(doc);
}

/* -- the fit ---------------------------------------------------------------------- */

static uint32_t readings_of(const json_t *in, struct wet_newton_reading out[READINGS])
{
	const json_t *t = json_object_get(in, "t_s"), *c = json_object_get(in, "temp_c");
	uint32_t n = (uint32_t)json_array_size(t);
	cr_assert(n > 0 && n <= READINGS && json_array_size(c) == n);
	for (uint32_t i = 0; i < n; i++) {
		out[i].at_s = json_number_value(json_array_get(t, i));
		out[i].temperature_c = json_number_value(json_array_get(c, i));
	}
	return n;
}

static double nth(const json_t *row, const char *key, size_t i)
{
	return json_number_value(json_array_get(json_object_get(row, key), i));
}

Test(newton_fit, every_row)
{
	size_t i;
	json_t *row, *doc = test_rows_load(WET_TEST_DATA "/newton.json");
	int told = 0, found = 0;
	json_array_foreach(test_rows(doc, "fits", 5), i, row)
	{
		struct wet_newton_reading readings[READINGS];
		const json_t *in = json_object_get(row, "inputs"), *expected = json_object_get(row, "expected");
		const json_t *tolerance = json_object_get(row, "tolerance"),
					 *known = json_object_get(in, "Tenv_known_c");
		const char *id = test_string(row, "id");
		uint32_t n = readings_of(in, readings);
		double surround_c = json_number_value(known);
		bool is_told = json_is_number(known);
		struct wet_newton_fit fit;
		struct wet_fault fault = { 0 };
		cr_assert_eq(wet_newton_fit(readings, n, is_told ? &surround_c : NULL, 0, &fit, &fault), 0, "%s: %s",
					 id, fault.want);
		double tau = test_number(expected, "tau_s");
		cr_assert_float_eq(fit.t0_c, test_number(expected, "T0_c"), test_number(tolerance, "T0"), "%s", id);
		cr_assert_float_eq(fit.tau_s / tau, 1, test_number(tolerance, "tau_rel"), "%s: %f", id, fit.tau_s);
		/* Far below what the rows allow: both are the least squares, rounded as printed. */
		cr_assert_float_eq(fit.tau_s / tau, 1, 1e-6, "%s: %f", id, fit.tau_s);
		cr_assert_float_eq(fit.squares_c2, test_number(row, "expected_sum_sq"), 1e-5 * fit.squares_c2, "%s",
						   id);
		cr_assert_float_eq(fit.t0_error_c / nth(row, "stderr", 0), 1, 1e-3, "%s", id);
		if (is_told) {
			cr_assert_eq(fit.surround_c, surround_c);
			cr_assert_eq(fit.surround_error_c, 0);
			cr_assert_float_eq(fit.tau_error_s / nth(row, "stderr", 1), 1, 1e-3, "%s", id);
			told++;
		} else {
			cr_assert_float_eq(fit.surround_c, test_number(expected, "Tenv_c"),
							   test_number(tolerance, "Tenv"));
			cr_assert_float_eq(fit.surround_error_c / nth(row, "stderr", 1), 1, 1e-3, "%s", id);
			cr_assert_float_eq(fit.tau_error_s / nth(row, "stderr", 2), 1, 1e-3, "%s", id);
			found++;
		}
	}
	cr_assert_eq(told, 3);
	cr_assert_eq(found, 2);
	json_decref(doc);
}

Test(newton_fit, the_short_window_of_the_rows_is_refused)
{
	json_t *doc = test_rows_load(WET_TEST_DATA "/newton.json");
	const json_t *row = json_array_get(test_rows(doc, "refusals", 1), 0);
	struct wet_newton_reading readings[READINGS];
	struct wet_newton_fit fit = { .tau_s = -1 };
	struct wet_fault fault;
	uint32_t n = readings_of(json_object_get(row, "inputs"), readings);
	for (int k = 0; k < 2; k++) {
		cr_assert_eq(wet_newton_fit(readings, n, NULL, k * 0.1, &fit, &fault), WET_ERR_REFUSED);
		cr_assert_eq(fit.tau_s, -1);
		cr_assert_not_null(strstr(fault.want, "longer time"), "%s", fault.want);
	}
	json_decref(doc);
}

static double fit_of(const struct wet_newton_fit *f, int k)
{
	const double all[] = { f->t0_c,       f->tau_s,       f->surround_c,
						   f->t0_error_c, f->tau_error_s, f->surround_error_c };
	return all[k];
}

/* Random, noisy readings that identify what is asked: scipy.optimize.curve_fit has the same minimum and
 * errors. */
Test(newton_fit, scipy_curve_fit_agrees)
{
	enum { N = 120 };
	static struct wet_newton_fit fits[N];
	static double answers[6 * N];
	struct wet_random r;
	unsigned long long seed = test_oracle_seed();
	FILE *questions = test_oracle_questions();
	int asked = 0, refused = 0;
	cr_assert_not_null(questions);
	wet_random_seed(&r, seed);
	for (int i = 0; i < N; i++) {
		struct wet_newton_reading readings[READINGS];
		bool is_free = wet_random_below(&r, 2);
		double surround = 10 + 15 * wet_random_unit(&r), d = 3 + 12 * wet_random_unit(&r);
		double tau = 200 + 4000 * wet_random_unit(&r),
			   window = tau * ((is_free ? 1.5 : 0.3) + 3 * wet_random_unit(&r));
		uint32_t n = (uint32_t)wet_random_between(&r, 6, READINGS);
		d = wet_random_below(&r, 2) ? d : -d;
		for (uint32_t k = 0; k < n; k++) {
			double t = window * k / (n - 1);
			readings[k].at_s = t;
			readings[k].temperature_c = round(10 * (surround + d * exp(-t / tau))) / 10;
		}
		if (wet_newton_fit(readings, n, is_free ? NULL : &surround, 0, &fits[asked], NULL) != 0) {
			refused++;
			continue;
		}
		fprintf(questions, "%d %.17g %u", is_free, surround, n);
		for (uint32_t k = 0; k < n; k++)
			fprintf(questions, " %.17g %.17g", readings[k].at_s, readings[k].temperature_c);
		fputc('\n', questions);
		asked++;
	}
	cr_assert_gt(asked, N * 3 / 4, "%d refused", refused);
	cr_assert(test_oracle_answers(TEST_TEMPERING_ORACLE, "fit", questions, answers, 6 * (size_t)asked));
	for (int i = 0; i < asked; i++)
		for (int k = 0; k < 6; k++) {
			double theirs = answers[6 * i + k], ours = fit_of(&fits[i], k);
			cr_assert(isfinite(theirs) && isfinite(ours));
			/* Their derivatives are differences: errors to 1e-4, values far below the errors. */
			double allowed =
				k < 3 ? 1e-7 * fabs(theirs) + 1e-3 * answers[6 * i + k + 3] : 1e-4 * theirs + 1e-12;
			cr_assert_float_eq(ours, theirs, allowed, "seed %llu, %d.%d: %.9g, not %.9g", seed, i, k, ours,
							   theirs);
		}
}

/* The errors mean what they say: with readings rounded to a tenth and the thermometer's division told, about
 * two fits in three lie within one standard error of the truth, and nearly all within three. */
Test(newton_fit, standard_errors_cover_the_truth)
{
	enum { N = 300 };
	struct wet_random r;
	int fitted = 0, within[4] = { 0, 0, 0, 0 };
	wet_random_seed(&r, 41);
	for (int i = 0; i < N; i++) {
		struct wet_newton_reading readings[READINGS];
		struct wet_newton_fit fit;
		double surround = 15 + 5 * wet_random_unit(&r), d = 5 + 5 * wet_random_unit(&r);
		double tau = 600 + 3000 * wet_random_unit(&r), at = 0;
		for (uint32_t k = 0; k < READINGS; k++) {
			readings[k].at_s = at;
			readings[k].temperature_c = round(10 * (surround + d * exp(-at / tau))) / 10;
			at += tau * (0.15 + 0.05 * wet_random_unit(&r));
		}
		if (wet_newton_fit(readings, READINGS, NULL, 0.1, &fit, NULL) != 0)
			continue;
		fitted++;
		for (int k = 1; k < 4; k++)
			within[k] += fabs(fit.tau_s - tau) <= k * fit.tau_error_s;
	}
	cr_assert_gt(fitted, N * 9 / 10, "%d", fitted);
	cr_assert(within[1] > fitted * 55 / 100 && within[1] < fitted * 85 / 100, "%d of %d", within[1], fitted);
	cr_assert_gt(within[3], fitted * 97 / 100, "%d of %d", within[3], fitted);
}

/* -- two bodies ------------------------------------------------------------------- */

Test(two_body, every_row)
{
	size_t i;
	json_t *row, *doc = test_rows_load(WET_TEST_DATA "/two_body.json");
	json_array_foreach(test_rows(doc, "rows", 3), i, row)
	{
		const json_t *in = json_object_get(row, "inputs");
		struct wet_two_body two = { .tank_j_per_k = test_number(in, "C1_J_K"),
									.bath_j_per_k = test_number(in, "C2_J_K"),
									.tank_bath_w_per_k = test_number(in, "k12_W_K"),
									.bath_room_w_per_k = test_number(in, "k2room_W_K"),
									.tank_mc = mc(test_number(in, "T1_c")),
									.bath_mc = mc(test_number(in, "T2_c")),
									.room_mc = mc(test_number(in, "Troom_c")) };
		double tank, bath, t = test_number(in, "t_s"), expected = test_number(row, "expected_T1_c");
		cr_assert_eq(wet_two_body_after(&two, t, &tank, &bath, NULL), 0);
		/* The rows allow 1e-4 and are rounded to 1e-7. */
		cr_assert_float_eq(tank, expected, 1e-6, "%s: %.9f", test_string(row, "id"), tank);
		cr_assert_float_eq(bath, test_number(row, "expected_T2_c"), 1e-6, "%.9f", bath);
	}
	json_decref(doc);
}

static double magnitude(struct wet_random *r, double low, double high)
{
	return low * pow(high / low, wet_random_unit(r));
}

Test(two_body, scipy_solve_ivp_agrees)
{
	enum { N = 60 };
	static struct wet_two_body twos[N];
	static double times[N], answers[2 * N];
	struct wet_random r;
	unsigned long long seed = test_oracle_seed();
	FILE *questions = test_oracle_questions();
	cr_assert_not_null(questions);
	wet_random_seed(&r, seed);
	for (int i = 0; i < N; i++) {
		struct wet_two_body *w = &twos[i];
		*w = (struct wet_two_body){ .tank_j_per_k = magnitude(&r, 100, 2e4),
									.bath_j_per_k = magnitude(&r, 100, 2e5),
									.tank_bath_w_per_k =
										wet_random_below(&r, 10) ? magnitude(&r, 0.1, 100) : 0,
									.bath_room_w_per_k =
										wet_random_below(&r, 10) ? magnitude(&r, 0.1, 100) : 0,
									.tank_mc = (int32_t)wet_random_between(&r, 0, 60000),
									.bath_mc = (int32_t)wet_random_between(&r, 0, 60000),
									.room_mc = (int32_t)wet_random_between(&r, 0, 40000) };
		times[i] = magnitude(&r, 1, 20000);
		fprintf(questions, "%.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g\n", w->tank_j_per_k,
				w->bath_j_per_k, w->tank_bath_w_per_k, w->bath_room_w_per_k, w->tank_mc / 1000.0,
				w->bath_mc / 1000.0, w->room_mc / 1000.0, times[i]);
	}
	cr_assert(test_oracle_answers(TEST_TEMPERING_ORACLE, "two_body", questions, answers, 2 * N));
	for (int i = 0; i < N; i++) {
		double tank, bath;
		cr_assert_eq(wet_two_body_after(&twos[i], times[i], &tank, &bath, NULL), 0);
		cr_assert_float_eq(tank, answers[2 * i], 1e-6, "seed %llu, %d: %.9f, not %.9f", seed, i, tank,
						   answers[2 * i]);
		cr_assert_float_eq(bath, answers[2 * i + 1], 1e-6, "seed %llu, %d: %.9f", seed, i, bath);
	}
}
