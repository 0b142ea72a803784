/* vfs_fault.h: SQLite on a disk, and in a memory, that fail on demand. Becomes the default file system of SQLite, over the
 * real one; no shared memory is offered, so a WAL ledger works only with an exclusive lock. Syncs are counted, not
 * done: these tests end processes, not machines. */
#ifndef WET_VFS_FAULT_H
#define WET_VFS_FAULT_H

#include <stdbool.h>

enum vfs_op {
	VFS_OPEN = 1 << 0,
	VFS_READ = 1 << 1,
	VFS_WRITE = 1 << 2,
	VFS_SYNC = 1 << 3,
	VFS_TRUNCATE = 1 << 4,
	VFS_DELETE = 1 << 5,
	VFS_ALLOC = 1 << 6
};

struct vfs_fault {
	unsigned ops;     /* enum vfs_op: which are counted */
	long nth;         /* the first to fail, from 1 */
	int rc;           /* what it answers (SQLITE_IOERR_WRITE, SQLITE_FULL); allocations give NULL */
	bool is_for_ever; /* all after it too */
	bool is_torn;     /* a failing write leaves its first half behind */
};

/* Before any other use of SQLite in the process. */
void vfs_fault_install(void);
void vfs_fault_arm(const struct vfs_fault *fault);
/* How many failed since arm. */
long vfs_fault_disarm(void);

#endif
