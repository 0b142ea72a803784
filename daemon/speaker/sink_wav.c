#include "speaker/sink_wav.h"

#include "wetside/sound.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define COMMENT_BYTES 36 /* "origin_boot_ns=" and 20 digits, and the NUL, padded with NULs */
#define DATA_SIZE_AT (WET_WAV_HEADER_BYTES - 4)
#define MIX_SAMPLES 2048

static int err_from_errno(int error)
{
	switch (error) {
	case ENOSPC:
	case EDQUOT:
	case EFBIG: return WET_ERR_FULL;
	case EROFS: return WET_ERR_READONLY;
	case EACCES:
	case EPERM: return WET_ERR_PERMISSION;
	case ENOENT: return WET_ERR_NOT_FOUND;
	default: return WET_ERR_IO;
	}
}

static int write_all(int fd, const void *bytes, size_t n, int64_t at, size_t *ret_written)
{
	size_t written = 0;
	int rc = WET_OK;

	while (written < n) {
		ssize_t got = pwrite(fd, (const char *)bytes + written, n - written, (off_t)(at + (int64_t)written));

		if (got < 0 && errno == EINTR) continue;
		if (got <= 0) {
			rc = got < 0 ? err_from_errno(errno) : WET_ERR_IO;
			break;
		}
		written += (size_t)got;
	}
	if (ret_written) *ret_written = written;
	return rc;
}

/* Reads n bytes; what lies beyond the end of the file reads as zero. */
static int read_all(int fd, void *bytes, size_t n, int64_t at)
{
	size_t have = 0;

	memset(bytes, 0, n);
	while (have < n) {
		ssize_t got = pread(fd, (char *)bytes + have, n - have, (off_t)(at + (int64_t)have));

		if (got < 0 && errno == EINTR) continue;
		if (got < 0) return err_from_errno(errno);
		if (got == 0) break;
		have += (size_t)got;
	}
	return WET_OK;
}

/* RIFF is little-endian. */
static unsigned char *put_le(unsigned char *at, uint32_t value, int bytes)
{
	for (int i = 0; i < bytes; i++) *at++ = (unsigned char)(value >> (8 * i));
	return at;
}

static unsigned char *put_id(unsigned char *at, const char id[4])
{
	memcpy(at, id, 4);
	return at + 4;
}

static void put_header(const struct wet_wav *wav, unsigned char header[WET_WAV_HEADER_BYTES])
{
	uint32_t data_bytes = (uint32_t)wav->frames * 2;
	unsigned char *at = header;
	char comment[COMMENT_BYTES] = { 0 };

	at = put_id(at, "RIFF");
	at = put_le(at, data_bytes + WET_WAV_HEADER_BYTES - 8, 4);
	at = put_id(at, "WAVE");
	at = put_id(at, "fmt ");
	at = put_le(at, 16, 4);
	at = put_le(at, 1, 2); /* PCM */
	at = put_le(at, 1, 2); /* one channel */
	at = put_le(at, WET_SAMPLE_RATE, 4);
	at = put_le(at, WET_SAMPLE_RATE * 2, 4); /* bytes a second */
	at = put_le(at, 2, 2);                   /* bytes a frame */
	at = put_le(at, 16, 2);                  /* bits a sample */
	at = put_id(at, "LIST");
	at = put_le(at, 4 + 8 + COMMENT_BYTES, 4);
	at = put_id(at, "INFO");
	at = put_id(at, "ICMT");
	at = put_le(at, COMMENT_BYTES, 4);
	snprintf(comment, sizeof comment, "origin_boot_ns=%lld", (long long)wav->origin_ns);
	memcpy(at, comment, COMMENT_BYTES);
	at += COMMENT_BYTES;
	at = put_id(at, "data");
	at = put_le(at, data_bytes, 4);
	assert(at == header + WET_WAV_HEADER_BYTES);
}

/* Both sizes at once: the header is one small block, written whole. */
static int write_header(struct wet_wav *wav, int64_t frames)
{
	struct wet_wav next = *wav;
	unsigned char header[WET_WAV_HEADER_BYTES];
	int rc;

	next.frames = frames;
	put_header(&next, header);
	if ((rc = write_all(wav->fd, header, sizeof header, 0, NULL)) == 0) wav->frames = frames;
	return rc;
}

int wet_wav_open(struct wet_wav *wav, const char *path, int64_t origin_ns, struct wet_fault *reterr)
{
	struct stat st;
	int rc;

	*wav = (struct wet_wav){ .fd = -1, .origin_ns = origin_ns };
	wav->fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NONBLOCK, 0644);
	if (wav->fd < 0)
		return wet_fault_set(reterr, err_from_errno(errno), path, NULL, "a file that can be written: %s",
		                     strerror(errno));
	if (fstat(wav->fd, &st) != 0 || !S_ISREG(st.st_mode)) {
		wet_wav_close(wav);
		return wet_fault_set(reterr, WET_ERR_INVALID, path, NULL, "an ordinary file for the sound");
	}
	rc = ftruncate(wav->fd, 0) != 0 ? err_from_errno(errno) : write_header(wav, 0);
	if (rc == 0) return WET_OK;
	wet_wav_close(wav);
	return wet_fault_set(reterr, rc, path, NULL, "a file that can be written");
}

void wet_wav_close(struct wet_wav *wav)
{
	if (wav->fd >= 0) close(wav->fd);
	wav->fd = -1;
}

int64_t wet_wav_frame(const struct wet_wav *wav, int64_t at_ns)
{
	int64_t since_ns = at_ns - wav->origin_ns, per_ms = WET_SAMPLE_RATE / 1000;
	int64_t ms = since_ns / 1000000, rest_ns = since_ns % 1000000;

	if (rest_ns < 0) {
		ms--;
		rest_ns += 1000000;
	}
	return ms * per_ms + (rest_ns * per_ms + 500000) / 1000000;
}

/* One bounded step: what is there, plus ours. */
static int mix_step(struct wet_wav *wav, int64_t frame, const int16_t *pcm, size_t samples, size_t *ret_written)
{
	int64_t at = WET_WAV_HEADER_BYTES + frame * 2;
	unsigned char bytes[MIX_SAMPLES * 2];
	int16_t there[MIX_SAMPLES];
	size_t written = 0;
	int rc;

	if ((rc = read_all(wav->fd, bytes, samples * 2, at)) != 0) return rc;
	for (size_t i = 0; i < samples; i++)
		there[i] = (int16_t)(uint16_t)(bytes[2 * i] | bytes[2 * i + 1] << 8);
	wet_mix(there, pcm, samples);
	for (size_t i = 0; i < samples; i++) put_le(bytes + 2 * i, (uint16_t)there[i], 2);
	rc = write_all(wav->fd, bytes, samples * 2, at, &written);
	*ret_written = written / 2;
	return rc;
}

int wet_wav_mix(struct wet_wav *wav, int64_t frame, const int16_t *pcm, size_t samples, size_t *io_done)
{
	int rc = WET_OK;

	if (frame + (int64_t)*io_done < 0 || frame + (int64_t)samples > WET_WAV_FRAMES_MAX) return WET_ERR_FULL;
	while (rc == 0 && *io_done < samples) {
		size_t left = samples - *io_done, written = 0;

		rc = mix_step(wav, frame + (int64_t)*io_done, pcm + *io_done, left < MIX_SAMPLES ? left : MIX_SAMPLES,
		              &written);
		*io_done += written;
	}
	if (rc != 0) return rc;
	return frame + (int64_t)samples > wav->frames ? write_header(wav, frame + (int64_t)samples) : WET_OK;
}

int wet_wav_extend(struct wet_wav *wav, int64_t frames)
{
	if (frames <= wav->frames) return WET_OK;
	if (frames > WET_WAV_FRAMES_MAX) return WET_ERR_FULL;
	/* Never shorter: a tone may have been written further on before its header could be. */
	struct stat st;
	int64_t bytes = WET_WAV_HEADER_BYTES + frames * 2;

	if (fstat(wav->fd, &st) != 0) return err_from_errno(errno);
	if (st.st_size < bytes && ftruncate(wav->fd, (off_t)bytes) != 0) return err_from_errno(errno);
	return write_header(wav, frames);
}
