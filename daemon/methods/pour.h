/* pour.h: the lines of the mixing sheet that say what to measure and pour, how warm. Inside methods only.
 *
 * Stock is rounded to the graduates there are, hot water too; the rest of the water makes up the volume, so that the
 * parts sum to it. What that does to strength and temperature is reckoned from what is measured, and told. */
#ifndef WET_METHODS_POUR_H
#define WET_METHODS_POUR_H

#include "darkroom/planning.h"

#include <jansson.h>

/* Where the lines go, and what they are made of; borrowed. */
struct pouring {
	const struct wet_planning_request *request;
	const struct wet_planning *p;
	json_t *lines;
};

/* The temperature at which the recipe wants this bath; the developer's, where it says none. */
int32_t pour_wanted_mc(const struct wet_recipe *recipe, int bath);
/* A bath that is freshly mixed: water, stock, and what comes of it. */
void pour_bath(const struct pouring *to, const struct wet_planning_part *part, const struct wet_plan_bath *bath);
/* Water alone, for a rinse. */
void pour_water(const struct pouring *to, int64_t volume_ul, int32_t target_mc);
/* What the stock's temperature was taken from, where it was not told; once for the sheet. */
void pour_stock_temperature(const struct pouring *to);

#endif
