/* hazard.c: the hazards of a mix at its strength, and of a substance. */
#include "methods/hazard.h"

#include "base/text.h"
#include "shelf/shelf.h"
#include "wetside/contents.h"

#include <stdarg.h>
#include <string.h>

#define LINE 400

void line_add(json_t *lines, const char *format, ...)
{
	char line[LINE];
	va_list ap;
	va_start(ap, format);
	wet_text_vformat(line, sizeof line, format, ap);
	va_end(ap);
	(void)json_array_append_new(lines, json_string(line));
}

const char *statement_wording(const struct wet_safety *safety, const char *code)
{
	const char *text = wet_statement_text(&safety->statements, code);
	return text ? text : "";
}

/* The wording leaves a gap for a name, or the name stands behind it. */
static void add_line_of(json_t *lines, const char *code, const char *text, const char *name)
{
	const char *open = strchr(text, '<'), *shut = open ? strchr(open, '>') : NULL;
	if (shut)
		line_add(lines, "%s %.*s%s%s", code, (int)(open - text), text, name, shut + 1);
	else
		line_add(lines, "%s %s (%s)", code, text, name);
}

json_t *wet_formula_hazards(const struct wet_safety *safety, const struct wet_substances *table,
							const struct wet_formula *f)
{
	struct wet_contents contents;
	struct wet_classification c;
	struct wet_fault fault = { 0 };
	char pictograms[160] = "", why[LINE];
	json_t *lines = json_array(), *reasons = json_array(), *unknown = json_array();
	wet_formula_contents(&safety->hazards, table, f, 1, 0, &contents);
	for (int i = 0; i < contents.unknown_count; i++)
		(void)json_array_append_new(unknown, json_string(contents.unknown[i]->name));
	struct wet_mixture mixture;
	if (wet_contents_classify(&contents, &mixture, &c, &fault) != 0) {
		memset(&c, 0, sizeof c);
		line_add(lines, "Not classified: %s.", fault.want);
	}
	for (int i = 0; i < c.class_count; i++) {
		if (c.classes[i].is_on_label)
			line_add(lines, "%s %s", c.classes[i].statement, statement_wording(safety, c.classes[i].statement));
		(void)json_array_append_new(reasons,
									json_string(wet_mixture_class_why(&mixture, &c.classes[i], why, sizeof why)));
	}
	for (int i = 0; i < c.line_count; i++)
		add_line_of(lines, c.lines[i].code, statement_wording(safety, c.lines[i].code),
					contents.components[c.lines[i].component].substance->name);
	for (int i = 1; i < 10; i++)
		if (c.pictograms & 1u << i)
			wet_text_append(pictograms, sizeof pictograms, "%s%s", pictograms[0] ? ", " : "", wet_pictogram_name(i));
	if (c.is_ph_extreme)
		line_add(lines, "pH about %d.%d, computed from its acid: taken for corrosive until it is tested",
			(int)(mixture.ph_milli + 50) / 1000, (int)(mixture.ph_milli + 50) % 1000 / 100);
	return json_pack("{s:s, s:s, s:o, s:o, s:o}", "signal", wet_signal_word(c.signal), "pictograms", pictograms, "lines",
					 lines, "why", reasons, "unknown", unknown);
}

static void add_statement(json_t *lines, const struct wet_safety *safety, const char *title, const char *code)
{
	line_add(lines, "  %s%s%s %s", title, title[0] ? ": " : "", code, statement_wording(safety, code));
}

static void add_exposures(json_t *lines, const struct wet_exposure *exposures, int count)
{
	for (int i = 0; i < count; i++)
		line_add(lines, "  In air, %s: %s", exposures[i].who, exposures[i].limit);
}

static void add_substance(json_t *lines, const struct wet_safety *safety, const struct wet_hazards *h)
{
	static const char *const heads[WET_ADVICE_N] = { "First aid", "Protection", "Storage", "Disposal" };
	line_add(lines, "%s%s%s%s%s", h->name, h->formula[0] ? ", " : "", h->formula, h->cas[0] ? ", CAS " : "", h->cas);
	for (int i = 0; i < h->hazard_count; i++) {
		const struct wet_hazard_fact *fact = wet_hazard_fact(h->hazards[i].kind);
		add_statement(lines, safety, fact->title,
					  h->hazards[i].statement[0] ? h->hazards[i].statement : fact->statement);
	}
	if (h->hazard_count == 0)
		line_add(lines, "  No class of hazard is known here; that is no promise.");
	add_exposures(lines, h->exposures, h->exposure_count);
	for (int k = 0; k < WET_ADVICE_N; k++)
		for (int i = 0; i < h->advice_count[k]; i++)
			line_add(lines, "  %s: %s", heads[k], safety->hazards.advice[h->advice[k][i]].text);
}

static void add_gas(json_t *lines, const struct wet_safety *safety, const struct wet_gas *g)
{
	line_add(lines, "%s, %s, CAS %s: a gas", g->name, g->formula, g->cas);
	line_add(lines, "  It smells %s.%s%s", g->smell, g->smell_fails[0] ? " " : "", g->smell_fails);
	for (int i = 0; i < g->statement_count; i++)
		add_statement(lines, safety, "", g->statements[i]);
	add_exposures(lines, g->exposures, g->exposure_count);
	if (g->exposure_count == 0)
		line_add(lines, "  No limit in air is known here; that is no promise.");
	for (int i = 0; i < g->first_aid_count; i++)
		line_add(lines, "  First aid: %s", safety->hazards.advice[g->first_aid[i]].text);
	for (int i = 0; i < safety->incompatibilities.count; i++) {
		const struct wet_incompatibility *rule = &safety->incompatibilities.rules[i];
		for (int j = 0; j < WET_RULE_GASES; j++)
			if (strcmp(rule->gases[j], g->key) == 0)
				line_add(lines, "  Forms: %s", rule->text);
	}
}

static void add_closing(json_t *lines, const struct wet_safety *safety)
{
	if (!safety->practice.is_first_aid_reviewed)
		line_add(lines, "The words on first aid are ours; nobody trained in first aid has read them yet.");
	for (int i = 0; i < WET_CLOSING_LINES; i++)
		line_add(lines, "%s", wet_closing_lines[i]);
}

json_t *wet_safety_lines(const struct wet_safety *safety, const char *name)
{
	const struct wet_hazards *h = wet_hazards_find(&safety->hazards, name);
	const struct wet_gas *g = wet_gas_find(&safety->gases, name);
	json_t *lines = json_array();
	if (h)
		add_substance(lines, safety, h);
	if (g)
		add_gas(lines, safety, g);
	if (h || g)
		add_closing(lines, safety);
	return lines;
}

/* -- the room ---------------------------------------------------------------------------------------- */

json_t *wet_room_lines(const struct wet_safety *safety)
{
	const struct wet_practice *p = &safety->practice;
	json_t *lines = json_array();
	for (int topic = 0; topic < WET_TOPIC_N; topic++) {
		bool is_first = true;
		for (int i = 0; i < p->count; i++) {
			if (p->rules[i].topic != topic)
				continue;
			if (is_first)
				line_add(lines, "%s", wet_practice_heading(topic));
			line_add(lines, "- %s", p->rules[i].text);
			is_first = false;
		}
	}
	add_closing(lines, safety);
	return lines;
}

json_t *wet_room_sources(const struct wet_safety *safety)
{
	char line[LINE + WET_RULE_SOURCES * WET_CITATION_BYTES];
	const struct wet_practice *p = &safety->practice;
	json_t *lines = json_array();
	for (int i = 0; i < p->count; i++) {
		wet_text_format(line, sizeof line, "%s: ", p->rules[i].key);
		for (int j = 0; j < p->rules[i].source_count; j++)
			wet_text_append(line, sizeof line, "%s%s", j ? "; " : "", p->citations[p->rules[i].sources[j]]);
		(void)json_array_append_new(lines, json_string(line));
	}
	return lines;
}

json_t *wet_checklist(const struct wet_safety *safety)
{
	const struct wet_practice *p = &safety->practice;
	json_t *lines = json_array();
	int rules[WET_PRACTICE_RULES];
	for (int i = 0, n = wet_practice_asked(p, rules); i < n; i++)
		(void)json_array_append_new(lines, json_string(p->rules[rules[i]].checklist));
	return lines;
}
