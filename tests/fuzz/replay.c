/* replay.c: feeds files, and all files of folders, to a fuzz target in a build without a fuzzer. A missing or empty
 * corpus is a failure: a replay of nothing proves nothing. */
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define INPUT_BYTES_MAX (4 * 1024 * 1024) /* the largest input of a corpus is far below */

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

static long replay_file(const char *path)
{
	FILE *file = fopen(path, "rb");
	if (file == NULL) {
		perror(path);
		return -1;
	}
	/* Exactly as large as the input, so that AddressSanitizer sees a read past its end. */
	long length = fseek(file, 0, SEEK_END) == 0 ? ftell(file) : -1;
	if (length < 0 || length > INPUT_BYTES_MAX) {
		fprintf(stderr, "%s: cannot be read, or over %d bytes\n", path, INPUT_BYTES_MAX);
		fclose(file);
		return -1;
	}
	rewind(file);
	size_t n = (size_t)length;
	uint8_t *bytes = malloc(n > 0 ? n : 1);
	size_t got = bytes != NULL ? fread(bytes, 1, n, file) : 0;
	fclose(file);
	if (bytes == NULL || got != n) {
		fprintf(stderr, "%s: short read\n", path);
		free(bytes);
		return -1;
	}
	LLVMFuzzerTestOneInput(bytes, n);
	free(bytes);
	return 1;
}

static long replay_path(const char *path)
{
	struct stat st;
	if (stat(path, &st) != 0) {
		perror(path);
		return -1;
	}
	if (!S_ISDIR(st.st_mode))
		return replay_file(path);
	DIR *folder = opendir(path);
	if (folder == NULL) {
		perror(path);
		return -1;
	}
	long total = 0;
	for (struct dirent *entry = readdir(folder); entry != NULL && total >= 0; entry = readdir(folder)) {
		if (entry->d_name[0] == '.')
			continue;
		char inner[4096];
		int length = snprintf(inner, sizeof inner, "%s/%s", path, entry->d_name);
		long got = length > 0 && (size_t)length < sizeof inner ? replay_path(inner) : -1;
		total = got < 0 ? -1 : total + got;
	}
	closedir(folder);
	return total;
}

int main(int argc, char **argv)
{
	long total = 0;
	for (int i = 1; i < argc; i++) {
		long got = replay_path(argv[i]);
		if (got < 0)
			return 1;
		total += got;
	}
	if (total == 0) {
		fprintf(stderr, "usage: %s FILE|FOLDER...: no input was found\n", argv[0]);
		return 1;
	}
	printf("%ld inputs replayed\n", total);
	return 0;
}
