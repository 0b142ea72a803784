/* stock.c: the shelf's verbs in the ledger. A verb of the shelf is never kept for later: what can't be stored is refused. */
#include "darkroom/stock.h"

#include "base/text.h"
#include "darkroom/inside.h"
#include "ledger/plans.h"

#include <stdlib.h>
#include <string.h>

struct stocking {
	struct wet_job job;
	struct wet_stock_request want;
	struct wet_darkroom *darkroom;
	struct wet_stock_answer answer;
	struct wet_placed placed;
	wet_stock_cb *cb;
	void *ctx;
};

static int take_item(void *ctx, const struct wet_stock *item)
{
	struct wet_stock_answer *a = ctx;
	a->items[a->item_count++] = *item;
	return WET_OK;
}

static int take_event(void *ctx, const struct wet_stock_event *event)
{
	struct wet_stock_answer *a = ctx;
	a->events[a->event_count++] = *event;
	return WET_OK;
}

/* -- what stands where --------------------------------------------------------------- */

static int take_placed(void *ctx, const struct wet_stock *item)
{
	struct wet_placed *s = ctx;
	bool is_chemistry = item->kind == WET_STOCK_BOTTLE || item->kind == WET_STOCK_BATH;
	if (is_chemistry && item->place[0] && s->count < WET_PLACED)
		s->items[s->count++] = *item;
	return WET_OK;
}

int placed_read(struct wet_ledger *ledger, struct wet_placed *s, struct wet_fault *reterr)
{
	s->count = 0;
	return wet_ledger_each_stock(ledger, -1, false, 0, INT32_MAX, take_placed, s, reterr);
}

void placed_take(struct wet_darkroom *d, const struct wet_placed *s)
{
	uint64_t version = d->placed.version;
	d->placed = *s;
	d->placed.version = version + 1;
}

const struct wet_placed *wet_darkroom_placed(const struct wet_darkroom *d)
{
	return &d->placed;
}

/* What stands beside belongs to a place: another place brings its own. */
static int put_place(const struct wet_stock_request *r, struct wet_stock *item, struct wet_fault *reterr)
{
	char place[WET_NAME_BYTES];
	unsigned beside = wet_stock_place(item, place);
	if (!(r->fields & (WET_STOCK_HAS_PLACE | WET_STOCK_HAS_BESIDE)))
		return WET_OK;
	if ((r->fields & WET_STOCK_HAS_PLACE) && strcmp(place, r->item.place) != 0) {
		wet_text_copy(place, sizeof place, r->item.place);
		beside = 0;
	}
	return wet_stock_put_place(item, place, r->fields & WET_STOCK_HAS_BESIDE ? r->beside : beside, reterr);
}

/* -- the verbs ----------------------------------------------------------------------- */

static void copy_fields(const struct wet_stock_request *r, struct wet_stock *item)
{
	const struct wet_stock *from = &r->item;
	unsigned f = r->fields;
	if (f & WET_STOCK_HAS_WHAT)
		wet_text_copy(item->what, sizeof item->what, from->what);
	if (f & WET_STOCK_HAS_STRENGTH)
		wet_text_copy(item->strength, sizeof item->strength, from->strength);
	if (f & WET_STOCK_HAS_LOT)
		wet_text_copy(item->lot, sizeof item->lot, from->lot);
	if (f & WET_STOCK_HAS_FULL)
		item->full_ul = from->full_ul;
	if (f & WET_STOCK_HAS_VOLUME)
		item->volume_ul = from->volume_ul;
	if (f & WET_STOCK_HAS_LEAST)
		item->least_ul = from->least_ul;
	if (f & WET_STOCK_HAS_PIECES)
		item->pieces_max = from->pieces_max;
	if (f & WET_STOCK_HAS_TRAY) {
		item->width_um = from->width_um;
		item->height_um = from->height_um;
	}
	if (f & WET_STOCK_HAS_SINCE)
		item->since_ms = from->since_ms;
	if (f & WET_STOCK_HAS_AREA)
		item->area_mm2 = from->area_mm2;
	if (f & WET_STOCK_HAS_SECOND)
		item->second_mm2 = from->second_mm2;
	if (f & WET_STOCK_HAS_ROTATIONS)
		item->rotations = from->rotations;
	if (f & WET_STOCK_HAS_KEPT)
		item->kept = from->kept;
	if (f & WET_STOCK_HAS_PIECE) {
		item->piece_width_um = from->piece_width_um;
		item->piece_height_um = from->piece_height_um;
	}
	if (f & WET_STOCK_HAS_GRADE)
		item->grade = from->grade;
	if (f & WET_STOCK_HAS_DISTANCE)
		item->distance_um = from->distance_um;
	if (f & WET_STOCK_HAS_APERTURE) {
		item->f_number_milli = from->f_number_milli;
		item->hole_um = 0; /* its diameter was another */
	}
	if (f & WET_STOCK_HAS_HOLE)
		item->hole_um = from->hole_um;
	wet_stock_set_aperture(item);
	if (r->rename[0])
		wet_text_copy(item->name, sizeof item->name, r->rename);
}

/* A bath that is kept in a vessel has the surface of its tray. */
static int take_tray(struct wet_ledger *ledger, const struct wet_stock_request *r, struct wet_stock *item,
					 struct wet_fault *reterr)
{
	struct wet_stock vessel;
	if (item->kind != WET_STOCK_BATH || !r->vessel[0])
		return WET_OK;
	int rc = wet_ledger_get_stock(ledger, WET_STOCK_VESSEL, r->vessel, &vessel, reterr);
	if (rc == 0 && vessel.width_um == 0)
		rc = wet_fault_set(reterr, WET_ERR_REFUSED, "vessel", vessel.name,
						   "the inside of %s is not known: wetside vessel change %s --tray 18x24cm", vessel.name, vessel.name);
	if (rc == 0) {
		item->width_um = vessel.width_um;
		item->height_um = vessel.height_um;
	}
	return rc;
}

/* Which row of the table of keeping (wetside/capacity.h) a bath, or its stock, is; -1: none. */
static int keeping_row(const struct wet_recipe *r, int bath, bool is_stock)
{
	bool is_concentrate = is_stock && r->baths[bath].mix.water_milli > 0;
	for (int i = 0; i < r->stage_count; i++) {
		if (r->stages[i].bath != bath)
			continue;
		switch (r->stages[i].kind) {
		case WET_STAGE_FIX:
		case WET_STAGE_SECOND_FIX: return is_concentrate ? WET_KEEPING_FIXER_CONCENTRATE : WET_KEEPING_FIXER_WORKING;
		case WET_STAGE_DEVELOP: return is_stock ? WET_KEEPING_DEVELOPER_STOCK : WET_KEEPING_DEVELOPER_WORKING;
		default: break;
		}
	}
	return -1;
}

bool wet_recipe_keeping(const struct wet_recipe *recipe, int bath, bool is_stock, struct wet_keeping *ret_keeping)
{
	int row = keeping_row(recipe, bath, is_stock);
	return row >= 0 && wet_keeping_default((enum wet_keeping_of)row, ret_keeping) == 0;
}

int wet_recipe_age_end(const struct wet_recipe *recipe, int bath, bool is_stock, const struct wet_stock_age *age,
					   struct wet_age_end *ret_end, struct wet_fault *reterr)
{
	const struct wet_bath_mix *mix = &recipe->baths[bath].mix;
	struct wet_keeping keeping;
	bool is_known = wet_recipe_keeping(recipe, bath, is_stock, &keeping);
	return wet_age_end(is_known ? &keeping : NULL, is_stock ? mix->stock_keeps_ns : mix->keeps_ns, age->age_ns, age->now,
					   age->spells, WET_STANDING_N, ret_end, reterr);
}

/* Water; per microlitre. 4.18 J/(mL K), from memory. */
#define WATER_J_PER_K_UL 0.00418

/* What the vessel takes of a bath that fills it, as a share. */
static int put_chill(const struct wet_stock_request *r, const struct wet_stock *item, struct wet_vessel *v,
					 struct wet_fault *reterr)
{
	int64_t bath_ul = item->least_ul > 0 ? item->least_ul : item->full_ul;
	if (r->heat_j_per_k < 0)
		return WET_OK;
	if (bath_ul <= 0)
		return wet_fault_set(reterr, WET_ERR_PARAMS, "heat", NULL, "the least it is filled with too, as in --least 350mL");
	v->chill_ppm = (int32_t)(1e6 * r->heat_j_per_k / (r->heat_j_per_k + WATER_J_PER_K_UL * (double)bath_ul));
	return WET_OK;
}

/* Fill and drain are the vessel's own, as a wet rehearsal measures them; how it cools, as its uses tell. */
static int put_vessel(struct wet_ledger *ledger, const struct wet_stock_request *r, const struct wet_stock *item,
					  struct wet_fault *reterr)
{
	struct wet_vessel v = { .name = "" };
	struct wet_fault none = { 0 };
	if (item->kind != WET_STOCK_VESSEL || (r->fill_ns < 0 && r->tau_ns < 0 && r->heat_j_per_k < 0 && !r->rename[0]))
		return WET_OK;
	int rc = wet_ledger_get_vessel(ledger, r->item.name, &v, &none);
	bool is_known = rc == WET_OK && r->op == WET_STOCK_OP_CHANGE;
	if (rc != WET_OK && rc != WET_ERR_NOT_FOUND)
		return rc;
	if (!is_known && r->fill_ns < 0 && r->tau_ns < 0 && r->heat_j_per_k < 0)
		return WET_OK; /* a name is all that changed, and nothing was measured */
	if (!is_known && r->fill_ns < 0)
		return wet_fault_set(reterr, WET_ERR_PARAMS, "fill", NULL,
							 "its fill and drain too, or measure it first: wetside rehearse RECIPE --wet --vessel %s", item->name);
	if (!is_known)
		memset(&v, 0, sizeof v);
	wet_text_copy(v.name, sizeof v.name, item->name);
	v.pieces_max = item->pieces_max;
	if (r->fill_ns >= 0) {
		v.fill_ns = r->fill_ns;
		v.drain_ns = r->drain_ns;
	}
	if (r->tau_ns >= 0) { /* told: what was learned before goes */
		v.tau_ns = r->tau_ns;
		v.tau_error_ns = v.tau_count = 0;
	}
	rc = put_chill(r, item, &v, reterr);
	if (rc == 0)
		rc = wet_vessel_kind_from_word(item->what, &v.kind);
	return rc == 0 ? wet_ledger_put_vessel(ledger, &v, r->why.wall_ms, reterr) : rc;
}

static int add(struct stocking *s, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct wet_stock item = s->want.item, bottle;
	item.place[0] = '\0';
	int rc = put_place(&s->want, &item, reterr);
	if (rc == 0)
		rc = take_tray(ledger, &s->want, &item, reterr);
	if (rc != 0)
		return rc;
	if (s->want.from[0]) {
		rc = wet_ledger_get_stock(ledger, WET_STOCK_BOTTLE, s->want.from, &bottle, reterr);
		if (rc == 0 && strcmp(bottle.what, item.what) != 0)
			return wet_fault_set(reterr, WET_ERR_REFUSED, "from", bottle.name,
								 "%s holds %s; a bath of %s is drawn from a bottle of it", bottle.name, bottle.what, item.what);
		if (rc == 0)
			rc = wet_ledger_add_stock_from(ledger, &item, bottle.id, s->want.draw_ul, &s->want.why, reterr);
	} else {
		rc = wet_ledger_add_stock(ledger, &item, &s->want.why, reterr);
	}
	if (rc == 0)
		rc = put_vessel(ledger, &s->want, &item, reterr);
	return rc == 0 ? take_item(&s->answer, &item) : rc;
}

/* A bath that a live run is still to pour in is not thrown away under it. */
static int refuse_awaited(struct wet_ledger *ledger, const struct wet_stock *item, struct wet_fault *reterr)
{
	int64_t first_mm2 = 0, second_mm2 = 0;
	int rc = item->kind == WET_STOCK_BATH ? wet_ledger_promised(ledger, item->id, &first_mm2, &second_mm2, reterr) : WET_OK;
	if (rc != 0 || first_mm2 + second_mm2 == 0)
		return rc;
	return wet_fault_set(reterr, WET_ERR_REFUSED, "name", item->name,
						 "a run that is armed is still to use %s: end that run, or abandon it, first", item->name);
}

/* An act on one item that is known by its name. */
static int act_on(struct stocking *s, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	const struct wet_stock_request *r = &s->want;
	struct wet_stock item;
	int rc = wet_ledger_get_stock(ledger, r->item.kind, r->item.name, &item, reterr);
	if (rc != 0)
		return rc;
	if (r->op == WET_STOCK_OP_USE) {
		rc = wet_ledger_use_stock(ledger, item.id, &r->why, &item, reterr);
	} else if (r->op == WET_STOCK_OP_DISCARD) {
		rc = refuse_awaited(ledger, &item, reterr);
		if (rc == 0)
			rc = wet_ledger_discard_stock(ledger, item.id, &r->why, &item, reterr);
	} else {
		copy_fields(r, &item);
		rc = put_place(r, &item, reterr);
		if (rc == 0)
			rc = take_tray(ledger, r, &item, reterr);
		if (rc == 0)
			rc = wet_ledger_change_stock(ledger, &item, &r->why, reterr);
		if (rc == 0)
			rc = put_vessel(ledger, r, &item, reterr);
	}
	return rc == 0 ? take_item(&s->answer, &item) : rc;
}

static int list_one(struct wet_ledger *ledger, const struct wet_stock_request *r, const struct wet_stock *item,
					struct wet_stock_age *ret_age, struct wet_vessel *ret_vessel, struct wet_fault *reterr)
{
	struct wet_fault none = { 0 };
	int rc = item->kind == WET_STOCK_VESSEL ? wet_ledger_get_vessel(ledger, item->name, ret_vessel, &none) : WET_OK;
	if (rc != WET_OK && rc != WET_ERR_NOT_FOUND) {
		if (reterr)
			*reterr = none;
		return rc;
	}
	return wet_ledger_stock_age(ledger, item, r->why.wall_ms, ret_age, reterr);
}

/* A page of items, each with how long it has stood. */
static int list(struct stocking *s, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	const struct wet_stock_request *r = &s->want;
	struct wet_stock_answer *a = &s->answer;
	int rc = wet_ledger_each_stock(ledger, (int)r->item.kind, r->with_gone, r->cursor, WET_PAGE, take_item, a, reterr);
	for (int i = 0; i < a->item_count && rc == 0; i++)
		rc = list_one(ledger, r, &a->items[i], &a->ages[i], &a->vessels[i], reterr);
	return rc;
}

static int serve(struct stocking *s, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	const struct wet_stock_request *r = &s->want;
	struct wet_stock item;
	int rc;
	switch (r->op) {
	case WET_STOCK_OP_ADD: return add(s, ledger, reterr);
	case WET_STOCK_OP_LIST: return list(s, ledger, reterr);
	case WET_STOCK_OP_HISTORY:
		rc = wet_ledger_get_stock(ledger, r->item.kind, r->item.name, &item, reterr);
		if (rc == 0)
			rc = take_item(&s->answer, &item);
		return rc == 0 ? wet_ledger_each_stock_event(ledger, item.id, r->cursor, WET_PAGE, take_event, &s->answer,
													 reterr)
					   : rc;
	default: return act_on(s, ledger, reterr);
	}
}

static int stock_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct stocking *s = job->ctx;
	int rc = serve(s, ledger, reterr);
	return rc == 0 ? placed_read(ledger, &s->placed, reterr) : rc;
}

static void stock_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct stocking *s = job->ctx;
	if (fault->err == WET_OK)
		placed_take(s->darkroom, &s->placed);
	s->cb(s->ctx, &s->answer, fault);
	free(s);
}

void wet_darkroom_stock(struct wet_darkroom *d, const struct wet_stock_request *request, wet_stock_cb *cb, void *ctx)
{
	struct stocking *s = calloc(1, sizeof *s);
	if (!s) {
		struct wet_fault fault = { .err = WET_ERR_NOMEM };
		cb(ctx, NULL, &fault);
		return;
	}
	s->darkroom = d;
	s->want = *request;
	s->want.why.wall_ms = d->ports.wall_ms(d->ports.ctx);
	s->cb = cb;
	s->ctx = ctx;
	s->job = (struct wet_job){ .work = stock_work,
							   .done = stock_done,
							   .ctx = s,
							   .is_write = request->op < WET_STOCK_OP_LIST,
							   .is_once = true };
	d->ports.store(d->ports.ctx, &s->job);
}
