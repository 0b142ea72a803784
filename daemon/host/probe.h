/* probe.h: probes, files that hold millidegrees: read only while a run needs them, each on a thread of its own, which ends with
 * the read. One that hangs holds up itself alone, not the loop, not libuv's few threads, not the end of the daemon; it is
 * told, and asked again when it has come back. Inside the host room. */
#ifndef WET_PROBE_HOST_H
#define WET_PROBE_HOST_H

#include "darkroom/inputs.h"

struct wet_host;
struct probes;

/* Needs the darkroom; NULL: none are configured, or no memory. */
struct probes *probes_open(struct wet_host *host);
/* Before the loop ends. NULL is fine. */
void probes_free(struct probes *probes);

/* At the end of each turn: what was read, and what is to be read now. */
void probes_turn(struct probes *probes, int64_t now_ns);
int64_t probes_wake_ns(const struct probes *probes);
/* The darkroom's port; ctx is the host. */
const struct wet_probe_state *probes_state(void *ctx, int *ret_count);

#endif
