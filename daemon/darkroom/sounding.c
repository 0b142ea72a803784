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
