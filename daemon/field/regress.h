/* regress.h: a straight line through points of which some are wrong, for the files of this room. */
#ifndef WET_FIELD_REGRESS_H
#define WET_FIELD_REGRESS_H

#include "wetside/judgement.h"

#include <stdbool.h>
#include <stdint.h>

struct field_line {
	double level, slope;                   /* y = level + slope x; slope 0 where none is fitted */
	double level_half, slope_half;         /* half widths of the intervals */
	double middle, middle_half;            /* weighted middle of x; half width of the level there */
	double scale;
	double weights[WET_RESULTS];
};

/* n from 4 to WET_RESULTS; with a slope the x are not all alike. The method is told in judgement.h. */
void field_fit(const double *x, const double *y, uint32_t n, bool has_slope, struct field_line *ret_line);
/* Sorts `values` and returns their middle; n over 0. */
double field_median(double *values, uint32_t n);

#endif
