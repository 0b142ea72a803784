/* connection.h: the client's side of the wire. Blocking, with a time limit on everything; POSIX sockets and
 * poll only.
 *
 * One request is under way at a time; notifications that come meanwhile are kept for wet_connection_next.
 * Order of calls: open, then call and next as often as wanted, then close. Not for two threads at once. */
#ifndef WET_CONNECTION_H
#define WET_CONNECTION_H

#include "wetside/errors.h"

#include <jansson.h>
#include <stdbool.h>

/* Notifications kept while nobody asks for them. Each holds the newest state, so the oldest is dropped for a
 * new one. */
#define WET_CONNECTION_KEPT 64
/* Nothing waits longer than this, whatever the caller says: 1 h. */
#define WET_CONNECTION_MS_MAX 3600000

struct wet_connection;

/* Connects to the socket at `path`. WET_ERR_TOO_LONG (path), WET_ERR_NO_DAEMON (the fault's `want` is the
 * line that starts it), WET_ERR_PERMISSION, WET_ERR_NOMEM, WET_ERR_IO. */
int wet_connection_open(const char *path, int timeout_ms, struct wet_connection **ret_connection,
						struct wet_fault *reterr);
void wet_connection_close(struct wet_connection *c); /* NULL is fine */

/* One request and its answer. `params` is taken, also on failure; NULL: none. *ret_result is the caller's.
 *
 * The daemon's own errors come back as their enum wet_err (WET_ERR_INTERNAL for a code we don't know), with
 * the fault filled from the error's data, and the error object itself in *ret_error (the caller's) unless
 * that is NULL.
 *
 * WET_ERR_NO_DAEMON: the request was not sent whole, so nothing was done. WET_ERR_UNKNOWN: it was sent, and
 * the connection broke or the time ran out before the answer: it may have been done or not. WET_ERR_TOO_LONG:
 * the request is longer than WET_REQUEST_BYTES; nothing was sent. */
int wet_connection_call(struct wet_connection *c, const char *method, json_t *params, int timeout_ms,
						json_t **ret_result, json_t **ret_error, struct wet_fault *reterr);

/* The next notification {"jsonrpc", "method", "params"}, the caller's. WET_ERR_NOT_FOUND: none came in time
 * (0: only look); WET_ERR_NO_DAEMON: the daemon closed the connection. */
int wet_connection_next(struct wet_connection *c, int timeout_ms, json_t **ret_notification,
						struct wet_fault *reterr);

/* For poll(POLLIN) together with other things. Before waiting ask wet_connection_has_next: what was read
 * already does not show there. -1 when the connection is broken. */
int wet_connection_fd(const struct wet_connection *c);
bool wet_connection_has_next(const struct wet_connection *c);

#endif
