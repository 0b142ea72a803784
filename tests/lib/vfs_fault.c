/* vfs_fault.c: see vfs_fault.h. */
#include "vfs_fault.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct file {
	sqlite3_file base;
	sqlite3_file *real; /* lies behind */
};

static sqlite3_vfs *below, vfs;
static sqlite3_mem_methods memory;
static struct vfs_fault now;
static long seen, failed;

static bool fails(unsigned op)
{
	if (!(now.ops & op))
		return false;
	seen++;
	bool is_hit = now.is_for_ever ? seen >= now.nth : seen == now.nth;
	failed += is_hit;
	return is_hit;
}

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
	return fails(VFS_READ) ? SQLITE_IOERR_READ : real_of(f)->pMethods->xRead(real_of(f), bytes, n, at);
}

static int file_write(sqlite3_file *f, const void *bytes, int n, sqlite3_int64 at)
{
	if (!fails(VFS_WRITE))
		return real_of(f)->pMethods->xWrite(real_of(f), bytes, n, at);
	if (now.is_torn && n > 1)
		(void)real_of(f)->pMethods->xWrite(real_of(f), bytes, n / 2, at);
	return now.rc;
}

static int file_truncate(sqlite3_file *f, sqlite3_int64 size)
{
	return fails(VFS_TRUNCATE) ? SQLITE_IOERR_TRUNCATE : real_of(f)->pMethods->xTruncate(real_of(f), size);
}

static int file_sync(sqlite3_file *f, int flags)
{
	(void)f;
	(void)flags;
	return fails(VFS_SYNC) ? SQLITE_IOERR_FSYNC : SQLITE_OK;
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

/* Version 1: no shared memory, no mapping. */
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
	f->pMethods = NULL;
	if (fails(VFS_OPEN))
		return SQLITE_CANTOPEN;
	file->real = (sqlite3_file *)(file + 1);
	memset(file->real, 0, (size_t)below->szOsFile);
	int rc = below->xOpen(below, name, file->real, flags, ret_flags);
	if (rc == SQLITE_OK)
		f->pMethods = &methods;
	return rc;
}

static int vfs_delete(sqlite3_vfs *v, const char *name, int sync_folder)
{
	(void)v;
	(void)sync_folder;
	return fails(VFS_DELETE) ? SQLITE_IOERR_DELETE : below->xDelete(below, name, 0);
}

static void *memory_get(int n)
{
	return fails(VFS_ALLOC) ? NULL : memory.xMalloc(n);
}

static void *memory_resize(void *old, int n)
{
	return fails(VFS_ALLOC) ? NULL : memory.xRealloc(old, n);
}

static void must(int rc, const char *what)
{
	if (rc != SQLITE_OK) {
		printf("broken: %s answered %d\n", what, rc);
		exit(1);
	}
}

void vfs_fault_install(void)
{
	sqlite3_mem_methods failing;
	must(sqlite3_config(SQLITE_CONFIG_LOOKASIDE, 0, 0), "SQLITE_CONFIG_LOOKASIDE");
	must(sqlite3_config(SQLITE_CONFIG_GETMALLOC, &memory), "SQLITE_CONFIG_GETMALLOC");
	failing = memory;
	failing.xMalloc = memory_get;
	failing.xRealloc = memory_resize;
	must(sqlite3_config(SQLITE_CONFIG_MALLOC, &failing), "SQLITE_CONFIG_MALLOC");
	must(sqlite3_initialize(), "sqlite3_initialize");
	below = sqlite3_vfs_find(NULL);
	vfs = *below;
	vfs.zName = "fault";
	vfs.szOsFile = (int)sizeof(struct file) + below->szOsFile;
	vfs.xOpen = vfs_open;
	vfs.xDelete = vfs_delete;
	must(sqlite3_vfs_register(&vfs, 1), "sqlite3_vfs_register");
}

void vfs_fault_arm(const struct vfs_fault *fault)
{
	now = *fault;
	seen = failed = 0;
}

long vfs_fault_disarm(void)
{
	now.ops = 0;
	return failed;
}
