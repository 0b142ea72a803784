/* keep.h: what was spoken once, kept in a folder, so that it is not spoken anew at each arming.
 *
 * One file a sentence, called by the SHA-256 of what it depends on: the program and voice, the rate, the text, and how it
 * is made here. It holds samples at WET_SAMPLE_RATE and level 1000, and the SHA-256 of them: a damaged file is noticed,
 * removed and made again. Called off the loop: a disk may be slow. Nothing in it is missed if it is lost. */
#ifndef WET_SPEECH_KEEP_H
#define WET_SPEECH_KEEP_H

#include "wetside/errors.h"

#include <stddef.h>
#include <stdint.h>

#define WET_KEEP_KEY_BYTES 65             /* hexadecimal, with the NUL */
#define WET_KEEP_BYTES_MAX (64 << 20)     /* of all files together: about 300 sentences; beyond, the oldest go */

void wet_keep_key(const char *program, const char *voice, int rate_wpm, const char *text, char ret_key[WET_KEEP_KEY_BYTES]);
/* WET_ERR_NOT_FOUND: not there, or damaged and now removed. The samples are the caller's to free. */
int wet_keep_get(const char *folder, const char *key, int16_t **ret_sample, size_t *ret_samples);
/* Whole or not at all: written beside, then renamed. WET_ERR_FULL, _READONLY, _PERMISSION, _IO. */
int wet_keep_put(const char *folder, const char *key, const int16_t *sample, size_t samples);
/* Removes the oldest until no more than `bytes` are left. */
void wet_keep_trim(const char *folder, int64_t bytes);

#endif
