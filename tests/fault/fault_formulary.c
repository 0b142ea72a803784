/* fault_formulary.c: the JSON library runs out of memory at each of its allocations in turn, while substances and a formula
 * are read: the answer is "out of memory" (or the text is blamed, as jansson does where its memory fails) and nothing
 * of the result is touched, or all is as it should be.
 *
 * jansson 2.14 reads past its buffer where it fails to grow exactly at the closing quote of a string (load.c,
 * lex_scan_string, ends in an assertion). The files read here begin with a long string, so that it grows within one. */
#include "shelf/formulary.h"

#include "formula_files.h"
#include "shelf_files.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TURNS_MAX 20000

static long left = -1; /* allocations until one fails; -1: none does */
static bool has_failed;

static void *failing_malloc(size_t n)
{
	if (left >= 0 && left-- == 0) {
		has_failed = true;
		return NULL;
	}
	return malloc(n);
}

static int fail(long turn, const char *what, const struct wet_fault *fault)
{
	char line[600];
	fprintf(stderr, "allocation %ld: %s: %s\n", turn, what, wet_fault_line(fault, line, sizeof line));
	return 1;
}

static struct wet_substances table, table_whole;
static struct wet_formula formula, formula_whole;

static int decode(bool is_table, const char *text, size_t n, struct wet_fault *fault)
{
	if (is_table)
		return wet_substances_decode(text, n, "creek.json", &table, fault);
	return wet_formula_decode(text, n, "creek.json", test_substances(), &formula, fault);
}

/* 0: as it should be. */
static int run(bool is_table, const char *path)
{
	size_t n;
	char *text = test_file_text(path, &n);
	struct wet_fault fault = { 0 };
	void *result = is_table ? (void *)&table : (void *)&formula;
	void *whole = is_table ? (void *)&table_whole : (void *)&formula_whole;
	size_t bytes = is_table ? sizeof table : sizeof formula;
	long turn = 0, refused = 0;
	if (text == NULL || decode(is_table, text, n, &fault) != 0)
		return fail(-1, "it does not load with memory enough", &fault);
	memcpy(whole, result, bytes);
	for (; turn < TURNS_MAX; turn++) {
		memset(result, 0x5A, bytes);
		has_failed = false;
		left = turn;
		int rc = decode(is_table, text, n, &fault);
		left = -1;
		if (rc != 0 && ((rc != WET_ERR_NOMEM && rc != WET_ERR_PARSE) || ((unsigned char *)result)[0] != 0x5A))
			return fail(turn, "an error other than out of memory, or half a result", &fault);
		if (rc == 0 && memcmp(result, whole, bytes) != 0)
			return fail(turn, "another result", &fault);
		refused += rc != 0;
		if (!has_failed)
			break; /* further than the last allocation */
	}
	free(text);
	if (turn < 50 || turn == TURNS_MAX || refused == 0)
		return fail(turn, "that is not the number of allocations of a file", &fault);
	printf("%ld allocations failed in turn: %ld refused\n", turn, refused);
	return 0;
}

int main(void)
{
	(void)test_substances(); /* read with memory enough */
	json_set_alloc_funcs(failing_malloc, free);
	return run(true, WET_TEST_DATA "/substances/good/two.json") ||
		   run(false, WET_TEST_DATA "/formulas/good/developer.json");
}
