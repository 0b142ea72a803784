/* prop_formula.c: random volumes, scales and owned forms on the shipped formulas, against the laws of weighing out:
 * twice the volume is twice as much; two parts weigh what the whole weighs; what is shown is within half a step of what
 * is exact; what one form holds, the other holds, there and back; the liquids and the water fit the volume; the parts of
 * a chemical formula add up.
 *   prop_formula --seed S --count N */
#include "base/random.h"
#include "base/text.h"
#include "wetside/formula.h"

#include "formula_files.h"
#include "prop_args.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case, stocks, replaced, coarse;
static const struct wet_substances *table;

static void broken(const char *law, const char *what, double a, double b)
{
	printf("broken in case %ld: %s: %s (%.17g, %.17g)\nagain: prop_formula --seed %llu --count %ld\n",
		   this_case, law, what, a, b, seed, this_case + 1);
	exit(1);
}

static int64_t between(int64_t low, int64_t high)
{
	return wet_random_between(&rnd, low, high);
}

static const struct wet_formula *random_formula(void)
{
	const char *const *names = test_formula_names();
	int n = 0;
	while (names[n] != NULL)
		n++;
	return test_formula(names[between(0, n - 1)]);
}

static struct wet_formula_want random_want(const struct wet_formula *f)
{
	static const int64_t steps_mg[] = { 1, 10, 20, 100, 500, 1000 }, steps_ul[] = { 10, 100, 500, 1000 };
	struct wet_formula_want want = { .make_ul = between(WET_MAKE_UL_LEAST, between(1, 20) * 1000000),
									 .scale_step_mg = steps_mg[between(0, 5)],
									 .measure_step_ul = steps_ul[between(0, 3)] };
	for (int i = 0; i < table->form_count; i++) {
		if (between(0, 3) == 0)
			(void)wet_formula_own(table, f, table->forms[i].key, &want, NULL); /* most are refused */
	}
	return want;
}

/* The exact amounts for a volume on a fine scale, by line. False: the owned liquids leave no room. */
static bool exact(const struct wet_formula *f, const struct wet_formula_want *asked, int64_t make_ul,
				  int64_t *ret_exact)
{
	struct wet_formula_want want = *asked;
	struct wet_weigh_out list;
	struct wet_fault fault = { 0 };
	want.make_ul = make_ul;
	want.scale_step_mg = want.measure_step_ul = 1;
	int rc = wet_formula_compute(table, f, &want, &list, &fault);
	if (rc == WET_ERR_REFUSED)
		return false;
	if (rc != 0)
		broken("a fine scale shows everything", fault.want, rc, 0);
	for (int i = 0; i < list.step_count; i++) {
		if (list.steps[i].ingredient >= 0)
			ret_exact[list.steps[i].ingredient] = list.steps[i].exact;
	}
	return true;
}

static void check_linear(const struct wet_formula *f, const struct wet_formula_want *want)
{
	int64_t once[WET_FORMULA_INGREDIENTS], part[WET_FORMULA_INGREDIENTS], rest[WET_FORMULA_INGREDIENTS];
	int64_t times = between(2, 9), make = want->make_ul,
			cut = between(WET_MAKE_UL_LEAST, make + WET_MAKE_UL_LEAST);
	if (!exact(f, want, make, once) || !exact(f, want, times * make, part))
		return;
	for (int i = 0; i < f->ingredient_count; i++) {
		if (llabs(part[i] - times * once[i]) > (times + 1) / 2 + 1)
			broken("so many times the volume, so many times as much", f->name, (double)part[i],
				   (double)(times * once[i]));
	}
	if (!exact(f, want, cut, part) || !exact(f, want, make + 2 * WET_MAKE_UL_LEAST - cut, rest) ||
		!exact(f, want, make + 2 * WET_MAKE_UL_LEAST, once))
		return;
	for (int i = 0; i < f->ingredient_count; i++) {
		if (llabs(part[i] + rest[i] - once[i]) > 1)
			broken("two parts weigh what the whole weighs", f->name, (double)(part[i] + rest[i]),
				   (double)once[i]);
	}
}

static void check_step(const struct wet_formula *f, const struct wet_formula_want *want,
					   const struct wet_weigh_step *s)
{
	bool is_liquid = wet_form_is_liquid(&table->forms[s->form]);
	int64_t step = is_liquid ? want->measure_step_ul : want->scale_step_mg;
	double back = 0,
		   was = (double)f->ingredients[s->ingredient].amount * (double)want->make_ul / (double)f->makes_ul;
	if (s->kind == WET_WEIGH_STOCK) {
		double use = (double)s->shown / 1000 * s->stock_percent_milli / 100; /* mg: 1 % is 10 mg in a mL */
		stocks++;
		if (fabs(use - (double)s->exact) > 0.051 * (double)s->exact + 0.5)
			broken("the percent solution brings what is asked for", f->name, use, (double)s->exact);
		if (s->stock_mg < WET_SCALE_STEPS_LEAST * want->scale_step_mg ||
			s->stock_mg % want->scale_step_mg != 0)
			broken("the percent solution can be weighed", f->name, (double)s->stock_mg, 0);
		if (s->stock_ul > 1000000)
			broken("the percent solution is no more than a litre", f->name, (double)s->stock_ul, 0);
		if ((double)s->stock_mg * 100000 != (double)s->stock_ul * s->stock_percent_milli)
			broken("the percent solution is of that percent", f->name, (double)s->stock_mg,
				   (double)s->stock_ul);
	} else if (s->shown % step != 0 || llabs(s->shown - s->exact) * 2 > step) {
		broken("shown within half a step", f->name, (double)s->shown, (double)s->exact);
	}
	if (s->is_coarse != (s->kind != WET_WEIGH_STOCK && s->exact < WET_SCALE_STEPS_LEAST * step))
		broken("coarse where it is", f->name, (double)s->exact, (double)step);
	coarse += s->is_coarse;
	replaced += s->is_replaced;
	double one = 0; /* what the least step of the owned form holds */
	uint8_t named = f->ingredients[s->ingredient].form;
	if (wet_form_convert(table, s->form, named, 1, &one, NULL) != 0 ||
		wet_form_convert(table, s->form, named, (double)s->exact, &back, NULL) != 0 ||
		fabs(back - was) > 0.51 * one + 1e-9 * was)
		broken("what one form holds, the other holds", f->name, back, was);
}

static void check_list(const struct wet_formula *f, const struct wet_formula_want *want)
{
	struct wet_weigh_out list;
	char text[640];
	int64_t liquids = 0;
	int lines = 0, rc = wet_formula_compute(table, f, want, &list, NULL);
	if (rc == WET_ERR_RANGE || rc == WET_ERR_REFUSED)
		return; /* the scale would show nothing, or no room is left: told, see the unit test */
	if (rc != 0)
		broken("computes", f->name, rc, 0);
	for (int i = 0; i < list.step_count; i++) {
		const struct wet_weigh_step *s = &list.steps[i];
		wet_weigh_step_text(table, f, &list, i, text, sizeof text);
		if (strlen(text) < 8 || strlen(text) + 1 == sizeof text)
			broken("a step is a sentence", text, (double)strlen(text), 0);
		if (s->ingredient >= 0 && s->ingredient != lines++)
			broken("in the order of the formula", f->name, s->ingredient, lines);
		if (s->ingredient >= 0 && s->kind != WET_WEIGH_PINCH)
			check_step(f, want, s);
		if (s->kind == WET_WEIGH_VOLUME || s->kind == WET_WEIGH_STOCK || s->kind == WET_WEIGH_WATER)
			liquids += s->shown;
	}
	if (lines != f->ingredient_count || list.steps[0].kind != WET_WEIGH_WATER ||
		list.steps[list.step_count - 1].kind != WET_WEIGH_FILL_UP || liquids > want->make_ul)
		broken("all of it, in the volume", f->name, (double)liquids, (double)want->make_ul);
}

static void check_round_trip(void)
{
	int from = (int)between(0, table->form_count - 1), to = (int)between(0, table->form_count - 1);
	double amount = (double)between(1, 1000000000), there = -1, back = -1;
	int rc = wet_form_convert(table, from, to, amount, &there, NULL);
	bool is_same = table->forms[from].substance == table->forms[to].substance;
	if (is_same != (rc == 0) || (rc != 0 && rc != WET_ERR_REFUSED))
		broken("forms of one substance and no others", table->forms[from].key, rc, to);
	if (rc == 0 &&
		(wet_form_convert(table, to, from, there, &back, NULL) != 0 || fabs(back / amount - 1) > 1e-12))
		broken("there and back", table->forms[from].key, back, amount);
}

/* Two parts joined weigh what they weigh apart; a bracket is as often as its number says. */
static void check_masses(void)
{
	const char *a = table->forms[between(0, table->form_count - 1)].formula;
	const char *b = table->forms[between(0, table->form_count - 1)].formula;
	int n = (int)between(1, 99);
	char text[2 * WET_CHEMICAL_BYTES + 16];
	double ga, gb, g;
	wet_text_format(text, sizeof text, "%s.%d%s", a, n, b);
	if (strchr(b, '.') != NULL || (b[0] >= '0' && b[0] <= '9') || strlen(text) >= WET_CHEMICAL_BYTES)
		return;
	if (wet_molar_mass(a, &ga, NULL) != 0 || wet_molar_mass(b, &gb, NULL) != 0 ||
		wet_molar_mass(text, &g, NULL) != 0 || fabs(g / (ga + n * gb) - 1) > 1e-12)
		broken("parts add up", text, g, ga + n * gb);
	wet_text_format(text, sizeof text, "(%s)%d", b, n);
	if (strlen(text) < WET_CHEMICAL_BYTES &&
		(wet_molar_mass(text, &g, NULL) != 0 || fabs(g / (n * gb) - 1) > 1e-12))
		broken("brackets multiply", text, g, n * gb);
}

int main(int argc, char **argv)
{
	test_prop_args(argc, argv, &seed, &count);
	printf("seed %llu count %ld\n", seed, count);
	wet_random_seed(&rnd, seed);
	table = test_substances();
	for (this_case = 0; this_case < count; this_case++) {
		const struct wet_formula *f = random_formula();
		struct wet_formula_want want = random_want(f);
		check_linear(f, &want);
		check_list(f, &want);
		check_round_trip();
		check_masses();
	}
	printf("%ld percent solutions, %ld replaced, %ld coarse\n", stocks, replaced, coarse);
	return count >= 1000 && (stocks == 0 || replaced == 0 || coarse == 0);
}
