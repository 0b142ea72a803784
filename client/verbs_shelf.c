/* verbs_shelf.c: recipes, safety, sounds, status, records. */
#include "client/client.h"

#include "base/text.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#define WARNINGS_MS 2000 /* a disk that is slower keeps no status back */

/* Is there a word besides options? (Every option of these verbs takes a value.) */
static bool has_word(int argc, char **argv)
{
	for (int i = 1; i < argc; i++) {
		if (strcmp(argv[i], "--") == 0)
			return i + 1 < argc;
		if (strncmp(argv[i], "--", 2) != 0)
			return true;
		i += strchr(argv[i], '=') == NULL;
	}
	return false;
}

int show(struct session *s, json_t *result)
{
	if (s->is_json)
		say_json(result);
	return s->is_json;
}

static void say_recipe(const json_t *result)
{
	const json_t *doc = json_object_get(result, "recipe");
	size_t i;
	json_t *stage;
	char line[512];
	say(text_of(result, "title"));
	json_array_foreach(json_object_get(doc, "stages"), i, stage)
	{
		const json_t *aim = json_object_get(stage, "aim");
		const char *time = json_is_object(aim) ? text_of(aim, "value") : text_of(stage, "aim");
		wet_text_format(line, sizeof line, "  %2d  %-12s %-18s %-6s %s", (int)i + 1, text_of(stage, "kind"),
						text_of(stage, "name"), time, text_of(stage, "bath"));
		say(line);
	}
	json_array_foreach(json_object_get(doc, "remarks"), i, stage)
	{
		wet_text_format(line, sizeof line, "  Note: %s", text_of(stage, "text"));
		say(line);
	}
	say_meets("What meets in it, worst first:", json_object_get(result, "meets"));
	const char *key;
	json_t *source;
	say("Sources:");
	json_object_foreach((json_t *)json_object_get(doc, "sources"), key, source)
	{
		wet_text_format(line, sizeof line, "  %s: %s", key,
						json_is_string(source) ? json_string_value(source) : "");
		say(line);
	}
}

int verb_recipe(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "stale-air", "stale_air", FLAG }, { NULL, NULL, TEXT } };
	static const char *const keys[] = { "name", NULL };
	json_t *params = json_object(), *result = NULL;
	size_t i;
	json_t *row;
	if (argc < 2) {
		json_decref(params);
		int rc = ask(s, "recipe.list", NULL, &result);
		if (rc == DONE && !show(s, result)) {
			json_array_foreach(json_object_get(result, "recipes"), i, row)
			{
				char line[400];
				if (strcmp(text_of(row, "kind"), "test") == 0)
					continue; /* listed apart: wetside test */
				wet_text_format(line, sizeof line, "%-32s %s", text_of(row, "name"), text_of(row, "title"));
				say(line);
			}
			json_array_foreach(json_object_get(result, "faults"), i, row)
			{
				char line[512];
				const char *text = json_string_value(row);
				fprintf(stderr, "not used: %s\n", wet_text_clean(line, sizeof line, text ? text : ""));
			}
		}
		json_decref(result);
		return rc;
	}
	int rc = read_args(s, argc, argv, rows, keys, params);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	rc = ask(s, "recipe.get", params, &result);
	if (rc == DONE && !show(s, result))
		say_recipe(result);
	json_decref(result);
	return rc;
}

/* The page ends with its three closing lines. What is worse than a note comes before it; all of what meets stands with
 * the sources, behind it. */
void say_safety_note(const json_t *result, bool wants_sources)
{
	const json_t *meets = json_object_get(result, "meets");
	json_t *worse = json_array(), *row;
	size_t i;
	json_array_foreach(meets, i, row)
	{
		if (strcmp(text_of(row, "severity"), "inform") != 0)
			(void)json_array_append(worse, row);
	}
	if (!wants_sources)
		say_meets("Care, before anything else:", worse);
	say_page(text_of(result, wants_sources ? "sources" : "note"));
	if (wants_sources)
		say_meets("What meets in it, worst first:", meets);
	json_decref(worse);
}

int verb_safety(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "acknowledge", "acknowledge", FLAG },
											  { "person", "person", TEXT },
											  { "sources", "sources", FLAG },
											  { "stale-air", "stale_air", FLAG },
											  { NULL, NULL, TEXT } };
	static const char *const keys[] = { "name", NULL };
	json_t *params = json_object(), *result = NULL;
	int rc = read_args(s, argc, argv, rows, keys, params);
	bool acknowledges = json_object_get(params, "acknowledge"), wants_sources = json_object_get(params, "sources");
	char who[64] = "";
	wet_text_copy(who, sizeof who, text_of(params, "person"));
	(void)json_object_del(params, "acknowledge");
	(void)json_object_del(params, "sources");
	(void)json_object_del(params, "person");
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	json_t *again = json_copy(params);
	(void)json_object_del(again, "stale_air");
	rc = ask(s, "safety.get", params, &result);
	if (rc == DONE && !show(s, result))
		say_safety_note(result, wants_sources);
	json_decref(result);
	if (rc == DONE && acknowledges) {
		(void)json_object_set_new(again, "person", json_string(who[0] ? who : person_name()));
		rc = ask(s, "safety.acknowledge", again, NULL);
		if (rc == DONE && !s->is_json)
			say("Acknowledged.");
		return rc;
	}
	json_decref(again);
	return rc;
}

static void say_drying(const json_t *list)
{
	json_t *row;
	size_t i;
	char line[512], when[32];
	json_array_foreach(list, i, row)
	{
		say_when(json_integer_value(json_object_get(row, "due_utc_ms")), when, sizeof when);
		wet_text_format(line, sizeof line, "%s %s: dry %s %s at the earliest. %s",
						json_is_true(json_object_get(row, "is_due")) ? "Dry, look:" : "Drying:", text_of(row, "run"),
						json_is_true(json_object_get(row, "is_due")) ? "since" : "from", when, text_of(row, "how"));
		say(line);
	}
}

/* What the ledger tells of the shelf, after the runs, which no slow disk may keep back: as "stock" in what is shown. */
static void add_stock_warnings(struct session *s, json_t *status)
{
	json_t *result = NULL;
	struct wet_fault fault = { 0 };
	if (wet_connection_call(s->connection, "stock.warnings", NULL, WARNINGS_MS, &result, NULL, &fault) == 0)
		(void)json_object_set(status, "stock", json_object_get(result, "warnings"));
	json_decref(result);
}

/* The configuration, and what it names. */
static void say_inputs(const json_t *status)
{
	const json_t *config = json_object_get(status, "config"), *faults = json_object_get(config, "faults");
	char line[600];
	size_t i;
	json_t *row;
	json_array_foreach(json_object_get(status, "switches"), i, row)
	{
		const char *run = text_of(row, "run");
		wet_text_format(line, sizeof line, "Foot switch %s%s%s: %s, %s.", text_of(row, "name"), run[0] ? ", of run " : "", run,
						text_of(row, "health"), text_of(row, "text"));
		say(line);
	}
	json_array_foreach(json_object_get(status, "probes"), i, row)
	{
		const char *bath = text_of(row, "bath"), *temperature = text_of(row, "temperature");
		wet_text_format(line, sizeof line, "Probe %s, %s %s: %s, %s%s%s.", text_of(row, "name"), bath[0] ? "bath" : "room",
						bath[0] ? bath : text_of(row, "room"), text_of(row, "health"), text_of(row, "text"),
						temperature[0] ? "; last " : "", temperature);
		say(line);
	}
	json_array_foreach(faults, i, row)
	{
		wet_text_format(line, sizeof line, "Configuration: %s", json_string_value(row));
		say(line);
	}
	json_int_t more = json_integer_value(json_object_get(config, "fault_count")) - (json_int_t)i;
	if (more > 0) {
		wet_text_format(line, sizeof line, "Configuration: and %lld more; wetsided --check-config %s", (long long)more,
						text_of(config, "path"));
		say(line);
	}
}

/* Beside the status, as below: "config", "switches", "probes". */
static void add_inputs(struct session *s, json_t *status)
{
	json_t *result = NULL;
	struct wet_fault fault = { 0 };
	if (wet_connection_call(s->connection, "inputs.get", NULL, WARNINGS_MS, &result, NULL, &fault) == 0)
		(void)json_object_update_missing(status, result);
	json_decref(result);
}

int verb_status(struct session *s, int argc, char **argv)
{
	json_t *result = NULL, *run;
	size_t i;
	char line[512];
	static const struct option_row rows[] = { { NULL, NULL, TEXT } };
	json_t *params = json_object();
	int rc = read_args(s, argc, argv, rows, NULL, params);
	json_decref(params);
	if (rc == DONE)
		rc = ask(s, "status.get", NULL, &result);
	if (rc == DONE)
		add_inputs(s, result);
	if (rc == DONE)
		add_stock_warnings(s, result);
	if (rc != DONE || show(s, result)) {
		json_decref(result);
		return rc;
	}
	if (json_integer_value(json_object_get(result, "live_count")) == 0)
		say("No run. Arm one: wetside arm RECIPE; or hear one: wetside rehearse RECIPE");
	json_array_foreach(json_object_get(result, "runs"), i, run)
	{
		/* What is over stands in the record; here only if the disk still owes it. */
		if (text_of(run, "outcome")[0] && json_is_true(json_object_get(run, "is_stored")))
			continue;
		wet_text_format(line, sizeof line, "%s: %s%s%s%s%s", text_of(run, "name"), text_of(run, "doing"),
						text_of(run, "left")[0] ? " " : "", text_of(run, "left"),
						text_of(run, "temperature")[0] ? "  " : "", text_of(run, "temperature"));
		say(line);
		if (text_of(run, "next")[0]) {
			wet_text_format(line, sizeof line, "  then: %s", text_of(run, "next"));
			say(line);
		}
		if (course_of(run, line + 2, sizeof line - 2)[0]) {
			memcpy(line, "  ", 2);
			say(line);
		}
		if (text_of(run, "doubt")[0]) {
			wet_text_format(line, sizeof line, "  uncertain: %s", text_of(run, "doubt"));
			say(line);
		}
		if (json_is_false(json_object_get(run, "is_stored")))
			say("  NOT STORED: the disk is behind; the run goes on.");
	}
	say_drying(json_object_get(result, "drying"));
	if (json_is_true(json_object_get(result, "may_sleep")))
		say("Nothing keeps this machine awake (no login manager answers): switch off its sleep, leave the lid open.");
	const json_t *sound = json_object_get(result, "sound");
	wet_text_format(line, sizeof line, "Sound: %s, %s.", text_of(sound, "health"), text_of(sound, "text"));
	say(line);
	const json_t *voice = json_object_get(result, "voice");
	wet_text_format(line, sizeof line, "Voice: %s, %s.", text_of(voice, "health"), text_of(voice, "text"));
	say(line);
	if (text_of(result, "disk")[0]) {
		wet_text_format(line, sizeof line, "Disk: %s", text_of(result, "disk"));
		say(line);
	}
	say_inputs(result);
	json_t *fault;
	json_array_foreach(json_object_get(result, "shelf"), i, fault)
	{
		wet_text_format(line, sizeof line, "Shelf: %s", json_string_value(fault));
		say(line);
	}
	json_array_foreach(json_object_get(result, "stock"), i, fault)
	{
		wet_text_format(line, sizeof line, "Shelf: %s", json_string_value(fault));
		say(line);
	}
	say_meets("What stands together and should not, worst first:", json_object_get(result, "meets"));
	json_decref(result);
	return rc;
}

int verb_sound(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "run", "run", TEXT }, { NULL, NULL, TEXT } };
	static const char *const keys[] = { "tone", NULL };
	bool is_lesson = false;
	for (int i = 1; i < argc; i++)
		is_lesson = is_lesson || strcmp(argv[i], "--teach") == 0;
	json_t *params = json_object(), *result = NULL, *tone;
	size_t i;
	char line[256];
	if (is_about_device(argc, argv)) {
		json_decref(params);
		return sound_device(s, argc, argv);
	}
	int rc = is_lesson ? DONE : read_args(s, argc, argv, rows, has_word(argc, argv) ? keys : NULL, params);
	if (is_lesson && argc != 2)
		rc = fail(s, USAGE, "sound: --teach stands alone: it plays them all");
	if (rc != DONE || is_lesson) {
		json_decref(params);
		return rc != DONE ? rc : teach_sounds(s);
	}
	char tone_name[24] = "";
	wet_text_copy(tone_name, sizeof tone_name, text_of(params, "tone"));
	for (char *p = tone_name; *p; p++)
		*p = *p == '-' || *p == ' ' ? '_' : (char)toupper((unsigned char)*p);
	if (tone_name[0])
		(void)json_object_set_new(params, "tone", json_string(tone_name));
	rc = ask(s, "sound.play", params, &result);
	if (rc == DONE && !show(s, result)) {
		json_array_foreach(json_object_get(result, "tones"), i, tone)
		{
			if (tone_name[0] && strcmp(tone_name, text_of(tone, "name")) != 0)
				continue;
			wet_text_format(line, sizeof line, "%-9s (%s) %s", text_of(tone, "name"), text_of(tone, "sound"),
							text_of(tone, "text"));
			say(line);
		}
		if (!tone_name[0]) {
			say(text_of(result, "rules"));
			say("One of them: wetside sound CHANGE. All of them, to be learned: wetside sound --teach");
		}
		if (json_is_false(json_object_get(result, "is_well"))) {
			wet_text_format(line, sizeof line, "Sound is not well: %s", text_of(result, "text"));
			say(line);
		}
	}
	json_decref(result);
	return rc;
}
