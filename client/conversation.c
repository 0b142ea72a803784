/* conversation.c: `arm` at a terminal: the note, the checklist item by item, ready, begin. Lines one under the other, nothing
 * drawn over; a key answers. What is answered is with the daemon at once, so leaving at any moment leaves a run that is ready, with
 * its answers, or none.
 *
 * A repeat within a working day takes two presses. The first is the number that is heard: it can't be pressed from habit, so it
 * stands for having looked at what is written above it as well as for having heard. The second is Enter, which begins. */
#include "client/client.h"
#include "client/keys.h"

#include "base/text.h"

#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define KEYS_TEXT "Keys: Enter yes, it is so; s skip, which is recorded; b back; ? why; q leave, the run stays ready; e EMERGENCY."
#define LEAVE 100 /* no exit status: left on purpose, or by a signal */
#define AGAIN 101 /* the list is not whole yet */

struct talk {
	struct session *session;
	char run[64], person[64];
	json_t *list; /* what checklist.get said last */
};

/* The daemon may have been started anew meanwhile: one more try. What is asked here is safe to be asked twice. */
static int ask_again(struct talk *t, const char *method, json_t *params, json_t **ret_result, struct wet_fault *fault)
{
	struct session *s = t->session;
	json_t *again = json_incref(params);
	int rc = WET_ERR_NO_DAEMON;
	if (s->connection)
		rc = wet_connection_call(s->connection, method, params, CALL_MS, ret_result, NULL, fault);
	else
		json_decref(params);
	if (rc == WET_ERR_NO_DAEMON || rc == WET_ERR_UNKNOWN) {
		wet_connection_close(s->connection);
		s->connection = NULL;
		memset(fault, 0, sizeof *fault);
		rc = wet_connection_open(s->socket, CALL_MS, &s->connection, fault);
		if (rc == 0)
			rc = wet_connection_call(s->connection, method, json_incref(again), CALL_MS, ret_result, NULL, fault);
	}
	json_decref(again);
	return rc;
}

/* Somebody else's paper may have come to lie open in this room: then nothing more is written here. */
static bool is_dark_now(struct talk *t)
{
	struct wet_fault fault = { 0 };
	json_t *status = NULL;
	bool is_dark = ask_again(t, "status.get", NULL, &status, &fault) == 0 && is_dark_for(status, t->run);
	t->session->room = is_dark ? DARK : LIGHT;
	json_decref(status);
	return is_dark;
}

static void say_fault(const struct wet_fault *fault)
{
	char line[768];
	bool is_sentence = fault->err == WET_ERR_REFUSED || fault->err == WET_ERR_STALE || fault->err == WET_ERR_UNHEARD ||
					   fault->err == WET_ERR_POLICY || fault->err == WET_ERR_FIT;
	say_wrapped(is_sentence ? fault->want : wet_fault_line(fault, line, sizeof line));
}

static bool is_gone(int rc)
{
	return rc == WET_ERR_NO_DAEMON || rc == WET_ERR_UNKNOWN || rc == WET_ERR_NOT_FOUND;
}

static json_t *params_of(const struct talk *t)
{
	return json_pack("{s:s}", "run", t->run);
}

/* Takes the list as it is now. */
static int take_list(struct talk *t, int rc, json_t *result, const struct wet_fault *fault)
{
	if (rc != 0) {
		say_fault(fault);
		return is_gone(rc) ? LEAVE : AGAIN;
	}
	json_decref(t->list);
	t->list = result;
	return DONE;
}

static int look(struct talk *t)
{
	struct wet_fault fault = { 0 };
	json_t *result = NULL;
	int rc = ask_again(t, "checklist.get", params_of(t), &result, &fault);
	return take_list(t, rc, result, &fault);
}

/* Sends an answer; number < 0: none belongs to it. */
static int answer(struct talk *t, const char *key, const char *word, int number)
{
	struct wet_fault fault = { 0 };
	json_t *result = NULL, *params = params_of(t);
	(void)json_object_set_new(params, "key", json_string(key));
	(void)json_object_set_new(params, "answer", json_string(word));
	if (number >= 0)
		(void)json_object_set_new(params, "number", json_integer(number));
	if (t->person[0])
		(void)json_object_set_new(params, "person", json_string(t->person));
	int rc = ask_again(t, "checklist.answer", params, &result, &fault);
	return take_list(t, rc, result, &fault);
}

/* The emergency goes before everything, here too. */
static void raise_emergency(struct talk *t)
{
	struct wet_fault fault = { 0 };
	json_t *result = NULL;
	if (ask_again(t, "emergency.raise", NULL, &result, &fault) != 0 || !text_of(result, "text")[0])
		say_emergency();
	else
		say_wrapped(text_of(result, "text"));
	json_decref(result);
}

/* A key of `keys`, or KEY_END. The dark ends it, without a word, but the emergency comes before the dark. */
static int next_key(struct talk *t, const char *keys)
{
	for (;;) {
		int key = keys_next();
		if (key == KEY_ALARM && !strchr(keys, key)) {
			raise_emergency(t); /* its lights are on */
			return KEY_END;
		}
		if (key == KEY_END || is_dark_now(t) || key == 'q' || key == 3 || key == 4)
			return KEY_END;
		if (strchr(keys, key))
			return key;
		char line[160];
		wet_text_format(line, sizeof line, "That key answers nothing here. %s", KEYS_TEXT);
		say_wrapped(line);
	}
}

/* -- items that are more than a yes ------------------------------------------------------- */

static void say_baths(const struct talk *t)
{
	json_t *bath;
	size_t i;
	int unknown = 0;
	char line[400], others[600] = "  The shelf knows nothing of these; are they young enough? ";
	json_array_foreach(json_object_get(t->list, "baths"), i, bath)
	{
		const char *shelf = text_of(bath, "shelf");
		if (json_is_true(json_object_get(bath, "is_water")))
			continue;
		if (!shelf[0]) {
			wet_text_append(others, sizeof others, "%s%s", unknown++ ? ", " : "", text_of(bath, "name"));
			continue;
		}
		wet_text_format(line, sizeof line, "  - %s (%s): %s.", text_of(bath, "name"), text_of(bath, "place"), shelf);
		say_wrapped(line);
	}
	wet_text_append(others, sizeof others, ".");
	if (unknown > 0)
		say_wrapped(others);
}

/* A line, or one of the keys that go everywhere. False: leave. */
static bool take_line(struct talk *t, char *typed, size_t bytes)
{
	enum keys_line line = keys_line(typed, bytes);
	if (line == LINE_ALARM) {
		say("\n"); /* what is said stands below it */
		raise_emergency(t);
	}
	return line == LINE_TYPED && !is_dark_now(t) && strcmp(typed, "q") != 0 && strcmp(typed, "Q") != 0;
}

/* A reading is refused until it makes sense, or is typed twice. False: leave. */
static bool read_bath(struct talk *t, const json_t *bath)
{
	char typed[64], line[300];
	const char *known = text_of(bath, "temperature");
	wet_text_format(line, sizeof line, "  %s, %s%s%s?", text_of(bath, "name"), text_of(bath, "place"),
					known[0] ? ", read as " : "", known);
	say_wrapped(line);
	for (;;) {
		struct wet_fault fault = { 0 };
		json_t *result = NULL, *params = params_of(t);
		bool is_there = take_line(t, typed, sizeof typed);
		if (!is_there || !typed[strspn(typed, " ")]) {
			json_decref(params);
			return is_there;
		}
		(void)json_object_set_new(params, "bath", json_string(text_of(bath, "key")));
		(void)json_object_set_new(params, "temperature", json_string(typed));
		(void)json_object_set_new(params, "when", json_string("before"));
		add_token(params);
		int rc = ask_again(t, "run.reading", params, &result, &fault);
		if (rc == 0)
			wet_text_format(line, sizeof line, "  %s", text_of(result, "text"));
		json_decref(result);
		if (rc != 0)
			say_fault(&fault);
		else
			say_wrapped(line);
		if (rc == 0 || is_gone(rc))
			return rc == 0;
	}
}

static int read_baths(struct talk *t)
{
	json_t *bath, *baths = json_incref(json_object_get(t->list, "baths"));
	size_t i;
	bool goes_on = true;
	say_wrapped("Type each as it reads, as in 19.4C or 67F. Enter alone: not read, or as it was read. q and Enter: leave. e: EMERGENCY.");
	json_array_foreach(baths, i, bath) goes_on = goes_on && read_bath(t, bath);
	json_decref(baths);
	int rc = goes_on ? look(t) : LEAVE;
	if (rc == DONE && text_of(t->list, "spread")[0])
		say_wrapped(text_of(t->list, "spread"));
	return rc;
}

static void play_number(struct talk *t)
{
	struct wet_fault fault = { 0 };
	json_t *result = NULL;
	char line[320];
	if (ask_again(t, "sound.play", params_of(t), &result, &fault) != 0) {
		say_fault(&fault);
	} else if (json_is_false(json_object_get(result, "is_well"))) {
		wet_text_format(line, sizeof line, "NO SOUND: %s. Nothing of this session can be heard until that is mended.",
						text_of(result, "text"));
		say_wrapped(line);
	}
	json_decref(result);
}

/* -- the walk ------------------------------------------------------------------------------- */

static const json_t *item_at(const struct talk *t, size_t at)
{
	return json_array_get(json_object_get(t->list, "items"), at);
}

static bool has_how(const json_t *item, const char *how)
{
	return strcmp(text_of(item, "how"), how) == 0;
}

/* Puts the question, with what belongs to it. */
static int put_question(struct talk *t, size_t at)
{
	char line[420];
	const json_t *item = item_at(t, at);
	const char *tail = "";
	if (has_how(item, "number"))
		tail = " Type the number. Enter: once more. s: begin unheard, which is recorded.";
	else if (has_how(item, "emergency"))
		tail = " Press e with your eyes shut: here it counts as found, and nothing else.";
	wet_text_format(line, sizeof line, "%d of %d. %s%s", (int)at + 1, (int)json_array_size(json_object_get(t->list, "items")),
					text_of(item, "text"), tail);
	say_wrapped(line);
	if (has_how(item, "baths"))
		say_baths(t);
	if (has_how(item, "number"))
		play_number(t);
	return has_how(item, "readings") ? read_baths(t) : DONE;
}

/* DONE: answered; AGAIN: asked once more; LEAVE. *step: -1 where it goes back. */
static int take_answer(struct talk *t, const json_t *item, int *step)
{
	char key_name[64];
	bool is_number = has_how(item, "number"), is_emergency = has_how(item, "emergency");
	int key;
	wet_text_copy(key_name, sizeof key_name, text_of(item, "key"));
	while ((key = next_key(t, is_number ? "\nsb?0123456789" : is_emergency ? "\nesb?" : "\nsb?")) == '?')
		say_wrapped(text_of(item, "more"));
	if (key == KEY_END)
		return LEAVE;
	if (key == 'b') {
		*step = -1;
		return DONE;
	}
	if (is_number && key == '\n')
		return AGAIN;
	if (is_emergency && key == '\n') {
		say("That was Enter. The emergency key is e. s skips it.");
		return AGAIN;
	}
	if (key == 's') {
		int rc = answer(t, key_name, "skipped", -1);
		if (rc == DONE)
			say(is_number ? "  Skipped: begun unheard." : "  Skipped.");
		return rc;
	}
	int rc = answer(t, key_name, "confirmed", is_number ? key - '0' : -1);
	if (rc == DONE)
		say(is_number ? "  Heard." : is_emergency ? "  Found." : "  Yes.");
	return rc;
}

static size_t first_open(const struct talk *t)
{
	size_t at = 0;
	while (item_at(t, at) && text_of(item_at(t, at), "answer")[0])
		at++;
	return at;
}

static int walk(struct talk *t)
{
	size_t at = first_open(t);
	char line[120];
	say_wrapped(KEYS_TEXT);
	if (at > 0 && item_at(t, at)) {
		wet_text_format(line, sizeof line, "%d %s answered before; b goes back to %s.", (int)at, at == 1 ? "item was" : "items were",
						at == 1 ? "it" : "them");
		say_wrapped(line);
	}
	while (item_at(t, at)) {
		int step = 1, rc = put_question(t, at);
		if (rc == DONE)
			rc = take_answer(t, item_at(t, at), &step);
		if (rc == LEAVE)
			return rc;
		if (rc == DONE)
			at = step > 0 ? at + 1 : at > 0 ? at - 1 : 0;
	}
	return DONE;
}

/* -- the same once more ----------------------------------------------------------------------- */

static void say_list(const char *head, const json_t *texts)
{
	json_t *text;
	size_t i;
	char line[300];
	say_wrapped(head);
	json_array_foreach(texts, i, text)
	{
		wet_text_format(line, sizeof line, "  - %s", json_string_value(text));
		say_wrapped(line);
	}
}

/* DONE: all of it is confirmed; AGAIN: item by item. */
static int repeat(struct talk *t)
{
	const json_t *before = json_object_get(t->list, "repeat");
	char line[240], when[32];
	say_when(json_integer_value(json_object_get(before, "armed_wall_ms")), when, sizeof when);
	wet_text_format(line, sizeof line, "The same as run %d of %s, where all of the list was confirmed. From then stands:",
					(int)json_integer_value(json_object_get(before, "run")), when);
	say_list(line, json_object_get(before, "stands"));
	say_list("Look at these again now:", json_object_get(before, "anew"));
	say_baths(t);
	for (;;) {
		struct wet_fault fault = { 0 };
		json_t *result = NULL, *params = params_of(t);
		say_wrapped("A number is being said, or played as pips. Press it: that says that you heard it and that all of the above is so. "
					"Enter: once more. t: type readings. c: item by item. q: leave; the run stays ready.");
		play_number(t);
		int key = next_key(t, "\nct0123456789"), rc = DONE;
		if (key == KEY_END || key == 'c') {
			json_decref(params);
			return key == 'c' ? AGAIN : LEAVE;
		}
		if (key == 't')
			rc = read_baths(t);
		if (key == 't' || key == '\n') {
			json_decref(params);
			if (rc == LEAVE)
				return rc;
			continue;
		}
		(void)json_object_set_new(params, "number", json_integer(key - '0'));
		if (t->person[0])
			(void)json_object_set_new(params, "person", json_string(t->person));
		rc = ask_again(t, "checklist.repeat", params, &result, &fault);
		rc = take_list(t, rc, result, &fault);
		if (rc != AGAIN)
			return rc;
	}
}

/* -- ready --------------------------------------------------------------------------------------- */

static void say_skipped(const struct talk *t)
{
	json_t *item;
	size_t i;
	int skipped = 0;
	char line[300];
	json_array_foreach(json_object_get(t->list, "items"), i, item)
	{
		if (strcmp(text_of(item, "answer"), "skipped") != 0)
			continue;
		if (skipped++ == 0)
			say("Skipped, and so recorded:");
		wet_text_format(line, sizeof line, "  - %s", text_of(item, "text"));
		say_wrapped(line);
	}
	if (skipped == 0)
		say("All of the list is confirmed.");
}

/* While the screen is black and nobody knows whether it has begun: it stays black until a daemon says it. A key that is not the
 * emergency's changes nothing. */
static int begin_once(struct talk *t, json_t *params, bool is_black, json_t **ret_result, struct wet_fault *fault)
{
	struct session *s = t->session;
	int rc = WET_ERR_NO_DAEMON;
	if (s->connection)
		rc = wet_connection_call(s->connection, "run.begin", json_incref(params), CALL_MS, ret_result, NULL, fault);
	bool is_unsure = false;
	while (is_gone(rc)) {
		struct pollfd keys = { STDIN_FILENO, POLLIN, 0 };
		unsigned char key = 0;
		is_unsure = is_unsure || (is_black && rc == WET_ERR_UNKNOWN);
		memset(fault, 0, sizeof *fault);
		rc = ask_again(t, "run.begin", json_incref(params), ret_result, fault);
		is_unsure = is_unsure || (is_black && rc == WET_ERR_UNKNOWN);
		if (!is_unsure || !is_gone(rc) || rc == WET_ERR_NOT_FOUND) /* there is no such run: that is said by a daemon */
			break;
		if (poll(&keys, 1, 200) > 0 && read(STDIN_FILENO, &key, 1) != 1)
			break; /* the terminal has gone */
		if ((key | 0x20) == KEY_ALARM) {
			unblacken();
			raise_emergency(t);
			break;
		}
	}
	return rc;
}

/* Begins and goes over into the watch. AGAIN: the sound is to be heard first. */
static int begin(struct talk *t)
{
	struct session *s = t->session;
	bool is_lit = strcmp(text_of(t->list, "light"), "white") == 0;
	json_t *params = params_of(t);
	add_token(params);
	for (;;) {
		struct wet_fault fault = { 0 };
		json_t *result = NULL;
		say_wrapped(is_lit ? "Ready. Enter begins. q: not yet; the run stays ready."
						   : "Ready. Switch off the light, and the screen, or cover it. Then press Enter: it says that both are off, and "
							 "begins. q: not yet; the run stays ready.");
		if (next_key(t, "\n") == KEY_END) {
			json_decref(params);
			return LEAVE;
		}
		bool is_black = false;
		if (!is_lit && page_is_possible(s)) {
			keys_end(); /* the page takes them over, from the mode that was found */
			is_black = blacken(s);
		}
		int rc = begin_once(t, params, is_black, &result, &fault);
		int64_t begun = 0;
		if (rc != 0 && is_black && is_dark_now(t) && find_watched(s, t->run, t->run, sizeof t->run, &begun) == DONE) {
			json_decref(params);
			return watch_run(s, t->run, begun); /* it has begun, said by a daemon that did not hear the key */
		}
		if (rc != 0 && is_black)
			unblacken();
		if (rc != 0)
			(void)keys_begin();
		if (rc == 0) {
			const json_t *run = json_object_get(result, "run");
			json_int_t id = json_integer_value(json_object_get(run, "id"));
			bool is_dark = json_is_true(json_object_get(run, "is_dark"));
			if (!is_dark)
				say_wrapped(text_of(result, "text"));
			s->room = is_dark ? DARK : LIGHT;
			json_decref(result);
			json_decref(params);
			keys_end();
			return watch_run(s, t->run, id);
		}
		say_fault(&fault);
		if (rc == WET_ERR_UNHEARD || is_gone(rc)) {
			json_decref(params);
			return rc == WET_ERR_UNHEARD ? AGAIN : LEAVE;
		}
	}
}

static int left(struct talk *t)
{
	char line[300];
	if (is_dark_now(t))
		return REFUSED;
	wet_text_format(line, sizeof line,
					"%s stays ready, with what was answered. Go on: wetside arm --go-on %s. Or end it: wetside abandon --run %s",
					t->run, t->run, t->run);
	say_wrapped(line);
	return REFUSED;
}

bool can_converse(const struct session *s)
{
	return !s->is_json && !s->no_input && !s->is_quiet && isatty(STDIN_FILENO) && isatty(STDOUT_FILENO);
}

int converse(struct session *s, const char *run, const char *person)
{
	struct talk t = { .session = s };
	wet_text_copy(t.run, sizeof t.run, run);
	wet_text_copy(t.person, sizeof t.person, person);
	int rc = keys_begin() ? look(&t) : LEAVE;
	if (rc == AGAIN) {
		json_decref(t.list);
		keys_end();
		return REFUSED; /* it has begun, or is another's: that was said */
	}
	if (rc == DONE && json_is_object(json_object_get(t.list, "repeat")) && first_open(&t) == 0)
		rc = repeat(&t);
	while (rc == DONE || rc == AGAIN) {
		rc = look(&t);
		if (rc == DONE && item_at(&t, first_open(&t)))
			rc = walk(&t);
		if (rc != DONE)
			break;
		say_skipped(&t);
		rc = begin(&t);
		if (rc != AGAIN)
			break;
	}
	keys_end();
	json_decref(t.list);
	return rc == LEAVE || rc == AGAIN ? left(&t) : rc;
}

/* The note, once a version and person: in full where it was not acknowledged yet, else a line. False: leave. */
int show_note(struct session *s, const char *recipe, const char *person, bool is_stale_air)
{
	json_t *result = NULL, *params = json_pack("{s:s}", "name", recipe);
	char line[300];
	if (is_stale_air)
		(void)json_object_set_new(params, "stale_air", json_true());
	int rc = ask(s, "safety.acknowledged", json_pack("{s:s, s:s}", "name", recipe, "person", person), &result);
	bool is_known = json_is_true(json_object_get(result, "acknowledged"));
	json_decref(result);
	result = NULL;
	if (rc != DONE || is_known) {
		json_decref(params);
		wet_text_format(line, sizeof line, "Safety note: read and acknowledged. Again: wetside safety %s", recipe);
		if (rc == DONE)
			say_wrapped(line);
		return rc;
	}
	rc = ask(s, "safety.get", params, &result);
	if (rc == DONE)
		say_safety_note(result, false);
	bool is_needed = json_is_true(json_object_get(result, "needs_acknowledgement"));
	json_decref(result);
	if (rc != DONE || !can_converse(s) || !keys_begin())
		return rc;
	say_wrapped(is_needed ? "Enter: I have read it; it is shown again when it changes. q: leave; nothing is armed before it was read."
						  : "Enter: I have read it; it is shown again when it changes. s: not now; it is shown again next time. q: leave.");
	int key;
	do
		key = keys_next();
	while (key != KEY_END && !strchr(is_needed ? "\nq" : "\nsq", key));
	keys_end();
	if (key == KEY_END || key == 'q')
		return LEFT;
	return key == 's' ? DONE : ask(s, "safety.acknowledge", json_pack("{s:s, s:s}", "name", recipe, "person", person), NULL);
}
