/* Quantities as people write them. Conversion: legal definitions (yard and pound 1959, US gallon 231 in3,
 * imperial 4.54609 L). */
#include "base/random.h"
#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

Test(quantity, durations_as_people_write_them)
{
	static const struct {
		const char *text;
		int64_t ns;
	} good[] = { { "2:00", 120 * WET_NS_PER_S },  { "1:02:03", 3723 * WET_NS_PER_S },
				 { "90 s", 90 * WET_NS_PER_S },   { "15s", 15 * WET_NS_PER_S },
				 { "3 min", 180 * WET_NS_PER_S }, { "1 min 30 s", 90 * WET_NS_PER_S },
				 { "250 ms", 250000000 },         { "1.5 min", 90 * WET_NS_PER_S },
				 { " 0:07 ", 7 * WET_NS_PER_S } };
	static const char *const bad[] = { "",      "90",        "2:0",        "2:60",    "x",
									   "-1 s",  "1 s 2 min", "3 C",        "1:2:3:4", "99999999 h",
									   "5 s s", "5 s 5 s",   "1 min 1 min" };
	int64_t v;
	struct wet_fault f;
	for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
		cr_assert_eq(wet_parse_duration(good[i].text, &v, &f), 0, "%s", good[i].text);
		cr_assert_eq(v, good[i].ns, "%s", good[i].text);
	}
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		v = -7;
		cr_assert_neq(wet_parse_duration(bad[i], &v, &f), 0, "%s", bad[i]);
		cr_assert_eq(v, -7, "untouched on failure");
		cr_assert(f.want[0]);
	}
	cr_assert_eq(wet_parse_duration("90", &v, &f), WET_ERR_UNIT_MISSING);
}

Test(quantity, temperatures_need_their_unit)
{
	int32_t mc;
	struct wet_fault f;
	cr_assert_eq(wet_parse_temperature("19.4C", &mc, &f), 0);
	cr_assert_eq(mc, 19400);
	cr_assert_eq(wet_parse_temperature("68 F", &mc, &f), 0);
	cr_assert_eq(mc, 20000);
	cr_assert_eq(wet_parse_temperature("80F", &mc, &f), 0);
	cr_assert_eq(mc, 26667);
	cr_assert_eq(wet_parse_temperature("68", &mc, &f), WET_ERR_UNIT_MISSING);
	cr_assert(strstr(f.want, "68 C") && strstr(f.want, "68 F"), "%s", f.want);
	cr_assert_eq(wet_parse_temperature("400 C", &mc, &f), WET_ERR_RANGE);
	cr_assert_eq(wet_parse_temperature_difference("3.6 F", &mc, &f), 0);
	cr_assert_eq(mc, 2000);
}

Test(quantity, volumes_and_an_ounce_that_is_asked_about)
{
	int64_t ul;
	struct wet_fault f;
	cr_assert_eq(wet_parse_volume("600mL", &ul, &f), 0);
	cr_assert_eq(ul, 600000);
	cr_assert_eq(wet_parse_volume("1.5 L", &ul, &f), 0);
	cr_assert_eq(ul, 1500000);
	cr_assert_eq(wet_parse_volume("1 US fl oz", &ul, &f), 0);
	cr_assert_eq(ul, 29574);
	cr_assert_eq(wet_parse_volume("1 imp fl oz", &ul, &f), 0);
	cr_assert_eq(ul, 28413);
	cr_assert_eq(wet_parse_volume("20 oz", &ul, &f), WET_ERR_AMBIGUOUS);
	cr_assert_eq(wet_parse_volume("600", &ul, &f), WET_ERR_UNIT_MISSING);
	cr_assert_eq(wet_parse_volume("600 g", &ul, &f), WET_ERR_UNIT_WRONG);
	cr_assert_eq(wet_parse_volume("600 in2", &ul, &f), WET_ERR_UNIT_WRONG);
	static const char *const broken[] = { "1e99L", "1.5.2 mL", "0x10 mL", "1.5 1 mL" };
	for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++)
		cr_assert_eq(wet_parse_volume(broken[i], &ul, &f), WET_ERR_INVALID, "%s is no unit of another kind", broken[i]);
}

Test(quantity, sizes_and_fractions)
{
	int64_t w, h;
	struct wet_fault f;
	cr_assert_eq(wet_parse_size("9x12cm", &w, &h, &f), 0);
	cr_assert(w == 90000 && h == 120000);
	cr_assert_eq(wet_parse_size("4 1/2 x 6 in", &w, &h, &f), 0);
	cr_assert(w == 114300 && h == 152400);
	cr_assert_eq(wet_parse_size("9x12", &w, &h, &f), WET_ERR_UNIT_MISSING);
	cr_assert_eq(wet_parse_length("3 1/2 in", &w, &f), 0);
	cr_assert_eq(w, 88900);
}

Test(quantity, prints_what_it_reads)
{
	char a[32];
	int64_t v, back;
	cr_assert_str_eq(wet_print_duration(120 * WET_NS_PER_S, a, sizeof a), "2:00");
	cr_assert_str_eq(wet_print_duration(-20 * WET_NS_PER_S, a, sizeof a), "-0:20");
	cr_assert_str_eq(wet_print_temperature(19400, a, sizeof a), "19.4 C");
	cr_assert_str_eq(wet_print_volume(37500, a, sizeof a), "37.5 mL");
	cr_assert_str_eq(wet_print_dilution(1000, 9000, a, sizeof a), "1+9");
	cr_assert_str_eq(wet_print_seconds(90 * WET_NS_PER_S, a, sizeof a), "1 minute 30 seconds");
	for (v = 0; v < 8000; v += 7) {
		wet_print_duration(v * WET_NS_PER_S, a, sizeof a);
		cr_assert_eq(wet_parse_duration(a, &back, NULL), 0, "%s", a);
		cr_assert_eq(back, v * WET_NS_PER_S, "%s", a);
	}
	(void)wet_print_duration(INT64_MAX, a, sizeof a);
	(void)wet_print_duration(INT64_MIN + 1, a, sizeof a);
}

/* The factor is exact and the rounding is one: every multiple of half a microlitre goes away from zero. */
Test(quantity, decimals_are_exact)
{
	char text[48];
	int64_t v;
	for (int64_t half = 1; half < 40000; half += 2) {
		snprintf(text, sizeof text, "%lld.%04lld mL", (long long)(half / 2000), (long long)(half % 2000 * 5));
		cr_assert_eq(wet_parse_volume(text, &v, NULL), 0, "%s", text);
		cr_assert_eq(v, (half + 1) / 2, "%s: %lld", text, (long long)v);
	}
	cr_assert_eq(wet_parse_volume("999999999.999999 L", &v, NULL), 0);
	cr_assert_eq(v, 999999999999999);
	cr_assert_eq(wet_parse_mass("0.0005 g", &v, NULL), 0);
	cr_assert_eq(v, 1);
	cr_assert_eq(wet_parse_mass("7000 grains", &v, NULL), 0);
	cr_assert_eq(v, 453592);
	cr_assert_eq(wet_parse_duration("0.000000001 s", &v, NULL), 0);
	cr_assert_eq(v, 1);
	int32_t mc;
	cr_assert_eq(wet_parse_temperature("-0.0005 C", &mc, NULL), 0);
	cr_assert_eq(mc, -1);
}

Test(quantity, a_comma_is_a_point_unless_it_could_be_a_thousand)
{
	static const char *const two_ways[] = { "1,000 mL", "1,250 L", "12,500 mL", "600,000 mL" };
	struct wet_fault f;
	int64_t v = -7;
	cr_assert_eq(wet_parse_volume("1,5 L", &v, &f), 0);
	cr_assert_eq(v, 1500000);
	cr_assert_eq(wet_parse_volume("0,125 L", &v, &f), 0);
	cr_assert_eq(v, 125000);
	cr_assert_eq(wet_parse_volume("1,2500 L", &v, &f), 0);
	cr_assert_eq(v, 1250000);
	cr_assert_eq(wet_parse_volume("1.000 L", &v, &f), 0);
	cr_assert_eq(v, 1000000);
	v = -7;
	for (size_t i = 0; i < sizeof two_ways / sizeof two_ways[0]; i++)
		cr_assert_eq(wet_parse_volume(two_ways[i], &v, &f), WET_ERR_AMBIGUOUS, "%s", two_ways[i]);
	cr_assert(strstr(f.want, "600000") && strstr(f.want, "600.000"), "%s", f.want);
	cr_assert_neq(wet_parse_volume("1,000,000 mL", &v, &f), 0);
	cr_assert_neq(wet_parse_volume("1.000,5 mL", &v, &f), 0);
	cr_assert_eq(v, -7);
}

Test(quantity, what_is_no_quantity_is_refused)
{
	static const char *const volumes[] = { "",
										   " ",
										   "mL",
										   ".",
										   "-1 mL",
										   "1 2 mL",
										   "1/0 mL",
										   "1//2 mL",
										   "1/ mL",
										   "1.5/2 mL",
										   "3 3/2 mL",
										   "1..5 mL",
										   "1e3 mL",
										   "0x10 mL",
										   "1 mL x",
										   "1 m L",
										   "inf mL",
										   "nan mL",
										   "1 \xFF",
										   "1001000000 L",
										   "1234567890123456 mL",
										   "0.0000000000000001 L",
										   "+ 1 mL",
										   "--1 mL" };
	struct wet_fault f;
	int64_t v = -7, w = -7;
	for (size_t i = 0; i < sizeof volumes / sizeof volumes[0]; i++) {
		memset(&f, 0, sizeof f);
		cr_assert_neq(wet_parse_volume(volumes[i], &v, &f), 0, "%s", volumes[i]);
		cr_assert(f.err != 0 && f.want[0], "%s", volumes[i]);
		cr_assert_neq(wet_parse_volume(volumes[i], &v, NULL), 0);
	}
	static const char *const sizes[] = { "9 cm",       "9x",      "x9 cm",         "9x0 cm",
										 "0x9 cm",     "9x12 kg", "9 x 12 x 3 cm", "-9x12 cm",
										 "9x12000 cm", "9*12 cm", "0.0001x9 mm" };
	for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++)
		cr_assert_neq(wet_parse_size(sizes[i], &v, &w, &f), 0, "%s", sizes[i]);
	cr_assert(v == -7 && w == -7);
}

Test(quantity, sizes_as_people_write_them)
{
	static const char *const same[] = { "9x12cm",
										"9 x 12 cm",
										"9cm x 12cm",
										"9cmx12cm",
										"90mmX120mm",
										"90 mm x 12 cm",
										"9\xC3\x97"
										"12 cm",
										"9cm\xC3\x97"
										"12cm",
										" 9\xC2\xA0x\xC2\xA0"
										"12\xC2\xA0"
										"cm ",
										"0.09x0.12 m",
										"9,0 x 12,0 cm" };
	int64_t w, h;
	for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
		w = h = 0;
		cr_assert_eq(wet_parse_size(same[i], &w, &h, NULL), 0, "%s", same[i]);
		cr_assert(w == 90000 && h == 120000, "%s", same[i]);
	}
	cr_assert_eq(wet_parse_size("4\" x 5\"", &w, &h, NULL), 0);
	cr_assert(w == 101600 && h == 127000);
}

Test(quantity, an_ounce_alone_is_asked_about_both_ways)
{
	static const char *const ounces[] = { "20 oz",      "20oz",      "20 OZ.",       "20 fl oz",
										  "20 fl. oz.", "20 ounces", "20\xC2\xA0oz", "1 1/2 oz" };
	struct wet_fault f;
	int64_t v = -7;
	for (size_t i = 0; i < sizeof ounces / sizeof ounces[0]; i++) {
		cr_assert_eq(wet_parse_volume(ounces[i], &v, &f), WET_ERR_AMBIGUOUS, "%s", ounces[i]);
		cr_assert(strstr(f.want, "US fl oz") && strstr(f.want, "imp fl oz"));
		cr_assert_eq(wet_parse_mass(ounces[i], &v, &f), WET_ERR_AMBIGUOUS, "%s", ounces[i]);
		cr_assert(strstr(f.want, "oz av"));
	}
	cr_assert_eq(v, -7);
	cr_assert_eq(wet_parse_mass("1 oz av", &v, &f), 0);
	cr_assert_eq(v, 28350);
	cr_assert_eq(wet_parse_mass("1 lb", &v, &f), 0);
	cr_assert_eq(v, 453592);
	cr_assert_eq(wet_parse_mass("5 Mg", &v, &f), WET_ERR_UNIT_WRONG, "a megagram is no milligram");
}

Test(quantity, strengths_parts_and_rates)
{
	struct wet_fault f;
	int64_t a = -7, b = -7;
	int32_t percent = -7;
	uint32_t rate = 7;
	cr_assert_eq(wet_parse_percent("28%", &percent, &f), 0);
	cr_assert_eq(percent, 28000);
	cr_assert_eq(wet_parse_percent("0,5 %", &percent, &f), 0);
	cr_assert_eq(percent, 500);
	cr_assert_eq(wet_parse_percent("28", &percent, &f), WET_ERR_UNIT_MISSING);
	cr_assert_eq(wet_parse_percent("100.001 %", &percent, &f), WET_ERR_RANGE);
	cr_assert_eq(percent, 500);
	cr_assert_eq(wet_parse_dilution("1+2.5", &a, &b, &f), 0);
	cr_assert(a == 1000 && b == 2500);
	cr_assert_eq(wet_parse_dilution(" 2 + 3 ", &a, &b, &f), 0);
	cr_assert(a == 2000 && b == 3000);
	cr_assert_eq(wet_parse_dilution("1:9", &a, &b, &f), WET_ERR_AMBIGUOUS);
	cr_assert(strstr(f.want, "1+9") && strstr(f.want, "1+8"), "%s", f.want);
	static const char *const bad[] = { "",         "1",      "1+",       "+9",  "1-9", "0+9",
									   "0.0001+9", "1+9 mL", "1+100001", "9:1", "1+-2" };
	a = -7;
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		cr_assert_neq(wet_parse_dilution(bad[i], &a, &b, &f), 0, "%s", bad[i]);
	cr_assert_eq(a, -7);
	cr_assert_eq(wet_parse_rate("1.5", &rate, &f), 0);
	cr_assert_eq(rate, 1500);
	cr_assert_eq(wet_parse_rate("0.001", &rate, &f), 0);
	cr_assert_eq(rate, 1);
	cr_assert_eq(wet_parse_rate("1000", &rate, &f), 0);
	cr_assert_eq(rate, 1000000);
	static const char *const rates[] = { "", "0", "0.0009", "1000.1", "-1", "20x", "1,000" };
	for (size_t i = 0; i < sizeof rates / sizeof rates[0]; i++)
		cr_assert_neq(wet_parse_rate(rates[i], &rate, &f), 0, "%s", rates[i]);
	cr_assert_eq(rate, 1000000);
}

/* What is printed can be typed again, and loses no more than it shows. */
Test(quantity, printed_quantities_read_back)
{
	struct wet_random r;
	char text[48];
	wet_random_seed(&r, 4);
	for (int i = 0; i < 20000; i++) {
		int64_t v = wet_random_between(&r, 0, i % 2 ? 2000000 : 1000000000000), got, b;
		int32_t mc = (int32_t)wet_random_between(&r, -50000, 150000), back;
		cr_assert_eq(wet_parse_volume(wet_print_volume(v, text, sizeof text), &got, NULL), 0, "%s", text);
		cr_assert_leq(llabs(got - v), v < 1000000 ? 5 : 50, "%s", text);
		cr_assert_eq(wet_parse_mass(wet_print_mass(v, text, sizeof text), &got, NULL), 0, "%s", text);
		cr_assert_eq(got, v, "%s", text);
		cr_assert_eq(wet_parse_length(wet_print_length(v % 100000000, text, sizeof text), &got, NULL), 0,
					 "%s", text);
		cr_assert_leq(llabs(got - v % 100000000), 5, "%s", text);
		cr_assert_eq(wet_parse_temperature(wet_print_temperature(mc, text, sizeof text), &back, NULL), 0,
					 "%s", text);
		cr_assert_leq(abs(back - mc), 50, "%s", text);
		cr_assert_eq(
			wet_parse_percent(wet_print_percent((int32_t)(v % 100001), text, sizeof text), &back, NULL), 0);
		cr_assert_eq(back, v % 100001);
		cr_assert_eq(wet_parse_dilution(wet_print_dilution(v % 5000 + 1, v % 99999, text, sizeof text), &got,
										&b, NULL),
					 0);
		cr_assert(got == v % 5000 + 1 && b == v % 99999, "%s", text);
	}
}

Test(quantity, printers_stay_in_their_buffer)
{
	static const int64_t values[] = {
		0, 1, -1, 59999999999, 3599499999999, 3599500000000, INT64_MAX, -INT64_MAX, INT64_MIN
	};
	for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
		for (unsigned size = 1; size < 32; size++) {
			char buf[40];
			memset(buf, '#', sizeof buf);
			wet_print_volume(values[i], buf, size);
			wet_print_mass(values[i], buf, size);
			wet_print_length(values[i], buf, size);
			wet_print_duration(values[i], buf, size);
			wet_print_seconds(values[i], buf, size);
			wet_print_dilution(values[i], values[i], buf, size);
			cr_assert_eq(buf[size], '#');
			cr_assert_lt(strlen(buf), size);
		}
	char buf[40];
	cr_assert_str_eq(wet_print_duration(3599499999999, buf, sizeof buf), "59:59");
	cr_assert_str_eq(wet_print_duration(3599500000000, buf, sizeof buf), "1:00:00");
	cr_assert_str_eq(wet_print_duration(-400000000, buf, sizeof buf), "0:00", "no minus before nothing");
	cr_assert_str_eq(wet_print_seconds(1000000000, buf, sizeof buf), "1 second");
	cr_assert_str_eq(wet_print_seconds(3660000000000, buf, sizeof buf), "1 hour 1 minute");
	cr_assert_str_eq(wet_print_seconds(-5, buf, sizeof buf), "0 seconds");
	cr_assert_str_eq(wet_print_temperature(-40, buf, sizeof buf), "0 C");
	cr_assert_str_eq(wet_print_temperature(-1250, buf, sizeof buf), "-1.3 C");
}

Test(quantity, rulers_and_differences)
{
	static const char *const same[] = {
		"8 1/2 in", "8-1/2\"", "8 1/2\"", "8.5 inches", "17/2 in", "215.9 mm"
	};
	struct wet_fault f;
	int64_t v = 0, w, h;
	int32_t apart = 0;
	for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
		cr_assert_eq(wet_parse_length(same[i], &v, &f), 0, "%s", same[i]);
		cr_assert_eq(v, 215900, "%s", same[i]);
	}
	cr_assert_eq(wet_parse_length("3/4 in", &v, &f), 0);
	cr_assert_eq(v, 19050);
	cr_assert_eq(wet_parse_size("8-1/2 x 11 in", &w, &h, &f), 0);
	cr_assert(w == 215900 && h == 279400);
	cr_assert_neq(wet_parse_length("8-3/2 in", &v, &f), 0);
	cr_assert_neq(wet_parse_length("8--1/2 in", &v, &f), 0);
	cr_assert_neq(wet_parse_length("8-1 in", &v, &f), 0);
	/* By the size of the degrees: 9 F are 5 C. */
	cr_assert_eq(wet_parse_temperature_difference("9 F", &apart, &f), 0);
	cr_assert_eq(apart, 5000);
	cr_assert_eq(wet_parse_temperature_difference("-9F", &apart, &f), 0);
	cr_assert_eq(apart, -5000);
	cr_assert_eq(wet_parse_temperature("9 F", &apart, &f), 0);
	cr_assert_eq(apart, -12778);
}

Test(quantity, units_of_two_countries_are_asked_about)
{
	static const char *const two[] = { "1 gal", "2 gallons", "1 qt", "1 pint", "10 minims" };
	struct wet_fault f;
	int64_t v = -7;
	for (size_t i = 0; i < sizeof two / sizeof two[0]; i++) {
		cr_assert_eq(wet_parse_volume(two[i], &v, &f), WET_ERR_AMBIGUOUS, "%s", two[i]);
		cr_assert(strstr(f.want, "US ") && strstr(f.want, "imp ") && strstr(f.want, " mL"), "%s", f.want);
	}
	cr_assert_eq(wet_parse_volume("1 pint", &v, &f), WET_ERR_AMBIGUOUS);
	cr_assert(strstr(f.want, "473.2 mL") && strstr(f.want, "568.3 mL"), "%s", f.want);
	cr_assert_eq(wet_parse_mass("1 dram", &v, &f), WET_ERR_AMBIGUOUS);
	cr_assert(strstr(f.want, "1.8 g") && strstr(f.want, "3.9 g"), "%s", f.want);
	cr_assert_eq(v, -7);
}

Test(quantity, what_was_typed_comes_back_as_typed)
{
	static const struct {
		enum wet_quantity_kind kind;
		const char *typed, *printed; /* printed NULL: as typed */
	} rows[] = {
		{ WET_QUANTITY_VOLUME, "20 US fl oz", NULL },    { WET_QUANTITY_VOLUME, "2 imp fl oz", NULL },
		{ WET_QUANTITY_VOLUME, "600 mL", NULL },         { WET_QUANTITY_VOLUME, "1.5 L", NULL },
		{ WET_QUANTITY_VOLUME, "600cc", "600 mL" },      { WET_QUANTITY_MASS, "437.5 grains", NULL },
		{ WET_QUANTITY_MASS, "1/2 oz av", "0.5 oz av" }, { WET_QUANTITY_MASS, "0 g", NULL },
		{ WET_QUANTITY_LENGTH, "8-1/2\"", "8 1/2 in" },  { WET_QUANTITY_LENGTH, "3/4 in", NULL },
		{ WET_QUANTITY_LENGTH, "1/64 in", NULL },        { WET_QUANTITY_LENGTH, "0.01 in", NULL },
		{ WET_QUANTITY_LENGTH, "12cm", "12 cm" },        { WET_QUANTITY_AREA, "80 sq in", "80 in2" },
		{ WET_QUANTITY_CONCENTRATION, "20 g/L", NULL },  { WET_QUANTITY_TEMPERATURE, "67 F", NULL },
		{ WET_QUANTITY_TEMPERATURE, "-40F", "-40 F" },   { WET_QUANTITY_TEMPERATURE, "-0.5 C", NULL },
		{ WET_QUANTITY_DIFFERENCE, "9 F", NULL },
	};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct wet_quantity q;
		char text[48];
		cr_assert_eq(wet_parse_quantity(rows[i].typed, rows[i].kind, &q, NULL), 0, "%s", rows[i].typed);
		wet_print_quantity(q, text, sizeof text);
		cr_assert_str_eq(text, rows[i].printed ? rows[i].printed : rows[i].typed);
	}
	char text[48];
	struct wet_quantity cup = { 60000, WET_UNIT_US_FL_OZ };
	cr_assert_str_eq(wet_print_quantity_about(cup, 2, text, sizeof text), "2.03 US fl oz");
	cr_assert_str_eq(
		wet_print_quantity_about((struct wet_quantity){ 19444, WET_UNIT_F }, 0, text, sizeof text), "67 F");
	cr_assert_str_eq(
		wet_print_quantity_about((struct wet_quantity){ 12700, WET_UNIT_IN }, 2, text, sizeof text),
		"1/2 in");
}

Test(quantity, every_unit_reads_back)
{
	struct wet_random r;
	wet_random_seed(&r, 5);
	for (int i = 0; i < 40000; i++) {
		enum wet_unit unit = (enum wet_unit)wet_random_below(&r, WET_UNIT_N);
		int64_t high = 1000000000000;
		int64_t low = 0;
		switch (wet_unit_kind(unit)) {
		case WET_QUANTITY_LENGTH: high = 100000000; break;
		case WET_QUANTITY_CONCENTRATION: high = 10000000000; break;
		case WET_QUANTITY_TEMPERATURE: low = -50000, high = 150000; break;
		case WET_QUANTITY_DIFFERENCE: low = -200000, high = 200000; break;
		default: break;
		}
		if (wet_random_below(&r, 2) && high > 1000000)
			high = 1000000;
		struct wet_quantity q = { wet_random_between(&r, low, high), unit }, back = { -1, WET_UNIT_N };
		char text[48];
		wet_print_quantity(q, text, sizeof text);
		cr_assert_eq(wet_parse_quantity(text, wet_unit_kind(unit), &back, NULL), 0, "%s", text);
		cr_assert(back.value == q.value && back.unit == unit, "%s: %lld", text, (long long)q.value);
	}
}

Test(quantity, parts_of_more_than_two_and_both_readings_of_a_colon)
{
	struct wet_parts p = { 0 }, two[2];
	struct wet_fault f;
	char text[64];
	cr_assert_eq(wet_parse_parts("1+1+10", &p, &f), 0);
	cr_assert(p.count == 3 && p.milli[0] == 1000 && p.milli[1] == 1000 && p.milli[2] == 10000);
	cr_assert_str_eq(wet_print_parts(&p, text, sizeof text), "1+1+10");
	cr_assert_eq(wet_parse_parts("1 + 1.5 + 0", &p, &f), 0);
	cr_assert_str_eq(wet_print_parts(&p, text, sizeof text), "1+1.5+0");
	static const char *const bad[] = { "1+0+10", "1+1+", "1++1",      "1+1:10", "1:1+10", "1+2+3+4+5+6+7+8+9",
									   "1",      "+1+1", "1+1+10 mL", "0+1",    "1+nan",  "1+1+100001" };
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		cr_assert_neq(wet_parse_parts(bad[i], &p, &f), 0, "%s", bad[i]);
	cr_assert_eq(p.count, 3);
	cr_assert_eq(wet_parse_colon("1:9", two, &f), 0);
	cr_assert(two[0].milli[1] == 9000 && two[1].milli[1] == 8000 && two[0].count == 2 && two[1].count == 2);
	cr_assert_eq(wet_parse_parts("1:1", &p, &f), WET_ERR_AMBIGUOUS);
	cr_assert(strstr(f.want, "the stock itself"), "%s", f.want);
	cr_assert_neq(wet_parse_colon("1+9", two, &f), 0);
	cr_assert_neq(wet_parse_colon("9:1", two, &f), 0);
}

Test(quantity, strengths_say_what_they_are_percent_of)
{
	static const struct {
		const char *text;
		int32_t milli;
		enum wet_percent_kind kind;
	} good[] = { { "28%", 28000, WET_PERCENT_UNSAID },
				 { "28 % w/w", 28000, WET_PERCENT_WW },
				 { "10% V/V", 10000, WET_PERCENT_VV },
				 { "104.77 % w/v", 104770, WET_PERCENT_WV } };
	static const char *const bad[] = { "28",          "0 %",   "-1 %",  "101 %", "101 % w/w",
									   "200.1 % w/v", "nan %", "5 % w", "5 g" };
	struct wet_strength s = { 0 };
	struct wet_fault f;
	char text[48];
	for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
		cr_assert_eq(wet_parse_strength(good[i].text, &s, &f), 0, "%s", good[i].text);
		cr_assert(s.milli == good[i].milli && s.kind == good[i].kind, "%s", good[i].text);
	}
	cr_assert_str_eq(wet_print_strength(s, text, sizeof text), "104.77 % w/v");
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
		cr_assert_neq(wet_parse_strength(bad[i], &s, &f), 0, "%s", bad[i]);
	cr_assert_eq(s.milli, 104770);
}

Test(quantity, shares_sum_to_the_whole)
{
	int64_t shares[3] = { -1, -1, -1 };
	static const int64_t thirds[] = { 1, 1, 1 }, twelfths[] = { 1000, 1000, 10000 }, none[] = { 0, 0, 0 };
	static const int64_t negative[] = { 1, -1, 1 };
	cr_assert_eq(wet_share(100, none, 3, shares), WET_ERR_RANGE);
	cr_assert_eq(wet_share(100, negative, 3, shares), WET_ERR_RANGE);
	cr_assert_eq(wet_share(-1, thirds, 3, shares), WET_ERR_RANGE);
	cr_assert_eq(wet_share(1, thirds, 0, shares), WET_ERR_RANGE);
	cr_assert_eq(wet_share(1, thirds, 65, shares), WET_ERR_RANGE);
	cr_assert_eq(shares[0], -1);
	cr_assert_eq(wet_share(100, thirds, 3, shares), 0);
	cr_assert(shares[0] == 34 && shares[1] == 33 && shares[2] == 33, "ties go to the earlier");
	cr_assert_eq(wet_share(100, twelfths, 3, shares), 0);
	cr_assert(shares[0] == 9 && shares[1] == 8 && shares[2] == 83, "8 1/3, 8 1/3 and 83 1/3: a tie again");
}

/* The code points' own values: Unicode Character Database, field Numeric_Value (from memory). */
Test(quantity, fractions_that_are_one_sign)
{
	static const struct {
		const char *text;
		int64_t ul; /* -1: refused */
	} rows[] = { { "\xC2\xBD L", 500000 },          { "1\xC2\xBD L", 1500000 },         { "1 \xC2\xBE L", 1750000 },
				 { "\xC2\xBC" "L", 250000 },        { "\xE2\x85\x93 L", 333333 },      { "2\xE2\x85\x94 L", 2666667 },
				 { "\xE2\x85\x9B L", 125000 },     { "3\xE2\x85\x9E L", 3875000 },    { "\xE2\x85\x92 L", 100000 },
				 { "1.5\xC2\xBD L", -1 },           { "\xC2\xBD" "5 L", -1 },           { "1\xC2\xBD" "5 L", -1 },
				 { "\xC2\xBD\xC2\xBD L", -1 },     { ".\xC2\xBD L", -1 },              { "-\xC2\xBD L", -1 } };
	struct wet_fault f;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		int64_t ul = -1;
		int rc = wet_parse_volume(rows[i].text, &ul, &f);
		cr_assert(rows[i].ul < 0 ? rc != 0 && ul == -1 : rc == 0 && ul == rows[i].ul, "%s: %d, %lld", rows[i].text, rc, (long long)ul);
	}
}

Test(quantity, a_number_at_the_front_of_words)
{
	double v = 0;
	const char *rest;
	struct wet_fault f = { 0 };
	cr_assert(wet_read_number("1/60s at f/8", &v, &rest, &f) == 0 && v == 1 / 60.0 && strcmp(rest, "s at f/8") == 0);
	/* A blank ends it: an aperture and a fraction after it are two numbers. */
	cr_assert(wet_read_number("8 1/60", &v, &rest, &f) == 0 && v == 8 && strcmp(rest, " 1/60") == 0);
	cr_assert(wet_read_number("-2,5", &v, &rest, &f) == 0 && v == -2.5 && !*rest);
	cr_assert_eq(wet_read_number("1,000 lx", &v, &rest, &f), WET_ERR_AMBIGUOUS);
	cr_assert_eq(wet_read_number("lx", &v, &rest, &f), WET_ERR_INVALID);
	cr_assert_eq(wet_read_number("0000000000000000000000000000000000000000000000001", &v, &rest, &f), WET_ERR_TOO_LONG);
}
