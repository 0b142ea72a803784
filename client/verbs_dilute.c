/* verbs_dilute.c: quick dilution. A ratio with a colon is asked about, for the trade reads it in two ways. */
#include "client/client.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* Both readings, and which is meant. Nothing is chosen for a person who gives no clear answer. */
static int choose(struct session *s, const json_t *result)
{
	const json_t *row;
	char line[512], answer[32];
	size_t i;
	wet_text_format(line, sizeof line, "%s is read in two ways:", text_of(result, "question"));
	say(line);
	json_array_foreach(json_object_get(result, "readings"), i, row)
	{
		const json_t *one = json_object_get(row, "result");
		wet_text_format(line, sizeof line, "  %d  %s (%s): %s of stock and %s of water", (int)i + 1,
						text_of(row, "ratio"), i == 0 ? "parts and parts" : "a part in the whole",
						text_of(one, "stock"), text_of(one, "water"));
		say(line);
	}
	fputs("Which, 1 or 2? ", stdout);
	(void)fflush(stdout);
	if (!fgets(answer, sizeof answer, stdin) || (answer[0] != '1' && answer[0] != '2') || answer[1] != '\n')
		return fail(s, REFUSED, "nothing chosen; the label or the recipe says which is meant");
	row = json_array_get(json_object_get(result, "readings"), answer[0] == '1' ? 0 : 1);
	say(text_of(json_object_get(row, "result"), "text"));
	return DONE;
}

static bool has_ratio(int argc, char **argv)
{
	for (int i = 1; i < argc; i++) {
		if (strcmp(argv[i], "--") == 0)
			return i + 1 < argc;
		if (strncmp(argv[i], "--", 2) != 0)
			return true;
		i += strchr(argv[i], '=') == NULL; /* every option of this verb takes a value */
	}
	return false;
}

static int check(struct session *s, const json_t *params, bool is_ratio)
{
	bool has_stock = json_object_get(params, "stock"), has_to = json_object_get(params, "to");
	if (is_ratio ? has_stock || has_to || json_object_get(params, "with") || json_object_get(params, "solute")
				 : !has_stock || !has_to || json_object_get(params, "then"))
		return fail(s, USAGE,
					"dilute: give a ratio (1+9), or both --stock and --to; try: wetside dilute --help");
	if (!json_object_get(params, "make") == !json_object_get(params, "have"))
		return fail(s, USAGE, "dilute: give one of --make and --have with a volume, as in --make 600mL");
	return DONE;
}

int verb_dilute(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "make", "make", TEXT },     { "have", "have", TEXT },
											  { "stock", "stock", TEXT },   { "to", "to", TEXT },
											  { "with", "with", TEXT },     { "then", "then", LIST },
											  { "solute", "solute", TEXT }, { "graduate", "graduates", LIST },
											  { NULL, NULL, TEXT } };
	static const char *const keys[] = { "ratio", NULL };
	json_t *params = json_object(), *result = NULL;
	bool is_ratio = has_ratio(argc, argv);
	int rc = read_args(s, argc, argv, rows, is_ratio ? keys : NULL, params);
	if (rc == DONE)
		rc = check(s, params, is_ratio);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	if (!s->is_json && !s->no_input && isatty(STDIN_FILENO) && isatty(STDOUT_FILENO))
		(void)json_object_set_new(params, "reading", json_string("ask"));
	rc = ask(s, "dilution.compute", params, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	else if (rc == DONE && json_object_get(result, "question"))
		rc = choose(s, result);
	else if (rc == DONE)
		say(text_of(result, "text"));
	json_decref(result);
	return rc;
}
