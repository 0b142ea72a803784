/* clip.c: WAV (RIFF, 16 bit) to samples at WET_SAMPLE_RATE. */
#include "speech/clip.h"

#include "sound/loudness.h"
#include "wetside/sound.h"

#include <samplerate.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define RATE_HZ_MIN 8000
#define RATE_HZ_MAX 192000
#define CHANNELS_MAX 2

struct wav {
	uint32_t rate_hz, channels;
	const unsigned char *data;
	size_t frames;
};

static uint32_t le(const unsigned char *at, int bytes)
{
	uint32_t value = 0;
	for (int i = bytes; i-- > 0;)
		value = value << 8 | at[i];
	return value;
}

/* A chunk that says it is longer than what came ends with what came. */
static int read_wav(const unsigned char *wav, size_t bytes, struct wav *ret)
{
	struct wav w = { 0 };
	if (bytes < 12 || memcmp(wav, "RIFF", 4) != 0 || memcmp(wav + 8, "WAVE", 4) != 0)
		return WET_ERR_INVALID;
	for (size_t at = 12; bytes - at >= 8;) {
		size_t n = le(wav + at + 4, 4), left = bytes - at - 8;
		const unsigned char *chunk = wav + at + 8;
		bool is_cut = n > left;
		if (is_cut)
			n = left;
		if (memcmp(wav + at, "fmt ", 4) == 0) {
			if (n < 16 || le(chunk, 2) != 1 || le(chunk + 14, 2) != 16)
				return WET_ERR_INVALID;
			w.channels = le(chunk + 2, 2);
			w.rate_hz = le(chunk + 4, 4);
		} else if (memcmp(wav + at, "data", 4) == 0) {
			if (w.channels < 1 || w.channels > CHANNELS_MAX || w.rate_hz < RATE_HZ_MIN || w.rate_hz > RATE_HZ_MAX)
				return WET_ERR_INVALID;
			w.data = chunk;
			w.frames = n / 2 / w.channels;
			*ret = w;
			return w.frames > 0 ? WET_OK : WET_ERR_INVALID;
		}
		if (is_cut || n + (n & 1) > left)
			break;
		at += 8 + n + (n & 1);
	}
	return WET_ERR_INVALID;
}

/* The mean of the channels, 1 is full scale. */
static void read_frames(const struct wav *w, float *out)
{
	for (size_t i = 0; i < w->frames; i++) {
		int sum = 0;
		for (uint32_t c = 0; c < w->channels; c++)
			sum += (int16_t)(uint16_t)le(w->data + 2 * (i * w->channels + c), 2);
		out[i] = (float)sum / (float)(32768 * w->channels);
	}
}

static int resample(const struct wav *w, const float *in, float *out, size_t room, size_t *ret_samples)
{
	SRC_DATA data = { .data_in = in,
					  .data_out = out,
					  .input_frames = (long)w->frames,
					  .output_frames = (long)room,
					  .src_ratio = (double)WET_SAMPLE_RATE / w->rate_hz };
	if (src_simple(&data, SRC_SINC_MEDIUM_QUALITY, 1) != 0)
		return WET_ERR_INVALID;
	*ret_samples = (size_t)data.output_frames_gen;
	return WET_OK;
}

int wet_clip_make(const void *wav, size_t bytes, int16_t **ret_sample, size_t *ret_samples)
{
	struct wav w;
	int rc = read_wav(wav, bytes, &w);
	if (rc != 0)
		return rc;
	/* Both are bounded by 30 s, so nothing overflows. */
	if (w.frames > (size_t)w.rate_hz * (WET_SPEECH_SAMPLES_MAX / WET_SAMPLE_RATE))
		return WET_ERR_TOO_LONG;
	size_t room = (size_t)((double)w.frames * WET_SAMPLE_RATE / w.rate_hz) + 16, samples = 0, from, to;
	float *in = malloc(w.frames * sizeof *in), *out = malloc(room * sizeof *out);
	int16_t *sample = NULL;
	rc = in && out ? WET_OK : WET_ERR_NOMEM;
	if (rc == 0) {
		read_frames(&w, in);
		rc = resample(&w, in, out, room, &samples);
	}
	if (rc == 0) {
		wet_speech_trim(out, samples, &from, &to);
		if (to - from > WET_SPEECH_SAMPLES_MAX)
			to = from + WET_SPEECH_SAMPLES_MAX;
		sample = from < to ? malloc((to - from) * sizeof *sample) : NULL;
		rc = from == to ? WET_ERR_INVALID : sample ? WET_OK : WET_ERR_NOMEM;
	}
	if (rc == 0) {
		wet_speech_settle(out + from, to - from, sample);
		*ret_sample = sample;
		*ret_samples = to - from;
	}
	free(in);
	free(out);
	return rc;
}
