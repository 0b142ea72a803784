/* Dilution against published examples and exact fractions computed outside
 * (tests/data/dilution_examples.json; the source stands in every row). */
#include "wetside/dilution.h"
#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static double number(const json_t *o, const char *key)
{
	const json_t *v = json_object_get(o, key);
	cr_assert(json_is_number(v), "%s", key);
	return json_number_value(v);
}

static const char *text_of(const json_t *o, const char *key)
{
	const char *s = json_string_value(json_object_get(o, key));
	cr_assert(s && s[0], "%s", key);
	return s;
}

static json_t *load(void)
{
	json_error_t e;
	json_t *doc = json_load_file(WET_TEST_DATA "/dilution_examples.json", JSON_REJECT_DUPLICATES, &e);
	cr_assert_not_null(doc, "%s", e.text);
	return doc;
}

static int64_t thousandths(double v)
{
	return llround(v * 1000);
}

/* Parts, a+b: every row, as typed, as numbers, and in the two readings of a:b that the fault must offer. */
static void check_convention(const json_t *row)
{
	const json_t *in = json_object_get(row, "inputs"), *plus = json_object_get(row, "plus");
	const json_t *whole = json_object_get(row, "colon_as_total");
	const char *id = text_of(row, "id");
	int64_t total_ul = thousandths(number(in, "total_ml")), a, b;
	double tolerance = number(row, "tolerance");
	struct wet_dilution d;
	struct wet_fault f;
	cr_assert_eq(wet_parse_dilution(text_of(plus, "notation"), &a, &b, NULL), 0, "%s", id);
	cr_assert(a == thousandths(number(in, "a")) && b == thousandths(number(in, "b")), "%s", id);
	cr_assert_eq(wet_dilute_make(a, b, total_ul, &d, NULL), 0, "%s", id);
	cr_assert_eq(d.stock_ul + d.water_ul, total_ul, "%s", id);
	cr_assert_float_eq((double)d.stock_ul / 1000, number(plus, "stock_ml"), tolerance, "%s", id);
	cr_assert_float_eq((double)d.water_ul / 1000, number(plus, "water_ml"), tolerance, "%s", id);
	/* Part in the whole, the laboratory's reading: a+(b-a). */
	cr_assert_eq(wet_dilute_make(a, b - a, total_ul, &d, NULL), 0, "%s", id);
	cr_assert_float_eq((double)d.stock_ul / 1000, number(whole, "stock_ml"), tolerance, "%s", id);
	cr_assert_float_eq((double)d.water_ul / 1000, number(whole, "water_ml"), tolerance, "%s", id);
	/* Typed with a colon it is asked about, and both readings are in the question. */
	char colon[32], parts[32], in_whole[32];
	snprintf(colon, sizeof colon, "%g:%g", number(in, "a"), number(in, "b"));
	snprintf(parts, sizeof parts, "%g+%g ", number(in, "a"), number(in, "b"));
	snprintf(in_whole, sizeof in_whole, "%g+%g ", number(in, "a"), number(in, "b") - number(in, "a"));
	cr_assert_eq(wet_parse_dilution(colon, &a, &b, &f), WET_ERR_AMBIGUOUS, "%s", id);
	cr_assert(strstr(f.want, parts) && strstr(f.want, in_whole), "%s: %s", id, f.want);
}

Test(dilution_outside, every_row_of_parts)
{
	json_t *doc = load(), *row;
	json_t *list = json_object_get(doc, "conventions");
	size_t i;
	cr_assert_eq(json_array_size(list), 46);
	json_array_foreach(list, i, row) check_convention(row);
	json_decref(doc);
}

static const json_t *example(const json_t *doc, const char *id)
{
	size_t i;
	const json_t *row;
	json_array_foreach(json_object_get(doc, "examples"), i, row)
	{
		if (strcmp(text_of(row, "id"), id) == 0) {
			cr_assert(text_of(row, "source")[0]);
			return row;
		}
	}
	cr_assert_fail("no example %s", id);
	return NULL;
}

/* Percent of the stock in the whole, as a program would tell it back. */
static double stock_percent(const struct wet_dilution *d)
{
	return 100.0 * (double)d->stock_ul / (double)d->total_ul;
}

static int32_t percent_milli(double percent)
{
	return (int32_t)lround(percent * 1000);
}

Test(dilution_outside, acid_by_volume_from_a_training_course)
{
	json_t *doc = load();
	const json_t *e = example(doc, "ss0513_acetic"), *in = json_object_get(e, "inputs");
	const json_t *published = json_object_get(e, "published");
	struct wet_dilution d;
	int64_t total_ul;
	char text[32];
	snprintf(text, sizeof text, "%g US fl oz", number(in, "want_volume_oz"));
	cr_assert_eq(wet_parse_volume(text, &total_ul, NULL), 0);
	cr_assert_eq(wet_dilute_percent_make(percent_milli(number(in, "have_percent")),
										 percent_milli(number(in, "want_percent")), total_ul, &d, NULL),
				 0);
	double ounce_ul = (double)total_ul / number(in, "want_volume_oz");
	cr_assert_float_eq((double)d.stock_ul / ounce_ul, number(published, "stock_oz"), number(e, "tolerance"));
	cr_assert_float_eq((double)d.water_ul / ounce_ul, number(published, "water_oz"), number(e, "tolerance"));
	cr_assert_float_eq((double)d.stock_ul / ounce_ul,
					   number(json_object_get(e, "computed_exact"), "stock_oz"), 0.5001 / ounce_ul,
					   "to half a microlitre");
	json_decref(doc);
}

/* Two questions of examinations; the second gives concentrations in another unit, so only their ratio
 * counts. */
Test(dilution_outside, the_product_of_strength_and_volume_is_kept)
{
	json_t *doc = load();
	const json_t *e = example(doc, "ptce"), *in = json_object_get(e, "inputs");
	struct wet_dilution d;
	int64_t have_ul;
	cr_assert_eq(wet_dilute_percent_have(percent_milli(number(in, "c1")), percent_milli(number(in, "c2")),
										 thousandths(number(in, "v1_ml")), &d, NULL),
				 0);
	cr_assert_eq(d.total_ul, thousandths(number(json_object_get(e, "published"), "v2_ml")));
	e = example(doc, "pebc_osm");
	in = json_object_get(e, "inputs");
	cr_assert_float_eq(number(in, "v1_us_fl_oz"), 8, 0);
	cr_assert_eq(wet_parse_volume("8 US fl oz", &have_ul, NULL), 0);
	cr_assert_eq(
		wet_dilute_percent_have((int32_t)number(in, "c1"), (int32_t)number(in, "c2"), have_ul, &d, NULL), 0);
	cr_assert_float_eq((double)d.water_ul / 1000, number(json_object_get(e, "published"), "water_ml"),
					   number(e, "tolerance"));
	cr_assert_float_eq((double)d.water_ul / 1000, number(json_object_get(e, "expected"), "water_ml"), 0.1);
	json_decref(doc);
}

Test(dilution_outside, spirit_and_water)
{
	json_t *doc = load();
	const json_t *e = example(doc, "md0802_alcohol"), *in = json_object_get(e, "inputs");
	const json_t *want = json_object_get(e, "expected");
	struct wet_dilution d;
	cr_assert_eq(wet_dilute_percent_make(percent_milli(number(in, "have")), percent_milli(number(in, "want")),
										 thousandths(number(in, "total_ml")), &d, NULL),
				 0);
	cr_assert_float_eq((double)d.stock_ul / 1000, number(want, "stock_ml"), number(e, "tolerance"));
	cr_assert_float_eq((double)d.water_ul / 1000, number(want, "water_ml"), number(e, "tolerance"));
	e = example(doc, "alleg_70_0_25"); /* two stocks, of which the weak one is water */
	in = json_object_get(e, "inputs");
	cr_assert_float_eq(number(in, "low"), 0, 0);
	cr_assert_eq(wet_dilute_percent_make(percent_milli(number(in, "high")), percent_milli(number(in, "want")),
										 thousandths(number(in, "total_ml")), &d, NULL),
				 0);
	cr_assert_float_eq((double)d.stock_ul / 1000, number(json_object_get(e, "expected"), "high_ml"), 0.001);
	cr_assert_float_eq((double)d.stock_ul / 1000, number(json_object_get(e, "published"), "high_ml"), 3,
					   "the source rounds 5/14 to 0.36");
	json_decref(doc);
}

/* A laboratory's 1:100 is one part in a hundred: 1+99. And one part of acid with four of water is 20 %, not
 * the 25 % that a dictionary printed. */
Test(dilution_outside, one_in_a_hundred_and_one_to_four)
{
	json_t *doc = load();
	const json_t *e = example(doc, "lab_1_100");
	struct wet_dilution d;
	struct wet_fault f;
	int64_t a, b;
	cr_assert_eq(wet_parse_dilution("1:100", &a, &b, &f), WET_ERR_AMBIGUOUS);
	cr_assert(strstr(f.want, "1+99"), "%s", f.want);
	cr_assert_eq(wet_dilute_make(1000, 99000, 1000000, &d, NULL), 0);
	cr_assert_eq(d.stock_ul, llround(number(json_object_get(e, "published"), "stock_L") * 1e6));
	cr_assert_eq(d.water_ul, llround(number(json_object_get(e, "published"), "water_L") * 1e6));
	e = example(doc, "acetic_25_1to4");
	cr_assert_eq(wet_dilute_make(1000, 4000, 1000000, &d, NULL), 0);
	cr_assert_float_eq(stock_percent(&d), number(json_object_get(e, "expected"), "percent_v_v"),
					   number(e, "tolerance"));
	cr_assert(fabs(stock_percent(&d) - number(json_object_get(e, "published"), "percent_claimed_by_source")) >
			  4);
	json_decref(doc);
}

/* By weight on both sides the same rule holds: parts of acid and of water from a printed table. */
Test(dilution_outside, acid_by_weight)
{
	static const char *const ids[] = { "acetic_wt_28", "acetic_wt_36" };
	json_t *doc = load();
	for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
		const json_t *e = example(doc, ids[i]), *in = json_object_get(e, "inputs");
		const json_t *want = json_object_get(e, "expected"), *published = json_object_get(e, "published");
		struct wet_dilution d;
		/* Milligrams in place of microlitres: the arithmetic is the same. */
		cr_assert_eq(wet_dilute_percent_have(percent_milli(number(in, "have")),
											 percent_milli(number(in, "want")),
											 thousandths(number(want, "parts_acid")), &d, NULL),
					 0);
		cr_assert_float_eq((double)d.water_ul / 1000, number(want, "parts_water"), 0.001, "%s", ids[i]);
		cr_assert_float_eq((double)d.water_ul / 1000, number(published, "parts_water"),
						   number(e, "tolerance"));
	}
	json_decref(doc);
}

/* 28 % acetic acid from glacial by the old rule of 3 parts and 8: 3/11, 27.27 % by volume. */
Test(dilution_outside, three_and_eight)
{
	struct wet_dilution d;
	cr_assert_eq(wet_dilute_make(3000, 8000, 1100000, &d, NULL), 0);
	cr_assert_eq(d.stock_ul, 300000);
	cr_assert_float_eq(stock_percent(&d), 27.27, 0.005);
}

/* By definition of parts added. */
Test(dilution_outside, the_plainest_three)
{
	static const struct {
		const char *parts;
		int64_t total_ul, stock_ul;
	} rows[] = { { "1+9", 1000000, 100000 }, { "1+2", 900000, 300000 }, { "1+4", 500000, 100000 } };
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct wet_dilution d;
		int64_t a, b;
		cr_assert_eq(wet_parse_dilution(rows[i].parts, &a, &b, NULL), 0);
		cr_assert_eq(wet_dilute_make(a, b, rows[i].total_ul, &d, NULL), 0);
		cr_assert(d.stock_ul == rows[i].stock_ul && d.water_ul == rows[i].total_ul - rows[i].stock_ul);
	}
}

/* Grains in a solution by percent w/v, by wet_percent_mass. */
static double grains_for(double percent, const char *volume)
{
	int64_t total_ul, mass_mg, grain_mg;
	cr_assert_eq(wet_parse_volume(volume, &total_ul, NULL), 0);
	cr_assert_eq(wet_percent_mass(percent_milli(percent), total_ul, &mass_mg, NULL), 0);
	cr_assert_eq(wet_parse_mass("100000 grains", &grain_mg, NULL), 0);
	return (double)mass_mg / ((double)grain_mg / 1e5);
}

/* The old tables count a fluid ounce of solution as the 437.5 grains that an imperial fluid ounce of water
 * weighed by definition (10 pounds to the gallon); percent w/v is by millilitres, and an imperial fluid ounce
 * has 28.413 of them where an ounce has 28.350 g. So ours are greater by 284130625 / 283495231, 0.22 %. */
Test(dilution_outside, percentage_solutions_in_grains)
{
	static const char *const ids[] = { "studio1918_1",     "studio1918_5",    "studio1918_20",
									   "henley_pint_0.25", "henley_pint_0.5", "henley_pint_2",
									   "henley_pint_4",    "henley_pint_5" };
	json_t *doc = load();
	for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
		const json_t *e = example(doc, ids[i]), *in = json_object_get(e, "inputs");
		double percent = number(in, "percent"), want = number(json_object_get(e, "expected"), "grains");
		double grains =
			grains_for(percent, json_object_get(in, "volume_imperial_fl_oz") ? "1 imp fl oz" : "1 imp pint");
		/* To half a milligram, and the volume to half a microlitre. */
		cr_assert_float_eq(grains, want * 28.4130625 / 28.349523125, 0.5 / 64.7 + want * 2e-5, "%s: %g",
						   ids[i], grains);
		/* By weight of water on both sides it is the printed value, to the places printed. */
		int64_t water_mg;
		cr_assert_eq(wet_parse_mass(json_object_get(in, "volume_imperial_fl_oz") ? "100 oz av" : "2000 oz av",
									&water_mg, NULL),
					 0);
		double by_weight = (double)water_mg / 100 * percent / 100 / 64.79891;
		cr_assert_float_eq(by_weight, number(json_object_get(e, "published"), "grains"),
						   number(e, "tolerance"), "%s", ids[i]);
		cr_assert_float_eq(by_weight, want, 1e-3, "%s", ids[i]);
	}
	const json_t *e = example(doc, "ss0513_grain_rule");
	int64_t ounce, grain;
	cr_assert_eq(wet_parse_mass("1000 oz av", &ounce, NULL), 0);
	cr_assert_eq(wet_parse_mass("1000 grains", &grain, NULL), 0);
	cr_assert_float_eq((double)ounce / (double)grain, number(json_object_get(e, "expected"), "grains"),
					   number(e, "tolerance"));
	json_decref(doc);
}

Test(dilution_outside, criss_cross_between_two_strengths)
{
	static const char *const ids[] = { "alleg_70_0_25", "alleg_50_100_70", "alleg_30_10_20" };
	static const int32_t parts[][2] = { { 5, 9 }, { 2, 3 }, { 1, 1 } }; /* 5:9 as printed; 20:30 and 10:10 */
	json_t *doc = load();
	for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
		const json_t *e = example(doc, ids[i]), *in = json_object_get(e, "inputs"),
					 *want = json_object_get(e, "expected");
		int32_t high = percent_milli(number(in, "high")), low = percent_milli(number(in, "low"));
		int32_t aim = percent_milli(number(in, "want")), a = 0, b = 0;
		struct wet_mix m;
		cr_assert_eq(wet_criss_cross(high, low, aim, &a, &b, NULL), 0);
		cr_assert(a == parts[i][0] && b == parts[i][1], "%s: %d:%d", ids[i], a, b);
		cr_assert_eq(wet_mix_make(high, low, aim, thousandths(number(in, "total_ml")), &m, NULL), 0);
		double tolerance = fmax(number(e, "tolerance"), 0.0005001); /* half a microlitre */
		cr_assert_float_eq((double)m.high_ul / 1000, number(want, "high_ml"), tolerance, "%s", ids[i]);
		cr_assert_float_eq((double)m.low_ul / 1000, number(want, "low_ml"), tolerance, "%s", ids[i]);
	}
	/* And the other way round: what a mix of three is. */
	const json_t *e = example(doc, "alleg_medial"), *row;
	int32_t strengths[3], got;
	int64_t volumes[3];
	size_t n;
	json_array_foreach(json_object_get(json_object_get(e, "inputs"), "parts"), n, row)
	{
		volumes[n] = thousandths(json_number_value(json_array_get(row, 0)));
		strengths[n] = percent_milli(json_number_value(json_array_get(row, 1)));
	}
	cr_assert_eq(n, 3);
	cr_assert_eq(wet_mix_strength(strengths, volumes, 3, &got), 0);
	cr_assert_eq(got, percent_milli(number(json_object_get(e, "published"), "percent")));
	json_decref(doc);
}

/* 1 in 5 and then 1 in 8 is 1 in 40. */
Test(dilution_outside, a_series_multiplies)
{
	json_t *doc = load();
	const json_t *e = example(doc, "serial_5_8"), *row;
	struct wet_parts ratios[2], all;
	struct wet_series s;
	size_t n;
	json_array_foreach(json_object_get(json_object_get(e, "inputs"), "factors"), n, row) ratios[n] =
		(struct wet_parts){ 2, { 1000, (json_integer_value(row) - 1) * 1000 } };
	cr_assert_eq(n, 2);
	cr_assert_eq(wet_series_chain(ratios, 2, 400000, &s, NULL), 0);
	cr_assert_eq(wet_series_ratio(&s, &all), 0);
	cr_assert_eq(all.milli[0] + all.milli[1],
				 1000 * (int64_t)number(json_object_get(e, "expected"), "total"));
	cr_assert(s.count == 2 && s.steps[0].draw_ul == 10000 && s.steps[0].total_ul == 50000);
	cr_assert(s.steps[1].draw_ul == 50000 && s.steps[1].total_ul == 400000);
	json_decref(doc);
}

/* The questions of an examination about bottles: 16 whole bottles of 2 US fl oz in a litre. */
Test(dilution_outside, whole_bottles)
{
	json_t *doc = load();
	int64_t bottle_ul;
	cr_assert_eq(wet_parse_volume("2 US fl oz", &bottle_ul, NULL), 0);
	cr_assert_eq(1000000 / bottle_ul,
				 (int64_t)number(json_object_get(example(doc, "ptce"), "published"), "bottles"));
	json_decref(doc);
}

/* No row of the examples is left out by the tests above. */
Test(dilution_outside, every_example_is_looked_at)
{
	static const char ids[] =
		" ss0513_acetic ss0513_grain_rule studio1918_1 studio1918_5 studio1918_20 henley_pint_0.25 "
		"henley_pint_0.5 henley_pint_2 henley_pint_4 henley_pint_5 alleg_70_0_25 alleg_50_100_70 "
		"alleg_medial alleg_30_10_20 ptce pebc_osm md0802_alcohol lab_1_100 serial_5_8 "
		"acetic_25_1to4 acetic_wt_28 acetic_wt_36 ";
	json_t *doc = load(), *row;
	size_t i;
	json_array_foreach(json_object_get(doc, "examples"), i, row)
	{
		char word[64];
		snprintf(word, sizeof word, " %s ", text_of(row, "id"));
		cr_assert(strstr(ids, word), "%s", word);
	}
	cr_assert_eq(i, 22);
	json_decref(doc);
}

Test(dilution_outside, every_case_to_refuse)
{
	json_t *doc = load(), *row, *list = json_object_get(doc, "refuse");
	struct wet_dilution d = { 1, 2, 3 };
	struct wet_fault f;
	int64_t a = 0, b = 0;
	size_t i;
	cr_assert_eq(json_array_size(list), 3);
	json_array_foreach(list, i, row)
	{
		if (strstr(json_string_value(row), "outside [low, high]")) {
			struct wet_mix m = { 1, 2, 3 };
			cr_assert_eq(wet_mix_make(28000, 5000, 28001, 1000000, &m, &f), WET_ERR_REFUSED);
			cr_assert(strstr(f.want, "28 %") && strstr(f.want, "5 %") && strstr(f.found, "28.001 %"), "%s",
					  f.want);
			cr_assert_eq(wet_mix_make(28000, 5000, 4999, 1000000, &m, &f), WET_ERR_REFUSED);
			cr_assert(m.high_ul == 1 && m.low_ul == 2 && m.total_ul == 3);
			continue;
		}
		if (strstr(json_string_value(row), "stronger than stock")) {
			for (int32_t stock = 100; stock < 100000; stock += 999) {
				cr_assert_eq(wet_dilute_percent_make(stock, stock + 1, 1000000, &d, &f), WET_ERR_REFUSED);
				cr_assert_eq(wet_dilute_percent_have(stock, stock + 1, 1000000, &d, &f), WET_ERR_REFUSED);
				cr_assert(f.found[0] && f.want[0]);
			}
		} else {
			cr_assert(strstr(json_string_value(row), "1:1 read as part in total is neat stock"));
			cr_assert_eq(wet_parse_dilution("1:1", &a, &b, &f), WET_ERR_AMBIGUOUS);
			cr_assert(strstr(f.want, "1+1 ") && strstr(f.want, "1+0 "), "%s", f.want);
		}
	}
	cr_assert(d.stock_ul == 1 && d.water_ul == 2 && d.total_ul == 3 && a == 0 && b == 0);
	json_decref(doc);
}
