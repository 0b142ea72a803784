#include "darkroom/exchange.h"

#include "base/text.h"
#include "darkroom/inside.h"

#include <stdlib.h>
#include <string.h>

/* At most so many bytes as a line of JSON, every text in it full of control characters. */
static const unsigned row_bytes[WET_ROW_N] = {
	[WET_ROW_RECIPE] = WET_EXPORT_PART_BYTES + 900,
	[WET_ROW_VESSEL] = 900,
	[WET_ROW_ACKNOWLEDGEMENT] = 1000,
	[WET_ROW_RUN] = 6250,
	[WET_ROW_EVENT] = 900,
	[WET_ROW_CHECK] = 3200,
	[WET_ROW_STAGE] = 300,
	[WET_ROW_ITEM] = 2800,
	[WET_ROW_HISTORY] = 1980,
	[WET_ROW_PLAN] = 1900,
	[WET_ROW_LOAD] = 600,
	[WET_ROW_BATH] = 2250,
	[WET_ROW_DRAW] = 600,
	[WET_ROW_BOOKING] = 350,
	[WET_ROW_ENTRY] = WET_ENTRY_BYTES * 6 + 1800,
};
static_assert(WET_EXPORT_BYTES * 2 + 8192 < WET_REPLY_BYTES, "a page must fit a reply");
static_assert(WET_ENTRY_BYTES * 6 + 1800 < WET_EXPORT_BYTES && WET_EXPORT_PART_BYTES + 900 < WET_EXPORT_BYTES,
			  "a page must hold its largest row");

struct exporting {
	struct wet_job job;
	struct wet_cursor *cursor; /* page.next */
	struct wet_export_page page;
	wet_export_cb *cb;
	void *ctx;
	struct wet_ledger *ledger;
	struct wet_kept_plan *plan;
	struct wet_fault *fault;
};

/* NULL: the page is full. */
static struct wet_row *add_row(struct wet_export_page *page, enum wet_row_kind kind)
{
	if (page->row_count == WET_EXPORT_ROWS || page->bytes + row_bytes[kind] > WET_EXPORT_BYTES)
		return NULL;
	page->bytes += row_bytes[kind];
	struct wet_row *row = &page->rows[page->row_count++];
	row->kind = kind;
	return row;
}

/* How much of a text fits a part; whole characters. */
static size_t part_of(const char *text, size_t n)
{
	size_t at = 0, cost = 0;
	while (at < n) {
		unsigned char c = (unsigned char)text[at];
		size_t bytes = c < 0x80 ? 1 : c < 0xe0 ? 2 : c < 0xf0 ? 3 : 4;
		size_t one = c >= 0xf0 ? 12 : c >= 0x80 || c < 0x20 || c == 0x7f ? 6 : c == '"' || c == '\\' ? 2 : 1;
		if (cost + one > WET_EXPORT_PART_BYTES || at + bytes > n)
			break;
		cost += one;
		at += bytes;
	}
	return at;
}

static int tell_recipe(void *ctx, const char *hash, const char *name, const char *json, size_t n)
{
	struct exporting *e = ctx;
	struct wet_cursor *c = e->cursor;
	if (strcmp(hash, c->hash) != 0) {
		wet_text_copy(c->hash, sizeof c->hash, hash);
		c->offset = 0;
		c->part = 0;
	}
	while (c->offset < n) {
		size_t bytes = part_of(json + c->offset, n - c->offset);
		if (bytes == 0)
			return WET_ERR_CORRUPT;
		struct wet_row *row = add_row(&e->page, WET_ROW_RECIPE);
		if (!row)
			return WET_LEDGER_FULL;
		struct wet_recipe_part *p = &row->of.recipe;
		wet_text_copy(p->hash, sizeof p->hash, hash);
		wet_text_copy(p->name, sizeof p->name, name);
		p->part = ++c->part;
		p->bytes = bytes;
		p->text = e->page.text + e->page.text_bytes;
		memcpy(e->page.text + e->page.text_bytes, json + c->offset, bytes);
		e->page.text_bytes += bytes;
		c->offset += bytes;
		p->is_last = c->offset == n;
	}
	return WET_OK;
}

static int tell_vessel(void *ctx, int64_t id, const struct wet_vessel *vessel, int64_t wall_ms)
{
	struct exporting *e = ctx;
	struct wet_row *row = add_row(&e->page, WET_ROW_VESSEL);
	if (!row)
		return WET_LEDGER_FULL;
	row->of.vessel = (struct wet_vessel_row){ *vessel, wall_ms };
	e->cursor->vessel_id = id;
	return WET_OK;
}

static int tell_acknowledgement(void *ctx, const struct wet_acknowledgement *acknowledgement)
{
	struct exporting *e = ctx;
	struct wet_row *row = add_row(&e->page, WET_ROW_ACKNOWLEDGEMENT);
	if (!row)
		return WET_LEDGER_FULL;
	row->of.acknowledgement = e->cursor->acknowledgement = *acknowledgement;
	return WET_OK;
}

/* One run; then its events. */
static int tell_run(void *ctx, const struct wet_ledger_run *run)
{
	struct exporting *e = ctx;
	struct wet_row *row = add_row(&e->page, WET_ROW_RUN);
	if (row) {
		row->of.run = *run;
		e->cursor->run_id = run->id;
		e->cursor->was_live = run->is_live;
		e->cursor->seq = 0;
		e->cursor->stage = -1;
		e->cursor->at = WET_ROW_EVENT;
	}
	return WET_LEDGER_FULL;
}

static int tell_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	struct exporting *e = ctx;
	struct wet_row *row = add_row(&e->page, WET_ROW_EVENT);
	if (!row)
		return WET_LEDGER_FULL;
	row->of.event = (struct wet_event_row){ e->cursor->run_id, seq, *event };
	e->cursor->seq = seq;
	return WET_OK;
}

static int tell_check(void *ctx, const struct wet_check *check)
{
	struct exporting *e = ctx;
	struct wet_row *row = add_row(&e->page, WET_ROW_CHECK);
	if (!row)
		return WET_LEDGER_FULL;
	row->of.check = *check;
	e->cursor->seq = check->seq;
	return WET_OK;
}

static int tell_stage(void *ctx, int stage, const struct wet_stage_record *record)
{
	struct exporting *e = ctx;
	if (stage <= e->cursor->stage)
		return WET_OK;
	struct wet_row *row = add_row(&e->page, WET_ROW_STAGE);
	if (!row)
		return WET_LEDGER_FULL;
	row->of.stage = (struct wet_stage_row){ e->cursor->run_id, stage, *record };
	e->cursor->stage = stage;
	return WET_OK;
}

static int take_last(void *ctx, const struct wet_stock_event *event)
{
	*(int64_t *)ctx = event->id;
	return WET_OK;
}

/* One item; then the history that it is the sum of. */
static int tell_item(void *ctx, const struct wet_stock *item)
{
	struct exporting *e = ctx;
	struct wet_cursor *c = e->cursor;
	int64_t last = 0;
	int rc = wet_ledger_each_stock_event(e->ledger, item->id, INT64_MAX, 1, take_last, &last, e->fault);
	struct wet_row *row = rc == 0 ? add_row(&e->page, WET_ROW_ITEM) : NULL;
	if (row) {
		row->of.item = *item;
		c->item_id = item->id;
		c->event_id = 0;
		c->to_event = last;
		c->at = WET_ROW_HISTORY;
	}
	return rc == 0 ? WET_LEDGER_FULL : rc;
}

static int tell_history(void *ctx, const struct wet_stock_event *event)
{
	struct exporting *e = ctx;
	struct wet_row *row = add_row(&e->page, WET_ROW_HISTORY);
	if (!row)
		return WET_LEDGER_FULL;
	row->of.history = *event;
	e->cursor->event_id = event->id;
	return WET_OK;
}

static int take_plan_id(void *ctx, int64_t id, const char *name, const char *recipe_name, int64_t wall_ms)
{
	(void)name, (void)recipe_name, (void)wall_ms;
	*(int64_t *)ctx = id;
	return WET_OK;
}

/* The next item, behind the runs that are new; behind the last one the picture is closed. */
static int tell_shelf(struct exporting *e, struct wet_fault *reterr)
{
	struct wet_cursor *c = e->cursor;
	int64_t next_run = 0;
	int rc = wet_ledger_next_run_id(e->ledger, &next_run, reterr);
	if (rc == 0 && next_run - 1 > c->to_run) {
		c->to_run = next_run - 1;
		c->at = WET_ROW_RUN;
		return WET_LEDGER_FULL;
	}
	if (rc == 0)
		rc = wet_ledger_each_stock(e->ledger, -1, true, c->item_id, 1, tell_item, e, reterr);
	return rc == 0 ? wet_ledger_each_plan(e->ledger, 0, INT32_MAX, take_plan_id, &c->to_plan, reterr) : rc;
}

/* The plan's row with this number, in the order head, loads, each bath before its draws; NULL: it was told, or there is no
 * room, and then *ret_rc is WET_LEDGER_FULL. */
static struct wet_row *add_plan_row(struct exporting *e, int *at, enum wet_row_kind kind, int *ret_rc)
{
	if (*ret_rc != 0 || (*at)++ < e->cursor->plan_row)
		return NULL;
	struct wet_row *row = add_row(&e->page, kind);
	if (row)
		e->cursor->plan_row++;
	else
		*ret_rc = WET_LEDGER_FULL;
	return row;
}

static void tell_baths(struct exporting *e, int *at, int *ret_rc)
{
	const struct wet_kept_plan *p = e->plan;
	for (int i = 0; i < p->bath_count; i++) {
		const struct wet_kept_bath *b = &p->baths[i];
		struct wet_row *row = add_plan_row(e, at, WET_ROW_BATH, ret_rc);
		if (row) {
			row->of.bath = (struct wet_bath_row){ .index = i, .bath = *b };
			wet_text_copy(row->of.bath.plan, sizeof row->of.bath.plan, p->name);
			if (b->stock_id > e->cursor->item_id)
				row->of.bath.bath.stock_id = 0;
		}
		for (int n = 0; n < b->draw_count; n++) {
			row = add_plan_row(e, at, WET_ROW_DRAW, ret_rc);
			if (!row)
				continue;
			row->of.draw = (struct wet_draw_row){ .bath = i,
												  .bottle_id = b->draws[n].bottle_id,
												  .stock_ul = b->draws[n].stock_ul };
			wet_text_copy(row->of.draw.plan, sizeof row->of.draw.plan, p->name);
		}
	}
}

static int tell_plan(void *ctx, int64_t id, const char *name, const char *recipe_name, int64_t wall_ms)
{
	struct exporting *e = ctx;
	const struct wet_kept_plan *p = e->plan;
	(void)recipe_name, (void)wall_ms;
	int at = 0, rc = id > e->cursor->to_plan ? WET_OK : wet_ledger_get_plan(e->ledger, name, e->plan, e->fault);
	if (rc != 0 || id > e->cursor->to_plan)
		return rc;
	struct wet_row *row = add_plan_row(e, &at, WET_ROW_PLAN, &rc);
	if (row) {
		row->of.plan = (struct wet_plan_row){ .wall_ms = p->wall_ms };
		wet_text_copy(row->of.plan.name, sizeof row->of.plan.name, p->name);
		wet_text_copy(row->of.plan.recipe_name, sizeof row->of.plan.recipe_name, p->recipe_name);
		wet_text_copy(row->of.plan.recipe_hash, sizeof row->of.plan.recipe_hash, p->recipe_hash);
		wet_text_copy(row->of.plan.vessel, sizeof row->of.plan.vessel, p->vessel);
	}
	for (int i = 0; i < p->load_count; i++) {
		row = add_plan_row(e, &at, WET_ROW_LOAD, &rc);
		if (!row)
			continue;
		row->of.load = (struct wet_load_row){ .index = i, .load = p->loads[i] };
		wet_text_copy(row->of.load.plan, sizeof row->of.load.plan, p->name);
		if (p->loads[i].run_id > e->cursor->to_run)
			row->of.load.load.run_id = 0;
	}
	tell_baths(e, &at, &rc);
	if (rc == 0) {
		e->cursor->plan_id = id;
		e->cursor->plan_row = 0;
	}
	return rc;
}

static int tell_plans(struct exporting *e, struct wet_fault *reterr)
{
	e->plan = calloc(1, sizeof *e->plan);
	if (!e->plan)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "", NULL, "more memory");
	int rc = wet_ledger_each_plan(e->ledger, e->cursor->plan_id, INT32_MAX, tell_plan, e, reterr);
	free(e->plan);
	e->plan = NULL;
	return rc;
}

static int tell_booking(void *ctx, const struct wet_booking *booking)
{
	struct exporting *e = ctx;
	struct wet_row *row = add_row(&e->page, WET_ROW_BOOKING);
	if (!row)
		return WET_LEDGER_FULL;
	row->of.booking = e->cursor->booking = *booking;
	return WET_OK;
}

static int tell_entry(void *ctx, const struct wet_entry *entry)
{
	struct exporting *e = ctx;
	struct wet_row *row = add_row(&e->page, WET_ROW_ENTRY);
	if (!row)
		return WET_LEDGER_FULL;
	row->of.entry = *entry;
	e->cursor->entry_id = entry->id;
	return WET_OK;
}

/* A part of the page; WET_OK: this kind is told. */
static int tell(struct exporting *e, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct wet_cursor *c = e->cursor;
	switch (c->at) {
	case WET_ROW_RECIPE: return wet_ledger_each_recipe(ledger, c->hash, tell_recipe, e, reterr);
	case WET_ROW_VESSEL: return wet_ledger_each_vessel_row(ledger, c->vessel_id, tell_vessel, e, reterr);
	case WET_ROW_ACKNOWLEDGEMENT:
		return wet_ledger_each_acknowledgement(ledger,
											   c->acknowledgement.recipe_name[0] ? &c->acknowledgement : NULL,
											   tell_acknowledgement, e, reterr);
	case WET_ROW_RUN: return wet_ledger_each_run(ledger, c->run_id, c->to_run, tell_run, e, reterr);
	case WET_ROW_EVENT: return wet_ledger_each_event_after(ledger, c->run_id, c->seq, tell_event, e, reterr);
	case WET_ROW_CHECK: return wet_ledger_each_check(ledger, c->run_id, c->seq, tell_check, e, reterr);
	case WET_ROW_STAGE:
		return c->was_live ? WET_OK : wet_ledger_each_stage(ledger, c->run_id, tell_stage, e, reterr);
	case WET_ROW_ITEM: return tell_shelf(e, reterr);
	case WET_ROW_HISTORY:
		return wet_ledger_each_stock_event_after(ledger, c->item_id, c->event_id, c->to_event, tell_history, e, reterr);
	case WET_ROW_PLAN: return tell_plans(e, reterr);
	case WET_ROW_BOOKING: {
		const struct wet_booking after = c->booking;
		return wet_ledger_each_booking(ledger, &after, c->to_run, tell_booking, e, reterr);
	}
	case WET_ROW_ENTRY: {
		const struct wet_entry_query all = { .with_history = true, .with_gone = true, .after_id = c->entry_id, .limit = WET_EXPORT_ROWS };
		int rc = wet_ledger_each_entry(ledger, &all, tell_entry, e, reterr);
		return rc == 0 && c->entry_id > all.after_id ? WET_LEDGER_FULL : rc;
	}
	default: return WET_OK;
	}
}

static enum wet_row_kind kind_after(enum wet_row_kind kind)
{
	switch (kind) {
	case WET_ROW_RUN: return WET_ROW_ITEM;
	case WET_ROW_STAGE: return WET_ROW_RUN;
	case WET_ROW_ITEM: return WET_ROW_PLAN;
	case WET_ROW_HISTORY: return WET_ROW_ITEM;
	case WET_ROW_PLAN: return WET_ROW_BOOKING;
	default: return kind + 1;
	}
}

static int export_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct exporting *e = job->ctx;
	struct wet_cursor *c = e->cursor;
	int rc = WET_OK;
	e->ledger = ledger;
	e->fault = reterr;
	if (!c->is_begun) {
		rc = wet_ledger_next_run_id(ledger, &c->to_run, reterr);
		c->to_run--;
		c->vessel_id = INT64_MIN;
		c->is_begun = true;
	}
	while (rc == 0 && c->at != WET_ROW_END) {
		enum wet_row_kind at = c->at;
		rc = tell(e, ledger, reterr);
		if (rc == 0 && at == WET_ROW_EVENT)
			c->seq = 0; /* answers have their own */
		if (rc == 0)
			c->at = kind_after(at);
		else if (rc == WET_LEDGER_FULL && c->at != at)
			rc = WET_OK; /* from a run to its events, from an item to its history or to a run */
	}
	e->page.is_end = c->at == WET_ROW_END;
	return rc == WET_LEDGER_FULL ? WET_OK : rc;
}

static void export_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct exporting *e = job->ctx;
	e->cb(e->ctx, &e->page, fault);
	free(e);
}

int wet_darkroom_schema(void)
{
	return wet_ledger_schema();
}

void wet_darkroom_export(struct wet_darkroom *d, const struct wet_cursor *cursor, wet_export_cb *cb,
						 void *ctx)
{
	struct exporting *e = calloc(1, sizeof *e);
	if (!e) {
		struct wet_fault fault = { .err = WET_ERR_NOMEM };
		cb(ctx, NULL, &fault);
		return;
	}
	e->page.next = *cursor;
	e->cursor = &e->page.next;
	e->cb = cb;
	e->ctx = ctx;
	e->job = (struct wet_job){ .work = export_work, .done = export_done, .ctx = e };
	d->ports.store(d->ports.ctx, &e->job);
}

/* -- in ------------------------------------------------------------------------------- */
struct importing {
	struct wet_darkroom *darkroom;
	struct wet_placed placed;
	struct wet_job job;
	struct wet_unit *units;
	struct wet_known *known;
	bool is_dry;
	wet_import_cb *cb;
	void *ctx;
};

static int import_run(struct wet_ledger *ledger, bool is_dry, struct wet_unit *u, struct wet_known *known,
					  struct wet_fault *reterr)
{
	int rc = wet_ledger_import_run(ledger, is_dry, u->run, &u->is_new, reterr);
	return rc == 0 ? wet_ledger_know_run(ledger, &u->run->run, known, reterr) : rc;
}

static int import_unit(struct wet_ledger *ledger, bool is_dry, struct wet_unit *u, struct wet_known *known,
					   struct wet_fault *reterr)
{
	switch (u->kind) {
	case WET_ROW_RECIPE:
		return wet_ledger_import_recipe(ledger, is_dry, u->hash, u->name, u->json, u->json_bytes, &u->is_new,
										reterr);
	case WET_ROW_VESSEL:
		return wet_ledger_import_vessel(ledger, is_dry, &u->vessel.vessel, u->vessel.wall_ms, u->is_latest,
										&u->is_new, reterr);
	case WET_ROW_ACKNOWLEDGEMENT:
		return wet_ledger_import_acknowledgement(ledger, is_dry, &u->acknowledgement, &u->is_new, reterr);
	case WET_ROW_RUN: return import_run(ledger, is_dry, u, known, reterr);
	case WET_ROW_ITEM: return wet_ledger_import_item(ledger, is_dry, u->item, known, &u->is_new, reterr);
	case WET_ROW_PLAN: return wet_ledger_import_plan(ledger, is_dry, u->plan, known, &u->is_new, reterr);
	case WET_ROW_BOOKING: return wet_ledger_import_booking(ledger, is_dry, &u->booking, known, &u->is_new, reterr);
	case WET_ROW_ENTRY: return wet_ledger_import_entry(ledger, is_dry, u->entry, &u->is_new, reterr);
	default:
		return wet_fault_set(reterr, WET_ERR_INTERNAL, "row", NULL, "a report: this is a mistake of wetside");
	}
}

static int import_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct importing *i = job->ctx;
	int rc = WET_OK;
	for (struct wet_unit *u = i->units; u && rc == 0; u = u->next) {
		rc = import_unit(ledger, i->is_dry, u, i->known, reterr);
		if (rc != 0) {
			char line[48];
			wet_text_format(line, sizeof line, "line %lld, ", (long long)u->line);
			wet_fault_prefix(reterr, line);
		}
	}
	return rc == 0 ? placed_read(ledger, &i->placed, reterr) : rc;
}

static void import_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct importing *i = job->ctx;
	if (fault->err == WET_OK)
		placed_take(i->darkroom, &i->placed);
	i->cb(i->ctx, fault);
	free(i);
}

void wet_darkroom_forget(struct wet_known *known)
{
	wet_known_free(known);
}

void wet_darkroom_import(struct wet_darkroom *d, struct wet_unit *units, struct wet_known *known, bool is_dry,
						 wet_import_cb *cb, void *ctx)
{
	struct importing *i = calloc(1, sizeof *i);
	if (!i) {
		struct wet_fault fault = { .err = WET_ERR_NOMEM };
		cb(ctx, &fault);
		return;
	}
	i->darkroom = d;
	i->units = units;
	i->known = known;
	i->is_dry = is_dry;
	i->cb = cb;
	i->ctx = ctx;
	i->job = (struct wet_job){
		.work = import_work, .done = import_done, .ctx = i, .is_write = !is_dry, .is_once = true
	};
	d->ports.store(d->ports.ctx, &i->job);
}
