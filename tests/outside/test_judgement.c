/* test_judgement.c: the regression of judged pieces against Debian's python3-scipy, live: the minimum of the objective, the
 * scale, the interval with Student's t, and the constants, which come from quadrature there. */
#include "base/random.h"
#include "field/regress.h"
#include "oracle.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

#define ORACLE WET_SOURCE_DIR "/tests/outside/judgement_oracle.py"
#define CASES 60
#define ANSWERS 6

static struct wet_random rnd;

static double between(double low, double high)
{
	return low + (high - low) * wet_random_unit(&rnd);
}

static uint32_t some_points(double *x, double *y)
{
	uint32_t n = (uint32_t)wet_random_between(&rnd, 4, 30);
	double level = between(-6, 0), slope = between(-0.3, 0), noise = between(0.1, 0.5);
	for (uint32_t i = 0; i < n; i++) {
		double e = 0;
		for (int k = 0; k < 12; k++) /* nearly normal */
			e += wet_random_unit(&rnd) - 0.5;
		x[i] = between(0, 7);
		y[i] = level + slope * x[i] + noise * e + (wet_random_below(&rnd, 8) == 0 ? between(-3, 3) : 0);
	}
	return n;
}

Test(judgement, fit_is_scipys_too)
{
	static struct field_line lines[CASES];
	static double answers[CASES * ANSWERS];
	double x[WET_RESULTS], y[WET_RESULTS];
	bool has_slope[CASES];
	int other_minimum = 0;
	FILE *questions = test_oracle_questions();
	cr_assert_not_null(questions);
	wet_random_seed(&rnd, test_oracle_seed());
	for (int i = 0; i < CASES; i++) {
		uint32_t n = some_points(x, y);
		has_slope[i] = i % 4 != 0;
		field_fit(x, y, n, has_slope[i], &lines[i]);
		fprintf(questions, "%d %u %.17g %.17g %.17g", has_slope[i], n, lines[i].level, lines[i].slope, lines[i].scale);
		for (uint32_t k = 0; k < n; k++)
			fprintf(questions, " %.17g %.17g", x[k], y[k]);
		fprintf(questions, "\n");
	}
	cr_assert(test_oracle_answers(ORACLE, "fit", questions, answers, sizeof answers / sizeof answers[0]));
	for (int i = 0; i < CASES; i++) {
		const double *a = &answers[(size_t)i * ANSWERS];
		const struct field_line *l = &lines[i];
		cr_assert_float_eq(l->level, a[0], 1e-4, "case %d: level %.9g, scipy %.9g", i, l->level, a[0]);
		cr_assert_float_eq(l->slope, a[1], 3e-5, "case %d: slope %.9g, scipy %.9g", i, l->slope, a[1]);
		cr_assert_float_eq(l->scale, a[3], 1e-6, "case %d: scale %.9g, scipy %.9g", i, l->scale, a[3]);
		/* Under two degrees of freedom ours is on the wide side. */
		cr_assert(l->level_half > a[4] * (1 - 1e-3) && l->level_half < a[4] * 1.17, "case %d: %.9g, scipy %.9g", i,
				  l->level_half, a[4]);
		cr_assert(l->slope_half >= a[5] * (1 - 1e-3) && l->slope_half <= a[5] * 1.17, "case %d: %.9g, scipy %.9g", i,
				  l->slope_half, a[5]);
		other_minimum += a[2] > 1e-6;
	}
	/* It is the minimum beside the line of least S-scale, which is rarely another than the least of all. */
	cr_assert_leq(other_minimum, CASES / 6, "%d", other_minimum);
}
