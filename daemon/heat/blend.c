/* blend.c: hot, cold and stock to a target. At the target the balance of heat is linear in the volume of hot
 * water, so that the volume is found without a search. */
#include "wetside/tempering.h"

#include "base/text.h"
#include "heat/mixture.h"
#include "wetside/quantity.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

#define LIQUID_MC 100000 /* water is liquid from 0 to here */
#define UL_PER_M3 1e9

static int check_temperature(int32_t mc, const char *where, struct wet_fault *reterr)
{
	char found[24];
	if (mc >= 0 && mc <= LIQUID_MC)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_RANGE, where, wet_print_temperature(mc, found, sizeof found),
						 "liquid water, 0 C to 100 C");
}

static int check_stock(const struct wet_blend_ask *ask, struct wet_fault *reterr)
{
	if (ask->stock_ul < 0)
		return wet_fault_set(reterr, WET_ERR_RANGE, "stock", NULL, "a volume of stock, or none");
	if (ask->stock_ul >= ask->total_ul) {
		char found[32], total[32];
		return wet_fault_set(reterr, WET_ERR_RANGE, "stock", wet_print_volume(ask->stock_ul, found, sizeof found),
							 "less stock than the total of %s, so that there is water to temper with",
							 wet_print_volume(ask->total_ul, total, sizeof total));
	}
	if (ask->stock_ul == 0)
		return WET_OK;
	if ((ask->stock_g_per_l == 0) != (ask->stock_percent_milli == 0))
		return wet_fault_set(reterr, WET_ERR_INVALID, "stock", NULL,
							 "density and strength of the stock together, or neither");
	if (ask->stock_g_per_l != 0 && (ask->stock_g_per_l < 700 || ask->stock_g_per_l > 3000))
		return wet_fault_set(reterr, WET_ERR_RANGE, "stock density", NULL, "a density of 0.7 to 3 g/mL");
	if (ask->stock_percent_milli < 0 || ask->stock_percent_milli > 100000)
		return wet_fault_set(reterr, WET_ERR_RANGE, "stock strength", NULL, "0 %% to 100 %% by mass");
	if (ask->stock_solute_j_per_kg_k < 0 || ask->stock_solute_j_per_kg_k > 5000)
		return wet_fault_set(reterr, WET_ERR_RANGE, "stock heat capacity", NULL, "at most 5000 J/(kg K)");
	return check_temperature(ask->stock_mc, "stock temperature", reterr);
}

static int check_ask(const struct wet_blend_ask *ask, struct wet_fault *reterr)
{
	int rc;
	if (ask->total_ul <= 0 || ask->total_ul > WET_BLEND_UL_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "total", NULL, "a volume over nothing, as in 600 mL");
	if (ask->step_ul <= 0 || ask->step_ul > WET_BLEND_UL_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "step", NULL,
							 "the division of the graduate, as in 10 mL");
	if ((rc = check_temperature(ask->target_mc, "target", reterr)) != 0 ||
		(rc = check_temperature(ask->hot_mc, "hot water", reterr)) != 0 ||
		(rc = check_temperature(ask->cold_mc, "cold water", reterr)) != 0 ||
		(rc = check_stock(ask, reterr)) != 0)
		return rc;
	if (ask->hot_mc < ask->cold_mc)
		return wet_fault_set(reterr, WET_ERR_INVALID, "hot water", NULL,
							 "the warmer water as hot and the cooler as cold");
	if (ask->vessel_j_per_k < 0 || ask->vessel_j_per_k > WET_VESSEL_J_PER_K_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "vessel", NULL, "a heat capacity in J/K, or none");
	return ask->vessel_j_per_k == 0 ? WET_OK : check_temperature(ask->vessel_mc, "vessel", reterr);
}

static int64_t water_ul(const struct wet_blend_ask *ask)
{
	return ask->total_ul - ask->stock_ul;
}

static double water_kg(double ul, int32_t mc)
{
	return ul / UL_PER_M3 * wet_water_density(mc / 1000.0);
}

/* hot_ul of hot water, the rest of the water cold, the stock and the vessel. */
static struct mixture mix(const struct wet_blend_ask *ask, int64_t hot_ul)
{
	struct mixture m = { 0, 0, 0 };
	double stock_c = ask->stock_mc / 1000.0, percent = ask->stock_percent_milli / 1000.0;
	mixture_add_water(&m, water_kg((double)hot_ul, ask->hot_mc), ask->hot_mc / 1000.0);
	mixture_add_water(&m, water_kg((double)(water_ul(ask) - hot_ul), ask->cold_mc), ask->cold_mc / 1000.0);
	if (ask->stock_ul > 0 && ask->stock_g_per_l == 0) {
		mixture_add_water(&m, water_kg((double)ask->stock_ul, ask->stock_mc), stock_c);
	} else if (ask->stock_ul > 0) {
		double kg = (double)ask->stock_ul / UL_PER_M3 * ask->stock_g_per_l;
		int32_t solute =
			ask->stock_solute_j_per_kg_k != 0 ? ask->stock_solute_j_per_kg_k : WET_SOLUTE_J_PER_KG_K;
		mixture_add_water(&m, kg * (1 - percent / 100), stock_c);
		mixture_add_other(&m, kg * percent / 100 * solute, stock_c);
	}
	if (ask->vessel_j_per_k > 0)
		mixture_add_other(&m, ask->vessel_j_per_k, ask->vessel_mc / 1000.0);
	return m;
}

static double mixed_c(const struct wet_blend_ask *ask, int64_t hot_ul)
{
	struct mixture m = mix(ask, hot_ul);
	return mixture_settle_c(&m);
}

static int32_t mixed_mc(const struct wet_blend_ask *ask, int64_t hot_ul)
{
	return (int32_t)lround(mixed_c(ask, hot_ul) * 1000);
}

/* -- what would help -------------------------------------------------------------- */

enum lever { LEVER_HOT, LEVER_COLD, LEVER_STOCK, LEVER_VESSEL };

static struct wet_blend_ask with(const struct wet_blend_ask *ask, enum lever lever, int32_t mc)
{
	struct wet_blend_ask a = *ask;
	switch (lever) {
	case LEVER_HOT: a.hot_mc = mc; break;
	case LEVER_COLD: a.cold_mc = mc; break;
	case LEVER_STOCK: a.stock_mc = mc; break;
	case LEVER_VESSEL: a.vessel_mc = mc; break;
	}
	return a;
}

/* Is the target no longer too warm (too cool) with this one temperature changed? */
static bool helps(const struct wet_blend_ask *ask, enum lever lever, int32_t mc, bool is_too_warm)
{
	struct wet_blend_ask a = with(ask, lever, mc);
	return is_too_warm ? mixed_mc(&a, water_ul(&a)) >= a.target_mc : mixed_mc(&a, 0) <= a.target_mc;
}

/* The least change that helps: between what is (does not help) and the end of liquid water. */
static int32_t needed_mc(const struct wet_blend_ask *ask, enum lever lever, int32_t now_mc, bool is_too_warm)
{
	int32_t bad = now_mc, good = is_too_warm ? LIQUID_MC : 0;
	if (!helps(ask, lever, good, is_too_warm))
		return WET_NO_HELP;
	while (good - bad > 1 || bad - good > 1) {
		int32_t mid = bad + (good - bad) / 2;
		if (helps(ask, lever, mid, is_too_warm))
			good = mid;
		else
			bad = mid;
	}
	return good;
}

static struct wet_blend_range range_of(const struct wet_blend_ask *ask)
{
	struct wet_blend_range r = { .all_cold_mc = mixed_mc(ask, 0),
								 .all_hot_mc = mixed_mc(ask, water_ul(ask)),
								 .reach = WET_BLEND_REACHED,
								 .nearest_mc = ask->target_mc,
								 .hot_needed_mc = WET_NO_HELP,
								 .cold_needed_mc = WET_NO_HELP,
								 .stock_needed_mc = WET_NO_HELP,
								 .vessel_needed_mc = WET_NO_HELP };
	if (ask->target_mc >= r.all_cold_mc && ask->target_mc <= r.all_hot_mc)
		return r;
	bool is_too_warm = ask->target_mc > r.all_hot_mc;
	if (is_too_warm) {
		r.reach = WET_BLEND_TOO_WARM;
		r.nearest_mc = r.all_hot_mc;
		r.hot_needed_mc = needed_mc(ask, LEVER_HOT, ask->hot_mc, true);
	} else {
		r.reach = WET_BLEND_TOO_COOL;
		r.nearest_mc = r.all_cold_mc;
		r.cold_needed_mc = needed_mc(ask, LEVER_COLD, ask->cold_mc, false);
	}
	if (ask->stock_ul > 0)
		r.stock_needed_mc = needed_mc(ask, LEVER_STOCK, ask->stock_mc, is_too_warm);
	if (ask->vessel_j_per_k > 0)
		r.vessel_needed_mc = needed_mc(ask, LEVER_VESSEL, ask->vessel_mc, is_too_warm);
	return r;
}

int wet_blend_range(const struct wet_blend_ask *ask, struct wet_blend_range *ret_range,
					struct wet_fault *reterr)
{
	int rc = check_ask(ask, reterr);
	if (rc == 0)
		*ret_range = range_of(ask);
	return rc;
}

/* A tenth of a degree for people, rounded so that what is told still holds. */
static char *print_tenth(int32_t mc, bool is_up, char *buf, unsigned buf_bytes)
{
	int32_t down = mc - (mc % 100 + 100) % 100;
	return wet_print_temperature(is_up && down < mc ? down + 100 : down, buf, buf_bytes);
}

static void append_need(char *text, size_t text_bytes, const char *what, int32_t mc, bool is_too_warm,
						int *count)
{
	char t[24];
	if (mc == WET_NO_HELP)
		return;
	wet_text_append(text, text_bytes, "%s%s at %s or %s", (*count)++ == 0 ? "; needs " : ", or ", what,
					print_tenth(mc, is_too_warm, t, sizeof t), is_too_warm ? "over" : "under");
}

static int refuse(const struct wet_blend_ask *ask, const struct wet_blend_range *r, struct wet_fault *reterr)
{
	bool is_too_warm = r->reach == WET_BLEND_TOO_WARM;
	char cold[24], hot[24], found[24], want[224] = "";
	int ways = 0;
	print_tenth(r->all_cold_mc, true, cold, sizeof cold);
	print_tenth(r->all_hot_mc, r->all_hot_mc - r->all_cold_mc < 200, hot,
				sizeof hot); /* never below the cold */
	wet_text_append(want, sizeof want, "%s (all cold) to %s (all hot), nearest is %s", cold, hot,
					is_too_warm ? hot : cold);
	append_need(want, sizeof want, "hot water", r->hot_needed_mc, is_too_warm, &ways);
	append_need(want, sizeof want, "cold water", r->cold_needed_mc, is_too_warm, &ways);
	append_need(want, sizeof want, "stock", r->stock_needed_mc, is_too_warm, &ways);
	append_need(want, sizeof want, "the vessel", r->vessel_needed_mc, is_too_warm, &ways);
	if (ways == 0)
		wet_text_append(want, sizeof want, "; no single change of water, stock or vessel is enough");
	wet_print_temperature(ask->target_mc, found, sizeof found);
	return wet_fault_set(reterr, WET_ERR_REFUSED, "target", found, "%s", want);
}

/* -- the volumes ------------------------------------------------------------------ */

/* Exact volume of hot water for the target, clamped to the water there is. */
static double exact_hot_ul(const struct wet_blend_ask *ask)
{
	struct mixture cold = mix(ask, 0), hot = mix(ask, water_ul(ask));
	double all = (double)water_ul(ask), target_c = ask->target_mc / 1000.0;
	double lack = -mixture_surplus_j(&cold, target_c);
	double gain = mixture_surplus_j(&hot, target_c) + lack; /* of all cold turned hot */
	if (lack <= 0 || gain <= 0)
		return 0;
	return fmin(all, all * (lack / gain));
}

static int64_t measured_hot_ul(const struct wet_blend_ask *ask)
{
	int64_t all = water_ul(ask), exact = (int64_t)exact_hot_ul(ask);
	int64_t less = exact - exact % ask->step_ul;
	int64_t more = less > all - ask->step_ul ? all : less + ask->step_ul;
	double target_c = ask->target_mc / 1000.0;
	double off_less = fabs(mixed_c(ask, less) - target_c), off_more = fabs(mixed_c(ask, more) - target_c);
	return off_more < off_less ? more : less;
}

static int64_t blended_ul(const struct wet_blend_ask *ask, int64_t hot_ul, double c)
{
	double water =
		water_kg((double)hot_ul, ask->hot_mc) + water_kg((double)(water_ul(ask) - hot_ul), ask->cold_mc);
	if (ask->stock_ul > 0)
		water += water_kg((double)ask->stock_ul, ask->stock_mc);
	return llround(water / wet_water_density(c) * UL_PER_M3);
}

int wet_blend(const struct wet_blend_ask *ask, struct wet_blend *ret_blend, struct wet_fault *reterr)
{
	struct wet_blend_range range;
	int rc = wet_blend_range(ask, &range, reterr);
	if (rc != 0)
		return rc;
	if (range.reach != WET_BLEND_REACHED)
		return refuse(ask, &range, reterr);
	int64_t hot_ul = measured_hot_ul(ask);
	double c = mixed_c(ask, hot_ul);
	struct wet_blend b = { .hot_ul = hot_ul,
						   .cold_ul = water_ul(ask) - hot_ul,
						   .stock_ul = ask->stock_ul,
						   .total_ul = ask->total_ul,
						   .temperature_mc = (int32_t)lround(c * 1000),
						   .blended_ul = blended_ul(ask, hot_ul, c) };
	assert(b.hot_ul >= 0 && b.cold_ul >= 0);
	assert(b.hot_ul + b.cold_ul + b.stock_ul == b.total_ul);
	*ret_blend = b;
	return WET_OK;
}

int wet_blend_temperature(const struct wet_blend_ask *ask, int64_t hot_ul, int32_t *ret_temperature_mc,
						  struct wet_fault *reterr)
{
	int rc = check_ask(ask, reterr);
	if (rc != 0)
		return rc;
	if (hot_ul < 0 || hot_ul > water_ul(ask))
		return wet_fault_set(reterr, WET_ERR_RANGE, "hot water", NULL,
							 "no more hot water than the total without the stock");
	*ret_temperature_mc = mixed_mc(ask, hot_ul);
	return WET_OK;
}
