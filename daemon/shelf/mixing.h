/* mixing.h: a formula at one volume as the recipe of a run, that no file holds: as text for the ledger, and back.
 *
 * The lines as they are said are stored, not what was asked: a later formula or wording moves no run. */
#ifndef WET_MIXING_H
#define WET_MIXING_H

#include "wetside/formula.h"
#include "wetside/recipe.h"

#include <stddef.h>

#define WET_MIX_PREFIX "mix-" /* of the recipe's name, before the formula's */

/* What is to be mixed. */
struct wet_mixing {
	const struct wet_substances *table; /* borrowed, as the formula is */
	const struct wet_formula *formula;
	struct wet_weigh_out list; /* of that formula */
	bool is_bath;              /* it goes on the shelf as a working solution, else as a bottle */
	char called[WET_NAME_BYTES];
	bool needs_acknowledgement; /* of the formula's note */
};

/* Canonical JSON: what the ledger keeps in place of a recipe; NUL-terminated, the caller's to free. WET_ERR_TOO_LONG: the
 * formula's name leaves no room; WET_ERR_NOMEM. */
int wet_mixing_text(const struct wet_mixing *mixing, char **ret_json, size_t *ret_bytes, struct wet_fault *reterr);

/* Back from that text, into a recipe of handling, mixing and standing. No recipe file reads so. */
int wet_mixing_decode(const char *json, size_t json_bytes, const char *where, struct wet_recipe *ret_recipe,
					  struct wet_fault *reterr);

#endif
