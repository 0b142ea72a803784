/* formula_files.h: the repository's substances and formulas, for tests. */
#ifndef WET_TESTS_FORMULA_FILES_H
#define WET_TESTS_FORMULA_FILES_H

#include "wetside/formula.h"

/* The shipped table, read once; the process ends with what is wrong if it can't be. */
const struct wet_substances *test_substances(void);

/* A shipped formula by name; as above. */
const struct wet_formula *test_formula(const char *name);

/* The names of the shipped formulas, NULL-terminated. */
const char *const *test_formula_names(void);

/* The place of a form in the shipped table, by its key; ends the process if there is none. */
int test_form(const char *key);

#endif
