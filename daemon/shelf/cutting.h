/* cutting.h: a cutting sequence as the recipe of a run, that no file holds: as text for the ledger, and back.
 *
 * The lines as they are said are stored, not what was asked: a later plan or wording moves no run. */
#ifndef WET_SHELF_CUTTING_H
#define WET_SHELF_CUTTING_H

#include "wetside/cutting.h"
#include "wetside/recipe.h"

#include <stddef.h>

#define WET_CUT_NAME "cut" /* of the recipe of such a run */

/* What is to be cut, and in which light. */
struct wet_cutting {
	char title[WET_LINE_BYTES];     /* "Cut: 12 pieces from 2 sheets of 24 x 30 cm" */
	char safelight[WET_NAME_BYTES]; /* the colour of a tested one; empty: in the dark */
	char box
		[WET_NAME_BYTES]; /* of the paper, towards which time under the safelight counts; empty: not told */
	struct wet_cut_guide guide;
};

/* Canonical JSON: what the ledger keeps in place of a recipe; NUL-terminated, the caller's to free. WET_ERR_NOMEM. */
int wet_cutting_text(const struct wet_cutting *cutting, char **ret_json, size_t *ret_bytes,
					 struct wet_fault *reterr);

/* Back from that text, into a recipe of handling only: dark or under the safelight but for its last steps. */
int wet_cutting_decode(const char *json, size_t json_bytes, const char *where, struct wet_recipe *ret_recipe,
					   struct wet_fault *reterr);

#endif
