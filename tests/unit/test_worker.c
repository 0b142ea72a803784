/* The ledger's thread: order, what waits for the disk, and what can never be stored. No sleeps: the wake-up is waited for. */
#include "host/worker.h"
#include "ledger/ledger.h"

#include <criterion/criterion.h>
#include <semaphore.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

#define JOBS 8

static sem_t woken;
static struct wet_worker *worker;
static struct wet_ledger *ledger;
static char dir[] = "/tmp/wet-worker-XXXXXX", path[64];

/* What happened, in order: 'a' worked, 'A' done, '!' delayed, 'X' done with an error. */
static char worked[64], told[64];
static int worked_count, told_count;

struct probe {
	struct wet_job job;
	char name;
	int failures, err; /* so often it fails, with this */
	int times;
};
static struct probe probes[JOBS];

static int probe_work(struct wet_job *job, struct wet_ledger *l, struct wet_fault *reterr)
{
	struct probe *p = job->ctx;
	struct wet_vessel v = { .name = "x" };
	if (p->times++ < p->failures)
		return wet_fault_set(reterr, p->err, "", NULL, "otherwise");
	v.name[0] = p->name;
	worked[worked_count++ % 63] = p->name;
	return wet_ledger_put_vessel(l, &v, 1, reterr);
}

static void probe_delayed(struct wet_job *job, const struct wet_fault *fault)
{
	(void)job;
	cr_assert_neq(fault->err, WET_OK);
	told[told_count++] = '!';
}

static void probe_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct probe *p = job->ctx;
	told[told_count++] = fault->err == WET_OK ? p->name : (char)(p->name - 'a' + 'A');
}

static void wake(void *ctx)
{
	(void)ctx;
	sem_post(&woken);
}

static void setup(void)
{
	cr_assert_not_null(mkdtemp(dir));
	snprintf(path, sizeof path, "%s/l", dir);
	cr_assert_eq(wet_ledger_open(&ledger, path, NULL), 0);
	sem_init(&woken, 0, 0);
	cr_assert_eq(wet_worker_start(&worker, ledger, wake, NULL), 0);
}

static void teardown(void)
{
	wet_ledger_close(ledger);
	(void)unlink(path);
	(void)rmdir(dir);
}

static void put(int i, char name, int failures, int err)
{
	probes[i] = (struct probe){ .name = name, .failures = failures, .err = err };
	probes[i].job = (struct wet_job){
		.work = probe_work, .delayed = probe_delayed, .done = probe_done, .ctx = &probes[i], .is_write = true
	};
	wet_worker_put(worker, &probes[i].job);
}

static void until_told(int count)
{
	struct timespec limit;
	clock_gettime(CLOCK_REALTIME, &limit);
	limit.tv_sec += 30;
	while (told_count < count) {
		cr_assert_eq(sem_timedwait(&woken, &limit), 0, "told %s", told);
		wet_worker_reap(worker);
	}
}

static bool is_stored(char name)
{
	struct wet_vessel v;
	char text[2] = { name, 0 };
	return wet_ledger_get_vessel(ledger, text, &v, NULL) == 0;
}

Test(worker, what_can_never_be_stored_does_not_keep_the_others, .init = setup, .fini = teardown)
{
	put(0, 'a', 1000, WET_ERR_EXISTS);
	put(1, 'b', 0, 0);
	put(2, 'c', 1000, WET_ERR_RANGE);
	put(3, 'd', 0, 0);
	until_told(4);
	wet_worker_stop(worker);
	int errors = 0, good = 0;
	for (int i = 0; i < told_count; i++) {
		errors += told[i] == 'A' || told[i] == 'C';
		good += told[i] == 'b' || told[i] == 'd';
	}
	cr_assert(errors == 2 && good == 2 && told_count == 4, "%s", told);
	cr_assert(is_stored('b') && is_stored('d') && !is_stored('a') && !is_stored('c'));
	cr_assert(probes[0].times == 1 && probes[2].times == 1, "a final error is not tried again");
}

Test(worker, what_waits_keeps_its_place_and_is_told_once, .init = setup, .fini = teardown)
{
	put(0, 'a', 2, WET_ERR_FULL);
	until_told(1);
	cr_assert_str_eq(told, "!");
	put(1, 'b', 0, 0); /* a new write is a reason to try again; it may not pass the one that waits */
	until_told(4);
	wet_worker_stop(worker);
	int a = -1, b = -1, delayed = 0;
	for (int i = 0; i < told_count; i++) {
		a = told[i] == 'a' ? i : a;
		b = told[i] == 'b' ? i : b;
		delayed += told[i] == '!';
	}
	cr_assert(a >= 0 && b > a, "%s", told);
	cr_assert_eq(delayed, 2, "each is told once: %s", told);
	cr_assert(is_stored('a') && is_stored('b'));
}

Test(worker, at_the_end_everything_comes_back, .init = setup, .fini = teardown)
{
	put(0, 'a', 1000, WET_ERR_FULL);
	until_told(1);
	wet_worker_stop(worker);
	cr_assert(told_count == 2 && told[1] == 'A', "%s", told);
}
