/* stock_left.h: what is left of a bottle or a bath: by area in each way of using it, by age, and which clock ran out. */
#ifndef WET_METHODS_STOCK_LEFT_H
#define WET_METHODS_STOCK_LEFT_H

#include "shelf/shelf.h"
#include "wetside/stock.h"

#include <jansson.h>

/* Into the item's object: "left", a sentence for people; "ways", one a regime; "age". piece_mm2: what is counted in; 0: area. */
void stock_say_left(const struct wet_shelf *shelf, const struct wet_stock *item, const struct wet_stock_age *age,
					int64_t piece_mm2, json_t *object);
/* "old-fix: its age ran out 5 days ago", or that it is spent; false: neither. */
bool stock_warn(const struct wet_shelf *shelf, const struct wet_stock *item, const struct wet_stock_age *age, char *buf,
				unsigned buf_bytes);

#endif
