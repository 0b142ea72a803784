/* hazard.h: what a solution, a substance or a gas can do to a person, and how to work in the room, in lines for
 * people. Inside methods only. */
#ifndef WET_METHODS_HAZARD_H
#define WET_METHODS_HAZARD_H

#include "shelf/formulary.h"
#include "shelf/safety.h"

#include <jansson.h>

/* The solution as the formula makes it: {"signal", "pictograms", "lines", "why", "unknown"}. NULL
 * without memory. */
json_t *wet_formula_hazards(const struct wet_safety *safety, const struct wet_substances *table,
							const struct wet_formula *formula);
/* What is known of a substance or a gas, by any of its names, ended by the three closing lines; an empty list if there
 * is none of that name. NULL without memory, as below. */
json_t *wet_safety_lines(const struct wet_safety *safety, const char *name);
/* How to work safely in the room, by topic, with the same end; and where each rule is from. */
json_t *wet_room_lines(const struct wet_safety *safety);
json_t *wet_room_sources(const struct wet_safety *safety);
/* What is asked before the light goes out. */
json_t *wet_checklist(const struct wet_safety *safety);

/* One line more; cut at 400 bytes. */
void line_add(json_t *lines, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* The wording of a statement's code; "" if it is not known. */
const char *statement_wording(const struct wet_safety *safety, const char *code);

#endif
