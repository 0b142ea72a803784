/* entries.c: entries into the ledger and out of it. */
#include "darkroom/entries.h"

#include "darkroom/inside.h"

#include <stdlib.h>
#include <string.h>

struct entering {
	struct wet_job job;
	struct wet_entry_query query;
	struct wet_entries entries;
	int *follows;
	int room;
	wet_entries_cb *cb;
	void *ctx;
};

static void free_entering(struct entering *e)
{
	free(e->entries.list);
	free(e->follows);
	free(e);
}

static int put_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct entering *e = job->ctx;
	int rc = WET_OK;
	for (int i = 0; i < e->entries.count && rc == 0; i++)
		rc = wet_ledger_put_entry(ledger, &e->entries.list[i], e->follows[i], reterr);
	return rc;
}

static int take_entry(void *ctx, const struct wet_entry *entry)
{
	struct entering *e = ctx;
	if (e->entries.count == e->query.limit - 1) { /* one more was asked for, to know of it */
		e->entries.has_more = true;
		return WET_OK;
	}
	if (e->entries.count == e->room) {
		int room = e->room ? e->room * 2 : 16;
		struct wet_entry *list = realloc(e->entries.list, (size_t)room * sizeof *list);
		if (!list)
			return WET_ERR_NOMEM;
		e->entries.list = list;
		e->room = room;
	}
	e->entries.list[e->entries.count++] = *entry;
	return WET_OK;
}

static int get_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct entering *e = job->ctx;
	int rc = wet_ledger_each_entry(ledger, &e->query, take_entry, e, reterr);
	return rc == WET_ERR_NOMEM ? wet_fault_set(reterr, WET_ERR_NOMEM, "", NULL, "more memory") : rc;
}

static void done(struct wet_job *job, const struct wet_fault *fault)
{
	struct entering *e = job->ctx;
	e->cb(e->ctx, &e->entries, fault);
	free_entering(e);
}

static void start(struct wet_darkroom *d, struct entering *e, bool is_write, wet_entries_cb *cb, void *ctx)
{
	if (!e) {
		struct wet_fault fault = { .err = WET_ERR_NOMEM };
		cb(ctx, NULL, &fault);
		return;
	}
	e->cb = cb;
	e->ctx = ctx;
	e->job = (struct wet_job){
		.work = is_write ? put_work : get_work, .done = done, .ctx = e, .is_write = is_write, .is_once = true
	};
	d->ports.store(d->ports.ctx, &e->job);
}

void wet_darkroom_put_entries(struct wet_darkroom *d, const struct wet_entry *entries, const int *follows, int count,
							  wet_entries_cb *cb, void *ctx)
{
	struct entering *e = calloc(1, sizeof *e);
	if (e && count > 0) {
		e->entries.list = calloc((size_t)count, sizeof *entries);
		e->follows = calloc((size_t)count, sizeof *follows);
		if (!e->entries.list || !e->follows) {
			free_entering(e);
			e = NULL;
		}
	}
	if (e && count > 0) {
		memcpy(e->entries.list, entries, (size_t)count * sizeof *entries);
		memcpy(e->follows, follows, (size_t)count * sizeof *follows);
		e->entries.count = count;
		for (int i = 0; i < count; i++)
			e->entries.list[i].wall_ms = d->ports.wall_ms(d->ports.ctx);
	}
	start(d, e, true, cb, ctx);
}

void wet_darkroom_get_entries(struct wet_darkroom *d, const struct wet_entry_query *query, wet_entries_cb *cb, void *ctx)
{
	struct entering *e = calloc(1, sizeof *e);
	if (e) {
		e->query = *query;
		e->query.limit++;
	}
	start(d, e, false, cb, ctx);
}
