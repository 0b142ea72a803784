/* light.c: is the room dark? Told by the daemon, for each real run with open paper. */
#include "client/watch.h"

#include "base/text.h"

#include <string.h>
#include <unistd.h>

/* A digit may choose a tank of another room; the screen stays where it was. */
bool is_here(const struct view *v, const char *room)
{
	return !v->room[0] || strcmp(room, v->room) == 0 || strcmp(room, v->first_room) == 0;
}

void judge_dark(struct view *v)
{
	v->is_dark = v->is_dark_full;
	for (int i = 0; i < v->dark_count; i++)
		v->is_dark = v->is_dark || is_here(v, v->dark[i].room);
}

void set_dark(struct view *v, const json_t *run, bool is_dark)
{
	int64_t id = json_integer_value(json_object_get(run, "id"));
	int kept = 0;
	for (int i = 0; i < v->dark_count; i++)
		if (v->dark[i].id != id)
			v->dark[kept++] = v->dark[i];
	v->dark_count = kept;
	if (is_dark && kept == DARK_RUNS)
		v->is_dark_full = true;
	if (is_dark && kept < DARK_RUNS) {
		v->dark[kept].id = id;
		wet_text_copy(v->dark[kept].room, sizeof v->dark[kept].room, text_of(run, "room"));
		v->dark_count++;
	}
	judge_dark(v);
}

void set_light(struct view *v)
{
	v->dark_count = 0;
	v->is_dark_full = v->is_dark = v->is_unsure = false;
}

/* Before the first line, because news of one run is told before that of another. */
static void take_dark(struct view *v, const json_t *status)
{
	json_t *run;
	size_t i;
	set_light(v);
	json_array_foreach(json_object_get(status, "dark"), i, run)
		set_dark(v, run, true);
	v->is_dark_full = json_integer_value(json_object_get(status, "dark_count")) > (json_int_t)i;
	judge_dark(v);
	v->session->room = LIGHT; /* from here on may_write says it */
}

static void find_room(struct view *v, const json_t *status)
{
	json_t *run;
	size_t i;
	json_array_foreach(json_object_get(status, "runs"), i, run)
	{
		if (json_integer_value(json_object_get(run, "id")) == v->id)
			wet_text_copy(v->room, sizeof v->room, text_of(run, "room"));
	}
	if (!v->first_room[0])
		wet_text_copy(v->first_room, sizeof v->first_room, v->room);
}

void take_sound(struct view *v, const json_t *status)
{
	const json_t *sound = json_object_get(status, "sound");
	v->scene.sound[0] = '\0';
	if (strcmp(text_of(sound, "health"), "well") != 0)
		(void)wet_text_clean(v->scene.sound, sizeof v->scene.sound, text_of(sound, "text"));
}

static void take_tanks(struct view *v, const json_t *status)
{
	json_t *run;
	size_t i;
	v->scene.count = 0;
	v->scene.watched = -1;
	json_array_foreach(json_object_get(status, "runs"), i, run)
		(void)scene_take(&v->scene, run, v->id);
	take_sound(v, status);
}

static int call_silent(struct view *v, const char *method, json_t **ret_result)
{
	struct wet_fault fault = { 0 };
	int rc = wet_connection_call(v->session->connection, method, NULL, CALL_MS, ret_result, NULL, &fault);
	return rc == 0 ? DONE : status_of(rc);
}

int follow(struct view *v, bool is_silent)
{
	json_t *status = NULL, *result = NULL;
	int rc = is_silent ? call_silent(v, "status.get", &status) : ask(v->session, "status.get", NULL, &status);
	if (rc == DONE) {
		find_room(v, status);
		take_dark(v, status);
		take_tanks(v, status);
		v->seen = 0; /* another daemon counts what it tells from the start */
		rc = is_silent ? call_silent(v, "changes.follow", &result) : ask(v->session, "changes.follow", NULL, &result);
	}
	json_decref(status);
	json_decref(result);
	return rc;
}

bool may_write(const struct view *v, int fd)
{
	return !(v->is_dark || v->is_unsure) || !isatty(fd);
}
