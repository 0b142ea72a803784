/* rpc.h: JSON-RPC 2.0, one JSON text a line, without sockets.
 *
 * Knows nothing of darkrooms. Bytes come in from the connection, whole lines are parsed once (bytes, UTF-8
 * and depth are checked before jansson sees them; duplicates rejected), each request goes to the dispatcher;
 * answers come back at once or later by ticket, and leave in one line each (a batch in one). Tested with
 * buffers alone. */
#ifndef WET_RPC_H
#define WET_RPC_H

#include "wetside/errors.h"
#include "wetside/limits.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Limits of the protocol alone; those of the line are in limits.h. */
#define WET_ID_BYTES 256 /* a longer string as an id is refused: it would come back in every answer */
#define WET_RPC_OPEN 64  /* requests of one client waiting for their answer; more wait in the line */
/* Unserved bytes kept; a host that heeds wet_rpc_wants_input stays far below. */
#define WET_RPC_IN_BYTES (4 * WET_REQUEST_BYTES)

struct wet_rpc; /* one connection's protocol state */

/* One request being answered. 0 is no ticket. */
typedef uint64_t wet_rpc_ticket;

struct wet_rpc_dispatch {
	/* Serve one request. `params` is borrowed: an object, an array or NULL. Answer now with wet_rpc_result or
	 * wet_rpc_error, or keep the ticket and answer later. A notification has ticket 0: answers to it are
	 * ignored. */
	void (*request)(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, const char *method,
					json_t *params);
	/* Time for the slow-reader and drip rules; boot ns. */
	int64_t (*now_ns)(void *ctx);
	void *ctx;
};

int wet_rpc_new(struct wet_rpc **ret_rpc, const struct wet_rpc_dispatch *dispatch, void *owner);
void wet_rpc_free(struct wet_rpc *rpc); /* NULL is fine; open tickets are forgotten */
void *wet_rpc_owner(const struct wet_rpc *rpc);

/* Takes bytes as read. Never fails on content (that is answered); WET_ERR_NOMEM, or WET_ERR_TOO_LONG when the
 * connection must be closed after what is queued is served and sent (an overlong line was answered once):
 * read no more, go on serving and writing, and close when wet_rpc_is_fit says so, at the latest
 * WET_GOODBYE_NS later. Serves nothing yet. */
int wet_rpc_feed(struct wet_rpc *rpc, const char *bytes, size_t n);
/* Serves at most WET_TURN_REQUESTS queued requests, one per call of the dispatcher; `between` (may be NULL)
 * is called between two requests. True if more are queued and can be served now. The dispatcher must not free
 * `rpc`. */
bool wet_rpc_serve(struct wet_rpc *rpc, void (*between)(void *ctx), void *ctx);
/* True if a request can be served now. False too while the client reads too little or has WET_RPC_OPEN
 * requests open: ask again in each turn, after answers and after wet_rpc_sent. */
bool wet_rpc_has_work(const struct wet_rpc *rpc);
/* True if the host should read from the client: every whole line is served, nothing is held back. */
bool wet_rpc_wants_input(const struct wet_rpc *rpc);

/* Answers. `result` and `data` are taken (stolen), also on failure; data may be NULL. Safe with a stale or 0
 * ticket. Tickets are unique in the process. A NULL result (memory failed while it was built) is answered as
 * an error that says the outcome is unknown. */
void wet_rpc_result(struct wet_rpc *rpc, wet_rpc_ticket ticket, json_t *result);
void wet_rpc_error(struct wet_rpc *rpc, wet_rpc_ticket ticket, int wire_code, const char *message,
				   json_t *data);
/* The error with data {name, where, found, want} of a fault. */
void wet_rpc_fault(struct wet_rpc *rpc, wet_rpc_ticket ticket, const struct wet_fault *fault);
/* A notification to the client. `params` is taken. WET_ERR_REFUSED while the output is past the soft limit
 * (send the newest state later), WET_ERR_TOO_LONG if it is longer than WET_REPLY_BYTES, WET_ERR_NOMEM. */
int wet_rpc_notify(struct wet_rpc *rpc, const char *method, json_t *params);

/* Output: bytes waiting; take what was written. */
size_t wet_rpc_pending(const struct wet_rpc *rpc, const char **ret_bytes);
void wet_rpc_sent(struct wet_rpc *rpc, size_t n);

/* False when the rules say close: hard limit crossed, soft limit held too long (soft deadline counts from
 * crossing), a line begun and not completed in time, too long a line (once its answer is out), no memory for
 * an answer that is owed. `also_waiting` counts bytes the transport still holds. Notes the time at which the
 * soft limit was crossed. */
bool wet_rpc_is_fit(struct wet_rpc *rpc, int64_t now_ns, size_t also_waiting);
/* The next time at which wet_rpc_is_fit can change by itself; INT64_MAX: never. */
int64_t wet_rpc_deadline_ns(const struct wet_rpc *rpc);
/* False while the output is past the soft limit: send no notifications (newest-state semantics). */
bool wet_rpc_wants_more(const struct wet_rpc *rpc);

/* Writes JSON without json_dumps (which can return corrupt text when memory fails): sizes and writes with
 * json_dumpb, compact, ASCII. *ret_text is NUL-terminated and the caller's; it comes from jansson's
 * allocator, which is malloc unless replaced. */
int wet_json_text(const json_t *json, char **ret_text, size_t *ret_bytes);
/* Parses with all caps: bytes (WET_REPLY_BYTES), UTF-8, depth, no duplicates, no trailing text; objects and
 * arrays only. WET_ERR_PARSE, WET_ERR_TOO_LONG, WET_ERR_TOO_MANY (nesting), WET_ERR_NOMEM; the fault names
 * the byte. */
int wet_json_parse(const char *text, size_t n, size_t depth, json_t **ret_json, struct wet_fault *reterr);

#endif
