/* number.c: numbers as people type them. */
#include "base/number.h"

#include <string.h>

#define DIGITS_MAX 15             /* after the point */
#define TOP_MAX 999999999999999LL /* all digits together */
#define FRACTION_MAX 1000000      /* numerator and denominator of "1/2" */

int reader_fail(const struct reader *r, int err)
{
	return wet_fault_set(r->fault, err, "", r->text, "%s", r->want);
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

size_t reader_blank_bytes(const char *p)
{
	if (*p == ' ' || *p == '\t')
		return 1;
	return strncmp(p, "\xC2\xA0", 2) == 0 ? 2 : 0;
}

void reader_skip_blanks(struct reader *r)
{
	for (size_t n; (n = reader_blank_bytes(r->p)) > 0;)
		r->p += n;
}

bool reader_at_end(struct reader *r)
{
	reader_skip_blanks(r);
	return *r->p == '\0';
}

bool reader_same_word(const char *a, const char *b, size_t n, bool any_case)
{
	for (size_t i = 0; i < n; i++) {
		char x = a[i], y = b[i];
		if (any_case && x >= 'A' && x <= 'Z')
			x = (char)(x - 'A' + 'a');
		if (any_case && y >= 'A' && y <= 'Z')
			y = (char)(y - 'A' + 'a');
		if (x != y)
			return false;
	}
	return true;
}

bool reader_rest_is(struct reader *r, const char *word, bool any_case)
{
	size_t n = strlen(word);
	reader_skip_blanks(r);
	if (!reader_same_word(word, r->p, n, any_case))
		return false;
	struct reader after = *r;
	after.p += n;
	return reader_at_end(&after);
}

double number_double(struct number v)
{
	return (double)v.top / (double)v.bottom;
}

int64_t number_times(struct number v, int64_t factor_top, int64_t factor_bottom)
{
	wide top = v.top * factor_top, bottom = v.bottom * factor_bottom;
	wide size = top < 0 ? -top : top;
	wide rounded = (size * 2 + bottom) / (bottom * 2);
	return (int64_t)(top < 0 ? -rounded : rounded);
}

bool number_is_over(struct number v, int64_t factor_top, int64_t factor_bottom, int64_t high)
{
	return v.top * factor_top > (wide)high * v.bottom * factor_bottom;
}

/* Digits of a fraction's side, 1..FRACTION_MAX. False: none, zero or too many. */
static bool read_side(const char **p, int64_t *ret_value)
{
	int64_t v = 0;
	if (!is_digit(**p))
		return false;
	for (; is_digit(**p); (*p)++)
		if ((v = v * 10 + (**p - '0')) > FRACTION_MAX)
			return false;
	*ret_value = v;
	return v > 0;
}

/* A fraction that is one sign, after whole digits or alone: Unicode 15, Number Forms and Latin-1. Moves on behind it. */
static bool read_sign(const char **p, int64_t *ret_top, int64_t *ret_bottom)
{
	static const struct {
		char bytes[4];
		int8_t top, bottom;
	} signs[] = { { "\xC2\xBC", 1, 4 },      { "\xC2\xBD", 1, 2 },      { "\xC2\xBE", 3, 4 },     { "\xE2\x85\x90", 1, 7 },
				  { "\xE2\x85\x91", 1, 9 }, { "\xE2\x85\x92", 1, 10 }, { "\xE2\x85\x93", 1, 3 }, { "\xE2\x85\x94", 2, 3 },
				  { "\xE2\x85\x95", 1, 5 }, { "\xE2\x85\x96", 2, 5 },  { "\xE2\x85\x97", 3, 5 }, { "\xE2\x85\x98", 4, 5 },
				  { "\xE2\x85\x99", 1, 6 }, { "\xE2\x85\x9A", 5, 6 },  { "\xE2\x85\x9B", 1, 8 }, { "\xE2\x85\x9C", 3, 8 },
				  { "\xE2\x85\x9D", 5, 8 }, { "\xE2\x85\x9E", 7, 8 } };
	for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++) {
		size_t n = strlen(signs[i].bytes);
		if (strncmp(*p, signs[i].bytes, n) != 0)
			continue;
		*p += n;
		*ret_top = signs[i].top;
		*ret_bottom = signs[i].bottom;
		return true;
	}
	return false;
}

/* After whole digits: "/2" makes a fraction of them, " 1/2" or "-1/2" adds one, as rulers are read aloud. */
static int read_fraction(struct reader *r, struct number *v)
{
	int64_t n, d;
	if (*r->p == '/') {
		r->p++;
		if (v->top > FRACTION_MAX || !read_side(&r->p, &d))
			return reader_fail(r, WET_ERR_INVALID);
		v->bottom = d;
		return WET_OK;
	}
	const char *q = r->p + (*r->p == '-' ? 1 : reader_blank_bytes(r->p));
	if (read_sign(&q, &n, &d)) {
		v->top = v->top * d + n;
		v->bottom = d;
		r->p = q;
		return is_digit(*q) ? reader_fail(r, WET_ERR_INVALID) : WET_OK;
	}
	if (q == r->p || !is_digit(*q) || !read_side(&q, &n) || *q != '/')
		return WET_OK; /* no fraction: the caller sees what follows */
	q++;
	if (!read_side(&q, &d) || n >= d)
		return reader_fail(r, WET_ERR_INVALID);
	v->top = v->top * d + n;
	v->bottom = d;
	r->p = q;
	return WET_OK;
}

/* "1,000": a thousand to one reader, one to another, and the bath is a thousand times too weak. */
static int refuse_thousands(const struct reader *r, struct number v)
{
	return wet_fault_set(r->fault, WET_ERR_AMBIGUOUS, "", r->text,
						 "a comma before three digits is read in two ways: write %lld or %.3f",
						 (long long)v.top, number_double(v));
}

int number_read(struct reader *r, struct number *ret_value)
{
	struct number v = { 0, 1 };
	int before = 0, after = 0; /* digits */
	int64_t n, d;
	char point = 0;
	reader_skip_blanks(r);
	bool is_negative = *r->p == '-';
	if (*r->p == '-' || *r->p == '+')
		r->p++;
	const char *first = r->p;
	for (;; r->p++) {
		if (is_digit(*r->p)) {
			v.top = v.top * 10 + (*r->p - '0');
			if (point) {
				v.bottom *= 10;
				after++;
			} else {
				before++;
			}
			if (v.top > TOP_MAX || after > DIGITS_MAX)
				return reader_fail(r, WET_ERR_RANGE);
		} else if ((*r->p == '.' || *r->p == ',') && !point && (is_digit(r->p[1]) || before > 0)) {
			point = *r->p;
		} else {
			break;
		}
	}
	if (before + after == 0 && !point && read_sign(&r->p, &n, &d) && !is_digit(*r->p)) {
		*ret_value = (struct number){ is_negative ? -n : n, d };
		return WET_OK;
	}
	if (before + after == 0 || (point && *r->p == ',' && is_digit(r->p[1])))
		return reader_fail(r, WET_ERR_INVALID);
	if (point == ',' && after == 3 && before >= 1 && before <= 3 && *first != '0')
		return refuse_thousands(r, v);
	int rc = point ? WET_OK : read_fraction(r, &v);
	if (rc != 0)
		return rc;
	if (is_negative)
		v.top = -v.top;
	*ret_value = v;
	return WET_OK;
}
