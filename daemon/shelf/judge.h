/* judge.h: what meets in a recipe: its baths' formulas, and what a print carries from bath to bath. Files are read by then;
 * nothing is kept but pointers into the tables of safety data. */
#ifndef WET_SHELF_JUDGE_H
#define WET_SHELF_JUDGE_H

#include "shelf/formulary.h"
#include "shelf/safety.h"
#include "wetside/caution.h"

#define WET_CAUTION_BYTES 768 /* one caution in words */

/* What is met, worst first. */
struct wet_judgement {
	int caution_count;
	struct wet_caution cautions[WET_CAUTIONS]; /* `first` and `then`: places of baths */
	unsigned unknown;              /* bits of baths of which nobody knows, or not all, what they hold */
	unsigned acid;                 /* bits of baths that hold an acid */
	const struct wet_hazards *refused; /* a substance nothing is planned with; NULL: none */
	char forbidden[2 * WET_LINE_BYTES]; /* what would be right, where no run and no plan may be; or "" */
};

/* In a room that is hardly aired, or not. */
void wet_judge_recipe(const struct wet_recipe *recipe, const struct wet_formulary *formulary,
					  const struct wet_safety *safety, bool is_stale_air, struct wet_judgement *ret_judgement);

/* "Care: Stop bath to Fixer. Drain prints well between stop and fixer. Gives ..., what to do". Empty names are left out.
 * Returns buf. */
char *wet_caution_text(const struct wet_caution *caution, const char *first, const char *then, char *buf,
					   unsigned buf_bytes);
/* The same for the baths of a recipe. */
char *wet_recipe_caution_line(const struct wet_recipe *recipe, const struct wet_caution *caution, char *buf,
							  unsigned buf_bytes);

#endif
