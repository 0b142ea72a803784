/* The noticing of a wall clock that is set, on the kernel as it is (timerfd_create(2), TFD_TIMER_CANCEL_ON_SET): the clock is
 * set by one nanosecond, and back, which nobody else can notice. Needs the right to set it. */
#include "clock_os.c"

#include <criterion/criterion.h>
#include <errno.h>
#include <poll.h>

static bool is_told(int fd)
{
	struct pollfd p = { .fd = fd, .events = POLLIN };
	return poll(&p, 1, 0) == 1 && (p.revents & POLLIN);
}

/* adjtimex(2), ADJ_SETOFFSET: adds to the clock. False: not allowed here. */
static bool set_by_ns(int ns)
{
	struct timex t;
	memset(&t, 0, sizeof t);
	t.modes = ADJ_SETOFFSET | ADJ_NANO;
	t.time.tv_sec = ns < 0 ? -1 : 0; /* the fraction is never below zero */
	t.time.tv_usec = ns < 0 ? 1000000000 + ns : ns;
	if (adjtimex(&t) >= 0)
		return true;
	cr_assert_eq(errno, EPERM);
	return false;
}

Test(clock_os, a_clock_that_is_set_is_told_and_told_again)
{
	int fd = wet_clock_step_open();
	cr_assert_geq(fd, 0);
	cr_assert(!is_told(fd), "nobody has set it");
	if (set_by_ns(1)) {
		cr_assert(is_told(fd));
		wet_clock_step_rearm(fd);
		cr_assert(!is_told(fd), "told once");
		cr_assert(set_by_ns(-1));
		cr_assert(is_told(fd), "armed again");
		/* Set once more before it is armed again: the caller looks at the clocks after that, and sees both. */
		cr_assert(set_by_ns(1) && set_by_ns(-1));
		wet_clock_step_rearm(fd);
		cr_assert(!is_told(fd));
		cr_assert(set_by_ns(1) && set_by_ns(-1));
	} else {
		cr_log_warn("SKIP: this user may not set the clock");
	}
	close(fd);
}
