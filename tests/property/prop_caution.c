/* prop_caution.c: random processes of shipped formulas and substances against the laws of what meets: worst first; nothing
 * is told twice; a rinse between two baths ends what they carry over and nothing else; a bath that nobody knows adds
 * nothing and takes nothing from the others. And of weighing out: each rule once, at a step that there is, and a published
 * list is never refused, whatever the volume.
 *   prop_caution --seed S --count N */
#include "base/random.h"

#include "formula_files.h"
#include "safety_files.h"
#include "wetside/caution.h"
#include "prop_args.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BATHS 8

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case, told, forbidden, poured;
static struct wet_recipe recipe;
static struct wet_contents contents[WET_RECIPE_BATHS];
static struct wet_process process;

static void broken(const char *law, long a, long b)
{
	printf("broken in case %ld: %s (%ld, %ld)\nagain: prop_caution --seed %llu --count %ld\n", this_case, law, a, b, seed,
		   this_case + 1);
	exit(1);
}

static int between(int low, int high)
{
	return (int)wet_random_between(&rnd, low, high);
}

static const struct wet_formula *random_formula(void)
{
	const char *const *names = test_formula_names();
	int n = 0;
	while (names[n])
		n++;
	return test_formula(names[between(0, n - 1)]);
}

static void random_contents(struct wet_contents *c)
{
	const struct wet_hazard_table *t = &test_safety()->hazards;
	if (between(0, 1) == 0) {
		wet_formula_contents(t, test_substances(), random_formula(), 1000, between(0, 9) * 1000, c);
		return;
	}
	memset(c, 0, sizeof *c);
	c->component_count = between(1, 3);
	for (int i = 0; i < c->component_count; i++)
		c->components[i] =
			(struct wet_component){ &t->substances[between(0, t->substance_count - 1)], between(1, WET_PPM / 3) };
}

static void random_process(void)
{
	memset(&recipe, 0, sizeof recipe);
	process = (struct wet_process){ .table = &test_safety()->incompatibilities,
									.recipe = &recipe,
									.is_stale_air = between(0, 1) == 0 };
	recipe.vessel_kind = (enum wet_vessel_kind)between(0, WET_VESSEL_WASHER);
	recipe.bath_count = between(2, BATHS);
	for (int i = 0; i < recipe.bath_count; i++) {
		recipe.baths[i].is_water = between(0, 5) == 0;
		if (recipe.baths[i].is_water || between(0, 5) == 0)
			continue;
		random_contents(&contents[i]);
		process.baths[i] = &contents[i];
	}
	recipe.stage_count = between(1, 12);
	for (int i = 0; i < recipe.stage_count; i++) {
		recipe.stages[i].bath = between(-1, recipe.bath_count - 1);
		recipe.stages[i].kind = WET_STAGE_TEST;
	}
}

static bool is_of(const struct wet_caution *c, const struct wet_incompatibility *rule, int a, int b)
{
	return c->rule == rule && ((c->first == a && c->then == b) || (c->first == b && c->then == a));
}

static void check_list(const struct wet_caution *cautions, int n)
{
	if (n < 0 || n > WET_CAUTIONS)
		broken("how many", n, 0);
	for (int i = 0; i < n; i++) {
		const struct wet_caution *c = &cautions[i];
		if (i > 0 && c[-1].severity < c->severity)
			broken("worst first", i, c->severity);
		for (int k = 0; k < i; k++)
			if (is_of(&cautions[k], c->rule, c->first, c->then))
				broken("told twice", k, i);
		bool is_within = c->meeting == WET_MEETING_BATH;
		if (c->first < 0 || c->first >= recipe.bath_count || c->then < 0 || c->then >= recipe.bath_count)
			broken("a bath that is none", c->first, c->then);
		if (is_within && c->first != c->then)
			broken("within one", c->first, c->then);
		if (is_within && c->severity == WET_SEVERITY_INFORM && !wet_caution_needs(c)[0])
			broken("a note about one bath without a condition", i, 0);
		if (process.baths[c->first] == NULL || process.baths[c->then] == NULL)
			broken("of a bath that nobody knows", c->first, c->then);
		told++;
		forbidden += c->severity == WET_SEVERITY_FORBID;
	}
}

/* With a rinse after every stage only what stands within single baths is left, and all of that. */
static void check_rinses(const struct wet_caution *cautions, int n)
{
	struct wet_recipe rinsed = recipe;
	struct wet_process p = process;
	struct wet_caution left[WET_CAUTIONS];
	if (n == WET_CAUTIONS)
		return; /* some may not have been told */
	p.recipe = &rinsed;
	rinsed.bath_count = recipe.bath_count + 1;
	rinsed.baths[recipe.bath_count].is_water = true;
	rinsed.stage_count = 2 * recipe.stage_count;
	for (int i = 0; i < recipe.stage_count; i++) {
		rinsed.stages[2 * i] = recipe.stages[i];
		rinsed.stages[2 * i + 1] = (struct wet_stage){ .bath = recipe.bath_count, .kind = WET_STAGE_RINSE };
	}
	int m = wet_process_cautions(&p, left), within = 0;
	for (int i = 0; i < n; i++)
		within += cautions[i].meeting == WET_MEETING_BATH;
	for (int i = 0; i < m; i++)
		if (left[i].meeting != WET_MEETING_BATH)
			broken("a rinse between", left[i].first, left[i].then);
	/* One that is met in the bath and by going from it into itself is told once, as the worse. */
	if (m < within)
		broken("a rinse changes no bath", m, within);
}

static void check_unknown(const struct wet_caution *cautions, int n)
{
	struct wet_process p = process;
	struct wet_caution fewer[WET_CAUTIONS];
	int gone = between(0, recipe.bath_count - 1);
	if (n == WET_CAUTIONS)
		return;
	p.baths[gone] = NULL;
	int m = wet_process_cautions(&p, fewer), others = 0;
	for (int i = 0; i < n; i++)
		others += cautions[i].first != gone && cautions[i].then != gone;
	if (m != others)
		broken("one bath is not known: the others meet as before", m, others);
}

static void check_pouring(void)
{
	const struct wet_formula *f = random_formula();
	struct wet_formula_want want = { .make_ul = (int64_t)between(100, 20000) * 1000,
									 .scale_step_mg = 10,
									 .measure_step_ul = 100 };
	struct wet_weigh_out list;
	struct wet_pouring p;
	if (wet_formula_compute(test_substances(), f, &want, &list, NULL) != 0)
		return;
	wet_pouring_cautions(&test_safety()->incompatibilities, &test_safety()->hazards, test_substances(), &list, &p);
	poured++;
	for (int i = 0; i < p.count; i++) {
		const struct wet_caution *c = &p.cautions[i];
		if (c->first != -1 || c->then < 1 || c->then >= list.step_count)
			broken("a step that is none", c->first, c->then);
		if (c->severity == WET_SEVERITY_FORBID)
			broken("a published list in its order is refused", c->then, (long)want.make_ul);
		for (int k = 0; k < i; k++)
			if (p.cautions[k].rule == c->rule)
				broken("a rule twice", k, i);
	}
}

int main(int argc, char **argv)
{
	test_prop_args(argc, argv, &seed, &count);
	printf("seed %llu, %ld cases\n", seed, count);
	wet_random_seed(&rnd, seed);
	for (this_case = 0; this_case < count; this_case++) {
		struct wet_caution cautions[WET_CAUTIONS];
		random_process();
		int n = wet_process_cautions(&process, cautions);
		check_list(cautions, n);
		check_rinses(cautions, n);
		check_unknown(cautions, n);
		check_pouring();
	}
	printf("%ld told, %ld of them forbidden; %ld lists poured\n", told, forbidden, poured);
	return told > 0 && forbidden > 0 && poured > 0 ? 0 : 1;
}
