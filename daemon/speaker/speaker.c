#include "speaker/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

#define FILE_RETRY_NS 1000000000LL /* a full disk is asked again after this */
#define FILE_FILL_NS 1000000000LL  /* silence is added to the file this often: no work for every turn of the loop */
#define NO_OWNER 0

void wet_speaker_set_health(struct wet_speaker *speaker, const struct wet_feeder *from, enum wet_speaker_health health,
                            const char *text)
{
	bool is_new;

	pthread_mutex_lock(&speaker->lock);
	if (!from || speaker->feeder == from) {
		is_new = speaker->health != health;
		speaker->health = health;
		wet_text_copy(speaker->text, sizeof speaker->text, text);
		if (is_new && speaker->options.changed) speaker->options.changed(speaker->options.ctx);
	}
	pthread_mutex_unlock(&speaker->lock);
}

/* -- opening and closing -------------------------------------------------- */

int wet_speaker_warm(struct wet_speaker *speaker)
{
	for (int tone = 0; tone < WET_TONE_N; tone++) {
		struct wet_pcm *pcm;
		int rc = wet_tone_cache_get(&speaker->cache, &speaker->lock, (enum wet_tone)tone, 1, 1000, &pcm);

		if (rc != 0) return rc;
		pthread_mutex_lock(&speaker->lock);
		pcm->users--;
		pthread_mutex_unlock(&speaker->lock);
	}
	return WET_OK;
}

bool wet_speaker_parse(const char *where, enum wet_speaker_kind *ret_kind, const char **ret_rest)
{
	static const struct {
		const char *word;
		bool has_rest;
		enum wet_speaker_kind kind;
	} words[] = { { "none", false, WET_SPEAKER_NONE },
		          { "default", false, WET_SPEAKER_ALSA },
		          { "alsa:", true, WET_SPEAKER_ALSA },
		          { "file:", true, WET_SPEAKER_FILE } };

	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
		size_t n = strlen(words[i].word);

		if (words[i].has_rest ? strncmp(where, words[i].word, n) != 0 || !where[n] : strcmp(where, words[i].word) != 0)
			continue;
		*ret_kind = words[i].kind;
		*ret_rest = words[i].has_rest ? where + n : where;
		return true;
	}
	return false;
}

static int open_sink(struct wet_speaker *speaker, const char *where, struct wet_fault *reterr)
{
	const char *rest;
	int rc;

	if (strlen(where) >= sizeof speaker->where)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "sound", where, "at most %d bytes", WET_SPEAKER_WHERE_BYTES - 1);
	if (!wet_speaker_parse(where, &speaker->kind, &rest))
		return wet_fault_set(reterr, WET_ERR_INVALID, "sound", where, WET_SPEAKER_WHERES);
	wet_text_copy(speaker->where, sizeof speaker->where, where);
	if (speaker->kind == WET_SPEAKER_NONE) {
		speaker->health = WET_SPEAKER_SILENT;
		wet_text_copy(speaker->text, sizeof speaker->text, WET_SPEAKER_NONE_TEXT);
		return WET_OK;
	}
	if ((rc = wet_speaker_warm(speaker)) != 0) return wet_fault_set(reterr, rc, "sound", NULL, "memory for the tones");
	if (speaker->kind == WET_SPEAKER_FILE) {
		wet_text_copy(speaker->text, sizeof speaker->text, WET_SPEAKER_FILE_TEXT);
		return wet_wav_open(&speaker->wav, rest, speaker->options.now_ns(speaker->options.ctx), reterr);
	}
	wet_text_format(speaker->text, sizeof speaker->text, "\"%s\" is closed while no cue is near", rest);
	rc = wet_feeder_start(speaker, rest, false);
	return rc == 0 ? WET_OK : wet_fault_set(reterr, rc, "sound", where, "a thread to feed the device");
}

static int init_lock(struct wet_speaker *speaker)
{
	pthread_condattr_t attr;
	int rc = -1;

	if (pthread_mutex_init(&speaker->lock, NULL) != 0) return -1;
	if (pthread_condattr_init(&attr) == 0) {
		pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
		rc = pthread_cond_init(&speaker->moved, &attr);
		pthread_condattr_destroy(&attr);
	}
	if (rc != 0) pthread_mutex_destroy(&speaker->lock);
	return rc;
}

int wet_speaker_open(struct wet_speaker **ret_speaker, const struct wet_speaker_options *options,
                     struct wet_fault *reterr)
{
	struct wet_speaker *speaker = calloc(1, sizeof *speaker);
	int rc;

	if (!speaker || init_lock(speaker) != 0) {
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

static struct wet_speaker *left_behind; /* so that it counts as known: the last whose device hung at the end */

void wet_speaker_close(struct wet_speaker *speaker)
{
	bool is_over;

	if (!speaker) return;
	pthread_mutex_lock(&speaker->lock);
	speaker->is_stopping = true;
	pthread_mutex_unlock(&speaker->lock);
	is_over = wet_feeders_wait(speaker);
	if (speaker->wav.fd >= 0) wet_speaker_file_commit(speaker, speaker->options.now_ns(speaker->options.ctx), true);
	wet_wav_close(&speaker->wav);
	if (!is_over) { /* a device hangs, and with it a thread that will still look here: nothing of it goes */
		pthread_mutex_lock(&speaker->lock);
		if (speaker->feeder) wet_feeder_retire(speaker->feeder);
		speaker->options.changed = speaker->options.wake = NULL;
		speaker->options.alive_ns = NULL;
		pthread_mutex_unlock(&speaker->lock);
		left_behind = speaker;
		return;
	}
	wet_tone_cache_release(&speaker->cache);
	pthread_cond_destroy(&speaker->moved);
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
		int64_t due = now_frame - (frame + (int64_t)v->done); /* the file may be younger than the words: frame < 0 */
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
		/* What was under way on a device when the file took over goes on in it. */
		if (v->has_begun && frame < 0 && (int64_t)v->done < -frame) v->done = (size_t)-frame;
		if (v->has_begun && v->done >= wet_voice_samples(v)) {
			wet_voices_remove(voices, i);
			continue;
		}
		if ((frame < 0 && !v->has_begun) || is_beyond) {
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

void wet_speaker_file_commit(struct wet_speaker *speaker, int64_t now_ns, bool is_last)
{
	int64_t frames = wet_wav_frame(&speaker->wav, now_ns);
	int rc;

	if (speaker->health == WET_SPEAKER_LOST && now_ns < speaker->file_retry_ns && !is_last) return;
	rc = file_write_due(speaker, now_ns, is_last);
	if (rc == 0 && (is_last || wet_wav_frame(&speaker->wav, now_ns - FILE_FILL_NS) >= speaker->wav.frames))
		rc = wet_wav_extend(&speaker->wav, frames);
	if (rc == 0) {
		wet_speaker_set_health(speaker, NULL, WET_SPEAKER_OK, WET_SPEAKER_FILE_TEXT);
		return;
	}
	speaker->file_retry_ns = now_ns + FILE_RETRY_NS;
	wet_speaker_set_health(speaker, NULL, WET_SPEAKER_LOST,
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
	if (speaker->kind == WET_SPEAKER_FILE) wet_speaker_file_commit(speaker, voice.at_ns, false);
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

void wet_speaker_live(struct wet_speaker *speaker, bool is_live)
{
	bool is_new;

	pthread_mutex_lock(&speaker->lock);
	is_new = speaker->is_live != is_live;
	speaker->is_live = is_live;
	if (is_new && speaker->feeder) wet_feeder_wake(speaker->feeder);
	pthread_mutex_unlock(&speaker->lock);
}

/* A call into the device that lasts: nothing sounds meanwhile, and nobody else can say so. */
static void look_for_stuck(struct wet_speaker *speaker, int64_t now_ns)
{
	char text[WET_SPEAKER_TEXT_BYTES];
	bool is_opening = false;
	int64_t since_ns = speaker->feeder ? wet_feeder_busy_since(speaker->feeder, &is_opening) : 0;

	if (since_ns == 0 || now_ns - since_ns < WET_SPEAKER_STUCK_NS) return;
	wet_feeder_told_stuck(speaker->feeder);
	wet_text_format(text, sizeof text,
	                is_opening ? "\"%s\" has not opened for %d seconds; it is still waited for"
	                           : "\"%s\" has taken no sound for %d seconds; it is still waited for",
	                wet_feeder_device(speaker->feeder), (int)((now_ns - since_ns) / 1000000000));
	wet_speaker_set_health(speaker, speaker->feeder, is_opening ? WET_SPEAKER_MISSING : WET_SPEAKER_LOST, text);
}

void wet_speaker_turn(struct wet_speaker *speaker, int64_t now_ns)
{
	wet_speaker_settle_switch(speaker, now_ns);
	if (speaker->kind == WET_SPEAKER_FILE) {
		wet_speaker_file_commit(speaker, now_ns, false);
	} else if (speaker->kind == WET_SPEAKER_ALSA) {
		/* With a device away the feeder sleeps; what came too late is counted here. */
		pthread_mutex_lock(&speaker->lock);
		wet_voices_drop_late(&speaker->voices, now_ns);
		pthread_mutex_unlock(&speaker->lock);
		look_for_stuck(speaker, now_ns);
	}
}

int64_t wet_speaker_wake_ns(const struct wet_speaker *speaker)
{
	int64_t wake_ns = speaker->candidate ? speaker->trial_until_ns : INT64_MAX, since_ns;
	bool is_opening;

	if (!speaker->feeder) return wake_ns;
	since_ns = wet_feeder_busy_since(speaker->feeder, &is_opening);
	/* Only for a device that is being opened: each period is such a call too, and must wake nobody. */
	if (since_ns != 0 && is_opening && since_ns + WET_SPEAKER_STUCK_NS < wake_ns) wake_ns = since_ns + WET_SPEAKER_STUCK_NS;
	return wake_ns;
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
	if (speaker->kind == WET_SPEAKER_FILE) wet_speaker_file_commit(speaker, speaker->options.now_ns(speaker->options.ctx), false);
	pthread_mutex_lock(&speaker->lock);
	wet_voices_stop_words(&speaker->voices, at_ns);
	pthread_mutex_unlock(&speaker->lock);
}

/* -- looking -------------------------------------------------------------- */

/* What the mixer adds to a device that is well. */
static enum wet_speaker_health with_mixer(struct wet_speaker *s, char *text, size_t text_bytes)
{
	const struct wet_mixer *mixer = s->feeder && s->health == WET_SPEAKER_OK ? wet_feeder_mixer(s->feeder) : NULL;
	const char *muted;

	switch (mixer ? wet_mixer_state(mixer, &muted) : WET_MIXER_ASKED) {
	case WET_MIXER_MUTED:
		wet_text_copy(text, text_bytes, muted);
		return WET_SPEAKER_MUTED;
	case WET_MIXER_UNSEEN:
		wet_text_format(text, text_bytes, "%s; whether it is muted can't be seen from here", s->text);
		return WET_SPEAKER_UNSEEN;
	default:
		wet_text_copy(text, text_bytes, s->text);
		return s->health;
	}
}

enum wet_speaker_health wet_speaker_health(const struct wet_speaker *speaker, char *text, unsigned text_bytes)
{
	struct wet_speaker *s = (struct wet_speaker *)speaker; /* the lock only */
	enum wet_speaker_health health;
	char told[2 * WET_SPEAKER_TEXT_BYTES];

	pthread_mutex_lock(&s->lock);
	health = with_mixer(s, told, sizeof told);
	pthread_mutex_unlock(&s->lock);
	if (text && text_bytes > 0) wet_text_copy(text, text_bytes, told);
	return health;
}

const char *wet_speaker_where(const struct wet_speaker *speaker)
{
	return speaker->where;
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
