/* session.c: asking the daemon, and reading what was typed. */
#include "client/client.h"

#include "base/text.h"
#include "wetside/run.h"
#include "wire/place.h"
#include "wire/rpc.h"

#include <pwd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <time.h>
#include <unistd.h>

#define LOOK_MS 2000 /* a look for the dark waits no longer */

int status_of(int err)
{
	switch (err) {
	case WET_ERR_NO_DAEMON: return NO_DAEMON;
	case WET_ERR_UNKNOWN: return UNKNOWN_OUTCOME;
	case WET_ERR_INTERNAL:
	case WET_ERR_NOMEM:
	case WET_ERR_PARSE:
	case WET_ERR_REQUEST: return INTERNAL;
	case WET_ERR_PARAMS:
	case WET_ERR_WHICH:
	case WET_ERR_TOO_LONG: return USAGE;
	default: return REFUSED;
	}
}

const char *person_name(void)
{
	const char *name = getlogin();
	const struct passwd *user = name ? NULL : getpwuid(getuid());
	return name ? name : user ? user->pw_name : "";
}

void say(const char *text)
{
	size_t n = strlen(text) + 1;
	char *clean = malloc(n);
	if (!clean)
		return;
	/* Line by line: a newline of ours is no control byte of theirs. */
	for (const char *p = text; *p;) {
		size_t m = strcspn(p, "\n");
		char *line = strndup(p, m);
		if (line)
			puts(wet_text_clean(clean, n, line));
		free(line);
		p += m + (p[m] == '\n');
	}
	free(clean);
}

void say_meets(const char *head, const json_t *meets)
{
	size_t i;
	json_t *row;
	char line[1024];
	if (json_array_size(meets) > 0)
		say_wrapped(head);
	json_array_foreach(meets, i, row)
	{
		wet_text_format(line, sizeof line, "  %s", text_of(row, "text"));
		say_wrapped(line);
	}
}

void say_emergency(void)
{
	fputs(WET_EMERGENCY_TEXT "\n", stderr);
}

void say_json(const json_t *json)
{
	char *text;
	size_t n;
	if (wet_json_text(json, &text, &n) == 0) {
		puts(text);
		free(text);
	}
}

const char *text_of(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));
	return text ? text : "";
}

int fail(struct session *s, int status, const char *text)
{
	char clean[768];
	if (isatty(STDERR_FILENO) && must_be_dark(s))
		return status;
	wet_text_clean(clean, sizeof clean, text);
	if (s->is_json) {
		json_t *e = json_pack("{s:i, s:s}", "status", status, "message", clean);
		char *line;
		size_t n;
		if (e && wet_json_text(e, &line, &n) == 0) {
			fprintf(stderr, "%s\n", line);
			free(line);
		}
		json_decref(e);
	} else {
		fprintf(stderr, "wetside: %s\n", clean);
	}
	return status;
}

int ask(struct session *s, const char *method, json_t *params, json_t **ret_result)
{
	struct wet_fault fault = { 0 };
	json_t *result = NULL, *error = NULL;
	char line[768];
	int rc = WET_OK;
	if (!s->connection)
		rc = wet_connection_open(s->socket, CALL_MS, &s->connection, &fault);
	if (rc == 0)
		rc = wet_connection_call(s->connection, method, params, CALL_MS, &result, &error, &fault);
	else
		json_decref(params);
	if (rc == 0) {
		if (ret_result)
			*ret_result = result;
		else
			json_decref(result);
		json_decref(error);
		return DONE;
	}
	fault.err = rc;
	if (s->is_json && error) {
		char *text;
		size_t n;
		if (!(isatty(STDERR_FILENO) && must_be_dark(s)) && wet_json_text(error, &text, &n) == 0) {
			fprintf(stderr, "%s\n", text);
			free(text);
		}
	} else if (rc == WET_ERR_REFUSED || rc == WET_ERR_STALE || rc == WET_ERR_REPEAT) {
		(void)fail(s, status_of(rc), fault.want); /* the sentence says it all */
	} else {
		(void)fail(s, status_of(rc), wet_fault_line(&fault, line, sizeof line));
	}
	json_decref(error);
	return status_of(rc);
}

/* A run is dark where its room is; one that isn't told of may be in any. */
bool is_dark_for(const json_t *status, const char *name)
{
	const json_t *dark = json_object_get(status, "dark"), *run, *here = NULL;
	size_t i;
	if (json_integer_value(json_object_get(status, "dark_count")) > (json_int_t)json_array_size(dark))
		return true; /* not all of them are told */
	json_array_foreach(json_object_get(status, "runs"), i, run)
	{
		if (strcmp(name, text_of(run, "name")) == 0 && (!here || text_of(here, "outcome")[0]))
			here = run;
	}
	json_array_foreach(dark, i, run)
	{
		if (!name[0] || !here || strcmp(text_of(run, "room"), text_of(here, "room")) == 0)
			return true;
	}
	return false;
}

/* Asked before the act, as a refusal carries no light with it. */
int look_for_dark(struct session *s, const char *name, bool *ret_is_dark)
{
	json_t *result = NULL;
	int rc;
	*ret_is_dark = false;
	if (!isatty(STDOUT_FILENO) && !isatty(STDERR_FILENO))
		return DONE;
	if ((rc = ask(s, "status.get", NULL, &result)) != DONE)
		return rc;
	*ret_is_dark = is_dark_for(result, name);
	s->room = *ret_is_dark ? DARK : LIGHT;
	json_decref(result);
	return DONE;
}

void add_token(json_t *params)
{
	unsigned char bytes[12];
	char text[32] = "";
	if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes)
		return;
	for (size_t i = 0; i < sizeof bytes; i++)
		wet_text_append(text, sizeof text, "%02x", bytes[i]);
	(void)json_object_set_new(params, "token", json_string(text));
}

void say_when(json_int_t wall_ms, char *buf, size_t bytes)
{
	time_t t = (time_t)(wall_ms / 1000);
	struct tm tm;
	buf[0] = '\0';
	if (wall_ms > 0 && localtime_r(&t, &tm))
		(void)strftime(buf, bytes, "%Y-%m-%d %H:%M", &tm);
}

bool must_be_dark(struct session *s)
{
	struct wet_connection *connection = NULL;
	struct wet_fault fault = { 0 };
	json_t *result = NULL;
	if (s->room == NOT_LOOKED && (isatty(STDOUT_FILENO) || isatty(STDERR_FILENO)) &&
		(s->socket[0] || wet_place_socket(s->socket, sizeof s->socket, &fault) == 0) &&
		wet_connection_open(s->socket, LOOK_MS, &connection, &fault) == 0 &&
		wet_connection_call(connection, "status.get", NULL, LOOK_MS, &result, NULL, &fault) == 0 &&
		is_dark_for(result, ""))
		s->room = DARK;
	if (s->room == NOT_LOOKED)
		s->room = LIGHT;
	json_decref(result);
	wet_connection_close(connection);
	return s->room == DARK;
}

static int usage(struct session *s, const char *verb, const char *what, const char *word)
{
	char text[256], clean[64];
	wet_text_clean(clean, sizeof clean, word);
	wet_text_format(text, sizeof text, "%s: %s '%s'; try: wetside %s --help", verb, what, clean, verb);
	return fail(s, USAGE, text);
}

static int set_option(struct session *s, const char *verb, const struct option_row *row, const char *value,
					  json_t *params)
{
	json_t *list;
	char *end;
	if ((row->kind == TEXT || row->kind == LIST) && !wet_text_is_utf8(value, strlen(value)))
		return usage(s, verb, "this is not UTF-8:", value);
	switch (row->kind) {
	case FLAG: (void)json_object_set_new(params, row->key, json_true()); return DONE;
	case NUMBER: {
		long long n = strtoll(value, &end, 10);
		if (*end || end == value)
			return usage(s, verb, "a whole number is needed, not", value);
		(void)json_object_set_new(params, row->key, json_integer(n));
		return DONE;
	}
	case LIST:
		list = json_object_get(params, row->key);
		if (!list) {
			list = json_array();
			(void)json_object_set_new(params, row->key, list);
		}
		(void)json_array_append_new(list, json_string(value));
		return DONE;
	default:
		(void)json_object_set_new(params, row->key, json_string(value));
		return DONE;
	}
}

int read_args(struct session *s, int argc, char **argv, const struct option_row *rows,
			  const char *const *keys, json_t *params)
{
	bool only_words = false;
	for (int i = 1; i < argc; i++) {
		if (!only_words && strcmp(argv[i], "--") == 0) {
			only_words = true;
			continue;
		}
		if (only_words || argv[i][0] != '-' || argv[i][1] != '-') {
			if (!keys || !*keys)
				return usage(s, argv[0], "one argument too many:", argv[i]);
			struct option_row word = { "", *keys++, TEXT };
			if (set_option(s, argv[0], &word, argv[i], params) != DONE)
				return USAGE;
			continue;
		}
		const char *name = argv[i] + 2, *value = strchr(name, '=');
		size_t n = value ? (size_t)(value - name) : strlen(name);
		const struct option_row *row = rows;
		while (row && row->name && !(strlen(row->name) == n && strncmp(row->name, name, n) == 0))
			row++;
		if (!row || !row->name)
			return usage(s, argv[0], "there is no option", argv[i]);
		if (row->kind == FLAG && value)
			return usage(s, argv[0], "this option takes no value:", argv[i]);
		if (row->kind != FLAG) {
			if (value)
				value++;
			else if (i + 1 < argc)
				value = argv[++i];
			else
				return usage(s, argv[0], "a value is missing after", argv[i]);
		}
		if (set_option(s, argv[0], row, value, params) != DONE)
			return USAGE;
	}
	if (keys && *keys && strcmp(*keys, "?") != 0 && !json_object_get(params, *keys)) {
		char text[160];
		wet_text_format(text, sizeof text, "%s: the %s is missing; try: wetside %s --help", argv[0],
						strcmp(*keys, "by") == 0 ? "time" : *keys, argv[0]);
		return fail(s, USAGE, text);
	}
	return DONE;
}
