/* tempering.h: baths at the right temperature: water as it really is, hot and cold and stock to a target, and
 * the chill of dissolving.
 *
 * PURE: no clock, no allocation; a fault may be NULL. Depends on wetside/errors.h only. Liquid water of 0..100 C at
 * 101.325 kPa. Amounts and readings are integers; laws compute in double and are rounded once, at the end. Hot water
 * scalds: whoever shows a plan with it shows that caution too. */
#ifndef WETSIDE_TEMPERING_H
#define WETSIDE_TEMPERING_H

#include "wetside/errors.h"

#include <stdint.h>

/* -- water ------------------------------------------------------------------------ */

/* Density, kg/m3 (which is g/L). G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, eq. 16, with the reading taken over from
 * ITS-90 to IPTS-68 by the factor 1.00024. Within 0.005 kg/m3 of IAPWS R6-95 over 0..100 C. */
double wet_water_density(double temperature_c);
/* Specific enthalpy, J/kg, zero where IAPWS R6-95 has it (the liquid at the triple point). A polynomial of degree 7
 * fitted to R6-95 at 101.325 kPa, 0..100 C: within 0.3 J/kg, which is 0.0001 C. */
double wet_water_enthalpy(double temperature_c);
/* Specific heat at constant pressure, J/(kg K): the derivative of the above; within 0.3 J/(kg K) of R6-95. */
double wet_water_heat_capacity(double temperature_c);

/* -- blend ------------------------------------------------------------------------ */

#define WET_BLEND_UL_MAX 1000000000000000LL /* a million m3: beyond any vat */
#define WET_VESSEL_J_PER_K_MAX 100000000    /* 24 t of water */

/* Specific heat of a dissolved salt, for a stock or a solid of which nothing better is known: mass parts of water and
 * salt are added. An order of magnitude, from memory, no source; the sum is within some percent for salts. */
#define WET_SOLUTE_J_PER_KG_K 1200

/* What is asked. Volumes are as measured, each part at its own temperature, and they sum to total_ul: what is in the
 * vessel after mixing is a little less or more (ret->blended_ul). */
struct wet_blend_ask {
	int64_t total_ul;  /* over 0 */
	int32_t target_mc; /* 0..100 C, as all temperatures here */
	int32_t hot_mc;    /* not under cold_mc */
	int32_t cold_mc;
	int64_t stock_ul; /* 0: hot and cold alone; under total_ul */
	int32_t stock_mc; /* read only when stock_ul > 0, as the three below */
	/* Density and strength of the stock go together: a denser stock holds less heat a gram, so that the density
	 * alone would overstate it. Both 0: taken as the same volume of water. */
	int32_t stock_g_per_l;           /* density at its own temperature, 0 or 700..3000 */
	int32_t stock_percent_milli;     /* solute by mass, thousandths of a percent, 0..100 % */
	int32_t stock_solute_j_per_kg_k; /* 0: WET_SOLUTE_J_PER_KG_K; up to 5000 */
	int32_t vessel_j_per_k;          /* 0: without the vessel; mass times specific heat of what gets wet */
	int32_t vessel_mc;               /* read only when vessel_j_per_k > 0 */
	int64_t step_ul;                 /* the graduate's division; 1: no rounding */
};

/* What to pour. hot + cold + stock == total, to the microlitre. */
struct wet_blend {
	/* Hot is a whole number of steps; the cold fills up to the total. Or all is hot and the cold is 0. */
	int64_t hot_ul;
	int64_t cold_ul;
	int64_t stock_ul;
	int64_t total_ul;
	int32_t temperature_mc; /* what these rounded volumes give */
	int64_t blended_ul;     /* the volume at that temperature; solutes expand as water does, none contracts */
};

/* Where the target lies. */
enum wet_blend_reach {
	WET_BLEND_REACHED,
	WET_BLEND_TOO_WARM, /* the target is above the all-hot blend */
	WET_BLEND_TOO_COOL, /* the target is below the all-cold blend */
	WET_BLEND_REACH_N
};

#define WET_NO_HELP INT32_MIN /* no temperature within 0..100 C does it alone, or none is needed */

/* What can be reached, and what would make the target reachable. */
struct wet_blend_range {
	int32_t all_cold_mc; /* stock and vessel included */
	int32_t all_hot_mc;
	enum wet_blend_reach reach;
	int32_t nearest_mc; /* the target itself when it is reached */
	/* Each alone: for TOO_WARM the least temperature that does it, for TOO_COOL the highest. */
	int32_t hot_needed_mc;    /* TOO_WARM only */
	int32_t cold_needed_mc;   /* TOO_COOL only */
	int32_t stock_needed_mc;  /* when there is stock */
	int32_t vessel_needed_mc; /* when the vessel counts */
};

/* WET_ERR_RANGE or WET_ERR_FIT (no room for water) name the value; a target out of reach is a result here. */
int wet_blend_range(const struct wet_blend_ask *ask, struct wet_blend_range *ret_range,
					struct wet_fault *reterr);
/* The volumes. Reached is every target from all_cold_mc to all_hot_mc of the range, both included; outside it
 * WET_ERR_REFUSED, and the fault says what is reached and what would help. Of the two measurable volumes beside the
 * exact one that with the nearer temperature is taken. */
int wet_blend(const struct wet_blend_ask *ask, struct wet_blend *ret_blend, struct wet_fault *reterr);
/* The temperature of hot_ul poured and the rest of the water cold, whatever the target. */
int wet_blend_temperature(const struct wet_blend_ask *ask, int64_t hot_ul, int32_t *ret_temperature_mc,
						  struct wet_fault *reterr);

/* -- heat of solution ------------------------------------------------------------- */

/* A solid's enthalpy of solution at infinite dilution and 25 C; over 0 takes up heat, so that the water cools. */
struct wet_solution_heat {
	const char *formula;      /* "Na2CO3.10H2O": hydrates after a full stop */
	int32_t j_per_mol;        /* the value */
	int32_t spread_j_per_mol; /* half-width within which the sources agree, or the least that is claimed */
	int32_t lineages;         /* independent lines of data behind it */
	const char *source;       /* static */
};

/* WET_ERR_NOT_FOUND for every solid whose value was not checked against a published table: it is not known here, and
 * none is guessed (thiosulfate, sulfite and borax are among them). */
int wet_solution_heat(const char *formula, struct wet_solution_heat *ret_heat, struct wet_fault *reterr);

/* Dissolving a solid in water. */
struct wet_dissolving {
	int64_t water_ul; /* over 0, measured at water_mc */
	int32_t water_mc; /* 0..100 C */
	int64_t solid_mg; /* not negative */
	int32_t solid_mc; /* -50..100 C; usually the room's */
	double j_per_mol; /* enthalpy of solution, within 1e6 either way */
	double g_per_mol; /* molar mass, 1..2000, of the form that is weighed (with its water) */
};

/* What dissolving does. At darkroom strengths (0.5..1.5 mol/kg) the heat differs from that at infinite dilution by
 * some percent, 15 % at worst: that is spread_mc. */
struct wet_dissolved {
	int32_t temperature_mc;
	int32_t change_mc; /* by the heat of solution alone: warmer is over 0 */
	int32_t spread_mc; /* 15 % of the change, not negative */
};

#define WET_DISSOLVED_SPREAD 0.15 /* share of the change; the comment above says why */

/* WET_ERR_REFUSED when it would freeze or boil, with the temperature that the sum gives. */
int wet_dissolve(const struct wet_dissolving *ask, struct wet_dissolved *ret_dissolved,
				 struct wet_fault *reterr);

#endif
