/* pcm_rtfile.c: a sound card of ours for tests, as a plug-in of ALSA: it keeps time as a card does and records what
 * "left the speaker" into a file. (ALSA's own `null` and `file` devices do not keep time.)
 *
 * The file is one time line of raw S16 frames: frame i was audible at T0 + i / rate. FILE.clock holds T0
 * (CLOCK_MONOTONIC ns), the true rate and the channels. Where nothing played there is silence (a hole); opening the
 * card again goes on in the same time line.
 *
 *   pcm_type.rtfile { lib "/absolute/libasound_module_pcm_rtfile.so" }
 *   pcm.card { type rtfile  file "/tmp/x.raw"  ppm 0  step 1  gone "/tmp/unplugged" }
 *
 * ppm: the error of the card's crystal. step: the pointer is reported in steps of so many frames. gone: while a file of
 * this name exists the card is unplugged: it cannot be opened, and what is open fails. opening: opening it takes so many
 * milliseconds, as of a card on a bus or a network. stuck: while a file of this name exists every write hangs. rate,
 * channels, format (S16, S32, FLOAT), period: the only ones it has. As a card it is open once at a time: else it is busy. */
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

#include <alsa/asoundlib.h>
#include <alsa/pcm_external.h>

#define NS_PER_S 1e9

struct card {
	snd_pcm_ioplug_t io;
	int fd, timer_fd;
	char *path, *gone_path, *stuck_path, *only_format;
	long ppm, step_frames, opening_ms, only_rate, only_channels, only_period;
	double rate;        /* true frames a second */
	int64_t origin_ns;  /* when frame 0 of the file was audible; 0: not known yet */
	unsigned frame_bytes;

	bool is_running;
	int64_t base_frame; /* place in the file of this stream's first frame */
	int64_t start_ns;   /* when it is audible */

	char *waiting; /* what was written before the start: its place is not known yet */
	size_t waiting_frames, waiting_frames_max;
};

static int64_t now_ns(void)
{
	struct timespec ts;

	clock_gettime(CLOCK_MONOTONIC, &ts);
	return ts.tv_sec * INT64_C(1000000000) + ts.tv_nsec;
}

static bool is_gone(const struct card *card)
{
	return card->gone_path && access(card->gone_path, F_OK) == 0;
}

/* Frames of this stream that have been heard. */
static int64_t played(const struct card *card)
{
	int64_t frames = (int64_t)((double)(now_ns() - card->start_ns) * card->rate / NS_PER_S);

	return frames < 0 ? 0 : frames - frames % card->step_frames;
}

static int write_at(struct card *card, const void *frames, size_t count, int64_t frame)
{
	size_t bytes = count * card->frame_bytes;
	ssize_t got = pwrite(card->fd, frames, bytes, (off_t)(frame * (int64_t)card->frame_bytes));

	return got == (ssize_t)bytes ? 0 : -EIO;
}

static void set_timer(struct card *card, int64_t first_ns, int64_t every_ns)
{
	struct itimerspec spec = { { every_ns / 1000000000, every_ns % 1000000000 },
		                       { first_ns / 1000000000, first_ns % 1000000000 } };

	timerfd_settime(card->timer_fd, 0, &spec, NULL);
}

static snd_pcm_sframes_t card_pointer(snd_pcm_ioplug_t *io)
{
	struct card *card = io->private_data;
	int64_t frames;

	if (is_gone(card)) return -ENODEV;
	if (!card->is_running) return 0;
	frames = played(card);
	if (frames <= (int64_t)io->appl_ptr) return (snd_pcm_sframes_t)frames;
	/* More was to be played than was written: an underrun, or the end of draining. */
	return io->state == SND_PCM_STATE_DRAINING ? (snd_pcm_sframes_t)io->appl_ptr : -EPIPE;
}

static int card_delay(snd_pcm_ioplug_t *io, snd_pcm_sframes_t *ret_delay)
{
	struct card *card = io->private_data;

	if (is_gone(card)) return -ENODEV;
	*ret_delay = (snd_pcm_sframes_t)((int64_t)io->appl_ptr - (card->is_running ? played(card) : 0));
	return 0;
}

static snd_pcm_sframes_t card_transfer(snd_pcm_ioplug_t *io, const snd_pcm_channel_area_t *areas,
                                       snd_pcm_uframes_t offset, snd_pcm_uframes_t frames)
{
	struct card *card = io->private_data;
	const char *from = (const char *)areas->addr + (areas->first + areas->step * offset) / 8;

	if (is_gone(card)) return -ENODEV;
	while (card->stuck_path && access(card->stuck_path, F_OK) == 0) nanosleep(&(struct timespec){ .tv_nsec = 10000000 }, NULL);
	if (!card->is_running) {
		if (card->waiting_frames + frames > card->waiting_frames_max) return -EAGAIN;
		memcpy(card->waiting + card->waiting_frames * card->frame_bytes, from, frames * card->frame_bytes);
		card->waiting_frames += frames;
		return (snd_pcm_sframes_t)frames;
	}
	if (write_at(card, from, frames, card->base_frame + (int64_t)io->appl_ptr) != 0) return -EIO;
	return (snd_pcm_sframes_t)frames;
}

static int card_prepare(snd_pcm_ioplug_t *io)
{
	struct card *card = io->private_data;

	if (is_gone(card)) return -ENODEV;
	card->is_running = false;
	card->waiting_frames = 0;
	set_timer(card, 1, 0); /* a prepared card can be written to */
	return 0;
}

static int card_start(snd_pcm_ioplug_t *io)
{
	struct card *card = io->private_data;
	int64_t period_ns = (int64_t)((double)io->period_size * NS_PER_S / card->rate);
	double frames_ago = (double)(now_ns() - card->origin_ns) * card->rate / NS_PER_S;

	if (is_gone(card)) return -ENODEV;
	/* A stream begins on the file's own grid: at its next frame, so that frame i is audible exactly at T0 + i / rate. */
	card->base_frame = (int64_t)ceil(frames_ago);
	card->start_ns = card->origin_ns + llround((double)card->base_frame * NS_PER_S / card->rate);
	card->is_running = true;
	if (write_at(card, card->waiting, card->waiting_frames, card->base_frame) != 0) return -EIO;
	set_timer(card, period_ns, period_ns);
	return 0;
}

static int card_stop(snd_pcm_ioplug_t *io)
{
	struct card *card = io->private_data;

	if (card->is_running) {
		/* What was written and not yet heard is never heard. */
		for (int64_t frame = played(card); frame < (int64_t)io->appl_ptr; frame++) {
			static const char silence[16];

			if (write_at(card, silence, 1, card->base_frame + frame) != 0) break;
		}
	}
	card->is_running = false;
	set_timer(card, 0, 0);
	return 0;
}

static int card_drain(snd_pcm_ioplug_t *io)
{
	struct card *card = io->private_data;
	struct timespec pause = { .tv_nsec = 1000000 };

	if (!card->is_running && card->waiting_frames > 0) card_start(io);
	while (card->is_running && played(card) < (int64_t)io->appl_ptr) nanosleep(&pause, NULL);
	return 0;
}

static int card_poll_revents(snd_pcm_ioplug_t *io, struct pollfd *fds, unsigned count, unsigned short *ret_revents)
{
	struct card *card = io->private_data;
	uint64_t ticks;

	(void)count;
	*ret_revents = 0;
	if (!(fds[0].revents & POLLIN)) return 0;
	if (!card->is_running) {
		*ret_revents = POLLOUT;
		return 0;
	}
	if (read(card->timer_fd, &ticks, sizeof ticks) < 0 && errno != EAGAIN) return -errno;
	if (is_gone(card)) {
		*ret_revents = POLLERR;
	} else {
		int64_t queued = (int64_t)io->appl_ptr - played(card);

		if ((int64_t)io->buffer_size - queued >= (int64_t)io->period_size) *ret_revents = POLLOUT;
	}
	return 0;
}

/* The time line of an earlier opening goes on; else it begins now. */
static int settle_origin(struct card *card, unsigned channels)
{
	char path[512];
	FILE *file;

	if (snprintf(path, sizeof path, "%s.clock", card->path) >= (int)sizeof path) return -ENAMETOOLONG;
	if ((file = fopen(path, "r"))) {
		int got = fscanf(file, "%" SCNd64, &card->origin_ns);

		fclose(file);
		if (got == 1) return 0;
	}
	card->origin_ns = now_ns();
	if (!(file = fopen(path, "w"))) return -errno;
	fprintf(file, "%" PRId64 " %.6f %u\n", card->origin_ns, card->rate, channels);
	return fclose(file) == 0 ? 0 : -errno;
}

static int card_hw_params(snd_pcm_ioplug_t *io, snd_pcm_hw_params_t *params)
{
	struct card *card = io->private_data;
	snd_pcm_uframes_t buffer;
	int rc = snd_pcm_hw_params_get_buffer_size(params, &buffer);

	if (rc < 0) return rc;
	card->frame_bytes = (unsigned)snd_pcm_format_physical_width(io->format) / 8 * io->channels;
	card->rate = (double)io->rate * (1.0 + (double)card->ppm / 1e6);
	free(card->waiting);
	card->waiting = calloc(buffer, card->frame_bytes);
	card->waiting_frames_max = buffer;
	if (!card->waiting) return -ENOMEM;
	return card->origin_ns ? 0 : settle_origin(card, io->channels);
}

static void free_card(struct card *card)
{
	if (card->fd >= 0) close(card->fd);
	if (card->timer_fd >= 0) close(card->timer_fd);
	free(card->path);
	free(card->gone_path);
	free(card->stuck_path);
	free(card->only_format);
	free(card->waiting);
	free(card);
}

static int card_close(snd_pcm_ioplug_t *io)
{
	free_card(io->private_data);
	return 0;
}

static const snd_pcm_ioplug_callback_t callbacks = {
	.start = card_start,
	.stop = card_stop,
	.pointer = card_pointer,
	.transfer = card_transfer,
	.close = card_close,
	.hw_params = card_hw_params,
	.prepare = card_prepare,
	.drain = card_drain,
	.poll_revents = card_poll_revents,
	.delay = card_delay,
};

/* Reads the fields of the configuration; texts are copied. */
static int read_config(struct card *card, snd_config_t *conf)
{
	snd_config_iterator_t i, next;

	snd_config_for_each(i, next, conf)
	{
		snd_config_t *node = snd_config_iterator_entry(i);
		const char *id, *text = NULL;
		long *number = NULL;
		char **path = NULL;

		if (snd_config_get_id(node, &id) < 0) continue;
		if (strcmp(id, "type") == 0 || strcmp(id, "comment") == 0 || strcmp(id, "hint") == 0) continue;
		if (strcmp(id, "file") == 0) path = &card->path;
		else if (strcmp(id, "gone") == 0) path = &card->gone_path;
		else if (strcmp(id, "stuck") == 0) path = &card->stuck_path;
		else if (strcmp(id, "format") == 0) path = &card->only_format;
		else if (strcmp(id, "rate") == 0) number = &card->only_rate;
		else if (strcmp(id, "channels") == 0) number = &card->only_channels;
		else if (strcmp(id, "period") == 0) number = &card->only_period;
		else if (strcmp(id, "ppm") == 0) number = &card->ppm;
		else if (strcmp(id, "step") == 0) number = &card->step_frames;
		else if (strcmp(id, "opening") == 0) number = &card->opening_ms;
		if (number && snd_config_get_integer(node, number) == 0) continue;
		if (path && !*path && snd_config_get_string(node, &text) == 0 && (*path = strdup(text))) continue;
		SNDERR("field %s is not understood", id);
		return -EINVAL;
	}
	return card->path && card->step_frames >= 1 ? 0 : -EINVAL;
}

static int set_constraints(snd_pcm_ioplug_t *io)
{
	static const unsigned access[] = { SND_PCM_ACCESS_RW_INTERLEAVED, SND_PCM_ACCESS_MMAP_INTERLEAVED };
	const struct card *card = io->private_data;
	const char *name = card->only_format ? card->only_format : "S16";
	unsigned format[] = { strcmp(name, "S32") == 0     ? SND_PCM_FORMAT_S32_LE
		                  : strcmp(name, "FLOAT") == 0 ? SND_PCM_FORMAT_FLOAT_LE
		                                               : SND_PCM_FORMAT_S16_LE };
	unsigned rate_low = card->only_rate ? (unsigned)card->only_rate : 44100;
	unsigned rate_high = card->only_rate ? (unsigned)card->only_rate : 48000;
	unsigned channels_low = card->only_channels ? (unsigned)card->only_channels : 1;
	unsigned channels_high = card->only_channels ? (unsigned)card->only_channels : 2;
	unsigned frame_bytes = (strcmp(name, "S16") == 0 ? 2 : 4) * channels_high;
	unsigned period_low = card->only_period ? (unsigned)card->only_period * frame_bytes : 128;
	unsigned period_high = card->only_period ? (unsigned)card->only_period * frame_bytes : 1 << 17;
	int rc;

	if ((rc = snd_pcm_ioplug_set_param_list(io, SND_PCM_IOPLUG_HW_ACCESS, 2, access)) < 0) return rc;
	if ((rc = snd_pcm_ioplug_set_param_list(io, SND_PCM_IOPLUG_HW_FORMAT, 1, format)) < 0) return rc;
	if ((rc = snd_pcm_ioplug_set_param_minmax(io, SND_PCM_IOPLUG_HW_CHANNELS, channels_low, channels_high)) < 0) return rc;
	if ((rc = snd_pcm_ioplug_set_param_minmax(io, SND_PCM_IOPLUG_HW_RATE, rate_low, rate_high)) < 0) return rc;
	if ((rc = snd_pcm_ioplug_set_param_minmax(io, SND_PCM_IOPLUG_HW_PERIOD_BYTES, period_low, period_high)) < 0) return rc;
	if ((rc = snd_pcm_ioplug_set_param_minmax(io, SND_PCM_IOPLUG_HW_BUFFER_BYTES, 256, 1 << 19)) < 0) return rc;
	return snd_pcm_ioplug_set_param_minmax(io, SND_PCM_IOPLUG_HW_PERIODS, 2, 1024);
}

SND_PCM_PLUGIN_DEFINE_FUNC(rtfile);
SND_PCM_PLUGIN_DEFINE_FUNC(rtfile)
{
	struct card *card = calloc(1, sizeof *card);
	int rc;

	(void)root;
	if (!card) return -ENOMEM;
	card->fd = card->timer_fd = -1;
	card->step_frames = 1;
	rc = stream == SND_PCM_STREAM_PLAYBACK ? read_config(card, conf) : -EINVAL;
	if (rc == 0 && is_gone(card)) rc = -ENODEV;
	if (rc < 0) goto out;
	nanosleep(&(struct timespec){ card->opening_ms / 1000, card->opening_ms % 1000 * 1000000 }, NULL);
	card->fd = open(card->path, O_RDWR | O_CREAT | O_CLOEXEC, 0644);
	card->timer_fd = timerfd_create(CLOCK_MONOTONIC, TFD_NONBLOCK | TFD_CLOEXEC);
	rc = -errno;
	if (card->fd < 0 || card->timer_fd < 0) goto out;
	rc = -EBUSY;
	if (flock(card->fd, LOCK_EX | LOCK_NB) != 0) goto out;
	card->io.version = SND_PCM_IOPLUG_VERSION;
	card->io.name = "a card that keeps time, into a file";
	card->io.callback = &callbacks;
	card->io.private_data = card;
	card->io.poll_fd = card->timer_fd;
	card->io.poll_events = POLLIN;
	card->io.flags = SND_PCM_IOPLUG_FLAG_MONOTONIC | SND_PCM_IOPLUG_FLAG_BOUNDARY_WA;
	if ((rc = snd_pcm_ioplug_create(&card->io, name, stream, mode)) < 0) goto out;
	if ((rc = set_constraints(&card->io)) < 0) {
		snd_pcm_ioplug_delete(&card->io); /* closes the card too */
		return rc;
	}
	*pcmp = card->io.pcm;
	return 0;
out:
	free_card(card);
	return rc;
}
/* SND_PCM_PLUGIN_SYMBOL without the semicolon that strict C does not want here. */
SND_DLSYM_BUILD_VERSION(SND_PCM_PLUGIN_ENTRY(rtfile), SND_PCM_DLSYM_VERSION)
