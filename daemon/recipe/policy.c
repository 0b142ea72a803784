/* policy.c: temperatures at which no run is armed or begun. The law (wetside/heat.h) refuses nothing. */
#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/recipe.h"

/* "At 55 F action practically ceases": early manual, Development of the Negative, gluedideas.com; "below 60 F
 * hydroquinone rapidly loses its developing power": The Wellington Photographic Handbook, p. 130. 55 F is
 * 12.8 C. */
#define HYDROQUINONE_MIN_MC 13000
/* Up to 80 F "possible with care and special solutions": US Army subcourse SS0509-8, Laboratory Procedures
 * (1988), p. 13; the last row of T.O. 33B-1-1, Table 6-16. 80 F is 26.7 C. */
#define ANY_MAX_MC 27000
/* Without a law the times hold at the reference; a degree off is about 7 % of development at a factor of 2
 * per 10 C, about what a half-degree reading on each side allows. Our decision. */
#define NO_LAW_SPAN_MC 1000

static bool is_development(enum wet_stage_kind kind)
{
	return kind == WET_STAGE_DEVELOP || kind == WET_STAGE_REDEVELOP;
}

/* Where the law was published or stated; a table is never extrapolated. */
static void law_range(const struct wet_law *law, int32_t *ret_min_mc, int32_t *ret_max_mc)
{
	int32_t min_mc = law->min_mc, max_mc = law->max_mc;
	if (law->kind == WET_LAW_TABLE && law->row_count > 0) {
		int32_t first_mc = law->rows[0].temperature_mc;
		int32_t last_mc = law->rows[law->row_count - 1].temperature_mc;
		min_mc = first_mc > min_mc ? first_mc : min_mc;
		max_mc = last_mc < max_mc ? last_mc : max_mc;
	} else if (law->kind == WET_LAW_NONE) {
		min_mc = law->tref_mc - NO_LAW_SPAN_MC;
		max_mc = law->tref_mc + NO_LAW_SPAN_MC;
	}
	*ret_min_mc = min_mc;
	*ret_max_mc = max_mc;
}

static int refuse_range(const struct wet_stage *stage, const char *where, const char *found, int32_t min_mc,
						int32_t max_mc, struct wet_fault *reterr)
{
	char low[24], high[24];
	wet_print_temperature(min_mc, low, sizeof low);
	wet_print_temperature(max_mc, high, sizeof high);
	const char *why = stage->law.kind == WET_LAW_TABLE  ? "the published table ends there"
					  : stage->law.kind == WET_LAW_NONE ? "this recipe gives no law of temperature"
														: "the law is not known beyond";
	return wet_fault_set(reterr, WET_ERR_POLICY, where, found,
						 "%s between %s and %s (%s): temper it in a water bath", stage->name, low, high, why);
}

int wet_temperature_policy(const struct wet_recipe *recipe, int stage, int32_t temperature_mc,
						   struct wet_fault *reterr)
{
	char where[32], found[24];
	if (stage < 0 || stage >= recipe->stage_count || temperature_mc == INT32_MIN)
		return WET_OK;
	const struct wet_stage *s = &recipe->stages[stage];
	if (!wet_stage_kind_is_bath(s->kind) || s->kind == WET_STAGE_RE_EXPOSE)
		return WET_OK;
	wet_text_format(where, sizeof where, "/stages/%d", stage);
	wet_print_temperature(temperature_mc, found, sizeof found);
	if (temperature_mc > ANY_MAX_MC)
		return wet_fault_set(reterr, WET_ERR_POLICY, where, found,
							 "%s at 27 C or cooler, as warm gelatin softens: stand it in cold water",
							 s->name);
	if (!is_development(s->kind))
		return WET_OK;
	if (recipe->developer == WET_DEVELOPER_HYDROQUINONE && temperature_mc < HYDROQUINONE_MIN_MC)
		return wet_fault_set(
			reterr, WET_ERR_POLICY, where, found,
			"%s at 13 C or warmer, as hydroquinone hardly works below: warm it in a water bath to "
			"the recipe's reference",
			s->name);
	int32_t min_mc, max_mc;
	law_range(&s->law, &min_mc, &max_mc);
	if (temperature_mc < min_mc || temperature_mc > max_mc)
		return refuse_range(s, where, found, min_mc, max_mc, reterr);
	return WET_OK;
}
