/* booking.c: a stage's begin books its bath. It derives from the run's events: after a crash all that has begun is asked for
 * again, and the ledger books each once. */
#include "darkroom/inside.h"

#include "ledger/plans.h"

#include <stdlib.h>

struct booking {
	struct wet_job job;
	int64_t run_id, wall_ms;
	int stage;
};

static int book_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct booking *b = job->ctx;
	return wet_ledger_book_stage(ledger, b->run_id, b->stage, b->wall_ms, reterr);
}

static void book_done(struct wet_job *job, const struct wet_fault *fault)
{
	(void)fault; /* one that can never be stored is asked for again at the next start */
	free(job->ctx);
}

void bookings_settle(struct wet_darkroom *d, struct wet_live *live)
{
	if (!live->has_bookings)
		return;
	for (int i = 0; i < live->run.setup.recipe->stage_count; i++) {
		uint64_t bit = 1ULL << i;
		if (live->booked_stages & bit || !(live->run.records[i].flags & WET_STAGE_BEGUN) ||
			live->run.setup.recipe->stages[i].bath < 0)
			continue;
		struct booking *b = calloc(1, sizeof *b);
		if (!b)
			return; /* the next turn asks again */
		b->job = (struct wet_job){ .work = book_work, .done = book_done, .ctx = b, .is_write = true };
		b->run_id = live->id;
		b->stage = i;
		b->wall_ms = d->ports.wall_ms(d->ports.ctx);
		live->booked_stages |= bit;
		d->ports.store(d->ports.ctx, &b->job);
	}
}
static_assert(WET_RECIPE_STAGES <= 64, "a bit a stage");
