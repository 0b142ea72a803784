/* watchdog.c: a service manager restarts a daemon that stands still while a run is live. With no run live nothing is
 * asked of it, so that an idle daemon is never woken. sd_notify(3): WATCHDOG_USEC= sets the span, WATCHDOG=1 is the sign of
 * life; a span of 0 means none. */
#include "host/inside.h"

#include <stdlib.h>

#define SPAN_NS 20000000000LL /* far over the longest turn, far under a bath */

int64_t watchdog_serve(struct wet_host *host, int64_t now_ns)
{
	bool is_wanted = wet_darkroom_count(host->darkroom) > 0 && getenv("NOTIFY_SOCKET") != NULL;
	if (is_wanted != host->has_watchdog) {
		host->has_watchdog = is_wanted;
		notify_manager(is_wanted ? "WATCHDOG_USEC=20000000\nWATCHDOG=1" : "WATCHDOG_USEC=0");
		host->watchdog_ns = now_ns + SPAN_NS / 2;
	} else if (is_wanted && now_ns >= host->watchdog_ns) {
		notify_manager("WATCHDOG=1");
		host->watchdog_ns = now_ns + SPAN_NS / 2;
	}
	return is_wanted ? host->watchdog_ns : INT64_MAX;
}
