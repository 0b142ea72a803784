#include "wav_read.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static uint32_t le(const unsigned char *at, int bytes)
{
	uint32_t value = 0;

	for (int i = 0; i < bytes; i++) value |= (uint32_t)at[i] << (8 * i);
	return value;
}

static unsigned char *read_whole(const char *path, size_t *ret_bytes)
{
	FILE *file = fopen(path, "rb");
	unsigned char *bytes = NULL;
	long end;

	if (!file) return NULL;
	if (fseek(file, 0, SEEK_END) == 0 && (end = ftell(file)) > 0 && fseek(file, 0, SEEK_SET) == 0
	    && (bytes = malloc((size_t)end))) {
		*ret_bytes = fread(bytes, 1, (size_t)end, file);
		if (*ret_bytes != (size_t)end) {
			free(bytes);
			bytes = NULL;
		}
	}
	fclose(file);
	return bytes;
}

/* The comment of a LIST INFO chunk. */
static void find_comment(const unsigned char *list, size_t bytes, char *comment, size_t comment_bytes)
{
	if (bytes < 4 || memcmp(list, "INFO", 4) != 0) return;
	for (size_t at = 4; at + 8 <= bytes;) {
		size_t size = le(list + at + 4, 4);

		if (at + 8 + size > bytes) return;
		if (memcmp(list + at, "ICMT", 4) == 0)
			snprintf(comment, comment_bytes, "%.*s", (int)size, (const char *)list + at + 8);
		at += 8 + size + size % 2;
	}
}

int16_t *wav_read(const char *path, size_t *ret_frames, unsigned *ret_rate, char *comment, size_t comment_bytes)
{
	size_t bytes = 0;
	unsigned char *file = read_whole(path, &bytes);
	int16_t *samples = NULL;
	bool is_ours = false;

	if (!file || bytes < 12 || memcmp(file, "RIFF", 4) != 0 || memcmp(file + 8, "WAVE", 4) != 0) goto out;
	if (le(file + 4, 4) + 8u > bytes) goto out; /* it claims more than there is */
	for (size_t at = 12; at + 8 <= bytes;) {
		size_t size = le(file + at + 4, 4);
		const unsigned char *body = file + at + 8;

		if (at + 8 + size > bytes) goto out;
		if (memcmp(file + at, "fmt ", 4) == 0 && size >= 16) {
			is_ours = le(body, 2) == 1 && le(body + 2, 2) == 1 && le(body + 14, 2) == 16;
			*ret_rate = le(body + 4, 4);
		} else if (memcmp(file + at, "LIST", 4) == 0 && comment) {
			find_comment(body, size, comment, comment_bytes);
		} else if (memcmp(file + at, "data", 4) == 0 && is_ours) {
			samples = calloc(size / 2 + 1, sizeof *samples);
			for (size_t i = 0; samples && i < size / 2; i++) samples[i] = (int16_t)(uint16_t)le(body + 2 * i, 2);
			*ret_frames = size / 2;
			break;
		}
		at += 8 + size + size % 2;
	}
out:
	free(file);
	return samples;
}
