/* test_gas.c: the gases against what is published, and every gas that a rule sets free has its entry.
 *
 * Molar masses: CRC Handbook of Chemistry and Physics (from memory). Limits: NIOSH, Documentation for Immediately
 * Dangerous to Life or Health Concentrations (sulfur dioxide, hydrogen cyanide, hydrogen sulfide, ammonia, quinone);
 * the others from the NIOSH Pocket Guide (from memory). */
#include "safety_files.h"

#include <criterion/criterion.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

static const struct {
	const char *key, *formula_name, *idlh;
	double g_per_mol;
} known[] = {
	{ "sulfur-dioxide", "SO2", "100 ppm", 64.06 },    { "hydrogen-cyanide", "HCN", "50 ppm", 27.03 },
	{ "hydrogen-sulfide", "H2S", "100 ppm", 34.08 },  { "ammonia", "NH3", "300 ppm", 17.03 },
	{ "chlorine", "Cl2", "10 ppm", 70.91 },           { "chloramine", "NH2Cl", NULL, 51.48 },
	{ "cyanogen-chloride", "ClCN", NULL, 61.47 },     { "oxygen", "O2", NULL, 32.00 },
	{ "carbon-dioxide", "CO2", "40000 ppm", 44.01 },  { "hydrogen", "H2", NULL, 2.016 },
	{ "bromine", "Br2", "3 ppm", 159.81 },            { "hydrogen-selenide", "H2Se", "1 ppm", 80.98 },
	{ "quinone-vapour", "C6H4O2", "100 mg/m3", 108.10 },
};

Test(gas, each_is_known_with_its_limit)
{
	const struct wet_gas_table *t = &test_safety()->gases;
	cr_assert_eq(t->count, (int)(sizeof known / sizeof known[0]));
	for (int i = 0; i < t->count; i++) {
		double mass = 0;
		const char *idlh = NULL;
		const struct wet_gas *g = wet_gas_find(t, known[i].key);
		cr_assert_not_null(g, "%s", known[i].key);
		cr_expect(wet_gas_find(t, known[i].formula_name) == g && wet_gas_find(t, g->cas) == g);
		cr_expect(wet_cas_is_valid(g->cas));
		cr_expect_eq(wet_molar_mass(g->formula, &mass, NULL), WET_OK);
		cr_expect_leq(fabs(mass - known[i].g_per_mol), 0.02, "%s: %g", g->key, mass);
		for (int j = 0; j < g->exposure_count; j++)
			if (strcmp(g->exposures[j].who, "IDLH") == 0)
				idlh = g->exposures[j].limit;
		cr_expect_eq(idlh != NULL, known[i].idlh != NULL, "%s", g->key);
		cr_expect(idlh == NULL || strcmp(idlh, known[i].idlh) == 0, "%s: %s", g->key, idlh);
		for (int j = 0; j < g->statement_count; j++)
			cr_expect_not_null(wet_statement_text(&test_safety()->statements, g->statements[j]), "%s",
							   g->statements[j]);
	}
	cr_expect_null(wet_gas_find(t, "creek mist"));
	cr_expect_null(wet_gas_find(t, ""));
}

/* Is `word` in the text, with no letter or digit before or behind it? Small and capital letters are the same. */
static bool has_word(const char *text, const char *word)
{
	size_t n = strlen(word);
	for (const char *at = text; *at != '\0'; at++) {
		if (strncasecmp(at, word, n) == 0 && (at == text || !isalnum((unsigned char)at[-1])) &&
			!isalnum((unsigned char)at[n]))
			return true;
	}
	return false;
}

static bool names_gas(const struct wet_incompatibility *rule, const char *key)
{
	for (int i = 0; i < WET_RULE_GASES; i++) {
		if (strcmp(rule->gases[i], key) == 0)
			return true;
	}
	return false;
}

/* The word is there, but of another gas ("hydrogen sulfide"), or of what is there before: "explosive films with
 * ammonia present". */
static bool is_only_beside(const struct wet_incompatibility *rule, const struct wet_gas *g)
{
	const struct wet_gas_table *t = &test_safety()->gases;
	size_t n = strlen(g->name);
	for (int i = 0; i < t->count; i++) {
		if (strncmp(t->gases[i].name, g->name, n) == 0 && t->gases[i].name[n] == ' ' &&
			has_word(rule->forms, t->gases[i].name))
			return true;
	}
	return strcmp(rule->key, "ag-alkali") == 0 && strcmp(g->key, "ammonia") == 0;
}

Test(gas, what_a_rule_sets_free_is_named_and_known)
{
	const struct wet_safety *s = test_safety();
	int count = 0;
	for (int i = 0; i < s->incompatibilities.count; i++) {
		const struct wet_incompatibility *rule = &s->incompatibilities.rules[i];
		for (int j = 0; j < WET_RULE_GASES && rule->gases[j][0] != '\0'; j++, count++)
			cr_expect_not_null(wet_gas_find(&s->gases, rule->gases[j]), "%s: %s", rule->key, rule->gases[j]);
		for (int j = 0; j < s->gases.count; j++) {
			const struct wet_gas *g = &s->gases.gases[j];
			bool is_told = has_word(rule->forms, g->name) || has_word(rule->forms, g->formula);
			cr_expect(!is_told || names_gas(rule, g->key) || is_only_beside(rule, g), "%s forms %s", rule->key,
					  g->name);
		}
		bool is_gas = has_word(rule->forms, "gas") || has_word(rule->forms, "gases") || has_word(rule->forms, "pressure");
		cr_expect(!is_gas || rule->gases[0][0] != '\0', "%s: which gas is \"%s\"?", rule->key, rule->forms);
	}
	cr_expect_geq(count, 30);
	/* No entry stands idle. */
	for (int j = 0; j < s->gases.count; j++) {
		bool found = false;
		for (int i = 0; i < s->incompatibilities.count; i++)
			found = found || names_gas(&s->incompatibilities.rules[i], s->gases.gases[j].key);
		cr_expect(found, "no rule forms %s", s->gases.gases[j].name);
	}
}
