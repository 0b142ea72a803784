/* ctl_rtmixer.c: a mixer of ours for tests, as a plug-in of ALSA. Its state is a file; a change of the file is an event, and
 * nothing else wakes who waits for one.
 *
 *   ctl_type.rtmixer { lib "/absolute/libasound_module_ctl_rtmixer.so" }
 *   ctl.card { type rtmixer  file "/tmp/mixer"  opening 0 }
 *
 * A line of the file is a control, stereo: its name, what its switch says (on, off, left: the right one is off; or - for a
 * control without), its volume from 0 to 100 (or -). Which controls there are is read when it is opened, their values
 * whenever they are asked for. Replace the file as a whole (write beside it, rename). While the file is away the mixer is
 * gone. opening: opening it takes so many milliseconds. */
#include <errno.h>
#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <time.h>
#include <unistd.h>

#include <alsa/asoundlib.h>
#include <alsa/control_external.h>

#define CONTROLS 16

struct control {
	char name[24];
	bool is_switch;
};

struct mixer {
	snd_ctl_ext_t ext;
	char *path;
	long opening_ms;
	struct control control[CONTROLS];
	unsigned count;
	unsigned told; /* elements of the last change that were told; count: all */
};

struct line {
	char name[24], on[8], volume[8];
};

static int read_lines(const struct mixer *m, struct line *lines)
{
	FILE *file = fopen(m->path, "r");
	char text[96];
	int n = 0;

	if (!file) return -ENODEV;
	while (n < CONTROLS && fgets(text, sizeof text, file)) {
		char *volume = strrchr(text, ' '), *on;

		if (!volume) continue;
		*volume++ = '\0';
		if (!(on = strrchr(text, ' '))) continue;
		*on++ = '\0';
		volume[strcspn(volume, "\n")] = '\0';
		snprintf(lines[n].name, sizeof lines[n].name, "%.23s", text);
		snprintf(lines[n].on, sizeof lines[n].on, "%.7s", on);
		snprintf(lines[n].volume, sizeof lines[n].volume, "%.7s", volume);
		n++;
	}
	fclose(file);
	return n;
}

static int find_controls(struct mixer *m)
{
	struct line lines[CONTROLS];
	int n = read_lines(m, lines);

	for (int i = 0; i < n; i++) {
		for (int volume = 0; volume < 2; volume++) {
			if ((volume ? lines[i].volume : lines[i].on)[0] == '-' || m->count == CONTROLS) continue;
			m->control[m->count].is_switch = !volume;
			memcpy(m->control[m->count++].name, lines[i].name, sizeof lines[i].name);
		}
	}
	return n < 0 ? n : 0;
}

static void set_id(const struct mixer *m, unsigned i, snd_ctl_elem_id_t *id)
{
	char name[44];

	snprintf(name, sizeof name, "%s Playback %s", m->control[i].name, m->control[i].is_switch ? "Switch" : "Volume");
	snd_ctl_elem_id_set_interface(id, SND_CTL_ELEM_IFACE_MIXER);
	snd_ctl_elem_id_set_name(id, name);
}

static int mixer_elem_count(snd_ctl_ext_t *ext)
{
	return (int)((struct mixer *)ext->private_data)->count;
}

static int mixer_elem_list(snd_ctl_ext_t *ext, unsigned offset, snd_ctl_elem_id_t *id)
{
	struct mixer *m = ext->private_data;

	if (offset >= m->count) return -EINVAL;
	set_id(m, offset, id);
	return 0;
}

static snd_ctl_ext_key_t mixer_find_elem(snd_ctl_ext_t *ext, const snd_ctl_elem_id_t *id)
{
	struct mixer *m = ext->private_data;
	unsigned numid = snd_ctl_elem_id_get_numid(id);
	const char *name = snd_ctl_elem_id_get_name(id);
	snd_ctl_elem_id_t *ours;

	if (numid > 0) return numid <= m->count ? numid - 1 : SND_CTL_EXT_KEY_NOT_FOUND;
	snd_ctl_elem_id_alloca(&ours);
	for (unsigned i = 0; i < m->count; i++) {
		set_id(m, i, ours);
		if (strcmp(snd_ctl_elem_id_get_name(ours), name) == 0) return i;
	}
	return SND_CTL_EXT_KEY_NOT_FOUND;
}

static int mixer_get_attribute(snd_ctl_ext_t *ext, snd_ctl_ext_key_t key, int *type, unsigned *acc, unsigned *count)
{
	struct mixer *m = ext->private_data;

	*type = m->control[key].is_switch ? SND_CTL_ELEM_TYPE_BOOLEAN : SND_CTL_ELEM_TYPE_INTEGER;
	*acc = SND_CTL_EXT_ACCESS_READWRITE;
	*count = 2;
	return 0;
}

static int mixer_get_integer_info(snd_ctl_ext_t *ext, snd_ctl_ext_key_t key, long *low, long *high, long *step)
{
	struct mixer *m = ext->private_data;

	*low = 0;
	*high = m->control[key].is_switch ? 1 : 100;
	*step = 1;
	return 0;
}

static int mixer_read_integer(snd_ctl_ext_t *ext, snd_ctl_ext_key_t key, long *value)
{
	struct mixer *m = ext->private_data;
	struct line lines[CONTROLS];
	int n = read_lines(m, lines);

	for (int i = 0; i < n; i++) {
		if (strcmp(lines[i].name, m->control[key].name) != 0) continue;
		if (!m->control[key].is_switch) {
			value[0] = value[1] = strtol(lines[i].volume, NULL, 10);
		} else {
			value[0] = strcmp(lines[i].on, "off") != 0;
			value[1] = strcmp(lines[i].on, "on") == 0;
		}
		return 0;
	}
	return n < 0 ? n : -ENOENT;
}

/* Nobody is to move a control: a test finds the trace. */
static int mixer_write_integer(snd_ctl_ext_t *ext, snd_ctl_ext_key_t key, long *value)
{
	struct mixer *m = ext->private_data;
	char path[512];
	FILE *file;

	(void)key;
	(void)value;
	snprintf(path, sizeof path, "%s.written", m->path);
	if ((file = fopen(path, "w"))) fclose(file);
	return -EPERM;
}

/* Does the kernel tell of a change of our file? All there is to be read is read. */
static bool has_changed(const struct mixer *m)
{
	const char *base = strrchr(m->path, '/') + 1;
	char events[4096] __attribute__((aligned(__alignof__(struct inotify_event))));
	bool is_ours = false;
	ssize_t got;

	while ((got = read(m->ext.poll_fd, events, sizeof events)) > 0)
		for (char *p = events; p < events + got;) {
			const struct inotify_event *event = (const struct inotify_event *)(void *)p;

			is_ours = is_ours || (event->len > 0 && strcmp(event->name, base) == 0);
			p += sizeof *event + event->len;
		}
	return is_ours;
}

/* A change of the file is one of every control. */
static int mixer_read_event(snd_ctl_ext_t *ext, snd_ctl_elem_id_t *id, unsigned *mask)
{
	struct mixer *m = ext->private_data;

	if (has_changed(m)) m->told = 0;
	if (m->told >= m->count) return -EAGAIN;
	set_id(m, m->told++, id);
	*mask = SND_CTL_EVENT_MASK_VALUE;
	return 1;
}

static int mixer_poll_revents(snd_ctl_ext_t *ext, struct pollfd *fds, unsigned count, unsigned short *ret_revents)
{
	struct mixer *m = ext->private_data;

	(void)count;
	*ret_revents = fds[0].revents & POLLIN ? POLLIN : 0;
	if (*ret_revents && access(m->path, F_OK) != 0) *ret_revents = POLLERR;
	return 0;
}

static void free_mixer(struct mixer *m)
{
	if (m->ext.poll_fd >= 0) close(m->ext.poll_fd);
	free(m->path);
	free(m);
}

static void mixer_close(snd_ctl_ext_t *ext)
{
	free_mixer(ext->private_data);
}

static const snd_ctl_ext_callback_t callbacks = {
	.close = mixer_close,
	.elem_count = mixer_elem_count,
	.elem_list = mixer_elem_list,
	.find_elem = mixer_find_elem,
	.get_attribute = mixer_get_attribute,
	.get_integer_info = mixer_get_integer_info,
	.read_integer = mixer_read_integer,
	.write_integer = mixer_write_integer,
	.read_event = mixer_read_event,
	.poll_revents = mixer_poll_revents,
};

static int read_config(struct mixer *m, snd_config_t *conf)
{
	snd_config_iterator_t i, next;

	snd_config_for_each(i, next, conf)
	{
		snd_config_t *node = snd_config_iterator_entry(i);
		const char *id, *text;

		if (snd_config_get_id(node, &id) < 0) continue;
		if (strcmp(id, "type") == 0 || strcmp(id, "comment") == 0 || strcmp(id, "hint") == 0) continue;
		if (strcmp(id, "opening") == 0 && snd_config_get_integer(node, &m->opening_ms) == 0) continue;
		if (strcmp(id, "file") == 0 && !m->path && snd_config_get_string(node, &text) == 0 && (m->path = strdup(text))) continue;
		SNDERR("field %s is not understood", id);
		return -EINVAL;
	}
	return m->path && m->path[0] == '/' ? 0 : -EINVAL;
}

/* The folder is watched, for the file is replaced. */
static int watch_file(struct mixer *m)
{
	char folder[512];

	snprintf(folder, sizeof folder, "%.*s", (int)(strrchr(m->path, '/') - m->path), m->path);
	m->ext.poll_fd = inotify_init1(IN_CLOEXEC | IN_NONBLOCK);
	if (m->ext.poll_fd < 0 || inotify_add_watch(m->ext.poll_fd, folder, IN_MOVED_TO | IN_DELETE | IN_MOVED_FROM) < 0)
		return -errno;
	return 0;
}

SND_CTL_PLUGIN_DEFINE_FUNC(rtmixer);
SND_CTL_PLUGIN_DEFINE_FUNC(rtmixer)
{
	struct mixer *m = calloc(1, sizeof *m);
	int rc;

	(void)root;
	if (!m) return -ENOMEM;
	m->ext.poll_fd = -1;
	if ((rc = read_config(m, conf)) < 0) goto out;
	nanosleep(&(struct timespec){ m->opening_ms / 1000, m->opening_ms % 1000 * 1000000 }, NULL);
	if ((rc = watch_file(m)) < 0 || (rc = find_controls(m)) < 0) goto out;
	m->told = m->count;
	m->ext.version = SND_CTL_EXT_VERSION;
	m->ext.card_idx = 0;
	snprintf(m->ext.id, sizeof m->ext.id, "rtmixer");
	snprintf(m->ext.driver, sizeof m->ext.driver, "rtmixer");
	snprintf(m->ext.name, sizeof m->ext.name, "a mixer in a file");
	snprintf(m->ext.longname, sizeof m->ext.longname, "a mixer in a file");
	snprintf(m->ext.mixername, sizeof m->ext.mixername, "a mixer in a file");
	m->ext.callback = &callbacks;
	m->ext.private_data = m;
	if ((rc = snd_ctl_ext_create(&m->ext, name, mode)) < 0) goto out;
	*handlep = m->ext.handle;
	return 0;
out:
	free_mixer(m);
	return rc;
}
/* SND_CTL_PLUGIN_SYMBOL without the semicolon that strict C does not want here. */
SND_DLSYM_BUILD_VERSION(SND_CTL_PLUGIN_ENTRY(rtmixer), SND_CONTROL_DLSYM_VERSION)
