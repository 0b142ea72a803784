/* Quantities against conversions made by GNU units 2.22 from the legal definitions (tests/data/units.json:
 * the international yard and pound of 1959, the US gallon of 231 cubic inches, the imperial gallon of
 * 4.54609 L; the source stands in every row). A row is typed as people would and must come out right to
 * half of the smallest step kept inside. */
#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* How a unit of the data is typed, what reads it, and how many inner steps make one of it where it is
 * metric. */
static const struct unit {
	const char *name, *typed;
	int kind;          /* of quantity; 'x': of light, which this header has not */
	double per_metric; /* 0: a customary unit */
} units[] = {
	{ "ml", "mL", 'v', 1e3 },
	{ "US fl oz", "US fl oz", 'v', 0 },
	{ "imperial fl oz", "imp fl oz", 'v', 0 },
	{ "US pint", "US pint", 'v', 0 },
	{ "US minim", "US minims", 'v', 0 },
	{ "imperial minim", "imp minim", 'v', 0 },
	{ "oz (troy = apothecaries)", "oz troy", 'm', 0 },
	{ "dram (avoirdupois)", "dram av", 'm', 0 },
	{ "g/L", "g/L", 'c', 1e3 },
	{ "oz(av)/US gallon", "oz av/US gal", 'c', 0 },
	{ "oz(av)/US quart", "oz av/US qt", 'c', 0 },
	{ "grain/imperial fl oz", "grains/imp fl oz", 'c', 0 },
	{ "in^2 (one 8x10 sheet)", "in2", 'a', 0 },
	{ "cm^2", "cm2", 'a', 1e2 },
	{ "cd/ft^2", "", 'x', 0 },
	{ "footlambert", "", 'x', 0 },
	{ "cd/m^2", "", 'x', 1 },
	{ "g", "g", 'm', 1e3 },
	{ "oz (avoirdupois)", "oz av", 'm', 0 },
	{ "grain", "grains", 'm', 0 },
	{ "mm", "mm", 'l', 1e3 },
	{ "inch", "in", 'l', 0 },
	{ "degC", "C", 't', 1e3 },
	{ "degF", "F", 't', 0 },
	{ "degC difference", "C", 'd', 1e3 },
	{ "degF difference", "F", 'd', 0 },
};

static const struct unit *unit_named(const char *name)
{
	for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
		if (name && strcmp(units[i].name, name) == 0)
			return &units[i];
	cr_assert_fail("unit %s", name ? name : "(none)");
	return NULL;
}

/* Types a value and reads it, in inner steps. */
static int64_t typed(double value, const struct unit *u, const char *id)
{
	char text[64];
	int64_t v = INT64_MIN;
	int32_t t = INT32_MIN;
	int rc;
	/* As many places as the reader takes: 15 after the point and 15 in all. */
	snprintf(text, sizeof text, fabs(value) < 1 ? "%.15f %s" : "%.15g %s", value, u->typed);
	switch (u->kind) {
	case 'v': rc = wet_parse_volume(text, &v, NULL); break;
	case 'm': rc = wet_parse_mass(text, &v, NULL); break;
	case 'l': rc = wet_parse_length(text, &v, NULL); break;
	case 'a': rc = wet_parse_area(text, &v, NULL); break;
	case 'c': rc = wet_parse_concentration(text, &v, NULL); break;
	case 't': rc = wet_parse_temperature(text, &t, NULL); break;
	default: rc = wet_parse_temperature_difference(text, &t, NULL); break;
	}
	cr_assert_eq(rc, 0, "%s: %s", id, text);
	return u->kind == 't' || u->kind == 'd' ? t : v;
}

static void check_row(const json_t *row, int *customary_to_metric, int *metric_to_customary, int *light)
{
	const char *id = json_string_value(json_object_get(row, "id"));
	const json_t *in = json_object_get(row, "inputs");
	const struct unit *from = unit_named(json_string_value(json_object_get(in, "from")));
	const struct unit *to = unit_named(json_string_value(json_object_get(row, "to")));
	double value = json_number_value(json_object_get(in, "value"));
	double expected = json_number_value(json_object_get(row, "expected"));
	cr_assert(from->kind == to->kind && json_string_value(json_object_get(row, "source")), "%s", id);
	cr_assert((from->per_metric > 0) != (to->per_metric > 0), "%s", id);
	if (from->kind == 'x') {
		++*light;
		return;
	}
	if (to->per_metric > 0) {
		double steps = expected * to->per_metric;
		cr_assert_leq(fabs((double)typed(value, from, id) - steps), 0.5 + fabs(steps) * 1e-9, "%s", id);
		++*customary_to_metric;
	} else {
		/* The answer, typed back, is what was asked about. */
		double steps = value * from->per_metric;
		cr_assert_leq(fabs((double)typed(expected, to, id) - steps), 0.5 + fabs(steps) * 1e-9, "%s", id);
		++*metric_to_customary;
		if (from->kind == 't')
			cr_assert_float_eq(wet_fahrenheit_mf((int32_t)lround(steps)) / 1000.0, expected, 0.0500001, "%s",
							   id);
	}
}

Test(units, every_row_agrees)
{
	json_error_t e;
	json_t *doc = json_load_file(WET_TEST_DATA "/units.json", JSON_REJECT_DUPLICATES, &e), *row;
	size_t i;
	int there = 0, back = 0, light = 0;
	cr_assert_not_null(doc, "%s", e.text);
	json_t *rows = json_object_get(doc, "rows");
	json_array_foreach(rows, i, row) check_row(row, &there, &back, &light);
	cr_assert_eq(there + back, 81);
	cr_assert_eq(light, 2, "luminance is no quantity of the darkroom's bottles");
	cr_assert(there > 20 && back > 20);
	json_decref(doc);
}

/* US Army subcourse SS0513, Photographic Quality Control, computes with 440 grains to the ounce "for
 * convenience"; it is 437.5 of the 7000 grains of the pound. */
Test(units, an_ounce_has_437_and_a_half_grains)
{
	int64_t ounce, grains, convenient, pound, many, grains_too;
	cr_assert_eq(wet_parse_mass("1 oz av", &ounce, NULL), 0);
	cr_assert_eq(wet_parse_mass("437.5 grains", &grains, NULL), 0);
	cr_assert_eq(wet_parse_mass("440 grains", &convenient, NULL), 0);
	cr_assert_eq(wet_parse_mass("1 lb", &pound, NULL), 0);
	cr_assert_eq(wet_parse_mass("7000 grains", &many, NULL), 0);
	cr_assert_eq(wet_parse_mass("7000 gr", &grains_too, NULL), 0);
	cr_assert_eq(grains_too, pound);
	cr_assert_eq(wet_parse_mass("7000 grain", &grains_too, NULL), 0);
	cr_assert_eq(grains_too, pound);
	cr_assert(ounce == grains && pound == many && convenient > ounce + 100);
}

/* The traps of the table: the two fluid ounces are 4 % apart, the gallons 20 %, for they hold 128 and 160
 * of them. */
Test(units, fluid_ounces_and_gallons_differ)
{
	int64_t us, imp, us_gal, imp_gal, us_all, imp_all;
	cr_assert_eq(wet_parse_volume("100 US fl oz", &us, NULL), 0);
	cr_assert_eq(wet_parse_volume("100 imp fl oz", &imp, NULL), 0);
	cr_assert_float_eq((double)us / (double)imp, 1.0408, 0.0001);
	cr_assert_eq(wet_parse_volume("1 US gal", &us_gal, NULL), 0);
	cr_assert_eq(wet_parse_volume("1 imp gal", &imp_gal, NULL), 0);
	cr_assert_eq(wet_parse_volume("128 US fl oz", &us_all, NULL), 0);
	cr_assert_eq(wet_parse_volume("160 imp fl oz", &imp_all, NULL), 0);
	/* Enough of them to see every digit of the definitions: 231 in^3 / 128 and 4.54609 L / 160. */
	cr_assert_eq(wet_parse_volume("10000000 US fl oz", &us, NULL), 0);
	cr_assert_eq(us, 295735295625);
	cr_assert_eq(wet_parse_volume("10000000 imp fl oz", &imp, NULL), 0);
	cr_assert_eq(imp, 284130625000);
	cr_assert(us_gal == us_all && imp_gal == imp_all);
	cr_assert_float_eq((double)imp_gal / (double)us_gal, 1.20095, 0.00001);
}
