/* prop_heat.c: random laws and tracks against the laws of the dose:
 * it is what a plain fine sum over the written laws gives; parts add up; the time found has the dose asked
 * for; more takes longer; warmer is never longer; a shift in time changes nothing; no end is over a day.
 *   prop_heat --seed S --count N */
#include "base/random.h"
#include "wetside/heat.h"
#include "prop_args.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S 1000000000LL
#define POINTS 16
#define STEPS 4     /* of the plain sum in one stretch, before it is refined */
#define HALVINGS 24 /* where the law bends */

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case;
static struct wet_track_point points[POINTS];

static void broken(const char *law, double a, double b)
{
	printf("broken in case %ld: %s (%.17g, %.17g)\nagain: prop_heat --seed %llu --count %ld\n", this_case,
		   law, a, b, seed, this_case + 1);
	exit(1);
}

static int32_t between(int32_t low, int32_t high)
{
	return (int32_t)wet_random_between(&rnd, low, high);
}

static struct wet_law random_law(void)
{
	struct wet_law law = { .kind = (enum wet_law_kind)wet_random_below(&rnd, WET_LAW_N),
						   .min_mc = INT32_MIN,
						   .max_mc = INT32_MAX };
	law.factor_per_10c = 1 + 2.5 * wet_random_unit(&rnd);
	law.tref_mc = between(5000, 35000);
	if (wet_random_below(&rnd, 2))
		law.min_mc = between(-5000, 20000);
	if (wet_random_below(&rnd, 2))
		law.max_mc = between(20000, 45000);
	if (law.kind == WET_LAW_TABLE) {
		int32_t mc = between(2000, 15000);
		int64_t time_ns = wet_random_between(&rnd, 300 * S, 3000 * S);
		law.row_count = (uint8_t)between(2, WET_LAW_ROWS);
		for (int i = 0; i < law.row_count; i++) {
			law.rows[i] = (struct wet_law_row){ mc, time_ns };
			mc += between(1, 5000);
			time_ns = time_ns * between(750, 1000) / 1000; /* warmer is never longer */
		}
	}
	return law;
}

static struct wet_track random_track(void)
{
	struct wet_track t = { .points = points,
						   .point_count = (uint32_t)wet_random_below(&rnd, POINTS + 1),
						   .default_mc = between(0, 40000) };
	int64_t at = wet_random_between(&rnd, -100 * S, 100 * S);
	int32_t mc = between(5000, 35000);
	for (uint32_t i = 0; i < t.point_count; i++) {
		points[i] = (struct wet_track_point){ at, mc };
		switch (wet_random_below(&rnd, 6)) {
		case 0: break; /* two at one time */
		case 1: at += wet_random_between(&rnd, 1, 1000); break;
		default: at += wet_random_between(&rnd, 1, 120 * S); break;
		}
		if (wet_random_below(&rnd, 4)) /* else level */
			mc = wet_random_below(&rnd, 5) ? mc + between(-3000, 3000) : between(-5000, 45000);
	}
	if (wet_random_below(&rnd, 2))
		t.forecast = (struct wet_forecast){ WET_FORECAST_NEWTON, between(-5000, 45000),
											wet_random_between(&rnd, 20 * S, 7200 * S), 0 };
	return t;
}

/* -- the laws as they are written, by no means of the code under test ------------- */

static double plain_table_time(const struct wet_law *law, double c)
{
	int n = law->row_count;
	if (c <= law->rows[0].temperature_mc / 1e3)
		return (double)law->rows[0].time_ns;
	for (int i = n - 1; i >= 0; i--) {
		double low = law->rows[i].temperature_mc / 1e3;
		if (c < low)
			continue;
		if (i == n - 1)
			return (double)law->rows[i].time_ns;
		double part = (c - low) / (law->rows[i + 1].temperature_mc / 1e3 - low);
		return pow((double)law->rows[i].time_ns, 1 - part) * pow((double)law->rows[i + 1].time_ns, part);
	}
	return NAN;
}

static double plain_rate(const struct wet_law *law, double c)
{
	if (law->min_mc != INT32_MIN)
		c = fmax(c, law->min_mc / 1e3);
	if (law->max_mc != INT32_MAX)
		c = fmin(c, law->max_mc / 1e3);
	switch (law->kind) {
	case WET_LAW_FACTOR: return pow(law->factor_per_10c, (c - law->tref_mc / 1e3) / 10);
	case WET_LAW_TABLE: return plain_table_time(law, law->tref_mc / 1e3) / plain_table_time(law, c);
	case WET_LAW_FIXING: return fmin(1, exp2((c - 20) / 10));
	case WET_LAW_WASHING:
		if (c >= 18.3)
			return 1;
		if (c >= 10)
			return exp2(-(18.3 - c) / 8.3);
		return fmax(0.25, exp2(-1 - (10 - c) / 8.3));
	default: return 1;
	}
}

/* In a stretch that begins at from_ns, with nothing of the track strictly inside. */
static double plain_c(const struct wet_track *t, int64_t from_ns, double after_s)
{
	uint32_t i = 0;
	while (i < t->point_count && points[i].at_ns <= from_ns)
		i++;
	double at = (double)from_ns / 1e9 + after_s;
	if (t->point_count == 0)
		return t->default_mc / 1e3;
	if (i == 0)
		return points[0].temperature_mc / 1e3;
	double c = points[i - 1].temperature_mc / 1e3, since = at - (double)points[i - 1].at_ns / 1e9;
	if (i < t->point_count)
		return c + (points[i].temperature_mc / 1e3 - c) * since /
					   ((double)(points[i].at_ns - points[i - 1].at_ns) / 1e9);
	if (t->forecast.kind == WET_FORECAST_CONSTANT)
		return c;
	double room = t->forecast.room_mc / 1e3;
	return room + (c - room) / exp(since / ((double)t->forecast.tau_ns / 1e9));
}

/* Simpson's rule, halved until it no longer changes: where the law bends, down to HALVINGS. */
static double refined(const struct wet_law *law, const struct wet_track *t, int64_t from_ns, double a_s,
					  double b_s, double a, double m, double b, int halvings)
{
	double h = b_s - a_s, mid_s = a_s + h / 2;
	double left = plain_rate(law, plain_c(t, from_ns, a_s + h / 4));
	double right = plain_rate(law, plain_c(t, from_ns, b_s - h / 4));
	double once = h * (a + 4 * m + b) / 6, twice = h * (a + 4 * left + 2 * m + 4 * right + b) / 12;
	if (halvings == 0 || fabs(twice - once) < 1e-10 * h * m)
		return twice + (twice - once) / 15;
	return refined(law, t, from_ns, a_s, mid_s, a, left, m, halvings - 1) +
		   refined(law, t, from_ns, mid_s, b_s, m, right, b, halvings - 1);
}

/* The plain sum, stretch by stretch of the track. */
static double plain_dose(const struct wet_law *law, const struct wet_track *t, int64_t from_ns, int64_t to_ns)
{
	double sum = 0;
	while (from_ns < to_ns) {
		int64_t end_ns = to_ns;
		for (uint32_t i = 0; i < t->point_count; i++)
			if (points[i].at_ns > from_ns && points[i].at_ns < end_ns)
				end_ns = points[i].at_ns;
		double h = (double)(end_ns - from_ns) / 1e9 / STEPS, a = plain_rate(law, plain_c(t, from_ns, 0));
		for (int i = 0; i < STEPS; i++) {
			double m = plain_rate(law, plain_c(t, from_ns, h * (i + 0.5)));
			double b = plain_rate(law, plain_c(t, from_ns, h * (i + 1)));
			sum += refined(law, t, from_ns, h * i, h * (i + 1), a, m, b, HALVINGS);
			a = b;
		}
		from_ns = end_ns;
	}
	return sum;
}

/* -- the laws of the dose ----------------------------------------------------------- */

static void check_sum(const struct wet_law *law, const struct wet_track *t, int64_t from, int64_t to)
{
	double plain = plain_dose(law, t, from, to), dose = wet_dose_s(law, t, from, to);
	if (!(fabs(dose - plain) <= 1e-10 * plain + 1e-12))
		broken("the dose is the plain sum", dose, plain);
	for (int i = 0; i < 8; i++) {
		double c = -20 + 80 * wet_random_unit(&rnd);
		if (!(fabs(wet_law_rate(law, c) / plain_rate(law, c) - 1) <= 1e-11))
			broken("the rate is the written one", wet_law_rate(law, c), plain_rate(law, c));
	}
}

static void check_parts(const struct wet_law *law, const struct wet_track *t, int64_t from, int64_t to)
{
	double whole = wet_dose_s(law, t, from, to);
	int64_t cut = wet_random_between(&rnd, from, to);
	double sum = wet_dose_s(law, t, from, cut) + wet_dose_s(law, t, cut, to);
	if (!(fabs(sum - whole) <= 1e-11 * whole + 1e-15))
		broken("parts add up", sum, whole);
}

static void check_root(const struct wet_law *law, const struct wet_track *t, int64_t from)
{
	double target = exp(log(1e-6) + log(2e10) * wet_random_unit(&rnd)),
		   more = target * (1 + wet_random_unit(&rnd));
	int64_t end = wet_dose_root_ns(law, t, from, target), later = wet_dose_root_ns(law, t, from, more);
	if (end < from || end > from + WET_STAGE_NS_MAX || later < end)
		broken("an end lies ahead, more takes longer, none is over a day", (double)(end - from),
			   (double)(later - from));
	double slack = 1e-12 * target + 1e-12;
	if (end < from + WET_STAGE_NS_MAX) {
		double rate = wet_law_rate(law, wet_track_c(t, end));
		double off = wet_dose_s(law, t, from, end) - target;
		/* Half a nanosecond; a whole one where the temperature jumps just here. */
		if (!(fabs(off) <= 0.51e-9 * rate + slack) &&
			!(wet_dose_s(law, t, from, end - 1) < target && wet_dose_s(law, t, from, end + 1) > target))
			broken("the time found has the dose asked for", off, target);
	} else if (!(wet_dose_s(law, t, from, end) <= target + slack + 1e-9)) {
		broken("a day only where a day is not enough", wet_dose_s(law, t, from, end), target);
	}
}

static void check_warmer(const struct wet_law *law, const struct wet_track *t, int64_t from)
{
	static struct wet_track_point warm[POINTS];
	int32_t by = between(0, 4000);
	double target = 1 + 2000 * wet_random_unit(&rnd);
	struct wet_track w = *t;
	for (uint32_t i = 0; i < t->point_count; i++)
		warm[i] = (struct wet_track_point){ points[i].at_ns, points[i].temperature_mc + by };
	w.points = warm;
	w.default_mc += by;
	w.forecast.room_mc += by;
	int64_t end = wet_dose_root_ns(law, t, from, target), sooner = wet_dose_root_ns(law, &w, from, target);
	if (sooner > end + 1)
		broken("warmer is never longer", (double)(sooner - from), (double)(end - from));
}

static void check_shift(const struct wet_law *law, const struct wet_track *t, int64_t from, int64_t to)
{
	static struct wet_track_point moved[POINTS];
	int64_t by = wet_random_between(&rnd, 0, 400LL * 86400 * S);
	double target = 1 + 2000 * wet_random_unit(&rnd);
	struct wet_track m = *t;
	for (uint32_t i = 0; i < t->point_count; i++)
		moved[i] = (struct wet_track_point){ points[i].at_ns + by, points[i].temperature_mc };
	m.points = moved;
	double here = wet_dose_s(law, t, from, to), there = wet_dose_s(law, &m, from + by, to + by);
	if (!(fabs(here - there) <= 1e-12 * here + 1e-15))
		broken("the dose is the same at another time", here, there);
	int64_t end = wet_dose_root_ns(law, t, from, target),
			moved_end = wet_dose_root_ns(law, &m, from + by, target) - by;
	if (llabs(end - moved_end) > 1)
		broken("the end is the same at another time", (double)end, (double)moved_end);
}

int main(int argc, char **argv)
{
	test_prop_args(argc, argv, &seed, &count);
	printf("seed %llu count %ld\n", seed, count);
	wet_random_seed(&rnd, seed);
	long kinds[WET_LAW_N] = { 0 };
	for (this_case = 0; this_case < count; this_case++) {
		struct wet_law law = random_law();
		struct wet_track track = random_track();
		int64_t from = wet_random_between(&rnd, -150 * S, 1200 * S);
		int64_t to = from + wet_random_between(&rnd, 0, 1800 * S);
		kinds[law.kind]++;
		check_sum(&law, &track, from, to);
		check_parts(&law, &track, from, to);
		check_root(&law, &track, from);
		check_warmer(&law, &track, from);
		check_shift(&law, &track, from, to);
	}
	for (int k = 0; k < WET_LAW_N && count >= 100; k++)
		if (kinds[k] == 0) {
			printf("law %d was never met\n", k);
			return 1;
		}
	return 0;
}
