/* card_alsa.h: an ALSA device opened as the feeder needs it. Inside the speaker room; for its ALSA files only. */
#ifndef WET_SPEAKER_CARD_ALSA_H
#define WET_SPEAKER_CARD_ALSA_H

#include "wetside/sound.h"

#include <poll.h>
#include <stdint.h>

#include <alsa/asoundlib.h>

#define PERIOD_FRAMES (WET_SAMPLE_RATE / 200) /* 5 ms */
#define FILL_FRAMES (6 * PERIOD_FRAMES)       /* 30 ms: how late an answer may be */
#define POLL_FDS_MAX 8

struct wet_card {
	snd_pcm_t *pcm; /* NULL: closed */
	int64_t period_frames, buffer_frames, fill_frames;
	int number; /* of the machine's cards; -1: it is none of them, but a program or a plug-in */
};

/* Mono, 16 bit, WET_SAMPLE_RATE, by ALSA's own converter if the card can't do that itself; prepared, not started. Fills
 * fds. Gives how many, or a negative error of ALSA; then nothing is open. */
int wet_card_open(struct wet_card *card, const char *name, struct pollfd fds[POLL_FDS_MAX]);
void wet_card_close(struct wet_card *card); /* closed is fine */
/* libasound prints what it meets to stderr unless told otherwise; we say it as health. */
void wet_card_hush(void);

#endif
