/* loop.c: one turn: clock, due runs, sound, requests, what the ledger finished, news, sweep, timer. */
#include "host/clock.h"
#include "host/foot_switch.h"
#include "host/inside.h"
#include "host/listen.h"
#include "host/probe.h"
#include "host/voice.h"
#include "ledger/alive.h"
#include "ledger/ledger.h"
#include "speaker/speaker.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

void log_line(const struct wet_host *host, const char *line)
{
	if (host->options.log)
		host->options.log(line);
}

struct wet_darkroom *wet_host_darkroom(struct wet_host *host)
{
	return host->darkroom;
}

static void again_cb(uv_idle_t *idle)
{
	(void)idle; /* keeps the loop from sleeping; the work is in prepare */
}

/* The turn. Runs before the loop sleeps, whatever woke it. */
static void turn(struct wet_host *host)
{
	int64_t now_ns = wet_clock_boot_ns();
	atomic_store_explicit(wet_alive_mark(host->alive), now_ns, memory_order_relaxed);
	int64_t wake_ns = wet_darkroom_turn(host->darkroom);
	wet_speaker_live(host->speaker, wet_darkroom_count(host->darkroom) > 0);
	wet_speaker_turn(host->speaker, now_ns);
	bool is_left = clients_turn(host);
	wet_worker_reap(host->worker);
	sound_settle(host);
	(void)clients_turn(host);
	switches_turn(host->switches, wet_clock_boot_ns());
	probes_turn(host->probes, wet_clock_boot_ns());
	voice_turn(host->voice, wet_clock_boot_ns());
	wake_ns = wet_darkroom_wake_ns(host->darkroom);
	if (voice_wake_ns(host->voice) < wake_ns)
		wake_ns = voice_wake_ns(host->voice);
	if (wet_speaker_wake_ns(host->speaker) < wake_ns)
		wake_ns = wet_speaker_wake_ns(host->speaker);
	if (switches_wake_ns(host->switches) < wake_ns)
		wake_ns = switches_wake_ns(host->switches);
	if (probes_wake_ns(host->probes) < wake_ns)
		wake_ns = probes_wake_ns(host->probes);
	int64_t clients_ns = clients_deadline(host);
	if (clients_ns < wake_ns)
		wake_ns = clients_ns;
	int64_t watchdog_ns = watchdog_serve(host, now_ns);
	if (watchdog_ns < wake_ns)
		wake_ns = watchdog_ns;
	if (wake_ns != host->armed_ns) {
		host->armed_ns = wake_ns;
		wet_clock_timer_arm(host->timer_fd, wake_ns);
	}
	if (is_left && !host->is_stopping)
		uv_idle_start(&host->again, again_cb);
	else
		uv_idle_stop(&host->again);
}

static void prepare_cb(uv_prepare_t *prepare)
{
	turn(prepare->data);
}

static void timer_cb(uv_poll_t *poll, int status, int events)
{
	struct wet_host *host = poll->data;
	uint64_t expirations;
	(void)status;
	(void)events;
	(void)wet_darkroom_turn(host->darkroom); /* what is due comes before everything else */
	if (read(host->timer_fd, &expirations, sizeof expirations) == (ssize_t)sizeof expirations)
		host->armed_ns = INT64_MIN; /* it has fired: armed anew at the end of the turn */
}

/* The wall clock was set. */
static void step_cb(uv_poll_t *poll, int status, int events)
{
	struct wet_host *host = poll->data;
	(void)status;
	(void)events;
	wet_clock_step_rearm(host->step_fd);
	wet_darkroom_wall_changed(host->darkroom);
}

static void wake_cb(uv_async_t *async)
{
	(void)async; /* the turn looks after it */
}

/* From the worker's and the feeder's threads. */
static void wake_loop(void *ctx)
{
	(void)uv_async_send(&((struct wet_host *)ctx)->wake);
}

static void sound_changed(void *ctx)
{
	struct wet_host *host = ctx;
	atomic_store(&host->sound_changed, true);
	(void)uv_async_send(&host->wake);
}

static void signal_cb(uv_signal_t *handle, int signum)
{
	struct wet_host *host = handle->data;
	(void)signum;
	host->is_stopping = true;
	uv_stop(&host->loop);
}

static int64_t speaker_now(void *ctx)
{
	(void)ctx;
	return wet_clock_boot_ns();
}

static int open_loop(struct wet_host *host, struct wet_fault *reterr)
{
	if (uv_loop_init(&host->loop) != 0)
		return wet_fault_set(reterr, WET_ERR_INTERNAL, "loop", NULL, "more memory, and more open files");
	host->opened = 1;
	if (uv_async_init(&host->loop, &host->wake, wake_cb) != 0 || uv_signal_init(&host->loop, &host->sigterm) != 0)
		return wet_fault_set(reterr, WET_ERR_INTERNAL, "loop", NULL, "more memory, and more open files");
	uv_prepare_init(&host->loop, &host->prepare);
	uv_idle_init(&host->loop, &host->again);
	uv_signal_init(&host->loop, &host->sigint);
	uv_pipe_init(&host->loop, &host->server, 0);
	host->wake.data = host->prepare.data = host->again.data = host;
	host->sigterm.data = host->sigint.data = host->server.data = host;
	host->opened = 2;
	host->timer_fd = wet_clock_timer_open();
	if (host->timer_fd < 0 || uv_poll_init(&host->loop, &host->timer, host->timer_fd) != 0)
		return wet_fault_set(reterr, WET_ERR_INTERNAL, "timer", NULL, "a kernel with timerfd on boot time");
	host->timer.data = host;
	host->step_fd = wet_clock_step_open();
	if (host->step_fd < 0 || uv_poll_init(&host->loop, &host->step, host->step_fd) != 0)
		return wet_fault_set(reterr, WET_ERR_INTERNAL, "timer", NULL, "a kernel that tells when the clock is set");
	host->step.data = host;
	host->opened = 3;
	uv_prepare_start(&host->prepare, prepare_cb);
	uv_poll_start(&host->timer, UV_READABLE, timer_cb);
	uv_poll_start(&host->step, UV_READABLE, step_cb);
	uv_signal_start(&host->sigterm, signal_cb, SIGTERM);
	uv_signal_start(&host->sigint, signal_cb, SIGINT);
	return WET_OK;
}

static int open_socket(struct wet_host *host, struct wet_fault *reterr)
{
	int rc = wet_listen_inherited(&host->listen_fd, reterr);
	if (rc == WET_ERR_NOT_FOUND || (rc == 0 && host->listen_fd < 0))
		rc = wet_listen_open(host->options.socket_path, 0, &host->listen_fd, &host->lock_fd, reterr);
	return rc;
}

static int open_ledger(struct wet_host *host, struct wet_fault *reterr)
{
	int rc = wet_ledger_open(&host->ledger, host->options.ledger_path, reterr);
	if (rc == 0)
		rc = wet_alive_open(&host->alive, host->options.alive_path, wet_clock_boot_id(), reterr);
	return rc;
}

static int bring_back(struct wet_host *host, struct wet_fault *reterr)
{
	struct wet_ports ports;
	char alive_id[37] = "", line[160];
	int64_t alive_ns = 0;
	int bad = 0;
	fill_ports(host, &ports);
	int rc = wet_darkroom_new(&host->darkroom, &ports, host->options.shelf);
	if (rc != 0)
		return wet_fault_set(reterr, rc, "", NULL, "more memory");
	wet_alive_previous(host->alive, &alive_ns, alive_id);
	rc = wet_darkroom_load(host->darkroom, host->ledger, alive_ns, alive_id, &bad, reterr);
	if (rc == 0 && wet_darkroom_count(host->darkroom) > 0) {
		snprintf(line, sizeof line, wet_darkroom_count(host->darkroom) == 1 ? "one run goes on." : "%d runs go on.",
				 (int)wet_darkroom_count(host->darkroom));
		log_line(host, line);
	}
	if (bad > 0) {
		snprintf(line, sizeof line,
				 "%d run(s) in the ledger could not be read in full; they were left as they are.", bad);
		log_line(host, line);
	}
	return rc;
}

int wet_host_open(struct wet_host **ret_host, const struct wet_host_options *options,
				  struct wet_fault *reterr)
{
	struct wet_host *host = calloc(1, sizeof *host);
	if (!host)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "", NULL, "more memory");
	host->options = *options;
	host->timer_fd = host->step_fd = host->listen_fd = host->lock_fd = host->inhibit_fd = -1;
	host->armed_ns = INT64_MIN;
	(void)prctl(PR_SET_TIMERSLACK, 1UL); /* deadlines are not rounded by the kernel */
	struct rlimit files = { WET_CLIENTS + 64, WET_CLIENTS + 64 };
	(void)setrlimit(RLIMIT_NOFILE, &files);
	int rc = open_socket(host, reterr); /* first: two daemons on one socket must not touch one ledger */
	if (rc == 0)
		rc = open_ledger(host, reterr);
	if (rc == 0)
		rc = open_loop(host, reterr);
	struct wet_speaker_options sound = {
		.where = options->sound,
		.now_ns = speaker_now,
		.changed = sound_changed,
		.wake = wake_loop,
		.ctx = host,
		.level_milli = options->sound_level_milli,
	};
	if (rc == 0) {
		sound.alive_ns = wet_alive_mark(host->alive);
		rc = wet_speaker_open(&host->speaker, &sound, reterr);
	}
	if (rc == 0 && options->voice && options->voice[0] && strcmp(options->sound, "none") != 0)
		host->voice = voice_open(host);
	if (rc == 0)
		rc = bring_back(host, reterr);
	if (rc == 0) {
		host->switches = switches_open(host);
		host->probes = probes_open(host);
	}
	if (rc == 0 && wet_worker_start(&host->worker, host->ledger, wake_loop, host) != 0)
		rc = wet_fault_set(reterr, WET_ERR_INTERNAL, "worker", NULL, "one more thread");
	if (rc == 0 && (uv_pipe_open(&host->server, host->listen_fd) != 0 ||
					uv_listen((uv_stream_t *)&host->server, 128, clients_accept) != 0))
		rc = wet_fault_set(reterr, WET_ERR_INTERNAL, options->socket_path, NULL,
						   "a socket that can be listened on");
	if (rc != 0) {
		wet_host_close(host);
		return rc;
	}
	*ret_host = host;
	return WET_OK;
}

int wet_host_run(struct wet_host *host)
{
	char text[200] = "";
	host->told_health = wet_speaker_health(host->speaker, text, sizeof text);
	if (host->told_health != WET_SPEAKER_OK)
		log_line(host, text);
	notify_manager("READY=1");
	uv_run(&host->loop, UV_RUN_DEFAULT);
	notify_manager("STOPPING=1");
	return WET_OK;
}

static void close_handle(uv_handle_t *handle, void *arg)
{
	(void)arg;
	if (!uv_is_closing(handle))
		uv_close(handle, NULL);
}

void wet_host_close(struct wet_host *host)
{
	if (!host)
		return;
	host->is_stopping = true;
	if (host->worker) {
		wet_worker_stop(host->worker); /* runs go on at the next start: all that was heard is stored first */
		host->worker = NULL;
		char why[400], line[480];
		if (wet_darkroom_disk_is_behind(host->darkroom, why, sizeof why)) {
			snprintf(line, sizeof line, "Not all that was heard could be stored, and it is lost now. %s", why);
			log_line(host, line);
		}
	}
	if (host->darkroom) { /* whoever waits for a switch is answered */
		struct wet_fault ends = { 0 };
		(void)wet_fault_set(&ends, WET_ERR_REFUSED, "device", NULL, "a daemon that goes on: this one ends just now");
		wet_darkroom_sound_switched(host->darkroom, &ends);
	}
	switches_stop(host->switches);
	probes_free(host->probes);
	host->probes = NULL;
	voice_stop(host->voice);
	wet_speaker_close(host->speaker);
	if (host->opened > 0) {
		clients_close_all(host);
		if (host->opened >= 2) {
			uv_prepare_stop(&host->prepare);
			uv_idle_stop(&host->again);
		}
		uv_walk(&host->loop, close_handle, NULL);
		uv_run(&host->loop, UV_RUN_DEFAULT);
		(void)uv_loop_close(&host->loop);
	}
	switches_free(host->switches);
	voice_free(host->voice);
	wet_darkroom_free(host->darkroom);
	wet_ledger_close(host->ledger);
	wet_alive_close(host->alive);
	if (host->timer_fd >= 0)
		close(host->timer_fd);
	if (host->step_fd >= 0)
		close(host->step_fd);
	(void)set_inhibitor(host, false);
	wet_listen_close(host->options.socket_path, host->opened >= 2 && host->server.data ? -1 : host->listen_fd,
					 host->lock_fd);
	free(host);
}
