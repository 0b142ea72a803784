/* quantity.c: quantities as people write them.
 *
 * A number is read as an exact decimal (digits and a scale), so that "0.1" has no binary error; it is multiplied by the
 * unit's exact factor and rounded once, half away from zero. */
#include "wetside/quantity.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

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

static void skip_blanks(struct reader *r)
{
	for (;;) {
		if (*r->p == ' ' || *r->p == '\t')
			r->p++;
		else if (strncmp(r->p, "\xC2\xA0", 2) == 0) /* no-break space */
			r->p += 2;
		else
			return;
	}
}

/* Digits with a point or comma. At most 15 digits, so that a double holds them exactly before the scale. */
static int read_number(struct reader *r, double *ret_value)
{
	double v = 0, scale = 1;
	int digits = 0;
	bool neg = false, point = false;
	skip_blanks(r);
	if (*r->p == '-' || *r->p == '+')
		neg = *r->p++ == '-';
	for (;; r->p++) {
		if (is_digit(*r->p)) {
			if (++digits > 15)
				return fail(r, WET_ERR_RANGE);
			v = v * 10 + (*r->p - '0');
			if (point)
				scale *= 10;
		} else if ((*r->p == '.' || *r->p == ',') && !point && (is_digit(r->p[1]) || digits > 0)) {
			point = true;
		} else {
			break;
		}
	}
	if (digits == 0)
		return fail(r, WET_ERR_INVALID);
	v /= scale;
	/* a fraction: "1/2", or "3 1/2" */
	if (*r->p == '/' && is_digit(r->p[1])) {
		double d = 0;
		for (r->p++; is_digit(*r->p); r->p++)
			d = d * 10 + (*r->p - '0');
		if (d == 0 || d > 1e6)
			return fail(r, WET_ERR_INVALID);
		v /= d;
	} else if (*r->p == ' ' && is_digit(r->p[1]) && !point) {
		const char *q = r->p + 1;
		double n = 0, d = 0;
		while (is_digit(*q) && n < 1e6)
			n = n * 10 + (*q++ - '0');
		if (*q == '/' && is_digit(q[1])) {
			for (q++; is_digit(*q) && d < 1e6; q++)
				d = d * 10 + (*q - '0');
			if (d == 0)
				return fail(r, WET_ERR_INVALID);
			v += n / d;
			r->p = q;
		}
	}
	*ret_value = neg ? -v : v;
	return WET_OK;
}

struct unit {
	const char *name;
	double factor; /* to the inner unit */
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

/* Finds the unit that the rest of the text (trimmed) is. NULL: none. */
static const struct unit *find_unit(struct reader *r, const struct unit *units)
{
	skip_blanks(r);
	size_t n = strlen(r->p);
	while (n > 0 && (r->p[n - 1] == ' ' || r->p[n - 1] == '\t'))
		n--;
	for (const struct unit *u = units; u->name; u++)
		if (strlen(u->name) == n && same_word(u->name, r->p, n, u->any_case))
			return u;
	return NULL;
}

static bool at_end(struct reader *r)
{
	skip_blanks(r);
	return *r->p == '\0';
}

static int64_t to_int(double v)
{
	return llround(v);
}

/* One number, one unit. */
static int read_quantity(struct reader *r, const struct unit *units, double high, int64_t *ret_value)
{
	double v;
	int rc = read_number(r, &v);
	if (rc != 0)
		return rc;
	if (at_end(r))
		return fail(r, WET_ERR_UNIT_MISSING);
	const struct unit *u = find_unit(r, units);
	if (!u)
		return fail(r, WET_ERR_UNIT_WRONG);
	if (!(v >= 0) || v * u->factor > high)
		return fail(r, WET_ERR_RANGE);
	*ret_value = to_int(v * u->factor);
	return WET_OK;
}

/* Is the rest a bare ounce? Its readings are in the fault. */
static bool is_bare_ounce(const char *text)
{
	const char *p = text;
	while (is_digit(*p) || *p == '.' || *p == ',' || *p == ' ' || *p == '/')
		p++;
	size_t n = strlen(p);
	while (n > 0 && p[n - 1] == ' ')
		n--;
	static const char *const words[] = { "oz",    "fl oz",  "floz",        "fl. oz.",     "oz.",
										 "ounce", "ounces", "fluid ounce", "fluid ounces" };
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
		if (strlen(words[i]) == n && same_word(words[i], p, n, true))
			return true;
	return false;
}

int wet_parse_volume(const char *text, int64_t *ret_volume_ul, struct wet_fault *reterr)
{
	static const struct unit units[] = {
		{ "ml", 1e3, true },
		{ "cc", 1e3, true },
		{ "l", 1e6, true },
		{ "litre", 1e6, true },
		{ "litres", 1e6, true },
		{ "liter", 1e6, true },
		{ "liters", 1e6, true },
		{ "us fl oz", 29573.5295625, true },
		{ "imp fl oz", 28413.0625, true },
		{ "us gal", 3785411.784, true },
		{ "imp gal", 4546090.0, true },
		{ "us qt", 946352.946, true },
		{ "us pint", 473176.473, true },
		{ "imp pint", 568261.25, true },
		{ NULL, 0, false },
	};
	struct reader r = { text, text, reterr,
						"a volume with its unit, as in 600 mL, 1.5 L, 20 US fl oz or 20 imp fl oz" };
	if (is_bare_ounce(text)) {
		double v;
		int rc = read_number(&r, &v);
		if (rc != 0)
			return rc;
		return wet_fault_set(
			reterr, WET_ERR_AMBIGUOUS, "", text,
			"say which: %.4g US fl oz is %.1f mL, %.4g imp fl oz is %.1f mL; a mass is not a volume", v,
			v * 29.5735295625, v, v * 28.4130625);
	}
	return read_quantity(&r, units, 1e15, ret_volume_ul);
}

int wet_parse_mass(const char *text, int64_t *ret_mass_mg, struct wet_fault *reterr)
{
	static const struct unit units[] = {
		{ "mg", 1, false },
		{ "g", 1e3, true },
		{ "kg", 1e6, true },
		{ "oz av", 28349.523125, true },
		{ "ounce av", 28349.523125, true },
		{ "gr", 64.79891, true },
		{ "grain", 64.79891, true },
		{ "grains", 64.79891, true },
		{ "lb", 453592.37, true },
		{ NULL, 0, false },
	};
	struct reader r = { text, text, reterr,
						"a mass with its unit, as in 3.1 g, 500 mg, 50 grains or 1 oz av" };
	if (is_bare_ounce(text))
		return wet_fault_set(reterr, WET_ERR_AMBIGUOUS, "", text,
							 "say oz av for a mass; a fluid ounce is a volume");
	return read_quantity(&r, units, 1e15, ret_mass_mg);
}

static const struct unit degrees[] = {
	{ "c", 1, true },
	{ "\xC2\xB0"
	  "c",
	  1, true },
	{ "f", 2, true },
	{ "\xC2\xB0"
	  "f",
	  2, true },
	{ NULL, 0, false },
};

static int read_degrees(struct reader *r, double *ret_value, bool *ret_is_f)
{
	int rc = read_number(r, ret_value);
	if (rc != 0)
		return rc;
	if (at_end(r))
		return wet_fault_set(r->fault, WET_ERR_UNIT_MISSING, "", r->text,
							 "Celsius or Fahrenheit: write %.4g C or %.4g F", *ret_value, *ret_value);
	const struct unit *u = find_unit(r, degrees);
	if (!u)
		return fail(r, WET_ERR_UNIT_WRONG);
	*ret_is_f = u->factor > 1.5;
	return WET_OK;
}

int wet_parse_temperature(const char *text, int32_t *ret_temperature_mc, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr,
						"a temperature with its unit, as in 19.4 C or 67 F, from -50 C to 150 C" };
	double v;
	bool is_f;
	int rc = read_degrees(&r, &v, &is_f);
	if (rc != 0)
		return rc;
	double mc = is_f ? (v - 32) * 5000.0 / 9.0 : v * 1000.0;
	if (!(mc >= -50000 && mc <= 150000))
		return fail(&r, WET_ERR_RANGE);
	*ret_temperature_mc = (int32_t)to_int(mc);
	return WET_OK;
}

int wet_parse_temperature_difference(const char *text, int32_t *ret_difference_mc, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "a difference with its unit, as in 2 C or 3.6 F" };
	double v;
	bool is_f;
	int rc = read_degrees(&r, &v, &is_f);
	if (rc != 0)
		return rc;
	double mc = is_f ? v * 5000.0 / 9.0 : v * 1000.0;
	if (!(mc >= -200000 && mc <= 200000))
		return fail(&r, WET_ERR_RANGE);
	*ret_difference_mc = (int32_t)to_int(mc);
	return WET_OK;
}

static const struct unit lengths[] = {
	{ "mm", 1e3, true },     { "cm", 1e4, true },       { "m", 1e6, true },     { "in", 25400, true },
	{ "inch", 25400, true }, { "inches", 25400, true }, { "\"", 25400, false }, { NULL, 0, false },
};

int wet_parse_length(const char *text, int64_t *ret_length_um, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr,
						"a length with its unit, as in 90 mm, 9 cm or 3 1/2 in, up to 100 m" };
	return read_quantity(&r, lengths, 1e8, ret_length_um);
}

int wet_parse_size(const char *text, int64_t *ret_width_um, int64_t *ret_height_um, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "a size with its unit, as in 9x12 cm or 4 1/2 x 6 in" };
	double w, h;
	int rc = read_number(&r, &w);
	if (rc != 0)
		return rc;
	skip_blanks(&r);
	const struct unit *first = NULL;
	for (const struct unit *u = lengths; u->name && !first; u++) {
		size_t n = strlen(u->name);
		if (same_word(u->name, r.p, n, u->any_case) && (r.p[n] == ' ' || r.p[n] == 'x')) {
			first = u;
			r.p += n;
		}
	}
	skip_blanks(&r);
	if (*r.p == 'x' || *r.p == 'X')
		r.p++;
	else if (strncmp(r.p, "\xC3\x97", 2) == 0)
		r.p += 2;
	else
		return fail(&r, WET_ERR_INVALID);
	if ((rc = read_number(&r, &h)) != 0)
		return rc;
	if (at_end(&r) && !first)
		return fail(&r, WET_ERR_UNIT_MISSING);
	const struct unit *second = at_end(&r) ? first : find_unit(&r, lengths);
	if (!second)
		return fail(&r, WET_ERR_UNIT_WRONG);
	if (!first)
		first = second;
	if (!(w > 0) || !(h > 0) || w * first->factor > 1e8 || h * second->factor > 1e8)
		return fail(&r, WET_ERR_RANGE);
	*ret_width_um = to_int(w * first->factor);
	*ret_height_um = to_int(h * second->factor);
	return WET_OK;
}

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
	if (s > 3600000)
		return fail(r, WET_ERR_RANGE);
	*ret_ns = s * WET_NS_PER_S;
	return WET_OK;
}

int wet_parse_duration(const char *text, int64_t *ret_duration_ns, struct wet_fault *reterr)
{
	static const struct unit units[] = {
		{ "ms", 1e6, false },      { "s", 1e9, false },        { "sec", 1e9, false },
		{ "second", 1e9, false },  { "seconds", 1e9, false },  { "min", 60e9, false },
		{ "minute", 60e9, false }, { "minutes", 60e9, false }, { "h", 3600e9, false },
		{ "hour", 3600e9, false }, { "hours", 3600e9, false }, { NULL, 0, false },
	};
	struct reader r = { text, text, reterr, "a time with its unit, as in 2:00, 90 s, 3 min or 1 min 30 s" };
	skip_blanks(&r);
	if (strchr(text, ':'))
		return read_clock(&r, ret_duration_ns);
	double total = 0, last_factor = INFINITY;
	bool any = false;
	while (!at_end(&r)) {
		double v;
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
		if (!(v >= 0) || found->factor >= last_factor)
			return fail(&r, WET_ERR_INVALID);
		last_factor = found->factor;
		total += v * found->factor;
		r.p += n;
		any = true;
	}
	if (!any)
		return fail(&r, WET_ERR_INVALID);
	if (total > 3.6e15)
		return fail(&r, WET_ERR_RANGE);
	*ret_duration_ns = to_int(total);
	return WET_OK;
}

int wet_parse_percent(const char *text, int32_t *ret_percent_milli, struct wet_fault *reterr)
{
	static const struct unit units[] = { { "%", 1e3, false }, { NULL, 0, false } };
	struct reader r = { text, text, reterr, "a strength in percent, as in 28 % or 0.5 %, up to 100 %" };
	int64_t v;
	int rc = read_quantity(&r, units, 1e5, &v);
	if (rc == 0)
		*ret_percent_milli = (int32_t)v;
	return rc;
}

int wet_parse_dilution(const char *text, int64_t *ret_a_milli, int64_t *ret_b_milli, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "parts, as in 1+9 (one part of stock and nine of water)" };
	double a, b;
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
	if (!(a > 0) || !(b >= 0) || a > 1e5 || b > 1e5)
		return fail(&r, WET_ERR_RANGE);
	if (sign == ':') {
		if (b - a < 0)
			return fail(&r, WET_ERR_INVALID);
		return wet_fault_set(
			reterr, WET_ERR_AMBIGUOUS, "", text,
			"write %.5g+%.5g (parts and parts) or %.5g+%.5g (parts in the whole): the trade uses it for both",
			a, b, a, b - a);
	}
	*ret_a_milli = to_int(a * 1000);
	*ret_b_milli = to_int(b * 1000);
	return WET_OK;
}

int wet_parse_rate(const char *text, uint32_t *ret_rate_milli, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "how many times faster, from 0.001 to 1000, as in 20" };
	double v;
	int rc = read_number(&r, &v);
	if (rc != 0)
		return rc;
	if (!at_end(&r))
		return fail(&r, WET_ERR_INVALID);
	if (!(v * 1000 >= 1 && v <= 1000))
		return fail(&r, WET_ERR_RANGE);
	*ret_rate_milli = (uint32_t)to_int(v * 1000);
	return WET_OK;
}

/* -- printing ---------------------------------------------------------------------- */

/* v / 10^places, without trailing zeros. */
static char *print_decimal(int64_t v, int places, const char *unit, char *buf, unsigned buf_bytes)
{
	int64_t one = 1;
	for (int i = 0; i < places; i++)
		one *= 10;
	uint64_t a = v < 0 ? (uint64_t)0 - (uint64_t)v : (uint64_t)v;
	wet_text_format(buf, buf_bytes, "%s%llu", v < 0 ? "-" : "", (unsigned long long)(a / (uint64_t)one));
	uint64_t rest = a % (uint64_t)one;
	if (rest > 0) {
		char digits[24];
		wet_text_format(digits, sizeof digits, "%0*llu", places, (unsigned long long)rest);
		size_t n = strlen(digits);
		while (n > 0 && digits[n - 1] == '0')
			digits[--n] = '\0';
		wet_text_append(buf, buf_bytes, ".%s", digits);
	}
	return wet_text_append(buf, buf_bytes, "%s%s", unit[0] ? " " : "", unit);
}

static int64_t round_to(int64_t v, int64_t step)
{
	int64_t half = step / 2;
	if (v > INT64_MAX - half)
		v = INT64_MAX - half;
	if (v < -INT64_MAX + half)
		v = -INT64_MAX + half;
	return v < 0 ? -((-v + half) / step * step) : (v + half) / step * step;
}

char *wet_print_volume(int64_t volume_ul, char *buf, unsigned buf_bytes)
{
	if (volume_ul >= 1000000)
		return print_decimal(round_to(volume_ul, 100), 6, "L", buf, buf_bytes);
	return print_decimal(round_to(volume_ul, 10), 3, "mL", buf, buf_bytes);
}

char *wet_print_mass(int64_t mass_mg, char *buf, unsigned buf_bytes)
{
	return print_decimal(mass_mg, 3, "g", buf, buf_bytes);
}

char *wet_print_temperature(int32_t temperature_mc, char *buf, unsigned buf_bytes)
{
	return print_decimal(round_to(temperature_mc, 100), 3, "C", buf, buf_bytes);
}

char *wet_print_length(int64_t length_um, char *buf, unsigned buf_bytes)
{
	return print_decimal(round_to(length_um, 10), 3, "mm", buf, buf_bytes);
}

char *wet_print_duration(int64_t duration_ns, char *buf, unsigned buf_bytes)
{
	int64_t s = round_to(duration_ns, WET_NS_PER_S) / WET_NS_PER_S;
	const char *sign = s < 0 ? "-" : "";
	if (s < 0)
		s = -s;
	if (s >= 3600)
		return wet_text_format(buf, buf_bytes, "%s%lld:%02d:%02d", sign, (long long)(s / 3600),
							   (int)(s / 60 % 60), (int)(s % 60));
	return wet_text_format(buf, buf_bytes, "%s%d:%02d", sign, (int)(s / 60), (int)(s % 60));
}

char *wet_print_seconds(int64_t duration_ns, char *buf, unsigned buf_bytes)
{
	int64_t s = round_to(duration_ns < 0 ? 0 : duration_ns, WET_NS_PER_S) / WET_NS_PER_S;
	int64_t h = s / 3600, m = s / 60 % 60;
	s %= 60;
	wet_text_copy(buf, buf_bytes, "");
	if (h > 0)
		wet_text_append(buf, buf_bytes, "%lld %s", (long long)h, h == 1 ? "hour" : "hours");
	if (m > 0)
		wet_text_append(buf, buf_bytes, "%s%d %s", h > 0 ? " " : "", (int)m, m == 1 ? "minute" : "minutes");
	if (s > 0 || (h == 0 && m == 0))
		wet_text_append(buf, buf_bytes, "%s%d %s", h > 0 || m > 0 ? " " : "", (int)s,
						s == 1 ? "second" : "seconds");
	return buf;
}

char *wet_print_dilution(int64_t a_milli, int64_t b_milli, char *buf, unsigned buf_bytes)
{
	char b[32];
	print_decimal(b_milli, 3, "", b, sizeof b);
	print_decimal(a_milli, 3, "", buf, buf_bytes);
	return wet_text_append(buf, buf_bytes, "+%s", b);
}

char *wet_print_percent(int32_t percent_milli, char *buf, unsigned buf_bytes)
{
	return print_decimal(percent_milli, 3, "%", buf, buf_bytes);
}

int32_t wet_fahrenheit_mf(int32_t temperature_mc)
{
	return (int32_t)round_to((int64_t)temperature_mc * 9 / 5 + 32000, 100);
}
