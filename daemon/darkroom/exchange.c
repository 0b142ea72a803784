#include "darkroom/exchange.h"

#include "base/text.h"
#include "darkroom/inside.h"

#include <stdlib.h>
#include <string.h>

/* At most so many bytes as a line of JSON, every text in it full of control characters. */
static const unsigned row_bytes[WET_ROW_N] = {
	[WET_ROW_RECIPE] = WET_EXPORT_PART_BYTES + 900,
	[WET_ROW_VESSEL] = 800,
	[WET_ROW_ACKNOWLEDGEMENT] = 1000,
	[WET_ROW_RUN] = 6000,
	[WET_ROW_EVENT] = 900,
	[WET_ROW_STAGE] = 300,
};
static_assert(WET_EXPORT_BYTES * 2 + 8192 < WET_REPLY_BYTES, "a page must fit a reply");
static_assert(WET_EXPORT_PART_BYTES + 900 < WET_EXPORT_BYTES, "a page must hold its largest row");

struct exporting {
	struct wet_job job;
	struct wet_cursor *cursor; /* page.next */
	struct wet_export_page page;
	wet_export_cb *cb;
	void *ctx;
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
	case WET_ROW_STAGE:
		return c->was_live ? WET_OK : wet_ledger_each_stage(ledger, c->run_id, tell_stage, e, reterr);
	default: return WET_OK;
	}
}

static enum wet_row_kind kind_after(enum wet_row_kind kind)
{
	switch (kind) {
	case WET_ROW_RUN: return WET_ROW_END;
	case WET_ROW_STAGE: return WET_ROW_RUN;
	default: return kind + 1;
	}
}

static int export_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct exporting *e = job->ctx;
	struct wet_cursor *c = e->cursor;
	int rc = WET_OK;
	if (!c->is_begun) {
		rc = wet_ledger_next_run_id(ledger, &c->to_run, reterr);
		c->to_run--;
		c->vessel_id = INT64_MIN;
		c->is_begun = true;
	}
	while (rc == 0 && c->at != WET_ROW_END) {
		enum wet_row_kind at = c->at;
		rc = tell(e, ledger, reterr);
		if (rc == 0)
			c->at = kind_after(at);
		else if (rc == WET_LEDGER_FULL && c->at != at)
			rc = WET_OK; /* from a run to its events */
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
	struct wet_job job;
	struct wet_unit *units;
	bool is_dry;
	wet_import_cb *cb;
	void *ctx;
};

static int import_unit(struct wet_ledger *ledger, bool is_dry, struct wet_unit *u, struct wet_fault *reterr)
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
	case WET_ROW_RUN: return wet_ledger_import_run(ledger, is_dry, u->run, &u->is_new, reterr);
	default:
		return wet_fault_set(reterr, WET_ERR_INTERNAL, "row", NULL, "a report: this is a mistake of wetside");
	}
}

static int import_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct importing *i = job->ctx;
	int rc = WET_OK;
	for (struct wet_unit *u = i->units; u && rc == 0; u = u->next) {
		rc = import_unit(ledger, i->is_dry, u, reterr);
		if (rc != 0) {
			char line[48];
			wet_text_format(line, sizeof line, "line %lld, ", (long long)u->line);
			wet_fault_prefix(reterr, line);
		}
	}
	return rc;
}

static void import_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct importing *i = job->ctx;
	i->cb(i->ctx, fault);
	free(i);
}

void wet_darkroom_import(struct wet_darkroom *d, struct wet_unit *units, bool is_dry, wet_import_cb *cb,
						 void *ctx)
{
	struct importing *i = calloc(1, sizeof *i);
	if (!i) {
		struct wet_fault fault = { .err = WET_ERR_NOMEM };
		cb(ctx, &fault);
		return;
	}
	i->units = units;
	i->is_dry = is_dry;
	i->cb = cb;
	i->ctx = ctx;
	i->job = (struct wet_job){
		.work = import_work, .done = import_done, .ctx = i, .is_write = !is_dry, .is_once = true
	};
	d->ports.store(d->ports.ctx, &i->job);
}
