/* card_alsa.c: what is asked of a device. */
#include "speaker/card_alsa.h"

#include "base/text.h"

#include <errno.h>

static void say_nothing(const char *file, int line, const char *function, int err, const char *format, ...)
{
	(void)file;
	(void)line;
	(void)function;
	(void)err;
	(void)format;
}

void wet_card_hush(void)
{
	snd_lib_error_set_handler(say_nothing);
}

static int set_hw_params(struct wet_card *card, snd_pcm_t *pcm)
{
	snd_pcm_uframes_t period = PERIOD_FRAMES, buffer = FILL_FRAMES;
	snd_pcm_hw_params_t *hw;
	int rc;

	snd_pcm_hw_params_alloca(&hw);
	if ((rc = snd_pcm_hw_params_any(pcm, hw)) < 0) return rc;
	if ((rc = snd_pcm_hw_params_set_access(pcm, hw, SND_PCM_ACCESS_RW_INTERLEAVED)) < 0) return rc;
	if ((rc = snd_pcm_hw_params_set_format(pcm, hw, SND_PCM_FORMAT_S16)) < 0) return rc;
	if ((rc = snd_pcm_hw_params_set_channels(pcm, hw, 1)) < 0) return rc;
	if ((rc = snd_pcm_hw_params_set_rate(pcm, hw, WET_SAMPLE_RATE, 0)) < 0) return rc;
	if ((rc = snd_pcm_hw_params_set_period_size_near(pcm, hw, &period, NULL)) < 0) return rc;
	if ((rc = snd_pcm_hw_params_set_buffer_size_near(pcm, hw, &buffer)) < 0) return rc;
	if ((rc = snd_pcm_hw_params(pcm, hw)) < 0) return rc;
	if ((rc = snd_pcm_hw_params_get_period_size(hw, &period, NULL)) < 0) return rc;
	if ((rc = snd_pcm_hw_params_get_buffer_size(hw, &buffer)) < 0) return rc;
	card->period_frames = (int64_t)period;
	card->buffer_frames = (int64_t)buffer;
	/* A card that insists on a larger buffer is kept just as full as ours, or as two of its periods need. */
	card->fill_frames = card->period_frames * 2 > FILL_FRAMES ? card->period_frames * 2 : FILL_FRAMES;
	if (card->fill_frames > card->buffer_frames) card->fill_frames = card->buffer_frames;
	return 0;
}

static int set_sw_params(struct wet_card *card, snd_pcm_t *pcm)
{
	snd_pcm_sw_params_t *sw;
	/* Wake when one period is missing to the fill, however large the buffer is. */
	int64_t avail_min = card->buffer_frames - card->fill_frames + card->period_frames;
	int rc;

	snd_pcm_sw_params_alloca(&sw);
	if ((rc = snd_pcm_sw_params_current(pcm, sw)) < 0) return rc;
	if ((rc = snd_pcm_sw_params_set_start_threshold(pcm, sw, (snd_pcm_uframes_t)card->fill_frames)) < 0) return rc;
	if ((rc = snd_pcm_sw_params_set_avail_min(pcm, sw, (snd_pcm_uframes_t)avail_min)) < 0) return rc;
	if ((rc = snd_pcm_sw_params_set_tstamp_mode(pcm, sw, SND_PCM_TSTAMP_ENABLE)) < 0) return rc;
	/* An old driver may know wall-clock stamps only: look() sees that and reads the delay itself. */
	(void)snd_pcm_sw_params_set_tstamp_type(pcm, sw, SND_PCM_TSTAMP_TYPE_MONOTONIC);
	return snd_pcm_sw_params(pcm, sw);
}

static int open_named(struct wet_card *card, const char *name, struct pollfd fds[POLL_FDS_MAX])
{
	snd_pcm_info_t *info;
	snd_pcm_t *pcm;
	int rc, count;

	if ((rc = snd_pcm_open(&pcm, name, SND_PCM_STREAM_PLAYBACK, SND_PCM_NONBLOCK)) < 0) return rc;
	if ((rc = set_hw_params(card, pcm)) < 0) goto out;
	if ((rc = set_sw_params(card, pcm)) < 0) goto out;
	count = snd_pcm_poll_descriptors_count(pcm);
	rc = -EINVAL;
	if (count < 1 || count > POLL_FDS_MAX) goto out;
	if ((rc = snd_pcm_poll_descriptors(pcm, fds, (unsigned)count)) < 0) goto out;
	snd_pcm_info_alloca(&info);
	card->number = snd_pcm_info(pcm, info) < 0 ? -1 : snd_pcm_info_get_card(info);
	card->pcm = pcm;
	return count;
out:
	snd_pcm_close(pcm);
	return rc;
}

int wet_card_open(struct wet_card *card, const char *name, struct pollfd fds[POLL_FDS_MAX])
{
	char plugged[320]; /* WET_SPEAKER_WHERE_BYTES, and what stands around it */
	int rc = open_named(card, name, fds);

	if (rc != -EINVAL) return rc;
	wet_text_format(plugged, sizeof plugged, "plug:SLAVE='%s'", name);
	rc = open_named(card, plugged, fds);
	return rc == -ENOENT ? -EINVAL : rc; /* a configuration without that converter */
}

void wet_card_close(struct wet_card *card)
{
	if (!card->pcm) return;
	snd_pcm_drop(card->pcm);
	snd_pcm_close(card->pcm);
	card->pcm = NULL;
}
