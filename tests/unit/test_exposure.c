/* test_exposure.c: readings as people type them, what is refused and why, placement, counting, flashes. */
#include "wetside/exposure.h"

#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const struct wet_meter no_meter = { 0 };

static struct wet_reading read_one(const char *text)
{
	struct wet_reading r = { .ev100 = NAN };
	struct wet_fault f = { 0 };
	char line[512];
	cr_assert_eq(wet_parse_reading(text, &no_meter, &r, &f), 0, "%s: %s", text, wet_fault_line(&f, line, sizeof line));
	return r;
}

Test(exposure, readings_in_any_order_and_spelling)
{
	static const char *const same[] = { "1/60 at f/8 index 100",	 "f/8 1/60 ISO 100",		  "ISO 100 f8 1/60s",
										"1/60 s, f/8, index 21 deg", "f/8 at 1/60 s ISO 100/21\xC2\xB0", "index 100; 1/60 F/8" };
	for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
		struct wet_reading r = read_one(same[i]);
		cr_assert_eq(r.kind, WET_READING_TIME);
		cr_assert_float_eq(r.ev100, 12, 1e-3, "%s: %.9g", same[i], r.ev100); /* 6 + 6: both are marks */
		cr_assert(r.is_mark, "%s", same[i]);
	}
	cr_assert_float_eq(read_one("2:00 at f/128 index 3").ev100, 14 - log2(120) - log2(0.03), 1e-9);
	cr_assert_float_eq(read_one("1 min 30 s f/128 index 3").time_s, 90, 1e-9);
	cr_assert_float_eq(read_one("0,5 s at f/5,6 index 100").ev100, 6, 1e-9); /* f/5.6 is 2^2.5 */
	cr_assert(!read_one("8 s at f/128 index 10").is_mark);
	static const char *const evs[] = { "EV 14.3", "14.3 EV", "EV14.3", "14.3EV", "ev 14,3 iso 100" };
	for (size_t i = 0; i < sizeof evs / sizeof evs[0]; i++)
		cr_assert_float_eq(read_one(evs[i]).ev100, 14.3, 1e-9, "%s", evs[i]);
	cr_assert(read_one("EV -2").is_iso_100 && !read_one("EV -2 index 100").is_iso_100);
	cr_assert_float_eq(read_one("EV 11 index 12.5").ev100, 14, 1e-9);
	cr_assert_float_eq(read_one("4096 cd/m2").ev100, 15, 1e-9); /* K 12.5 */
	cr_assert_float_eq(read_one("81920lx").ev100, 15, 1e-9);    /* C 250 */
	cr_assert_float_eq(read_one("1 fc").value, 10.7639104, 1e-7); /* GNU units: footcandle */
}

Test(exposure, meter_that_is_set_and_calibrated)
{
	struct wet_meter meter = { .index = 3, .k = 14, .c = 330 };
	struct wet_reading r;
	cr_assert_eq(wet_parse_reading("8 s at f/128", &meter, &r, NULL), 0);
	cr_assert_float_eq(r.ev100, 11 - log2(0.03), 1e-9);
	cr_assert_eq(wet_parse_reading("8 s at f/128 index 10", &meter, &r, NULL), 0);
	cr_assert_float_eq(r.ev100, 11 - log2(0.1), 1e-9);
	cr_assert_eq(wet_parse_reading("448 cd/m2", &meter, &r, NULL), 0);
	cr_assert_float_eq(r.ev100, log2(3200), 1e-9);
	cr_assert_eq(wet_parse_reading("330 lx", &meter, &r, NULL), 0);
	cr_assert_float_eq(r.ev100, log2(100), 1e-9);
}

Test(exposure, readings_that_are_refused_say_why)
{
	static const struct {
		const char *text;
		int err;
	} bad[] = { { "", WET_ERR_INVALID },
				{ "14.3", WET_ERR_UNIT_MISSING },
				{ "1/60 at f/8", WET_ERR_UNIT_MISSING },
				{ "1/60 at f/8 index", WET_ERR_INVALID },
				{ "1/60 at f/8 index 0", WET_ERR_RANGE },
				{ "1/60 at f/0 index 100", WET_ERR_RANGE },
				{ "0 s at f/8 index 100", WET_ERR_RANGE },
				{ "at f/8 index 100", WET_ERR_UNIT_MISSING },
				{ "1/60 f/8 f/11 index 100", WET_ERR_INVALID },
				{ "1/60 f/8 index 100 index 3", WET_ERR_INVALID },
				{ "EV 12 f/8", WET_ERR_INVALID },
				{ "EV 12 400 lx", WET_ERR_INVALID },
				{ "EV", WET_ERR_INVALID },
				{ "EV twelve", WET_ERR_INVALID },
				{ "EV 40", WET_ERR_RANGE },
				{ "400 lx index 100", WET_ERR_INVALID },
				{ "0 lx", WET_ERR_RANGE },
				{ "-4 cd/m2", WET_ERR_RANGE },
				{ "1/60 furlongs at f/8 index 100", WET_ERR_UNIT_WRONG } };
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		struct wet_reading r = { .value = 77 };
		struct wet_fault f = { 0 };
		int rc = wet_parse_reading(bad[i].text, &no_meter, &r, &f);
		if (strcmp(bad[i].text, "at f/8 index 100") == 0)
			cr_assert_neq(rc, 0);
		else
			cr_assert_eq(rc, bad[i].err, "%s: %s", bad[i].text, wet_err_name(rc));
		cr_assert(f.want[0] && r.value == 77, "%s", bad[i].text);
	}
}

Test(exposure, filters_stops_and_places)
{
	double v = 0;
	struct wet_fault f = { 0 };
	enum wet_place place;
	cr_assert(wet_parse_filter("4x", &v, NULL) == 0 && v == 2);
	cr_assert(wet_parse_filter("factor 8", &v, NULL) == 0 && v == 3);
	cr_assert(wet_parse_filter("1 1/2 stops", &v, NULL) == 0 && v == 1.5);
	cr_assert(wet_parse_filter("density 0.9", &v, NULL) == 0);
	cr_assert_float_eq(v, 2.989735, 1e-6);
	cr_assert_eq(wet_parse_filter("2", &v, &f), WET_ERR_AMBIGUOUS);
	cr_assert(strstr(f.want, "2x") && strstr(f.want, "2 stops") && strstr(f.want, "factor 4"), "%s", f.want);
	cr_assert_eq(wet_parse_filter("0.5x", &v, NULL), WET_ERR_RANGE);
	cr_assert_eq(wet_parse_filter("yellow", &v, NULL), WET_ERR_INVALID);
	cr_assert(wet_parse_stops("-1 1/2 stops", &v, NULL) == 0 && v == -1.5);
	cr_assert(wet_parse_stops("+1/3 stop", &v, NULL) == 0 && fabs(v - 1 / 3.0) < 1e-12);
	cr_assert_eq(wet_parse_stops("2", &v, NULL), WET_ERR_UNIT_MISSING);
	cr_assert_eq(wet_parse_stops("21 stops", &v, NULL), WET_ERR_RANGE);
	cr_assert_eq(wet_parse_stops("1 2 stops", &v, NULL), WET_ERR_INVALID);
	cr_assert(wet_parse_place("1/2 stop from shaded", &place, &v, NULL) == 0 && place == WET_PLACE_SHADED && v == 0.5);
	cr_assert(wet_parse_place("Bright", &place, &v, NULL) == 0 && place == WET_PLACE_BRIGHT && v == 0);
	cr_assert_eq(wet_parse_place("1 stop from middle", &place, &v, NULL), WET_ERR_INVALID);
	cr_assert_eq(wet_parse_place("1 from bright", &place, &v, NULL), WET_ERR_UNIT_MISSING);
	cr_assert(wet_parse_index("21 deg", &v, NULL) == 0 && fabs(v - 100) < 1e-9);
	cr_assert(wet_parse_index("ISO 100/21 deg", &v, NULL) == 0 && v == 100);
	cr_assert_eq(wet_parse_index("100/21", &v, NULL), WET_ERR_INVALID);
	cr_assert_eq(wet_parse_index("100 stops", &v, NULL), WET_ERR_INVALID);
	cr_assert(wet_parse_f_number("f/240", &v, NULL) == 0 && v == 240);
	cr_assert_eq(wet_parse_f_number("f/1/2", &v, NULL), WET_ERR_INVALID);
	cr_assert_eq(wet_parse_f_number("f/0.1", &v, NULL), WET_ERR_RANGE);
}

Test(exposure, reciprocity_laws_and_tables)
{
	struct wet_reciprocity law;
	char text[96];
	cr_assert_eq(wet_parse_reciprocity("table 1s 1s, 10s 25s; 100 s 6:40", &law, NULL), 0);
	cr_assert_eq(law.count, 3u);
	cr_assert_float_eq(wet_reciprocity_give(&law, 10).time_s, 25, 1e-9);
	cr_assert_float_eq(wet_reciprocity_give(&law, sqrt(1000)).time_s, 100, 1e-9); /* the middle in logs of 25 and 400 */
	cr_assert(!wet_reciprocity_give(&law, 100).is_beyond && wet_reciprocity_give(&law, 101).is_beyond);
	cr_assert(wet_reciprocity_give(&law, 0.5).time_s == 0.5 && wet_reciprocity_give(&law, 0.5).is_clamped);
	/* A table that begins late says nothing of short times: its line is carried on, but never shortens. */
	cr_assert_eq(wet_parse_reciprocity("table 10s 20s, 100s 400s", &law, NULL), 0);
	cr_assert_float_eq(wet_reciprocity_give(&law, 1).time_s, 1, 1e-12);
	cr_assert_eq(wet_parse_reciprocity("power 1.3 from 4 s", &law, NULL), 0);
	cr_assert_float_eq(wet_reciprocity_give(&law, 4).time_s, 4, 1e-12);
	cr_assert_float_eq(wet_reciprocity_give(&law, 40).time_s, 4 * pow(10, 1.3), 1e-9);
	cr_assert_str_eq(wet_print_reciprocity(&law, text, sizeof text), "power 1.3 from 4.0 s");
	static const char *const bad[] = { "", "power", "power 3", "power 0.2", "power 1.3 from", "power 1.3 until 3 s", "added 0.1",
									   "table", "table 1s 1s", "table 1s 1s, 10s", "table 1s 2s, 10s 2s", "table 10s 20s, 1s 1s",
									   "table 1 1, 10 25", "none at all", "law" };
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		struct wet_fault f = { 0 };
		cr_assert_neq(wet_parse_reciprocity(bad[i], &law, &f), 0, "%s", bad[i]);
		cr_assert(f.want[0], "%s", bad[i]);
	}
}

static struct wet_exposure_ask two_readings(enum wet_sense sense, double bright, double shaded)
{
	return (struct wet_exposure_ask){
		.sense = sense, .f_number = 256, .index = 3.125, .holds_stops = 1.5, .bright_ev100 = bright, .shaded_ev100 = shaded
	};
}

Test(exposure, the_governing_reading_is_held)
{
	struct wet_exposed e;
	struct wet_exposure_ask ask = two_readings(WET_SENSE_DIRECT_POSITIVE, 15, 9);
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	/* 1.5 stops over the middle and no more; 2^16 / 2^(13.5 - 5) s. */
	cr_assert(e.is_held_back && e.bright_stops == 1.5 && e.shaded_stops == -4.5 && !e.loses_bright && e.loses_shaded);
	cr_assert_float_eq(e.given.time_s, exp2(16 - 8.5), 1e-9);
	ask.sense = WET_SENSE_NEGATIVE;
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	cr_assert(e.is_held_back && e.shaded_stops == -1.5 && e.bright_stops == 4.5 && e.loses_bright && !e.loses_shaded);
	ask.place = WET_PLACE_SHADED;
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	cr_assert(e.shaded_stops == 0 && e.bright_stops == 6 && !e.is_held_back);
	ask.place = WET_PLACE_BRIGHT;
	ask.place_stops = 2;
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	cr_assert(e.bright_stops == 2 && e.shaded_stops == -4);
	struct wet_fault f = { 0 };
	ask = two_readings(WET_SENSE_UNSAID, 15, 9);
	cr_assert_eq(wet_expose(&ask, &e, &f), WET_ERR_RANGE);
	cr_assert(strstr(f.want, "bright reading governs"), "%s", f.want);
	ask.shaded_ev100 = 15; /* one reading: no paper needs to be named */
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	ask.shaded_ev100 = 16;
	cr_assert_eq(wet_expose(&ask, &e, NULL), WET_ERR_RANGE);
	ask = two_readings(WET_SENSE_NEGATIVE, -15, -15);
	cr_assert_eq(wet_expose(&ask, &e, &f), WET_ERR_RANGE); /* a century */
	cr_assert_str_eq(f.where, "time");
}

Test(exposure, a_flash_tames_and_takes_its_share)
{
	struct wet_exposed plain, flashed;
	struct wet_exposure_ask ask = two_readings(WET_SENSE_DIRECT_POSITIVE, 14, 11);
	cr_assert_eq(wet_expose(&ask, &plain, NULL), 0);
	ask.flash_under_stops = 2;
	cr_assert_eq(wet_expose(&ask, &flashed, NULL), 0);
	/* A quarter of the middle comes from the flash, three from the camera. */
	cr_assert_float_eq(flashed.given.time_s, 0.75 * plain.given.time_s, 1e-9);
	cr_assert_float_eq(flashed.bright_stops, log2(0.75 * exp2(1.5) + 0.25), 1e-12);
	cr_assert_float_eq(flashed.shaded_stops, log2(0.75 * exp2(-1.5) + 0.25), 1e-12);
	cr_assert_lt(flashed.flash_range_stops, plain.flash_range_stops);
	ask.flash_under_stops = 0.5;
	cr_assert_eq(wet_expose(&ask, &flashed, NULL), WET_ERR_RANGE);
	int32_t total[WET_FLASH_STEPS], add[WET_FLASH_STEPS];
	static const int32_t halves[] = { 2, 3, 4, 6, 8, 11 };
	cr_assert_eq(wet_flash_steps(2, 0.5, 6, total, add, NULL), 0);
	for (int i = 0; i < 6; i++)
		cr_assert(total[i] == halves[i] && add[i] == halves[i] - (i ? halves[i - 1] : 0));
	cr_assert_eq(wet_flash_steps(1, 0.1, 12, total, add, NULL), 0); /* seconds too few for such steps: each its own */
	cr_assert_eq(total[11], 12);
	cr_assert_eq(wet_flash_steps(0.5, 0.5, 6, total, add, NULL), WET_ERR_RANGE);
	cr_assert_eq(wet_flash_steps(2, 0.5, 13, total, add, NULL), WET_ERR_RANGE);
	cr_assert_eq(wet_flash_steps(600, 2, 12, total, add, NULL), WET_ERR_RANGE); /* eighty years */
	cr_assert_eq(wet_flash_steps(600, 1, 12, total, add, NULL), 0);
	cr_assert_eq(total[11], 600 << 11);
}

Test(exposure, counting_is_never_off_by_much)
{
	cr_assert_eq(wet_count_ns(0.49), 0);
	cr_assert_eq(wet_count_ns(0.6), WET_NS_PER_S);
	cr_assert_eq(wet_count_ns(1.4), WET_NS_PER_S);
	cr_assert_eq(wet_count_ns(1.42), 2 * WET_NS_PER_S); /* nearest in stops: the border is the root of 2 */
	cr_assert_eq(wet_count_ns(137), 135 * WET_NS_PER_S);
	for (double t = 20; t < 3e6; t *= 1.00731)
		cr_assert_lt(fabs(log2((double)wet_count_ns(t) / WET_NS_PER_S / t)), 1 / 25.0, "%.9g", t);
	for (double t = 1; t < 20; t *= 1.0031) /* and below, nearest in whole seconds */
		cr_assert_leq(fabs((double)wet_count_ns(t) / WET_NS_PER_S - t), 0.6, "%.9g", t);
}

Test(exposure, printed_as_people_say_it)
{
	char b[48];
	cr_assert_str_eq(wet_print_f_number(240, b, sizeof b), "f/240");
	cr_assert_str_eq(wet_print_f_number(5.657, b, sizeof b), "f/5.7");
	cr_assert_str_eq(wet_print_f_number(8, b, sizeof b), "f/8");
	cr_assert_str_eq(wet_print_stops(1 / 3.0, true, b, sizeof b), "+1/3 stop");
	cr_assert_str_eq(wet_print_stops(-5 / 3.0, true, b, sizeof b), "-1 2/3 stops");
	cr_assert_str_eq(wet_print_stops(1, false, b, sizeof b), "1 stop");
	cr_assert_str_eq(wet_print_stops(2, true, b, sizeof b), "+2 stops");
	cr_assert_str_eq(wet_print_stops(0.9999, false, b, sizeof b), "1 stop");
	cr_assert_str_eq(wet_print_stops(0.4, false, b, sizeof b), "0.4 stops");
	cr_assert_str_eq(wet_print_exposure(1 / 60.0, b, sizeof b), "1/60 s");
	cr_assert_str_eq(wet_print_exposure(8.04, b, sizeof b), "8.0 s");
	cr_assert_str_eq(wet_print_exposure(22.2, b, sizeof b), "22 s");
	cr_assert_str_eq(wet_print_exposure(135, b, sizeof b), "2:15");
}
