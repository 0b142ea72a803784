/* Quantities as people write them. Conversion: legal definitions (yard and pound 1959, US gallon 231 in3, imperial 4.54609 L). */
#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <string.h>

Test(quantity, durations_as_people_write_them)
{
	static const struct {
		const char *text;
		int64_t ns;
	} good[] = { { "2:00", 120 * WET_NS_PER_S }, { "1:02:03", 3723 * WET_NS_PER_S }, { "90 s", 90 * WET_NS_PER_S },
		         { "15s", 15 * WET_NS_PER_S },   { "3 min", 180 * WET_NS_PER_S },     { "1 min 30 s", 90 * WET_NS_PER_S },
		         { "250 ms", 250000000 },        { "1.5 min", 90 * WET_NS_PER_S },    { " 0:07 ", 7 * WET_NS_PER_S } };
	static const char *const bad[] = { "", "90", "2:0", "2:60", "x", "-1 s", "1 s 2 min", "3 C", "1:2:3:4", "99999999 h", "5 s s" };
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
