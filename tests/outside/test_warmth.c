/* test_warmth.c: the end of a whole developing stage, from random readings of a bath that cools or warms, against Debian's
 * python3-scipy: curve_fit for the course, its standard errors, solve_ivp for the dose. All through the run itself. */
#include "base/random.h"
#include "base/text.h"
#include "oracle.h"
#include "wetside/run.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define S 1000000000LL

static struct wet_recipe recipe;

static void make(double factor, int32_t tref_mc, int64_t aim_ns)
{
	memset(&recipe, 0, sizeof recipe);
	recipe.vessel_kind = WET_VESSEL_OPEN_TANK;
	recipe.bath_count = recipe.stage_count = 1;
	recipe.stages[0] = (struct wet_stage){
		.kind = WET_STAGE_DEVELOP, .name = "Develop", .least_ns = aim_ns / 2, .aim_ns = aim_ns, .most_ns = 2 * aim_ns
	};
	recipe.stages[0].law = (struct wet_law){ WET_LAW_FACTOR, factor, tref_mc, INT32_MIN, INT32_MAX, 0, { { 0, 0 } } };
	wet_text_copy(recipe.baths[0].key, sizeof recipe.baths[0].key, "developer");
}

struct asked {
	int64_t aim_ns, at_last_ns;
	struct wet_course course;
	int32_t last_mc;
};

/* Readings until shortly before the end; their number, 0 where they told too little. */
static int one_run(struct wet_random *r, bool is_free, double factor, int32_t tref_mc, double aim_s, double t[], double c[],
				   int most, int32_t *ret_room_mc, struct asked *ret)
{
	struct wet_run_setup setup = { .recipe = &recipe, .pieces = 1, .tolerance_mc = 500, .rules_version = WET_RULES_VERSION };
	struct wet_run run;
	int64_t begin = 1000 * S, now = begin;
	double room = 8 + 18 * wet_random_unit(r), from = room + (wet_random_below(r, 2) ? 1 : -1) * (2 + 8 * wet_random_unit(r));
	double tau = aim_s * (is_free ? 0.1 + 0.4 * wet_random_unit(r) : 0.3 + 2 * wet_random_unit(r));
	make(factor, tref_mc, llround(aim_s * 1e9));
	setup.vessel.kind = WET_VESSEL_OPEN_TANK;
	wet_run_init(&run, &setup, now);
	*ret_room_mc = (int32_t)lround(room * 10) * 100;
	if (!is_free) {
		struct wet_event e = { .kind = WET_ACT_READING, .flags = WET_EVENT_ROOM, .boot_ns = now, .bath = -1 };
		e.temperature_mc = *ret_room_mc;
		wet_run_fold(&run, &e);
	}
	struct wet_event e = { .kind = WET_ACT_BEGIN, .boot_ns = now, .bath = -1 };
	wet_run_fold(&run, &e);
	e.kind = WET_ACT_GO;
	wet_run_fold(&run, &e);
	int n = (int)wet_random_between(r, 5, most);
	for (int i = 0; i < n; i++) {
		double at = aim_s * 0.6 * (i + 0.5 * wet_random_unit(r)) / n;
		now = begin + llround(at * 1e3) * 1000000;
		double warm = room + (from - room) * exp(-(double)(now - begin) / 1e9 / tau);
		struct wet_view v;
		struct wet_event reading = { .kind = WET_ACT_READING, .boot_ns = now, .temperature_mc = (int32_t)lround(warm * 10) * 100 };
		wet_run_view(&run, now, &v);
		if (v.next_waits && now > v.aim_ns + begin)
			return 0;
		wet_run_fold(&run, &reading);
		t[i] = (double)(now - begin) / 1e9;
		c[i] = reading.temperature_mc / 1000.0;
	}
	struct wet_view v;
	wet_run_view(&run, now, &v);
	ret->aim_ns = v.aim_ns - v.begin_ns;
	ret->course = run.course;
	ret->last_mc = run.heat.track[run.heat.track_count - 1].temperature_mc;
	/* An end that a reading would have put into the past is another rule. */
	return run.course.kind == WET_COURSE_FITTED && v.aim_ns > v.now_ns + S ? n : 0;
}

Test(warmth, scipy_agrees_on_the_end_of_a_whole_stage)
{
	enum { N = 100, MOST = WET_FIT_BINS };
	static struct asked asked[N];
	static double answers[7 * N];
	struct wet_random r;
	unsigned long long seed = test_oracle_seed();
	FILE *questions = test_oracle_questions();
	int count = 0, free_count = 0;
	cr_assert_not_null(questions);
	wet_random_seed(&r, seed);
	for (int i = 0; i < 4 * N && count < N; i++) {
		double t[MOST], c[MOST], factor = 1.5 + 2 * wet_random_unit(&r), aim_s = 300 + 3000 * wet_random_unit(&r);
		int32_t room_mc, tref_mc = 20000;
		int n = one_run(&r, wet_random_below(&r, 3) == 0, factor, tref_mc, aim_s, t, c, MOST, &room_mc, &asked[count]);
		if (n == 0)
			continue;
		bool is_free = asked[count].course.is_free;
		fprintf(questions, "%d %.17g %.17g %.17g %.17g %d", is_free, is_free ? 0 : room_mc / 1000.0, tref_mc / 1000.0, factor,
				(double)llround(aim_s * 1e9) / 1e9, n);
		for (int k = 0; k < n; k++)
			fprintf(questions, " %.17g %.17g", t[k], c[k]);
		fputc('\n', questions);
		free_count += is_free;
		count++;
	}
	cr_assert_eq(count, N, "only %d told enough", count);
	cr_assert_gt(free_count, N / 20, "%d", free_count);
	cr_assert(test_oracle_answers(TEST_TEMPERING_ORACLE, "stage", questions, answers, 7 * N));
	for (int i = 0; i < N; i++) {
		const double *a = &answers[7 * i];
		const struct wet_course *k = &asked[i].course;
		const float *s = k->spread;
		/* The course is in whole millidegrees: 7 % a degree, over the stage. */
		cr_assert_float_eq((double)asked[i].aim_ns / 1e9, a[0], 0.002 + 1e-4 * a[0], "seed %llu, %d: %.4f, not %.4f", seed, i,
						   (double)asked[i].aim_ns / 1e9, a[0]);
		cr_assert_float_eq((asked[i].last_mc + k->over_mc) / 1000.0, a[1], 6e-4);
		cr_assert_float_eq((double)k->tau_ns / 1e9, a[2], 1e-5 * a[2] + 1e-3 * a[5] * a[2]);
		cr_assert_float_eq(k->room_mc / 1000.0, a[3], 6e-4 + 1e-3 * a[6]);
		double e0 = (double)s[0], e1 = hypot((double)s[1], (double)s[2]);
		double e2 = hypot(hypot((double)s[3], (double)s[4]), (double)s[5]);
		cr_assert_float_eq(e0, a[4], 1e-3 * a[4] + 1e-6, "seed %llu, %d: %g, not %g", seed, i, e0, a[4]);
		cr_assert_float_eq(e1, a[5], 1e-3 * a[5] + 1e-6, "seed %llu, %d: %g, not %g", seed, i, e1, a[5]);
		cr_assert_float_eq(e2, a[6], 1e-3 * a[6] + 1e-4, "seed %llu, %d: %g, not %g", seed, i, e2, a[6]);
	}
}
