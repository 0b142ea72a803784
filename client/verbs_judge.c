/* verbs_judge.c: a piece against what was wanted, and what the next is metered at. */
#include "client/client.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

static void say_suggestion(const json_t *suggestion)
{
	size_t i;
	json_t *line;
	json_array_foreach(json_object_get(suggestion, "lines"), i, line) say_wrapped(json_string_value(line));
}

/* "0.5 lighter" wants its unit; what is no such number is left for the daemon to judge. */
static void add_stops(char *text, size_t bytes, const char *word)
{
	char *end;
	double number = strtod(word, &end);
	bool is_bare = end != word && !*end;
	if (!is_bare && strchr(word, '/'))
		is_bare = strspn(word, "0123456789/") == strlen(word);
	wet_text_append(text, bytes, "%s%s%s", text[0] ? " " : "", word, !is_bare ? "" : number == 1 ? " stop" : " stops");
}

/* "7 0.5 lighter --dry" keeps "7 --dry": what stands between is how it is. */
static int take_words(int argc, char **argv, char *judged, size_t bytes)
{
	static const char *const with_value[] = { "--flaw", "--paper", "--person", "--token" };
	int kept = 1, words = 0;
	for (int i = 1; i < argc; i++) {
		bool is_option = strncmp(argv[i], "--", 2) == 0;
		if (!is_option && ++words > 1) {
			bool has_unit = i + 1 < argc && strncmp(argv[i + 1], "stop", 4) == 0;
			if (has_unit)
				wet_text_append(judged, bytes, "%s%s", judged[0] ? " " : "", argv[i]);
			else
				add_stops(judged, bytes, argv[i]);
			continue;
		}
		argv[kept++] = argv[i];
		for (size_t k = 0; is_option && k < sizeof with_value / sizeof with_value[0]; k++)
			if (strcmp(argv[i], with_value[k]) == 0 && i + 1 < argc)
				argv[kept++] = argv[++i];
	}
	argv[kept] = NULL;
	return kept;
}

int verb_judge(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "dry", "dry", FLAG },
											  { "wet", "wet", FLAG },
											  { "flaw", "flaws", LIST },
											  { "direct-positive", "direct_positive", FLAG },
											  { "negative", "negative", FLAG },
											  { "paper", "paper", TEXT },
											  { "person", "person", TEXT },
											  { "token", "token", TEXT },
											  { NULL, NULL, TEXT } };
	static const char *const keys[] = { "piece", NULL };
	json_t *params = json_object(), *result = NULL;
	char judged[64] = "";
	bool asks = argc == 1 || argv[1][0] == '-';
	argc = take_words(argc, argv, judged, sizeof judged);
	int rc = read_args(s, argc, argv, rows, asks ? NULL : keys, params);
	if (rc == DONE && !asks && !judged[0])
		rc = fail(s, USAGE, "judge: how is it? As in: wetside judge 7 0.5 lighter --dry, or: wetside judge 7 right --dry");
	else if (rc == DONE && !asks && json_object_get(params, "paper"))
		rc = fail(s, USAGE, "judge: --paper asks alone; the paper of a piece is that of its box");
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	if (!asks) {
		(void)json_object_set_new(params, "judged", json_string(judged));
		if (!json_object_get(params, "token"))
			add_token(params);
		if (!json_object_get(params, "person"))
			(void)json_object_set_new(params, "person", json_string(person_name()));
	}
	rc = ask(s, asks ? "judgement.suggest" : "judgement.put", params, &result);
	if (rc == DONE && !show(s, result)) {
		if (!asks)
			say_wrapped(text_of(result, "text"));
		say_suggestion(json_object_get(result, "suggestion"));
	}
	json_decref(result);
	return rc;
}
