/* caution.h: what meets, as members of a reply: [{"severity", "meeting", "rule", "first", "then", "forms", "harm", "needs",
 * "do", "source", "text"}], worst first; `text` is for people. Inside methods only. */
#ifndef WET_METHODS_CAUTION_H
#define WET_METHODS_CAUTION_H

#include "shelf/judge.h"
#include "shelf/shelf.h"

#include <jansson.h>

/* One caution between things of those names; `first` may be empty. NULL without memory. */
json_t *wet_caution_json(const struct wet_caution *caution, const char *first, const char *then);

/* Of a recipe, in a room that is hardly aired or not; last, and once, the baths of which nobody knows what they hold. NULL
 * without memory. */
json_t *wet_recipe_meets(const struct wet_recipe *recipe, const struct wet_formulary *formulary,
						 const struct wet_safety *safety, bool is_stale_air);

/* Nothing is weighed out that must not be: WET_ERR_REFUSED where pouring the list, or a substance of it, is forbidden. */
int wet_pouring_check(const struct wet_substances *substances, const struct wet_formula *formula,
					  const struct wet_weigh_out *list, const struct wet_pouring *pouring, const struct wet_safety *safety,
					  struct wet_fault *reterr);
/* What belongs to the line of one step; a list of texts. NULL without memory. */
json_t *wet_step_cautions(const struct wet_pouring *pouring, int step);

/* Bits of the baths that hold silver afterwards, as the recipe's note and its capacities say. */
unsigned wet_silver_baths(const struct wet_shelf_recipe *shelved);

/* Down one drain, one after the other, or in one bottle: lines for a mixing sheet. Bits of baths: what is poured away, and
 * what holds silver. */
void wet_discard_lines(const struct wet_recipe *recipe, const struct wet_formulary *formulary,
					   const struct wet_safety *safety, unsigned discarded, unsigned silver, json_t *lines);
/* What the sink and the trays of these baths must not be cleaned with: a line, or none. */
void wet_cleaner_line(const struct wet_recipe *recipe, const struct wet_formulary *formulary,
					  const struct wet_safety *safety, json_t *lines);

#endif
