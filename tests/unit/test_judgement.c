/* test_judgement.c: judgements as people say them, the sense of a direct positive, what is set aside, few results. */
#include "wetside/judgement.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const struct wet_reciprocity no_law = { .kind = WET_RECIPROCITY_NONE };
static struct wet_verdict verdicts[WET_RESULTS];

static double judged(const char *text)
{
	double v = NAN;
	struct wet_fault f = { 0 };
	char line[512];
	cr_assert_eq(wet_parse_judged(text, &v, &f), 0, "%s: %s", text, wet_fault_line(&f, line, sizeof line));
	return v;
}

Test(judgement, as_people_say_it)
{
	cr_assert_eq(judged("right"), 0);
	cr_assert_eq(judged("1/2 stop lighter"), 0.5);
	cr_assert_eq(judged("1 1/2 stops too light"), 1.5);
	cr_assert_eq(judged("1 stop too dark"), -1);
	cr_assert_eq(judged("2 stops Darker"), -2);
	static const struct {
		const char *text;
		int err;
	} bad[] = { { "", WET_ERR_INVALID },           { "lighter", WET_ERR_UNIT_MISSING },  { "1 lighter", WET_ERR_UNIT_MISSING },
				{ "1 stop", WET_ERR_INVALID },     { "5 stops darker", WET_ERR_RANGE },  { "-1 stop lighter", WET_ERR_RANGE },
				{ "right lighter", WET_ERR_INVALID }, { "1 stop right", WET_ERR_INVALID }, { "1 stop light dark", WET_ERR_INVALID } };
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		double v = 7;
		struct wet_fault f = { 0 };
		cr_assert_eq(wet_parse_judged(bad[i].text, &v, &f), bad[i].err, "%s", bad[i].text);
		cr_assert(f.want[0] && v == 7);
	}
	char text[64];
	cr_assert_str_eq(wet_print_judged(-1 / 3.0, text, sizeof text), "1/3 stop darker than wanted");
	cr_assert_str_eq(wet_print_judged(0.02, text, sizeof text), "right");
}

Test(judgement, flaws_by_name)
{
	uint32_t flaws = 99;
	cr_assert(wet_parse_flaws("", &flaws, NULL) == 0 && flaws == 0);
	cr_assert(wet_parse_flaws("Fogged, air bells", &flaws, NULL) == 0 &&
			  flaws == (1u << WET_FLAW_FOGGED | 1u << WET_FLAW_AIR_BELLS));
	cr_assert(wet_parse_flaws(" pinhole leak ; stained ", &flaws, NULL) == 0 &&
			  flaws == (1u << WET_FLAW_LEAK | 1u << WET_FLAW_STAINED));
	cr_assert_eq(wet_parse_flaws("scratched", &flaws, NULL), WET_ERR_INVALID);
	cr_assert_eq(wet_parse_flaws("fogged,, stained", &flaws, NULL), WET_ERR_INVALID);
}

/* A paper of index 3.125 and no reciprocity: EV 13 at f/256 needs 2^16 / 2^13 * 32 s. */
static struct wet_result piece(double stops_given, double lighter)
{
	return (struct wet_result){ .ev100 = 13, .f_number = 256, .time_s = 256 * exp2(stops_given), .lighter_stops = lighter,
								.is_dry = true, .off_mc = WET_NOT_KNOWN, .used_milli = WET_NOT_KNOWN };
}

Test(judgement, few_results_are_a_rule_of_thumb)
{
	struct wet_lesson a;
	struct wet_result r[3] = { piece(1, 1), piece(0, 0), piece(-1, 2) }; /* the last is plainly off: the middle stays */
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, 0, &no_law, verdicts, &a, NULL), 0);
	cr_assert_eq(a.kind, WET_LESSON_NOTHING);
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, 1, &no_law, verdicts, &a, NULL), 0);
	cr_assert_eq(a.kind, WET_LESSON_THUMB);
	cr_assert_float_eq(a.index, 3.125, 1e-9);
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, 3, &no_law, verdicts, &a, NULL), 0);
	cr_assert(a.kind == WET_LESSON_THUMB && a.counted == 3 && a.exponent == 1);
	cr_assert_float_eq(a.index, 3.125, 1e-9);
	cr_assert_float_eq(verdicts[2].off_stops, 3, 1e-9);
	/* The same seen as negatives: lighter is too little, so the paper is slower than it was taken for. */
	r[0] = piece(0, 1);
	cr_assert_eq(wet_judge(WET_SENSE_NEGATIVE, r, 1, &no_law, verdicts, &a, NULL), 0);
	cr_assert_float_eq(a.index, 3.125 / 2, 1e-9);
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, 1, &no_law, verdicts, &a, NULL), 0);
	cr_assert_float_eq(a.index, 3.125 * 2, 1e-9);
}

Test(judgement, held_law_and_what_the_paper_did_not_get)
{
	struct wet_lesson a;
	struct wet_reciprocity power = { .kind = WET_RECIPROCITY_POWER, .from_s = 1, .exponent = 1.25 };
	struct wet_result r = piece(0, 0);
	r.time_s = pow(256, 1.25); /* what reciprocity makes of it */
	cr_assert_eq(wet_judge(WET_SENSE_NEGATIVE, &r, 1, &power, verdicts, &a, NULL), 0);
	cr_assert_float_eq(a.index, 3.125, 1e-9);
	cr_assert_float_eq(a.exponent, 0.8, 1e-12);
	r = piece(2, 0);
	r.less_stops = 2; /* a filter of two stops took what was given more */
	cr_assert_eq(wet_judge(WET_SENSE_NEGATIVE, &r, 1, &no_law, verdicts, &a, NULL), 0);
	cr_assert_float_eq(a.index, 3.125, 1e-9);
}

/* Times from 4 s to 17 min at fitting light, on a paper of index 3.125 and p = 0.85, judged without any error. */
static uint32_t long_series(struct wet_result *r)
{
	for (uint32_t i = 0; i < 9; i++) {
		double time_s = exp2(2 + i);
		r[i] = piece(0, (i % 3) - 1.0);
		r[i].time_s = time_s;
		r[i].ev100 = 16 + 5 + r[i].lighter_stops - log2(pow(time_s, 0.85));
	}
	return 9;
}

Test(judgement, index_and_exponent_come_back)
{
	struct wet_lesson a;
	struct wet_result r[12];
	uint32_t n = long_series(r);
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, n, &no_law, verdicts, &a, NULL), 0);
	cr_assert_eq(a.kind, WET_LESSON_EXPONENT);
	cr_assert_float_eq(a.index, 3.125, 1e-6);
	cr_assert_float_eq(a.exponent, 0.85, 1e-7);
	cr_assert(a.law.kind == WET_RECIPROCITY_POWER && fabs(a.law.exponent - 1 / 0.85) < 1e-6);
	cr_assert_eq(a.scale_stops, WET_JUDGED_STOPS); /* nobody judges finer */
	cr_assert(a.index_low < 3.125 && a.index_high > 3.125 && a.outliers == 0);
	/* With what is advised the next one is right. */
	struct wet_exposure_ask ask = { .f_number = 256, .index = a.index, .holds_stops = 1, .bright_ev100 = 14,
									.shaded_ev100 = 14, .reciprocity = a.law };
	struct wet_exposed e;
	cr_assert_eq(wet_expose(&ask, &e, NULL), 0);
	cr_assert_float_eq(e.given.time_s, pow(65536 / exp2(14) * 32, 1 / 0.85), 1e-3);
	/* One of them plainly wrong: told, and hardly counted. */
	r[4].lighter_stops += 3;
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, n, &no_law, verdicts, &a, NULL), 0);
	cr_assert(a.outliers == 1 && verdicts[4].is_outlier && verdicts[4].weight < 0.1 && a.counted == n);
	cr_assert_float_eq(a.exponent, 0.85, 1e-6);
	/* Three set aside, each with its reason. */
	r[0].is_dry = false;
	r[1].flaws = 1u << WET_FLAW_UNEVEN;
	r[2].off_mc = 5000;
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, n, &no_law, verdicts, &a, NULL), 0);
	cr_assert(a.counted == n - 3 && verdicts[0].aside == WET_ASIDE_WET && verdicts[1].aside == WET_ASIDE_FLAW &&
			  verdicts[2].aside == WET_ASIDE_TEMPERATURE && a.aside[WET_ASIDE_FLAW] == 1);
	cr_assert_float_eq(a.index, 3.125, 1e-5);
}

Test(judgement, what_times_cannot_tell_is_held)
{
	struct wet_lesson a;
	struct wet_reciprocity table;
	struct wet_result r[9];
	for (int i = 0; i < 6; i++)
		r[i] = piece(i * 0.15, i * 0.15);
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, 6, &no_law, verdicts, &a, NULL), 0);
	cr_assert(a.kind == WET_LESSON_INDEX && a.exponent == 1 && a.exponent_low == 1);
	cr_assert_float_eq(a.index, 3.125, 1e-6);
	/* A person's own table is never replaced by a power. */
	cr_assert_eq(wet_parse_reciprocity("table 1s 1s, 1000s 2000s", &table, NULL), 0);
	uint32_t n = long_series(r);
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, n, &table, verdicts, &a, NULL), 0);
	cr_assert(a.kind == WET_LESSON_INDEX && a.law.kind == WET_RECIPROCITY_TABLE);
}

/* Longer times that came out too light say p over 1: there is no such paper. */
Test(judgement, no_paper_gains_by_waiting)
{
	struct wet_lesson a;
	struct wet_result r[6];
	for (int i = 0; i < 6; i++) {
		r[i] = piece(i, 0);
		r[i].ev100 = 13 - i * 1.1;
	}
	cr_assert_eq(wet_judge(WET_SENSE_DIRECT_POSITIVE, r, 6, &no_law, verdicts, &a, NULL), 0);
	cr_assert(a.kind == WET_LESSON_EXPONENT && a.exponent == 1 && a.exponent_high == 1 && a.law.exponent == 1);
	cr_assert(a.index >= a.index_low && a.index <= a.index_high);
}

Test(judgement, refused)
{
	static struct wet_result many[WET_RESULTS + 1];
	struct wet_lesson a;
	struct wet_fault f = { 0 };
	for (int i = 0; i <= WET_RESULTS; i++)
		many[i] = piece(i % 7, i % 7 > 3 ? 3 : i % 7);
	cr_assert_eq(wet_judge(WET_SENSE_UNSAID, many, 3, &no_law, verdicts, &a, &f), WET_ERR_INVALID);
	cr_assert_eq(wet_judge(WET_SENSE_NEGATIVE, many, WET_RESULTS + 1, &no_law, verdicts, &a, &f), WET_ERR_TOO_MANY);
	cr_assert_eq(wet_judge(WET_SENSE_NEGATIVE, many, WET_RESULTS, &no_law, verdicts, &a, &f), 0);
	many[1].time_s = 0;
	cr_assert_eq(wet_judge(WET_SENSE_NEGATIVE, many, 3, &no_law, verdicts, &a, &f), WET_ERR_RANGE);
	cr_assert_str_eq(f.where, "time");
	many[1] = piece(0, NAN);
	cr_assert_eq(wet_judge(WET_SENSE_NEGATIVE, many, 3, &no_law, verdicts, &a, &f), WET_ERR_RANGE);
}
