/* sheet.h: the mixing sheet: what to do with graduate and thermometer, in the order of work. Inside methods only. */
#ifndef WET_METHODS_SHEET_H
#define WET_METHODS_SHEET_H

#include "darkroom/planning.h"
#include "shelf/formulary.h"
#include "shelf/shelf.h"

#include <jansson.h>

/* What a sheet knows of its solutions beside the plan. */
struct wet_sheet_care {
	const struct wet_shelf_recipe *shelved; /* NULL: nothing of them is known */
	const struct wet_formulary *formulary;
	const struct wet_safety *safety;
};

/* A list of lines; those to be ticked begin with "[ ] ". NULL without memory. */
json_t *wet_mixing_sheet(const struct wet_planning_request *request, const struct wet_planning *planning,
						 const struct wet_sheet_care *care);

#endif
