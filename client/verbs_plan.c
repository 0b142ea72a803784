/* verbs_plan.c: what to mix, for how many loads. */
#include "client/client.h"

#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void say_lines(const char *head, const json_t *lines)
{
	size_t i;
	json_t *line;
	if (head && json_array_size(lines) > 0)
		say(head);
	json_array_foreach(lines, i, line) say(json_string_value(line));
}

static int list_plans(struct session *s)
{
	json_t *result = NULL, *row;
	size_t i;
	char line[200], when[32];
	int rc = ask(s, "plan.list", NULL, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	else if (rc == DONE && json_array_size(json_object_get(result, "plans")) == 0)
		say("No plan is kept. wetside plan --help shows how to make one.");
	else if (rc == DONE)
		json_array_foreach(json_object_get(result, "plans"), i, row)
		{
			say_when(json_integer_value(json_object_get(row, "wall_ms")), when, sizeof when);
			wet_text_format(line, sizeof line, "%-20s %s  %s", text_of(row, "name"), when, text_of(row, "recipe"));
			say(line);
		}
	json_decref(result);
	return rc;
}

/* --pieces 6 --size 9x12cm, as often as there are sizes. */
static int pair_pieces(struct session *s, json_t *params)
{
	json_t *counts = json_object_get(params, "pieces"), *sizes = json_object_get(params, "size"), *list = json_array();
	size_t n = json_array_size(counts);
	if (n == 0 || n != json_array_size(sizes)) {
		json_decref(list);
		return fail(s, USAGE, "plan: give --pieces and --size in pairs, as in --pieces 6 --size 9x12cm");
	}
	for (size_t i = 0; i < n; i++) {
		const char *text = json_string_value(json_array_get(counts, i));
		char *end;
		long count = strtol(text, &end, 10);
		if (*end || end == text) {
			json_decref(list);
			return fail(s, USAGE, "plan: --pieces needs a whole number, as in --pieces 6");
		}
		(void)json_array_append_new(
			list, json_pack("{s:I, s:O}", "count", (json_int_t)count, "size", json_array_get(sizes, i)));
	}
	(void)json_object_set_new(params, "pieces", list);
	(void)json_object_del(params, "size");
	return DONE;
}

static int show_plan(const json_t *result)
{
	char line[200];
	const json_t *refusal = json_object_get(result, "refusal");
	if (json_is_false(json_object_get(result, "is_feasible"))) {
		size_t i;
		json_t *row;
		json_array_foreach(json_object_get(refusal, "lines"), i, row)
		{
			char clean[400];
			fprintf(stderr, "%s%s\n", i == 0 ? "wetside: " : "  ",
					wet_text_clean(clean, sizeof clean, json_string_value(row)));
		}
		return REFUSED;
	}
	say_lines(NULL, json_object_get(result, "text"));
	say("");
	say_lines(NULL, json_object_get(result, "cautions"));
	say("");
	say_meets("What meets in this process, worst first:", json_object_get(result, "meets"));
	say_lines("MIXING SHEET", json_object_get(result, "sheet"));
	if (text_of(result, "kept_as")[0]) {
		wet_text_format(line, sizeof line, "Kept as %s. Mix, then arm each load: wetside arm --plan %s",
						text_of(result, "kept_as"), text_of(result, "kept_as"));
		say(line);
	}
	return DONE;
}

int verb_plan(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "pieces", "pieces", LIST },
											  { "size", "size", LIST },
											  { "vessel", "vessel", TEXT },
											  { "washer", "washer", TEXT },
											  { "keep", "keep", TEXT },
											  { "trial", "trial", FLAG },
											  { "stale-air", "stale_air", FLAG },
											  { "mix-lots", "mix_lots", FLAG },
											  { "hot", "hot", TEXT },
											  { "cold", "cold", TEXT },
											  { "stock", "stock", TEXT },
											  { "room", "room", TEXT },
											  { NULL, NULL, TEXT } };
	static const char *const keys[] = { "recipe", NULL };
	json_t *params, *result = NULL;
	if (argc < 2)
		return list_plans(s);
	params = json_object();
	int rc = read_args(s, argc, argv, rows, keys, params);
	if (rc == DONE && !json_object_get(params, "vessel"))
		rc = fail(s, USAGE, "plan: which vessel? --vessel NAME; `wetside vessel` lists them");
	if (rc == DONE)
		rc = pair_pieces(s, params);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	rc = ask(s, "plan.compute", params, &result);
	if (rc == DONE && s->is_json) {
		bool is_feasible = json_is_true(json_object_get(result, "is_feasible"));
		say_json(result);
		rc = is_feasible ? DONE : REFUSED;
	} else if (rc == DONE) {
		rc = show_plan(result);
	}
	json_decref(result);
	return rc;
}

int verb_blend(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "to", "to", TEXT },       { "make", "make", TEXT },
											  { "hot", "hot", TEXT },     { "cold", "cold", TEXT },
											  { "stock", "stock", TEXT }, { "stock-at", "stock_at", TEXT },
											  { "step", "step", TEXT },   { "bottle", "bottle", TEXT },
											  { "in", "in", TEXT },       { "constant", "constant", TEXT },
											  { "after", "after", TEXT }, { "reads", "reads", TEXT },
											  { "vessel", "vessel", TEXT }, { "vessel-at", "vessel_at", TEXT },
											  { "holds", "holds", TEXT }, { "bath", "bath", TEXT },
											  { "room", "room", TEXT }, { "bath-constant", "bath_constant", TEXT },
											  { "bath-after", "bath_after", TEXT }, { "bath-reads", "bath_reads", TEXT },
											  { NULL, NULL, TEXT } };
	static const char *const blend[] = { "to", "make", "hot", "cold", NULL };
	static const char *const stand[] = { "to", "bottle", "in", NULL };
	json_t *params = json_object(), *result = NULL;
	char text[120];
	int rc = read_args(s, argc, argv, rows, NULL, params);
	bool is_bottle = json_object_get(params, "bottle") != NULL;
	const char *const *needed = is_bottle ? stand : blend;
	for (size_t i = 0; needed[i] && rc == DONE; i++) {
		if (json_object_get(params, needed[i]))
			continue;
		wet_text_format(text, sizeof text, "blend: --%s is missing; try: wetside blend --help", needed[i]);
		rc = fail(s, USAGE, text);
	}
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	rc = ask(s, is_bottle ? "blend.time" : "blend.compute", params, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	else if (rc == DONE)
		say(text_of(result, "text"));
	json_decref(result);
	return rc;
}
