/* inside.h: the speaker's object, shared by speaker.c, switch.c and the threads in *_alsa.c. Inside the speaker room.
 *
 * The loop's thread (everything in speaker.h) meets feeders and mixers in it: one feeder sounds; while another device is
 * tried there is a second, the candidate; one whose device hangs is left to itself until it comes back. Whatever stands
 * under `lock` is touched only while it is held, and it is never held over a rendering or a call that can wait. */
#ifndef WET_SPEAKER_INSIDE_H
#define WET_SPEAKER_INSIDE_H

#include "speaker/sink_wav.h"
#include "speaker/speaker.h"
#include "speaker/tone_cache.h"
#include "speaker/voices.h"

#include <pthread.h>

#define WET_SPEAKER_TEXT_BYTES 160
#define WET_SPEAKER_THREADS 8          /* feeders and mixers at once, with those whose device hangs */
#define WET_SPEAKER_TRY_NS 5000000000LL /* another device must be open within this */
#define WET_SPEAKER_STUCK_NS 3000000000LL /* a call into the device that lasts so long is told */

struct wet_feeder;
struct wet_mixer;

enum wet_speaker_kind { WET_SPEAKER_NONE, WET_SPEAKER_FILE, WET_SPEAKER_ALSA };

/* How far a candidate is. */
enum wet_trial {
	WET_TRIAL_NONE,
	WET_TRIAL_OPENING,
	WET_TRIAL_BUSY,   /* somebody has it open, maybe the feeder that sounds: that one lets go, and it is tried again */
	WET_TRIAL_OPEN,
	WET_TRIAL_REFUSED,
	WET_TRIAL_TOLD    /* over; the result waits to be asked for */
};

struct wet_speaker {
	struct wet_speaker_options options; /* constant after opening; `where` is not kept */

	pthread_mutex_t lock;
	pthread_cond_t moved; /* a thread ended, or a device was let go; on the monotonic clock */
	struct wet_voices voices;
	bool is_wanted, is_live, is_stopping;
	enum wet_speaker_health health; /* of device or file; that of the mixer comes on top */
	char text[WET_SPEAKER_TEXT_BYTES];
	uint64_t underruns;
	uint32_t stream; /* counts starts on any device: after an underrun frames mean another time */
	int threads, devices; /* whose thread has not ended; that are open */
	/* Changed by the loop's thread only, under the lock: it may read them without. */
	struct wet_feeder *feeder, *candidate;
	enum wet_trial trial; /* its thread moves it too */
	char trial_text[WET_SPEAKER_TEXT_BYTES];

	/* The loop's thread only. */
	enum wet_speaker_kind kind;
	char where[WET_SPEAKER_WHERE_BYTES], next_where[WET_SPEAKER_WHERE_BYTES];
	int64_t trial_until_ns;
	struct wet_fault switched; /* for WET_TRIAL_TOLD */
	struct wet_tone_cache cache;
	struct wet_wav wav;
	int64_t file_retry_ns; /* while the file is lost: not before this */
};

#define WET_SPEAKER_WHERES "\"default\", \"alsa:NAME\", \"file:PATH\" or \"none\""
#define WET_SPEAKER_NONE_TEXT "no sound was asked for"
#define WET_SPEAKER_FILE_TEXT "writing a file"

/* What a text names. `*ret_rest` points into it: the device or the path. False: nothing that we know. */
bool wet_speaker_parse(const char *where, enum wet_speaker_kind *ret_kind, const char **ret_rest);
/* Renders what every run uses, so that nothing is synthesised at its time. */
int wet_speaker_warm(struct wet_speaker *speaker);
/* Notes the health; if it is new, calls `changed`. From any thread. For a feeder, which is not heard once it is retired;
 * NULL: the loop itself. */
void wet_speaker_set_health(struct wet_speaker *speaker, const struct wet_feeder *from, enum wet_speaker_health health,
                            const char *text);
/* speaker.c: what is due by now goes into the file. */
void wet_speaker_file_commit(struct wet_speaker *speaker, int64_t now_ns, bool is_last);

/* switch.c: a candidate that has opened takes over; one that has not by now is given up. */
void wet_speaker_settle_switch(struct wet_speaker *speaker, int64_t now_ns);

/* sink_alsa.c. Starts a feeder's thread, which opens the device when something is to sound; a candidate at once, and
 * then it feeds silence. Borrows `device`. The loop's thread. */
int wet_feeder_start(struct wet_speaker *speaker, const char *device, bool is_candidate);
/* Something was queued, forgotten or wanted. The loop's thread. */
void wet_feeder_wake(struct wet_feeder *feeder);
/* It closes its device and ends, without being waited for. Under the lock. */
void wet_feeder_retire(struct wet_feeder *feeder);
/* Under the lock: to let its device go until it is told otherwise. */
void wet_feeder_release(struct wet_feeder *feeder, bool is_released);
/* Under the lock: no candidate any more, it sounds. */
void wet_feeder_take_over(struct wet_feeder *feeder);
bool wet_feeder_has_device(const struct wet_feeder *feeder);
/* Under the lock: the mixer of its device; NULL: none is looked at. */
const struct wet_mixer *wet_feeder_mixer(const struct wet_feeder *feeder);
const char *wet_feeder_device(const struct wet_feeder *feeder);
/* Since when it has been in a call into the device, 0: it is not; *ret_opening: into opening it. */
int64_t wet_feeder_busy_since(const struct wet_feeder *feeder, bool *ret_opening);
/* The loop has told that it is stuck. */
void wet_feeder_told_stuck(struct wet_feeder *feeder);
/* After is_stopping was set: waits for the threads, as long as what is due may sound and a little more. False: one hangs
 * in its device, and what it may still touch must stay. */
bool wet_feeders_wait(struct wet_speaker *speaker);

/* mixer_alsa.c. What the mixer behind a device says. */
enum wet_mixer_state {
	WET_MIXER_ASKED,  /* not known yet */
	WET_MIXER_AUDIBLE,
	WET_MIXER_UNSEEN, /* nothing that ALSA could ask */
	WET_MIXER_MUTED
};
/* Starts a thread that looks at it, and again whenever it says that it was changed; it never changes it. Card: of the
 * open device; -1: a mixer of the device's own name, if that is a plug-in too. NULL: no memory or no thread. Under no lock. */
struct wet_mixer *wet_mixer_start(struct wet_speaker *speaker, const char *device, int card);
/* Under the lock: its thread ends by itself, and it must not be asked any more. */
void wet_mixer_retire(struct wet_mixer *mixer);
/* Under the lock. The text says what is muted. */
enum wet_mixer_state wet_mixer_state(const struct wet_mixer *mixer, const char **ret_text);

#endif
