/* alive.c: see alive.h. */
#include "ledger/alive.h"

#include "base/text.h"

#include <assert.h>
#include <fcntl.h>
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
	bool is_kept;
	int64_t previous_ns;
	char previous_id[37];
	struct page own;
};

static struct page *map_file(struct wet_alive *a, const char *path)
{
	struct stat st;
	int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
	void *map = MAP_FAILED;
	if (fd < 0)
		return NULL;
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
	a->is_kept = a->page != NULL;
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
	if (a && a->is_kept)
		munmap(a->page, PAGE_BYTES);
	free(a);
}

bool wet_alive_is_kept(const struct wet_alive *a)
{
	return a->is_kept;
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
