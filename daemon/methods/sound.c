/* sound.c: the tones; how the sound is, where it goes. */
#include "methods/inside.h"

#include "base/text.h"
#include "wetside/sound.h"

#include <string.h>
#include <unistd.h>

/* A picture is in the bath, and somebody goes by what sounds. */
static bool is_listened_to(struct wet_darkroom *d)
{
	for (const struct wet_live *l = wet_darkroom_newest(d); l; l = l->older)
		if (!wet_live_is_over(l) && !l->run.setup.is_rehearsal && l->run.pos.base != WET_PHASE_READY)
			return true;
	return false;
}

#define LESSON_GAP_NS 150000000LL /* between a tone and its name */

/* "Pour out. The long last note: pour out now." After its tone. */
static void say_tone(const struct wet_ports *ports, enum wet_tone t)
{
	char text[WET_LINE_BYTES];
	if (!ports->say)
		return;
	wet_tone_lesson(t, text, sizeof text);
	int64_t now_ns = ports->now_ns(ports->ctx);
	ports->say(ports->ctx, &(struct wet_saying){ .tone = t,
												 .cue_ns = now_ns,
												 .from_ns = now_ns + wet_tone_length_ns(t, 3, 1000) + LESSON_GAP_NS,
												 .until_ns = INT64_MAX,
												 .name = "",
												 .text = text });
}

void serve_sound(struct wet_call *c)
{
	bool says = false;
	char name[24] = "", run[WET_NAME_BYTES] = "";
	const struct wet_ports *ports = wet_darkroom_ports(c->methods->darkroom);
	struct wet_fault f = { 0 };
	if (!want_text(c, "tone", false, name, sizeof name) || !want_text(c, "run", false, run, sizeof run) ||
		!want_bool(c, "say", &says))
		return;
	if (name[0] && is_listened_to(c->methods->darkroom)) {
		wet_fault_set(&f, WET_ERR_REFUSED, "tone", name, "Not while a run is live: it would be taken for the run's own.");
		call_fault(c, &f);
		return;
	}
	json_t *list = json_array();
	bool is_found = false;
	for (int i = 0; i < WET_TONE_N; i++) {
		enum wet_tone t = (enum wet_tone)i;
		if (name[0] && strcmp(name, wet_tone_name(t)) == 0) {
			is_found = true;
			ports->cue_now(ports->ctx, t, 3);
			if (says)
				say_tone(ports, t);
		}
		(void)json_array_append_new(list, json_pack("{s:s, s:s, s:b, s:s, s:I}", "name", wet_tone_name(t), "sound",
													wet_tone_sound(t), "is_taught", t != WET_TONE_PIPS, "text", wet_tone_text(t),
													"length_ms",
													(json_int_t)(wet_tone_length_ns(t, 3, 1000) / 1000000)));
	}
	struct wet_live *live = run[0] ? wet_darkroom_find(c->methods->darkroom, run) : NULL;
	if (live)
		wet_darkroom_play_digit(c->methods->darkroom, live);
	if ((name[0] && !is_found) || (run[0] && !live)) {
		json_decref(list);
		wet_fault_set(&f, WET_ERR_NOT_FOUND, name[0] ? "tone" : "run", name[0] ? name : run,
					  "one of those that `wetside sound` lists");
		call_fault(c, &f);
		return;
	}
	char text[WET_LINE_BYTES] = "";
	bool is_well = ports->sound_is_well(ports->ctx, text, sizeof text);
	call_result(c, json_pack("{s:o, s:b, s:s, s:s}", "tones", list, "is_well", is_well, "text", text, "rules",
							 WET_TONE_RULES));
}

/* -- the device ----------------------------------------------------------------- */

json_t *sound_json(const struct wet_ports *ports)
{
	char text[WET_LINE_BYTES] = "";
	bool is_well = ports->sound_is_well(ports->ctx, text, sizeof text);
	bool is_unseen = ports->sound_is_unseen && ports->sound_is_unseen(ports->ctx);
	return json_pack("{s:s, s:s, s:s}", "health", !is_well ? "not well" : is_unseen ? "not known" : "well", "text", text,
					 "device", ports->sound_where ? ports->sound_where(ports->ctx) : "");
}

static void switched(void *ctx, const struct wet_fault *fault)
{
	struct pending *p = ctx;
	const struct wet_ports *ports = wet_darkroom_ports(p->methods->darkroom);
	if (fault->err != WET_OK)
		reply_fault(p, fault);
	else
		reply_result(p, json_pack("{s:o, s:s}", "sound", sound_json(ports), "told",
								  "Until the daemon ends; then its --sound counts again."));
}

/* A device's name is ALSA's own language, in which files can be written and programs started, and a path names a file of
 * the daemon's user: so only that user may. */
void serve_sound_device(struct wet_call *c)
{
	char device[WET_LINE_BYTES] = "";
	const struct wet_ports *ports = wet_darkroom_ports(c->methods->darkroom);
	struct wet_fault f = { 0 };
	if (!want_text(c, "device", false, device, sizeof device))
		return;
	if (!device[0]) {
		call_result(c, json_pack("{s:o}", "sound", sound_json(ports)));
		return;
	}
	if (c->uid != 0 && c->uid != (uint32_t)geteuid()) {
		wet_fault_set(&f, WET_ERR_PERMISSION, "device", device, "the user as whom the daemon runs, number %u", (unsigned)geteuid());
		call_fault(c, &f);
		return;
	}
	struct pending *p = hold_reply(c);
	if (p)
		wet_darkroom_sound_switch(c->methods->darkroom, device, switched, p);
}

#define LIST_BYTES (WET_REPLY_BYTES - 4096)

static void listed(void *ctx, const struct wet_sound_device *list, int count)
{
	struct pending *p = ctx;
	const struct wet_ports *ports = wet_darkroom_ports(p->methods->darkroom);
	json_t *rows = json_array();
	size_t left = LIST_BYTES;
	for (int i = 0; i < count; i++)
		(void)add_within(rows, json_pack("{s:s, s:s}", "device", list[i].name, "text", list[i].text), &left);
	reply_result(p, json_pack("{s:o, s:o}", "devices", rows, "sound", sound_json(ports)));
}

void serve_sound_devices(struct wet_call *c)
{
	const struct wet_ports *ports = wet_darkroom_ports(c->methods->darkroom);
	struct wet_fault f = { 0 };
	struct pending *p = hold_reply(c);
	int rc = !p ? WET_OK : ports->sound_devices ? ports->sound_devices(ports->ctx, listed, p) : WET_ERR_REFUSED;
	if (rc == 0)
		return;
	wet_fault_set(&f, rc, "devices", NULL, "asking again in a moment");
	reply_fault(p, &f);
}
