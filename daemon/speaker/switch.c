/* switch.c: from one device to another, while a run may be live.
 *
 * A device is tried by a feeder of its own, the candidate, beside the one that sounds; when it has been fed silence for a
 * moment, this thread lets it take over. The queue of what is to sound is the speaker's and lies on the clock, so a switch
 * moves nothing. A file or nothing is there at once. */
#include "speaker/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

static int end_switch(struct wet_speaker *speaker, int err, const char *want)
{
	speaker->switched = (struct wet_fault){ 0 };
	if (err != WET_OK) wet_fault_set(&speaker->switched, err, "device", speaker->next_where, "%s", want);
	else wet_text_copy(speaker->where, sizeof speaker->where, speaker->next_where);
	speaker->trial = WET_TRIAL_TOLD;
	return WET_OK;
}

/* Under the lock. What sounds now goes on elsewhere: its place in the old file or stream means nothing there. */
static void leave_old(struct wet_speaker *speaker)
{
	if (speaker->feeder) wet_feeder_retire(speaker->feeder);
	speaker->feeder = NULL;
	for (size_t i = 0; i < speaker->voices.count; i++) {
		speaker->voices.voice[i].stream = 0; /* streams count from 1 */
		speaker->voices.voice[i].done = 0;
	}
}

static void finish_file(struct wet_speaker *speaker)
{
	if (speaker->wav.fd >= 0)
		wet_speaker_file_commit(speaker, speaker->options.now_ns(speaker->options.ctx), false);
	wet_wav_close(&speaker->wav);
}

/* To a file, or to silence: there is nothing to wait for. */
static int switch_now(struct wet_speaker *speaker, enum wet_speaker_kind kind, const char *path, struct wet_fault *reterr)
{
	struct wet_wav wav = { .fd = -1 };
	int rc;

	if (kind == WET_SPEAKER_FILE &&
	    (rc = wet_wav_open(&wav, path, speaker->options.now_ns(speaker->options.ctx), reterr)) != 0)
		return rc;
	finish_file(speaker);
	pthread_mutex_lock(&speaker->lock);
	leave_old(speaker);
	if (kind == WET_SPEAKER_NONE) wet_voices_clear(&speaker->voices);
	pthread_mutex_unlock(&speaker->lock);
	speaker->kind = kind;
	speaker->wav = wav;
	speaker->file_retry_ns = 0;
	if (kind == WET_SPEAKER_FILE) wet_speaker_set_health(speaker, NULL, WET_SPEAKER_OK, WET_SPEAKER_FILE_TEXT);
	else wet_speaker_set_health(speaker, NULL, WET_SPEAKER_SILENT, WET_SPEAKER_NONE_TEXT);
	return end_switch(speaker, WET_OK, NULL);
}

int wet_speaker_switch(struct wet_speaker *speaker, const char *where, struct wet_fault *reterr)
{
	enum wet_speaker_kind kind;
	const char *rest;
	int rc;

	if (strlen(where) >= sizeof speaker->where)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "device", where, "at most %d bytes", (int)sizeof speaker->where - 1);
	if (!wet_speaker_parse(where, &kind, &rest))
		return wet_fault_set(reterr, WET_ERR_INVALID, "device", where, WET_SPEAKER_WHERES);
	if (speaker->candidate || speaker->trial == WET_TRIAL_TOLD)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "device", where,
		                     "asking again in a moment: the sound is just being switched to \"%s\"", speaker->next_where);
	if (kind == WET_SPEAKER_FILE && strcmp(where, speaker->where) == 0)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "device", where, "another file: this one is being written");
	if (kind != WET_SPEAKER_NONE && (rc = wet_speaker_warm(speaker)) != 0)
		return wet_fault_set(reterr, rc, "device", where, "memory for the tones");
	wet_text_copy(speaker->next_where, sizeof speaker->next_where, where);
	if (kind != WET_SPEAKER_ALSA) return switch_now(speaker, kind, rest, reterr);
	if (strcmp(where, speaker->where) == 0) return end_switch(speaker, WET_OK, NULL);
	speaker->trial = WET_TRIAL_OPENING;
	speaker->trial_until_ns = speaker->options.now_ns(speaker->options.ctx) + WET_SPEAKER_TRY_NS;
	if ((rc = wet_feeder_start(speaker, rest, true)) == 0) return WET_OK;
	speaker->trial = WET_TRIAL_NONE;
	return wet_fault_set(reterr, rc, "device", where,
	                     rc == WET_ERR_TOO_MANY ? "devices that answer: several hang, and wetsided must be started anew"
	                                            : "memory for one more thread");
}

/* Under the lock. */
static void take_over(struct wet_speaker *speaker)
{
	leave_old(speaker);
	speaker->feeder = speaker->candidate;
	speaker->candidate = NULL;
	wet_feeder_take_over(speaker->feeder);
	speaker->health = WET_SPEAKER_OK;
	wet_text_format(speaker->text, sizeof speaker->text, "sounding on \"%s\"", wet_feeder_device(speaker->feeder));
	if (speaker->options.changed) speaker->options.changed(speaker->options.ctx);
}

/* Under the lock: how far the candidate is, what it waits for, and whether its time is over. */
static enum wet_trial look_at_trial(struct wet_speaker *speaker, int64_t now_ns)
{
	enum wet_trial trial = speaker->trial;

	if (trial == WET_TRIAL_BUSY) {
		if (speaker->feeder && wet_feeder_has_device(speaker->feeder)) wet_feeder_release(speaker->feeder, true);
		speaker->trial = WET_TRIAL_OPENING;
		pthread_cond_broadcast(&speaker->moved);
	}
	if (trial == WET_TRIAL_OPEN || trial == WET_TRIAL_REFUSED || now_ns < speaker->trial_until_ns) return trial;
	wet_text_format(speaker->trial_text, sizeof speaker->trial_text, "it did not open within %d seconds",
	                (int)(WET_SPEAKER_TRY_NS / 1000000000));
	return WET_TRIAL_REFUSED;
}

static void refuse(struct wet_speaker *speaker)
{
	char want[2 * WET_SPEAKER_TEXT_BYTES];

	pthread_mutex_lock(&speaker->lock);
	wet_text_format(want, sizeof want, "one of those that \"wetside sound --devices\" lists (%s); the sound stays on \"%s\"",
	                speaker->trial_text, speaker->where);
	wet_feeder_retire(speaker->candidate);
	speaker->candidate = NULL;
	if (speaker->feeder) wet_feeder_release(speaker->feeder, false);
	pthread_mutex_unlock(&speaker->lock);
	(void)end_switch(speaker, WET_ERR_NO_DEVICE, want);
}

void wet_speaker_settle_switch(struct wet_speaker *speaker, int64_t now_ns)
{
	enum wet_trial trial;

	if (!speaker->candidate) return;
	pthread_mutex_lock(&speaker->lock);
	trial = look_at_trial(speaker, now_ns);
	pthread_mutex_unlock(&speaker->lock);
	if (trial == WET_TRIAL_REFUSED) refuse(speaker);
	if (trial != WET_TRIAL_OPEN) return;
	finish_file(speaker);
	pthread_mutex_lock(&speaker->lock);
	take_over(speaker);
	pthread_mutex_unlock(&speaker->lock);
	speaker->kind = WET_SPEAKER_ALSA;
	(void)end_switch(speaker, WET_OK, NULL);
}

bool wet_speaker_switched(struct wet_speaker *speaker, struct wet_fault *ret_fault)
{
	if (speaker->candidate || speaker->trial != WET_TRIAL_TOLD) return false;
	speaker->trial = WET_TRIAL_NONE;
	*ret_fault = speaker->switched;
	return true;
}
