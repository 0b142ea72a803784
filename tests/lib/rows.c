/* rows.c: rows of numbers, or the end of the process. */
#include "rows.h"

#include <stdio.h>
#include <stdlib.h>

static void give_up(const char *what, const char *why)
{
	fprintf(stderr, "test data: %s: %s\n", what, why);
	exit(99);
}

json_t *test_rows_load(const char *path)
{
	json_error_t e;
	json_t *doc = json_load_file(path, JSON_REJECT_DUPLICATES, &e);
	if (doc == NULL)
		give_up(path, e.text);
	return doc;
}

json_t *test_rows(const json_t *doc, const char *key, size_t n)
{
	json_t *rows = json_object_get(doc, key);
	if (!json_is_array(rows) || json_array_size(rows) != n)
		give_up(key, "not so many rows");
	return rows;
}

double test_number(const json_t *object, const char *key)
{
	json_t *v = json_object_get(object, key);
	if (!json_is_number(v))
		give_up(key, "no number");
	return json_number_value(v);
}

const char *test_string(const json_t *object, const char *key)
{
	const char *v = json_string_value(json_object_get(object, key));
	if (v == NULL)
		give_up(key, "no text");
	return v;
}
