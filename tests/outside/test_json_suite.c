/* The parser against the grammar of RFC 8259, case by case, and against an independent one: jansson's own.
 *
 * Sources: RFC 8259 (December 2017) and RFC 3629 for the verdicts in tests/data/json_cases.txt; jansson 2.14,
 * json_loadb with JSON_REJECT_DUPLICATES, as the second opinion on the same texts and on texts made from
 * them. */
#include "wetside/errors.h"
#include "wire/rpc.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CASE_BYTES 4096

static int hex_digit(char c)
{
	return c >= '0' && c <= '9' ? c - '0' : c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* Percent-decoding; the number of bytes. */
static size_t decode(const char *text, char bytes[CASE_BYTES])
{
	size_t n = 0;

	for (; *text && n < CASE_BYTES; text++) {
		if (*text == '%') {
			int high = hex_digit(text[1]), low = high >= 0 ? hex_digit(text[2]) : -1;

			cr_assert(low >= 0, "a bad escape in the cases: %s", text);
			bytes[n++] = (char)(high << 4 | low);
			text += 2;
		} else {
			bytes[n++] = *text;
		}
	}
	return n;
}

/* In a block of exactly its size, so that a sanitizer sees a read past the end. */
static int parse_exact(const char *bytes, size_t n, json_t **ret_json, struct wet_fault *reterr)
{
	char *block = malloc(n > 0 ? n : 1);
	int rc;

	cr_assert(block);
	if (n > 0)
		memcpy(block, bytes, n);
	rc = wet_json_parse(block, n, WET_JSON_DEPTH, ret_json, reterr);
	free(block);
	return rc;
}

typedef void each_case(char verdict, const char *text, const char *bytes, size_t n);

static size_t for_each_case(each_case *look, char only)
{
	FILE *file = fopen(WET_TEST_DATA "/json_cases.txt", "r");
	char line[3 * CASE_BYTES], bytes[CASE_BYTES];
	size_t count = 0;

	cr_assert(file, "tests/data/json_cases.txt is missing");
	while (fgets(line, sizeof line, file)) {
		line[strcspn(line, "\n")] = '\0';
		if (line[0] == '#' || line[0] == '\0')
			continue;
		cr_assert((line[0] == 'y' || line[0] == 'n' || line[0] == 'l') && line[1] == ' ', "a bad line: %s",
				  line);
		if (only && line[0] != only)
			continue;
		look(line[0], line + 2, bytes, decode(line + 2, bytes));
		count++;
	}
	fclose(file);
	return count;
}

static void look_valid(char verdict, const char *text, const char *bytes, size_t n)
{
	json_t *json = NULL;
	struct wet_fault fault = { 0 };

	(void)verdict;
	cr_expect_eq(parse_exact(bytes, n, &json, &fault), 0, "refused: %s: %s; %s", text, fault.where,
				 fault.want);
	cr_expect(json);
	json_decref(json);
}

static void look_invalid(char verdict, const char *text, const char *bytes, size_t n)
{
	json_t *json = NULL;
	struct wet_fault fault = { 0 };
	int rc = parse_exact(bytes, n, &json, &fault);

	cr_expect(rc == WET_ERR_PARSE || (verdict == 'l' && rc == WET_ERR_TOO_MANY), "%d: %s", rc, text);
	cr_expect_null(json, "untouched on failure: %s", text);
	cr_expect_eq(fault.err, rc);
	cr_expect(strlen(fault.want) > 0, "says what would be right: %s", text);
}

Test(json_suite, what_the_grammar_allows_is_accepted)
{
	cr_expect_geq(for_each_case(look_valid, 'y'), 100);
}

Test(json_suite, what_the_grammar_does_not_allow_is_refused)
{
	cr_expect_geq(for_each_case(look_invalid, 'n'), 200);
}

Test(json_suite, limits_are_those_pinned)
{
	cr_expect_geq(for_each_case(look_invalid, 'l'), 30);
}

/* Where the two may differ: depth (jansson's limit is 2048), the length of a number, and a NUL byte, which
 * json_loadb takes for the end of the text and the grammar does not. Everything else is the same verdict and
 * the same value. */
static void compare(const char *text, const char *bytes, size_t n)
{
	json_error_t error;
	json_t *json = NULL, *other = json_loadb(bytes, n, JSON_REJECT_DUPLICATES, &error);
	struct wet_fault fault = { 0 };
	int rc = parse_exact(bytes, n, &json, &fault);

	if (memchr(bytes, 0, n))
		cr_expect_eq(rc, WET_ERR_PARSE, "NUL in %s", text);
	else if (rc != WET_ERR_TOO_MANY && strcmp(fault.want, "a shorter number") != 0) {
		cr_expect_eq(rc == 0, other != NULL, "%s: ours %s, jansson's %s", text,
					 rc == 0 ? "accepts" : fault.want, other ? "accepts" : error.text);
		if (json && other)
			cr_expect(json_equal(json, other), "another value: %s", text);
	}
	json_decref(json);
	json_decref(other);
}

static void look_compare(char verdict, const char *text, const char *bytes, size_t n)
{
	char changed[CASE_BYTES];

	(void)verdict;
	compare(text, bytes, n);
	if (n == 0 || n > 64)
		return;
	/* Cut at each byte; and each byte left out, doubled, or exchanged for another. */
	for (size_t i = 0; i < n; i++) {
		static const char others[] = "\"\\{}[],:0e-. u\x80\xED\x01";

		compare(text, bytes, i);
		memcpy(changed, bytes, i);
		memcpy(changed + i, bytes + i + 1, n - i - 1);
		compare(text, changed, n - 1);
		memcpy(changed + i, bytes + i, 1);
		memcpy(changed + i + 1, bytes + i, n - i);
		compare(text, changed, n + 1);
		memcpy(changed, bytes, n);
		for (size_t k = 0; k < sizeof others - 1; k++) {
			changed[i] = others[k];
			compare(text, changed, n);
		}
	}
}

Test(json_suite, an_independent_parser_agrees)
{
	cr_expect_geq(for_each_case(look_compare, 0), 360);
}

static void look_written(char verdict, const char *text, const char *bytes, size_t n)
{
	json_t *json = NULL, *back = NULL;
	char *written = NULL;
	size_t written_n = 0;

	(void)verdict;
	cr_assert_eq(parse_exact(bytes, n, &json, NULL), 0);
	cr_assert_eq(wet_json_text(json, &written, &written_n), 0);
	cr_expect_eq(strlen(written), written_n);
	for (size_t i = 0; i < written_n; i++)
		cr_expect(written[i] >= 0x20 && written[i] < 0x7F, "not printable ASCII: %s", text);
	cr_assert_eq(parse_exact(written, written_n, &back, NULL), 0, "can't read back %s", written);
	cr_expect(json_equal(json, back), "%s reads back as %s", text, written);
	free(written);
	json_decref(json);
	json_decref(back);
}

/* jansson writes U+007F as it is, which RFC 8259 allows; it is the one byte outside printable ASCII. */
static void look_written_but_delete(char verdict, const char *text, const char *bytes, size_t n)
{
	if (strstr(text, "7f") || strstr(text, "7F"))
		return;
	look_written(verdict, text, bytes, n);
}

Test(json_suite, what_is_accepted_is_written_and_read_back)
{
	cr_expect_geq(for_each_case(look_written_but_delete, 'y'), 100);
}

Test(json_suite, bytes_are_capped)
{
	char *text = malloc(WET_REPLY_BYTES + 1);
	struct wet_fault fault = { 0 };
	json_t *json = NULL;

	cr_assert(text);
	memset(text, ' ', WET_REPLY_BYTES + 1);
	text[0] = '[';
	text[WET_REPLY_BYTES - 1] = ']';
	cr_expect_eq(wet_json_parse(text, WET_REPLY_BYTES, WET_JSON_DEPTH, &json, &fault), 0);
	json_decref(json);
	json = NULL;
	cr_expect_eq(wet_json_parse(text, WET_REPLY_BYTES + 1, WET_JSON_DEPTH, &json, &fault), WET_ERR_TOO_LONG);
	cr_expect_null(json);
	free(text);
}
