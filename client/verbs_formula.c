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
	size_t i;
	json_t *row;
	char line[768];
	wet_text_format(line, sizeof line, "%s, %s", text_of(result, "title"), text_of(result, "makes"));
	say(line);
	say("Before anything else:");
	json_array_foreach(json_object_get(result, "cautions"), i, row)
	{
		const char *text = json_string_value(row);
		wet_text_format(line, sizeof line, "  ! %s", text ? text : "");
		say(line);
	}
	const json_t *hazards = json_object_get(result, "hazards");
	if (text_of(hazards, "signal")[0] || json_array_size(json_object_get(hazards, "lines")) > 0) {
		wet_text_format(line, sizeof line, "As mixed, it is classified so: %s%s%s%s", text_of(hazards, "signal"),
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
	say("In this order, each dissolved before the next:");
	json_array_foreach(json_object_get(result, "steps"), i, row)
	{
		wet_text_format(line, sizeof line, "%3d. %s", (int)i + 1, text_of(row, "text"));
		say(line);
	}
	wet_text_format(line, sizeof line, "Use: %s", text_of(result, "use"));
	say(line);
}

int verb_formula(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "make", "make", TEXT },
											  { "own", "own", LIST },
											  { "scale", "scale", TEXT },
											  { "measure", "measure", TEXT },
											  { NULL, NULL, TEXT } };
	static const char *const keys[] = { "name", NULL };
	json_t *params = json_object(), *result = NULL;
	bool is_list = argc < 2;
	int rc = read_args(s, argc, argv, rows, is_list ? NULL : keys, params);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
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
