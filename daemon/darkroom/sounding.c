/* sounding.c: when the sound device is open. Only what is known here can say it: the speaker gets a cue a moment before it
 * is due, and an act may have moved it until then.
 *
 *   open    while a bath is live and its next cue is near, and while a person who hears no cue may still press a key
 *   closed  at once when nothing is live, or when the next cue is over five minutes away; then open again two seconds
 *           ahead of it, which is time enough for a card on a bus or a network to start
 *
 * A cue that an act has moved is judged anew. What sounds unasked on a closed device (an answer, an alarm) opens it by
 * itself, as late as the device makes it. */
#include "darkroom/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <string.h>

#define FAR_NS 300000000000LL /* a next cue further away than this: closed until AHEAD_NS before it */
#define AHEAD_NS 2000000000LL

/* The earliest cue of all runs, and until when a run without one keeps the device open. */
struct outlook {
	int64_t cue_ns, until_ns;
};

static void look_at(const struct wet_darkroom *d, const struct wet_live *live, struct outlook *outlook)
{
	int64_t until_ns = INT64_MIN;

	if (live->has_next_cue && !live->is_finish_sent) {
		if (live->next_cue.at_boot_ns < outlook->cue_ns)
			outlook->cue_ns = live->next_cue.at_boot_ns;
	} else if (wet_live_is_over(live)) {
		return;
	} else if (live->run.pos.base != WET_PHASE_READY) {
		until_ns =
			live->last_boot_ns + FAR_NS; /* in the dark, loading: the next key wants its answer at once */
	} else if (live->digit > 0) {
		until_ns = d->digit_played_ns + FAR_NS;
	}
	if (until_ns > outlook->until_ns)
		outlook->until_ns = until_ns;
}

void settle_sound(struct wet_darkroom *d, int64_t now_ns)
{
	struct outlook o = { .cue_ns = INT64_MAX, .until_ns = INT64_MIN };
	bool wants = false;

	for (struct wet_live *l = d->newest; l && !wants; l = l->older) {
		look_at(d, l, &o);
		/* Open and needed soon: the others cannot change that. */
		wants = d->wants_sound && o.cue_ns - now_ns <= FAR_NS;
	}
	wants = o.cue_ns - AHEAD_NS <= now_ns || now_ns < o.until_ns ||
			(o.cue_ns - now_ns <= FAR_NS && o.cue_ns != d->far_cue_ns);
	d->sound_wake_ns = d->far_cue_ns = INT64_MAX;
	if (!wants) {
		d->far_cue_ns = o.cue_ns;
		if (o.cue_ns != INT64_MAX)
			d->sound_wake_ns = o.cue_ns - AHEAD_NS;
	} else if (o.cue_ns - now_ns > FAR_NS) {
		d->sound_wake_ns = o.until_ns;
	}
	if (wants != d->wants_sound) {
		d->wants_sound = wants;
		d->ports.sound_want(d->ports.ctx, wants);
	}
}

void wet_darkroom_play_digit(struct wet_darkroom *d, struct wet_live *live)
{
	if (live->digit == 0)
		return;
	d->digit_played_ns = now_of(d);
	settle_sound(d, d->digit_played_ns);
	if (!d->ports.say) {
		d->ports.cue_now(d->ports.ctx, WET_TONE_PIPS, live->digit);
		return;
	}
	/* No name before it: only the number counts, and no tone says it too. */
	char text[WET_NAME_BYTES];
	wet_text_format(text, sizeof text, "%d.", live->digit);
	d->ports.say(d->ports.ctx, &(struct wet_saying){ .tone = WET_TONE_ATTEND,
													 .cue_ns = d->digit_played_ns,
													 .from_ns = d->digit_played_ns,
													 .until_ns = INT64_MAX,
													 .pips = live->digit,
													 .name = "",
													 .text = text });
}

/* -- what becomes of the sound ---------------------------------------------------- */

typedef void tell_fn(struct wet_darkroom *d, struct wet_live *live, const char *text);

static void tell_all(struct wet_darkroom *d, tell_fn *tell, const char *text)
{
	struct wet_live *last = d->oldest; /* who is told becomes the newest */
	for (struct wet_live *l = d->newest, *next; l; l = next) {
		next = l->older;
		if (!wet_live_is_over(l))
			tell(d, l, text);
		if (l == last)
			break;
	}
}

static void tell_alarm(struct wet_darkroom *d, struct wet_live *live, const char *text)
{
	wet_live_tell(d, live, "sound", WET_TONE_ALARM, 1, text);
}

/* The person heard nothing for a while: how long, and where the run is now; a number that was asked for is played again. */
static void tell_back(struct wet_darkroom *d, struct wet_live *live, const char *how_long)
{
	struct wet_event where = { .kind = WET_ACT_WHERE, .bath = -1, .number = -1, .boot_ns = now_of(d) };
	struct wet_presses presses = live->presses;
	struct wet_answer a = { .kind = WET_ANSWER_REFUSE };
	char text[WET_LINE_BYTES];
	if (live->digit == 0 && how_long[0])
		wet_run_try(&live->run, &presses, &where, &a);
	wet_text_format(text, sizeof text, "Sound is back.%s%s%s", how_long, a.text[0] ? " " : "", a.text);
	wet_live_tell(d, live, "sound", WET_TONE_ALARM, 1, text);
	wet_darkroom_play_digit(d, live);
}

void wet_darkroom_sound_changed(struct wet_darkroom *d)
{
	char text[WET_LINE_BYTES], lasted[48];
	bool is_bad = !d->ports.sound_is_well(d->ports.ctx, text, sizeof text);
	int64_t now_ns = now_of(d);
	if (is_bad == d->is_sound_bad)
		return; /* a device that was opened for the first cue is no news */
	d->is_sound_bad = is_bad;
	if (is_bad) {
		d->sound_bad_ns = now_ns;
		tell_all(d, tell_alarm, text);
		return;
	}
	wet_print_seconds(now_ns - d->sound_bad_ns, lasted, sizeof lasted);
	if (now_ns - d->sound_bad_ns >= 1000000000)
		wet_text_format(text, sizeof text, " It was gone for %s.", lasted);
	else
		text[0] = '\0';
	tell_all(d, tell_back, text);
}

static void tell_switched(struct wet_darkroom *d, struct wet_live *live, const char *text)
{
	wet_live_tell(d, live, "sound", WET_TONE_ANSWER, 1, text);
}

void wet_darkroom_sound_switch(struct wet_darkroom *d, const char *where, wet_switched_cb *cb, void *cb_ctx)
{
	struct wet_fault fault = { 0 };
	int rc = WET_OK;
	if (!d->ports.sound_switch)
		rc = wet_fault_set(&fault, WET_ERR_REFUSED, "device", where, "a daemon whose sound can be switched");
	else if (d->switched)
		rc = wet_fault_set(&fault, WET_ERR_REFUSED, "device", where,
						   "asking again in a moment: somebody is just switching the sound");
	if (rc == 0)
		rc = d->ports.sound_switch(d->ports.ctx, where, &fault);
	if (rc != 0) {
		cb(cb_ctx, &fault);
		return;
	}
	d->switched = cb;
	d->switched_ctx = cb_ctx;
}

void wet_darkroom_sound_switched(struct wet_darkroom *d, const struct wet_fault *fault)
{
	wet_switched_cb *cb = d->switched;
	char text[WET_LINE_BYTES];
	const char *where = d->ports.sound_where(d->ports.ctx);
	d->switched = NULL;
	if (fault->err == WET_OK) {
		bool is_off = strcmp(where, "none") == 0;
		wet_text_format(text, sizeof text, is_off ? "The sound is off now." : "The sound is on %s now.", where);
		if (is_off && !d->is_sound_bad) { /* that is what was asked for: told once */
			d->is_sound_bad = true;
			d->sound_bad_ns = now_of(d);
		}
		tell_all(d, tell_switched, text);
		if (d->live_count == 0) {
			d->ports.cue_now(d->ports.ctx, WET_TONE_ANSWER, 1);
			say_now(d, NULL, WET_TONE_ANSWER, 1, text);
		}
	}
	if (cb)
		cb(d->switched_ctx, fault);
}

void wet_darkroom_sound_voiced(struct wet_darkroom *d, const struct wet_ports *ports)
{
	d->ports.say = ports->say;
	d->ports.say_soon = ports->say_soon;
	d->ports.voice_is_well = ports->voice_is_well;
	for (struct wet_live *l = d->newest; l; l = l->older)
		if (!wet_live_is_over(l))
			say_soon(d, l);
}
