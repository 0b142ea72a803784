/* loading.c: pieces into cameras and out of them, and the boxes of paper they came from. */
#include "methods/book.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <string.h>

/* The camera of "name", as it is written on the shelf. False: refused, ended. */
static bool want_camera(struct book *b, char *ret_name)
{
	if (!want_text(&b->call, "name", true, ret_name, WET_NAME_BYTES)) {
		book_end(b);
		return false;
	}
	if (json_is_false(json_object_get(json_object_get(b->cameras, ret_name), "is_gone")))
		return true;
	book_refuse(b, WET_ERR_NOT_FOUND, "name", ret_name, "a camera of the shelf, as `wetside camera` lists them");
	return false;
}

/* The piece that is in it, into ret_piece; its name, or NULL: the camera is empty. */
static const char *piece_in(const struct book *b, const char *camera, struct wet_piece *ret_piece)
{
	const char *name;
	json_t *row;
	json_object_foreach(b->rows[BOOK_PIECES], name, row)
	{
		if (wet_piece_decode(book_body(row), ret_piece, NULL) == 0 && ret_piece->is_in_camera &&
			strcmp(ret_piece->camera, camera) == 0)
			return name;
	}
	return NULL;
}

static bool want_emulsion(struct book *b, struct wet_piece *p)
{
	char text[sizeof p->emulsion] = "";
	if (!want_text(&b->call, "emulsion", false, text, sizeof text)) {
		book_end(b);
		return false;
	}
	if (text[0] && strcmp(text, "towards") != 0 && strcmp(text, "away") != 0) {
		book_refuse(b, WET_ERR_PARAMS, "emulsion", text, "towards (the light: as it should be) or away");
		return false;
	}
	if (text[0])
		wet_text_copy(p->emulsion, sizeof p->emulsion, text);
	return true;
}

/* Time under a safelight, added to what the piece had. */
static bool want_light(struct book *b, struct wet_piece *p)
{
	int64_t ns = 0;
	if (!want_duration(&b->call, "safelight", &ns)) {
		book_end(b);
		return false;
	}
	p->load_light_s += (ns + WET_NS_PER_S / 2) / WET_NS_PER_S;
	return true;
}

/* A number that was cut before anybody wrote it down, plainly written: 07 would be a second 7. False: refused, ended. */
static bool new_piece(struct book *b)
{
	struct wet_piece *p = &b->piece;
	char *end;
	long long number = strtoll(b->name, &end, 10);
	char plain[WET_NAME_BYTES];
	wet_text_format(plain, sizeof plain, "%lld", number);
	*p = (struct wet_piece){ .number = *end || strcmp(plain, b->name) != 0 || number < 1 || number > 1000000 ? 0 : (int)number };
	if (p->number == 0) {
		book_refuse(b, WET_ERR_PARAMS, "piece", b->name, "the number on the piece's back, from 1, as in 7");
		return false;
	}
	if (!want_size(&b->call, "size", &p->width_um, &p->height_um)) {
		book_end(b);
		return false;
	}
	if (p->width_um == 0) {
		book_refuse(b, WET_ERR_NOT_FOUND, "piece", b->name,
					"a piece that was cut, as `wetside cut --list` shows them; if it was cut before, tell its size too: --size "
					"9x12cm");
		return false;
	}
	wet_text_format(p->mark, sizeof p->mark, "%d on its back", p->number);
	return true;
}

/* May this piece go into a camera? False: refused, ended. */
static bool may_load(struct book *b, const char *camera)
{
	const struct wet_piece *p = &b->piece;
	struct wet_piece other;
	const char *in = piece_in(b, camera, &other);
	char name[WET_NAME_BYTES];
	wet_text_copy(name, sizeof name, in ? in : "");
	if (p->is_in_camera && strcmp(p->camera, camera) != 0)
		book_refuse(b, WET_ERR_REFUSED, "piece", b->name, "piece %s is in %s: wetside camera unload %s --unexposed, if it is not",
					b->name, p->camera, p->camera);
	else if (p->state >= WET_PIECE_EXPOSED)
		book_refuse(b, WET_ERR_REFUSED, "piece", b->name,
					"piece %s was exposed already%s%s (it is %s): never twice. Take another one; if the number was misread, look at "
					"its back",
					b->name, p->camera[0] ? " in " : "", p->camera, wet_piece_state_word(p->state));
	else if (p->is_fogged || p->is_left_open)
		book_refuse(b, WET_ERR_REFUSED, "piece", b->name,
					"piece %s %s: use it for a test, or throw it away. If that was a mistake: wetside note %s --sound", b->name,
					p->is_fogged ? "is fogged" : "was left open", b->name);
	else if (in && strcmp(name, b->name) != 0)
		book_refuse(b, WET_ERR_REFUSED, "name", camera, "%s holds piece %s: wetside camera unload %s first", camera, name, camera);
	else if (in)
		book_refuse(b, WET_ERR_REFUSED, "piece", b->name, "piece %s is in %s already", b->name, camera);
	else
		return true;
	return false;
}

static void load(struct book *b)
{
	char camera[WET_NAME_BYTES] = "", told[WET_LINE_BYTES];
	struct wet_piece *p = &b->piece;
	if (!want_camera(b, camera))
		return;
	if (!want_text(&b->call, "piece", true, b->name, sizeof b->name)) {
		book_end(b);
		return;
	}
	if (!book_piece(b, b->name, p) && !new_piece(b))
		return;
	bool is_repeat = book_is_repeat(b, BOOK_PIECES, b->name);
	if (!is_repeat && !may_load(b, camera))
		return;
	if (!want_name(&b->call, "box", p->box, sizeof p->box)) {
		book_end(b);
		return;
	}
	if (!is_repeat && (!want_emulsion(b, p) || !want_light(b, p)))
		return;
	if (!is_repeat) {
		p->is_in_camera = true;
		p->state = WET_PIECE_LOADED;
		p->loaded_ms = book_now_ms(b);
		p->unloaded_ms = 0;
		wet_text_copy(p->camera, sizeof p->camera, camera);
		if (!book_add_piece(b, b->name, p))
			return;
	}
	wet_text_format(told, sizeof told, "Piece %s is in %s%s%s%s", b->name, camera, p->box[0] ? ", from " : "", p->box,
					strcmp(p->emulsion, "away") == 0	  ? "; its emulsion faces AWAY from the light: turn it."
					: strcmp(p->emulsion, "towards") == 0 ? "; its emulsion faces the light."
														  : "; emulsion towards the light?");
	book_put(b, json_pack("{s:o, s:s}", "piece", book_piece_json(b, b->name, p), "text", told));
}

void serve_camera_load(struct wet_call *c)
{
	book_open(c, load);
}

/* Was it exposed? A note with a time says so; else the person has to. */
static bool settle_exposed(struct book *b, const char *camera)
{
	bool is_exposed = false, is_unexposed = false;
	struct wet_piece *p = &b->piece;
	if (!want_bool(&b->call, "exposed", &is_exposed) || !want_bool(&b->call, "unexposed", &is_unexposed)) {
		book_end(b);
		return false;
	}
	if (is_exposed && is_unexposed)
		book_refuse(b, WET_ERR_PARAMS, "exposed", NULL, "either exposed or unexposed");
	else if (is_unexposed && p->state >= WET_PIECE_EXPOSED)
		book_refuse(b, WET_ERR_REFUSED, "unexposed", b->name,
					"its note says that piece %s was exposed; if that is wrong, take the time out of the note first: wetside note "
					"%s --change \"time: -\"",
					b->name, b->name);
	else if (!is_exposed && !is_unexposed && p->state < WET_PIECE_EXPOSED)
		book_refuse(b, WET_ERR_REFUSED, "name", camera,
					"was piece %s exposed? Say so, that nothing is shot twice: wetside camera unload %s --exposed, or --unexposed",
					b->name, camera);
	else {
		if (is_exposed && p->state < WET_PIECE_EXPOSED)
			p->state = WET_PIECE_EXPOSED;
		if (is_unexposed)
			p->state = WET_PIECE_CUT;
		return true;
	}
	return false;
}

static void unload(struct book *b)
{
	char camera[WET_NAME_BYTES] = "", told[WET_LINE_BYTES];
	struct wet_piece *p = &b->piece;
	if (!want_camera(b, camera))
		return;
	const char *in = piece_in(b, camera, p);
	if (!in) {
		book_refuse(b, WET_ERR_REFUSED, "name", camera, "%s is empty, as far as is known; `wetside cut --list` shows what is where",
					camera);
		return;
	}
	wet_text_copy(b->name, sizeof b->name, in);
	if (!settle_exposed(b, camera) || !want_light(b, p))
		return;
	p->is_in_camera = false;
	p->unloaded_ms = book_now_ms(b);
	if (!book_add_piece(b, b->name, p))
		return;
	wet_text_format(told, sizeof told, "Piece %s is out of %s, %s.%s", b->name, camera,
					p->state == WET_PIECE_CUT ? "not exposed: back into its box" : "exposed: into the dark, apart from fresh paper",
					p->state == WET_PIECE_CUT ? "" : " It is still unloaded with the others: arm RECIPE --from-cameras.");
	book_put(b, json_pack("{s:o, s:s}", "piece", book_piece_json(b, b->name, p), "text", told));
}

void serve_camera_unload(struct wet_call *c)
{
	book_open(c, unload);
}

/* -- boxes of paper ------------------------------------------------------------------------ */

/* What a box and its pieces had of safelight; the whole in the order it comes. */
struct box_light {
	int64_t cut_s, load_s, run_s, most_s; /* most: of one piece */
	int pieces, fresh;
	char most[WET_NAME_BYTES];
};

/* A run counts once, however many pieces were in it. */
static bool is_first_of_run(json_t *seen, const char *what, int64_t run)
{
	char key[32];
	wet_text_format(key, sizeof key, "%s %lld", what, (long long)run);
	return !json_object_get(seen, key) && json_object_set_new(seen, key, json_true()) == 0;
}

static struct box_light light_of(const struct book *b, const char *box)
{
	struct box_light l = { 0 };
	struct wet_piece p;
	const char *name;
	json_t *row, *seen = json_object();
	json_object_foreach(b->rows[BOOK_PIECES], name, row)
	{
		if (wet_piece_decode(book_body(row), &p, NULL) != 0 || strcmp(p.box, box) != 0)
			continue;
		int64_t all_s = p.cut_light_s + p.load_light_s + p.run_light_s;
		l.pieces++;
		l.fresh += p.state == WET_PIECE_CUT && !p.is_fogged && !p.is_left_open;
		l.load_s += p.load_light_s;
		l.cut_s += p.cut_light_s > 0 && is_first_of_run(seen, "cut", p.cut_run) ? p.cut_light_s : 0;
		l.run_s += p.run_light_s > 0 && is_first_of_run(seen, "run", p.process_run) ? p.run_light_s : 0;
		if (all_s > l.most_s) {
			l.most_s = all_s;
			wet_text_copy(l.most, sizeof l.most, name);
		}
	}
	json_decref(seen);
	return l;
}

static json_t *box_json(const struct book *b, const char *name)
{
	struct box_light l = light_of(b, name);
	json_t *box = book_object(book_row(b, BOOK_BOXES, name));
	char text[2 * WET_LINE_BYTES], had[32], most[32], tested[32];
	int64_t tested_s = json_integer_value(json_object_get(box, "tested_s")), all_s = l.cut_s + l.load_s + l.run_s;
	wet_text_format(text, sizeof text, "%d piece%s, %d fresh; safelight in all %s", l.pieces, l.pieces == 1 ? "" : "s", l.fresh,
					all_s ? wet_print_duration(all_s * WET_NS_PER_S, had, sizeof had) : "none");
	if (l.most_s > 0)
		wet_text_append(text, sizeof text, ", most of one piece %s (%s)", wet_print_duration(l.most_s * WET_NS_PER_S, most, sizeof most),
						l.most);
	if (tested_s > 0)
		wet_text_append(text, sizeof text,
						"; your test of it: %s%s", wet_print_duration(tested_s * WET_NS_PER_S, tested, sizeof tested),
						l.most_s > tested_s ? ". PASSED: judge it for fog, and test the safelight anew"
						: all_s > tested_s	? ". What never left the box may have had more than that: cut a strip and develop it"
											: "");
	else if (all_s > 0)
		wet_text_append(text, sizeof text, "; no test of your safelight is told: wetside camera box \"%s\" --tested 8min", name);
	(void)json_object_update_new(
		box, json_pack("{s:s, s:i, s:i, s:I, s:I, s:I, s:I, s:I, s:b, s:s}", "name", name, "pieces", l.pieces, "fresh", l.fresh, "cut_s",
					   (json_int_t)l.cut_s, "load_s", (json_int_t)l.load_s, "run_s", (json_int_t)l.run_s, "safelight_s", (json_int_t)all_s,
					   "most_s", (json_int_t)l.most_s, "is_past", tested_s > 0 && all_s > tested_s, "text", text));
	return box;
}

static void list_boxes(struct book *b)
{
	json_t *list = json_array(), *seen = json_object(), *row;
	const char *name;
	struct wet_piece p;
	size_t left = WET_REPLY_BYTES / 2;
	json_object_foreach(b->rows[BOOK_BOXES], name, row) (void)json_object_set_new(seen, name, json_true());
	json_object_foreach(b->rows[BOOK_PIECES], name, row)
	{
		if (wet_piece_decode(book_body(row), &p, NULL) == 0 && p.box[0])
			(void)json_object_set_new(seen, p.box, json_true());
	}
	json_object_foreach(seen, name, row)
	{
		if (!add_within(list, box_json(b, name), &left))
			break;
	}
	json_decref(seen);
	book_answer(b, json_pack("{s:o}", "boxes", list));
}

void serve_box_list(struct wet_call *c)
{
	book_open(c, list_boxes);
}

static bool set_text(json_t *box, const char *key, const char *text)
{
	return !text[0] || json_object_set_new(box, key, json_string(text)) == 0;
}

static void change_box(struct book *b)
{
	char name[WET_NAME_BYTES] = "", paper[WET_NAME_BYTES] = "", lamp[WET_NAME_BYTES] = "", index[24] = "", law[160] = "";
	bool is_direct = false, is_negative = false;
	int64_t tested_ns = 0;
	double value;
	struct wet_reciprocity reciprocity;
	struct wet_fault fault = { 0 };
	struct wet_call *c = &b->call;
	if (!want_name(c, "name", name, sizeof name) || !want_name(c, "paper", paper, sizeof paper) ||
		!want_name(c, "safelight", lamp, sizeof lamp) || !want_text(c, "paper_index", false, index, sizeof index) ||
		!want_text(c, "reciprocity", false, law, sizeof law) || !want_bool(c, "direct_positive", &is_direct) ||
		!want_bool(c, "negative", &is_negative) || !want_duration(c, "tested", &tested_ns)) {
		book_end(b);
		return;
	}
	if (!name[0] || (is_direct && is_negative)) {
		book_refuse(b, WET_ERR_PARAMS, name[0] ? "negative" : "name", NULL, "%s",
					name[0] ? "a direct positive or a negative, not both" : "the name of a box of paper, as on its lid");
		return;
	}
	if ((index[0] && wet_parse_index(index, &value, &fault) != 0) ||
		(law[0] && wet_parse_reciprocity(law, &reciprocity, &fault) != 0)) {
		book_fault(b, &fault);
		return;
	}
	json_t *box = book_object(book_row(b, BOOK_BOXES, name));
	bool is_well = set_text(box, "paper", paper) && set_text(box, "safelight", lamp) && set_text(box, "index", index) &&
				   set_text(box, "reciprocity", law);
	if (is_direct || is_negative)
		is_well = set_text(box, "sense", wet_sense_name(is_direct ? WET_SENSE_DIRECT_POSITIVE : WET_SENSE_NEGATIVE)) && is_well;
	if (tested_ns > 0)
		is_well = json_object_set_new(box, "tested_s", json_integer(tested_ns / WET_NS_PER_S)) == 0 && is_well;
	if (!is_well) {
		json_decref(box);
		book_answer(b, NULL);
		return;
	}
	if (!book_add_json(b, BOOK_BOXES, name, json_incref(box))) {
		json_decref(box);
		return;
	}
	struct box_light l = light_of(b, name);
	(void)json_object_set_new(box, "name", json_string(name));
	(void)json_object_set_new(box, "pieces", json_integer(l.pieces));
	book_put(b, json_pack("{s:o}", "box", box));
}

void serve_box_change(struct wet_call *c)
{
	book_open(c, change_box);
}
