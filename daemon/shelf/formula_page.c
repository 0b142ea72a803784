/* formula_page.c: a formula -> its safety note. The page is made as a recipe's is, of the same rules of practice; in place of
 * baths there are the forms as they go in, and what is made of them. */
#include "shelf/formula_note.h"
#include "shelf/note_inside.h"

#include "base/text.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#define NEIGHBOURS 34 /* other formulas that it is held against, and two cleaners */
#define CLEANERS 2
#define HITS 128

/* -- what it holds --------------------------------------------------------------------------------- */

/* One line as it goes in: the form alone, a gram of a solid or a millilitre of a liquid. */
static struct wet_formula alone(const struct wet_ingredient *in)
{
	struct wet_formula f = { .makes_ul = 1000, .ingredient_count = 1 };
	f.ingredients[0] = (struct wet_ingredient){ .form = in->form, .amount = 1000 };
	return f;
}

/* A form as it is bought: a crystal has no pH. */
static bool classify_alone(const struct wet_contents *holds, struct wet_classification *ret_class)
{
	struct wet_mixture m = { .components = holds->components, .component_count = holds->component_count };
	return wet_mixture_classify(&m, ret_class, NULL) == 0;
}

static bool is_grave(const struct wet_classification *c)
{
	if (c->signal == WET_SIGNAL_DANGER)
		return true;
	for (int i = 0; i < c->class_count; i++) {
		switch (wet_hazard_fact(c->classes[i].kind)->endpoint) {
		case WET_ENDPOINT_SKIN_ALLERGY:
		case WET_ENDPOINT_AIRWAY_ALLERGY:
		case WET_ENDPOINT_MUTAGEN:
		case WET_ENDPOINT_CARCINOGEN:
		case WET_ENDPOINT_REPRODUCTION:
		case WET_ENDPOINT_ORGAN_ONCE:
		case WET_ENDPOINT_ORGAN_REPEATED: return true;
		default: break;
		}
	}
	return false;
}

bool wet_formula_is_hazardous(const struct wet_safety *safety, const struct wet_substances *table,
							  const struct wet_formula *formula)
{
	struct wet_contents holds;
	struct wet_classification c;
	struct wet_mixture mixture;
	wet_formula_contents(&safety->hazards, table, formula, 1, 0, &holds);
	bool is = holds.unknown_count > 0 || wet_contents_classify(&holds, &mixture, &c, NULL) != 0 || is_grave(&c);
	for (int i = 0; i < formula->ingredient_count && !is; i++) {
		struct wet_formula one = alone(&formula->ingredients[i]);
		wet_formula_contents(&safety->hazards, table, &one, 1, 0, &holds);
		is = !classify_alone(&holds, &c) || is_grave(&c);
	}
	return is;
}

/* -- the page ----------------------------------------------------------------------------------------- */

/* A line of it; those that have no class are gathered in `none`. */
static void put_classes(struct page *p, const char *what, const struct wet_contents *holds, bool is_made, char none[LINE_BYTES])
{
	char line[LINE_BYTES] = "", codes[160] = "";
	struct wet_classification c;
	wet_text_append(line, sizeof line, "%s:", what);
	line[0] = (char)toupper((unsigned char)line[0]);
	if (is_made ? append_hazards(p, holds, line, codes, sizeof codes)
				: classify_alone(holds, &c) && append_classes(p, holds, &c, line, codes, sizeof codes)) {
		wet_text_append(line, sizeof line, " [%s]", codes);
		put_entry(p, line, &note_classes_from, 1);
	} else {
		wet_text_append(none, LINE_BYTES, "%s %s", none[0] ? ";" : "", what);
	}
}

static bool has_line(const struct wet_contents *holds, const char *code)
{
	for (int j = 0; j < holds->component_count; j++) {
		for (int k = 0; k < holds->components[j].substance->supplement_count; k++) {
			const struct wet_supplement *s = &holds->components[j].substance->supplements[k];
			if (strcmp(s->code, code) == 0 && holds->components[j].share_ppm >= s->from_ppm)
				return true;
		}
	}
	return false;
}

static void put_hurt(struct page *p, const struct wet_substances *table, const struct wet_formula *f,
					 const struct wet_contents *made)
{
	static const char *const gas_codes[] = { "EUH031", "EUH032" };
	char what[WET_NAME_BYTES + 32], none[LINE_BYTES] = "", line[LINE_BYTES];
	struct wet_contents holds;
	for (int i = 0; i < f->ingredient_count; i++) {
		if (f->ingredients[i].is_pinch)
			continue;
		struct wet_formula one = alone(&f->ingredients[i]);
		wet_formula_contents(&p->safety->hazards, table, &one, 1, 0, &holds);
		wet_text_format(what, sizeof what, "%s, as it goes in", table->forms[f->ingredients[i].form].name);
		put_classes(p, what, &holds, false, none);
	}
	put_classes(p, "what is made", made, true, none);
	if (none[0] != '\0') {
		wet_text_format(line, sizeof line, "No class is known here, but nothing for eyes or mouth:%s.", none);
		put_entry(p, line, &note_classes_from, 1);
	}
	for (size_t i = 0; i < sizeof gas_codes / sizeof gas_codes[0]; i++) {
		const char *text = wet_statement_text(&p->safety->statements, gas_codes[i]);
		wet_text_format(line, sizeof line, "%s [%s]", text ? text : "", gas_codes[i]);
		if (has_line(made, gas_codes[i]))
			put_entry(p, line, &note_classes_from, 1);
	}
}

struct neighbours {
	struct wet_thing things[NEIGHBOURS + 1];
	struct wet_contents holds[NEIGHBOURS];
	char names[NEIGHBOURS][WET_NAME_BYTES];
	int count, hit_count;
	struct wet_hit hits[HITS];
};

/* Cleaners, every other formula, and last the one whose note it is. */
static void find_meetings(struct page *p, const struct wet_formulary *formulary, const struct wet_formula *f,
						  const struct wet_contents *made, struct neighbours *n)
{
	n->things[0].classes = WET_REACTION_BIT(HYPOCHLORITE);
	n->things[1].classes = WET_REACTION_BIT(DRAIN_CLEANER);
	wet_text_copy(n->names[0], WET_NAME_BYTES, "household bleach");
	wet_text_copy(n->names[1], WET_NAME_BYTES, "drain cleaner");
	n->count = CLEANERS;
	for (size_t i = 0; i < wet_formulary_count(formulary) && n->count < NEIGHBOURS; i++) {
		const struct wet_formula *other = &wet_formulary_at(formulary, i)->formula;
		if (strcmp(other->name, f->name) == 0)
			continue;
		struct wet_contents *holds = &n->holds[n->count];
		wet_formula_contents(&p->safety->hazards, wet_formulary_substances(formulary), other, 1, 0, holds);
		n->things[n->count] = (struct wet_thing){ .parts = holds->components, .part_count = holds->component_count };
		wet_text_copy(n->names[n->count], WET_NAME_BYTES, other->name);
		for (char *at = n->names[n->count++]; *at != '\0'; at++)
			*at = *at == '-' ? ' ' : *at;
	}
	n->things[n->count] = (struct wet_thing){ .parts = made->components, .part_count = made->component_count };
	/* Those of this one only: each is asked for alone, so that none is lost among those of the others. */
	for (int i = 0; i < n->count; i++) {
		struct wet_thing pair[2] = { n->things[i], n->things[n->count] };
		struct wet_hit hits[8];
		int count = 0;
		(void)wet_incompatibilities_find(&p->safety->incompatibilities, WET_MEETING_DRAIN, pair, 2, hits, 8, &count);
		for (int j = 0; j < count && j < 8 && n->hit_count < HITS; j++) {
			if (hits[j].severity < WET_SEVERITY_WARN)
				continue;
			n->hits[n->hit_count] = hits[j];
			n->hits[n->hit_count++].a = i;
			for (int k = 0; k < WET_RULE_GASES && i >= CLEANERS; k++) {
				const struct wet_gas *g = wet_gas_find(&p->safety->gases, hits[j].rule->gases[k]);
				if (g != NULL)
					p->gases |= UINT64_C(1) << (g - p->safety->gases.gases);
			}
		}
	}
}

static void forms_of(const struct page *p, const struct neighbours *n, int at, char *forms, unsigned bytes)
{
	forms[0] = '\0';
	for (int i = 0; i < n->hit_count; i++) {
		if (n->hits[i].a == at)
			append_forms(p, n->hits[i].rule, forms, bytes);
	}
}

/* Those that make the same with it stand in one line. */
static void put_never(struct page *p, const struct neighbours *n)
{
	bool is_told[NEIGHBOURS] = { false };
	for (int at = 0; at < n->count; at++) {
		char line[LINE_BYTES] = "", forms[400], others[400];
		const char *cited[WET_RULE_SOURCES];
		int cited_count = 0;
		forms_of(p, n, at, forms, sizeof forms);
		if (is_told[at] || forms[0] == '\0')
			continue;
		wet_text_format(line, sizeof line, "%s", n->names[at]);
		for (int i = at + 1; i < n->count; i++) {
			forms_of(p, n, i, others, sizeof others);
			if (strcmp(others, forms) != 0)
				continue;
			is_told[i] = true;
			wet_text_append(line, sizeof line, ", %s", n->names[i]);
		}
		line[0] = (char)toupper((unsigned char)line[0]);
		wet_text_append(line, sizeof line, ": %s.", forms);
		for (int i = 0; i < n->hit_count && cited_count < WET_RULE_SOURCES; i++) {
			bool is_new = n->hits[i].a == at;
			for (int j = 0; j < cited_count; j++)
				is_new = is_new && strcmp(cited[j], n->hits[i].rule->source) != 0;
			if (is_new)
				cited[cited_count++] = n->hits[i].rule->source;
		}
		put_entry(p, line, cited, cited_count);
	}
}

/* Advice about waste, each piece once. */
static void put_disposal(struct page *p, const struct wet_contents *made)
{
	static const char *const from = "safety/substances.json, where each piece has its source";
	bool is_told[WET_ADVICE] = { false };
	for (int i = 0; i < made->component_count; i++) {
		const struct wet_hazards *h = made->components[i].substance;
		for (int j = 0; j < h->advice_count[WET_ADVICE_DISPOSAL]; j++) {
			int piece = h->advice[WET_ADVICE_DISPOSAL][j];
			if (!is_told[piece])
				put_entry(p, p->safety->hazards.advice[piece].text, &from, 1);
			is_told[piece] = true;
		}
	}
}

static void put_page(struct page *p, const struct wet_formulary *formulary, const struct wet_formula *f,
					 const struct wet_contents *made, const struct neighbours *n)
{
	const struct wet_substances *table = wet_formulary_substances(formulary);
	char title[WET_LINE_BYTES + 16], line[WET_LINE_BYTES];
	wet_text_format(title, sizeof title, "mixing \"%s\"", f->title);
	put_wrapped(&p->text, "# Safety: ", "  ", title);
	put_wrapped(&p->sources, "# Sources of the safety note: ", "  ", title);
	if (wet_formula_is_hazardous(p->safety, table, f))
		put_wrapped(&p->text, "", "", "Read this once before you mix it for the first time and acknowledge it.");
	put_gaps(p);
	put_heading(p, "First: what to wear, what to open");
	put_rules(p, WET_SECTION_WEAR);
	put_heading(p, "What can hurt");
	put_own(p, "cautions");
	put_hurt(p, table, f, made);
	put_gases(p);
	put_rules(p, WET_SECTION_HURT);
	put_heading(p, "Never mix it with");
	put_never(p, n);
	put_rules(p, WET_SECTION_NEVER_MIX);
	put_heading(p, p->safety->practice.is_first_aid_reviewed ? "If it happens"
															  : "If it happens (not yet read by anyone trained in first aid)");
	put_rules(p, WET_SECTION_HAPPENS);
	put_heading(p, "Afterwards: what goes where");
	put_disposal(p, made);
	put_rules(p, WET_SECTION_DISPOSAL);
	wet_text_format(line, sizeof line, "Sources: wetside safety %s --sources", f->name);
	put_wrapped(&p->text, "\n", "", line);
	for (size_t i = 0; i < WET_CLOSING_LINES; i++)
		put_wrapped(&p->text, "- ", "  ", wet_closing_lines[i]);
}

int wet_formula_note(const struct wet_safety *safety, const struct wet_formulary *formulary, const char *name,
					 char **ret_text, char **ret_sources)
{
	const struct wet_formulary_item *item = wet_formulary_find(formulary, name);
	struct wet_contents made;
	if (item == NULL)
		return WET_ERR_NOT_FOUND;
	struct wet_recipe *vessel = calloc(1, sizeof *vessel); /* of the rules' eyes: an open vessel */
	struct note_contents *c = calloc(1, sizeof *c);
	struct neighbours *n = calloc(1, sizeof *n);
	json_t *root = json_loadb(item->json, item->json_bytes, 0, NULL);
	struct page p = { .root = root, .c = c, .safety = safety };
	char *text = NULL, *sources = NULL;
	if (vessel != NULL && c != NULL && n != NULL && root != NULL) {
		vessel->vessel_kind = WET_VESSEL_OPEN_TANK;
		c->recipe = vessel;
		wet_formula_contents(&safety->hazards, wet_formulary_substances(formulary), &item->formula, 1, 0, &made);
		for (int i = 0; i < made.component_count; i++)
			c->classes |= made.components[i].substance->classes;
		find_meetings(&p, formulary, &item->formula, &made, n);
		put_page(&p, formulary, &item->formula, &made, n);
		text = finish(&p.text);
		sources = finish(&p.sources);
	}
	json_decref(root);
	free(n);
	free(c);
	free(vessel);
	if (text != NULL && sources != NULL) {
		*ret_text = text;
		*ret_sources = sources;
		return WET_OK;
	}
	free(text);
	free(sources);
	return WET_ERR_NOMEM;
}
