/* book.c: pieces, notes, judgements and boxes as they stand, and what is put beside them. */
#include "methods/book.h"

#include "base/text.h"
#include "darkroom/stock.h"
#include "wetside/quantity.h"

#include <stdarg.h>
#include <string.h>

static const char *const kinds[BOOK_KIND_N] = {
#define BOOK_KIND(name, kind) kind,
	WET_BOOK_KINDS(BOOK_KIND)
#undef BOOK_KIND
};

#define BOOK_PAGE 200 /* entries of 3 KB in one job */

/* -- its life ------------------------------------------------------------------------- */

void book_end(struct book *b)
{
	for (int i = 0; i < BOOK_KIND_N; i++)
		json_decref(b->rows[i]);
	json_decref(b->cameras);
	json_decref(b->result);
	json_decref(b->more);
	json_decref(b->call.params);
	free(b);
}

void book_answer(struct book *b, json_t *result)
{
	call_result(&b->call, result);
	book_end(b);
}

void book_fault(struct book *b, const struct wet_fault *fault)
{
	call_fault(&b->call, fault);
	book_end(b);
}

void book_refuse(struct book *b, int err, const char *key, const char *found, const char *want, ...)
{
	struct wet_fault fault = { 0 };
	char text[WET_LINE_BYTES * 2];
	va_list ap;
	va_start(ap, want);
	wet_text_vformat(text, sizeof text, want, ap);
	va_end(ap);
	wet_fault_set(&fault, err, key, found, "%s", text);
	book_fault(b, &fault);
}

bool book_is_wanted(struct book *b)
{
	b->call.rpc = b->call.methods->find_client(b->call.methods->ctx, b->call.client_id);
	if (!b->call.rpc)
		book_end(b);
	return b->call.rpc != NULL;
}

/* -- looking -------------------------------------------------------------------------- */

static void look_on(struct book *b);

static void take_cameras(void *ctx, const struct wet_stock_answer *answer, const struct wet_fault *fault)
{
	struct book *b = ctx;
	if (!book_is_wanted(b))
		return;
	if (fault->err != WET_OK) {
		book_fault(b, fault);
		return;
	}
	for (int i = 0; i < answer->item_count; i++)
		(void)json_object_set_new(b->cameras, answer->items[i].name,
								  json_pack("{s:I, s:b}", "f_number_milli", (json_int_t)answer->items[i].f_number_milli, "is_gone",
											answer->items[i].is_gone));
	if (answer->item_count == WET_PAGE) {
		b->after_id = answer->items[WET_PAGE - 1].id;
		look_on(b);
		return;
	}
	b->then(b);
}

static void take_entries(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault)
{
	struct book *b = ctx;
	if (!book_is_wanted(b))
		return;
	if (fault->err != WET_OK || !entries) {
		book_fault(b, fault);
		return;
	}
	for (int i = 0; i < entries->count; i++) {
		const struct wet_entry *e = &entries->list[i];
		(void)json_object_set_new(b->rows[b->kind], e->name,
								  json_pack("{s:s, s:i, s:I, s:s, s:s}", "body", e->body, "revision", e->revision, "wall_ms",
											(json_int_t)e->wall_ms, "person", e->person, "token", e->token));
		b->after_id = e->id;
	}
	if (!entries->has_more) {
		b->kind++;
		b->after_id = 0;
	}
	look_on(b);
}

static void look_on(struct book *b)
{
	if (b->kind < BOOK_KIND_N) {
		struct wet_entry_query query = { .after_id = b->after_id, .limit = BOOK_PAGE };
		wet_text_copy(query.kind, sizeof query.kind, kinds[b->kind]);
		wet_darkroom_get_entries(b->call.methods->darkroom, &query, take_entries, b);
		return;
	}
	struct wet_stock_request request = {
		.op = WET_STOCK_OP_LIST, .item = { .kind = WET_STOCK_CAMERA }, .with_gone = true, .cursor = b->after_id
	};
	wet_darkroom_stock(b->call.methods->darkroom, &request, take_cameras, b);
}

void book_open(struct wet_call *call, void (*then)(struct book *))
{
	struct book *b = calloc(1, sizeof *b);
	bool is_well = b != NULL;
	if (b) {
		b->call = *call;
		json_incref(b->call.params);
		b->then = then;
		b->cameras = json_object();
		is_well = b->cameras != NULL;
		for (int i = 0; i < BOOK_KIND_N; i++)
			is_well = (b->rows[i] = json_object()) && is_well;
	}
	if (!is_well) {
		if (b)
			book_end(b);
		call_result(call, NULL);
		return;
	}
	look_on(b);
}

const json_t *book_row(const struct book *b, enum book_kind kind, const char *name)
{
	return json_object_get(b->rows[kind], name);
}

const char *book_body(const json_t *row)
{
	const char *body = json_string_value(json_object_get(row, "body"));
	return body ? body : "";
}

json_t *book_object(const json_t *row)
{
	json_t *body = json_loads(book_body(row), JSON_REJECT_DUPLICATES, NULL);
	if (json_is_object(body))
		return body;
	json_decref(body);
	return json_object();
}

bool book_piece(const struct book *b, const char *name, struct wet_piece *ret_piece)
{
	const json_t *row = book_row(b, BOOK_PIECES, name);
	return row && wet_piece_decode(book_body(row), ret_piece, NULL) == 0;
}

bool book_want_piece(struct book *b)
{
	if (!want_text(&b->call, "piece", true, b->name, sizeof b->name)) {
		book_end(b);
		return false;
	}
	if (book_piece(b, b->name, &b->piece))
		return true;
	book_refuse(b, WET_ERR_NOT_FOUND, "piece", b->name,
				"the number of a piece, as `wetside cut --list` shows them; one that was cut before is told with its size when "
				"it is loaded: wetside camera load NAME --piece 7 --size 9x12cm");
	return false;
}

bool book_is_repeat(const struct book *b, enum book_kind kind, const char *name)
{
	const char *token = json_string_value(json_object_get(b->call.params, "token"));
	const char *stored = json_string_value(json_object_get(book_row(b, kind, name), "token"));
	return token && token[0] && stored && strcmp(token, stored) == 0;
}

int64_t book_now_ms(const struct book *b)
{
	const struct wet_ports *ports = wet_darkroom_ports(b->call.methods->darkroom);
	return ports->wall_ms(ports->ctx);
}

/* -- putting ---------------------------------------------------------------------------- */

bool book_add(struct book *b, enum book_kind kind, const char *name, const char *body)
{
	struct wet_fault fault = { 0 };
	if (strlen(body) >= WET_ENTRY_BYTES) {
		wet_fault_set(&fault, WET_ERR_TOO_LONG, kinds[kind], NULL, "fewer words: at most %d bytes", WET_ENTRY_BYTES - 1);
		book_fault(b, &fault);
		return false;
	}
	struct wet_entry *e = &b->puts[b->put_count];
	if (!want_text(&b->call, "token", false, e->token, sizeof e->token) ||
		!want_person(&b->call, e->person, sizeof e->person)) {
		book_end(b);
		return false;
	}
	wet_text_copy(e->kind, sizeof e->kind, kinds[kind]);
	wet_text_copy(e->name, sizeof e->name, name);
	wet_text_copy(e->body, sizeof e->body, body);
	e->uid = b->call.uid;
	b->follows[b->put_count++] = (int)json_integer_value(json_object_get(book_row(b, kind, name), "revision"));
	return true;
}

bool book_add_json(struct book *b, enum book_kind kind, const char *name, json_t *body)
{
	char *text = body ? json_dumps(body, JSON_COMPACT | JSON_SORT_KEYS) : NULL;
	bool is_added = false;
	json_decref(body);
	if (text)
		is_added = book_add(b, kind, name, text);
	else
		book_answer(b, NULL);
	free(text);
	return is_added;
}

bool book_add_piece(struct book *b, const char *name, const struct wet_piece *piece)
{
	char body[WET_ENTRY_BYTES];
	struct wet_fault fault = { 0 };
	if (wet_piece_encode(piece, body, sizeof body, &fault) != 0) {
		book_fault(b, &fault);
		return false;
	}
	return book_add(b, BOOK_PIECES, name, body);
}

static void put_done(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault)
{
	struct book *b = ctx;
	(void)entries;
	if (!book_is_wanted(b))
		return;
	if (fault->err != WET_OK) {
		book_fault(b, fault);
		return;
	}
	json_t *result = b->result;
	b->result = NULL;
	book_answer(b, result);
}

void book_put(struct book *b, json_t *result)
{
	b->result = result;
	wet_darkroom_put_entries(b->call.methods->darkroom, b->puts, b->follows, b->put_count, put_done, b);
}

/* -- what it tells ------------------------------------------------------------------------ */

char *book_paper(const struct book *b, const struct wet_piece *piece, char *buf, unsigned buf_bytes)
{
	json_t *box = book_object(book_row(b, BOOK_BOXES, piece->box));
	const char *paper = json_string_value(json_object_get(box, "paper"));
	wet_text_copy(buf, buf_bytes, paper && paper[0] ? paper : piece->box);
	json_decref(box);
	return buf;
}

enum wet_sense book_sense(const struct book *b, const struct wet_piece *piece)
{
	json_t *box = book_object(book_row(b, BOOK_BOXES, piece->box));
	const char *sense = json_string_value(json_object_get(box, "sense"));
	enum wet_sense found = WET_SENSE_UNSAID;
	for (int i = WET_SENSE_NEGATIVE; i <= WET_SENSE_DIRECT_POSITIVE; i++)
		if (sense && strcmp(sense, wet_sense_name((enum wet_sense)i)) == 0)
			found = (enum wet_sense)i;
	json_decref(box);
	return found;
}

bool book_note(const struct book *b, const char *name, struct wet_note *ret_note)
{
	static const struct wet_note_known nothing = { NULL, 0, NULL };
	json_t *body = book_object(book_row(b, BOOK_NOTES, name));
	const char *text = json_string_value(json_object_get(body, "text"));
	bool has = text && wet_note_parse(text, &nothing, ret_note, NULL) == 0;
	json_decref(body);
	return has;
}

json_t *book_piece_json(const struct book *b, const char *name, const struct wet_piece *p)
{
	char size[64] = "", width[24], height[24], paper[WET_NAME_BYTES];
	if (p->width_um > 0)
		wet_text_format(size, sizeof size, "%s x %s", wet_print_length(p->width_um, width, sizeof width),
						wet_print_length(p->height_um, height, sizeof height));
	return json_pack("{s:s, s:i, s:s, s:s, s:s, s:s, s:s, s:b, s:s, s:b, s:b, s:I, s:I, s:I, s:i, s:I}", "name", name, "number",
					 p->number, "state", wet_piece_state_word(p->state), "size", size, "box", p->box, "paper",
					 book_paper(b, p, paper, sizeof paper),
					 "camera", p->camera, "is_in_camera", p->is_in_camera, "emulsion", p->emulsion, "is_fogged", p->is_fogged,
					 "is_left_open", p->is_left_open, "loaded_ms", (json_int_t)p->loaded_ms, "unloaded_ms",
					 (json_int_t)p->unloaded_ms, "run", (json_int_t)p->process_run, "slot", p->slot, "safelight_s",
					 (json_int_t)(p->cut_light_s + p->load_light_s + p->run_light_s));
}
