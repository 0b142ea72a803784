/* voice.h: speech: sentences rendered by another program, kept as samples, and said one at a time. Inside the host room.
 *
 *     sentence -> memory -> folder -> program, in a child process -> samples -> memory, folder
 *
 * The loop only moves pieces about: the folder is read and written and samples are reckoned on libuv's threads, the
 * program has its time limit and is killed with all it started. A program that is missing, hangs, is slow, dies or writes
 * what is no sound ends in "tones only", said once, until the next run is armed: then it is tried again. */
#ifndef WET_HOST_VOICE_H
#define WET_HOST_VOICE_H

#include "darkroom/ports.h"

struct wet_host;
struct voice;

#define WET_VOICE_LIMIT_MS 1500              /* one sentence takes 15 ms; slower than this is of no use to an answer */
#define WET_VOICE_OUTPUT_BYTES (4 << 20)     /* of one sentence; 30 s at 44.1 kHz are 2.6 MB */
#define WET_VOICE_WORDS_BYTES (64u << 20)    /* samples in memory: about 250 sentences, three recipes or so */
#define WET_VOICE_FAILURES 3                 /* in a row, of a voice that has spoken before */

/* Needs the loop and the speaker. Without memory there is no voice: NULL. */
struct voice *voice_open(struct wet_host *host);
/* Before the speaker is closed: children are killed, and nothing new begins. */
void voice_stop(struct voice *voice);
/* After the loop has ended. NULL is fine. */
void voice_free(struct voice *voice);

/* The darkroom's ports; ctx is the host. */
void voice_say(void *ctx, const struct wet_saying *saying);
void voice_say_soon(void *ctx, const char *text);
bool voice_is_well(void *ctx, char *text, unsigned text_bytes);
/* The owner's planned words from from_ns on are forgotten. */
void voice_cancel(struct voice *voice, uint64_t owner, int64_t from_ns);

/* At the end of each turn: places what is to be said. */
void voice_turn(struct voice *voice, int64_t now_ns);
int64_t voice_wake_ns(const struct voice *voice);

#endif
