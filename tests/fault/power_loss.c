/* power_loss.c: the power fails at any moment of a session. Every write, sync, truncation, deletion of the session is
 * recorded; then, for each of its beginnings, disks are made up as they could be found afterwards: what was not synced
 * yet is there, or is not, or is torn at 512 bytes, or is garbage. From each the ledger opens, is sound, and holds
 * every step that was acknowledged by then, and each step whole or not at all.
 *
 * The model: writes of one file may reach the disk in any order until its next sync; names (making, deleting) are durable
 * at once, as SQLite syncs the folder; a sync is honest. The negative control is a disk that lies about syncs
 * (the same as synchronous=OFF): it must lose steps and ruin files, else this harness would not notice it either.
 * --states N (at least) --seed S */
#include "base/random.h"
#include "base/text.h"
#include "ledger_story.h"

#include <fcntl.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define FILES 4
#define SECTOR 512
#define REOPEN_AT 8 /* closed and opened again before this step: a checkpoint in the middle */

enum what { MAKE, WRITE, SYNC, TRUNCATE, DELETE, ACK };
struct op {
	enum what what;
	int file;
	int64_t at; /* WRITE: where; TRUNCATE: size; ACK: steps acknowledged */
	size_t n;
	unsigned char *bytes;
};

static struct op *ops;
static int op_count, op_room;
static char names[FILES][32]; /* without the folder */
static int name_count;
static char folder[64];
static uint64_t seed = 1;
static long states = 2000;

static void give_up(const char *what)
{
	printf("broken: %s\nagain: power_loss --seed %llu --states %ld\n", what, (unsigned long long)seed,
		   states);
	exit(1);
}

static void *must(void *memory)
{
	if (!memory)
		give_up("out of memory");
	return memory;
}

/* -- recording ------------------------------------------------------------------------- */
static int number_of(const char *path)
{
	const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
	for (int i = 0; i < name_count; i++) {
		if (strcmp(names[i], name) == 0)
			return i;
	}
	if (name_count == FILES)
		give_up("more files than expected");
	wet_text_copy(names[name_count], sizeof names[0], name);
	return name_count++;
}

static void record(enum what what, int file, int64_t at, const void *bytes, size_t n)
{
	if (op_count == op_room) {
		op_room = op_room ? op_room * 2 : 256;
		ops = must(realloc(ops, (size_t)op_room * sizeof *ops));
	}
	struct op *op = &ops[op_count++];
	*op = (struct op){ .what = what, .file = file, .at = at, .n = n };
	if (n > 0) {
		op->bytes = must(malloc(n));
		memcpy(op->bytes, bytes, n);
	}
}

struct file {
	sqlite3_file base;
	int number;
	sqlite3_file *real; /* lies behind */
};
static sqlite3_vfs *below, vfs;

static sqlite3_file *real_of(sqlite3_file *f)
{
	return ((struct file *)f)->real;
}

static int file_close(sqlite3_file *f)
{
	return real_of(f)->pMethods->xClose(real_of(f));
}

static int file_read(sqlite3_file *f, void *bytes, int n, sqlite3_int64 at)
{
	return real_of(f)->pMethods->xRead(real_of(f), bytes, n, at);
}

static int file_write(sqlite3_file *f, const void *bytes, int n, sqlite3_int64 at)
{
	record(WRITE, ((struct file *)f)->number, at, bytes, (size_t)n);
	return real_of(f)->pMethods->xWrite(real_of(f), bytes, n, at);
}

static int file_truncate(sqlite3_file *f, sqlite3_int64 size)
{
	record(TRUNCATE, ((struct file *)f)->number, size, NULL, 0);
	return real_of(f)->pMethods->xTruncate(real_of(f), size);
}

static int file_sync(sqlite3_file *f, int flags)
{
	(void)flags;
	record(SYNC, ((struct file *)f)->number, 0, NULL, 0);
	return SQLITE_OK;
}

static int file_size(sqlite3_file *f, sqlite3_int64 *ret_size)
{
	return real_of(f)->pMethods->xFileSize(real_of(f), ret_size);
}

static int file_lock(sqlite3_file *f, int level)
{
	return real_of(f)->pMethods->xLock(real_of(f), level);
}

static int file_unlock(sqlite3_file *f, int level)
{
	return real_of(f)->pMethods->xUnlock(real_of(f), level);
}

static int file_check_lock(sqlite3_file *f, int *ret_is_locked)
{
	return real_of(f)->pMethods->xCheckReservedLock(real_of(f), ret_is_locked);
}

static int file_control(sqlite3_file *f, int op, void *arg)
{
	return real_of(f)->pMethods->xFileControl(real_of(f), op, arg);
}

static int file_sector(sqlite3_file *f)
{
	return real_of(f)->pMethods->xSectorSize(real_of(f));
}

static int file_traits(sqlite3_file *f)
{
	return real_of(f)->pMethods->xDeviceCharacteristics(real_of(f));
}

static const sqlite3_io_methods methods = {
	.iVersion = 1,
	.xClose = file_close,
	.xRead = file_read,
	.xWrite = file_write,
	.xTruncate = file_truncate,
	.xSync = file_sync,
	.xFileSize = file_size,
	.xLock = file_lock,
	.xUnlock = file_unlock,
	.xCheckReservedLock = file_check_lock,
	.xFileControl = file_control,
	.xSectorSize = file_sector,
	.xDeviceCharacteristics = file_traits,
};

static int vfs_open(sqlite3_vfs *v, const char *name, sqlite3_file *f, int flags, int *ret_flags)
{
	struct file *file = (struct file *)f;
	(void)v;
	if (!name || !(flags & (SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_WAL | SQLITE_OPEN_MAIN_JOURNAL)))
		give_up("a file that is neither ledger nor journal");
	file->real = (sqlite3_file *)(file + 1);
	memset(file->real, 0, (size_t)below->szOsFile);
	int rc = below->xOpen(below, name, file->real, flags, ret_flags);
	f->pMethods = rc == SQLITE_OK ? &methods : NULL;
	if (rc == SQLITE_OK) {
		file->number = number_of(name);
		record(MAKE, file->number, 0, NULL, 0);
	}
	return rc;
}

static int vfs_delete(sqlite3_vfs *v, const char *name, int sync_folder)
{
	(void)v;
	record(DELETE, number_of(name), 0, NULL, 0);
	return below->xDelete(below, name, sync_folder);
}

static struct wet_ledger *open_ledger(const char *path)
{
	struct wet_ledger *l = NULL;
	if (wet_ledger_open(&l, path, NULL) != 0)
		give_up("the session can't be played");
	return l;
}

static void record_session(void)
{
	char path[128];
	below = sqlite3_vfs_find(NULL);
	vfs = *below;
	vfs.zName = "record";
	vfs.szOsFile = (int)sizeof(struct file) + below->szOsFile;
	vfs.xOpen = vfs_open;
	vfs.xDelete = vfs_delete;
	if (sqlite3_vfs_register(&vfs, 1) != SQLITE_OK)
		give_up("no file system for the session");
	wet_text_format(path, sizeof path, "%s/ledger", folder);
	struct wet_ledger *l = open_ledger(path);
	record(ACK, 0, 0, NULL, 0);
	for (int step = 0; step < STORY_STEPS; step++) {
		if (step == REOPEN_AT) {
			wet_ledger_close(l);
			l = open_ledger(path);
		}
		if (story_tell(l, step, NULL) != 0)
			give_up("the session can't be told");
		record(ACK, 0, step + 1, NULL, 0);
	}
	wet_ledger_close(l);
	(void)unlink(path);
	(void)sqlite3_vfs_unregister(&vfs);
	(void)sqlite3_vfs_register(below, 1);
}

/* -- disks as they could be found ------------------------------------------------------- */
struct image {
	unsigned char *bytes;
	size_t n, room;
	bool is_there;
};
static struct image disk[FILES];

static void reserve(struct image *i, size_t n)
{
	if (n > i->room) {
		i->room = n * 2;
		i->bytes = must(realloc(i->bytes, i->room));
	}
	if (n > i->n) {
		memset(i->bytes + i->n, 0, n - i->n);
		i->n = n;
	}
}

static void apply(const struct op *op, size_t n)
{
	struct image *i = &disk[op->file];
	switch (op->what) {
	case MAKE: i->is_there = true; break;
	case WRITE:
		if (n > 0) {
			reserve(i, (size_t)op->at + n);
			memcpy(i->bytes + op->at, op->bytes, n);
		}
		break;
	case TRUNCATE:
		if ((size_t)op->at < i->n)
			i->n = (size_t)op->at;
		break;
	case DELETE:
		i->is_there = false;
		i->n = 0;
		break;
	default: break;
	}
}

static void apply_garbage(const struct op *op, struct wet_random *r)
{
	apply(op, op->n);
	for (size_t k = 0; k < op->n; k++)
		disk[op->file].bytes[(size_t)op->at + k] = (unsigned char)wet_random_next(r);
}

/* variant 0: everything written is there; 1: nothing that was not synced; else each as chance has it. */
static void apply_unsynced(const struct op *op, int variant, struct wet_random *r)
{
	if (variant == 0)
		apply(op, op->n);
	if (variant <= 1)
		return;
	uint64_t fate = wet_random_below(r, 4);
	if (fate == 0)
		return;
	if (fate == 1 && op->what == WRITE)
		apply(op, (size_t)wet_random_below(r, op->n / SECTOR + 1) * SECTOR);
	else if (fate == 2 && op->what == WRITE)
		apply_garbage(op, r);
	else
		apply(op, op->n);
}

/* Returns the steps acknowledged when the power failed after `done` operations. */
static int make_disk(int done, int variant, bool syncs_lie, struct wet_random *r)
{
	int last_sync[FILES], acked = -1;
	for (int i = 0; i < FILES; i++) {
		disk[i].is_there = false;
		disk[i].n = 0;
		last_sync[i] = -1;
	}
	for (int i = 0; i < done; i++) {
		if (ops[i].what == SYNC && !syncs_lie)
			last_sync[ops[i].file] = i;
		if (ops[i].what == ACK)
			acked = (int)ops[i].at;
	}
	for (int i = 0; i < done; i++) {
		if (i < last_sync[ops[i].file] || ops[i].what == MAKE || ops[i].what == DELETE)
			apply(&ops[i], ops[i].n);
		else if (ops[i].what == WRITE || ops[i].what == TRUNCATE)
			apply_unsynced(&ops[i], variant, r);
	}
	for (int i = 0; i < name_count; i++) {
		char path[128];
		wet_text_format(path, sizeof path, "%s/%s", folder, names[i]);
		(void)unlink(path);
		if (!disk[i].is_there)
			continue;
		int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
		if (fd < 0 || (disk[i].n > 0 && write(fd, disk[i].bytes, disk[i].n) != (ssize_t)disk[i].n))
			give_up("a disk can't be made");
		close(fd);
	}
	return acked;
}

struct tally {
	long states, damaged, lost, half;
};

static void inspect(int acked, struct tally *t)
{
	char path[128];
	struct wet_ledger *l = NULL;
	enum story_trace trace;
	bool has_lost = false, has_half = false;
	wet_text_format(path, sizeof path, "%s/ledger", folder);
	t->states++;
	if (wet_ledger_open(&l, path, NULL) != 0 || wet_ledger_check(l, NULL) != 0) {
		t->damaged++;
		wet_ledger_close(l);
		return;
	}
	for (int i = 0; i < STORY_STEPS; i++) {
		if (story_look(l, i, &trace, NULL) != 0)
			trace = STORY_HALF;
		has_half = has_half || trace == STORY_HALF;
		has_lost = has_lost || (trace == STORY_NONE && i < acked);
	}
	t->lost += has_lost;
	t->half += has_half;
	wet_ledger_close(l);
}

static struct tally try_disks(bool syncs_lie, int variants)
{
	struct tally t = { 0 };
	struct wet_random r;
	wet_random_seed(&r, seed);
	for (int done = 1; done <= op_count; done++) {
		for (int variant = 0; variant < variants; variant++)
			inspect(make_disk(done, variant, syncs_lie, &r), &t);
	}
	printf("%-16s %6ld disks: %ld damaged, %ld with a step lost, %ld with a step half there\n",
		   syncs_lie ? "syncs that lie" : "honest syncs", t.states, t.damaged, t.lost, t.half);
	return t;
}

int main(int argc, char **argv)
{
	for (int i = 1; i + 1 < argc; i += 2) {
		if (strcmp(argv[i], "--seed") == 0)
			seed = strtoull(argv[i + 1], NULL, 10);
		else if (strcmp(argv[i], "--states") == 0)
			states = strtol(argv[i + 1], NULL, 10);
	}
	const char *base = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
	wet_text_format(folder, sizeof folder, "%s/wetside-power-XXXXXX", base);
	if (!mkdtemp(folder))
		return 1;
	record_session();
	int variants = (int)(states / op_count) + 1;
	printf("seed %llu, %d operations, %d disks after each\n", (unsigned long long)seed, op_count,
		   variants < 4 ? 4 : variants);
	struct tally honest = try_disks(false, variants < 4 ? 4 : variants), lying = try_disks(true, 4);
	if (honest.damaged || honest.lost || honest.half)
		give_up("the ledger does not survive the loss of power");
	if (!lying.damaged || !lying.lost)
		give_up("a disk that lies was not noticed: this test proves nothing");
	for (int i = 0; i < name_count; i++) {
		char path[128];
		wet_text_format(path, sizeof path, "%s/%s", folder, names[i]);
		(void)unlink(path);
		free(disk[i].bytes);
	}
	for (int i = 0; i < op_count; i++)
		free(ops[i].bytes);
	free(ops);
	(void)rmdir(folder);
	return 0;
}
