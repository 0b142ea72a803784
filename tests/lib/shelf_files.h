/* shelf_files.h: the repository's recipes and the corpus, for tests. */
#ifndef WET_TESTS_SHELF_FILES_H
#define WET_TESTS_SHELF_FILES_H

#include "wetside/recipe.h"

#include <stddef.h>

/* A whole file, NUL after its end; the caller frees. NULL: it cannot be read. */
char *test_file_text(const char *path, size_t *ret_bytes);

/* Decodes a recipe file, or ends the process with what is wrong: a test without its recipe proves nothing. */
void test_recipe_file(const char *path, struct wet_recipe *ret_recipe);

/* The shipped recipe of the creek session, and a file of the good corpus. */
#define TEST_CREEK_RECIPE WET_SOURCE_DIR "/recipes/direct-positive-fibre-tank.json"
#define TEST_TRAY_RECIPE WET_SOURCE_DIR "/recipes/negative-resin-coated-trays.json"
#define TEST_GOOD_RECIPE(name) WET_TEST_DATA "/recipes/good/" name ".json"

/* The usual vessel of a recipe, as arming would make it without one of the user's own. */
struct wet_vessel test_vessel_of(const struct wet_recipe *recipe);

/* One row of an expected.tsv: file, error's name, end of the place, who can know. */
struct test_expected {
	char file[64], error[24], where[96], phase[16];
};
/* Reads at most `room` rows; -1: the table cannot be read or a row is damaged. */
int test_expected_rows(const char *path, struct test_expected *rows, int room);

#endif
