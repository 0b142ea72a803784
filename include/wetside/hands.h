/* hands.h: when a run needs the hands of whoever runs it, and how much later another one would have to begin, so that they never
 * need them at once. PURE.
 *
 * Only what the clock asks for counts: pouring in and out at a boundary, and turning. Loading in the dark, and a bath that waits
 * for a press, wait for free hands; so does tray rocking, which is continuous. */
#ifndef WETSIDE_HANDS_H
#define WETSIDE_HANDS_H

#include "wetside/run.h"

#define WET_HANDS 512                      /* stretches of one list; a session of two hours has under two hundred */
#define WET_HANDS_APART_NS 3000000000LL    /* from one tank to the other. Our decision */
#define WET_HANDS_LATEST_NS 600000000000LL /* no one is told to wait longer than ten minutes. Our decision */

/* What the hands do; bits. */
enum wet_hands_for { WET_HANDS_POUR = 1, WET_HANDS_TURN = 2 };

/* A stretch of boot time, its end not included. */
struct wet_hands_span {
	int64_t from_ns, to_ns;
	uint8_t what; /* enum wet_hands_for */
	uint8_t whose; /* of several runs in one list; the caller's number */
};

/* In order of their begins. */
struct wet_hands {
	int count;
	struct wet_hands_span list[WET_HANDS];
};

/* From boot_ns on, if each press comes when a rehearsal's own would; a run that is ready begins then. */
void wet_hands_of(const struct wet_run *run, int64_t boot_ns, struct wet_hands *ret_hands);
/* Adds what another run needs; what doesn't fit any more is left out. */
void wet_hands_add(struct wet_hands *hands, const struct wet_hands *more, uint8_t whose);

/* Do they need hands at once, or closer than WET_HANDS_APART_NS, if all of `b` came delay_ns later? what: of both, bits. The first
 * stretch of `a` in question is *ret_span (may be NULL). */
bool wet_hands_meet(const struct wet_hands *a, const struct wet_hands *b, unsigned what, int64_t delay_ns,
					struct wet_hands_span *ret_span);
/* The smallest delay of `b` in whole seconds, 0 to WET_HANDS_LATEST_NS, at which they don't. False: there is none. */
bool wet_hands_delay(const struct wet_hands *a, const struct wet_hands *b, unsigned what, int64_t *ret_delay_ns);

/* What two runs are told of, in one sentence: both need you then, and what helps. Empty: their hands never meet. `a` is under way,
 * `b` has still to begin its first bath; now_ns: boot time. */
char *wet_hands_sentence(const struct wet_hands *a, const char *a_name, const struct wet_hands *b, const char *b_name,
						 int64_t now_ns, char *buf, unsigned buf_bytes);

#endif
