/* place.h: what stands together on the shelf and should not. Inside methods only. */
#ifndef WET_METHODS_PLACE_H
#define WET_METHODS_PLACE_H

#include "methods/methods.h"
#include "wetside/stock.h"

/* What an item meets where it stands: other bottles and baths of that place, and what people told stands beside. As
 * methods/caution.h has it, with "place"; worst first, at most `most`. What is ordinary gives nothing. NULL without
 * memory. */
json_t *wet_item_meets(const struct wet_methods *methods, const struct wet_stock *item, int most);

/* The same of the whole shelf, each pair once; kept until the shelf is looked at again. Borrowed. */
json_t *wet_shelf_meets(struct wet_methods *methods);

#endif
