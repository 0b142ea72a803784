/* quantity.c: reading quantities as people write them. */
#include "wetside/quantity.h"

#include "base/number.h"
#include "base/quantity_unit.h"

#include <string.h>

#define LENGTH_UM_MAX 100000000
#define VALUE_MAX 1000000000000000

/* A word that means a unit. The first of a unit is the one that is printed. */
static const struct word {
	const char *text;
	enum wet_unit unit;
	bool any_case;
} words[] = {
	{ "ml", WET_UNIT_ML, true },
	{ "cc", WET_UNIT_ML, true },
	{ "l", WET_UNIT_L, true },
	{ "litre", WET_UNIT_L, true },
	{ "litres", WET_UNIT_L, true },
	{ "liter", WET_UNIT_L, true },
	{ "liters", WET_UNIT_L, true },
	{ "us fl oz", WET_UNIT_US_FL_OZ, true },
	{ "imp fl oz", WET_UNIT_IMP_FL_OZ, true },
	{ "us gal", WET_UNIT_US_GAL, true },
	{ "imp gal", WET_UNIT_IMP_GAL, true },
	{ "us qt", WET_UNIT_US_QT, true },
	{ "imp qt", WET_UNIT_IMP_QT, true },
	{ "us pint", WET_UNIT_US_PINT, true },
	{ "imp pint", WET_UNIT_IMP_PINT, true },
	{ "us minim", WET_UNIT_US_MINIM, true },
	{ "us minims", WET_UNIT_US_MINIM, true },
	{ "imp minim", WET_UNIT_IMP_MINIM, true },
	{ "imp minims", WET_UNIT_IMP_MINIM, true },
	{ "mg", WET_UNIT_MG, false },
	{ "g", WET_UNIT_G, true },
	{ "kg", WET_UNIT_KG, true },
	{ "oz av", WET_UNIT_OZ_AV, true },
	{ "ounce av", WET_UNIT_OZ_AV, true },
	{ "oz troy", WET_UNIT_OZ_TROY, true },
	{ "dram av", WET_UNIT_DRAM_AV, true },
	{ "dram ap", WET_UNIT_DRAM_AP, true },
	{ "gr", WET_UNIT_GRAIN, true },
	{ "grain", WET_UNIT_GRAIN, true },
	{ "grains", WET_UNIT_GRAIN, true },
	{ "lb", WET_UNIT_LB, true },
	{ "mm", WET_UNIT_MM, true },
	{ "cm", WET_UNIT_CM, true },
	{ "m", WET_UNIT_M, true },
	{ "in", WET_UNIT_IN, true },
	{ "inch", WET_UNIT_IN, true },
	{ "inches", WET_UNIT_IN, true },
	{ "\"", WET_UNIT_IN, false },
	{ "mm2", WET_UNIT_MM2, true },
	{ "cm2", WET_UNIT_CM2, true },
	{ "m2", WET_UNIT_M2, true },
	{ "in2", WET_UNIT_IN2, true },
	{ "sq in", WET_UNIT_IN2, true },
	{ "mm\xC2\xB2", WET_UNIT_MM2, true },
	{ "cm\xC2\xB2", WET_UNIT_CM2, true },
	{ "m\xC2\xB2", WET_UNIT_M2, true },
	{ "in\xC2\xB2", WET_UNIT_IN2, true },
	{ "mg/l", WET_UNIT_MG_PER_L, false },
	{ "mg/L", WET_UNIT_MG_PER_L, false },
	{ "g/l", WET_UNIT_G_PER_L, true },
	{ "g/100 ml", WET_UNIT_G_PER_100_ML, true },
	{ "g/100ml", WET_UNIT_G_PER_100_ML, true },
	{ "oz av/us gal", WET_UNIT_OZ_PER_US_GAL, true },
	{ "oz av/us qt", WET_UNIT_OZ_PER_US_QT, true },
	{ "grains/imp fl oz", WET_UNIT_GRAIN_PER_IMP_FL_OZ, true },
	{ "c", WET_UNIT_C, true },
	{ "\xC2\xB0"
	  "c",
	  WET_UNIT_C, true },
	{ "f", WET_UNIT_F, true },
	{ "\xC2\xB0"
	  "f",
	  WET_UNIT_F, true },
	{ "c", WET_UNIT_C_APART, true },
	{ "\xC2\xB0"
	  "c",
	  WET_UNIT_C_APART, true },
	{ "f", WET_UNIT_F_APART, true },
	{ "\xC2\xB0"
	  "f",
	  WET_UNIT_F_APART, true },
};

/* What a kind wants to be typed as, and its range in the inner unit. */
static const struct {
	const char *want;
	int64_t low, high;
} kinds[WET_QUANTITY_N] = {
	[WET_QUANTITY_VOLUME] = { "a volume with its unit, as in 600 mL, 1.5 L, 20 US fl oz or 20 imp fl oz", 0,
							  VALUE_MAX },
	[WET_QUANTITY_MASS] = { "a mass with its unit, as in 3.1 g, 500 mg, 50 grains or 1 oz av", 0, VALUE_MAX },
	[WET_QUANTITY_LENGTH] = { "a length with its unit, as in 90 mm, 9 cm or 3 1/2 in, up to 100 m", 0,
							  LENGTH_UM_MAX },
	[WET_QUANTITY_AREA] = { "an area with its unit, as in 108 cm2, 80 in2 or 0.5 m2", 0, VALUE_MAX },
	[WET_QUANTITY_CONCENTRATION] = { "a mass in a volume, as in 20 g/L, 2 g/100 mL or 4 grains/imp fl oz", 0,
									 10000000000 },
	[WET_QUANTITY_TEMPERATURE] = { "a temperature with its unit, as in 19.4 C or 67 F, from -50 C to 150 C",
								   -50000, 150000 },
	[WET_QUANTITY_DIFFERENCE] = { "a difference with its unit, as in 2 C or 3.6 F", -200000, 200000 },
};

/* The unit of this kind that the rest of the text is; WET_UNIT_N: none. */
static enum wet_unit find_unit(struct reader *r, enum wet_quantity_kind kind)
{
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
		if (wet_unit_kind(words[i].unit) == kind && reader_rest_is(r, words[i].text, words[i].any_case))
			return words[i].unit;
	return WET_UNIT_N;
}

/* Does what follows the number look like more of a number ("1.5.2", "1e99L", "0x10"), and not like a unit ("in2")? */
static bool is_broken_number(struct reader *r)
{
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
		if (reader_rest_is(r, words[i].text, words[i].any_case))
			return false;
	return strpbrk(r->p, "0123456789") != NULL;
}

/* An ounce that does not say which. */
static bool is_bare_ounce(struct reader *r)
{
	static const char *const ounces[] = { "oz",    "fl oz",  "floz",        "fl. oz.",      "oz.",
										  "ounce", "ounces", "fluid ounce", "fluid ounces", "fl oz." };
	for (size_t i = 0; i < sizeof ounces / sizeof ounces[0]; i++)
		if (reader_rest_is(r, ounces[i], true))
			return true;
	return false;
}

/* Units of the same name that differ between two countries, or between two trades. */
static int ask_which(struct reader *r, struct number v, enum wet_quantity_kind kind)
{
	static const struct {
		const char *word;
		enum wet_unit one, other;
	} pairs[] = {
		{ "gal", WET_UNIT_US_GAL, WET_UNIT_IMP_GAL },
		{ "gallon", WET_UNIT_US_GAL, WET_UNIT_IMP_GAL },
		{ "gallons", WET_UNIT_US_GAL, WET_UNIT_IMP_GAL },
		{ "qt", WET_UNIT_US_QT, WET_UNIT_IMP_QT },
		{ "quart", WET_UNIT_US_QT, WET_UNIT_IMP_QT },
		{ "quarts", WET_UNIT_US_QT, WET_UNIT_IMP_QT },
		{ "pint", WET_UNIT_US_PINT, WET_UNIT_IMP_PINT },
		{ "pints", WET_UNIT_US_PINT, WET_UNIT_IMP_PINT },
		{ "minim", WET_UNIT_US_MINIM, WET_UNIT_IMP_MINIM },
		{ "minims", WET_UNIT_US_MINIM, WET_UNIT_IMP_MINIM },
		{ "dram", WET_UNIT_DRAM_AV, WET_UNIT_DRAM_AP },
		{ "drams", WET_UNIT_DRAM_AV, WET_UNIT_DRAM_AP },
		{ "drachm", WET_UNIT_DRAM_AV, WET_UNIT_DRAM_AP },
		{ "drachms", WET_UNIT_DRAM_AV, WET_UNIT_DRAM_AP },
	};
	double n = number_double(v);
	for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
		if (wet_unit_kind(pairs[i].one) != kind || !reader_rest_is(r, pairs[i].word, true))
			continue;
		const struct unit_factor *a = unit_factor(pairs[i].one), *b = unit_factor(pairs[i].other);
		return wet_fault_set(
			r->fault, WET_ERR_AMBIGUOUS, "", r->text, "say which: %.4g %s is %.1f %s, %.4g %s is %.1f %s", n,
			a->text, n * (double)a->top / (double)a->bottom / 1000, kind == WET_QUANTITY_VOLUME ? "mL" : "g",
			n, b->text, n * (double)b->top / (double)b->bottom / 1000,
			kind == WET_QUANTITY_VOLUME ? "mL" : "g");
	}
	if (kind == WET_QUANTITY_VOLUME && is_bare_ounce(r))
		return wet_fault_set(
			r->fault, WET_ERR_AMBIGUOUS, "", r->text,
			"say which: %.4g US fl oz is %.1f mL, %.4g imp fl oz is %.1f mL; a mass is not a volume", n,
			n * 29.5735295625, n, n * 28.4130625);
	if (kind == WET_QUANTITY_MASS && is_bare_ounce(r))
		return wet_fault_set(
			r->fault, WET_ERR_AMBIGUOUS, "", r->text,
			"say oz av for a mass: %.4g oz av is %.1f g; a fluid ounce, US or imperial, is a volume", n,
			n * 28.349523125);
	return WET_OK;
}

/* The unit after a number, and the value in the inner unit. */
static int read_unit(struct reader *r, struct number v, enum wet_quantity_kind kind,
					 struct wet_quantity *ret_quantity)
{
	bool is_degrees = kind == WET_QUANTITY_TEMPERATURE || kind == WET_QUANTITY_DIFFERENCE;
	if (reader_at_end(r) && is_degrees)
		return wet_fault_set(r->fault, WET_ERR_UNIT_MISSING, "", r->text,
							 "Celsius or Fahrenheit: write %.4g C or %.4g F", number_double(v),
							 number_double(v));
	if (reader_at_end(r))
		return reader_fail(r, WET_ERR_UNIT_MISSING);
	int rc = ask_which(r, v, kind);
	if (rc != 0)
		return rc;
	enum wet_unit unit = find_unit(r, kind);
	if (unit == WET_UNIT_N)
		return reader_fail(r, is_broken_number(r) ? WET_ERR_INVALID : WET_ERR_UNIT_WRONG);
	const struct unit_factor *u = unit_factor(unit);
	v.top -= u->zero * v.bottom;
	struct number less = { -v.top, v.bottom };
	if (number_is_over(v, u->top, u->bottom, kinds[kind].high) ||
		number_is_over(less, u->top, u->bottom, -kinds[kind].low))
		return reader_fail(r, WET_ERR_RANGE);
	*ret_quantity = (struct wet_quantity){ number_times(v, u->top, u->bottom), unit };
	return WET_OK;
}

/* Thermometers of a darkroom have no kelvins; what was meant is shown. */
static int refuse_kelvin(const char *text, struct number v, struct wet_fault *reterr)
{
	char celsius[24];
	int32_t mc = number_is_over(v, 1, 1, 10000) ? INT32_MAX : (int32_t)(number_times(v, 1000, 1) - 273150);
	if (mc < -50000 || mc > 150000)
		return wet_fault_set(reterr, WET_ERR_UNIT_WRONG, "", text, "C or F, not kelvins, as in 19.4 C or 67 F");
	return wet_fault_set(reterr, WET_ERR_UNIT_WRONG, "", text, "C or F, not kelvins: that is %s",
						 wet_print_temperature(mc, celsius, sizeof celsius));
}

int wet_parse_quantity(const char *text, enum wet_quantity_kind kind, struct wet_quantity *ret_quantity,
					   struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, kinds[kind].want };
	struct number v;
	int rc = number_read(&r, &v);
	if (rc != 0)
		return rc;
	if (kind == WET_QUANTITY_TEMPERATURE && (reader_rest_is(&r, "k", true) || reader_rest_is(&r, "kelvin", true)))
		return refuse_kelvin(text, v, reterr);
	return read_unit(&r, v, kind, ret_quantity);
}

static int parse_value(const char *text, enum wet_quantity_kind kind, int64_t *ret_value,
					   struct wet_fault *reterr)
{
	struct wet_quantity q;
	int rc = wet_parse_quantity(text, kind, &q, reterr);
	if (rc == 0)
		*ret_value = q.value;
	return rc;
}

static int parse_value_32(const char *text, enum wet_quantity_kind kind, int32_t *ret_value,
						  struct wet_fault *reterr)
{
	struct wet_quantity q;
	int rc = wet_parse_quantity(text, kind, &q, reterr);
	if (rc == 0)
		*ret_value = (int32_t)q.value; /* the ranges of these kinds fit */
	return rc;
}

int wet_parse_volume(const char *text, int64_t *ret_volume_ul, struct wet_fault *reterr)
{
	return parse_value(text, WET_QUANTITY_VOLUME, ret_volume_ul, reterr);
}

int wet_parse_mass(const char *text, int64_t *ret_mass_mg, struct wet_fault *reterr)
{
	return parse_value(text, WET_QUANTITY_MASS, ret_mass_mg, reterr);
}

int wet_parse_mass_exact(const char *text, double *ret_mg, enum wet_unit *ret_unit, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, kinds[WET_QUANTITY_MASS].want };
	struct wet_quantity q;
	struct number v;
	int rc = number_read(&r, &v);
	if (rc == 0)
		rc = read_unit(&r, v, WET_QUANTITY_MASS, &q);
	if (rc != 0)
		return rc;
	const struct unit_factor *u = unit_factor(q.unit);
	*ret_mg = number_double(v) * (double)u->top / (double)u->bottom;
	*ret_unit = q.unit;
	return WET_OK;
}

int wet_parse_temperature(const char *text, int32_t *ret_temperature_mc, struct wet_fault *reterr)
{
	return parse_value_32(text, WET_QUANTITY_TEMPERATURE, ret_temperature_mc, reterr);
}

int wet_parse_temperature_difference(const char *text, int32_t *ret_difference_mc, struct wet_fault *reterr)
{
	return parse_value_32(text, WET_QUANTITY_DIFFERENCE, ret_difference_mc, reterr);
}

int wet_parse_length(const char *text, int64_t *ret_length_um, struct wet_fault *reterr)
{
	return parse_value(text, WET_QUANTITY_LENGTH, ret_length_um, reterr);
}

int wet_parse_area(const char *text, int64_t *ret_area_mm2, struct wet_fault *reterr)
{
	return parse_value(text, WET_QUANTITY_AREA, ret_area_mm2, reterr);
}

int wet_parse_concentration(const char *text, int64_t *ret_mg_per_l, struct wet_fault *reterr)
{
	return parse_value(text, WET_QUANTITY_CONCENTRATION, ret_mg_per_l, reterr);
}

/* -- sizes ---------------------------------------------------------------------- */

/* Bytes of the sign between width and height at p. */
static size_t by_bytes(const char *p)
{
	if (*p == 'x' || *p == 'X')
		return 1;
	return strncmp(p, "\xC3\x97", 2) == 0 ? 2 : 0;
}

/* The unit written with the width, before a blank or the sign. */
static enum wet_unit read_first_unit(struct reader *r)
{
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
		size_t n = strlen(words[i].text);
		if (wet_unit_kind(words[i].unit) == WET_QUANTITY_LENGTH &&
			reader_same_word(words[i].text, r->p, n, words[i].any_case) &&
			(reader_blank_bytes(r->p + n) || by_bytes(r->p + n))) {
			r->p += n;
			return words[i].unit;
		}
	}
	return WET_UNIT_N;
}

int wet_parse_size_fine(const char *text, int64_t parts_per_um, int64_t *ret_width, int64_t *ret_height,
						enum wet_unit *ret_unit, struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "a size with its unit, as in 9x12 cm or 4 1/2 x 6 in" };
	struct number w, h;
	int rc = number_read(&r, &w);
	if (rc != 0)
		return rc;
	reader_skip_blanks(&r);
	enum wet_unit first = read_first_unit(&r);
	reader_skip_blanks(&r);
	size_t by = by_bytes(r.p);
	if (by == 0)
		return reader_fail(&r, WET_ERR_INVALID);
	r.p += by;
	if ((rc = number_read(&r, &h)) != 0)
		return rc;
	if (reader_at_end(&r) && first == WET_UNIT_N)
		return reader_fail(&r, WET_ERR_UNIT_MISSING);
	enum wet_unit second = reader_at_end(&r) ? first : find_unit(&r, WET_QUANTITY_LENGTH);
	if (second == WET_UNIT_N)
		return reader_fail(&r, WET_ERR_UNIT_WRONG);
	const struct unit_factor *b = unit_factor(second), *a = first == WET_UNIT_N ? b : unit_factor(first);
	if (w.top < 0 || h.top < 0 || number_is_over(w, a->top, a->bottom, LENGTH_UM_MAX) ||
		number_is_over(h, b->top, b->bottom, LENGTH_UM_MAX))
		return reader_fail(&r, WET_ERR_RANGE);
	int64_t width = number_times(w, a->top * parts_per_um, a->bottom);
	int64_t height = number_times(h, b->top * parts_per_um, b->bottom);
	if (width == 0 || height == 0)
		return reader_fail(&r, WET_ERR_RANGE);
	*ret_width = width;
	*ret_height = height;
	*ret_unit = second;
	return WET_OK;
}

int wet_parse_size(const char *text, int64_t *ret_width_um, int64_t *ret_height_um, struct wet_fault *reterr)
{
	enum wet_unit unit;
	return wet_parse_size_fine(text, 1, ret_width_um, ret_height_um, &unit, reterr);
}

int wet_parse_length_fine(const char *text, int64_t parts_per_um, int64_t *ret_length, enum wet_unit *ret_unit,
						  struct wet_fault *reterr)
{
	struct reader r = { text, text, reterr, "a length with its unit, as in 1.5 mm or 1/16 in" };
	struct number v;
	int rc = number_read(&r, &v);
	if (rc != 0)
		return rc;
	if (reader_at_end(&r))
		return reader_fail(&r, WET_ERR_UNIT_MISSING);
	enum wet_unit unit = find_unit(&r, WET_QUANTITY_LENGTH);
	if (unit == WET_UNIT_N)
		return reader_fail(&r, WET_ERR_UNIT_WRONG);
	const struct unit_factor *u = unit_factor(unit);
	if (v.top < 0 || number_is_over(v, u->top, u->bottom, LENGTH_UM_MAX))
		return reader_fail(&r, WET_ERR_RANGE);
	*ret_length = number_times(v, u->top * parts_per_um, u->bottom);
	*ret_unit = unit;
	return WET_OK;
}
