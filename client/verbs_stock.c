/* verbs_stock.c: what stands on the shelf: bottle, bath, vessel, graduate, camera. */
#include "client/client.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static void say_item(const json_t *item)
{
	char line[1024];
	wet_text_format(line, sizeof line, "%-20s %s%s%s%s%s", text_of(item, "name"), text_of(item, "text"),
					text_of(item, "left")[0] ? "; " : "", text_of(item, "left"), text_of(item, "cooling")[0] ? "; " : "",
					text_of(item, "cooling"));
	say(line);
}

static void say_cautions(const json_t *item)
{
	size_t i;
	json_t *text;
	char line[1024];
	json_array_foreach(json_object_get(item, "cautions"), i, text)
	{
		wet_text_format(line, sizeof line, "  ! %s", json_string_value(text));
		say(line);
	}
}

/* What was stored, what it meets where it stands, and what was not told. */
static void say_stored(const json_t *result)
{
	say_item(json_object_get(result, "item"));
	say_meets("Where it stands:", json_object_get(result, "meets"));
	if (text_of(result, "ask")[0])
		say(text_of(result, "ask"));
}

/* Page by page: a shelf may be long. */
static int list_items(struct session *s, const char *noun, json_t *params)
{
	char method[48];
	json_int_t next = 0;
	json_t *item;
	size_t count = 0, i;
	int rc;
	wet_text_format(method, sizeof method, "%s.list", noun);
	do {
		json_t *result = NULL;
		if (next > 0)
			(void)json_object_set_new(params, "after", json_integer(next));
		rc = ask(s, method, json_deep_copy(params), &result);
		if (rc != DONE)
			break;
		if (s->is_json)
			say_json(result);
		else
			json_array_foreach(json_object_get(result, "items"), i, item)
			{
				say_item(item);
				say_cautions(item);
			}
		count += json_array_size(json_object_get(result, "items"));
		next = json_integer_value(json_object_get(result, "next"));
		json_decref(result);
	} while (next > 0);
	if (rc == DONE && count == 0 && !s->is_json) {
		char line[160];
		wet_text_format(line, sizeof line, "No %s is known. wetside %s --help shows how to add one.", noun, noun);
		say(line);
	}
	json_decref(params);
	return rc;
}

static void say_history(const json_t *result)
{
	size_t i;
	json_t *event;
	char line[512], when[32];
	say_item(json_object_get(result, "item"));
	json_array_foreach(json_object_get(result, "events"), i, event)
	{
		double ml = (double)json_integer_value(json_object_get(event, "volume_ul")) / 1000.0;
		double cm2 = (double)json_integer_value(json_object_get(event, "area_mm2")) / 100.0;
		say_when(json_integer_value(json_object_get(event, "wall_ms")), when, sizeof when);
		wet_text_format(line, sizeof line, "  %s  %-8s", when, text_of(event, "act"));
		if (ml != 0)
			wet_text_append(line, sizeof line, "  %+g mL", ml);
		double second_cm2 = (double)json_integer_value(json_object_get(event, "second_mm2")) / 100.0;
		if (cm2 != 0)
			wet_text_append(line, sizeof line, "  %+g cm2", cm2);
		if (second_cm2 != 0)
			wet_text_append(line, sizeof line, "  %+g cm2 as second", second_cm2);
		if (text_of(event, "note")[0])
			wet_text_append(line, sizeof line, "  %s", text_of(event, "note"));
		say(line);
	}
}

/* verb ACT [NAME] [options]: "use NAME 45mL" takes its volume as a word. */
static int read_words(struct session *s, int argc, char **argv, const char *act, json_t *params)
{
	static const struct option_row rows[] = {
		{ "what", "what", TEXT },     { "volume", "volume", TEXT },     { "full", "full", TEXT },
		{ "strength", "strength", TEXT }, { "opened", "opened", TEXT }, { "lot", "lot", TEXT },
		{ "place", "place", TEXT },   { "beside", "beside", TEXT },
		   { "dilution", "dilution", TEXT }, { "mixed", "mixed", TEXT },
		{ "from", "from", TEXT },     { "area", "area", TEXT },         { "pieces", "pieces", NUMBER },
		{ "size", "size", TEXT },     { "kind", "kind", TEXT },         { "least", "least", TEXT },
		{ "most", "most", TEXT },     { "tray", "tray", TEXT },         { "fill", "fill", TEXT },
		{ "drain", "drain", TEXT },   { "holds", "holds", TEXT },       { "marks", "marks", TEXT },
		{ "as-second", "as_second", TEXT }, { "rotations", "rotations", NUMBER },
		{ "cooling", "cooling", TEXT }, { "heat", "heat", TEXT },
		{ "kept", "kept", TEXT },     { "vessel", "vessel", TEXT },     { "piece", "piece", TEXT },
		{ "pinhole", "pinhole", TEXT }, { "distance", "distance", TEXT }, { "aperture", "aperture", TEXT },
		{ "format", "format", TEXT },
		{ "class", "class", TEXT },   { "note", "note", TEXT },         { "rename", "rename", TEXT },
		{ "token", "token", TEXT },   { "gone", "gone", FLAG },         { "before", "before", NUMBER },
		{ NULL, NULL, TEXT }
	};
	static const char *const none[] = { NULL }, *const name[] = { "name", NULL },
							 *const use[] = { "name", "volume", NULL };
	bool has_amount = argc > 2 && argv[2][0] != '-';
	const char *const *keys = strcmp(act, "list") == 0					? none
							  : strcmp(act, "use") == 0 && has_amount ? use
																	  : name;
	return read_args(s, argc, argv, rows, keys, params);
}

/* The shelf asks where a bottle stands. An empty line: not told, or nothing of these. */
static void ask_place(const struct session *s, json_t *params)
{
	static const char *const questions[][2] = {
		{ "place", "Where does it stand? " },
		{ "beside", "What stands beside it (bleach, drain-cleaner, descaler, ammonia, food, children, sun, heat)? " }
	};
	char answer[192];
	bool is_told = json_object_get(params, "place") || json_object_get(params, "beside");
	if (is_told || s->is_json || s->no_input || !isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO))
		return;
	for (size_t i = 0; i < sizeof questions / sizeof questions[0]; i++) {
		fputs(questions[i][1], stdout);
		(void)fflush(stdout);
		if (!fgets(answer, sizeof answer, stdin))
			return;
		answer[strcspn(answer, "\n")] = '\0';
		if (answer[0])
			(void)json_object_set_new(params, questions[i][0], json_string(answer));
	}
}

int verb_stock(struct session *s, int argc, char **argv)
{
	static const char *const acts[] = { "add", "change", "discard", "history", "list", "use", NULL };
	const char *noun = argv[0], *act = argc > 1 && argv[1][0] != '-' ? argv[1] : "list";
	char method[48], text[200];
	json_t *params = json_object(), *result = NULL;
	int i = 0;
	while (acts[i] && strcmp(acts[i], act) != 0)
		i++;
	if (!acts[i] || (strcmp(act, "use") == 0 && strcmp(noun, "bottle") != 0 && strcmp(noun, "bath") != 0)) {
		char word[64];
		json_decref(params);
		wet_text_format(text, sizeof text, "%s: '%s' is none of add, change, discard, history, list%s; try: wetside %s --help",
						noun, wet_text_clean(word, sizeof word, act),
						strcmp(noun, "bottle") == 0 || strcmp(noun, "bath") == 0 ? ", use" : "", noun);
		return fail(s, USAGE, text);
	}
	if (argc > 1 && argv[1][0] != '-') { /* mistakes are told of the noun, which --help knows */
		argv[1] = argv[0];
		argv++;
		argc--;
	}
	int rc = read_words(s, argc, argv, act, params);
	if (rc == DONE && strcmp(act, "list") != 0 && !json_object_get(params, "name")) {
		wet_text_format(text, sizeof text, "%s %s: a name is needed; try: wetside %s --help", noun, act, noun);
		rc = fail(s, USAGE, text);
	}
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	if (strcmp(act, "list") == 0)
		return list_items(s, noun, params);
	if (strcmp(act, "history") != 0 && !json_object_get(params, "token"))
		add_token(params);
	if (strcmp(noun, "bottle") == 0 && strcmp(act, "add") == 0)
		ask_place(s, params);
	wet_text_format(method, sizeof method, "%s.%s", noun, act);
	rc = ask(s, method, params, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	else if (rc == DONE && strcmp(act, "history") == 0)
		say_history(result);
	else if (rc == DONE && !s->is_quiet)
		say_stored(result);
	json_decref(result);
	return rc;
}
