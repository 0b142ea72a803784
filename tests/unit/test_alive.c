/* test_alive.c: the mark of life tells when the process before was last alive, and never costs the process its own. */
#include "ledger/alive.h"

#include "base/text.h"

#include <criterion/criterion.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define BOOT_A "0f0e0d0c-0b0a-4908-8706-050403020100"
#define BOOT_B "1f1e1d1c-1b1a-4918-9716-151413121110"

static char folder[64], path[96];

static void make_folder(void)
{
	wet_text_copy(folder, sizeof folder, "/tmp/wetside-alive-XXXXXX");
	cr_assert_not_null(mkdtemp(folder));
	wet_text_format(path, sizeof path, "%s/alive", folder);
}

static void remove_folder(void)
{
	(void)unlink(path);
	(void)rmdir(folder);
}

TestSuite(alive, .init = make_folder, .fini = remove_folder);

static struct wet_alive *open_alive(const char *boot_id, int64_t *ret_boot_ns, char ret_id[37])
{
	struct wet_alive *alive = NULL;
	cr_assert_eq(wet_alive_open(&alive, path, boot_id, NULL), WET_OK);
	wet_alive_previous(alive, ret_boot_ns, ret_id);
	return alive;
}

Test(alive, a_new_file_tells_nothing_and_holds_every_byte)
{
	int64_t ns = -1;
	char id[37] = "x";
	struct stat st;
	struct wet_alive *alive = open_alive(BOOT_A, &ns, id);
	cr_assert(wet_alive_is_kept(alive));
	cr_assert_eq(ns, 0);
	cr_assert_str_eq(id, "");
	cr_assert_eq(stat(path, &st), 0);
	cr_assert_eq(st.st_size, 4096);
	cr_assert_geq(st.st_blocks * 512, 4096, "no hole");
	wet_alive_close(alive);
	wet_alive_close(NULL);
}

Test(alive, the_mark_survives_a_kill)
{
	int64_t ns = 0;
	char id[37];
	int status = 0;
	pid_t child = fork();
	cr_assert_geq(child, 0);
	if (child == 0) {
		struct wet_alive *alive = NULL;
		if (wet_alive_open(&alive, path, BOOT_A, NULL) != WET_OK)
			_exit(1);
		atomic_store(wet_alive_mark(alive), 987654321098);
		(void)raise(SIGKILL);
	}
	cr_assert_eq(waitpid(child, &status, 0), child);
	cr_assert(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
	struct wet_alive *alive = open_alive(BOOT_B, &ns, id);
	cr_assert_eq(ns, 987654321098);
	cr_assert_str_eq(id, BOOT_A);
	wet_alive_close(alive);
}

Test(alive, dying_before_the_first_mark_forgets_nothing_of_the_same_boot)
{
	int64_t ns = 0;
	char id[37];
	struct wet_alive *alive = open_alive(BOOT_A, &ns, id);
	atomic_store(wet_alive_mark(alive), 5000);
	wet_alive_close(alive);
	wet_alive_close(open_alive(BOOT_A, &ns, id)); /* never marked */
	alive = open_alive(BOOT_A, &ns, id);
	cr_assert_eq(ns, 5000);
	wet_alive_close(alive);
	wet_alive_close(open_alive(BOOT_B, &ns, id)); /* the old time means nothing on the new axis */
	alive = open_alive(BOOT_B, &ns, id);
	cr_assert_eq(ns, 0);
	cr_assert_str_eq(id, "");
	wet_alive_close(alive);
}

Test(alive, a_torn_or_strange_file_tells_nothing_and_is_made_anew)
{
	static const size_t sizes[] = { 1, 24, 4095, 4096 };
	char bytes[4096], id[37];
	memset(bytes, 0x5a, sizeof bytes);
	for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
		int64_t ns = -1;
		int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
		cr_assert_eq(write(fd, bytes, sizes[i]), (ssize_t)sizes[i]);
		close(fd);
		struct wet_alive *alive = open_alive(BOOT_A, &ns, id);
		cr_assert(wet_alive_is_kept(alive));
		cr_assert_eq(ns, 0);
		atomic_store(wet_alive_mark(alive), 42);
		wet_alive_close(alive);
		wet_alive_close(open_alive(BOOT_A, &ns, id));
		cr_assert_eq(ns, 42);
	}
}

Test(alive, without_a_file_it_is_plain_memory)
{
	int64_t ns = -1;
	char id[37];
	wet_text_format(path, sizeof path, "%s/none/alive", folder);
	struct wet_alive *alive = open_alive(BOOT_A, &ns, id);
	cr_assert_not(wet_alive_is_kept(alive));
	cr_assert_eq(ns, 0);
	atomic_store(wet_alive_mark(alive), 42);
	cr_assert_eq(atomic_load(wet_alive_mark(alive)), 42);
	wet_alive_close(alive);
}

/* A limit on the size of files stands for the full disk: the write fails in the same place. */
Test(alive, on_a_full_disk_it_is_plain_memory)
{
	int64_t ns = -1;
	char id[37];
	struct rlimit old, small;
	cr_assert_eq(getrlimit(RLIMIT_FSIZE, &old), 0);
	small = old;
	small.rlim_cur = 1024;
	(void)signal(SIGXFSZ, SIG_IGN);
	cr_assert_eq(setrlimit(RLIMIT_FSIZE, &small), 0);
	struct wet_alive *alive = open_alive(BOOT_A, &ns, id);
	cr_assert_eq(setrlimit(RLIMIT_FSIZE, &old), 0);
	cr_assert_not(wet_alive_is_kept(alive));
	atomic_store(wet_alive_mark(alive), 42);
	cr_assert_eq(atomic_load(wet_alive_mark(alive)), 42);
	wet_alive_close(alive);
}

Test(alive, a_longer_file_is_somebody_elses)
{
	int64_t ns = -1;
	char id[37], bytes[5000];
	struct stat st;
	memset(bytes, 'a', sizeof bytes);
	int fd = open(path, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
	cr_assert_eq(write(fd, bytes, sizeof bytes), (ssize_t)sizeof bytes);
	close(fd);
	struct wet_alive *alive = open_alive(BOOT_A, &ns, id);
	cr_assert_not(wet_alive_is_kept(alive));
	wet_alive_close(alive);
	cr_assert_eq(stat(path, &st), 0);
	cr_assert_eq(st.st_size, (off_t)sizeof bytes);
}

/* The same happens on a disk that turns read-only or fails: the store is answered with SIGBUS. */
Test(alive, a_page_that_goes_away_does_not_end_the_process)
{
	int64_t ns = -1;
	char id[37];
	struct wet_alive *alive = open_alive(BOOT_A, &ns, id);
	atomic_store(wet_alive_mark(alive), 41);
	cr_assert_eq(truncate(path, 0), 0);
	atomic_store(wet_alive_mark(alive), 42);
	cr_assert_eq(atomic_load(wet_alive_mark(alive)), 42);
	cr_assert_not(wet_alive_is_kept(alive), "and it is told");
	wet_alive_close(alive);
	alive = open_alive(BOOT_A, &ns, id);
	cr_assert(wet_alive_is_kept(alive));
	cr_assert_eq(ns, 0);
	wet_alive_close(alive);
}

/* A fault that is not the mark's still ends the process as before. */
Test(alive, a_fault_elsewhere_is_not_swallowed)
{
	int status = 0;
	char other[128];
	wet_text_format(other, sizeof other, "%s/other", folder);
	pid_t child = fork();
	cr_assert_geq(child, 0);
	if (child == 0) {
		struct wet_alive *alive = NULL;
		(void)signal(SIGBUS, SIG_DFL); /* a sanitizer's own handler would end it in another way */
		int fd = open(other, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
		if (wet_alive_open(&alive, path, BOOT_A, NULL) != WET_OK || ftruncate(fd, 4096) != 0)
			_exit(1);
		volatile char *map = mmap(NULL, 4096, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
		if (ftruncate(fd, 0) != 0)
			_exit(1);
		map[0] = 1;
		_exit(2);
	}
	cr_assert_eq(waitpid(child, &status, 0), child);
	(void)unlink(other);
	cr_assert(WIFSIGNALED(status) && WTERMSIG(status) == SIGBUS, "status %d", status);
}

Test(alive, a_second_mark_of_the_same_process_is_plain_memory)
{
	int64_t ns = -1;
	char id[37];
	struct wet_alive *first = open_alive(BOOT_A, &ns, id), *second = open_alive(BOOT_A, &ns, id);
	cr_assert(wet_alive_is_kept(first));
	cr_assert_not(wet_alive_is_kept(second));
	wet_alive_close(second);
	wet_alive_close(first);
}
