/* test_formulary.c: files -> substances and formulas, with exact errors. */
#include "shelf/formulary.h"

#include "base/text.h"
#include "formula_files.h"
#include "shelf/shelf.h"
#include "shelf_files.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define ROWS_MAX 128

static int decode_formula(const char *text, size_t n, struct wet_fault *fault)
{
	static struct wet_formula formula;
	memset(&formula, 0x5A, sizeof formula);
	int rc = wet_formula_decode(text, n, "creek.json", test_substances(), &formula, fault);
	cr_expect(rc == 0 || formula.version == 0x5A5A5A5A, "a result was touched");
	return rc;
}

static int decode_substances(const char *text, size_t n, struct wet_fault *fault)
{
	static struct wet_substances table;
	memset(&table, 0x5A, sizeof table);
	int rc = wet_substances_decode(text, n, "creek.json", &table, fault);
	cr_expect(rc == 0 || table.form_count == 0x5A5A5A5A, "a result was touched");
	return rc;
}

static void expect_errors(const char *folder, int (*decode)(const char *, size_t, struct wet_fault *),
						  int least)
{
	static struct test_expected rows[ROWS_MAX];
	char path[256], where[128];
	snprintf(path, sizeof path, "%s/expected.tsv", folder);
	int count = test_expected_rows(path, rows, ROWS_MAX);
	cr_assert_geq(count, least);
	for (int i = 0; i < count; i++) {
		size_t n;
		struct wet_fault fault = { 0 };
		snprintf(path, sizeof path, "%s/%s.json", folder, rows[i].file);
		char *text = test_file_text(path, &n);
		cr_assert_not_null(text, "%s", path);
		int rc = decode(text, n, &fault);
		cr_expect_str_eq(wet_err_name(rc), rows[i].error, "%s: %s: %s", rows[i].file, fault.where,
						 fault.want);
		cr_expect_eq(fault.err, rc);
		snprintf(where, sizeof where, "creek.json%s%s", rows[i].where[0] == ':' ? "" : "#",
				 rows[i].where[0] == ':' ? "" : rows[i].where);
		cr_expect_eq(strncmp(fault.where, where, strlen(where)), 0, "%s: %s", rows[i].file, fault.where);
		cr_expect(rows[i].where[0] == ':' || strcmp(fault.where, where) == 0, "%s: %s", rows[i].file,
				  fault.where);
		cr_expect(fault.want[0] != '\0', "%s", rows[i].file);
		free(text);
	}
}

Test(formulary, bad_formulas_are_told_with_their_place)
{
	expect_errors(WET_TEST_DATA "/formulas/bad", decode_formula, 57);
}

Test(formulary, bad_substances_are_told_with_their_place)
{
	expect_errors(WET_TEST_DATA "/substances/bad", decode_substances, 33);
}

Test(formulary, what_is_allowed_is_told)
{
	static const char *const rows[][3] = {
		{ "formulas", "amount-of-a-liquid-in-grams", "mL or L: it is a liquid" },
		{ "formulas", "amount-in-ounces", "a plain amount: \"3.1 g\", \"81 mg\", \"48 mL\"" },
		{ "formulas", "hydroxide-in-warm-water", "hydroxide only below 27 C" },
		{ "formulas", "unknown-member", "a member a formula may have: $schema, name, title" },
		{ "substances", "formula-malformed", "character 7: a closing bracket only after its opening one" },
		{ "substances", "formula-of-another-salt", "the same substance as K2CO3 with more or less water" },
		{ "substances", "class-unknown", "one of: other, sulfite, acid-sulfite, metol" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		char path[256];
		size_t n;
		struct wet_fault fault = { 0 };
		snprintf(path, sizeof path, WET_TEST_DATA "/%s/bad/%s.json", rows[i][0], rows[i][1]);
		char *text = test_file_text(path, &n);
		cr_assert_not_null(text);
		cr_assert_neq((rows[i][0][0] == 'f' ? decode_formula : decode_substances)(text, n, &fault), 0);
		cr_expect(strstr(fault.want, rows[i][2]), "%s: %s", rows[i][1], fault.want);
		free(text);
	}
}

Test(formulary, values_said_otherwise_are_the_same)
{
	static struct wet_formula a, b;
	size_t n;
	char *text = test_file_text(WET_TEST_DATA "/formulas/good/developer.json", &n);
	cr_assert_eq(wet_formula_decode(text, n, "", test_substances(), &a, NULL), 0);
	free(text);
	text = test_file_text(WET_TEST_DATA "/formulas/good/said-otherwise.json", &n);
	cr_assert_eq(wet_formula_decode(text, n, "", test_substances(), &b, NULL), 0);
	free(text);
	cr_expect(a.makes_ul == 1000000 && b.makes_ul == 1000000 && a.start_ul == 500000);
	cr_expect(a.start_mc == 50000 && b.start_mc == 50000);
	cr_expect(a.ingredients[1].amount == 3000 && b.ingredients[1].amount == 3000);
	cr_expect(a.ingredients[4].amount == 20000 && a.ingredients[4].below_mc == 27000 &&
			  a.ingredients[5].amount == 1900);
	cr_expect(a.version == 1 && b.version == 2 && a.ingredient_count == 6 && a.ingredients[0].is_pinch);
}

/* -- folders -------------------------------------------------------------------------- */

static void copy(const char *from, const char *folder, const char *to)
{
	char path[512];
	size_t n;
	char *text = test_file_text(from, &n);
	cr_assert_not_null(text, "%s", from);
	snprintf(path, sizeof path, "%s/%s", folder, to);
	FILE *file = fopen(path, "wb");
	cr_assert_not_null(file, "%s", path);
	fwrite(text, 1, n, file);
	cr_assert_eq(fclose(file), 0);
	free(text);
}

static void make_folder(char *folder)
{
	char path[512];
	cr_assert_not_null(mkdtemp(folder));
	snprintf(path, sizeof path, "%s/formulas", folder);
	cr_assert_eq(mkdir(path, 0700), 0);
}

Test(formulary, a_bad_file_stops_no_other_and_own_ones_come_first)
{
	char own[] = "/tmp/wetside-formulary-XXXXXX", path[512];
	struct wet_formulary *f = NULL;
	make_folder(own);
	copy(WET_TEST_DATA "/formulas/good/developer.json", own, "formulas/creek-developer.json");
	copy(WET_TEST_DATA "/formulas/good/developer.json", own,
		 "formulas/fixer-plain.json"); /* of another name */
	copy(WET_TEST_DATA "/formulas/bad/malformed.json", own, "formulas/stop-bath-citric.json");
	const char *const dirs[] = { own, WET_SOURCE_DIR "/recipes", "/nowhere/at/all", NULL };
	cr_assert_eq(wet_formulary_open(&f, dirs + 1), 0);
	size_t shipped = wet_formulary_count(f);
	cr_assert_geq(shipped, 13);
	wet_formulary_free(f);
	cr_assert_eq(wet_formulary_open(&f, dirs), 0);
	cr_expect_eq(wet_formulary_count(f), shipped - 2 + 1);
	cr_expect_eq(wet_formulary_fault_count(f), 2);
	cr_expect(wet_formulary_find(f, "creek-developer") && !wet_formulary_find(f, "stop-bath-citric"));
	cr_expect(strstr(wet_formulary_fault(f, 0)->where, "fixer-plain.json#/name"), "%s",
			  wet_formulary_fault(f, 0)->where);
	cr_expect(strstr(wet_formulary_fault(f, 1)->where, "stop-bath-citric.json:1:"), "%s",
			  wet_formulary_fault(f, 1)->where);
	for (size_t i = 1; i < wet_formulary_count(f); i++)
		cr_expect_lt(strcmp(wet_formulary_at(f, i - 1)->formula.name, wet_formulary_at(f, i)->formula.name),
					 0);
	cr_expect(wet_formulary_at(f, 99) == NULL && wet_formulary_fault(f, 99) == NULL);
	wet_formulary_free(f);
	/* Its own substances hide the shipped ones, and what needs the others is told. */
	copy(WET_TEST_DATA "/substances/good/two.json", own, "substances.json");
	cr_assert_eq(wet_formulary_open(&f, dirs), 0);
	cr_expect_eq(wet_formulary_count(f), 0);
	cr_expect_eq(wet_formulary_substances(f)->form_count, 4);
	cr_expect(wet_formulary_fault_count(f) >= 13 && wet_formulary_fault(f, 0)->err == WET_ERR_NOT_FOUND);
	wet_formulary_free(f);
	/* Bad ones are told once, and there are no formulas. */
	copy(WET_TEST_DATA "/substances/bad/key-twice.json", own, "substances.json");
	cr_assert_eq(wet_formulary_open(&f, dirs), 0);
	cr_expect(wet_formulary_count(f) == 0 && wet_formulary_fault_count(f) == 1);
	wet_formulary_free(f);
	/* The table of substances beside the recipes is no recipe. */
	struct wet_shelf *shelf = NULL;
	const char *const none[] = { NULL }, *const alone[] = { own, NULL };
	cr_assert_eq(wet_shelf_open(&shelf, alone, none), 0);
	cr_expect_eq(wet_shelf_fault_count(shelf), 0);
	wet_shelf_free(shelf);
	static const char *const names[] = { "formulas/creek-developer.json",
										 "formulas/fixer-plain.json",
										 "formulas/stop-bath-citric.json",
										 "substances.json",
										 "formulas",
										 "" };
	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
		snprintf(path, sizeof path, "%s/%s", own, names[i]);
		(void)remove(path);
	}
	wet_formulary_free(NULL);
}

Test(formulary, every_stock_a_recipe_is_mixed_from_has_its_formula)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = {
		WET_SOURCE_DIR "/safety", NULL
	};
	struct wet_formulary *f = NULL;
	struct wet_shelf *shelf = NULL;
	int count = 0;
	cr_assert_eq(wet_formulary_open(&f, recipes), 0);
	cr_assert_eq(wet_shelf_open(&shelf, recipes, safety), 0);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_recipe *r = &wet_shelf_at(shelf, i)->recipe;
		for (int j = 0; j < r->bath_count; j++) {
			const char *from = r->baths[j].mix.from;
			if (from[0] == '\0')
				continue;
			count++;
			cr_expect_not_null(wet_formulary_find(f, from), "%s: %s", r->name, from);
		}
	}
	cr_expect_geq(count, 20);
	wet_shelf_free(shelf);
	wet_formulary_free(f);
}
