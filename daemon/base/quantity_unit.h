/* quantity_unit.h: the exact factors of units, for the files of this room. */
#ifndef WET_BASE_QUANTITY_UNIT_H
#define WET_BASE_QUANTITY_UNIT_H

#include "wetside/quantity.h"

struct unit_factor {
	enum wet_quantity_kind kind;
	const char *text;    /* as printed */
	int64_t top, bottom; /* inner units of one, an exact fraction */
	int64_t zero;        /* this many of the unit are the zero of the inner unit: 32 of Fahrenheit */
};
const struct unit_factor *unit_factor(enum wet_unit unit);

#endif
