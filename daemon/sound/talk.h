/* talk.h: whose words are next. One sentence sounds at a time; tones never wait for it. PURE: no clock, no allocation.
 *
 *   - Of what waits and may begin, the most urgent begins: by the rank of its tone, then by when its cue was due.
 *   - Words that would not be over by their `until` (the run's own next cue) are left out, whole: half a sentence misleads.
 *   - What the same run says next makes what it is saying old: its own answers and alarms cut it at once, a planned cue
 *     that is as urgent when its tone begins. A change and an alarm cut whatever their run says.
 *   - An alarm cuts other runs too; a planned sentence that was cut so is said again, if there is time.
 *   - Words that could not begin in time (the voice is slow, others talked) are left out too. */
#ifndef WET_SOUND_TALK_H
#define WET_SOUND_TALK_H

#include "wetside/tones.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WET_TALK 64                     /* sentences that wait at once; more: the least urgent is left out */
#define WET_TALK_GAP_NS 150000000LL     /* from a tone's end to its words */
#define WET_TALK_PAUSE_NS 300000000LL   /* between two sentences */
#define WET_TALK_AHEAD_NS 60000000LL    /* a sentence is placed so long before it begins */
#define WET_TALK_LATE_NS 1500000000LL   /* an answer that could not begin for so long */
#define WET_TALK_PLANNED_LATE_NS 6000000000LL /* and the words of a planned cue */

struct wet_sentence {
	uint64_t id;       /* given by wet_talk_add */
	uint64_t owner;    /* the run; 0: none */
	enum wet_tone tone;
	bool is_planned;
	int64_t cue_ns;    /* when its tone begins */
	int64_t from_ns;   /* not before this: the tone has ended */
	int64_t until_ns;  /* must be over by then; INT64_MAX */
	int64_t length_ns; /* 0: its words are still being made */
	int pips;          /* if it can't be spoken, so many pips say the same; 0: nothing does */
	void *words[2];    /* the caller's: whose, and what; may be NULL */
};

struct wet_talk {
	struct wet_sentence waiting[WET_TALK];
	size_t count;
	bool is_speaking;
	struct wet_sentence now;
	int64_t began_ns, ends_ns;
	uint64_t last_id;
	uint64_t left_out; /* sentences, since the start */
};

/* Queues a sentence and gives when what is being said must stop for it; INT64_MAX: it need not. */
int64_t wet_talk_add(struct wet_talk *talk, const struct wet_sentence *sentence, int64_t now_ns);
/* Forgets the owner's planned sentences whose cues lie at or after from_ns. Is the one that sounds, or was placed to,
 * among them? Then it must stop now. */
bool wet_talk_cancel(struct wet_talk *talk, uint64_t owner, int64_t from_ns);
/* The sentence that is to be placed now, at ret->from_ns. Sentences that can't be in time are taken out before; those of
 * them that have pips come back too, with length 0: then the pips are to be played. False: none. */
bool wet_talk_next(struct wet_talk *talk, int64_t now_ns, struct wet_sentence *ret);
/* When wet_talk_next must be asked again if nothing happens; INT64_MAX: never. */
int64_t wet_talk_wake_ns(const struct wet_talk *talk);
/* Takes out the i-th that waits. */
void wet_talk_remove(struct wet_talk *talk, size_t i);

#endif
