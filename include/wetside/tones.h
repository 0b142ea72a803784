/* tones.h: the seven sounds (some with two forms), their rank and their exact length.
 *
 * A person learns seven sounds and two rules: rising is "do", falling or low is "don't";
 * the count-down leads to a long last note. Every cue kind maps to one tone in one table
 * (wetside/cues.h); how a tone is rendered is the sound room's business, how long it is
 * is stated here because leaving out what would overlap belongs to the pure cue list.
 * Sounds are ours; spectrum rule after IEC 60601-1-8 (see wetside/sound.h). */
#ifndef WETSIDE_TONES_H
#define WETSIDE_TONES_H

#include <stdint.h>

/* X(NAME, sound, rank (0 is highest), length in ms, text for people) */
#define WET_TONES(X)                                                          \
	X(ALARM, "alarm", 0, 1200, "something unplanned: read or listen")         \
	X(CHANGE, "change", 1, 900, "the clock's boundary: the next bath begins") \
	X(POUR_OUT, "count", 2, 800, "the long last note: pour out now")          \
	X(COUNT, "count", 3, 0, "three pips, a second apart, to pour-out")        \
	X(ATTEND, "attend", 4, 700, "get ready; the next bath")                   \
	X(ANSWER, "answer", 5, 120, "a key was heard")                            \
	X(REFUSED, "answer", 5, 260, "low: a key was heard and refused")          \
	X(PIPS, "answer", 5, 0, "a number, in pips to count")                     \
	X(TURN, "turn", 6, 340, "rising: agitate")                                \
	X(REST, "turn", 7, 340, "falling: rest")                                  \
	X(BEAT, "beat", 8, 60, "every fifteen seconds of a live bath")

/* All there is to learn beside the seven. */
#define WET_TONE_RULES \
	"Two rules: rising is do it, falling or low is don't; and pips that count down lead to a long last note, which is now."

enum wet_tone {
#define WET_TONE_ENUM(name, sound, rank, ms, text) WET_TONE_##name,
	WET_TONES(WET_TONE_ENUM)
#undef WET_TONE_ENUM
		WET_TONE_N
};

#define WET_COUNT_PIPS 3             /* pips of the count-down */
#define WET_COUNT_PIP_MS 100         /* length of one of them */
#define WET_COUNT_SPACING_MS_MIN 150 /* a fast rehearsal brings them no closer */
#define WET_PIP_MS 90                /* a pip of PIPS */
#define WET_PIP_SPACING_MS 280       /* from onset to onset */
#define WET_PIPS_MAX 64

const char *wet_tone_name(enum wet_tone tone);  /* "POUR_OUT"; static */
const char *wet_tone_sound(enum wet_tone tone); /* which of the seven: "count"; static */
const char *wet_tone_text(enum wet_tone tone);  /* what it means; static */
/* Name and meaning, as they are said in a lesson: "Pour out. The long last note: pour out now." Returns buf. */
char *wet_tone_lesson(enum wet_tone tone, char *buf, unsigned buf_bytes);
int wet_tone_rank(enum wet_tone tone);          /* 0 is highest */

/* Spacing of the count-down's pips in real time: one second of run time, so a rehearsal at
 * rate 2 (rate_milli 2000) counts twice as fast; never under the minimum. */
int64_t wet_tone_spacing_ns(uint32_t rate_milli);

/* Exact length of a tone in real nanoseconds. `pips` matters to PIPS only (1..WET_PIPS_MAX),
 * rate_milli to COUNT only. */
int64_t wet_tone_length_ns(enum wet_tone tone, int pips, uint32_t rate_milli);

#endif
