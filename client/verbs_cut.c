/* verbs_cut.c: pieces out of sheets of paper, and the run that leads through it. */
#include "client/client.h"
#include "client/print.h"

#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void say_each(const json_t *lines, const char *before)
{
	size_t i;
	json_t *row;
	char line[512];
	json_array_foreach(lines, i, row)
	{
		wet_text_format(line, sizeof line, "%s%s", before,
						json_string_value(row) ? json_string_value(row) : "");
		say(line);
	}
}

static void say_layout(const json_t *layout, int sheets)
{
	size_t i;
	json_t *row;
	char line[512];
	int first = (int)json_integer_value(json_object_get(layout, "sheet"));
	int times = (int)json_integer_value(json_object_get(layout, "times"));
	if (times > 1)
		wet_text_format(
			line, sizeof line,
			"\nSheets %d to %d of %d, each with %d pieces (the numbers are those of the first):", first,
			first + times - 1, sheets, (int)json_integer_value(json_object_get(layout, "pieces")));
	else
		wet_text_format(line, sizeof line, "\nSheet %d of %d:", first, sheets);
	say(line);
	say(text_of(layout, "drawing"));
	json_array_foreach(json_object_get(layout, "steps"), i, row)
	{
		wet_text_format(line, sizeof line, "%3d. %s", (int)i + 1, text_of(row, "text"));
		say(line);
	}
}

/* A layout that had no room in the first reply is asked for by its number. */
static int say_layouts(struct session *s, const json_t *plan, const json_t *asked)
{
	int sheets = (int)json_integer_value(json_object_get(plan, "sheets")), rc = DONE;
	const json_t *layouts = json_object_get(plan, "layouts");
	for (size_t i = 0; i < json_array_size(layouts) && rc == DONE; i++) {
		const json_t *layout = json_array_get(layouts, i);
		json_t *again = json_deep_copy(asked), *result = NULL;
		if (!json_object_get(layout, "parts")) {
			(void)json_object_set_new(again, "layout", json_integer((json_int_t)i + 1));
			rc = ask(s, "cut.compute", json_incref(again), &result);
			layout = json_array_get(json_object_get(result, "layouts"), i);
		}
		if (rc == DONE)
			say_layout(layout, sheets);
		json_decref(again);
		json_decref(result);
	}
	return rc;
}

static int say_plan(struct session *s, const json_t *plan, const json_t *asked)
{
	say_each(json_object_get(plan, "text"), "");
	say("\nBefore the light goes out:");
	say_each(json_object_get(plan, "before_dark"), "  [ ] ");
	return say_layouts(s, plan, asked);
}

/* What cut.compute takes, of what run.cut was given. */
static json_t *of_plan(const json_t *params)
{
	static const char *const keys[] = { "sheet", "sheets", "pieces", "inside", "under",
										"kerf",  "margin", "base",   "first" };
	json_t *asked = json_object();
	for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
		if (json_object_get(params, keys[i]))
			(void)json_object_set(asked, keys[i], json_object_get(params, keys[i]));
	return asked;
}

/* --size 9x12cm --pieces 6, as often as there are sizes; one alone may go without a count. */
static int pair_sizes(struct session *s, json_t *params)
{
	json_t *counts = json_object_get(params, "pieces"), *sizes = json_object_get(params, "size"),
		   *list = json_array();
	size_t n = json_array_size(sizes), m = json_array_size(counts);
	int rc = DONE;
	if (!json_object_get(params, "sheet"))
		rc = fail(s, USAGE, "cut: --sheet is missing, as in --sheet 24x30cm");
	else if (n == 0 || (m != n && (n != 1 || m != 0)))
		rc = fail(s, USAGE,
				  "cut: give --size and --pieces in pairs, as in --size 9x12cm --pieces 6; one size alone "
				  "may go without its "
				  "count");
	for (size_t i = 0; i < n && rc == DONE; i++) {
		json_t *row = json_pack("{s:O}", "size", json_array_get(sizes, i));
		const char *text = m > 0 ? json_string_value(json_array_get(counts, i)) : NULL;
		char *end = NULL;
		long long count = text ? strtoll(text, &end, 10) : 0;
		if (text && (*end || end == text))
			rc = fail(s, USAGE, "cut: --pieces needs a whole number, as in --pieces 6");
		else if (text)
			(void)json_object_set_new(row, "count", json_integer(count));
		(void)json_array_append_new(list, row);
	}
	(void)json_object_set_new(params, "pieces", list);
	(void)json_object_del(params, "size");
	return rc;
}

/* Led through it, as a run. */
static int guide(struct session *s, json_t *params, bool watches)
{
	json_t *result = NULL, *asked = of_plan(params);
	char line[512], name[64];
	bool is_rehearsal = json_object_get(params, "rehearse") != NULL;
	if (!json_object_get(params, "person"))
		(void)json_object_set_new(params, "person", json_string(person_name()));
	int rc = ask(s, "run.cut", params, &result);
	const json_t *run = json_object_get(result, "run");
	wet_text_copy(name, sizeof name, text_of(run, "name"));
	if (rc == DONE && s->is_json) {
		say_json(result);
	} else if (rc == DONE && !s->is_quiet) {
		rc = say_plan(s, json_object_get(result, "plan"), asked);
		say("");
		if (text_of(result, "told")[0])
			say(text_of(result, "told"));
		if (!is_rehearsal)
			warn_of_sound(s);
		wet_text_format(
			line, sizeof line,
			is_rehearsal
				? "Rehearsing as %s, with scrap paper in the light. After each step: wetside go --run %s"
				: "Armed as %s. A number is being said, or played as pips to count: switch off light and "
				  "screen, "
				  "then: wetside begin --run %s --heard N --watch",
			name, name);
		say(line);
	}
	if (rc == DONE && watches)
		rc = watch_run(s, name, json_integer_value(json_object_get(run, "id")));
	json_decref(asked);
	json_decref(result);
	return rc;
}

/* Pieces that were cut, page by page. */
static int list_pieces(struct session *s)
{
	json_int_t after = 0;
	int rc = DONE, count = 0;
	for (bool is_more = true; is_more && rc == DONE;) {
		json_t *result = NULL, *row;
		size_t i;
		char line[256], when[32], cut[48];
		rc = ask(s, "piece.list", json_pack("{s:I}", "after", after), &result);
		if (rc == DONE && s->is_json)
			say_json(result);
		json_array_foreach(json_object_get(result, "pieces"), i, row)
		{
			say_when(json_integer_value(json_object_get(row, "wall_ms")), when, sizeof when);
			json_int_t run = json_integer_value(json_object_get(row, "run")); /* 0: before anybody wrote it down */
			wet_text_format(cut, sizeof cut, run > 0 ? "by run %lld" : "before", (long long)run);
			wet_text_format(line, sizeof line, "%6s  %s  %s, cut %s%s%s; %s%s%s%s; as of %s", text_of(row, "name"),
							text_of(row, "size"), text_of(row, "mark"), cut,
							text_of(row, "box")[0] ? ", from " : "", text_of(row, "box"), text_of(row, "state"),
							text_of(row, "camera")[0] ? ", " : "", text_of(row, "camera"),
							json_is_true(json_object_get(row, "is_fogged"))		 ? ", FOGGED"
							: json_is_true(json_object_get(row, "is_left_open")) ? ", LEFT OPEN"
																				 : "",
							when);
			if (!s->is_json)
				say(line);
			count++;
		}
		is_more = json_is_integer(json_object_get(result, "next"));
		after = json_integer_value(json_object_get(result, "next"));
		json_decref(result);
	}
	if (rc == DONE && count == 0 && !s->is_json)
		say("No piece was cut yet. wetside cut --help shows how.");
	return rc;
}

/* What belongs to a run only is a mistake of usage without one. */
static int check_options(struct session *s, const json_t *params)
{
	static const char *const of_run[] = { "safelight", "box",    "rehearse", "run",
										  "room",      "person", "group",    "watch" };
	char text[160];
	for (size_t i = 0; i < sizeof of_run / sizeof of_run[0] && !json_object_get(params, "guide"); i++) {
		if (!json_object_get(params, of_run[i]))
			continue;
		wet_text_format(text, sizeof text, "cut: --%s goes with --guide; try: wetside cut --help", of_run[i]);
		return fail(s, USAGE, text);
	}
	return DONE;
}

static const struct option_row rows[] = {
	{ "sheet", "sheet", TEXT },   { "sheets", "sheets", NUMBER },
	{ "size", "size", LIST },     { "pieces", "pieces", LIST },
	{ "inside", "inside", FLAG }, { "under", "under", TEXT },
	{ "kerf", "kerf", TEXT },     { "margin", "margin", TEXT },
	{ "base", "base", TEXT },     { "first", "first", NUMBER },
	{ "guide", "guide", FLAG },   { "safelight", "safelight", TEXT },
	{ "box", "box", TEXT },       { "rehearse", "rehearse", FLAG },
	{ "run", "run", TEXT },       { "room", "room", TEXT },
	{ "person", "person", TEXT }, { "group", "group", FLAG },
	{ "watch", "watch", FLAG },   { NULL, NULL, TEXT }
};

int read_cut(struct session *s, int argc, char **argv, json_t *params)
{
	int rc = read_args(s, argc, argv, rows, NULL, params);
	if (rc == DONE)
		rc = check_options(s, params);
	return rc == DONE ? pair_sizes(s, params) : rc;
}

int verb_cut(struct session *s, int argc, char **argv)
{
	if (argc == 2 && strcmp(argv[1], "--list") == 0)
		return list_pieces(s);
	json_t *params = json_object(), *result = NULL, *asked;
	int rc = read_cut(s, argc, argv, params);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	bool is_guide = json_object_get(params, "guide") != NULL,
		 watches = json_object_get(params, "watch") != NULL;
	(void)json_object_del(params, "guide");
	(void)json_object_del(params, "watch");
	if (is_guide)
		return guide(s, params, watches);
	asked = of_plan(params);
	rc = ask(s, "cut.compute", params, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	else if (rc == DONE)
		rc = say_plan(s, result, asked);
	if (rc == DONE && !s->is_json)
		say("\nTo be led through it in the dark, one press a cut: the same with --guide.");
	json_decref(asked);
	json_decref(result);
	return rc;
}
