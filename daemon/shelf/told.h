/* told.h: what a recipe tells people beside its stages. Inside the shelf only. */
#ifndef WET_SHELF_TOLD_H
#define WET_SHELF_TOLD_H

#include "shelf/reader.h"

/* "remarks": reasons and warnings; "reading": what is seen after a test, and what it means. Both are judged here and
 * kept nowhere: who shows them reads the recipe's own text. */
int wet_read_remarks(struct reader *r, const json_t *value, void *object, const struct field *field);
int wet_read_reading(struct reader *r, const json_t *value, void *object, const struct field *field);

#endif
