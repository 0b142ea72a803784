/* cutting.c: one job of the ledger's thread that seeks a cutting plan; and the pieces, once they are cut. */
#include "darkroom/cutting.h"

#include "darkroom/inside.h"
#include "ledger/entries.h"
#include "shelf/cutting.h"
#include "shelf/piece.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

#define HURRIED_WORK 3000000 /* while a run is live its events wait behind the search: tens of milliseconds */

/* -- pieces that were cut ---------------------------------------------------------------- */

#define SAME_NUMBER 100 /* pieces of one number: then somebody does it on purpose */

static int add_light(int64_t light_s, struct wet_entry *e, struct wet_fault *reterr)
{
	struct wet_piece piece;
	int rc = wet_piece_decode(e->body, &piece, reterr);
	piece.cut_light_s = light_s;
	return rc == 0 ? wet_piece_encode(&piece, e->body, sizeof e->body, reterr) : rc;
}

int cut_book(struct wet_ledger *ledger, const struct wet_cut_ended *ended, struct wet_fault *reterr)
{
	char *json = NULL;
	size_t bytes = 0;
	struct wet_cutting *c = calloc(1, sizeof *c);
	struct wet_entry *e = calloc(1, sizeof *e);
	int rc = c && e ? wet_ledger_get_recipe(ledger, ended->recipe_hash, &json, &bytes, reterr)
					: wet_fault_set(reterr, WET_ERR_NOMEM, "cut", NULL, "more memory");
	/* A recipe file may bear the name; it can't look like one. */
	bool is_cut = rc == 0 && wet_cutting_made(json, bytes, c, NULL) == 0;
	for (int i = 0; is_cut && rc == 0 && i < c->made_count; i++) {
		*e = (struct wet_entry){ .kind = WET_PIECE_KIND, .wall_ms = ended->wall_ms, .uid = ended->uid };
		wet_text_copy(e->person, sizeof e->person, ended->person);
		/* With its time, as mix_book's: a piece of another ledger's run of this number may have been taken in. */
		wet_text_format(e->token, sizeof e->token, "cut-%lld-%lld", (long long)ended->run_id, (long long)ended->wall_ms);
		wet_cutting_piece(c, i, ended->run_id, e->body, sizeof e->body);
		rc = ended->light_s > 0 ? add_light(ended->light_s, e, reterr) : WET_OK;
		if (rc != 0)
			break;
		/* The number stands on its back already: another piece of that number, from elsewhere, is not written over. */
		rc = WET_ERR_EXISTS;
		for (int k = 1; rc == WET_ERR_EXISTS && k <= SAME_NUMBER; k++) {
			wet_text_format(e->name, sizeof e->name, k == 1 ? "%d" : "%d-%d", c->made[i].number, k);
			rc = wet_ledger_put_entry(ledger, e, 0, reterr);
		}
	}
	free(json);
	free(c);
	free(e);
	return rc;
}

struct numbering {
	int64_t after_id;
	int64_t highest;
	int count;
};

static int take_number(void *ctx, const struct wet_entry *entry)
{
	struct numbering *n = ctx;
	long long number = strtoll(entry->name, NULL, 10);
	n->after_id = entry->id;
	n->count++;
	if (number > n->highest)
		n->highest = number;
	return WET_OK;
}

/* Behind all that were ever given. */
static int find_next_number(struct wet_ledger *ledger, int *ret_number, struct wet_fault *reterr)
{
	struct numbering n = { 0 };
	int rc = WET_OK;
	do {
		struct wet_entry_query query = {
			.kind = WET_PIECE_KIND, .with_gone = true, .after_id = n.after_id, .limit = WET_PAGE
		};
		n.count = 0;
		rc = wet_ledger_each_entry(ledger, &query, take_number, &n, reterr);
	} while (rc == 0 && n.count == WET_PAGE);
	*ret_number = n.highest < WET_CUT_NUMBER_MOST - WET_CUT_PIECES ? (int)n.highest + 1 : 1;
	return rc;
}

/* -- the plan -------------------------------------------------------------------------------- */

struct cutting_job {
	struct wet_job job;
	struct wet_cut_ask ask;
	struct wet_cut_plan plan;
	int next_number;
	void *workspace;
	wet_cut_cb *cb;
	void *ctx;
};

static int cut_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct cutting_job *j = job->ctx;
	int rc = find_next_number(ledger, &j->next_number, reterr);
	if (rc != 0)
		return rc;
	return wet_cut_plan(&j->ask, j->workspace, wet_cut_workspace_bytes(), &j->plan, reterr);
}

static void cut_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct cutting_job *j = job->ctx;
	j->cb(j->ctx, fault->err == WET_OK ? &j->plan : NULL, j->next_number, fault);
	free(j->workspace);
	free(j);
}

void wet_darkroom_cut(struct wet_darkroom *d, const struct wet_cut_ask *ask, wet_cut_cb *cb, void *ctx)
{
	struct cutting_job *j = calloc(1, sizeof *j);
	if (j)
		j->workspace = malloc(wet_cut_workspace_bytes());
	if (!j || !j->workspace) {
		struct wet_fault fault = { .err = WET_ERR_NOMEM };
		free(j);
		cb(ctx, NULL, 1, &fault);
		return;
	}
	j->ask = *ask;
	j->ask.work_most = d->live_count > 0 ? HURRIED_WORK : 0;
	j->cb = cb;
	j->ctx = ctx;
	j->job = (struct wet_job){ .work = cut_work, .done = cut_done, .ctx = j, .is_once = true };
	d->ports.store(d->ports.ctx, &j->job);
}
