/* answer.c: answers and notifications to a client. */
#include "base/text.h"
#include "wire/inside.h"
#include "wire/json_text.h"
#include "wire/memory.h"

#include <assert.h>
#include <string.h>

/* Constant bodies of errors. Their codes are those of errors.h; a test compares them. */
const char wet_body_parse_error[] = "{\"code\":-32700,\"message\":\"Parse error\"}";
const char wet_body_invalid_request[] = "{\"code\":-32600,\"message\":\"Invalid Request\"}";
const char wet_body_no_memory[] = "{\"code\":1001,\"message\":\"out of memory\"}";
const char wet_body_too_deep[] = "{\"code\":1008,\"message\":\"nested too deeply\"}";
const char wet_body_too_many[] = "{\"code\":1008,\"message\":\"too many requests in one batch\"}";
const char wet_body_too_much[] = "{\"code\":1008,\"message\":\"too many requests at once\"}";
const char wet_body_line_too_long[] = "{\"code\":1007,\"message\":\"the line is too long\"}";
const char wet_body_reply_too_long[] =
	"{\"code\":1007,\"message\":\"the answer is too long; ask for less at once\"}";
const char wet_body_reply_lost[] =
	"{\"code\":1038,\"message\":\"out of memory for the answer; the outcome is unknown\"}";

static_assert(sizeof wet_body_reply_lost <= WET_BODY_BYTES_MAX, "the longest constant body");
static_assert(sizeof wet_body_reply_too_long <= WET_BODY_BYTES_MAX, "the next");
static_assert(WET_BATCH * (WET_ENVELOPE_BYTES + WET_BODY_BYTES_MAX + WET_ID_TEXT_BYTES) + 3 < WET_REPLY_BYTES,
			  "a batch of constant answers always fits into one line");

static const char *call_body(const struct call *call)
{
	return call->body ? call->body : call->constant;
}

static size_t answer_bytes(const struct call *call)
{
	return strlen(call->is_error ? "{\"jsonrpc\":\"2.0\",\"error\":,\"id\":}"
								 : "{\"jsonrpc\":\"2.0\",\"result\":,\"id\":}") +
		   strlen(call_body(call)) + strlen(call->id);
}

static char *put_text(char *to, const char *text)
{
	size_t n = strlen(text);

	memcpy(to, text, n);
	return to + n;
}

static char *put_answer(char *to, const struct call *call)
{
	to = put_text(to, "{\"jsonrpc\":\"2.0\",");
	to = put_text(to, call->is_error ? "\"error\":" : "\"result\":");
	to = put_text(to, call_body(call));
	to = put_text(to, ",\"id\":");
	to = put_text(to, call->id);
	return put_text(to, "}");
}

void wet_rpc_send_constant(struct wet_rpc *rpc, const char *id, const char *body)
{
	struct call call = { .id = id, .constant = body, .is_error = true };
	char *to = wet_frame_put(&rpc->frame, answer_bytes(&call) + 1, wet_rpc_now_ns(rpc));

	if (to)
		(void)put_text(put_answer(to, &call), "\n");
}

/* All answers of a line, in the order of its requests. */
static void send_work(struct wet_rpc *rpc, const struct work *work)
{
	size_t bytes = 0, answer_n = 0;
	char *to;

	for (size_t i = 0; i < work->n; i++) {
		if (!work->calls[i].id)
			continue;
		bytes += answer_bytes(&work->calls[i]) + 1; /* a comma or the end of the line */
		answer_n++;
	}
	if (answer_n == 0)
		return;
	to = wet_frame_put(&rpc->frame, bytes + (work->is_batch ? 2 : 0), wet_rpc_now_ns(rpc));
	if (!to)
		return;
	if (work->is_batch)
		*to++ = '[';
	for (size_t i = 0; i < work->n; i++) {
		if (!work->calls[i].id)
			continue;
		to = put_answer(to, &work->calls[i]);
		if (--answer_n > 0)
			*to++ = ',';
	}
	(void)put_text(to, work->is_batch ? "]\n" : "\n");
}

void wet_work_free(struct work *work)
{
	for (size_t i = 0; i < work->n; i++)
		wet_wire_free(work->calls[i].body);
	json_decref(work->root);
	wet_wire_free(work);
}

void wet_work_finish(struct wet_rpc *rpc, struct work *work)
{
	struct work **link = &rpc->works;

	if (!work->is_served || work->open_n > 0)
		return;
	while (*link != work)
		link = &(*link)->next;
	*link = work->next;
	send_work(rpc, work);
	wet_work_free(work);
}

void wet_work_answer(struct work *work, struct call *call, char *body, const char *constant, bool is_error)
{
	size_t kept = WET_ENVELOPE_BYTES + WET_BODY_BYTES_MAX + strlen(call->id);
	size_t bytes;

	call->body = body;
	call->constant = constant;
	call->is_error = is_error;
	bytes = answer_bytes(call) + 1;
	if (body && work->bytes - kept + bytes > WET_REPLY_BYTES) {
		wet_wire_free(body);
		call->body = NULL;
		call->constant = wet_body_reply_too_long;
		call->is_error = true;
		bytes = answer_bytes(call) + 1;
	}
	work->bytes = work->bytes - kept + bytes;
}

/* The open call of a ticket; NULL if it is 0, stale or answered. */
static struct call *find_call(struct wet_rpc *rpc, wet_rpc_ticket ticket, struct work **ret_work)
{
	if (ticket == 0)
		return NULL;
	for (struct work *work = rpc->works; work; work = work->next) {
		for (size_t i = 0; i < work->n; i++) {
			if (work->calls[i].ticket == ticket) {
				*ret_work = work;
				return &work->calls[i];
			}
		}
	}
	return NULL;
}

static void answer_call(struct wet_rpc *rpc, struct work *work, struct call *call, char *body,
						const char *constant, bool is_error)
{
	call->ticket = 0;
	work->open_n--;
	rpc->open_n--;
	wet_work_answer(work, call, body, constant, is_error);
	wet_work_finish(rpc, work);
	wet_rpc_note_wanting(rpc);
}

void wet_rpc_result(struct wet_rpc *rpc, wet_rpc_ticket ticket, json_t *result)
{
	struct work *work = NULL;
	struct call *call = find_call(rpc, ticket, &work);
	char *body = NULL;
	size_t n;

	if (call) {
		if (wet_json_text(result, &body, &n) == 0)
			answer_call(rpc, work, call, body, NULL, false);
		else
			answer_call(rpc, work, call, NULL, wet_body_reply_lost, true);
	}
	json_decref(result);
}

/* {"code":...,"message":...,"data":...}, NULL when memory fails. */
static char *error_body(int wire_code, const char *message, const json_t *data)
{
	char text[6 * WET_LINE_BYTES + 3], line[WET_LINE_BYTES];
	char *data_text = NULL, *body;
	size_t data_n = 0, bytes;

	(void)wet_text_copy(line, sizeof line, message);
	if (wet_json_escape(text, sizeof text, line, strlen(line)) == 0)
		(void)wet_text_copy(text, sizeof text, "\"\"");
	if (data) /* if memory fails: an error without data is one too */
		(void)wet_json_text(data, &data_text, &data_n);
	if (data_n > WET_REPLY_BYTES - 4 * sizeof text)
		data_n = 0; /* too long: the error matters more */
	bytes = strlen(text) + data_n + 64;
	body = wet_wire_malloc(bytes);
	if (body && data_n > 0)
		(void)wet_text_format(body, bytes, "{\"code\":%d,\"message\":%s,\"data\":%s}", wire_code, text,
							  data_text);
	else if (body)
		(void)wet_text_format(body, bytes, "{\"code\":%d,\"message\":%s}", wire_code, text);
	wet_wire_free(data_text);
	return body;
}

void wet_rpc_error(struct wet_rpc *rpc, wet_rpc_ticket ticket, int wire_code, const char *message,
				   json_t *data)
{
	struct work *work = NULL;
	struct call *call = find_call(rpc, ticket, &work);

	if (call) {
		char *body = error_body(wire_code, message, data);

		answer_call(rpc, work, call, body, body ? NULL : wet_body_no_memory, true);
	}
	json_decref(data);
}

/* A fault's texts can hold what a client sent; JSON needs UTF-8. */
static json_t *fault_text(const char *text)
{
	char clean[sizeof((struct wet_fault *)NULL)->want];

	if (wet_text_is_utf8(text, strlen(text)))
		return json_string_nocheck(text);
	return json_string(wet_text_clean(clean, sizeof clean, text));
}

static json_t *fault_data(const struct wet_fault *fault)
{
	json_t *data = json_object();

	if (data && (json_object_set_new(data, "name", json_string(wet_err_name(fault->err))) != 0 ||
				 json_object_set_new(data, "where", fault_text(fault->where)) != 0 ||
				 json_object_set_new(data, "found", fault_text(fault->found)) != 0 ||
				 json_object_set_new(data, "want", fault_text(fault->want)) != 0)) {
		json_decref(data);
		data = NULL;
	}
	return data;
}

void wet_rpc_fault(struct wet_rpc *rpc, wet_rpc_ticket ticket, const struct wet_fault *fault)
{
	wet_rpc_error(rpc, ticket, wet_err_wire(fault->err), wet_err_text(fault->err), fault_data(fault));
}

void wet_rpc_send_parse_fault(struct wet_rpc *rpc, const struct wet_fault *fault)
{
	struct call call = { .id = "null", .is_error = true };
	json_t *data = fault_data(fault);
	char *to;

	if (fault->err == WET_ERR_PARSE)
		call.body = error_body(wet_err_wire(WET_ERR_PARSE), "Parse error", data);
	else
		call.body = error_body(wet_err_wire(fault->err), wet_err_text(fault->err), data);
	call.constant = fault->err == WET_ERR_NOMEM   ? wet_body_no_memory
					: fault->err == WET_ERR_PARSE ? wet_body_parse_error
												  : wet_body_too_deep;
	to = wet_frame_put(&rpc->frame, answer_bytes(&call) + 1, wet_rpc_now_ns(rpc));
	if (to)
		(void)put_text(put_answer(to, &call), "\n");
	wet_wire_free(call.body);
	json_decref(data);
}

int wet_rpc_notify(struct wet_rpc *rpc, const char *method, json_t *params)
{
	char name[6 * WET_NAME_BYTES + 3], *body = NULL, *to;
	size_t n = 0, name_n = wet_json_escape(name, sizeof name, method, strlen(method)), bytes;
	int rc = WET_ERR_REFUSED;

	if (!wet_rpc_wants_more(rpc))
		goto out;
	rc = WET_ERR_INVALID;
	if (name_n == 0)
		goto out;
	if ((rc = wet_json_text(params, &body, &n)) != 0)
		goto out;
	bytes = strlen("{\"jsonrpc\":\"2.0\",\"method\":,\"params\":}\n") + name_n + n;
	rc = WET_ERR_TOO_LONG;
	if (bytes > WET_REPLY_BYTES)
		goto out;
	rc = WET_ERR_NOMEM;
	to = wet_frame_put(&rpc->frame, bytes, wet_rpc_now_ns(rpc));
	if (!to)
		goto out;
	to = put_text(put_text(to, "{\"jsonrpc\":\"2.0\",\"method\":"), name);
	(void)put_text(put_text(put_text(to, ",\"params\":"), body), "}\n");
	rc = 0;
out:
	wet_wire_free(body);
	json_decref(params);
	return rc;
}
