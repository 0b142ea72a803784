/* test_cutting.c: pieces out of a sheet against the reference rows of tests/data/pallet.json (each with its source), and
 * fractions of inches against the exact inch of 25.4 mm (international yard and pound agreement, 1959; ISO 31-1; NIST Special
 * Publication 811, appendix B). */
#include "wetside/cutting.h"

#include "cut_ways.h"
#include "rows.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct wet_cut_plan plan_of(const struct wet_cut_ask *ask, void *workspace, const char *id)
{
	struct wet_cut_plan plan;
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_cut_plan(ask, workspace, wet_cut_workspace_bytes(), &plan, &fault), 0, "%s: %s %s", id,
				 fault.where, fault.want);
	const char *wrong = test_cut_by_plan(ask, &plan);
	cr_assert_null(wrong, "%s: %s", id, wrong);
	return plan;
}

Test(cutting, every_row_gives_its_guillotine_optimum_and_not_the_other)
{
	json_t *doc = test_rows_load(WET_TEST_DATA "/pallet.json");
	const json_t *rows = test_rows(doc, "rows", 20), *row;
	void *workspace = malloc(wet_cut_workspace_bytes());
	size_t i;
	int mixed = 0, worse = 0;
	json_array_foreach(rows, i, row)
	{
		const json_t *in = json_object_get(row, "inputs"),
					 *single = json_object_get(row, "single_orientation_only");
		const char *id = json_string_value(json_object_get(row, "id"));
		int best = (int)test_number(row, "expected_guillotine"),
			other = (int)test_number(row, "expected_nonguillotine_optimum");
		cr_assert(json_is_string(json_object_get(row, "source")));
		/* Once in the row's own units, once with a kerf: enlarged by it in both directions it is the same problem. */
		for (int kerf = 0; kerf < 3; kerf++) {
			struct wet_cut_ask ask = { .sheet_width_t = (int32_t)test_number(in, "L") - kerf,
									   .sheet_height_t = (int32_t)test_number(in, "W") - kerf,
									   .sheets = 1,
									   .kerf_t = kerf,
									   .size_count = 1 };
			ask.sizes[0] = (struct wet_cut_size){ (int32_t)test_number(in, "l") - kerf,
												  (int32_t)test_number(in, "w") - kerf, 0 };
			if (ask.sizes[0].height_t <= 0)
				continue;
			struct wet_cut_plan plan = plan_of(&ask, workspace, id);
			cr_expect_eq(plan.pieces, best, "%s with a kerf of %d: %d, not %d", id, kerf, plan.pieces, best);
			cr_expect_eq(plan.pieces_bound, best, "%s", id);
			cr_expect(plan.proven >= 1, "%s", id);
		}
		mixed += single != NULL && best > json_integer_value(single);
		worse += other > best;
	}
	/* The rows are worth something: in some both ways to lie are needed, in some edge-to-edge cuts lose a piece. */
	cr_expect_geq(mixed, 4);
	cr_expect_geq(worse, 4);
	json_decref(doc);
	free(workspace);
}

Test(cutting, sheets_in_inches_as_they_are_typed)
{
	json_t *doc = test_rows_load(WET_TEST_DATA "/pallet.json");
	const json_t *rows = test_rows(doc, "rows", 20), *row;
	void *workspace = malloc(wet_cut_workspace_bytes());
	size_t i;
	int done = 0;
	json_array_foreach(rows, i, row)
	{
		const json_t *in = json_object_get(row, "inputs");
		const json_t *sheet = json_object_get(in, "sheet_in"), *piece = json_object_get(in, "piece_in");
		bool is_metric = json_object_get(in, "sheet_mm") != NULL;
		if (is_metric) {
			sheet = json_object_get(in, "sheet_mm");
			piece = json_object_get(in, "piece_mm");
		}
		if (!sheet)
			continue;
		char text[2][64];
		const json_t *sizes[2] = { sheet, piece };
		int32_t lengths[4];
		enum wet_unit unit;
		for (int k = 0; k < 2; k++) {
			snprintf(text[k], sizeof text[k], "%g x %g %s", json_number_value(json_array_get(sizes[k], 0)),
					 json_number_value(json_array_get(sizes[k], 1)), is_metric ? "mm" : "in");
			cr_assert_eq(wet_cut_parse_size(text[k], &lengths[2 * k], &lengths[2 * k + 1], &unit, NULL), 0,
						 "%s", text[k]);
		}
		cr_expect_eq(unit, is_metric ? WET_UNIT_MM : WET_UNIT_IN);
		struct wet_cut_ask ask = {
			.sheet_width_t = lengths[0], .sheet_height_t = lengths[1], .sheets = 1, .size_count = 1
		};
		ask.sizes[0] = (struct wet_cut_size){ lengths[2], lengths[3], 0 };
		int best = (int)test_number(row, "expected_guillotine");
		cr_expect_eq(plan_of(&ask, workspace, text[0]).pieces, best, "%s from %s", text[1], text[0]);
		done++;
	}
	cr_expect_geq(done, 14);
	json_decref(doc);
	free(workspace);
}

/* Every 64th, 12th and 10th of an inch up to a foot: 25.4 mm to the inch, without rounding. */
Test(cutting, fractions_of_inches_are_exact)
{
	static const int bottoms[] = { 1, 2, 3, 4, 6, 8, 10, 12, 16, 32, 64 };
	char text[64];
	int32_t length;
	for (size_t i = 0; i < sizeof bottoms / sizeof bottoms[0]; i++) {
		for (int top = 1; top <= 12 * bottoms[i]; top++) {
			int whole = top / bottoms[i], rest = top % bottoms[i];
			if (rest == 0)
				snprintf(text, sizeof text, "%d in", whole);
			else if (whole == 0)
				snprintf(text, sizeof text, "%d/%d in", rest, bottoms[i]);
			else
				snprintf(text, sizeof text, "%d %d/%d in", whole, rest, bottoms[i]);
			cr_assert_eq(wet_cut_parse_length(text, &length, NULL), 0, "%s", text);
			/* length / 192 micrometres is top / bottom of 25,400. */
			cr_assert_eq((int64_t)length * bottoms[i], (int64_t)top * 25400 * 192, "%s", text);
		}
	}
	/* Half a micrometre would lose a piece: two of 4 1/16 in are 8 1/8 in. */
	void *workspace = malloc(wet_cut_workspace_bytes());
	static const char *const pairs[][3] = { { "4 1/16 x 5 in", "8 1/8 x 5 in", "2" },
											{ "2 2/3 x 4 in", "8 x 4 in", "3" },
											{ "1 5/64 x 2 in", "6 15/32 x 2 in", "6" },
											{ "2.54 x 5.08 cm", "3 x 2 in", "3" },
											{ "4\xC2\xBD x 6 in", "9 x 12 in", "4" } };
	for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
		struct wet_cut_ask ask = { .sheets = 1, .size_count = 1 };
		enum wet_unit unit;
		cr_assert_eq(
			wet_cut_parse_size(pairs[i][0], &ask.sizes[0].width_t, &ask.sizes[0].height_t, &unit, NULL), 0);
		cr_assert_eq(wet_cut_parse_size(pairs[i][1], &ask.sheet_width_t, &ask.sheet_height_t, &unit, NULL),
					 0);
		struct wet_cut_plan plan = plan_of(&ask, workspace, pairs[i][0]);
		cr_expect_eq(plan.pieces, atoi(pairs[i][2]), "%s from %s", pairs[i][0], pairs[i][1]);
		cr_expect_eq(plan.cuts, plan.pieces - 1, "%s fits exactly: nothing is cut off", pairs[i][0]);
	}
	free(workspace);
}
