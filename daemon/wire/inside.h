/* inside.h: what the files of JSON-RPC share. Private to this room.
 *
 * One line is one `work`: a call or a batch, with everything an answer needs (place, id, ticket) allocated
 * before the first of its requests is served. So a lack of memory refuses a request before it does anything;
 * afterwards it can only cost the text of an answer, which is then a constant one that says so. If even that
 * can't be written, the connection is closed: an answer owed is never lost silently. */
#ifndef WET_WIRE_INSIDE_H
#define WET_WIRE_INSIDE_H

#include "wire/frame.h"
#include "wire/rpc.h"

#define WET_ID_TEXT_BYTES (6 * WET_ID_BYTES + 3) /* every byte as \u0000, quotes, NUL */
#define WET_BODY_BYTES_MAX 128                   /* of a constant body */
#define WET_ENVELOPE_BYTES 40                    /* {"jsonrpc":"2.0","result":,"id":} and a comma */

/* Constant bodies of errors: they need no memory. */
extern const char wet_body_parse_error[];
extern const char wet_body_invalid_request[];
extern const char wet_body_no_memory[];
extern const char wet_body_too_deep[];
extern const char wet_body_too_many[];
extern const char wet_body_too_much[];
extern const char wet_body_line_too_long[];
extern const char wet_body_reply_too_long[];
extern const char wet_body_reply_lost[];

struct call {
	wet_rpc_ticket ticket; /* open while not 0 */
	const char *id;        /* JSON text; NULL: a notification, never answered */
	char *body;            /* of the answer, ours to free */
	const char *constant;  /* or this */
	bool is_valid, is_error;
};

struct work {
	struct work *next;
	json_t *root;
	bool is_batch, is_served; /* is_served: all dispatched */
	size_t n, at, open_n;     /* at: next to serve; open_n: dispatched and not answered */
	size_t bytes;             /* of the answers, with the most the missing ones can need */
	struct call calls[];      /* then the ids */
};

struct wet_rpc {
	struct wet_rpc_dispatch dispatch;
	void *owner;
	struct wet_frame frame;
	struct work *works;   /* being served, or waiting for answers */
	struct work *current; /* the one being served */
	size_t open_n;
	bool was_wanting;
};

/* Now, by the dispatcher's clock. */
int64_t wet_rpc_now_ns(const struct wet_rpc *rpc);
/* A client can't finish its line while we don't read: the drip rule counts from when we read again. Called
 * after everything that can change it. */
void wet_rpc_note_wanting(struct wet_rpc *rpc);

/* An error that belongs to no call that is kept: `body` is constant. */
void wet_rpc_send_constant(struct wet_rpc *rpc, const char *id, const char *body);
/* The error for a line that can't be parsed. */
void wet_rpc_send_parse_fault(struct wet_rpc *rpc, const struct wet_fault *fault);
/* The body of the answer to `call` is `body` (taken) or `constant`; a longer one than fits is replaced. */
void wet_work_answer(struct work *work, struct call *call, char *body, const char *constant, bool is_error);
/* Sends and frees the work if all of it is served and answered. */
void wet_work_finish(struct wet_rpc *rpc, struct work *work);
void wet_work_free(struct work *work);

#endif
