/* verbs_notebook.c: pieces in cameras, boxes of paper, the notebook. */
#include "client/client.h"

#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A call, its token, and one line of what came back. */
static int act(struct session *s, const char *method, json_t *params)
{
	json_t *result = NULL, *row;
	size_t i;
	char line[600];
	if (!json_object_get(params, "token"))
		add_token(params);
	if (!json_object_get(params, "person"))
		(void)json_object_set_new(params, "person", json_string(person_name()));
	int rc = ask(s, method, params, &result);
	if (rc == DONE && !show(s, result)) {
		say_wrapped(text_of(result, "text"));
		json_array_foreach(json_object_get(result, "warnings"), i, row)
		{
			wet_text_format(line, sizeof line, "  ! %s", json_string_value(row));
			say_wrapped(line);
		}
	}
	json_decref(result);
	return rc;
}

/* -- camera ------------------------------------------------------------------------------------ */

static int list_boxes(struct session *s)
{
	json_t *result = NULL, *row;
	size_t i;
	char line[800];
	int rc = ask(s, "box.list", NULL, &result);
	if (rc == DONE && !show(s, result)) {
		json_array_foreach(json_object_get(result, "boxes"), i, row)
		{
			wet_text_format(line, sizeof line, "%s: %s%s%s", text_of(row, "name"), text_of(row, "paper"),
							text_of(row, "paper")[0] ? "; " : "", text_of(row, "text"));
			say_wrapped(line);
		}
		if (json_array_size(json_object_get(result, "boxes")) == 0)
			say("No box of paper is known. wetside camera box NAME --paper PAPER --direct-positive tells of one.");
	}
	json_decref(result);
	return rc;
}

static int change_box(struct session *s, json_t *params)
{
	json_t *result = NULL;
	char line[300];
	add_token(params);
	if (!json_object_get(params, "person"))
		(void)json_object_set_new(params, "person", json_string(person_name()));
	int rc = ask(s, "box.change", params, &result);
	if (rc == DONE && !show(s, result)) {
		const json_t *box = json_object_get(result, "box");
		wet_text_format(line, sizeof line, "Box %s: %s%s%s, index %s.", text_of(box, "name"),
						text_of(box, "paper")[0] ? text_of(box, "paper") : "paper not told", text_of(box, "sense")[0] ? ", " : "",
						text_of(box, "sense"), text_of(box, "index")[0] ? text_of(box, "index") : "not told");
		say(line);
	}
	json_decref(result);
	return rc;
}

int verb_camera(struct session *s, int argc, char **argv)
{
	static const struct option_row load_rows[] = { { "piece", "piece", TEXT },         { "box", "box", TEXT },
												   { "emulsion", "emulsion", TEXT },   { "size", "size", TEXT },
												   { "safelight", "safelight", TEXT }, { "person", "person", TEXT },
												   { "token", "token", TEXT },         { NULL, NULL, TEXT } };
	static const struct option_row unload_rows[] = { { "exposed", "exposed", FLAG },     { "unexposed", "unexposed", FLAG },
													 { "safelight", "safelight", TEXT }, { "person", "person", TEXT },
													 { "token", "token", TEXT },         { NULL, NULL, TEXT } };
	static const struct option_row box_rows[] = { { "paper", "paper", TEXT },
												  { "paper-index", "paper_index", TEXT },
												  { "direct-positive", "direct_positive", FLAG },
												  { "negative", "negative", FLAG },
												  { "reciprocity", "reciprocity", TEXT },
												  { "safelight", "safelight", TEXT },
												  { "tested", "tested", TEXT },
												  { "person", "person", TEXT },
												  { NULL, NULL, TEXT } };
	static const char *const keys[] = { "name", NULL };
	const char *word = argc > 1 ? argv[1] : "";
	bool is_load = strcmp(word, "load") == 0, is_unload = strcmp(word, "unload") == 0, is_box = strcmp(word, "box") == 0;
	if (strcmp(word, "boxes") == 0 && argc == 2)
		return list_boxes(s);
	if (!is_load && !is_unload && !is_box)
		return verb_stock(s, argc, argv);
	json_t *params = json_object();
	argv[1] = argv[0]; /* mistakes are told of the noun, which --help knows */
	int rc = read_args(s, argc - 1, argv + 1, is_load ? load_rows : is_unload ? unload_rows : box_rows, keys, params);
	if (rc == DONE && is_load && !json_object_get(params, "piece"))
		rc = fail(s, USAGE, "camera load: which piece? --piece 7, the number on its back");
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	if (is_box)
		return change_box(s, params);
	return act(s, is_load ? "camera.load" : "camera.unload", params);
}

/* -- note ------------------------------------------------------------------------------------------ */

static void say_note(const json_t *row)
{
	char line[2000];
	wet_text_format(line, sizeof line, "%4s  %s%s%s%s%s%s%s", text_of(row, "piece"), text_of(row, "state"),
					json_is_true(json_object_get(row, "is_in_camera")) ? " in " : "",
					json_is_true(json_object_get(row, "is_in_camera")) ? text_of(row, "camera") : "",
					json_is_true(json_object_get(row, "is_fogged")) ? ", FOGGED" : "",
					json_is_true(json_object_get(row, "is_left_open")) ? ", LEFT OPEN" : "", text_of(row, "text")[0] ? ": " : "",
					text_of(row, "text"));
	say_wrapped(line);
}

static int list_notes(struct session *s, const char *words)
{
	int rc = DONE, count = 0;
	json_int_t after = 0;
	for (bool is_more = true; is_more && rc == DONE;) {
		json_t *result = NULL, *row;
		size_t i;
		rc = ask(s, "note.list", json_pack("{s:s, s:I}", "find", words, "after", after), &result);
		if (rc == DONE && s->is_json)
			say_json(result);
		json_array_foreach(json_object_get(result, "notes"), i, row)
		{
			if (!s->is_json)
				say_note(row);
			count++;
		}
		is_more = json_is_integer(json_object_get(result, "next"));
		after = json_integer_value(json_object_get(result, "next"));
		json_decref(result);
	}
	if (rc == DONE && count == 0 && !s->is_json)
		say(words[0] ? "No entry holds all of these words." : "The notebook is empty. wetside note --help shows how to write.");
	return rc;
}

static int show_history(struct session *s, const char *piece)
{
	json_t *result = NULL, *row;
	size_t i;
	char line[2000], when[32];
	int rc = ask(s, "note.history", json_pack("{s:s}", "piece", piece), &result);
	if (rc == DONE && !show(s, result)) {
		json_array_foreach(json_object_get(result, "revisions"), i, row)
		{
			say_when(json_integer_value(json_object_get(row, "wall_ms")), when, sizeof when);
			wet_text_format(line, sizeof line, "%d  %s by %s: %s   (typed: %s)", (int)json_integer_value(json_object_get(row, "revision")),
							when, text_of(row, "person"), text_of(row, "text"), text_of(row, "typed"));
			say_wrapped(line);
		}
		if (json_array_size(json_object_get(result, "revisions")) == 0)
			say("Nothing was written of this piece.");
	}
	json_decref(result);
	return rc;
}

/* The shell took the quotes off: they come back around what holds blanks, but not behind a label. */
static void add_word(char *line, size_t bytes, const char *word, bool is_alone)
{
	const char *blank = strchr(word, ' ');
	bool is_quoted = blank && !is_alone && blank > word && blank[-1] != ':' && !strchr(word, '"');
	wet_text_append(line, bytes, "%s%s%s%s", line[0] ? " " : "", is_quoted ? "\"" : "", word, is_quoted ? "\"" : "");
}

int verb_note(struct session *s, int argc, char **argv)
{
	static const char *const flags[][2] = { { "--change", "change" }, { "--history", "history" }, { "--find", "find" },
											{ "--meter", "meter" },   { "--fogged", "fogged" },   { "--left-open", "left_open" },
											{ "--sound", "sound" } };
	const char *what = "", *piece = NULL;
	char line[1600] = "", text[200], clean[64];
	int words = 0;
	for (int i = 1; i < argc; i++)
		words += strncmp(argv[i], "--", 2) != 0;
	for (int i = 1; i < argc; i++) {
		size_t f = 0;
		while (f < sizeof flags / sizeof flags[0] && strcmp(argv[i], flags[f][0]) != 0)
			f++;
		bool is_flag = f < sizeof flags / sizeof flags[0];
		if ((is_flag && what[0]) || (!is_flag && strncmp(argv[i], "--", 2) == 0)) {
			wet_text_format(text, sizeof text, "note: '%s' %s; try: wetside note --help", wet_text_clean(clean, sizeof clean, argv[i]),
							is_flag ? "is one option too many" : "is no option of it");
			return fail(s, USAGE, text);
		}
		if (!wet_text_is_utf8(argv[i], strlen(argv[i])))
			return fail(s, USAGE, "note: this is not UTF-8");
		if (is_flag)
			what = flags[f][1];
		else if (!piece && strcmp(what, "find") != 0 && strcmp(what, "meter") != 0)
			piece = argv[i];
		else
			add_word(line, sizeof line, argv[i], words == (piece ? 2 : 1) || strcmp(what, "find") == 0 || strcmp(what, "meter") == 0);
	}
	if (strlen(line) + 2 > sizeof line)
		return fail(s, USAGE, "note: the entry is too long; in fewer words");
	if (strcmp(what, "find") == 0 || (!piece && !what[0]))
		return list_notes(s, line);
	if (strcmp(what, "meter") == 0 && line[0])
		return act(s, "note.meter", json_pack("{s:s}", "text", line));
	if (!piece || (!line[0] && (!what[0] || strcmp(what, "change") == 0 || strcmp(what, "meter") == 0)))
		return fail(s, USAGE, "note: what of which piece? As in: wetside note 7 8s tin-two \"bright 12s, shaded 60s\" mud bank, overcast");
	if (strcmp(what, "history") == 0)
		return show_history(s, piece);
	json_t *params = json_pack("{s:s}", "piece", piece);
	if (what[0] && strcmp(what, "change") != 0) {
		(void)json_object_set_new(params, what, json_true());
		return act(s, "note.mark", params);
	}
	(void)json_object_set_new(params, "text", json_string(line));
	if (what[0])
		(void)json_object_set_new(params, "change", json_true());
	return act(s, "note.put", params);
}
