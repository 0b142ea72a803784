/* The dose integral against rows computed outside: scipy 1.10.1 quad, a closed form, and 50-digit mpmath
 * agree on each (the source stands in every row of the data). Factors are arithmetic inputs, no claim about
 * a developer. */
#include "wetside/heat.h"

#include <criterion/criterion.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

static json_t *doc, *rows;
static int differing; /* rows that the mean temperature gets wrong */

static void load(void)
{
	json_error_t e;
	doc = json_load_file(WET_TEST_DATA "/rate_integral.json", 0, &e);
	cr_assert_not_null(doc, "%s", e.text);
	rows = json_object_get(doc, "rows");
	cr_assert_eq(json_array_size(rows), 44);
}

static double number(const json_t *o, const char *key)
{
	json_t *v = json_object_get(o, key);
	cr_assert(json_is_number(v), "%s", key);
	return json_number_value(v);
}

static struct wet_law law_of(const json_t *in)
{
	return (struct wet_law){ .kind = WET_LAW_FACTOR,
							 .factor_per_10c = number(in, "factor_per_10c"),
							 .tref_mc = (int32_t)lround(number(in, "tref_c") * 1000),
							 .min_mc = INT32_MIN,
							 .max_mc = INT32_MAX };
}

static int64_t ns(double s)
{
	return llround(s * 1e9);
}

static void check_row(const json_t *row)
{
	const json_t *in = json_object_get(row, "inputs"), *inverse = json_object_get(row, "inverse");
	const char *id = json_string_value(json_object_get(row, "id"));
	const char *history = json_string_value(json_object_get(row, "history"));
	double tolerance = number(row, "tolerance"), duration;
	struct wet_track_point points[16] = { { 0, 0 } };
	struct wet_track track = { .points = points, .point_count = 1 };
	struct wet_law law = law_of(in);
	if (strcmp(history, "piecewise_linear") == 0) {
		const json_t *list = json_object_get(in, "points_s_c");
		track.point_count = (uint32_t)json_array_size(list);
		cr_assert_leq(track.point_count, 16);
		for (uint32_t i = 0; i < track.point_count; i++) {
			points[i].at_ns = ns(json_number_value(json_array_get(json_array_get(list, i), 0)));
			points[i].temperature_mc =
				(int32_t)lround(json_number_value(json_array_get(json_array_get(list, i), 1)) * 1000);
		}
		duration = (double)points[track.point_count - 1].at_ns / 1e9;
	} else if (strcmp(history, "newton") == 0) {
		points[0].temperature_mc = (int32_t)lround(number(in, "T0_c") * 1000);
		track.forecast =
			(struct wet_forecast){ WET_FORECAST_NEWTON, (int32_t)lround(number(in, "Tenv_c") * 1000),
								   ns(number(in, "tau_s")), 0 };
		duration = number(in, "duration_s");
		cr_assert_float_eq(wet_track_c(&track, ns(duration)), number(row, "expected_final_temp_c"), 1e-6,
						   "%s", id);
	} else {
		points[0].temperature_mc = (int32_t)lround(number(in, "temp_c") * 1000);
		duration = number(in, "duration_s");
		double needed = (double)wet_dose_root_ns(&law, &track, 0, duration) / 1e9;
		cr_assert_float_eq(needed, number(row, "expected_time_needed_s_for_nominal_at_tref"), tolerance,
						   "%s: %f", id, needed);
	}
	double dose = wet_dose_s(&law, &track, 0, ns(duration));
	cr_assert_float_eq(dose, number(row, "expected_equivalent_s"), tolerance, "%s: %.9f", id, dose);
	if (inverse) {
		double stop = (double)wet_dose_root_ns(&law, &track, 0, number(inverse, "target_equivalent_s")) / 1e9;
		cr_assert_float_eq(stop, number(inverse, "expected_stop_s"), tolerance, "%s: stop %.9f", id, stop);
	}
	/* The mean temperature is not enough: at it the law gives the naive time, and where the source says
	 * that this is another time, it must be another for us too. */
	json_t *naive = json_object_get(row, "naive_equiv_from_mean_temp_s");
	if (naive) {
		double naive_s = json_number_value(naive);
		double gap = fabs(naive_s - number(row, "expected_equivalent_s"));
		cr_assert_float_eq(wet_law_rate(&law, number(row, "check_time_averaged_temp_c")) * duration, naive_s,
						   2e-5, "%s", id);
		if (gap > 10 * tolerance) {
			cr_assert(fabs(dose - naive_s) > gap / 2, "%s", id);
			differing++;
		}
	}
}

Test(rate_integral, every_row_agrees)
{
	size_t i;
	json_t *row;
	load();
	json_array_foreach(rows, i, row) check_row(row);
	cr_assert_eq(differing, 16);
	json_decref(doc);
}
