/* rows.h: rows of numbers from the JSON files of tests/data. */
#ifndef WET_TESTS_ROWS_H
#define WET_TESTS_ROWS_H

#include <jansson.h>

/* The file, or the process ends with what is wrong: a test without its rows proves nothing. The caller
 * frees. */
json_t *test_rows_load(const char *path);
/* A list of the document with exactly n rows; ends the process else. Borrowed. */
json_t *test_rows(const json_t *doc, const char *key, size_t n);
/* A member that must be a number (a text): ends the process else. */
double test_number(const json_t *object, const char *key);
const char *test_string(const json_t *object, const char *key);

#endif
