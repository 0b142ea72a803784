/* hazard.c: the hazards of a mix at its strength, and of a substance. */
#include "methods/hazard.h"

#include "base/text.h"
#include "shelf/shelf.h"
#include "wetside/contents.h"

#include <stdarg.h>
#include <string.h>

#define LINE 400

static void add(json_t *lines, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void add(json_t *lines, const char *format, ...)
{
	char line[LINE];
	va_list ap;
	va_start(ap, format);
	wet_text_vformat(line, sizeof line, format, ap);
	va_end(ap);
	(void)json_array_append_new(lines, json_string(line));
}

static const char *wording(const struct wet_safety *safety, const char *code)
{
	const char *text = wet_statement_text(&safety->statements, code);
	return text ? text : "";
}

/* The wording leaves a gap for a name, or the name stands behind it. */
static void add_line_of(json_t *lines, const char *code, const char *text, const char *name)
{
	const char *open = strchr(text, '<'), *shut = open ? strchr(open, '>') : NULL;
	if (shut)
		add(lines, "%s %.*s%s%s", code, (int)(open - text), text, name, shut + 1);
	else
		add(lines, "%s %s (%s)", code, text, name);
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
	struct wet_mixture mixture = { .components = contents.components, .component_count = contents.component_count };
	if (wet_mixture_classify(&mixture, &c, &fault) != 0) {
		memset(&c, 0, sizeof c);
		add(lines, "Not classified: %s.", fault.want);
	}
	for (int i = 0; i < c.class_count; i++) {
		if (c.classes[i].is_on_label)
			add(lines, "%s %s", c.classes[i].statement, wording(safety, c.classes[i].statement));
		(void)json_array_append_new(reasons,
									json_string(wet_mixture_class_why(&mixture, &c.classes[i], why, sizeof why)));
	}
	for (int i = 0; i < c.line_count; i++)
		add_line_of(lines, c.lines[i].code, wording(safety, c.lines[i].code),
					contents.components[c.lines[i].component].substance->name);
	for (int i = 1; i < 10; i++)
		if (c.pictograms & 1u << i)
			wet_text_append(pictograms, sizeof pictograms, "%s%s", pictograms[0] ? ", " : "", wet_pictogram_name(i));
	return json_pack("{s:s, s:s, s:o, s:o, s:o}", "signal", wet_signal_word(c.signal), "pictograms", pictograms, "lines",
					 lines, "why", reasons, "unknown", unknown);
}

json_t *wet_substance_lines(const struct wet_safety *safety, const struct wet_hazards *h)
{
	static const char *const heads[WET_ADVICE_N] = { "First aid", "Protection", "Storage", "Disposal" };
	json_t *lines = json_array();
	if (!lines)
		return NULL;
	add(lines, "%s%s%s%s%s", h->name, h->formula[0] ? ", " : "", h->formula, h->cas[0] ? ", CAS " : "", h->cas);
	for (int i = 0; i < h->hazard_count; i++) {
		const struct wet_hazard_fact *fact = wet_hazard_fact(h->hazards[i].kind);
		const char *code = h->hazards[i].statement[0] ? h->hazards[i].statement : fact->statement;
		add(lines, "  %s: %s %s", fact->title, code, wording(safety, code));
	}
	if (h->hazard_count == 0)
		add(lines, "  No class of hazard is known here; that is no promise.");
	for (int i = 0; i < h->exposure_count; i++)
		add(lines, "  In air, %s: %s", h->exposures[i].who, h->exposures[i].limit);
	for (int k = 0; k < WET_ADVICE_N; k++)
		for (int i = 0; i < h->advice_count[k]; i++)
			add(lines, "  %s: %s", heads[k], safety->hazards.advice[h->advice[k][i]].text);
	for (int i = 0; i < WET_CLOSING_LINES; i++)
		add(lines, "%s", wet_closing_lines[i]);
	return lines;
}
