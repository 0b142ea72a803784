/* sink_alsa.c: an open device is fed: each wake-up asks the card which frame was audible at which moment, enters that into
 * the clock map, and writes what is missing to 30 ms, with the tones mixed in at the frames that the map gives for their
 * times. Nothing is allocated and no file is read. */
#include "speaker/sink_alsa.h"

#include <errno.h>
#include <stdlib.h>
#include <time.h>

#define WRITE_WAIT_MS 100
#define STALL_NS 1000000000LL                    /* a pointer that stands still so long: the device is gone */
#define PACE_FRAMES_MAX (2 * WET_SAMPLE_RATE)    /* a device that takes more than this in a second keeps no time */
#define STAMP_NS_MAX 100000000LL                 /* a status stamp further from now than this is not of this clock */
#define OFFSET_STEP_NS 1000000LL                 /* boot time minus monotonic changes in a suspend only, by more */
#define OFFSET_READS 5
#define LOOKS 4                                  /* tries for a look without interruption */
#define LOOK_WIDTH_NS 3000LL                     /* how much longer than the shortest a look may take */
#define RECOVERIES_MAX 20                        /* underruns in one second that are no busy machine any more */

/* -- clocks --------------------------------------------------------------- */

static int64_t read_clock(clockid_t clock)
{
	struct timespec ts;

	clock_gettime(clock, &ts);
	return ts.tv_sec * INT64_C(1000000000) + ts.tv_nsec;
}

int64_t sink_boot_now(void)
{
	return read_clock(CLOCK_BOOTTIME);
}

int64_t sink_mono_now(void)
{
	return read_clock(CLOCK_MONOTONIC);
}

/* The kernel keeps the offset exactly; what spoils reading it is an interruption between the reads, so the narrowest
 * of several rules. */
static int64_t read_boot_offset(int reads)
{
	int64_t narrowest_ns = INT64_MAX, offset_ns = 0;

	for (int i = 0; i < reads; i++) {
		int64_t before_ns = sink_mono_now();
		int64_t boot_ns = read_clock(CLOCK_BOOTTIME);
		int64_t width_ns = sink_mono_now() - before_ns;

		if (width_ns >= narrowest_ns) continue;
		narrowest_ns = width_ns;
		offset_ns = boot_ns - before_ns - width_ns / 2;
	}
	return offset_ns;
}

/* After a suspend boot time has jumped against the card's stamps. */
static void follow_suspend(struct wet_feeder *f)
{
	int64_t offset_ns;

	if (llabs(read_boot_offset(1) - f->boot_offset_ns) < OFFSET_STEP_NS) return;
	offset_ns = read_boot_offset(OFFSET_READS);
	if (llabs(offset_ns - f->boot_offset_ns) < OFFSET_STEP_NS) return;
	f->boot_offset_ns = offset_ns;
	wet_clock_map_reset(&f->map);
}

/* Fills a prepared device with silence and starts it: a new stream. */
static int start_stream(struct wet_feeder *f)
{
	int64_t filled = 0;
	int rc;

	memset(f->chunk, 0, sizeof f->chunk);
	wet_clock_map_reset(&f->map);
	pthread_mutex_lock(&f->speaker->lock);
	f->stream = ++f->speaker->stream;
	pthread_mutex_unlock(&f->speaker->lock);
	while (filled < f->card.fill_frames) {
		int64_t left = f->card.fill_frames - filled;
		snd_pcm_sframes_t got = snd_pcm_writei(
		    f->card.pcm, f->chunk, (snd_pcm_uframes_t)(left < PERIOD_FRAMES ? left : PERIOD_FRAMES));

		if (got == 0 || got == -EAGAIN) break; /* fuller than it said: enough */
		if (got < 0) return (int)got;
		filled += got;
	}
	f->written += filled;
	f->progress_mono_ns = f->pace_mono_ns = sink_mono_now();
	f->pace_frames = f->written;
	if (snd_pcm_state(f->card.pcm) == SND_PCM_STATE_PREPARED && (rc = snd_pcm_start(f->card.pcm)) < 0) return rc;
	return 0;
}

/* -- feeding -------------------------------------------------------------- */

/* Reads the status and how long that took: between the stamp and the delay in it the thread can be interrupted, where
 * a plug-in and not the kernel puts them together. */
static int read_status(struct wet_feeder *f, int64_t *ret_width_ns)
{
	int64_t before_ns = sink_mono_now();
	int rc = snd_pcm_status(f->card.pcm, f->status);

	*ret_width_ns = sink_mono_now() - before_ns;
	if (rc < 0) return rc;
	switch (snd_pcm_status_get_state(f->status)) {
	case SND_PCM_STATE_RUNNING: return 0;
	case SND_PCM_STATE_SUSPENDED: return -ESTRPIPE;
	case SND_PCM_STATE_DISCONNECTED: return -ENODEV;
	default: return -EPIPE;
	}
}

/* Enters into the map what the status says, or, if its stamp is of another clock, what we read ourselves. */
static int enter_look(struct wet_feeder *f)
{
	snd_pcm_sframes_t delay = snd_pcm_status_get_delay(f->status);
	snd_htimestamp_t stamp;
	int64_t stamp_ns;
	int rc;

	snd_pcm_status_get_htstamp(f->status, &stamp);
	stamp_ns = stamp.tv_sec * INT64_C(1000000000) + stamp.tv_nsec;
	if (llabs(sink_mono_now() - stamp_ns) > STAMP_NS_MAX) {
		if ((rc = snd_pcm_delay(f->card.pcm, &delay)) < 0) return rc;
		stamp_ns = sink_mono_now();
	}
	wet_clock_map_look(&f->map, stamp_ns + f->boot_offset_ns, f->written - delay);
	return 0;
}

/* Asks the card what is audible now. Gives its state's error, or how many frames are missing to the fill. A look that
 * was interrupted would pull the map down for seconds: it is taken again, and if need be left out. */
static int look(struct wet_feeder *f, int64_t *ret_missing)
{
	int64_t width_ns = 0;
	int rc = 0;

	for (int i = 0; i < LOOKS; i++) {
		if ((rc = read_status(f, &width_ns)) < 0) return rc;
		/* The narrowest look that this device can give; it rises slowly, so that it follows a slower clock. */
		f->narrowest_ns += f->narrowest_ns / 64 + 1;
		if (f->narrowest_ns > width_ns) f->narrowest_ns = width_ns;
		if (width_ns <= f->narrowest_ns + LOOK_WIDTH_NS) break;
	}
	if (width_ns <= f->narrowest_ns + LOOK_WIDTH_NS && (rc = enter_look(f)) < 0) return rc;
	*ret_missing = f->card.fill_frames - f->card.buffer_frames + (int64_t)snd_pcm_status_get_avail(f->status);
	return 0;
}

/* Writes what is in the chunk; its tones count as committed, so all of it must go. */
static int write_chunk(struct wet_feeder *f, int64_t frames)
{
	int64_t done = 0;

	while (done < frames) {
		snd_pcm_sframes_t got = snd_pcm_writei(f->card.pcm, f->chunk + done, (snd_pcm_uframes_t)(frames - done));

		if (got == -EAGAIN || got == 0) {
			if (snd_pcm_wait(f->card.pcm, WRITE_WAIT_MS) == 0) return -EIO;
			continue;
		}
		if (got < 0) return (int)got;
		done += got;
		f->written += got;
	}
	return 0;
}

/* A device that has stopped without saying so, or one that swallows everything at once, sounds nothing. */
static int check_pace(struct wet_feeder *f, bool is_moving)
{
	int64_t mono_ns = sink_mono_now();

	if (is_moving) f->progress_mono_ns = mono_ns;
	if (mono_ns - f->progress_mono_ns > STALL_NS) return -ENODEV;
	if (f->written - f->pace_frames > PACE_FRAMES_MAX) return -EIO;
	if (mono_ns - f->pace_mono_ns > 1000000000LL) {
		f->pace_mono_ns = mono_ns;
		f->pace_frames = f->written;
	}
	return 0;
}

static int feed(struct wet_feeder *f)
{
	int64_t missing = 0, now_ns;
	int rc;

	follow_suspend(f);
	if ((rc = look(f, &missing)) < 0) return rc;
	if ((rc = check_pace(f, missing > 0)) < 0) return rc;
	now_ns = sink_boot_now();
	while (missing > 0) {
		int64_t frames = missing < PERIOD_FRAMES ? missing : PERIOD_FRAMES;
		bool is_sounding;

		memset(f->chunk, 0, sizeof f->chunk);
		pthread_mutex_lock(&f->speaker->lock);
		is_sounding = !f->is_candidate && !f->is_retired &&
		              wet_voices_mix(&f->speaker->voices, &f->map, f->stream, now_ns, f->written, f->chunk, (size_t)frames);
		pthread_mutex_unlock(&f->speaker->lock);
		f->quiet_frames = is_sounding ? 0 : f->quiet_frames + frames;
		if ((rc = write_chunk(f, frames)) < 0) return rc;
		missing -= frames;
	}
	return 0;
}

/* After an underrun or a suspend the device starts anew; the time line goes on, for voices lie on the clock. */
static int recover(struct wet_feeder *f, int rc)
{
	int64_t now_ns = sink_boot_now();

	if (rc != -EPIPE && rc != -ESTRPIPE) return rc;
	if (now_ns - f->recovery_from_ns > 1000000000LL) {
		f->recovery_from_ns = now_ns;
		f->recoveries = 0;
	}
	if (++f->recoveries > RECOVERIES_MAX) return -EIO;
	if (rc == -EPIPE) {
		pthread_mutex_lock(&f->speaker->lock);
		f->speaker->underruns += !f->is_retired;
		pthread_mutex_unlock(&f->speaker->lock);
	}
	/* Not snd_pcm_resume: its place in the buffer is of the time before the suspend. */
	if ((rc = snd_pcm_prepare(f->card.pcm)) < 0) return rc;
	return start_stream(f);
}

int sink_start(struct wet_feeder *f)
{
	f->boot_offset_ns = read_boot_offset(OFFSET_READS);
	f->quiet_frames = 0;
	f->narrowest_ns = INT64_MAX / 2;
	return start_stream(f);
}

int sink_feed(struct wet_feeder *f, int rc)
{
	if (rc == 0) rc = feed(f);
	return rc < 0 ? recover(f, rc) : 0;
}
