/* clock_os.c: the clocks as they are. */
#include "host/clock.h"

#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/timerfd.h>
#include <sys/timex.h>
#include <time.h>
#include <unistd.h>

static int64_t read_clock(clockid_t id)
{
	struct timespec t;
	clock_gettime(id, &t);
	return (int64_t)t.tv_sec * 1000000000LL + t.tv_nsec;
}

int64_t wet_clock_boot_ns(void)
{
	return read_clock(CLOCK_BOOTTIME);
}

int64_t wet_clock_wall_ms(void)
{
	return read_clock(CLOCK_REALTIME) / 1000000;
}

const char *wet_clock_boot_id(void)
{
	static char id[37];
	if (id[0] == '\0') {
		int fd = open("/proc/sys/kernel/random/boot_id", O_RDONLY | O_CLOEXEC);
		ssize_t n = fd >= 0 ? read(fd, id, 36) : -1;
		if (fd >= 0)
			close(fd);
		if (n != 36)
			memcpy(id, "00000000-0000-0000-0000-000000000000", 37);
		id[36] = '\0';
	}
	return id;
}

bool wet_clock_is_wall_trusted(void)
{
	struct timex t;
	memset(&t, 0, sizeof t);
	bool is_synced = adjtimex(&t) >= 0 && !(t.status & STA_UNSYNC);
	return is_synced || access("/dev/rtc0", F_OK) == 0;
}

int wet_clock_timer_open(void)
{
	return timerfd_create(CLOCK_BOOTTIME, TFD_NONBLOCK | TFD_CLOEXEC);
}

void wet_clock_timer_arm(int fd, int64_t boot_ns)
{
	struct itimerspec it;
	memset(&it, 0, sizeof it);
	if (boot_ns != INT64_MAX) {
		if (boot_ns < 1)
			boot_ns = 1;
		it.it_value.tv_sec = boot_ns / 1000000000LL;
		it.it_value.tv_nsec = boot_ns % 1000000000LL;
	}
	(void)timerfd_settime(fd, TFD_TIMER_ABSTIME, &it, NULL);
}

/* A timer that never comes due: setting the wall clock cancels it. Waking up from a suspend does so too, because the wall
 * clock went on without the kernel's own; boot time went on with it, so that is no step. */
static void arm_step(int fd)
{
	struct itimerspec it;
	memset(&it, 0, sizeof it);
	it.it_value.tv_sec = INT64_MAX / 1000000000LL;
	/* ECANCELED: set between the two calls; armed all the same, and the caller looks at the clocks now. */
	(void)timerfd_settime(fd, TFD_TIMER_ABSTIME | TFD_TIMER_CANCEL_ON_SET, &it, NULL);
}

int wet_clock_step_open(void)
{
	int fd = timerfd_create(CLOCK_REALTIME, TFD_NONBLOCK | TFD_CLOEXEC);
	if (fd >= 0)
		arm_step(fd);
	return fd;
}

void wet_clock_step_rearm(int fd)
{
	arm_step(fd); /* forgets that it was cancelled; there is nothing to be read */
}
