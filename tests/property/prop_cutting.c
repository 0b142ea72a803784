/* prop_cutting.c: random sheets and pieces. Small ones: all keys equal those of every way to cut, one by one. Large ones: the
 * sequence, done by a trimmer that only cuts from edge to edge, gives exactly the pieces; what is told as proven keeps to its bound.
 *   prop_cutting --seed S --count N */
#include "base/random.h"
#include "cut_ways.h"
#include "prop_args.h"
#include "wetside/cutting.h"

#include <stdio.h>
#include <stdlib.h>

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case;

static int between(int low, int high)
{
	return (int)wet_random_between(&rnd, low, high);
}

static void broken(const struct wet_cut_ask *a, const char *law, long long got, long long want)
{
	printf("broken in case %ld: %s: %lld, not %lld\nsheet %dx%d kerf %d margin %d sheets %d:", this_case, law,
		   got, want, a->sheet_width_t, a->sheet_height_t, a->kerf_t, a->margin_t, a->sheets);
	for (int i = 0; i < a->size_count; i++)
		printf(" %dx%d*%d", a->sizes[i].width_t, a->sizes[i].height_t, a->sizes[i].wanted);
	printf("\nagain: prop_cutting --seed %llu --count %ld\n", seed, this_case + 1);
	exit(1);
}

static bool is_repeated(const struct wet_cut_ask *a, int i)
{
	const struct wet_cut_size *s = &a->sizes[i];
	for (int k = 0; k < i; k++)
		if ((a->sizes[k].width_t == s->width_t && a->sizes[k].height_t == s->height_t) ||
			(a->sizes[k].width_t == s->height_t && a->sizes[k].height_t == s->width_t))
			return true;
	return false;
}

/* Fits the sheet one way or the other. */
static bool fits(const struct wet_cut_ask *a, const struct wet_cut_size *s)
{
	int w = a->sheet_width_t - 2 * a->margin_t, h = a->sheet_height_t - 2 * a->margin_t;
	return (s->width_t <= w && s->height_t <= h) || (s->width_t <= h && s->height_t <= w);
}

static struct wet_cut_ask some(int sides_low, int sides_high, int least, int sizes, int wanted)
{
	struct wet_cut_ask a;
	do {
		a = (struct wet_cut_ask){ .sheet_width_t = between(sides_low, sides_high),
								  .sheet_height_t = between(sides_low, sides_high) };
		a.kerf_t = wet_random_below(&rnd, 3) ? 0 : between(1, least > 3 ? least / 3 : 1);
		a.size_count = sizes;
		for (int i = 0; i < sizes; i++)
			a.sizes[i] = (struct wet_cut_size){ between(least, sides_high), between(least, sides_high),
												wanted ? between(1, wanted) : 0 };
		for (int i = 0; i < sizes; i++)
			if (is_repeated(&a, i) || !fits(&a, &a.sizes[i]))
				a.size_count = 0;
	} while (a.size_count == 0);
	a.sheets = wanted ? 0 : between(1, 3);
	return a;
}

static void plan_of(const struct wet_cut_ask *a, void *workspace, struct wet_cut_plan *ret)
{
	struct wet_fault fault = { 0 };
	char line[600];
	int rc = wet_cut_plan(a, workspace, wet_cut_workspace_bytes(), ret, &fault);
	if (rc != 0) {
		printf("%s\n", wet_fault_line(&fault, line, sizeof line));
		broken(a, "there is a plan", rc, 0);
	}
	const char *wrong = test_cut_by_plan(a, ret);
	if (wrong)
		broken(a, wrong, 0, 0);
}

static void check_small(const struct wet_cut_ask *a, void *workspace)
{
	struct wet_cut_plan p;
	struct test_cut_best best;
	if (!test_cut_all_ways(a, &best))
		return;
	plan_of(a, workspace, &p);
	if (p.proven != p.keys)
		broken(a, "a small case is proven", p.proven, p.keys);
	bool is_most = a->sizes[0].wanted == 0;
	if (is_most && p.pieces != best.pieces * a->sheets)
		broken(a, "most pieces", p.pieces, best.pieces * a->sheets);
	if (!is_most && p.sheets != best.sheets)
		broken(a, "fewest sheets", p.sheets, best.sheets);
	int64_t rest = 0;
	for (int i = 0; i < p.layout_count; i++)
		for (int k = 0; k < p.layouts[i].part_count; k++) {
			const struct wet_cut_part *part = &p.layouts[i].parts[k];
			int64_t area = (int64_t)part->width_t * part->height_t;
			if ((part->kind == WET_CUT_REST || part->kind == WET_CUT_WASTE) && area > rest)
				rest = area;
		}
	if (!is_most && rest != best.rest)
		broken(a, "the largest rest", rest, best.rest);
	if (p.stop_count != best.stops)
		broken(a, "fewest settings", p.stop_count, best.stops);
	if (p.cuts != best.cuts * (is_most ? a->sheets : 1))
		broken(a, "fewest cuts", p.cuts, best.cuts * (is_most ? a->sheets : 1));
	/* A margin takes four cuts and one setting more (or one that is there already), and nothing else changes. */
	struct wet_cut_ask m = *a;
	struct wet_cut_plan q;
	m.margin_t = a->kerf_t + between(1, 5);
	m.sheet_width_t += 2 * m.margin_t;
	m.sheet_height_t += 2 * m.margin_t;
	plan_of(&m, workspace, &q);
	if (q.pieces != p.pieces || q.sheets != p.sheets || q.cuts != p.cuts + 4 * p.sheets)
		broken(&m, "a margin costs four cuts a sheet", q.cuts, p.cuts + 4 * p.sheets);
}

int main(int argc, char **argv)
{
	void *workspace = malloc(wet_cut_workspace_bytes());
	test_prop_args(argc, argv, &seed, &count);
	wet_random_seed(&rnd, seed);
	for (this_case = 0; this_case < count; this_case++) {
		struct wet_cut_ask a;
		struct wet_cut_plan p;
		switch (this_case % 4) {
		case 0: a = some(4, 14, 2, 1, 0); break;
		case 1: a = some(4, 12, 3, 1, 8); break;
		case 2: a = some(5, 11, 3, 2, 2); break;
		default: a = some(6, 10, 3, 3, 1); break;
		}
		check_small(&a, workspace);
		if (this_case % 40 != 0)
			continue;
		a = some(200, 600, 60, between(1, 4), 20);
		a.margin_t = wet_random_below(&rnd, 2) ? 0 : a.kerf_t + between(1, 20);
		a.work_most = 200000; /* the search breaks off, and what it has then must be a plan too */
		if (a.margin_t > 0)
			a.sheet_width_t += 2 * a.margin_t, a.sheet_height_t += 2 * a.margin_t;
		plan_of(&a, workspace, &p);
		if (p.sheets < p.sheets_bound || p.proven > p.keys)
			broken(&a, "no better than its bound", p.sheets, p.sheets_bound);
	}
	free(workspace);
	printf("%ld cases\n", count);
	return 0;
}
