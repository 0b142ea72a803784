/* test_caution.c: what is met in a process, in a vessel in which something is mixed, and down a drain; on the shipped
 * rules, formulas and recipes. */
#include "formula_files.h"
#include "safety_files.h"
#include "shelf/shelf.h"
#include "wetside/caution.h"

#include <criterion/criterion.h>
#include <string.h>

/* -- processes ------------------------------------------------------------------------- */

/* A recipe of baths from formulas, in trays; "" is a rinse, "?" a bath that nobody knows. */
struct made {
	struct wet_recipe recipe;
	struct wet_contents contents[WET_RECIPE_BATHS];
	struct wet_process process;
	struct wet_caution cautions[WET_CAUTIONS];
	int count;
};

static void make(struct made *m, const char *const *froms)
{
	memset(m, 0, sizeof *m);
	m->recipe.vessel_kind = WET_VESSEL_TRAYS;
	m->process.table = &test_safety()->incompatibilities;
	m->process.recipe = &m->recipe;
	for (int i = 0; froms[i]; i++) {
		struct wet_stage *s = &m->recipe.stages[m->recipe.stage_count++];
		m->recipe.bath_count++;
		s->bath = i;
		s->kind = froms[i][0] ? WET_STAGE_TEST : WET_STAGE_RINSE;
		m->recipe.baths[i].is_water = !froms[i][0];
		if (!froms[i][0] || froms[i][0] == '?')
			continue;
		wet_formula_contents(&test_safety()->hazards, test_substances(), test_formula(froms[i]), 1, 0, &m->contents[i]);
		m->process.baths[i] = &m->contents[i];
	}
	m->count = wet_process_cautions(&m->process, m->cautions);
}
#define MAKE(m, ...) make(m, (const char *const[]){ __VA_ARGS__, NULL })

static const struct wet_caution *find(const struct made *m, const char *rule)
{
	for (int i = 0; i < m->count; i++)
		if (strcmp(m->cautions[i].rule->key, rule) == 0)
			return &m->cautions[i];
	return NULL;
}

Test(caution, a_rinse_between_ends_it)
{
	static struct made m;
	MAKE(&m, "stop-bath-citric", "residual-silver-test");
	const struct wet_caution *c = find(&m, "sulfide-acid");
	cr_assert_not_null(c);
	cr_expect(c == &m.cautions[0] && c->severity == WET_SEVERITY_FORBID, "worst first");
	cr_expect(c->first == 0 && c->then == 1 && c->meeting == WET_MEETING_CARRY_OVER);
	MAKE(&m, "stop-bath-citric", "", "residual-silver-test");
	cr_expect_null(find(&m, "sulfide-acid"));
	MAKE(&m, "residual-silver-test", "stop-bath-citric"); /* the print goes the other way */
	c = find(&m, "sulfide-acid");
	cr_assert_not_null(c);
	cr_expect(c->first == 0 && c->then == 1, "as the process goes");
}

Test(caution, what_nobody_knows_meets_nothing)
{
	static struct made m;
	MAKE(&m, "stop-bath-citric", "?", "residual-silver-test");
	cr_expect_eq(m.count, 0);
}

Test(caution, twice_in_a_process_is_told_once)
{
	static struct made m;
	MAKE(&m, "print-developer-metol-hydroquinone", "stop-bath-citric", "fixer-rapid");
	cr_assert_eq(m.count, 2);
	m.recipe.stages[3] = m.recipe.stages[0];
	m.recipe.stages[4] = m.recipe.stages[1];
	m.recipe.stages[5] = m.recipe.stages[2];
	m.recipe.stage_count = 6;
	m.count = wet_process_cautions(&m.process, m.cautions);
	/* ... but from the fixer back into the developer is another thing: ammonia. */
	cr_assert_eq(m.count, 3);
	cr_expect_str_eq(m.cautions[0].rule->key, "ammonium-alkali");
	cr_expect_eq(m.cautions[0].severity, WET_SEVERITY_WARN);
	cr_expect(m.cautions[0].first == 2 && m.cautions[0].then == 0, "the order in which it comes");
}

Test(caution, a_lamp_or_a_look_is_no_rinse)
{
	static struct made m;
	MAKE(&m, "stop-bath-citric", "?", "residual-silver-test");
	m.recipe.stages[1].bath = -1;
	m.recipe.stages[1].kind = WET_STAGE_RE_EXPOSE;
	m.count = wet_process_cautions(&m.process, m.cautions);
	cr_expect_not_null(find(&m, "sulfide-acid"));
}

Test(caution, stale_air_over_open_trays)
{
	static struct made m;
	MAKE(&m, "print-developer-metol-hydroquinone", "stop-bath-citric");
	cr_expect_eq(find(&m, "stop-to-dev")->severity, WET_SEVERITY_INFORM);
	m.process.is_stale_air = true;
	m.count = wet_process_cautions(&m.process, m.cautions);
	cr_expect_eq(find(&m, "stop-to-dev")->severity, WET_SEVERITY_WARN);
	m.recipe.vessel_kind = WET_VESSEL_CLOSED_TANK;
	m.count = wet_process_cautions(&m.process, m.cautions);
	cr_expect_eq(find(&m, "stop-to-dev")->severity, WET_SEVERITY_INFORM, "a lid is on it");
}

/* -- the tree ------------------------------------------------------------------------------ */

static struct wet_shelf *shelf;
static const struct wet_formulary *formulary;

static void open_tree(void)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const notes[] = {
		WET_SOURCE_DIR "/safety", NULL
	};
	cr_assert_eq(wet_shelf_open(&shelf, recipes, notes), 0);
	cr_assert_gt(wet_shelf_count(shelf), 10);
	formulary = wet_shelf_formulary(shelf);
}

static void close_tree(void)
{
	wet_shelf_free(shelf);
}

/* Normal practice is no incident: no recipe of the tree warns, in air that is changed; none is forbidden. */
Test(caution, no_false_alarm_in_the_tree, .init = open_tree, .fini = close_tree)
{
	int told = 0;
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_shelf_recipe *r = wet_shelf_at(shelf, i);
		cr_expect_str_eq(r->judged.forbidden, "", "%s", r->recipe.name);
		cr_expect_null(r->judged.refused, "%s", r->recipe.name);
		told += r->judged.caution_count;
		for (int k = 0; k < r->judged.caution_count; k++)
			cr_expect_eq(r->judged.cautions[k].severity, WET_SEVERITY_INFORM, "%s: %s", r->recipe.name,
						 r->judged.cautions[k].rule->key);
		if (!r->recipe.is_test)
			cr_expect_eq(r->judged.unknown, 0, "%s", r->recipe.name);
	}
	cr_expect_gt(told, 0);
}

/* The bleach of the reversal passes, and its condition is told. */
Test(caution, reversal_passes_with_its_condition, .init = open_tree, .fini = close_tree)
{
	const struct wet_shelf_recipe *r = wet_shelf_find(shelf, "reversal-resin-coated-trays");
	const struct wet_caution *c = &r->judged.cautions[0];
	char line[WET_CAUTION_BYTES];
	cr_assert_str_eq(c->rule->key, "perm-sulfuric");
	wet_recipe_caution_line(&r->recipe, c, line, sizeof line);
	cr_expect_not_null(strstr(line, "Note: Bleach. Only so: the bisulfate dissolved first"), "%s", line);
}

/* The same process without its rinses is told so; with a sulfide after an acid it is forbidden. */
Test(caution, reversal_without_rinses, .init = open_tree, .fini = close_tree)
{
	struct wet_recipe r = wet_shelf_find(shelf, "reversal-resin-coated-trays")->recipe;
	struct wet_judgement j;
	int n = 0;
	for (int i = 0; i < r.stage_count; i++)
		if (r.stages[i].kind != WET_STAGE_RINSE)
			r.stages[n++] = r.stages[i];
	r.stage_count = n;
	wet_judge_recipe(&r, formulary, test_safety(), false, &j);
	cr_assert_gt(j.caution_count, 0);
	/* 0.1 % of permanganate on a print: told, no more (CAMEO: what is dangerous are the solid and concentrates). */
	bool is_told = false;
	for (int i = 0; i < j.caution_count; i++)
		is_told |= strcmp(j.cautions[i].rule->key, "perm-organic") == 0 && wet_caution_needs(&j.cautions[i])[0];
	cr_expect(is_told);
	cr_expect_str_eq(j.forbidden, "");
	/* A sulfide in the bleach's place, after the developer and before the clearing bath, does nothing; acid before it does. */
	for (int i = 0; i < r.bath_count; i++)
		if (strcmp(r.baths[i].key, "developer") == 0)
			strcpy(r.baths[i].mix.from, "stop-bath-citric");
		else if (strcmp(r.baths[i].key, "bleach") == 0)
			strcpy(r.baths[i].mix.from, "residual-silver-test");
	wet_judge_recipe(&r, formulary, test_safety(), false, &j);
	cr_expect_eq(j.cautions[0].severity, WET_SEVERITY_FORBID);
	cr_expect_not_null(strstr(j.forbidden, "Developer to Bleach gives hydrogen sulfide"), "%s", j.forbidden);
}

/* -- weighing out ------------------------------------------------------------------------------ */

static struct wet_pouring pour(const struct wet_formula *f, const char *owned, int64_t make_ul)
{
	struct wet_formula_want want = { .make_ul = make_ul, .scale_step_mg = 10, .measure_step_ul = 100 };
	struct wet_weigh_out list;
	struct wet_fault fault = { 0 };
	struct wet_pouring p;
	if (owned)
		want.owned[want.owned_count++] = (uint8_t)test_form(owned);
	cr_assert_eq(wet_formula_compute(test_substances(), f, &want, &list, &fault), 0, "%s", fault.want);
	wet_pouring_cautions(&test_safety()->incompatibilities, &test_safety()->hazards, test_substances(), &list, &p);
	return p;
}

static int severity_in(const struct wet_pouring *p, const char *rule, int *ret_step)
{
	for (int i = 0; i < p->count; i++)
		if (strcmp(p->cautions[i].rule->key, rule) == 0) {
			*ret_step = p->cautions[i].then;
			return p->cautions[i].severity;
		}
	return -1;
}

/* Published lists in their printed order are never refused, at any volume. */
Test(caution, every_formula_can_be_poured)
{
	const char *const *names = test_formula_names();
	for (int i = 0; names[i]; i++)
		for (int64_t make = 500000; make <= 20000000; make *= 10) {
			struct wet_pouring p = pour(test_formula(names[i]), NULL, make);
			cr_expect(p.count == 0 || p.cautions[0].severity < WET_SEVERITY_FORBID, "%s: %s", names[i],
					  p.cautions[0].rule->key);
		}
}

/* 28 % acid goes in last; glacial acid is made 28 % first. S. Anchell, The Darkroom Cookbook, 3rd ed., 2008, p. 268. */
Test(caution, acid_into_a_fixer)
{
	int step = -1;
	struct wet_pouring p = pour(test_formula("fixer-acid-hardening"), NULL, 1000000);
	cr_expect_eq(severity_in(&p, "acid-sulfite", &step), WET_SEVERITY_WARN);
	cr_expect_eq(step, 3, "told where the acid is poured");
	cr_expect_not(p.is_diluted[3]);
	p = pour(test_formula("fixer-acid-hardening"), "acetic-acid-glacial", 1000000);
	cr_expect(p.is_diluted[3]);
	cr_expect_eq(severity_in(&p, "acid-sulfite", &step), WET_SEVERITY_WARN);
	/* Metabisulfite is acid salt and sulfite in one: it is poured in as the acid. */
	p = pour(test_formula("fixer-acid"), NULL, 1000000);
	cr_expect_eq(severity_in(&p, "acid-thiosulfate", &step), WET_SEVERITY_WARN);
	cr_expect_eq(step, 2);
	/* Without the sulfite the acid destroys the hypo. */
	struct wet_formula bad = *test_formula("fixer-acid-hardening");
	bad.ingredients[1] = bad.ingredients[2];
	bad.ingredient_count = 2;
	p = pour(&bad, NULL, 1000000);
	cr_expect_eq(severity_in(&p, "acid-thiosulfate", &step), WET_SEVERITY_FORBID);
	cr_expect_eq(step, 2);
}

Test(caution, the_order_of_the_bleach)
{
	int step = -1;
	struct wet_formula f = *test_formula("reversal-bleach-permanganate");
	struct wet_pouring p = pour(&f, NULL, 1000000);
	cr_expect_eq(severity_in(&p, "perm-sulfuric", &step), WET_SEVERITY_INFORM);
	cr_expect_gt(strlen(wet_caution_needs(&p.cautions[0])), 0);
	struct wet_ingredient first = f.ingredients[0];
	f.ingredients[0] = f.ingredients[1];
	f.ingredients[1] = first; /* the acid salt onto permanganate */
	p = pour(&f, NULL, 10000000);
	cr_expect_eq(severity_in(&p, "perm-sulfuric", &step), WET_SEVERITY_FORBID);
	cr_expect_eq(step, 2);
}

Test(caution, caustic_soda_in_hot_water)
{
	int step = -1;
	struct wet_formula f = *test_formula("ascorbate-phenidone-developer");
	struct wet_pouring p = pour(&f, NULL, 1000000);
	cr_expect_lt(severity_in(&p, "lye-water", &step), 0);
	f.start_mc = WET_POUR_HOT_MC;
	p = pour(&f, NULL, 1000000); /* it waits until the water has cooled */
	cr_expect_lt(severity_in(&p, "lye-water", &step), 0);
	f.ingredients[1].has_below = false;
	p = pour(&f, NULL, 1000000);
	cr_expect_eq(severity_in(&p, "lye-water", &step), WET_SEVERITY_FORBID);
	cr_expect_eq(step, 2);
	f.start_mc = WET_POUR_HOT_MC - 1;
	p = pour(&f, NULL, 1000000);
	cr_expect_lt(severity_in(&p, "lye-water", &step), 0);
}

Test(caution, powders_that_harm_are_told_at_their_line)
{
	struct wet_pouring p = pour(test_formula("print-developer-metol-hydroquinone"), NULL, 1000000);
	cr_expect(p.is_dust[2], "metol: an allergy of the skin");
	cr_expect_not(p.is_dust[3], "sulfite");
	cr_expect(p.is_dust[4], "hydroquinone");
	p = pour(test_formula("stop-bath-acetic"), NULL, 1000000);
	for (int i = 0; i < WET_WEIGH_STEPS; i++)
		cr_expect_not(p.is_dust[i]);
}

/* -- drains ------------------------------------------------------------------------------------ */

Test(caution, down_one_drain)
{
	static const char *const names[] = { "print-developer-metol-hydroquinone", "stop-bath-citric", "washing-aid-sulfite",
										 "residual-silver-test" };
	struct wet_contents c[4];
	struct wet_thing things[4];
	struct wet_caution cautions[WET_CAUTIONS];
	for (int i = 0; i < 4; i++) {
		wet_formula_contents(&test_safety()->hazards, test_substances(), test_formula(names[i]), 1, 0, &c[i]);
		things[i] = (struct wet_thing){ .parts = c[i].components, .part_count = c[i].component_count };
	}
	int n = wet_cautions_among(&test_safety()->incompatibilities, WET_MEETING_DRAIN, things, 3, cautions);
	cr_assert_eq(n, 2, "the stop bath with each of the other two");
	for (int i = 0; i < n; i++)
		cr_expect(cautions[i].severity == WET_SEVERITY_WARN && strcmp(cautions[i].rule->key, "acid-sulfite") == 0);
	cr_expect(cautions[0].first == 0 && cautions[0].then == 1 && cautions[1].first == 1 && cautions[1].then == 2);
	n = wet_cautions_among(&test_safety()->incompatibilities, WET_MEETING_DRAIN, things, 4, cautions);
	cr_assert_gt(n, 2);
	cr_expect(cautions[0].severity == WET_SEVERITY_FORBID && cautions[0].first == 1 && cautions[0].then == 3);
}
