/* acts.c: an act is folded and heard at once; its reply waits for the disk. */
#include "darkroom/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

/* -- writing ------------------------------------------------------------------- */

static void unlink_writing(struct wet_darkroom *d, struct writing *w)
{
	if (w->older)
		w->older->newer = w->newer;
	else
		d->oldest_writing = w->newer;
	if (w->newer)
		w->newer->older = w->older;
	else
		d->newest_writing = w->older;
}

static int writing_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct writing *w = job->ctx;
	int rc = wet_ledger_append(ledger, w->run_id, w->seq, &w->event, reterr);
	return rc == 0 && w->lesson.seen.error_per_s > 0 ? vessel_learn(ledger, &w->lesson, reterr) : rc;
}

static void say_not_stored(struct wet_darkroom *d, struct writing *w, const struct wet_fault *fault)
{
	char line[WET_LINE_BYTES], text[WET_LINE_BYTES];
	if (w->live->is_not_stored)
		return;
	w->live->is_not_stored = true;
	d->behind_count++;
	if (fault)
		wet_text_format(text, sizeof text, "Not stored: %s. The run goes on.", wet_err_text(fault->err));
	else
		wet_text_copy(text, sizeof text, "Not stored: the disk is slow. The run goes on.");
	(void)line;
	wet_live_tell(d, w->live, "not-stored", WET_TONE_ALARM, 1, text);
}

static void answer_writing(struct writing *w, bool is_stored)
{
	wet_acted_cb *cb = w->cb;
	w->cb = NULL;
	if (cb)
		cb(w->cb_ctx, w->live, &w->answer, is_stored);
}

static void writing_delayed(struct wet_job *job, const struct wet_fault *fault)
{
	struct writing *w = job->ctx;
	w->darkroom->disk = *fault;
	say_not_stored(w->darkroom, w, fault);
	answer_writing(w, false);
}

static void writing_done(struct wet_job *job, const struct wet_fault *fault)
{
	struct writing *w = job->ctx;
	struct wet_darkroom *d = w->darkroom;
	if (fault->err == WET_OK) {
		if (w->seq > w->live->stored_seq)
			w->live->stored_seq = w->seq;
		if (w->live->is_not_stored && w->live->stored_seq >= w->live->seq && !w->live->has_lost_event) {
			w->live->is_not_stored = false;
			if (--d->behind_count == 0)
				d->disk.err = WET_OK;
			wet_live_tell(d, w->live, "stored", WET_TONE_ANSWER, 1, "Stored again.");
		}
	} else {
		w->live->has_lost_event = true; /* the run goes on in memory; what is lost is said once and stays said */
		say_not_stored(d, w, fault);
	}
	answer_writing(w, fault->err == WET_OK);
	unlink_writing(d, w);
	free(w);
}

int64_t writings_deadline(const struct wet_darkroom *d)
{
	for (const struct writing *w = d->oldest_writing; w; w = w->newer)
		if (w->cb)
			return w->sent_ns + STORE_PATIENCE_NS;
	return INT64_MAX;
}

void writings_expire(struct wet_darkroom *d, int64_t now_ns)
{
	for (struct writing *w = d->oldest_writing; w; w = w->newer) {
		if (!w->cb)
			continue;
		if (now_ns - w->sent_ns < STORE_PATIENCE_NS)
			return;
		say_not_stored(d, w, NULL);
		answer_writing(w, false);
	}
}

bool wet_darkroom_disk_is_behind(const struct wet_darkroom *d, char *text, unsigned text_bytes)
{
	if (d->behind_count == 0)
		return false;
	if (d->disk.err != WET_OK)
		wet_fault_line(&d->disk, text, text_bytes);
	else
		wet_text_copy(text, text_bytes, "the disk is slow");
	return true;
}

/* Events of a run that is being loaded wait for the worker: a disk that is full then must not lose them. */
static void put_job(struct wet_darkroom *d, struct wet_job *job)
{
	if (!d->is_loading) {
		d->ports.store(d->ports.ctx, job);
		return;
	}
	job->next = NULL;
	*d->early_tail = job;
	d->early_tail = &job->next;
}

void early_flush(struct wet_darkroom *d)
{
	struct wet_job *job = d->early;
	d->early = NULL;
	d->early_tail = &d->early;
	for (struct wet_job *next; job; job = next) {
		next = job->next;
		d->ports.store(d->ports.ctx, job);
	}
}

int live_append(struct wet_darkroom *d, struct wet_live *live, const struct wet_event *event,
				const struct wet_answer *answer, wet_acted_cb *cb, void *cb_ctx)
{
	struct writing *w = calloc(1, sizeof *w);
	if (!w && event->kind != WET_ACT_EMERGENCY)
		return WET_ERR_NOMEM;
	if (event->kind != WET_EVENT_CLOCK)
		(void)live_note_step(d, live, event);
	if (w && event->kind == WET_ACT_READING && wet_run_seen_after(&live->run, event, &w->lesson.seen)) {
		w->lesson.vessel = live->run.setup.vessel;
		w->lesson.run_id = live->id;
		w->lesson.wall_ms = event->wall_ms;
		w->lesson.uid = event->uid;
	}
	wet_run_fold(&live->run, event);
	live->seq++;
	live->last_boot_ns = event->boot_ns;
	live->last_wall_ms = event->wall_ms;
	if (!w) {
		if (cb)
			cb(cb_ctx, live, answer, false);
		return WET_OK;
	}
	w->job = (struct wet_job){
		.work = writing_work, .delayed = writing_delayed, .done = writing_done, .ctx = w, .is_write = true
	};
	w->darkroom = d;
	w->live = live;
	w->event = *event;
	w->run_id = live->id;
	w->seq = live->seq;
	w->answer = *answer;
	w->cb = cb;
	w->cb_ctx = cb_ctx;
	w->sent_ns = event->boot_ns;
	w->older = d->newest_writing;
	if (d->newest_writing)
		d->newest_writing->newer = w;
	else
		d->oldest_writing = w;
	d->newest_writing = w;
	put_job(d, &w->job);
	return WET_OK;
}

/* -- acting ---------------------------------------------------------------------- */

static const struct wet_answer *find_token(const struct wet_live *live, const char *token, int64_t *ret_seq)
{
	if (!token[0])
		return NULL;
	for (unsigned i = 0; i < sizeof live->tokens / sizeof live->tokens[0]; i++) {
		if (strcmp(live->tokens[i].token, token) == 0) {
			*ret_seq = live->tokens[i].seq;
			return &live->tokens[i].answer;
		}
	}
	return NULL;
}

static void keep_token(struct wet_live *live, const char *token, const struct wet_answer *answer)
{
	if (!token[0])
		return;
	unsigned i = live->token_head++ % (sizeof live->tokens / sizeof live->tokens[0]);
	wet_text_copy(live->tokens[i].token, sizeof live->tokens[i].token, token);
	live->tokens[i].answer = *answer;
	live->tokens[i].seq = live->seq;
}

/* The key tone means heard. */
static void sound_answer(struct wet_darkroom *d, struct wet_live *live, int kind, const struct wet_answer *a)
{
	if (kind == WET_ACT_EMERGENCY)
		wet_live_tell(d, live, "emergency", WET_TONE_ALARM, 1, a->text);
	else if (a->kind != WET_ANSWER_DO)
		wet_live_tell(d, live, "refused", WET_TONE_REFUSED, 1, a->text);
	else if (a->pips > 0)
		wet_live_tell(d, live, "answer", WET_TONE_PIPS, a->pips, a->text);
	else
		wet_live_tell(d, live, "answer", WET_TONE_ANSWER, 1, a->text);
}

void wet_darkroom_act(struct wet_darkroom *d, struct wet_live *live, struct wet_event *event,
					  wet_acted_cb *cb, void *ctx)
{
	struct wet_answer a = { .kind = WET_ANSWER_DO };
	int64_t now_ns = now_of(d), token_seq = 0;
	stamp_event(d, live, event, now_ns);
	const struct wet_answer *first = find_token(live, event->token, &token_seq);
	if (first) {
		cb(ctx, live, first, token_seq <= live->stored_seq);
		return;
	}
	if (!live->is_finish_sent)
		live_serve(d, live, now_ns);
	if (event->kind == WET_ACT_BEGIN && live->digit > 0) {
		a.kind = WET_ANSWER_REFUSE;
		a.err = WET_ERR_UNHEARD;
		wet_text_copy(a.text, sizeof a.text,
					  "Which number did you hear, spoken or in pips? Begin with that number, or unheard.");
	} else if (event->kind == WET_ACT_BEGIN &&
			   (wet_recipe_is_mix(live->run.setup.recipe)
					? !live->run.setup.is_rehearsal && mix_is_barred(d, live->run.setup.room, a.text, sizeof a.text)
					: mix_bars_dark(d, live, a.text, sizeof a.text))) {
		a.kind = WET_ANSWER_REFUSE;
		a.err = WET_ERR_REFUSED;
	} else if (live->seq >= WET_RUN_EVENTS && event->kind == WET_ACT_READING) {
		a.kind = WET_ANSWER_REFUSE;
		a.err = WET_ERR_TOO_MANY;
		wet_text_copy(a.text, sizeof a.text, "Too many readings for one run; acts still count.");
	} else {
		wet_run_try(&live->run, &live->presses, event, &a);
	}
	if (a.kind == WET_ANSWER_DO && event->kind != WET_ACT_WHERE) {
		/* Stored before the act itself: no wash stays as clean as it seems if the power fails in between. */
		if (wash_begins(&live->run, event))
			wash_join_others(d, live, event->kind == WET_ACT_JOIN ? event->a_ns : live->run.setup.pieces, event->uid,
							 a.text, sizeof a.text);
		struct wet_run after;
		if (hands_are_due(&live->run, event, &after))
			hands_foresee(d, live, &after, a.text, sizeof a.text);
		/* The token's answer is kept before the callback could see it. */
		int rc = live_append(d, live, event, &a, cb, ctx);
		if (rc == 0) {
			if (event->kind == WET_ACT_BEGIN)
				live->begun_ns = event->boot_ns;
			keep_token(live, event->token, &a);
			if (!(event->kind == WET_ACT_EMERGENCY && live->run.outcome != 0))
				sound_answer(d, live, event->kind, &a);
			live_replan(d, live, event->boot_ns);
			light_settle(d);
			return;
		}
		a = (struct wet_answer){ .kind = WET_ANSWER_REFUSE, .err = rc };
		wet_text_copy(a.text, sizeof a.text, "Out of memory: not done.");
	}
	sound_answer(d, live, event->kind, &a);
	cb(ctx, live, &a, true);
}

struct gathering {
	int waiting;
	bool is_stored, is_sent;
	struct wet_live *first;
	struct wet_answer answer;
	wet_acted_cb *cb;
	void *ctx;
};

static void gather_one(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored)
{
	struct gathering *g = ctx;
	if (!g->first && live) {
		g->first = live;
		g->answer = *answer;
	}
	g->is_stored = g->is_stored && is_stored;
	if (--g->waiting == 0) {
		g->cb(g->ctx, g->first, &g->answer, g->is_stored);
		free(g);
	}
}

static struct wet_live *next_untold(const struct wet_darkroom *d)
{
	struct wet_live *l = d->oldest;
	while (l && (wet_live_is_over(l) || l->emergency_seq == d->emergency_seq))
		l = l->newer;
	return l;
}

void wet_darkroom_emergency(struct wet_darkroom *d, uint32_t uid, wet_acted_cb *cb, void *ctx)
{
	struct wet_answer a = { .kind = WET_ANSWER_DO };
	wet_text_copy(a.text, sizeof a.text, WET_EMERGENCY_TEXT);
	struct gathering *g = calloc(1, sizeof *g);
	if (d->live_count == 0 || !g) {
		free(g);
		g = NULL;
		d->ports.cue_now(d->ports.ctx, WET_TONE_ALARM, 1);
		say_now(d, NULL, WET_TONE_ALARM, 1, a.text);
		if (d->live_count == 0) {
			cb(ctx, NULL, &a, true);
			return;
		}
	}
	if (g)
		*g = (struct gathering){ .waiting = 1, .is_stored = true, .answer = a, .cb = cb, .ctx = ctx };
	/* An act moves its run to the end of the list, and as another one ends by the clock others may go: each time from the
	 * oldest, to the first that wasn't told yet. */
	d->emergency_seq++;
	for (struct wet_live *l; (l = next_untold(d)) != NULL;) {
		l->emergency_seq = d->emergency_seq;
		struct wet_event event = { .kind = WET_ACT_EMERGENCY, .bath = -1, .number = -1, .uid = uid };
		if (g) {
			g->waiting++;
			wet_darkroom_act(d, l, &event, gather_one, g);
		} else {
			stamp_event(d, l, &event, now_of(d));
			(void)live_append(d, l, &event, &a, NULL, NULL);
		}
	}
	if (g)
		gather_one(g, NULL, &a, true);
	else
		cb(ctx, NULL, &a, false);
}

/* -- the sound check ------------------------------------------------------------- */

int wet_darkroom_heard(struct wet_darkroom *d, struct wet_live *live, int heard, struct wet_fault *reterr)
{
	if (live->digit == 0)
		return WET_OK;
	if (heard < 0 || heard == live->digit) {
		live->digit = 0;
		live->run.setup.is_unheard = live->run.setup.is_unheard || heard < 0;
		settle_sound(d, now_of(d));
		return WET_OK;
	}
	char found[16];
	wet_text_format(found, sizeof found, "%d", heard);
	wet_darkroom_play_digit(d, live);
	return wet_fault_set(
		reterr, WET_ERR_UNHEARD, "heard", found,
		"listen again: the number is being said now, or played as pips; or begin unheard, which is recorded");
}
