/* test_molar_mass.c: formulas as people write them, and what is wrong with the others, to the character. */
#include "wetside/molar_mass.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static double mass(const char *formula)
{
	double g = NAN;
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_molar_mass(formula, &g, &fault), 0, "%s: %s: %s", formula, fault.where, fault.want);
	return g;
}

#define EXPECT_SAME(a, b) cr_expect_float_eq(mass(a), mass(b), 1e-9, "%s is %s", a, b)

Test(molar_mass, the_same_in_many_spellings)
{
	cr_expect_float_eq(mass("H"), 1.008, 1e-12);
	EXPECT_SAME("Na2CO3.10H2O", "Na2CO3\xC2\xB7"
								"10H2O");
	EXPECT_SAME("Na2CO3.10H2O", "Na2CO3 . 10H2O");
	EXPECT_SAME("Na2CO3.10H2O", "10H2O.Na2CO3");
	EXPECT_SAME("Na2CO3.10H2O", "CNa2H20O13");
	EXPECT_SAME("KAl(SO4)2.12H2O", "KAlS2O8H24O12");
	EXPECT_SAME("K3[Fe(CN)6]", "K3FeC6N6");
	EXPECT_SAME("(C7H9NO)2.H2SO4", "C14H20N2O6S");
	EXPECT_SAME("((H2)3)2", "H12");
	EXPECT_SAME("2NaCl", "NaClNaCl");
	cr_expect_float_eq(2 * mass("K2CO3.3/2H2O"), mass("2K2CO3.3H2O"), 1e-9);
	cr_expect_float_eq(mass("CO") - mass("Co"), 12.011 + 15.999 - 58.933194, 1e-9,
					   "capitals tell carbon and oxygen");
}

Test(molar_mass, what_is_wrong_is_told_to_the_character)
{
	static const struct {
		const char *formula;
		int err;
		const char *where;
	} rows[] = {
		{ "", WET_ERR_INVALID, "character 1" },
		{ "Xx", WET_ERR_NOT_FOUND, "character 1" },
		{ "Na2Xy3", WET_ERR_NOT_FOUND, "character 4" },
		{ "na2CO3", WET_ERR_INVALID, "character 1" },
		{ "NaCl2o", WET_ERR_INVALID, "character 6" },
		{ "K2Sx", WET_ERR_NOT_FOUND, "character 3" },
		{ "Tc", WET_ERR_RANGE, "character 1" },
		{ "NaPu", WET_ERR_RANGE, "character 3" },
		{ "H0", WET_ERR_INVALID, "character 2" },
		{ "H02", WET_ERR_INVALID, "character 2" },
		{ "H1000", WET_ERR_RANGE, "character 2" },
		{ "H99999999999999999999", WET_ERR_RANGE, "character 2" },
		{ "(NH4", WET_ERR_INVALID, "character 5" },
		{ "NH4)2", WET_ERR_INVALID, "character 4" },
		{ "(NH4]2", WET_ERR_INVALID, "character 5" },
		{ "Na()2", WET_ERR_INVALID, "character 4" },
		{ "(((((H)))))", WET_ERR_TOO_MANY, "character 5" },
		{ "Na2CO3.", WET_ERR_INVALID, "character 8" },
		{ ".H2O", WET_ERR_INVALID, "character 1" },
		{ "Na2CO3..H2O", WET_ERR_INVALID, "character 8" },
		{ "K2CO3.1.5H2O", WET_ERR_INVALID, "character 8" },
		{ "K2CO3.3/H2O", WET_ERR_INVALID, "character 9" },
		{ "K2CO3.3/0H2O", WET_ERR_INVALID, "character 9" },
		{ "Na+", WET_ERR_INVALID, "character 3" },
		{ "Na2CO3\xC2\xB7?", WET_ERR_INVALID, "character 8" },
		{ "Na2CO3 H2O", WET_ERR_INVALID, "character 7" },
		{ "H2O ", WET_ERR_INVALID, "character 4" },
		{ "HHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHHH", WET_ERR_TOO_LONG,
		  "character 64" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		double g = -1;
		struct wet_fault fault = { 0 };
		cr_expect_eq(wet_molar_mass(rows[i].formula, &g, &fault), rows[i].err, "%s: %s", rows[i].formula,
					 wet_err_name(fault.err));
		cr_expect_str_eq(fault.where, rows[i].where, "%s", rows[i].formula);
		cr_expect(fault.want[0] != '\0' && fault.found[0] != '\0', "%s", rows[i].formula);
		cr_expect_eq(g, -1, "%s: the result was touched", rows[i].formula);
	}
}

Test(molar_mass, hydrates_of_one_salt_and_no_other)
{
	double f = -1, back = -1;
	struct wet_fault fault = { 0 };
	static const char *const same[][2] = {
		{ "Na2CO3", "Na2CO3.10H2O" }, { "Na2B2O4.8H2O", "NaBO2.4H2O" },         { "Na2S2O5", "NaHSO3" },
		{ "C6H8O7", "C6H8O7.H2O" },   { "Na2B4O7.10H2O", "Na2B4O5(OH)4.8H2O" }, { "KBr", "KBr" },
	};
	static const char *const others[][2] = {
		{ "Na2CO3", "K2CO3" },  { "Na2CO3", "NaHCO3" },  { "C6H8O6", "C6H7NaO6" },
		{ "Na2SO3", "Na2SO4" }, { "Na2B4O7", "NaBO2" },  { "KBr", "KI" },
		{ "H2O", "H2O" },       { "Na2S2O3", "Na2SO3" }, { "CH3COOH", "C6H12O6.CO" },
	};
	for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
		cr_expect_eq(wet_hydrate_factor(same[i][0], same[i][1], &f, NULL), 0, "%s %s", same[i][0],
					 same[i][1]);
		cr_expect_eq(wet_hydrate_factor(same[i][1], same[i][0], &back, NULL), 0);
		cr_expect_float_eq(f * back, 1, 1e-12, "%s %s", same[i][0], same[i][1]);
	}
	for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
		f = -1;
		cr_expect_eq(wet_hydrate_factor(others[i][0], others[i][1], &f, &fault), WET_ERR_REFUSED, "%s %s",
					 others[i][0], others[i][1]);
		cr_expect(f == -1 && strstr(fault.want, others[i][0]), "%s", fault.want);
	}
	cr_expect_eq(wet_hydrate_factor("Na2CO3", "Na2C)3", &f, &fault), WET_ERR_INVALID);
	cr_expect_str_eq(fault.where, "character 5");
}
