/* test_formula_note.c: the note of mixing a formula: which are grave, what stands in each, and what each line rests on. */
#include "shelf/formula_note.h"

#include "formula_files.h"
#include "safety_files.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static struct wet_formulary *formulary;

static void open_files(void)
{
	static const char *const dirs[] = { WET_SOURCE_DIR "/recipes", NULL };
	cr_assert_eq(wet_formulary_open(&formulary, dirs), WET_OK);
}

static void close_files(void)
{
	wet_formulary_free(formulary);
}

TestSuite(formula_note, .init = open_files, .fini = close_files);

static bool is_hazardous(const struct wet_formula *f)
{
	return wet_formula_is_hazardous(test_safety(), test_substances(), f);
}

/* Outside: Regulation (EC) 1272/2008, annex VI (from memory). Hydroquinone: Eye Dam. 1, Muta. 2, Carc. 2; boric acid and
 * borates: Repr. 1B; acetic acid: corrosive from 25 %; sodium metabisulfite: Eye Dam. 1; silver nitrate: Skin Corr. 1B; sodium
 * sulfide: Skin Corr. 1B; permanganate: Ox. Sol. 2. Thiosulfate and sulfite have none; citric acid irritates only. */
Test(formula_note, the_grave_ones_are_acknowledged_and_the_mild_ones_are_not)
{
	static const char *const mild[] = { "clearing-bath-sulfite", "fixer-plain", "stop-bath-citric", "washing-aid-sulfite" };
	for (const char *const *name = test_formula_names(); *name; name++) {
		bool is_mild = false;
		for (size_t i = 0; i < sizeof mild / sizeof mild[0]; i++)
			is_mild = is_mild || strcmp(mild[i], *name) == 0;
		cr_expect_eq(is_hazardous(test_formula(*name)), !is_mild, "%s", *name);
	}
}

/* The thin bath is mild; what goes into it decides: vinegar's strength irritates no less than citric acid, 28 % burns. */
Test(formula_note, what_goes_in_counts_not_only_what_is_made)
{
	struct wet_formula f = *test_formula("stop-bath-citric");
	f.ingredients[0].form = (uint8_t)test_form("acetic-acid-28-percent");
	f.ingredients[0].amount = 1000; /* a millilitre in a litre */
	cr_expect(is_hazardous(&f));
	f.ingredients[0].form = (uint8_t)test_form("citric-acid-anhydrous");
	cr_expect_not(is_hazardous(&f));
}

static void get(const char *name, char **ret_note, char **ret_sources)
{
	cr_assert_eq(wet_formula_note(test_safety(), formulary, name, ret_note, ret_sources), WET_OK, "%s", name);
}

Test(formula_note, each_line_of_the_page_stands_behind_it_with_what_it_rests_on)
{
	for (const char *const *name = test_formula_names(); *name; name++) {
		char *note, *sources, *save = NULL;
		int lines = 0;
		get(*name, &note, &sources);
		for (char *line = strtok_r(note, "\n", &save); line && strncmp(line, "Sources: ", 9) != 0;
			 line = strtok_r(NULL, "\n", &save)) {
			if (strncmp(line, "- ", 2) != 0)
				continue;
			const char *at = strstr(sources, line);
			cr_assert_not_null(at, "%s: %s", *name, line);
			const char *cited = strstr(at, "\n    "), *next = strstr(at, "\n- ");
			cr_expect(cited && (!next || cited < next), "%s: nothing is cited for: %s", *name, line);
			lines++;
		}
		cr_expect_gt(lines, 25, "%s", *name);
		free(note);
		free(sources);
	}
}

Test(formula_note, it_tells_what_forms_with_what)
{
	char *note, *sources;
	get("fixer-plain", &note, &sources);
	const char *never = strstr(note, "## Never mix it with"), *end = strstr(note, "## If it happens");
	cr_assert(never && end && never < end);
	const char *acid = strstr(never, "stop bath citric"), *gas = acid ? strstr(acid, "sulfur dioxide.") : NULL;
	cr_expect(acid && gas && gas < end, "%s", note);
	const char *bleach = strstr(never, "- Household bleach");
	cr_expect(bleach && bleach < end, "%s", note);
	cr_expect_not_null(strstr(note, "Sulfur dioxide smells like a burnt match"), "the gas is told with its limit");
	free(note);
	free(sources);
	char *none = NULL;
	cr_expect_eq(wet_formula_note(test_safety(), formulary, "creek-water", &none, &none), WET_ERR_NOT_FOUND);
	cr_expect_null(none);
}
