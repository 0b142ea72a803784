/* saying.c: which words go with a tone, whose they are, and by when they must be over. The tone never waits for them. */
#include "darkroom/inside.h"

#include "base/text.h"
#include "sound/talk.h"

#include <string.h>

#define SOON_NS 2500000000LL /* an answer whose run has a cue so soon after it must be over before that */
#define BEATS 4 /* passed over when the next cue is looked for: a beat may sound into words */

static void say(struct wet_darkroom *d, const struct wet_live *live, struct wet_saying *saying, int64_t length_ns)
{
	saying->owner = live ? (uint64_t)live->id : 0;
	/* In an emergency there is one thing to say, and no name before it. Of runs that come back, none knows of the others. */
	bool is_named = live && (d->live_count > 1 || d->is_loading) && strcmp(saying->text, WET_EMERGENCY_TEXT) != 0;
	saying->name = is_named ? live->name : "";
	saying->from_ns = saying->cue_ns + length_ns + WET_TALK_GAP_NS;
	d->ports.say(d->ports.ctx, saying);
}

/* The run's next cue but beats, as far as it is known now; INT64_MAX: none. */
static int64_t next_cue_ns(const struct wet_live *live, int64_t after_ns)
{
	struct wet_cue next = { .at_boot_ns = after_ns };
	for (int i = 0; i < BEATS; i++) {
		if (!wet_cue_next(&live->run, next.at_boot_ns, &next))
			return INT64_MAX;
		if (next.kind != WET_CUE_BEAT)
			break;
	}
	return next.at_boot_ns;
}

/* The words end before the run's next cue, as far as it is known now. */
void say_planned(struct wet_darkroom *d, const struct wet_live *live, const struct wet_cue *cue, const char *text)
{
	if (!d->ports.say || !text[0])
		return;
	int64_t next_ns = next_cue_ns(live, cue->at_boot_ns);
	struct wet_saying saying = { .tone = cue->tone,
								 .is_planned = true,
								 .cue_ns = cue->at_boot_ns,
								 .until_ns = next_ns == INT64_MAX ? next_ns : next_ns - WET_TALK_GAP_NS,
								 .text = text };
	say(d, live, &saying, wet_tone_length_ns(cue->tone, cue->pips, cue->rate_milli));
}

/* What a cue is about to say anyway is not begun; later ones cut it, if they are as urgent. */
void say_now(struct wet_darkroom *d, const struct wet_live *live, enum wet_tone tone, int pips, const char *text)
{
	struct wet_saying saying = { .tone = tone, .cue_ns = now_of(d), .until_ns = INT64_MAX, .text = text };
	if (!d->ports.say || !text[0])
		return;
	int64_t length_ns = wet_tone_length_ns(tone, pips, 1000);
	int64_t next_ns = live && tone != WET_TONE_ALARM ? next_cue_ns(live, saying.cue_ns) : INT64_MAX;
	if (next_ns < saying.cue_ns + length_ns + SOON_NS)
		saying.until_ns = next_ns - WET_TALK_GAP_NS;
	say(d, live, &saying, length_ns);
}

static void soon(void *ctx, const char *text)
{
	struct wet_darkroom *d = ctx;
	d->ports.say_soon(d->ports.ctx, text);
}

void say_soon(struct wet_darkroom *d, const struct wet_live *live)
{
	if (!d->ports.say)
		return;
	soon(d, live->name);
	wet_run_sentences(&live->run, soon, d);
}
