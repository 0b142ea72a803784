/* prop_blend.c: random hot and cold water, stock, vessel and graduate against the laws of a blend:
 * the parts sum to the whole; it is refused exactly when the target is not between all cold and all hot; more
 * hot water is never cooler; the blend is between its parts; no other measurable volume is nearer; what is
 * said to help helps, and nothing less does; twice of everything is as warm.
 *   prop_blend --seed S --count N */
#include "base/random.h"
#include "wetside/tempering.h"
#include "prop_args.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case;

static void broken(const char *law, double a, double b)
{
	printf("broken in case %ld: %s (%.17g, %.17g)\nagain: prop_blend --seed %llu --count %ld\n", this_case,
		   law, a, b, seed, this_case + 1);
	exit(1);
}

static int32_t between(int32_t low, int32_t high)
{
	return (int32_t)wet_random_between(&rnd, low, high);
}

/* Any liquid water; often the ends, and often two of one temperature. */
static int32_t some_mc(int32_t other)
{
	switch (wet_random_below(&rnd, 12)) {
	case 0: return 0;
	case 1: return 100000;
	case 2: return other;
	default: return between(0, 100000);
	}
}

static int64_t some_ul(void)
{
	static const int64_t most[] = { 10, 1000, 100000, 2000000, 100000000, WET_BLEND_UL_MAX / 2 };
	return wet_random_between(&rnd, 2, most[wet_random_below(&rnd, 6)]);
}

static struct wet_blend_ask random_ask(void)
{
	struct wet_blend_ask a = { .total_ul = some_ul() };
	a.hot_mc = some_mc(20000);
	a.cold_mc = some_mc(a.hot_mc);
	if (a.cold_mc > a.hot_mc) {
		int32_t cold = a.hot_mc;
		a.hot_mc = a.cold_mc;
		a.cold_mc = cold;
	}
	a.target_mc = wet_random_below(&rnd, 3) ? between(a.cold_mc, a.hot_mc) : some_mc(a.hot_mc);
	if (wet_random_below(&rnd, 2)) {
		a.stock_ul = wet_random_between(&rnd, 0, a.total_ul - 1);
		a.stock_mc = some_mc(a.cold_mc);
		if (wet_random_below(&rnd, 2)) {
			a.stock_g_per_l = between(700, 3000);
			a.stock_percent_milli = between(1, 100000);
			a.stock_solute_j_per_kg_k = between(0, 5000);
		}
	}
	if (wet_random_below(&rnd, 2)) {
		a.vessel_j_per_k =
			wet_random_below(&rnd, 4) ? between(1, 3000) : between(1, WET_VESSEL_J_PER_K_MAX / 2);
		a.vessel_mc = some_mc(a.target_mc);
	}
	a.step_ul = wet_random_below(&rnd, 2) ? 1 : wet_random_between(&rnd, 1, a.total_ul + 5);
	return a;
}

static int32_t temperature(const struct wet_blend_ask *a, int64_t hot_ul)
{
	int32_t mc = 0;
	int rc = wet_blend_temperature(a, hot_ul, &mc, NULL);
	if (rc != 0)
		broken("a temperature for each volume of hot water", rc, (double)hot_ul);
	return mc;
}

static void check_order(const struct wet_blend_ask *a, const struct wet_blend_range *r)
{
	int64_t water = a->total_ul - a->stock_ul, less = wet_random_between(&rnd, 0, water);
	int64_t more = wet_random_between(&rnd, less, water);
	if (temperature(a, less) > temperature(a, more))
		broken("more hot water is never cooler", (double)less, (double)more);
	if (temperature(a, 0) != r->all_cold_mc || temperature(a, water) != r->all_hot_mc)
		broken("the range is all cold and all hot", r->all_cold_mc, r->all_hot_mc);
	int32_t low = a->cold_mc, high = a->hot_mc;
	if (a->stock_ul > 0) {
		low = a->stock_mc < low ? a->stock_mc : low;
		high = a->stock_mc > high ? a->stock_mc : high;
	}
	if (a->vessel_j_per_k > 0) {
		low = a->vessel_mc < low ? a->vessel_mc : low;
		high = a->vessel_mc > high ? a->vessel_mc : high;
	}
	if (temperature(a, less) < low || temperature(a, less) > high)
		broken("a blend is between its parts", low, high);
}

static void check_volumes(const struct wet_blend_ask *a, const struct wet_blend *b,
						  const struct wet_blend_range *r)
{
	if (b->hot_ul < 0 || b->cold_ul < 0 || b->stock_ul != a->stock_ul || b->total_ul != a->total_ul ||
		b->hot_ul + b->cold_ul + b->stock_ul != a->total_ul)
		broken("the parts sum to the whole", (double)b->hot_ul, (double)b->cold_ul);
	if (b->hot_ul % a->step_ul != 0 && b->cold_ul != 0)
		broken("hot water can be measured, or is all of it", (double)b->hot_ul, (double)a->step_ul);
	if (b->temperature_mc != temperature(a, b->hot_ul))
		broken("the temperature is that of the volumes", b->temperature_mc, (double)b->hot_ul);
	int off = abs(b->temperature_mc - a->target_mc);
	if (b->hot_ul >= a->step_ul && abs(temperature(a, b->hot_ul - a->step_ul) - a->target_mc) < off - 1)
		broken("a step less is not nearer", b->temperature_mc, (double)b->hot_ul);
	if (b->cold_ul >= a->step_ul && abs(temperature(a, b->hot_ul + a->step_ul) - a->target_mc) < off - 1)
		broken("a step more is not nearer", b->temperature_mc, (double)b->hot_ul);
	/* One microlitre's worth, and the rounding to a millidegree. */
	double per_ul = (double)(r->all_hot_mc - r->all_cold_mc + 1) / (double)(a->total_ul - a->stock_ul);
	if (a->step_ul == 1 && off > 1 + 1.2 * per_ul)
		broken("without rounding it is the target", b->temperature_mc, a->target_mc);
	double least = (double)a->total_ul * 0.95 - 1, most = (double)a->total_ul * 1.05 + 1;
	if (!((double)b->blended_ul > least && (double)b->blended_ul < most))
		broken("about as much is in the vessel as was poured", (double)b->blended_ul, (double)a->total_ul);
}

/* One temperature changed to what is said to help: no longer on that side; a millidegree short of it:
 * still. */
static void check_help(const struct wet_blend_ask *a, const struct wet_blend_range *was, int32_t needed,
					   int32_t *lever, const char *name)
{
	struct wet_blend_range r;
	int32_t now = *lever, toward = was->reach == WET_BLEND_TOO_WARM ? 1 : -1;
	if (needed == WET_NO_HELP) {
		*lever = toward > 0 ? 100000 : 0;
		if (wet_blend_range(a, &r, NULL) != 0 || r.reach != was->reach)
			broken("no help means that nothing helps", (double)*lever, (double)r.reach);
		*lever = now;
		return;
	}
	if ((needed - now) * toward <= 0)
		broken(name, needed, now);
	*lever = needed;
	if (wet_blend_range(a, &r, NULL) != 0 || r.reach == was->reach)
		broken(name, needed, (double)r.reach);
	if (r.reach != WET_BLEND_REACHED && r.all_hot_mc - r.all_cold_mc > 3)
		broken("with help it is reached", needed, (double)r.reach);
	*lever = needed - toward;
	if (wet_blend_range(a, &r, NULL) != 0 || r.reach != was->reach)
		broken("nothing less helps", needed, (double)r.reach);
	*lever = now;
}

static void check_refusal(struct wet_blend_ask *a, const struct wet_blend_range *r)
{
	struct wet_blend b, untouched;
	struct wet_fault fault;
	memset(&b, 0x5a, sizeof b);
	memset(&untouched, 0x5a, sizeof untouched);
	if (wet_blend(a, &b, &fault) != WET_ERR_REFUSED || memcmp(&b, &untouched, sizeof b) != 0)
		broken("out of reach is refused, and nothing is told", a->target_mc, r->nearest_mc);
	if (strlen(fault.want) < 20 || strlen(fault.want) > sizeof fault.want - 4)
		broken("the refusal has room to say what is right", (double)strlen(fault.want), 0);
	bool is_too_warm = a->target_mc > r->all_hot_mc;
	if (r->reach != (is_too_warm ? WET_BLEND_TOO_WARM : WET_BLEND_TOO_COOL) ||
		r->nearest_mc != (is_too_warm ? r->all_hot_mc : r->all_cold_mc))
		broken("the nearest end is named", r->nearest_mc, r->reach);
	if (is_too_warm)
		check_help(a, r, r->hot_needed_mc, &a->hot_mc, "warmer hot water helps");
	else
		check_help(a, r, r->cold_needed_mc, &a->cold_mc, "cooler cold water helps");
	if (a->stock_ul > 0)
		check_help(a, r, r->stock_needed_mc, &a->stock_mc, "the stock's temperature helps");
	if (a->vessel_j_per_k > 0)
		check_help(a, r, r->vessel_needed_mc, &a->vessel_mc, "the vessel's temperature helps");
}

static void check_double(const struct wet_blend_ask *a, const struct wet_blend *b)
{
	struct wet_blend_ask twice = *a;
	twice.total_ul *= 2;
	twice.stock_ul *= 2;
	twice.vessel_j_per_k *= 2;
	if (temperature(&twice, 2 * b->hot_ul) != b->temperature_mc &&
		abs(temperature(&twice, 2 * b->hot_ul) - b->temperature_mc) > 1)
		broken("twice of everything is as warm", temperature(&twice, 2 * b->hot_ul), b->temperature_mc);
}

int main(int argc, char **argv)
{
	long reached = 0, refused = 0;
	test_prop_args(argc, argv, &seed, &count);
	printf("seed %llu count %ld\n", seed, count);
	wet_random_seed(&rnd, seed);
	for (this_case = 0; this_case < count; this_case++) {
		struct wet_blend_ask a = random_ask();
		struct wet_blend_range r;
		struct wet_blend b;
		int rc = wet_blend_range(&a, &r, NULL);
		if (rc != 0)
			broken("what is well formed has a range", rc, 0);
		check_order(&a, &r);
		bool is_between = a.target_mc >= r.all_cold_mc && a.target_mc <= r.all_hot_mc;
		if (!is_between) {
			refused++;
			check_refusal(&a, &r);
			continue;
		}
		reached++;
		if ((rc = wet_blend(&a, &b, NULL)) != 0 || r.reach != WET_BLEND_REACHED ||
			r.nearest_mc != a.target_mc)
			broken("what is between is reached", rc, r.reach);
		check_volumes(&a, &b, &r);
		check_double(&a, &b);
	}
	if (count >= 100 && (reached < count / 10 || refused < count / 10)) {
		printf("%ld reached and %ld refused: too few\n", reached, refused);
		return 1;
	}
	return 0;
}
