/* record_import_shelf.c: items with their history, plans with their parts, bookings. Like a run, an item and a plan are kept until
 * their last line has come. What two lines of a file must not both say is refused here: the check before an import finds only
 * what is at odds with the ledger. */
#include "methods/record_import.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

static int misplaced(const char *where, const char *found, const char *want, struct wet_fault *reterr)
{
	return wet_fault_set(reterr, WET_ERR_INVALID, where, found, "%s", want);
}

/* The first of this mark? */
static int mark_once(json_t *marks, const char *mark, const char *where, const char *want, struct wet_fault *reterr)
{
	if (json_object_get(marks, mark))
		return misplaced(where, mark, want, reterr);
	return json_object_set_new(marks, mark, json_true()) == 0 ? WET_OK : import_nomem(reterr);
}

/* -- items --------------------------------------------------------------------------------- */

static int take_item(struct wet_importing *i, const struct wet_stock *item, struct wet_fault *reterr)
{
	char name[WET_NAME_BYTES + 16];
	wet_text_format(name, sizeof name, "%s %s", wet_stock_kind_word(item->kind), item->name);
	int rc = item->is_gone ? WET_OK
						   : mark_once(i->names, name, "/name", "one of this kind and name that is not gone", reterr);
	if (rc != 0)
		return rc;
	struct wet_unit *u = import_new_unit(i, WET_ROW_ITEM);
	json_decref(i->marks);
	i->marks = json_object();
	if (!u || !i->marks || !(u->item = calloc(1, sizeof *u->item))) {
		free(u);
		return import_nomem(reterr);
	}
	u->item->item = *item;
	i->item = u;
	i->history_room = 0;
	return WET_OK;
}

/* The ledger books an act by its token once, and a stage of a run. */
static int mark_act(struct wet_importing *i, const struct wet_stock_event *e, struct wet_fault *reterr)
{
	char mark[64];
	int rc = WET_OK;
	wet_text_format(mark, sizeof mark, "token %s", e->token);
	if (e->token[0])
		rc = mark_once(i->marks, mark, "/token", "each token once in the history of an item", reterr);
	wet_text_format(mark, sizeof mark, "run %lld, stage %d", (long long)e->run_id, e->stage);
	if (rc == 0 && e->run_id != 0)
		rc = mark_once(i->marks, mark, "/run", "each stage of a run once in the history of an item", reterr);
	return rc;
}

static int take_history(struct wet_importing *i, const struct wet_stock_event *e, struct wet_fault *reterr)
{
	char found[24];
	wet_text_format(found, sizeof found, "%lld", (long long)e->stock_id);
	if (!i->item || i->item->item->item.id != e->stock_id)
		return misplaced("/item", found, "the number of the item in a line before this one", reterr);
	struct wet_ledger_item *in = i->item->item;
	if (in->event_count == EVENTS_MAX)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "", NULL, "at most %d lines of one history", EVENTS_MAX);
	int rc = mark_act(i, e, reterr);
	if (rc != 0)
		return rc;
	if (in->event_count == i->history_room) {
		int room = i->history_room ? i->history_room * 2 : 16;
		struct wet_stock_event *events = realloc(in->events, (size_t)room * sizeof *events);
		if (!events)
			return import_nomem(reterr);
		in->events = events;
		i->history_room = room;
	}
	in->events[in->event_count++] = *e;
	return WET_OK;
}

/* -- plans ----------------------------------------------------------------------------------- */

static int take_plan(struct wet_importing *i, const struct wet_plan_row *row, struct wet_fault *reterr)
{
	char name[WET_NAME_BYTES + 16];
	wet_text_format(name, sizeof name, "plan %s", row->name);
	int rc = mark_once(i->names, name, "/plan", "each plan once", reterr);
	if (rc != 0)
		return rc;
	struct wet_unit *u = import_new_unit(i, WET_ROW_PLAN);
	if (!u || !(u->plan = calloc(1, sizeof *u->plan))) {
		free(u);
		return import_nomem(reterr);
	}
	wet_text_copy(u->plan->name, sizeof u->plan->name, row->name);
	wet_text_copy(u->plan->recipe_name, sizeof u->plan->recipe_name, row->recipe_name);
	wet_text_copy(u->plan->recipe_hash, sizeof u->plan->recipe_hash, row->recipe_hash);
	wet_text_copy(u->plan->vessel, sizeof u->plan->vessel, row->vessel);
	u->plan->wall_ms = row->wall_ms;
	i->plan = u;
	return WET_OK;
}

/* The plan that has begun, if it is this one; else NULL. */
static struct wet_kept_plan *find_plan(const struct wet_importing *i, const char *name, struct wet_fault *reterr)
{
	if (i->plan && strcmp(i->plan->plan->name, name) == 0)
		return i->plan->plan;
	(void)misplaced("/plan", name, "the name of the plan in a line before this one", reterr);
	return NULL;
}

static int take_load(struct wet_importing *i, const struct wet_load_row *row, struct wet_fault *reterr)
{
	struct wet_kept_plan *p = find_plan(i, row->plan, reterr);
	if (!p)
		return WET_ERR_INVALID;
	if (row->index != p->load_count)
		return wet_fault_set(reterr, WET_ERR_INVALID, "/load", NULL, "%d: loads one by one", p->load_count);
	p->loads[p->load_count++] = row->load;
	return WET_OK;
}

static int take_bath(struct wet_importing *i, const struct wet_bath_row *row, struct wet_fault *reterr)
{
	struct wet_kept_plan *p = find_plan(i, row->plan, reterr);
	if (!p)
		return WET_ERR_INVALID;
	if (row->index != p->bath_count)
		return wet_fault_set(reterr, WET_ERR_INVALID, "/bath", NULL, "%d: baths one by one", p->bath_count);
	p->baths[p->bath_count++] = row->bath;
	return WET_OK;
}

static int take_draw(struct wet_importing *i, const struct wet_draw_row *row, struct wet_fault *reterr)
{
	struct wet_kept_plan *p = find_plan(i, row->plan, reterr);
	if (!p)
		return WET_ERR_INVALID;
	if (row->bath != p->bath_count - 1)
		return misplaced("/bath", NULL, "the number of the bath in a line before this one", reterr);
	struct wet_kept_bath *b = &p->baths[row->bath];
	if (b->draw_count > 0 && row->bottle_id <= b->draws[b->draw_count - 1].bottle_id)
		return misplaced("/bottle", NULL, "bottles of a bath by number, each once", reterr);
	if (b->draw_count == WET_PLAN_SOURCES)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "/bottle", NULL, "at most %d bottles for one bath",
							 WET_PLAN_SOURCES);
	b->draws[b->draw_count].bottle_id = row->bottle_id;
	b->draws[b->draw_count++].stock_ul = row->stock_ul;
	return WET_OK;
}

/* -- bookings ---------------------------------------------------------------------------------- */

static int take_booking(struct wet_importing *i, const struct wet_booking *b, struct wet_fault *reterr)
{
	const struct wet_booking *last = &i->booking;
	bool is_same_stage = b->run_id == last->run_id && b->stage == last->stage;
	if (b->run_id < last->run_id || (b->run_id == last->run_id && b->stage < last->stage) ||
		(is_same_stage && b->stock_id <= last->stock_id))
		return misplaced("", row_word(WET_ROW_BOOKING), "bookings by run, stage and item, each once", reterr);
	i->booking_count = is_same_stage ? i->booking_count + 1 : 1;
	if (i->booking_count > WET_PLAN_SOLUTIONS)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "", NULL, "at most %d bookings of one stage", WET_PLAN_SOLUTIONS);
	struct wet_unit *u = import_new_unit(i, WET_ROW_BOOKING);
	if (!u)
		return import_nomem(reterr);
	u->booking = i->booking = *b;
	import_put_unit(i, u);
	return WET_OK;
}

/* -- all of them ------------------------------------------------------------------------------- */

void import_finish_shelf(struct wet_importing *i, enum wet_row_kind kind)
{
	if (i->item && kind != WET_ROW_HISTORY) {
		import_put_unit(i, i->item);
		i->item = NULL;
	}
	if (i->plan && kind != WET_ROW_LOAD && kind != WET_ROW_BATH && kind != WET_ROW_DRAW) {
		import_put_unit(i, i->plan);
		i->plan = NULL;
	}
}

int import_take_shelf(struct wet_importing *i, const struct wet_row *row, struct wet_fault *reterr)
{
	switch (row->kind) {
	case WET_ROW_ITEM: return take_item(i, &row->of.item, reterr);
	case WET_ROW_HISTORY: return take_history(i, &row->of.history, reterr);
	case WET_ROW_PLAN: return take_plan(i, &row->of.plan, reterr);
	case WET_ROW_LOAD: return take_load(i, &row->of.load, reterr);
	case WET_ROW_BATH: return take_bath(i, &row->of.bath, reterr);
	case WET_ROW_DRAW: return take_draw(i, &row->of.draw, reterr);
	default: return take_booking(i, &row->of.booking, reterr);
	}
}
