/* formulary.h: files -> the substances and the formulas made of them, with exact errors.
 *
 * Beside the recipes: DIR/substances.json (the first folder that has one) and DIR/formulas/NAME.json (an earlier
 * folder's file hides a later one of its name). A bad file never stops the others; without a good table of substances
 * there are no formulas. */
#ifndef WET_FORMULARY_H
#define WET_FORMULARY_H

#include "wetside/formula.h"

#include <stddef.h>

#define WET_SUBSTANCES_FILE "substances.json"

/* One formula as loaded. Immutable; freed by the formulary. */
struct wet_formulary_item {
	struct wet_formula formula;
	char *json; /* the file as canonical JSON, NUL-terminated; owned by the formulary */
	size_t json_bytes;
	char path[256]; /* where it came from */
};

struct wet_formulary;

/* Loads from the folders of recipes (NULL-terminated; a missing one is skipped). 0 even if single files were bad:
 * those are in the list of faults. WET_ERR_NOMEM only. */
int wet_formulary_open(struct wet_formulary **ret_formulary, const char *const *recipe_dirs);
void wet_formulary_free(struct wet_formulary *formulary); /* NULL is fine */

const struct wet_substances *wet_formulary_substances(const struct wet_formulary *formulary);
size_t wet_formulary_count(const struct wet_formulary *formulary);
const struct wet_formulary_item *wet_formulary_at(const struct wet_formulary *formulary,
												  size_t i); /* by name */
const struct wet_formulary_item *wet_formulary_find(const struct wet_formulary *formulary,
													const char *name); /* or NULL */
size_t wet_formulary_fault_count(const struct wet_formulary *formulary);
const struct wet_fault *wet_formulary_fault(const struct wet_formulary *formulary, size_t i);
/* Why there is no formula of this name although there is a file; NULL: there is none, or it is well. */
const struct wet_fault *wet_formulary_fault_of(const struct wet_formulary *formulary, const char *name);

/* Decode one file's text: parse, read, and the check of the core. `where` prefixes faults (a path). */
int wet_substances_decode(const char *json, size_t json_bytes, const char *where,
						  struct wet_substances *ret_table, struct wet_fault *reterr);
int wet_formula_decode(const char *json, size_t json_bytes, const char *where,
					   const struct wet_substances *table, struct wet_formula *ret_formula,
					   struct wet_fault *reterr);

#endif
