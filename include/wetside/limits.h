/* limits.h: one limit on everything, each with its reason.
 *
 * Depends on nothing. Values are part of the public contract: the wire limits are
 * enforced by the daemon and tested; the capacities size the fixed structs of the
 * pure core (which calls no allocator). */
#ifndef WETSIDE_LIMITS_H
#define WETSIDE_LIMITS_H

#include <assert.h>

/* -- text ----------------------------------------------------------------- */
#define WET_NAME_BYTES 64  /* names of recipes, stages, baths, vessels, runs; with the NUL */
#define WET_LINE_BYTES 192 /* one spoken or printed sentence; with the NUL */
#define WET_TOKEN_BYTES 40 /* a client's token for one act (a UUID is 36 characters) */

/* -- recipes -------------------------------------------------------------- */
#define WET_RECIPE_STAGES 64               /* the longest published toning sequence has under 30 */
#define WET_RECIPE_BATHS 16                /* bottles one person can tell apart by bands */
#define WET_RECIPE_FILE_BYTES (256 * 1024) /* a complete recipe is under 20 KiB */
#define WET_LAW_ROWS 16                    /* rows of a published time-temperature table */
#define WET_PIECES 64                      /* pieces in one load */

/* -- runs ----------------------------------------------------------------- */
#define WET_RUN_BYTES 4096          /* a run's folded state */
#define WET_RUNS 16384              /* live runs; the bench holds 10,000 */
#define WET_RUN_EVENTS 4096         /* acts and readings of one run; a long wash has under 100 */
#define WET_TRACK_POINTS 8          /* readings kept apart for the live stage; older ones are folded */
#define WET_FIT_BINS 10             /* what the readings of a live bath are thinned to for the fit of how it cools */
#define WET_UNDO_DEPTH 4            /* acts of the live stage that undo can take back */
#define WET_RATE_MILLI_MAX 1000000  /* rehearsal at most 1,000 times faster */
#define WET_GUARD_NS 2000000000LL   /* a go so soon after an accepted go is a bounce (design rule) */
#define WET_GAP_NS 2000000000LL     /* a process that stood still longer was not heard (design rule) */
/* A wall clock that moved less against boot time since the last event did not step: a leap second is one second, time
 * services correct by less, and an elapsed time that is off by this is within what a standstill (above) may be. */
#define WET_STEP_NS 2000000000LL
#define WET_REPEAT_NS 30000000000LL /* a doubted reading must be repeated within this (design rule) */
#define WET_STAGE_NS_MAX (24LL * 3600 * 1000000000LL) /* no stage is longer than a day */

/* -- the wire ------------------------------------------------------------- */
#define WET_CLIENTS 2048                /* connections at once */
#define WET_REQUEST_BYTES (64 * 1024)   /* one line from a client; the largest real request is under 4 KiB */
#define WET_REPLY_BYTES (96 * 1024)     /* one line to a client; lists are paged below it */
#define WET_JSON_DEPTH 16               /* nesting of a request */
#define WET_BATCH 8                     /* requests in one batch */
#define WET_OUT_SOFT_BYTES (64 * 1024)  /* a client that keeps more waiting ... */
#define WET_OUT_SOFT_NS 5000000000LL    /* ... for this long is closed */
#define WET_OUT_HARD_BYTES (192 * 1024) /* a client that keeps more waiting is closed at once */
#define WET_TURN_REQUESTS 4             /* requests served for one client in one turn of the loop */
#define WET_TURN_BYTES (16 * 1024)      /* bytes written to one client in one turn of the loop */
#define WET_DRIP_NS 10000000000LL       /* a line once begun must be complete within this */
#define WET_GOODBYE_NS 2000000000LL     /* bounded wait for the last bytes at the end */
#define WET_SOCKET_PATH_BYTES 108       /* sun_path of Linux, with the NUL */
#define WET_PAGE 50                     /* entries of one page of a list */

static_assert(WET_OUT_HARD_BYTES > WET_OUT_SOFT_BYTES + WET_REPLY_BYTES,
			  "one reply on top of a full soft limit must not cross the hard one");
static_assert(WET_REPLY_BYTES > WET_REQUEST_BYTES, "an answer may repeat the value that was asked");

#endif
