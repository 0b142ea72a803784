/* dilution_strength.c: percent by weight and by volume, by the densities of solutions. */
#include "chemistry/dilution_inside.h"

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

struct density_row {
	int32_t ww_milli;
	int64_t mg_per_l;
};

/* At 20 C. engineeringtoolbox.com d_1953 (acetic acid) and d_1957, which republish the CRC handbook's
 * concentrative properties; tests/data/solution_density.json. */
static const struct density_row acetic_acid[] = {
	{ 1000, 999600 },   { 10000, 1012100 }, { 20000, 1025000 }, { 30000, 1036900 },
	{ 40000, 1047400 }, { 50000, 1056200 }, { 70000, 1067300 }, { 100000, 1047700 },
};
static const struct density_row sodium_carbonate[] = { { 5000, 1050200 }, { 10000, 1102900 } };
static const struct density_row sodium_thiosulfate[] = { { 1000, 1006500 },
														 { 5000, 1039900 },
														 { 20000, 1174000 } };

static const struct {
	const char *name;
	const struct density_row *rows;
	int count;
	bool is_liquid;
} solutes[WET_SOLUTE_N] = {
	[WET_SOLUTE_ACETIC_ACID] = { "acetic acid", acetic_acid, 8, true },
	[WET_SOLUTE_SODIUM_CARBONATE] = { "sodium carbonate", sodium_carbonate, 2, false },
	[WET_SOLUTE_SODIUM_THIOSULFATE] = { "sodium thiosulfate", sodium_thiosulfate, 3, false },
};

const char *wet_solute_name(enum wet_solute solute)
{
	return solute >= 0 && solute < WET_SOLUTE_N ? solutes[solute].name : "";
}

/* A name as people write it, or as a key with dashes for blanks. */
static bool is_named(const char *text, const char *name)
{
	while (*text && (*text == *name || (*text == '-' && *name == ' '))) {
		text++;
		name++;
	}
	return *text == *name;
}

int wet_parse_solute(const char *text, enum wet_solute *ret_solute, struct wet_fault *reterr)
{
	for (int i = 0; i < WET_SOLUTE_N; i++)
		if (is_named(text, solutes[i].name)) {
			*ret_solute = (enum wet_solute)i;
			return WET_OK;
		}
	return wet_fault_set(
		reterr, WET_ERR_NOT_FOUND, "", text,
		"acetic acid, sodium carbonate or sodium thiosulfate: of others no densities are known here");
}

int wet_density(enum wet_solute solute, int32_t ww_milli, int64_t *ret_mg_per_l, struct wet_fault *reterr)
{
	char low[24], high[24], found[24];
	if (solute < 0 || solute >= WET_SOLUTE_N)
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "solute", NULL, "a solute whose densities are known");
	const struct density_row *rows = solutes[solute].rows, *last = rows + solutes[solute].count - 1;
	wet_print_percent(ww_milli, found, sizeof found);
	if (ww_milli < rows->ww_milli || ww_milli > last->ww_milli)
		return wet_fault_set(reterr, WET_ERR_RANGE, "", found,
							 "%s from %s to %s w/w: no density is published beyond", solutes[solute].name,
							 wet_print_percent(rows->ww_milli, low, sizeof low),
							 wet_print_percent(last->ww_milli, high, sizeof high));
	while (rows[1].ww_milli < ww_milli)
		rows++;
	if (rows->ww_milli == ww_milli || rows[1].ww_milli == ww_milli) {
		*ret_mg_per_l = rows[rows->ww_milli != ww_milli].mg_per_l;
		return WET_OK;
	}
	if (rows[1].mg_per_l < rows->mg_per_l) /* over the maximum no straight line leads */
		return wet_fault_set(reterr, WET_ERR_RANGE, "", found,
							 "%s up to %s, or %s w/w: in between the density has its maximum, and no value",
							 solutes[solute].name, wet_print_percent(rows->ww_milli, low, sizeof low),
							 wet_print_percent(rows[1].ww_milli, high, sizeof high));
	int64_t span = rows[1].ww_milli - rows->ww_milli, rise = rows[1].mg_per_l - rows->mg_per_l;
	*ret_mg_per_l = rows->mg_per_l + scale_volume(rise, ww_milli - rows->ww_milli, span);
	return WET_OK;
}

int wet_strength_from_density(enum wet_solute solute, int64_t mg_per_l, int32_t *ret_ww_milli,
							  struct wet_fault *reterr)
{
	if (solute < 0 || solute >= WET_SOLUTE_N)
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "solute", NULL, "a solute whose densities are known");
	if (solute == WET_SOLUTE_ACETIC_ACID)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "", NULL,
							 "the label: acid of about 53 %% and glacial acid have the same density");
	const struct density_row *rows = solutes[solute].rows, *last = rows + solutes[solute].count - 1;
	if (mg_per_l < rows->mg_per_l || mg_per_l > last->mg_per_l)
		return wet_fault_set(reterr, WET_ERR_RANGE, "", NULL,
							 "a density from %.4f to %.4f g/mL for %s at 20 C", (double)rows->mg_per_l / 1e6,
							 (double)last->mg_per_l / 1e6, solutes[solute].name);
	while (rows[1].mg_per_l < mg_per_l)
		rows++;
	int64_t span = rows[1].ww_milli - rows->ww_milli, rise = rows[1].mg_per_l - rows->mg_per_l;
	*ret_ww_milli = rows->ww_milli + (int32_t)scale_volume(span, mg_per_l - rows->mg_per_l, rise);
	return WET_OK;
}

int wet_strength_mg_per_l(enum wet_solute solute, struct wet_strength strength, int64_t *ret_mg_per_l,
						  struct wet_fault *reterr)
{
	char text[32];
	int64_t density;
	int rc = WET_OK;
	wet_print_strength(strength, text, sizeof text);
	if (strength.milli <= 0 || strength.milli > 200000)
		return wet_fault_set(reterr, WET_ERR_RANGE, "", text, "a strength over nothing");
	switch (strength.kind) {
	case WET_PERCENT_WV: *ret_mg_per_l = strength.milli * 10LL; return WET_OK;
	case WET_PERCENT_WW: rc = wet_density(solute, strength.milli, &density, reterr); break;
	case WET_PERCENT_VV:
		if (solute < 0 || solute >= WET_SOLUTE_N || !solutes[solute].is_liquid)
			return wet_fault_set(reterr, WET_ERR_REFUSED, "", text, "w/v or w/w: %s is weighed, not measured",
								 solute < WET_SOLUTE_N ? wet_solute_name(solute) : "this");
		rc = wet_density(solute, 100000, &density, reterr);
		break;
	default:
		return wet_fault_set(reterr, WET_ERR_AMBIGUOUS, "", text,
							 "of what: grams in 100 mL (w/v), mL in 100 mL (v/v) or grams in 100 g (w/w)?");
	}
	if (rc == 0)
		*ret_mg_per_l = scale_volume(density, strength.milli, 100000);
	return rc;
}

int wet_percent_mass(int32_t wv_milli, int64_t total_ul, int64_t *ret_mass_mg, struct wet_fault *reterr)
{
	int rc = check_volume(total_ul, "make", reterr);
	if (rc != 0)
		return rc;
	if (wv_milli <= 0 || wv_milli > 200000)
		return wet_fault_set(reterr, WET_ERR_RANGE, "to", NULL, "a strength over nothing");
	*ret_mass_mg = scale_volume(total_ul, wv_milli, 100000); /* 100 % w/v is 1 mg in 1 ul */
	return WET_OK;
}

/* Both strengths as two numbers on one scale. */
static int on_one_scale(enum wet_solute solute, struct wet_strength stock, struct wet_strength target,
						int64_t *ret_stock, int64_t *ret_target, struct wet_fault *reterr)
{
	char a[32], b[32];
	bool is_same = stock.kind == target.kind;
	if (stock.milli <= 0 || target.milli <= 0)
		return wet_fault_set(reterr, WET_ERR_RANGE, "stock", NULL, "strengths over nothing");
	if (is_same && stock.kind != WET_PERCENT_WW) {
		*ret_stock = stock.milli;
		*ret_target = target.milli;
	} else if (solute == WET_SOLUTE_N) {
		return wet_fault_set(reterr, WET_ERR_REFUSED, "solute", NULL,
							 "what is dissolved: between %s and %s only its density leads; or weigh both",
							 wet_print_strength(stock, a, sizeof a), wet_print_strength(target, b, sizeof b));
	} else {
		int rc = wet_strength_mg_per_l(solute, stock, ret_stock, reterr);
		if (rc == 0)
			rc = wet_strength_mg_per_l(solute, target, ret_target, reterr);
		if (rc != 0)
			return rc;
	}
	if (*ret_target <= *ret_stock)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_REFUSED, "to", wet_print_strength(target, b, sizeof b),
						 "no stronger than the stock, which is %s", wet_print_strength(stock, a, sizeof a));
}

int wet_dilute_strength_make(enum wet_solute solute, struct wet_strength stock, struct wet_strength target,
							 int64_t total_ul, struct wet_dilution *ret_dilution, struct wet_fault *reterr)
{
	int64_t from, to;
	int rc = on_one_scale(solute, stock, target, &from, &to, reterr);
	return rc != 0 ? rc : wet_dilute_make(to, from - to, total_ul, ret_dilution, reterr);
}

int wet_dilute_strength_have(enum wet_solute solute, struct wet_strength stock, struct wet_strength target,
							 int64_t stock_ul, struct wet_dilution *ret_dilution, struct wet_fault *reterr)
{
	int64_t from, to;
	int rc = on_one_scale(solute, stock, target, &from, &to, reterr);
	return rc != 0 ? rc : wet_dilute_have(to, from - to, stock_ul, ret_dilution, reterr);
}
