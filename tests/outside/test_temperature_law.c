/* The temperature laws against published tables. The source stands beside each check. */
#include "wetside/heat.h"
#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <math.h>

static struct wet_law factor(double q, double tref_c)
{
	return (struct wet_law){ WET_LAW_FACTOR, q, (int32_t)lround(tref_c * 1000), INT32_MIN, INT32_MAX, 0,
							 { { 0, 0 } } };
}

static double celsius(double f)
{
	return (f - 32) / 1.8;
}

static double time_at(const struct wet_law *law, double c, double reference)
{
	return reference / wet_law_rate(law, c);
}

/* T.O. 33B-1-1 / TM 1-1500-335-23, Nondestructive Inspection Methods, table 6-16, p. 6-75: developing time
 * over temperature, 5 min at 68 F. The factor 1.92 was fitted to this table, so it checks the form of the
 * law. The table rounds to a quarter of a minute; 72 F is its odd row. */
Test(temperature_law, one_factor_serves_the_published_table)
{
	static const struct {
		double f, minutes, tolerance;
	} rows[] = { { 80, 3.25, .02 }, { 76, 3.75, .02 }, { 72, 4.0, .085 }, { 70, 4.5, .04 },
				 { 68, 5, 1e-9 },   { 65, 5.5, .03 },  { 63, 6, .03 } };
	struct wet_law law = factor(1.92, 20);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		double minutes = time_at(&law, celsius(rows[i].f), 5);
		cr_assert_float_eq(minutes / rows[i].minutes, 1.0, rows[i].tolerance + 1e-12, "%g F: %f", rows[i].f,
						   minutes);
	}
	double q = pow(6 / 3.25, 10 / (celsius(80) - celsius(63)));
	cr_assert(q > 1.88 && q < 1.95);
}

/* L. P. Clerc, Photography: Theory and Practice, s. 573, citing Glover 1924: 20 to 40 s at 65 F, 30 to 60 s
 * at 55 F. */
Test(temperature_law, the_chloride_paper_pair)
{
	struct wet_law law = factor(2.07, celsius(65));
	cr_assert_float_eq(time_at(&law, celsius(55), 20), 30, 0.3);
	cr_assert_float_eq(time_at(&law, celsius(55), 40), 60, 0.6);
}

/* US Army TM 11-2323, para. 33: below 68 F double the fixing time for every 18 F; prints wash twice as long
 * at 50 F, four times at 35 F. Studio Light 1915: no difference at 65, 70 and 80 F. */
Test(temperature_law, the_army_rules_for_fixing_and_washing)
{
	struct wet_law fix = { .kind = WET_LAW_FIXING, .min_mc = INT32_MIN, .max_mc = INT32_MAX };
	struct wet_law wash = { .kind = WET_LAW_WASHING, .min_mc = INT32_MIN, .max_mc = INT32_MAX };
	cr_assert_float_eq(time_at(&fix, celsius(50), 10), 20, 1e-9);
	cr_assert_float_eq(time_at(&fix, celsius(59), 10), 10 * sqrt(2), 1e-9);
	cr_assert_float_eq(time_at(&fix, celsius(80), 10), 10, 1e-9);
	cr_assert_float_eq(time_at(&wash, celsius(50), 1), 2, 1e-3);
	cr_assert_float_eq(time_at(&wash, celsius(35), 1), 4, 0.02);
	for (double f = 65; f <= 80; f += 5)
		cr_assert_float_eq(time_at(&wash, celsius(f), 1), 1, 1e-3);
}

/* H. E. Ives, Airplane Photography, 1920: a factor per 7 C. */
Test(temperature_law, an_older_convention_per_seven_degrees)
{
	cr_assert_float_eq(wet_factor_from_per_7c(1.5), 1.785, 0.001);
}

/* Arithmetic of the law itself: Q 2, 2:00 at 20 C. */
Test(temperature_law, identity_mirror_and_two_plain_values)
{
	for (double q = 1.2; q < 3; q += 0.1) {
		struct wet_law law = factor(q, 20);
		double before = INFINITY;
		cr_assert_float_eq(wet_law_rate(&law, 20), 1, 1e-15);
		for (double c = 5; c < 40; c += 0.25) {
			double t = time_at(&law, c, 1);
			cr_assert(t < before);
			before = t;
			cr_assert_float_eq(wet_law_rate(&law, c) * wet_law_rate(&law, 40 - c), 1, 1e-12);
		}
	}
	struct wet_law two = factor(2, 20);
	cr_assert_float_eq(time_at(&two, 18, 120), 137.8, 0.05);
	cr_assert_float_eq(time_at(&two, 24, 120), 90.9, 0.05);
}

/* The same published table (T.O. 33B-1-1, table 6-16) as a law of its own: at its rows it gives its own
 * times, and its two ends alone give the reference row between them within the table's rounding. */
Test(temperature_law, the_published_table_as_a_table)
{
	static const struct {
		double f, minutes;
	} rows[] = { { 63, 6 }, { 65, 5.5 }, { 68, 5 }, { 70, 4.5 }, { 72, 4 }, { 76, 3.75 }, { 80, 3.25 } };
	struct wet_law law = {
		.kind = WET_LAW_TABLE, .tref_mc = 20000, .min_mc = INT32_MIN, .max_mc = INT32_MAX, .row_count = 7
	};
	struct wet_law ends = law;
	for (int i = 0; i < 7; i++)
		law.rows[i] = (struct wet_law_row){ (int32_t)lround(celsius(rows[i].f) * 1000),
											(int64_t)(rows[i].minutes * 60) * WET_NS_PER_S };
	for (int i = 0; i < 7; i++)
		cr_assert_float_eq(time_at(&law, law.rows[i].temperature_mc / 1000.0, 5), rows[i].minutes, 1e-9);
	ends.row_count = 2;
	ends.rows[0] = law.rows[0];
	ends.rows[1] = law.rows[6];
	cr_assert_float_eq(time_at(&ends, celsius(63), 1) / time_at(&ends, celsius(68), 1), 6.0 / 5,
					   0.03 * 6 / 5);
	/* Half way between two rows the time is between theirs. */
	double between = time_at(&law, celsius(66.5), 5);
	cr_assert(between > 5 && between < 5.5);
}

/* Definition of the Fahrenheit scale; the temperatures of the sources above. */
Test(temperature_law, the_sources_temperatures_in_celsius)
{
	static const struct {
		const char *text;
		double c;
	} rows[] = { { "55 F", 12.78 }, { "68 F", 20.00 }, { "75 F", 23.89 }, { "80 F", 26.67 } };
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int32_t mc;
		cr_assert_eq(wet_parse_temperature(rows[i].text, &mc, NULL), 0);
		cr_assert_float_eq(mc / 1000.0, rows[i].c, 0.0051, "%s", rows[i].text);
	}
}

/* Arrhenius' law, the physics behind the convention (IUPAC Gold Book, "Arrhenius equation"): with an energy
 * that gives 1.9 from 15 to 25 C it asks for 1.584 times the time at 13 C; the log-linear law for 1.567,
 * under 1.2 % apart. */
Test(temperature_law, log_linear_is_near_arrhenius)
{
	struct wet_law law = factor(1.9, 20);
	double energy_per_r = log(1.9) / (1 / 288.15 - 1 / 298.15);
	double arrhenius = exp(energy_per_r * (1 / 286.15 - 1 / 293.15));
	double ours = time_at(&law, 13, 1);
	cr_assert_float_eq(arrhenius, 1.584, 0.001);
	cr_assert_float_eq(ours, 1.567, 0.001);
	cr_assert(fabs(arrhenius / ours - 1) < 0.012);
}

/* US Army TM 11-2323, para. 33, as a bath that is timed: ten minutes of fixing at 68 F are twenty at 50 F;
 * a wash of half an hour is an hour at 50 F. */
Test(temperature_law, the_army_rules_as_baths)
{
	struct wet_law fix = { .kind = WET_LAW_FIXING, .min_mc = INT32_MIN, .max_mc = INT32_MAX };
	struct wet_law wash = { .kind = WET_LAW_WASHING, .min_mc = INT32_MIN, .max_mc = INT32_MAX };
	struct wet_track cold = { .default_mc = 10000 }, very_cold = { .default_mc = 1000 },
					 warm = { .default_mc = 24000 };
	cr_assert_eq(wet_dose_root_ns(&fix, &cold, 0, 600), 1200 * WET_NS_PER_S);
	cr_assert_eq(wet_dose_root_ns(&fix, &warm, 0, 600), 600 * WET_NS_PER_S);
	cr_assert_eq(wet_dose_root_ns(&wash, &cold, 0, 1800), 3600 * WET_NS_PER_S);
	cr_assert_eq(wet_dose_root_ns(&wash, &very_cold, 0, 1800), 7200 * WET_NS_PER_S);
	cr_assert_eq(wet_dose_root_ns(&wash, &warm, 0, 1800), 1800 * WET_NS_PER_S);
}
