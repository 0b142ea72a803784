/* cut.c: pieces out of sheets: the plan, and the run that leads through it. */
#include "methods/inside.h"

#include "base/text.h"
#include "darkroom/cutting.h"
#include "darkroom/entries.h"
#include "methods/cut.h"
#include "shelf/cutting.h"

#include <stdlib.h>
#include <string.h>

/* A piece is so much smaller than the camera's inside where nothing else is told. Common practice, no source: 1 to 2 mm. */
#define UNDER_T (1 * WET_CUT_TICKS_PER_MM)
#define UNDER_IN_T (25400 * WET_CUT_TICKS_PER_UM / 16) /* where people think in inches: 1.6 mm */

/* -- what is asked ------------------------------------------------------------------------ */

static bool want_length(struct wet_call *c, const char *key, int32_t *ret_t)
{
	char text[48] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	return !text[0] || wet_cut_parse_length(text, ret_t, &fault) == 0 ? true : call_fault_at(c, key, &fault);
}

static bool wrong_pieces(struct wet_call *c, const char *found)
{
	struct wet_fault fault = { 0 };
	wet_fault_set(&fault, WET_ERR_PARAMS, "pieces", found,
				  "a list of one to %d sizes with their counts, as in [{\"count\": 6, \"size\": "
				  "\"9x12cm\"}]; one size may go without",
				  WET_CUT_SIZES);
	call_fault(c, &fault);
	return false;
}

static bool want_pieces(struct wet_call *c, struct wet_cut_ask *ask)
{
	json_t *list = json_object_get(c->params, "pieces"), *row;
	struct wet_fault fault = { 0 };
	enum wet_unit unit;
	size_t i;
	if (!json_is_array(list) || json_array_size(list) == 0 || json_array_size(list) > WET_CUT_SIZES)
		return wrong_pieces(c, NULL);
	json_array_foreach(list, i, row)
	{
		json_t *count = json_object_get(row, "count");
		const char *size = json_string_value(json_object_get(row, "size"));
		struct wet_cut_size *s = &ask->sizes[ask->size_count++];
		if (!size || (count && (!json_is_integer(count) || json_integer_value(count) < 1 ||
								json_integer_value(count) > WET_CUT_PIECES)))
			return wrong_pieces(c, size);
		if (wet_cut_parse_size(size, &s->width_t, &s->height_t, &unit, &fault) != 0)
			return call_fault_at(c, "pieces", &fault);
		s->wanted = (int)json_integer_value(count);
	}
	return true;
}

/* The sizes are of the cameras' insides. */
static bool want_inside(struct wet_call *c, struct cut_request *r)
{
	int32_t under_t = r->words.unit == WET_UNIT_IN ? UNDER_IN_T : UNDER_T;
	bool has_under = json_object_get(c->params, "under") != NULL;
	struct wet_fault fault = { 0 };
	if (!want_bool(c, "inside", &r->is_inside) || !want_length(c, "under", &under_t))
		return false;
	if (has_under && !r->is_inside) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "under", NULL,
					  "this only where the sizes are those of the cameras' insides (inside)");
		call_fault(c, &fault);
		return false;
	}
	if (under_t > 10 * WET_CUT_TICKS_PER_MM) {
		wet_fault_set(&fault, WET_ERR_RANGE, "under", NULL, "at most 10 mm; 1 to 2 mm is usual");
		call_fault(c, &fault);
		return false;
	}
	for (int i = 0; i < r->ask.size_count && r->is_inside; i++) {
		struct wet_cut_size *s = &r->ask.sizes[i];
		if (s->width_t > under_t && s->height_t > under_t) {
			s->width_t -= under_t;
			s->height_t -= under_t;
			continue;
		}
		wet_fault_set(&fault, WET_ERR_RANGE, "pieces", NULL,
					  "insides larger than what the piece is smaller by");
		call_fault(c, &fault);
		return false;
	}
	r->under_t = under_t;
	return true;
}

static bool want_base(struct wet_call *c, struct cut_request *r)
{
	char base[24] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, "base", false, base, sizeof base))
		return false;
	r->words.is_resin_coated = strcmp(base, "rc") == 0;
	if (!base[0] || r->words.is_resin_coated || strcmp(base, "fibre") == 0)
		return true;
	wet_fault_set(&fault, WET_ERR_PARAMS, "base", base, "rc (resin-coated) or fibre");
	call_fault(c, &fault);
	return false;
}

bool want_cut(struct wet_call *c, struct cut_request *r)
{
	char sheet[64] = "";
	int64_t sheets = -1, first = 0, shown = 1, columns = 48;
	struct wet_fault fault = { 0 };
	if (!want_text(c, "sheet", true, sheet, sizeof sheet))
		return false;
	if (wet_cut_parse_size(sheet, &r->ask.sheet_width_t, &r->ask.sheet_height_t, &r->words.unit, &fault) != 0)
		return call_fault_at(c, "sheet", &fault);
	if (!want_pieces(c, &r->ask) || !want_inside(c, r) || !want_base(c, r) ||
		!want_length(c, "kerf", &r->ask.kerf_t) || !want_length(c, "margin", &r->ask.margin_t) ||
		!want_int(c, "sheets", 1, WET_CUT_SHEETS, &sheets) ||
		!want_int(c, "first", 1, WET_CUT_NUMBER_MOST - WET_CUT_PIECES, &first) ||
		!want_int(c, "layout", 1, WET_CUT_LAYOUTS, &shown) || !want_int(c, "columns", 24, 120, &columns))
		return false;
	r->ask.sheets = sheets > 0 ? (int)sheets : r->ask.sizes[0].wanted == 0 ? 1 : 0;
	r->words.first_number = (int)first;
	r->layout = (int)shown - 1;
	r->columns = (int)columns;
	return true;
}

/* -- the plan ---------------------------------------------------------------------------------- */

static void planned(void *ctx, const struct wet_cut_plan *plan, int next_number,
					const struct wet_fault *fault)
{
	struct cut_request *r = ctx;
	struct pending *p = r->pending;
	if (r->words.first_number == 0)
		r->words.first_number = next_number;
	r->words.ask = &r->ask;
	r->words.plan = plan;
	if (plan)
		reply_result(p, cut_plan_json(r));
	else
		reply_fault(p, fault);
	free(r);
}

static struct cut_request *new_request(struct wet_call *c)
{
	struct cut_request *r = calloc(1, sizeof *r);
	if (!r) {
		call_result(c, NULL);
		return NULL;
	}
	if (want_cut(c, r))
		return r;
	free(r);
	return NULL;
}

void serve_cut_compute(struct wet_call *c)
{
	struct cut_request *r = new_request(c);
	if (r && !(r->pending = hold_reply(c))) {
		free(r);
		r = NULL;
	}
	if (r)
		wet_darkroom_cut(c->methods->darkroom, &r->ask, planned, r);
}

/* -- the run --------------------------------------------------------------------------------------- */

static void reply_run(struct cut_request *r, struct wet_live *live)
{
	struct pending *p = r->pending;
	reply_result(p,
				 json_pack("{s:o, s:s, s:O, s:b, s:o}", "run", wet_run_snapshot(p->methods->darkroom, live),
						   "told", r->told, "checklist", json_object_get(r->plan, "before_dark"),
						   "sound_check", live->digit > 0, "plan", r->plan));
	free(r);
}

static void cut_begun(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored)
{
	(void)answer;
	(void)is_stored;
	reply_run(ctx, live);
}

static void cut_armed(void *ctx, const struct wet_armed *armed, const struct wet_fault *fault)
{
	struct cut_request *r = ctx;
	if (fault->err != WET_OK) {
		json_decref(r->plan);
		reply_fault(r->pending, fault);
		free(r);
		return;
	}
	wet_text_copy(r->told, sizeof r->told, armed->told);
	if (!r->arming.is_rehearsal) {
		reply_run(r, armed->live);
		return;
	}
	/* A rehearsal begins by itself: nothing is at stake. */
	struct wet_event event = { .kind = WET_ACT_BEGIN, .bath = -1, .number = -1, .uid = r->arming.uid };
	wet_darkroom_act(r->pending->methods->darkroom, armed->live, &event, cut_begun, r);
}

/* The numbers that will stand on their backs. */
static void cut_list_made(struct cut_request *r)
{
	const struct wet_cut_plan *p = r->words.plan;
	r->cutting.is_resin_coated = r->words.is_resin_coated;
	for (int i = 0; i < p->layout_count; i++) {
		const struct wet_cut_layout *l = &p->layouts[i];
		/* In the order of their numbers, sheet after sheet; a guide is no longer than its steps, so all have room. */
		for (int k = 0; k < l->times && r->cutting.made_count + l->piece_count <= WET_CUT_MADE; k++) {
			int first = r->words.first_number + r->cutting.made_count;
			for (int m = 0; m < l->part_count; m++) {
				const struct wet_cut_part *part = &l->parts[m];
				if (part->kind == WET_CUT_PIECE)
					r->cutting.made[r->cutting.made_count + part->number - 1] =
						(struct wet_cut_made){ first + part->number - 1, cut_um(part->width_t),
											   cut_um(part->height_t) };
			}
			r->cutting.made_count += l->piece_count;
		}
	}
}

static void planned_run(void *ctx, const struct wet_cut_plan *plan, int next_number,
						const struct wet_fault *why)
{
	struct cut_request *r = ctx;
	struct pending *p = r->pending;
	struct wet_fault fault = *why;
	char size[80];
	if (r->words.first_number == 0)
		r->words.first_number = next_number;
	r->words.ask = &r->ask;
	r->words.plan = plan;
	if (plan)
		fault.err = wet_cut_guide_make(&r->words, &r->cutting.guide, &fault);
	if (plan && fault.err == WET_OK && !(r->plan = cut_plan_json(r)))
		fault.err = WET_ERR_NOMEM;
	if (fault.err != WET_OK) {
		reply_fault(p, &fault);
		free(r);
		return;
	}
	wet_text_format(
		r->cutting.title, sizeof r->cutting.title, "Cut: %d piece%s from %d sheet%s of %s", plan->pieces,
		plan->pieces == 1 ? "" : "s", plan->sheets, plan->sheets == 1 ? "" : "s",
		wet_cut_print_size(r->ask.sheet_width_t, r->ask.sheet_height_t, r->words.unit, size, sizeof size));
	cut_list_made(r);
	r->arming.cut = &r->cutting;
	wet_darkroom_arm(p->methods->darkroom, &r->arming, cut_armed, r);
}

void serve_cut(struct wet_call *c)
{
	struct cut_request *r = new_request(c);
	if (!r)
		return;
	r->arming = (struct wet_arming){ .pieces = 1,
									 .fill_ns = -1,
									 .drain_ns = -1,
									 .stagger_ns = -1,
									 .room_mc = INT32_MIN,
									 .no_beat = true,
									 .uid = c->uid };
	if (!want_name(c, "safelight", r->cutting.safelight, sizeof r->cutting.safelight) ||
		!want_name(c, "box", r->cutting.box, sizeof r->cutting.box) ||
		!want_name(c, "run", r->arming.run_name, sizeof r->arming.run_name) ||
		!want_name(c, "room", r->arming.room, sizeof r->arming.room) ||
		!want_person(c, r->arming.person, sizeof r->arming.person) ||
		!want_bool(c, "group", &r->arming.group_controls) ||
		!want_bool(c, "rehearse", &r->arming.is_rehearsal) || !(r->pending = hold_reply(c))) {
		free(r);
		return;
	}
	r->arming.is_mine = r->arming.is_rehearsal; /* with scrap paper: it waits for the hands */
	wet_darkroom_cut(c->methods->darkroom, &r->ask, planned_run, r);
}

/* -- pieces that were cut ---------------------------------------------------------------------------- */

/* As people read it: in millimetres. Whole ticks of a micrometre lose nothing of what was stored. */
static char *print_piece(const json_t *piece, char *buf, unsigned buf_bytes)
{
	json_int_t um[2] = { json_integer_value(json_object_get(piece, "width_um")),
						 json_integer_value(json_object_get(piece, "height_um")) };
	for (int i = 0; i < 2; i++)
		if (um[i] < 0 || um[i] > WET_CUT_LONGEST_T / WET_CUT_TICKS_PER_UM)
			return wet_text_copy(buf, buf_bytes, "size not known");
	return wet_cut_print_size((int32_t)um[0] * WET_CUT_TICKS_PER_UM, (int32_t)um[1] * WET_CUT_TICKS_PER_UM,
							  WET_UNIT_MM, buf, buf_bytes);
}

static void listed(void *ctx, const struct wet_entries *entries, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	if (fault->err != WET_OK || !entries) {
		reply_fault(p, fault);
		return;
	}
	json_t *list = json_array();
	for (int i = 0; i < entries->count; i++) {
		const struct wet_entry *e = &entries->list[i];
		json_t *piece = json_loads(e->body, JSON_REJECT_DUPLICATES, NULL);
		if (!json_is_object(piece)) {
			json_decref(piece);
			piece = json_object();
		}
		char size[80];
		(void)json_object_set_new(piece, "size", json_string(print_piece(piece, size, sizeof size)));
		(void)json_object_set_new(piece, "name", json_string(e->name));
		(void)json_object_set_new(piece, "person", json_string(e->person));
		(void)json_object_set_new(piece, "wall_ms", json_integer((json_int_t)e->wall_ms));
		(void)json_array_append_new(list, piece);
	}
	reply_result(p,
				 json_pack("{s:o, s:o}", "pieces", list, "next",
						   entries->has_more ? json_integer((json_int_t)entries->list[entries->count - 1].id)
											 : json_null()));
}

void serve_piece_list(struct wet_call *c)
{
	int64_t after = 0;
	if (!want_int(c, "after", 0, INT64_MAX, &after))
		return;
	struct wet_entry_query query = { .kind = WET_PIECE_KIND, .after_id = after, .limit = WET_PAGE };
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_get_entries(c->methods->darkroom, &query, listed, p);
}
