/* rpc.c: JSON-RPC 2.0 (jsonrpc.org/specification): requests, turns, and the rules of the connection. */
#include "wire/rpc.h"

#include "base/text.h"
#include "wire/inside.h"
#include "wire/json_text.h"
#include "wire/memory.h"

#include <stdatomic.h>
#include <string.h>

int64_t wet_rpc_now_ns(const struct wet_rpc *rpc)
{
	return rpc->dispatch.now_ns(rpc->dispatch.ctx);
}

void wet_rpc_note_wanting(struct wet_rpc *rpc)
{
	bool wants = wet_rpc_wants_input(rpc);

	if (wants && !rpc->was_wanting && wet_frame_has_tail(&rpc->frame))
		rpc->frame.line_since_ns = wet_rpc_now_ns(rpc);
	rpc->was_wanting = wants;
}

/* -- requests ------------------------------------------------------------- */

static bool is_valid_id(const json_t *id)
{
	if (json_is_string(id))
		return json_string_length(id) <= WET_ID_BYTES;
	return json_is_integer(id) || json_is_real(id) || json_is_null(id);
}

static bool is_valid_request(const json_t *json)
{
	const json_t *version = json_object_get(json, "jsonrpc"), *method = json_object_get(json, "method");
	const json_t *params = json_object_get(json, "params"), *id = json_object_get(json, "id");

	if (!json_is_object(json) || !json_is_string(version) || strcmp(json_string_value(version), "2.0") != 0)
		return false;
	if (!json_is_string(method))
		return false;
	if (params && !json_is_object(params) && !json_is_array(params))
		return false;
	return !id || is_valid_id(id);
}

/* The id to answer with, as JSON text: "null" where it can't be told; empty for a notification. */
static size_t id_text(const json_t *json, bool is_valid, char text[WET_ID_TEXT_BYTES])
{
	const json_t *id = json_object_get(json, "id");
	size_t n;

	if (is_valid && !id) {
		text[0] = '\0';
		return 0;
	}
	n = id && is_valid_id(id) ? wet_json_scalar(text, WET_ID_TEXT_BYTES, id) : 0;
	if (n == 0)
		n = strlen(wet_text_copy(text, WET_ID_TEXT_BYTES, "null"));
	return n;
}

static json_t *request_at(const struct work *work, size_t i)
{
	return work->is_batch ? json_array_get(work->root, i) : work->root;
}

/* Everything the answers to `root` will need, in one block. Takes root, also on failure. */
static int make_work(json_t *root, struct work **ret_work)
{
	struct work head = { .root = root, .is_batch = json_is_array(root), .n = 1 };
	char text[WET_ID_TEXT_BYTES], *ids;
	size_t id_bytes = 0;
	struct work *work;

	if (head.is_batch)
		head.n = json_array_size(root);
	for (size_t i = 0; i < head.n; i++) {
		const json_t *json = request_at(&head, i);

		id_bytes += id_text(json, is_valid_request(json), text) + 1;
	}
	work = wet_wire_malloc(sizeof *work + head.n * sizeof work->calls[0] + id_bytes);
	if (!work) {
		json_decref(root);
		return WET_ERR_NOMEM;
	}
	*work = head;
	work->bytes = head.is_batch ? 2 : 0; /* brackets; commas and the end of the line go with the answers */
	ids = (char *)&work->calls[head.n];
	for (size_t i = 0; i < head.n; i++) {
		const json_t *json = request_at(work, i);
		bool is_valid = is_valid_request(json);
		size_t n = id_text(json, is_valid, text);

		work->calls[i] = (struct call){ .is_valid = is_valid, .id = n > 0 ? ids : NULL };
		memcpy(ids, text, n + 1);
		ids += n + 1;
		if (n > 0)
			work->bytes += WET_ENVELOPE_BYTES + WET_BODY_BYTES_MAX + n;
	}
	*ret_work = work;
	return 0;
}

/* Parses the next line. What can't be served is answered here. */
static void take_line(struct wet_rpc *rpc)
{
	struct wet_fault fault = { 0 };
	json_t *root = NULL;
	const char *line;
	size_t n;
	int rc;

	if (!wet_frame_line(&rpc->frame, &line, &n))
		return;
	rc = wet_json_parse(line, n, WET_JSON_DEPTH, &root, &fault);
	wet_frame_drop_line(&rpc->frame);
	if (rc != 0) {
		fault.err = rc;
		wet_rpc_send_parse_fault(rpc, &fault);
	} else if (json_is_array(root) && json_array_size(root) == 0) {
		wet_rpc_send_constant(rpc, "null", wet_body_invalid_request);
		json_decref(root);
	} else if (json_is_array(root) && json_array_size(root) > WET_BATCH) {
		wet_rpc_send_constant(rpc, "null", wet_body_too_many);
		json_decref(root);
	} else {
		char id[WET_ID_TEXT_BYTES] = "null";

		if (json_is_object(root))
			(void)id_text(root, is_valid_request(root), id);
		if (make_work(root, &rpc->current) == 0) {
			rpc->current->next = rpc->works;
			rpc->works = rpc->current;
		} else if (id[0] != '\0') { /* a notification may be lost, by the specification */
			wet_rpc_send_constant(rpc, id, wet_body_no_memory);
		}
	}
}

static void serve_call(struct wet_rpc *rpc)
{
	static _Atomic uint64_t last_ticket;
	struct work *work = rpc->current;
	struct call *call = &work->calls[work->at];
	json_t *json = request_at(work, work->at);

	work->at++;
	if (!call->is_valid) {
		wet_work_answer(work, call, NULL, wet_body_invalid_request, true);
	} else {
		wet_rpc_ticket ticket = call->id ? atomic_fetch_add(&last_ticket, 1) + 1 : 0;

		if (ticket != 0) {
			call->ticket = ticket;
			work->open_n++;
			rpc->open_n++;
		}
		rpc->dispatch.request(rpc->dispatch.ctx, rpc, ticket,
							  json_string_value(json_object_get(json, "method")),
							  json_object_get(json, "params"));
	}
	if (work->at < work->n)
		return;
	work->is_served = true;
	json_decref(work->root);
	work->root = NULL;
	rpc->current = NULL;
	wet_work_finish(rpc, work);
}

bool wet_rpc_serve(struct wet_rpc *rpc, void (*between)(void *ctx), void *ctx)
{
	for (unsigned served = 0; served < WET_TURN_REQUESTS && wet_rpc_has_work(rpc); served++) {
		if (served > 0 && between)
			between(ctx);
		if (!rpc->current)
			take_line(rpc);
		if (rpc->current)
			serve_call(rpc);
	}
	wet_rpc_note_wanting(rpc);
	return wet_rpc_has_work(rpc);
}

bool wet_rpc_has_work(const struct wet_rpc *rpc)
{
	return !rpc->frame.is_dead && (rpc->current || rpc->frame.line_n > 0) && rpc->open_n < WET_RPC_OPEN &&
		   wet_rpc_wants_more(rpc);
}

bool wet_rpc_wants_input(const struct wet_rpc *rpc)
{
	return !rpc->frame.is_dead && rpc->frame.closing_since_ns == WET_FRAME_NEVER && !rpc->current &&
		   rpc->frame.line_n == 0 && rpc->open_n < WET_RPC_OPEN && wet_rpc_wants_more(rpc);
}

/* -- the connection ------------------------------------------------------- */

int wet_rpc_new(struct wet_rpc **ret_rpc, const struct wet_rpc_dispatch *dispatch, void *owner)
{
	struct wet_rpc *rpc = wet_wire_malloc(sizeof *rpc);

	if (!rpc)
		return WET_ERR_NOMEM;
	*rpc = (struct wet_rpc){ .dispatch = *dispatch, .owner = owner, .was_wanting = true };
	if (wet_frame_init(&rpc->frame) != 0) {
		wet_wire_free(rpc);
		return WET_ERR_NOMEM;
	}
	*ret_rpc = rpc;
	return 0;
}

void wet_rpc_free(struct wet_rpc *rpc)
{
	if (!rpc)
		return;
	while (rpc->works) {
		struct work *work = rpc->works;

		rpc->works = work->next;
		wet_work_free(work);
	}
	wet_frame_release(&rpc->frame);
	wet_wire_free(rpc);
}

void *wet_rpc_owner(const struct wet_rpc *rpc)
{
	return rpc->owner;
}

int wet_rpc_feed(struct wet_rpc *rpc, const char *bytes, size_t n)
{
	int rc;

	if (rpc->frame.is_dead)
		return WET_ERR_NOMEM;
	if (rpc->frame.closing_since_ns != WET_FRAME_NEVER)
		return WET_ERR_TOO_LONG; /* answered already */
	rc = wet_frame_feed(&rpc->frame, bytes, n, wet_rpc_now_ns(rpc));
	if (rc == WET_ERR_TOO_LONG)
		wet_rpc_send_constant(rpc, "null", wet_body_line_too_long);
	else if (rc == WET_ERR_TOO_MANY)
		wet_rpc_send_constant(rpc, "null", wet_body_too_much);
	else if (rc != 0)
		wet_rpc_send_constant(rpc, "null", wet_body_no_memory);
	wet_rpc_note_wanting(rpc);
	return rc == WET_ERR_TOO_MANY ? WET_ERR_TOO_LONG : rc;
}

size_t wet_rpc_pending(const struct wet_rpc *rpc, const char **ret_bytes)
{
	*ret_bytes = rpc->frame.out + rpc->frame.out_at;
	return wet_frame_waiting(&rpc->frame);
}

void wet_rpc_sent(struct wet_rpc *rpc, size_t n)
{
	wet_frame_sent(&rpc->frame, n);
	wet_rpc_note_wanting(rpc);
}

static int64_t after_ns(int64_t since_ns, int64_t limit_ns)
{
	return since_ns == WET_FRAME_NEVER ? WET_FRAME_NEVER : since_ns + limit_ns;
}

int64_t wet_rpc_deadline_ns(const struct wet_rpc *rpc)
{
	const struct wet_frame *f = &rpc->frame;
	int64_t soft_ns = after_ns(f->soft_since_ns, WET_OUT_SOFT_NS);
	int64_t goodbye_ns = after_ns(f->closing_since_ns, WET_GOODBYE_NS);
	int64_t drip_ns = WET_FRAME_NEVER, first_ns = soft_ns < goodbye_ns ? soft_ns : goodbye_ns;

	if (f->is_dead)
		return WET_FRAME_NEVER;
	if (wet_frame_has_tail(f) && wet_rpc_wants_input(rpc))
		drip_ns = after_ns(f->line_since_ns, WET_DRIP_NS);
	return drip_ns < first_ns ? drip_ns : first_ns;
}

bool wet_rpc_is_fit(struct wet_rpc *rpc, int64_t time_ns, size_t also_waiting)
{
	struct wet_frame *f = &rpc->frame;
	size_t waiting = wet_frame_waiting(f) + also_waiting;

	f->also_waiting = also_waiting;
	if (waiting > WET_OUT_HARD_BYTES)
		f->is_dead = true;
	if (waiting <= WET_OUT_SOFT_BYTES)
		f->soft_since_ns = WET_FRAME_NEVER;
	else if (f->soft_since_ns == WET_FRAME_NEVER)
		f->soft_since_ns = time_ns;
	if (f->is_dead || time_ns >= wet_rpc_deadline_ns(rpc))
		return false;
	/* After an overlong line: done when all is served, answered and sent. */
	return f->closing_since_ns == WET_FRAME_NEVER || waiting > 0 || rpc->open_n > 0 || rpc->current ||
		   f->line_n > 0;
}

bool wet_rpc_wants_more(const struct wet_rpc *rpc)
{
	return wet_frame_waiting(&rpc->frame) <= WET_OUT_SOFT_BYTES;
}
