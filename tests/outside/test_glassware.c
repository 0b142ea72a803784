/* Graduates against tests/data/glassware.json (the source stands in every row): ASTM E1272-02 (2012) as
 * quoted at normservis.cz and standards.iteh.ai, and syringes as SMTL (Phillips 2016) explains ISO 7886-1. */
#include "wetside/graduate.h"

#include <criterion/criterion.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static double number(const json_t *o, const char *key)
{
	const json_t *v = json_object_get(o, key);
	cr_assert(json_is_number(v), "%s", key);
	return json_number_value(v);
}

static struct wet_graduate graduate(const char *text)
{
	struct wet_graduate g = { 0 };
	struct wet_fault f = { 0 };
	cr_assert_eq(wet_parse_graduate(text, &g, &f), 0, "%s: %s", text, f.want);
	return g;
}

static void check_cylinder(const json_t *in, const json_t *want, const char *id)
{
	double capacity_ml = number(in, "cylinder_ml");
	for (int b = 0; b < 2; b++) {
		char text[32];
		int64_t tolerance = -1, tenth = (int64_t)(capacity_ml * 100);
		snprintf(text, sizeof text, "%g mL %c", capacity_ml, b ? 'B' : 'A');
		struct wet_graduate g = graduate(text);
		cr_assert_float_eq((double)g.step_ul / 1000, number(in, "least_graduation_ml"), 1e-9, "%s", id);
		cr_assert_eq(wet_graduate_tolerance(&g, g.capacity_ul, &tolerance), 0, "%s", id);
		cr_assert_float_eq((double)tolerance / 1000, number(want, b ? "class_B_ml" : "class_A_ml"), 1e-9,
						   "%s", id);
		if (!b)
			continue;
		struct wet_measure m;
		cr_assert_eq(wet_measure(&g, 1, g.capacity_ul, &m, NULL), 0, "%s", id);
		cr_assert_float_eq(m.tolerance_milli / 1e3, number(want, "class_B_percent_of_capacity"), 0.0005, "%s",
						   id);
		cr_assert_not(m.is_coarse, "%s", id);
		cr_assert_eq(wet_measure(&g, 1, tenth, &m, NULL), 0, "%s", id);
		cr_assert(m.is_coarse && m.is_too_coarse == (m.tolerance_milli > 10000), "%s", id);
		if (m.measured_ul == tenth) /* a tenth of 25 mL is between two marks */
			cr_assert_float_eq(m.tolerance_milli / 1e3, number(want, "class_B_percent_at_one_tenth"), 0.0005,
							   "%s", id);
		else
			cr_assert_eq(llabs(m.measured_ul - tenth), g.step_ul / 2, "%s", id);
	}
}

static void check_syringe(const json_t *in, const json_t *want, const char *id)
{
	char text[48];
	int64_t tolerance;
	snprintf(text, sizeof text, "%g mL syringe/0.1 mL", number(in, "syringe_ml"));
	struct wet_graduate g = graduate(text);
	cr_assert_eq(wet_graduate_tolerance(&g, (int64_t)llround(number(in, "expelled_ml") * 1000), &tolerance),
				 0, "%s", id);
	cr_assert_float_eq((double)tolerance / 1000, number(want, "tolerance_ml"), 1e-9, "%s", id);
}

static void check_pick(const json_t *in, const json_t *want, double slack, const char *id)
{
	static const char *const owned[] = { "100 mL B", "5 mL B", "25 mL B", "10 mL B", "50 mL B" };
	struct wet_graduate set[5];
	struct wet_measure m;
	for (int i = 0; i < 5; i++)
		set[i] = graduate(owned[i]);
	cr_assert_eq(wet_measure(set, 5, (int64_t)llround(number(in, "volume_ml") * 1000), &m, NULL), 0, "%s",
				 id);
	cr_assert_eq(m.full_fills, 0, "%s", id);
	cr_assert_float_eq((double)set[m.last].capacity_ul / 1000, number(want, "cylinder_ml"), 1e-9, "%s", id);
	cr_assert_float_eq((double)m.measured_ul / 1000, number(want, "rounded_ml"), slack, "%s", id);
	cr_assert_float_eq(m.tolerance_milli / 1e3, number(want, "class_B_error_percent"), 1e-9, "%s", id);
	cr_assert_eq(m.is_coarse, number(want, "class_B_error_percent") > 2, "%s", id);
}

Test(glassware, every_row_agrees)
{
	json_error_t e;
	json_t *doc = json_load_file(WET_TEST_DATA "/glassware.json", JSON_REJECT_DUPLICATES, &e), *row;
	size_t i;
	int cylinders = 0, syringes = 0, picks = 0, unknown = 0;
	cr_assert_not_null(doc, "%s", e.text);
	json_array_foreach(json_object_get(doc, "rows"), i, row)
	{
		const char *id = json_string_value(json_object_get(row, "id"));
		const json_t *in = json_object_get(row, "inputs"), *want = json_object_get(row, "expected");
		cr_assert(json_is_string(json_object_get(row, "source")), "%s", id);
		if (!in) {
			cr_assert(json_is_false(json_object_get(row, "verified")), "%s", id);
			unknown++; /* pipettes: nothing is claimed about them here */
		} else if (json_object_get(in, "cylinder_ml")) {
			check_cylinder(in, want, id);
			cylinders++;
		} else if (json_object_get(in, "syringe_ml")) {
			check_syringe(in, want, id);
			syringes++;
		} else {
			check_pick(in, want, number(row, "tolerance"), id);
			picks++;
		}
	}
	cr_assert(cylinders == 5 && syringes == 2 && picks == 4 && unknown == 1);
	json_decref(doc);
}

/* ASTM E1272-02 (2012), as above: 250 mL 1 and 2, 500 mL 2 and 4. */
Test(glassware, the_larger_ones)
{
	static const struct {
		const char *text;
		int64_t tolerance_ul;
	} rows[] = { { "250 mL A", 1000 }, { "250 mL", 2000 }, { "500 mL A", 2000 }, { "500 mL B", 4000 } };
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct wet_graduate g = graduate(rows[i].text);
		int64_t tolerance;
		cr_assert_eq(wet_graduate_tolerance(&g, g.capacity_ul, &tolerance), 0);
		cr_assert_eq(tolerance, rows[i].tolerance_ul, "%s", rows[i].text);
	}
}

/* What the sources do not give is not known here either. */
Test(glassware, no_tolerance_is_invented)
{
	static const char *const unknown[] = { "1000 mL A",
										   "1 L B",
										   "1000 mL",
										   "600 mL/50 mL",
										   "32 US fl oz/1 US fl oz",
										   "20 mL syringe/1 mL",
										   "5 mL syringe/0.2 mL",
										   "10 mL syringe/0.5 mL" };
	int64_t tolerance = -1;
	struct wet_measure m;
	for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++) {
		struct wet_graduate g = graduate(unknown[i]);
		cr_assert_eq(wet_graduate_tolerance(&g, g.capacity_ul, &tolerance), WET_ERR_NOT_FOUND, "%s",
					 unknown[i]);
		cr_assert_eq(wet_measure(&g, 1, g.capacity_ul, &m, NULL), 0);
		cr_assert(m.tolerance_ul == -1 && m.tolerance_milli == -1 && !m.is_coarse, "%s", unknown[i]);
	}
	cr_assert_eq(tolerance, -1);
	/* Three in five: the proposal's own example of what to warn about, 3.3 %. */
	struct wet_graduate five = graduate("5 mL");
	cr_assert_eq(wet_measure(&five, 1, 3000, &m, NULL), 0);
	cr_assert(m.is_coarse && !m.is_too_coarse && m.tolerance_milli == 3333);
}
