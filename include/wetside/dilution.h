/* dilution.h: quick dilution in exact integers. PURE.
 *
 * Parts always sum to the whole: stock + water == total, to the microlitre. */
#ifndef WETSIDE_DILUTION_H
#define WETSIDE_DILUTION_H

#include "wetside/errors.h"
#include "wetside/quantity.h"

#include <stdint.h>

struct wet_dilution {
	int64_t stock_ul;
	int64_t water_ul;
	int64_t total_ul; /* stock + water */
};

/* a+b parts (thousandths) making `total`; stock is rounded to the nearest microlitre. */
int wet_dilute_make(int64_t a_milli, int64_t b_milli, int64_t total_ul, struct wet_dilution *ret_dilution,
					struct wet_fault *reterr);
/* a+b parts from the stock one has. */
int wet_dilute_have(int64_t a_milli, int64_t b_milli, int64_t stock_ul, struct wet_dilution *ret_dilution,
					struct wet_fault *reterr);
/* Percent by the same measure on both sides (v/v or w/v): C1 V1 = C2 V2. WET_ERR_REFUSED when the target
 * is stronger than the stock, with both strengths told. */
int wet_dilute_percent_make(int32_t stock_percent_milli, int32_t target_percent_milli, int64_t total_ul,
							struct wet_dilution *ret_dilution, struct wet_fault *reterr);
int wet_dilute_percent_have(int32_t stock_percent_milli, int32_t target_percent_milli, int64_t stock_ul,
							struct wet_dilution *ret_dilution, struct wet_fault *reterr);

/* -- more than two parts ----------------------------------------------------------- */

/* The volumes of all parts of a total, in the order of the parts; they sum to it (largest remainder).
 * WET_ERR_REFUSED when a part would be under a microlitre. */
int wet_dilute_parts_make(const struct wet_parts *parts, int64_t total_ul, int64_t ret_volumes_ul[WET_PARTS],
						  struct wet_fault *reterr);
/* The most that can be made of what one has: have_ul for each part, -1 for as much as is wanted (water).
 * The part that runs out first is used up. */
int wet_dilute_parts_most(const struct wet_parts *parts, const int64_t have_ul[WET_PARTS],
						  int64_t ret_volumes_ul[WET_PARTS], struct wet_fault *reterr);

/* -- two strengths, criss-cross ------------------------------------------------------
 * Strengths in thousandths of a percent of one kind, 0 <= low < high. Parts of the stronger: want - low;
 * of the weaker: high - want (alligation alternate, as pharmacists are taught it; tests/data/
 * dilution_examples.json). Volumes are taken to add up, as everywhere in this header. WET_ERR_REFUSED when
 * what is wanted is not between the two. */
struct wet_mix {
	int64_t high_ul;
	int64_t low_ul;
	int64_t total_ul; /* high + low */
};
/* In lowest terms; one of them is 0 where the stronger or the weaker is what is wanted. */
int wet_criss_cross(int32_t high_milli, int32_t low_milli, int32_t want_milli, int32_t *ret_parts_high,
					int32_t *ret_parts_low, struct wet_fault *reterr);
int wet_mix_make(int32_t high_milli, int32_t low_milli, int32_t want_milli, int64_t total_ul,
				 struct wet_mix *ret_mix, struct wet_fault *reterr);
/* The most of what one has; -1: as much as is wanted, of one of the two. */
int wet_mix_most(int32_t high_milli, int32_t low_milli, int32_t want_milli, int64_t have_high_ul,
				 int64_t have_low_ul, struct wet_mix *ret_mix, struct wet_fault *reterr);
/* What a mix of count (1..64) solutions is: the mean by volume, rounded to the nearest thousandth of a
 * percent. */
int wet_mix_strength(const int32_t *strengths_milli, const int64_t *volumes_ul, uint32_t count,
					 int32_t *ret_strength_milli);

/* -- in several steps -------------------------------------------------------------- */

#define WET_SERIES 6 /* five intermediate solutions would thin by far over a million times */

struct wet_series_step {
	struct wet_parts parts; /* what is drawn + water */
	int64_t draw_ul;        /* of the concentrate, or of the step before */
	int64_t water_ul;
	int64_t total_ul;
	int64_t left_ul; /* of this step's solution after the next draw; 0 for the last */
};
struct wet_series {
	uint32_t count;
	struct wet_series_step steps[WET_SERIES]; /* in the order of work */
};
/* Concentrate to stock to working: `count` (1..WET_SERIES) ratios of two parts, in the order of work. Each
 * step makes what the next draws, and the last the total. */
int wet_series_chain(const struct wet_parts *ratios, uint32_t count, int64_t total_ul,
					 struct wet_series *ret_series, struct wet_fault *reterr);
/* The fewest steps in which nothing under least_ul is drawn and no intermediate solution is over most_ul.
 * One step where that is enough. The intermediate solutions are whole parts (1+n), the weakest concentrated
 * ones that do; what is left of them is told. WET_ERR_REFUSED: the total itself is under least_ul, or no
 * such series. */
int wet_series_measurable(int64_t a_milli, int64_t b_milli, int64_t total_ul, int64_t least_ul,
						  int64_t most_ul, struct wet_series *ret_series, struct wet_fault *reterr);
/* The whole chain in lowest terms of thousandths, as one ratio; WET_ERR_RANGE where it is too thin. */
int wet_series_ratio(const struct wet_series *series, struct wet_parts *ret_parts);

/* -- percent by weight and by volume ------------------------------------------------- */

enum wet_solute {
	WET_SOLUTE_ACETIC_ACID,
	WET_SOLUTE_SODIUM_CARBONATE,
	WET_SOLUTE_SODIUM_THIOSULFATE, /* both as anhydrous */
	WET_SOLUTE_N
};
const char *wet_solute_name(enum wet_solute solute); /* "acetic acid"; static storage */
int wet_parse_solute(const char *text, enum wet_solute *ret_solute, struct wet_fault *reterr);
/* Density at 20 C of a solution of so many percent w/w, in milligrams per litre, interpolated between
 * published values and never outside them (WET_ERR_RANGE, with the range). Source of the values:
 * engineeringtoolbox.com d_1953 and d_1957, which republish concentrative properties of the CRC handbook; to
 * 0.0005 g/mL (glacial acetic acid 0.003). Acetic acid between 70 and 100 % is refused: the density has its
 * maximum there. */
int wet_density(enum wet_solute solute, int32_t ww_milli, int64_t *ret_mg_per_l, struct wet_fault *reterr);
/* Percent w/w from a hydrometer's reading at 20 C. Acetic acid is always WET_ERR_REFUSED: its density is the
 * same at about 53 and at 100 % (Cooley, 6th ed., vol. I), and glacial acid taken for half of it burns. */
int wet_strength_from_density(enum wet_solute solute, int64_t mg_per_l, int32_t *ret_ww_milli,
							  struct wet_fault *reterr);
/* Grams in a litre, as mg/L, of a strength of any kind; w/w by the density, v/v of acetic acid by that of
 * the pure acid (a v/v of a solid is WET_ERR_REFUSED). WET_PERCENT_UNSAID is WET_ERR_AMBIGUOUS. */
int wet_strength_mg_per_l(enum wet_solute solute, struct wet_strength strength, int64_t *ret_mg_per_l,
						  struct wet_fault *reterr);
/* Solids and pure liquids weighed into a volume: grams for a percent w/v. Milligrams. */
int wet_percent_mass(int32_t wv_milli, int64_t total_ul, int64_t *ret_mass_mg, struct wet_fault *reterr);
/* From one strength to another, of any kinds. Two of the same kind but w/w need no solute (WET_SOLUTE_N);
 * all others do. water_ul is what lacks to the total ("water to make"): volumes do not add up exactly, so
 * measure the stock and fill up. */
int wet_dilute_strength_make(enum wet_solute solute, struct wet_strength stock, struct wet_strength target,
							 int64_t total_ul, struct wet_dilution *ret_dilution, struct wet_fault *reterr);
int wet_dilute_strength_have(enum wet_solute solute, struct wet_strength stock, struct wet_strength target,
							 int64_t stock_ul, struct wet_dilution *ret_dilution, struct wet_fault *reterr);

#endif
