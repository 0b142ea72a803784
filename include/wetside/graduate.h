/* graduate.h: measuring with the graduates one owns. PURE.
 *
 * A volume is rounded to the graduations of the graduates there are; what that does to the strength, and how far
 * a graduate itself may be off, is told. Volumes in microlitres. */
#ifndef WETSIDE_GRADUATE_H
#define WETSIDE_GRADUATE_H

#include "wetside/errors.h"
#include "wetside/quantity.h"

#include <stdbool.h>
#include <stdint.h>

/* What it is; a jug with marks counts as a cylinder. */
enum wet_graduate_kind { WET_GRADUATE_CYLINDER, WET_GRADUATE_SYRINGE };
/* Classes of accuracy of cylinders. Unsaid counts as B, the worse. */
enum wet_graduate_class { WET_CLASS_UNSAID, WET_CLASS_A, WET_CLASS_B };

struct wet_graduate {
	enum wet_graduate_kind kind;
	enum wet_graduate_class class_of;
	int64_t capacity_ul; /* over 0 */
	int64_t step_ul;     /* the least graduation, over 0 and no more than the capacity */
	enum wet_unit unit;  /* in which it is marked */
};

#define WET_GRADUATES 12 /* as many as a shelf of one darkroom holds; a set of cylinders has seven */
#define WET_FILLS 20     /* whoever fills more often loses count */

/* "100mL", "100 mL A", "250 mL B/2 mL", "10 mL syringe/0.5 mL", "32 US fl oz/1 US fl oz". The least
 * graduation may be left out for the cylinders of the table; a syringe or a jug has to say it
 * (WET_ERR_NOT_FOUND, with an example). */
int wet_parse_graduate(const char *text, struct wet_graduate *ret_graduate, struct wet_fault *reterr);
/* "100 mL", "10 mL syringe". */
char *wet_print_graduate(const struct wet_graduate *graduate, char *buf, unsigned buf_bytes);

/* How far a volume measured in it may be off, either way.
 * Cylinders of 5, 10, 25, 50, 100, 250 and 500 mL: ASTM E1272-02 (2012), table 1, classes A and B, as quoted
 * at normservis.cz and standards.iteh.ai. The row of 1000 mL was cut off there and is not known. Least
 * graduations up to 100 mL from the same table; 2 mL for 250, 5 mL for 500, 10 mL for 1000: from memory.
 * Syringes: ISO 7886-1 as explained by SMTL (Phillips 2016): 1 mL, 1.5 % of the nominal + 2 % of the expelled
 * volume below half of it and 5 % of the expelled from half up; 10 mL below half, 1.5 % + 1 %.
 * WET_ERR_NOT_FOUND for everything else: no number is invented. WET_ERR_RANGE: not in this graduate. */
int wet_graduate_tolerance(const struct wet_graduate *graduate, int64_t volume_ul, int64_t *ret_tolerance_ul);

/* How a volume is measured: `full_fills` of one graduate to the brim mark, and then `last_ul` in another
 * (or the same) one. */
struct wet_measure {
	int64_t wanted_ul;
	int64_t measured_ul; /* the sum of the fills: what the marks say */
	uint32_t full;       /* index of the graduate filled to its capacity, where full_fills > 0 */
	uint32_t full_fills;
	uint32_t last;           /* index of the graduate of the last fill, where last_ul > 0 */
	int64_t last_ul;         /* a whole number of its graduations */
	int64_t tolerance_ul;    /* of all fills together, added; -1 unknown */
	int32_t tolerance_milli; /* of the measured volume, in thousandths of a percent; -1 unknown */
	bool is_coarse;          /* the tolerance is over 2 % of the volume: warn */
	bool is_too_coarse; /* over 10 %, or unknown and under two graduations: another way is wanted (rules of
							 * this house, no source) */
};
#define WET_MEASURE_GOOD_MILLI 3000 /* thousandths of a percent; one fill that is so right is enough */

/* Of the ways that are right to 3 %, rounding and tolerance together, the one with the fewest fills, then the most exact;
 * where there is none, the most exact (12 mL is once 10 mL and 2 mL in a 10 mL cylinder, not 12 mL in one of 100 mL). A
 * tolerance that is not known counts as a graduation here; both are rules of this house, no source.
 * WET_ERR_REFUSED: less than a half graduation of each that holds it, or over WET_FILLS fills. */
int wet_measure(const struct wet_graduate *graduates, uint32_t count, int64_t volume_ul,
				struct wet_measure *ret_measure, struct wet_fault *reterr);

/* The least that one of them measures to 2 %; where a tolerance is not known, ten graduations (to half of
 * one that is 5 %: common practice, no source) or, where it has fewer, all of it. */
int64_t wet_graduates_least(const struct wet_graduate *graduates, uint32_t count);
/* The capacity of the largest. */
int64_t wet_graduates_most(const struct wet_graduate *graduates, uint32_t count);

/* By how much the strength of a mix changes when stock and water are measured otherwise than wanted:
 * thousandths of a percent of the strength, positive is stronger. */
int32_t wet_strength_change_milli(int64_t stock_wanted_ul, int64_t water_wanted_ul, int64_t stock_ul,
								  int64_t water_ul);

#endif
