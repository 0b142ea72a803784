/* mixer_alsa.c: is the device muted? One thread a mixer, which sleeps in poll() until the mixer says that something was
 * changed. It is apart from the feeder because a mixer that belongs to a sound server answers when the server does, and
 * thirty milliseconds of sound don't wait for that. Nothing is ever written to a mixer. */
#include "speaker/inside.h"

#include "base/text.h"

#include <poll.h>
#include <sched.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/eventfd.h>
#include <time.h>
#include <unistd.h>

#include <alsa/asoundlib.h>

#define MIXER_FDS_MAX 16
#define SETTLE_MS 250 /* a slider on its way is told where it is no more often */

struct wet_mixer {
	struct wet_speaker *speaker;
	int wake_fd, card;
	char device[WET_SPEAKER_WHERE_BYTES];
	/* Under the lock. */
	bool is_retired;
	enum wet_mixer_state state;
	char text[WET_SPEAKER_TEXT_BYTES];
};

/* -- what is muted ---------------------------------------------------------- */

/* Where a control stands on the way of the sound. All of it passes the first; of the others one that is open is enough,
 * for there is no telling what is plugged in. Digital outputs count only where there is no other. The names are those of
 * the kernel's list (Documentation/sound/designs/control-names.rst). */
enum place { ON_THE_WAY, OUTPUT, DIGITAL, PLACE_N };

static const struct {
	const char *name;
	bool is_beginning; /* "Speaker+LO" and "Headphone Front" too */
	enum place place;
} controls[] = {
	{ "Master", false, ON_THE_WAY },   { "Hardware Master", false, ON_THE_WAY }, { "PCM", false, ON_THE_WAY },
	{ "Digital", false, ON_THE_WAY },  { "Wave", false, ON_THE_WAY },            { "DAC", false, ON_THE_WAY },
	{ "Speaker", true, OUTPUT },       { "Headphone", true, OUTPUT },            { "Headset", true, OUTPUT },
	{ "Line Out", true, OUTPUT },      { "Front", false, OUTPUT },               { "HDMI", true, DIGITAL },
	{ "IEC958", true, DIGITAL },
};

static enum place place_of(const char *name)
{
	for (size_t i = 0; i < sizeof controls / sizeof controls[0]; i++)
		if (controls[i].is_beginning ? strncmp(name, controls[i].name, strlen(controls[i].name)) == 0
		                             : strcmp(name, controls[i].name) == 0)
			return controls[i].place;
	return PLACE_N;
}

/* Why nothing passes this control, or NULL: one channel that is on and not at the bottom is enough. */
static const char *why_silent(snd_mixer_elem_t *elem)
{
	bool has_switch = snd_mixer_selem_has_playback_switch(elem), has_volume = snd_mixer_selem_has_playback_volume(elem);
	bool is_any_on = false;
	long low = 0, high = 0, volume = 0;

	if (has_volume && snd_mixer_selem_get_playback_volume_range(elem, &low, &high) < 0) has_volume = false;
	for (int c = 0; c <= SND_MIXER_SCHN_LAST; c++) {
		snd_mixer_selem_channel_id_t channel = (snd_mixer_selem_channel_id_t)c;
		int is_on = 1;

		if (!snd_mixer_selem_has_playback_channel(elem, channel)) continue;
		if (has_switch && snd_mixer_selem_get_playback_switch(elem, channel, &is_on) < 0) return NULL;
		if (!is_on) continue;
		is_any_on = true;
		if (!has_volume || high <= low) return NULL;
		if (snd_mixer_selem_get_playback_volume(elem, channel, &volume) < 0 || volume > low) return NULL;
	}
	return is_any_on ? "at zero" : "muted";
}

/* What the whole mixer says. */
static enum wet_mixer_state judge(snd_mixer_t *mixer, char *text, unsigned text_bytes)
{
	int count[PLACE_N] = { 0 }, silent[PLACE_N] = { 0 };
	char whose[PLACE_N][64] = { "" };

	for (snd_mixer_elem_t *e = snd_mixer_first_elem(mixer); e; e = snd_mixer_elem_next(e)) {
		const char *name = snd_mixer_selem_get_name(e), *why;
		enum place place = place_of(name);

		if (place == PLACE_N || !snd_mixer_selem_is_active(e)) continue;
		if (!snd_mixer_selem_has_playback_switch(e) && !snd_mixer_selem_has_playback_volume(e)) continue;
		count[place]++;
		if (!(why = why_silent(e))) continue;
		if (silent[place]++ == 0) wet_text_format(whose[place], sizeof whose[place], "%s is %s", name, why);
	}
	if (silent[ON_THE_WAY] > 0) {
		wet_text_copy(text, text_bytes, whose[ON_THE_WAY]);
		return WET_MIXER_MUTED;
	}
	for (int place = OUTPUT; place < PLACE_N; place++) {
		if (count[place] == 0) continue;
		wet_text_copy(text, text_bytes, whose[place]);
		if (silent[place] == count[place]) return WET_MIXER_MUTED;
		break;
	}
	return count[ON_THE_WAY] + count[OUTPUT] + count[DIGITAL] > 0 ? WET_MIXER_AUDIBLE : WET_MIXER_UNSEEN;
}

/* -- the thread --------------------------------------------------------------- */

/* The mixer behind the device, or NULL. The one of a plug-in's name is that plug-in's own only if it is one too: else
 * "default" of a sound server would be taken for the first card. */
static snd_mixer_t *open_mixer(const struct wet_mixer *m)
{
	char name[WET_SPEAKER_WHERE_BYTES];
	snd_mixer_t *mixer;
	snd_hctl_t *hctl;

	if (m->card >= 0) wet_text_format(name, sizeof name, "hw:%d", m->card);
	else wet_text_copy(name, sizeof name, m->device);
	if (snd_mixer_open(&mixer, 0) < 0) return NULL;
	if (snd_mixer_attach(mixer, name) < 0 || snd_mixer_get_hctl(mixer, name, &hctl) < 0) goto out;
	if (m->card < 0 && snd_ctl_type(snd_hctl_ctl(hctl)) != SND_CTL_TYPE_EXT) goto out;
	if (snd_mixer_selem_register(mixer, NULL, NULL) < 0 || snd_mixer_load(mixer) < 0) goto out;
	return mixer;
out:
	snd_mixer_close(mixer);
	return NULL;
}

/* False: it is retired. */
static bool report(struct wet_mixer *m, enum wet_mixer_state state, const char *what)
{
	struct wet_speaker *speaker = m->speaker;
	bool is_retired, is_new;

	pthread_mutex_lock(&speaker->lock);
	is_retired = m->is_retired;
	is_new = !is_retired && m->state != state;
	if (!is_retired) {
		m->state = state;
		wet_text_format(m->text, sizeof m->text, "\"%s\" is muted (its mixer says: %s)", m->device, what);
	}
	if (is_new && speaker->options.changed) speaker->options.changed(speaker->options.ctx);
	pthread_mutex_unlock(&speaker->lock);
	return !is_retired;
}

static bool is_retired(struct wet_mixer *m)
{
	bool is;

	pthread_mutex_lock(&m->speaker->lock);
	is = m->is_retired;
	pthread_mutex_unlock(&m->speaker->lock);
	return is;
}

/* Until something was changed. False: retired, or the mixer has gone. */
static bool wait_for_change(struct wet_mixer *m, snd_mixer_t *mixer)
{
	struct pollfd fds[1 + MIXER_FDS_MAX] = { { .fd = m->wake_fd, .events = POLLIN } };
	int count = snd_mixer_poll_descriptors(mixer, fds + 1, MIXER_FDS_MAX);
	unsigned short revents = 0;

	if (count < 1) return false;
	if (poll(fds, 1 + (unsigned)count, -1) < 0) return !is_retired(m);
	if (fds[0].revents) return false;
	if (snd_mixer_poll_descriptors_revents(mixer, fds + 1, (unsigned)count, &revents) < 0) return false;
	if (revents & (POLLERR | POLLNVAL | POLLHUP)) return false;
	return true;
}

/* What follows at once is one movement. False: retired. */
static bool settle(struct wet_mixer *m)
{
	struct pollfd wake = { .fd = m->wake_fd, .events = POLLIN };

	return poll(&wake, 1, SETTLE_MS) == 0;
}

static void *run_mixer(void *arg)
{
	struct wet_mixer *m = arg;
	struct wet_speaker *speaker = m->speaker;
	snd_mixer_t *mixer = open_mixer(m);
	bool goes_on = true;

	while (mixer && goes_on) {
		char what[96] = "";
		enum wet_mixer_state state;

		if (snd_mixer_handle_events(mixer) < 0) break;
		state = judge(mixer, what, sizeof what);
		goes_on = report(m, state, what) && settle(m) && wait_for_change(m, mixer);
	}
	if (mixer) snd_mixer_close(mixer);
	/* A mixer that is none, or has gone with its card: nothing more to tell, until it is not asked any more. */
	while (report(m, WET_MIXER_UNSEEN, "")) {
		struct pollfd wake = { .fd = m->wake_fd, .events = POLLIN };

		(void)poll(&wake, 1, -1);
	}
	close(m->wake_fd);
	free(m);
	pthread_mutex_lock(&speaker->lock);
	speaker->threads--;
	pthread_cond_broadcast(&speaker->moved);
	pthread_mutex_unlock(&speaker->lock);
	return NULL;
}

struct wet_mixer *wet_mixer_start(struct wet_speaker *speaker, const char *device, int card)
{
	struct wet_mixer *m = calloc(1, sizeof *m);
	struct sched_param plain = { 0 }; /* the feeder goes first, not this */
	pthread_attr_t attr;
	pthread_t thread;
	int rc = -1;

	if (!m) return NULL;
	m->speaker = speaker;
	m->card = card;
	wet_text_copy(m->device, sizeof m->device, device);
	m->wake_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
	pthread_mutex_lock(&speaker->lock);
	if (m->wake_fd >= 0 && speaker->threads < WET_SPEAKER_THREADS && pthread_attr_init(&attr) == 0) {
		pthread_attr_setdetachstate(&attr, PTHREAD_CREATE_DETACHED);
		pthread_attr_setinheritsched(&attr, PTHREAD_EXPLICIT_SCHED);
		pthread_attr_setschedpolicy(&attr, SCHED_OTHER);
		pthread_attr_setschedparam(&attr, &plain);
		if ((rc = pthread_create(&thread, &attr, run_mixer, m)) == 0) {
			speaker->threads++;
			pthread_setname_np(thread, "wet-mixer");
		}
		pthread_attr_destroy(&attr);
	}
	pthread_mutex_unlock(&speaker->lock);
	if (rc == 0) return m;
	if (m->wake_fd >= 0) close(m->wake_fd);
	free(m);
	return NULL;
}

void wet_mixer_retire(struct wet_mixer *mixer)
{
	uint64_t one = 1;

	mixer->is_retired = true;
	if (write(mixer->wake_fd, &one, sizeof one) < 0) return; /* a full counter is a wake-up under way */
}

enum wet_mixer_state wet_mixer_state(const struct wet_mixer *mixer, const char **ret_text)
{
	*ret_text = mixer->text;
	return mixer->state;
}
