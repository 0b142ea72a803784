/* formula_note.c: the safety note of mixing a formula, made from the hazards of its substances and the rules of practice. */
#include "methods/hazard.h"

#include "base/text.h"
#include "shelf/shelf.h"
#include "wetside/contents.h"

#include <string.h>

#define NEVER_LINES 6 /* rules of what must not meet that are told, the worst first */

/* Goes on with what irritates only, makes drowsy, corrodes metal or harms water: told, never to be acknowledged. */
static bool is_grave(const struct wet_classification *c)
{
	bool is = c->signal == WET_SIGNAL_DANGER;
	for (int i = 0; i < c->class_count; i++) {
		switch (wet_hazard_fact(c->classes[i].kind)->endpoint) {
		case WET_ENDPOINT_SKIN_ALLERGY:
		case WET_ENDPOINT_AIRWAY_ALLERGY:
		case WET_ENDPOINT_MUTAGEN:
		case WET_ENDPOINT_CARCINOGEN:
		case WET_ENDPOINT_REPRODUCTION:
		case WET_ENDPOINT_ORGAN_ONCE:
		case WET_ENDPOINT_ORGAN_REPEATED: is = true; break;
		default: break;
		}
	}
	return is;
}

static bool classify(const struct wet_safety *safety, const struct wet_substances *table, const struct wet_formula *f,
					 struct wet_contents *ret_contents, struct wet_classification *ret_class)
{
	wet_formula_contents(&safety->hazards, table, f, 1, 0, ret_contents);
	struct wet_mixture mixture;
	return wet_contents_classify(ret_contents, &mixture, ret_class, NULL) == 0;
}

/* One line of a formula as it goes in: the form alone, as a formula of itself. A millilitre of a liquid, a gram of a solid
 * in as much. */
static struct wet_formula alone(const struct wet_ingredient *in)
{
	struct wet_formula f = { .makes_ul = 1000, .ingredient_count = 1 };
	f.ingredients[0] = (struct wet_ingredient){ .form = in->form, .amount = 1000 };
	return f;
}

bool wet_formula_is_hazardous(const struct wet_safety *safety, const struct wet_substances *table,
							  const struct wet_formula *formula)
{
	struct wet_contents contents;
	struct wet_classification c;
	/* What can't be judged is taken to be grave. */
	bool is = !classify(safety, table, formula, &contents, &c) || contents.unknown_count > 0 || is_grave(&c);
	for (int i = 0; i < formula->ingredient_count && !is; i++) {
		struct wet_formula one = alone(&formula->ingredients[i]);
		is = !classify(safety, table, &one, &contents, &c) || is_grave(&c);
	}
	return is;
}

/* -- the note --------------------------------------------------------------------------- */

/* One more sentence, with one full stop. */
static void add_sentence(char *buf, size_t n, const char *text)
{
	size_t bytes = strlen(text);
	wet_text_append(buf, n, "%s%s%s", buf[0] ? " " : "", text, bytes > 0 && text[bytes - 1] == '.' ? "" : ".");
}

/* "Danger. Causes severe skin burns and eye damage. ..." */
static void label_words(const struct wet_safety *safety, const struct wet_classification *c, char *buf, size_t n)
{
	buf[0] = '\0';
	if (c->signal != WET_SIGNAL_NONE)
		add_sentence(buf, n, wet_signal_word(c->signal));
	for (int i = 0; i < c->class_count; i++)
		if (c->classes[i].is_on_label)
			add_sentence(buf, n, statement_wording(safety, c->classes[i].statement));
	for (int i = 0; i < c->line_count; i++) {
		const char *text = statement_wording(safety, c->lines[i].code);
		if (!strchr(text, '<')) /* those with a name to fill in say less than the substance's own line */
			add_sentence(buf, n, text);
	}
}

static void add_practice(json_t *lines, const struct wet_safety *safety, int section, uint64_t classes)
{
	const struct wet_practice *p = &safety->practice;
	for (int i = 0; i < p->count; i++)
		if (p->rules[i].note[0] && p->rules[i].section == section &&
			wet_practice_applies(&p->rules[i], WET_VESSEL_OPEN_TANK, classes))
			line_add(lines, "- %s", p->rules[i].note);
}

/* Advice of one kind, each piece once. */
static void add_advice(json_t *lines, const struct wet_safety *safety, const struct wet_contents *c, int kind)
{
	bool is_told[WET_ADVICE] = { false };
	for (int i = 0; i < c->component_count; i++) {
		const struct wet_hazards *h = c->components[i].substance;
		for (int j = 0; j < h->advice_count[kind]; j++) {
			int piece = h->advice[kind][j];
			if (!is_told[piece])
				line_add(lines, "- %s", safety->hazards.advice[piece].text);
			is_told[piece] = true;
		}
	}
}

static void add_hurt(json_t *lines, const struct wet_safety *safety, const struct wet_substances *table,
					 const struct wet_formula *f, const struct wet_contents *contents)
{
	struct wet_contents one_contents;
	struct wet_classification c;
	char words[360];
	for (int i = 0; i < f->ingredient_count; i++) {
		struct wet_formula one = alone(&f->ingredients[i]);
		if (f->ingredients[i].is_pinch || !classify(safety, table, &one, &one_contents, &c))
			continue;
		label_words(safety, &c, words, sizeof words);
		const char *name = table->forms[f->ingredients[i].form].name;
		if (words[0])
			line_add(lines, "- %c%s, as it goes in: %s", name[0] >= 'a' && name[0] <= 'z' ? name[0] - 'a' + 'A' : name[0],
					 name + 1, words);
	}
	for (int i = 0; i < contents->unknown_count; i++)
		line_add(lines, "- Not known here, and not counted: %s.", contents->unknown[i]->name);
	wet_text_copy(words, sizeof words, "");
	if (classify(safety, table, f, &one_contents, &c))
		label_words(safety, &c, words, sizeof words);
	line_add(lines, "- What it makes: %s", words[0] ? words : "no class of hazard is known here; that is no promise.");
}

/* What must not meet it, of what stands beside it: all that a formula holds, and what cleans a house. */
static void add_never(json_t *lines, const struct wet_safety *safety, uint64_t classes, uint64_t beside)
{
	const struct wet_incompatibility_table *t = &safety->incompatibilities;
	int told = 0;
	beside |= WET_REACTION_BIT(HYPOCHLORITE) | WET_REACTION_BIT(AMMONIA) | WET_REACTION_BIT(DRAIN_CLEANER);
	for (int severity = WET_SEVERITY_N - 1; severity >= 0; severity--) {
		for (int i = 0; i < t->count && told < NEVER_LINES; i++) {
			const struct wet_incompatibility *rule = &t->rules[i];
			bool is_met = ((rule->a & classes) && (rule->b & beside)) || ((rule->b & classes) && (rule->a & beside));
			if (rule->severity == severity && is_met && ++told)
				line_add(lines, "- %s", rule->text);
		}
	}
	add_practice(lines, safety, WET_SECTION_NEVER_MIX, classes);
}

static uint64_t classes_of(const struct wet_safety *safety, const struct wet_substances *table, const struct wet_formula *f)
{
	struct wet_contents contents;
	uint64_t classes = 0;
	wet_formula_contents(&safety->hazards, table, f, 1, 0, &contents);
	for (int i = 0; i < contents.component_count; i++)
		classes |= contents.components[i].substance->classes;
	return classes;
}

json_t *wet_formula_note(const struct wet_safety *safety, const struct wet_formulary *formulary,
						 const struct wet_formula *f)
{
	const struct wet_substances *table = wet_formulary_substances(formulary);
	struct wet_contents contents;
	uint64_t classes = classes_of(safety, table, f), beside = 0;
	json_t *lines = json_array();
	if (!lines)
		return NULL;
	for (size_t i = 0; i < wet_formulary_count(formulary); i++)
		beside |= classes_of(safety, table, &wet_formulary_at(formulary, i)->formula);
	wet_formula_contents(&safety->hazards, table, f, 1, 0, &contents);
	line_add(lines, "# Safety: how to mix \"%s\"", f->title);
	if (wet_formula_is_hazardous(safety, table, f))
		line_add(lines, "\nRead this before you mix it for the first time, and acknowledge it.");
	line_add(lines, "\n## First: what to wear, what to open\n");
	add_practice(lines, safety, WET_SECTION_WEAR, classes);
	line_add(lines, "\n## What can hurt\n");
	for (int i = 0; i < f->caution_count; i++)
		line_add(lines, "- %s", f->cautions[i]);
	add_hurt(lines, safety, table, f, &contents);
	add_practice(lines, safety, WET_SECTION_HURT, classes);
	line_add(lines, "\n## Never mix\n");
	add_never(lines, safety, classes, beside);
	line_add(lines, "\n## If it happens\n");
	add_practice(lines, safety, WET_SECTION_HAPPENS, classes);
	line_add(lines, "\n## Afterwards: what goes where\n");
	add_advice(lines, safety, &contents, WET_ADVICE_DISPOSAL);
	add_practice(lines, safety, WET_SECTION_DISPOSAL, classes);
	line_add(lines, "%s", "");
	for (int i = 0; i < WET_CLOSING_LINES; i++)
		line_add(lines, "- %s", wet_closing_lines[i]);
	return lines;
}
