/* Cutting: what can't be asked, the creek survey's sheets, sequences, numbers in nicks. */
#include "wetside/cutting.h"

#include "cut_ways.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MM WET_CUT_TICKS_PER_MM

static void *workspace;

static void make_workspace(void)
{
	workspace = malloc(wet_cut_workspace_bytes());
}

static void free_workspace(void)
{
	free(workspace);
}

TestSuite(cutting, .init = make_workspace, .fini = free_workspace);

static struct wet_cut_ask creek(void)
{
	return (struct wet_cut_ask){ .sheet_width_t = 240 * MM,
								 .sheet_height_t = 300 * MM,
								 .sheets = 1,
								 .size_count = 1,
								 .sizes = { { 90 * MM, 120 * MM, 0 } } };
}

static int plan(const struct wet_cut_ask *ask, struct wet_cut_plan *ret, struct wet_fault *fault)
{
	*fault = (struct wet_fault){ 0 };
	int rc = wet_cut_plan(ask, workspace, wet_cut_workspace_bytes(), ret, fault);
	if (rc == 0)
		cr_assert_null(test_cut_by_plan(ask, ret), "%s", test_cut_by_plan(ask, ret));
	return rc;
}

static void refused(const struct wet_cut_ask *ask, int err, const char *where, int line)
{
	struct wet_cut_plan p, before;
	struct wet_fault fault;
	memset(&p, 90, sizeof p);
	before = p;
	cr_expect_eq(plan(ask, &p, &fault), err, "line %d: %s %s", line, wet_err_name(fault.err), fault.want);
	cr_expect_str_eq(fault.where, where, "line %d", line);
	cr_expect(fault.want[0], "line %d", line);
	cr_expect_eq(memcmp(&p, &before, sizeof p), 0, "line %d: untouched on failure", line);
}
#define REFUSED(ask, err, where) refused(&(ask), err, where, __LINE__)

Test(cutting, what_cannot_be_asked_is_told_with_its_place)
{
	struct wet_cut_ask a = creek();
	a.sheet_width_t = 0;
	REFUSED(a, WET_ERR_RANGE, "sheet");
	a = creek(), a.sheet_height_t = -5;
	REFUSED(a, WET_ERR_RANGE, "sheet");
	a = creek(), a.sheet_height_t = WET_CUT_LONGEST_T + 1;
	REFUSED(a, WET_ERR_RANGE, "sheet");
	a = creek(), a.sizes[0].width_t = 0;
	REFUSED(a, WET_ERR_RANGE, "size");
	a = creek(), a.sizes[0].width_t = 301 * MM; /* larger than the sheet either way */
	REFUSED(a, WET_ERR_RANGE, "size");
	a = creek(), a.sizes[0] = (struct wet_cut_size){ 250 * MM, 250 * MM, 0 };
	REFUSED(a, WET_ERR_RANGE, "size");
	a = creek(), a.sizes[0] = (struct wet_cut_size){ 240 * MM, 300 * MM, 0 },
	a.margin_t = 1 * MM; /* only without the margin */
	REFUSED(a, WET_ERR_RANGE, "size");
	a = creek(), a.kerf_t = -1;
	REFUSED(a, WET_ERR_RANGE, "kerf");
	a = creek(), a.kerf_t = 11 * MM;
	REFUSED(a, WET_ERR_RANGE, "kerf");
	a = creek(), a.margin_t = -1;
	REFUSED(a, WET_ERR_RANGE, "margin");
	a = creek(), a.margin_t = 1 * MM, a.kerf_t = 1 * MM; /* the blade alone takes more */
	REFUSED(a, WET_ERR_RANGE, "margin");
	a = creek(), a.margin_t = 120 * MM;
	REFUSED(a, WET_ERR_RANGE, "margin");
	a = creek(), a.sheets = 0; /* as many as the sheets give: how many are there? */
	REFUSED(a, WET_ERR_RANGE, "sheets");
	a = creek(), a.sheets = WET_CUT_SHEETS + 1;
	REFUSED(a, WET_ERR_RANGE, "sheets");
	a = creek(), a.sizes[0].wanted = -1;
	REFUSED(a, WET_ERR_RANGE, "count");
	a = creek(), a.sizes[0].wanted = WET_CUT_PIECES + 1;
	REFUSED(a, WET_ERR_RANGE, "count");
	a = creek(), a.size_count = 2,
	a.sizes[1] = (struct wet_cut_size){ 60 * MM, 90 * MM, 4 }; /* how many of the first? */
	REFUSED(a, WET_ERR_RANGE, "count");
	a.sizes[0].wanted = WET_CUT_PIECES;
	REFUSED(a, WET_ERR_TOO_MANY, "count");
	a = creek(), a.size_count = WET_CUT_SIZES + 1;
	REFUSED(a, WET_ERR_TOO_MANY, "size");
	a.size_count = 0;
	REFUSED(a, WET_ERR_TOO_MANY, "size");
	a = creek(), a.size_count = 2, a.sizes[0].wanted = 1,
	a.sizes[1] = (struct wet_cut_size){ 120 * MM, 90 * MM, 4 }; /* the same, turned */
	REFUSED(a, WET_ERR_EXISTS, "size");
	a = creek(), a.sizes[0] = (struct wet_cut_size){ 1 * MM, 1 * MM, 0 }; /* confetti */
	REFUSED(a, WET_ERR_TOO_MANY, "size");
	a = creek(), a.sizes[0].wanted = 7;
	REFUSED(a, WET_ERR_REFUSED, "sheets");
	struct wet_fault fault = { 0 };
	struct wet_cut_plan p;
	cr_expect_eq(wet_cut_plan(&a, workspace, 100, &p, &fault), WET_ERR_TOO_LONG);
}

Test(cutting, the_creek_sheets_give_six_pieces_each)
{
	struct wet_cut_ask a = creek();
	struct wet_cut_plan p;
	struct wet_fault fault;
	cr_assert_eq(plan(&a, &p, &fault), 0, "%s", fault.want);
	cr_expect_eq(p.pieces, 6);
	cr_expect_eq(p.stop_count, 2);
	cr_expect_eq(p.stops[0].length_t, 120 * MM);
	cr_expect_eq(p.stops[1].length_t, 90 * MM);
	cr_expect_eq(p.cuts, 6); /* six pieces and what is left over are seven parts */
	cr_expect_eq(p.proven, 3);
	/* Two sheets are cut alike, with the same settings. */
	a.sheets = 2;
	cr_assert_eq(plan(&a, &p, &fault), 0);
	cr_expect_eq(p.pieces, 12);
	cr_expect_eq(p.layout_count, 1);
	cr_expect_eq(p.layouts[0].times, 2);
	cr_expect_eq(p.stops[0].uses, 6);
	/* Ten pieces: two sheets, and what is left of the second in one part of 24 x 12 cm. */
	a.sizes[0].wanted = 10;
	cr_assert_eq(plan(&a, &p, &fault), 0);
	cr_expect_eq(p.sheets, 2);
	cr_expect_eq(p.rest_mm2, 240 * 120);
	cr_expect_eq(p.stop_count, 2);
	cr_expect_eq(p.proven, 4);
}

Test(cutting, a_kerf_takes_its_part)
{
	/* Four of 60 mm out of 240 mm, if the blade takes nothing. */
	struct wet_cut_ask a = creek();
	struct wet_cut_plan p;
	struct wet_fault fault;
	a.sheet_height_t = 100 * MM;
	a.sizes[0] = (struct wet_cut_size){ 60 * MM, 100 * MM, 0 };
	cr_assert_eq(plan(&a, &p, &fault), 0);
	cr_expect_eq(p.pieces, 4);
	cr_expect_eq(p.cuts, 3);
	a.kerf_t = 1;
	cr_assert_eq(plan(&a, &p, &fault), 0);
	cr_expect_eq(p.pieces, 3);
	/* Three cuts of a millimetre between four pieces. */
	a.kerf_t = MM;
	a.sheet_width_t = 243 * MM;
	cr_assert_eq(plan(&a, &p, &fault), 0);
	cr_expect_eq(p.pieces, 4);
	cr_expect_eq(p.cuts, 3);
}

Test(cutting, the_same_ask_gives_the_same_plan_and_less_work_is_told)
{
	struct wet_cut_ask a = creek();
	struct wet_cut_plan p, q;
	struct wet_fault fault;
	a.sheet_width_t = 500 * MM;
	a.sheet_height_t = 600 * MM;
	a.sheets = 0;
	a.size_count = 3;
	a.sizes[0].wanted = 13;
	a.sizes[1] = (struct wet_cut_size){ 102 * MM, 127 * MM, 12 };
	a.sizes[2] = (struct wet_cut_size){ 60 * MM, 90 * MM, 11 };
	a.work_most = 300000;
	cr_assert_eq(plan(&a, &p, &fault), 0, "%s", fault.want);
	cr_assert_eq(plan(&a, &q, &fault), 0);
	cr_expect_eq(p.cuts, q.cuts);
	cr_expect_eq(p.work, q.work);
	cr_expect_lt(p.proven, p.keys);
	cr_expect_geq(p.sheets, p.sheets_bound);
}

/* The largest stop first wherever there is a choice, and a strip goes on until it is done. */
Test(cutting, few_changes_of_the_stop)
{
	struct wet_cut_ask a = creek();
	struct wet_cut_plan p;
	struct wet_fault fault;
	cr_assert_eq(plan(&a, &p, &fault), 0);
	const struct wet_cut_layout *l = &p.layouts[0];
	int changes = 0;
	for (int i = 1; i < l->step_count; i++)
		changes += l->steps[i].stop != l->steps[i - 1].stop;
	cr_expect_eq(changes, 1);
}
