/* verbs_wash.c: a wash with its joiners, or its plan only. */
#include "client/client.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>

static int show_wash(struct session *s, const json_t *result)
{
	if (s->is_json) {
		say_json(result);
		return DONE;
	}
	if (s->is_quiet)
		return DONE;
	const json_t *plan = json_object_get(result, "plan"), *run = json_object_get(result, "run");
	if (plan)
		say(text_of(plan, "text"));
	if (text_of(result, "told")[0])
		say(text_of(result, "told"));
	if (text_of(result, "text")[0])
		say(text_of(result, "text"));
	if (json_is_false(json_object_get(result, "stored")))
		say("NOT STORED yet: the disk is behind; the run goes on.");
	if (plan) {
		char line[256];
		const char *name = text_of(run, "name");
		wet_text_format(
			line, sizeof line,
			"Ready as %s. As the pieces go in: wetside go --run %s. It ends only with your press.", name,
			name);
		say(line);
	}
	return DONE;
}

/* What a plan needs is the daemon's to check; what can't go together is a mistake of usage. */
static int check_wash(struct session *s, json_t *params, bool is_plan, bool is_join)
{
	const char *key;
	json_t *value;
	if (is_plan && is_join)
		return fail(s, USAGE, "wash: --plan and --join don't go together; try: wetside wash --help");
	json_object_foreach(params, key, value)
	{
		(void)value;
		char word[64], text[200];
		wet_text_format(word, sizeof word, " %s ", key);
		bool fits = is_join   ? strstr(" run pieces number token ", word) != NULL
					: is_plan ? !strstr(" run washer room person group number token ", word)
							  : !strstr(" number token ", word);
		if (fits)
			continue;
		wet_text_format(text, sizeof text, "wash: --%s does not belong %s; try: wetside wash --help", key,
						is_join   ? "to --join"
						: is_plan ? "to --plan"
								  : "here");
		return fail(s, USAGE, text);
	}
	if (!is_join && !json_object_get(params, "base"))
		return fail(s, USAGE, "wash: --base is missing: rc, fibre-single, fibre-double or film");
	return DONE;
}

/* Joining is an act: while paper is open it is done, heard, and told by the exit status, never by a lit screen. */
static int join_blind(struct session *s, json_t *params)
{
	struct wet_fault fault = { 0 };
	json_t *result = NULL;
	char line[768];
	int rc = wet_connection_call(s->connection, "run.join", params, CALL_MS, &result, NULL, &fault);
	if (rc == 0 && !isatty(STDOUT_FILENO))
		(void)show_wash(s, result);
	else if (rc != 0)
		(void)fail(s, status_of(rc), wet_fault_line(&fault, line, sizeof line));
	json_decref(result);
	return rc == 0 ? DONE : status_of(rc);
}

static bool asks_to_join(int argc, char **argv)
{
	for (int i = 1; i < argc; i++)
		if (strcmp(argv[i], "--join") == 0 || strncmp(argv[i], "--join=", 7) == 0)
			return true;
	return false;
}

int verb_wash(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = {
		{ "base", "base", TEXT },       { "pieces", "pieces", NUMBER },
		{ "size", "size", TEXT },       { "area", "area", TEXT },
		{ "aid", "aid", FLAG },         { "water", "water", TEXT },
		{ "fill-of", "fill_of", TEXT }, { "fill-and-dump", "fill_and_dump", FLAG },
		{ "washer", "washer", TEXT },   { "run", "run", TEXT },
		{ "room", "room", TEXT },       { "person", "person", TEXT },
		{ "group", "group", FLAG },     { "number", "number", NUMBER },
		{ "token", "token", TEXT },     { "join", "join", TEXT },
		{ "plan", "plan", FLAG },       { NULL, NULL, TEXT }
	};
	bool is_dark = false;
	int rc = look_for_dark(s, "", &is_dark);
	if (rc != DONE || (is_dark && !asks_to_join(argc, argv)))
		return rc != DONE ? rc : REFUSED;
	json_t *params = json_object(), *result = NULL;
	rc = read_args(s, argc, argv, rows, NULL, params);
	bool is_plan = json_is_true(json_object_get(params, "plan")),
		 is_join = json_object_get(params, "join") != NULL;
	if (rc == DONE && is_join && json_object_get(params, "run"))
		rc = fail(s, USAGE, "wash: --join names the run already; leave --run out");
	if (rc == DONE && is_join)
		(void)json_object_set(params, "run", json_object_get(params, "join"));
	(void)json_object_del(params, "join");
	(void)json_object_del(params, "plan");
	if (rc == DONE)
		rc = check_wash(s, params, is_plan, is_join);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	if (!is_plan && !is_join && !json_object_get(params, "person"))
		(void)json_object_set_new(params, "person", json_string(person_name()));
	if (is_join && !json_object_get(params, "token"))
		add_token(params);
	if (is_dark)
		return join_blind(s, params);
	rc = ask(s, is_plan ? "wash.compute" : is_join ? "run.join" : "run.wash", params, &result);
	if (rc == DONE)
		rc = show_wash(s, result);
	json_decref(result);
	return rc;
}
