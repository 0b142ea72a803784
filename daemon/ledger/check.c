/* check.c: is the whole ledger sound? SQLite's own check of the file, then every row read as a replay would. */
#include "ledger/entries.h"
#include "ledger/inside.h"

#include <string.h>

static int take_verdict(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	const char *text = (const char *)sqlite3_column_text(s, 0);
	(void)ctx;
	return text && strcmp(text, "ok") == 0 ? WET_OK : ledger_corrupt(l, text ? text : "", reterr);
}

/* Any row is a row too many. */
static int take_orphan(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	(void)s;
	(void)ctx;
	return ledger_corrupt(l, "a row without the one it belongs to", reterr);
}

struct checking {
	struct wet_ledger *ledger;
	struct wet_fault *fault;
	int64_t seq;
};

static int pass_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	struct checking *c = ctx;
	(void)event;
	if (seq != c->seq + 1)
		return ledger_corrupt(c->ledger, "a hole in the events of a run", c->fault);
	c->seq = seq;
	return WET_OK;
}

static int pass_stage(void *ctx, int stage, const struct wet_stage_record *record)
{
	(void)ctx;
	(void)stage;
	(void)record;
	return WET_OK;
}

static int pass_vessel(void *ctx, const struct wet_vessel *vessel)
{
	(void)ctx;
	(void)vessel;
	return WET_OK;
}

/* An item is the sum of its history. */
#define STOCK_ASTRAY                                                                                            \
	"SELECT 1 FROM stock AS s WHERE s.volume_ul <> (SELECT total(volume_ul) FROM stock_event WHERE stock_id = s.id)" \
	" OR s.area_mm2 <> (SELECT total(area_mm2) FROM stock_event WHERE stock_id = s.id)"                             \
	" OR s.second_mm2 <> (SELECT total(second_mm2) FROM stock_event WHERE stock_id = s.id) LIMIT 1"

static int take_astray(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	(void)s;
	(void)ctx;
	return ledger_corrupt(l, "something on the shelf that is not the sum of its history", reterr);
}

static int pass_stock(void *ctx, const struct wet_stock *item)
{
	struct checking *c = ctx;
	return wet_stock_check(item, c->fault) == 0 ? WET_OK : ledger_corrupt(c->ledger, item->name, c->fault);
}

static int pass_check(void *ctx, const struct wet_check *check)
{
	(void)ctx;
	(void)check;
	return WET_OK;
}

static int pass_entry(void *ctx, const struct wet_entry *entry)
{
	(void)ctx;
	(void)entry;
	return WET_OK;
}

static int check_run(void *ctx, const struct wet_ledger_run *run)
{
	struct checking *c = ctx;
	c->seq = 0;
	int rc = wet_ledger_each_event(c->ledger, run->id, pass_event, c, c->fault);
	if (rc == 0)
		rc = wet_ledger_each_check(c->ledger, run->id, 0, pass_check, c, c->fault);
	return rc == 0 ? wet_ledger_each_stage(c->ledger, run->id, pass_stage, c, c->fault) : rc;
}

static int check_sql(struct wet_ledger *l, const char *sql, ledger_take *take, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, sql, reterr);
	return s ? ledger_each(l, s, take, NULL, reterr) : ledger_err(l);
}

int wet_ledger_check(struct wet_ledger *l, struct wet_fault *reterr)
{
	const struct wet_entry_query all = { .with_history = true, .with_gone = true, .limit = INT32_MAX };
	struct checking c = { .ledger = l, .fault = reterr };
	int rc = check_sql(l, "PRAGMA integrity_check(1)", take_verdict, reterr);
	if (rc == 0)
		rc = check_sql(l, "PRAGMA foreign_key_check", take_orphan, reterr);
	if (rc == 0)
		rc = wet_ledger_each_live_run(l, check_run, &c, reterr);
	if (rc == 0)
		rc = wet_ledger_each_finished_run(l, INT64_MAX, INT32_MAX, check_run, &c, reterr);
	if (rc == 0)
		rc = wet_ledger_each_vessel(l, pass_vessel, &c, reterr);
	if (rc == 0)
		rc = wet_ledger_each_stock(l, -1, true, 0, INT32_MAX, pass_stock, &c, reterr);
	if (rc == 0)
		rc = wet_ledger_each_entry(l, &all, pass_entry, NULL, reterr);
	return rc == 0 ? check_sql(l, STOCK_ASTRAY, take_astray, reterr) : rc;
}
