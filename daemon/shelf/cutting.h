/* cutting.h: a cutting sequence as the recipe of a run, that no file holds: as text for the ledger, and back.
 *
 * The lines as they are said are stored, not what was asked: a later plan or wording moves no run. */
#ifndef WET_SHELF_CUTTING_H
#define WET_SHELF_CUTTING_H

#include "wetside/cutting.h"
#include "wetside/recipe.h"

#include <stddef.h>

#define WET_CUT_NUMBER_MOST 1000000 /* of a piece */
#define WET_CUT_NAME "cut"          /* of the recipe of such a run */

/* A piece that it makes. */
struct wet_cut_made {
	int number;
	int64_t width_um, height_um;
};
#define WET_CUT_MADE (2 * WET_RECIPE_STAGES) /* no cut makes more than two */

/* What is to be cut, and in which light. */
struct wet_cutting {
	char title[WET_LINE_BYTES];     /* "Cut: 12 pieces from 2 sheets of 24 x 30 cm" */
	char safelight[WET_NAME_BYTES]; /* the colour of a tested one; empty: in the dark */
	char box
		[WET_NAME_BYTES]; /* of the paper, towards which time under the safelight counts; empty: not told */
	bool is_resin_coated;
	int made_count;
	struct wet_cut_made made[WET_CUT_MADE];
	struct wet_cut_guide guide;
};

/* Canonical JSON: what the ledger keeps in place of a recipe; NUL-terminated, the caller's to free. WET_ERR_NOMEM. */
int wet_cutting_text(const struct wet_cutting *cutting, char **ret_json, size_t *ret_bytes,
					 struct wet_fault *reterr);

/* Back from that text, into a recipe of handling only: dark or under the safelight but for its last steps. */
int wet_cutting_decode(const char *json, size_t json_bytes, const char *where, struct wet_recipe *ret_recipe,
					   struct wet_fault *reterr);

/* What it says of its pieces, box and base, for the ledger; the guide is not read. WET_ERR_INVALID: no cutting sequence. */
int wet_cutting_made(const char *json, size_t json_bytes, struct wet_cutting *ret_cutting,
					 struct wet_fault *reterr);
/* One piece as the body of its entry: {"base", "box", "height_um", "mark", "number", "run", "state": "cut", "width_um"}. Returns buf. */
char *wet_cutting_piece(const struct wet_cutting *cutting, int piece, int64_t run_id, char *buf,
						size_t buf_bytes);

#endif
