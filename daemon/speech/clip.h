/* clip.h: what a voice gave, made ready to be mixed: a WAV file of any rate in, samples as loud as the tones out.
 *
 * Called off the loop: it reckons for some milliseconds, and allocates. */
#ifndef WET_SPEECH_CLIP_H
#define WET_SPEECH_CLIP_H

#include "wetside/errors.h"

#include <stddef.h>
#include <stdint.h>

/* Reads a WAV of 16 bit samples (its sizes may lie: it comes through a pipe), resamples, cuts the silence off both ends and
 * brings it to the level of the tones. The samples are the caller's to free. WET_ERR_INVALID: not such a WAV, or silence;
 * WET_ERR_TOO_LONG, WET_ERR_NOMEM. */
int wet_clip_make(const void *wav, size_t bytes, int16_t **ret_sample, size_t *ret_samples);

#endif
