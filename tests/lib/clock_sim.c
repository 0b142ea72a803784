/* clock_sim.c: the clocks of wetsided-sim, for end-to-end tests of reboots and of a stepped wall clock. Not shipped.
 *
 *   WET_SIM_BOOT_ID          another boot
 *   WET_SIM_BOOT_SHIFT_MS    added to boot time
 *   WET_SIM_WALL_FILE        a file holding milliseconds added to wall time, read at each look; replaced (renamed
 *                            over, so that it is never seen half-written) it is a step of the wall clock, told at once
 *   WET_SIM_WALL_UNTRUSTED   1: no clock over power-off
 *   WET_SIM_BOOT_FILE        time stands still: boot time is the nanoseconds in this file's first eight bytes, as they are
 *                            in memory, which a test maps and writes; wall time goes with it
 *   WET_SIM_TIMER_PIPE       with it: the timer is this named pipe; eight bytes into it are a timer that has fired
 */
#include "host/clock.h"

#include <fcntl.h>
#include <libgen.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/inotify.h>
#include <sys/mman.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

static int64_t shift_ns(void)
{
	const char *text = getenv("WET_SIM_BOOT_SHIFT_MS");
	return text ? strtoll(text, NULL, 10) * 1000000 : 0;
}

/* NULL: time goes by itself. */
static const int64_t *boot_file(void)
{
	static const int64_t *mapped;
	const char *path = getenv("WET_SIM_BOOT_FILE");
	if (mapped || !path)
		return mapped;
	int fd = open(path, O_RDONLY | O_CLOEXEC);
	void *at = fd >= 0 ? mmap(NULL, sizeof *mapped, PROT_READ, MAP_SHARED, fd, 0) : MAP_FAILED;
	if (fd >= 0)
		close(fd);
	if (at == MAP_FAILED)
		abort();
	mapped = at;
	return mapped;
}

static int64_t read_clock(clockid_t id)
{
	if (boot_file())
		return *(const volatile int64_t *)boot_file() + (id == CLOCK_REALTIME ? 1790000000000000000LL : 0);
	struct timespec t;
	clock_gettime(id, &t);
	return (int64_t)t.tv_sec * 1000000000LL + t.tv_nsec;
}

int64_t wet_clock_boot_ns(void)
{
	return read_clock(CLOCK_BOOTTIME) + shift_ns();
}

int64_t wet_clock_wall_ms(void)
{
	int64_t ms = read_clock(CLOCK_REALTIME) / 1000000;
	const char *path = getenv("WET_SIM_WALL_FILE");
	char text[32] = "";
	int fd = path ? open(path, O_RDONLY | O_CLOEXEC) : -1;
	if (fd >= 0) {
		if (read(fd, text, sizeof text - 1) > 0)
			ms += strtoll(text, NULL, 10);
		close(fd);
	}
	return ms;
}

const char *wet_clock_boot_id(void)
{
	const char *id = getenv("WET_SIM_BOOT_ID");
	return id && strlen(id) == 36 ? id : "5ea5ea00-0000-4000-8000-000000000001";
}

bool wet_clock_is_wall_trusted(void)
{
	return !getenv("WET_SIM_WALL_UNTRUSTED");
}

int wet_clock_timer_open(void)
{
	if (boot_file() && getenv("WET_SIM_TIMER_PIPE"))
		return open(getenv("WET_SIM_TIMER_PIPE"), O_RDWR | O_NONBLOCK | O_CLOEXEC);
	return timerfd_create(CLOCK_BOOTTIME, TFD_NONBLOCK | TFD_CLOEXEC);
}

void wet_clock_timer_arm(int fd, int64_t boot_ns)
{
	struct itimerspec it;
	if (boot_file())
		return;
	memset(&it, 0, sizeof it);
	if (boot_ns != INT64_MAX) {
		boot_ns -= shift_ns();
		if (boot_ns < 1)
			boot_ns = 1;
		it.it_value.tv_sec = boot_ns / 1000000000LL;
		it.it_value.tv_nsec = boot_ns % 1000000000LL;
	}
	(void)timerfd_settime(fd, TFD_TIMER_ABSTIME, &it, NULL);
}

/* The folder is watched, not the file: that is another one after a rename. Without a file nothing ever steps. */
int wet_clock_step_open(void)
{
	const char *path = getenv("WET_SIM_WALL_FILE");
	char folder[PATH_MAX];
	if (!path)
		return eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
	snprintf(folder, sizeof folder, "%s", path);
	int fd = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
	if (fd >= 0)
		(void)inotify_add_watch(fd, dirname(folder), IN_MOVED_TO);
	return fd;
}

void wet_clock_step_rearm(int fd)
{
	char told[4096];
	while (read(fd, told, sizeof told) > 0)
		;
}
