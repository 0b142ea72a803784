/* sink_wav.h: a WAV file whose frame 0 is a known boot time. Inside the speaker room; knows nothing of tones.
 *
 * The header is rewritten after every write, so the file can be read at any time, after a kill too. Silence is never
 * written: the file is made longer, which leaves a hole. 16 bit, mono, WET_SAMPLE_RATE. A chunk LIST INFO ICMT holds
 * "origin_boot_ns=N". */
#ifndef WET_SPEAKER_SINK_WAV_H
#define WET_SPEAKER_SINK_WAV_H

#include "wetside/errors.h"

#include <stddef.h>
#include <stdint.h>

#define WET_WAV_HEADER_BYTES 100
/* RIFF counts bytes in 32 bits: 12 hours and 25 minutes. */
#define WET_WAV_FRAMES_MAX ((int64_t)(UINT32_MAX - WET_WAV_HEADER_BYTES) / 2)

struct wet_wav {
	int fd; /* -1: not open */
	int64_t origin_ns;
	int64_t frames; /* as the header says */
};

/* Creates or empties a regular file and writes its header. On failure nothing is open. */
int wet_wav_open(struct wet_wav *wav, const char *path, int64_t origin_ns, struct wet_fault *reterr);
void wet_wav_close(struct wet_wav *wav);
/* Boot time to frame: nearest. */
int64_t wet_wav_frame(const struct wet_wav *wav, int64_t at_ns);
/* Mixes samples [*io_done, samples) into the frames from `frame` on, raises *io_done by what was written, and makes
 * the header right. On an error it can be called again and goes on from there. */
int wet_wav_mix(struct wet_wav *wav, int64_t frame, const int16_t *pcm, size_t samples, size_t *io_done);
/* Fills up with silence to at least `frames`. */
int wet_wav_extend(struct wet_wav *wav, int64_t frames);

#endif
