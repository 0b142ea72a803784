/* voices.h: the tones that wait and those that sound; what of them goes into the next frames. Inside the speaker room.
 *
 * No clock, no device, no lock of its own: the speaker's lock is held around every call. Times are boot time. */
#ifndef WET_SPEAKER_VOICES_H
#define WET_SPEAKER_VOICES_H

#include "speaker/tone_cache.h"
#include "wetside/sound.h"

#include <stdbool.h>

#define WET_VOICES 1024                      /* planned tones are queued shortly before they are due */
#define WET_VOICE_LATE_NS 100000000LL        /* a planned tone later than this is dropped (contract of speaker.h) */
#define WET_VOICE_ASAP_LATE_NS 500000000LL   /* an answer later than this, a device that opens slowly, would mislead */
#define WET_VOICE_FADE (WET_SAMPLE_RATE / 100) /* 10 ms: words that are stopped don't click */
#define WET_VOICE_OPEN_AHEAD_NS 2000000000LL /* a closed device is opened this long before a tone is due */

struct wet_voice {
	uint64_t owner;
	int64_t at_ns;       /* asked for; once it sounds: when its first sample was audible */
	struct wet_pcm *pcm; /* holds one use */
	bool is_asap;        /* at_ns is when it was asked for */
	bool has_begun;
	uint32_t stream;     /* to which start_frame belongs: a device starts anew after an underrun */
	int64_t start_frame;
	size_t done;         /* file only: samples that have been written */
	bool is_words;       /* spoken: a little late is better than never, and it can be stopped */
	bool is_stopped;     /* from `last` on it fades, for WET_VOICE_FADE samples */
	bool is_fading;      /* the end of what was stopped has been reached, and `last` is final */
	size_t last;
};

struct wet_voices {
	struct wet_voice voice[WET_VOICES];
	size_t count;
	uint64_t dropped;
	struct wet_limit limit;
};

/* WET_ERR_TOO_MANY, with pcm still the caller's. */
int wet_voices_add(struct wet_voices *voices, const struct wet_voice *voice);
/* Removes one and lowers its pcm's users; the last voice takes its place. */
void wet_voices_remove(struct wet_voices *voices, size_t i);
void wet_voices_clear(struct wet_voices *voices);
/* Forgets the owner's planned ones that start at or after from_ns and have not begun. */
void wet_voices_cancel(struct wet_voices *voices, uint64_t owner, int64_t from_ns);
/* Stops all words at a time: what has not begun by then is forgotten, what has begun fades. */
void wet_voices_stop_words(struct wet_voices *voices, int64_t at_ns);
/* How many samples of it there are, and samples from..to of it as they sound; to - from at most WET_VOICE_COPY. */
#define WET_VOICE_COPY 2048
size_t wet_voice_samples(const struct wet_voice *voice);
void wet_voice_copy(const struct wet_voice *voice, size_t from, size_t to, int16_t *out);
/* Drops, and counts, what can no longer be played in time; what has begun goes on by the clock and ends by it. */
void wet_voices_drop_late(struct wet_voices *voices, int64_t now_ns);
/* At closing: forgets, without counting them, planned ones that are not due by now. */
void wet_voices_keep_due(struct wet_voices *voices, int64_t now_ns);
/* From when on a device must be open for what is queued: at once for what is asked for now or sounds, ahead of a
 * planned one; INT64_MAX if nothing is queued. */
int64_t wet_voices_needed_ns(const struct wet_voices *voices);

/* Commits the frames first..first+frames of a stream, at most WET_VOICE_COPY: out is whatever sounds in them, mixed. A
 * planned tone begins at the frame that the map gives for its time; one that begins before `first`, at `first` if it
 * is under WET_VOICE_LATE_NS late, else it is dropped. One that began in another stream goes on where the clock is.
 * Returns true if anything sounds. */
bool wet_voices_mix(struct wet_voices *voices, const struct wet_clock_map *map, uint32_t stream, int64_t now_ns,
                    int64_t first, int16_t *out, size_t frames);

#endif
