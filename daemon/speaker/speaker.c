#include "speaker/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

#define FILE_RETRY_NS 1000000000LL /* a full disk is asked again after this */
#define FILE_FILL_NS 1000000000LL  /* silence is added to the file this often: no work for every turn of the loop */
#define NO_OWNER 0

void wet_speaker_set_health(struct wet_speaker *speaker, enum wet_speaker_health health, const char *text)
{
	bool is_new;

	pthread_mutex_lock(&speaker->lock);
	is_new = speaker->health != health || strncmp(speaker->text, text, sizeof speaker->text - 1) != 0;
	speaker->health = health;
	wet_text_copy(speaker->text, sizeof speaker->text, text);
	pthread_mutex_unlock(&speaker->lock);
	if (is_new && speaker->options.changed) speaker->options.changed(speaker->options.ctx);
}

/* -- opening and closing -------------------------------------------------- */

/* Renders what every run uses, so that nothing is synthesised at its time. */
static int warm_cache(struct wet_speaker *speaker)
{
	for (int tone = 0; tone < WET_TONE_N; tone++) {
		struct wet_pcm *pcm;
		int rc = wet_tone_cache_get(&speaker->cache, &speaker->lock, (enum wet_tone)tone, 1, 1000, &pcm);

		if (rc != 0) return rc;
		pcm->users--;
	}
	return WET_OK;
}

static int open_sink(struct wet_speaker *speaker, const char *where, struct wet_fault *reterr)
{
	const char *rest = strchr(where, ':');
	int rc;

	rest = rest ? rest + 1 : "";
	if (strcmp(where, "none") == 0) {
		speaker->kind = WET_SPEAKER_NONE;
		speaker->health = WET_SPEAKER_SILENT;
		wet_text_copy(speaker->text, sizeof speaker->text, "no sound was asked for");
		return WET_OK;
	}
	if (strncmp(where, "file:", 5) == 0 && *rest) {
		speaker->kind = WET_SPEAKER_FILE;
		wet_text_copy(speaker->text, sizeof speaker->text, "writing a file");
		if ((rc = warm_cache(speaker)) != 0) return wet_fault_set(reterr, rc, "sound", NULL, "memory for the tones");
		return wet_wav_open(&speaker->wav, rest, speaker->options.now_ns(speaker->options.ctx), reterr);
	}
	if (strcmp(where, "default") == 0 || (strncmp(where, "alsa:", 5) == 0 && *rest)) {
		speaker->kind = WET_SPEAKER_ALSA;
		wet_text_copy(speaker->text, sizeof speaker->text, "closed while no cue is near");
		if ((rc = warm_cache(speaker)) != 0) return wet_fault_set(reterr, rc, "sound", NULL, "memory for the tones");
		rc = wet_feeder_start(speaker, *rest ? rest : "default", &speaker->feeder);
		return rc == 0 ? WET_OK : wet_fault_set(reterr, rc, "sound", where, "a thread to feed the device");
	}
	return wet_fault_set(reterr, WET_ERR_INVALID, "sound", where,
	                     "\"default\", \"alsa:NAME\", \"file:PATH\" or \"none\"");
}

int wet_speaker_open(struct wet_speaker **ret_speaker, const struct wet_speaker_options *options,
                     struct wet_fault *reterr)
{
	struct wet_speaker *speaker = calloc(1, sizeof *speaker);
	int rc;

	if (!speaker) return wet_fault_set(reterr, WET_ERR_NOMEM, "sound", NULL, "memory for the sound");
	if (pthread_mutex_init(&speaker->lock, NULL) != 0) {
		free(speaker);
		return wet_fault_set(reterr, WET_ERR_NOMEM, "sound", NULL, "memory for the sound");
	}
	speaker->options = *options;
	speaker->options.where = NULL;
	speaker->wav.fd = -1;
	wet_tone_cache_init(&speaker->cache, options->level_milli);
	if ((rc = open_sink(speaker, options->where, reterr)) != 0) {
		wet_speaker_close(speaker);
		return rc;
	}
	*ret_speaker = speaker;
	return WET_OK;
}

static void file_commit(struct wet_speaker *speaker, int64_t now_ns, bool is_last);

void wet_speaker_close(struct wet_speaker *speaker)
{
	if (!speaker) return;
	pthread_mutex_lock(&speaker->lock);
	speaker->is_stopping = true;
	pthread_mutex_unlock(&speaker->lock);
	wet_feeder_stop(speaker->feeder);
	if (speaker->wav.fd >= 0) file_commit(speaker, speaker->options.now_ns(speaker->options.ctx), true);
	wet_wav_close(&speaker->wav);
	wet_tone_cache_release(&speaker->cache);
	pthread_mutex_destroy(&speaker->lock);
	free(speaker);
}

/* -- the file: no thread, so no lock -------------------------------------- */

/* Words are written as they are said, for they can be stopped. */
static int file_write_words(struct wet_speaker *speaker, struct wet_voice *v, int64_t frame, int64_t now_frame)
{
	size_t total = wet_voice_samples(v);
	int rc = WET_OK;

	while (rc == 0 && v->done < total && frame + (int64_t)v->done < now_frame) {
		int16_t part[WET_VOICE_COPY];
		int64_t due = now_frame - frame - (int64_t)v->done;
		size_t n = total - v->done < WET_VOICE_COPY ? total - v->done : WET_VOICE_COPY, written = 0;

		if ((int64_t)n > due) n = (size_t)due;
		wet_voice_copy(v, v->done, v->done + n, part);
		rc = wet_wav_mix(&speaker->wav, frame + (int64_t)v->done, part, n, &written);
		v->done += written;
	}
	return rc;
}

/* Writes every tone that is due. What lies before the file's beginning or beyond its end is dropped. */
static int file_write_due(struct wet_speaker *speaker, int64_t now_ns, bool is_last)
{
	struct wet_voices *voices = &speaker->voices;
	int64_t now_frame = wet_wav_frame(&speaker->wav, now_ns);

	for (size_t i = voices->count; i-- > 0;) {
		struct wet_voice *v = &voices->voice[i];
		int64_t frame = wet_wav_frame(&speaker->wav, v->at_ns);
		bool is_beyond = frame + (int64_t)v->pcm->samples > WET_WAV_FRAMES_MAX;
		int rc;

		if (v->at_ns > now_ns) continue;
		if (frame < 0 || is_beyond) {
			voices->dropped++;
			wet_voices_remove(voices, i);
			if (is_beyond) return WET_ERR_FULL;
			continue;
		}
		v->has_begun = true;
		if (v->is_words) rc = file_write_words(speaker, v, frame, is_last ? INT64_MAX : now_frame);
		else rc = wet_wav_mix(&speaker->wav, frame, v->pcm->sample, v->pcm->samples, &v->done);
		if (rc != 0) return rc;
		if (v->is_words && v->done < wet_voice_samples(v)) continue; /* it is being said */
		wet_voices_remove(voices, i);
	}
	return WET_OK;
}

static void file_commit(struct wet_speaker *speaker, int64_t now_ns, bool is_last)
{
	int64_t frames = wet_wav_frame(&speaker->wav, now_ns);
	int rc;

	if (speaker->health == WET_SPEAKER_LOST && now_ns < speaker->file_retry_ns && !is_last) return;
	rc = file_write_due(speaker, now_ns, is_last);
	if (rc == 0 && (is_last || wet_wav_frame(&speaker->wav, now_ns - FILE_FILL_NS) >= speaker->wav.frames))
		rc = wet_wav_extend(&speaker->wav, frames);
	if (rc == 0) {
		wet_speaker_set_health(speaker, WET_SPEAKER_OK, "writing a file");
		return;
	}
	speaker->file_retry_ns = now_ns + FILE_RETRY_NS;
	wet_speaker_set_health(speaker, WET_SPEAKER_LOST,
	                       frames > WET_WAV_FRAMES_MAX ? "the sound file is full, it holds twelve hours"
	                                                   : wet_err_text(rc));
}

/* A lost file keeps its tones, for they have their place in it; only when no more fit the earliest is given up. */
static void file_drop_earliest(struct wet_voices *voices)
{
	size_t earliest = 0;

	for (size_t i = 1; i < voices->count; i++)
		if (voices->voice[i].at_ns < voices->voice[earliest].at_ns) earliest = i;
	voices->dropped++;
	wet_voices_remove(voices, earliest);
}

/* -- queueing ------------------------------------------------------------- */

static int add_voice(struct wet_speaker *speaker, const struct wet_voice *asked, int64_t now_ns, int pips,
                     uint32_t rate_milli, enum wet_tone tone)
{
	struct wet_voice voice = *asked;
	int rc = wet_tone_cache_get(&speaker->cache, &speaker->lock, tone, pips, rate_milli, &voice.pcm);

	if (rc != 0) return rc;
	pthread_mutex_lock(&speaker->lock);
	rc = wet_voices_add(&speaker->voices, &voice);
	if (rc == WET_ERR_TOO_MANY) {
		if (speaker->kind == WET_SPEAKER_ALSA) wet_voices_drop_late(&speaker->voices, now_ns);
		else if (speaker->health == WET_SPEAKER_LOST) file_drop_earliest(&speaker->voices);
		rc = wet_voices_add(&speaker->voices, &voice);
	}
	if (rc != 0) voice.pcm->users--;
	pthread_mutex_unlock(&speaker->lock);
	return rc;
}

int wet_speaker_at(struct wet_speaker *speaker, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips,
                   uint32_t rate_milli)
{
	struct wet_voice voice = { .owner = owner, .at_ns = at_ns };
	int64_t now_ns;
	int rc;

	if (speaker->kind == WET_SPEAKER_NONE) return WET_OK;
	now_ns = speaker->options.now_ns(speaker->options.ctx);
	if (now_ns - at_ns > WET_VOICE_LATE_NS) {
		pthread_mutex_lock(&speaker->lock);
		speaker->voices.dropped++;
		pthread_mutex_unlock(&speaker->lock);
		return WET_OK;
	}
	if ((rc = add_voice(speaker, &voice, now_ns, pips, rate_milli, tone)) != 0) return rc;
	if (speaker->feeder) wet_feeder_wake(speaker->feeder);
	return WET_OK;
}

int wet_speaker_now(struct wet_speaker *speaker, enum wet_tone tone, int pips)
{
	struct wet_voice voice = { .owner = NO_OWNER, .is_asap = true };
	int rc;

	if (speaker->kind == WET_SPEAKER_NONE) return WET_OK;
	voice.at_ns = speaker->options.now_ns(speaker->options.ctx);
	if ((rc = add_voice(speaker, &voice, voice.at_ns, pips, 1000, tone)) != 0) return rc;
	if (speaker->kind == WET_SPEAKER_FILE) file_commit(speaker, voice.at_ns, false);
	if (speaker->feeder) wet_feeder_wake(speaker->feeder);
	return WET_OK;
}

void wet_speaker_cancel(struct wet_speaker *speaker, uint64_t owner, int64_t from_ns)
{
	pthread_mutex_lock(&speaker->lock);
	wet_voices_cancel(&speaker->voices, owner, from_ns);
	pthread_mutex_unlock(&speaker->lock);
	/* No wake: what is gone needs nothing, and the feeder looks anew at every period. */
}

void wet_speaker_want(struct wet_speaker *speaker, bool is_wanted)
{
	bool is_new;

	pthread_mutex_lock(&speaker->lock);
	is_new = speaker->is_wanted != is_wanted;
	speaker->is_wanted = is_wanted;
	pthread_mutex_unlock(&speaker->lock);
	if (is_new && speaker->feeder) wet_feeder_wake(speaker->feeder);
}

void wet_speaker_turn(struct wet_speaker *speaker, int64_t now_ns)
{
	if (speaker->kind == WET_SPEAKER_FILE) {
		file_commit(speaker, now_ns, false);
	} else if (speaker->kind == WET_SPEAKER_ALSA) {
		/* With a device away the feeder sleeps; what came too late is counted here. */
		pthread_mutex_lock(&speaker->lock);
		wet_voices_drop_late(&speaker->voices, now_ns);
		pthread_mutex_unlock(&speaker->lock);
	}
}

/* -- words ------------------------------------------------------------------ */

struct wet_pcm *wet_speaker_words(const struct wet_speaker *speaker, const int16_t *sample, size_t samples,
                                  uint32_t level_milli)
{
	struct wet_pcm *words = calloc(1, sizeof *words + samples * sizeof *sample);
	int64_t level = (int64_t)speaker->cache.level_milli * (level_milli > 1000 ? 1000 : level_milli);

	if (!words) return NULL;
	words->samples = samples;
	for (size_t i = 0; i < samples; i++) words->sample[i] = (int16_t)(sample[i] * level / 1000000);
	return words;
}

size_t wet_speaker_words_samples(const struct wet_pcm *words)
{
	return words->samples;
}

bool wet_speaker_words_free(struct wet_speaker *speaker, struct wet_pcm *words)
{
	bool is_used = false;

	if (speaker) {
		pthread_mutex_lock(&speaker->lock);
		is_used = words->users > 0;
		pthread_mutex_unlock(&speaker->lock);
	}
	if (!is_used) free(words);
	return !is_used;
}

int wet_speaker_say(struct wet_speaker *speaker, int64_t at_ns, struct wet_pcm *words)
{
	struct wet_voice voice = { .owner = NO_OWNER, .at_ns = at_ns, .pcm = words, .is_words = true };
	int rc;

	if (speaker->kind == WET_SPEAKER_NONE) return WET_OK;
	pthread_mutex_lock(&speaker->lock);
	words->users++;
	rc = wet_voices_add(&speaker->voices, &voice);
	if (rc != 0) words->users--;
	pthread_mutex_unlock(&speaker->lock);
	if (rc == 0 && speaker->feeder) wet_feeder_wake(speaker->feeder);
	return rc;
}

void wet_speaker_stop_words(struct wet_speaker *speaker, int64_t at_ns)
{
	if (speaker->kind == WET_SPEAKER_FILE) file_commit(speaker, speaker->options.now_ns(speaker->options.ctx), false);
	pthread_mutex_lock(&speaker->lock);
	wet_voices_stop_words(&speaker->voices, at_ns);
	pthread_mutex_unlock(&speaker->lock);
}

/* -- looking -------------------------------------------------------------- */

enum wet_speaker_health wet_speaker_health(const struct wet_speaker *speaker, char *text, unsigned text_bytes)
{
	struct wet_speaker *s = (struct wet_speaker *)speaker; /* the lock only */
	enum wet_speaker_health health;

	pthread_mutex_lock(&s->lock);
	health = s->health;
	if (text && text_bytes > 0) wet_text_copy(text, text_bytes, s->text);
	pthread_mutex_unlock(&s->lock);
	return health;
}

uint64_t wet_speaker_dropped(const struct wet_speaker *speaker)
{
	struct wet_speaker *s = (struct wet_speaker *)speaker;
	uint64_t dropped;

	pthread_mutex_lock(&s->lock);
	dropped = s->voices.dropped;
	pthread_mutex_unlock(&s->lock);
	return dropped;
}

uint64_t wet_speaker_underruns(const struct wet_speaker *speaker)
{
	struct wet_speaker *s = (struct wet_speaker *)speaker;
	uint64_t underruns;

	pthread_mutex_lock(&s->lock);
	underruns = s->underruns;
	pthread_mutex_unlock(&s->lock);
	return underruns;
}
