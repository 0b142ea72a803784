/* tempering.h: baths at the right temperature: water as it really is, hot and cold and stock to a target, the
 * chill of dissolving, and how long a water bath takes.
 *
 * PURE: no clock, no allocation; a fault may be NULL. Depends on wetside/errors.h only. Liquid water of
 * 0..100 C at 101.325 kPa. Amounts and readings are integers; laws compute in double and are rounded once, at
 * the end. Hot water scalds: whoever shows a plan with it shows that caution too. */
#ifndef WETSIDE_TEMPERING_H
#define WETSIDE_TEMPERING_H

#include "wetside/errors.h"

#include <stdint.h>

/* mC; hotter water is shown with that caution. US CPSC document 5098 (Avoiding Tap Water Scalds): 120 F, 48.9 C, scalds in
 * five minutes; rounded down. */
#define WET_SCALD_MC 48000

/* -- water ------------------------------------------------------------------------ */

/* Density, kg/m3 (which is g/L). G. S. Kell, J. Chem. Eng. Data 20 (1975) 97 (coefficients from memory, held to
 * R6-95 by the tests), with the reading taken over from ITS-90 to IPTS-68 by the factor 1.00024. Within
 * 0.005 kg/m3 of IAPWS R6-95 over 0..100 C. */
double wet_water_density(double temperature_c);
/* Specific enthalpy, J/kg, zero where IAPWS R6-95 has it (the liquid at the triple point). A polynomial of
 * degree 7 fitted to R6-95 at 101.325 kPa, 0..100 C: within 0.3 J/kg, which is 0.0001 C. */
double wet_water_enthalpy(double temperature_c);
/* Specific heat at constant pressure, J/(kg K): the derivative of the above; within 0.3 J/(kg K) of R6-95. */
double wet_water_heat_capacity(double temperature_c);

/* -- blend ------------------------------------------------------------------------ */

#define WET_BLEND_UL_MAX 1000000000000000LL /* a million m3: beyond any vat */
#define WET_VESSEL_J_PER_K_MAX 100000000    /* 24 t of water */

/* Specific heat of a dissolved salt, for a stock or a solid of which nothing better is known: mass parts of
 * water and salt are added. An order of magnitude, from memory, no source; the sum is within some percent for
 * salts. */
#define WET_SOLUTE_J_PER_KG_K 1200

/* X(what a vessel is made of, its specific heat in J/(kg K)): from memory, no source; kinds of one material differ by
 * a tenth. */
#define WET_VESSEL_MATERIALS(X) X("glass", 840) X("steel", 500) X("plastic", 1800) X("aluminium", 900) X("porcelain", 850)

/* "400 g glass", "400g-glass": the mass of what gets wet and one of the words above, into J/K for vessel_j_per_k.
 * WET_ERR_INVALID: no such word; WET_ERR_RANGE: no mass, or over WET_VESSEL_J_PER_K_MAX. */
int wet_parse_vessel_heat(const char *text, int32_t *ret_j_per_k, struct wet_fault *reterr);

/* What is asked. Volumes are as measured, each part at its own temperature, and they sum to total_ul: what is
 * in the vessel after mixing is a little less or more (ret->blended_ul). */
struct wet_blend_ask {
	int64_t total_ul;  /* over 0 */
	int32_t target_mc; /* 0..100 C, as all temperatures here */
	int32_t hot_mc;    /* not under cold_mc */
	int32_t cold_mc;
	int64_t stock_ul; /* 0: hot and cold alone; under total_ul */
	int32_t stock_mc; /* read only when stock_ul > 0, as the three below */
	/* Density and strength of the stock go together: a denser stock holds less heat a gram, so that the
	 * density alone would overstate it. Both 0: taken as the same volume of water. */
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

/* WET_ERR_RANGE names the value (a stock that leaves no room for water is one); a target out of reach is a result here. */
int wet_blend_range(const struct wet_blend_ask *ask, struct wet_blend_range *ret_range,
					struct wet_fault *reterr);
/* The volumes. Reached is every target from all_cold_mc to all_hot_mc of the range, both included; outside it
 * WET_ERR_REFUSED, and the fault says what is reached and what would help. Of the two measurable volumes
 * beside the exact one that with the nearer temperature is taken. */
int wet_blend(const struct wet_blend_ask *ask, struct wet_blend *ret_blend, struct wet_fault *reterr);
/* The temperature of hot_ul poured and the rest of the water cold, whatever the target. */
int wet_blend_temperature(const struct wet_blend_ask *ask, int64_t hot_ul, int32_t *ret_temperature_mc,
						  struct wet_fault *reterr);

/* -- heat of solution ------------------------------------------------------------- */

/* A solid's enthalpy of solution at infinite dilution and 25 C; over 0 takes up heat, so that the water
 * cools. */
struct wet_solution_heat {
	const char *formula;      /* "Na2CO3.10H2O": hydrates after a full stop */
	int32_t j_per_mol;        /* the value */
	int32_t spread_j_per_mol; /* half-width within which the sources agree, or the least that is claimed */
	int32_t lineages;         /* independent lines of data behind it */
	const char *source;       /* static */
};

/* WET_ERR_NOT_FOUND for every solid whose value was not checked against a published table: it is not known
 * here, and none is guessed (thiosulfate, sulfite and borax are among them). */
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

/* What dissolving does. At darkroom strengths (0.5..1.5 mol/kg) the heat differs from that at infinite
 * dilution by some percent to 15 % (an estimate, no source): that is spread_mc. */
struct wet_dissolved {
	int32_t temperature_mc;
	int32_t change_mc; /* by the heat of solution alone: warmer is over 0 */
	int32_t spread_mc; /* 15 % of the change, not negative */
};

#define WET_DISSOLVED_SPREAD 0.15 /* share of the change; the comment above says why */

/* WET_ERR_REFUSED when it would freeze or boil, with the temperature that the sum gives. */
int wet_dissolve(const struct wet_dissolving *ask, struct wet_dissolved *ret_dissolved,
				 struct wet_fault *reterr);

/* -- a water bath ----------------------------------------------------------------- */

#define WET_TAU_NS_MAX 8640000000000000LL /* a hundred days */

/* Newton's law in a bath of constant temperature, T = bath + (T0 - bath) exp(-t/tau); tau in
 * 1..WET_TAU_NS_MAX. Temperatures -50..150 C. The time until `to` is reached: WET_ERR_REFUSED when it never
 * is (the bath's own temperature, one beyond it, or one on the side that leads away), and the fault says
 * between which it must lie. */
int wet_newton_time(int32_t from_mc, int32_t to_mc, int32_t bath_mc, int64_t tau_ns, int64_t *ret_time_ns,
					struct wet_fault *reterr);
/* The temperature after a time, not negative. */
int wet_newton_after(int32_t from_mc, int32_t bath_mc, int64_t tau_ns, int64_t for_ns,
					 int32_t *ret_temperature_mc, struct wet_fault *reterr);

/* A tank in a bath in a room: C1 T1' = k12 (T2 - T1); C2 T2' = k12 (T1 - T2) + k2r (Tr - T2). Solved in
 * closed form by the eigenvalues, which are real and not positive. */
struct wet_two_body {
	double tank_j_per_k;      /* over 0; 1 L of water has 4180 */
	double bath_j_per_k;      /* over 0 */
	double tank_bath_w_per_k; /* not negative */
	double bath_room_w_per_k; /* not negative */
	int32_t tank_mc;          /* at the beginning; -50..150 C, as the two below */
	int32_t bath_mc;
	int32_t room_mc;
};

/* Both temperatures after for_s, which is not negative. */
int wet_two_body_after(const struct wet_two_body *two, double for_s, double *ret_tank_c, double *ret_bath_c,
					   struct wet_fault *reterr);
/* The first time at which the tank has `target`, to the nearest nanosecond; WET_ERR_REFUSED when it never has
 * within `within_ns`, with the extreme it reaches. */
int wet_two_body_time(const struct wet_two_body *two, int32_t target_mc, int64_t within_ns,
					  int64_t *ret_time_ns, struct wet_fault *reterr);

/* -- fitting Newton's law --------------------------------------------------------- */

#define WET_FIT_READINGS 256       /* a reading a minute for four hours */
#define WET_FIT_TAU_SHARE_MAX 0.2  /* standard error of tau over tau, at most (design rule) */
#define WET_FIT_SURROUND_C_MAX 0.5 /* standard error of a free surrounding: any thermometer tells it better */
#define WET_FIT_WINDOW_TAU_MIN 1.0 /* free surrounding: window over tau, at least (see wet_newton_fit) */
#define WET_FIT_TAU_S_MAX (8640000.0) /* WET_TAU_NS_MAX */

/* One reading; times rise strictly. */
struct wet_newton_reading {
	double at_s;
	double temperature_c;
};

/* The law that fits best, and how well it is known. */
struct wet_newton_fit {
	double t0_c;       /* at the first reading */
	double surround_c; /* what it tends to: as told, or as fitted */
	double tau_s;
	double t0_error_c;       /* standard errors, of the fit's linear approximation */
	double surround_error_c; /* 0 when it was told */
	double tau_error_s;
	double squares_c2; /* sum of squared residuals */
	double covariance[3][3]; /* of T0, the logarithm of tau, the surrounding */
};

/* Readings that lie near each other in time, as one: means, and sums of squares and products about them. A law that bends
 * little within a bin has the same sum of squares over the bin as over its readings, so that hours of a probe keep what
 * they tell in a few bins. A reading alone is a bin of one. */
struct wet_newton_bin {
	double at_s, temperature_c; /* means */
	float tt, tc, cc;           /* about the means: s2, s C, C2 */
	uint32_t count;             /* readings */
};

/* Adds a reading that is not earlier than the last. With `room` bins filled, the two neighbours that lie nearest in time become
 * one. *io_count: bins, 0 at first; room is over 1. */
void wet_newton_bins_add(struct wet_newton_bin *bins, uint32_t *io_count, uint32_t room, double at_s, double temperature_c);

/* Least squares on the temperature (not on its logarithm, in which noise explodes near the end). `surround_c`
 * is the bath's or room's temperature, or NULL when it is to be found too: an open tray settles below the
 * room, by evaporation. `resolution_c` is the thermometer's division, 0 for unrounded data: the residuals are
 * never trusted to less than its uniform rounding error, resolution/sqrt(12).
 *
 * Refused (WET_ERR_REFUSED), because a number would mislead, with what would be right in the fault:
 *   - fewer readings than one more than what is to be found: 3, or 4 when the surrounding is free;
 *   - no best tau, or one over WET_FIT_TAU_S_MAX: the readings lie on a line, or on no such curve at all;
 *   - a free surrounding and a window (last - first) shorter than tau: line and curve differ too little;
 *   - a standard error of tau over a fifth of it, or of a free surrounding over half a degree. */
int wet_newton_fit(const struct wet_newton_reading *readings, uint32_t reading_count,
				   const double *surround_c, double resolution_c, struct wet_newton_fit *ret_fit,
				   struct wet_fault *reterr);
/* The same on bins, of which there are at most WET_FIT_READINGS; T0 is at the first bin's mean time. */
int wet_newton_fit_bins(const struct wet_newton_bin *bins, uint32_t bin_count, const double *surround_c,
						double resolution_c, struct wet_newton_fit *ret_fit, struct wet_fault *reterr);
/* Three readings, step_s apart, fix the law without a fit: surround = (T1 T3 - T2^2)/(T1 + T3 - 2 T2) and
 * tau = step / ln((T1 - T2)/(T2 - T3)). Nothing is known of the error. WET_ERR_REFUSED when no such law
 * passes through them (the second change must be the smaller, in the same direction). */
int wet_newton_three(double t1_c, double t2_c, double t3_c, double step_s, double *ret_surround_c,
					 double *ret_tau_s, struct wet_fault *reterr);

/* -- the constant of a vessel, learned ---------------------------------------------- */

#define WET_READING_ERROR_MC 100 /* standard error of one reading by hand against another by the same thermometer (design rule) */
#define WET_CONSTANT_SPREAD 0.15 /* from use to use: how full, how often turned, in what draught (an estimate, no source) */
#define WET_CONSTANT_TOLD_SHARE 0.3 /* standard error of a constant that was told, as a share of it (design rule) */
#define WET_SEEN_SHARE_MAX 0.5   /* a use that tells less, in error over rate, tells nothing */

/* What one use of a vessel told: 1/tau and its standard error. */
struct wet_cooling_seen {
	double rate_per_s, error_per_s;
};

/* What is known of a vessel: 0 for nothing. */
struct wet_constant {
	int64_t tau_ns;
	int64_t error_ns; /* standard error; 0: it was told */
	int count;        /* uses it was learned from */
};

/* From a bath's temperature at two times. WET_ERR_REFUSED: they tell too little, with why. */
int wet_cooling_from_two(int32_t from_mc, int32_t to_mc, int32_t room_mc, int64_t for_ns, struct wet_cooling_seen *ret_seen,
						 struct wet_fault *reterr);
/* Rates are averaged, each weighted by how well it is known. */
void wet_constant_learn(struct wet_constant *constant, const struct wet_cooling_seen *seen);

#endif
