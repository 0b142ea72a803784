/* dilution.h: quick dilution in exact integers. PURE.
 *
 * Parts always sum to the whole: stock + water == total, to the microlitre. */
#ifndef WETSIDE_DILUTION_H
#define WETSIDE_DILUTION_H

#include "wetside/errors.h"

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

#endif
