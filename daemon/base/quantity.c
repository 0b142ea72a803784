/* quantity.c: reading quantities as people write them.
 *
 * A number is read as an exact fraction of integers, so that "0.1" has no binary error; it is multiplied by
 * the unit's exact factor, a fraction too, and rounded once, half away from zero. All products stay under
 * 2^127: at most 15 digits, denominators up to 10^15, factors under 10^13. */
#include "wetside/quantity.h"

#include "base/text.h"

#include <stdbool.h>
#include <string.h>

__extension__ typedef __int128 wide;

#define DIGITS_MAX 15             /* after the point */
#define TOP_MAX 999999999999999LL /* all digits together */
#define FRACTION_MAX 1000000      /* numerator and denominator of "1/2" */

struct number {
	wide top, bottom; /* bottom > 0 */
};

struct reader {
	const char *text, *p;
	struct wet_fault *fault;
	const char *want;
};

static int fail(const struct reader *r, int err)
{
	return wet_fault_set(r->fault, err, "", r->text, "%s", r->want);
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* Bytes of the blank at p; a no-break space counts. */
static size_t blank_bytes(const char *p)
{
	if (*p == ' ' || *p == '\t')
		return 1;
	return strncmp(p, "\xC2\xA0", 2) == 0 ? 2 : 0;
}

static void skip_blanks(struct reader *r)
{
	for (size_t n; (n = blank_bytes(r->p)) > 0;)
		r->p += n;
}

static bool at_end(struct reader *r)
{
	skip_blanks(r);
	return *r->p == '\0';
}

static double as_double(struct number v)
{
	return (double)v.top / (double)v.bottom;
}

/* v * factor_top / factor_bottom, rounded half away from zero. The caller has checked that it fits. */
static int64_t times(struct number v, int64_t factor_top, int64_t factor_bottom)
{
	wide top = v.top * factor_top, bottom = v.bottom * factor_bottom;
	wide size = top < 0 ? -top : top;
	wide rounded = (size * 2 + bottom) / (bottom * 2);
	return (int64_t)(top < 0 ? -rounded : rounded);
}

/* Is v * factor over high? */
static bool is_over(struct number v, int64_t factor_top, int64_t factor_bottom, int64_t high)
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

/* After whole digits: "/2" makes a fraction of them, " 1/2" adds one. */
static int read_fraction(struct reader *r, struct number *v)
{
	int64_t n, d;
	if (*r->p == '/') {
		r->p++;
		if (v->top > FRACTION_MAX || !read_side(&r->p, &d))
			return fail(r, WET_ERR_INVALID);
		v->bottom = d;
		return WET_OK;
	}
	const char *q = r->p + blank_bytes(r->p);
	if (q == r->p || !is_digit(*q) || !read_side(&q, &n) || *q != '/')
		return WET_OK; /* no fraction: the caller sees what follows */
	q++;
	if (!read_side(&q, &d) || n >= d)
		return fail(r, WET_ERR_INVALID);
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
						 (long long)v.top, as_double(v));
}

/* Digits with a point or comma, or with a fraction. */
static int read_number(struct reader *r, struct number *ret_value)
{
	struct number v = { 0, 1 };
	int before = 0, after = 0; /* digits */
	char point = 0;
	skip_blanks(r);
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
				return fail(r, WET_ERR_RANGE);
		} else if ((*r->p == '.' || *r->p == ',') && !point && (is_digit(r->p[1]) || before > 0)) {
			point = *r->p;
		} else {
			break;
		}
	}
	if (before + after == 0 || (point && *r->p == ',' && is_digit(r->p[1])))
		return fail(r, WET_ERR_INVALID);
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

struct unit {
	const char *name;
	int64_t top, bottom; /* factor to the inner unit */
	bool any_case;
};

static bool same_word(const char *a, const char *b, size_t n, bool any_case)
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

/* Is the rest of the text, without blanks around it, this word? */
static bool rest_is(struct reader *r, const char *word, bool any_case)
{
	size_t n = strlen(word);
	skip_blanks(r);
	if (!same_word(word, r->p, n, any_case))
		return false;
	struct reader after = *r;
	after.p += n;
	return at_end(&after);
}

/* The unit that the rest of the text is. NULL: none. */
static const struct unit *find_unit(struct reader *r, const struct unit *units)
{
	for (const struct unit *u = units; u->name; u++)
		if (rest_is(r, u->name, u->any_case))
			return u;
	return NULL;
}

/* The unit after a number, 0..high of the inner unit. */
static int read_unit(struct reader *r, struct number v, const struct unit *units, int64_t high,
					 int64_t *ret_value)
{
	if (at_end(r))
		return fail(r, WET_ERR_UNIT_MISSING);
	const struct unit *u = find_unit(r, units);
	if (!u)
		return fail(r, WET_ERR_UNIT_WRONG);
	if (v.top < 0 || is_over(v, u->top, u->bottom, high))
		return fail(r, WET_ERR_RANGE);
	*ret_value = times(v, u->top, u->bottom);
	return WET_OK;
}

/* An ounce that does not say which. */
static bool is_bare_ounce(struct reader *r)
{
	static const char *const words[] = { "oz",    "fl oz",  "floz",        "fl. oz.",      "oz.",
										 "ounce", "ounces", "fluid ounce", "fluid ounces", "fl oz." };
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
		if (rest_is(r, words[i], true))
			return true;
	return false;
}

int wet_parse_volume(const char *text, int64_t *ret_volume_ul, struct wet_fault *reterr)
{
	static const struct unit units[] = {
		{ "ml", 1000, 1, true },
		{ "cc", 1000, 1, true },
		{ "l", 1000000, 1, true },
		{ "litre", 1000000, 1, true },
		{ "litres", 1000000, 1, true },
		{ "liter", 1000000, 1, true },
		{ "liters", 1000000, 1, true },
		{ "us fl oz", 295735295625, 10000000, true },
		{ "imp fl oz", 284130625, 10000, true },
		{ "us gal", 3785411784, 1000, true },
		{ "imp gal", 4546090, 1, true },
		{ "us qt", 946352946, 1000, true },
		{ "us pint", 473176473, 1000, true },
		{ "imp pint", 56826125, 100, true },
		{ NULL, 0, 1, false },
	};
	struct reader r = { text, text, reterr,
						"a volume with its unit, as in 600 mL, 1.5 L, 20 US fl oz or 20 imp fl oz" };
	struct number v;
	int rc = read_number(&r, &v);
	if (rc != 0)
		return rc;
	if (is_bare_ounce(&r)) {
		double oz = as_double(v);
		return wet_fault_set(
			reterr, WET_ERR_AMBIGUOUS, "", text,
			"say which: %.4g US fl oz is %.1f mL, %.4g imp fl oz is %.1f mL; a mass is not a volume", oz,
			oz * 29.5735295625, oz, oz * 28.4130625);
	}
	return read_unit(&r, v, units, 1000000000000000, ret_volume_ul);
}

int wet_parse_mass(const char *text, int64_t *ret_mass_mg, struct wet_fault *reterr)
{
	static const struct unit units[] = {
		{ "mg", 1, 1, false },
		{ "g", 1000, 1, true },
		{ "kg", 1000000, 1, true },
		{ "oz av", 28349523125, 1000000, true },
		{ "ounce av", 28349523125, 1000000, true },
		{ "gr", 6479891, 100000, true },
		{ "grain", 6479891, 100000, true },
		{ "grains", 6479891, 100000, true },
		{ "lb", 45359237, 100, true },
		{ NULL, 0, 1, false },
	};
	struct reader r = { text, text, reterr,
						"a mass with its unit, as in 3.1 g, 500 mg, 50 grains or 1 oz av" };
	struct number v;
	int rc = read_number(&r, &v);
	if (rc != 0)
		return rc;
	if (is_bare_ounce(&r)) {
		double oz = as_double(v);
		return wet_fault_set(
			reterr, WET_ERR_AMBIGUOUS, "", text,
			"say oz av for a mass: %.4g oz av is %.1f g; a fluid ounce, US or imperial, is a volume", oz,
			oz * 28.349523125);
	}
	return read_unit(&r, v, units, 1000000000000000, ret_mass_mg);
}

/* A number of degrees, in thousandths of a degree Celsius before the zero is moved. */
static int read_degrees(struct reader *r, struct number *ret_value, bool *ret_is_f)
{
	int rc = read_number(r, ret_value);
	if (rc != 0)
		return rc;
	if (at_end(r))
		return wet_fault_set(r->fault, WET_ERR_UNIT_MISSING, "", r->text,
							 "Celsius or Fahrenheit: write %.4g C or %.4g F", as_double(*ret_value),
							 as_double(*ret_value));
	bool is_c = rest_is(r, "c", true) || rest_is(r,
												 "\xC2\xB0"
												 "c",
												 true);
	*ret_is_f = rest_is(r, "f", true) || rest_is(r,
												 "\xC2\xB0"
												 "f",
												 true);
	return is_c || *ret_is_f ? WET_OK : fail(r, WET_ERR_UNIT_WRONG);
}

/* Degrees to thousandths of a degree Celsius, low..high. */
static int to_mc(const struct reader *r, struct number v, bool is_f, int32_t low, int32_t high,
				 int32_t *ret_mc)
{
	int64_t top = is_f ? 5000 : 1000, bottom = is_f ? 9 : 1;
	struct number less = { -v.top, v.bottom };
	if (is_over(v, top, bottom, high) || is_over(less, top, bottom, -(int64_t)low))
		return fail(r, WET_ERR_RANGE);
	*ret_mc = (int32_t)times(v, top, bottom);
	return WET_OK;
}

int wet_parse_temperature(const char *text, int32_t *ret_temperature_mc, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr,
						"a temperature with its unit, as in 19.4 C or 67 F, from -50 C to 150 C" };
	struct number v;
	bool is_f;
	int rc = read_degrees(&r, &v, &is_f);
	if (rc != 0)
		return rc;
	if (is_f)
		v.top -= 32 * v.bottom;
	return to_mc(&r, v, is_f, -50000, 150000, ret_temperature_mc);
}

int wet_parse_temperature_difference(const char *text, int32_t *ret_difference_mc, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "a difference with its unit, as in 2 C or 3.6 F" };
	struct number v;
	bool is_f;
	int rc = read_degrees(&r, &v, &is_f);
	return rc != 0 ? rc : to_mc(&r, v, is_f, -200000, 200000, ret_difference_mc);
}

static const struct unit lengths[] = {
	{ "mm", 1000, 1, true },   { "cm", 10000, 1, true },   { "m", 1000000, 1, true },
	{ "in", 25400, 1, true },  { "inch", 25400, 1, true }, { "inches", 25400, 1, true },
	{ "\"", 25400, 1, false }, { NULL, 0, 1, false },
};

#define LENGTH_UM_MAX 100000000

int wet_parse_length(const char *text, int64_t *ret_length_um, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr,
						"a length with its unit, as in 90 mm, 9 cm or 3 1/2 in, up to 100 m" };
	struct number v;
	int rc = read_number(&r, &v);
	return rc != 0 ? rc : read_unit(&r, v, lengths, LENGTH_UM_MAX, ret_length_um);
}

/* Bytes of the sign between width and height at p. */
static size_t by_bytes(const char *p)
{
	if (*p == 'x' || *p == 'X')
		return 1;
	return strncmp(p, "\xC3\x97", 2) == 0 ? 2 : 0;
}

int wet_parse_size(const char *text, int64_t *ret_width_um, int64_t *ret_height_um, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "a size with its unit, as in 9x12 cm or 4 1/2 x 6 in" };
	struct number w, h;
	int64_t width_um, height_um;
	int rc = read_number(&r, &w);
	if (rc != 0)
		return rc;
	skip_blanks(&r);
	const struct unit *first = NULL;
	for (const struct unit *u = lengths; u->name && !first; u++) {
		size_t n = strlen(u->name);
		if (same_word(u->name, r.p, n, u->any_case) && (blank_bytes(r.p + n) || by_bytes(r.p + n))) {
			first = u;
			r.p += n;
		}
	}
	skip_blanks(&r);
	size_t by = by_bytes(r.p);
	if (by == 0)
		return fail(&r, WET_ERR_INVALID);
	r.p += by;
	if ((rc = read_number(&r, &h)) != 0)
		return rc;
	if (at_end(&r) && !first)
		return fail(&r, WET_ERR_UNIT_MISSING);
	const struct unit *second = at_end(&r) ? first : find_unit(&r, lengths);
	if (!second)
		return fail(&r, WET_ERR_UNIT_WRONG);
	if (!first)
		first = second;
	if (w.top < 0 || h.top < 0 || is_over(w, first->top, first->bottom, LENGTH_UM_MAX) ||
		is_over(h, second->top, second->bottom, LENGTH_UM_MAX))
		return fail(&r, WET_ERR_RANGE);
	width_um = times(w, first->top, first->bottom);
	height_um = times(h, second->top, second->bottom);
	if (width_um == 0 || height_um == 0)
		return fail(&r, WET_ERR_RANGE);
	*ret_width_um = width_um;
	*ret_height_um = height_um;
	return WET_OK;
}

#define DURATION_NS_MAX (1000LL * 3600 * WET_NS_PER_S)

/* "2:00", "1:02:03" */
static int read_clock(struct reader *r, int64_t *ret_ns)
{
	int64_t parts[3];
	int n = 0;
	for (;;) {
		int64_t v = 0;
		int digits = 0;
		for (; is_digit(*r->p); r->p++) {
			v = v * 10 + (*r->p - '0');
			if (++digits > 6)
				return fail(r, WET_ERR_RANGE);
		}
		if (digits == 0 || (n > 0 && (digits != 2 || v > 59)) || n == 3)
			return fail(r, WET_ERR_INVALID);
		parts[n++] = v;
		if (*r->p != ':')
			break;
		r->p++;
	}
	if (!at_end(r) || n < 2)
		return fail(r, WET_ERR_INVALID);
	int64_t s = n == 3 ? parts[0] * 3600 + parts[1] * 60 + parts[2] : parts[0] * 60 + parts[1];
	if (s > DURATION_NS_MAX / WET_NS_PER_S)
		return fail(r, WET_ERR_RANGE);
	*ret_ns = s * WET_NS_PER_S;
	return WET_OK;
}

/* Parts from large to small, each rounded to the nanosecond. */
int wet_parse_duration(const char *text, int64_t *ret_duration_ns, struct wet_fault *reterr)
{
	static const struct unit units[] = {
		{ "ms", 1000000, 1, false },          { "s", 1000000000, 1, false },
		{ "sec", 1000000000, 1, false },      { "second", 1000000000, 1, false },
		{ "seconds", 1000000000, 1, false },  { "min", 60000000000, 1, false },
		{ "minute", 60000000000, 1, false },  { "minutes", 60000000000, 1, false },
		{ "h", 3600000000000, 1, false },     { "hour", 3600000000000, 1, false },
		{ "hours", 3600000000000, 1, false }, { NULL, 0, 1, false },
	};
	struct reader r = { text, text, reterr, "a time with its unit, as in 2:00, 90 s, 3 min or 1 min 30 s" };
	int64_t total_ns = 0, last_factor = INT64_MAX;
	skip_blanks(&r);
	if (strchr(text, ':'))
		return read_clock(&r, ret_duration_ns);
	do {
		struct number v;
		int rc = read_number(&r, &v);
		if (rc != 0)
			return rc;
		if (at_end(&r))
			return fail(&r, WET_ERR_UNIT_MISSING);
		size_t n = 0;
		while ((r.p[n] >= 'a' && r.p[n] <= 'z') || (r.p[n] >= 'A' && r.p[n] <= 'Z'))
			n++;
		const struct unit *found = NULL;
		for (const struct unit *u = units; u->name; u++)
			if (strlen(u->name) == n && strncmp(u->name, r.p, n) == 0)
				found = u;
		if (!found)
			return fail(&r, WET_ERR_UNIT_WRONG);
		if (v.top < 0 || found->top >= last_factor)
			return fail(&r, WET_ERR_INVALID);
		if (is_over(v, found->top, 1, DURATION_NS_MAX - total_ns))
			return fail(&r, WET_ERR_RANGE);
		last_factor = found->top;
		total_ns += times(v, found->top, 1);
		r.p += n;
	} while (!at_end(&r));
	*ret_duration_ns = total_ns;
	return WET_OK;
}

int wet_parse_percent(const char *text, int32_t *ret_percent_milli, struct wet_fault *reterr)
{
	static const struct unit units[] = { { "%", 1000, 1, false }, { NULL, 0, 1, false } };
	struct reader r = { text, text, reterr, "a strength in percent, as in 28 % or 0.5 %, up to 100 %" };
	struct number v;
	int64_t milli;
	int rc = read_number(&r, &v);
	if (rc == 0)
		rc = read_unit(&r, v, units, 100000, &milli);
	if (rc == 0)
		*ret_percent_milli = (int32_t)milli;
	return rc;
}

#define PARTS_MILLI_MAX 100000000

int wet_parse_dilution(const char *text, int64_t *ret_a_milli, int64_t *ret_b_milli, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "parts, as in 1+9 (one part of stock and nine of water)" };
	struct number a, b;
	int rc = read_number(&r, &a);
	if (rc != 0)
		return rc;
	skip_blanks(&r);
	char sign = *r.p;
	if (sign != '+' && sign != ':')
		return fail(&r, WET_ERR_INVALID);
	r.p++;
	if ((rc = read_number(&r, &b)) != 0)
		return rc;
	if (!at_end(&r))
		return fail(&r, WET_ERR_INVALID);
	if (a.top <= 0 || b.top < 0 || is_over(a, 1000, 1, PARTS_MILLI_MAX) ||
		is_over(b, 1000, 1, PARTS_MILLI_MAX))
		return fail(&r, WET_ERR_RANGE);
	if (sign == ':') {
		double stock = as_double(a), other = as_double(b);
		if (other < stock)
			return fail(&r, WET_ERR_INVALID);
		return wet_fault_set(
			reterr, WET_ERR_AMBIGUOUS, "", text,
			"write %.5g+%.5g (parts and parts) or %.5g+%.5g (parts in the whole): the trade uses it for both",
			stock, other, stock, other - stock);
	}
	int64_t a_milli = times(a, 1000, 1);
	if (a_milli == 0) /* under half a thousandth of a part */
		return fail(&r, WET_ERR_RANGE);
	*ret_a_milli = a_milli;
	*ret_b_milli = times(b, 1000, 1);
	return WET_OK;
}

int wet_parse_rate(const char *text, uint32_t *ret_rate_milli, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "how many times faster, from 0.001 to 1000, as in 20" };
	struct number v;
	int rc = read_number(&r, &v);
	if (rc != 0)
		return rc;
	if (!at_end(&r))
		return fail(&r, WET_ERR_INVALID);
	if (v.top * 1000 < v.bottom || is_over(v, 1000, 1, 1000000))
		return fail(&r, WET_ERR_RANGE);
	*ret_rate_milli = (uint32_t)times(v, 1000, 1);
	return WET_OK;
}
