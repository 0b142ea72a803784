/* sheet.h: the mixing sheet: what to do with graduate and thermometer, in the order of work. Inside methods only. */
#ifndef WET_METHODS_SHEET_H
#define WET_METHODS_SHEET_H

#include "darkroom/planning.h"

#include <jansson.h>

/* A list of lines; those to be ticked begin with "[ ] ". NULL without memory. */
json_t *wet_mixing_sheet(const struct wet_planning_request *request, const struct wet_planning *planning);

#endif
