/* test_incompatibility.c: which rules are met, how severe, and what makes them worse or milder; on the shipped rules,
 * and on small ones for the machine itself. */
#include "safety_files.h"

#include <criterion/criterion.h>
#include <string.h>

#define HITS 40
#define PARTS(...)                 \
	(const struct wet_component[]) \
	{                              \
		__VA_ARGS__                \
	}

/* Grams in 100 g. */
static struct wet_component of(const char *key, double percent)
{
	return (struct wet_component){ test_hazards(key), (int32_t)(percent * 10000 + 0.5) };
}

static struct wet_thing thing(const struct wet_component *parts, int n)
{
	return (struct wet_thing){ .parts = parts, .part_count = n };
}

/* The severity of that rule among things; -1: not met. */
static int severity(const char *rule, enum wet_meeting meeting, const struct wet_thing *things, int n)
{
	struct wet_hit hits[HITS];
	int count, found = -1;
	cr_assert_eq(
		wet_incompatibilities_find(&test_safety()->incompatibilities, meeting, things, n, hits, HITS, &count),
		WET_OK);
	cr_assert_leq(count, HITS);
	for (int i = 0; i < count; i++) {
		if (strcmp(hits[i].rule->key, rule) == 0 && hits[i].severity > found)
			found = hits[i].severity;
	}
	return found;
}

static int worst(enum wet_meeting meeting, const struct wet_thing *things, int n)
{
	struct wet_hit hit;
	int count;
	cr_assert_eq(
		wet_incompatibilities_find(&test_safety()->incompatibilities, meeting, things, n, &hit, 1, &count),
		WET_OK);
	return count > 0 ? hit.severity : -1;
}

/* The severity of a rule between two things of one part each. */
static int pair(const char *rule, enum wet_meeting meeting, struct wet_component a, struct wet_component b)
{
	struct wet_thing things[2] = { thing(&a, 1), thing(&b, 1) };
	return severity(rule, meeting, things, 2);
}

/* -- overrides of the data ------------------------------------------------------------------------- */

Test(incompatibility, strength_decides)
{
	cr_expect_eq(pair("acid-sulfite", WET_MEETING_MIXING, of("acetic-acid", 28), of("sodium-sulfite", 100)),
				 WET_SEVERITY_WARN);
	cr_expect_eq(pair("acid-sulfite", WET_MEETING_MIXING, of("acetic-acid", 28.5), of("sodium-sulfite", 100)),
				 WET_SEVERITY_FORBID);
	cr_expect_eq(pair("acid-sulfite", WET_MEETING_MIXING, of("sulfuric-acid", 1), of("sodium-sulfite", 1)),
				 WET_SEVERITY_FORBID);
	cr_expect_eq(
		pair("ferri-weakacid", WET_MEETING_CARRY_OVER, of("citric-acid", 5), of("potassium-ferricyanide", 5)),
		WET_SEVERITY_WARN);
	cr_expect_eq(pair("ferri-weakacid", WET_MEETING_CARRY_OVER, of("citric-acid", 5.01),
					  of("potassium-ferricyanide", 5)),
				 WET_SEVERITY_FORBID);
	cr_expect_eq(pair("ferri-weakacid", WET_MEETING_CARRY_OVER, of("sodium-bisulfate", 1),
					  of("potassium-ferricyanide", 5)),
				 WET_SEVERITY_FORBID);
	cr_expect_eq(pair("acid-water", WET_MEETING_MIXING, of("sulfuric-acid", 5), of("sodium-sulfite", 1)), -1);
}

/* A dilute permanganate bleach: the acid is in the bath already. Crystals and strong acid stay forbidden. */
Test(incompatibility, bleach_for_reversal)
{
	struct wet_thing bath = thing(PARTS(of("potassium-permanganate", 0.2), of("sulfuric-acid", 5)), 2);
	cr_expect_eq(severity("perm-sulfuric", WET_MEETING_BATH, &bath, 1), WET_SEVERITY_WARN);
	bath.parts = PARTS(of("potassium-permanganate", 0.2), of("sulfuric-acid", 5.0001));
	cr_expect_eq(severity("perm-sulfuric", WET_MEETING_BATH, &bath, 1), WET_SEVERITY_FORBID);
	bath.parts = PARTS(of("potassium-permanganate", 0.2), of("sodium-bisulfate", 2));
	cr_expect_lt(worst(WET_MEETING_BATH, &bath, 1), WET_SEVERITY_FORBID);
}

Test(incompatibility, stop_to_fixer)
{
	struct wet_component stop = of("acetic-acid", 1.4), strong = of("acetic-acid", 2.01),
						 two = of("acetic-acid", 2);
	struct wet_component fixer[] = { of("ammonium-thiosulfate", 15), of("sodium-sulfite", 1) };
	struct wet_thing things[2] = { thing(&stop, 1), thing(fixer, 2) };
	cr_expect_eq(severity("stop-to-fix", WET_MEETING_CARRY_OVER, things, 2), WET_SEVERITY_INFORM);
	things[0].parts = &two;
	cr_expect_eq(severity("stop-to-fix", WET_MEETING_CARRY_OVER, things, 2), WET_SEVERITY_INFORM);
	things[0].parts = &strong;
	cr_expect_eq(severity("stop-to-fix", WET_MEETING_CARRY_OVER, things, 2), WET_SEVERITY_WARN);
	things[0].parts = &stop;
	things[1].part_count = 1; /* no sulfite */
	cr_expect_eq(severity("stop-to-fix", WET_MEETING_CARRY_OVER, things, 2), WET_SEVERITY_WARN);
	struct wet_component vitriol = of("sulfuric-acid", 1);
	things[0].parts = &vitriol;
	cr_expect_eq(severity("stop-to-fix", WET_MEETING_CARRY_OVER, things, 2), WET_SEVERITY_FORBID);
}

Test(incompatibility, state_decides)
{
	struct wet_component acid = of("acetic-acid", 28), sulfite = of("sodium-sulfite", 100),
						 soda = of("sodium-carbonate", 100), peroxide = of("hydrogen-peroxide", 3),
						 fixer = of("sodium-thiosulfate", 20), ferri = of("potassium-ferricyanide", 5);
	struct wet_thing things[2] = { thing(&acid, 1), thing(&sulfite, 1) };
	things[1].states = 1u << WET_STATE_DRY;
	cr_expect_eq(severity("acid-sulfite", WET_MEETING_MIXING, things, 2), WET_SEVERITY_FORBID);
	things[1] = thing(&soda, 1);
	cr_expect_eq(severity("acid-alkali-conc", WET_MEETING_MIXING, things, 2), WET_SEVERITY_WARN);
	things[1].states = 1u << WET_STATE_CLOSED;
	cr_expect_eq(severity("acid-alkali-conc", WET_MEETING_MIXING, things, 2), WET_SEVERITY_FORBID);
	things[0] = thing(&peroxide, 1);
	things[1] = thing(&fixer, 1);
	cr_expect_eq(severity("perox-stopper", WET_MEETING_SHELF, things, 2), WET_SEVERITY_WARN);
	things[1].states = 1u << WET_STATE_CLOSED; /* the other bottle */
	cr_expect_eq(severity("perox-stopper", WET_MEETING_SHELF, things, 2), WET_SEVERITY_WARN);
	things[0].states = 1u << WET_STATE_CLOSED;
	cr_expect_eq(severity("perox-stopper", WET_MEETING_SHELF, things, 2), WET_SEVERITY_FORBID);
	acid.share_ppm = 10000;
	things[0] = thing(&acid, 1);
	things[1] = thing(&ferri, 1);
	cr_expect_eq(severity("ferri-weakacid", WET_MEETING_DRAIN, things, 2), WET_SEVERITY_WARN);
	things[1].states = 1u << WET_STATE_WARM;
	cr_expect_eq(severity("ferri-weakacid", WET_MEETING_DRAIN, things, 2), WET_SEVERITY_FORBID);
}

/* -- where things meet --------------------------------------------------------------------------------- */

/* Ordinary work: develop, stop, fix, fix, rinse, aid. Nothing above a note; and each fixer is fine. */
Test(incompatibility, ordinary_process_is_quiet)
{
	struct wet_component developer[] = { of("metol", 0.1), of("sodium-sulfite", 1.5), of("hydroquinone", 0.4),
										 of("sodium-carbonate", 2.25), of("potassium-bromide", 0.06) },
						 stop[] = { of("citric-acid", 1.5) },
						 fixer[] = { of("ammonium-thiosulfate", 15), of("sodium-sulfite", 1),
									 of("acetic-acid", 1) },
						 aid[] = { of("sodium-sulfite", 2) };
	struct wet_thing process[] = { thing(developer, 5),
								   thing(stop, 1),
								   thing(fixer, 3),
								   thing(fixer, 3),
								   { .classes = WET_REACTION_BIT(WATER), .is_rinse = true },
								   thing(aid, 1) };
	cr_expect_eq(worst(WET_MEETING_CARRY_OVER, process, 6), WET_SEVERITY_INFORM);
	cr_expect_eq(worst(WET_MEETING_BATH, process, 6), -1);
	/* Developer straight into rapid fixer: ammonia. */
	struct wet_thing straight[] = { process[0], process[2] };
	cr_expect_eq(severity("ammonium-alkali", WET_MEETING_CARRY_OVER, straight, 2), WET_SEVERITY_WARN);
	/* Two fixers in a row are no news, though each could be the stop bath of the other. */
	struct wet_thing fixers[] = { process[2], process[3] };
	cr_expect_eq(severity("stop-to-fix", WET_MEETING_CARRY_OVER, fixers, 2), -1);
}

Test(incompatibility, a_rinse_ends_carry_over)
{
	struct wet_component stop = of("citric-acid", 1.5), toner = of("sodium-sulfide", 2);
	struct wet_thing process[3] = { thing(&stop, 1), thing(&toner, 1) };
	cr_expect_eq(severity("sulfide-acid", WET_MEETING_CARRY_OVER, process, 2), WET_SEVERITY_FORBID);
	process[2] = process[1];
	process[1] = (struct wet_thing){ .classes = WET_REACTION_BIT(WATER), .is_rinse = true };
	cr_expect_eq(severity("sulfide-acid", WET_MEETING_CARRY_OVER, process, 3), -1);
	process[1].classes |= WET_REACTION_BIT(SULFIDE); /* what is carried into a rinse is washed off there */
	cr_expect_eq(severity("sulfide-acid", WET_MEETING_CARRY_OVER, process, 3), -1);
	process[1].is_rinse = false;
	cr_expect_eq(severity("sulfide-acid", WET_MEETING_CARRY_OVER, process, 3), WET_SEVERITY_FORBID);
	cr_expect_eq(severity("sulfide-acid", WET_MEETING_DRAIN, process, 3), WET_SEVERITY_FORBID);
	cr_expect_eq(severity("sulfide-acid", WET_MEETING_SHELF, process, 3), WET_SEVERITY_FORBID);
}

Test(incompatibility, acid_into_water_not_water_onto_acid)
{
	struct wet_component acid = of("sulfuric-acid", 96), weak = of("sulfuric-acid", 5);
	struct wet_thing water = { .classes = WET_REACTION_BIT(WATER) };
	struct wet_thing right[2] = { water, thing(&acid, 1) }, wrong[2] = { thing(&acid, 1), water },
					 topped_up[2] = { thing(&weak, 1), water };
	cr_expect_eq(severity("acid-water", WET_MEETING_MIXING, right, 2), -1);
	cr_expect_eq(severity("acid-water", WET_MEETING_MIXING, wrong, 2), WET_SEVERITY_FORBID);
	cr_expect_eq(severity("acid-water", WET_MEETING_MIXING, topped_up, 2), WET_SEVERITY_INFORM);
}

Test(incompatibility, things_under_the_sink)
{
	struct wet_component fixer = of("sodium-thiosulfate", 20), bleach = of("sodium-hypochlorite", 5);
	struct wet_thing cleaner = { .classes = WET_REACTION_BIT(DRAIN_CLEANER) };
	struct wet_thing shelf[3] = { thing(&fixer, 1), cleaner, thing(&bleach, 1) };
	struct wet_hit hits[HITS];
	int count;
	wet_incompatibilities_find(&test_safety()->incompatibilities, WET_MEETING_SHELF, shelf, 3, hits, HITS,
							   &count);
	cr_assert_geq(count, 2);
	cr_expect_eq(hits[0].severity, WET_SEVERITY_FORBID);
	cr_expect_eq(severity("drain-cleaner", WET_MEETING_SHELF, shelf, 3), WET_SEVERITY_FORBID);
	cr_expect_eq(severity("bleach-thiosulfate", WET_MEETING_SHELF, shelf, 3), WET_SEVERITY_FORBID);
	cr_expect_gt(strlen(hits[0].rule->source), 0);
}

/* A salt that is both sides of a rule does not meet itself, nor more of itself. */
Test(incompatibility, nothing_meets_itself)
{
	struct wet_component salt[] = { of("sodium-metabisulfite", 50), of("sodium-metabisulfite", 50) };
	struct wet_thing bath = thing(salt, 2);
	cr_expect_eq(worst(WET_MEETING_BATH, &bath, 1), -1);
	struct wet_component none[] = { of("sodium-sulfide", 0), of("citric-acid", 1) };
	bath = thing(none, 2);
	cr_expect_eq(worst(WET_MEETING_BATH, &bath, 1), -1, "what is not in it does not count");
}

/* -- situations that are to be refused: from the reference the rules were written for ------------------- */

Test(incompatibility, refused)
{
	static const struct {
		const char *a, *b, *rule;
		enum wet_meeting meeting;
	} cases[] = { { "hydrochloric-acid", "potassium-ferricyanide", "ferri-acid", WET_MEETING_DRAIN },
				  { "sodium-hypochlorite", "potassium-ferricyanide", "ferri-bleach", WET_MEETING_DRAIN },
				  { "acetic-acid", "sodium-sulfide", "sulfide-acid", WET_MEETING_CARRY_OVER },
				  { "potassium-alum", "sodium-sulfide", "sulfide-acid", WET_MEETING_DRAIN },
				  { "ascorbic-acid", "sodium-sulfide", "sulfide-acid", WET_MEETING_SHELF },
				  { "hydrogen-peroxide", "thiourea", "sulfide-oxid", WET_MEETING_SHELF },
				  { "sodium-hypochlorite", "ammonium-thiosulfate", "bleach-ammonia", WET_MEETING_DRAIN },
				  { "sodium-hypochlorite", "acetic-acid", "bleach-acid", WET_MEETING_SHELF },
				  { "sodium-hypochlorite", "hydroquinone", "bleach-thiosulfate", WET_MEETING_DRAIN },
				  { "potassium-permanganate", "hydrogen-peroxide", "perm-peroxide", WET_MEETING_MIXING },
				  { "potassium-permanganate", "hydroquinone", "perm-organic", WET_MEETING_SHELF },
				  { "ammonia-solution", "silver-nitrate", "ag-ammonia", WET_MEETING_BATH },
				  { "potassium-dichromate", "citric-acid", "dichrom", WET_MEETING_BATH },
				  { "hydrogen-peroxide", "sodium-thiosulfate", "ats-chlorate", WET_MEETING_SHELF } };
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct wet_component parts[2] = { of(cases[i].a, 50), of(cases[i].b, 50) };
		struct wet_thing apart[2] = { thing(parts, 1), thing(parts + 1, 1) }, together = thing(parts, 2);
		bool is_bath = cases[i].meeting == WET_MEETING_BATH;
		cr_expect_eq(severity(cases[i].rule, cases[i].meeting, is_bath ? &together : apart, is_bath ? 1 : 2),
					 WET_SEVERITY_FORBID, "%s and %s", cases[i].a, cases[i].b);
		struct wet_thing swapped[2] = { apart[1], apart[0] };
		if (!is_bath)
			cr_expect_eq(severity(cases[i].rule, cases[i].meeting, swapped, 2), WET_SEVERITY_FORBID, "%s",
						 cases[i].b);
	}
	/* Boric acid beside sulfide is deliberately none (pKa 9.2 against 7.0). */
	cr_expect_eq(pair("sulfide-acid", WET_MEETING_SHELF, of("boric-acid", 50), of("sodium-sulfide", 50)), -1);
}

/* -- the machine ------------------------------------------------------------------------------------------- */

static struct wet_incompatibility made_rule(const char *key, uint64_t a, uint64_t b, int severity_of_it)
{
	struct wet_incompatibility r = {
		.a = a, .b = b, .severity = (uint8_t)severity_of_it, .meetings = 1u << WET_MEETING_SHELF
	};
	strcpy(r.key, key);
	return r;
}

Test(incompatibility, worst_first_and_cut_at_the_mildest)
{
	static struct wet_incompatibility_table t;
	t.count = 3;
	t.rules[0] = made_rule("note", WET_REACTION_BIT(METAL), WET_REACTION_BIT(WATER), WET_SEVERITY_INFORM);
	t.rules[1] = made_rule("warn", WET_REACTION_BIT(METAL), WET_REACTION_BIT(HEAT), WET_SEVERITY_WARN);
	t.rules[2] = made_rule("forbid", WET_REACTION_BIT(AIR), WET_REACTION_BIT(HEAT), WET_SEVERITY_FORBID);
	struct wet_thing shelf[] = { { .classes = WET_REACTION_BIT(METAL) },
								 { .classes = WET_REACTION_BIT(WATER) },
								 { .classes = WET_REACTION_BIT(HEAT) },
								 { .classes = WET_REACTION_BIT(AIR) },
								 { .classes = WET_REACTION_BIT(METAL) } };
	struct wet_hit hits[HITS];
	int count;
	wet_incompatibilities_find(&t, WET_MEETING_SHELF, shelf, 5, hits, HITS, &count);
	cr_assert_eq(count, 5);
	static const char *const keys[] = { "forbid", "warn", "warn", "note", "note" };
	for (int i = 0; i < 5; i++)
		cr_expect_str_eq(hits[i].rule->key, keys[i]);
	cr_expect(hits[1].a == 0 && hits[1].b == 2 && hits[1].a_part == -1);
	cr_expect(hits[2].a == 4 && hits[2].b == 2, "the second side comes first on the shelf");
	for (int most = 0; most < 5; most++) {
		hits[most].rule = NULL;
		wet_incompatibilities_find(&t, WET_MEETING_SHELF, shelf, 5, hits, most, &count);
		cr_expect_eq(count, 5);
		cr_expect_null(hits[most].rule, "nothing is written behind the end");
		for (int i = 0; i < most; i++)
			cr_expect_str_eq(hits[i].rule->key, keys[i]);
	}
}

Test(incompatibility, the_last_override_decides)
{
	static struct wet_incompatibility_table t;
	t.count = 1;
	t.rules[0] = made_rule("it", WET_REACTION_BIT(METAL), WET_REACTION_BIT(HEAT), WET_SEVERITY_WARN);
	t.rules[0].override_count = 2;
	t.rules[0].overrides[0] =
		(struct wet_override){ .states = 1u << WET_STATE_DRY, .to = WET_SEVERITY_FORBID };
	t.rules[0].overrides[1] =
		(struct wet_override){ .states = 1u << WET_STATE_DRY, .to = WET_SEVERITY_INFORM };
	struct wet_thing shelf[] = { { .classes = WET_REACTION_BIT(METAL) },
								 { .classes = WET_REACTION_BIT(HEAT) } };
	struct wet_hit hit;
	int count;
	wet_incompatibilities_find(&t, WET_MEETING_SHELF, shelf, 2, &hit, 1, &count);
	cr_expect_eq(hit.severity, WET_SEVERITY_WARN);
	cr_expect_null(hit.override);
	shelf[1].states = 1u << WET_STATE_DRY;
	wet_incompatibilities_find(&t, WET_MEETING_SHELF, shelf, 2, &hit, 1, &count);
	cr_expect_eq(hit.severity, WET_SEVERITY_INFORM);
	cr_expect_eq(hit.override, &t.rules[0].overrides[1]);
}

Test(incompatibility, a_table_says_something)
{
	static struct wet_incompatibility_table t;
	struct wet_fault fault = { 0 };
	t.count = 2;
	t.rules[0] = t.rules[1] =
		made_rule("it", WET_REACTION_BIT(METAL), WET_REACTION_BIT(HEAT), WET_SEVERITY_WARN);
	cr_expect_eq(wet_incompatibilities_check(&t, &fault), WET_ERR_EXISTS);
	cr_expect_str_eq(fault.where, "/incompatibilities/1/key");
	t.count = 1;
	cr_expect_eq(wet_incompatibilities_check(&t, &fault), WET_OK);
	t.rules[0].override_count = 1;
	cr_expect_eq(wet_incompatibilities_check(&t, &fault), WET_ERR_INVALID);
	t.rules[0].overrides[0].from_ppm = 20;
	cr_expect_eq(wet_incompatibilities_check(&t, &fault), WET_OK);
	t.rules[0].overrides[0].to_ppm = 10;
	cr_expect_eq(wet_incompatibilities_check(&t, &fault), WET_ERR_INVALID);
	cr_expect_str_eq(fault.where, "/incompatibilities/0/overrides/0");
	t.rules[0].override_count = 0;
	t.rules[0].b = 0;
	cr_expect_eq(wet_incompatibilities_check(&t, &fault), WET_ERR_INVALID);
}

Test(incompatibility, words)
{
	cr_expect_str_eq(wet_reaction_class_word(WET_REACTION_FERRICYANIDE), "ferricyanide");
	cr_expect_str_eq(wet_meeting_word(WET_MEETING_CARRY_OVER), "carry-over");
	cr_expect_str_eq(wet_severity_word(WET_SEVERITY_FORBID), "forbid");
	cr_expect_str_eq(wet_state_word(WET_STATE_STALE_AIR), "stale-air");
	cr_expect_str_eq(wet_reaction_class_word(WET_REACTION_N), "");
	cr_expect_str_eq(wet_meeting_word(-1), "");
}
