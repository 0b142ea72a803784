/* Dilution against published examples. */
#include "wetside/dilution.h"
#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <jansson.h>
#include <math.h>

/* Definition of parts, a+b: 46 rows computed in exact fractions outside (tests/data/dilution_examples.json). */
Test(dilution_outside, every_row_of_parts)
{
	json_t *doc = json_load_file(WET_TEST_DATA "/dilution_examples.json", 0, NULL), *row;
	size_t i;
	json_t *list = json_object_get(doc, "conventions");
	cr_assert_eq(json_array_size(list), 46);
	json_array_foreach(list, i, row)
	{
		json_t *in = json_object_get(row, "inputs"), *plus = json_object_get(row, "plus");
		struct wet_dilution d;
		int64_t total = llround(json_number_value(json_object_get(in, "total_ml")) * 1000);
		cr_assert_eq(wet_dilute_make(llround(json_number_value(json_object_get(in, "a")) * 1000),
		                             llround(json_number_value(json_object_get(in, "b")) * 1000), total, &d, NULL),
		             0);
		cr_assert_eq(d.stock_ul + d.water_ul, total);
		cr_assert_float_eq((double)d.stock_ul / 1000, json_number_value(json_object_get(plus, "stock_ml")), 0.0006);
		cr_assert_float_eq((double)d.water_ul / 1000, json_number_value(json_object_get(plus, "water_ml")), 0.0006);
	}
	json_decref(doc);
}

/* US Army subcourse SS0513, Photographic Quality Control: 32 oz of 28 % from 99.5 %: 9 and 23 oz (32 oz as 32,000 units). */
Test(dilution_outside, the_army_acetic_acid_example)
{
	struct wet_dilution d;
	cr_assert_eq(wet_dilute_percent_make(99500, 28000, 32000, &d, NULL), 0);
	cr_assert_float_eq((double)d.stock_ul / 1000, 9.0, 0.05);
	cr_assert_float_eq((double)d.water_ul / 1000, 23.0, 0.05);
}

/* C1 V1 = C2 V2: 100 mL of 20 % make 1000 mL of 2 % (a published pharmacy technician's examination question). */
Test(dilution_outside, the_pharmacy_example)
{
	struct wet_dilution d;
	cr_assert_eq(wet_dilute_percent_have(20000, 2000, 100000, &d, NULL), 0);
	cr_assert_eq(d.total_ul, 1000000);
}

/* 28 % acetic acid from glacial by 3 parts and 8: 27.27 % v/v (3/11). */
Test(dilution_outside, three_and_eight)
{
	struct wet_dilution d;
	cr_assert_eq(wet_dilute_make(3000, 8000, 1100000, &d, NULL), 0);
	cr_assert_eq(d.stock_ul, 300000);
}

Test(dilution_outside, refuses_what_cannot_be)
{
	struct wet_dilution d;
	struct wet_fault f = { 0 };
	int64_t a, b;
	cr_assert_eq(wet_dilute_percent_make(2000, 28000, 1000, &d, &f), WET_ERR_REFUSED);
	cr_assert_eq(wet_parse_dilution("1:9", &a, &b, &f), WET_ERR_AMBIGUOUS);
	cr_assert(f.want[0] != '\0');
	cr_assert_eq(wet_parse_dilution("1+9", &a, &b, &f), 0);
	cr_assert(a == 1000 && b == 9000);
}
