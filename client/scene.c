/* scene.c: the daemon's answers as plain data. */
#include "client/scene.h"

#include "base/text.h"
#include "client/client.h"

#include <string.h>

static void take_text(const json_t *object, const char *key, char *buf, size_t bytes)
{
	char text[512];
	wet_text_copy(text, sizeof text, text_of(object, key));
	wet_text_clean(buf, bytes, text);
}

static int64_t number_of(const json_t *object, const char *key)
{
	const json_t *value = json_object_get(object, key);
	return json_is_integer(value) ? json_integer_value(value) : -1;
}

/* Within what can be subtracted and multiplied, whatever was told. */
#define TIME_US_MAX (INT64_MAX / 4)
static int64_t time_of(const json_t *object, const char *key)
{
	int64_t us = number_of(object, key);
	return us < -1 ? -1 : us > TIME_US_MAX ? TIME_US_MAX : us;
}

static bool is_set(const json_t *object, const char *key)
{
	return json_is_true(json_object_get(object, key));
}

static bool is_in(const json_t *list, const char *word)
{
	const json_t *row;
	size_t i;
	json_array_foreach((json_t *)list, i, row)
	{
		const char *text = json_string_value(row);
		if (text && strcmp(text, word) == 0)
			return true;
	}
	return false;
}

/* The last sentence: pips and beats have none. */
static void take_heard(struct scene_tank *t, const json_t *run)
{
	const json_t *cues = json_object_get(run, "cues");
	const json_t *cue;
	size_t i;
	json_array_foreach((json_t *)cues, i, cue)
	{
		/* Each act waits for the disk a moment; only what was told counts. */
		if (strcmp(text_of(cue, "word"), "not-stored") == 0)
			t->is_behind = !is_set(run, "is_stored");
		if (strcmp(text_of(cue, "word"), "sound") == 0)
			t->sound_seq = number_of(cue, "seq");
		if (text_of(cue, "text")[0] && number_of(cue, "at_us") <= t->now_us + 1000000)
			take_text(cue, "text", t->heard, sizeof t->heard);
	}
}

static void fill(struct scene_tank *t, const json_t *run)
{
	const json_t *darkens = json_object_get(run, "darkens");
	int64_t stage = number_of(run, "stage");
	bool was_behind = t->id == number_of(run, "id") && t->is_behind;
	*t = (struct scene_tank){ .is_behind = was_behind && !is_set(run, "is_stored"),
							  .id = number_of(run, "id"),
							  .number = number_of(run, "number"),
							  .now_us = time_of(run, "now_us"),
							  .begin_us = time_of(run, "begin_us"),
							  .hands_us = time_of(run, "hands_us"),
							  .pour_out_us = time_of(run, "pour_out_us"),
							  .aim_us = time_of(run, "aim_us"),
							  .most_us = time_of(run, "most_us"),
							  .rate = json_number_value(json_object_get(run, "rate")),
							  .stage = stage >= 0 && stage < WET_RECIPE_STAGES ? (int)stage : -1,
							  .is_rehearsal = is_set(run, "is_rehearsal"),
							  .is_dark = is_set(run, "is_dark"),
							  .is_overtime = is_set(run, "is_overtime"),
							  .is_uncertain = is_set(run, "is_uncertain"),
							  .is_held = is_set(run, "is_held"),
							  .is_late = is_set(run, "is_late"),
							  .next_waits = is_set(run, "next_waits"),
							  .wants_number = is_set(run, "wants_number"),
							  .begin_darkens = is_in(darkens, "begin"),
							  .go_darkens = is_in(darkens, "go"),
							  .undo_darkens = is_in(darkens, "undo"),
							  .resume_darkens = is_in(darkens, "resume") };
	if (!(t->rate > 0 && t->rate <= WET_RATE_MILLI_MAX / 1000.0))
		t->rate = 1;
	take_text(run, "name", t->name, sizeof t->name);
	take_text(run, "recipe", t->recipe, sizeof t->recipe);
	take_text(run, "stage_name", t->stage_name, sizeof t->stage_name);
	take_text(run, "room", t->room, sizeof t->room);
	take_text(run, "phase", t->phase, sizeof t->phase);
	take_text(run, "outcome", t->outcome, sizeof t->outcome);
	take_text(run, "light", t->light, sizeof t->light);
	take_text(run, "temperature", t->temperature, sizeof t->temperature);
	take_text(run, "doing", t->doing, sizeof t->doing);
	take_text(run, "hands", t->hands, sizeof t->hands);
	take_text(run, "next", t->next, sizeof t->next);
	take_text(run, "order", t->order, sizeof t->order);
	take_text(run, "doubt", t->doubt, sizeof t->doubt);
	take_text(run, "warmth", t->forecast, sizeof t->forecast);
	take_text(run, "end", t->end, sizeof t->end);
	take_heard(t, run);
}

static void drop(struct scene *s, int at)
{
	memmove(&s->tanks[at], &s->tanks[at + 1], sizeof s->tanks[0] * (size_t)(s->count - at - 1));
	s->count--;
}

int scene_take(struct scene *s, const json_t *run, int64_t watched_id)
{
	int64_t id = number_of(run, "id");
	int at = 0, kept = -1;
	while (at < s->count && s->tanks[at].id < id)
		at++;
	bool is_there = at < s->count && s->tanks[at].id == id;
	if (text_of(run, "outcome")[0] && id != watched_id) {
		if (is_there)
			drop(s, at);
	} else {
		if (!is_there && s->count == SCENE_TANKS) { /* the watched one has its place */
			int last = s->count - 1;
			if (id != watched_id)
				at = -1;
			else
				drop(s, last);
			at = at > last ? last : at;
		}
		if (!is_there && at >= 0) {
			memmove(&s->tanks[at + 1], &s->tanks[at], sizeof s->tanks[0] * (size_t)(s->count - at));
			s->tanks[at].id = -1;
			s->count++;
		}
		if (at >= 0)
			fill(&s->tanks[at], run);
		kept = at;
	}
	s->watched = -1;
	for (int i = 0; i < s->count; i++)
		if (s->tanks[i].id == watched_id)
			s->watched = i;
	return kept;
}

void scene_take_stages(struct scene *s, const json_t *stages)
{
	json_t *row;
	size_t i;
	s->stage_count = 0;
	json_array_foreach((json_t *)stages, i, row)
	{
		if (s->stage_count == WET_RECIPE_STAGES)
			return;
		struct scene_stage *stage = &s->stages[s->stage_count++];
		take_text(row, "name", stage->name, sizeof stage->name);
		take_text(row, "kind", stage->kind, sizeof stage->kind);
		take_text(row, "time", stage->time, sizeof stage->time);
		stage->is_done = is_set(row, "is_done");
	}
}

const struct scene_tank *scene_tank(const struct scene *s)
{
	return s->watched >= 0 && s->watched < s->count ? &s->tanks[s->watched] : NULL;
}

int scene_nth(const struct scene *s, int nth)
{
	for (int i = 0; i < s->count; i++)
		if (!s->tanks[i].outcome[0] && --nth == 0)
			return i;
	return -1;
}

int scene_live_count(const struct scene *s)
{
	int n = 0;
	for (int i = 0; i < s->count; i++)
		n += !s->tanks[i].outcome[0];
	return n;
}
