/* stock.c: bottles, baths, vessels, graduates, cameras: add, change, use, discard, list, history. */
#include "darkroom/stock.h"
#include "methods/inside.h"
#include "methods/place.h"
#include "methods/stock_left.h"

#include "base/text.h"
#include "shelf/shelf.h"
#include "wetside/capacity.h"
#include "wetside/dilution.h"
#include "wetside/exposure.h"
#include "wetside/quantity.h"
#include "wetside/tempering.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define DAY_MS (24LL * 3600 * 1000)

static int64_t wall_now(const struct wet_call *c)
{
	const struct wet_ports *ports = wet_darkroom_ports(c->methods->darkroom);
	return ports->wall_ms(ports->ctx);
}

/* -- parameters: false: the fault was answered; *ret_has says whether it was there ------- */

static bool has_param(const struct wet_call *c, const char *key)
{
	const json_t *v = json_object_get(c->params, key);
	return v && !json_is_null(v);
}

/* "2026-11-20", "today", "no" (0). The day begins at the local midnight of the daemon's machine. */
static bool want_date(struct wet_call *c, const char *key, int64_t *ret_ms)
{
	char text[32] = "";
	struct wet_fault fault = { 0 };
	struct tm tm = { .tm_isdst = -1 };
	int64_t ms = -1;
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	if (!text[0])
		return true;
	const char *end = strptime(text, "%Y-%m-%d", &tm);
	if (strcmp(text, "today") == 0)
		ms = wall_now(c);
	else if (strcmp(text, "no") == 0)
		ms = 0;
	else if (end && *end == '\0') {
		int day = tm.tm_mday; /* mktime makes the 3rd of March of the 31st of February */
		ms = (int64_t)mktime(&tm) * 1000;
		ms = tm.tm_mday == day ? ms : -1;
	}
	if (ms >= 0 && ms <= wall_now(c) + DAY_MS) {
		*ret_ms = ms;
		return true;
	}
	(void)wet_fault_set(&fault, ms < 0 ? WET_ERR_INVALID : WET_ERR_RANGE, key, text,
						ms < 0 ? "a day as in 2026-11-20, or today" : "a day that has come already");
	call_fault(c, &fault);
	return false;
}

/* area ("540 cm2"), or pieces and size ("4", "9x12cm"). */
static bool want_area(struct wet_call *c, int64_t *ret_mm2)
{
	char area[32] = "", size[48] = "";
	int64_t pieces = 0, width_um, height_um;
	struct wet_fault fault = { 0 };
	if (!want_text(c, "area", false, area, sizeof area) || !want_text(c, "size", false, size, sizeof size) ||
		!want_int(c, "pieces", 1, 10000, &pieces))
		return false;
	if (area[0] && wet_parse_area(area, ret_mm2, &fault) != 0)
		return call_fault_at(c, "area", &fault);
	if (!size[0] && pieces == 0)
		return true;
	if (!size[0] || pieces == 0 || area[0]) {
		(void)wet_fault_set(&fault, WET_ERR_PARAMS, "size", NULL,
							"an area, or both pieces and size, as in 4 pieces of 9x12cm");
		call_fault(c, &fault);
		return false;
	}
	if (wet_parse_size(size, &width_um, &height_um, &fault) != 0)
		return call_fault_at(c, "size", &fault);
	*ret_mm2 = (pieces * width_um * height_um + 500000) / 1000000;
	return true;
}

/* What passed through it as the second of two baths, as an area. */
static bool want_second(struct wet_call *c, int64_t *ret_mm2)
{
	char area[32] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, "as_second", false, area, sizeof area))
		return false;
	return area[0] && wet_parse_area(area, ret_mm2, &fault) != 0 ? call_fault_at(c, "as_second", &fault) : true;
}

static bool want_strength(struct wet_call *c, struct wet_stock *item)
{
	int64_t a, b;
	struct wet_strength strength;
	struct wet_fault fault = { 0 };
	const char *key = item->kind == WET_STOCK_BATH ? "dilution" : "strength";
	if (!want_text(c, key, false, item->strength, sizeof item->strength))
		return false;
	if (!item->strength[0] || strcmp(item->strength, "stock") == 0)
		return true;
	int rc = item->kind == WET_STOCK_BATH ? wet_parse_dilution(item->strength, &a, &b, &fault)
										  : wet_parse_strength(item->strength, &strength, &fault);
	return rc == 0 ? true : call_fault_at(c, key, &fault);
}

static bool want_kept(struct wet_call *c, struct wet_stock_request *r)
{
	char text[16] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, "kept", false, text, sizeof text) || !want_text(c, "vessel", false, r->vessel, sizeof r->vessel) ||
		!want_size(c, "tray", &r->item.width_um, &r->item.height_um))
		return false;
	if (text[0] && wet_stock_kept_from_word(text, &r->item.kept, &fault) != 0) {
		call_fault(c, &fault);
		return false;
	}
	return true;
}

static bool want_grade(struct wet_call *c, struct wet_stock *item)
{
	char text[8] = "";
	if (!want_text(c, "class", false, text, sizeof text))
		return false;
	if (text[0])
		item->grade = text[1] ? '?' : text[0]; /* judged by wet_stock_check */
	return true;
}

/* "bleach, food"; a place that is told as it is shown brings its own. */
static bool want_beside(struct wet_call *c, struct wet_stock_request *r)
{
	char text[WET_LINE_BYTES] = "", place[WET_NAME_BYTES];
	struct wet_fault fault = { 0 };
	unsigned beside = wet_stock_place(&r->item, place);
	if (beside != 0) {
		wet_text_copy(r->item.place, sizeof r->item.place, place);
		r->fields |= WET_STOCK_HAS_BESIDE;
		r->beside = beside;
	}
	if (!want_text(c, "beside", false, text, sizeof text))
		return false;
	if (has_param(c, "beside") && wet_beside_parse(text, &r->beside, &fault) != 0) {
		call_fault(c, &fault);
		return false;
	}
	return true;
}

/* What is in it: a new one has to say so. */
static bool want_contents(struct wet_call *c, struct wet_stock_request *r)
{
	struct wet_fault fault = { 0 };
	if (!want_volume(c, "volume", false, &r->item.volume_ul))
		return false;
	if (r->op != WET_STOCK_OP_ADD || has_param(c, "volume"))
		return true;
	wet_fault_set(&fault, WET_ERR_PARAMS, "volume", NULL, "how much is in it, as in 1 L");
	call_fault(c, &fault);
	return false;
}

/* A pinhole is told by its diameter, too; a camera of an aperture number alone is one with a lens, unless it says so. */
static bool want_camera(struct wet_call *c, struct wet_stock_request *r)
{
	struct wet_stock *i = &r->item;
	struct wet_fault fault = { 0 };
	char aperture[24] = "";
	double f_number = 0;
	if (!want_text(c, "kind", false, i->what, sizeof i->what) || !want_length_um(c, "pinhole", &i->hole_um) ||
		!want_length_um(c, "distance", &i->distance_um) || !want_size(c, "format", &i->width_um, &i->height_um) ||
		!want_text(c, "aperture", false, aperture, sizeof aperture))
		return false;
	if (aperture[0] && wet_parse_f_number(aperture, &f_number, &fault) != 0)
		return call_fault_at(c, "aperture", &fault);
	if (aperture[0] && i->hole_um > 0) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "aperture", NULL, "either an aperture number, or a pinhole and its distance");
		call_fault(c, &fault);
		return false;
	}
	i->f_number_milli = llround(1000 * wet_f_number_of_mark(f_number));
	if (!i->what[0] && (r->op == WET_STOCK_OP_ADD || i->hole_um > 0)) {
		wet_text_copy(i->what, sizeof i->what, i->hole_um > 0 ? "pinhole" : "lens");
		r->fields |= WET_STOCK_HAS_WHAT;
	}
	return true;
}

/* "200 g plastic" */
static bool want_heat(struct wet_call *c, struct wet_stock_request *r)
{
	char text[96] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, "heat", false, text, sizeof text))
		return false;
	return text[0] && wet_parse_vessel_heat(text, &r->heat_j_per_k, &fault) != 0 ? call_fault_at(c, "heat", &fault) : true;
}

/* The fields of one kind; what was there is noted in r->fields. */
static bool want_item(struct wet_call *c, struct wet_stock_request *r)
{
	struct wet_stock *i = &r->item;
	int64_t pieces = 0, rotations = 0;
	static const struct {
		const char *key;
		unsigned field;
	} marks[] = { { "what", WET_STOCK_HAS_WHAT },         { "kind", WET_STOCK_HAS_WHAT },
				  { "strength", WET_STOCK_HAS_STRENGTH }, { "dilution", WET_STOCK_HAS_STRENGTH },
				  { "lot", WET_STOCK_HAS_LOT },           { "place", WET_STOCK_HAS_PLACE },
				  { "full", WET_STOCK_HAS_FULL },         { "most", WET_STOCK_HAS_FULL },
				  { "holds", WET_STOCK_HAS_FULL },        { "volume", WET_STOCK_HAS_VOLUME },
				  { "least", WET_STOCK_HAS_LEAST },       { "marks", WET_STOCK_HAS_LEAST },
				  { "tray", WET_STOCK_HAS_TRAY },         { "opened", WET_STOCK_HAS_SINCE },
				  { "mixed", WET_STOCK_HAS_SINCE },       { "class", WET_STOCK_HAS_GRADE },
				  { "beside", WET_STOCK_HAS_BESIDE },
				  { "area", WET_STOCK_HAS_AREA },         { "size", WET_STOCK_HAS_AREA },
				  { "as_second", WET_STOCK_HAS_SECOND },  { "rotations", WET_STOCK_HAS_ROTATIONS },
				  { "vessel", WET_STOCK_HAS_TRAY },       { "kept", WET_STOCK_HAS_KEPT },
				  { "piece", WET_STOCK_HAS_PIECE },       { "format", WET_STOCK_HAS_TRAY },
				  { "pinhole", WET_STOCK_HAS_HOLE },      { "distance", WET_STOCK_HAS_DISTANCE },
				  { "aperture", WET_STOCK_HAS_APERTURE } };
	for (size_t n = 0; n < sizeof marks / sizeof marks[0]; n++)
		if (has_param(c, marks[n].key))
			r->fields |= marks[n].field;
	if (!want_text(c, "lot", false, i->lot, sizeof i->lot) ||
		!want_text(c, "place", false, i->place, sizeof i->place) || !want_beside(c, r) ||
		!want_strength(c, i))
		return false;
	switch (i->kind) {
	case WET_STOCK_BOTTLE:
		return want_text(c, "what", false, i->what, sizeof i->what) && want_volume(c, "full", false, &i->full_ul) &&
			   want_contents(c, r) && want_date(c, "opened", &i->since_ms);
	case WET_STOCK_BATH:
		if (!want_int(c, "rotations", 0, WET_STOCK_ROTATIONS, &rotations))
			return false;
		i->rotations = (int)rotations;
		return want_text(c, "what", false, i->what, sizeof i->what) && want_volume(c, "full", false, &i->full_ul) &&
			   want_contents(c, r) && want_date(c, "mixed", &i->since_ms) && want_kept(c, r) &&
			   want_area(c, &i->area_mm2) && want_second(c, &i->second_mm2);
	case WET_STOCK_VESSEL:
		if (has_param(c, "pieces"))
			r->fields |= WET_STOCK_HAS_PIECES;
		if (!want_text(c, "kind", false, i->what, sizeof i->what) || !want_volume(c, "most", false, &i->full_ul) ||
			!want_volume(c, "least", false, &i->least_ul) || !want_int(c, "pieces", 1, WET_PIECES, &pieces) ||
			!want_size(c, "tray", &i->width_um, &i->height_um) ||
			!want_size(c, "piece", &i->piece_width_um, &i->piece_height_um) || !want_duration(c, "fill", &r->fill_ns) ||
			!want_duration(c, "drain", &r->drain_ns) || !want_duration(c, "cooling", &r->tau_ns) || !want_heat(c, r))
			return false;
		i->pieces_max = (int)pieces;
		return true;
	case WET_STOCK_CAMERA: return want_camera(c, r);
	default:
		return want_volume(c, "holds", false, &i->full_ul) && want_volume(c, "marks", false, &i->least_ul) && want_grade(c, i);
	}
}

/* A list that was asked for, and the piece in which what is left is counted. */
struct listing {
	struct pending *pending;
	int64_t piece_mm2; /* 0: no piece was named */
};

/* -- answers ------------------------------------------------------------------------ */

static json_t *item_json(const struct wet_stock *i)
{
	char line[WET_LINE_BYTES], volume[48], full[48], least[48], grade[2] = { i->grade, '\0' }, place[WET_NAME_BYTES];
	json_t *beside = json_array();
	unsigned bits = wet_stock_place(i, place);
	for (int n = 0; n < WET_BESIDE_N; n++)
		if (bits & 1u << n)
			(void)json_array_append_new(beside, json_string(wet_beside_word((enum wet_beside)n)));
	return json_pack("{s:I, s:s, s:s, s:s, s:s, s:s, s:s, s:o, s:s, s:s, s:s, s:I, s:I, s:I, s:i, s:I, s:I, s:I, s:I, s:I,"
					 " s:s, s:b, s:I, s:s, s:I, s:i, s:s, s:I, s:I, s:I, s:I, s:I}",
					 "id", (json_int_t)i->id, "kind", wet_stock_kind_word(i->kind), "name", i->name, "what", i->what,
					 "strength", i->strength, "lot", i->lot, "place", place, "beside", beside, "full",
					 wet_print_volume(i->full_ul, full, sizeof full), "volume",
					 wet_print_volume(i->volume_ul, volume, sizeof volume), "least",
					 wet_print_volume(i->least_ul, least, sizeof least), "full_ul", (json_int_t)i->full_ul, "volume_ul",
					 (json_int_t)i->volume_ul, "least_ul", (json_int_t)i->least_ul, "pieces", i->pieces_max, "width_um",
					 (json_int_t)i->width_um, "height_um", (json_int_t)i->height_um, "since_ms", (json_int_t)i->since_ms,
					 "area_mm2", (json_int_t)i->area_mm2, "from", (json_int_t)i->from_id, "class", grade, "is_gone",
					 i->is_gone, "gone_ms", (json_int_t)i->gone_ms, "text", wet_stock_line(i, line, sizeof line),
					 "second_mm2", (json_int_t)i->second_mm2, "rotations", i->rotations, "kept",
					 wet_stock_kept_word(i->kept), "piece_width_um", (json_int_t)i->piece_width_um,
					 "piece_height_um", (json_int_t)i->piece_height_um, "hole_um", (json_int_t)i->hole_um, "distance_um",
					 (json_int_t)i->distance_um, "f_number_milli", (json_int_t)i->f_number_milli);
}

static json_t *event_json(const struct wet_stock_event *e)
{
	return json_pack("{s:I, s:s, s:I, s:I, s:I, s:I, s:i, s:s, s:I, s:s}", "id", (json_int_t)e->id, "act",
					 wet_stock_act_word(e->act), "wall_ms", (json_int_t)e->wall_ms, "volume_ul", (json_int_t)e->volume_ul,
					 "area_mm2", (json_int_t)e->area_mm2, "run", (json_int_t)e->run_id, "stage", e->stage, "note",
					 e->note, "second_mm2", (json_int_t)e->second_mm2, "kept", wet_stock_kept_word(e->kept));
}

#define MEETS 8       /* that are told of one item */
#define MEETS_LISTED 2 /* of each, in a page of many */

/* The shelf asks where a bottle stands. */
static const char *question_of(const struct wet_stock *i)
{
	return i->kind == WET_STOCK_BOTTLE && !i->place[0] && !i->is_gone
			   ? "Where does it stand, and does bleach, drain cleaner, food stand beside it, or can children reach it? Tell it "
				 "with --place and --beside, or --beside none."
			   : "";
}

static void answered_one(void *ctx, const struct wet_stock_answer *a, const struct wet_fault *fault)
{
	if (fault->err != WET_OK)
		reply_fault(ctx, fault);
	else
		reply_result(ctx, json_pack("{s:o, s:o, s:s}", "item", item_json(&a->items[0]), "meets",
									wet_item_meets(((struct pending *)ctx)->methods, &a->items[0], MEETS), "ask",
									question_of(&a->items[0])));
}

static json_t *texts_of(json_t *meets)
{
	json_t *texts = json_array(), *caution;
	size_t i;
	json_array_foreach(meets, i, caution) (void)json_array_append(texts, json_object_get(caution, "text"));
	json_decref(meets);
	return texts;
}

/* How it is filled and drained, and how it cools. */
static void add_vessel(const struct wet_vessel *v, json_t *item)
{
	char cools[WET_LINE_BYTES];
	json_t *more = json_pack("{s:s, s:I, s:I, s:i, s:i, s:I, s:I}", "cooling", wet_vessel_cooling(v, cools, sizeof cools),
							 "constant_us", (json_int_t)(v->tau_ns / 1000), "constant_error_us",
							 (json_int_t)(v->tau_error_ns / 1000), "constant_uses", v->tau_count, "chill_ppm", (int)v->chill_ppm,
							 "fill_us", (json_int_t)(v->fill_ns / 1000), "drain_us", (json_int_t)(v->drain_ns / 1000));
	(void)json_object_update(item, more);
	json_decref(more);
}

static void answered_list(void *ctx, const struct wet_stock_answer *a, const struct wet_fault *fault)
{
	struct listing *x = ctx;
	if (fault->err != WET_OK) {
		reply_fault(x->pending, fault);
		free(x);
		return;
	}
	json_t *list = json_array();
	for (int i = 0; i < a->item_count; i++) {
		json_t *item = item_json(&a->items[i]);
		stock_say_left(wet_darkroom_shelf(x->pending->methods->darkroom), &a->items[i], &a->ages[i], x->piece_mm2, item);
		if (a->items[i].kind == WET_STOCK_VESSEL)
			add_vessel(&a->vessels[i], item);
		(void)json_object_set_new(item, "cautions", texts_of(wet_item_meets(x->pending->methods, &a->items[i], MEETS_LISTED)));
		(void)json_array_append_new(list, item);
	}
	json_int_t next = a->item_count == WET_PAGE ? (json_int_t)a->items[WET_PAGE - 1].id : 0;
	reply_result(x->pending, json_pack("{s:o, s:I}", "items", list, "next", next));
	free(x);
}

static void answered_history(void *ctx, const struct wet_stock_answer *a, const struct wet_fault *fault)
{
	if (fault->err != WET_OK) {
		reply_fault(ctx, fault);
		return;
	}
	json_t *list = json_array();
	for (int i = 0; i < a->event_count; i++)
		(void)json_array_append_new(list, event_json(&a->events[i]));
	json_int_t next = a->event_count == WET_PAGE ? (json_int_t)a->events[WET_PAGE - 1].id : 0;
	reply_result(ctx, json_pack("{s:o, s:o, s:I}", "item", item_json(&a->items[0]), "events", list, "next", next));
}

/* -- serving ------------------------------------------------------------------------ */

/* What adding needs, and what is told only once: a bottle bought full, a bath drawn from a bottle. */
static bool complete_addition(struct wet_call *c, struct wet_stock_request *r)
{
	struct wet_stock *i = &r->item;
	struct wet_dilution d;
	struct wet_fault fault = { 0 };
	int64_t a, b;
	if (i->kind == WET_STOCK_BOTTLE || i->kind == WET_STOCK_BATH) {
		if (i->full_ul == 0)
			i->full_ul = i->volume_ul;
		if (!(r->fields & WET_STOCK_HAS_VOLUME))
			i->volume_ul = i->full_ul;
	}
	if (i->kind == WET_STOCK_CAMERA)
		wet_stock_set_aperture(i);
	if (i->kind == WET_STOCK_VESSEL && (r->fill_ns < 0) != (r->drain_ns < 0)) {
		(void)wet_fault_set(&fault, WET_ERR_PARAMS, "fill", NULL, "both fill and drain, or neither");
		call_fault(c, &fault);
		return false;
	}
	if (i->kind != WET_STOCK_BATH)
		return true;
	if (!(r->fields & WET_STOCK_HAS_SINCE))
		i->since_ms = wall_now(c);
	if (!want_text(c, "from", false, r->from, sizeof r->from))
		return false;
	if (!r->from[0])
		return true;
	r->draw_ul = i->volume_ul;
	if (!i->strength[0] || strcmp(i->strength, "stock") == 0)
		return true;
	if (wet_parse_dilution(i->strength, &a, &b, &fault) != 0 || wet_dilute_make(a, b, i->volume_ul, &d, &fault) != 0)
		return call_fault_at(c, "dilution", &fault);
	r->draw_ul = d.stock_ul;
	return true;
}

static bool want_use(struct wet_call *c, struct wet_stock_request *r)
{
	struct wet_fault fault = { 0 };
	int64_t volume_ul = 0, area_mm2 = 0, second_mm2 = 0;
	bool is_bath = r->item.kind == WET_STOCK_BATH;
	if (!want_volume(c, "volume", false, &volume_ul) || (is_bath && (!want_area(c, &area_mm2) || !want_second(c, &second_mm2))))
		return false;
	if (volume_ul == 0 && area_mm2 == 0 && second_mm2 == 0) {
		(void)wet_fault_set(&fault, WET_ERR_PARAMS, "volume", NULL,
							is_bath ? "what was used: a volume, an area, or pieces and their size"
									: "how much was drawn, as in 45 mL");
		call_fault(c, &fault);
		return false;
	}
	r->why.volume_ul = -volume_ul;
	r->why.area_mm2 = area_mm2;
	r->why.second_mm2 = second_mm2;
	return true;
}

static void serve_list(struct wet_call *c, const struct wet_stock_request *r)
{
	int64_t width_um = 0, height_um = 0;
	if (!want_size(c, "size", &width_um, &height_um))
		return;
	struct listing *x = malloc(sizeof *x);
	struct pending *p = x ? hold_reply(c) : NULL;
	if (!p) {
		if (!x)
			call_result(c, NULL);
		free(x);
		return;
	}
	*x = (struct listing){ p, (width_um * height_um + 999999) / 1000000 };
	wet_darkroom_stock(c->methods->darkroom, r, answered_list, x);
}

static void serve_stock(struct wet_call *c, enum wet_stock_kind kind, enum wet_stock_op op)
{
	static wet_stock_cb *const answers[] = { answered_one, answered_one, answered_one,
											 answered_one, NULL,		 answered_history };
	struct pending *p;
	struct wet_stock_request *r = calloc(1, sizeof *r);
	if (!r) {
		call_result(c, NULL);
		return;
	}
	r->op = op;
	r->item.kind = kind;
	r->fill_ns = r->drain_ns = r->tau_ns = r->heat_j_per_k = -1;
	r->cursor = op == WET_STOCK_OP_HISTORY ? INT64_MAX : 0;
	r->why.act = op <= WET_STOCK_OP_DISCARD ? (enum wet_stock_act)op : WET_STOCK_ACT_ADD;
	r->why.uid = c->uid;
	bool is_good = op == WET_STOCK_OP_LIST || want_text(c, "name", true, r->item.name, sizeof r->item.name);
	is_good = is_good && want_text(c, "token", false, r->why.token, sizeof r->why.token) &&
			  want_text(c, "note", false, r->why.note, sizeof r->why.note) &&
			  want_text(c, "rename", false, r->rename, sizeof r->rename) && want_bool(c, "gone", &r->with_gone) &&
			  want_int(c, "after", 0, INT64_MAX, &r->cursor) && want_int(c, "before", 1, INT64_MAX, &r->cursor);
	if (is_good && (op == WET_STOCK_OP_ADD || op == WET_STOCK_OP_CHANGE))
		is_good = want_item(c, r);
	if (is_good && op == WET_STOCK_OP_ADD)
		is_good = complete_addition(c, r);
	if (is_good && op == WET_STOCK_OP_USE)
		is_good = want_use(c, r);
	if (is_good && op == WET_STOCK_OP_LIST)
		serve_list(c, r);
	else if (is_good && (p = hold_reply(c)) != NULL)
		wet_darkroom_stock(c->methods->darkroom, r, answers[op], p);
	free(r);
}

#define SERVE(word, KIND, op, OP)                             \
	void serve_##word##_##op(struct wet_call *c)              \
	{                                                         \
		serve_stock(c, WET_STOCK_##KIND, WET_STOCK_OP_##OP); \
	}
SERVE(bottle, BOTTLE, add, ADD)
SERVE(bottle, BOTTLE, change, CHANGE)
SERVE(bottle, BOTTLE, discard, DISCARD)
SERVE(bottle, BOTTLE, history, HISTORY)
SERVE(bottle, BOTTLE, list, LIST)
SERVE(bottle, BOTTLE, use, USE)
SERVE(bath, BATH, add, ADD)
SERVE(bath, BATH, change, CHANGE)
SERVE(bath, BATH, discard, DISCARD)
SERVE(bath, BATH, history, HISTORY)
SERVE(bath, BATH, list, LIST)
SERVE(bath, BATH, use, USE)
SERVE(vessel, VESSEL, add, ADD)
SERVE(vessel, VESSEL, change, CHANGE)
SERVE(vessel, VESSEL, discard, DISCARD)
SERVE(vessel, VESSEL, history, HISTORY)
SERVE(vessel, VESSEL, list, LIST)
SERVE(graduate, GRADUATE, add, ADD)
SERVE(graduate, GRADUATE, change, CHANGE)
SERVE(graduate, GRADUATE, discard, DISCARD)
SERVE(graduate, GRADUATE, history, HISTORY)
SERVE(graduate, GRADUATE, list, LIST)
SERVE(camera, CAMERA, add, ADD)
SERVE(camera, CAMERA, change, CHANGE)
SERVE(camera, CAMERA, discard, DISCARD)
SERVE(camera, CAMERA, history, HISTORY)
SERVE(camera, CAMERA, list, LIST)
