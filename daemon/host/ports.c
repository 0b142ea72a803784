/* ports.c: the darkroom's ports, filled with the real things. */
#include "host/clock.h"
#include "host/foot_switch.h"
#include "host/inside.h"
#include "host/probe.h"
#include "host/voice.h"
#include "speaker/speaker.h"

#include <string.h>
#include <sys/random.h>
#include <systemd/sd-bus.h>
#include <systemd/sd-daemon.h>
#include <unistd.h>

static int64_t port_now(void *ctx)
{
	(void)ctx;
	return wet_clock_boot_ns();
}

static int64_t port_wall(void *ctx)
{
	(void)ctx;
	return wet_clock_wall_ms();
}

static const char *port_boot_id(void *ctx)
{
	(void)ctx;
	return wet_clock_boot_id();
}

static bool port_trusted(void *ctx)
{
	(void)ctx;
	return wet_clock_is_wall_trusted();
}

static uint64_t port_random(void *ctx)
{
	uint64_t v = 0;
	(void)ctx;
	if (getrandom(&v, sizeof v, 0) != (ssize_t)sizeof v)
		v = (uint64_t)wet_clock_boot_ns();
	return v;
}

static void port_store(void *ctx, struct wet_job *job)
{
	wet_worker_put(((struct wet_host *)ctx)->worker, job);
}

static void port_cue_at(void *ctx, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips,
						uint32_t rate_milli)
{
	(void)wet_speaker_at(((struct wet_host *)ctx)->speaker, owner, at_ns, tone, pips, rate_milli);
}

static void port_cue_now(void *ctx, enum wet_tone tone, int pips)
{
	(void)wet_speaker_now(((struct wet_host *)ctx)->speaker, tone, pips);
}

static void port_cue_cancel(void *ctx, uint64_t owner, int64_t from_ns)
{
	wet_speaker_cancel(((struct wet_host *)ctx)->speaker, owner, from_ns);
	voice_cancel(((struct wet_host *)ctx)->voice, owner, from_ns);
}

static void port_sound_want(void *ctx, bool is_wanted)
{
	wet_speaker_want(((struct wet_host *)ctx)->speaker, is_wanted);
}

static bool port_inhibit(void *ctx, bool is_wanted)
{
	return set_inhibitor(ctx, is_wanted);
}

void fill_ports(struct wet_host *host, struct wet_ports *ports)
{
	*ports = (struct wet_ports){
		.ctx = host,
		.now_ns = port_now,
		.wall_ms = port_wall,
		.boot_id = port_boot_id,
		.is_wall_trusted = port_trusted,
		.random = port_random,
		.store = port_store,
		.cue_at = port_cue_at,
		.cue_now = port_cue_now,
		.cue_cancel = port_cue_cancel,
		.sound_want = port_sound_want,
		.inhibit = port_inhibit,
		.switches = switches_state,
		.probes = probes_state,
	};
	fill_sound_ports(host, ports);
	if (host->voice) {
		ports->say = voice_say;
		ports->say_soon = voice_say_soon;
		ports->voice_is_well = voice_is_well;
	}
}

/* A login manager keeps the machine awake as long as the descriptor it gave is open. None: false, told at arming. */
bool set_inhibitor(struct wet_host *host, bool is_wanted)
{
	if (!is_wanted) {
		if (host->inhibit_fd >= 0)
			close(host->inhibit_fd);
		host->inhibit_fd = -1;
		return true;
	}
	if (host->inhibit_fd >= 0)
		return true;
	sd_bus *bus = NULL;
	sd_bus_message *reply = NULL;
	int fd = -1;
	if (access("/run/dbus/system_bus_socket", F_OK) == 0 && sd_bus_open_system(&bus) >= 0) {
		(void)sd_bus_set_method_call_timeout(bus, 200000); /* 0.2 s: never in the way of a cue */
		if (sd_bus_call_method(bus, "org.freedesktop.login1", "/org/freedesktop/login1",
							   "org.freedesktop.login1.Manager", "Inhibit", NULL, &reply, "ssss",
							   "sleep:idle:handle-lid-switch", "wetside", "A picture is in the bath",
							   "block") >= 0 &&
			sd_bus_message_read(reply, "h", &fd) >= 0)
			host->inhibit_fd = dup(fd);
	}
	sd_bus_message_unref(reply);
	sd_bus_flush_close_unref(bus);
	return host->inhibit_fd >= 0;
}

void notify_manager(const char *state)
{
	(void)sd_notify(0, state);
}
