/* test_meetings.c: what other people say must not meet, and what they do every day, against the shipped rules. Where it can
 * the check uses whole published formulas, at the strength at which they are used. */
#include "formula_files.h"
#include "safety_files.h"
#include "wetside/caution.h"

#include <criterion/criterion.h>
#include <string.h>

static struct wet_contents made(const char *formula, int64_t water)
{
	struct wet_contents c;
	wet_formula_contents(&test_safety()->hazards, test_substances(), test_formula(formula), 1, water, &c);
	return c;
}

static struct wet_thing thing(const struct wet_contents *c)
{
	return (struct wet_thing){ .parts = c->components, .part_count = c->component_count };
}

static int worst(enum wet_meeting meeting, const struct wet_thing *things, int n, const char **ret_rule)
{
	struct wet_hit hit;
	int count;
	cr_assert_eq(wet_incompatibilities_find(&test_safety()->incompatibilities, meeting, things, n, &hit, 1, &count), 0);
	*ret_rule = count > 0 ? hit.rule->key : "";
	return count > 0 ? hit.severity : -1;
}

/* Baths that handbooks print hold nothing that must not be in one bath. The sources of each stand in its formula's file: US
 * Navy NAVEDTRA 14209; S. Anchell, The Darkroom Cookbook, 3rd ed., 2008; Handicraft, part 4; others from memory. */
Test(meetings, ordinary_baths)
{
	static const struct {
		const char *formula;
		int water;
	} baths[] = { { "print-developer-metol-hydroquinone", 2 },
				  { "borax-developer-metol-hydroquinone", 0 },
				  { "ascorbate-phenidone-developer", 1 },
				  { "stop-bath-acetic", 0 },
				  { "stop-bath-citric", 0 },
				  { "fixer-plain", 0 },
				  { "fixer-acid", 0 },
				  { "fixer-acid-hardening", 0 },
				  { "fixer-rapid", 4 },
				  { "fixer-rapid-acid-hardening", 0 },
				  { "clearing-bath-sulfite", 0 },
				  { "washing-aid-sulfite", 0 },
				  { "reversal-bleach-permanganate", 0 },
				  { "residual-thiosulfate-test", 0 },
				  { "residual-silver-test", 0 } };
	for (size_t i = 0; i < sizeof baths / sizeof baths[0]; i++) {
		const char *rule;
		struct wet_contents c = made(baths[i].formula, baths[i].water);
		struct wet_thing bath = thing(&c);
		cr_expect_lt(worst(WET_MEETING_BATH, &bath, 1, &rule), WET_SEVERITY_WARN, "%s: %s", baths[i].formula, rule);
	}
}

/* From bath to bath without a rinse, as US Navy NAVEDTRA 14209 (develop, stop, fix) and S. Anchell, p. 107 (two fixers) do;
 * the last four: common practice, no source. */
Test(meetings, ordinary_transitions)
{
	static const struct {
		const char *from, *to;
	} pairs[] = { { "print-developer-metol-hydroquinone", "stop-bath-acetic" },
				  { "print-developer-metol-hydroquinone", "stop-bath-citric" },
				  { "borax-developer-metol-hydroquinone", "stop-bath-acetic" },
				  { "stop-bath-acetic", "fixer-acid-hardening" },
				  { "stop-bath-acetic", "fixer-acid" },
				  { "stop-bath-citric", "fixer-rapid" },
				  { "fixer-rapid", "fixer-rapid" },
				  { "fixer-acid-hardening", "fixer-acid-hardening" },
				  { "fixer-rapid", "washing-aid-sulfite" },
				  { "fixer-acid", "washing-aid-sulfite" },
				  { "reversal-bleach-permanganate", "clearing-bath-sulfite" } };
	for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
		const char *rule;
		struct wet_contents a = made(pairs[i].from, 0), b = made(pairs[i].to, 0);
		struct wet_thing things[2] = { thing(&a), thing(&b) };
		cr_expect_lt(worst(WET_MEETING_CARRY_OVER, things, 2, &rule), WET_SEVERITY_WARN, "%s to %s: %s", pairs[i].from,
					 pairs[i].to, rule);
	}
}

/* Bottles that stand together in every darkroom: nothing is to be said of them. Common practice, no source. */
Test(meetings, ordinary_shelf)
{
	static const char *const names[] = { "print-developer-metol-hydroquinone", "borax-developer-metol-hydroquinone",
										 "stop-bath-acetic", "stop-bath-citric", "fixer-rapid", "fixer-acid-hardening",
										 "washing-aid-sulfite", "clearing-bath-sulfite", "residual-thiosulfate-test" };
	enum { N = sizeof names / sizeof names[0] };
	struct wet_contents c[N];
	struct wet_thing things[N];
	const char *rule;
	for (int i = 0; i < N; i++) {
		c[i] = made(names[i], 0);
		things[i] = thing(&c[i]);
	}
	cr_expect_lt(worst(WET_MEETING_SHELF, things, N, &rule), WET_SEVERITY_WARN, "%s", rule);
}

/* What others say must never be. `a` and `b` are substances at a share in percent, "=class" a thing that is none. */
Test(meetings, refused)
{
	static const struct {
		const char *a, *b;
		double a_percent, b_percent;
		enum wet_meeting meeting;
		const char *source;
	} cases[] = {
		{ "sulfuric-acid", "potassium-ferricyanide", 5, 5, WET_MEETING_DRAIN, "ICSC 1132, IPCS 2002" },
		{ "hydrochloric-acid", "potassium-ferricyanide", 10, 5, WET_MEETING_SHELF, "ICSC 1132, IPCS 2002" },
		{ "acetic-acid", "sodium-sulfide", 1.4, 2, WET_MEETING_CARRY_OVER, "safety data sheet of sodium sulfide, VWR 2010" },
		{ "citric-acid", "sodium-sulfide", 1.5, 2, WET_MEETING_DRAIN, "safety data sheet of sodium sulfide, VWR 2010" },
		{ "potassium-permanganate", "thiourea", 100, 100, WET_MEETING_SHELF, "ICSC 0680, IPCS 2001" },
		{ "sodium-hypochlorite", "ammonium-thiosulfate", 5, 12, WET_MEETING_DRAIN, "Washington State Department of Health" },
		{ "sodium-hypochlorite", "ammonia-solution", 5, 5, WET_MEETING_SHELF, "Washington State Department of Health" },
		{ "sodium-hypochlorite", "acetic-acid", 5, 1.4, WET_MEETING_DRAIN, "Washington State Department of Health" },
		{ "sodium-hypochlorite", "citric-acid", 5, 1.5, WET_MEETING_DRAIN, "Washington State Department of Health" },
		{ "sulfuric-acid", "potassium-permanganate", 96, 100, WET_MEETING_MIXING, "CAMEO, permanganates" },
		{ "potassium-permanganate", "acetic-acid", 100, 99, WET_MEETING_SHELF, "CAMEO, permanganates" },
		{ "potassium-permanganate", "hydroquinone", 100, 100, WET_MEETING_SHELF, "CAMEO, permanganates" },
		{ "ammonium-thiosulfate", "hydrogen-peroxide", 60, 30, WET_MEETING_SHELF, "CAMEO, ammonium thiosulfate" },
		{ "silver-nitrate", "ammonia-solution", 5, 5, WET_MEETING_SHELF, "C&EN 74(2), 8 January 1996, p. 2" },
		{ "sulfuric-acid", "=water", 96, 0, WET_MEETING_MIXING, "M. McCann, Photographic Processing Hazards" },
		{ "=hot-water", "sodium-hydroxide", 0, 100, WET_MEETING_MIXING, "ICSC 0360, IPCS 2000" },
		{ "=heat", "benzotriazole", 0, 100, WET_MEETING_MIXING, "NITE Japan, benzotriazole, FY2010" },
		{ "=drain-cleaner", "ammonium-thiosulfate", 0, 12, WET_MEETING_DRAIN, "from memory" },
		{ "potassium-permanganate", "hydrogen-peroxide", 0.1, 3, WET_MEETING_DRAIN, "from memory" },
		{ "potassium-dichromate", "sodium-sulfite", 1, 5, WET_MEETING_CARRY_OVER, "from memory" },
	};
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		const char *names[2] = { cases[i].a, cases[i].b }, *rule;
		struct wet_component parts[2];
		struct wet_thing things[2] = { { .parts = &parts[0] }, { .parts = &parts[1] } };
		for (int k = 0; k < 2; k++) {
			double percent = k == 0 ? cases[i].a_percent : cases[i].b_percent;
			if (names[k][0] == '=') {
				for (int bit = 0; bit < WET_REACTION_N; bit++)
					things[k].classes |= strcmp(wet_reaction_class_word(bit), names[k] + 1) == 0 ? UINT64_C(1) << bit : 0;
				cr_assert_neq(things[k].classes, 0);
				continue;
			}
			parts[k] = (struct wet_component){ test_hazards(names[k]), (int32_t)(percent * 10000) };
			things[k].part_count = 1;
			things[k].states = percent == 100 ? 1u << WET_STATE_DRY : 0;
		}
		cr_expect_eq(worst(cases[i].meeting, things, 2, &rule), WET_SEVERITY_FORBID, "%s and %s (%s): %s", cases[i].a,
					 cases[i].b, cases[i].source, rule);
	}
}
