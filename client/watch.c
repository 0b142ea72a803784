/* watch.c: the line view: each cue as a line at its time, and single keys without echo.
 *
 * In dark and safelight of a real run nothing is written at all, and nothing of the terminal is touched: a lit screen
 * fogs paper. Keys still act; sound answers. */
#include "client/client.h"

#include "base/text.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static struct termios saved_terminal;
static volatile sig_atomic_t is_raw, is_stopped;

static void restore_terminal(void)
{
	if (is_raw)
		(void)tcsetattr(STDIN_FILENO, TCSANOW, &saved_terminal);
	is_raw = 0;
}

static void stop(int signum)
{
	(void)signum;
	is_stopped = 1;
}

static void read_keys(void)
{
	struct termios raw;
	struct sigaction action;
	if (!isatty(STDIN_FILENO) || tcgetattr(STDIN_FILENO, &saved_terminal) != 0)
		return;
	memset(&action, 0, sizeof action);
	action.sa_handler = stop;
	(void)sigaction(SIGINT, &action, NULL);
	(void)sigaction(SIGTERM, &action, NULL);
	(void)sigaction(SIGHUP, &action, NULL);
	raw = saved_terminal;
	raw.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
	raw.c_cc[VMIN] = 0;
	raw.c_cc[VTIME] = 0;
	if (tcsetattr(STDIN_FILENO, TCSANOW, &raw) == 0) {
		is_raw = 1;
		(void)atexit(restore_terminal);
	}
}

static int64_t boot_us(void)
{
	struct timespec t;
	(void)clock_gettime(CLOCK_BOOTTIME, &t);
	return (int64_t)t.tv_sec * 1000000 + t.tv_nsec / 1000;
}

#define LINES 64

struct line {
	int64_t seq, at_us;
	char text[320];
};

struct view {
	struct session *session;
	char run[64];
	int64_t seen, number, bath_us; /* run time of the first bath; -1: none yet */
	struct line lines[LINES];
	int count;
	bool is_dark, is_over, is_first;
	char outcome[32];
};

static void print_due(struct view *v, bool all)
{
	while (v->count > 0 && (all || v->lines[0].at_us <= boot_us())) {
		if (!v->is_dark || !isatty(STDOUT_FILENO)) {
			say(v->lines[0].text);
			(void)fflush(stdout);
		}
		memmove(&v->lines[0], &v->lines[1], sizeof v->lines[0] * (size_t)(v->count - 1));
		v->count--;
	}
}

static void add_line(struct view *v, const json_t *cue)
{
	int64_t run_us = json_integer_value(json_object_get(cue, "run_us"));
	int64_t shown = (v->bath_us >= 0 ? run_us - v->bath_us : run_us) / 100000;
	const char *word = text_of(cue, "word"), *text = text_of(cue, "text");
	if (v->count == LINES)
		return;
	/* In order of time: a planned cue is told a little ahead of an answer that comes before it. */
	int64_t at_us = json_integer_value(json_object_get(cue, "at_us"));
	int i = v->count++;
	for (; i > 0 && v->lines[i - 1].at_us > at_us; i--)
		v->lines[i] = v->lines[i - 1];
	struct line *l = &v->lines[i];
	l->seq = json_integer_value(json_object_get(cue, "seq"));
	l->at_us = at_us;
	int64_t s = (shown < 0 ? -shown : shown) / 10;
	wet_text_format(l->text, sizeof l->text, "%s%d:%02d  %-11s %s", shown < 0 ? "-" : " ", (int)(s / 60),
					(int)(s % 60), word, text);
}

static void take(struct view *v, const json_t *run)
{
	size_t i;
	json_t *cue;
	const char *light = text_of(run, "light");
	if (strcmp(text_of(run, "name"), v->run) != 0)
		return;
	v->is_dark = json_is_false(json_object_get(run, "is_rehearsal")) &&
				 (strcmp(light, "dark") == 0 || strcmp(light, "safelight") == 0);
	v->number = json_integer_value(json_object_get(run, "number"));
	if (v->is_first && !v->is_dark) {
		char line[400];
		wet_text_format(line, sizeof line, "%s: %s", v->run, text_of(run, "doing"));
		say(line);
		v->is_first = false;
	}
	json_array_foreach(json_object_get(run, "cues"), i, cue)
	{
		int64_t seq = json_integer_value(json_object_get(cue, "seq"));
		if (seq <= v->seen)
			continue;
		v->seen = seq;
		add_line(v, cue);
	}
	if (text_of(run, "outcome")[0]) {
		v->is_over = true;
		wet_text_copy(v->outcome, sizeof v->outcome, text_of(run, "outcome"));
	}
}

/* Keys found blind; each answers with a sound. */
static void act(struct view *v, char key)
{
	static const struct {
		char key;
		const char *method;
	} keys[] = { { ' ', "run.go" },          { '\n', "run.go" },   { '\r', "run.go" },  { '+', "run.longer" },
				 { 'l', "run.longer" },      { 'h', "run.hold" },  { 'u', "run.undo" }, { 'w', "run.where" },
				 { 'e', "emergency.raise" }, { 'r', "run.resume" } };
	for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
		if (keys[i].key != key)
			continue;
		json_t *params = json_object(), *result = NULL, *error = NULL;
		struct wet_fault fault = { 0 };
		if (key != 'e')
			(void)json_object_set_new(params, "run", json_string(v->run));
		if (key == ' ' || key == '\n' || key == '\r')
			(void)json_object_set_new(params, "number", json_integer(v->number));
		(void)wet_connection_call(v->session->connection, keys[i].method, params, CALL_MS, &result, &error,
								  &fault);
		json_decref(result);
		json_decref(error);
	}
}

static bool take_keys(struct view *v)
{
	char key;
	while (is_raw && read(STDIN_FILENO, &key, 1) == 1) {
		if (key == 'q')
			return false;
		act(v, key);
	}
	return true;
}

int watch_run(struct session *s, const char *run, bool until_end)
{
	struct view *v = calloc(1, sizeof *v);
	json_t *result = NULL;
	int rc = v ? DONE : INTERNAL;
	if (rc == DONE) {
		v->session = s;
		v->bath_us = -1;
		v->is_first = true;
		wet_text_copy(v->run, sizeof v->run, run);
		rc = ask(s, "changes.follow", NULL, &result);
		json_decref(result);
	}
	if (rc == DONE)
		read_keys();
	(void)until_end;
	while (rc == DONE && !is_stopped) {
		struct pollfd fds[2] = { { wet_connection_fd(s->connection), POLLIN, 0 },
								 { is_raw ? STDIN_FILENO : -1, POLLIN, 0 } };
		int wait_ms = -1;
		if (v->count > 0) {
			int64_t us = v->lines[0].at_us - boot_us();
			wait_ms = us <= 0 ? 0 : (int)(us / 1000 + 1);
		}
		if (v->is_over && v->count == 0)
			break;
		if (!wet_connection_has_next(s->connection) && poll(fds, 2, wait_ms) < 0 && errno != EINTR)
			break;
		json_t *news = NULL;
		struct wet_fault fault = { 0 };
		int got;
		while ((got = wet_connection_next(s->connection, 0, &news, &fault)) == 0) {
			const json_t *state = json_object_get(news, "params");
			if (s->is_json && (!v->is_dark || !isatty(STDOUT_FILENO)))
				say_json(state);
			take(v, state);
			json_decref(news);
		}
		if (got != WET_ERR_NOT_FOUND) {
			rc = fail(s, status_of(got),
					  "the daemon has gone; the run goes on when it comes back: start it again");
			break;
		}
		if (s->is_json)
			v->count = 0;
		print_due(v, false);
		if (!take_keys(v))
			break;
	}
	restore_terminal();
	if (rc == DONE && v->is_over && !s->is_json && (!v->is_dark || !isatty(STDOUT_FILENO))) {
		char line[100];
		wet_text_format(line, sizeof line, "%s: %s.", v->run, v->outcome);
		say(line);
	}
	free(v);
	return rc;
}

int verb_watch(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "run", "run", TEXT },
											  { "until-end", "until_end", FLAG },
											  { NULL, NULL, TEXT } };
	json_t *params = json_object(), *result = NULL;
	char name[64] = "";
	int rc = read_args(s, argc, argv, rows, NULL, params);
	wet_text_copy(name, sizeof name, text_of(params, "run"));
	json_decref(params);
	if (rc == DONE && !name[0]) {
		/* The one live run, as the daemon sees it. */
		rc = ask(s, "run.where", NULL, &result);
		if (rc == DONE)
			wet_text_copy(name, sizeof name, text_of(json_object_get(result, "run"), "name"));
		json_decref(result);
	}
	return rc == DONE ? watch_run(s, name, true) : rc;
}
