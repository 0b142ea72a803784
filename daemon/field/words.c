/* words.c: a text of the field as words, and what is printed of exposures. */
#include "field/inside.h"

#include "base/text.h"
#include "wetside/exposure.h"
#include "wetside/quantity.h"

#include <math.h>
#include <string.h>

static bool is_gap(char c)
{
	return c == ' ' || c == '\t' || c == ';' || c == ',';
}

static bool is_letter(char c)
{
	return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80;
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* A comma between digits is a decimal one. */
static bool is_end(const char *from, const char *p)
{
	return *p == '\0' || (is_gap(*p) && !(*p == ',' && p > from && is_digit(p[-1]) && is_digit(p[1])));
}

bool field_next_word(const char **text, char *ret_word, size_t word_bytes)
{
	const char *p = *text, *from;
	while (is_gap(*p))
		p++;
	from = p;
	while (!is_end(from, p)) {
		if (p > from && is_letter(*p) && is_digit(p[-1]))
			break; /* a unit against its number; "cd/m2" and "f/8" have the digit last */
		p++;
	}
	*text = p;
	size_t n = (size_t)(p - from);
	wet_text_copy(ret_word, n + 1 < word_bytes ? n + 1 : word_bytes, from);
	return n > 0;
}

static char lower(char c)
{
	return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool field_same_word(const char *a, const char *b)
{
	while (*a && lower(*a) == lower(*b)) {
		a++;
		b++;
	}
	return *a == *b;
}

bool field_number(const char *word, double *ret_value)
{
	const char *rest;
	double v;
	if (wet_read_number(word, &v, &rest, NULL) != 0 || *rest)
		return false;
	*ret_value = v;
	return true;
}

/* -- printing ------------------------------------------------------------------------ */

char *wet_print_f_number(double f_number, char *buf, unsigned buf_bytes)
{
	int places = f_number < 9.95 ? 1 : 0;
	double rounded = places ? round(f_number * 10) / 10 : round(f_number);
	return wet_text_format(buf, buf_bytes, "f/%.*f", rounded == floor(rounded) ? 0 : places, rounded);
}

char *wet_print_stops(double stops, bool with_sign, char *buf, unsigned buf_bytes)
{
	static const char *const parts[] = { "", "1/3", "1/2", "2/3" };
	static const double part_stops[] = { 0, 1 / 3.0, 1 / 2.0, 2 / 3.0 };
	const char *sign = stops < 0 ? "-" : with_sign ? "+" : "";
	double size = fabs(stops), whole = floor(size + 0.005);
	if (size < 0.05)
		return wet_text_format(buf, buf_bytes, "0 stops");
	for (int i = 0; i < 4; i++) {
		if (fabs(size - whole - part_stops[i]) > 0.005)
			continue;
		wet_text_format(buf, buf_bytes, "%s", sign);
		if (whole > 0 || i == 0)
			wet_text_append(buf, buf_bytes, "%.0f%s", whole, i > 0 ? " " : "");
		return wet_text_append(buf, buf_bytes, "%s stop%s", parts[i], whole + part_stops[i] > 1 ? "s" : "");
	}
	return wet_text_format(buf, buf_bytes, "%s%.1f stops", sign, size);
}

char *wet_print_exposure(double time_s, char *buf, unsigned buf_bytes)
{
	if (time_s < 0.3)
		return wet_text_format(buf, buf_bytes, "1/%.0f s", 1 / time_s);
	if (time_s < 9.95)
		return wet_text_format(buf, buf_bytes, "%.1f s", time_s);
	if (time_s < 59.5)
		return wet_text_format(buf, buf_bytes, "%.0f s", time_s);
	return wet_print_duration((int64_t)llround(time_s) * WET_NS_PER_S, buf, buf_bytes);
}
