/* cutting.c: one job of the ledger's thread that seeks a cutting plan. */
#include "darkroom/cutting.h"

#include "darkroom/inside.h"

#include <stdlib.h>

#define HURRIED_WORK 3000000 /* while a run is live its events wait behind the search: tens of milliseconds */

struct cutting_job {
	struct wet_job job;
	struct wet_cut_ask ask;
	struct wet_cut_plan plan;
	void *workspace;
	wet_cut_cb *cb;
	void *ctx;
};

static int cut_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct cutting_job *j = job->ctx;
	(void)ledger;
	return wet_cut_plan(&j->ask, j->workspace, wet_cut_workspace_bytes(), &j->plan, reterr);
}

static void cut_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct cutting_job *j = job->ctx;
	j->cb(j->ctx, &j->ask, fault->err == WET_OK ? &j->plan : NULL, fault);
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
		cb(ctx, ask, NULL, &fault);
		return;
	}
	j->ask = *ask;
	j->ask.work_most = d->live_count > 0 ? HURRIED_WORK : 0;
	j->cb = cb;
	j->ctx = ctx;
	j->job = (struct wet_job){ .work = cut_work, .done = cut_done, .ctx = j, .is_once = true };
	d->ports.store(d->ports.ctx, &j->job);
}
