/* child.c: become another program, bounded. */
#include "speech/child.h"

#include <linux/close_range.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

#define MEMORY_BYTES (512UL << 20)
#define FILE_BYTES (64UL << 20)

_Noreturn void wet_child_become(char *const argv[], int parent)
{
	struct rlimit memory = { MEMORY_BYTES, MEMORY_BYTES }, cpu = { WET_CHILD_SECONDS, WET_CHILD_SECONDS }, none = { 0, 0 };
	struct rlimit file = { FILE_BYTES, FILE_BYTES };
	/* Killed with the daemon; and if that died before this line, nobody waits for the words. */
	if (prctl(PR_SET_PDEATHSIG, SIGKILL) != 0 || getppid() != parent)
		_exit(1);
	(void)prctl(PR_SET_NO_NEW_PRIVS, 1UL, 0UL, 0UL, 0UL);
	(void)alarm(WET_CHILD_SECONDS); /* it outlasts the change of program */
	(void)setrlimit(RLIMIT_AS, &memory);
	(void)setrlimit(RLIMIT_CPU, &cpu);
	(void)setrlimit(RLIMIT_FSIZE, &file); /* it writes a pipe; a sound library that it links may make a small file */
	(void)setrlimit(RLIMIT_CORE, &none);
	(void)syscall(SYS_close_range, 3U, ~0U, 0U);
	(void)execvp(argv[0], argv);
	_exit(WET_CHILD_MISSING);
}
