/* feeder_alsa.c: the feeder's thread: when its device is open.
 *
 *        closed --needed--> opening --ok--> feeding --not needed, quiet--> closed
 *          ^                  | no            | device gone
 *          |                  v               v
 *          +-- not needed -- waits 2 s <------+      health says MISSING or LOST until it opens
 *
 * A candidate opens at once and feeds silence until it takes over; then it mixes what the one before would have, for all
 * of that lies on the clock. One that is retired touches nothing of the speaker any more: its device may hang for as long
 * as it likes. */
#include "speaker/sink_alsa.h"

#include "base/text.h"

#include <errno.h>
#include <sched.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/eventfd.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#define POLL_MS 100           /* a device whose descriptors stay silent is looked at all the same */
#define RETRY_NS 2000000000LL
#define TRIAL_NS 250000000LL  /* a candidate plays silence so long before it takes over */
#define STOP_NS 2000000000LL  /* how long closing waits for what sounds */
#define HANG_NS 2000000000LL  /* and then for a device that hangs */
#define FEEDER_NICE (-11)

/* -- opening and closing the device --------------------------------------- */

static void drop_mixer(struct wet_feeder *f)
{
	pthread_mutex_lock(&f->speaker->lock);
	if (f->mixer) wet_mixer_retire(f->mixer);
	f->mixer = NULL;
	pthread_mutex_unlock(&f->speaker->lock);
}

/* The mixer of a device that is open is looked at; one that is opened anew may be another card's. */
static void take_mixer(struct wet_feeder *f)
{
	struct wet_mixer *mixer;

	drop_mixer(f);
	mixer = wet_mixer_start(f->speaker, f->device, f->card.number);
	pthread_mutex_lock(&f->speaker->lock);
	f->mixer = mixer;
	pthread_mutex_unlock(&f->speaker->lock);
}

static void close_device(struct wet_feeder *f)
{
	if (!f->card.pcm) return;
	wet_card_close(&f->card);
	wet_clock_map_reset(&f->map);
	atomic_store(&f->is_open, false);
	pthread_mutex_lock(&f->speaker->lock);
	f->speaker->devices--;
	pthread_cond_broadcast(&f->speaker->moved); /* somebody may wait for it */
	pthread_mutex_unlock(&f->speaker->lock);
}

static const char *say_error(int rc)
{
	switch (rc) {
	case -ENOENT: return "ALSA knows no device of that name";
	case -ENODEV:
	case -ENXIO: return "it is not there";
	case -EBUSY: return "another program holds it";
	case -EACCES:
	case -EPERM: return "this user may not use it";
	case -EINVAL: return "it is no device that could play this";
	case -EIO: return "it takes sound, but does not play it in time";
	case -ECONNREFUSED:
	case -EHOSTDOWN: return "its sound server does not answer";
	default: return snd_strerror(rc);
	}
}

/* How a candidate's trial goes on; false: it is none any more. */
static bool move_trial(struct wet_feeder *f, enum wet_trial trial, int rc)
{
	struct wet_speaker *speaker = f->speaker;
	bool is_candidate;

	pthread_mutex_lock(&speaker->lock);
	is_candidate = f->is_candidate && !f->is_retired;
	if (is_candidate) {
		speaker->trial = trial;
		wet_text_format(speaker->trial_text, sizeof speaker->trial_text, "%s", rc < 0 ? say_error(rc) : "");
		if (speaker->options.wake) speaker->options.wake(speaker->options.ctx);
	}
	pthread_mutex_unlock(&speaker->lock);
	return is_candidate;
}

/* Notes that there is no device; the next try is two seconds away. A candidate has one try. */
static void give_up_device(struct wet_feeder *f, int rc)
{
	char text[WET_SPEAKER_TEXT_BYTES];

	close_device(f);
	drop_mixer(f);
	f->retry_at_ns = sink_boot_now() + RETRY_NS;
	if (move_trial(f, WET_TRIAL_REFUSED, rc)) return;
	wet_text_format(text, sizeof text, "no sound from \"%s\": %s", f->device, say_error(rc));
	wet_speaker_set_health(f->speaker, f, f->was_ever_open ? WET_SPEAKER_LOST : WET_SPEAKER_MISSING, text);
}

/* The device may be held by the feeder that sounds, maybe under another name: then that one is asked to let go. Or one that
 * is retired is about to. */
static void wait_until_let_go(struct wet_feeder *f)
{
	struct wet_speaker *speaker = f->speaker;
	struct timespec until;

	if (!move_trial(f, WET_TRIAL_BUSY, 0)) return;
	clock_gettime(CLOCK_MONOTONIC, &until);
	until.tv_sec += 1;
	pthread_mutex_lock(&speaker->lock);
	while (!f->is_retired && (speaker->trial == WET_TRIAL_BUSY || speaker->devices > 0))
		if (pthread_cond_timedwait(&speaker->moved, &speaker->lock, &until) != 0) break;
	pthread_mutex_unlock(&speaker->lock);
}

/* The loop is told of a call that may take long, and looks after some seconds. */
static void set_busy(struct wet_feeder *f, bool is_opening)
{
	struct wet_speaker *speaker = f->speaker;

	if (!is_opening) {
		atomic_store_explicit(&f->busy_ns, 0, memory_order_relaxed);
		return;
	}
	atomic_store(&f->busy_ns, sink_boot_now());
	pthread_mutex_lock(&speaker->lock);
	if (!f->is_retired && speaker->options.wake) speaker->options.wake(speaker->options.ctx);
	pthread_mutex_unlock(&speaker->lock);
}

static int open_card(struct wet_feeder *f)
{
	int fds = wet_card_open(&f->card, f->device, f->fds + 1);

	if (fds == -EBUSY) {
		wait_until_let_go(f);
		fds = wet_card_open(&f->card, f->device, f->fds + 1);
	}
	if (fds < 0) return fds;
	pthread_mutex_lock(&f->speaker->lock);
	f->speaker->devices++;
	pthread_mutex_unlock(&f->speaker->lock);
	f->pcm_fds = (unsigned)fds;
	atomic_store(&f->is_open, true);
	take_mixer(f);
	return sink_start(f);
}

static void say_sounding(struct wet_feeder *f)
{
	char text[WET_SPEAKER_TEXT_BYTES];

	atomic_store(&f->is_told_stuck, false);
	wet_text_format(text, sizeof text, "sounding on \"%s\"", f->device);
	wet_speaker_set_health(f->speaker, f, WET_SPEAKER_OK, text);
}

static void open_device(struct wet_feeder *f)
{
	int rc;

	set_busy(f, true);
	rc = open_card(f);
	set_busy(f, false);
	if (rc < 0) {
		give_up_device(f, rc);
		return;
	}
	f->was_ever_open = true;
	f->trial_at_mono_ns = sink_mono_now() + TRIAL_NS;
	say_sounding(f); /* of a candidate nobody hears it yet */
}

/* -- feeding -------------------------------------------------------------- */

/* Sleeps until a descriptor speaks or the time is over. True: one of the device. */
static bool wait_descriptors(struct wet_feeder *f, unsigned fds, int timeout_ms)
{
	uint64_t count;
	int ready = poll(f->fds, fds, timeout_ms);

	if (ready < 0) f->fds[0].revents = 0;
	/* Read by another: fine. */
	if (ready > 0 && f->fds[0].revents & POLLIN) return read(f->wake_fd, &count, sizeof count) > 0 && ready > 1;
	return ready > 0;
}

static void feed_once(struct wet_feeder *f)
{
	unsigned short revents = 0;
	int64_t before = f->written;
	bool is_called;
	int rc;

	is_called = wait_descriptors(f, 1 + f->pcm_fds, POLL_MS);
	atomic_store_explicit(&f->busy_ns, sink_boot_now(), memory_order_relaxed);
	rc = snd_pcm_poll_descriptors_revents(f->card.pcm, f->fds + 1, f->pcm_fds, &revents);
	rc = sink_feed(f, rc);
	set_busy(f, false);
	if (rc < 0) {
		give_up_device(f, rc);
		return;
	}
	if (atomic_load_explicit(&f->is_told_stuck, memory_order_relaxed)) say_sounding(f);
	if (f->trial_at_mono_ns != 0 && sink_mono_now() >= f->trial_at_mono_ns) {
		f->trial_at_mono_ns = 0;
		(void)move_trial(f, WET_TRIAL_OPEN, 0);
	}
	/* A descriptor that calls although nothing is missing must not make the feeder spin: those of sound servers do, and even
	 * say of themselves that it was nothing. The buffer is full, so there is a period's time. */
	if (is_called && f->written == before) (void)wait_descriptors(f, 1, PERIOD_FRAMES * 1000 / WET_SAMPLE_RATE);
}

/* -- the thread ----------------------------------------------------------- */

struct need {
	bool is_stopping, is_retired;
	bool is_needed;   /* the device must be open */
	bool is_released; /* it must be closed at once */
	bool is_watched;  /* a run is live: its mixer is looked at although it is closed */
	int64_t next_ns;  /* if it is not needed: from when it will be */
};

static struct need read_need(struct wet_feeder *f, int64_t now_ns)
{
	struct wet_speaker *speaker = f->speaker;
	struct need need = { .next_ns = INT64_MAX };
	bool is_wanted;

	pthread_mutex_lock(&speaker->lock);
	need.is_retired = f->is_retired || (f->is_candidate && speaker->is_stopping);
	need.is_released = f->is_released;
	need.is_watched = speaker->is_live;
	if (f->is_candidate || need.is_retired) {
		need.is_needed = true;
		pthread_mutex_unlock(&speaker->lock);
		return need;
	}
	if (speaker->options.alive_ns) atomic_store(speaker->options.alive_ns, now_ns);
	need.is_stopping = speaker->is_stopping;
	if (need.is_stopping) wet_voices_keep_due(&speaker->voices, now_ns);
	if (!f->card.pcm) wet_voices_drop_late(&speaker->voices, now_ns);
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

static void close_until_needed(struct wet_feeder *f)
{
	char text[WET_SPEAKER_TEXT_BYTES];

	close_device(f);
	wet_text_format(text, sizeof text, "\"%s\" is closed while no cue is near", f->device);
	wet_speaker_set_health(f->speaker, f, WET_SPEAKER_OK, text);
}

/* The device is closed: sleeps, or opens it. */
static void serve_closed(struct wet_feeder *f, const struct need *need, int64_t now_ns)
{
	if (need->is_released || !need->is_needed)
		(void)wait_descriptors(f, 1, need->is_released ? -1 : timeout_ms_until(need->next_ns, now_ns));
	else if (now_ns < f->retry_at_ns)
		(void)wait_descriptors(f, 1, timeout_ms_until(f->retry_at_ns, now_ns));
	else
		open_device(f);
}

static void free_feeder(struct wet_feeder *f)
{
	if (f->status) snd_pcm_status_free(f->status);
	if (f->wake_fd >= 0) close(f->wake_fd);
	free(f);
}

/* After this the speaker may be gone. */
static void end_thread(struct wet_feeder *f)
{
	struct wet_speaker *speaker = f->speaker;

	pthread_mutex_lock(&speaker->lock);
	if (speaker->feeder == f) speaker->feeder = NULL; /* it stops */
	if (speaker->candidate == f) speaker->candidate = NULL;
	pthread_mutex_unlock(&speaker->lock);
	free_feeder(f);
	pthread_mutex_lock(&speaker->lock);
	speaker->threads--;
	pthread_cond_broadcast(&speaker->moved);
	pthread_mutex_unlock(&speaker->lock);
}

static void *run_feeder(void *arg)
{
	struct wet_feeder *f = arg;
	int64_t stop_at_ns = INT64_MAX;

	pthread_setname_np(pthread_self(), "wet-feeder");
	ask_to_go_first();
	for (;;) {
		int64_t now_ns = sink_boot_now();
		struct need need = read_need(f, now_ns);
		bool is_quiet = !need.is_needed && f->quiet_frames >= f->card.fill_frames + f->card.period_frames;

		if (need.is_retired) break;
		if (need.is_stopping) {
			if (stop_at_ns == INT64_MAX) stop_at_ns = now_ns + STOP_NS;
			if (now_ns >= stop_at_ns || (f->card.pcm ? is_quiet : !need.is_needed || now_ns < f->retry_at_ns)) break;
		}
		if (!f->card.pcm && !need.is_watched && f->mixer) drop_mixer(f);
		if (f->card.pcm && need.is_released)
			close_device(f);
		else if (f->card.pcm && is_quiet)
			close_until_needed(f);
		else if (f->card.pcm)
			feed_once(f);
		else
			serve_closed(f, &need, now_ns);
	}
	close_device(f);
	drop_mixer(f);
	end_thread(f);
	return NULL;
}

/* The program's signals are the loop's business. */
static int start_thread(struct wet_feeder *f)
{
	sigset_t all, before;
	pthread_attr_t attr;
	pthread_t thread;
	int rc;

	if (pthread_attr_init(&attr) != 0) return WET_ERR_NOMEM;
	pthread_attr_setdetachstate(&attr, PTHREAD_CREATE_DETACHED);
	sigfillset(&all);
	pthread_sigmask(SIG_SETMASK, &all, &before);
	rc = pthread_create(&thread, &attr, run_feeder, f);
	pthread_sigmask(SIG_SETMASK, &before, NULL);
	pthread_attr_destroy(&attr);
	return rc == 0 ? WET_OK : WET_ERR_NOMEM;
}

int wet_feeder_start(struct wet_speaker *speaker, const char *device, bool is_candidate)
{
	struct wet_feeder *f = calloc(1, sizeof *f);
	int rc = WET_ERR_NOMEM;

	if (!f) return WET_ERR_NOMEM;
	f->speaker = speaker;
	f->is_candidate = is_candidate;
	wet_text_copy(f->device, sizeof f->device, device);
	wet_clock_map_init(&f->map, WET_SAMPLE_RATE);
	f->wake_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
	if (f->wake_fd < 0 || snd_pcm_status_malloc(&f->status) < 0) goto out;
	f->fds[0] = (struct pollfd){ .fd = f->wake_fd, .events = POLLIN };
	wet_card_hush();
	pthread_mutex_lock(&speaker->lock);
	rc = speaker->threads < WET_SPEAKER_THREADS - 1 ? start_thread(f) : WET_ERR_TOO_MANY; /* one is for its mixer */
	if (rc == 0) {
		speaker->threads++;
		*(is_candidate ? &speaker->candidate : &speaker->feeder) = f;
	}
	pthread_mutex_unlock(&speaker->lock);
	if (rc == 0) return WET_OK;
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

void wet_feeder_retire(struct wet_feeder *feeder)
{
	feeder->is_retired = true;
	wet_feeder_wake(feeder);
}

void wet_feeder_release(struct wet_feeder *feeder, bool is_released)
{
	feeder->is_released = is_released;
	wet_feeder_wake(feeder);
}

void wet_feeder_take_over(struct wet_feeder *feeder)
{
	feeder->is_candidate = false;
	wet_feeder_wake(feeder);
}

bool wet_feeder_has_device(const struct wet_feeder *feeder)
{
	return atomic_load(&feeder->is_open);
}

const struct wet_mixer *wet_feeder_mixer(const struct wet_feeder *feeder)
{
	return feeder->mixer;
}

const char *wet_feeder_device(const struct wet_feeder *feeder)
{
	return feeder->device;
}

int64_t wet_feeder_busy_since(const struct wet_feeder *feeder, bool *ret_opening)
{
	*ret_opening = !atomic_load(&feeder->is_open);
	return atomic_load(&feeder->is_told_stuck) ? 0 : atomic_load(&feeder->busy_ns);
}

void wet_feeder_told_stuck(struct wet_feeder *feeder)
{
	atomic_store(&feeder->is_told_stuck, true);
}

bool wet_feeders_wait(struct wet_speaker *speaker)
{
	struct timespec until;
	bool is_over;

	clock_gettime(CLOCK_MONOTONIC, &until);
	until.tv_sec += (STOP_NS + HANG_NS) / 1000000000;
	pthread_mutex_lock(&speaker->lock);
	if (speaker->feeder) wet_feeder_release(speaker->feeder, false);
	if (speaker->candidate) wet_feeder_retire(speaker->candidate);
	while (speaker->threads > 0)
		if (pthread_cond_timedwait(&speaker->moved, &speaker->lock, &until) != 0) break;
	is_over = speaker->threads == 0;
	pthread_mutex_unlock(&speaker->lock);
	if (is_over) snd_config_update_free_global(); /* what libasound kept of its configuration */
	return is_over;
}
