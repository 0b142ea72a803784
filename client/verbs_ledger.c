/* verbs_ledger.c: the whole ledger as JSON lines, out to a file or in from one.
 *
 * A file gets its name when it is whole: until then it stands beside it under another. What comes in is sent twice, first
 * to be checked from its first line to its last, then to be stored. */
#include "client/client.h"

#include "base/text.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define LINE_BYTES 24000 /* the daemon's own limit, rows.h */
#define BATCH_LINES 200

bool wants_exchange(int argc, char **argv)
{
	for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++) {
		if (strncmp(argv[i], "--export", 8) == 0 || strncmp(argv[i], "--import", 8) == 0)
			return true;
	}
	return false;
}

static int fail_file(struct session *s, const char *path, const char *what)
{
	char text[512];
	wet_text_format(text, sizeof text, "record: %s: %s", path, what);
	return fail(s, REFUSED, text);
}

static int fail_line(struct session *s, const char *path, long long line, const char *what)
{
	char text[160];
	wet_text_format(text, sizeof text, "line %lld: %s", line, what);
	return fail_file(s, path, text);
}

/* -- out ---------------------------------------------------------------------------- */

/* Every page to `out`. */
static int write_pages(struct session *s, FILE *out, const char *path, json_int_t *ret_count)
{
	json_t *cursor = NULL;
	for (;;) {
		json_t *params = json_object(), *result = NULL, *line;
		size_t i;
		if (cursor)
			(void)json_object_set_new(params, "cursor", cursor);
		int rc = ask(s, "record.export", params, &result);
		if (rc != DONE)
			return rc;
		json_array_foreach(json_object_get(result, "lines"), i, line)
		{
			if (json_is_string(line))
				fprintf(out, "%s\n", json_string_value(line));
		}
		*ret_count = json_integer_value(json_object_get(result, "count"));
		cursor = json_incref(json_object_get(result, "next"));
		json_decref(result);
		if (ferror(out)) {
			json_decref(cursor);
			return fail_file(s, path, strerror(errno));
		}
		if (!json_is_object(cursor)) {
			json_decref(cursor);
			return DONE;
		}
	}
}

static void say_exported(struct session *s, const char *path, json_int_t count)
{
	char line[512];
	if (s->is_json) {
		json_t *result = json_pack("{s:s, s:I}", "file", path, "lines", count);
		say_json(result);
		json_decref(result);
	} else if (!s->is_quiet) {
		wet_text_format(line, sizeof line, "%lld lines in %s.", (long long)count, path);
		say(line);
	}
}

static int export_to_output(struct session *s)
{
	json_int_t count = 0;
	int rc = write_pages(s, stdout, "standard output", &count);
	return rc == DONE && fflush(stdout) != 0 ? fail_file(s, "standard output", strerror(errno)) : rc;
}

static int export_to_file(struct session *s, const char *path)
{
	char beside[PATH_MAX];
	struct stat st;
	json_int_t count = 0;
	if (strlen(path) + 8 > sizeof beside)
		return fail(s, USAGE, "record: the file's path is too long");
	if (stat(path, &st) == 0 && !S_ISREG(st.st_mode))
		return fail_file(s, path, "this is no plain file; for standard output give -");
	wet_text_format(beside, sizeof beside, "%s.XXXXXX", path);
	int fd = mkstemp(beside);
	FILE *out = fd >= 0 ? fdopen(fd, "w") : NULL;
	if (!out) {
		int error = errno;
		if (fd >= 0) {
			close(fd);
			(void)unlink(beside);
		}
		return fail_file(s, path, strerror(error));
	}
	int rc = write_pages(s, out, path, &count);
	bool is_whole = fflush(out) == 0 && fsync(fd) == 0;
	is_whole = fclose(out) == 0 && is_whole;
	if (rc == DONE && (!is_whole || rename(beside, path) != 0))
		rc = fail_file(s, path, strerror(errno));
	if (rc != DONE)
		(void)unlink(beside);
	else
		say_exported(s, path, count);
	return rc;
}

/* -- in ----------------------------------------------------------------------------- */

struct reading {
	FILE *in;
	const char *path;
	bool is_check, is_complete;
	long long line_count;
	json_t *lines, *result; /* of this batch; the last answer */
	size_t batch_bytes;
	char line[LINE_BYTES + 2];
};

static int send_batch(struct session *s, struct reading *r)
{
	if (json_array_size(r->lines) == 0)
		return DONE;
	json_t *params = json_pack("{s:O, s:b}", "lines", r->lines, "check", r->is_check);
	json_decref(r->result);
	r->result = NULL;
	int rc = ask(s, "record.import", params, &r->result);
	json_array_clear(r->lines);
	r->batch_bytes = 0;
	if (rc == DONE)
		r->is_complete = json_is_true(json_object_get(r->result, "is_complete"));
	return rc;
}

/* The next line without its newline; its length, -1 at the end of the file, -2 if it is too long. */
static long next_line(struct reading *r)
{
	size_t n = 0;
	int c;
	while ((c = getc(r->in)) != EOF && c != '\n') {
		if (n > LINE_BYTES)
			return -2;
		r->line[n++] = (char)c;
	}
	return c == EOF && n == 0 ? -1 : (long)n;
}

static int send_line(struct session *s, struct reading *r, size_t n)
{
	if (n > LINE_BYTES)
		return fail_line(s, r->path, r->line_count,
						 "too long; an exported ledger has lines of under 24000 bytes");
	if (memchr(r->line, '\0', n) || !wet_text_is_utf8(r->line, n))
		return fail_line(s, r->path, r->line_count, "not text in UTF-8; export the ledger again");
	int rc = DONE;
	if (r->batch_bytes + n > LINE_BYTES || json_array_size(r->lines) == BATCH_LINES)
		rc = send_batch(s, r);
	if (rc == DONE && json_array_append_new(r->lines, json_stringn(r->line, n)) != 0)
		rc = fail(s, INTERNAL, "record: no memory");
	r->batch_bytes += n;
	return rc;
}

static int send_file(struct session *s, struct reading *r, bool is_check)
{
	long n = 0;
	int rc = DONE;
	r->is_check = is_check;
	r->is_complete = false;
	r->line_count = 0;
	r->batch_bytes = 0;
	json_array_clear(r->lines);
	rewind(r->in);
	while (rc == DONE && (n = next_line(r)) != -1) {
		r->line_count++;
		rc = send_line(s, r, n == -2 ? LINE_BYTES + 1 : (size_t)n);
	}
	if (rc == DONE && ferror(r->in))
		rc = fail_file(s, r->path, strerror(errno));
	if (rc == DONE)
		rc = send_batch(s, r);
	if (rc == DONE && !r->is_complete)
		rc = fail_line(s, r->path, r->line_count + 1,
					   "the end is missing, the file was cut; nothing was stored. Export the ledger again");
	return rc;
}

/* Standard input can't be read twice: it is copied first. */
static FILE *seekable(FILE *in)
{
	char bytes[4096];
	size_t n;
	if (fseek(in, 0, SEEK_SET) == 0)
		return in;
	FILE *copy = tmpfile();
	while (copy && (n = fread(bytes, 1, sizeof bytes, in)) > 0)
		if (fwrite(bytes, 1, n, copy) != n)
			break;
	if (copy && (ferror(in) || ferror(copy) || fflush(copy) != 0)) {
		fclose(copy);
		copy = NULL;
	}
	return copy;
}

static void say_imported(struct session *s, const json_t *result)
{
	static const char *const words[][2] = { { "recipe", "recipes" },
											{ "vessel", "vessels" },
											{ "acknowledgement", "acknowledgements" },
											{ "run", "runs" },
											{ "item", "on the shelf" },
											{ "plan", "kept plans" },
											{ "booking", "bookings" } };
	char line[160];
	if (s->is_json) {
		say_json(result);
		return;
	}
	for (size_t i = 0; i < sizeof words / sizeof words[0] && !s->is_quiet; i++) {
		wet_text_format(
			line, sizeof line, "%-17s %lld new, %lld there already", words[i][1],
			(long long)json_integer_value(json_object_get(json_object_get(result, "new"), words[i][0])),
			(long long)json_integer_value(json_object_get(json_object_get(result, "there"), words[i][0])));
		say(line);
	}
}

static int import_from(struct session *s, const char *path)
{
	bool is_input = strcmp(path, "-") == 0;
	FILE *file = is_input ? stdin : fopen(path, "re");
	struct reading *r = calloc(1, sizeof *r);
	json_t *lines = json_array();
	int rc = DONE;
	if (!file)
		rc = fail_file(s, path, strerror(errno));
	else if (!r || !lines)
		rc = fail(s, INTERNAL, "record: no memory");
	FILE *in = rc == DONE ? seekable(file) : NULL;
	if (rc == DONE && !in)
		rc = fail_file(s, path, strerror(errno));
	if (rc == DONE) {
		r->in = in;
		r->path = is_input ? "standard input" : path;
		r->lines = lines;
		rc = send_file(s, r, true);
		if (rc == DONE)
			rc = send_file(s, r, false);
		if (rc == DONE)
			say_imported(s, r->result);
		json_decref(r->result);
	}
	if (in && in != file)
		fclose(in);
	if (file && !is_input)
		fclose(file);
	json_decref(lines);
	free(r);
	return rc;
}

/* -- the options -------------------------------------------------------------------- */

int exchange(struct session *s, int argc, char **argv)
{
	const char *file = NULL;
	bool exports = false, imports = false, only_words = false;
	for (int i = 1; i < argc; i++) {
		const char *word = argv[i];
		if (!only_words && strcmp(word, "--") == 0) {
			only_words = true;
			continue;
		}
		bool is_option = !only_words && strncmp(word, "--", 2) == 0;
		if (is_option && strncmp(word, "--export", 8) == 0 && (word[8] == '\0' || word[8] == '=')) {
			exports = true;
			word = word[8] == '=' ? word + 9 : NULL;
		} else if (is_option && strncmp(word, "--import", 8) == 0 && (word[8] == '\0' || word[8] == '=')) {
			imports = true;
			word = word[8] == '=' ? word + 9 : NULL;
		} else if (is_option) {
			return fail(s, USAGE,
						"record: only --export or --import with one file; try: wetside record --help");
		}
		if (word && file)
			return fail(s, USAGE, "record: one file only; try: wetside record --help");
		if (word)
			file = word;
	}
	if (exports == imports)
		return fail(s, USAGE, "record: one of --export and --import; try: wetside record --help");
	if (file && !*file)
		return fail(s, USAGE, "record: the file's name is empty; try: wetside record --help");
	if (imports)
		return import_from(s, file ? file : "-");
	return !file || strcmp(file, "-") == 0 ? export_to_output(s) : export_to_file(s, file);
}
