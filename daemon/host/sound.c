/* sound.c: the host's side of the device: how it is, which ones there are, another one. */
#include "host/inside.h"
#include "host/voice.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

static_assert(WET_SPEAKER_WHERE_BYTES >= sizeof((struct wet_config *)0)->sound_where, "what the configuration names can be opened");

static bool port_well(void *ctx, char *text, unsigned text_bytes)
{
	enum wet_speaker_health h = wet_speaker_health(((struct wet_host *)ctx)->speaker, text, text_bytes);
	return h == WET_SPEAKER_OK || h == WET_SPEAKER_UNSEEN;
}

static bool port_unseen(void *ctx)
{
	return wet_speaker_health(((struct wet_host *)ctx)->speaker, NULL, 0) == WET_SPEAKER_UNSEEN;
}

static const char *port_where(void *ctx)
{
	return wet_speaker_where(((struct wet_host *)ctx)->speaker);
}

static int port_switch(void *ctx, const char *where, struct wet_fault *reterr)
{
	struct wet_host *host = ctx;
	int rc = wet_speaker_switch(host->speaker, where, reterr);
	if (rc == 0)
		(void)uv_async_send(&host->wake); /* it may be over: this turn has looked already */
	return rc;
}

/* -- which there are: asking each card may take a while, so not on the loop ---------- */

struct sound_listing {
	wet_sound_devices_cb *cb;
	void *ctx;
	int count;
	struct wet_sound_device list[WET_SOUND_DEVICES];
};

static void list_work(uv_work_t *work)
{
	struct sound_listing *l = ((struct wet_host *)work->data)->is_listing;
	l->count = wet_speaker_devices(l->list, WET_SOUND_DEVICES);
}

static void list_done(uv_work_t *work, int status)
{
	struct wet_host *host = work->data;
	struct sound_listing *l = host->is_listing;
	(void)status;
	host->is_listing = NULL;
	l->cb(l->ctx, l->list, l->count);
	free(l);
}

static int port_devices(void *ctx, wet_sound_devices_cb *cb, void *cb_ctx)
{
	struct wet_host *host = ctx;
	struct sound_listing *l;
	if (host->is_listing)
		return WET_ERR_TOO_MANY;
	l = calloc(1, sizeof *l);
	if (!l)
		return WET_ERR_NOMEM;
	l->cb = cb;
	l->ctx = cb_ctx;
	host->is_listing = l;
	host->listing.data = host;
	if (uv_queue_work(&host->loop, &host->listing, list_work, list_done) == 0)
		return WET_OK;
	host->is_listing = NULL;
	free(l);
	return WET_ERR_NOMEM;
}

/* -- once a turn -------------------------------------------------------------------- */

/* A daemon that began without sound has opened no voice. */
static void find_voice(struct wet_host *host)
{
	const struct wet_host_options *o = &host->options;
	struct wet_ports ports;
	if (host->voice || !o->voice || !o->voice[0] || strcmp(wet_speaker_where(host->speaker), "none") == 0)
		return;
	host->voice = voice_open(host);
	if (!host->voice)
		return;
	fill_ports(host, &ports);
	wet_darkroom_sound_voiced(host->darkroom, &ports);
}

void sound_settle(struct wet_host *host)
{
	struct wet_fault fault;
	char text[200];
	bool is_switched = wet_speaker_switched(host->speaker, &fault);
	if (is_switched) {
		if (fault.err == WET_OK)
			find_voice(host);
		wet_darkroom_sound_switched(host->darkroom, &fault);
	}
	if (!atomic_exchange(&host->sound_changed, false) && !is_switched)
		return;
	enum wet_speaker_health health = wet_speaker_health(host->speaker, text, sizeof text);
	if (host->options.log && (health != host->told_health || (is_switched && fault.err == WET_OK)))
		host->options.log(text);
	host->told_health = health;
	wet_darkroom_sound_changed(host->darkroom);
}

void fill_sound_ports(struct wet_host *host, struct wet_ports *ports)
{
	(void)host;
	ports->sound_is_well = port_well;
	ports->sound_is_unseen = port_unseen;
	ports->sound_where = port_where;
	ports->sound_switch = port_switch;
	ports->sound_devices = port_devices;
}
