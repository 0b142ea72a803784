/* worker.h: the ledger's one thread. Jobs go in by wet_worker_put and come back by wet_worker_reap on the loop, after
 * `wake` was called (from the worker). Writes that have queued up are committed together. A write that fails is kept, in
 * order, and tried again each second until it succeeds, unless its own value is at fault; meanwhile reads go on. */
#ifndef WET_WORKER_H
#define WET_WORKER_H

#include "darkroom/ports.h"

struct wet_worker;

int wet_worker_start(struct wet_worker **ret_worker, struct wet_ledger *ledger, void (*wake)(void *ctx),
					 void *ctx);
void wet_worker_put(struct wet_worker *worker, struct wet_job *job);
void wet_worker_reap(struct wet_worker *worker);
/* Finishes what is queued (one more try for what failed), joins, and hands back all jobs. */
void wet_worker_stop(struct wet_worker *worker);

#endif
