/* sink_alsa.c: the feeder, one thread that keeps an ALSA device supplied. The only file that knows ALSA.
 *
 *        closed --needed--> opening --ok--> feeding --not needed, quiet--> closed
 *          ^                  | no            | device gone
 *          |                  v               v
 *          +-- not needed -- waits 2 s <------+      health says MISSING or LOST until it opens
 *
 * While feeding, each wake-up asks the card which frame was audible at which moment, enters that into the clock map, and
 * writes what is missing to 30 ms, with the tones mixed in at the frames that the map gives for their times. Nothing is
 * allocated and no file is read between opening and closing. */
#include "speaker/inside.h"

#include "base/text.h"

#include <errno.h>
#include <poll.h>
#include <sched.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/eventfd.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include <alsa/asoundlib.h>

#define PERIOD_FRAMES (WET_SAMPLE_RATE / 200)    /* 5 ms */
#define FILL_FRAMES (6 * PERIOD_FRAMES)          /* 30 ms: how late an answer may be */
#define POLL_FDS_MAX 8
#define POLL_MS 100                              /* a device whose descriptors stay silent is looked at all the same */
#define RETRY_NS 2000000000LL
#define STOP_NS 2000000000LL                     /* how long closing waits for what sounds */
#define STALL_NS 1000000000LL                    /* a pointer that stands still so long: the device is gone */
#define PACE_FRAMES_MAX (2 * WET_SAMPLE_RATE)    /* a device that takes more than this in a second keeps no time */
#define STAMP_NS_MAX 100000000LL                 /* a status stamp further from now than this is not of this clock */
#define OFFSET_STEP_NS 1000000LL                 /* boot time minus monotonic changes in a suspend only, by more */
#define OFFSET_READS 5
#define FEEDER_NICE (-11)
#define LOOKS 4                                  /* tries for a look without interruption */
#define LOOK_WIDTH_NS 3000LL                     /* how much longer than the shortest a look may take */
#define RECOVERIES_MAX 20                        /* underruns in one second that are no busy machine any more */

struct wet_feeder {
	struct wet_speaker *speaker;
	pthread_t thread;
	int wake_fd;
	char device[WET_SPEAKER_TEXT_BYTES];

	/* The feeder's thread only. */
	snd_pcm_t *pcm; /* NULL: closed */
	snd_pcm_status_t *status;
	int64_t period_frames, buffer_frames, fill_frames;
	struct pollfd fds[1 + POLL_FDS_MAX]; /* the first is wake_fd */
	unsigned pcm_fds;
	struct wet_clock_map map;
	int64_t boot_offset_ns, narrowest_ns;
	uint32_t stream;      /* counts starts: after an underrun frames mean another time */
	int64_t written;      /* frames, over all streams */
	int64_t quiet_frames; /* written since something sounded */
	int64_t progress_mono_ns; /* when the pointer last moved */
	int64_t pace_mono_ns, pace_frames; /* the beginning of the second in which the pace is checked */
	int64_t retry_at_ns, recovery_from_ns;
	int recoveries;
	bool was_ever_open;
	int16_t chunk[PERIOD_FRAMES];
};

/* -- clocks --------------------------------------------------------------- */

static int64_t read_clock(clockid_t clock)
{
	struct timespec ts;

	clock_gettime(clock, &ts);
	return ts.tv_sec * INT64_C(1000000000) + ts.tv_nsec;
}

static int64_t boot_now(void)
{
	return read_clock(CLOCK_BOOTTIME);
}

/* The kernel keeps the offset exactly; what spoils reading it is an interruption between the reads, so the narrowest
 * of several rules. */
static int64_t read_boot_offset(int reads)
{
	int64_t narrowest_ns = INT64_MAX, offset_ns = 0;

	for (int i = 0; i < reads; i++) {
		int64_t before_ns = read_clock(CLOCK_MONOTONIC);
		int64_t boot_ns = read_clock(CLOCK_BOOTTIME);
		int64_t width_ns = read_clock(CLOCK_MONOTONIC) - before_ns;

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

/* -- opening and closing the device --------------------------------------- */

/* libasound prints what it meets to stderr unless told otherwise; we say it as health. */
static void say_nothing(const char *file, int line, const char *function, int err, const char *format, ...)
{
	(void)file;
	(void)line;
	(void)function;
	(void)err;
	(void)format;
}

static int set_hw_params(struct wet_feeder *f, snd_pcm_t *pcm)
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
	f->period_frames = (int64_t)period;
	f->buffer_frames = (int64_t)buffer;
	/* A card that insists on a larger buffer is kept just as full as ours, or as two of its periods need. */
	f->fill_frames = f->period_frames * 2 > FILL_FRAMES ? f->period_frames * 2 : FILL_FRAMES;
	if (f->fill_frames > f->buffer_frames) f->fill_frames = f->buffer_frames;
	return 0;
}

static int set_sw_params(struct wet_feeder *f, snd_pcm_t *pcm)
{
	snd_pcm_sw_params_t *sw;
	/* Wake when one period is missing to the fill, however large the buffer is. */
	int64_t avail_min = f->buffer_frames - f->fill_frames + f->period_frames;
	int rc;

	snd_pcm_sw_params_alloca(&sw);
	if ((rc = snd_pcm_sw_params_current(pcm, sw)) < 0) return rc;
	if ((rc = snd_pcm_sw_params_set_start_threshold(pcm, sw, (snd_pcm_uframes_t)f->fill_frames)) < 0) return rc;
	if ((rc = snd_pcm_sw_params_set_avail_min(pcm, sw, (snd_pcm_uframes_t)avail_min)) < 0) return rc;
	if ((rc = snd_pcm_sw_params_set_tstamp_mode(pcm, sw, SND_PCM_TSTAMP_ENABLE)) < 0) return rc;
	/* An old driver may know wall-clock stamps only: look() sees that and reads the delay itself. */
	(void)snd_pcm_sw_params_set_tstamp_type(pcm, sw, SND_PCM_TSTAMP_TYPE_MONOTONIC);
	return snd_pcm_sw_params(pcm, sw);
}

static int open_named(struct wet_feeder *f, const char *name)
{
	snd_pcm_t *pcm;
	int rc, fds;

	if ((rc = snd_pcm_open(&pcm, name, SND_PCM_STREAM_PLAYBACK, SND_PCM_NONBLOCK)) < 0) return rc;
	if ((rc = set_hw_params(f, pcm)) < 0) goto out;
	if ((rc = set_sw_params(f, pcm)) < 0) goto out;
	fds = snd_pcm_poll_descriptors_count(pcm);
	rc = -EINVAL;
	if (fds < 1 || fds > POLL_FDS_MAX) goto out;
	if ((rc = snd_pcm_poll_descriptors(pcm, f->fds + 1, (unsigned)fds)) < 0) goto out;
	f->pcm_fds = (unsigned)fds;
	f->pcm = pcm;
	return 0;
out:
	snd_pcm_close(pcm);
	return rc;
}

static void close_device(struct wet_feeder *f)
{
	if (!f->pcm) return;
	snd_pcm_drop(f->pcm);
	snd_pcm_close(f->pcm);
	f->pcm = NULL;
	wet_clock_map_reset(&f->map);
}

/* Fills a prepared device with silence and starts it: a new stream. */
static int start_stream(struct wet_feeder *f)
{
	int64_t filled = 0;
	int rc;

	memset(f->chunk, 0, sizeof f->chunk);
	wet_clock_map_reset(&f->map);
	f->stream++;
	while (filled < f->fill_frames) {
		int64_t left = f->fill_frames - filled;
		snd_pcm_sframes_t got = snd_pcm_writei(
		    f->pcm, f->chunk, (snd_pcm_uframes_t)(left < PERIOD_FRAMES ? left : PERIOD_FRAMES));

		if (got == 0 || got == -EAGAIN) break; /* fuller than it said: enough */
		if (got < 0) return (int)got;
		filled += got;
	}
	f->written += filled;
	f->progress_mono_ns = f->pace_mono_ns = read_clock(CLOCK_MONOTONIC);
	f->pace_frames = f->written;
	if (snd_pcm_state(f->pcm) == SND_PCM_STATE_PREPARED && (rc = snd_pcm_start(f->pcm)) < 0) return rc;
	return 0;
}

/* Notes that there is no device; the next try is two seconds away. */
static void give_up_device(struct wet_feeder *f, int rc)
{
	char text[WET_SPEAKER_TEXT_BYTES];

	close_device(f);
	f->retry_at_ns = boot_now() + RETRY_NS;
	wet_text_format(text, sizeof text, "no sound from \"%s\": %s", f->device, snd_strerror(rc));
	wet_speaker_set_health(f->speaker, f->was_ever_open ? WET_SPEAKER_LOST : WET_SPEAKER_MISSING, text);
}

static void open_device(struct wet_feeder *f)
{
	char plugged[WET_SPEAKER_TEXT_BYTES + 16], text[WET_SPEAKER_TEXT_BYTES];
	int rc = open_named(f, f->device);

	/* A card that cannot do mono at 48 kHz by itself can do it through ALSA's own converter. */
	if (rc == -EINVAL) {
		wet_text_format(plugged, sizeof plugged, "plug:SLAVE='%s'", f->device);
		if (open_named(f, plugged) == 0) rc = 0;
	}
	f->boot_offset_ns = read_boot_offset(OFFSET_READS);
	f->quiet_frames = 0;
	f->narrowest_ns = INT64_MAX / 2;
	if (rc == 0) rc = start_stream(f);
	if (rc < 0) {
		give_up_device(f, rc);
		return;
	}
	f->was_ever_open = true;
	wet_text_format(text, sizeof text, "sounding on \"%s\"", f->device);
	wet_speaker_set_health(f->speaker, WET_SPEAKER_OK, text);
}

/* -- feeding -------------------------------------------------------------- */

/* Reads the status and how long that took: between the stamp and the delay in it the thread can be interrupted, where
 * a plug-in and not the kernel puts them together. */
static int read_status(struct wet_feeder *f, int64_t *ret_width_ns)
{
	int64_t before_ns = read_clock(CLOCK_MONOTONIC);
	int rc = snd_pcm_status(f->pcm, f->status);

	*ret_width_ns = read_clock(CLOCK_MONOTONIC) - before_ns;
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
	if (llabs(read_clock(CLOCK_MONOTONIC) - stamp_ns) > STAMP_NS_MAX) {
		if ((rc = snd_pcm_delay(f->pcm, &delay)) < 0) return rc;
		stamp_ns = read_clock(CLOCK_MONOTONIC);
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
	*ret_missing = f->fill_frames - f->buffer_frames + (int64_t)snd_pcm_status_get_avail(f->status);
	return 0;
}

/* Writes what is in the chunk; its tones count as committed, so all of it must go. */
static int write_chunk(struct wet_feeder *f, int64_t frames)
{
	int64_t done = 0;

	while (done < frames) {
		snd_pcm_sframes_t got = snd_pcm_writei(f->pcm, f->chunk + done, (snd_pcm_uframes_t)(frames - done));

		if (got == -EAGAIN || got == 0) {
			if (snd_pcm_wait(f->pcm, POLL_MS) == 0) return -EIO;
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
	int64_t mono_ns = read_clock(CLOCK_MONOTONIC);

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
	now_ns = boot_now();
	while (missing > 0) {
		int64_t frames = missing < PERIOD_FRAMES ? missing : PERIOD_FRAMES;
		bool is_sounding;

		memset(f->chunk, 0, sizeof f->chunk);
		pthread_mutex_lock(&f->speaker->lock);
		is_sounding = wet_voices_mix(&f->speaker->voices, &f->map, f->stream, now_ns, f->written, f->chunk,
		                             (size_t)frames);
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
	int64_t now_ns = boot_now();

	if (rc != -EPIPE && rc != -ESTRPIPE) return rc;
	if (now_ns - f->recovery_from_ns > 1000000000LL) {
		f->recovery_from_ns = now_ns;
		f->recoveries = 0;
	}
	if (++f->recoveries > RECOVERIES_MAX) return -EIO;
	if (rc == -EPIPE) {
		pthread_mutex_lock(&f->speaker->lock);
		f->speaker->underruns++;
		pthread_mutex_unlock(&f->speaker->lock);
	}
	/* Not snd_pcm_resume: its place in the buffer is of the time before the suspend. */
	if ((rc = snd_pcm_prepare(f->pcm)) < 0) return rc;
	return start_stream(f);
}

/* Sleeps until a descriptor speaks or the time is over. */
static void wait_descriptors(struct wet_feeder *f, unsigned fds, int timeout_ms)
{
	uint64_t count;

	if (poll(f->fds, fds, timeout_ms) < 0) f->fds[0].revents = 0;
	if (f->fds[0].revents & POLLIN && read(f->wake_fd, &count, sizeof count) < 0) return; /* another took it: fine */
}

static void feed_once(struct wet_feeder *f)
{
	unsigned short revents = 0;
	int64_t before = f->written;
	int rc;

	wait_descriptors(f, 1 + f->pcm_fds, POLL_MS);
	rc = snd_pcm_poll_descriptors_revents(f->pcm, f->fds + 1, f->pcm_fds, &revents);
	if (rc == 0) rc = feed(f);
	if (rc < 0 && (rc = recover(f, rc)) < 0) {
		give_up_device(f, rc);
		return;
	}
	/* A descriptor that calls although nothing is missing must not make the feeder spin. */
	if (revents && f->written == before) {
		struct timespec pause = { .tv_nsec = 1000000 };

		nanosleep(&pause, NULL);
	}
}

/* -- the thread ----------------------------------------------------------- */

struct need {
	bool is_stopping;
	bool is_needed;
	int64_t next_ns; /* if it is not: from when it will be */
};

static struct need read_need(struct wet_feeder *f, int64_t now_ns)
{
	struct wet_speaker *speaker = f->speaker;
	struct need need;
	bool is_wanted;

	pthread_mutex_lock(&speaker->lock);
	need.is_stopping = speaker->is_stopping;
	if (need.is_stopping) wet_voices_keep_due(&speaker->voices, now_ns);
	if (!f->pcm) wet_voices_drop_late(&speaker->voices, now_ns);
	need.next_ns = wet_voices_needed_ns(&speaker->voices);
	is_wanted = speaker->is_wanted && !need.is_stopping;
	pthread_mutex_unlock(&speaker->lock);
	need.is_needed = is_wanted || need.next_ns <= now_ns;
	return need;
}

static int timeout_ms_until(int64_t at_ns, int64_t now_ns)
{
	int64_t ms = at_ns <= now_ns ? 0 : (at_ns - now_ns + 999999) / 1000000;

	/* poll() sleeps by the monotonic clock, which stands still in a suspend: look again now and then if a tone is
	 * planned, and not at all if none is. */
	if (at_ns == INT64_MAX) return -1;
	return ms > 1000 ? 1000 : (int)ms;
}

/* Thirty milliseconds of sound are soon gone on a busy machine, so the feeder asks to go first: as a real-time thread
 * of the lowest rank (a service needs LimitRTPRIO=1 for it), else by niceness, else it does without. It never spins:
 * check_pace() and the pause in feed_once() see to that. */
static void ask_to_go_first(void)
{
	struct sched_param lowest = { .sched_priority = sched_get_priority_min(SCHED_RR) };

	if (pthread_setschedparam(pthread_self(), SCHED_RR | SCHED_RESET_ON_FORK, &lowest) == 0) return;
	/* On Linux niceness is a thread's own. */
	(void)setpriority(PRIO_PROCESS, (id_t)gettid(), FEEDER_NICE);
}

static void *run_feeder(void *arg)
{
	struct wet_feeder *f = arg;
	int64_t stop_at_ns = INT64_MAX;

	ask_to_go_first();
	for (;;) {
		int64_t now_ns = boot_now();
		struct need need = read_need(f, now_ns);
		bool is_quiet = !need.is_needed && f->quiet_frames >= f->fill_frames + f->period_frames;

		if (f->speaker->options.alive_ns) atomic_store(f->speaker->options.alive_ns, now_ns);
		if (need.is_stopping) {
			if (stop_at_ns == INT64_MAX) stop_at_ns = now_ns + STOP_NS;
			if (now_ns >= stop_at_ns || (f->pcm ? is_quiet : !need.is_needed || now_ns < f->retry_at_ns)) break;
		}
		if (f->pcm && is_quiet)
			close_device(f);
		else if (f->pcm)
			feed_once(f);
		else if (!need.is_needed)
			wait_descriptors(f, 1, timeout_ms_until(need.next_ns, now_ns));
		else if (now_ns < f->retry_at_ns)
			wait_descriptors(f, 1, timeout_ms_until(f->retry_at_ns, now_ns));
		else
			open_device(f);
	}
	close_device(f);
	return NULL;
}

static void free_feeder(struct wet_feeder *f)
{
	if (f->status) snd_pcm_status_free(f->status);
	if (f->wake_fd >= 0) close(f->wake_fd);
	free(f);
}

/* The program's signals are the loop's business. */
static int start_thread(struct wet_feeder *f)
{
	sigset_t all, before;
	int rc;

	sigfillset(&all);
	if (pthread_sigmask(SIG_SETMASK, &all, &before) != 0) return WET_ERR_INTERNAL;
	rc = pthread_create(&f->thread, NULL, run_feeder, f);
	pthread_sigmask(SIG_SETMASK, &before, NULL);
	if (rc != 0) return WET_ERR_NOMEM;
	pthread_setname_np(f->thread, "wet-feeder");
	return WET_OK;
}

int wet_feeder_start(struct wet_speaker *speaker, const char *device, struct wet_feeder **ret_feeder)
{
	struct wet_feeder *f = calloc(1, sizeof *f);
	int rc = WET_ERR_NOMEM;

	if (!f) return WET_ERR_NOMEM;
	f->speaker = speaker;
	wet_text_copy(f->device, sizeof f->device, device);
	wet_clock_map_init(&f->map, WET_SAMPLE_RATE);
	f->wake_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
	if (f->wake_fd < 0 || snd_pcm_status_malloc(&f->status) < 0) goto out;
	f->fds[0] = (struct pollfd){ .fd = f->wake_fd, .events = POLLIN };
	snd_lib_error_set_handler(say_nothing);
	if ((rc = start_thread(f)) != 0) goto out;
	*ret_feeder = f;
	return WET_OK;
out:
	free_feeder(f);
	return rc;
}

void wet_feeder_wake(struct wet_feeder *feeder)
{
	uint64_t one = 1;

	/* A full counter is a wake-up under way: nothing is lost. */
	if (write(feeder->wake_fd, &one, sizeof one) < 0) return;
}

void wet_feeder_stop(struct wet_feeder *feeder)
{
	if (!feeder) return;
	wet_feeder_wake(feeder);
	pthread_join(feeder->thread, NULL);
	free_feeder(feeder);
	snd_config_update_free_global(); /* what libasound kept of its configuration */
}
