/* verbs_print.c: `print`: pages to hang up, take along or file. The client turns the daemon's answer into a document of blocks;
 * wetside-sheet, a program beside it, sets that. */
#include "client/print.h"

#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char **environ;

#define PROGRAM "wetside-sheet"
#define BATCH_LINES 100
#define BATCH_BYTES 8000

static const struct {
	const char *name, *needs;
	int (*make)(struct print *p, int argc, char **argv);
} kinds[] = {
	{ "process", "RECIPE", print_process }, /* the card for the wall */
	{ "times", "RECIPE", print_times },     /* time against temperature */
	{ "plan", "NAME", print_plan },         /* the mixing sheet of a kept plan */
	{ "record", "NUMBER", print_record },   /* one run as it was */
	{ "card", "--paper-index N [--direct-positive] ...", print_card }, /* for the pocket */
	{ "notes", "[--find WORDS]", print_notes }, /* the notebook, with room for contact prints */
	{ "cut", "--sheet SIZE --size SIZE [--pieces N] ...", print_cut },
};

/* -- blocks ------------------------------------------------------------------------------ */

void print_block(struct print *p, const char *kind, json_t *value)
{
	(void)json_array_append_new(p->blocks, json_pack("{s:o}", kind, value));
}

/* Nothing from a file or a person reaches the page with control bytes in it. */
static json_t *clean_text(const char *text)
{
	size_t bytes = strlen(text) + 1;
	char *clean = malloc(bytes);
	json_t *made = clean ? json_string(wet_text_clean(clean, bytes, text)) : NULL;
	free(clean);
	return made;
}

void print_text(struct print *p, const char *text)
{
	print_block(p, "text", clean_text(text));
}

void print_heading(struct print *p, const char *text)
{
	print_block(p, "heading", clean_text(text));
}

json_t *print_table(struct print *p, double size_pt, const char *const *titles)
{
	json_t *table = json_pack("{s:[], s:[], s:f}", "columns", "rows", "size_pt", size_pt);
	for (; *titles; titles++) {
		const char *colon = strchr(*titles, ':');
		(void)json_array_append_new(json_object_get(table, "columns"),
									json_pack("{s:s%, s:s}", "side", *titles, (size_t)(colon - *titles), "title", colon + 1));
	}
	print_block(p, "table", table);
	return table;
}

void print_title(struct print *p, const char *title, const char *subtitle)
{
	(void)json_object_set_new(p->document, "title", clean_text(title));
	(void)json_object_set_new(p->document, "subtitle", clean_text(subtitle));
}

/* -- the program beside us ---------------------------------------------------------------- */

/* Where we are installed, or built, it is too; else where the shell would find it. */
static void find_program(char *path, size_t bytes)
{
	char own[PATH_MAX];
	ssize_t n = readlink("/proc/self/exe", own, sizeof own - 1);
	static const char *const beside[] = { "", "sheet/" };
	if (n > 0) {
		own[n] = '\0';
		char *slash = strrchr(own, '/');
		for (size_t i = 0; slash && i < sizeof beside / sizeof beside[0]; i++) {
			wet_text_format(path, bytes, "%.*s/%s%s", (int)(slash - own), own, beside[i], PROGRAM);
			if (access(path, X_OK) == 0)
				return;
		}
	}
	wet_text_copy(path, bytes, PROGRAM);
}

static bool feed(int fd, const char *text, size_t bytes)
{
	while (bytes > 0) {
		ssize_t n = write(fd, text, bytes);
		if (n < 0 && errno == EINTR)
			continue;
		if (n <= 0)
			return false; /* it has ended, and its status says why */
		text += n;
		bytes -= (size_t)n;
	}
	return true;
}

static int run_sheet(struct session *s, const json_t *document, const char *path)
{
	char program[PATH_MAX], line[PATH_MAX + 80];
	char *argv[] = { program, (char *)"--output", (char *)path, NULL };
	posix_spawn_file_actions_t actions;
	int pipe_fds[2], status = 0, error;
	pid_t child = 0;
	char *text = json_dumps(document, JSON_COMPACT);
	if (!text || pipe2(pipe_fds, O_CLOEXEC) != 0) {
		free(text);
		return fail(s, INTERNAL, "print: out of memory, or of open files");
	}
	find_program(program, sizeof program);
	error = posix_spawn_file_actions_init(&actions);
	if (error == 0)
		error = posix_spawn_file_actions_adddup2(&actions, pipe_fds[0], STDIN_FILENO);
	if (error == 0)
		error = posix_spawnp(&child, program, &actions, NULL, argv, environ);
	(void)posix_spawn_file_actions_destroy(&actions);
	(void)close(pipe_fds[0]);
	if (error == 0)
		(void)feed(pipe_fds[1], text, strlen(text));
	(void)close(pipe_fds[1]);
	free(text);
	if (error != 0) {
		wet_text_format(line, sizeof line, "print: %s can't be started (%s); it is installed with wetside", PROGRAM, strerror(error));
		return fail(s, INTERNAL, line);
	}
	while (waitpid(child, &status, 0) < 0 && errno == EINTR)
		continue;
	if (WIFEXITED(status) && WEXITSTATUS(status) == 0)
		return DONE;
	if (WIFEXITED(status)) /* it has said why */
		return WEXITSTATUS(status) == 1 ? REFUSED : INTERNAL;
	return fail(s, INTERNAL, "print: wetside-sheet was ended by a signal; nothing was written");
}

/* -- the verb ------------------------------------------------------------------------------- */

static bool ends_well(const char *path)
{
	size_t n = strlen(path);
	return n > 4 && (strcmp(path + n - 4, ".pdf") == 0 || strcmp(path + n - 4, ".svg") == 0);
}

/* Takes an option and its value out of the words; NULL: it is not there; "" where its value is missing. */
static const char *take_option(int *argc, char **argv, const char *name, const char *other)
{
	const char *value = NULL;
	size_t n = strlen(name);
	int kept = 1;
	for (int i = 1; i < *argc; i++) {
		if (strcmp(argv[i], name) == 0 || (other && strcmp(argv[i], other) == 0))
			value = i + 1 < *argc ? argv[++i] : "";
		else if (strncmp(argv[i], name, n) == 0 && argv[i][n] == '=')
			value = argv[i] + n + 1;
		else
			argv[kept++] = argv[i];
	}
	*argc = kept;
	argv[kept] = NULL;
	return value;
}

static int find_kind(struct session *s, int argc, char **argv, size_t *ret_kind)
{
	char line[512] = "print: what? one of";
	for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
		if (argc > 1 && strcmp(argv[1], kinds[i].name) == 0) {
			*ret_kind = i;
			return DONE;
		}
		wet_text_append(line, sizeof line, "%s %s %s", i > 0 ? ";" : ":", kinds[i].name, kinds[i].needs);
	}
	return fail(s, USAGE, line);
}

static int check_common(struct session *s, const char *path, const char *paper, const char *units)
{
	if (!path || !ends_well(path))
		return fail(s, USAGE, "print: where to? --output FILE.pdf or FILE.svg");
	if (strcmp(paper, "A4") != 0 && strcmp(paper, "Letter") != 0)
		return fail(s, USAGE, "print: --paper can be A4 or Letter");
	if (strcmp(units, "metric") != 0 && strcmp(units, "us") != 0)
		return fail(s, USAGE, "print: --units can be metric or us");
	return DONE;
}

static int made(struct session *s, const char *path)
{
	char line[PATH_MAX + 40];
	if (s->is_json) {
		json_t *result = json_pack("{s:s}", "file", path);
		say_json(result);
		json_decref(result);
	} else if (!s->is_quiet) {
		wet_text_format(line, sizeof line, "Made %s.", path);
		say(line);
	}
	return DONE;
}

/* Every text that is shown, in the order of the walk; with `told` they are replaced by those. */
static void walk_texts(json_t *value, json_t *lines, const json_t *told, size_t *at)
{
	static const char *const kept[] = { "side", "label" };
	const char *key;
	json_t *one;
	void *next;
	size_t i;
	json_object_foreach_safe(value, next, key, one)
	{
		if (json_is_string(one) && strcmp(key, kept[0]) != 0 && strcmp(key, kept[1]) != 0) {
			if (told)
				(void)json_object_set(value, key, json_array_get(told, (*at)++));
			else
				(void)json_array_append(lines, one);
		} else if (!json_is_string(one)) {
			walk_texts(one, lines, told, at);
		}
	}
	for (i = 0; i < json_array_size(value); i++) {
		one = json_array_get(value, i);
		if (json_is_string(one) && told)
			(void)json_array_set(value, i, json_array_get(told, (*at)++));
		else if (json_is_string(one))
			(void)json_array_append(lines, one);
		else
			walk_texts(one, lines, told, at);
	}
}

static int add_us(struct print *p)
{
	json_t *lines = json_array(), *result = NULL, *both = json_pack("{s:O, s:O}", "blocks", p->blocks, "subtitle",
																	json_object_get(p->document, "subtitle"));
	json_t *told = json_array();
	size_t at = 0, next = 0;
	int rc = DONE;
	walk_texts(both, lines, NULL, &at);
	/* In batches, for a request may be only so long. */
	while (rc == DONE && next < json_array_size(lines)) {
		json_t *batch = json_array();
		for (size_t bytes = 0; next < json_array_size(lines) && json_array_size(batch) < BATCH_LINES && bytes < BATCH_BYTES; next++) {
			bytes += json_string_length(json_array_get(lines, next));
			(void)json_array_append(batch, json_array_get(lines, next));
		}
		rc = ask(p->session, "units.us", json_pack("{s:o}", "lines", batch), &result);
		(void)json_array_extend(told, json_object_get(result, "lines"));
		json_decref(result);
		result = NULL;
	}
	if (rc == DONE && json_array_size(told) == json_array_size(lines)) {
		walk_texts(both, NULL, told, &at);
		(void)json_object_set(p->document, "subtitle", json_object_get(both, "subtitle"));
	}
	json_decref(told);
	json_decref(lines);
	json_decref(both);
	return rc;
}

int verb_print(struct session *s, int argc, char **argv)
{
	const char *path = take_option(&argc, argv, "--output", "-o");
	const char *paper = take_option(&argc, argv, "--paper", NULL), *units = take_option(&argc, argv, "--units", NULL);
	char foot[80], day[16] = "";
	struct tm tm;
	time_t now = time(NULL);
	size_t kind = 0;
	paper = paper ? paper : "A4";
	units = units ? units : "metric";
	int rc = find_kind(s, argc, argv, &kind);
	if (rc == DONE)
		rc = check_common(s, path, paper, units);
	if (rc != DONE)
		return rc;
	if (localtime_r(&now, &tm))
		(void)strftime(day, sizeof day, "%Y-%m-%d", &tm);
	wet_text_format(foot, sizeof foot, "wetside print %s, %s", kinds[kind].name, day);
	struct print p = { .session = s, .is_us = strcmp(units, "us") == 0 };
	p.document = json_pack("{s:s, s:s, s:i, s:[]}", "paper", paper, "footer", foot, "size_pt", 11, "blocks");
	p.blocks = json_object_get(p.document, "blocks");
	rc = kinds[kind].make(&p, argc - 1, argv + 1);
	if (rc == DONE && p.is_us)
		rc = add_us(&p);
	if (rc == DONE)
		rc = run_sheet(s, p.document, path);
	json_decref(p.document);
	return rc == DONE ? made(s, path) : rc;
}
