/* prop_hazard.c: random mixtures of shipped and made substances against the laws of classifying: more of a component in
 * place of water never makes a class milder; water never makes one severer; the order of the components is nothing, nor
 * is one of them written in two lines; each class names a component that is there and counts, or the pH; the label's
 * signal word and pictograms are those of some class. And of meetings: the order of a shelf is nothing, one thing more
 * never makes it milder.
 *   prop_hazard --seed S --count N */
#include "base/random.h"

#include "safety_files.h"
#include "prop_args.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PARTS 8
#define HITS 200

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case, classes, severer, lines, hits_met;
static struct wet_hazards made[WET_HAZARD_N * 2];

static void broken(const char *law, const char *what, long a, long b)
{
	printf("broken in case %ld: %s: %s (%ld, %ld)\nagain: prop_hazard --seed %llu --count %ld\n", this_case,
		   law, what, a, b, seed, this_case + 1);
	exit(1);
}

static int64_t between(int64_t low, int64_t high)
{
	return wet_random_between(&rnd, low, high);
}

/* Each kind twice: as it is; and with what else a substance may have. */
static void make_substances(void)
{
	for (int i = 0; i < WET_HAZARD_N; i++) {
		char name[32];
		snprintf(name, sizeof name, "made-%d", i);
		made[2 * i] = test_made_hazard(name, i);
		snprintf(name, sizeof name, "more-%d", i);
		struct wet_hazards *s = &made[2 * i + 1];
		*s = test_made_hazard(name, i);
		s->is_not_additive = i % 2 == 0;
		s->unknown_ways = (uint8_t)(i % 8);
		if (i == WET_HAZARD_AQUATIC_ACUTE_1 || i == WET_HAZARD_AQUATIC_CHRONIC_1)
			s->hazards[0].m_factor = 1000;
		if (i >= WET_HAZARD_ORAL_1 && i <= WET_HAZARD_ORAL_4)
			s->ate_milli[WET_ACUTE_ORAL] = 777 * (i + 1);
	}
}

static const struct wet_hazards *random_substance(void)
{
	const struct wet_hazard_table *t = &test_safety()->hazards;
	if (between(0, 2) > 0)
		return &t->substances[between(0, t->substance_count - 1)];
	return &made[between(0, WET_HAZARD_N * 2 - 1)];
}

/* Shares at limits and about them are likelier than others. */
static int32_t random_share(int32_t most)
{
	static const int32_t edges[] = { 100,   250,   1000,  2500,  3000,   5000,
									 10000, 20000, 30000, 50000, 100000, 250000 };
	if (most == 0)
		return 0;
	int64_t share =
		between(0, 2) == 0 ? edges[between(0, 11)] + between(-1, 1) : between(0, between(1, most));
	return (int32_t)(share > most ? most : share);
}

/* Components that leave some water. */
static int random_parts(struct wet_component *parts)
{
	int n = (int)between(1, PARTS);
	int32_t left = WET_PPM - 1000;
	for (int i = 0; i < n; i++) {
		parts[i] = (struct wet_component){ random_substance(), random_share(left) };
		left -= parts[i].share_ppm;
	}
	return n;
}

static struct wet_classification classify(const struct wet_component *parts, int n, int32_t ph_milli)
{
	struct wet_classification c;
	struct wet_fault fault = { 0 };
	struct wet_mixture m = {
		.components = parts, .component_count = n, .has_ph = ph_milli >= 0, .ph_milli = ph_milli
	};
	int rc = wet_mixture_classify(&m, &c, &fault);
	if (rc != 0)
		broken("a mixture is classified", fault.want, rc, n);
	return c;
}

/* The kinds by endpoint; one that is not met is milder than any. */
static void kinds_of(const struct wet_classification *c, int *ret_kinds)
{
	for (int e = 0; e < WET_ENDPOINT_N; e++) {
		int kind = test_kind_of(c, e);
		ret_kinds[e] = kind < 0 ? WET_HAZARD_N : kind;
	}
}

static void check_not_milder(const char *law, const struct wet_classification *less,
							 const struct wet_classification *more)
{
	int a[WET_ENDPOINT_N], b[WET_ENDPOINT_N];
	kinds_of(less, a);
	kinds_of(more, b);
	for (int e = 0; e < WET_ENDPOINT_N; e++) {
		if (b[e] > a[e])
			broken(law, "an endpoint became milder", a[e], b[e]);
		severer += b[e] < a[e];
	}
	if (more->signal < less->signal)
		broken(law, "the signal word became milder", less->signal, more->signal);
}

static void check_more(const struct wet_component *parts, int n, const struct wet_classification *c)
{
	struct wet_component more[PARTS];
	int at = (int)between(0, n - 1);
	int32_t water = WET_PPM;
	memcpy(more, parts, sizeof more);
	for (int i = 0; i < n; i++)
		water -= parts[i].share_ppm;
	more[at].share_ppm += (int32_t)between(0, water);
	struct wet_classification severer_one = classify(more, n, -1);
	check_not_milder("more in place of water", c, &severer_one);
}

static void check_dilution(const struct wet_component *parts, int n, const struct wet_classification *c)
{
	struct wet_component less[PARTS];
	int64_t part = between(1, 1000000);
	memcpy(less, parts, sizeof less);
	for (int i = 0; i < n; i++)
		less[i].share_ppm = (int32_t)(parts[i].share_ppm * part / 1000000);
	struct wet_classification diluted = classify(less, n, -1);
	check_not_milder("dilution", &diluted, c);
	for (int way = 0; way < WET_ACUTE_N; way++) {
		if (diluted.ate_milli[way] != 0 && diluted.ate_milli[way] < c->ate_milli[way])
			broken("dilution", "an estimate became smaller", (long)c->ate_milli[way],
				   (long)diluted.ate_milli[way]);
	}
}

static void check_same(const char *law, const struct wet_classification *a,
					   const struct wet_classification *b)
{
	int x[WET_ENDPOINT_N], y[WET_ENDPOINT_N];
	kinds_of(a, x);
	kinds_of(b, y);
	if (memcmp(x, y, sizeof x) != 0 || a->class_count != b->class_count)
		broken(law, "other classes", a->class_count, b->class_count);
	if (a->signal != b->signal || a->pictograms != b->pictograms || a->line_count != b->line_count)
		broken(law, "another label", a->pictograms, b->pictograms);
	for (int i = 0; i < a->class_count; i++) {
		if (strcmp(a->classes[i].statement, b->classes[i].statement) != 0)
			broken(law, "another statement", i, a->classes[i].kind);
	}
	if (memcmp(a->ate_milli, b->ate_milli, sizeof a->ate_milli) != 0)
		broken(law, "another estimate", (long)a->ate_milli[0], (long)b->ate_milli[0]);
}

static void check_order(const struct wet_component *parts, int n, const struct wet_classification *c)
{
	struct wet_component other[PARTS + 1];
	memcpy(other, parts, PARTS * sizeof parts[0]);
	for (int i = n - 1; i > 0; i--) {
		int j = (int)between(0, i);
		struct wet_component swapped = other[i];
		other[i] = other[j];
		other[j] = swapped;
	}
	struct wet_classification turned = classify(other, n, -1);
	check_same("order", c, &turned);
	/* One of them in two lines. */
	int at = (int)between(0, n - 1);
	other[n] = other[at];
	other[n].share_ppm = (int32_t)between(0, other[at].share_ppm);
	other[at].share_ppm -= other[n].share_ppm;
	struct wet_classification split = classify(other, n + 1, -1);
	check_same("two lines", c, &split);
}

static void check_explanation(const struct wet_component *parts, int n, int32_t ph_milli)
{
	char why[400];
	unsigned pictograms = 0;
	int signal = WET_SIGNAL_NONE;
	struct wet_classification c = classify(parts, n, ph_milli);
	struct wet_mixture m = { .components = parts, .component_count = n };
	for (int i = 0; i < c.class_count; i++) {
		const struct wet_mixture_class *k = &c.classes[i];
		const struct wet_hazard_fact *fact = wet_hazard_fact(k->kind);
		bool is_ph = k->rule == WET_HAZARD_RULE_EXTREME_PH;
		if (is_ph != (k->component < 0) || k->component >= n)
			broken("a class names what made it", fact->title, k->component, n);
		if (!is_ph && ((k->components >> k->component & 1) == 0 || parts[k->component].share_ppm == 0))
			broken("what made a class counts and is there", fact->title, k->component, k->components);
		if ((k->components >> n) != 0)
			broken("only components count", fact->title, k->components, n);
		wet_mixture_class_why(&m, k, why, sizeof why);
		if (!is_ph && strstr(why, parts[k->component].substance->name) == NULL)
			broken("the sentence names it", why, k->component, 0);
		if (fact->pictogram != 0)
			pictograms |= 1u << fact->pictogram;
		signal = fact->signal > signal ? fact->signal : signal;
		classes++;
	}
	if ((c.pictograms & ~pictograms) != 0 || c.signal != signal)
		broken("a label says what is", "pictograms", c.pictograms, (long)pictograms);
	for (int i = 0; i < c.line_count; i++) {
		if (c.lines[i].component < 0 || c.lines[i].component >= n)
			broken("a line names a component", c.lines[i].code, c.lines[i].component, n);
	}
	lines += c.line_count;
}

/* -- meetings --------------------------------------------------------------------------------------- */

static int meet(enum wet_meeting meeting, const struct wet_thing *things, int n, int *ret_worst)
{
	static struct wet_hit hits[HITS];
	int met;
	wet_incompatibilities_find(&test_safety()->incompatibilities, meeting, things, n, hits, HITS, &met);
	if (met > HITS)
		broken("there is room", "hits", met, HITS);
	for (int i = 0; i < met; i++) {
		if (i > 0 && hits[i].severity > hits[i - 1].severity)
			broken("worst first", hits[i].rule->key, i, met);
		if (hits[i].a < 0 || hits[i].a >= n || hits[i].b < 0 || hits[i].b >= n || hits[i].a == hits[i].b)
			broken("a hit names two things", hits[i].rule->key, hits[i].a, hits[i].b);
	}
	*ret_worst = met > 0 ? hits[0].severity : -1;
	hits_met += met;
	return met;
}

static void check_shelf(void)
{
	enum wet_meeting meeting = between(0, 1) ? WET_MEETING_SHELF : WET_MEETING_DRAIN;
	struct wet_component parts[6][PARTS];
	struct wet_thing things[6], turned[6];
	int worst, other, n = (int)between(2, 6);
	for (int i = 0; i < n; i++) {
		int part_count = random_parts(parts[i]);
		things[i] =
			(struct wet_thing){ .parts = parts[i],
								.part_count = part_count,
								.classes =
									between(0, 5) == 0 ? UINT64_C(1) << between(0, WET_REACTION_N - 1) : 0,
								.states = (uint8_t)between(0, 15) };
	}
	for (int i = 0; i < n; i++)
		turned[n - 1 - i] = things[i];
	int met = meet(meeting, things, n, &worst);
	if (meet(meeting, turned, n, &other) != met || other != worst)
		broken("the order of a shelf", "other hits", worst, other);
	if (meet(meeting, things, n - 1, &other) > met || other > worst)
		broken("one thing less", "is worse", worst, other);
}

static void one_case(void)
{
	struct wet_component parts[PARTS + 1];
	int n = random_parts(parts);
	struct wet_classification c = classify(parts, n, -1);
	check_more(parts, n, &c);
	check_dilution(parts, n, &c);
	check_order(parts, n, &c);
	check_explanation(parts, n, between(0, 3) == 0 ? (int32_t)between(0, 14000) : -1);
	check_shelf();
}

int main(int argc, char **argv)
{
	test_prop_args(argc, argv, &seed, &count);
	wet_random_seed(&rnd, seed);
	make_substances();
	for (this_case = 0; this_case < count; this_case++)
		one_case();
	printf("seed %llu: %ld mixtures, %ld classes, %ld severer with more, %ld lines, %ld meetings\n", seed,
		   count, classes, severer, lines, hits_met);
	return classes > count && severer > count / 2 && lines > count / 10 && hits_met > count ? 0 : 1;
}
