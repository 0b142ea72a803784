/* watch.c: what sounds and what the hands do next, as lines while the run lives; keys act, each answers with a sound. */
#include "client/watch.h"

#include "base/text.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

volatile sig_atomic_t watch_is_stopped;
static struct termios saved_terminal;
static volatile sig_atomic_t is_raw;

static void restore_terminal(void)
{
	if (is_raw)
		(void)tcsetattr(STDIN_FILENO, TCSANOW, &saved_terminal);
	is_raw = 0;
}

static void stop(int signum)
{
	(void)signum;
	watch_is_stopped = 1;
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
	(void)sigaction(SIGQUIT, &action, NULL);
	/* Stopped, the shell would write to the screen and the keys would be dead. */
	(void)signal(SIGTSTP, SIG_IGN);
	raw = saved_terminal;
	raw.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
	raw.c_iflag &= ~(tcflag_t)(IXON | IXOFF); /* Ctrl-S would stop the lines, and with them the keys */
	raw.c_cc[VMIN] = 0;
	raw.c_cc[VTIME] = 0;
	if (tcsetattr(STDIN_FILENO, TCSANOW, &raw) == 0) {
		is_raw = 1;
		(void)atexit(restore_terminal);
	}
}

#define WAIT_MS_MAX 60000

void wait_for_input(struct view *v, int fd, bool has_keys, int ms)
{
	struct pollfd fds[3] = { { fd, POLLIN, 0 }, { has_keys ? STDIN_FILENO : -1, POLLIN, 0 }, { STDOUT_FILENO, 0, 0 } };
	if (poll(fds, 3, ms) < 0) {
		v->is_left = v->is_left || errno != EINTR;
		return;
	}
	v->is_left = v->is_left || ((fds[1].revents | fds[2].revents) & (POLLHUP | POLLERR | POLLNVAL)) != 0;
}

/* The daemon went while paper lies open. Nothing is written, and nothing by the shell either, that would come next; the keys
 * are what the person has. So it is waited for. */
static bool came_back(struct view *v)
{
	struct session *s = v->session;
	while (!watch_is_stopped && !v->is_left) {
		struct wet_fault fault = { 0 };
		unsigned char byte;
		wet_connection_close(s->connection);
		s->connection = NULL;
		if (wet_connection_open(s->socket, CALL_MS, &s->connection, &fault) == 0 && follow(v, true) == DONE)
			return true;
		wait_for_input(v, -1, true, AGAIN_MS);
		while (read(STDIN_FILENO, &byte, 1) == 1) {
			char key = keyboard_take(&v->keyboard, byte);
			if (key == 'q' && may_write(v, STDOUT_FILENO))
				return false;
			if (key != KEY_EMERGENCY)
				continue;
			set_light(v);
			say_emergency();
			return false;
		}
	}
	return false;
}

static void print_line(struct view *v, const struct heard_line *l)
{
	int64_t shown_us = v->bath_us >= 0 ? l->run_us - v->bath_us : l->run_us;
	/* Begin is known to a microsecond of boot time, a hundred of run time at rate 100: 0:59.9999 is 1:00. */
	int64_t s = ((shown_us < 0 ? -shown_us : shown_us) + 10000) / 1000000;
	char text[400];
	bool is_before = shown_us < 0 && s > 0;
	if (v->is_sparse)
		wet_text_format(text, sizeof text, "Time: %s%lld:%02d. %c%s: %s", is_before ? "-" : "", (long long)(s / 60), (int)(s % 60),
						l->word[0] >= 'a' && l->word[0] <= 'z' ? l->word[0] - 'a' + 'A' : l->word[0], l->word[0] ? l->word + 1 : "",
						l->text);
	else
		wet_text_format(text, sizeof text, "%s%lld:%02d  %-11s %s", is_before ? "-" : " ", (long long)(s / 60), (int)(s % 60),
						l->word, l->text);
	say(text);
	if (fflush(stdout) != 0)
		watch_is_stopped = 1; /* nobody reads any more */
}

/* The state, where one is due that nobody asked for. */
static void print_state(struct view *v)
{
	char line[1400];
	if (!v->is_sparse || plain_next_us(v) > boot_us() || !may_write(v, STDOUT_FILENO))
		return;
	v->has_news = false;
	v->unasked_us = boot_us();
	plain_state(v, line, sizeof line);
	say(line);
	if (fflush(stdout) != 0)
		watch_is_stopped = 1;
}

static void print_due(struct view *v)
{
	while (v->count > 0 && v->lines[0].at_us <= boot_us()) {
		bool is_news = v->is_sparse && plain_is_news(v, &v->lines[0]);
		if (!is_news && may_write(v, STDOUT_FILENO))
			print_line(v, &v->lines[0]);
		memmove(&v->lines[0], &v->lines[1], sizeof v->lines[0] * (size_t)(v->count - 1));
		v->count--;
	}
	print_state(v);
}

/* In order of time: a planned cue is told a little ahead of an answer that comes before it. */
static void add_line(struct view *v, int64_t at_us, int64_t run_us, const char *word, const char *text)
{
	if (v->count == HEARD_LINES)
		return;
	int i = v->count++;
	for (; i > 0 && v->lines[i - 1].at_us > at_us; i--)
		v->lines[i] = v->lines[i - 1];
	struct heard_line *l = &v->lines[i];
	l->at_us = at_us;
	l->run_us = run_us;
	wet_text_copy(l->word, sizeof l->word, word);
	wet_text_copy(l->text, sizeof l->text, text);
}

/* A line when another stage began, and the moment the first bath began if we were here before it. */
static void tell_stage(struct view *v, const json_t *run)
{
	int64_t stage = json_integer_value(json_object_get(run, "stage"));
	int64_t now_us = json_integer_value(json_object_get(run, "now_us"));
	int64_t begin_us = json_integer_value(json_object_get(run, "begin_us"));
	double ago_us = (double)(now_us - begin_us) * json_number_value(json_object_get(run, "rate"));
	int64_t run_us = json_integer_value(json_object_get(run, "run_us"));
	int64_t bath_us = json_integer_value(json_object_get(run, "first_bath_run_us"));
	/* A stage that waits to be begun, or a clock that makes no sense: now. */
	if (begin_us > 0 && ago_us >= 0 && ago_us <= (double)run_us)
		run_us -= (int64_t)ago_us;
	if (bath_us >= 0 && v->bath_us < 0 && !v->is_first)
		add_line(v, begin_us, run_us, "begin", text_of(run, "stage_name"));
	v->bath_us = bath_us;
	if (stage < 0 || stage == v->stage)
		return;
	v->stage = stage;
	add_line(v, begin_us > 0 && begin_us < now_us ? begin_us : now_us, run_us, "stage",
			 text_of(run, "stage_name"));
}

const char *course_of(const json_t *run, char *buf, size_t bytes)
{
	wet_text_copy(buf, bytes, "");
	if (text_of(run, "warmth")[0])
		wet_text_format(buf, (unsigned)bytes, "%s ends at %s. %s", text_of(run, "stage_name"), text_of(run, "end"),
						text_of(run, "warmth"));
	return buf;
}

static void take_cues(struct view *v, const json_t *run)
{
	size_t i;
	json_t *cue, *cues = json_object_get(run, "cues");
	bool is_answered = false;
	char course[sizeof v->course];
	json_array_foreach(cues, i, cue)
	{
		int64_t seq = json_integer_value(json_object_get(cue, "seq"));
		if (seq <= v->seen)
			continue;
		v->seen = seq;
		is_answered = is_answered || strcmp(text_of(cue, "word"), "answer") == 0;
		add_line(v, json_integer_value(json_object_get(cue, "at_us")),
				 json_integer_value(json_object_get(cue, "run_us")), text_of(cue, "word"),
				 text_of(cue, "text"));
	}
	/* A reading was answered, or what is known of the bath's temperature has become another. */
	if (is_answered && course_of(run, course, sizeof course)[0] && strcmp(course, v->course) != 0) {
		wet_text_copy(v->course, sizeof v->course, course);
		add_line(v, json_integer_value(json_object_get(run, "now_us")), json_integer_value(json_object_get(run, "run_us")),
				 "warmth", course);
	}
}

void take_run(struct view *v, const json_t *run)
{
	bool is_ours = json_integer_value(json_object_get(run, "id")) == v->id;
	if (is_ours)
		wet_text_copy(v->room, sizeof v->room, text_of(run, "room"));
	set_dark(v, run, json_is_true(json_object_get(run, "is_dark")));
	(void)scene_take(&v->scene, run, v->id);
	if (!is_ours)
		return;
	int64_t number = json_integer_value(json_object_get(run, "number"));
	if (number != v->number)
		v->scene.told[0] = '\0'; /* it was about what is over */
	v->number = number;
	if (!v->is_page) {
		if (v->is_first && !v->session->is_json && may_write(v, STDOUT_FILENO)) {
			char line[400];
			wet_text_format(line, sizeof line, "%s: %s", v->run, text_of(run, "doing"));
			say(line);
			v->unasked_us = boot_us();
		}
		tell_stage(v, run);
		v->is_first = false;
		take_cues(v, run);
	}
	if (text_of(run, "outcome")[0]) {
		v->is_over = true;
		wet_text_copy(v->outcome, sizeof v->outcome, text_of(run, "outcome"));
	}
}

/* False: it is dark. */
static bool say_gone(struct view *v, int status)
{
	if (!may_write(v, STDERR_FILENO))
		return false;
	(void)fail(v->session, status, "the daemon has gone; the run goes on when it comes back; start it: wetsided");
	return true;
}

/* How long until a line is due. A signal just before the poll is seen a second later at most. */
static int wait_ms(const struct view *v)
{
	int64_t next_us = plain_next_us(v);
	if (v->count > 0 && v->lines[0].at_us < next_us)
		next_us = v->lines[0].at_us;
	if (next_us == INT64_MAX)
		return 1000;
	int64_t us = next_us - boot_us();
	return us <= 0 ? 0 : us / 1000 >= WAIT_MS_MAX ? WAIT_MS_MAX : (int)(us / 1000 + 1);
}

static int watch_lines(struct view *v)
{
	struct session *s = v->session;
	int rc = DONE;
	while (rc == DONE && !watch_is_stopped && !v->is_left && !(v->is_over && v->count == 0)) {
		if (!wet_connection_has_next(s->connection))
			wait_for_input(v, wet_connection_fd(s->connection), is_raw, wait_ms(v));
		int got;
		if (!take_news(v, &got)) {
			rc = status_of(got);
			bool is_told = say_gone(v, rc);
			if (is_raw && came_back(v)) {
				rc = DONE; /* who stands at the keys waits for it */
				continue;
			}
			if (!is_told)
				(void)say_gone(v, rc);
			break;
		}
		if (s->is_json)
			v->count = 0;
		print_due(v);
		if (is_raw && !take_keys(v))
			break;
	}
	restore_terminal();
	return rc;
}

static int watch_on_lines(struct view *v)
{
	int rc = follow(v, false);
	if (rc == DONE && !v->session->no_input)
		read_keys();
	if (rc == DONE && is_raw && !v->session->is_json && may_write(v, STDOUT_FILENO))
		say("Keys: space goes on, + longer, h hold, u undo, w where, t reading,\n"
			"      r resume, a abandon (three times), e EMERGENCY, q leaves the watch.");
	return rc == DONE ? watch_lines(v) : rc;
}

static int watch_with(struct session *s, const char *run, int64_t id, json_t *begin)
{
	struct view *v = calloc(1, sizeof *v);
	if (!v) {
		json_decref(begin);
		return INTERNAL;
	}
	v->session = s;
	v->bath_us = -1;
	v->stage = -1;
	v->told_stage = -2;
	v->heard = -1;
	v->scene.watched = -1;
	v->is_first = true;
	v->id = id;
	wet_text_copy(v->run, sizeof v->run, run);
	v->is_page = page_is_possible(s);
	v->is_sparse = !s->is_json && (s->is_plain || isatty(STDOUT_FILENO));
	int rc = v->is_page ? watch_on_page(v, begin) : watch_on_lines(v);
	if (rc == DONE && v->is_over && !s->is_json && may_write(v, STDOUT_FILENO)) {
		char line[140];
		wet_text_format(line, sizeof line, "%s: %s.", v->run, v->outcome);
		say(line);
	}
	free(v);
	return rc;
}

int watch_run(struct session *s, const char *run, int64_t id)
{
	return watch_with(s, run, id, NULL);
}

int watch_begin(struct session *s, json_t *begin)
{
	char name[64] = "";
	int64_t id = 0;
	int rc = find_watched(s, text_of(begin, "run"), name, sizeof name, &id);
	if (rc == DONE)
		return watch_with(s, name, id, begin);
	json_decref(begin);
	return rc;
}

/* Which run: the one named, or the one that lives. Looked up without an act, as an act is heard. */
int find_watched(struct session *s, const char *wanted, char *ret_name, size_t bytes, int64_t *ret_id)
{
	json_t *result = NULL, *run;
	size_t i, n = 0;
	char text[400] = "";
	int rc = ask(s, "status.get", NULL, &result);
	if (rc != DONE)
		return rc;
	json_array_foreach(json_object_get(result, "runs"), i, run)
	{
		const char *name = text_of(run, "name");
		if (wanted[0] ? strcmp(name, wanted) != 0 || n > 0 : text_of(run, "outcome")[0] != '\0')
			continue; /* live ones are listed first */
		n++;
		*ret_id = json_integer_value(json_object_get(run, "id"));
		wet_text_copy(ret_name, bytes, name);
		wet_text_append(text, sizeof text, " %s", name);
	}
	json_decref(result);
	if (n == 1 || (n > 1 && !wanted[0] && page_is_possible(s)))
		return DONE; /* on a page the digits choose */
	if (wanted[0])
		return fail(s, USAGE, "watch: there is no run of that name; wetside status lists them");
	if (n == 0)
		return fail(s, USAGE,
					"watch: there is no run; arm one (wetside arm RECIPE) or hear one (wetside "
					"rehearse RECIPE)");
	char line[480];
	wet_text_format(line, sizeof line, "watch: which run? give --run with one of:%s", text);
	return fail(s, USAGE, line);
}

int verb_watch(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "run", "run", TEXT },
											  { "until-end", "until_end", FLAG },
											  { "red", "red", FLAG },
											  { "screen", "screen", TEXT },
											  { NULL, NULL, TEXT } };
	json_t *params = json_object();
	char name[64] = "";
	int64_t id = 0;
	int rc = read_args(s, argc, argv, rows, NULL, params);
	if (rc == DONE)
		rc = take_red(s, params);
	if (rc == DONE)
		rc = find_watched(s, text_of(params, "run"), name, sizeof name, &id);
	json_decref(params);
	return rc == DONE ? watch_run(s, name, id) : rc;
}
