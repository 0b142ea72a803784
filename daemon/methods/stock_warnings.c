/* stock_warnings.c: what on the shelf is past its age, or spent. */
#include "darkroom/stock.h"
#include "methods/inside.h"
#include "methods/stock_left.h"

#include <stdlib.h>

#define WARNINGS 32 /* and how many more there are is told */

struct looking {
	struct pending *pending;
	struct wet_stock_request want; /* the page that is looked at: bottles first, then baths */
	json_t *list;
	json_int_t count;
};

static void looked(void *ctx, const struct wet_stock_answer *a, const struct wet_fault *fault)
{
	struct looking *x = ctx;
	const struct wet_methods *methods = x->pending->methods;
	char line[WET_LINE_BYTES];
	if (fault->err != WET_OK) {
		reply_fault(x->pending, fault);
		json_decref(x->list);
		free(x);
		return;
	}
	for (int i = 0; i < a->item_count; i++)
		if (stock_warn(wet_darkroom_shelf(methods->darkroom), &a->items[i], &a->ages[i], line, sizeof line) &&
			++x->count <= WARNINGS)
			(void)json_array_append_new(x->list, json_string(line));
	bool is_last = a->item_count < WET_PAGE;
	if (is_last && x->want.item.kind == WET_STOCK_BATH) {
		reply_result(x->pending, json_pack("{s:o, s:I}", "warnings", x->list, "count", x->count));
		free(x);
		return;
	}
	x->want.cursor = is_last ? 0 : a->items[WET_PAGE - 1].id;
	if (is_last)
		x->want.item.kind = WET_STOCK_BATH;
	wet_darkroom_stock(methods->darkroom, &x->want, looked, x);
}

void serve_stock_warnings(struct wet_call *c)
{
	struct looking *x = calloc(1, sizeof *x);
	struct pending *p = x ? hold_reply(c) : NULL;
	if (!p) {
		if (!x)
			call_result(c, NULL);
		free(x);
		return;
	}
	x->pending = p;
	x->list = json_array();
	x->want.op = WET_STOCK_OP_LIST;
	x->want.item.kind = WET_STOCK_BOTTLE;
	wet_darkroom_stock(c->methods->darkroom, &x->want, looked, x);
}
