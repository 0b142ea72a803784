/* wash.h: a wash that stands alone as a run: what was planned, as a recipe of our own that no file holds.
 *
 * The numbers of the plan are stored with the run, not what was asked: a later model of washing moves no run. */
#ifndef WET_DARKROOM_WASH_H
#define WET_DARKROOM_WASH_H

#include "wetside/recipe.h"
#include "wetside/wash.h"

#include <stdbool.h>
#include <stddef.h>

#define WET_WASH_NAME "stand-alone-wash" /* the recipe's name */
#define WET_WASHING_BYTES 320            /* of its text, with the NUL */

struct wet_washing {
	enum wet_base base;
	int32_t temperature_mc;   /* of the water it was planned for */
	int64_t aid_ns;           /* 0: no washing aid before */
	int64_t wash_ns;          /* in all */
	struct wet_waters waters; /* count 0: running water */
	int64_t water_ul;         /* of one fill; 0: running water */
};

/* "rc", "fibre-single", "fibre-double", "film": the base's word for options; static; "?" out of range. */
const char *wet_wash_base_key(enum wet_base base);
/* The base of a key, or of its word for people; WET_ERR_NOT_FOUND, with the keys there are. */
int wet_wash_base_from_key(const char *key, enum wet_base *ret_base, struct wet_fault *reterr);

void wet_washing_of(const struct wet_wash_ask *ask, const struct wet_wash_plan *plan, bool by_changes,
					struct wet_washing *ret_washing);
/* Canonical JSON: what the ledger keeps in place of a recipe. Returns buf. */
char *wet_washing_text(const struct wet_washing *washing, char *buf, unsigned buf_bytes);
/* Back from that text and no other; WET_ERR_CORRUPT. */
int wet_washing_from_text(const char *text, size_t text_bytes, struct wet_washing *ret_washing);
/* The aid if there is one, then the wash; both in the washer, both on go. */
void wet_wash_recipe(const struct wet_washing *washing, struct wet_recipe *ret_recipe);

#endif
