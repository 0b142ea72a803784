/* keep.c: the folder of spoken sentences. */
#include "speech/keep.h"

#include "base/text.h"
#include "sound/loudness.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <sha2.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MAGIC "wetside words 1\n" /* also the version of how samples are made: another one, another key */
#define MAGIC_BYTES 16
#define SUM_BYTES 64
#define HEADER_BYTES (MAGIC_BYTES + SUM_BYTES)
#define SUFFIX ".words"
#define FILES_MAX 4096 /* looked at when trimming; a folder that holds more is trimmed again the next time */

void wet_keep_key(const char *program, const char *voice, int rate_wpm, const char *text, char ret_key[WET_KEEP_KEY_BYTES])
{
	SHA2_CTX sum;
	char rate[16];
	wet_text_format(rate, sizeof rate, "%d", rate_wpm);
	/* Piece by piece: a long path must not push the text out, or one sentence would be taken for another. */
	const char *const all[] = { MAGIC, program, "\n", voice, "\n", rate, "\n", text, "\n" };
	SHA256Init(&sum);
	for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
		SHA256Update(&sum, (const uint8_t *)all[i], strlen(all[i]));
	(void)SHA256End(&sum, ret_key);
}

static int err_of(int error)
{
	switch (error) {
	case ENOENT: return WET_ERR_NOT_FOUND;
	case ENOSPC:
	case EDQUOT:
	case EFBIG: return WET_ERR_FULL;
	case EROFS: return WET_ERR_READONLY;
	case EACCES:
	case EPERM: return WET_ERR_PERMISSION;
	default: return WET_ERR_IO;
	}
}

static int path_of(const char *folder, const char *key, const char *suffix, char path[PATH_MAX])
{
	if (strlen(folder) + 1 + strlen(key) + strlen(suffix) >= PATH_MAX)
		return WET_ERR_TOO_LONG;
	wet_text_format(path, PATH_MAX, "%s/%s%s", folder, key, suffix);
	return WET_OK;
}

static bool read_all(int fd, char *bytes, size_t n)
{
	while (n > 0) {
		ssize_t got = read(fd, bytes, n);
		if (got < 0 && errno == EINTR)
			continue;
		if (got <= 0)
			return false;
		bytes += got;
		n -= (size_t)got;
	}
	return true;
}

static int write_all(int fd, const char *bytes, size_t n)
{
	while (n > 0) {
		ssize_t got = write(fd, bytes, n);
		if (got < 0 && errno == EINTR)
			continue;
		if (got <= 0)
			return got < 0 ? err_of(errno) : WET_ERR_IO;
		bytes += got;
		n -= (size_t)got;
	}
	return WET_OK;
}

static void make_header(const int16_t *sample, size_t samples, char header[HEADER_BYTES])
{
	char sum[SUM_BYTES + 1];
	memcpy(header, MAGIC, MAGIC_BYTES);
	(void)SHA256Data((const uint8_t *)sample, samples * sizeof *sample, sum);
	memcpy(header + MAGIC_BYTES, sum, SUM_BYTES);
}

/* Samples lie as this machine keeps them: the folder is its own. */
static bool read_file(int fd, int16_t **ret_sample, size_t *ret_samples)
{
	char header[HEADER_BYTES], want[HEADER_BYTES];
	struct stat st;
	if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode) || st.st_size <= HEADER_BYTES ||
		st.st_size > (off_t)(HEADER_BYTES + WET_SPEECH_SAMPLES_MAX * sizeof(int16_t)) || (st.st_size - HEADER_BYTES) % 2 != 0)
		return false;
	size_t samples = (size_t)(st.st_size - HEADER_BYTES) / sizeof(int16_t);
	int16_t *sample = malloc(samples * sizeof *sample);
	if (!sample)
		return false;
	if (read_all(fd, header, sizeof header) && read_all(fd, (char *)sample, samples * sizeof *sample)) {
		make_header(sample, samples, want);
		if (memcmp(header, want, sizeof want) == 0) {
			*ret_sample = sample;
			*ret_samples = samples;
			return true;
		}
	}
	free(sample);
	return false;
}

int wet_keep_get(const char *folder, const char *key, int16_t **ret_sample, size_t *ret_samples)
{
	char path[PATH_MAX];
	if (path_of(folder, key, SUFFIX, path) != 0)
		return WET_ERR_NOT_FOUND;
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
	if (fd < 0)
		return WET_ERR_NOT_FOUND;
	bool is_whole = read_file(fd, ret_sample, ret_samples);
	close(fd);
	if (!is_whole)
		(void)unlink(path);
	return is_whole ? WET_OK : WET_ERR_NOT_FOUND;
}

int wet_keep_put(const char *folder, const char *key, const int16_t *sample, size_t samples)
{
	char path[PATH_MAX], beside[PATH_MAX], header[HEADER_BYTES];
	if (path_of(folder, key, SUFFIX, path) != 0 || path_of(folder, key, ".new-XXXXXX", beside) != 0)
		return WET_ERR_TOO_LONG;
	int fd = mkostemp(beside, O_CLOEXEC);
	if (fd < 0)
		return err_of(errno);
	make_header(sample, samples, header);
	int rc = write_all(fd, header, sizeof header);
	if (rc == 0)
		rc = write_all(fd, (const char *)sample, samples * sizeof *sample);
	if (close(fd) != 0 && rc == 0)
		rc = err_of(errno);
	if (rc == 0 && rename(beside, path) != 0)
		rc = err_of(errno);
	if (rc != 0)
		(void)unlink(beside);
	return rc;
}

struct kept {
	int64_t bytes, changed_ns;
	char name[NAME_MAX + 1];
};

static int by_age(const void *a, const void *b)
{
	int64_t x = ((const struct kept *)a)->changed_ns, y = ((const struct kept *)b)->changed_ns;
	return x < y ? -1 : x > y;
}

/* Ours by their names: sentences, and what a daemon that was killed left beside. */
static bool is_ours(const char *name)
{
	return strspn(name, "0123456789abcdef") == SUM_BYTES &&
		   (strcmp(name + SUM_BYTES, SUFFIX) == 0 || strncmp(name + SUM_BYTES, ".new-", 5) == 0);
}

void wet_keep_trim(const char *folder, int64_t bytes)
{
	struct kept *list = calloc(FILES_MAX, sizeof *list);
	DIR *dir = list ? opendir(folder) : NULL;
	int64_t total = 0;
	size_t n = 0;
	const struct dirent *entry;
	while (dir && n < FILES_MAX && (entry = readdir(dir)) != NULL) {
		struct stat st;
		if (!is_ours(entry->d_name) || fstatat(dirfd(dir), entry->d_name, &st, AT_SYMLINK_NOFOLLOW) != 0)
			continue;
		list[n].bytes = st.st_size;
		list[n].changed_ns = st.st_mtim.tv_sec * INT64_C(1000000000) + st.st_mtim.tv_nsec;
		wet_text_copy(list[n].name, sizeof list[n].name, entry->d_name);
		total += st.st_size;
		n++;
	}
	if (dir && total > bytes)
		qsort(list, n, sizeof *list, by_age);
	for (size_t i = 0; dir && i < n && total > bytes; i++)
		if (unlinkat(dirfd(dir), list[i].name, 0) == 0)
			total -= list[i].bytes;
	if (dir)
		closedir(dir);
	free(list);
}
