/* Densities of solutions against published values (tests/data/solution_density.json; the source stands in
 * every row), and percent by weight against percent by volume. */
#include "wetside/dilution.h"

#include <criterion/criterion.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

static double number(const json_t *o, const char *key)
{
	const json_t *v = json_object_get(o, key);
	cr_assert(json_is_number(v), "%s", key);
	return json_number_value(v);
}

static enum wet_solute solute_of(const char *name)
{
	enum wet_solute s = WET_SOLUTE_N;
	if (strcmp(name, "na2co3") == 0)
		name = "sodium carbonate";
	if (strcmp(name, "na2s2o3") == 0)
		name = "sodium thiosulfate";
	cr_assert_eq(wet_parse_solute(name, &s, NULL), 0, "%s", name);
	return s;
}

static void check_row(const json_t *row, int *refused)
{
	const char *id = json_string_value(json_object_get(row, "id"));
	const json_t *in = json_object_get(row, "inputs");
	enum wet_solute solute = solute_of(json_string_value(json_object_get(in, "solute")));
	int64_t density = -1, mg_per_l = -1;
	struct wet_fault f = { 0 };
	int32_t ww = -1;
	cr_assert(json_is_string(json_object_get(row, "source")), "%s", id);
	if (json_object_get(row, "must")) {
		cr_assert(strstr(json_string_value(json_object_get(row, "must")), "refuse"), "%s", id);
		int64_t read = llround(number(in, "specific_gravity") * 998207); /* water at 20 C, IAPWS-95 */
		cr_assert_eq(wet_strength_from_density(solute, read, &ww, &f), WET_ERR_REFUSED, "%s", id);
		cr_assert_eq(wet_strength_from_density(solute, 1063000, &ww, &f), WET_ERR_REFUSED, "%s", id);
		cr_assert(ww == -1 && strstr(f.want, "label"), "%s", f.want);
		++*refused;
		return;
	}
	struct wet_strength s = { (int32_t)lround(number(in, "mass_percent") * 1000), WET_PERCENT_WW };
	cr_assert_eq(wet_density(solute, s.milli, &density, &f), 0, "%s: %s", id, f.want);
	cr_assert_float_eq((double)density / 1e6, number(row, "expected_density_g_ml"), number(row, "tolerance"),
					   "%s", id);
	cr_assert_eq(wet_strength_mg_per_l(solute, s, &mg_per_l, &f), 0, "%s", id);
	/* Grams in 100 mL as derived beside it, printed to three places. */
	cr_assert_float_eq((double)mg_per_l / 1e4, number(json_object_get(row, "derived"), "w_v_percent"), 0.0051,
					   "%s: %lld", id, (long long)mg_per_l);
	if (solute != WET_SOLUTE_ACETIC_ACID) {
		cr_assert_eq(wet_strength_from_density(solute, density, &ww, &f), 0, "%s", id);
		cr_assert_eq(ww, s.milli, "%s", id);
	}
}

Test(density, every_row_agrees)
{
	json_error_t e;
	json_t *doc = json_load_file(WET_TEST_DATA "/solution_density.json", JSON_REJECT_DUPLICATES, &e), *row;
	size_t i;
	int refused = 0;
	cr_assert_not_null(doc, "%s", e.text);
	json_array_foreach(json_object_get(doc, "rows"), i, row) check_row(row, &refused);
	cr_assert(i == 15 && refused == 1);
	json_decref(doc);
}

Test(density, nothing_is_said_outside_the_published_values)
{
	int64_t density = -1;
	int32_t ww = -1;
	struct wet_fault f;
	static const struct {
		enum wet_solute solute;
		int32_t ww_milli;
	} rows[] = { { WET_SOLUTE_ACETIC_ACID, 999 },        { WET_SOLUTE_ACETIC_ACID, 100001 },
				 { WET_SOLUTE_ACETIC_ACID, 70001 },      { WET_SOLUTE_ACETIC_ACID, 80000 },
				 { WET_SOLUTE_ACETIC_ACID, 99500 },      { WET_SOLUTE_SODIUM_CARBONATE, 4999 },
				 { WET_SOLUTE_SODIUM_CARBONATE, 10001 }, { WET_SOLUTE_SODIUM_THIOSULFATE, 20001 },
				 { WET_SOLUTE_SODIUM_THIOSULFATE, 0 } };
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		memset(&f, 0, sizeof f);
		cr_assert_eq(wet_density(rows[i].solute, rows[i].ww_milli, &density, &f), WET_ERR_RANGE, "%zu", i);
		cr_assert(strchr(f.want, '%'), "the range is told: %s", f.want);
	}
	cr_assert_eq(wet_strength_from_density(WET_SOLUTE_SODIUM_CARBONATE, 1050199, &ww, &f), WET_ERR_RANGE);
	cr_assert_eq(wet_strength_from_density(WET_SOLUTE_SODIUM_CARBONATE, 1102901, &ww, &f), WET_ERR_RANGE);
	/* No reading of acid is taken, however weak. */
	for (int64_t d = 990000; d < 1080000; d += 500)
		cr_assert_eq(wet_strength_from_density(WET_SOLUTE_ACETIC_ACID, d, &ww, &f), WET_ERR_REFUSED);
	cr_assert(density == -1 && ww == -1);
}

/* The mass of what is dissolved is the same before and after: m = V rho w. */
Test(density, dilution_by_weight_keeps_the_acid)
{
	for (int32_t from = 10000; from <= 70000; from += 1700)
		for (int32_t to = 1000; to <= from; to += 1300) {
			struct wet_dilution d;
			int64_t a, b;
			struct wet_strength stock = { from, WET_PERCENT_WW }, target = { to, WET_PERCENT_WW };
			cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_ACETIC_ACID, stock, target, 1000000, &d, NULL),
						 0);
			cr_assert_eq(wet_density(WET_SOLUTE_ACETIC_ACID, from, &a, NULL), 0);
			cr_assert_eq(wet_density(WET_SOLUTE_ACETIC_ACID, to, &b, NULL), 0);
			double before = (double)d.stock_ul * (double)a * from,
				   after = (double)d.total_ul * (double)b * to;
			cr_assert_float_eq(before / after, 1, 1e-4, "%d to %d", from,
							   to); /* the strength is kept to 1 mg/L */
			cr_assert_eq(d.stock_ul + d.water_ul, d.total_ul);
		}
}

/* Glacial to 28 % by three readings of "28 %". w/v: 280 g/L of 1047.7 g/L. v/v: 28 in 100. w/w: 28.97 g in
 * 100 mL (the table's own derived column) of 104.77. */
Test(density, percent_of_what_makes_a_difference)
{
	struct wet_strength glacial = { 100000, WET_PERCENT_WW }, target = { 28000, WET_PERCENT_WV };
	struct wet_dilution d;
	struct wet_fault f;
	cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_ACETIC_ACID, glacial, target, 1000000, &d, &f), 0);
	cr_assert_float_eq((double)d.stock_ul / 1000, 280 / 1.0477, 0.01);
	target.kind = WET_PERCENT_VV;
	cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_ACETIC_ACID, glacial, target, 1000000, &d, &f), 0);
	cr_assert_float_eq((double)d.stock_ul / 1000, 280, 0.01);
	target.kind = WET_PERCENT_WW;
	cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_ACETIC_ACID, glacial, target, 1000000, &d, &f), 0);
	cr_assert_float_eq((double)d.stock_ul / 1000, 289.7 / 1.0477, 0.1);
	cr_assert_eq(wet_dilute_strength_have(WET_SOLUTE_ACETIC_ACID, glacial, target, 100000, &d, &f), 0);
	cr_assert_float_eq((double)d.total_ul / 1000, 100 * 104.77 / 28.97, 0.1);
	d.stock_ul = -1;
	target.kind = WET_PERCENT_UNSAID;
	cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_ACETIC_ACID, glacial, target, 1000000, &d, &f),
				 WET_ERR_AMBIGUOUS);
	cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_N, glacial,
										  (struct wet_strength){ 28000, WET_PERCENT_WV }, 1000000, &d, &f),
				 WET_ERR_REFUSED);
	cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_N, glacial,
										  (struct wet_strength){ 28000, WET_PERCENT_WW }, 1000000, &d, &f),
				 WET_ERR_REFUSED, "by volume it needs the density");
	cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_SODIUM_CARBONATE,
										  (struct wet_strength){ 10000, WET_PERCENT_VV },
										  (struct wet_strength){ 5000, WET_PERCENT_WV }, 1000000, &d, &f),
				 WET_ERR_REFUSED, "a solid has no v/v");
	/* 28 % w/w is 28.97 g in 100 mL: no 29 % w/v can be made of it. */
	cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_ACETIC_ACID,
										  (struct wet_strength){ 28000, WET_PERCENT_WW },
										  (struct wet_strength){ 29000, WET_PERCENT_WV }, 1000000, &d, &f),
				 WET_ERR_REFUSED);
	cr_assert_eq(wet_dilute_strength_make(WET_SOLUTE_ACETIC_ACID,
										  (struct wet_strength){ 28000, WET_PERCENT_WW },
										  (struct wet_strength){ 28900, WET_PERCENT_WV }, 1000000, &d, &f),
				 0);
}
