/* test_water.c: density and enthalpy of water against rows of IAPWS R6-95 and, live, against Debian's
 * python3-iapws. */
#include "wetside/tempering.h"

#include "base/random.h"
#include "oracle.h"
#include "rows.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

Test(water, every_row_of_r6_95)
{
	size_t i;
	json_t *row, *doc = test_rows_load(WET_TEST_DATA "/water.json");
	int densities = 0, heats = 0, enthalpies = 0;
	json_array_foreach(test_rows(doc, "rows", 73), i, row)
	{
		const char *id = test_string(row, "id"), *quantity = test_string(row, "quantity");
		double c = test_number(json_object_get(row, "inputs"), "temp_c"), value = NAN;
		if (strncmp(quantity, "density", 7) == 0) {
			value = wet_water_density(c);
			densities++;
		} else if (strncmp(quantity, "cp ", 3) == 0) {
			value = wet_water_heat_capacity(c) / 1000;
			heats++;
		} else if (strncmp(quantity, "enthalpy", 8) == 0) {
			value = wet_water_enthalpy(c) / 1000;
			enthalpies++;
		}
		cr_assert_float_eq(value, test_number(row, "expected"), test_number(row, "tolerance"), "%s: %f", id,
						   value);
	}
	cr_assert_gt(densities, 15);
	cr_assert_gt(heats, 15);
	cr_assert_gt(enthalpies, 15);
	json_decref(doc);
}

/* A handbook's own figures, not computed from R6-95: density of air-free water by M. Tanaka et al.,
 * Metrologia 38 (2001) 301, eq. 1 (coefficients from memory), 0..40 C. */
Test(water, density_by_another_published_fit)
{
	for (int mc = 0; mc <= 40000; mc += 100) {
		double t = mc / 1000.0, a = t - 3.983035;
		double tanaka = 999.974950 * (1 - a * a * (t + 301.797) / (522528.9 * (t + 69.34881)));
		cr_assert_float_eq(wet_water_density(t), tanaka, 0.006, "%f C: %f", t, wet_water_density(t) - tanaka);
	}
}

/* The header promises 0.005 kg/m3, 0.3 J/kg and 0.3 J/(kg K) over 0..100 C. */
Test(water, python3_iapws_agrees)
{
	enum { N = 150 };
	static double c[N], answers[3 * N];
	struct wet_random random;
	uint64_t seed = test_oracle_seed();
	FILE *questions = test_oracle_questions();
	cr_assert_not_null(questions);
	wet_random_seed(&random, seed);
	for (int i = 0; i < N; i++) {
		c[i] = i == 0 ? 0 : i == 1 ? 100 : 100 * wet_random_unit(&random);
		fprintf(questions, "%.17g\n", c[i]);
	}
	cr_assert(test_oracle_answers(TEST_TEMPERING_ORACLE, "water", questions, answers, 3 * N));
	double worst[3] = { 0, 0, 0 };
	for (int i = 0; i < N; i++) {
		const double ours[] = { wet_water_density(c[i]), wet_water_enthalpy(c[i]),
								wet_water_heat_capacity(c[i]) };
		static const double promised[] = { 0.005, 0.3, 0.3 };
		for (int k = 0; k < 3; k++) {
			worst[k] = fmax(worst[k], fabs(ours[k] - answers[3 * i + k]));
			cr_assert_float_eq(ours[k], answers[3 * i + k], promised[k], "seed %llu: %d at %.17g C: %.9g",
							   (unsigned long long)seed, k, c[i], ours[k]);
		}
	}
	printf("worst: %.4f kg/m3, %.3f J/kg, %.3f J/(kg K)\n", worst[0], worst[1], worst[2]);
}

/* A live oracle that is missing must not pass for one that agrees. */
Test(oracle, without_it_there_is_no_pass)
{
	double answers[4];
	FILE *questions = test_oracle_questions();
	cr_assert_not(test_oracle_answers(WET_SOURCE_DIR "/tests/outside/no_such_oracle.py", "water", questions,
									  answers, 0));
	questions = test_oracle_questions();
	cr_assert_not(test_oracle_answers(TEST_TEMPERING_ORACLE, "no such topic", questions, answers, 0));
	static const size_t wrong[] = { 2, 4 };
	for (size_t i = 0; i < 2; i++) { /* one too few are wanted, and one too many */
		questions = test_oracle_questions();
		fputs("20\n", questions);
		cr_assert_not(test_oracle_answers(TEST_TEMPERING_ORACLE, "water", questions, answers, wrong[i]));
	}
}
