/* voice_inside.h: what the files of the voice share: voice.c says, voice_store.c keeps words, voice_lane.c makes them. */
#ifndef WET_HOST_VOICE_INSIDE_H
#define WET_HOST_VOICE_INSIDE_H

#include "host/inside.h"
#include "host/voice.h"
#include "sound/talk.h"
#include "speaker/speaker.h"
#include "speech/keep.h"

#define VOICE_TEXT_BYTES 512 /* of a sentence as it is spoken */
#define VOICE_LANES 2        /* the first makes what is planned; the other is free for what is asked for now */
#define VOICE_BUCKETS 256

enum words_state { WORDS_WANTED, WORDS_BUSY, WORDS_READY, WORDS_FAILED };

/* One sentence and its samples. */
struct words {
	struct words *next;        /* of its bucket */
	struct words *next_wanted; /* of the queue */
	enum words_state state;
	bool is_urgent;
	bool is_probe;             /* does the voice work? Not taken from the folder */
	uint64_t used_at;
	struct wet_pcm *pcm;       /* READY */
	char text[];
};

/* Where one sentence is made at a time. */
struct lane {
	struct voice *voice;
	struct words *words; /* NULL: free */
	uv_work_t work;
	uv_process_t process;
	uv_pipe_t in, out;
	uv_timer_t timer;
	uv_write_t write;
	int open_handles, pid;
	bool is_running, has_exited, has_ended, was_killed, was_too_long;
	int64_t status;
	int signal;
	char line[VOICE_TEXT_BYTES + 1];
	char key[WET_KEEP_KEY_BYTES];
	char *output;
	size_t output_bytes, output_room;
	int16_t *sample;
	size_t samples;
	int rc, keep_rc;
	const char *folder; /* NULL: none */
};

struct voice {
	struct wet_host *host;
	struct wet_talk talk;
	struct lane lane[VOICE_LANES];
	struct words *bucket[VOICE_BUCKETS];
	struct words *wanted, **wanted_tail;
	size_t bytes; /* of all samples */
	uint64_t uses;
	bool is_closing, wants_release;
	bool has_spoken;  /* ever */
	bool is_bad;      /* tones only */
	bool is_keep_bad; /* the folder can't be written; said once */
	int failures;     /* in a row */
	char why[WET_LINE_BYTES];
};

/* voice_store.c. The words of a text, made if there are none; NULL: no memory. They are wanted, if they are neither
 * ready nor on their way. */
struct words *words_want(struct voice *voice, const char *text, bool is_urgent);
/* The words of a text; NULL: there are none. */
struct words *words_find(struct voice *voice, const char *text);
/* The next that a lane is to make; NULL: none. */
struct words *words_next(struct voice *voice, bool is_urgent_only);
void words_ready(struct voice *voice, struct words *words, const int16_t *sample, size_t samples);
/* All that wait to be made. */
void words_fail_wanted(struct voice *voice);
/* What nobody will say; all that can be, or until the memory is within its bound. */
void words_release(struct voice *voice, bool is_all);
void words_free_all(struct voice *voice);

/* voice_lane.c */
void lanes_open(struct voice *voice);
/* Gives the free lanes something to do. */
void lanes_turn(struct voice *voice);
void lanes_stop(struct voice *voice);
void lanes_free(struct voice *voice);
/* voice.c: how it went. `why`: NULL, it has spoken. */
void voice_judge(struct voice *voice, bool is_final, const char *why);

#endif
