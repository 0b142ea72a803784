/* talk.c: one sentence at a time. */
#include "sound/talk.h"

#include <assert.h>
#include <string.h>

static int rank_of(const struct wet_sentence *s)
{
	return wet_tone_rank(s->tone);
}

/* Is a more urgent than b? */
static bool goes_before(const struct wet_sentence *a, const struct wet_sentence *b)
{
	if (rank_of(a) != rank_of(b))
		return rank_of(a) < rank_of(b);
	return a->cue_ns < b->cue_ns;
}

void wet_talk_remove(struct wet_talk *talk, size_t i)
{
	assert(i < talk->count);
	talk->count--;
	memmove(&talk->waiting[i], &talk->waiting[i + 1], (talk->count - i) * sizeof talk->waiting[0]);
}

/* Cuts what is being said, or was placed to be, at a time. */
static void stop_at(struct wet_talk *talk, int64_t at_ns)
{
	if (at_ns < talk->ends_ns)
		talk->ends_ns = at_ns;
}

/* Does s make old what its own run has said before it, w? */
static bool makes_old(const struct wet_sentence *s, const struct wet_sentence *w)
{
	return w->owner == s->owner && w->owner != 0 &&
		   (rank_of(s) <= wet_tone_rank(WET_TONE_CHANGE) || rank_of(s) <= rank_of(w));
}

/* When what is being said must stop for s; INT64_MAX: it need not. */
static int64_t cut_for(const struct wet_talk *talk, const struct wet_sentence *s, int64_t now_ns)
{
	const struct wet_sentence *n = &talk->now;
	if (!talk->is_speaking || talk->ends_ns <= s->cue_ns)
		return INT64_MAX;
	if (n->owner == s->owner && n->owner != 0 && !s->is_planned)
		return now_ns;
	if (makes_old(s, n))
		return s->cue_ns;
	if (s->tone == WET_TONE_ALARM && n->tone != WET_TONE_ALARM)
		return s->is_planned ? s->cue_ns : now_ns;
	return INT64_MAX;
}

static void put(struct wet_talk *talk, const struct wet_sentence *s)
{
	if (talk->count == WET_TALK) {
		size_t least = 0;
		for (size_t i = 1; i < talk->count; i++)
			if (goes_before(&talk->waiting[least], &talk->waiting[i]))
				least = i;
		talk->left_out++;
		if (goes_before(&talk->waiting[least], s))
			return;
		wet_talk_remove(talk, least);
	}
	talk->waiting[talk->count++] = *s;
}

static bool is_waiting(const struct wet_talk *talk, uint64_t id)
{
	for (size_t i = 0; i < talk->count; i++)
		if (talk->waiting[i].id == id)
			return true;
	return false;
}

int64_t wet_talk_add(struct wet_talk *talk, const struct wet_sentence *sentence, int64_t now_ns)
{
	struct wet_sentence s = *sentence;
	s.id = ++talk->last_id;
	/* The newest answer is the one that counts; what is unplanned and an alarm stays. What is planned ends what waits. */
	for (size_t i = talk->count; i-- > 0 && s.owner != 0;) {
		struct wet_sentence *w = &talk->waiting[i];
		if (s.is_planned && makes_old(&s, w) && w->tone != WET_TONE_ALARM && w->until_ns > s.cue_ns)
			w->until_ns = s.cue_ns;
		if (!s.is_planned && w->owner == s.owner && !w->is_planned && w->tone != WET_TONE_ALARM) {
			talk->left_out++;
			wet_talk_remove(talk, i);
		}
	}
	int64_t at_ns = cut_for(talk, &s, now_ns);
	if (at_ns != INT64_MAX) {
		/* Cut by another run's alarm: said again after it, once, though a second alarm may cut it sooner. */
		if (talk->now.owner != s.owner && talk->now.is_planned && !is_waiting(talk, talk->now.id))
			put(talk, &talk->now);
		stop_at(talk, at_ns);
	}
	put(talk, &s);
	return at_ns;
}

bool wet_talk_cancel(struct wet_talk *talk, uint64_t owner, int64_t from_ns)
{
	for (size_t i = talk->count; i-- > 0;) {
		const struct wet_sentence *w = &talk->waiting[i];
		if (w->owner == owner && w->is_planned && w->cue_ns >= from_ns)
			wet_talk_remove(talk, i);
	}
	if (!talk->is_speaking || talk->now.owner != owner || !talk->now.is_planned || talk->now.cue_ns < from_ns)
		return false;
	talk->is_speaking = false;
	talk->ends_ns = 0;
	return true;
}

static int64_t begin_of(const struct wet_talk *talk, const struct wet_sentence *s, int64_t now_ns)
{
	int64_t at_ns = now_ns + WET_TALK_AHEAD_NS;
	if (s->from_ns > at_ns)
		at_ns = s->from_ns;
	if (talk->ends_ns + WET_TALK_PAUSE_NS > at_ns)
		at_ns = talk->ends_ns + WET_TALK_PAUSE_NS;
	return at_ns;
}

static int64_t given_up_ns(const struct wet_sentence *s)
{
	int64_t late_ns = s->is_planned ? WET_TALK_PLANNED_LATE_NS : WET_TALK_LATE_NS;
	/* What is heard only now is still right a moment later; an alarm is, until it has been said. */
	if (s->tone == WET_TONE_ALARM && s->length_ns > 0)
		late_ns = WET_TALK_PLANNED_LATE_NS * 10;
	else if (!s->is_planned && s->length_ns > 0)
		late_ns = WET_TALK_PLANNED_LATE_NS;
	int64_t at_ns = s->from_ns + late_ns;
	return s->until_ns < at_ns ? s->until_ns : at_ns;
}

static bool is_too_late(const struct wet_talk *talk, const struct wet_sentence *s, int64_t now_ns)
{
	if (now_ns > given_up_ns(s))
		return true;
	return s->length_ns > 0 && s->until_ns != INT64_MAX && begin_of(talk, s, now_ns) + s->length_ns > s->until_ns;
}

bool wet_talk_next(struct wet_talk *talk, int64_t now_ns, struct wet_sentence *ret)
{
	if (talk->is_speaking && now_ns >= talk->ends_ns)
		talk->is_speaking = false;
	const struct wet_sentence *best = NULL;
	for (size_t i = talk->count; i-- > 0;) {
		const struct wet_sentence *w = &talk->waiting[i];
		if (!is_too_late(talk, w, now_ns))
			continue;
		struct wet_sentence late = *w;
		talk->left_out++;
		wet_talk_remove(talk, i);
		if (late.pips > 0) {
			late.length_ns = 0;
			*ret = late;
			return true;
		}
	}
	if (talk->is_speaking)
		return false;
	for (size_t i = 0; i < talk->count; i++) {
		const struct wet_sentence *w = &talk->waiting[i];
		if (w->length_ns > 0 && w->from_ns - WET_TALK_AHEAD_NS <= now_ns && (!best || goes_before(w, best)))
			best = w;
	}
	if (!best)
		return false;
	int64_t at_ns = begin_of(talk, best, now_ns);
	talk->now = *best;
	talk->is_speaking = true;
	talk->began_ns = at_ns;
	talk->ends_ns = at_ns + best->length_ns;
	*ret = *best;
	ret->from_ns = at_ns;
	wet_talk_remove(talk, (size_t)(best - talk->waiting));
	return true;
}

int64_t wet_talk_wake_ns(const struct wet_talk *talk)
{
	int64_t wake_ns = INT64_MAX;
	for (size_t i = 0; i < talk->count; i++) {
		const struct wet_sentence *w = &talk->waiting[i];
		int64_t at_ns = w->length_ns > 0 ? w->from_ns - WET_TALK_AHEAD_NS : given_up_ns(w) + 1;
		if (w->length_ns > 0 && talk->is_speaking && talk->ends_ns > at_ns)
			at_ns = talk->ends_ns;
		if (given_up_ns(w) + 1 < at_ns)
			at_ns = given_up_ns(w) + 1;
		if (at_ns < wake_ns)
			wake_ns = at_ns;
	}
	return wake_ns;
}
