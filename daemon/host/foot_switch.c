/* foot_switch.c: foot switches: opened, grabbed, read, lost, found again. */
#include "host/foot_switch.h"

#include "host/clock.h"
#include "host/contact.h"
#include "host/inside.h"

#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <linux/input.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <unistd.h>

#define RETRY_NS 10000000000LL /* while a run is live */
#define HALF_NS 1000000000LL   /* the rest of an event comes sooner, or never */
#define EVENTS 64              /* of one read */
#define READS 16               /* of one turn */
#define FLOOD_EVENTS 20000     /* of one second: no foot, no switch */
#define FLOOD_NS 1000000000LL
#define PAUSE_NS 5000000000LL /* so long a flood is not read */
#define WATCHES 2             /* the folder of the path, and of what it points to */
#define FOLDER_BYTES 512

/* One device; several switches may be keys of it. */
struct pedal {
	struct switches *all;
	const struct wet_switch_setup *setup;
	struct wet_switch_state *state; /* of the same index */
	struct contact contact;
	struct pedal *leader; /* who reads the device: the first one that names it; itself mostly */
	/* the leader's */
	uv_poll_t *poll; /* NULL: not open */
	int fd;
	bool is_pipe, is_due, is_told;
	uv_fs_event_t watch[WATCHES];
	bool has_watch[WATCHES];
	char folder[WATCHES][FOLDER_BYTES]; /* what is watched */
	int64_t tried_ns, resume_ns; /* resume_ns: a flood is paused until; INT64_MAX: none */
	uint8_t half[sizeof(struct input_event)];
	size_t half_bytes;
	int64_t half_ns, second_ns;
	int events; /* since second_ns */
};

struct switches {
	struct wet_host *host;
	int count;
	bool is_stopping;
	struct pedal pedals[WET_FOOT_SWITCHES];
	struct wet_switch_state states[WET_FOOT_SWITCHES];
};

/* -- health ------------------------------------------------------------------------ */

static void tell(struct pedal *p, const char *text)
{
	char line[WET_LINE_BYTES + WET_NAME_BYTES + 32];
	wet_text_format(line, sizeof line, "Foot switch %s: %s", p->setup->name, text);
	log_line(p->all->host, line);
}

/* Of the runs that a switch belongs to. */
static int tell_run(struct pedal *p, const char *line)
{
	const struct wet_input_place place = { .run = p->setup->run, .bath = "", .room = "" };
	return wet_darkroom_tell_input(p->all->host->darkroom, &place, "switch", line);
}

static bool shares(const struct pedal *p, const struct pedal *leader)
{
	return p->leader == leader;
}

/* To the live runs of each switch on the device; is_told if there was one. */
static void tell_runs(struct pedal *leader, const char *what)
{
	struct switches *all = leader->all;
	char line[WET_LINE_BYTES];
	for (int i = 0; i < all->count; i++) {
		struct pedal *p = &all->pedals[i];
		if (!shares(p, leader))
			continue;
		wet_text_format(line, sizeof line, "Foot switch %s %s", p->setup->name, what);
		if (tell_run(p, line) > 0)
			leader->is_told = true;
	}
}

static void set_health(struct pedal *leader, bool is_well, const char *text)
{
	struct switches *all = leader->all;
	bool is_news = leader->state->is_well != is_well || strcmp(leader->state->text, text) != 0;
	for (int i = 0; i < all->count; i++) {
		if (!shares(&all->pedals[i], leader))
			continue;
		all->states[i].is_well = is_well;
		wet_text_copy(all->states[i].text, sizeof all->states[i].text, text);
	}
	if (is_news)
		tell(leader, text);
	if (is_well && leader->is_told) {
		tell_runs(leader, "is back.");
		leader->is_told = false;
	}
}

/* -- opening ----------------------------------------------------------------------- */

static void freed_cb(uv_handle_t *handle)
{
	free(handle);
}

static void let_go(struct pedal *p)
{
	if (p->poll) {
		(void)uv_poll_stop(p->poll);
		uv_close((uv_handle_t *)p->poll, freed_cb);
		p->poll = NULL;
	}
	if (p->fd >= 0)
		close(p->fd); /* the grab ends with it */
	p->fd = -1;
	p->half_bytes = 0;
	p->resume_ns = INT64_MAX;
}

/* Why it can't be opened, for people. */
static const char *why_not(int error)
{
	switch (error) {
	case ENOENT:
	case ENOTDIR: return "it is not there";
	case ENODEV:
	case ENXIO: return "nothing is plugged in there";
	case EACCES:
	case EPERM: return "the daemon's user may not read it: the group input may, mostly";
	case EBUSY: return "another program has grabbed it";
	case ENOTTY:
	case EINVAL: return "it is no input device, and no pipe of its events";
	case EMFILE:
	case ENFILE: return "too many files are open";
	default: return "it can't be read";
	}
}

/* An input device with keys, that is ours alone. */
static int grab(int fd)
{
	unsigned char types[EV_MAX / 8 + 1] = { 0 };
	if (ioctl(fd, EVIOCGBIT(0, sizeof types), types) < 0)
		return errno == ENODEV ? ENODEV : EINVAL;
	if (!(types[EV_KEY / 8] & 1u << EV_KEY % 8))
		return EINVAL;
	return ioctl(fd, EVIOCGRAB, 1) < 0 ? errno : 0;
}

/* 0, or errno. A pipe is opened for writing too: then it never ends, whoever else opens and closes it. */
static int open_path(struct pedal *p)
{
	struct stat before, st;
	if (stat(p->setup->device, &before) != 0)
		return errno;
	p->is_pipe = S_ISFIFO(before.st_mode);
	if (!p->is_pipe && !S_ISCHR(before.st_mode))
		return EINVAL;
	p->fd = open(p->setup->device, (p->is_pipe ? O_RDWR : O_RDONLY) | O_NONBLOCK | O_CLOEXEC | O_NOCTTY);
	if (p->fd < 0 && p->is_pipe && errno == EACCES)
		p->fd = open(p->setup->device, O_RDONLY | O_NONBLOCK | O_CLOEXEC | O_NOCTTY);
	if (p->fd < 0)
		return errno;
	if (fstat(p->fd, &st) != 0)
		return errno;
	if (st.st_ino != before.st_ino || st.st_dev != before.st_dev)
		return ENOENT; /* exchanged meanwhile: the next look finds the new one */
	return p->is_pipe ? 0 : grab(p->fd);
}

/* What a pipe kept while nobody listened was pressed for nobody: a device keeps nothing for who has not opened it. */
static void drain(int fd)
{
	char bytes[4096];
	for (int i = 0; i < 256 && read(fd, bytes, sizeof bytes) > 0; i++) /* 1 MiB, the most a pipe can be made to hold */
		;
}

static void poll_cb(uv_poll_t *poll, int status, int events);

static int open_pedal(struct pedal *p)
{
	int error = open_path(p);
	if (error == 0 && p->is_pipe)
		drain(p->fd);
	if (error == 0 && (p->poll = malloc(sizeof *p->poll)) == NULL)
		error = ENOMEM;
	if (error == 0 && uv_poll_init(&p->all->host->loop, p->poll, p->fd) != 0) {
		free(p->poll);
		p->poll = NULL;
		error = EINVAL;
	}
	if (error == 0) {
		p->poll->data = p;
		if (uv_poll_start(p->poll, UV_READABLE, poll_cb) != 0)
			error = EIO;
	}
	if (error != 0)
		let_go(p);
	return error;
}

/* -- watching ---------------------------------------------------------------------- */

static void watch_cb(uv_fs_event_t *watch, const char *name, int events, int status)
{
	struct pedal *p = watch->data;
	(void)name;
	(void)events;
	(void)status;
	p->is_due = true; /* looked at at the end of the turn */
}

/* The folder of `path` that exists, or the nearest above it: where its coming will be told. */
static void folder_of(const char *path, char *folder, size_t folder_bytes)
{
	struct stat st;
	wet_text_copy(folder, folder_bytes, path);
	do {
		char *slash = strrchr(folder, '/');
		if (!slash || slash == folder) {
			wet_text_copy(folder, folder_bytes, "/");
			return;
		}
		*slash = '\0';
	} while (stat(folder, &st) != 0 || !S_ISDIR(st.st_mode));
}

/* Where news of the device will come from: the folder of its path and, if that is a link, of what it points to, where its
 * rights are changed. An empty one is none. */
static void folders_of(const struct pedal *p, char folder[WATCHES][FOLDER_BYTES])
{
	char target[FOLDER_BYTES], by[2 * FOLDER_BYTES];
	folder_of(p->setup->device, folder[0], FOLDER_BYTES);
	folder[1][0] = '\0';
	ssize_t n = readlink(p->setup->device, target, sizeof target - 1);
	if (n <= 0)
		return;
	target[n] = '\0';
	wet_text_format(by, sizeof by, "%s/%s", target[0] == '/' ? "" : folder[0], target);
	folder_of(by, folder[1], FOLDER_BYTES);
}

/* Begun anew at each look, before the device is tried: what changes after it is told. */
static void watch_folders(struct pedal *p)
{
	folders_of(p, p->folder);
	for (int i = 0; i < WATCHES; i++) {
		if (!p->has_watch[i])
			continue;
		(void)uv_fs_event_stop(&p->watch[i]);
		if (p->folder[i][0])
			(void)uv_fs_event_start(&p->watch[i], watch_cb, p->folder[i], 0);
	}
}

/* Did a folder come meanwhile that is nearer to the device than the one that is watched? */
static bool is_watched_right(const struct pedal *p)
{
	char folder[WATCHES][FOLDER_BYTES];
	folders_of(p, folder);
	return strcmp(folder[0], p->folder[0]) == 0 && strcmp(folder[1], p->folder[1]) == 0;
}

/* Is what we hold still what the path names? */
static bool is_still_there(const struct pedal *p)
{
	struct stat named, held;
	return stat(p->setup->device, &named) == 0 && fstat(p->fd, &held) == 0 && named.st_ino == held.st_ino &&
		   named.st_dev == held.st_dev && named.st_rdev == held.st_rdev;
}

static void lose(struct pedal *p, const char *why)
{
	let_go(p);
	p->tried_ns = wet_clock_boot_ns();
	set_health(p, false, why);
}

static void look(struct pedal *p, int64_t now_ns)
{
	p->is_due = false;
	for (int i = 0; i == 0 || (i < 8 && !is_watched_right(p)); i++)
		watch_folders(p);
	if (p->poll) {
		if (is_still_there(p))
			return;
		lose(p, why_not(ENOENT));
	}
	p->tried_ns = now_ns;
	int error = open_pedal(p);
	if (error != 0) {
		set_health(p, false, why_not(error));
		return;
	}
	set_health(p, true, p->is_pipe ? "a pipe of events" : "its presses go nowhere else");
}

/* -- reading ----------------------------------------------------------------------- */

static void take_key(struct pedal *leader, int code, bool is_down, int64_t now_ns)
{
	struct switches *all = leader->all;
	for (int i = 0; i < all->count; i++) {
		struct pedal *p = &all->pedals[i];
		if (!shares(p, leader) || (p->setup->key >= 0 && p->setup->key != code))
			continue;
		switch (contact_edge(&p->contact, is_down, now_ns)) {
		case CONTACT_PRESS:
			p->state->press_count++;
			wet_darkroom_press(all->host->darkroom, p->setup->run);
			break;
		case CONTACT_CHATTER: {
			char line[WET_LINE_BYTES];
			wet_text_format(line, sizeof line, "Foot switch %s chatters, and is not heard until it is quiet: use the keys.",
							p->setup->name);
			log_line(all->host, line);
			(void)tell_run(p, line);
			break;
		}
		case CONTACT_NOTHING: break;
		}
	}
}

/* What a pipe brings may be anything. The kernel's own events are what they are. */
static bool is_event(const struct input_event *e)
{
	if (e->type > EV_MAX)
		return false;
	return e->type != EV_KEY || (e->code <= KEY_MAX && e->value >= 0 && e->value <= 2);
}

/* False: these are no events. */
static bool take_bytes(struct pedal *p, const uint8_t *bytes, size_t n, int64_t now_ns)
{
	struct input_event e;
	if (p->half_bytes > 0 && now_ns - p->half_ns > HALF_NS)
		p->half_bytes = 0;
	while (n > 0) {
		size_t part = sizeof e - p->half_bytes;
		if (part > n)
			part = n;
		memcpy(p->half + p->half_bytes, bytes, part);
		p->half_bytes += part;
		bytes += part;
		n -= part;
		if (p->half_bytes < sizeof e)
			break;
		p->half_bytes = 0;
		p->events++;
		memcpy(&e, p->half, sizeof e);
		if (!is_event(&e))
			return false;
		if (e.type == EV_KEY && e.value != 2)
			take_key(p, e.code, e.value == 1, now_ns);
	}
	p->half_ns = now_ns;
	return true;
}

static void count_flood(struct pedal *p, int64_t now_ns)
{
	if (now_ns - p->second_ns >= FLOOD_NS) {
		p->second_ns = now_ns;
		p->events = 0;
	}
	if (p->events < FLOOD_EVENTS)
		return;
	(void)uv_poll_stop(p->poll);
	p->resume_ns = now_ns + PAUSE_NS;
	p->events = 0;
	set_health(p, false, "it floods with events, and is read again in a while");
}

static void poll_cb(uv_poll_t *poll, int status, int events)
{
	struct pedal *p = poll->data;
	uint8_t bytes[EVENTS * sizeof(struct input_event)];
	int64_t now_ns = wet_clock_boot_ns();
	(void)events;
	if (status < 0) {
		lose(p, why_not(ENODEV));
		return;
	}
	for (int i = 0; i < READS && p->poll; i++) {
		ssize_t n = read(p->fd, bytes, sizeof bytes);
		if (n < 0 && (errno == EAGAIN || errno == EINTR))
			break;
		if (n == 0 && p->is_pipe) { /* its last writer has gone, and we are none: opened anew, or it would never rest */
			let_go(p);
			p->is_due = true;
			return;
		}
		if (n <= 0) {
			lose(p, why_not(n < 0 ? errno : ENODEV));
			return;
		}
		if (!take_bytes(p, bytes, (size_t)n, now_ns)) {
			lose(p, "what comes out of it are no input events");
			return;
		}
		if ((size_t)n < sizeof bytes)
			break;
	}
	count_flood(p, now_ns);
}

/* -- the host's ---------------------------------------------------------------------- */

struct switches *switches_open(struct wet_host *host)
{
	int count = host->options.switch_count;
	struct switches *all = count > 0 ? calloc(1, sizeof *all) : NULL;
	if (!all) {
		if (count > 0)
			log_line(host, "No memory for the foot switches.");
		return NULL;
	}
	all->host = host;
	all->count = count < WET_FOOT_SWITCHES ? count : WET_FOOT_SWITCHES;
	for (int i = 0; i < all->count; i++) {
		struct pedal *p = &all->pedals[i];
		p->all = all;
		p->setup = &host->options.switches[i];
		p->state = &all->states[i];
		p->state->name = p->setup->name;
		p->state->device = p->setup->device;
		p->state->run = p->setup->run;
		p->fd = -1;
		p->resume_ns = INT64_MAX;
		p->leader = p;
		for (int j = i - 1; j >= 0; j--)
			if (strcmp(all->pedals[j].setup->device, p->setup->device) == 0)
				p->leader = &all->pedals[j];
		for (int w = 0; w < WATCHES && p->leader == p; w++) {
			p->has_watch[w] = uv_fs_event_init(&host->loop, &p->watch[w]) == 0;
			p->watch[w].data = p;
		}
		p->is_due = p->leader == p;
	}
	return all;
}

void switches_turn(struct switches *all, int64_t now_ns)
{
	if (!all || all->is_stopping)
		return;
	bool is_live = wet_darkroom_count(all->host->darkroom) > 0;
	for (int i = 0; i < all->count; i++) {
		struct pedal *p = &all->pedals[i];
		if (p->leader != p)
			continue;
		if (p->poll && now_ns >= p->resume_ns) {
			p->resume_ns = INT64_MAX;
			if (uv_poll_start(p->poll, UV_READABLE, poll_cb) != 0)
				lose(p, why_not(EIO));
			else
				set_health(p, true, "read again after a flood");
		}
		if (p->is_due || (is_live && !p->poll && now_ns - p->tried_ns >= RETRY_NS))
			look(p, now_ns);
		if (is_live && !p->state->is_well && !p->is_told) {
			char line[WET_LINE_BYTES];
			wet_text_format(line, sizeof line, "is not heard: %s. Use the keys.", p->state->text);
			tell_runs(p, line);
		}
		if (!is_live)
			p->is_told = false;
	}
}

int64_t switches_wake_ns(const struct switches *all)
{
	int64_t wake_ns = INT64_MAX;
	if (!all || all->is_stopping)
		return wake_ns;
	bool is_live = wet_darkroom_count(all->host->darkroom) > 0;
	for (int i = 0; i < all->count; i++) {
		const struct pedal *p = &all->pedals[i];
		int64_t at_ns = p->resume_ns;
		if (p->leader == p && is_live && !p->poll && p->tried_ns + RETRY_NS < at_ns)
			at_ns = p->tried_ns + RETRY_NS;
		if (p->leader == p && at_ns < wake_ns)
			wake_ns = at_ns;
	}
	return wake_ns;
}

const struct wet_switch_state *switches_state(void *ctx, int *ret_count)
{
	const struct switches *all = ((struct wet_host *)ctx)->switches;
	*ret_count = all ? all->count : 0;
	return all ? all->states : NULL;
}

void switches_stop(struct switches *all)
{
	if (!all)
		return;
	all->is_stopping = true;
	for (int i = 0; i < all->count; i++)
		let_go(&all->pedals[i]);
}

void switches_free(struct switches *all)
{
	free(all);
}
