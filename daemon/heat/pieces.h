/* pieces.h: a law as a polyline of log rate over temperature. Inside heat only. */
#ifndef WET_HEAT_PIECES_H
#define WET_HEAT_PIECES_H

#include "wetside/heat.h"

struct pieces {
	int count;                                      /* knots; 0: the straight line slope * (c - zero_c) */
	double c[WET_LAW_ROWS], log_rate[WET_LAW_ROWS]; /* rising; flat beyond the ends */
	double slope, zero_c;
	double min_c, max_c; /* temperatures are clamped to these first */
};

void pieces_of(const struct wet_law *law, struct pieces *ret_pieces);
double pieces_log_rate(const struct pieces *pieces, double c);

#endif
