/* foot_switch.h: foot switches, each read from its own input device (evdev), so that they work with the screen off and no
 * window focused. Inside the host room.
 *
 *   absent -> open and grabbed, so that its presses go nowhere else -> lost -> absent ...
 *
 * Nothing looks from time to time while no run is live: the folder of the device is watched (inotify), and while a run is
 * live it is tried every ten seconds besides. What is wrong is told once, to the log and to every live run it may concern.
 *
 * A press is the event EV_KEY with value 1 (linux/input.h). Value 2, the kernel's autorepeat, is none.
 *
 * In place of the device a named pipe of the same events is taken, for tests and for hardware that a program of one's own
 * reads. It is a stream of `struct input_event` of this machine (24 bytes on 64 bits); what is no such event is told. */
#ifndef WET_FOOT_SWITCH_H
#define WET_FOOT_SWITCH_H

#include "darkroom/inputs.h"

struct wet_host;
struct switches;

/* Needs the loop and the darkroom; NULL: none are configured, or no memory. */
struct switches *switches_open(struct wet_host *host);
void switches_stop(struct switches *switches); /* before the loop ends */
void switches_free(struct switches *switches); /* after it. NULL is fine, here and above */

/* At the end of each turn: what has come, gone or changed. */
void switches_turn(struct switches *switches, int64_t now_ns);
int64_t switches_wake_ns(const struct switches *switches);
/* The darkroom's port; ctx is the host. */
const struct wet_switch_state *switches_state(void *ctx, int *ret_count);

#endif
