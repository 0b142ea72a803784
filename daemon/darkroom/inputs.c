/* inputs.c: what foot switches and probes bring into the darkroom. */
#include "darkroom/inputs.h"

#include "darkroom/inside.h"

#include "base/text.h"

#include <string.h>
#include <unistd.h>

static void acted(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored)
{
	(void)ctx;
	(void)live;
	(void)answer;
	(void)is_stored; /* it was heard; what the disk owes is told by itself */
}

static void refuse_press(struct wet_darkroom *d, struct wet_live *live, const char *text)
{
	if (live) {
		wet_live_tell(d, live, "refused", WET_TONE_REFUSED, 1, text);
		return;
	}
	d->ports.cue_now(d->ports.ctx, WET_TONE_REFUSED, 1);
	say_now(d, NULL, WET_TONE_REFUSED, 1, text);
}

void wet_darkroom_press(struct wet_darkroom *d, const char *run)
{
	char text[WET_LINE_BYTES];
	struct wet_live *live = NULL;
	struct wet_event event = { .bath = -1, .number = -1, .uid = (uint32_t)getuid() };
	if (run[0]) {
		live = wet_darkroom_find(d, run);
		if (!live) {
			wet_text_format(text, sizeof text, "No run %s is live.", run);
			refuse_press(d, NULL, text);
			return;
		}
	} else {
		int rc = wet_darkroom_the_run(d, &live, NULL);
		if (rc != 0) {
			refuse_press(d, NULL, rc == WET_ERR_WHICH ? "Which run? This foot switch belongs to none." : "No run is live.");
			return;
		}
	}
	bool is_ready = live->run.pos.base == WET_PHASE_READY && !live->run.is_interrupted;
	event.kind = is_ready ? WET_ACT_BEGIN : WET_ACT_GO;
	if (!is_ready && live->begun_ns != 0 && now_of(d) - live->begun_ns < WET_GUARD_NS) {
		refuse_press(d, live, "Heard already: one press is enough.");
		return;
	}
	wet_darkroom_act(d, live, &event, acted, NULL);
}

int wet_darkroom_tell_input(struct wet_darkroom *d, const char *run, const char *word, const char *text)
{
	struct wet_live *last = d->oldest; /* telling moves a run to the other end of the list */
	int count = 0;
	for (struct wet_live *l = d->newest, *next; l; l = next) {
		bool is_last = l == last;
		next = l->older;
		if (!wet_live_is_over(l) && (!run[0] || strcmp(l->name, run) == 0)) {
			wet_live_tell(d, l, word, WET_TONE_ALARM, 1, text);
			count++;
		}
		if (is_last)
			break;
	}
	return count;
}
