/* speaker.h: where tones are heard: an ALSA device or a WAV file.
 *
 * Depends on sound and base, and ALSA in the files called *_alsa only. One feeder thread for an ALSA device, and one that
 * sleeps over its mixer while it is open or a run is live; none for a file. All calls come from one thread (the loop's);
 * `changed` and `wake` are called from any. Tones are rendered before the stream needs them; the feeder neither allocates nor reads a disk.
 *
 * Times are boot time (CLOCK_BOOTTIME ns). The speaker reads clocks only through `now_ns`, on the loop's thread; the
 * feeder of a device reads CLOCK_MONOTONIC and CLOCK_BOOTTIME itself, to relate the card's stamps to boot time. */
#ifndef WET_SPEAKER_H
#define WET_SPEAKER_H

#include "darkroom/ports.h"
#include "wetside/errors.h"
#include "wetside/tones.h"

#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct wet_speaker;

#define WET_SPEAKER_WHERE_BYTES 256 /* of `where`, with its NUL: what a configuration can hold */

enum wet_speaker_health {
	WET_SPEAKER_OK,      /* sounding, or closed because nothing is live */
	WET_SPEAKER_UNSEEN,  /* sounding; but whether it is muted ALSA can't say: it has no mixer of its own */
	WET_SPEAKER_SILENT,  /* "none" was asked for */
	WET_SPEAKER_MISSING, /* the device cannot be opened; retried */
	WET_SPEAKER_LOST,    /* it was there and failed; retried */
	WET_SPEAKER_MUTED    /* it plays, but its mixer is off or at zero */
};

struct wet_speaker_options {
	const char *where;            /* "default" or "alsa:NAME", "file:PATH" (WAV), "none" */
	int64_t (*now_ns)(void *ctx); /* boot time */
	/* From any thread, and with a lock held: they must not call back. May be NULL. */
	void (*changed)(void *ctx);   /* health changed */
	void (*wake)(void *ctx);      /* a turn is wanted; wet_speaker_wake_ns may have changed */
	void *ctx;
	_Atomic int64_t *alive_ns;    /* stamped with boot time each period by the feeder; may be NULL */
	uint32_t level_milli;         /* 0..1000 */
};

/* Opens no device yet, except that a file is created at once (its frame 0 is now_ns at this call). A path that
 * cannot be written is an error; a missing device is not: it is health. Borrows options->where for the call. */
int wet_speaker_open(struct wet_speaker **ret_speaker, const struct wet_speaker_options *options,
                     struct wet_fault *reterr);
/* Plays what is due (2 s at most), stops the threads, finishes the file's header. A device that hangs is waited for two
 * seconds more; then what its thread may still touch is left where it is. NULL is fine. */
void wet_speaker_close(struct wet_speaker *speaker);

/* While wanted, the device is open and fed silence between tones; when not, it is closed once a tone under way has
 * ended, and opened for itself by a tone that is asked for (planned ones: 2 s ahead, if they are queued by then). Who
 * plans the tones closes it over a long silence and wants it again ahead of the next. Idempotent. Opening happens in the
 * feeder thread: never blocks the loop. */
void wet_speaker_want(struct wet_speaker *speaker, bool is_wanted);

/* Places a planned tone so that its first sample is audible at at_ns. `owner` groups tones for cancel. Give it
 * at least 60 ms ahead; a time that has passed by over 100 ms is dropped (never played late as if on time).
 * WET_ERR_TOO_MANY when the queue is full. */
int wet_speaker_at(struct wet_speaker *speaker, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips,
                   uint32_t rate_milli);
/* As soon as the buffer allows (answers, alarms). For a file: at now_ns. */
int wet_speaker_now(struct wet_speaker *speaker, enum wet_tone tone, int pips);
/* Forgets the owner's planned tones that start at or after from_ns and are not committed yet. */
void wet_speaker_cancel(struct wet_speaker *speaker, uint64_t owner, int64_t from_ns);

/* -- words -- */
/* Samples of words, at `level_milli` of the speaker's own level; mixed as they are, so nothing is made when they sound. */
struct wet_pcm;
/* Copies; NULL: no memory. */
struct wet_pcm *wet_speaker_words(const struct wet_speaker *speaker, const int16_t *sample, size_t samples,
                                  uint32_t level_milli);
size_t wet_speaker_words_samples(const struct wet_pcm *words);
/* Frees words that are not sounding and not waiting to; false: they are, ask later. After the speaker was closed: always. */
bool wet_speaker_words_free(struct wet_speaker *speaker, struct wet_pcm *words);
/* Says them from at_ns on. The words stay the caller's, and must stay until they can be freed. */
int wet_speaker_say(struct wet_speaker *speaker, int64_t at_ns, struct wet_pcm *words);
/* All words stop at a time: those that begin later are forgotten, the others fade. */
void wet_speaker_stop_words(struct wet_speaker *speaker, int64_t at_ns);

/* A run is live: the mixer of a device that was opened is looked at although the device is closed. Idempotent. */
void wet_speaker_live(struct wet_speaker *speaker, bool is_live);

/* Called once a turn of the loop: a file sink writes what has become due by now_ns; a switch is brought to its end; a
 * device that hangs is noticed. */
void wet_speaker_turn(struct wet_speaker *speaker, int64_t now_ns);
/* When the next turn must be at the latest; INT64_MAX: nothing needs one. */
int64_t wet_speaker_wake_ns(const struct wet_speaker *speaker);

/* -- another device -- */
/* Begins to switch to `where` (as in the options). What is planned stays, and what sounds goes on there by the clock. What
 * can't be opened, or not within five seconds, is refused, and the old goes on. WET_OK: begun, and
 * wet_speaker_switched tells the end. WET_ERR_REFUSED: another switch is under way; other errors: refused at once. */
int wet_speaker_switch(struct wet_speaker *speaker, const char *where, struct wet_fault *reterr);
/* True, once for each switch that was begun: it is over. ret_fault->err is WET_OK if it is done. */
bool wet_speaker_switched(struct wet_speaker *speaker, struct wet_fault *ret_fault);
/* Where it sounds, as it was asked for; valid until the next turn. */
const char *wet_speaker_where(const struct wet_speaker *speaker);
/* What ALSA names for playing. Opens nothing, but asks each card: from any thread, better not the loop's. Gives how many,
 * at most max. */
int wet_speaker_devices(struct wet_sound_device *ret_list, int max);

enum wet_speaker_health wet_speaker_health(const struct wet_speaker *speaker, char *text, unsigned text_bytes);
/* Tones that were dropped because they came too late or a device was away. */
uint64_t wet_speaker_dropped(const struct wet_speaker *speaker);
/* How often the device ran dry: the machine was too busy. A tone under way goes on at its place by the clock. */
uint64_t wet_speaker_underruns(const struct wet_speaker *speaker);

#endif
