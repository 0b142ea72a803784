/* inside.h: what the files of the chemistry room share. */
#ifndef WET_CHEMISTRY_INSIDE_H
#define WET_CHEMISTRY_INSIDE_H

#include "wetside/formula.h"

/* The class of a line's substance. */
int class_of(const struct wet_substances *table, const struct wet_ingredient *ingredient);

/* Does the order of dissolving keep every rule? As wet_formula_check, which calls it last. */
int check_order(const struct wet_substances *table, const struct wet_formula *formula,
				struct wet_fault *reterr);

/* What the scale shows, and in grams beside it, where it shows another unit: "48 grains (3.11 g)". Returns buf. */
char *print_weighed(const struct wet_scale *scale, int64_t mass_mg, char *buf, unsigned buf_bytes);

#endif
