/* hands.c: two tanks and one pair of hands: told before the first bath, refused never. */
#include "darkroom/inside.h"

#include "base/text.h"
#include "wetside/hands.h"

#include <string.h>

#define OTHERS 8 /* of one person at once; who has more has hands for none */

static bool shares_hands(const struct wet_live *other, const struct wet_live *live)
{
	return other != live && !wet_live_is_over(other) && !other->run.setup.is_rehearsal &&
		   other->run.pos.base != WET_PHASE_READY && other->owner_uid == live->owner_uid &&
		   strcmp(other->person, live->person) == 0;
}

void hands_foresee(struct wet_darkroom *d, const struct wet_live *live, const struct wet_run *run, char *text,
				   unsigned text_bytes)
{
	const char *names[OTHERS];
	struct wet_hands theirs = { .count = 0 }, ours, one;
	struct wet_hands_span span;
	char line[WET_LINE_BYTES];
	int64_t now_ns = now_of(d);
	uint8_t count = 0;
	if (run->setup.is_rehearsal || wet_recipe_is_mix(run->setup.recipe))
		return;
	for (const struct wet_live *l = d->newest; l && count < OTHERS; l = l->older) {
		if (!shares_hands(l, live))
			continue;
		wet_hands_of(&l->run, now_ns, &one);
		wet_hands_add(&theirs, &one, count);
		names[count++] = l->name;
	}
	if (theirs.count == 0)
		return;
	wet_hands_of(run, now_ns, &ours);
	if (!wet_hands_meet(&theirs, &ours, WET_HANDS_POUR | WET_HANDS_TURN, 0, &span))
		return;
	wet_hands_sentence(&theirs, names[span.whose], &ours, live->name, now_ns, line, sizeof line);
	wet_text_append(text, text_bytes, "%s%s", text[0] && text[strlen(text) - 1] != '\n' ? " " : "", line);
}

bool hands_are_due(const struct wet_run *before, const struct wet_event *event, struct wet_run *ret_after)
{
	if (event->kind != WET_ACT_BEGIN && (event->kind != WET_ACT_GO || before->pos.base != WET_PHASE_HANDLING))
		return false;
	*ret_after = *before;
	wet_run_fold(ret_after, event);
	return event->kind == WET_ACT_BEGIN || ret_after->pos.base == WET_PHASE_WAITING;
}
