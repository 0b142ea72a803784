/* voice_store.c: the words in memory. */
#include "host/voice_inside.h"

#include <malloc.h>
#include <stdlib.h>
#include <string.h>

/* FNV-1a, 32 bit. */
static unsigned bucket_of(const char *text)
{
	uint32_t h = 2166136261U;
	for (; *text; text++)
		h = (h ^ (unsigned char)*text) * 16777619U;
	return h % VOICE_BUCKETS;
}

static void want(struct voice *voice, struct words *w)
{
	w->state = WORDS_WANTED;
	w->next_wanted = NULL;
	*voice->wanted_tail = w;
	voice->wanted_tail = &w->next_wanted;
}

struct words *words_find(struct voice *voice, const char *text)
{
	struct words *w = voice->bucket[bucket_of(text)];
	while (w && strcmp(w->text, text) != 0)
		w = w->next;
	return w;
}

struct words *words_want(struct voice *voice, const char *text, bool is_urgent)
{
	struct words **bucket = &voice->bucket[bucket_of(text)], *w = words_find(voice, text);
	if (!w) {
		size_t n = strlen(text) + 1;
		w = calloc(1, sizeof *w + n);
		if (!w)
			return NULL;
		memcpy(w->text, text, n);
		w->state = WORDS_FAILED;
		w->next = *bucket;
		*bucket = w;
	}
	w->used_at = ++voice->uses;
	if (w->state == WORDS_FAILED)
		want(voice, w);
	w->is_urgent = w->is_urgent || is_urgent;
	return w;
}

struct words *words_next(struct voice *voice, bool is_urgent_only)
{
	struct words **best = NULL;
	for (struct words **p = &voice->wanted; *p; p = &(*p)->next_wanted) {
		if ((*p)->is_urgent) {
			best = p;
			break;
		}
		if (!best && !is_urgent_only)
			best = p;
	}
	if (!best)
		return NULL;
	struct words *w = *best;
	*best = w->next_wanted;
	if (!*best)
		voice->wanted_tail = best;
	w->next_wanted = NULL;
	w->state = WORDS_BUSY;
	return w;
}

void words_ready(struct voice *voice, struct words *w, const int16_t *sample, size_t samples)
{
	w->is_urgent = w->is_probe = false;
	w->pcm = wet_speaker_words(voice->host->speaker, sample, samples, voice->host->options.voice_level_milli);
	w->state = w->pcm ? WORDS_READY : WORDS_FAILED;
	if (w->pcm)
		voice->bytes += samples * sizeof *sample;
	words_release(voice, false);
}

void words_fail_wanted(struct voice *voice)
{
	for (struct words *w = voice->wanted; w; w = w->next_wanted) {
		w->state = WORDS_FAILED;
		w->is_urgent = w->is_probe = false;
	}
	voice->wanted = NULL;
	voice->wanted_tail = &voice->wanted;
}

static bool is_to_be_said(const struct voice *voice, const struct words *w)
{
	for (size_t i = 0; i < voice->talk.count; i++)
		if (voice->talk.waiting[i].words[0] == w || voice->talk.waiting[i].words[1] == w)
			return true;
	return voice->talk.is_speaking && (voice->talk.now.words[0] == w || voice->talk.now.words[1] == w);
}

/* False: it can't be yet. */
static bool drop(struct voice *voice, struct words **at)
{
	struct words *w = *at;
	if (w->state == WORDS_BUSY || w->state == WORDS_WANTED || is_to_be_said(voice, w))
		return false;
	size_t bytes = w->pcm ? wet_speaker_words_samples(w->pcm) * sizeof(int16_t) : 0;
	if (w->pcm && !wet_speaker_words_free(voice->host->speaker, w->pcm))
		return false;
	voice->bytes -= bytes;
	*at = w->next;
	free(w);
	return true;
}

static bool drop_oldest(struct voice *voice)
{
	struct words **oldest = NULL;
	for (int i = 0; i < VOICE_BUCKETS; i++)
		for (struct words **p = &voice->bucket[i]; *p; p = &(*p)->next)
			if ((*p)->state == WORDS_READY && (!oldest || (*p)->used_at < (*oldest)->used_at) && !is_to_be_said(voice, *p))
				oldest = p;
	return oldest && drop(voice, oldest);
}

void words_release(struct voice *voice, bool is_all)
{
	while (!is_all && voice->bytes > WET_VOICE_WORDS_BYTES && drop_oldest(voice))
		;
	if (!is_all)
		return;
	words_fail_wanted(voice);
	for (int i = 0; i < VOICE_BUCKETS; i++)
		for (struct words **p = &voice->bucket[i]; *p;)
			if (!drop(voice, p))
				p = &(*p)->next;
	(void)malloc_trim(0); /* some twenty megabytes, and nobody is listening now */
}

void words_free_all(struct voice *voice)
{
	for (int i = 0; i < VOICE_BUCKETS; i++) {
		for (struct words *w = voice->bucket[i], *next; w; w = next) {
			next = w->next;
			if (w->pcm)
				(void)wet_speaker_words_free(NULL, w->pcm);
			free(w);
		}
	}
}
