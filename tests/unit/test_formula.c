/* test_formula.c: the weigh-out list, what one owns, what is too little to weigh, and the rules of the order. */
#include "wetside/formula.h"

#include "formula_files.h"

#include <criterion/criterion.h>
#include <string.h>

#define L 1000000LL /* microlitres */

static struct wet_formula_want want_of(int64_t make_ul)
{
	return (struct wet_formula_want){ .make_ul = make_ul, .scale_step_mg = 100, .measure_step_ul = 500 };
}

static struct wet_weigh_out compute(const struct wet_formula *f, const struct wet_formula_want *want)
{
	struct wet_weigh_out list;
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_formula_compute(test_substances(), f, want, &list, &fault), 0, "%s: %s: %s", f->name,
				 fault.where, fault.want);
	return list;
}

static const char *text_of(const struct wet_formula *f, const struct wet_weigh_out *list, int step)
{
	static char buf[640];
	return wet_weigh_step_text(test_substances(), f, list, step, buf, sizeof buf);
}

Test(formula, the_print_developer_is_weighed_out_in_its_order)
{
	static const char *const texts[] = {
		"500 mL of water at 52 C (126 F).",
		"A pinch of the sodium sulfite, anhydrous that comes after the next; stir until it is dissolved.",
		"3.1 g of metol.",
		"45 g of sodium sulfite, anhydrous.",
		"12 g of hydroquinone.",
		"79 g of sodium carbonate, monohydrate, in place of 67.5 g of sodium carbonate, anhydrous.",
		"19 mL of a 10 % solution of potassium bromide in water; 1.9 g is too little to weigh. For the "
		"solution: 10 g, "
		"and water to make 100 mL.",
		"Cold water to make 1 L.",
	};
	const struct wet_formula *f = test_formula("print-developer-metol-hydroquinone");
	struct wet_formula_want want = want_of(L);
	cr_assert_eq(wet_formula_own(test_substances(), f, "sodium-carbonate-monohydrate", &want, NULL), 0);
	struct wet_weigh_out list = compute(f, &want);
	cr_assert_eq(list.step_count, 8);
	for (int i = 0; i < list.step_count; i++)
		cr_expect_str_eq(text_of(f, &list, i), texts[i]);
	cr_expect_eq(list.steps[5].exact, 78973); /* 67.5 g times the ratio of molar masses, 1.16997 */
	want.scale_step_mg = 10;                  /* a better scale weighs the bromide as it is */
	list = compute(f, &want);
	cr_expect_eq(list.steps[5].shown, 78970);
	cr_expect_eq(list.steps[6].kind, WET_WEIGH_MASS);
	cr_expect_str_eq(text_of(f, &list, -1), "");
	cr_expect_str_eq(text_of(f, &list, 8), "");
}

Test(formula, names_that_people_use_are_understood)
{
	const struct wet_formula *f = test_formula("print-developer-metol-hydroquinone");
	struct wet_formula_want want = want_of(L);
	cr_assert_eq(wet_formula_own(test_substances(), f, "washing soda", &want, NULL), 0);
	cr_assert_eq(wet_formula_own(test_substances(), f, "sodium sulfite, heptahydrate", &want, NULL), 0);
	struct wet_weigh_out list = compute(f, &want);
	cr_expect_eq(list.steps[5].shown, 182200); /* processing check 33: 182.2 g */
	cr_expect_eq(list.steps[3].exact, 90024);
	cr_expect_eq(list.steps[1].form, test_form("sodium-sulfite-heptahydrate"),
				 "the pinch is of what is weighed");
}

Test(formula, what_one_cannot_own_is_told_with_the_known_forms)
{
	const struct wet_formula *f = test_formula("print-developer-metol-hydroquinone");
	static const struct {
		const char *name;
		int err;
		const char *want;
	} rows[] = {
		{ "sodium-carbonate-trihydrate", WET_ERR_NOT_FOUND,
		  "a form of sodium carbonate: sodium-carbonate-anhydrous, sodium-carbonate-monohydrate, "
		  "sodium-carbonate-decahydrate" },
		{ "potassium-carbonate-anhydrous", WET_ERR_REFUSED, "sodium-carbonate-decahydrate" },
		{ "potash", WET_ERR_REFUSED, "needed: metol, sodium-sulfite" },
		{ "borax", WET_ERR_REFUSED, "borax is not in this formula" },
		{ "moon dust", WET_ERR_NOT_FOUND, "potassium-bromide" },
		{ "", WET_ERR_NOT_FOUND, "metol" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct wet_formula_want want = want_of(L);
		struct wet_fault fault = { 0 };
		cr_expect_eq(wet_formula_own(test_substances(), f, rows[i].name, &want, &fault), rows[i].err, "%s",
					 rows[i].name);
		cr_expect(strstr(fault.want, rows[i].want), "%s: %s", rows[i].name, fault.want);
		cr_expect_eq(want.owned_count, 0);
		cr_expect_str_eq(fault.where, "own");
	}
	struct wet_formula_want want = want_of(L);
	cr_assert_eq(wet_formula_own(test_substances(), f, "washing soda", &want, NULL), 0);
	cr_expect_eq(wet_formula_own(test_substances(), f, "soda ash", &want, NULL), WET_ERR_EXISTS);
	cr_expect_eq(want.owned_count, 1);
	double untouched = -1;
	cr_expect_eq(
		wet_form_convert(test_substances(), test_form("metol"), test_form("phenidone"), 1, &untouched, NULL),
		WET_ERR_REFUSED);
	cr_expect_eq(untouched, -1);
}

Test(formula, too_little_to_weigh_becomes_a_percent_solution)
{
	const struct wet_formula *f = test_formula("ascorbate-phenidone-developer");
	struct wet_formula_want want = want_of(f->makes_ul);
	want.scale_step_mg = 50; /* 81 mg: 1 % in alcohol, 20 steps are one gram */
	struct wet_weigh_out list = compute(f, &want);
	const struct wet_weigh_step *s = &list.steps[4];
	cr_assert_eq(s->kind, WET_WEIGH_STOCK);
	cr_expect(s->stock_percent_milli == 1000 && s->stock_mg == 1000 && s->stock_ul == 100000);
	cr_expect_eq(s->shown, 8000); /* 8.1 mL on a graduate of half millilitres */
	cr_expect(strstr(text_of(f, &list, 4), "1 % solution of phenidone in alcohol"), "%s",
			  text_of(f, &list, 4));
	cr_expect(strstr(text_of(f, &list, 4), "no flame"));
	want.scale_step_mg = 100; /* a coarser scale weighs more of it for more solution */
	list = compute(f, &want);
	cr_expect(list.steps[4].stock_mg == 2000 && list.steps[4].stock_ul == 200000);
	/* A tenth of it would need two litres of a 0.1 % solution to weigh its powder well: no way out. */
	struct wet_fault fault = { 0 };
	want.make_ul = f->makes_ul / 10;
	cr_expect_eq(wet_formula_compute(test_substances(), f, &want, &list, &fault), WET_ERR_RANGE);
	cr_expect_str_eq(fault.found, "phenidone");
	want.make_ul = f->makes_ul;
	want.scale_step_mg = 1;
	list = compute(f, &want);
	cr_expect(list.steps[4].kind == WET_WEIGH_MASS && list.steps[4].shown == 81);
}

/* What spoils in solution is no percent solution: told with the volume for which the scale is good enough. */
Test(formula, what_the_scale_cannot_show_is_told)
{
	const struct wet_formula *f = test_formula("borax-developer-metol-hydroquinone");
	struct wet_formula_want want = want_of(L / 4);
	struct wet_weigh_out list = compute(f, &want), untouched = { .step_count = 77 };
	struct wet_fault fault = { 0 };
	cr_assert(list.steps[2].kind == WET_WEIGH_MASS && list.steps[2].is_coarse);
	cr_expect_eq(list.steps[2].shown, 500);
	cr_expect_eq(list.steps[2].least_make_ul, L, "%lld", (long long)list.steps[2].least_make_ul);
	cr_expect(strstr(text_of(f, &list, 2), "better make 1 L or more"), "%s", text_of(f, &list, 2));
	want.make_ul = L;
	list = compute(f, &want);
	cr_expect_not(list.steps[2].is_coarse);
	want = want_of(L / 50); /* 40 mg of metol on a scale of 0.1 g: nothing at all */
	cr_expect_eq(wet_formula_compute(test_substances(), f, &want, &untouched, &fault), WET_ERR_RANGE);
	cr_expect_eq(untouched.step_count, 77);
	cr_expect_str_eq(fault.where, "scale");
	cr_expect(strstr(fault.want, "make 1 L or more"), "%s", fault.want);
}

Test(formula, limits_of_the_question)
{
	const struct wet_formula *f = test_formula("stop-bath-acetic");
	static const struct {
		int64_t make_ul, scale_mg, measure_ul;
		const char *where;
	} rows[] = {
		{ WET_MAKE_UL_LEAST - 1, 100, 500, "make" },
		{ WET_MAKE_UL_MOST + 1, 100, 500, "make" },
		{ INT64_MIN, 100, 500, "make" },
		{ L, 0, 500, "scale" },
		{ L, 100001, 500, "scale" },
		{ L, 100, 0, "measure" },
		{ L, 100, 100001, "measure" },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct wet_formula_want want = want_of(rows[i].make_ul);
		struct wet_weigh_out list;
		struct wet_fault fault = { 0 };
		want.scale_step_mg = rows[i].scale_mg;
		want.measure_step_ul = rows[i].measure_ul;
		cr_expect_eq(wet_formula_compute(test_substances(), f, &want, &list, &fault), WET_ERR_RANGE, "row %d",
					 (int)i);
		cr_expect_str_eq(fault.where, rows[i].where);
	}
	struct wet_formula_want want = want_of(WET_MAKE_UL_MOST);
	struct wet_weigh_out list = compute(f, &want);
	cr_expect_eq(list.steps[1].exact, 48000LL * 1000);
	want = want_of(WET_MAKE_UL_LEAST); /* 0.48 mL: the graduate shows 0.5 */
	list = compute(f, &want);
	cr_expect(list.steps[1].shown == 500 && list.steps[1].is_coarse);
}

/* Liquids one owns take room from the water to begin with, and are refused where none is left. */
Test(formula, owned_liquids_leave_room_for_water)
{
	struct wet_formula f = *test_formula("fixer-rapid-acid-hardening");
	struct wet_formula_want want = want_of(L);
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_formula_own(test_substances(), &f, "ammonium-thiosulfate-60-percent", &want, NULL), 0);
	cr_assert_eq(wet_formula_own(test_substances(), &f, "acetic-acid-28-percent", &want, NULL), 0);
	struct wet_weigh_out list = compute(&f, &want);
	int64_t sum = list.steps[0].shown + list.steps[1].shown + list.steps[3].shown;
	cr_expect(list.steps[0].shown <= 600000 && sum <= L, "%lld", (long long)sum);
	f.ingredients[0].amount = 500000; /* 500 g in a litre: 630 mL of the solution */
	list = compute(&f, &want);
	sum = list.steps[0].shown + list.steps[1].shown + list.steps[3].shown;
	cr_expect(list.steps[0].shown < 350000 && sum <= L && sum > L - 10000, "%lld", (long long)sum);
	f.ingredients[0].amount = 700000;
	cr_expect_eq(wet_formula_compute(test_substances(), &f, &want, &list, &fault), WET_ERR_REFUSED);
	cr_expect(strstr(fault.want, "no room"), "%s", fault.want);
}

/* -- the order --------------------------------------------------------------------------- */

static int place_of(const struct wet_formula *f, const char *key)
{
	for (int i = 0; i < f->ingredient_count; i++) {
		if (!f->ingredients[i].is_pinch && f->ingredients[i].form == test_form(key))
			return i;
	}
	cr_assert_fail("%s", key);
	return -1;
}

/* Every order of the five: exactly those are allowed in which thiosulfate comes before both acids and alum, sulfite
 * before both acids, both acids before alum: counted by hand, thiosulfate and sulfite in either order (2), the acids
 * in either (2), alum last: 4 of 120. All must go in cool. */
Test(order, of_the_hardening_fixer)
{
	const struct wet_formula *shipped = test_formula("fixer-acid-hardening");
	struct wet_formula f = *shipped;
	int allowed = 0, all = 0;
	cr_assert_eq(f.ingredient_count, 5);
	for (int code = 0; code < 3125; code++) {
		int picks[5], rest = code;
		unsigned seen = 0;
		for (int i = 0; i < 5; i++, rest /= 5) {
			picks[i] = rest % 5;
			seen |= 1u << picks[i];
		}
		if (seen != 31)
			continue;
		for (int i = 0; i < 5; i++) {
			f.ingredients[i] = shipped->ingredients[picks[i]];
			f.ingredients[i].has_below = true;
			f.ingredients[i].below_mc = 27000;
		}
		int hypo = place_of(&f, "sodium-thiosulfate-pentahydrate"),
			sulfite = place_of(&f, "sodium-sulfite-anhydrous");
		int acetic = place_of(&f, "acetic-acid-28-percent"), boric = place_of(&f, "boric-acid");
		int alum = place_of(&f, "potassium-alum"), acid = acetic < boric ? acetic : boric;
		bool is_fine = hypo < acid && sulfite < acid && acetic < alum && boric < alum;
		struct wet_fault fault = { 0 };
		int rc = wet_formula_check(test_substances(), &f, &fault);
		cr_expect_eq(rc, is_fine ? WET_OK : WET_ERR_REFUSED, "order %d: %s", code, fault.want);
		cr_expect(is_fine || strncmp(fault.where, "/ingredients/", 13) == 0);
		allowed += rc == WET_OK;
		all++;
	}
	cr_expect(all == 120 && allowed == 4, "%d of %d", allowed, all);
}

static void expect_refused(const struct wet_formula *f, const char *where, const char *want)
{
	struct wet_fault fault = { 0 };
	cr_expect_eq(wet_formula_check(test_substances(), f, &fault), WET_ERR_REFUSED, "%s", want);
	cr_expect_str_eq(fault.where, where, "%s", want);
	cr_expect(strstr(fault.want, want), "%s", fault.want);
}

static void swap(struct wet_formula *f, int a, int b)
{
	struct wet_ingredient in = f->ingredients[a];
	f->ingredients[a] = f->ingredients[b];
	f->ingredients[b] = in;
}

static void drop(struct wet_formula *f, int line)
{
	for (int i = line; i + 1 < f->ingredient_count; i++)
		f->ingredients[i] = f->ingredients[i + 1];
	f->ingredient_count--;
}

/* Print developer: 0 pinch, 1 metol, 2 sulfite, 3 hydroquinone, 4 carbonate, 5 bromide. */
Test(order, of_a_developer)
{
	const struct wet_formula *shipped = test_formula("print-developer-metol-hydroquinone");
	struct wet_formula f = *shipped;
	drop(&f, 0);
	expect_refused(&f, "/ingredients/0/substance", "a pinch of the sulfite straight before the metol");
	f = *shipped;
	drop(&f, 2);
	expect_refused(&f, "/ingredients/0/pinch", "a pinch");
	f = *shipped;
	f.ingredients[0].form = (uint8_t)test_form("borax-decahydrate");
	expect_refused(&f, "/ingredients/0/pinch", "a pinch");
	f = *shipped;
	swap(&f, 2, 3);
	expect_refused(&f, "/ingredients/3/substance", "sulfite before hydroquinone");
	f = *shipped;
	swap(&f, 3, 4);
	expect_refused(&f, "/ingredients/4/substance", "before the alkali");
	f = *shipped;
	swap(&f, 4, 5);
	cr_expect_eq(wet_formula_check(test_substances(), &f, NULL), 0, "the bromide may come earlier");
	f = *shipped;
	f.start_mc = 20000;
	expect_refused(&f, "/start/temperature", "32 to 52 C");
	f.start_mc = 53000;
	expect_refused(&f, "/start/temperature", "32 to 52 C");
	f = *shipped;
	f.ingredient_count = 3; /* pinch, sulfite, metol: metol after what it does not dissolve in */
	swap(&f, 1, 2);
	expect_refused(&f, "/ingredients/0/pinch", "a pinch");
	f.ingredients[2] = f.ingredients[1];
	f.ingredients[1] = f.ingredients[0];
	f.ingredients[0] = f.ingredients[2];
	f.ingredients[2] = shipped->ingredients[1]; /* sulfite, pinch, metol */
	expect_refused(&f, "/ingredients/2/substance", "metol before the sulfite");
}

Test(order, what_could_hurt)
{
	struct wet_formula f = *test_formula("fixer-acid-hardening");
	f.ingredients[2].has_below = false;
	expect_refused(&f, "/ingredients/2/below", "only below 27 C");
	f.ingredients[2].has_below = true;
	f.ingredients[2].below_mc = 27001;
	expect_refused(&f, "/ingredients/2/below", "only below 27 C");
	f = *test_formula("fixer-acid-hardening");
	f.start_mc = 33001;
	expect_refused(&f, "/start/temperature", "27 C from solution");
	f = *test_formula("fixer-rapid");
	f.start_mc = 27001;
	expect_refused(&f, "/start/temperature", "27 C from solution");
	f = *test_formula("fixer-acid-hardening"); /* acid on thiosulfate without sulfite */
	drop(&f, 1);
	expect_refused(&f, "/ingredients/1/substance", "sulfite before acid in a fixer");
	f = *test_formula("fixer-acid"); /* metabisulfite, then the thiosulfate */
	swap(&f, 0, 1);
	expect_refused(&f, "/ingredients/1/substance", "thiosulfate before acid, acid sulfite and alum");
	f = *test_formula("residual-silver-test");
	f.ingredients[f.ingredient_count++] = test_formula("stop-bath-citric")->ingredients[0];
	expect_refused(&f, "/ingredients/1/substance", "no acid in a solution of sulfide");
	f = *test_formula("residual-thiosulfate-test");
	f.is_distilled = false;
	expect_refused(&f, "/start/distilled", "distilled water");
	f = *test_formula("stop-bath-acetic");
	f.ingredients[0].amount = 200000;
	f.start_ul = 199999;
	expect_refused(&f, "/start/water", "acid into at least as much water");
	f = *test_formula("ascorbate-phenidone-developer");
	f.ingredients[1].has_below = false;
	expect_refused(&f, "/ingredients/1/below", "hydroxide only below 27 C");
}

Test(order, every_rule_has_its_reason_and_source)
{
	int count = 0;
	const struct wet_order_rule *rules = wet_order_rules(&count);
	cr_assert_eq(count, 14);
	for (int i = 0; i < count; i++)
		cr_expect(rules[i].text && rules[i].why && rules[i].source && rules[i].source[0], "rule %d", i);
}

/* -- shipped ---------------------------------------------------------------------------------- */

Test(formula, each_shipped_one_is_mixed_by_an_adult_after_the_data_sheet)
{
	int count = 0;
	for (const char *const *name = test_formula_names(); *name; name++, count++) {
		const struct wet_formula *f = test_formula(*name);
		cr_expect_geq(f->caution_count, 4, "%s", *name);
		cr_expect(strstr(f->cautions[0], "an adult weighs and mixes"), "%s", *name);
		cr_expect(strstr(f->cautions[0], "safety data sheet"), "%s", *name);
		bool has_silver = true, is_fixer = strncmp(*name, "fixer", 5) == 0;
		for (int i = 0; is_fixer && i < f->caution_count; i++)
			has_silver = i == 0 ? false : has_silver || strstr(f->cautions[i], "holds silver");
		cr_expect(has_silver, "%s says nothing of silver", *name);
	}
	cr_expect_geq(count, 15);
}
