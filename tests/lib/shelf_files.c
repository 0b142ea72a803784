/* shelf_files.c: the repository's recipes and the corpus, for tests. */
#include "shelf_files.h"

#include "base/text.h"
#include "shelf/shelf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

char *test_file_text(const char *path, size_t *ret_bytes)
{
	FILE *file = fopen(path, "rb");
	if (file == NULL)
		return NULL;
	long length = fseek(file, 0, SEEK_END) == 0 ? ftell(file) : -1;
	rewind(file);
	char *text = length >= 0 ? malloc((size_t)length + 1) : NULL;
	size_t n = text != NULL ? fread(text, 1, (size_t)length, file) : 0;
	fclose(file);
	if (text == NULL || n != (size_t)length) {
		free(text);
		return NULL;
	}
	text[n] = '\0';
	*ret_bytes = n;
	return text;
}

void test_recipe_file(const char *path, struct wet_recipe *ret_recipe)
{
	char line[600];
	size_t n;
	struct wet_fault fault = { 0 };
	char *text = test_file_text(path, &n);
	if (text == NULL) {
		fprintf(stderr, "%s cannot be read\n", path);
		abort();
	}
	if (wet_recipe_decode(text, n, path, ret_recipe, &fault) != 0) {
		fprintf(stderr, "%s\n", wet_fault_line(&fault, line, sizeof line));
		abort();
	}
	free(text);
}

struct wet_vessel test_vessel_of(const struct wet_recipe *recipe)
{
	struct wet_vessel vessel = { .kind = recipe->vessel_kind,
								 .fill_ns = recipe->fill_ns,
								 .drain_ns = recipe->drain_ns };
	wet_text_copy(vessel.name, sizeof vessel.name, "creek tank");
	return vessel;
}

int test_expected_rows(const char *path, struct test_expected *rows, int room)
{
	char line[512];
	int count = 0;
	FILE *file = fopen(path, "r");
	if (file == NULL)
		return -1;
	while (count >= 0 && fgets(line, sizeof line, file) != NULL) {
		if (line[0] == '#')
			continue;
		struct test_expected *row = &rows[count];
		if (count == room || sscanf(line, "%63[^\t]\t%23[^\t]\t%95[^\t]\t%15[^\t\n]", row->file, row->error,
									row->where, row->phase) != 4)
			count = -1;
		else
			count++;
	}
	fclose(file);
	return count;
}
