/* quantity_unit.c: units, and quantities printed back in the unit a person uses. */
#include "base/quantity_unit.h"

#include "base/number.h"
#include "base/text.h"

#include <assert.h>
#include <string.h>

#define PLACES_MAX 9       /* of a printed decimal; the smallest inner step of a gallon needs seven */
#define DENOMINATOR_MAX 64 /* of an inch: the finest mark of a steel rule */

static const struct unit_factor factors[WET_UNIT_N] = {
#define FACTOR(name, kind, text, top, bottom, zero) \
	[WET_UNIT_##name] = { WET_QUANTITY_##kind, text, top, bottom, zero },
	WET_UNITS(FACTOR)
#undef FACTOR
};

const struct unit_factor *unit_factor(enum wet_unit unit)
{
	assert(unit >= 0 && unit < WET_UNIT_N);
	return &factors[unit];
}

enum wet_quantity_kind wet_unit_kind(enum wet_unit unit)
{
	return unit_factor(unit)->kind;
}

const char *wet_unit_text(enum wet_unit unit)
{
	return unit_factor(unit)->text;
}

static wide half_away(wide top, wide bottom)
{
	wide size = top < 0 ? -top : top;
	wide rounded = (size * 2 + bottom) / (bottom * 2);
	return top < 0 ? -rounded : rounded;
}

/* n / one, without trailing zeros. */
static void print_fixed(wide n, int places, const char *unit, char *buf, unsigned buf_bytes)
{
	uint64_t one = 1;
	for (int i = 0; i < places; i++)
		one *= 10;
	bool is_negative = n < 0;
	wide size = is_negative ? -n : n;
	uint64_t whole = (uint64_t)(size / (wide)one), rest = (uint64_t)(size % (wide)one);
	wet_text_format(buf, buf_bytes, "%s%llu", is_negative ? "-" : "", (unsigned long long)whole);
	if (rest > 0) {
		char digits[24];
		wet_text_format(digits, sizeof digits, "%0*llu", places, (unsigned long long)rest);
		size_t n_digits = strlen(digits);
		while (n_digits > 0 && digits[n_digits - 1] == '0')
			digits[--n_digits] = '\0';
		wet_text_append(buf, buf_bytes, ".%s", digits);
	}
	wet_text_append(buf, buf_bytes, " %s", unit);
}

/* The value in 1 / parts of the unit, from its own zero. */
static wide in_parts(int64_t value, const struct unit_factor *u, int64_t parts)
{
	return half_away((wide)value * u->bottom * parts, u->top) + (wide)u->zero * parts;
}

/* Does n / parts of the unit read as this value? */
static bool reads_back(wide n, const struct unit_factor *u, int64_t parts, int64_t value)
{
	return half_away((n - (wide)u->zero * parts) * u->top, (wide)u->bottom * parts) == value;
}

/* "8 1/2 in". False: no fraction of a rule's marks reads back as this. */
static bool print_fraction(int64_t value, const struct unit_factor *u, char *buf, unsigned buf_bytes)
{
	for (int64_t parts = 2; parts <= DENOMINATOR_MAX; parts *= 2) {
		wide n = in_parts(value, u, parts);
		if (!reads_back(n, u, parts, value))
			continue;
		int64_t size = (int64_t)(n < 0 ? -n : n), whole = size / parts;
		wet_text_format(buf, buf_bytes, "%s", n < 0 ? "-" : "");
		if (whole > 0)
			wet_text_append(buf, buf_bytes, "%lld ", (long long)whole);
		wet_text_append(buf, buf_bytes, "%lld/%lld %s", (long long)(size % parts), (long long)parts, u->text);
		return true;
	}
	return false;
}

char *wet_print_quantity(struct wet_quantity q, char *buf, unsigned buf_bytes)
{
	const struct unit_factor *u = unit_factor(q.unit);
	int64_t one = 1;
	for (int places = 0; places < PLACES_MAX; places++, one *= 10) {
		wide n = in_parts(q.value, u, one);
		bool is_last = places == PLACES_MAX - 1;
		if (places == 1 && q.unit == WET_UNIT_IN && print_fraction(q.value, u, buf, buf_bytes))
			return buf;
		if (is_last || reads_back(n, u, one, q.value)) {
			print_fixed(n, places, u->text, buf, buf_bytes);
			return buf;
		}
	}
	return buf;
}

char *wet_print_quantity_about(struct wet_quantity q, int places, char *buf, unsigned buf_bytes)
{
	int64_t one = 1;
	char exact[64];
	assert(places >= 0);
	assert(places < PLACES_MAX);
	for (int i = 0; i < places; i++)
		one *= 10;
	print_fixed(in_parts(q.value, unit_factor(q.unit), one), places, wet_unit_text(q.unit), buf, buf_bytes);
	wet_print_quantity(q, exact, sizeof exact);
	/* "1/2 in" is shorter than "0.5 in" to a reader of rules. */
	if (q.unit == WET_UNIT_IN && strchr(exact, '/'))
		wet_text_copy(buf, buf_bytes, exact);
	return buf;
}
