/* hazard.h: what a solution or a substance can do to a person, in lines for people. Inside methods only. */
#ifndef WET_METHODS_HAZARD_H
#define WET_METHODS_HAZARD_H

#include "shelf/formulary.h"
#include "shelf/safety.h"

#include <jansson.h>

/* The solution as the formula makes it: {"signal", "pictograms", "lines", "why", "unknown"}. NULL
 * without memory. */
json_t *wet_formula_hazards(const struct wet_safety *safety, const struct wet_substances *table,
							const struct wet_formula *formula);
/* One substance: its classes, limits and advice, ended by the three closing lines. NULL without memory. */
json_t *wet_substance_lines(const struct wet_safety *safety, const struct wet_hazards *substance);

#endif
