/* kill_ledger.c: a writer is killed at random moments, a hundred times. What it was told is stored is there afterwards, in
 * order and without a hole; at most the one transaction it was in may be there beside. A hole, a lost row or a ledger that
 * does not open fails the test. --seed S --count N */
#include "base/random.h"
#include "base/text.h"
#include "ledger_story.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#define ACKS_MOST 24    /* a round is killed after 0 to so many acknowledged transactions, */
#define SPIN_MOST 60000 /* and so many turns of an empty loop: within the next one */
#define GROUP_MOST 4    /* events in one transaction */

static uint64_t seed = 1;
static long count = 100;
static char folder[64], path[96];

static void broken(const char *what, long round, long detail)
{
	printf("broken in round %ld: %s (%ld)\nagain: kill_ledger --seed %llu --count %ld\n", round, what, detail,
		   (unsigned long long)seed, round + 1);
	exit(1);
}

static int take_seq(void *ctx, int64_t seq, const struct wet_event *event)
{
	int64_t *last = ctx;
	if (seq != *last + 1 || event->a_ns != seq * 1000003)
		return WET_ERR_CORRUPT;
	*last = seq;
	return WET_OK;
}

/* -- the writer: its own process, killed ------------------------------------------------ */
static int write_group(struct wet_ledger *l, int64_t seq, int events)
{
	int rc = wet_ledger_begin(l, NULL);
	for (int i = 0; rc == 0 && i < events; i++) {
		struct wet_event e = {
			.kind = WET_ACT_READING, .bath = 0, .number = -1, .boot_ns = seq + i, .a_ns = (seq + i) * 1000003
		};
		rc = wet_ledger_append(l, 1, seq + i, &e, NULL);
	}
	return rc == 0 ? wet_ledger_commit(l, NULL) : rc;
}

/* Tells each last number through the pipe once it is stored. */
static void write_for_ever(int fd, int64_t seq, uint64_t my_seed)
{
	struct wet_ledger *l = NULL;
	struct wet_random r;
	wet_random_seed(&r, my_seed);
	if (wet_ledger_open(&l, path, NULL) != 0)
		_exit(3);
	for (;;) {
		int events = 1 + (int)wet_random_below(&r, GROUP_MOST);
		if (write_group(l, seq + 1, events) != 0)
			_exit(4);
		seq += events;
		if (write(fd, &seq, sizeof seq) != (ssize_t)sizeof seq)
			_exit(5);
	}
}

/* -- the killer --------------------------------------------------------------------------- */
static volatile uint64_t spun;

/* Returns the last number that was acknowledged. */
static int64_t kill_one(long round, int64_t stored, struct wet_random *r)
{
	int ends[2], status = 0;
	int64_t acked = stored, seq;
	if (pipe(ends) != 0)
		broken("no pipe", round, 0);
	uint64_t its_seed = wet_random_next(r), acks = wet_random_below(r, ACKS_MOST + 1);
	uint64_t spin = wet_random_below(r, SPIN_MOST);
	pid_t child = fork();
	if (child < 0)
		broken("no process", round, 0);
	if (child == 0) {
		close(ends[0]);
		write_for_ever(ends[1], stored, its_seed);
	}
	close(ends[1]);
	for (uint64_t i = 0; i < acks; i++) {
		if (read(ends[0], &seq, sizeof seq) != (ssize_t)sizeof seq)
			broken("the writer ended by itself", round, (long)i);
		acked = seq;
	}
	for (uint64_t i = 0; i < spin; i++)
		spun += i;
	(void)kill(child, SIGKILL);
	(void)waitpid(child, &status, 0);
	if (!WIFSIGNALED(status) || WTERMSIG(status) != SIGKILL)
		broken("the writer failed", round, WIFEXITED(status) ? WEXITSTATUS(status) : -1);
	while (read(ends[0], &seq, sizeof seq) == (ssize_t)sizeof seq) /* told before the kill */
		acked = seq;
	close(ends[0]);
	return acked;
}

int main(int argc, char **argv)
{
	for (int i = 1; i + 1 < argc; i += 2) {
		if (strcmp(argv[i], "--seed") == 0)
			seed = strtoull(argv[i + 1], NULL, 10);
		else if (strcmp(argv[i], "--count") == 0)
			count = strtol(argv[i + 1], NULL, 10);
	}
	printf("seed %llu\n", (unsigned long long)seed);
	fflush(stdout);
	struct wet_random r;
	struct wet_ledger *l = NULL;
	int64_t stored = 0;
	long within = 0;
	wet_random_seed(&r, seed);
	wet_text_copy(folder, sizeof folder, "/tmp/wetside-kill-XXXXXX");
	if (!mkdtemp(folder))
		return 1;
	wet_text_format(path, sizeof path, "%s/ledger", folder);
	if (wet_ledger_open(&l, path, NULL) != 0 || story_tell(l, 0, NULL) != 0)
		broken("no ledger", 0, 0);
	wet_ledger_close(l);
	for (long round = 0; round < count; round++) {
		int64_t acked = kill_one(round, stored, &r);
		struct wet_fault fault = { 0 };
		int64_t last = 0;
		if (wet_ledger_open(&l, path, &fault) != 0)
			broken("it does not open", round, fault.err);
		if (wet_ledger_check(l, &fault) != 0)
			broken(fault.found, round, fault.err);
		if (wet_ledger_each_event(l, 1, take_seq, &last, NULL) != 0)
			broken("a hole or a changed event", round, (long)last);
		wet_ledger_close(l);
		if (last < acked)
			broken("acknowledged events are lost", round, (long)(acked - last));
		if (last > acked + GROUP_MOST)
			broken("more than was ever written", round, (long)(last - acked));
		within += last > acked;
		stored = last;
	}
	printf("%ld kills, %lld events stored, none lost; %ld kills between the commit and its telling\n", count,
		   (long long)stored, within);
	if (stored < count)
		broken("hardly anything was written: this proves nothing", count, (long)stored);
	(void)unlink(path);
	wet_text_format(path, sizeof path, "%s/ledger-wal", folder);
	(void)unlink(path);
	(void)rmdir(folder);
	return 0;
}
