/* prop_exposure.c: random light, cameras, papers and wishes against the laws of exposure: twice the light halves the
 * metered time, and never lengthens what is given; twice the index too; a smaller aperture, more wanted or a filter never
 * shortens; reciprocity never shortens and its inverse comes back; the governing reading stays within what the paper
 * holds, and the exposure between the two readings; a flash tames; units go there and back.
 *   prop_exposure --seed S --count N */
#include "base/random.h"
#include "prop_args.h"
#include "wetside/exposure.h"
#include "wetside/quantity.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case;

static void holds(bool is_so, const char *law, double a, double b)
{
	if (is_so)
		return;
	printf("broken in case %ld: %s (%.17g, %.17g)\nagain: prop_exposure --seed %llu --count %ld\n", this_case, law, a, b,
		   seed, this_case + 1);
	exit(1);
}

static void same(double a, double b, const char *law)
{
	holds(fabs(a - b) <= 1e-9 * fmax(fabs(a), fabs(b)) + 1e-12, law, a, b);
}

static double between(double low, double high)
{
	return low + (high - low) * wet_random_unit(&rnd);
}

static bool one_in(uint64_t n)
{
	return wet_random_below(&rnd, n) == 0;
}

static struct wet_reciprocity some_law(void)
{
	struct wet_reciprocity law = { .kind = (enum wet_reciprocity_kind)wet_random_below(&rnd, 4) };
	law.from_s = one_in(2) ? 1 : exp(between(-2, 3));
	law.exponent = law.kind == WET_RECIPROCITY_POWER ? between(1, 2) : between(0.5, 2);
	law.added = between(0, 2);
	law.count = (uint32_t)wet_random_between(&rnd, 2, WET_RECIPROCITY_ROWS);
	double metered = exp(between(-2, 2)), given = metered * between(0.5, 3);
	for (uint32_t i = 0; i < law.count; i++) {
		law.metered_s[i] = metered;
		law.given_s[i] = given;
		metered *= between(1.05, 3);
		given *= between(1.05, 5);
	}
	return law;
}

static struct wet_exposure_ask some_ask(void)
{
	struct wet_exposure_ask a = { .sense = one_in(2) ? WET_SENSE_NEGATIVE : WET_SENSE_DIRECT_POSITIVE };
	a.f_number = exp2(between(1, 9));
	a.index = exp2(between(-2, 9));
	a.bright_ev100 = between(4, 17);
	a.shaded_ev100 = one_in(3) ? a.bright_ev100 : a.bright_ev100 - between(0, 8);
	a.place = one_in(2) ? WET_PLACE_GOVERNED : (enum wet_place)wet_random_below(&rnd, 4);
	a.place_stops = between(-1, 3);
	a.holds_stops = between(0.5, 4);
	a.more_stops = one_in(2) ? 0 : between(-3, 3);
	a.filter_stops = one_in(2) ? 0 : between(0, 4);
	a.bellows_stops = one_in(2) ? 0 : between(0, 3);
	a.flash_under_stops = one_in(2) ? 0 : between(1, 6);
	a.reciprocity = some_law();
	return a;
}

/* Two asks of which the second gets no less time. */
static void no_shorter(const struct wet_exposure_ask *a, const struct wet_exposure_ask *b, const char *law)
{
	struct wet_exposed x, y;
	if (wet_expose(a, &x, NULL) == 0 && wet_expose(b, &y, NULL) == 0)
		holds(y.given.time_s >= x.given.time_s * (1 - 1e-12) && y.metered_s >= x.metered_s * (1 - 1e-12), law, x.given.time_s,
			  y.given.time_s);
}

static void more_is_longer(const struct wet_exposure_ask *a)
{
	struct wet_exposure_ask b = *a;
	b.f_number *= between(1, 2);
	no_shorter(a, &b, "a smaller hole takes no less time");
	b = *a;
	b.more_stops += between(0, 2);
	no_shorter(a, &b, "more takes no less time");
	b = *a;
	b.filter_stops += between(0, 2);
	no_shorter(a, &b, "a filter takes no less time");
	b = *a;
	b.index /= between(1, 2);
	no_shorter(a, &b, "a slower paper takes no less time");
	b = *a;
	b.bright_ev100 -= 1;
	b.shaded_ev100 -= 1;
	no_shorter(a, &b, "less light takes no less time");
}

static void twice(const struct wet_exposure_ask *a, const struct wet_exposed *e)
{
	struct wet_exposure_ask b = *a;
	struct wet_exposed f;
	b.bright_ev100 += 1;
	b.shaded_ev100 += 1;
	b.reciprocity.kind = WET_RECIPROCITY_NONE;
	if (wet_expose(&b, &f, NULL) == 0) {
		same(f.metered_s * 2, e->metered_s, "twice the light, half the metered time");
		same(f.given.time_s, f.metered_s, "no law, no change");
	}
}

static void placed(const struct wet_exposure_ask *a, const struct wet_exposed *e)
{
	same(e->range_stops, a->bright_ev100 - a->shaded_ev100, "the range is what was read");
	if (a->place != WET_PLACE_GOVERNED)
		return;
	holds(e->ev100 <= a->bright_ev100 + 1e-9 && e->ev100 >= a->shaded_ev100 - 1e-9, "between the readings", e->ev100,
		  a->bright_ev100);
	if (a->sense == WET_SENSE_DIRECT_POSITIVE)
		holds(a->bright_ev100 - e->ev100 <= a->holds_stops + 1e-9, "the bright reading is held", e->ev100, a->holds_stops);
	else
		holds(e->ev100 - a->shaded_ev100 <= a->holds_stops + 1e-9, "the shaded reading is held", e->ev100, a->holds_stops);
}

static void flash_tames(const struct wet_exposure_ask *a, const struct wet_exposed *e)
{
	if (a->flash_under_stops > 0)
		holds(e->flash_range_stops <= e->range_stops + 1e-9 && e->flash_less_stops > 0 &&
				  e->shaded_stops > -a->flash_under_stops - 1e-9,
			  "a flash tames, and nothing is under it", e->flash_range_stops, e->range_stops);
	else
		same(e->flash_range_stops, e->range_stops, "no flash, no change");
}

static void law_and_back(const struct wet_reciprocity *law)
{
	double t = exp(between(-4, 9)), more = t * between(1.0001, 3);
	struct wet_given g = wet_reciprocity_give(law, t), h = wet_reciprocity_give(law, more);
	holds(g.time_s >= t, "never shorter", g.time_s, t);
	holds(h.time_s > g.time_s, "longer for longer", g.time_s, h.time_s);
	same(wet_reciprocity_metered_s(law, g.time_s), t, "there and back");
	holds(!g.is_clamped || g.time_s == t, "clamped is as metered", g.time_s, t);
}

static void bracketed(const struct wet_exposure_ask *a, const struct wet_exposed *e)
{
	struct wet_bracket rows[WET_BRACKET];
	uint32_t n = 1 + 2 * (uint32_t)wet_random_below(&rnd, 6);
	double step = between(0.1, 1.5);
	if (wet_bracket(a, e, step, n, rows, NULL) != 0) {
		double longest_s = wet_reciprocity_give(&a->reciprocity, e->metered_s * exp2(step * (n / 2))).time_s;
		holds(longest_s > 3.6e6, "only what is over 1000 h is refused", longest_s, n);
		return;
	}
	same(rows[n / 2].given.time_s, e->given.time_s, "the middle of the bracket");
	for (uint32_t i = 0; i < n; i++) {
		holds(i == 0 || rows[i].given.time_s > rows[i - 1].given.time_s, "more is longer", i, n);
		same(wet_reciprocity_metered_s(&a->reciprocity, rows[i].given.time_s), e->metered_s * exp2(rows[i].stops),
			 "steps are steps of light");
		if (rows[i].given.time_s > 20)
			holds(fabs(log2((double)rows[i].counted_ns / WET_NS_PER_S / rows[i].given.time_s)) < 1 / 25.0, "counting is near",
				  rows[i].given.time_s, i);
	}
}

static void units_there_and_back(void)
{
	double v = between(-6, 20), index = exp2(between(-4, 12)), k = between(10.6, 14);
	same(wet_ev_of_luminance(wet_luminance_cd_m2(v, index, k), index, k), v, "cd/m2");
	same(wet_ev_of_illuminance(wet_illuminance_lx(v, index, k * 20), index, k * 20), v, "lux");
	same(wet_index_of_degrees(wet_index_degrees(index)), index, "degrees");
	same(wet_ev_for_index(wet_ev_for_index(v, index, 100), 100, index), v, "index");
	double n = exp2(between(0, 9));
	same(wet_ev(n, wet_ev_time_s(v, n)), v, "time");
	/* Through text: what is typed as a time at an aperture, and as the luminance that makes it. */
	struct wet_meter meter = { .index = index, .k = k };
	struct wet_reading typed, seen;
	char text[80];
	double t = exp2(between(0, 10)), f = between(91, 500);
	snprintf(text, sizeof text, "%.6f s at f/%.6f", t, f);
	holds(wet_parse_reading(text, &meter, &typed, NULL) == 0, text, t, f);
	snprintf(text, sizeof text, "%.15f cd/m2", wet_luminance_cd_m2(typed.ev100, 100, k));
	if (wet_parse_reading(text, &meter, &seen, NULL) == 0 && wet_luminance_cd_m2(typed.ev100, 100, k) > 1)
		holds(fabs(typed.ev100 - seen.ev100) < 1e-9, "as typed, as seen", typed.ev100, seen.ev100);
}

int main(int argc, char **argv)
{
	long exposed = 0;
	test_prop_args(argc, argv, &seed, &count);
	printf("seed %llu, %ld cases\n", seed, count);
	for (this_case = 0; this_case < count; this_case++) {
		wet_random_seed(&rnd, seed * 1000003 + (unsigned long long)this_case);
		struct wet_exposure_ask a = some_ask();
		struct wet_exposed e;
		law_and_back(&a.reciprocity);
		units_there_and_back();
		if (wet_expose(&a, &e, NULL) != 0)
			continue;
		exposed++;
		more_is_longer(&a);
		twice(&a, &e);
		placed(&a, &e);
		flash_tames(&a, &e);
		bracketed(&a, &e);
	}
	printf("%ld of them exposed\n", exposed);
	if (exposed < count / 2) {
		printf("too few to show anything\n");
		return 1;
	}
	return 0;
}
