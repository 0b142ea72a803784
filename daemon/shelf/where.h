/* where.h: the place of a mistake, "creek.json#/stages/3/aim", kept whole within a fault. Inside the shelf
 * only. */
#ifndef WET_SHELF_WHERE_H
#define WET_SHELF_WHERE_H

#include "wetside/errors.h"

/* Puts path and `joint` before fault->where. The pointer is worth more than the path: if both do not fit, the
 * path is cut at its left. NULL or "": no path. */
void wet_where_prefix(struct wet_fault *fault, const char *path, const char *joint);

#endif
