/* inside.h: what the files of the chemistry room share. */
#ifndef WET_CHEMISTRY_INSIDE_H
#define WET_CHEMISTRY_INSIDE_H

#include "wetside/formula.h"

/* The class of a line's substance. */
int class_of(const struct wet_substances *table, const struct wet_ingredient *ingredient);

/* Does the order of dissolving keep every rule? As wet_formula_check, which calls it last. */
int check_order(const struct wet_substances *table, const struct wet_formula *formula,
				struct wet_fault *reterr);

#endif
