/* test_hazard.c: hazards against what is published: the UN's wording of the statements, the limits of CLP's tables,
 * worked examples and safety data sheets; check digits and molar masses of the shipped table.
 *
 * Limits: UN GHS Rev.7 and Regulation (EC) 1272/2008, Annex I; which of its numbers were read is said in hazard.h. The
 * table below is written from the text of the rules, not from the program's. */
#include "formula_files.h"
#include "safety_files.h"

#include <criterion/criterion.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define K(name) WET_HAZARD_##name

static struct wet_classification classify(const struct wet_component *parts, int n)
{
	struct wet_classification c;
	struct wet_fault fault = { 0 };
	struct wet_mixture mixture = { .components = parts, .component_count = n };
	cr_assert_eq(wet_mixture_classify(&mixture, &c, &fault), WET_OK, "%s %s", fault.where, fault.want);
	return c;
}

/* -- worked examples ------------------------------------------------------------------------- */

static int parse_parts(char *text, struct wet_component *parts)
{
	int n = 0;
	for (char *one = strtok(text, ","); one != NULL; one = strtok(NULL, ",")) {
		char *colon = strchr(one, ':');
		cr_assert_not_null(colon);
		*colon = '\0';
		parts[n++] = (struct wet_component){ test_hazards(one), (int32_t)strtol(colon + 1, NULL, 10) };
	}
	return n;
}

/* "a,b" in whatever order are the same as what `list` has. */
static void expect_set(const char *name, const char *expected, char list[][64], int n)
{
	int count = 0;
	char copy[400];
	snprintf(copy, sizeof copy, "%s", strcmp(expected, "-") == 0 ? "" : expected);
	for (char *one = strtok(copy, ","); one != NULL; one = strtok(NULL, ",")) {
		bool found = false;
		for (int i = 0; i < n; i++)
			found = found || strcmp(list[i], one) == 0;
		cr_expect(found, "%s: no %s", name, one);
		count++;
	}
	cr_expect_eq(count, n, "%s: %d instead of \"%s\", first %s", name, n, expected, n > 0 ? list[0] : "none");
}

static void compare_example(char **cells)
{
	struct wet_component parts[WET_MIXTURE_COMPONENTS];
	char list[64][64];
	int n = 0, count = parse_parts(cells[2], parts);
	struct wet_classification c = classify(parts, count);
	for (int i = 0; i < c.class_count; i++) {
		if (c.classes[i].is_on_label)
			snprintf(list[n++], sizeof list[0], "%s", c.classes[i].statement);
	}
	expect_set(cells[1], cells[4], list, n);
	cr_expect_str_eq(wet_signal_word(c.signal), strcmp(cells[5], "-") == 0 ? "" : cells[5], "%s", cells[1]);
	n = 0;
	for (int i = 1; i <= 9; i++) {
		if (c.pictograms >> i & 1)
			snprintf(list[n++], sizeof list[0], "GHS0%d", i);
	}
	expect_set(cells[1], cells[6], list, n);
	n = 0;
	for (int i = 0; i < c.line_count; i++)
		snprintf(list[n++], sizeof list[0], "%.7s:%.50s", c.lines[i].code,
				 parts[c.lines[i].component].substance->key);
	expect_set(cells[1], cells[7], list, n);
	if (strcmp(cells[3], "-") != 0) {
		struct wet_mixture with_ph = { .components = parts,
									   .component_count = count,
									   .has_ph = true,
									   .ph_milli = (int32_t)strtol(cells[3], NULL, 10) };
		cr_assert_eq(wet_mixture_classify(&with_ph, &c, NULL), WET_OK);
		cr_expect_eq(c.is_ph_extreme, strcmp(cells[8], "extreme") == 0, "%s: pH", cells[1]);
	}
}

Test(hazard, worked_and_published_examples)
{
	char line[1000], *cells[9];
	int rows = 0, published = 0;
	FILE *file = fopen(WET_TEST_DATA "/hazard_examples.tsv", "r");
	cr_assert_not_null(file);
	while (fgets(line, sizeof line, file) != NULL) {
		if (line[0] == '#')
			continue;
		line[strcspn(line, "\n")] = '\0';
		char *at = line;
		for (int i = 0; i < 9; i++) {
			cells[i] = at;
			at = strchr(at, '\t');
			cr_assert(i == 8 || at != NULL, "row %d", rows + 1);
			if (at != NULL)
				*at++ = '\0';
		}
		rows++;
		published += strcmp(cells[0], "worked") != 0;
		compare_example(cells);
	}
	fclose(file);
	cr_expect_geq(rows, 30);
	cr_expect_geq(published, 9);
}

/* -- limits -------------------------------------------------------------------------------------- */

/* A mixture with `ppm` of one substance of kind `from` is of kind `result`, and with one ppm less it is not, nor of a
 * severer one. */
struct boundary {
	int from, result;
	int32_t ppm;
	const char *source;
};

static const struct boundary boundaries[] = {
	{ K(SKIN_CORR_1A), K(SKIN_CORR_1A), 50000, "Table 3.2.3" },
	{ K(SKIN_CORR_1B), K(SKIN_CORR_1B), 50000, "Table 3.2.3" },
	{ K(SKIN_CORR_1C), K(SKIN_CORR_1C), 50000, "Table 3.2.3" },
	{ K(SKIN_CORR_1), K(SKIN_CORR_1), 50000, "Table 3.2.3: 5 %" },
	{ K(SKIN_CORR_1A), K(SKIN_IRRIT_2), 10000, "Table 3.2.3: 1 % and under 5 %" },
	{ K(SKIN_CORR_1), K(SKIN_IRRIT_2), 10000, "Table 3.2.3" },
	{ K(SKIN_IRRIT_2), K(SKIN_IRRIT_2), 100000, "Table 3.2.3: 10 %" },
	{ K(SKIN_CORR_1C), K(EYE_DAM_1), 30000, "Table 3.3.3: 3 %" },
	{ K(EYE_DAM_1), K(EYE_DAM_1), 30000, "Table 3.3.3: 3 %" },
	{ K(SKIN_CORR_1), K(EYE_IRRIT_2), 10000, "Table 3.3.3: 1 %" },
	{ K(EYE_DAM_1), K(EYE_IRRIT_2), 10000, "Table 3.3.3: 1 %" },
	{ K(EYE_IRRIT_2), K(EYE_IRRIT_2), 100000, "Table 3.3.3: 10 %" },
	{ K(SKIN_SENS_1A), K(SKIN_SENS_1A), 1000, "Table 3.4.5: 0.1 %" },
	{ K(SKIN_SENS_1), K(SKIN_SENS_1), 10000, "Table 3.4.5: 1 %" },
	{ K(SKIN_SENS_1B), K(SKIN_SENS_1B), 10000, "Table 3.4.5: 1 %" },
	{ K(RESP_SENS_1A), K(RESP_SENS_1A), 1000, "Table 3.4.5: 0.1 %" },
	{ K(RESP_SENS_1), K(RESP_SENS_1), 10000, "Table 3.4.5: 1 %, solids and liquids" },
	{ K(RESP_SENS_1B), K(RESP_SENS_1B), 10000, "Table 3.4.5: 1 %" },
	{ K(MUTA_1A), K(MUTA_1A), 1000, "Table 3.5.2: 0.1 %" },
	{ K(MUTA_1B), K(MUTA_1B), 1000, "Table 3.5.2" },
	{ K(MUTA_2), K(MUTA_2), 10000, "Table 3.5.2: 1 %" },
	{ K(CARC_1A), K(CARC_1A), 1000, "Table 3.6.2: 0.1 %" },
	{ K(CARC_1B), K(CARC_1B), 1000, "Table 3.6.2" },
	{ K(CARC_2), K(CARC_2), 10000, "Table 3.6.2: 1 %" },
	{ K(REPR_1A), K(REPR_1A), 3000, "Table 3.7.2: 0.3 %" },
	{ K(REPR_1B), K(REPR_1B), 3000, "Table 3.7.2" },
	{ K(REPR_2), K(REPR_2), 30000, "Table 3.7.2: 3 %" },
	{ K(LACT), K(LACT), 3000, "Table 3.7.2: 0.3 %" },
	{ K(STOT_SE_1), K(STOT_SE_1), 100000, "Table 3.8.3: 10 %" },
	{ K(STOT_SE_1), K(STOT_SE_2), 10000, "Table 3.8.3: 1 %" },
	{ K(STOT_SE_2), K(STOT_SE_2), 100000, "Table 3.8.3: 10 %" },
	{ K(STOT_SE_3), K(STOT_SE_3), 200000, "3.8.3.4.5: 20 %" },
	{ K(STOT_SE_3_DROWSY), K(STOT_SE_3_DROWSY), 200000, "3.8.3.4.5: 20 %" },
	{ K(STOT_RE_1), K(STOT_RE_1), 100000, "Table 3.9.4: 10 %" },
	{ K(STOT_RE_1), K(STOT_RE_2), 10000, "Table 3.9.4: 1 %" },
	{ K(STOT_RE_2), K(STOT_RE_2), 100000, "Table 3.9.4: 10 %" },
	{ K(ASP_1), K(ASP_1), 100000, "3.10.3.3: 10 %" },
	{ K(AQUATIC_ACUTE_1), K(AQUATIC_ACUTE_1), 250000, "Table 4.1.1: 25 %" },
	{ K(AQUATIC_CHRONIC_1), K(AQUATIC_CHRONIC_1), 250000, "Table 4.1.2: 25 %" },
	{ K(AQUATIC_CHRONIC_1), K(AQUATIC_CHRONIC_2), 25000, "Table 4.1.2: ten times" },
	{ K(AQUATIC_CHRONIC_1), K(AQUATIC_CHRONIC_3), 2500, "Table 4.1.2: a hundred times" },
	{ K(AQUATIC_CHRONIC_2), K(AQUATIC_CHRONIC_2), 250000, "Table 4.1.2: 25 %" },
	{ K(AQUATIC_CHRONIC_2), K(AQUATIC_CHRONIC_3), 25000, "Table 4.1.2: ten times" },
	{ K(AQUATIC_CHRONIC_3), K(AQUATIC_CHRONIC_3), 250000, "Table 4.1.2: 25 %" },
	{ K(AQUATIC_CHRONIC_4), K(AQUATIC_CHRONIC_4), 250000, "Table 4.1.2: 25 %" },
	/* 100 / ATE of the mixture is the sum of share / ATE: 3.1.3.6.1, with the converted estimates of Table 3.1.2. */
	{ K(ORAL_1), K(ORAL_1), 100000, "0.5 mg/kg against 5" },
	{ K(ORAL_1), K(ORAL_2), 10000, "0.5 against 50" },
	{ K(ORAL_2), K(ORAL_2), 100000, "5 against 50" },
	{ K(ORAL_2), K(ORAL_3), 16667, "5 against 300" },
	{ K(ORAL_2), K(ORAL_4), 2500, "5 against 2000" },
	{ K(ORAL_3), K(ORAL_3), 333334, "100 against 300" },
	{ K(ORAL_3), K(ORAL_4), 50000, "100 against 2000" },
	{ K(ORAL_4), K(ORAL_4), 250000, "500 against 2000" },
	{ K(DERMAL_1), K(DERMAL_1), 100000, "5 against 50" },
	{ K(DERMAL_2), K(DERMAL_2), 250000, "50 against 200" },
	{ K(DERMAL_3), K(DERMAL_3), 300000, "300 against 1000" },
	{ K(DERMAL_3), K(DERMAL_4), 150000, "300 against 2000" },
	{ K(DERMAL_4), K(DERMAL_4), 550000, "1100 against 2000" },
	{ K(INHALED_1), K(INHALED_1), 100000, "0.005 mg/L against 0.05" },
	{ K(INHALED_2), K(INHALED_2), 100000, "0.05 against 0.5" },
	{ K(INHALED_3), K(INHALED_3), 500000, "0.5 against 1" },
	{ K(INHALED_3), K(INHALED_4), 100000, "0.5 against 5" },
	{ K(INHALED_4), K(INHALED_4), 300000, "1.5 against 5" },
	/* What burns or feeds fire: only the substance itself, unless it has a limit of its own. */
	{ K(FLAM_LIQ_3), K(FLAM_LIQ_3), 1000000, "none: policy of ours" },
	{ K(OX_SOL_2), K(OX_SOL_2), 1000000, "none: policy of ours" },
	{ K(OX_LIQ_1), K(OX_LIQ_1), 1000000, "none: policy of ours" },
	{ K(MET_CORR_1), K(MET_CORR_1), 1000000, "none: policy of ours" },
};

Test(hazard, at_under_and_over_each_limit)
{
	for (size_t i = 0; i < sizeof boundaries / sizeof boundaries[0]; i++) {
		const struct boundary *b = &boundaries[i];
		struct wet_hazards s = test_made_hazard("it", b->from);
		int endpoint = wet_hazard_fact(b->result)->endpoint;
		for (int32_t by = -1; by <= 1; by++) {
			struct wet_component part = { &s, b->ppm + by };
			if (part.share_ppm > WET_PPM)
				continue;
			struct wet_classification c = classify(&part, 1);
			int kind = test_kind_of(&c, endpoint);
			if (by < 0)
				cr_expect(kind < 0 || kind > b->result, "row %zu (%s): %d ppm is %d", i, b->source,
						  part.share_ppm, kind);
			else
				cr_expect_eq(kind, b->result, "row %zu (%s): %d ppm is %d, not %d", i, b->source,
							 part.share_ppm, kind, b->result);
		}
	}
}

/* Two substances at shares a and b, and again with one ppm less of the second. */
static void expect_edge(const struct wet_hazards *x, int32_t a, const struct wet_hazards *y, int32_t b,
						int kind)
{
	int endpoint = wet_hazard_fact(kind)->endpoint;
	struct wet_component parts[2] = { { x, a }, { y, b } };
	struct wet_classification c = classify(parts, 2);
	cr_expect_eq(test_kind_of(&c, endpoint), kind, "at the limit of %s", wet_hazard_fact(kind)->title);
	parts[1].share_ppm--;
	c = classify(parts, 2);
	cr_expect_neq(test_kind_of(&c, endpoint), kind, "just under the limit of %s",
				  wet_hazard_fact(kind)->title);
}

/* "10 times the corrosive ones and the irritant ones": CLP Tables 3.2.3, 3.3.3; sums of 4.1.1 and 4.1.2. */
Test(hazard, sums_of_two)
{
	struct wet_hazards corrosive = test_made_hazard("a", K(SKIN_CORR_1B)),
					   strong = test_made_hazard("b", K(SKIN_CORR_1A)),
					   irritant = test_made_hazard("c", K(SKIN_IRRIT_2)),
					   damages = test_made_hazard("d", K(EYE_DAM_1)),
					   stings = test_made_hazard("e", K(EYE_IRRIT_2)),
					   toxic = test_made_hazard("f", K(ORAL_3)), harmful = test_made_hazard("g", K(ORAL_4)),
					   fish = test_made_hazard("h", K(AQUATIC_CHRONIC_1)),
					   fish2 = test_made_hazard("i", K(AQUATIC_CHRONIC_2)),
					   choke = test_made_hazard("j", K(STOT_SE_3)), cancer = test_made_hazard("k", K(CARC_2)),
					   cancer2 = test_made_hazard("l", K(CARC_2));
	expect_edge(&strong, 20000, &corrosive, 30000, K(SKIN_CORR_1B));
	expect_edge(&corrosive, 4000, &irritant, 60000, K(SKIN_IRRIT_2));
	expect_edge(&corrosive, 10000, &damages, 20000, K(EYE_DAM_1));
	expect_edge(&damages, 5000, &stings, 50000, K(EYE_IRRIT_2));
	expect_edge(&toxic, 25000, &harmful, 125000, K(ORAL_4)); /* 2.5/100 + 12.5/500 = 100/2000 */
	expect_edge(&fish, 10000, &fish2, 150000, K(AQUATIC_CHRONIC_2));
	expect_edge(&choke, 150000, &choke, 50000, K(STOT_SE_3)); /* the same one twice adds up */
	/* Cancer does not add up. */
	struct wet_component parts[2] = { { &cancer, 9999 }, { &cancer2, 9999 } };
	struct wet_classification c = classify(parts, 2);
	cr_expect_eq(test_kind_of(&c, WET_ENDPOINT_CARCINOGEN), -1);
	/* A category 4 below 1 % does not count: CLP Table 1.1. */
	struct wet_component small[2] = { { &toxic, 49000 }, { &harmful, 9999 } };
	c = classify(small, 2);
	cr_expect_eq(test_kind_of(&c, WET_ENDPOINT_ORAL), -1);
	small[1].share_ppm = 10000;
	c = classify(small, 2);
	cr_expect_eq(test_kind_of(&c, WET_ENDPOINT_ORAL), K(ORAL_4));
}

Test(hazard, m_factors)
{
	struct wet_hazards acute = test_made_hazard("a", K(AQUATIC_ACUTE_1)),
					   lasting = test_made_hazard("b", K(AQUATIC_CHRONIC_1)),
					   none = test_made_hazard("c", K(MUTA_2));
	acute.hazards[0].m_factor = 10;
	lasting.hazards[0].m_factor = 100;
	expect_edge(&none, 1, &acute, 25000, K(AQUATIC_ACUTE_1));
	expect_edge(&none, 1, &lasting, 2500, K(AQUATIC_CHRONIC_1));
	expect_edge(&none, 1, &lasting, 250, K(AQUATIC_CHRONIC_2));
	expect_edge(&none, 1, &lasting, 25, K(AQUATIC_CHRONIC_3));
}

/* The substance's own limits go before the general ones: at each, and one ppm under it. */
Test(hazard, own_limits)
{
	int count = 0;
	const struct wet_hazard_table *t = &test_safety()->hazards;
	for (int i = 0; i < t->substance_count; i++) {
		for (int j = 0; j < t->substances[i].limit_count; j++) {
			const struct wet_hazard_limit *limit = &t->substances[i].limits[j];
			int endpoint = wet_hazard_fact(limit->kind)->endpoint;
			struct wet_component part = { &t->substances[i], limit->from_ppm };
			struct wet_classification c = classify(&part, 1);
			cr_expect_eq(test_kind_of(&c, endpoint), limit->kind, "%s", t->substances[i].key);
			part.share_ppm--;
			c = classify(&part, 1);
			int kind = test_kind_of(&c, endpoint);
			cr_expect(kind < 0 || kind > limit->kind, "%s: %d", t->substances[i].key, kind);
			count++;
		}
	}
	cr_expect_geq(count, 20);
	/* A limit for burns is one for the eyes: NaOH from 2 % (CLP Annex VI, from memory), not from the general 3 %. */
	struct wet_hazards none = test_made_hazard("none", K(MUTA_2));
	expect_edge(&none, 1, test_hazards("sodium-hydroxide"), 20000, K(EYE_DAM_1));
	expect_edge(&none, 1, test_hazards("sulfuric-acid"), 150000, K(EYE_DAM_1));
}

/* Where sums do not tell (acids, bases, phenols): CLP Tables 3.2.4 and 3.3.4, 1 and 3 %. */
Test(hazard, what_sums_do_not_tell)
{
	struct wet_hazards burns = test_made_hazard("a", K(SKIN_CORR_1B)),
					   irritates = test_made_hazard("b", K(SKIN_IRRIT_2)),
					   damages = test_made_hazard("c", K(EYE_DAM_1)),
					   stings = test_made_hazard("d", K(EYE_IRRIT_2)),
					   none = test_made_hazard("e", K(MUTA_2));
	burns.is_not_additive = irritates.is_not_additive = damages.is_not_additive = stings.is_not_additive =
		true;
	expect_edge(&none, 1, &burns, 10000, K(SKIN_CORR_1B));
	expect_edge(&none, 1, &burns, 10000, K(EYE_DAM_1));
	expect_edge(&none, 1, &irritates, 30000, K(SKIN_IRRIT_2));
	expect_edge(&none, 1, &damages, 10000, K(EYE_DAM_1));
	expect_edge(&none, 1, &stings, 30000, K(EYE_IRRIT_2));
}

/* CLP Annex I 3.2.3.1.2: pH of 2 and less, of 11.5 and more. */
Test(hazard, extreme_ph)
{
	static const struct {
		int32_t ph_milli;
		bool is_extreme;
	} cases[] = { { 0, true },      { 1999, true },  { 2000, true },  { 2001, false }, { 7000, false },
				  { 11499, false }, { 11500, true }, { 11501, true }, { 14000, true } };
	struct wet_classification c;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct wet_mixture mixture = { .has_ph = true, .ph_milli = cases[i].ph_milli };
		cr_assert_eq(wet_mixture_classify(&mixture, &c, NULL), WET_OK);
		cr_expect_eq(c.is_ph_extreme, cases[i].is_extreme);
		cr_expect_eq(test_kind_of(&c, WET_ENDPOINT_SKIN), cases[i].is_extreme ? K(SKIN_CORR_1) : -1);
		cr_expect_eq(c.signal, cases[i].is_extreme ? WET_SIGNAL_DANGER : WET_SIGNAL_NONE);
		mixture.is_ph_known_gentle = true;
		cr_assert_eq(wet_mixture_classify(&mixture, &c, NULL), WET_OK);
		cr_expect_eq(c.class_count, 0);
	}
}

/* CLP Table 3.4.6 and Annex II 2.8: from a tenth of the limit, unless it makes the class. */
Test(hazard, elicitation)
{
	static const struct {
		int kind;
		int32_t from_ppm, to_ppm;
	} cases[] = { { K(SKIN_SENS_1), 1000, 10000 },
				  { K(SKIN_SENS_1B), 1000, 10000 },
				  { K(SKIN_SENS_1A), 100, 1000 },
				  { K(RESP_SENS_1), 1000, 10000 },
				  { K(RESP_SENS_1A), 100, 1000 } };
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct wet_hazards s = test_made_hazard("it", cases[i].kind);
		const int32_t shares[] = { cases[i].from_ppm - 1, cases[i].from_ppm, cases[i].to_ppm - 1,
								   cases[i].to_ppm };
		for (int j = 0; j < 4; j++) {
			struct wet_component part = { &s, shares[j] };
			struct wet_classification c = classify(&part, 1);
			cr_expect_eq(c.line_count, j == 1 || j == 2, "%zu at %d ppm", i, shares[j]);
			cr_expect_eq(c.class_count, j == 3);
		}
	}
}

/* GHS 3.1.3.6.2.3: beyond 10 % of unknown toxicity the known rest bears the whole. */
Test(hazard, unknown_toxicity)
{
	struct wet_hazards harmful = test_made_hazard("a", K(ORAL_4)), unknown = { .key = "b" };
	unknown.unknown_ways = 1u << WET_ACUTE_ORAL;
	struct wet_component parts[2] = { { &harmful, 200000 }, { &unknown, 100000 } };
	struct wet_classification c = classify(parts, 2);
	cr_expect_eq(c.ate_milli[WET_ACUTE_ORAL], 2500000); /* 500 mg/kg in a fifth */
	cr_expect_eq(c.unknown_ppm[WET_ACUTE_ORAL], 100000);
	cr_expect_eq(c.class_count, 0);
	parts[1].share_ppm = 200000;
	c = classify(parts, 2);
	cr_expect_eq(c.ate_milli[WET_ACUTE_ORAL], 2000000); /* (100 - 20) % / (20 % / 500) */
	cr_expect_eq(test_kind_of(&c, WET_ENDPOINT_ORAL), K(ORAL_4));
	parts[1].share_ppm = 9999;
	c = classify(parts, 2);
	cr_expect_eq(c.unknown_ppm[WET_ACUTE_ORAL], 0);
	cr_expect_eq(c.unknown_ppm[WET_ACUTE_DERMAL], 0);
}

/* An estimate of its own goes before the class's; without a class its category counts. */
Test(hazard, own_estimates)
{
	struct wet_hazards s = test_made_hazard("a", K(ORAL_4));
	s.ate_milli[WET_ACUTE_ORAL] = 302000;
	struct wet_component part = { &s, 151000 };
	struct wet_classification c = classify(&part, 1);
	cr_expect_eq(c.ate_milli[WET_ACUTE_ORAL], 2000000);
	cr_expect_eq(test_kind_of(&c, WET_ENDPOINT_ORAL), K(ORAL_4));
	part.share_ppm = 150999;
	c = classify(&part, 1);
	cr_expect_eq(test_kind_of(&c, WET_ENDPOINT_ORAL), -1);
	s.hazard_count = 0;
	part.share_ppm = WET_PPM;
	c = classify(&part, 1);
	cr_expect_eq(test_kind_of(&c, WET_ENDPOINT_ORAL), K(ORAL_4));
	s.ate_milli[WET_ACUTE_ORAL] = 2000001; /* beyond category 4 */
	c = classify(&part, 1);
	cr_expect_eq(c.class_count, 0);
}

/* -- precedence on the label: UN GHS Rev.7, 1.4.10.5.3 ------------------------------------------------ */

Test(hazard, precedence)
{
	struct wet_hazards toxic = test_made_hazard("a", K(ORAL_2)),
					   irritates = test_made_hazard("b", K(SKIN_IRRIT_2)),
					   burns = test_made_hazard("c", K(SKIN_CORR_1)),
					   allergy = test_made_hazard("d", K(SKIN_SENS_1)),
					   asthma = test_made_hazard("e", K(RESP_SENS_1)),
					   stings = test_made_hazard("f", K(EYE_IRRIT_2)),
					   damages = test_made_hazard("g", K(EYE_DAM_1)),
					   harmful = test_made_hazard("h", K(ORAL_4));
	const struct {
		const struct wet_hazards *a, *b;
		unsigned pictograms;
		int signal;
	} cases[] = {
		{ &toxic, &irritates, 1u << 6, WET_SIGNAL_DANGER },
		{ &damages, &irritates, 1u << 5, WET_SIGNAL_DANGER },
		{ &burns, &allergy, 1u << 5 | 1u << 7, WET_SIGNAL_DANGER },
		{ &burns, &harmful, 1u << 5 | 1u << 7, WET_SIGNAL_DANGER },
		{ &asthma, &allergy, 1u << 8, WET_SIGNAL_DANGER },
		{ &asthma, &stings, 1u << 8, WET_SIGNAL_DANGER },
		{ &asthma, &harmful, 1u << 7 | 1u << 8, WET_SIGNAL_DANGER },
		{ &allergy, &stings, 1u << 7, WET_SIGNAL_WARNING },
	};
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct wet_component parts[2] = { { cases[i].a, 400000 }, { cases[i].b, 400000 } };
		struct wet_classification c = classify(parts, 2);
		cr_expect_eq(c.pictograms, cases[i].pictograms, "case %zu: %x", i, c.pictograms);
		cr_expect_eq(c.signal, cases[i].signal, "case %zu", i);
	}
	struct wet_component part = { &burns, 100000 };
	struct wet_classification c = classify(&part, 1);
	cr_assert_eq(c.class_count, 2);
	cr_expect(c.classes[0].is_on_label && !c.classes[1].is_on_label);
}

/* -- the shipped data ---------------------------------------------------------------------------------- */

Test(hazard, wording_is_the_un_list)
{
	char line[600];
	int rows = 0;
	const struct wet_statement_table *t = &test_safety()->statements;
	FILE *file = fopen(WET_TEST_DATA "/ghs_statements.tsv", "r");
	cr_assert_not_null(file);
	while (fgets(line, sizeof line, file) != NULL) {
		if (line[0] == '#')
			continue;
		line[strcspn(line, "\n")] = '\0';
		char *tab = strchr(line, '\t');
		cr_assert_not_null(tab);
		*tab = '\0';
		const char *text = wet_statement_text(t, line);
		cr_expect(text != NULL && strcmp(text, tab + 1) == 0, "%s: \"%s\"", line,
				  text != NULL ? text : "none");
		rows++;
	}
	fclose(file);
	cr_expect_geq(rows, 90);
	for (int i = 0; i < WET_HAZARD_N; i++)
		cr_expect_not_null(wet_statement_text(t, wet_hazard_fact(i)->statement), "%s",
						   wet_hazard_fact(i)->word);
	for (int i = 0; i < test_safety()->hazards.substance_count; i++) {
		const struct wet_hazards *s = &test_safety()->hazards.substances[i];
		for (int j = 0; j < s->hazard_count; j++)
			cr_expect(s->hazards[j].statement[0] == '\0' ||
					  wet_statement_text(t, s->hazards[j].statement) != NULL);
		for (int j = 0; j < s->supplement_count; j++)
			cr_expect_not_null(wet_statement_text(t, s->supplements[j].code));
	}
}

/* Chemical Abstracts Service, Check Digit Verification of CAS Registry Numbers: its example is 107-07-3. */
Test(hazard, cas_numbers)
{
	static const char *const bad[] = { "",          "107-07-4",  "107-7-3", "107073",   "0107-07-3",
									   "107-07-3 ", "107-07--3", "1-07-3",  "107-07-x", "12345678-07-3" };
	cr_expect(wet_cas_is_valid("107-07-3"));
	cr_expect(wet_cas_is_valid("7732-18-5")); /* water */
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		cr_expect_not(wet_cas_is_valid(bad[i]), "%s", bad[i]);
	int count = 0;
	for (int i = 0; i < test_safety()->hazards.substance_count; i++) {
		const char *cas = test_safety()->hazards.substances[i].cas;
		cr_expect(cas[0] == '\0' || wet_cas_is_valid(cas), "%s", cas);
		count += cas[0] != '\0';
	}
	cr_expect_geq(count, 37);
}

/* Grams per mole as printed in the CRC Handbook of Chemistry and Physics and on safety data sheets (from memory). */
Test(hazard, molar_masses)
{
	static const struct {
		const char *key;
		double g_per_mol;
	} cases[] = { { "metol", 344.38 },
				  { "hydroquinone", 110.11 },
				  { "phenidone", 162.19 },
				  { "ascorbic-acid", 176.12 },
				  { "sodium-sulfite", 126.04 },
				  { "sodium-carbonate", 105.99 },
				  { "sodium-hydroxide", 40.00 },
				  { "borax", 381.37 },
				  { "sodium-metaborate", 137.86 },
				  { "potassium-bromide", 119.00 },
				  { "benzotriazole", 119.12 },
				  { "acetic-acid", 60.05 },
				  { "citric-acid", 192.12 },
				  { "sodium-metabisulfite", 190.11 },
				  { "sodium-thiosulfate", 248.18 },
				  { "ammonium-thiosulfate", 148.20 },
				  { "potassium-alum", 474.39 },
				  { "chrome-alum", 499.40 },
				  { "boric-acid", 61.83 },
				  { "potassium-ferricyanide", 329.25 },
				  { "potassium-permanganate", 158.03 },
				  { "sulfuric-acid", 98.08 },
				  { "hydrogen-peroxide", 34.01 },
				  { "potassium-dichromate", 294.18 },
				  { "sodium-sulfide", 240.18 },
				  { "thiourea", 76.12 },
				  { "sodium-selenite", 172.94 },
				  { "silver-nitrate", 169.87 },
				  { "sodium-bisulfate", 120.06 },
				  { "docusate-sodium", 444.56 } };
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		double mass = 0;
		const struct wet_hazards *s = test_hazards(cases[i].key);
		cr_expect_eq(wet_molar_mass(s->formula, &mass, NULL), WET_OK);
		cr_expect_leq(fabs(mass - cases[i].g_per_mol), 0.03, "%s: %g", s->key, mass);
	}
}

/* Each substance that formulas are made of is known here by the same key, and is one of its forms but for water. */
Test(hazard, every_substance_of_the_formulas)
{
	const struct wet_substances *t = test_substances();
	for (int i = 0; i < t->substance_count; i++) {
		const struct wet_hazards *s = wet_hazards_find(&test_safety()->hazards, t->substances[i].key);
		cr_assert_not_null(s, "%s", t->substances[i].key);
		bool found = false;
		for (int j = 0; j < t->form_count; j++) {
			double factor;
			found = found || (t->forms[j].substance == i &&
							  wet_hydrate_factor(t->forms[j].formula, s->formula, &factor, NULL) == WET_OK);
		}
		cr_expect(found, "%s: %s is none of its forms", s->key, s->formula);
		for (int kind = 0; kind < WET_ADVICE_N; kind++)
			cr_expect_gt(s->advice_count[kind], 0, "%s", s->key);
		cr_expect(s->cas[0] != '\0' && s->exposure_count > 0, "%s: no CAS number, or no limit in air", s->key);
	}
}

static void look_for_sources(const json_t *value, const json_t *sources, int *count, char used[][40])
{
	const char *name;
	json_t *inner;
	size_t i;
	json_array_foreach(value, i, inner) look_for_sources(inner, sources, count, used);
	json_object_foreach((json_t *)(uintptr_t)value, name, inner)
	{
		if (json_is_string(inner) && strcmp(name, "source") == 0) {
			const char *key = json_string_value(inner);
			cr_expect(strcmp(key, "from memory") == 0 || strcmp(key, "common practice, no source") == 0 ||
						  json_object_get(sources, key) != NULL,
					  "%s", key);
			snprintf(used[(*count)++], 40, "%s", key);
		} else if (strcmp(name, "source") == 0 && json_is_array(inner)) {
			json_t *key;
			json_array_foreach(inner, i, key) snprintf(used[(*count)++], 40, "%s", json_string_value(key));
		} else if (strcmp(name, "source") == 0) {
			const char *member;
			json_t *key;
			json_object_foreach(inner, member, key)
				snprintf(used[(*count)++], 40, "%s", json_string_value(key));
		} else {
			look_for_sources(inner, sources, count, used);
		}
	}
}

/* Every source that is named is listed, and every one that is listed is named. (The loader holds the first.) */
Test(hazard, sources_resolve)
{
	static const char *const files[] = { "substances", "incompatibilities", "statements", "gases", "practice" };
	static char used[2000][40];
	for (int f = 0; f < 5; f++) {
		char path[300];
		const char *key;
		json_t *citation;
		int count = 0;
		snprintf(path, sizeof path, WET_SOURCE_DIR "/safety/%s.json", files[f]);
		json_t *root = json_load_file(path, 0, NULL);
		cr_assert_not_null(root);
		look_for_sources(root, json_object_get(root, "sources"), &count, used);
		cr_expect_geq(count, 40);
		json_object_foreach(json_object_get(root, "sources"), key, citation)
		{
			bool found = false;
			for (int i = 0; i < count; i++)
				found = found || strcmp(used[i], key) == 0;
			cr_expect(found, "%s: nobody names %s", files[f], key);
		}
		json_decref(root);
	}
}
