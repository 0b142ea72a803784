/* watch_keys.c: keys that are found blind. Each is answered by a sound: the daemon's answer to the act, or the low one. */
#include "client/watch.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

int64_t boot_us(void)
{
	struct timespec t;
	(void)clock_gettime(CLOCK_BOOTTIME, &t);
	return (int64_t)t.tv_sec * 1000000 + t.tv_nsec / 1000;
}

static const struct {
	char key;
	const char *method;
	bool can_be_held; /* a key kept down presses harder */
} acts[] = { { '+', "run.longer", true },  { '=', "run.longer", true }, { 'l', "run.longer", true },
			 { 'h', "run.hold", false },   { 'u', "run.undo", false },  { 'w', "run.where", false },
			 { 'r', "run.resume", false }, { 'a', "run.abandon", true } };

/* -- sending ------------------------------------------------------------------------ */

bool take_news(struct view *v, int *ret_rc)
{
	struct wet_fault fault = { 0 };
	json_t *news = NULL;
	int got;
	while ((got = wet_connection_next(v->session->connection, 0, &news, &fault)) == 0) {
		const json_t *state = json_object_get(news, "params");
		take_run(v, state); /* first: it tells whether the light is out */
		if (v->session->is_json && json_integer_value(json_object_get(state, "id")) == v->id &&
			may_write(v, STDOUT_FILENO)) {
			say_json(state);
			if (fflush(stdout) != 0)
				watch_is_stopped = 1; /* nobody reads any more */
		}
		json_decref(news);
	}
	*ret_rc = got == WET_ERR_NOT_FOUND ? WET_OK : got;
	return got == WET_ERR_NOT_FOUND;
}

/* What the run's own news does not say. */
static void tell_fault(struct view *v, int rc, const struct wet_fault *fault)
{
	char line[768];
	bool is_heard = rc == WET_ERR_REFUSED || rc == WET_ERR_STALE || rc == WET_ERR_REPEAT || rc == WET_ERR_POLICY ||
					rc == WET_ERR_FIT || rc == WET_ERR_RANGE;
	(void)wet_fault_line(fault, line, sizeof line);
	if (!v->is_page && may_write(v, STDERR_FILENO))
		(void)fail(v->session, status_of(rc), line);
	else if (v->is_page && !is_heard && v->session->connection)
		(void)wet_text_clean(v->scene.told, sizeof v->scene.told, rc == WET_ERR_UNHEARD ? fault->want : line);
}

static bool darkens(const struct view *v, const char *method, const json_t *params)
{
	const struct scene_tank *t = scene_tank(&v->scene);
	if (!v->is_page || !t)
		return false;
	/* Without the number it will be refused. */
	bool is_asked = t->wants_number && !json_object_get(params, "heard") && !json_object_get(params, "unheard");
	return (strcmp(method, "run.begin") == 0 && t->begin_darkens && !is_asked) || (strcmp(method, "run.go") == 0 && t->go_darkens) ||
		   (strcmp(method, "run.undo") == 0 && t->undo_darkens) || (strcmp(method, "run.resume") == 0 && t->resume_darkens);
}

static int send_for(struct view *v, const char *method, json_t *params, json_t **ret_result)
{
	json_t *result = NULL;
	struct wet_fault fault = { 0 };
	bool is_blackened = darkens(v, method, params), was_unsure = v->is_unsure;
	int ignored;
	if (is_blackened) {
		page_blacken(v);
		v->is_unsure = true;
	}
	int rc = WET_ERR_NO_DAEMON;
	if (v->session->connection)
		rc = wet_connection_call(v->session->connection, method, params, CALL_MS, &result, NULL, &fault);
	else
		json_decref(params);
	if (rc != WET_ERR_UNKNOWN && rc != WET_ERR_NO_DAEMON && v->is_page) {
		(void)take_news(v, &ignored); /* what became of it stands before the answer */
		v->is_unsure = false;
	}
	if (rc == WET_ERR_NO_DAEMON)
		v->is_unsure = was_unsure; /* this one was not sent; the one before it may have been */
	if (rc != 0)
		tell_fault(v, rc, &fault);
	if (ret_result)
		*ret_result = result;
	else
		json_decref(result);
	return rc;
}

static json_t *for_run(const struct view *v)
{
	return json_pack("{s:s}", "run", v->run);
}

int send_act(struct view *v, const char *method, json_t *params)
{
	if (params && !json_object_get(params, "run"))
		(void)json_object_set_new(params, "run", json_string(v->run));
	return send_for(v, method, params, NULL);
}

/* -- what a key is -------------------------------------------------------------------- */

static void refuse_key(struct view *v)
{
	(void)send_act(v, "sound.refuse", for_run(v));
}

static void raise_emergency(struct view *v)
{
	set_light(v);
	v->is_reading = false;
	if (v->is_page) {
		v->scene.is_emergency = true;
		page_paint(v); /* before anybody is asked */
	}
	if (send_for(v, "emergency.raise", json_object(), NULL) == 0) {
		v->is_owed = false;
		/* From here on the runs say it; without one it stands until the next key. */
		v->scene.is_emergency = scene_live_count(&v->scene) == 0;
		return;
	}
	set_light(v);
	v->is_owed = v->is_page;
	if (!v->is_page)
		say_emergency();
}

/* The run that a digit names is watched from here on, and says where it is. */
static void choose_tank(struct view *v, int nth)
{
	int at = scene_nth(&v->scene, nth);
	if (at < 0) {
		refuse_key(v);
		return;
	}
	v->id = v->scene.tanks[at].id;
	v->scene.watched = at;
	v->told_stage = -2;
	v->heard = -1;
	wet_text_copy(v->run, sizeof v->run, v->scene.tanks[at].name);
	wet_text_copy(v->room, sizeof v->room, v->scene.tanks[at].room);
	v->number = v->scene.tanks[at].number;
	judge_dark(v);
	(void)send_act(v, "run.where", for_run(v));
}

static void press_digit(struct view *v, int digit)
{
	const struct scene_tank *t = scene_tank(&v->scene);
	if (t && t->wants_number && strcmp(t->phase, "ready") == 0)
		v->heard = digit;
	else if (v->is_page)
		choose_tank(v, digit);
	else
		refuse_key(v);
}

static void press_go(struct view *v, bool is_held)
{
	const struct scene_tank *t = scene_tank(&v->scene);
	json_t *params = for_run(v);
	if (v->is_page && t && strcmp(t->phase, "ready") == 0) {
		if (v->heard >= 0)
			(void)json_object_set_new(params, "heard", json_integer(v->heard));
		(void)send_act(v, "run.begin", params);
		v->heard = -1; /* a wrong one is asked for again */
		return;
	}
	(void)json_object_set_new(params, "number", json_integer(v->number));
	if (is_held)
		(void)json_object_set_new(params, "held", json_true());
	(void)send_act(v, "run.go", params);
}

/* -- a reading, stepped -------------------------------------------------------------- */

static void step_reading(struct view *v, int step)
{
	json_t *params = for_run(v), *result = NULL;
	if (v->is_reading) {
		(void)json_object_set_new(params, "bath", json_string(v->bath));
		(void)json_object_set_new(params, "from", json_string(v->temperature));
		(void)json_object_set_new(params, "step", json_integer(step));
	}
	if (send_for(v, "reading.step", params, &result) == 0) {
		v->is_reading = true;
		wet_text_copy(v->bath, sizeof v->bath, text_of(result, "bath"));
		wet_text_copy(v->temperature, sizeof v->temperature, text_of(result, "temperature"));
	}
	json_decref(result);
}

static void keep_reading(struct view *v)
{
	json_t *params = for_run(v);
	(void)json_object_set_new(params, "bath", json_string(v->bath));
	(void)json_object_set_new(params, "temperature", json_string(v->temperature));
	/* A doubted one is asked for again: the same key says it. */
	v->is_reading = send_act(v, "run.reading", params) == WET_ERR_REPEAT;
}

static void press_in_reading(struct view *v, char key)
{
	if (key == '+' || key == '=')
		step_reading(v, 1);
	else if (key == '-' || key == '_')
		step_reading(v, -1);
	else if (key == 't' || key == ' ')
		keep_reading(v);
	else {
		v->is_reading = false;
		refuse_key(v);
	}
}

/* -- one key --------------------------------------------------------------------------- */

static void press_act(struct view *v, char key, bool is_held)
{
	for (size_t i = 0; i < sizeof acts / sizeof acts[0]; i++) {
		if (acts[i].key != key)
			continue;
		json_t *params = for_run(v);
		if (is_held && acts[i].can_be_held)
			(void)json_object_set_new(params, "held", json_true());
		if (!is_held || acts[i].can_be_held)
			(void)send_act(v, acts[i].method, params);
		else
			json_decref(params);
		return;
	}
	if (!is_held)
		refuse_key(v);
}

bool press_key(struct view *v, char key, bool is_held)
{
	if (key == 'q' && !is_held && may_write(v, STDOUT_FILENO))
		return false; /* in the dark the shell would write to the screen */
	if (v->is_page && !v->is_owed)
		v->scene.is_emergency = false;
	bool was_help = v->scene.is_help;
	v->scene.is_help = false;
	v->scene.told[0] = '\0';
	if (key == KEY_EMERGENCY)
		raise_emergency(v);
	else if (v->scene.is_gone)
		wet_text_copy(v->scene.told, sizeof v->scene.told, "No daemon hears that key.");
	else if (v->is_reading && !is_held)
		press_in_reading(v, key);
	else if (key == '?' && v->is_page && may_write(v, STDOUT_FILENO))
		v->scene.is_help = !was_help;
	else if (key == ' ')
		press_go(v, is_held);
	else if (key == 't' && !is_held)
		step_reading(v, 0);
	else if (key >= '1' && key <= '9' && !is_held)
		press_digit(v, key - '0');
	else
		press_act(v, key, is_held);
	return true;
}

bool take_keys(struct view *v)
{
	unsigned char byte;
	while (read(STDIN_FILENO, &byte, 1) == 1) {
		char key = keyboard_take(&v->keyboard, byte);
		enum press press = key ? presses_take(&v->presses, key, boot_us()) : PRESS_REPEAT;
		if (press != PRESS_REPEAT && !press_key(v, key, press == PRESS_HELD))
			return false;
	}
	return true;
}
