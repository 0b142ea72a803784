/* voice.c: what is said, when. */
#include "host/clock.h"
#include "host/voice_inside.h"

#include "base/spoken.h"
#include "base/text.h"
#include "wetside/sound.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NAME_GAP_NS 120000000LL /* "tank two" and what it is about */
#define SAME_NS 3000000000LL    /* the same alarm of several runs is said once */

static int64_t length_ns(const struct words *w)
{
	return (int64_t)wet_speaker_words_samples(w->pcm) * 1000000000 / WET_SAMPLE_RATE;
}

struct voice *voice_open(struct wet_host *host)
{
	struct voice *v = calloc(1, sizeof *v);
	if (!v)
		return NULL;
	v->host = host;
	v->wanted_tail = &v->wanted;
	lanes_open(v);
	/* Is there a voice at all? Then arming can say so. */
	struct words *probe = words_want(v, "Ready.", false);
	if (probe)
		probe->is_probe = true;
	v->wants_release = true;
	return v;
}

void voice_stop(struct voice *v)
{
	if (!v)
		return;
	v->is_closing = true;
	lanes_stop(v);
}

void voice_free(struct voice *v)
{
	if (!v)
		return;
	lanes_free(v);
	words_free_all(v);
	free(v);
}

/* -- is there one? --------------------------------------------------------------- */

void voice_judge(struct voice *v, bool is_final, const char *why)
{
	char line[WET_LINE_BYTES];
	bool was_bad = v->is_bad;
	if (!why) {
		v->has_spoken = true;
		v->failures = 0;
		v->is_bad = false;
		if (was_bad && v->host->options.log)
			v->host->options.log("The voice is back.");
		return;
	}
	v->failures++;
	if (!is_final && v->has_spoken && v->failures < WET_VOICE_FAILURES)
		return;
	const char *program = v->host->options.voice_program;
	wet_text_format(v->why, sizeof v->why, "%s: %s%s; tones only", program, why,
					is_final ? " (on Debian: apt-get install espeak-ng)" : "");
	v->is_bad = true;
	v->has_spoken = false;
	words_fail_wanted(v);
	wet_text_format(line, sizeof line, "No voice: %s.", v->why);
	if (!was_bad && v->host->options.log)
		v->host->options.log(line);
}

bool voice_is_well(void *ctx, char *text, unsigned text_bytes)
{
	const struct voice *v = ((struct wet_host *)ctx)->voice;
	if (v && !v->is_bad)
		wet_text_format(text, text_bytes, "%s, %s", v->host->options.voice_program, v->host->options.voice);
	else
		wet_text_copy(text, text_bytes, v ? v->why : "none was asked for");
	return v && !v->is_bad;
}

/* -- what is to be said -------------------------------------------------------------- */

/* A printed text as the voice gets it. */
static const char *speak(const struct voice *v, const char *text, char *buf, unsigned buf_bytes)
{
	char said[VOICE_TEXT_BYTES];
	const struct wet_phrases *phrases = v->host->options.phrases;
	if (phrases)
		text = wet_phrases_say(phrases, text, said, sizeof said, NULL);
	return v->host->options.is_english ? wet_spoken(text, buf, buf_bytes) : wet_spoken_as_is(text, buf, buf_bytes);
}

void voice_say_soon(void *ctx, const char *text)
{
	struct voice *v = ((struct wet_host *)ctx)->voice;
	char spoken[VOICE_TEXT_BYTES];
	if (!v)
		return;
	v->wants_release = text == NULL;
	if (text)
		(void)words_want(v, speak(v, text, spoken, sizeof spoken), false);
}

/* The emergency, a lost sound: told to each run, said once. */
static bool is_said_already(const struct voice *v, const struct wet_sentence *s)
{
	if (s->tone != WET_TONE_ALARM || s->is_planned)
		return false;
	for (size_t i = 0; i < v->talk.count; i++)
		if (v->talk.waiting[i].words[1] == s->words[1] && s->cue_ns - v->talk.waiting[i].cue_ns < SAME_NS)
			return true;
	return v->talk.is_speaking && v->talk.now.words[1] == s->words[1] && s->cue_ns - v->talk.now.cue_ns < SAME_NS;
}

static void play_pips(struct voice *v, int pips)
{
	(void)wet_speaker_now(v->host->speaker, WET_TONE_PIPS, pips);
}

/* Of a voice that is gone what was kept can still be said; what was not has no words. */
static struct words *ask(struct voice *v, const char *spoken)
{
	if (!v->is_bad)
		return words_want(v, spoken, true);
	struct words *w = words_find(v, spoken);
	return w && w->state == WORDS_READY ? w : NULL;
}

void voice_say(void *ctx, const struct wet_saying *saying)
{
	struct voice *v = ((struct wet_host *)ctx)->voice;
	char spoken[VOICE_TEXT_BYTES];
	struct wet_sentence s = { .owner = saying->owner,
							  .tone = saying->tone,
							  .is_planned = saying->is_planned,
							  .cue_ns = saying->cue_ns,
							  .from_ns = saying->from_ns,
							  .until_ns = saying->until_ns,
							  .pips = saying->pips };
	if (v && saying->name[0])
		s.words[0] = ask(v, speak(v, saying->name, spoken, sizeof spoken));
	if (v)
		s.words[1] = ask(v, speak(v, saying->text, spoken, sizeof spoken));
	if (!s.words[1]) {
		if (s.pips > 0)
			(void)wet_speaker_now(((struct wet_host *)ctx)->speaker, WET_TONE_PIPS, s.pips);
		return;
	}
	if (is_said_already(v, &s))
		return;
	int64_t stop_ns = wet_talk_add(&v->talk, &s, wet_clock_boot_ns());
	if (stop_ns != INT64_MAX)
		wet_speaker_stop_words(v->host->speaker, stop_ns);
}

void voice_cancel(struct voice *v, uint64_t owner, int64_t from_ns)
{
	if (v && wet_talk_cancel(&v->talk, owner, from_ns))
		wet_speaker_stop_words(v->host->speaker, wet_clock_boot_ns());
}

/* -- saying it ------------------------------------------------------------------------- */

/* Lengths of what has become ready; what can't be made leaves. */
static void look_at_waiting(struct voice *v)
{
	for (size_t i = v->talk.count; i-- > 0;) {
		struct wet_sentence *s = &v->talk.waiting[i];
		struct words *name = s->words[0], *words = s->words[1];
		if (words->state == WORDS_FAILED) {
			if (s->pips > 0)
				play_pips(v, s->pips);
			v->talk.left_out++;
			wet_talk_remove(&v->talk, i);
			continue;
		}
		bool is_named = name && name->state == WORDS_READY;
		if (words->state != WORDS_READY || (name && !is_named && name->state != WORDS_FAILED))
			continue;
		s->length_ns = length_ns(words) + (is_named ? length_ns(name) + NAME_GAP_NS : 0);
	}
}

void voice_turn(struct voice *v, int64_t now_ns)
{
	struct wet_sentence s;
	if (!v || v->is_closing)
		return;
	look_at_waiting(v);
	while (wet_talk_next(&v->talk, now_ns, &s)) {
		struct words *name = s.words[0], *words = s.words[1];
		int64_t at_ns = s.from_ns;
		if (s.length_ns == 0) {
			play_pips(v, s.pips);
			continue;
		}
		if (name && name->state == WORDS_READY) {
			(void)wet_speaker_say(v->host->speaker, at_ns, name->pcm);
			at_ns += length_ns(name) + NAME_GAP_NS;
		}
		(void)wet_speaker_say(v->host->speaker, at_ns, words->pcm);
	}
	if (v->wants_release && v->talk.count == 0 && !v->talk.is_speaking && v->bytes > 0)
		words_release(v, true);
	lanes_turn(v);
}

int64_t voice_wake_ns(const struct voice *v)
{
	return v ? wet_talk_wake_ns(&v->talk) : INT64_MAX;
}
