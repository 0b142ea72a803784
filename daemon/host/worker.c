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
	struct wet_job *told, **told_tail; /* delayed for the first time; they stay with the worker */
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

/* Errors of the value, not of the disk: see ledger.h. */
static bool is_final(int err)
{
	return err == WET_ERR_EXISTS || err == WET_ERR_NOT_FOUND || err == WET_ERR_INVALID ||
		   err == WET_ERR_RANGE || err == WET_ERR_TOO_LONG;
}

/* Commits a chain of writes together. Not WET_OK: nothing of it was stored, the fault says why, and *ret_bad is the job
 * whose own value was at fault, or NULL where the disk was. */
static int run_group(struct wet_worker *w, struct wet_job *first, struct wet_job **ret_bad,
					 struct wet_fault *ret_fault)
{
	*ret_bad = NULL;
	int rc = wet_ledger_begin(w->ledger, ret_fault);
	if (rc == 0) {
		for (struct wet_job *j = first; j && rc == 0; j = j->next) {
			rc = j->work(j, w->ledger, ret_fault);
			if (rc != 0 && is_final(rc))
				*ret_bad = j;
		}
		if (rc == 0)
			rc = wet_ledger_commit(w->ledger, ret_fault);
		else
			wet_ledger_rollback(w->ledger);
	}
	ret_fault->err = rc;
	return rc;
}

/* The loop hears once that a job waits; the job keeps its place, so that what was heard first is stored first. */
static void tell_delayed(struct wet_worker *w, struct wet_job *first, const struct wet_fault *fault)
{
	bool is_news = false;
	pthread_mutex_lock(&w->lock);
	for (struct wet_job *j = first; j; j = j->next) {
		if (j->was_delayed)
			continue;
		j->was_delayed = true;
		j->told = *fault;
		j->next_told = NULL;
		*w->told_tail = j;
		w->told_tail = &j->next_told;
		is_news = true;
	}
	pthread_mutex_unlock(&w->lock);
	if (is_news)
		w->wake(w->ctx);
}

static void queue_remove(struct queue *q, struct wet_job *job)
{
	struct queue rest;
	queue_init(&rest);
	for (struct wet_job *j = queue_all(q), *next; j; j = next) {
		next = j->next;
		if (j != job)
			queue_put(&rest, j);
	}
	*q = rest;
	if (!q->head)
		q->tail = &q->head;
}

/* All kept writes, or as many as the disk allows. With is_last they are given back however it went. */
static void write_kept(struct wet_worker *w, struct queue *kept, bool is_last)
{
	while (kept->head) {
		struct wet_fault fault = { 0 };
		struct wet_job *bad;
		int rc = run_group(w, kept->head, &bad, &fault);
		if (bad) { /* one value at fault must not keep the others from being stored */
			queue_remove(kept, bad);
			bad->fault = fault;
			give_back(w, bad);
			continue;
		}
		if (rc != 0 && !is_last) {
			tell_delayed(w, kept->head, &fault);
			return;
		}
		for (struct wet_job *j = queue_all(kept), *next; j; j = next) {
			next = j->next;
			j->fault = fault;
			give_back(w, j);
		}
	}
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
		write_kept(w, &kept, is_last);
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
	w->told_tail = &w->told;
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
	/* Under one lock: a job is told of before it can come back and be freed. */
	pthread_mutex_lock(&w->lock);
	struct wet_job *told = w->told, *job = queue_all(&w->back);
	w->told = NULL;
	w->told_tail = &w->told;
	pthread_mutex_unlock(&w->lock);
	while (told) {
		struct wet_job *next = told->next_told;
		if (told->delayed)
			told->delayed(told, &told->told);
		told = next;
	}
	while (job) {
		struct wet_job *next = job->next;
		job->done(job, &job->fault);
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
