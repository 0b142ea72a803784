/* us_units.c: sentences that were told in metric, with the US measure behind each: for pages of those who own such vessels. The
 * metric number stays, for it is what was planned. */
#include "methods/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#define LINES 2000
#define LINE_BYTES 1200
#define INNER_MOST 1e12 /* the printer's range, quantity.h */

static const struct pair {
	const char *word;
	double inner; /* inner units of one */
	enum wet_unit to, to_large;
	double large; /* from so many inner units on */
	int places;
} pairs[] = {
	{ "mL", 1e3, WET_UNIT_US_FL_OZ, WET_UNIT_US_QT, 1.9e6, 2 }, { "L", 1e6, WET_UNIT_US_QT, WET_UNIT_US_GAL, 1.5e7, 2 },
	{ "kg", 1e6, WET_UNIT_LB, WET_UNIT_LB, 0, 2 },              { "g", 1e3, WET_UNIT_OZ_AV, WET_UNIT_LB, 9e5, 3 },
	{ "mm", 1e3, WET_UNIT_IN, WET_UNIT_IN, 0, 2 },              { "cm2", 1e2, WET_UNIT_IN2, WET_UNIT_IN2, 0, 1 },
	{ "cm", 1e4, WET_UNIT_IN, WET_UNIT_IN, 0, 2 },              { "m2", 1e6, WET_UNIT_IN2, WET_UNIT_IN2, 0, 0 },
	{ "C", 1e3, WET_UNIT_F, WET_UNIT_F, 0, 1 },
};

static const struct pair *pair_at(const char *p, size_t *ret_bytes)
{
	for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
		size_t n = strlen(pairs[i].word);
		if (strncmp(p, pairs[i].word, n) == 0 && !isalnum((unsigned char)p[n]) && p[n] != '/') {
			*ret_bytes = n;
			return &pairs[i];
		}
	}
	return NULL;
}

/* "3 C apart", "0.4 C a minute", "+/- 0.5 C" are no temperatures but how far two lie apart. */
static bool is_apart(const char *line, const char *number, const char *rest)
{
	static const char *const after[] = { " apart", " a minute", " warmer", " cooler", " colder", " off", " too", " from" };
	for (size_t i = 0; i < sizeof after / sizeof after[0]; i++)
		if (strncmp(rest, after[i], strlen(after[i])) == 0)
			return true;
	return (number - line >= 4 && strncmp(number - 4, "+/- ", 4) == 0) || (number - line >= 3 && strncmp(number - 3, "by ", 3) == 0) ||
		   (number - line >= 5 && strncmp(number - 5, "over ", 5) == 0);
}

static void append_us(const struct pair *pair, const double *values, int count, char *buf, size_t bytes)
{
	char text[64];
	for (int i = 0; i < count; i++) {
		double inner = values[i] * pair->inner;
		enum wet_unit to = pair->large > 0 && inner >= pair->large ? pair->to_large : pair->to;
		wet_print_quantity_about((struct wet_quantity){ llround(inner), to }, pair->places, text, sizeof text);
		if (i + 1 < count) /* "3.54 x 4.72 in": the unit once */
			*strchr(text, ' ') = '\0';
		wet_text_append(buf, bytes, "%s%s", i > 0 ? " x " : " (", text);
	}
	wet_text_append(buf, bytes, ")");
}

/* From a number on: it, another behind an x, and their unit. Returns the first byte behind; NULL: no such measure. */
static const char *take_measure(const char *line, const char *p, char *buf, size_t bytes)
{
	struct wet_fault fault = { 0 };
	const char *rest;
	double values[2];
	int count = 1;
	size_t n;
	if (wet_read_number(p, &values[0], &rest, &fault) != 0)
		return NULL;
	if (strncmp(rest, " x ", 3) == 0 && isdigit((unsigned char)rest[3]) && wet_read_number(rest + 3, &values[1], &rest, &fault) == 0)
		count = 2;
	const char *unit = *rest == ' ' ? rest + 1 : rest;
	const struct pair *pair = pair_at(unit, &n);
	if (!pair || values[0] * pair->inner > INNER_MOST || (count == 2 && values[1] * pair->inner > INNER_MOST) ||
		(pair->to == WET_UNIT_F && (count == 2 || is_apart(line, p, unit + n))))
		return NULL;
	if (count == 2 && pair->to != WET_UNIT_IN) { /* "2 x 100 mL": the first counts */
		values[0] = values[1];
		count = 1;
	}
	wet_text_append(buf, bytes, "%.*s", (int)(unit + n - p), p);
	append_us(pair, values, count, buf, bytes);
	return unit + n;
}

static json_t *with_us(const char *line)
{
	char buf[LINE_BYTES] = "";
	for (const char *p = line; *p;) {
		bool begins = isdigit((unsigned char)*p) && (p == line || (!isalnum((unsigned char)p[-1]) && !strchr(".-/+:", p[-1])));
		const char *next = begins ? take_measure(line, p, buf, sizeof buf) : NULL;
		if (!next) { /* this byte, or the whole number that is none of ours */
			next = p + 1;
			while (begins && (isdigit((unsigned char)*next) || (*next == '.' && isdigit((unsigned char)next[1]))))
				next++;
			wet_text_append(buf, sizeof buf, "%.*s", (int)(next - p), p);
		}
		p = next;
	}
	/* What would not fit stays as it was told. */
	return json_string(strlen(buf) + 60 < sizeof buf ? buf : line);
}

void serve_us_units(struct wet_call *c)
{
	json_t *list = NULL, *line, *result = json_array();
	size_t i;
	if (!want_list(c, "lines", LINES, &list)) {
		json_decref(result);
		return;
	}
	json_array_foreach(list, i, line) (void)json_array_append_new(result, with_us(json_string_value(line)));
	call_result(c, json_pack("{s:o}", "lines", result));
}
