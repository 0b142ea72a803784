/* formula_files.c: the repository's substances and formulas, for tests. */
#include "formula_files.h"

#include "shelf/formulary.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NAMES 64

static struct wet_formulary *shipped(void)
{
	static struct wet_formulary *formulary;
	static const char *const dirs[] = { WET_SOURCE_DIR "/recipes", NULL };
	char line[600];
	if (formulary == NULL && wet_formulary_open(&formulary, dirs) != 0)
		abort();
	if (wet_formulary_fault_count(formulary) > 0) {
		fprintf(stderr, "%s\n", wet_fault_line(wet_formulary_fault(formulary, 0), line, sizeof line));
		abort();
	}
	return formulary;
}

const struct wet_substances *test_substances(void)
{
	return wet_formulary_substances(shipped());
}

const struct wet_formula *test_formula(const char *name)
{
	const struct wet_formulary_item *item = wet_formulary_find(shipped(), name);
	if (item == NULL) {
		fprintf(stderr, "there is no formula %s\n", name);
		abort();
	}
	return &item->formula;
}

const char *const *test_formula_names(void)
{
	static const char *names[NAMES + 1];
	for (size_t i = 0; i < wet_formulary_count(shipped()) && i < NAMES; i++)
		names[i] = wet_formulary_at(shipped(), i)->formula.name;
	return names;
}

int test_form(const char *key)
{
	int form = wet_form_find(test_substances(), key);
	if (form < 0) {
		fprintf(stderr, "there is no form %s\n", key);
		abort();
	}
	return form;
}
