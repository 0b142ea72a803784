/* wav_read.h: for tests, a reader of WAV files of our own, strict about sizes. */
#ifndef WET_TESTS_WAV_READ_H
#define WET_TESTS_WAV_READ_H

#include <stddef.h>
#include <stdint.h>

/* 16 bit mono samples of a WAV file of any chunk order; the caller frees. NULL: not one, or a chunk claims more than
 * there is. comment (may be NULL) gets the text of ICMT in LIST INFO. */
int16_t *wav_read(const char *path, size_t *ret_frames, unsigned *ret_rate, char *comment, size_t comment_bytes);

#endif
