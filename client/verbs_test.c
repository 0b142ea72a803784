/* verbs_test.c: the tests that people do: which there are, what is done in one, and how its result is read. */
#include "client/client.h"

#include "base/text.h"

#include <string.h>

#define PREFIX "test-" /* in the names of the shipped ones; need not be typed */

static void list_tests(const json_t *result)
{
	json_t *row;
	size_t i, count = 0;
	char line[400];
	json_array_foreach(json_object_get(result, "recipes"), i, row)
	{
		if (strcmp(text_of(row, "kind"), "test") != 0)
			continue;
		wet_text_format(line, sizeof line, "%-32s %s", text_of(row, "name"), text_of(row, "title"));
		say(line);
		count++;
	}
	say(count > 0 ? "What to do and how to read it: wetside test NAME; to run it: wetside arm NAME" : "No test on the shelf.");
}

static void say_steps(const json_t *stages)
{
	json_t *stage;
	size_t i;
	char line[512];
	json_array_foreach(stages, i, stage)
	{
		wet_text_format(line, sizeof line, "  %2d  %-6s %s%s%s", (int)i + 1, text_of(stage, "aim"),
						text_of(stage, "name"), text_of(stage, "say")[0] ? ": " : "", text_of(stage, "say"));
		say(line);
	}
}

static void say_test(const json_t *result)
{
	const json_t *doc = json_object_get(result, "recipe");
	const json_t *sources = json_object_get(doc, "sources");
	json_t *row;
	size_t i;
	char line[1400];
	say(text_of(result, "title"));
	say_steps(json_object_get(doc, "stages"));
	say("How to read it:");
	json_array_foreach(json_object_get(doc, "reading"), i, row)
	{
		const char *cited = text_of(sources, text_of(row, "source"));
		wet_text_format(line, sizeof line, "  %s: %s [%s]", text_of(row, "see"), text_of(row, "means"),
						cited[0] ? cited : text_of(row, "source"));
		say(line);
	}
	json_array_foreach(json_object_get(doc, "remarks"), i, row)
	{
		wet_text_format(line, sizeof line, "  Note: %s", text_of(row, "text"));
		say(line);
	}
	const char *name = text_of(result, "name");
	wet_text_format(line, sizeof line,
					"Read first: wetside safety %s. Hear it: wetside rehearse %s --rate 20. Run it: wetside arm %s", name,
					name, name);
	say(line);
}

/* The test of this name, typed with or without its prefix; NULL: none. */
static const char *find_test(const json_t *list, const char *typed)
{
	json_t *row;
	size_t i;
	json_array_foreach(list, i, row)
	{
		const char *name = text_of(row, "name");
		bool is_it = strcmp(name, typed) == 0 || (strncmp(name, PREFIX, strlen(PREFIX)) == 0 &&
												  strcmp(name + strlen(PREFIX), typed) == 0);
		if (is_it && strcmp(text_of(row, "kind"), "test") == 0)
			return name;
	}
	return NULL;
}

/* What the fog test of a screen told: kept, so that the watch may be red on it. */
static int keep_screen(struct session *s, const char *name, const json_t *params)
{
	bool is_passed = json_object_get(params, "passed") != NULL, is_fogged = json_object_get(params, "fogged") != NULL;
	json_t *result = NULL, *call = json_object();
	char line[240];
	if (strcmp(name, FOG_TEST) != 0 || !text_of(params, "screen")[0] || !text_of(params, "distance")[0] ||
		is_passed == is_fogged) {
		json_decref(call);
		return fail(s, USAGE,
					"test: what a screen's test told is kept with: wetside test screen-fog --screen NAME --distance 60cm "
					"--passed (all quarters one black) or --fogged");
	}
	(void)json_object_set_new(call, "name", json_string(text_of(params, "screen")));
	(void)json_object_set_new(call, "distance", json_string(text_of(params, "distance")));
	(void)json_object_set_new(call, "passed", json_boolean(is_passed));
	(void)json_object_set_new(call, "person", json_string(person_name()));
	add_token(call);
	int rc = ask(s, "screen.judge", call, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	if (rc == DONE && !s->is_json && !s->is_quiet) {
		wet_text_format(line, sizeof line, "Kept: %s %s, %s away. %s", text_of(result, "name"), is_passed ? "passed" : "fogged",
						text_of(result, "distance"),
						is_passed ? "In the dark it may be red: wetside watch --red --screen NAME"
								  : "In the dark it stays off.");
		say(line);
	}
	json_decref(result);
	return rc;
}

static void say_screens(struct session *s)
{
	json_t *result = NULL, *row;
	size_t i;
	char line[240], when[32];
	if (ask(s, "screen.list", NULL, &result) != DONE)
		return;
	json_array_foreach(json_object_get(result, "screens"), i, row)
	{
		say_when(json_integer_value(json_object_get(row, "wall_ms")), when, sizeof when);
		wet_text_format(line, sizeof line, "  %s: %s on %s, %s away", text_of(row, "name"),
						json_is_true(json_object_get(row, "is_passed")) ? "passed" : "fogged", when, text_of(row, "distance"));
		if (i == 0)
			say("Screens that were tested:");
		say(line);
	}
	json_decref(result);
}

int verb_test(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "screen", "screen", TEXT },
											  { "distance", "distance", TEXT },
											  { "passed", "passed", FLAG },
											  { "fogged", "fogged", FLAG },
											  { NULL, NULL, TEXT } };
	static const char *const keys[] = { "name", NULL };
	json_t *params = json_object(), *list = NULL, *result = NULL;
	char text[200], word[80];
	int rc = read_args(s, argc, argv, rows, argc > 1 ? keys : NULL, params);
	if (rc == DONE)
		rc = ask(s, "recipe.list", NULL, &list);
	const char *typed = text_of(params, "name");
	const char *name = typed[0] ? find_test(json_object_get(list, "recipes"), typed) : NULL;
	bool is_told = json_object_size(params) > 1;
	if (rc == DONE && name && is_told) {
		rc = keep_screen(s, name, params);
		json_decref(params);
		json_decref(list);
		return rc;
	}
	if (rc == DONE && name)
		rc = ask(s, "recipe.get", json_pack("{s:s}", "name", name), &result);
	if (rc == DONE && typed[0] && !name) {
		wet_text_format(text, sizeof text, "there is no test '%s'; wetside test lists them",
						wet_text_clean(word, sizeof word, typed));
		rc = fail(s, REFUSED, text);
	} else if (rc == DONE && s->is_json) {
		say_json(result ? result : list);
	} else if (rc == DONE && result) {
		say_test(result);
		if (strcmp(name, FOG_TEST) == 0)
			say_screens(s);
	} else if (rc == DONE) {
		list_tests(list);
	}
	json_decref(params);
	json_decref(list);
	json_decref(result);
	return rc;
}
