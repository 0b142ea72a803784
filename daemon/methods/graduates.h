/* graduates.h: a method that is served with the graduates that stand on the shelf. Inside methods only. */
#ifndef WET_METHODS_GRADUATES_H
#define WET_METHODS_GRADUATES_H

#include "methods/inside.h"
#include "wetside/graduate.h"

#include "wetside/stock.h"

/* What stands there; none too where the ledger can't be read, for the answer does not hang on it. */
struct own_graduates {
	uint32_t count;
	struct wet_graduate graduates[WET_GRADUATES];
	char names[WET_GRADUATES][WET_NAME_BYTES];
};
typedef void own_graduates_cb(struct wet_call *call, const struct own_graduates *own);

/* Serves the call later, once they are known, with a call of its own; not at all if the client is gone by then. */
void with_own_graduates(struct wet_call *call, own_graduates_cb *serve);

#endif
