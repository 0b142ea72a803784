/* mix.h: reads the `mix` of a bath into struct wet_bath_mix. Inside the shelf only. */
#ifndef WET_SHELF_MIX_H
#define WET_SHELF_MIX_H

#include "shelf/reader.h"
#include "wetside/recipe.h"

int wet_read_mix(struct reader *r, const json_t *value, void *object, const struct field *field);

#endif
