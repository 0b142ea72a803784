/* hazard.c: the kinds of hazard, substances by name, and whether a table of them can be. */
#include "wetside/hazard.h"

#include "base/text.h"
#include "wetside/incompatibility.h"

#include <string.h>

#define FACT(name, endpoint, word, title, code, pictogram, signal) \
	{ word, title, code, WET_ENDPOINT_##endpoint, pictogram, WET_SIGNAL_##signal },
static const struct wet_hazard_fact facts[] = { WET_HAZARD_KINDS(FACT) };
#undef FACT

const struct wet_hazard_fact *wet_hazard_fact(int kind)
{
	return kind >= 0 && kind < WET_HAZARD_N ? &facts[kind] : NULL;
}

const char *wet_signal_word(int signal)
{
	return signal == WET_SIGNAL_DANGER ? "Danger" : signal == WET_SIGNAL_WARNING ? "Warning" : "";
}

const char *wet_pictogram_name(int pictogram)
{
	static const char *const names[] = { "",
										 "exploding bomb",
										 "flame",
										 "flame over circle",
										 "gas cylinder",
										 "corrosion",
										 "skull and crossbones",
										 "exclamation mark",
										 "health hazard",
										 "environment" };
	return pictogram > 0 && pictogram < (int)(sizeof names / sizeof names[0]) ? names[pictogram] : "";
}

static bool is_called(const struct wet_hazards *s, const char *name)
{
	if (strcmp(s->key, name) == 0 || strcmp(s->name, name) == 0 || strcmp(s->cas, name) == 0)
		return true;
	for (int i = 0; i < WET_HAZARD_NAMES; i++) {
		if (strcmp(s->also[i], name) == 0)
			return true;
	}
	return false;
}

const struct wet_hazards *wet_hazards_find(const struct wet_hazard_table *table, const char *name)
{
	for (int i = 0; name[0] != '\0' && i < table->substance_count; i++) {
		if (is_called(&table->substances[i], name))
			return &table->substances[i];
	}
	return NULL;
}

const char *wet_statement_text(const struct wet_statement_table *table, const char *code)
{
	for (int i = 0; i < table->count; i++) {
		if (strcmp(table->statements[i].code, code) == 0)
			return table->statements[i].text;
	}
	return NULL;
}

bool wet_cas_is_valid(const char *cas)
{
	size_t n = strlen(cas), first = strspn(cas, "0123456789");
	unsigned sum = 0, weight = 1;
	if (first < 2 || first > 7 || n != first + 5 || cas[first] != '-' || cas[n - 2] != '-' || cas[0] == '0' ||
		strspn(cas + first + 1, "0123456789") != 2 || strspn(cas + n - 1, "0123456789") != 1)
		return false;
	for (size_t i = n - 2; i-- > 0;) {
		if (cas[i] != '-')
			sum += weight++ * (unsigned)(cas[i] - '0');
	}
	return sum % 10 == (unsigned)(cas[n - 1] - '0');
}

/* -- a table ------------------------------------------------------------------------------ */

/* Fault at a member of a substance, `list` and `at` (-1: the member itself) within it; returns err. */
static int fail(struct wet_fault *fault, int err, int substance, const char *member, int at,
				const char *found, const char *want)
{
	char where[96];
	wet_text_format(where, sizeof where, "/substances/%d/%s", substance, member);
	if (at >= 0)
		wet_text_append(where, sizeof where, "/%d", at);
	return wet_fault_set(fault, err, where, found, "%s", want);
}

/* Does a code say the kind's, or something narrower? */
static bool is_narrower(const char *code, const char *statement)
{
	return code[0] == '\0' || strncmp(code, statement, strlen(statement)) == 0;
}

static int check_hazards(const struct wet_hazards *s, int at, struct wet_fault *fault)
{
	for (int i = 0; i < s->hazard_count; i++) {
		const struct wet_hazard *h = &s->hazards[i];
		const struct wet_hazard_fact *fact = wet_hazard_fact(h->kind);
		if (fact == NULL)
			return fail(fault, WET_ERR_RANGE, at, "hazards", i, NULL, "a kind of hazard");
		for (int j = 0; j < i; j++) {
			/* An irritant of the eyes beside a corrosion of the skin is fine; two of one endpoint say two things. */
			if (facts[s->hazards[j].kind].endpoint == fact->endpoint)
				return fail(fault, WET_ERR_EXISTS, at, "hazards", i, fact->word,
							"one category of each class");
		}
		if (!is_narrower(h->statement, fact->statement))
			return fail(fault, WET_ERR_INVALID, at, "hazards", i, h->statement,
						"a code that begins with the one of the class");
		bool has_m = h->kind == WET_HAZARD_AQUATIC_ACUTE_1 || h->kind == WET_HAZARD_AQUATIC_CHRONIC_1;
		if (h->m_factor > 1 && !has_m)
			return fail(fault, WET_ERR_INVALID, at, "hazards", i, NULL,
						"an M-factor with an aquatic class of category 1 only");
	}
	return WET_OK;
}

/* Only a limit for what the substance is, or is when there is less of it. */
static int check_limits(const struct wet_hazards *s, int at, struct wet_fault *fault)
{
	for (int i = 0; i < s->limit_count; i++) {
		const struct wet_hazard_limit *limit = &s->limits[i];
		if (wet_hazard_fact(limit->kind) == NULL || limit->from_ppm < 1 || limit->from_ppm > WET_PPM)
			return fail(fault, WET_ERR_RANGE, at, "limits", i, NULL, "over 0 to 100 %");
		for (int j = 0; j < i; j++) {
			const struct wet_hazard_limit *before = &s->limits[j];
			if (facts[before->kind].endpoint != facts[limit->kind].endpoint)
				continue;
			if (before->kind == limit->kind)
				return fail(fault, WET_ERR_EXISTS, at, "limits", i, facts[limit->kind].word,
							"one limit for each class");
			if ((before->kind < limit->kind) != (before->from_ppm > limit->from_ppm))
				return fail(fault, WET_ERR_INVALID, at, "limits", i, facts[limit->kind].word,
							"a milder category from a smaller share than a severer one");
		}
	}
	return WET_OK;
}

static int check_rest(const struct wet_hazards *s, int at, struct wet_fault *fault)
{
	double mass;
	struct wet_fault inner = { 0 };
	if (s->cas[0] != '\0' && !wet_cas_is_valid(s->cas))
		return fail(fault, WET_ERR_INVALID, at, "cas", -1, s->cas,
					"a CAS number with its check digit: \"123-31-9\"");
	if (s->formula[0] != '\0' && wet_molar_mass(s->formula, &mass, &inner) != 0)
		return fail(fault, inner.err, at, "formula", -1, s->formula, inner.want);
	if (s->pka_count > 0 && s->formula[0] == '\0')
		return fail(fault, WET_ERR_INVALID, at, "pka", -1, NULL, "a formula beside it: how many moles are there?");
	for (int i = 0; i < s->supplement_count; i++) {
		if (s->supplements[i].from_ppm < 1 || s->supplements[i].from_ppm > WET_PPM)
			return fail(fault, WET_ERR_RANGE, at, "supplements", i, NULL, "over 0 to 100 %");
	}
	return WET_OK;
}

static int check_names(const struct wet_hazard_table *t, int at, struct wet_fault *fault)
{
	const struct wet_hazards *s = &t->substances[at];
	for (int j = 0; j < at; j++) {
		const struct wet_hazards *before = &t->substances[j];
		if (is_called(before, s->key))
			return fail(fault, WET_ERR_EXISTS, at, "key", -1, s->key,
						"a key that no substance before it has");
		if (is_called(before, s->name))
			return fail(fault, WET_ERR_EXISTS, at, "name", -1, s->name,
						"a name that no substance before it has");
		if (s->cas[0] != '\0' && is_called(before, s->cas))
			return fail(fault, WET_ERR_EXISTS, at, "cas", -1, s->cas,
						"a number that no substance before it has");
		for (int i = 0; i < WET_HAZARD_NAMES; i++) {
			if (s->also[i][0] != '\0' && is_called(before, s->also[i]))
				return fail(fault, WET_ERR_EXISTS, at, "also", i, s->also[i],
							"a name that no substance before it has");
		}
	}
	return WET_OK;
}

int wet_hazards_check(const struct wet_hazard_table *table, struct wet_fault *reterr)
{
	int rc = WET_OK;
	for (int i = 0; rc == 0 && i < table->substance_count; i++) {
		const struct wet_hazards *s = &table->substances[i];
		rc = check_names(table, i, reterr);
		if (rc == 0)
			rc = check_hazards(s, i, reterr);
		if (rc == 0)
			rc = check_limits(s, i, reterr);
		if (rc == 0)
			rc = check_rest(s, i, reterr);
	}
	return rc;
}
