/* The table of errors and the fault that explains one. */
#include "base/text.h"
#include "wetside/errors.h"

#include <criterion/criterion.h>
#include <string.h>

Test(errors, every_error_has_its_own_name_text_and_code)
{
	for (int a = 0; a < WET_ERR_N; a++) {
		cr_assert(wet_err_name(a)[0] && wet_err_text(a)[0]);
		for (int b = 0; b < a; b++) {
			cr_assert_str_neq(wet_err_name(a), wet_err_name(b));
			cr_assert_str_neq(wet_err_text(a), wet_err_text(b), "%s and %s", wet_err_name(a),
							  wet_err_name(b));
			cr_assert_neq(wet_err_wire(a), wet_err_wire(b), "%s and %s", wet_err_name(a), wet_err_name(b));
		}
	}
}

/* JSON-RPC 2.0 Specification, section 5.1: the five predefined codes, and -32768..-32000 is reserved. */
Test(errors, wire_codes_keep_to_the_specification)
{
	cr_assert_eq(wet_err_wire(WET_ERR_PARSE), -32700);
	cr_assert_eq(wet_err_wire(WET_ERR_REQUEST), -32600);
	cr_assert_eq(wet_err_wire(WET_ERR_METHOD), -32601);
	cr_assert_eq(wet_err_wire(WET_ERR_PARAMS), -32602);
	cr_assert_eq(wet_err_wire(WET_ERR_INTERNAL), -32603);
	cr_assert_eq(wet_err_wire(WET_OK), 0);
	for (int e = WET_ERR_INTERNAL + 1; e < WET_ERR_N; e++)
		cr_assert_geq(wet_err_wire(e), 1001, "%s", wet_err_name(e));
}

/* Codes that clients keep in scripts: published, so they never move. */
Test(errors, published_codes_stay)
{
	static const struct {
		int err, wire;
	} kept[] = { { WET_ERR_NOMEM, 1001 },      { WET_ERR_UNIT_MISSING, 1004 }, { WET_ERR_AMBIGUOUS, 1006 },
				 { WET_ERR_REFUSED, 1011 },    { WET_ERR_NOT_STORED, 1014 },   { WET_ERR_SAFETY, 1015 },
				 { WET_ERR_PERMISSION, 1021 }, { WET_ERR_IO, 1030 },           { WET_ERR_LOCKED, 1035 },
				 { WET_ERR_UNKNOWN, 1038 } };
	for (size_t i = 0; i < sizeof kept / sizeof kept[0]; i++)
		cr_assert_eq(wet_err_wire(kept[i].err), kept[i].wire);
}

Test(errors, a_number_that_is_no_error_is_answered_all_the_same)
{
	static const int wild[] = { -1, WET_ERR_N, WET_ERR_N + 1, 9999, -2147483647 - 1, 2147483647 };
	for (size_t i = 0; i < sizeof wild / sizeof wild[0]; i++) {
		cr_assert_str_eq(wet_err_name(wild[i]), "UNKNOWN_ERROR");
		cr_assert_str_eq(wet_err_text(wild[i]), "unknown error");
		cr_assert_eq(wet_err_wire(wild[i]), wet_err_wire(WET_ERR_INTERNAL));
	}
}

Test(errors, a_fault_reads_as_one_line)
{
	struct wet_fault f;
	char line[256];
	cr_assert_eq(wet_fault_set(&f, WET_ERR_RANGE, "aim", "9 h", "from %d to %d minutes", 1, 90),
				 WET_ERR_RANGE);
	cr_assert_str_eq(wet_fault_line(&f, line, sizeof line), "aim: out of range: 9 h; from 1 to 90 minutes");
	wet_fault_prefix(&f, "tank.json#/stages/2/");
	cr_assert_str_eq(f.where, "tank.json#/stages/2/aim");
	cr_assert_eq(wet_fault_set(&f, WET_ERR_IO, "", NULL, "%s", ""), WET_ERR_IO);
	cr_assert_str_eq(wet_fault_line(&f, line, sizeof line), "input or output failed");
}

Test(errors, nobody_need_ask_for_a_fault)
{
	cr_assert_eq(wet_fault_set(NULL, WET_ERR_FULL, "x", "y", "%s", "z"), WET_ERR_FULL);
	wet_fault_prefix(NULL, "x");
}

Test(errors, long_or_hostile_text_is_cut_and_cleaned)
{
	struct wet_fault f;
	char line[16], found[400], prefix[400];
	memset(found, 0, sizeof found);
	for (size_t i = 0; i + 2 < sizeof found; i += 2)
		memcpy(found + i, "\xC3\xA9", 2);
	memset(prefix, 'p', sizeof prefix - 1);
	prefix[sizeof prefix - 1] = '\0';
	wet_fault_set(&f, WET_ERR_TOO_LONG, "\x1B]0;x", found, "%s", found);
	cr_assert_str_eq(f.where, "?]0;x");
	cr_assert(wet_text_is_utf8(f.found, strlen(f.found)) && strlen(f.found) >= sizeof f.found - 3);
	cr_assert(wet_text_is_utf8(f.want, strlen(f.want)) && strlen(f.want) >= sizeof f.want - 3);
	wet_fault_set(&f, WET_ERR_INVALID, "",
				  "\x9B"
				  "2J\n\x07",
				  "%s", "a name");
	cr_assert_str_eq(f.found, "?2J??");
	wet_fault_prefix(&f, prefix);
	cr_assert_eq(strlen(f.where), sizeof f.where - 1);
	wet_fault_line(&f, line, sizeof line);
	cr_assert_eq(strlen(line), sizeof line - 1);
	cr_assert_eq(wet_fault_line(&f, line, 1)[0], '\0');
}
