/* test_safety.c: files of safety data: exact errors, untouched results, folders; and why a mixture is of a class. */
#include "safety_files.h"
#include "shelf_files.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define ROWS_MAX 128

static struct wet_safety into;

static int decode(int which, const char *text, size_t n, struct wet_fault *fault)
{
	memset(&into, 0x5A, sizeof into);
	int rc = test_safety_decode(which, text, n, "creek.json", &into, fault);
	bool is_touched = into.hazards.substance_count != 0x5A5A5A5A || into.gases.count != 0x5A5A5A5A ||
					  into.incompatibilities.count != 0x5A5A5A5A || into.statements.count != 0x5A5A5A5A ||
					  into.practice.count != 0x5A5A5A5A;
	cr_expect(rc == 0 || !is_touched, "a result was touched");
	return rc;
}

static void expect_errors(int which, const char *folder, int least)
{
	static struct test_expected rows[ROWS_MAX];
	char path[300], where[128];
	snprintf(path, sizeof path, WET_TEST_DATA "/%s/bad/expected.tsv", folder);
	int count = test_expected_rows(path, rows, ROWS_MAX);
	cr_assert_geq(count, least);
	for (int i = 0; i < count; i++) {
		size_t n;
		struct wet_fault fault = { 0 };
		snprintf(path, sizeof path, WET_TEST_DATA "/%s/bad/%s.json", folder, rows[i].file);
		char *text = test_file_text(path, &n);
		cr_assert_not_null(text, "%s", path);
		int rc = decode(which, text, n, &fault);
		cr_expect_str_eq(wet_err_name(rc), rows[i].error, "%s: %s: %s", rows[i].file, fault.where,
						 fault.want);
		cr_expect_eq(fault.err, rc);
		bool is_line = rows[i].where[0] == ':';
		snprintf(where, sizeof where, "creek.json%s%s", is_line ? "" : "#", rows[i].where);
		cr_expect_eq(strncmp(fault.where, where, strlen(where)), 0, "%s: %s", rows[i].file, fault.where);
		cr_expect(is_line || strcmp(fault.where, where) == 0, "%s: %s", rows[i].file, fault.where);
		cr_expect(fault.want[0] != '\0', "%s", rows[i].file);
		free(text);
	}
}

Test(safety, bad_files)
{
	expect_errors(TEST_HAZARDS, "hazards", 80);
	expect_errors(TEST_GASES, "gases", 25);
	expect_errors(TEST_INCOMPATIBILITIES, "incompatibilities", 37);
	expect_errors(TEST_STATEMENTS, "statements", 15);
	expect_errors(TEST_PRACTICE, "practice", 27);
}

Test(safety, values_of_a_good_file)
{
	size_t n;
	char *text = test_file_text(WET_TEST_DATA "/hazards/good/full.json", &n);
	cr_assert_not_null(text);
	cr_assert_eq(decode(TEST_HAZARDS, text, n, NULL), WET_OK);
	free(text);
	const struct wet_hazard_table *t = &into.hazards;
	const struct wet_hazards *lye = wet_hazards_find(t, "lye"), *silver = wet_hazards_find(t, "7761-88-8");
	cr_assert(lye == &t->substances[0] && silver == &t->substances[1]);
	cr_expect_null(wet_hazards_find(t, ""));
	cr_expect_null(wet_hazards_find(t, "creek water"));
	cr_expect_eq(lye->hazard_count, 2);
	cr_expect(lye->hazards[0].is_harmonised && !lye->hazards[1].is_harmonised);
	cr_expect_eq(lye->limits[2].from_ppm, 5000);
	cr_expect_str_eq(lye->exposures[0].limit, "C 2 mg/m3");
	cr_expect_str_eq(t->advice[lye->advice[WET_ADVICE_DISPOSAL][0]].text, "Collect it.");
	cr_expect_eq(silver->hazards[0].m_factor, 10);
	cr_expect_str_eq(silver->hazards[1].statement, "H360FD");
	cr_expect_eq(silver->ate_milli[WET_ACUTE_ORAL], 302000);
	cr_expect_eq(silver->ate_milli[WET_ACUTE_INHALED], 1500);
	cr_expect_eq(silver->unknown_ways, 1u << WET_ACUTE_DERMAL);
	cr_expect(!silver->is_refused && test_hazards("potassium-dichromate")->is_refused);
}

Test(safety, folders)
{
	char dir[] = "/tmp/wetside-safety-XXXXXX", path[300];
	struct wet_safety *safety;
	cr_assert_not_null(mkdtemp(dir));
	snprintf(path, sizeof path, "%s/substances.json", dir);
	FILE *file = fopen(path, "w");
	cr_assert_not_null(file);
	fputs("{}", file);
	fclose(file);
	const char *const dirs[] = { dir, WET_SOURCE_DIR "/safety", NULL }, *const alone[] = { dir, NULL };
	cr_assert_eq(wet_safety_open(&safety, dirs), WET_OK);
	/* The earlier folder has its say; the rules name substances and the gases first aid that are then unknown. */
	cr_expect_eq(safety->fault_count, 3);
	cr_expect_not_null(strstr(safety->faults[0].where, "substances.json#/version"));
	cr_expect_eq(safety->faults[1].err, WET_ERR_NOT_FOUND);
	cr_expect_gt(safety->statements.count, 90);
	cr_expect_eq(safety->hazards.substance_count, 0);
	wet_safety_free(safety);
	unlink(path);
	cr_assert_eq(wet_safety_open(&safety, alone), WET_OK);
	cr_expect_eq(safety->fault_count, WET_SAFETY_FILES);
	cr_expect_eq(safety->faults[0].err, WET_ERR_NOT_FOUND);
	wet_safety_free(safety);
	wet_safety_free(NULL);
	rmdir(dir);
}

/* -- words ------------------------------------------------------------------------------------------------ */

Test(safety, why)
{
	char text[300];
	struct wet_classification c;
	struct wet_component parts[] = { { test_hazards("hydroquinone"), 12000 },
									 { test_hazards("sodium-carbonate"), 67500 },
									 { test_hazards("sodium-hydroxide"), 1000 } };
	struct wet_mixture m = { .components = parts, .component_count = 3, .has_ph = true, .ph_milli = 12000 };
	cr_assert_eq(wet_mixture_classify(&m, &c, NULL), WET_OK);
	static const char *const expected[] = {
		"Skin Corr. 1: a pH of 2 and less or 11.5 and more counts as corrosive",
		"Skin Sens. 1: hydroquinone, 1.2 %: at or above the general limit for one component, 1 %",
		"Eye Dam. 1: a pH of 2 and less or 11.5 and more counts as corrosive",
		"Muta. 2: hydroquinone, 1.2 %: at or above the general limit for one component, 1 %",
		"Carc. 2: hydroquinone, 1.2 %: at or above the general limit for one component, 1 %",
	};
	cr_assert_eq(c.class_count, 5);
	for (int i = 0; i < 5; i++)
		cr_expect_str_eq(wet_mixture_class_why(&m, &c.classes[i], text, sizeof text), expected[i]);
	m.has_ph = false;
	cr_assert_eq(wet_mixture_classify(&m, &c, NULL), WET_OK);
	cr_assert_eq(c.class_count, 4);
	cr_expect_str_eq(
		wet_mixture_class_why(&m, &c.classes[1], text, sizeof text),
		"Eye Irrit. 2: hydroquinone, 1.2 % with others: the shares of such components, weighed by their "
		"limits, add up, 1 %");
	parts[0].share_ppm = 300000;
	cr_assert_eq(wet_mixture_classify(&m, &c, NULL), WET_OK);
	cr_expect_str_eq(
		wet_mixture_class_why(&m, &c.classes[0], text, sizeof text),
		"Acute Tox. 4 (oral): hydroquinone, 30 %: the acute toxicity estimate of the mixture, by additivity");
	cr_expect_str_eq(wet_pictogram_name(5), "corrosion");
	cr_expect_str_eq(wet_pictogram_name(10), "");
	cr_expect_null(wet_hazard_fact(WET_HAZARD_N));
}

Test(safety, mixtures_that_are_none)
{
	struct wet_classification c = { .class_count = 77 };
	struct wet_fault fault = { 0 };
	struct wet_component parts[2] = { { test_hazards("borax"), 600000 },
									  { test_hazards("boric-acid"), 400001 } };
	struct wet_mixture m = { .components = parts, .component_count = 2 };
	cr_expect_eq(wet_mixture_classify(&m, &c, &fault), WET_ERR_RANGE);
	cr_expect_str_eq(fault.want, "at most 100 % in all");
	parts[1].share_ppm = -1;
	cr_expect_eq(wet_mixture_classify(&m, &c, &fault), WET_ERR_RANGE);
	cr_expect_str_eq(fault.where, "component 2");
	m.component_count = WET_MIXTURE_COMPONENTS + 1;
	cr_expect_eq(wet_mixture_classify(&m, &c, &fault), WET_ERR_TOO_MANY);
	m.component_count = 0;
	m.has_ph = true;
	m.ph_milli = 14001;
	cr_expect_eq(wet_mixture_classify(&m, &c, &fault), WET_ERR_RANGE);
	cr_expect_eq(c.class_count, 77, "a result was touched");
	m.has_ph = false;
	cr_expect_eq(wet_mixture_classify(&m, &c, &fault), WET_OK);
	cr_expect_eq(c.class_count, 0);
}

/* Different codes of one class give the plain one. */
Test(safety, codes_that_differ)
{
	struct wet_hazards a = test_made_hazard("a", WET_HAZARD_REPR_2),
					   b = test_made_hazard("b", WET_HAZARD_REPR_2);
	struct wet_component parts[2] = { { &a, 40000 }, { &b, 40000 } };
	struct wet_mixture m = { .components = parts, .component_count = 2 };
	struct wet_classification c;
	strcpy(a.hazards[0].statement, "H361d");
	strcpy(b.hazards[0].statement, "H361f");
	cr_assert_eq(wet_mixture_classify(&m, &c, NULL), WET_OK);
	cr_expect_str_eq(c.classes[0].statement, "H361");
	parts[1].share_ppm = 20000;
	cr_assert_eq(wet_mixture_classify(&m, &c, NULL), WET_OK);
	cr_expect_str_eq(c.classes[0].statement, "H361d");
}
