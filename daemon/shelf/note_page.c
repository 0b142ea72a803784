/* note_page.c: a note's data, the rules of practice and what is known of the baths -> one page for people.
 *
 * Each section has first what is alike for all recipes, then what follows from this one's baths at their strength, then
 * what only its file says. Codes in brackets are those of hazard statements. What each line rests on stands behind the
 * page: there the lines follow in the same order with their sources. */
#include "shelf/note_inside.h"

#include "base/text.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(a) (sizeof(a) / sizeof(a)[0])
#define ENTRY_SOURCES_MAX 4 /* note.c reads no more */
#define CLEANERS 2 /* what stands under a sink beside the baths */
#define THINGS (CLEANERS + WET_RECIPE_BATHS)
#define HITS 128

/* The numbers: US Poison Help line, poisonhelp.hrsa.gov; the others from memory (112, 911, 999; NHS 111). */
const char *const wet_closing_lines[WET_CLOSING_LINES] = {
	"Emergency: 112 (Europe), 911 (North America), 999 (United Kingdom); elsewhere your own emergency "
	"number.",
	"Poison centre: 1-800-222-1222 (United States), NHS 111 (United Kingdom); elsewhere your national "
	"centre.",
	"The safety data sheet outranks this, and local rules decide about waste.",
};

/* -- text ------------------------------------------------------------------------------------ */

static void put(struct text *t, const char *text, size_t n)
{
	if (t->is_out_of_memory)
		return;
	if (t->n + n + 1 > t->room) {
		size_t room = (t->n + n + 1) * 2;
		char *more = realloc(t->bytes, room);
		if (more == NULL) {
			t->is_out_of_memory = true;
			return;
		}
		t->bytes = more;
		t->room = room;
	}
	memcpy(t->bytes + t->n, text, n);
	t->n += n;
	t->bytes[t->n] = '\0';
}

static void put_text(struct text *t, const char *text)
{
	put(t, text, strlen(text));
}

/* The bytes, or NULL without memory. */
char *finish(struct text *t)
{
	put(t, "", 0);
	if (!t->is_out_of_memory)
		return t->bytes;
	free(t->bytes);
	return NULL;
}

/* Characters, not bytes; wide ones are no matter here. */
static size_t columns(const char *text, size_t n)
{
	size_t count = 0;
	for (size_t i = 0; i < n; i++)
		count += ((unsigned char)text[i] & 0xC0) != 0x80;
	return count;
}

/* Wraps at blanks; `first` stands before the first line, `rest` before the others. */
void put_wrapped(struct text *t, const char *first, const char *rest, const char *text)
{
	size_t used = columns(first, strlen(first));
	put_text(t, first);
	for (bool is_first = true; *text != '\0'; is_first = false) {
		size_t n = strcspn(text, " ");
		size_t width = columns(text, n);
		if (!is_first && used + 1 + width > NOTE_PAGE_COLUMNS) {
			put_text(t, "\n");
			put_text(t, rest);
			used = columns(rest, strlen(rest));
		} else if (!is_first) {
			put_text(t, " ");
			used++;
		}
		put(t, text, n);
		used += width;
		text += n;
		text += strspn(text, " ");
	}
	put_text(t, "\n");
}

/* A line of the page, and behind it what it rests on. */
void put_entry(struct page *p, const char *line, const char *const *cited, int cited_count)
{
	put_wrapped(&p->text, "- ", "  ", line);
	put_wrapped(&p->sources, "- ", "  ", line);
	for (int i = 0; i < cited_count; i++)
		put_wrapped(&p->sources, "    ", "      ", cited[i]);
}

/* -- what the rules and the file say ------------------------------------------------------------ */

void put_rules(struct page *p, int section)
{
	for (int i = 0; p->safety && i < p->safety->practice.count; i++) {
		const char *cited[WET_RULE_SOURCES];
		const struct wet_practice_rule *rule = &p->safety->practice.rules[i];
		if (rule->note[0] == '\0' || rule->section != section ||
			!wet_practice_applies(rule, p->c->recipe->vessel_kind, p->c->classes))
			continue;
		for (int j = 0; j < rule->source_count; j++)
			cited[j] = p->safety->practice.citations[rule->sources[j]];
		put_entry(p, rule->note, cited, rule->source_count);
	}
}

/* A key of the file's sources -> the citation; a phrase stands for itself. */
static const char *citation_of(const struct page *p, const json_t *key)
{
	const char *cited = json_string_value(json_object_get(json_object_get(p->root, "sources"), json_string_value(key)));
	return cited != NULL ? cited : json_string_value(key);
}

void put_own(struct page *p, const char *member)
{
	const json_t *list = json_object_get(p->root, member);
	for (size_t i = 0; i < json_array_size(list); i++) {
		char line[LINE_BYTES] = "";
		const json_t *entry = json_array_get(list, i), *source = json_object_get(entry, "source");
		const char *when = json_string_value(json_object_get(entry, "when"));
		const char *cited[ENTRY_SOURCES_MAX] = { NULL };
		int count = 0;
		if (when != NULL)
			wet_text_append(line, sizeof line, "%s: ", when);
		wet_text_append(line, sizeof line, "%s", json_string_value(json_object_get(entry, "text")));
		if (json_is_string(source))
			cited[count++] = citation_of(p, source);
		for (size_t j = 0; j < json_array_size(source); j++)
			cited[count++] = citation_of(p, json_array_get(source, j));
		put_entry(p, line, cited, count);
	}
}

/* What lines that were computed rest on. */
const char *const note_classes_from =
	"UN GHS (Rev.7) and Regulation (EC) 1272/2008, by the share of each substance in the formula; what a share and a class "
	"rest on stands in the formula and in safety/substances.json";
static const char *const gases_from = "safety/gases.json, where each value has its source";

/* -- what a bath is ------------------------------------------------------------------------------ */

/* Is it made as this one? Two fixers of one formula are told in one line. */
static bool is_alike(const struct note_contents *c, int a, int b)
{
	const struct wet_bath_mix *x = &c->recipe->baths[a].mix, *y = &c->recipe->baths[b].mix;
	return strcmp(x->from, y->from) == 0 && x->stock_milli == y->stock_milli && x->water_milli == y->water_milli;
}

/* The first of those that are alike, and known? */
static bool is_leader(const struct note_contents *c, int bath)
{
	for (int i = 0; i < bath; i++) {
		if ((c->known & 1u << i) && is_alike(c, i, bath))
			return false;
	}
	return c->known & 1u << bath;
}

/* "stop bath"; of several that are alike, by the last word of the first one's name: "fixers". */
static void append_baths(const struct note_contents *c, int leader, bool is_small, char *line, unsigned bytes)
{
	const char *name = c->recipe->baths[leader].name, *last = strrchr(name, ' ');
	size_t at = strlen(line);
	bool is_one = true;
	for (int i = leader + 1; i < c->recipe->bath_count; i++)
		is_one = is_one && !((c->known & 1u << i) && is_alike(c, leader, i));
	wet_text_append(line, bytes, "%s%s", is_one || last == NULL ? name : last + 1, is_one ? "" : "s");
	if (at < strlen(line))
		line[at] = (char)(is_small ? tolower((unsigned char)line[at]) : toupper((unsigned char)line[at]));
}

void append_sentence(char line[LINE_BYTES], const char *text)
{
	size_t n = strlen(text);
	wet_text_append(line, LINE_BYTES, " %s%s", text, n > 0 && text[n - 1] == '.' ? "" : ".");
}

void append_code(char *codes, unsigned bytes, const char *code)
{
	if (strstr(codes, code) == NULL)
		wet_text_append(codes, bytes, "%s%s", codes[0] ? ", " : "", code);
}

/* Is it about a gas that acid sets free? That is told once for all baths. */
static bool is_of_gas(const char *code)
{
	return strcmp(code, "EUH031") == 0 || strcmp(code, "EUH032") == 0;
}

/* A line beside the classes, once for all components it is about, where the wording has a gap for their names. */
static void append_supplement(const struct page *p, const struct wet_contents *holds, const struct wet_classification *k,
							  int at, char line[LINE_BYTES])
{
	char names[300] = "", sentence[700];
	const char *text = wet_statement_text(&p->safety->statements, k->lines[at].code);
	const char *open = text ? strchr(text, '<') : NULL, *shut = open ? strchr(open, '>') : NULL;
	for (int i = at; i < k->line_count; i++) {
		if (strcmp(k->lines[i].code, k->lines[at].code) == 0)
			wet_text_append(names, sizeof names, "%s%s", names[0] ? ", " : "",
							holds->components[k->lines[i].component].substance->name);
	}
	wet_text_format(sentence, sizeof sentence, "%.*s%s%s", shut ? (int)(open - text) : 400, text ? text : "",
					shut ? names : "", shut ? shut + 1 : "");
	append_sentence(line, sentence);
}

bool append_hazards(const struct page *p, const struct wet_contents *holds, char line[LINE_BYTES], char *codes,
					unsigned codes_bytes)
{
	struct wet_classification k;
	struct wet_mixture mixture;
	return wet_contents_classify(holds, &mixture, &k, NULL) == 0 && append_classes(p, holds, &k, line, codes, codes_bytes);
}

bool append_classes(const struct page *p, const struct wet_contents *holds, const struct wet_classification *k,
					char line[LINE_BYTES], char *codes, unsigned codes_bytes)
{
	bool is_told = false, is_allergic = false;
	if (k->signal != WET_SIGNAL_NONE)
		append_sentence(line, wet_signal_word(k->signal));
	for (int i = 0; i < k->class_count; i++) {
		const char *text = wet_statement_text(&p->safety->statements, k->classes[i].statement);
		if (!k->classes[i].is_on_label)
			continue;
		append_sentence(line, text ? text : k->classes[i].statement);
		append_code(codes, codes_bytes, k->classes[i].statement);
		is_allergic = is_allergic || k->classes[i].kind == WET_HAZARD_SKIN_SENS_1;
		is_told = true;
	}
	for (int i = 0; i < k->line_count; i++) {
		/* That more than one can make allergic is no news beside a class that says so. */
		bool is_again = is_of_gas(k->lines[i].code) || (is_allergic && strcmp(k->lines[i].code, "EUH208") == 0);
		for (int j = 0; j < i; j++)
			is_again = is_again || strcmp(k->lines[j].code, k->lines[i].code) == 0;
		if (is_again)
			continue;
		append_supplement(p, holds, k, i, line);
		append_code(codes, codes_bytes, k->lines[i].code);
		is_told = true;
	}
	if (k->is_ph_extreme)
		append_sentence(line, "By its pH");
	return is_told;
}

/* The baths that a line of that code is about, as they are used. */
static void put_gas_line(struct page *p, const char *code)
{
	char line[LINE_BYTES] = "";
	const char *text = wet_statement_text(&p->safety->statements, code);
	bool is_met = false;
	wet_text_append(line, sizeof line, "%.*s:", (int)strcspn(text ? text : code, "."), text ? text : code);
	for (int i = 0; i < p->c->recipe->bath_count; i++) {
		const struct wet_contents *holds = &p->c->baths_hold[i];
		bool has = false;
		if (!is_leader(p->c, i))
			continue;
		for (int j = 0; j < holds->component_count; j++) {
			for (int k = 0; k < holds->components[j].substance->supplement_count; k++) {
				const struct wet_supplement *s = &holds->components[j].substance->supplements[k];
				has = has || (strcmp(s->code, code) == 0 && holds->components[j].share_ppm >= s->from_ppm);
			}
		}
		if (!has)
			continue;
		wet_text_append(line, sizeof line, "%s", is_met ? ", " : " ");
		append_baths(p->c, i, true, line, sizeof line);
		is_met = true;
	}
	wet_text_append(line, sizeof line, ". [%s]", code);
	if (is_met)
		put_entry(p, line, &note_classes_from, 1);
}

/* One line for a stock and what is made of it; those that have no class are gathered in `none`. */
static void put_bath(struct page *p, int bath, char *none, unsigned none_bytes)
{
	char line[LINE_BYTES] = "", codes[160] = "";
	struct wet_contents stock;
	const struct wet_bath_mix *mix = &p->c->recipe->baths[bath].mix;
	bool is_thinned = mix->water_milli > 0, is_told = false;
	append_baths(p->c, bath, false, line, sizeof line);
	if (is_thinned) {
		const struct wet_formulary *f = p->c->about->formulary;
		wet_formula_contents(&p->safety->hazards, wet_formulary_substances(f), &wet_formulary_find(f, mix->from)->formula,
							 1, 0, &stock);
		wet_text_append(line, sizeof line, ", stock:");
		is_told = append_hazards(p, &stock, line, codes, sizeof codes);
		wet_text_append(line, sizeof line, "%s As used, %lld+%lld:", is_told ? "" : " no class.",
						(long long)(mix->stock_milli / 1000), (long long)(mix->water_milli / 1000));
	} else {
		wet_text_append(line, sizeof line, ", as used:");
	}
	bool is_classed = append_hazards(p, &p->c->baths_hold[bath], line, codes, sizeof codes);
	if (!is_told && !is_classed) {
		wet_text_append(none, none_bytes, "%s", none[0] ? ", " : "");
		append_baths(p->c, bath, true, none, none_bytes);
		return;
	}
	wet_text_append(line, sizeof line, "%s [%s]", is_classed ? "" : " no class.", codes);
	put_entry(p, line, &note_classes_from, 1);
}

static void put_baths(struct page *p)
{
	char line[LINE_BYTES], none[400] = "";
	for (int i = 0; p->safety && i < p->c->recipe->bath_count; i++) {
		if (is_leader(p->c, i))
			put_bath(p, i, none, sizeof none);
	}
	if (none[0] != '\0') {
		wet_text_format(line, sizeof line, "No class at this strength, but nothing for eyes or mouth: %s.", none);
		put_entry(p, line, &note_classes_from, 1);
	}
	if (p->safety) {
		put_gas_line(p, "EUH031");
		put_gas_line(p, "EUH032");
	}
}

static const char *limit_of(const struct wet_gas *g, const char *who)
{
	for (int i = 0; i < g->exposure_count; i++) {
		if (strcmp(g->exposures[i].who, who) == 0)
			return g->exposures[i].limit;
	}
	return NULL;
}

void put_gases(struct page *p)
{
	for (int i = 0; p->safety && i < p->safety->gases.count; i++) {
		char line[LINE_BYTES] = "";
		const struct wet_gas *g = &p->safety->gases.gases[i];
		const char *limit = limit_of(g, "NIOSH REL"), *danger = limit_of(g, "IDLH");
		if (!(p->gases & UINT64_C(1) << i))
			continue;
		wet_text_copy(line, sizeof line, g->name);
		line[0] = (char)toupper((unsigned char)line[0]);
		wet_text_append(line, sizeof line, " smells %s.%s%s", g->smell, g->smell_fails[0] ? " " : "", g->smell_fails);
		if (limit != NULL)
			wet_text_append(line, sizeof line, " Limit: %s", limit);
		if (danger != NULL)
			wet_text_append(line, sizeof line, "; danger to life at %s", danger);
		wet_text_append(line, sizeof line, "%s", limit != NULL ? "." : "");
		put_entry(p, line, &gases_from, 1);
	}
}

/* -- what must not meet -------------------------------------------------------------------------- */

struct meeting {
	struct wet_thing things[THINGS];
	int baths[THINGS]; /* the leader of each behind the cleaners */
	int count, hit_count;
	struct wet_hit hits[HITS];
};

/* Acids first: most of what forms takes one, so that one line tells all that it must not meet. */
static void take_baths(const struct page *p, struct meeting *m, bool wants_acid)
{
	const uint64_t acids = WET_REACTION_BIT(ACID) | WET_REACTION_BIT(ACID_SALT) | WET_REACTION_BIT(STRONG_ACID);
	for (int i = 0; i < p->c->recipe->bath_count; i++) {
		const struct wet_contents *holds = &p->c->baths_hold[i];
		uint64_t classes = 0;
		for (int j = 0; j < holds->component_count; j++)
			classes |= holds->components[j].substance->classes;
		if (!is_leader(p->c, i) || ((classes & acids) != 0) != wants_acid)
			continue;
		m->baths[m->count] = i;
		m->things[m->count++] =
			(struct wet_thing){ .parts = holds->components, .part_count = holds->component_count };
	}
}

static void find_meetings(struct page *p, struct meeting *m)
{
	m->things[0].classes = WET_REACTION_BIT(HYPOCHLORITE);
	m->things[1].classes = WET_REACTION_BIT(DRAIN_CLEANER);
	m->count = CLEANERS;
	take_baths(p, m, true);
	take_baths(p, m, false);
	(void)wet_incompatibilities_find(&p->safety->incompatibilities, WET_MEETING_DRAIN, m->things, m->count, m->hits, HITS,
									 &m->hit_count);
	if (m->hit_count > HITS)
		m->hit_count = HITS; /* the mildest are left out */
	for (int i = 0; i < m->hit_count; i++) {
		const struct wet_hit *hit = &m->hits[i];
		for (int j = 0; j < WET_RULE_GASES && hit->a >= CLEANERS && hit->b >= CLEANERS; j++) {
			const struct wet_gas *g = wet_gas_find(&p->safety->gases, hit->rule->gases[j]);
			if (g != NULL && hit->severity >= WET_SEVERITY_WARN)
				p->gases |= UINT64_C(1) << (g - p->safety->gases.gases);
		}
	}
}

static bool is_between(const struct wet_hit *hit, int a, int b)
{
	return hit->severity >= WET_SEVERITY_WARN && ((hit->a == a && hit->b == b) || (hit->a == b && hit->b == a));
}

/* "chlorine, chloramine", of a rule without a gas what it says; each once. */
void append_forms(const struct page *p, const struct wet_incompatibility *rule, char *forms, unsigned bytes)
{
	bool has_gas = false;
	for (int i = 0; i < WET_RULE_GASES; i++) {
		const struct wet_gas *g = wet_gas_find(&p->safety->gases, rule->gases[i]);
		if (g != NULL)
			append_code(forms, bytes, g->name);
		has_gas = has_gas || g != NULL;
	}
	if (!has_gas)
		append_code(forms, bytes, rule->forms);
}

/* One thing with all those behind it that it must not meet. */
struct warning {
	int count; /* of these */
	char partners[400], forms[400];
	const char *sources[WET_RULE_SOURCES];
	int source_count;
};

static void take_hit(const struct page *p, const struct wet_hit *hit, struct warning *w)
{
	bool is_known = false;
	append_forms(p, hit->rule, w->forms, sizeof w->forms);
	for (int j = 0; j < w->source_count; j++)
		is_known = is_known || strcmp(w->sources[j], hit->rule->source) == 0;
	if (!is_known && w->source_count < WET_RULE_SOURCES)
		w->sources[w->source_count++] = hit->rule->source;
}

static void find_warning(const struct page *p, const struct meeting *m, int at, struct warning *w)
{
	memset(w, 0, sizeof *w);
	for (int other = at < CLEANERS ? CLEANERS : at + 1; other < m->count; other++) {
		bool is_met = false;
		for (int i = 0; i < m->hit_count; i++) {
			if (!is_between(&m->hits[i], at, other))
				continue;
			is_met = true;
			take_hit(p, &m->hits[i], w);
		}
		if (!is_met)
			continue;
		wet_text_append(w->partners, sizeof w->partners, "%s", w->count++ > 0 ? ", " : "");
		append_baths(p->c, m->baths[other], true, w->partners, sizeof w->partners);
	}
}

static void put_warnings(struct page *p, const struct meeting *m)
{
	static const char *const cleaners[CLEANERS] = { "Household bleach with these", "Drain cleaner with these" };
	struct warning *w = calloc(2, sizeof *w);
	if (w == NULL) {
		p->text.is_out_of_memory = true;
		return;
	}
	for (int at = 0; at < m->count; at++) {
		char line[LINE_BYTES] = "";
		find_warning(p, m, at, &w[0]);
		if (w[0].count == 0)
			continue;
		if (at < CLEANERS)
			wet_text_copy(line, sizeof line, cleaners[at]);
		else
			append_baths(p->c, m->baths[at], false, line, sizeof line);
		/* Others that meet the same and form the same stand in the same line. */
		for (; at >= CLEANERS && at + 1 < m->count; at++) {
			find_warning(p, m, at + 1, &w[1]);
			if (strcmp(w[1].partners, w[0].partners) != 0 || strcmp(w[1].forms, w[0].forms) != 0)
				break;
			wet_text_append(line, sizeof line, ", ");
			append_baths(p->c, m->baths[at + 1], true, line, sizeof line);
		}
		wet_text_append(line, sizeof line, "%s%s: %s.", at < CLEANERS ? "" : " with ", at < CLEANERS ? "" : w[0].partners,
						w[0].forms);
		put_entry(p, line, w[0].sources, w[0].source_count);
	}
	free(w);
}

/* -- the page -------------------------------------------------------------------------------------- */

void put_heading(struct page *p, const char *heading)
{
	struct text *both[] = { &p->text, &p->sources };
	for (size_t i = 0; i < COUNT(both); i++) {
		put_text(both[i], "\n## ");
		put_text(both[i], heading);
		put_text(both[i], "\n");
	}
}

void put_gaps(struct page *p)
{
	if (p->safety && p->safety->fault_count > 0)
		put_wrapped(&p->text, "", "",
					"NOT WHOLE: a table of safety data could not be used, so that a danger may be missing here; `wetside "
					"status` names the file. Until it is mended go by the safety data sheets, and mix nothing with anything.");
}

static void put_sections(struct page *p, const struct meeting *m)
{
	bool is_reviewed = !p->safety || p->safety->practice.is_first_aid_reviewed;
	put_heading(p, "First: what to wear, what to open");
	put_rules(p, WET_SECTION_WEAR);
	put_own(p, "wear_and_open");
	put_heading(p, "What can hurt");
	put_baths(p);
	put_gases(p);
	put_rules(p, WET_SECTION_HURT);
	put_own(p, "can_hurt");
	put_heading(p, "Never mix");
	if (m)
		put_warnings(p, m);
	put_rules(p, WET_SECTION_NEVER_MIX);
	put_own(p, "never_mix");
	put_heading(p, is_reviewed ? "If it happens" : "If it happens (not yet read by anyone trained in first aid)");
	put_rules(p, WET_SECTION_HAPPENS);
	put_own(p, "if_it_happens");
	put_heading(p, "Afterwards: what goes where");
	put_own(p, "disposal");
	put_rules(p, WET_SECTION_DISPOSAL);
}

void note_render(const json_t *root, const struct note_contents *c, struct note *note)
{
	struct page p = { .root = root, .c = c, .safety = c->about ? c->about->safety : NULL };
	struct meeting *m = calloc(1, sizeof *m);
	char reason[WET_LINE_BYTES + 64];
	if (m == NULL)
		return;
	if (p.safety)
		find_meetings(&p, m);
	put_wrapped(&p.text, "# Safety: ", "  ", c->title);
	put_wrapped(&p.sources, "# Sources of the safety note: ", "  ", c->title);
	if (c->needs_acknowledgement) {
		wet_text_format(reason, sizeof reason, "%s Read this once before the first run and acknowledge it.",
						c->reason);
		put_wrapped(&p.text, "", "", reason);
	}
	put_gaps(&p);
	put_sections(&p, p.safety ? m : NULL);
	wet_text_format(reason, sizeof reason, "Sources: wetside safety %s --sources%s", c->recipe->name,
					c->known != 0 ? ". Classed by our formulas." : "");
	put_text(&p.text, "\n");
	put_wrapped(&p.text, "", "", reason);
	for (size_t i = 0; i < WET_CLOSING_LINES; i++)
		put_wrapped(&p.text, "- ", "  ", wet_closing_lines[i]);
	note->text = finish(&p.text);
	note->sources = finish(&p.sources);
	free(m);
}
