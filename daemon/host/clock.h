/* clock.h: the only clocks of the daemon. daemon/clock_os.c for the shipped binary; the tests' wetsided-sim links
 * another object with the same functions, so the shipped one holds no back door. */
#ifndef WET_CLOCK_H
#define WET_CLOCK_H

#include <stdbool.h>
#include <stdint.h>

int64_t wet_clock_boot_ns(void);     /* CLOCK_BOOTTIME: goes on through suspend */
int64_t wet_clock_wall_ms(void);     /* Unix epoch */
const char *wet_clock_boot_id(void); /* 36 characters; static storage */
bool wet_clock_is_wall_trusted(
	void);                      /* a clock that runs over power-off exists, or time was synchronised since */
int wet_clock_timer_open(void); /* a timerfd on CLOCK_BOOTTIME, non-blocking; -1 on failure */
void wet_clock_timer_arm(int fd, int64_t boot_ns); /* absolute; INT64_MAX disarms */

/* Steps of the wall clock, without looking at it from time to time: a descriptor that becomes readable when it was (or
 * may have been) set; -1 on failure. Then rearm, and look at the clocks after it: what happens in between is told again. */
int wet_clock_step_open(void);
void wet_clock_step_rearm(int fd);

#endif
