/* graduates.c: the graduates of the shelf, for a question that named none. */
#include "methods/graduates.h"

#include "base/text.h"
#include "darkroom/planning.h"
#include "darkroom/stock.h"

#include <stdlib.h>

struct asking {
	struct wet_call call; /* rpc is looked for again, params are ours */
	own_graduates_cb *serve;
};

static void listed(void *ctx, const struct wet_stock_answer *answer, const struct wet_fault *fault)
{
	struct asking *a = ctx;
	struct own_graduates own = { .count = 0 };
	for (int i = 0; fault->err == WET_OK && answer && i < answer->item_count && own.count < WET_GRADUATES; i++) {
		wet_text_copy(own.names[own.count], WET_NAME_BYTES, answer->items[i].name);
		own.graduates[own.count++] = wet_planning_graduate(&answer->items[i]);
	}
	a->call.rpc = a->call.methods->find_client(a->call.methods->ctx, a->call.client_id);
	if (a->call.rpc)
		a->serve(&a->call, &own);
	json_decref(a->call.params);
	free(a);
}

void with_own_graduates(struct wet_call *call, own_graduates_cb *serve)
{
	struct wet_stock_request request = { .op = WET_STOCK_OP_LIST, .item = { .kind = WET_STOCK_GRADUATE } };
	struct asking *a = malloc(sizeof *a);
	if (!a) {
		call_result(call, NULL);
		return;
	}
	*a = (struct asking){ *call, serve };
	json_incref(a->call.params);
	wet_darkroom_stock(call->methods->darkroom, &request, listed, a);
}
