/* fault_ledger.c: the Nth read, write, sync, opening, truncation, deletion and allocation of a whole session fails, once
 * and for ever, for N = 1, 2, ... until none is left. Whatever fails: what was committed is there, a step is there whole or
 * not at all, nothing is called damaged that is not, the same connection goes on when the fault has healed, and the file
 * is sound. Allocations are many: of them every 29th, beginning at the seed; --stride 1 takes all (in many minutes).
 * --seed S --stride K */
#include "base/text.h"
#include "ledger_story.h"
#include "vfs_fault.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define REOPEN_AT \
	9 /* the session is closed and opened again before this step: a checkpoint, and a recovery */
#define N_MOST 60000 /* a runaway fails */

static const struct scene {
	const char *name;
	struct vfs_fault fault;
	int err; /* what a failing step answers, beside WET_ERR_IO */
} scenes[] = {
	{ "open", { .ops = VFS_OPEN }, WET_ERR_IO },
	{ "read", { .ops = VFS_READ }, WET_ERR_IO },
	{ "write", { .ops = VFS_WRITE, .rc = SQLITE_IOERR_WRITE }, WET_ERR_IO },
	{ "write, torn", { .ops = VFS_WRITE, .rc = SQLITE_IOERR_WRITE, .is_torn = true }, WET_ERR_IO },
	{ "write, disk full", { .ops = VFS_WRITE, .rc = SQLITE_FULL }, WET_ERR_FULL },
	{ "sync", { .ops = VFS_SYNC }, WET_ERR_IO },
	{ "truncate", { .ops = VFS_TRUNCATE }, WET_ERR_IO },
	{ "delete", { .ops = VFS_DELETE }, WET_ERR_IO },
	{ "allocation", { .ops = VFS_ALLOC }, WET_ERR_NOMEM },
};

static char folder[64], path[96];
static const struct scene *scene;
static struct vfs_fault fault;
static long seed = 1, stride = 29;

static void broken(const char *what, int step, const struct wet_fault *f)
{
	char line[512] = "";
	(void)vfs_fault_disarm();
	if (f)
		wet_fault_line(f, line, sizeof line);
	printf("broken: %s %s, number %ld: %s (step %d) %s\nagain: fault_ledger --seed %ld --stride %ld\n",
		   scene->name, fault.is_for_ever ? "for ever" : "once", fault.nth, what, step, line, seed, stride);
	exit(1);
}

static void remove_ledger(void)
{
	static const char *const ends[] = { "", "-wal", "-journal", "-shm" };
	char name[128];
	for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
		wet_text_format(name, sizeof name, "%s%s", path, ends[i]);
		(void)unlink(name);
	}
}

/* Only what was made to fail may be told: "damaged" would send a person to throw a sound ledger away. */
static void check_told(int rc, int step, const struct wet_fault *f)
{
	if (rc != scene->err && rc != WET_ERR_IO)
		broken("a wrong error was told", step, f);
	if (f->err != rc || !f->want[0])
		broken("the fault does not tell what to do", step, f);
}

/* Opening fails, or a reading of what was committed is right. */
static struct wet_ledger *open_ledger(int step)
{
	struct wet_ledger *l = NULL;
	struct wet_fault f = { 0 };
	int rc = wet_ledger_open(&l, path, &f);
	if (rc != 0) {
		check_told(rc, step, &f);
		if (l)
			broken("a ledger was given with an error", step, &f);
		if (fault.is_for_ever)
			return NULL;
		rc = wet_ledger_open(&l, path, &f); /* the fault has passed */
		if (rc != 0)
			broken("it does not open when the fault has passed", step, &f);
	}
	return l;
}

/* The daemon's way: a failed step is tried again. False: it can't be stored while the fault lasts. */
static bool tell(struct wet_ledger *l, int step)
{
	struct wet_fault f = { 0 };
	int rc = story_tell(l, step, &f);
	if (rc == 0)
		return true;
	check_told(rc, step, &f);
	if (fault.is_for_ever)
		return false;
	rc = story_tell(l, step, &f);
	if (rc != 0)
		broken("the same connection does not go on when the fault has passed", step, &f);
	return true;
}

/* Reads under the fault: an error or the truth. */
static void look(struct wet_ledger *l, int step, enum story_trace want)
{
	struct wet_fault f = { 0 };
	enum story_trace trace;
	int rc = story_look(l, step, &trace, &f);
	if (rc != 0)
		check_told(rc, step, &f);
	else if (trace != want)
		broken("a read under the fault was wrong", step, NULL);
}

/* Returns the steps that were acknowledged. */
static int session(void)
{
	int acked = 0;
	struct wet_ledger *l = open_ledger(0);
	while (l && acked < STORY_STEPS) {
		if (acked == REOPEN_AT) {
			wet_ledger_close(l);
			l = open_ledger(acked);
			if (!l)
				break;
		}
		if (!tell(l, acked))
			break;
		look(l, acked, STORY_WHOLE);
		acked++;
	}
	wet_ledger_close(l);
	return acked;
}

/* Without the fault: sound, nothing lost, nothing half; the rest can be told, and then all is there. */
static void verify(int acked)
{
	struct wet_ledger *l = NULL;
	struct wet_fault f = { 0 };
	enum story_trace trace;
	if (wet_ledger_open(&l, path, &f) != 0)
		broken("it does not open afterwards", acked, &f);
	if (wet_ledger_check(l, &f) != 0)
		broken("it is damaged", acked, &f);
	for (int i = 0; i < STORY_STEPS; i++) {
		if (story_look(l, i, &trace, &f) != 0)
			broken("it can't be read afterwards", i, &f);
		if (trace == STORY_HALF)
			broken("a step is half there", i, NULL);
		if (trace == STORY_NONE && i < acked)
			broken("an acknowledged step is lost", i, NULL);
		if (trace == STORY_NONE && story_tell(l, i, &f) != 0)
			broken("it can't be written afterwards", i, &f);
		if (story_look(l, i, &trace, &f) != 0 || trace != STORY_WHOLE)
			broken("what was written afterwards is not there", i, &f);
	}
	if (wet_ledger_check(l, &f) != 0)
		broken("it is damaged at the end", acked, &f);
	wet_ledger_close(l);
	if (sqlite3_memory_used() != 0)
		broken("memory was not given back", acked, NULL);
}

/* Returns how many points were tried. */
static long play(bool is_for_ever)
{
	long step = scene->fault.ops == VFS_ALLOC ? stride : 1, tried = 0;
	fault = scene->fault;
	fault.is_for_ever = is_for_ever;
	for (long n = 1 + seed % step; n < N_MOST; n += step, tried++) {
		remove_ledger();
		fault.nth = n;
		vfs_fault_arm(&fault);
		int acked = session();
		long failed = vfs_fault_disarm();
		verify(acked);
		if (failed == 0) {
			if (acked != STORY_STEPS)
				broken("a session without a fault stopped", acked, NULL);
			return tried;
		}
		if (!is_for_ever && acked != STORY_STEPS)
			broken("one fault stopped the session", acked, NULL);
	}
	broken("there is no end of it", 0, NULL);
	return 0;
}

static int count_event(void *ctx, int64_t seq, const struct wet_event *event)
{
	(void)seq;
	(void)event;
	++*(int *)ctx;
	return WET_OK;
}

/* A caller that goes on after a failed write of a transaction can't store the rest of it alone. */
static void play_deaf_caller(void)
{
	static const struct scene deaf = { "deaf caller", { .ops = VFS_ALLOC }, WET_ERR_NOMEM };
	const struct wet_event e = { .kind = WET_ACT_GO, .bath = -1, .number = -1, .boot_ns = 1 };
	struct wet_ledger *l = NULL;
	scene = &deaf;
	fault = deaf.fault;
	remove_ledger();
	if (wet_ledger_open(&l, path, NULL) != 0 || story_tell(l, 0, NULL) != 0)
		broken("no ledger", 0, NULL);
	for (fault.nth = 1;; fault.nth++) {
		int count = 0;
		struct wet_fault f = { 0 };
		if (wet_ledger_begin(l, &f) != 0 || wet_ledger_append(l, 1, 1, &e, &f) != 0)
			broken("it can't be written", 0, &f);
		vfs_fault_arm(&fault);
		int second = wet_ledger_append(l, 1, 2, &e, &f);
		long failed = vfs_fault_disarm();
		if (second == 0 && failed == 0) {
			wet_ledger_rollback(l);
			break;
		}
		if (second != WET_ERR_NOMEM)
			broken("a wrong error was told", 0, &f);
		if (wet_ledger_append(l, 1, 3, &e, &f) != WET_ERR_NOMEM || wet_ledger_commit(l, &f) != WET_ERR_NOMEM)
			broken("what was undone was written in part", 0, &f);
		if (wet_ledger_each_event(l, 1, count_event, &count, &f) != 0 || count != 0)
			broken("what was undone is there in part", count, &f);
	}
	printf("%-16s %5ld points\n", deaf.name, fault.nth - 1);
	if (fault.nth == 1)
		broken("nothing was made to fail", 0, NULL);
	wet_ledger_close(l);
}

int main(int argc, char **argv)
{
	for (int i = 1; i + 1 < argc; i += 2) {
		if (strcmp(argv[i], "--seed") == 0)
			seed = strtol(argv[i + 1], NULL, 10);
		else if (strcmp(argv[i], "--stride") == 0)
			stride = strtol(argv[i + 1], NULL, 10);
	}
	if (seed < 0 || stride < 1)
		return 2;
	printf("seed %ld, stride %ld\n", seed, stride);
	const char *base = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
	wet_text_format(folder, sizeof folder, "%s/wetside-fault-XXXXXX", base);
	if (!mkdtemp(folder))
		return 1;
	wet_text_format(path, sizeof path, "%s/ledger.sqlite", folder);
	vfs_fault_install();
	for (size_t i = 0; i < sizeof scenes / sizeof scenes[0]; i++) {
		scene = &scenes[i];
		long once = play(false), for_ever = play(true);
		printf("%-16s %5ld points once, %5ld for ever\n", scene->name, once, for_ever);
		if (once < 1 || for_ever < 1)
			broken("nothing was made to fail", 0, NULL); /* the session must meet every operation */
	}
	play_deaf_caller();
	remove_ledger();
	(void)rmdir(folder);
	return 0;
}
