/* verbs_run.c: arming, rehearsing, acting. */
#include "client/client.h"

#include "base/text.h"

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* While paper is open nothing goes to a terminal: a lit screen fogs it. Sound and exit status answer. */
static bool is_blind(const struct session *s, const json_t *run)
{
	return isatty(STDOUT_FILENO) && (s->room == DARK || json_is_true(json_object_get(run, "is_dark")));
}

static void say_course(const json_t *run)
{
	char line[400];
	say(course_of(run, line, sizeof line));
}

static int show_act(struct session *s, json_t *result, bool tells_warmth)
{
	const json_t *run = json_object_get(result, "run");
	if (is_blind(s, run))
		return DONE;
	if (s->is_json) {
		say_json(result);
	} else if (!s->is_quiet) {
		say(text_of(result, "text"));
		if (text_of(run, "warmth")[0] && tells_warmth)
			say_course(run);
		if (json_is_false(json_object_get(result, "stored")))
			say("NOT STORED yet: the disk is behind; the run goes on.");
	}
	return DONE;
}

/* Options that fit one verb only would be sent, and refused with the daemon's words for them. */
static int check_options(struct session *s, const char *verb, const json_t *params)
{
	static const struct {
		const char *verb, *keys;
	} rows[] = {
		{ "abandon", " run held number token " },
		{ "begin", " run heard unheard watch red screen number token " },
		{ "emergency", " " },
		{ "go", " run held number token " },
		{ "hold", " run number token " },
		{ "longer", " run by held number token " },
		{ "reading", " run temperature bath before after room token " },
		{ "resume", " run number token " },
		{ "undo", " run number token " },
		{ "where", " run " },
	};
	const char *key, *keys = "";
	json_t *value;
	char word[64], text[160];
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		if (strcmp(rows[i].verb, verb) == 0)
			keys = rows[i].keys;
	json_object_foreach((json_t *)params, key, value)
	{
		(void)value;
		wet_text_format(word, sizeof word, " %s ", key);
		if (strstr(keys, word))
			continue;
		wet_text_format(text, sizeof text, "%s: --%s does not belong here; try: wetside %s --help", verb, key,
						verb);
		return fail(s, USAGE, text);
	}
	if (json_object_get(params, "before") && json_object_get(params, "after"))
		return fail(s, USAGE, "reading: give --before or --after, not both");
	if (json_object_get(params, "heard") && json_object_get(params, "unheard"))
		return fail(s, USAGE, "begin: give --heard N or --unheard, not both");
	return DONE;
}

/* The act while paper is open: a refusal too is heard, and told by the exit status, never by a lit screen. */
static int act_blind(struct session *s, const char *method, json_t *params, bool tells_warmth)
{
	struct wet_fault fault = { 0 };
	json_t *result = NULL;
	char line[768];
	int rc = wet_connection_call(s->connection, method, params, CALL_MS, &result, NULL, &fault);
	if (rc == 0)
		(void)show_act(s, result, tells_warmth);
	else if (!isatty(STDERR_FILENO))
		(void)fail(s, status_of(rc), wet_fault_line(&fault, line, sizeof line));
	json_decref(result);
	return rc == 0 ? DONE : status_of(rc);
}

int verb_act(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = {
		{ "run", "run", TEXT },         { "held", "held", FLAG }, { "heard", "heard", NUMBER },
		{ "unheard", "unheard", FLAG }, { "bath", "bath", TEXT }, { "before", "before", FLAG },
		{ "after", "after", FLAG },     { "room", "room", FLAG }, { "number", "number", NUMBER },
		{ "watch", "watch", FLAG },
		{ "token", "token", TEXT },     { "red", "red", FLAG },   { "screen", "screen", TEXT },
		{ NULL, NULL, TEXT }
	};
	static const char *const by[] = { "by", NULL }, *const temperature[] = { "temperature", NULL };
	json_t *params = json_object(), *result = NULL;
	const char *verb = argv[0];
	char method[64];
	bool is_longer = strcmp(verb, "longer") == 0, is_reading = strcmp(verb, "reading") == 0;
	bool is_emergency = strcmp(verb, "emergency") == 0, is_dark = false;
	bool tells_warmth = is_reading || strcmp(verb, "where") == 0;
	int rc = read_args(s, argc, argv, rows, is_longer ? by : is_reading ? temperature : NULL, params);
	if (rc == DONE)
		rc = check_options(s, verb, params);
	if (is_emergency)
		s->room = LIGHT;
	if (rc == DONE && !is_emergency) /* nothing goes before an emergency; its light is on */
		rc = look_for_dark(s, text_of(params, "run"), &is_dark);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	const char *when = json_object_get(params, "before")  ? "before"
					   : json_object_get(params, "after") ? "after"
														  : NULL;
	bool watches = json_object_get(params, "watch") != NULL;
	(void)json_object_del(params, "before");
	(void)json_object_del(params, "after");
	(void)json_object_del(params, "watch");
	if (when)
		(void)json_object_set_new(params, "when", json_string(when));
	if (is_emergency) {
		wet_text_copy(method, sizeof method, "emergency.raise");
	} else {
		wet_text_format(method, sizeof method, "run.%s", verb);
		if (strcmp(verb, "where") != 0 && !json_object_get(params, "token"))
			add_token(params);
	}
	if (is_dark)
		return act_blind(s, method, params, tells_warmth);
	rc = watches ? take_red(s, params) : DONE;
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	if (watches && page_is_possible(s))
		return watch_begin(s, params);
	rc = ask(s, method, params, &result);
	if (rc == DONE)
		rc = show_act(s, result, tells_warmth);
	else if (is_emergency && !s->is_json)
		say_emergency();
	if (rc == DONE && watches) { /* typed while it is still light */
		const json_t *run = json_object_get(result, "run");
		rc = watch_run(s, text_of(run, "name"), json_integer_value(json_object_get(run, "id")));
	}
	json_decref(result);
	return rc;
}

/* The recipe of a kept plan; empty: there is none of that name, which arming says better. */
static int find_plan(struct session *s, const char *name, char *ret_recipe, size_t bytes)
{
	json_t *result = NULL, *row;
	size_t i;
	int rc = ask(s, "plan.list", NULL, &result);
	ret_recipe[0] = '\0';
	json_array_foreach(json_object_get(result, "plans"), i, row)
	{
		if (strcmp(text_of(row, "name"), name) == 0)
			wet_text_copy(ret_recipe, bytes, text_of(row, "recipe"));
	}
	json_decref(result);
	return rc;
}

static bool has_option(int argc, char **argv, const char *name)
{
	size_t n = strlen(name);
	for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++)
		if (strncmp(argv[i], name, n) == 0 && (argv[i][n] == '\0' || argv[i][n] == '='))
			return true;
	return false;
}

/* The device is opened for the pips just now; whether it could be is known a moment later. */
#define OPENING_MS 700

void warn_of_sound(struct session *s)
{
	json_t *status = NULL;
	char line[320];
	(void)poll(NULL, 0, OPENING_MS);
	if (ask(s, "status.get", NULL, &status) != DONE)
		return;
	const json_t *sound = json_object_get(status, "sound");
	if (strcmp(text_of(sound, "health"), "not known") == 0) {
		wet_text_format(line, sizeof line, "Sound: %s: the number that you hear is the proof.", text_of(sound, "text"));
		say(line);
	} else if (strcmp(text_of(sound, "health"), "well") != 0) {
		wet_text_format(line, sizeof line,
						"NO SOUND: %s. Nothing of this session can be heard until that is mended.", text_of(sound, "text"));
		say(line);
	}
	json_decref(status);
}

/* Somebody who can't be asked: the list to be gone through, and what to type then. */
static void say_armed(const json_t *result, const char *name)
{
	char line[1024];
	json_t *row;
	size_t i;
	say("Before the light goes out:");
	json_array_foreach(json_object_get(result, "checklist"), i, row)
	{
		wet_text_format(line, sizeof line, "  [ ] %s", json_string_value(row));
		say(line);
	}
	if (text_of(result, "told")[0])
		say(text_of(result, "told"));
	wet_text_format(line, sizeof line,
					"Armed as %s. A number is being said, or played as pips to count: switch off light and screen, then: "
					"wetside begin --run %s --heard N",
					name, name);
	say(line);
}

/* --yes: every item that a yes can answer, and for the record that nobody was asked. */
static int assume_all(struct session *s, const char *run)
{
	int rc = ask(s, "checklist.answer", json_pack("{s:s, s:s}", "run", run, "answer", "assumed"), NULL);
	if (rc == DONE && !s->is_json && !s->is_quiet)
		say("Assumed, as of --yes: nobody was asked, and so it is recorded.");
	return rc;
}

/* Armed: the conversation, or the list. */
static int go_on(struct session *s, json_t *result, const char *person, bool is_yes)
{
	char name[64];
	wet_text_copy(name, sizeof name, text_of(json_object_get(result, "run"), "name"));
	int rc = DONE;
	if (s->is_json) {
		say_json(result);
		return is_yes ? assume_all(s, name) : DONE;
	}
	if (can_converse(s) && !is_yes) {
		char line[160];
		wet_text_format(line, sizeof line, "Armed as %s.", name);
		say(line);
		if (text_of(result, "told")[0])
			say_wrapped(text_of(result, "told"));
		say_meets("Care, before anything else:", json_object_get(result, "meets"));
		return converse(s, name, person);
	}
	warn_of_sound(s);
	say_armed(result, name);
	if (is_yes)
		rc = assume_all(s, name);
	return rc;
}

static int arm(struct session *s, json_t *params, const char *recipe, bool is_yes)
{
	json_t *result = NULL;
	char person[64];
	wet_text_copy(person, sizeof person, text_of(params, "person"));
	/* The note comes before arming. */
	int rc = s->is_json || s->is_quiet || !recipe[0]
				 ? DONE
				 : show_note(s, recipe, person, json_object_get(params, "stale_air") != NULL);
	if (rc != DONE) {
		json_decref(params);
		return rc == LEFT ? REFUSED : rc;
	}
	if (can_converse(s) && !is_yes)
		(void)json_object_set_new(params, "number_later", json_true());
	rc = ask(s, "run.arm", params, &result);
	if (rc == DONE)
		rc = go_on(s, result, person, is_yes);
	json_decref(result);
	return rc;
}

int verb_arm(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = { { "run", "run", TEXT },
											  { "plan", "plan", TEXT },
											  { "go-on", "go_on", TEXT },
											  { "pieces", "pieces", NUMBER },
											  { "vessel", "vessel", TEXT },
											  { "washer", "washer", TEXT },
											  { "fill", "fill", TEXT },
											  { "drain", "drain", TEXT },
											  { "stagger", "stagger", TEXT },
											  { "room", "room", TEXT },
											  { "person", "person", TEXT },
											  { "room-temperature", "room_temperature", TEXT },
											  { "cooling", "cooling", TEXT },
											  { "no-beat", "no_beat", FLAG },
											  { "group", "group", FLAG },
											  { "stale-air", "stale_air", FLAG },
											  { "yes", "yes", FLAG },
											  { "from-cameras", "from_cameras", FLAG },
											  { "piece", "unload", LIST },
											  { NULL, NULL, TEXT } };
	static const char *const keys[] = { "recipe", NULL };
	json_t *params = json_object();
	char recipe[64] = "", run[64] = "", person[64] = "";
	bool has_plan = has_option(argc, argv, "--plan"), goes_on = has_option(argc, argv, "--go-on");
	int rc = read_args(s, argc, argv, rows, has_plan || goes_on ? NULL : keys, params);
	bool is_yes = json_object_get(params, "yes") != NULL;
	wet_text_copy(run, sizeof run, text_of(params, "go_on"));
	wet_text_copy(person, sizeof person, text_of(params, "person"));
	if (rc == DONE && goes_on) {
		bool is_alone = json_object_size(params) == (person[0] ? 2U : 1U);
		json_decref(params);
		if (!is_alone)
			return fail(s, USAGE, "arm: --go-on NAME stands alone: the run is armed already");
		if (!can_converse(s))
			return fail(s, USAGE, "arm: --go-on asks, so it needs a terminal; else: wetside begin --heard N");
		rc = ask(s, "status.get", NULL, NULL); /* the connection, or how to start the daemon */
		return rc == DONE ? converse(s, run, person) : rc;
	}
	if (rc == DONE && has_plan)
		rc = find_plan(s, text_of(params, "plan"), recipe, sizeof recipe);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	if (!has_plan)
		wet_text_copy(recipe, sizeof recipe, text_of(params, "recipe"));
	(void)json_object_del(params, "yes");
	if (!person[0])
		(void)json_object_set_new(params, "person", json_string(person_name()));
	return arm(s, params, recipe, is_yes);
}

#define HANDLING_HEARD 8 /* times as fast, as in the text below */

/* --rate 20 --rate develop=2 */
static int split_rates(struct session *s, json_t *params)
{
	json_t *list = json_object_get(params, "rate"), *value, *rates = json_object();
	size_t i;
	char all[32] = "20", kind[64];
	json_array_foreach(list, i, value)
	{
		const char *text = json_string_value(value), *equal = strchr(text, '=');
		if (!equal) {
			wet_text_copy(all, sizeof all, text);
		} else if (equal > text && equal[1] && (size_t)(equal - text) < sizeof kind) {
			wet_text_copy(kind, (size_t)(equal - text) + 1, text);
			(void)json_object_set_new(rates, kind, json_string(equal + 1));
		} else {
			json_decref(rates);
			return fail(s, USAGE, "rehearse: --rate KIND=N, as in --rate develop=2");
		}
	}
	/* Each step of handling takes ten seconds: told faster than this, its words and tones would run into one another and be left
	 * out. At over a hundred nobody listens. */
	double rate = strtod(all, NULL);
	if (rate > HANDLING_HEARD && rate <= 100 && !json_object_get(rates, "handling"))
		(void)json_object_set_new(rates, "handling", json_string("8"));
	(void)json_object_set_new(params, "rate", json_string(all));
	(void)json_object_set_new(params, "rates", rates);
	return DONE;
}

int verb_rehearse(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = {
		{ "rate", "rate", LIST },   { "pieces", "pieces", NUMBER },   { "mine", "mine", FLAG },
		{ "wet", "wet", FLAG },     { "vessel", "vessel", TEXT },     { "run", "run", TEXT },
		{ "washer", "washer", TEXT }, { "make", "make", TEXT },       { "own", "own", LIST },
		{ "scale", "scale", TEXT }, { "measure", "measure", TEXT },
		{ "fill", "fill", TEXT },   { "drain", "drain", TEXT },       { "no-beat", "no_beat", FLAG },
		{ "watch", "watch", FLAG }, { "no-watch", "no_watch", FLAG }, { NULL, NULL, TEXT }
	};
	static const char *const keys[] = { "recipe", NULL };
	json_t *params = json_object(), *result = NULL;
	int rc = read_args(s, argc, argv, rows, keys, params);
	bool watches = !json_object_get(params, "no_watch") && (!s->is_json || json_object_get(params, "watch"));
	(void)json_object_del(params, "watch");
	(void)json_object_del(params, "no_watch");
	if (rc == DONE)
		rc = split_rates(s, params);
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	rc = ask(s, "run.rehearse", params, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	if (rc == DONE && watches) {
		char name[64];
		wet_text_copy(name, sizeof name, text_of(json_object_get(result, "run"), "name"));
		rc = watch_run(s, name, json_integer_value(json_object_get(json_object_get(result, "run"), "id")));
	}
	json_decref(result);
	return rc;
}
