/* prop_judgement.c: a hidden paper, a person who exposes and judges it as people do (off by some, rounded to thirds of a
 * stop, now and then plainly wrong), and what is advised.
 * Coverage: the hidden index and exponent lie in the 90 % interval about as often as it says, for negatives and direct
 * positives, without wrong results and with a tenth and a fifth of them. And laws: both senses are mirror images, more light
 * or a faster paper shifts the index and nothing else, the order is no matter, a plainly wrong one among many is told.
 *   prop_judgement --seed S --count N    (N cases of each kind) */
#include "base/random.h"
#include "prop_args.h"
#include "wetside/judgement.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case;

static void holds(bool is_so, const char *law, double a, double b)
{
	if (is_so)
		return;
	printf("broken in case %ld: %s (%.17g, %.17g)\nagain: prop_judgement --seed %llu --count %ld\n", this_case, law, a, b,
		   seed, count);
	exit(1);
}

static double between(double low, double high)
{
	return low + (high - low) * wet_random_unit(&rnd);
}

static double normal(void)
{
	double u = wet_random_unit(&rnd) + 1e-300, v = wet_random_unit(&rnd);
	return sqrt(-2 * log(u)) * cos(6.283185307179586 * v);
}

struct world {
	enum wet_sense sense;
	double index, p;   /* hidden */
	double noise;      /* of a judgement, stops */
	double wrong;      /* share of results that are plainly wrong */
	double low_s, high_s;
	uint32_t n;
};

static struct world some_world(enum wet_sense sense, double wrong, bool is_alike)
{
	struct world w = { .sense = sense, .wrong = wrong };
	w.index = exp2(between(-1, 6));
	w.p = between(0.7, 1);
	w.noise = between(0.15, 0.5);
	w.low_s = exp2(between(0, 4));
	w.high_s = w.low_s * exp2(is_alike ? 0.8 : between(2, 7));
	w.n = (uint32_t)wet_random_between(&rnd, WET_RESULTS_FOR_A_FIT, wet_random_below(&rnd, 2) ? 10 : 40);
	return w;
}

/* The stops that this time at this light is really too much, on the hidden paper. */
static double truly_too_much(const struct world *w, double ev100, double f_number, double time_s)
{
	double effective_s = time_s > 1 ? pow(time_s, w->p) : time_s;
	return log2(effective_s / (f_number * f_number / exp2(ev100) * 100 / w->index));
}

/* The person aims by some other index and is off; the light is whatever goes with the time. */
static struct wet_result some_result(const struct world *w)
{
	struct wet_result r = { .f_number = exp2(between(3, 9)), .is_dry = true, .off_mc = WET_NOT_KNOWN, .used_milli = 0 };
	r.time_s = exp2(between(log2(w->low_s), log2(w->high_s)));
	double off = between(-1, 1);
	r.ev100 = 0;
	r.ev100 = off - truly_too_much(w, 0, r.f_number, r.time_s);
	r.less_stops = wet_random_below(&rnd, 3) ? 0 : between(0, 3);
	r.ev100 += r.less_stops;
	double judged = off + w->noise * normal();
	if (wet_random_unit(&rnd) < w->wrong)
		judged += (wet_random_below(&rnd, 2) ? 1 : -1) * between(2, 3);
	judged = fmax(fmin(round(judged * 3) / 3, 4), -4);
	r.lighter_stops = w->sense == WET_SENSE_NEGATIVE ? -judged : judged;
	return r;
}

static struct wet_result results[WET_RESULTS];
static struct wet_verdict verdicts[WET_RESULTS];

static struct wet_lesson advice_on(enum wet_sense sense, const struct wet_result *of, uint32_t n,
								   const struct wet_reciprocity *held)
{
	struct wet_lesson a;
	int rc = wet_judge(sense, of, n, held, verdicts, &a, NULL);
	holds(rc == 0, "judged", rc, n);
	return a;
}

/* -- coverage ------------------------------------------------------------------------------- */

static void within_what_it_says(const char *what, long hits)
{
	/* Three and a half standard errors of counting, and two per cent for an interval that is approximate where few results
	 * are, and on the wide side where a fifth is wrong. */
	double share = (double)hits / (double)count, chance = 3.5 * sqrt(0.9 * 0.1 / (double)count);
	printf("  %-9s in the interval in %5.1f %% of %ld\n", what, 100 * share, count);
	holds(share > 0.9 - 0.02 - chance, what, share, 0.9);
	holds(share < 0.9 + 0.055 + chance, "an interval that says no more than it must", share, 0.9);
}

static void cover(enum wet_sense sense, double wrong, bool is_alike)
{
	struct wet_reciprocity held = { .kind = WET_RECIPROCITY_NONE };
	long index_hits = 0, exponent_hits = 0, wrong_told = 0;
	printf("%s, %.0f %% wrong%s\n", wet_sense_name(sense), 100 * wrong, is_alike ? ", times alike" : "");
	for (this_case = 0; this_case < count; this_case++) {
		struct world w = some_world(sense, wrong, is_alike);
		if (is_alike) /* the exponent can't be told from such times: it is held, and known */
			held = (struct wet_reciprocity){ .kind = WET_RECIPROCITY_POWER, .from_s = 1, .exponent = 1 / w.p };
		struct wet_lesson a;
		do {
			for (uint32_t i = 0; i < w.n; i++)
				results[i] = some_result(&w);
			a = advice_on(sense, results, w.n, &held);
		} while (!is_alike && a.kind != WET_LESSON_EXPONENT);
		holds(a.kind == (is_alike ? WET_LESSON_INDEX : WET_LESSON_EXPONENT), "the kind of advice", a.kind, is_alike);
		holds(a.index >= a.index_low && a.index <= a.index_high, "the index is in its interval", a.index, a.index_low);
		holds(a.exponent >= a.exponent_low && a.exponent <= a.exponent_high, "so is p", a.exponent, a.exponent_low);
		index_hits += w.index >= a.index_low && w.index <= a.index_high;
		exponent_hits += w.p >= a.exponent_low && w.p <= a.exponent_high;
		wrong_told += a.outliers > 0;
	}
	within_what_it_says("index", index_hits);
	if (!is_alike)
		within_what_it_says("exponent", exponent_hits);
	if (wrong > 0)
		holds(wrong_told > count / 4, "wrong ones are told", (double)wrong_told, (double)count);
	else
		holds(wrong_told < count / 4, "right ones are not told of as wrong", (double)wrong_told, (double)count);
}

/* -- laws ------------------------------------------------------------------------------------- */

static void near(double a, double b, const char *law)
{
	holds(fabs(a - b) <= 1e-6 * fmax(fabs(a), fabs(b)) + 1e-9, law, a, b);
}

static void one_law(void)
{
	struct wet_reciprocity none = { .kind = WET_RECIPROCITY_NONE };
	struct world w = some_world(WET_SENSE_DIRECT_POSITIVE, wet_random_below(&rnd, 2) ? 0.1 : 0, false);
	for (uint32_t i = 0; i < w.n; i++)
		results[i] = some_result(&w);
	struct wet_lesson a = advice_on(w.sense, results, w.n, &none), b;
	static struct wet_result other[WET_RESULTS];
	memcpy(other, results, sizeof other);
	/* The same pieces as negatives, judged the other way round. */
	for (uint32_t i = 0; i < w.n; i++)
		other[i].lighter_stops = -other[i].lighter_stops;
	b = advice_on(WET_SENSE_NEGATIVE, other, w.n, &none);
	holds(memcmp(&a.index, &b.index, sizeof a.index) == 0 && a.exponent == b.exponent, "mirror images", a.index, b.index);
	/* All light a stop more for the same results: a paper half as fast. */
	memcpy(other, results, sizeof other);
	for (uint32_t i = 0; i < w.n; i++)
		other[i].ev100 += 1;
	b = advice_on(w.sense, other, w.n, &none);
	near(a.index / 2, b.index, "a stop more light is half the index");
	near(a.exponent, b.exponent, "and no other reciprocity");
	near(a.scale_stops, b.scale_stops, "nor other judges");
	/* The last piece first. */
	for (uint32_t i = 0; i < w.n; i++)
		other[i] = results[w.n - 1 - i];
	b = advice_on(w.sense, other, w.n, &none);
	near(a.scale_stops, b.scale_stops, "the order is no matter to the scale");
	near(a.index, b.index, "nor to the index");
	/* What is set aside changes nothing, and is counted. */
	uint32_t more = w.n;
	memcpy(other, results, sizeof other);
	for (int kind = 0; kind < 4; kind++) {
		other[more] = some_result(&w);
		other[more].lighter_stops = 4;
		other[more].is_dry = kind != 0;
		other[more].flaws = kind == 1 ? 1u << WET_FLAW_FOGGED : 1u << WET_FLAW_STAINED;
		other[more].off_mc = kind == 2 ? -WET_NORMAL_OFF_MC - 1 : WET_NORMAL_OFF_MC;
		other[more++].used_milli = kind == 3 ? WET_NORMAL_USED_MILLI + 1 : WET_NORMAL_USED_MILLI;
	}
	b = advice_on(w.sense, other, more, &none);
	holds(a.index == b.index && b.counted == w.n, "set aside is set aside", a.index, b.index);
	for (int kind = 0; kind < 4; kind++)
		holds(verdicts[w.n + (uint32_t)kind].aside == (enum wet_aside)(WET_ASIDE_WET + kind) &&
				  b.aside[WET_ASIDE_WET + kind] == 1,
			  "with its reason", kind, verdicts[w.n + (uint32_t)kind].aside);
}

int main(int argc, char **argv)
{
	test_prop_args(argc, argv, &seed, &count);
	printf("seed %llu, %ld cases of each kind\n", seed, count);
	wet_random_seed(&rnd, seed);
	for (int wrong = 0; wrong < 3; wrong++) {
		cover(WET_SENSE_DIRECT_POSITIVE, wrong / 10.0, false);
		cover(WET_SENSE_NEGATIVE, wrong / 10.0, false);
		cover(wrong % 2 ? WET_SENSE_NEGATIVE : WET_SENSE_DIRECT_POSITIVE, wrong / 10.0, true);
	}
	for (this_case = 0; this_case < count; this_case++)
		one_law();
	return 0;
}
