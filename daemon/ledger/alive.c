/* alive.c: see alive.h. */
#include "ledger/alive.h"

#include "base/text.h"

#include <assert.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#define PAGE_BYTES 4096
#define MAGIC 0x77657461u

struct page {
	uint32_t magic, version;
	_Atomic int64_t boot_ns;
	char boot_id[40];
};

static_assert(sizeof(struct page) <= PAGE_BYTES, "it fits");
static_assert(ATOMIC_LLONG_LOCK_FREE == 2, "a lock would not live in the file");

struct wet_alive {
	struct page *page;
	bool is_mapped;
	int64_t previous_ns;
	char previous_id[37];
	struct page own;
};

/* -- a page that went away ------------------------------------------------------- */
/* The file can be cut short by another program, and a disk that fails or turns read-only answers a store with SIGBUS.
 * A mark of life must not end the life: the page becomes plain memory, and the store is done again. */
static _Atomic(uintptr_t) guarded; /* the page; 0: none. One a process */
static atomic_bool is_lost;
static struct sigaction before;

static void on_sigbus(int number, siginfo_t *info, void *context)
{
	uintptr_t page = atomic_load(&guarded), at = (uintptr_t)info->si_addr;
	(void)context;
	if (page && at >= page && at < page + PAGE_BYTES) {
		void *map = mmap((void *)page, PAGE_BYTES, PROT_READ | PROT_WRITE,
						 MAP_PRIVATE | MAP_ANONYMOUS | MAP_FIXED, -1, 0); /* one system call: safe here */
		if (map != MAP_FAILED) {
			atomic_store(&is_lost, true);
			return;
		}
	}
	(void)sigaction(number, &before, NULL); /* not ours: it happens again, to whoever had it before */
}

static void guard(struct page *page)
{
	struct sigaction action;
	memset(&action, 0, sizeof action);
	action.sa_sigaction = on_sigbus;
	action.sa_flags = SA_SIGINFO;
	sigemptyset(&action.sa_mask);
	atomic_store(&is_lost, false);
	atomic_store(&guarded, (uintptr_t)page);
	(void)sigaction(SIGBUS, &action, &before);
}

static void unguard(void)
{
	atomic_store(&guarded, (uintptr_t)0);
	(void)sigaction(SIGBUS, &before, NULL);
}

static struct page *map_file(struct wet_alive *a, const char *path)
{
	struct stat st;
	int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
	void *map = MAP_FAILED;
	if (fd < 0 || atomic_load(&guarded)) {
		if (fd >= 0)
			close(fd);
		return NULL;
	}
	/* What was there is written again as well: a hole would be a SIGBUS on a full disk. A longer file is not ours. */
	char bytes[PAGE_BYTES] = { 0 };
	bool is_ready = fstat(fd, &st) == 0 && S_ISREG(st.st_mode) && st.st_size <= PAGE_BYTES &&
					pread(fd, bytes, sizeof bytes, 0) == st.st_size &&
					pwrite(fd, bytes, sizeof bytes, 0) == PAGE_BYTES && fsync(fd) == 0;
	if (is_ready)
		map = mmap(NULL, PAGE_BYTES, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
	close(fd);
	if (map == MAP_FAILED)
		return NULL;
	struct page *page = map;
	guard(page);
	int64_t boot_ns = atomic_load(&page->boot_ns);
	if (page->magic == MAGIC && page->version == 1 && boot_ns > 0 && strnlen(page->boot_id, 37) == 36) {
		a->previous_ns = boot_ns;
		wet_text_clean(a->previous_id, sizeof a->previous_id, page->boot_id);
	}
	return page;
}

int wet_alive_open(struct wet_alive **ret_alive, const char *path, const char *boot_id,
				   struct wet_fault *reterr)
{
	struct wet_alive *a = calloc(1, sizeof *a);
	if (!a)
		return wet_fault_set(reterr, WET_ERR_NOMEM, path, NULL, "more memory");
	a->page = map_file(a, path);
	a->is_mapped = a->page != NULL;
	if (!a->page)
		a->page = &a->own;
	/* Of the same boot the old mark stays true until the first new one: dying in between forgets nothing. */
	if (strcmp(a->previous_id, boot_id) != 0)
		atomic_store(&a->page->boot_ns, 0);
	wet_text_copy(a->page->boot_id, sizeof a->page->boot_id, boot_id);
	a->page->version = 1;
	a->page->magic = MAGIC;
	*ret_alive = a;
	return WET_OK;
}

void wet_alive_close(struct wet_alive *a)
{
	if (a && a->is_mapped) {
		unguard();
		munmap(a->page, PAGE_BYTES);
	}
	free(a);
}

bool wet_alive_is_kept(const struct wet_alive *a)
{
	return a->is_mapped && !atomic_load(&is_lost);
}

void wet_alive_previous(const struct wet_alive *a, int64_t *ret_boot_ns, char ret_boot_id[37])
{
	*ret_boot_ns = a->previous_ns;
	memcpy(ret_boot_id, a->previous_id, 37);
}

_Atomic int64_t *wet_alive_mark(struct wet_alive *a)
{
	return &a->page->boot_ns;
}
