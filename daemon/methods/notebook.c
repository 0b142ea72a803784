/* notebook.c: the notebook: one entry a piece, in one line. */
#include "methods/book.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <string.h>
#include <strings.h>

#define METER "meter" /* of the settings: aperture and index of readings that are a time alone */

/* -- what is known when a line is read ------------------------------------------------------ */

struct known {
	struct wet_note_known note;
	char (*cameras)[WET_NAME_BYTES];
	char meter[WET_NAME_BYTES];
};

static bool know(const struct book *b, struct known *k)
{
	size_t n = json_object_size(b->cameras);
	const char *name;
	json_t *row;
	*k = (struct known){ .cameras = calloc(n + 1, sizeof *k->cameras) };
	if (!k->cameras)
		return false;
	json_object_foreach(b->cameras, name, row) wet_text_copy(k->cameras[k->note.camera_count++], WET_NAME_BYTES, name);
	json_t *setting = book_object(book_row(b, BOOK_SETTINGS, METER));
	const char *meter = json_string_value(json_object_get(setting, "text"));
	wet_text_copy(k->meter, sizeof k->meter, meter ? meter : "");
	json_decref(setting);
	k->note.cameras = (const char(*)[WET_NAME_BYTES])k->cameras;
	k->note.meter = k->meter;
	return true;
}

/* -- showing ---------------------------------------------------------------------------------- */

static char *print_seconds(int64_t ms, char *buf, unsigned buf_bytes)
{
	if (ms % 1000 == 0 && ms < 100000)
		return wet_text_format(buf, buf_bytes, "%lld s", (long long)(ms / 1000));
	return wet_print_exposure((double)ms / 1000, buf, buf_bytes);
}

/* Shown back as it was understood. */
char *note_text(const struct wet_note *n, char *buf, unsigned buf_bytes)
{
	char given[32];
	buf[0] = '\0';
	if (n->given_ms > 0)
		wet_text_append(buf, buf_bytes, "given %s", print_seconds(n->given_ms, given, sizeof given));
	if (n->camera[0])
		wet_text_append(buf, buf_bytes, "%s%s", buf[0] ? " in " : "in ", n->camera);
	if (n->reading[0])
		wet_text_append(buf, buf_bytes, "; reading %s", n->reading);
	if (n->bright[0])
		wet_text_append(buf, buf_bytes, "; bright %s", n->bright);
	if (n->shaded[0])
		wet_text_append(buf, buf_bytes, "; shaded %s", n->shaded);
	if (n->meter[0])
		wet_text_append(buf, buf_bytes, " (meter at %s)", n->meter);
	if (n->weather[0])
		wet_text_append(buf, buf_bytes, "; weather: %s", n->weather);
	if (n->subject[0])
		wet_text_append(buf, buf_bytes, "; subject: %s", n->subject);
	if (n->doubt[0])
		wet_text_append(buf, buf_bytes, "%s", strcmp(n->doubt, "?") == 0 ? "; IN DOUBT" : "; IN DOUBT: ");
	if (n->doubt[0] && strcmp(n->doubt, "?") != 0)
		wet_text_append(buf, buf_bytes, "%s", n->doubt);
	size_t before = strspn(buf, "; "); /* of a part that has none before it */
	memmove(buf, buf + before, strlen(buf + before) + 1);
	return buf;
}

static json_t *note_json(const char *name, const struct wet_note *n, int revision, int64_t wall_ms, const char *person)
{
	char text[WET_NOTE_TEXT_BYTES], line[WET_NOTE_TEXT_BYTES];
	double ev100 = 0;
	bool has_light = wet_note_light(n, WET_SENSE_DIRECT_POSITIVE, &ev100, NULL) == 0;
	json_t *note = json_pack("{s:s, s:I, s:i, s:I, s:s, s:s, s:s}", "piece", name, "given_ms", (json_int_t)n->given_ms, "revision",
							 revision, "wall_ms", (json_int_t)wall_ms, "person", person, "line", wet_note_print(n, line, sizeof line),
							 "text", note_text(n, text, sizeof text));
#define ADD_TEXT(name, label, member, bytes) (void)json_object_set_new(note, label, json_string(n->member));
	WET_NOTE_TEXTS(ADD_TEXT)
#undef ADD_TEXT
	(void)json_object_set_new(note, "bright_ev100", has_light ? json_real(ev100) : json_null());
	return note;
}

/* -- writing ------------------------------------------------------------------------------------ */

static void put_note(struct book *b, const struct wet_note *n, const char *typed)
{
	char line[WET_NOTE_TEXT_BYTES];
	struct wet_piece *p = &b->piece;
	struct wet_note before;
	bool had = book_note(b, b->name, &before);
	int revision = (int)json_integer_value(json_object_get(book_row(b, BOOK_NOTES, b->name), "revision")) + 1;
	enum wet_piece_state state = p->state;
	char camera[WET_NAME_BYTES];
	wet_text_copy(camera, sizeof camera, p->camera);
	if (n->given_ms > 0 && p->state < WET_PIECE_EXPOSED)
		p->state = WET_PIECE_EXPOSED;
	else if (n->given_ms == 0 && had && before.given_ms > 0 && p->state == WET_PIECE_EXPOSED)
		p->state = p->is_in_camera ? WET_PIECE_LOADED : WET_PIECE_CUT;
	if (n->camera[0] && !p->is_in_camera)
		wet_text_copy(p->camera, sizeof p->camera, n->camera);
	json_t *note = note_json(b->name, n, revision, book_now_ms(b), "");
	json_t *result = json_pack("{s:o, s:O, s:o}", "note", note, "text", json_object_get(note, "text"), "warnings", json_array());
	struct wet_fault fault = { 0 };
	double ev100;
	if ((n->reading[0] || n->bright[0] || n->shaded[0]) && wet_note_light(n, book_sense(b, p), &ev100, &fault) != 0) {
		char warning[WET_LINE_BYTES * 2];
		wet_text_format(warning, sizeof warning, "%s: %s", fault.found, fault.want);
		(void)json_array_append_new(json_object_get(result, "warnings"), json_string(warning));
	}
	if (n->given_ms > 0 && (p->is_fogged || p->is_left_open))
		(void)json_array_append_new(json_object_get(result, "warnings"), json_string("This piece is marked as fogged or left open."));
	bool is_put = book_add_json(b, BOOK_NOTES, b->name,
								json_pack("{s:s, s:s}", "text", wet_note_print(n, line, sizeof line), "typed", typed));
	if (is_put && (state != p->state || strcmp(camera, p->camera) != 0))
		is_put = book_add_piece(b, b->name, p);
	if (is_put)
		book_put(b, result);
	else
		json_decref(result);
}

static void note(struct book *b)
{
	char typed[WET_NOTE_TEXT_BYTES / 2] = ""; /* with all its labels it must be read again */
	bool is_change = false;
	struct wet_note n, change;
	struct wet_fault fault = { 0 };
	struct known k;
	if (!book_want_piece(b))
		return;
	if (!want_text(&b->call, "text", true, typed, sizeof typed) || !want_bool(&b->call, "change", &is_change)) {
		book_end(b);
		return;
	}
	bool has = book_note(b, b->name, &n);
	if (has && book_is_repeat(b, BOOK_NOTES, b->name)) {
		int revision = (int)json_integer_value(json_object_get(book_row(b, BOOK_NOTES, b->name), "revision"));
		char text[WET_NOTE_TEXT_BYTES];
		book_answer(b, json_pack("{s:o, s:s, s:[]}", "note", note_json(b->name, &n, revision, 0, ""), "text",
								 note_text(&n, text, sizeof text), "warnings"));
		return;
	}
	if (!know(b, &k)) {
		book_answer(b, NULL);
		return;
	}
	int rc = wet_note_parse(typed, &k.note, &change, &fault);
	free(k.cameras);
	if (rc != 0) {
		book_fault(b, &fault);
		return;
	}
	if (has && !is_change) {
		char text[WET_NOTE_TEXT_BYTES];
		book_refuse(b, WET_ERR_REFUSED, "piece", b->name,
					"piece %s has its entry (%.120s): nothing is shot twice. To put it right: wetside note %s --change ...", b->name,
					note_text(&n, text, sizeof text), b->name);
		return;
	}
	if (!has && is_change) {
		book_refuse(b, WET_ERR_NOT_FOUND, "piece", b->name, "a piece with an entry; write it without --change");
		return;
	}
	if (!has)
		n = change;
	else
		wet_note_change(&n, &change);
	if (!n.camera[0] && b->piece.camera[0] && !(change.told & 1u << WET_NOTE_CAMERA))
		wet_text_copy(n.camera, sizeof n.camera, b->piece.camera);
	if (b->piece.is_in_camera && n.camera[0] && strcmp(n.camera, b->piece.camera) != 0) {
		book_refuse(b, WET_ERR_REFUSED, "camera", n.camera, "piece %s was loaded into %s; put right which it is: wetside camera unload %s",
					b->name, b->piece.camera, b->piece.camera);
		return;
	}
	put_note(b, &n, typed);
}

void serve_note_put(struct wet_call *c)
{
	book_open(c, note);
}

static void mark(struct book *b)
{
	bool is_fogged = false, is_open = false, is_sound = false;
	if (!book_want_piece(b))
		return;
	struct wet_piece *p = &b->piece;
	if (!want_bool(&b->call, "fogged", &is_fogged) || !want_bool(&b->call, "left_open", &is_open) ||
		!want_bool(&b->call, "sound", &is_sound)) {
		book_end(b);
		return;
	}
	if (is_fogged + is_open == 0 && !is_sound) {
		book_refuse(b, WET_ERR_PARAMS, "fogged", NULL, "what befell it: fogged, left_open; or sound, if that was a mistake");
		return;
	}
	p->is_fogged = !is_sound && (p->is_fogged || is_fogged);
	p->is_left_open = !is_sound && (p->is_left_open || is_open);
	if (!book_add_piece(b, b->name, p))
		return;
	char text[WET_LINE_BYTES];
	wet_text_format(text, sizeof text, "Piece %s is marked: %s.", b->name,
					is_sound		 ? "sound"
					: !p->is_fogged	 ? "left open; it goes into no camera"
									 : "fogged; it goes into no camera, and its judgement teaches nothing of exposure");
	book_put(b, json_pack("{s:o, s:s}", "piece", book_piece_json(b, b->name, p), "text", text));
}

void serve_note_mark(struct wet_call *c)
{
	book_open(c, mark);
}

static void set_meter(struct book *b)
{
	char text[WET_NAME_BYTES] = "", whole[2 * WET_NAME_BYTES], told[WET_LINE_BYTES];
	struct wet_meter none = { 0 };
	struct wet_reading reading;
	struct wet_fault fault = { 0 };
	if (!want_text(&b->call, "text", true, text, sizeof text)) {
		book_end(b);
		return;
	}
	wet_text_format(whole, sizeof whole, "8 s %s", text);
	if (wet_parse_reading(whole, &none, &reading, &fault) != 0 || reading.kind != WET_READING_TIME) {
		book_refuse(b, WET_ERR_INVALID, "text", text, "aperture and index that the meter stands at, as in f/128 index 10");
		return;
	}
	wet_text_format(told, sizeof told, "A reading that is a time alone is one at %s from now on.", text);
	if (book_add_json(b, BOOK_SETTINGS, METER, json_pack("{s:s}", "text", text)))
		book_put(b, json_pack("{s:s, s:s}", "meter", text, "text", told));
}

void serve_note_meter(struct wet_call *c)
{
	book_open(c, set_meter);
}

/* -- finding --------------------------------------------------------------------------------------- */

static bool has_word(const char *line, const char *word, size_t n)
{
	for (; *line; line++)
		if (strncasecmp(line, word, n) == 0)
			return true;
	return false;
}

bool has_all_words(const char *line, const char *words)
{
	while (*words) {
		size_t n = strcspn(words, " ");
		if (n > 0 && !has_word(line, words, n))
			return false;
		words += n + strspn(words + n, " ");
	}
	return true;
}

static void list_notes(struct book *b)
{
	char words[WET_LINE_BYTES] = "", line[WET_NOTE_TEXT_BYTES * 2], text[WET_NOTE_TEXT_BYTES];
	int64_t after = 0;
	if (!want_text(&b->call, "find", false, words, sizeof words) || !want_int(&b->call, "after", 0, 10000000, &after)) {
		book_end(b);
		return;
	}
	json_t *list = json_array(), *row;
	const char *name;
	int64_t at = 0, next = 0;
	size_t left = WET_REPLY_BYTES / 2;
	json_object_foreach(b->rows[BOOK_PIECES], name, row)
	{
		struct wet_note n = { 0 };
		struct wet_piece p = { 0 };
		char paper[WET_NAME_BYTES];
		if (at++ < after || !book_piece(b, name, &p))
			continue;
		bool has = book_note(b, name, &n);
		const json_t *of = book_row(b, BOOK_NOTES, name);
		const char *person = json_string_value(json_object_get(of, "person"));
		wet_text_format(line, sizeof line, "%s %s %s %s %s%s%s", name, note_text(&n, text, sizeof text), p.box, p.camera,
						wet_piece_state_word(p.state), p.is_fogged ? " fogged" : "", p.is_left_open ? " left open" : "");
		wet_text_append(line, sizeof line, " %s", book_paper(b, &p, paper, sizeof paper));
		bool is_worth = has || p.is_in_camera || p.is_fogged || p.is_left_open;
		if (words[0] ? !has_all_words(line, words) : !is_worth)
			continue;
		json_t *entry = note_json(name, &n, (int)json_integer_value(json_object_get(of, "revision")),
								  json_integer_value(json_object_get(of, "wall_ms")), person ? person : "");
		(void)json_object_update_new(entry, book_piece_json(b, name, &p));
		(void)json_object_set_new(entry, "has_note", json_boolean(has));
		if (!add_within(list, entry, &left)) {
			next = at - 1;
			break;
		}
	}
	book_answer(b, json_pack("{s:o, s:o}", "notes", list, "next", next > 0 ? json_integer(next) : json_null()));
}

void serve_note_list(struct wet_call *c)
{
	book_open(c, list_notes);
}

static void tell_history(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	if (fault->err != WET_OK || !entries) {
		reply_fault(p, fault);
		return;
	}
	json_t *list = json_array();
	static const struct wet_note_known nothing = { NULL, 0, NULL };
	size_t left = WET_REPLY_BYTES / 2;
	for (int i = 0; i < entries->count; i++) {
		const struct wet_entry *e = &entries->list[i];
		struct wet_note n = { 0 };
		json_t *body = json_loads(e->body, JSON_REJECT_DUPLICATES, NULL);
		const char *text = json_string_value(json_object_get(body, "text"));
		const char *typed = json_string_value(json_object_get(body, "typed"));
		json_t *one = NULL;
		if (text && wet_note_parse(text, &nothing, &n, NULL) == 0)
			one = note_json(e->name, &n, e->revision, e->wall_ms, e->person);
		if (one) {
			(void)json_object_set_new(one, "typed", json_string(typed ? typed : ""));
			(void)add_within(list, one, &left);
		}
		json_decref(body);
	}
	reply_result(p, json_pack("{s:o}", "revisions", list));
}

void serve_note_history(struct wet_call *c)
{
	struct wet_entry_query query = { .kind = "note", .with_history = true, .limit = WET_PAGE };
	if (!want_text(c, "piece", true, query.name, sizeof query.name))
		return;
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_get_entries(c->methods->darkroom, &query, tell_history, p);
}
