/* test_warmth.c: a run's readings: the course after the last one, its sentences, what a cold vessel takes, and baths that are
 * too far apart. The rows of newton.json (scipy.optimize.curve_fit, as they say) go through the run itself. */
#include "base/text.h"
#include "rows.h"
#include "wetside/run.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#define S 1000000000LL
#define MINUTE (60 * S)

static struct wet_recipe recipe; /* an open tank: develop, rinse, fix */
static struct wet_run_setup setup;
static struct wet_run run;
static struct wet_presses presses;
static struct wet_answer said;
static int64_t now;

static void add_stage(enum wet_stage_kind kind, const char *name, int64_t aim_ns, enum wet_begin_kind begin)
{
	int i = recipe.stage_count++;
	struct wet_stage *s = &recipe.stages[i];
	*s = (struct wet_stage){ .kind = kind, .bath = i, .begin = begin, .least_ns = aim_ns / 2, .aim_ns = aim_ns, .most_ns = 2 * aim_ns };
	wet_text_copy(s->name, sizeof s->name, name);
	s->law = (struct wet_law){ .kind = wet_stage_kind_law(kind), .tref_mc = 20000, .min_mc = INT32_MIN, .max_mc = INT32_MAX };
	if (kind == WET_STAGE_DEVELOP)
		s->law = (struct wet_law){ WET_LAW_FACTOR, 2.0, 20000, INT32_MIN, INT32_MAX, 0, { { 0, 0 } } };
	struct wet_bath *b = &recipe.baths[recipe.bath_count++];
	wet_text_copy(b->key, sizeof b->key, name);
	wet_text_copy(b->name, sizeof b->name, name);
}

static void make(void)
{
	memset(&recipe, 0, sizeof recipe);
	recipe.vessel_kind = WET_VESSEL_OPEN_TANK;
	recipe.paper_light = WET_LIGHT_SAFELIGHT;
	recipe.white_after = -1;
	add_stage(WET_STAGE_DEVELOP, "Develop", 4 * MINUTE, WET_BEGIN_ON_GO);
	add_stage(WET_STAGE_RINSE, "Rinse", 2 * MINUTE, WET_BEGIN_STRAIGHT_ON);
	add_stage(WET_STAGE_FIX, "Fix", 5 * MINUTE, WET_BEGIN_STRAIGHT_ON);
	setup = (struct wet_run_setup){ .recipe = &recipe, .pieces = 1, .tolerance_mc = 500, .rules_version = WET_RULES_VERSION };
	setup.vessel = (struct wet_vessel){ .name = "creek tank", .kind = WET_VESSEL_OPEN_TANK, .fill_ns = 10 * S, .drain_ns = 10 * S };
	setup.washer.kind = WET_VESSEL_WASHER;
}

TestSuite(warmth, .init = make);

static void start(void)
{
	now = 5000 * S;
	memset(&presses, 0, sizeof presses);
	wet_run_init(&run, &setup, now);
}

static void act(int kind)
{
	struct wet_event e = { .kind = kind, .boot_ns = now, .bath = -1, .number = -1, .a_ns = 15 * S };
	wet_run_try(&run, &presses, &e, &said);
	cr_assert_eq(said.kind, WET_ANSWER_DO, "%s", said.text);
	wet_run_fold(&run, &e);
}

static void pour(void)
{
	act(WET_ACT_BEGIN);
	now += 3 * S;
	act(WET_ACT_GO);
}

static void read_flags(int bath, int32_t mc, uint32_t flags)
{
	struct wet_event e = { .kind = WET_ACT_READING, .boot_ns = now, .temperature_mc = mc, .bath = bath, .flags = flags, .number = -1 };
	wet_run_try(&run, &presses, &e, &said);
	if (said.err == WET_ERR_REPEAT)
		wet_run_try(&run, &presses, &e, &said);
	cr_assert_eq(said.kind, WET_ANSWER_DO, "%s", said.text);
	wet_run_fold(&run, &e);
}

static void read_bath(int bath, int32_t mc)
{
	read_flags(bath, mc, 0);
}

static void read_room(int32_t mc)
{
	read_flags(-1, mc, WET_EVENT_ROOM);
}

static struct wet_view view(void)
{
	struct wet_view v;
	wet_run_view(&run, now, &v);
	return v;
}

/* Readings at these times of a bath that begins at from_c in a room with this constant, to a tenth. */
static void read_course(int bath, int count, int64_t every_ns, double from_c, double room_c, double tau_s)
{
	int64_t begin = now;
	for (int i = 0; i < count; i++) {
		now = begin + i * every_ns;
		double c = room_c + (from_c - room_c) * exp(-(double)(now - begin) / 1e9 / tau_s);
		read_bath(bath, (int32_t)lround(c * 10) * 100);
	}
}

Test(warmth, rows_of_scipy_through_the_run)
{
	size_t i, n;
	json_t *row, *at, *doc = test_rows_load(WET_TEST_DATA "/newton.json");
	recipe.stages[0].aim_ns = recipe.stages[0].most_ns = 20 * 3600 * S;
	json_array_foreach(test_rows(doc, "fits", 5), i, row)
	{
		const json_t *in = json_object_get(row, "inputs"), *expected = json_object_get(row, "expected");
		const json_t *known = json_object_get(in, "Tenv_known_c");
		const char *id = test_string(row, "id");
		start();
		if (json_is_number(known))
			read_room((int32_t)lround(json_number_value(known) * 1000));
		pour();
		int64_t begin = now;
		json_array_foreach(json_object_get(in, "t_s"), n, at)
		{
			now = begin + llround(json_number_value(at) * 1e9);
			read_bath(0, (int32_t)lround(json_number_value(json_array_get(json_object_get(in, "temp_c"), n)) * 1000));
		}
		cr_assert_eq(run.course.kind, WET_COURSE_FITTED, "%s", id);
		cr_assert_eq(run.course.readings, n);
		cr_assert_eq(run.course.is_free, !json_is_number(known));
		/* A run's readings are whole millidegrees; those of the rows that are not exact were to a tenth anyway. */
		double tau = test_number(expected, "tau_s"), got = (double)run.course.tau_ns / 1e9;
		cr_assert_float_eq(got / tau, 1, strncmp(id, "exact", 5) == 0 ? 1e-3 : 1e-6, "%s: %f", id, got);
		if (run.course.is_free)
			cr_assert_float_eq(run.course.room_mc / 1000.0, test_number(expected, "Tenv_c"), 2e-3, "%s", id);
		struct wet_view v = view();
		double around = json_number_value(json_is_number(known) ? known : json_object_get(expected, "Tenv_c"));
		double for_s = json_number_value(json_array_get(json_object_get(in, "t_s"), n - 1));
		double last = around + (test_number(expected, "T0_c") - around) * exp(-for_s / tau);
		cr_assert_float_eq(v.temperature_mc / 1000.0, last, 2e-3, "%s", id);
	}
	/* Four readings in three minutes: what they tend to and how fast can't be told apart. */
	row = json_array_get(test_rows(doc, "refusals", 1), 0);
	const json_t *in = json_object_get(row, "inputs");
	start();
	pour();
	int64_t begin = now;
	json_array_foreach(json_object_get(in, "t_s"), n, at)
	{
		now = begin + llround(json_number_value(at) * 1e9);
		read_bath(0, (int32_t)lround(json_number_value(json_array_get(json_object_get(in, "temp_c"), n)) * 1000));
	}
	cr_assert_eq(n, 4);
	cr_assert_eq(run.course.kind, WET_COURSE_CONSTANT);
	json_decref(doc);
}

Test(warmth, the_sentence_says_motion_end_and_how_it_is_known)
{
	recipe.stages[0].aim_ns = 20 * MINUTE;
	recipe.stages[0].most_ns = 40 * MINUTE;
	start();
	cr_assert_str_eq(view().warmth, "");
	pour();
	cr_assert_str_eq(view().warmth, "");
	read_bath(0, 20000);
	cr_assert_str_eq(view().warmth, "Taken as constant; ends as at 20 C; how it cools or warms is not known.");
	cr_assert_eq(view().course, WET_COURSE_CONSTANT);
	/* 4 C over the room with a constant of ten minutes: 0.4 C a minute. */
	start();
	read_room(16000);
	cr_assert_str_eq(said.text, "Room 16 C.");
	pour();
	read_course(0, 5, MINUTE, 20.0, 16.0, 600);
	struct wet_view v = view();
	cr_assert_eq(v.course, WET_COURSE_FITTED);
	cr_assert_eq(v.fit_readings, 5);
	cr_assert_lt(v.rate_mc_per_min, -200);
	cr_assert_not_null(strstr(v.warmth, "Cooling 0.3 C a minute; ends "), "%s", v.warmth);
	cr_assert_not_null(strstr(v.warmth, " later than at 20 C; fitted from 5 readings."), "%s", v.warmth);
	cr_assert_not_null(strstr(said.text, " later than at 20 C. Cooling 0.3 C a minute."), "%s", said.text);
	cr_assert_null(strstr(said.text, "+/-"), "a band is never spoken");
	cr_assert_not_null(strstr(v.end, " +/- "), "%s", v.end);
	cr_assert_gt(v.band_ns, v.forecast_band_ns);
	cr_assert_gt(v.forecast_band_ns, 0);
}

Test(warmth, the_vessels_constant_rules_until_the_readings_tell)
{
	setup.vessel.tau_ns = 3600 * S;
	setup.vessel.tau_error_ns = 360 * S;
	recipe.stages[0].aim_ns = 20 * MINUTE;
	recipe.stages[0].most_ns = 40 * MINUTE;
	start();
	read_bath(0, 24000);
	pour();
	cr_assert_eq(view().course, WET_COURSE_CONSTANT, "nothing is known of the room");
	read_room(18000);
	struct wet_view v = view();
	cr_assert_eq(v.course, WET_COURSE_VESSEL);
	cr_assert_eq(v.rate_mc_per_min, -100);
	cr_assert_eq(v.settles_mc, 18000);
	cr_assert_not_null(strstr(v.warmth, "Cooling 0.1 C a minute; ends "), "%s", v.warmth);
	cr_assert_not_null(strstr(v.warmth, " sooner than at 20 C; as this vessel was before."), "%s", v.warmth);
	setup.vessel.tau_error_ns = 0;
	read_course(0, 6, MINUTE, 24.0, 18.0, 900);
	v = view();
	cr_assert_eq(v.course, WET_COURSE_FITTED);
	cr_assert_float_eq((double)v.tau_ns / 1e9, 900, 200);
}

Test(warmth, an_hour_of_a_probe_keeps_what_it_tells_in_a_few_bins)
{
	recipe.stages[0].aim_ns = 4 * 3600 * S;
	recipe.stages[0].most_ns = 8 * 3600 * S;
	recipe.stages[0].least_ns = 3600 * S;
	start();
	read_room(15000);
	pour();
	/* Every five seconds, in the sixteenths of a degree of such a probe. */
	int64_t begin = now;
	for (int i = 0; i < 720; i++) {
		now = begin + i * 5 * S;
		double c = 15 + 9 * exp(-i * 5 / 2700.0);
		read_bath(0, (int32_t)lround(c * 16) * 1000 / 16);
	}
	cr_assert_eq(run.course.readings, 720);
	cr_assert_leq(run.heat.bin_count, WET_FIT_BINS);
	cr_assert_leq(run.heat.track_count, WET_TRACK_POINTS);
	cr_assert_float_eq((double)run.course.tau_ns / 1e9, 2700, 27);
	cr_assert_float_eq(view().temperature_mc / 1000.0, 15 + 9 * exp(-719 * 5 / 2700.0), 0.01);
	/* The tolerance is of all readings, of those too that are a number by now: half a degree, at 7 % a degree, for so long. */
	cr_assert_gt(view().band_ns, 10 * MINUTE * 3 / 100);
}

Test(warmth, what_is_warmed_begins_anew)
{
	recipe.stages[0].aim_ns = 30 * MINUTE;
	recipe.stages[0].most_ns = 60 * MINUTE;
	start();
	read_room(16000);
	pour();
	read_course(0, 6, MINUTE, 20.0, 16.0, 900);
	cr_assert_eq(run.course.kind, WET_COURSE_FITTED);
	now += 10 * S;
	read_bath(0, 21000); /* hot water was added */
	cr_assert_eq(run.course.kind, WET_COURSE_CONSTANT);
	cr_assert_eq(run.heat.bin_count, 1);
	now += MINUTE;
	read_course(0, 6, MINUTE, 20.7, 16.0, 900);
	cr_assert_eq(run.course.kind, WET_COURSE_FITTED);
}

Test(warmth, a_cold_tank_takes_its_share_at_pour_in)
{
	setup.vessel.chill_ppm = 150000;
	start();
	read_room(10000);
	read_bath(0, 20000);
	pour();
	cr_assert_eq(run.heat.track[0].temperature_mc, 18500);
	cr_assert_eq(run.poured_mc[0], 18500);
	cr_assert_eq(run.before_mc[0], 20000, "the bottle is as it was read");
	/* The next bath finds it as the one before left it. */
	read_bath(1, 20000);
	int64_t end = view().aim_boot_ns;
	now = end + S;
	cr_assert_eq(view().stage, 1);
	wet_run_advance(&run, now);
	cr_assert_eq(run.poured_mc[1], 20000 - 1500 * 15 / 100);
	/* A reading of the pour-in that comes later is of the bottle, too. */
	start();
	read_room(10000);
	pour();
	now += 20 * S;
	read_flags(0, 20000, WET_EVENT_BEFORE);
	cr_assert_eq(run.heat.track[0].temperature_mc, 18500);
	/* Trays were filled long ago. */
	setup.vessel.kind = recipe.vessel_kind = WET_VESSEL_TRAYS;
	start();
	read_room(10000);
	read_bath(0, 20000);
	pour();
	cr_assert_eq(run.poured_mc[0], 20000);
}

Test(warmth, runs_of_the_rules_before_go_on_as_they_were)
{
	setup.rules_version = 1;
	setup.vessel.chill_ppm = 150000;
	recipe.stages[0].aim_ns = 20 * MINUTE;
	recipe.stages[0].most_ns = 40 * MINUTE;
	start();
	read_room(16000);
	read_bath(0, 20000);
	pour();
	cr_assert_eq(run.heat.track[0].temperature_mc, 20000);
	read_course(0, 6, MINUTE, 20.0, 16.0, 600);
	cr_assert_eq(run.course.kind, WET_COURSE_CONSTANT);
}

Test(warmth, what_is_typed_in_fahrenheit_is_answered_so)
{
	start();
	read_flags(0, 19444, WET_EVENT_FAHRENHEIT);
	cr_assert_str_eq(said.text, "Develop 67 F.");
	pour();
	now += 30 * S;
	read_flags(0, 19444, WET_EVENT_FAHRENHEIT);
	cr_assert_str_eq(said.text, "Develop 67 F. Develop ends at 4:09, 9 seconds later than at 68 F.");
	cr_assert_str_eq(view().warmth, "Taken as constant; ends 9 s later than at 68 F; how it cools or warms is not known.");
	act(WET_ACT_WHERE);
	cr_assert_not_null(strstr(said.text, "67 F, just read."), "%s", said.text);
	read_bath(0, 19400);
	cr_assert_not_null(strstr(view().warmth, "at 20 C"), "%s", view().warmth);
}

/* Equal temperature: SMPE Transactions, Nov 1924, p. 46. Within 3 C: common practice, no source. */
Test(warmth, baths_too_far_apart_are_told_at_the_reading_and_at_begin)
{
	start();
	read_bath(0, 20000);
	read_bath(2, 17000);
	cr_assert_str_eq(said.text, "Fix 17 C.");
	read_bath(2, 15800);
	cr_assert_not_null(strstr(said.text, "Fix is 4.2 C colder than develop: bring them within 3 C of each other"), "%s", said.text);
	act(WET_ACT_BEGIN);
	cr_assert_not_null(strstr(said.text, "Fix is 4.2 C colder than develop"), "%s", said.text);
	/* What was used is no concern any more. */
	now += 3 * S;
	act(WET_ACT_GO);
	now = view().aim_boot_ns + S;
	wet_run_advance(&run, now);
	read_bath(2, 15800);
	cr_assert_null(strstr(said.text, "colder"), "%s", said.text);
}

Test(warmth, a_reading_after_a_bath_tells_of_the_vessel)
{
	struct wet_cooling_seen seen;
	recipe.stages[0].aim_ns = recipe.stages[0].least_ns = 20 * MINUTE;
	recipe.stages[0].most_ns = 40 * MINUTE;
	recipe.stages[0].law.factor_per_10c = 1;
	start();
	read_room(12000);
	read_bath(0, 22000);
	pour();
	now = view().aim_boot_ns + 5 * S;
	/* From 22 C to 20 C in 19:50, to pour-out: 1190/ln(10/8) s. */
	struct wet_event e = { .kind = WET_ACT_READING, .boot_ns = now, .temperature_mc = 20000, .flags = WET_EVENT_AFTER, .number = -1 };
	cr_assert(wet_run_seen_after(&run, &e, &seen));
	cr_assert_float_eq(1 / seen.rate_per_s, 1190 / log(10.0 / 8), 1e-6 * 5333);
	int64_t end = view().aim_ns;
	wet_run_fold(&run, &e);
	cr_assert_eq(run.before_mc[0], 20000, "it is the before of the next use");
	cr_assert_eq(view().aim_ns, end, "no end moves");
	cr_assert_not(wet_run_seen_after(&run, &e, &seen), "once a use");
	/* Learned: the first sets it, others are averaged, and it is known better each time. */
	struct wet_constant c = { 0, 0, 0 };
	wet_constant_learn(&c, &seen);
	int64_t error_ns = c.error_ns;
	cr_assert_float_eq((double)c.tau_ns / 1e9, 1190 / log(10.0 / 8), 1);
	for (int i = 0; i < 8; i++)
		wet_constant_learn(&c, &seen);
	cr_assert_eq(c.count, 9);
	cr_assert_float_eq((double)c.error_ns, (double)error_ns / 3, (double)error_ns / 100);
	cr_assert_eq(wet_cooling_from_two(20000, 19950, 12000, 60 * S, &seen, NULL), WET_ERR_REFUSED, "within the noise");
	cr_assert_eq(wet_cooling_from_two(20000, 21000, 12000, 600 * S, &seen, NULL), WET_ERR_REFUSED, "it went the other way");
}
