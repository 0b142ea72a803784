/* verbs_formula.c: formulas from raw chemicals. */
#include "client/client.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>

static void say_list(const json_t *result)
{
	size_t i;
	json_t *row;
	char line[512];
	json_array_foreach(json_object_get(result, "formulas"), i, row)
	{
		wet_text_format(line, sizeof line, "%-36s %s", text_of(row, "name"), text_of(row, "title"));
		say(line);
	}
	json_array_foreach(json_object_get(result, "faults"), i, row)
	{
		const char *text = json_string_value(row);
		fprintf(stderr, "not used: %s\n", wet_text_clean(line, sizeof line, text ? text : ""));
	}
}

static void say_weigh_out(const json_t *result)
{
	size_t i, k;
	json_t *row, *caution;
	char line[1024];
	wet_text_format(line, sizeof line, "%s, %s", text_of(result, "title"), text_of(result, "makes"));
	say(line);
	if (json_is_true(json_object_get(result, "needs_acknowledgement"))) {
		wet_text_format(line, sizeof line, "Hazardous: read it and acknowledge it once before you mix it: wetside safety %s --acknowledge",
						text_of(result, "name"));
		say(line);
	}
	say("Before anything else:");
	json_array_foreach(json_object_get(result, "cautions"), i, row)
	{
		const char *text = json_string_value(row);
		wet_text_format(line, sizeof line, "  ! %s", text ? text : "");
		say(line);
	}
	const json_t *hazards = json_object_get(result, "hazards");
	if (text_of(hazards, "signal")[0] || json_array_size(json_object_get(hazards, "lines")) > 0) {
		wet_text_format(line, sizeof line, "As mixed, %s%s%s%s%s",
						text_of(hazards, "signal")[0] ? "it is classified so: " : "without a signal word:", text_of(hazards, "signal"),
						text_of(hazards, "pictograms")[0] ? " (" : "", text_of(hazards, "pictograms"),
						text_of(hazards, "pictograms")[0] ? ")" : "");
		say(line);
	}
	json_array_foreach(json_object_get(hazards, "lines"), i, row)
	{
		const char *text = json_string_value(row);
		wet_text_format(line, sizeof line, "    %s", text ? text : "");
		say(line);
	}
	json_array_foreach(json_object_get(hazards, "unknown"), i, row)
	{
		const char *text = json_string_value(row);
		wet_text_format(line, sizeof line, "    not known here, and not counted: %s", text ? text : "");
		say(line);
	}
	if (text_of(result, "measured")[0])
		say(text_of(result, "measured"));
	say("In this order, each dissolved before the next:");
	json_array_foreach(json_object_get(result, "steps"), i, row)
	{
		wet_text_format(line, sizeof line, "%3d. %s", (int)i + 1, text_of(row, "text"));
		say(line);
		json_array_foreach(json_object_get(row, "cautions"), k, caution)
		{
			wet_text_format(line, sizeof line, "     ! %s", json_string_value(caution));
			say(line);
		}
	}
	wet_text_format(line, sizeof line, "Use: %s", text_of(result, "use"));
	say(line);
	say("Where the amounts come from:");
	json_array_foreach(json_object_get(result, "sources"), i, row)
	{
		wet_text_format(line, sizeof line, "  %s", json_string_value(row) ? json_string_value(row) : "");
		say(line);
	}
	say("To be led through it, step by step: the same with --guide.");
}

/* Read before the first powder is opened; but what can't be mixed is told without it. */
static int say_note(struct session *s, const json_t *params)
{
	static const char *const keys[] = { "name", "make", "own", "scale", "measure" };
	json_t *note = NULL, *asked = json_object();
	for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
		if (json_object_get(params, keys[i]))
			(void)json_object_set(asked, keys[i], json_object_get(params, keys[i]));
	int rc = ask(s, "formula.compute", asked, NULL);
	if (rc == DONE)
		rc = ask(s, "safety.get", json_pack("{s:s}", "name", text_of(params, "name")), &note);
	if (rc == DONE)
		say(text_of(note, "note"));
	json_decref(note);
	return rc;
}

static void say_ready(const json_t *result)
{
	char line[512];
	const char *name = text_of(json_object_get(result, "run"), "name");
	if (text_of(result, "told")[0])
		say(text_of(result, "told"));
	wet_text_format(line, sizeof line, "Ready as %s. First: %s", name, text_of(result, "text"));
	say(line);
	if (json_is_false(json_object_get(result, "stored")))
		say("NOT STORED yet: the disk is behind; the run goes on.");
	wet_text_format(line, sizeof line,
					"When it is done: wetside go --run %s; at its end the solution is on the shelf. What now: wetside where "
					"--run %s",
					name, name);
	say(line);
}

/* Led through it, as a run. */
static int guide(struct session *s, json_t *params, bool watches)
{
	json_t *result = NULL;
	char name[64];
	if (!json_object_get(params, "person"))
		(void)json_object_set_new(params, "person", json_string(person_name()));
	int rc = s->is_json || s->is_quiet ? DONE : say_note(s, params);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	rc = ask(s, "run.mix", params, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	else if (rc == DONE && !s->is_quiet)
		say_ready(result);
	if (rc == DONE && watches) {
		const json_t *run = json_object_get(result, "run");
		wet_text_copy(name, sizeof name, text_of(run, "name"));
		rc = watch_run(s, name, json_integer_value(json_object_get(run, "id")));
	}
	json_decref(result);
	return rc;
}

/* What belongs to a run only is a mistake of usage without one. */
static int check_options(struct session *s, const json_t *params, bool is_guide)
{
	static const char *const of_run[] = { "run", "room", "person", "group", "bottle", "bath", "no_beat", "watch" };
	char text[160];
	for (size_t i = 0; i < sizeof of_run / sizeof of_run[0] && !is_guide; i++) {
		if (!json_object_get(params, of_run[i]))
			continue;
		wet_text_format(text, sizeof text, "formula: --%s goes with --guide; try: wetside formula --help",
						strcmp(of_run[i], "no_beat") == 0 ? "no-beat" : of_run[i]);
		return fail(s, USAGE, text);
	}
	return DONE;
}

int verb_formula(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "make", "make", TEXT },
											  { "own", "own", LIST },
											  { "scale", "scale", TEXT },
											  { "measure", "measure", TEXT },
											  { "guide", "guide", FLAG },
											  { "watch", "watch", FLAG },
											  { "bottle", "bottle", TEXT },
											  { "bath", "bath", TEXT },
											  { "run", "run", TEXT },
											  { "room", "room", TEXT },
											  { "person", "person", TEXT },
											  { "no-beat", "no_beat", FLAG },
											  { "group", "group", FLAG },
											  { NULL, NULL, TEXT } };
	static const char *const keys[] = { "name", NULL };
	json_t *params = json_object(), *result = NULL;
	bool is_list = argc < 2;
	int rc = read_args(s, argc, argv, rows, is_list ? NULL : keys, params);
	bool is_guide = json_object_get(params, "guide") != NULL, watches = json_object_get(params, "watch") != NULL;
	if (rc == DONE)
		rc = check_options(s, params, is_guide);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	(void)json_object_del(params, "guide");
	(void)json_object_del(params, "watch");
	if (is_guide)
		return guide(s, params, watches);
	rc = ask(s, is_list ? "formula.list" : "formula.compute", params, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	else if (rc == DONE && is_list)
		say_list(result);
	else if (rc == DONE)
		say_weigh_out(result);
	json_decref(result);
	return rc;
}
