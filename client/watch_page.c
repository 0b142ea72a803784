/* watch_page.c: the watch on the whole screen. What is shown is made by page.c from what the daemon told; the time runs down by
 * itself, so that nothing crosses the socket between changes. */
#include "client/watch.h"

#include "base/text.h"
#include "client/page.h"
#include "client/screen.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define TICK_MS_MAX 1000   /* while lit: a resize or a stop that came just before the wait */
#define DARK_MS_MAX 600000 /* nothing is to be done but keys and news */

bool page_is_possible(const struct session *s)
{
	return !s->is_json && !s->is_plain && !s->no_input && screen_is_possible();
}

bool blacken(struct session *s)
{
	if (!page_is_possible(s) || !screen_begin((enum screen_colours)s->colours))
		return false;
	screen_black();
	return true;
}

void unblacken(void)
{
	screen_end(true);
}

/* -- red -------------------------------------------------------------------------------- */

/* The run that will be watched is the fog test's own. */
static bool is_fog_test(struct session *s, const char *wanted)
{
	json_t *status = NULL, *run;
	size_t i;
	bool is_it = false;
	if (ask(s, "status.get", NULL, &status) == DONE)
		json_array_foreach(json_object_get(status, "runs"), i, run)
			is_it = is_it || (strcmp(text_of(run, "recipe"), FOG_TEST) == 0 && !text_of(run, "outcome")[0] &&
							  (!wanted[0] || strcmp(wanted, text_of(run, "name")) == 0));
	json_decref(status);
	return is_it;
}

/* DONE: it passed, or is being tested; else what to do was said. */
static int judge_red(struct session *s, const json_t *row, const char *run)
{
	char line[400], name[64], when[32];
	(void)wet_text_clean(name, sizeof name, s->screen);
	s->has_red = json_is_true(json_object_get(row, "is_passed"));
	if (s->has_red) {
		say_when(json_integer_value(json_object_get(row, "wall_ms")), when, sizeof when);
		wet_text_format(line, sizeof line,
						"%s passed its fog test on %s, %s away: never nearer, never brighter, and for half the time it passed.", name,
						when, text_of(row, "distance"));
		if (!s->is_quiet && !must_be_dark(s))
			say(line);
		return DONE;
	}
	if (is_fog_test(s, run))
		return DONE;
	wet_text_format(line, sizeof line,
					"watch: %s %s: no red view but in that test's own run (wetside arm " FOG_TEST
					", then watch it with --red --screen %s). What it told is kept with: wetside test screen-fog --screen %s "
					"--distance 60cm --passed",
					name, row ? "fogged paper in its test" : "has not passed a fog test", name, name);
	return fail(s, REFUSED, line);
}

int take_red(struct session *s, json_t *params)
{
	bool is_wanted = json_object_get(params, "red") != NULL;
	json_t *result = NULL;
	wet_text_copy(s->screen, sizeof s->screen, text_of(params, "screen"));
	(void)json_object_del(params, "red");
	(void)json_object_del(params, "screen");
	if (!is_wanted && !s->screen[0])
		return DONE;
	if (!is_wanted || !s->screen[0])
		return fail(s, USAGE, "watch: a red view is asked for with both: --red --screen NAME, as you call this screen");
	if (!page_is_possible(s) || !screen_has_red((enum screen_colours)s->colours))
		return fail(s, REFUSED,
					"watch: no red view here: it needs a whole screen with 256 fixed colours (TERM=xterm-256color), and colour wanted");
	int rc = ask(s, "screen.list", json_pack("{s:s}", "name", s->screen), &result);
	if (rc == DONE)
		rc = judge_red(s, json_array_get(json_object_get(result, "screens"), 0), text_of(params, "run"));
	json_decref(result);
	return rc;
}

/* The fog test itself needs the view that it tests, where its card slides, and nowhere else; and no other paper may lie open. */
static bool is_tested_now(const struct view *v)
{
	const struct scene_tank *t = scene_tank(&v->scene);
	if (!v->session->screen[0] || !t || strcmp(t->recipe, FOG_TEST) != 0 || v->is_dark_full || v->is_unsure)
		return false;
	for (int i = 0; i < v->dark_count; i++)
		if (v->dark[i].id != v->id && is_here(v, v->dark[i].room))
			return false;
	int at = t->stage;
	return at >= 0 && at < v->scene.stage_count &&
		   (strcmp(v->scene.stages[at].kind, "test") == 0 ||
			(at + 1 < v->scene.stage_count && strcmp(v->scene.stages[at + 1].kind, "test") == 0));
}

static bool may_be_red(const struct view *v)
{
	return !v->is_unsure && (v->session->has_red || is_tested_now(v));
}

/* -- what is shown -------------------------------------------------------------------- */

static void make_entry(struct view *v)
{
	struct scene *s = &v->scene;
	const struct scene_tank *t = scene_tank(s);
	s->entry[0] = '\0';
	if (v->is_reading)
		wet_text_format(s->entry, sizeof s->entry, "Reading of the %s: %s? + and - step it, t or space keeps it.", v->bath,
						v->temperature);
	else if (t && strcmp(t->phase, "ready") == 0 && v->heard >= 0)
		wet_text_format(s->entry, sizeof s->entry, "You heard %lld. Light off, cover the screen, then space begins.",
						(long long)v->heard);
	else if (t && strcmp(t->phase, "ready") == 0 && t->wants_number)
		wet_text_copy(s->entry, sizeof s->entry, "Which number did you hear, spoken or in pips? Press its digit.");
}

void page_paint(struct view *v)
{
	int rows, columns;
	v->scene.is_red = !may_write(v, STDOUT_FILENO);
	if (v->scene.is_red && !may_be_red(v)) {
		if (screen_is_lit())
			screen_black(); /* the room went dark by another's act: a lit page is worse than these bytes */
		return;
	}
	(void)screen_was_resized();
	screen_size(&rows, &columns);
	v->scene.now_us = boot_us();
	make_entry(v);
	page_fill(v->shown, &v->scene, rows, columns, screen_is_unicode());
	if (!screen_put(v->shown, v->scene.is_red))
		v->is_left = true;
}

void page_blacken(struct view *v)
{
	(void)v;
	screen_black();
}

/* -- what is known -------------------------------------------------------------------- */

/* The stages' times change with the stage. */
static void learn_stages(struct view *v)
{
	const struct scene_tank *t = scene_tank(&v->scene);
	struct wet_fault fault = { 0 };
	json_t *result = NULL;
	if (!t || v->scene.is_gone || t->stage == v->told_stage)
		return;
	if (wet_connection_call(v->session->connection, "run.stages", json_pack("{s:s}", "run", v->run), CALL_MS, &result, NULL,
							&fault) == 0)
		scene_take_stages(&v->scene, json_object_get(result, "stages"));
	v->told_stage = t->stage;
	json_decref(result);
}

/* A run's news says that the device was lost or is back; what of it, the status. */
static void learn_sound(struct view *v)
{
	const struct scene_tank *t = scene_tank(&v->scene);
	struct wet_fault fault = { 0 };
	json_t *status = NULL;
	if (!t || v->scene.is_gone || t->sound_seq == v->told_sound)
		return;
	v->told_sound = t->sound_seq;
	if (wet_connection_call(v->session->connection, "status.get", NULL, CALL_MS, &status, NULL, &fault) == 0)
		take_sound(v, status);
	json_decref(status);
}

static void lose_daemon(struct view *v)
{
	wet_connection_close(v->session->connection);
	v->session->connection = NULL;
	v->scene.is_gone = true;
	v->is_reading = false;
}

static void look_for_daemon(struct view *v)
{
	struct session *s = v->session;
	struct wet_fault fault = { 0 };
	json_t *result = NULL;
	if (wet_connection_open(s->socket, CALL_MS, &s->connection, &fault) != 0)
		return;
	/* Before anything else is known: what it tells of the light is after that. */
	if (v->is_owed &&
		wet_connection_call(s->connection, "emergency.raise", json_object(), CALL_MS, &result, NULL, &fault) == 0)
		v->is_owed = v->scene.is_emergency = false;
	json_decref(result);
	if (!v->is_owed && follow(v, true) == DONE) {
		v->scene.is_gone = false;
		v->scene.told[0] = '\0';
		v->told_stage = -2;
	} else {
		lose_daemon(v);
	}
}

/* The watched run is over: another one that lives is watched, if there is one. */
static bool go_to_another(struct view *v)
{
	int at = scene_nth(&v->scene, 1);
	if (at < 0)
		return false;
	const struct scene_tank *t = &v->scene.tanks[at];
	v->id = t->id;
	v->number = t->number;
	v->told_stage = -2;
	v->is_over = false;
	wet_text_copy(v->run, sizeof v->run, t->name);
	wet_text_copy(v->room, sizeof v->room, t->room);
	v->scene.watched = at;
	judge_dark(v);
	return true;
}

/* -- the loop --------------------------------------------------------------------------- */

static int wait_ms(const struct view *v)
{
	if (v->scene.is_gone)
		return AGAIN_MS;
	if (!screen_is_lit())
		return DARK_MS_MAX;
	int64_t next_us = page_next_us(&v->scene);
	int64_t left_ms = next_us < 0 ? TICK_MS_MAX : (next_us - boot_us()) / 1000 + 1;
	return left_ms < 0 ? 0 : left_ms > TICK_MS_MAX ? TICK_MS_MAX : (int)left_ms;
}

static void serve_stop(struct view *v)
{
	if (!screen_wants_stop() || !screen_is_lit() || !may_write(v, STDOUT_FILENO))
		return; /* in the dark the shell would write to the screen */
	screen_stop();
	/* Nobody knows how dark it became meanwhile. */
	v->is_unsure = true;
	if (!v->scene.is_gone && follow(v, true) != DONE)
		lose_daemon(v);
	v->is_unsure = false;
}

static void wait_for_something(struct view *v)
{
	struct wet_connection *c = v->session->connection;
	int rc = WET_OK;
	if (!(c && wet_connection_has_next(c)))
		wait_for_input(v, c ? wet_connection_fd(c) : -1, true, wait_ms(v));
	if (v->scene.is_gone)
		look_for_daemon(v);
	else if (!take_news(v, &rc))
		lose_daemon(v);
}

int watch_on_page(struct view *v, json_t *begin)
{
	int rc = follow(v, false);
	v->shown = rc == DONE ? calloc(1, sizeof *v->shown) : NULL;
	if (rc == DONE && (!v->shown || !screen_begin((enum screen_colours)v->session->colours)))
		rc = INTERNAL;
	if (rc == DONE && begin)
		(void)send_act(v, "run.begin", json_incref(begin));
	json_decref(begin);
	while (rc == DONE && !v->is_left) {
		serve_stop(v);
		learn_stages(v);
		learn_sound(v);
		page_paint(v);
		wait_for_something(v);
		if (!v->is_left && !take_keys(v))
			v->is_left = true;
		if (v->is_over && !go_to_another(v))
			break;
	}
	if (rc == DONE && v->scene.is_gone && !v->is_over)
		rc = NO_DAEMON;
	screen_end(may_write(v, STDOUT_FILENO));
	free(v->shown);
	return rc;
}
