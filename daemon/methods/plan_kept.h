/* plan_kept.h: the plan as it was told when it was kept. */
#ifndef WET_METHODS_PLAN_KEPT_H
#define WET_METHODS_PLAN_KEPT_H

#include "methods/inside.h"

/* Keeps text, cautions and sheet of a plan's reply under its "kept_as", then sends the reply. Takes both. */
void keep_plan_sheet(struct pending *pending, json_t *result);

#endif
