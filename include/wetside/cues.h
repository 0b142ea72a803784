/* cues.h: what sounds next. PURE.
 *
 * `wet_cue_next(run, after)` gives the next thing to be heard, on the assumption that nobody acts. Waiting and
 * overtime repeat, so a list would not end. A planned cue is left out if a higher one sounds within its length
 * + 0.2 s, a beat also within 3 s of any cue (real time); so a fast rehearsal drops what would overlap, never a change. */
#ifndef WETSIDE_CUES_H
#define WETSIDE_CUES_H

#include "wetside/run.h"
#include "wetside/tones.h"

/* X(NAME, tone, word): every cue kind maps to one tone. */
#define WET_CUES(X)                                                                                      \
	X(HANDLE, ATTEND, "handle")           /* handling: what to do first */                               \
	X(LIGHTS, ATTEND, "lights")           /* white light is allowed from here */                         \
	X(STAND_BY, ATTEND, "stand-by")       /* waiting for the go of a first bath; repeated each minute */ \
	X(NEXT, ATTEND, "next")               /* the next bath and its place, before pour-out */             \
	X(POUR_READY, ATTEND, "pour-ready")   /* at aim, where the next waits; repeated each minute */       \
	X(LAST_MINUTE, ATTEND, "last-minute") /* stages over three minutes */                                \
	X(COUNT, COUNT, "count")              /* three seconds to pour-out */                                \
	X(POUR_OUT, POUR_OUT, "pour-out")     /* pour out, and where to */                                   \
	X(CHANGE, CHANGE, "change")           /* the clock began the next bath */                            \
	X(TURN, TURN, "turn")                                                                                \
	X(REST, REST, "rest")                                                                                \
	X(BEAT, BEAT, "beat")                                                                                \
	X(PAST_MOST, ALARM, "past-most") /* overtime became harmful; repeated each minute */                 \
	X(KEY, ANSWER, "key")            /* the rehearsal pressed its own key */                             \
	X(WATER, ATTEND, "water")        /* a wash by changes: change the water; not change, which is a boundary */

enum wet_cue_kind {
#define WET_CUE_ENUM(name, tone, word) WET_CUE_##name,
	WET_CUES(WET_CUE_ENUM)
#undef WET_CUE_ENUM
		WET_CUE_KIND_N
};
const char *wet_cue_word(enum wet_cue_kind kind);
enum wet_tone wet_cue_tone(enum wet_cue_kind kind);

struct wet_cue {
	enum wet_cue_kind kind;
	enum wet_tone tone;
	int pips;            /* of WET_TONE_PIPS; else 1 */
	uint32_t rate_milli; /* at which run time passes then */
	int64_t at_boot_ns;  /* when it is due */
	int64_t at_run_ns;
	int stage;                 /* the stage it belongs to */
	char text[WET_LINE_BYTES]; /* what is said; ours: "Stop bath next, bottle two, two bands." */
};

/* The first cue strictly after after_boot_ns. False: none without an act. No two cues of a run sound at one instant:
 * the higher rank keeps it. */
bool wet_cue_next(const struct wet_run *run, int64_t after_boot_ns, struct wet_cue *ret_cue);

/* The first cue after after_boot_ns that moves the hands (no count, no beat, no last minute), for a screen: at a change its
 * text says what to pour. False: none without an act, or what the hands do now comes first: they handle, pour in or pour out. */
bool wet_run_hands(const struct wet_run *run, int64_t after_boot_ns, struct wet_cue *ret_cue);

/* Every sentence that the run's cues may say, and what a go answers, in no order and some more than once; not what only
 * the moment knows: temperatures, times, orders. So they can be spoken when the run is armed. */
void wet_run_sentences(const struct wet_run *run, void (*take)(void *ctx, const char *text), void *ctx);

#endif
