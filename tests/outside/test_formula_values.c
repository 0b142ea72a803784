/* test_formula_values.c: what the shipped formulas weigh out against what is printed elsewhere. Each row names its
 * source. Where a source prints a rounded factor the tolerance is that rounding. */
#include "wetside/formula.h"

#include "formula_files.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define L 1000000LL /* microlitres */

static double convert(const char *from, double amount, const char *to)
{
	double result = NAN;
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_form_convert(test_substances(), test_form(from), test_form(to), amount, &result, &fault),
				 0, "%s to %s: %s", from, to, fault.want);
	return result;
}

/* The exact amount of a line in a list for `make_ul`, with what is owned. */
static double exact_of(const char *formula, const char *form, int64_t make_ul, const char *own)
{
	const struct wet_formula *f = test_formula(formula);
	struct wet_formula_want want = { .make_ul = make_ul, .scale_step_mg = 1, .measure_step_ul = 10 };
	struct wet_weigh_out list;
	struct wet_fault fault = { 0 };
	if (own != NULL)
		cr_assert_eq(wet_formula_own(test_substances(), f, own, &want, &fault), 0, "%s", fault.want);
	cr_assert_eq(wet_formula_compute(test_substances(), f, &want, &list, &fault), 0, "%s", fault.want);
	for (int i = 0; i < list.step_count; i++) {
		if (list.steps[i].ingredient >= 0 && list.steps[i].kind != WET_WEIGH_PINCH &&
			list.steps[i].form == test_form(form))
			return (double)list.steps[i].exact;
	}
	cr_assert_fail("%s has no %s", formula, form);
	return NAN;
}

Test(formula_values, substitutions_are_those_of_the_handbooks)
{
	static const struct {
		const char *from;
		double amount;
		const char *to;
		double expected, tolerance;
		const char *source;
	} rows[] = {
		{ "sodium-carbonate-anhydrous", 10, "sodium-carbonate-monohydrate", 12, 0.31,
		  "Langford's Basic Photography, App. D: times 1.2 (rounded)" },
		{ "sodium-carbonate-anhydrous", 10, "sodium-carbonate-decahydrate", 27, 0.01,
		  "Langford's Basic Photography, App. D: times 2.7" },
		{ "sodium-sulfite-anhydrous", 45, "sodium-sulfite-heptahydrate", 90, 0.05,
		  "Langford's Basic Photography, App. D: times 2" },
		{ "sodium-thiosulfate-pentahydrate", 100, "sodium-thiosulfate-anhydrous", 64, 0.5,
		  "S. Anchell, The Darkroom Cookbook (2008), p. 268: anhydrous is 64 % of crystalline" },
		{ "sodium-thiosulfate-anhydrous", 150, "sodium-thiosulfate-pentahydrate", 240, 5,
		  "atelierelealbe.eu: 150 g anhydrous, where the same bath is printed with 240 g of crystals" },
		{ "sodium-carbonate-anhydrous", 67.5, "sodium-carbonate-monohydrate", 80, 1.1,
		  "the print developer is printed with either (from memory)" },
		{ "acetic-acid-glacial", 3, "acetic-acid-28-percent", 11, 0.25,
		  "3 parts of glacial acid and 8 of water make 28 % acid: 11 parts (28.1 % by mass, US Army SS0513 "
		  "has 28 %)" },
		/* 32 US fl oz of 28 % acid from 9.0 oz of 99.5 % and 23 of water */
		{ "acetic-acid-28-percent", 32, "acetic-acid-glacial", 9.0, 0.15,
		  "US Army subcourse SS0513: 9.0 + 23 fl oz (it reads the percents as volumes, which is 1.3 % off)" },
		{ "ammonium-thiosulfate-60-percent", 100, "ammonium-thiosulfate", 79.5, 0.25,
		  "engineeringtoolbox.com d_1957 (after the CRC Handbook): 60 % w/w is 79.5 g in 100 mL" },
		{ "sodium-metaborate-tetrahydrate", 100, "sodium-metaborate-dihydrate", 73.864, 0.02,
		  "ratio of molar masses by three packages, tests/data/molar_mass.json" },
		{ "borax-decahydrate", 100, "borax-pentahydrate", 76.381, 0.02, "as above" },
		{ "citric-acid-anhydrous", 100, "citric-acid-monohydrate", 109.377, 0.02, "as above" },
		{ "sodium-metabisulfite", 100, "sodium-bisulfite", 109.477, 0.02,
		  "as above: Na2S2O5 + H2O = 2 NaHSO3" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		double got = convert(rows[i].from, rows[i].amount, rows[i].to);
		cr_expect_leq(fabs(got - rows[i].expected), rows[i].tolerance, "%s: %.4f, not %.4f: %s", rows[i].from,
					  got, rows[i].expected, rows[i].source);
	}
}

Test(formula_values, amounts_are_those_that_are_printed)
{
	static const struct {
		const char *formula, *form;
		int64_t make_ul;
		const char *own;
		double expected, tolerance; /* mg, or uL */
		const char *source;
	} rows[] = {
		{ "print-developer-metol-hydroquinone", "metol", L, NULL, 3100, 0,
		  "Handicraft, part 4 (chestofbooks.com)" },
		{ "print-developer-metol-hydroquinone", "sodium-sulfite-anhydrous", L, NULL, 45000, 0, "as above" },
		{ "print-developer-metol-hydroquinone", "hydroquinone", L, NULL, 12000, 0, "as above" },
		{ "stop-bath-citric", "citric-acid-anhydrous", L, NULL, 15000, 0,
		  "S. Anchell, The Darkroom Cookbook (2008), p. 268" },
		{ "fixer-plain", "sodium-thiosulfate-pentahydrate", L / 2, NULL, 100000, 0,
		  "The Wellington Photographic Handbook, p. 65: 100 g in 500 cc" },
		{ "fixer-acid", "potassium-metabisulfite", L / 2, NULL, 13000, 0, "as above: 13 g to 500 mL" },
		{ "fixer-acid-hardening", "boric-acid", L, NULL, 7500, 0, "atelierelealbe.eu" },
		{ "fixer-acid-hardening", "potassium-alum", L, NULL, 15000, 0, "atelierelealbe.eu" },
		{ "fixer-acid-hardening", "sodium-thiosulfate-anhydrous", L, "sodium-thiosulfate-anhydrous", 150000,
		  4000, "atelierelealbe.eu prints 150 g" },
		{ "ascorbate-phenidone-developer", "borax-decahydrate", 946353, NULL, 24400, 0,
		  "P. Gainer, 21gradi.it, for a US quart (946.353 mL)" },
		{ "ascorbate-phenidone-developer", "phenidone", 946353, NULL, 81, 0.5,
		  "P. Gainer: 10 mL of 0.65 g in 80 mL" },
		{ "washing-aid-sulfite", "sodium-sulfite-anhydrous", L, NULL, 20000, 0,
		  "discussion forum apug, post 75985" },
		{ "residual-thiosulfate-test", "acetic-acid-28-percent", L / 10, NULL, 12500, 0,
		  "62.5 mL and 3.75 g to 500 mL, scaled by hand" },
		{ "residual-thiosulfate-test", "silver-nitrate", L / 10, NULL, 750, 0, "as above" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		double got = exact_of(rows[i].formula, rows[i].form, rows[i].make_ul, rows[i].own);
		cr_expect_leq(fabs(got - rows[i].expected), rows[i].tolerance, "%s, %s: %.0f, not %.0f: %s",
					  rows[i].formula, rows[i].form, got, rows[i].expected, rows[i].source);
	}
}

/* Strengths that are printed as ranges. */
Test(formula_values, strengths_lie_where_handbooks_have_them)
{
	/* Grams of acid in 100 mL. S. Anchell, The Darkroom Cookbook, p. 171: 1 to 2 %. */
	double dry = exact_of("stop-bath-acetic", "acetic-acid-28-percent", L, NULL) * 0.28 * 1.0345 / 1e4;
	cr_expect(dry >= 1 && dry <= 2, "%.2f %%", dry);
	/* Cyclopaedia of Photography (1911), Fixing: prints not below 1 in 10, 100 g/L; 50 % fixes less well. */
	double hypo = exact_of("fixer-plain", "sodium-thiosulfate-pentahydrate", L, NULL) / 1e3;
	cr_expect(hypo >= 100 && hypo <= 500);
	/* atelierelealbe.eu: metol to hydroquinone 1:2 for films, 1:3 to 1:4 for papers. */
	double film = exact_of("borax-developer-metol-hydroquinone", "hydroquinone", L, NULL) /
				  exact_of("borax-developer-metol-hydroquinone", "metol", L, NULL);
	double paper = exact_of("print-developer-metol-hydroquinone", "hydroquinone", L, NULL) /
				   exact_of("print-developer-metol-hydroquinone", "metol", L, NULL);
	cr_expect(film >= 2 && film <= 3 && paper >= 3 && paper <= 4, "%.2f %.2f", film, paper);
	/* T.O. 33B-1-1, p. 6-77: ammonium thiosulfate fixes about three times as well, weight for weight; the rapid fixer at
	 * 1+4 is then between the plain fixer and three times it. */
	double rapid = exact_of("fixer-rapid", "ammonium-thiosulfate", L / 5, "ammonium-thiosulfate") / 1e3;
	cr_expect(rapid * 3 > hypo && rapid < hypo * 3, "%.0f g/L", rapid);
}

/* Chemistry as the judge of the ascorbate developer: its hydroxide first turns borax to metaborate,
 *   Na2B4O7 + 2 NaOH = 4 NaBO2 + H2O,
 * and what is left neutralises the ascorbic acid, one for one (both from memory; molar masses from tables). */
Test(formula_values, the_hydroxide_of_the_ascorbate_developer_is_used_up)
{
	double borax =
		exact_of("ascorbate-phenidone-developer", "borax-decahydrate", 946353, NULL) / 1e3 / 381.36;
	double lye = exact_of("ascorbate-phenidone-developer", "sodium-hydroxide", 946353, "sodium-hydroxide") /
				 1e3 / 39.997;
	double acid = exact_of("ascorbate-phenidone-developer", "ascorbic-acid", 946353, NULL) / 1e3 / 176.12;
	cr_expect_float_eq(lye, 2 * borax + acid, 0.005, "%.4f against %.4f mol", lye, 2 * borax + acid);
}

/* US Navy NAVEDTRA 14209: developers are mixed at 90 to 125 F (32.2 to 51.7 C), fixers not much above 80 F; S.
 * Anchell, p. 268: thiosulfate crystals start at 90 F. */
Test(formula_values, starting_temperatures)
{
	for (const char *const *name = test_formula_names(); *name; name++) {
		const struct wet_formula *f = test_formula(*name);
		if (strstr(*name, "developer"))
			cr_expect(f->start_mc >= 32000 && f->start_mc <= 52000, "%s", *name);
		if (strncmp(*name, "fixer", 5) == 0)
			cr_expect(f->start_mc <= 33000, "%s", *name);
	}
}
