/* inside.h: the speaker's object, shared by speaker.c and the feeder in sink_alsa.c. Inside the speaker room.
 *
 * Two threads meet in it: the loop's (everything in speaker.h) and the feeder. Whatever stands under `lock` is touched
 * only while it is held, and it is never held over a system call or a rendering. */
#ifndef WET_SPEAKER_INSIDE_H
#define WET_SPEAKER_INSIDE_H

#include "speaker/sink_wav.h"
#include "speaker/speaker.h"
#include "speaker/tone_cache.h"
#include "speaker/voices.h"

#include <pthread.h>

#define WET_SPEAKER_TEXT_BYTES 160

struct wet_feeder;

enum wet_speaker_kind { WET_SPEAKER_NONE, WET_SPEAKER_FILE, WET_SPEAKER_ALSA };

struct wet_speaker {
	struct wet_speaker_options options; /* constant after opening; `where` is not kept */
	enum wet_speaker_kind kind;

	pthread_mutex_t lock;
	struct wet_voices voices;
	bool is_wanted, is_stopping;
	enum wet_speaker_health health;
	char text[WET_SPEAKER_TEXT_BYTES];
	uint64_t underruns;

	/* The loop's thread only. */
	struct wet_tone_cache cache;
	struct wet_wav wav;
	int64_t file_retry_ns; /* while the file is lost: not before this */
	struct wet_feeder *feeder;
};

/* Notes the health and, if it or its text is new, calls `changed`. From any thread, without the lock. */
void wet_speaker_set_health(struct wet_speaker *speaker, enum wet_speaker_health health, const char *text);

/* sink_alsa.c. Starts the feeder's thread, which opens the device when something is to sound. Borrows `device`. */
int wet_feeder_start(struct wet_speaker *speaker, const char *device, struct wet_feeder **ret_feeder);
/* Something was queued, forgotten or wanted. */
void wet_feeder_wake(struct wet_feeder *feeder);
/* After is_stopping was set: waits until what is due has sounded, two seconds at most; frees. NULL is fine. */
void wet_feeder_stop(struct wet_feeder *feeder);

#endif
