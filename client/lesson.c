/* lesson.c: `sound --teach`: each sound is played, named and explained, then asked for in random order. It works by ear alone, and
 * without a voice. */
#include "client/client.h"
#include "client/keys.h"

#include "base/text.h"

#include <ctype.h>
#include <poll.h>
#include <string.h>
#include <sys/random.h>
#include <unistd.h>

#define SOUNDS 10         /* as many as there are digits */
#define SPOKEN_MS 4000    /* the longest name and meaning, said; with nobody there who presses a key */
#define PAUSE_MS 700      /* between two sounds */
#define ROUNDS 3          /* of what was missed */

struct sound {
	char tone[24], name[24], text[160];
	int64_t length_ms;
	bool is_heard, is_missed, is_known; /* in the quiz */
};

struct lesson {
	struct session *session;
	int count;
	struct sound sounds[SOUNDS];
};

/* "POUR_OUT" -> "pour out" */
static void name_of(const char *tone, char *buf, size_t bytes)
{
	wet_text_copy(buf, bytes, tone);
	for (char *p = buf; *p; p++)
		*p = *p == '_' ? ' ' : (char)tolower((unsigned char)*p);
}

/* A run that begins meanwhile ends the lesson: its paper may lie open, so that nothing more is written. */
static bool is_dark_now(struct lesson *l)
{
	l->session->room = NOT_LOOKED;
	return must_be_dark(l->session);
}

static int play(struct lesson *l, const struct sound *sound, bool says)
{
	json_t *result = NULL, *params = json_pack("{s:s}", "tone", sound->tone);
	if (says)
		(void)json_object_set_new(params, "say", json_true());
	int rc = ask(l->session, "sound.play", params, &result);
	if (rc == DONE && l->session->is_json)
		say_json(result);
	if (rc == DONE && !l->session->is_json && json_is_false(json_object_get(result, "is_well"))) {
		char line[300];
		wet_text_format(line, sizeof line, "Sound is not well: %s", text_of(result, "text"));
		say_wrapped(line);
	}
	json_decref(result);
	return rc;
}

static int take_sounds(struct lesson *l)
{
	json_t *result = NULL, *tone;
	size_t i;
	int rc = ask(l->session, "sound.play", NULL, &result);
	json_array_foreach(json_object_get(result, "tones"), i, tone)
	{
		if (l->count == SOUNDS || !json_is_true(json_object_get(tone, "is_taught")))
			continue;
		struct sound *sound = &l->sounds[l->count++];
		wet_text_copy(sound->tone, sizeof sound->tone, text_of(tone, "name"));
		wet_text_copy(sound->text, sizeof sound->text, text_of(tone, "text"));
		name_of(sound->tone, sound->name, sizeof sound->name);
		sound->length_ms = json_integer_value(json_object_get(tone, "length_ms"));
	}
	if (rc == DONE && !l->session->is_json)
		say_wrapped(text_of(result, "rules"));
	json_decref(result);
	return rc;
}

static char key_of(int at)
{
	return (char)('0' + (at + 1) % 10);
}

/* Each once, with its name. is_asked: the next one comes with a key. */
static int tell(struct lesson *l, bool is_asked)
{
	char line[256];
	for (int i = 0; i < l->count; i++) {
		const struct sound *sound = &l->sounds[i];
		if (is_dark_now(l))
			return REFUSED;
		if (!l->session->is_json) {
			wet_text_format(line, sizeof line, "%c  %s: %s.", key_of(i), sound->name, sound->text);
			say_wrapped(line);
		}
		int rc = play(l, sound, true);
		if (rc != DONE)
			return rc;
		if (!is_asked) {
			struct pollfd reader = { STDOUT_FILENO, 0, 0 };
			if (poll(&reader, 1, (int)sound->length_ms + (i + 1 < l->count ? SPOKEN_MS : PAUSE_MS)) > 0)
				return LEFT; /* hung up: nobody hears it either */
			continue;
		}
		int key = keys_next();
		if (key == KEY_END || key == 'q')
			return LEFT;
		if (key != '\n')
			i--;
	}
	return DONE;
}

static void shuffle(int *order, int count)
{
	for (int i = 0; i < count; i++)
		order[i] = i;
	for (int i = count - 1; i > 0; i--) {
		unsigned char byte = 0;
		if (getrandom(&byte, 1, 0) != 1)
			byte = (unsigned char)(3 * i);
		int j = byte % (i + 1), kept = order[i];
		order[i] = order[j];
		order[j] = kept;
	}
}

/* Plays one and takes a digit. LEFT: enough. */
static int ask_for(struct lesson *l, int at)
{
	char line[256];
	for (;;) {
		int rc = play(l, &l->sounds[at], false);
		if (rc != DONE)
			return rc;
		int key = keys_next();
		if (is_dark_now(l))
			return REFUSED;
		if (key == KEY_END || key == 'q')
			return LEFT;
		if (key < '0' || key > '9')
			continue; /* once more */
		l->sounds[at].is_heard = true;
		l->sounds[at].is_known = key == key_of(at);
		wet_text_format(line, sizeof line, "  %s: %c, %s.", l->sounds[at].is_known ? "Right" : "No", key_of(at), l->sounds[at].name);
		say(line);
		l->sounds[at].is_missed = l->sounds[at].is_missed || !l->sounds[at].is_known;
		return DONE;
	}
}

static int quiz(struct lesson *l)
{
	int order[SOUNDS], rc = DONE, open = l->count;
	say_wrapped("Now the other way round: a sound is played; type its digit. Enter: once more. q: enough.");
	for (int round = 0; round < 1 + ROUNDS && open > 0 && rc == DONE; round++) {
		shuffle(order, l->count);
		if (round > 0)
			say("Once more, what was missed:");
		for (int i = 0; i < l->count && rc == DONE; i++)
			if (round == 0 || !l->sounds[order[i]].is_known)
				rc = ask_for(l, order[i]);
		open = 0;
		for (int i = 0; i < l->count; i++)
			open += !l->sounds[i].is_known;
	}
	return rc;
}

static void say_score(const struct lesson *l)
{
	char line[400] = "";
	int missed = 0, heard = 0;
	for (int i = 0; i < l->count; i++) {
		heard += l->sounds[i].is_heard;
		if (l->sounds[i].is_missed)
			wet_text_append(line, sizeof line, "%s%s", missed++ ? ", " : " Missed: ", l->sounds[i].name);
	}
	if (heard == 0)
		return;
	char whole[480];
	wet_text_format(whole, sizeof whole, "%d of %d right at first hearing.%s%s", heard - missed, heard, line, missed ? "." : "");
	say_wrapped(whole);
}

int teach_sounds(struct session *s)
{
	struct lesson l = { .session = s };
	int rc = take_sounds(&l);
	bool is_asked = rc == DONE && can_converse(s) && keys_begin();
	if (rc == DONE && is_asked)
		say_wrapped("Enter: the next. Any other key: once more. q: enough.");
	if (rc == DONE)
		rc = tell(&l, is_asked);
	if (rc == DONE && is_asked) {
		rc = quiz(&l);
		if (rc == DONE || rc == LEFT)
			say_score(&l);
	}
	keys_end();
	return rc == LEFT ? DONE : rc;
}
