/* solution.c: the heat of dissolving. */
#include "wetside/tempering.h"

#include "heat/mixture.h"
#include "wetside/quantity.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Distribution databases of the geochemical model PHREEQC (U.S. Geological Survey, usgs-coupled/phreeqc3,
 * commit 8176af0c), 25 C, infinite dilution; reactions written with H+ are corrected by HCO3- = CO3-2 + H+,
 * +14.70 kJ/mol. Thermoddem and ThermoChimie share primary data and count as one lineage; llnl is another. */
#define LLNL_AND_THERMODDEM "PHREEQC databases llnl and Thermoddem, 25 C, infinite dilution"
#define ALL_THREE "PHREEQC databases llnl, Thermoddem and ThermoChimie, 25 C, infinite dilution"
#define SHARED "PHREEQC databases Thermoddem and ThermoChimie, 25 C, infinite dilution"

/* 2500 J/mol is the least spread that is claimed; no two sources here differ by more. */
static const struct wet_solution_heat heats[] = {
	{ "Na2CO3", -25930, 2500, 2, LLNL_AND_THERMODDEM },      /* -25.15, -26.71 kJ/mol */
	{ "Na2CO3.7H2O", 42680, 2500, 2, ALL_THREE },            /* 42.49, 42.68, 42.68 */
	{ "Na2CO3.10H2O", 64870, 2500, 2, ALL_THREE },           /* 65.18, 64.87, 64.87 */
	{ "K2CO3", -31800, 2500, 1, SHARED },                    /* -31.80, -31.80 */
	{ "K2CO3.1.5H2O", -1190, 2500, 1, SHARED },              /* -1.19, -1.19 */
	{ "Na2SO4", -2400, 2500, 2, LLNL_AND_THERMODDEM },       /* -2.33, -2.46 */
	{ "Na2SO4.10H2O", 79440, 2500, 2, LLNL_AND_THERMODDEM }, /* 79.41, 79.47 */
};

int wet_solution_heat(const char *formula, struct wet_solution_heat *ret_heat, struct wet_fault *reterr)
{
	for (size_t i = 0; i < sizeof heats / sizeof heats[0]; i++) {
		if (strcmp(heats[i].formula, formula) == 0) {
			*ret_heat = heats[i];
			return WET_OK;
		}
	}
	return wet_fault_set(
		reterr, WET_ERR_NOT_FOUND, "heat of solution", formula,
		"a heat of solution with its source; it is not known here, so measure the temperature "
		"after dissolving");
}

static int check_dissolving(const struct wet_dissolving *ask, struct wet_fault *reterr)
{
	if (ask->water_ul <= 0 || ask->water_ul > WET_BLEND_UL_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "water", NULL, "a volume over nothing, as in 600 mL");
	if (ask->water_mc < 0 || ask->water_mc > 100000)
		return wet_fault_set(reterr, WET_ERR_RANGE, "water", NULL, "liquid water, 0 C to 100 C");
	if (ask->solid_mg < 0 || ask->solid_mg > WET_BLEND_UL_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "solid", NULL, "a mass, as in 40 g");
	if (ask->solid_mc < -50000 || ask->solid_mc > 100000)
		return wet_fault_set(reterr, WET_ERR_RANGE, "solid", NULL, "a temperature of -50 C to 100 C");
	if (!(fabs(ask->j_per_mol) <= 1e6))
		return wet_fault_set(reterr, WET_ERR_RANGE, "heat of solution", NULL, "at most 1000 kJ/mol");
	if (!(ask->g_per_mol >= 1 && ask->g_per_mol <= 2000))
		return wet_fault_set(reterr, WET_ERR_RANGE, "molar mass", NULL, "1 to 2000 g/mol");
	return WET_OK;
}

int wet_dissolve(const struct wet_dissolving *ask, struct wet_dissolved *ret_dissolved,
				 struct wet_fault *reterr)
{
	char found[24];
	struct mixture m = { 0, 0, 0 };
	int rc = check_dissolving(ask, reterr);
	if (rc != 0)
		return rc;
	double water_c = ask->water_mc / 1000.0, solid_g = (double)ask->solid_mg / 1000;
	mixture_add_water(&m, (double)ask->water_ul / 1e9 * wet_water_density(water_c), water_c);
	mixture_add_other(&m, solid_g / 1000 * WET_SOLUTE_J_PER_KG_K, ask->solid_mc / 1000.0);
	double undissolved_c = mixture_settle_c(&m);
	m.heat_j -= ask->j_per_mol * solid_g / ask->g_per_mol;
	double c = mixture_settle_c(&m);
	if (c < 0 || c > 100)
		return wet_fault_set(
			reterr, WET_ERR_REFUSED, "dissolving",
			wet_print_temperature((int32_t)lround(c * 1000), found, sizeof found), "%s",
			c < 0 ? "more or warmer water: this would freeze"
				  : "much more or cooler water, and the solid in small portions: this would boil");
	*ret_dissolved = (struct wet_dissolved){
		.temperature_mc = (int32_t)lround(c * 1000),
		.change_mc = (int32_t)lround((c - undissolved_c) * 1000),
		.spread_mc = (int32_t)lround(fabs(c - undissolved_c) * 1000 * WET_DISSOLVED_SPREAD),
	};
	return WET_OK;
}
