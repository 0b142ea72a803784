/* worker.c: one thread, two queues. */
#include "host/worker.h"

#include "ledger/ledger.h"

#include <errno.h>
#include <pthread.h>
#include <stdlib.h>
#include <time.h>

#define RETRY_S 1

struct queue {
	struct wet_job *head, **tail;
};

struct wet_worker {
	pthread_t thread;
	pthread_mutex_t lock;
	pthread_cond_t filled;
	struct queue in, back;
	bool is_stopping;
	struct wet_ledger *ledger;
	void (*wake)(void *ctx);
	void *ctx;
};

static void queue_init(struct queue *q)
{
	q->head = NULL;
	q->tail = &q->head;
}

static void queue_put(struct queue *q, struct wet_job *job)
{
	job->next = NULL;
	*q->tail = job;
	q->tail = &job->next;
}

static struct wet_job *queue_all(struct queue *q)
{
	struct wet_job *all = q->head;
	queue_init(q);
	return all;
}

/* A delayed job goes back twice: once to tell, once done. The telling is a node of its own kind: a copy on the heap
 * would need memory that may be missing, so the job itself is told first and tried again afterwards. */
static void give_back(struct wet_worker *w, struct wet_job *job)
{
	pthread_mutex_lock(&w->lock);
	queue_put(&w->back, job);
	pthread_mutex_unlock(&w->lock);
	w->wake(w->ctx);
}

static void run_alone(struct wet_worker *w, struct wet_job *job)
{
	struct wet_fault fault = { 0 };
	job->fault.err = WET_OK;
	if (job->is_write && wet_ledger_begin(w->ledger, &fault) != 0) {
		job->fault = fault;
		return;
	}
	int rc = job->work(job, w->ledger, &fault);
	if (rc == 0 && job->is_write)
		rc = wet_ledger_commit(w->ledger, &fault);
	else if (job->is_write)
		wet_ledger_rollback(w->ledger);
	if (rc != 0) {
		fault.err = rc;
		job->fault = fault;
	}
}

/* Commits a chain of writes together. False: nothing of it was stored; fault says why. */
static bool run_group(struct wet_worker *w, struct wet_job *first, struct wet_fault *ret_fault)
{
	int rc = wet_ledger_begin(w->ledger, ret_fault);
	if (rc == 0) {
		for (struct wet_job *j = first; j && rc == 0; j = j->next)
			rc = j->work(j, w->ledger, ret_fault);
		if (rc == 0)
			rc = wet_ledger_commit(w->ledger, ret_fault);
		else
			wet_ledger_rollback(w->ledger);
	}
	if (rc != 0)
		ret_fault->err = rc;
	return rc == 0;
}

static void *run_worker(void *arg)
{
	struct wet_worker *w = arg;
	struct queue kept; /* writes that must be stored, in order */
	queue_init(&kept);
	for (;;) {
		pthread_mutex_lock(&w->lock);
		if (!w->in.head && !w->is_stopping && kept.head) {
			struct timespec until;
			clock_gettime(CLOCK_MONOTONIC, &until);
			until.tv_sec += RETRY_S;
			while (!w->in.head && !w->is_stopping &&
				   pthread_cond_timedwait(&w->filled, &w->lock, &until) != ETIMEDOUT)
				;
		}
		while (!w->in.head && !w->is_stopping && !kept.head)
			pthread_cond_wait(&w->filled, &w->lock);
		struct wet_job *job = queue_all(&w->in);
		bool is_last = w->is_stopping && !job;
		pthread_mutex_unlock(&w->lock);

		while (job) {
			struct wet_job *next = job->next;
			if (job->is_write && !job->is_once) {
				queue_put(&kept, job);
			} else {
				run_alone(w, job);
				give_back(w, job);
			}
			job = next;
		}
		if (kept.head) {
			struct wet_fault fault = { 0 };
			bool is_done = run_group(w, kept.head, &fault);
			if (is_done || is_last) {
				for (struct wet_job *j = queue_all(&kept), *next; j; j = next) {
					next = j->next;
					j->fault = fault;
					if (is_done)
						j->fault.err = WET_OK;
					give_back(w, j);
				}
			} else {
				/* Tell once: the job leaves the queue for the loop, which sends it in again. */
				for (struct wet_job *j = queue_all(&kept), *next; j; j = next) {
					next = j->next;
					if (j->was_delayed) {
						queue_put(&kept, j);
					} else {
						j->was_delayed = true;
						j->fault = fault;
						give_back(w, j);
					}
				}
			}
		}
		if (is_last)
			return NULL;
	}
}

int wet_worker_start(struct wet_worker **ret_worker, struct wet_ledger *ledger, void (*wake)(void *ctx),
					 void *ctx)
{
	struct wet_worker *w = calloc(1, sizeof *w);
	pthread_condattr_t attr;
	if (!w)
		return WET_ERR_NOMEM;
	queue_init(&w->in);
	queue_init(&w->back);
	w->ledger = ledger;
	w->wake = wake;
	w->ctx = ctx;
	pthread_mutex_init(&w->lock, NULL);
	pthread_condattr_init(&attr);
	pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
	pthread_cond_init(&w->filled, &attr);
	pthread_condattr_destroy(&attr);
	if (pthread_create(&w->thread, NULL, run_worker, w) != 0) {
		free(w);
		return WET_ERR_INTERNAL;
	}
	*ret_worker = w;
	return WET_OK;
}

void wet_worker_put(struct wet_worker *w, struct wet_job *job)
{
	pthread_mutex_lock(&w->lock);
	queue_put(&w->in, job);
	pthread_cond_signal(&w->filled);
	pthread_mutex_unlock(&w->lock);
}

void wet_worker_reap(struct wet_worker *w)
{
	pthread_mutex_lock(&w->lock);
	struct wet_job *job = queue_all(&w->back);
	bool is_stopping = w->is_stopping;
	pthread_mutex_unlock(&w->lock);
	while (job) {
		struct wet_job *next = job->next;
		bool is_kept = job->is_write && !job->is_once && job->fault.err != WET_OK && !is_stopping;
		if (is_kept) {
			struct wet_fault fault = job->fault;
			if (job->delayed)
				job->delayed(job, &fault);
			wet_worker_put(w, job);
		} else {
			job->done(job, &job->fault);
		}
		job = next;
	}
}

void wet_worker_stop(struct wet_worker *w)
{
	if (!w)
		return;
	pthread_mutex_lock(&w->lock);
	w->is_stopping = true;
	pthread_cond_signal(&w->filled);
	pthread_mutex_unlock(&w->lock);
	pthread_join(w->thread, NULL);
	wet_worker_reap(w);
	pthread_cond_destroy(&w->filled);
	pthread_mutex_destroy(&w->lock);
	free(w);
}
