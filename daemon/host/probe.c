/* probe.c: when probes are read, and what becomes of it. What is believed is decided purely (wetside/probe.h). */
#include "host/probe.h"

#include "host/clock.h"
#include "host/inside.h"

#include "base/text.h"
#include "wetside/probe.h"
#include "wetside/quantity.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define SOON_NS 5000000000LL    /* what is in doubt is read again so soon, where it is not read more often anyway */
#define SILENT_NS 5000000000LL  /* a one-wire thermometer takes under a second */
#define GRACE_NS 1000000000LL   /* and so much more, seen to pass: the whole machine may have stood still */
#define STACK_BYTES (256u << 10) /* of a reading thread; over PTHREAD_STACK_MIN everywhere */

/* One read, which its thread and the loop share; the last of them frees it. A thread that hangs may outlive the host. */
struct ask {
	pthread_mutex_t lock;
	int users;
	struct wet_host *host; /* NULL: nobody waits for it any more */
	bool is_done;
	enum wet_probe_fault fault;
	int32_t mc;
	char path[WET_CONFIG_PATH_BYTES];
};

struct gauge {
	const struct wet_probe_setup *setup;
	struct wet_probe_state *state;
	struct wet_input_place place;
	struct wet_probe probe;
	struct wet_presses doubt; /* of the runs */
	struct ask *ask;          /* NULL: none is under way */
	bool is_late, is_silent;  /* it was asked so long ago that it counts as failed soon; that it does */
	int64_t silent_ns;        /* when that is looked at */
	bool is_told, is_logged;
	int64_t asked_ns, due_ns;
};

struct probes {
	struct wet_host *host;
	int count;
	int64_t change_seq; /* of the runs, when it was last asked who is needed */
	struct gauge gauges[WET_PROBES];
	struct wet_probe_state states[WET_PROBES];
};

/* -- reading, on a thread ---------------------------------------------------------- */

static enum wet_probe_fault fault_of(int error)
{
	return error == ENOENT || error == ENOTDIR ? WET_PROBE_ABSENT : WET_PROBE_UNREADABLE;
}

/* A device that stands in the way of a probe's path must not even be opened: opening some does something. */
static enum wet_probe_fault read_file(const char *path, int32_t *ret_mc)
{
	char text[WET_PROBE_FILE_BYTES + 1];
	struct stat st;
	size_t n = 0;
	if (stat(path, &st) != 0)
		return fault_of(errno);
	if (!S_ISREG(st.st_mode))
		return WET_PROBE_NO_FILE;
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
	if (fd < 0)
		return fault_of(errno);
	ssize_t got = 1;
	while (n < sizeof text && (got = read(fd, text + n, sizeof text - n)) > 0)
		n += (size_t)got;
	close(fd);
	return got < 0 ? WET_PROBE_UNREADABLE : wet_probe_parse(text, n, ret_mc);
}

static void leave(struct ask *ask)
{
	pthread_mutex_lock(&ask->lock);
	bool is_last = --ask->users == 0;
	pthread_mutex_unlock(&ask->lock);
	if (!is_last)
		return;
	pthread_mutex_destroy(&ask->lock);
	free(ask);
}

static void *read_thread(void *arg)
{
	struct ask *ask = arg;
	int32_t mc = 0;
	enum wet_probe_fault fault = read_file(ask->path, &mc);
	pthread_mutex_lock(&ask->lock);
	ask->fault = fault;
	ask->mc = mc;
	ask->is_done = true;
	if (ask->host) /* the loop is open as long as it says so */
		(void)uv_async_send(&ask->host->wake);
	pthread_mutex_unlock(&ask->lock);
	leave(ask);
	return NULL;
}

/* Signals are the loop's. */
static int start_thread(struct ask *ask)
{
	pthread_t thread;
	pthread_attr_t attr;
	sigset_t all, before;
	int error = pthread_attr_init(&attr);
	if (error != 0)
		return error;
	(void)pthread_attr_setdetachstate(&attr, PTHREAD_CREATE_DETACHED);
	(void)pthread_attr_setstacksize(&attr, STACK_BYTES);
	sigfillset(&all);
	(void)pthread_sigmask(SIG_SETMASK, &all, &before);
	error = pthread_create(&thread, &attr, read_thread, ask);
	(void)pthread_sigmask(SIG_SETMASK, &before, NULL);
	(void)pthread_attr_destroy(&attr);
	return error;
}

static bool begin_ask(struct gauge *g, struct wet_host *host)
{
	struct ask *ask = calloc(1, sizeof *ask);
	if (!ask)
		return false;
	if (pthread_mutex_init(&ask->lock, NULL) != 0) {
		free(ask);
		return false;
	}
	ask->users = 2;
	ask->host = host;
	wet_text_copy(ask->path, sizeof ask->path, g->setup->file);
	if (start_thread(ask) != 0) {
		ask->users = 1;
		leave(ask);
		return false;
	}
	g->ask = ask;
	return true;
}

/* -- what becomes of it ------------------------------------------------------------ */

static void tell_log(const struct probes *all, const struct gauge *g, const char *text)
{
	char line[WET_LINE_BYTES + WET_NAME_BYTES];
	wet_text_format(line, sizeof line, "Probe %s: %s", g->setup->name, text);
	log_line(all->host, line);
}

/* Trouble is told once, and its end. */
static void settle_health(struct probes *all, struct gauge *g)
{
	const char *text = wet_probe_fault_text(g->probe.fault);
	bool is_well = g->probe.fault == WET_PROBE_NONE;
	char line[WET_LINE_BYTES], value[24] = "";
	if (g->probe.is_telling ? !g->is_logged : is_well && g->is_logged) {
		g->is_logged = g->probe.is_telling;
		tell_log(all, g, text);
	}
	g->state->is_well = is_well;
	wet_text_copy(g->state->text, sizeof g->state->text, text);
	if (g->probe.is_telling && !g->is_told) {
		wet_text_format(line, sizeof line, "Probe %s: %s. The forecast carries on.", g->setup->name, text);
		g->is_told = wet_darkroom_tell_input(all->host->darkroom, &g->place, "probe", line) > 0;
	} else if (is_well && g->is_told) {
		wet_text_format(line, sizeof line, "Probe %s is back: %s.", g->setup->name,
						wet_print_temperature(g->probe.value_mc, value, sizeof value));
		(void)wet_darkroom_tell_input(all->host->darkroom, &g->place, "probe", line);
		g->is_told = false;
	}
}

static void take(struct probes *all, struct gauge *g, enum wet_probe_fault fault, int32_t mc, int64_t now_ns)
{
	bool is_doubted = false;
	if (fault != WET_PROBE_NONE)
		wet_probe_fail(&g->probe, fault);
	else if (wet_probe_take(&g->probe, mc, now_ns) && g->state->is_needed)
		is_doubted = wet_darkroom_probed(all->host->darkroom, &g->place, mc, &g->doubt);
	if (g->probe.has_value) {
		g->state->temperature_mc = g->probe.value_mc;
		g->state->temperature_ns = g->probe.value_ns;
	}
	settle_health(all, g);
	is_doubted = is_doubted || wet_probe_is_doubted(&g->probe);
	int64_t in_ns = is_doubted && SOON_NS < g->setup->every_ns ? SOON_NS : g->setup->every_ns;
	g->due_ns = g->asked_ns + in_ns > now_ns ? g->asked_ns + in_ns : now_ns + in_ns;
}

static void look_at_ask(struct probes *all, struct gauge *g, int64_t now_ns)
{
	struct ask *ask = g->ask;
	pthread_mutex_lock(&ask->lock);
	bool is_done = ask->is_done;
	enum wet_probe_fault fault = ask->fault;
	int32_t mc = ask->mc;
	pthread_mutex_unlock(&ask->lock);
	if (is_done) {
		leave(ask);
		g->ask = NULL;
		g->state->read_count++;
		if (g->is_silent) /* what it says now was true some time ago */
			g->due_ns = now_ns;
		else
			take(all, g, fault, mc, now_ns);
		g->is_silent = false;
	} else if (!g->is_late && now_ns >= g->silent_ns) {
		g->is_late = true;
		g->silent_ns = now_ns + GRACE_NS;
	} else if (!g->is_silent && now_ns >= g->silent_ns) {
		g->is_silent = true;
		g->probe.fail_reads = WET_PROBE_FAIL_READS; /* it won't be asked again, so this is all there is to wait for */
		take(all, g, WET_PROBE_SILENT, 0, now_ns);
	}
}

static void settle_need(struct probes *all, int64_t now_ns)
{
	int64_t change_seq = wet_darkroom_change_seq(all->host->darkroom);
	if (change_seq == all->change_seq)
		return;
	all->change_seq = change_seq;
	for (int i = 0; i < all->count; i++) {
		struct gauge *g = &all->gauges[i];
		bool is_needed = wet_darkroom_needs_probe(all->host->darkroom, &g->place);
		if (is_needed && !g->state->is_needed)
			g->due_ns = now_ns;
		if (!is_needed) {
			g->due_ns = INT64_MAX;
			g->is_told = false; /* the next run hears of it anew */
			g->doubt = (struct wet_presses){ 0 };
		}
		g->state->is_needed = is_needed;
	}
}

void probes_turn(struct probes *all, int64_t now_ns)
{
	if (!all)
		return;
	settle_need(all, now_ns);
	for (int i = 0; i < all->count; i++) {
		struct gauge *g = &all->gauges[i];
		if (g->ask)
			look_at_ask(all, g, now_ns);
		if (g->ask || !g->state->is_needed || now_ns < g->due_ns)
			continue;
		g->asked_ns = now_ns;
		g->silent_ns = now_ns + SILENT_NS;
		g->is_late = false;
		g->due_ns = INT64_MAX;
		if (!begin_ask(g, all->host))
			take(all, g, WET_PROBE_UNREADABLE, 0, now_ns);
	}
}

int64_t probes_wake_ns(const struct probes *all)
{
	int64_t wake_ns = INT64_MAX;
	for (int i = 0; all && i < all->count; i++) {
		const struct gauge *g = &all->gauges[i];
		int64_t at_ns = g->due_ns;
		if (g->ask) /* its answer wakes the loop; its silence has to be noticed */
			at_ns = g->is_silent ? INT64_MAX : g->silent_ns;
		else if (!g->state->is_needed)
			at_ns = INT64_MAX;
		if (at_ns < wake_ns)
			wake_ns = at_ns;
	}
	return wake_ns;
}

/* -- the host's ---------------------------------------------------------------------- */

struct probes *probes_open(struct wet_host *host)
{
	int count = host->options.probe_count;
	struct probes *all = count > 0 ? calloc(1, sizeof *all) : NULL;
	if (!all) {
		if (count > 0)
			log_line(host, "No memory for the probes.");
		return NULL;
	}
	all->host = host;
	all->count = count < WET_PROBES ? count : WET_PROBES;
	all->change_seq = -1;
	for (int i = 0; i < all->count; i++) {
		struct gauge *g = &all->gauges[i];
		const struct wet_probe_setup *s = &host->options.probes[i];
		g->setup = s;
		g->state = &all->states[i];
		g->due_ns = INT64_MAX;
		g->place = (struct wet_input_place){ .run = s->run, .bath = s->bath, .room = s->room };
		*g->state = (struct wet_probe_state){ .name = s->name, .file = s->file, .bath = s->bath, .room = s->room, .run = s->run,
											  .temperature_mc = INT32_MIN };
		wet_probe_init(&g->probe, s->room[0] != '\0');
		wet_text_copy(g->state->text, sizeof g->state->text, wet_probe_fault_text(g->probe.fault));
	}
	return all;
}

const struct wet_probe_state *probes_state(void *ctx, int *ret_count)
{
	const struct probes *all = ((struct wet_host *)ctx)->probes;
	*ret_count = all ? all->count : 0;
	return all ? all->states : NULL;
}

void probes_free(struct probes *all)
{
	if (!all)
		return;
	for (int i = 0; i < all->count; i++) {
		struct ask *ask = all->gauges[i].ask;
		if (!ask)
			continue;
		pthread_mutex_lock(&ask->lock);
		ask->host = NULL;
		pthread_mutex_unlock(&ask->lock);
		leave(ask);
	}
	free(all);
}
