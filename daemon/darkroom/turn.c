/* turn.c: one wake-up: due runs, their cues, what the disk owes. */
#include "darkroom/inside.h"

#include "base/text.h"
#include "shelf/cutting.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

#define TOO_LATE_NS 100000000LL /* a cue that came due so long ago is not played as if on time */

void live_log(struct wet_live *live, const struct wet_heard *heard)
{
	struct wet_heard *slot = &live->log[live->log_seq % WET_CUE_LOG];
	*slot = *heard;
	slot->seq = ++live->log_seq;
}

static void log_cue(struct wet_live *live, const struct wet_cue *cue, const char *text)
{
	struct wet_heard h = {
		.at_boot_ns = cue->at_boot_ns, .at_run_ns = cue->at_run_ns, .tone = cue->tone, .pips = cue->pips
	};
	wet_text_copy(h.word, sizeof h.word, wet_cue_word(cue->kind));
	wet_text_copy(h.text, sizeof h.text, text);
	live_log(live, &h);
}

void wet_live_tell(struct wet_darkroom *d, struct wet_live *live, const char *word, enum wet_tone tone,
				   int pips, const char *text)
{
	int64_t now_ns = now_of(d);
	struct wet_heard h = {
		.at_boot_ns = now_ns, .at_run_ns = wet_run_time(&live->run, now_ns), .tone = tone, .pips = pips
	};
	wet_text_copy(h.word, sizeof h.word, word);
	wet_text_copy(h.text, sizeof h.text, text);
	d->ports.cue_now(d->ports.ctx, tone, pips);
	say_now(d, live, tone, pips, text);
	live_log(live, &h);
	live_touch(d, live);
}

/* An end that is uncertain or comes too soon is told, each reason once a stage, a missing reading once a run. A rehearsal
 * has no baths to read. */
static void tell_doubt(struct wet_darkroom *d, struct wet_live *live, int64_t now_ns)
{
	const struct wet_run *run = &live->run;
	struct wet_view view;
	if (run->setup.is_rehearsal || run->pos.base != WET_PHASE_EARLY ||
		run->setup.recipe->stages[run->pos.stage].law.kind == WET_LAW_NONE)
		return;
	if (live->told_stage != run->pos.stage + 1) {
		live->told_stage = (uint8_t)(run->pos.stage + 1);
		live->told_cold = live->told_outside = false;
	}
	wet_run_view(run, now_ns, &view);
	if (!view.doubt[0] || view.phase == WET_PHASE_INTERRUPTED)
		return;
	bool is_missing = !view.is_cold && view.temperature_mc == INT32_MIN;
	bool *told = view.is_cold ? &live->told_cold : is_missing ? &live->told_no_reading : &live->told_outside;
	if (*told)
		return;
	*told = true;
	wet_live_tell(d, live, is_missing ? "no-reading" : view.is_cold ? "too-cold" : "out-of-range", WET_TONE_ALARM, 1,
				  view.doubt);
}

static void find_next_cue(struct wet_live *live)
{
	live->has_next_cue = wet_cue_next(&live->run, live->cue_after_ns, &live->next_cue);
}

/* The first of boundary and cue. */
static void set_wake(struct wet_darkroom *d, struct wet_live *live)
{
	int64_t wake_ns = INT64_MAX, at;
	if (wet_run_deadline(&live->run, &at))
		wake_ns = at;
	if (live->has_next_cue && live->next_cue.at_boot_ns - LEAD_NS < wake_ns)
		wake_ns = live->next_cue.at_boot_ns - LEAD_NS;
	if (wake_ns == INT64_MAX)
		heap_remove(&d->heap, live);
	else
		heap_set(&d->heap, live, wake_ns);
}

static bool room_is_dark_for_others(struct wet_darkroom *d, struct wet_live *live, char *who,
									unsigned who_bytes)
{
	int64_t now_ns = now_of(d);
	for (struct wet_live *l = d->newest; l; l = l->older) {
		struct wet_view view;
		if (l == live || !light_concerns(l, live))
			continue;
		wet_run_view(&l->run, now_ns, &view);
		if (view.light < WET_LIGHT_WHITE) {
			wet_text_copy(who, who_bytes, l->name);
			return true;
		}
	}
	return false;
}

static void sound_due_cues(struct wet_darkroom *d, struct wet_live *live, int64_t now_ns)
{
	/* Bounded: cues of one run stand at least a tone apart. */
	for (int i = 0; i < 64 && live->has_next_cue && live->next_cue.at_boot_ns - LEAD_NS <= now_ns; i++) {
		const struct wet_cue *cue = &live->next_cue;
		char text[WET_LINE_BYTES], who[WET_NAME_BYTES];
		wet_text_copy(text, sizeof text, cue->text);
		bool is_sounded = cue->at_boot_ns >= now_ns - TOO_LATE_NS;
		if (cue->kind == WET_CUE_LIGHTS && room_is_dark_for_others(d, live, who, sizeof who)) {
			d->lights_waiting += !live->lights_wait;
			live->lights_wait = true;
			wet_text_format(text, sizeof text, "Leave the lights off: %s still needs the dark.", who);
		}
		if (is_sounded)
			d->ports.cue_at(d->ports.ctx, (uint64_t)live->id, cue->at_boot_ns, cue->tone, cue->pips,
							cue->rate_milli);
		if (is_sounded)
			say_planned(d, live, cue, text);
		log_cue(live, cue, text);
		live_touch(d, live);
		live->cue_after_ns = cue->at_boot_ns;
		find_next_cue(live);
	}
}

void live_replan(struct wet_darkroom *d, struct wet_live *live, int64_t now_ns)
{
	int64_t keep_ns = now_ns + COMMITTED_NS;
	if (live->cue_after_ns > keep_ns) {
		d->ports.cue_cancel(d->ports.ctx, (uint64_t)live->id, keep_ns);
		for (int i = 0; i < WET_CUE_LOG; i++)
			if (live->log[i].seq > 0 && live->log[i].at_boot_ns > keep_ns)
				live->log[i].text[0] = live->log[i].word[0] = '\0';
		live->cue_after_ns = keep_ns;
	}
	if (live->cue_after_ns < now_ns)
		live->cue_after_ns = now_ns;
	find_next_cue(live);
	live_touch(d, live);
	live_serve(d, live, now_ns);
	settle_sound(d, now_ns);
}

void live_serve_soon(struct wet_darkroom *d, struct wet_live *live, int64_t now_ns)
{
	find_next_cue(live);
	live_touch(d, live);
	heap_set(&d->heap, live, now_ns);
}

void stamp_event(struct wet_darkroom *d, struct wet_live *live, struct wet_event *event, int64_t now_ns)
{
	event->boot_ns = now_ns > live->last_boot_ns ? now_ns : live->last_boot_ns;
	event->wall_ms = wall_at_ms(d, event->boot_ns);
	wet_text_copy(event->boot_id, sizeof event->boot_id, d->ports.boot_id(d->ports.ctx));
}

void make_resumed(const struct wet_run *run, int64_t alive_boot_ns, struct wet_event *event)
{
	struct wet_run copy = *run;
	wet_run_advance(&copy, alive_boot_ns);
	event->kind = WET_EVENT_RESUMED;
	event->bath = -1;
	event->number = -1;
	event->a_ns = wet_run_time(&copy, alive_boot_ns);
	event->b_ns = wet_run_time(&copy, event->boot_ns);
	event->c_ns = event->b_ns;
}

/* The process stood still over a boundary: nobody could hear it, so it starts nothing. */
static void note_gap(struct wet_darkroom *d, struct wet_live *live, int64_t deadline_ns, int64_t now_ns)
{
	struct wet_event event = { 0 };
	struct wet_answer answer = { .kind = WET_ANSWER_DO };
	struct wet_view view;
	stamp_event(d, live, &event, now_ns);
	int64_t alive_ns = d->last_turn_ns < deadline_ns ? d->last_turn_ns : deadline_ns - 1;
	make_resumed(&live->run, alive_ns, &event);
	(void)live_append(d, live, &event, &answer, NULL, NULL);
	wet_run_view(&live->run, now_ns, &view);
	live->cue_after_ns = now_ns;
	find_next_cue(live);
	wet_live_tell(d, live, "order", WET_TONE_ALARM, 1, view.order);
}

struct finishing {
	struct wet_job job;
	int64_t run_id;
	char outcome[WET_NAME_BYTES];
	int64_t ended_wall_ms;
	int stage_count;
	bool is_vessel, is_mix, is_cut, has_pieces;
	struct wet_cut_ended cut;
	struct lesson lesson;
	uint32_t uid;
	struct wet_product makes;
	struct wet_vessel vessel;
	struct wet_stage_record records[WET_RECIPE_STAGES];
};

static int finish_work(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr)
{
	struct finishing *f = job->ctx;
	int rc = wet_ledger_finish_run(ledger, f->run_id, f->outcome, f->ended_wall_ms, f->records,
								   f->stage_count, reterr);
	if (rc == 0 && f->is_vessel)
		rc = wet_ledger_put_vessel(ledger, &f->vessel, f->ended_wall_ms, reterr);
	if (rc == 0 && f->lesson.seen.error_per_s > 0)
		rc = vessel_learn(ledger, &f->lesson, reterr);
	if (rc == 0 && f->is_mix)
		rc = mix_book(ledger, f->run_id, &f->makes, f->ended_wall_ms, f->uid, reterr);
	if (rc == 0 && f->is_cut)
		rc = cut_book(ledger, &f->cut, reterr);
	if (rc == 0 && f->has_pieces)
		rc = pieces_book(ledger, &f->cut, strcmp(f->outcome, "finished") == 0, reterr);
	return rc;
}

static void finish_done(struct wet_job *job, const struct wet_fault *fault)
{
	(void)fault;
	free(job->ctx);
}

/* What was mixed goes on the shelf with the end of its run, in one transaction: once, whenever the machine dies. */
static void put_on_shelf(struct wet_darkroom *d, struct wet_live *live, struct finishing *f)
{
	char volume[32], text[WET_LINE_BYTES];
	f->is_mix = true;
	f->uid = live->owner_uid;
	f->makes = live->run.setup.recipe->makes;
	wet_text_format(text, sizeof text, "On the shelf: %s %s, %s.", f->makes.is_bath ? "bath" : "bottle", f->makes.name,
					wet_print_volume(f->makes.volume_ul, volume, sizeof volume));
	wet_live_tell(d, live, "shelf", WET_TONE_ATTEND, 1, text);
}

/* Fill and drain as measured: the longer of two rounds, so that a plan leaves time enough. */
static bool measured(const struct wet_run *run, struct wet_vessel *ret_vessel)
{
	int64_t fill = 0, drain = 0;
	for (int i = 1; i + 2 < run->setup.recipe->stage_count; i += 4) {
		const struct wet_stage_record *full = &run->records[i], *ready = &run->records[i + 2];
		if (!(full->flags & WET_STAGE_DONE) || !(ready->flags & WET_STAGE_DONE))
			return false;
		if (full->end_ns - full->begin_ns > fill)
			fill = full->end_ns - full->begin_ns;
		if (ready->end_ns - ready->begin_ns > drain)
			drain = ready->end_ns - ready->begin_ns;
	}
	*ret_vessel = run->setup.vessel;
	ret_vessel->fill_ns = (fill + 500000000) / 1000000000 * 1000000000;
	ret_vessel->drain_ns = (drain + 500000000) / 1000000000 * 1000000000;
	return ret_vessel->fill_ns > 0 && ret_vessel->drain_ns > 0;
}

static void finish(struct wet_darkroom *d, struct wet_live *live, int64_t now_ns)
{
	live->is_finish_sent = true;
	if (--d->live_count == 0 && d->ports.say_soon)
		d->ports.say_soon(d->ports.ctx, NULL);
	d->ended_count++;
	heap_remove(&d->heap, live);
	struct finishing *f = calloc(1, sizeof *f);
	if (f) { /* without memory the row stays live and is finished at the next start */
		f->job = (struct wet_job){ .work = finish_work, .done = finish_done, .ctx = f, .is_write = true };
		f->run_id = live->id;
		wet_text_copy(f->outcome, sizeof f->outcome, live->run.outcome == 2 ? "abandoned" : "finished");
		f->ended_wall_ms = d->ports.wall_ms(d->ports.ctx);
		f->stage_count = live->run.setup.recipe->stage_count;
		memcpy(f->records, live->run.records, sizeof f->records);
		if (!live->run.setup.is_rehearsal)
			f->lesson = (struct lesson){ live->run.setup.vessel, live->run.seen, live->id, f->ended_wall_ms, live->owner_uid };
		if (live->run.setup.is_wet && live->run.outcome == 1)
			f->is_vessel = measured(&live->run, &f->vessel);
		if (f->is_vessel) {
			char text[WET_LINE_BYTES];
			wet_text_format(text, sizeof text, "Measured %s: fill %d s, drain %d s. Kept.", f->vessel.name,
							(int)(f->vessel.fill_ns / 1000000000), (int)(f->vessel.drain_ns / 1000000000));
			wet_live_tell(d, live, "measured", WET_TONE_ATTEND, 1, text);
		}
		if (!live->run.setup.is_rehearsal && live->run.outcome == 1 && wet_recipe_is_mix(live->run.setup.recipe))
			put_on_shelf(d, live, f);
		f->is_cut = !live->run.setup.is_rehearsal && live->run.outcome == 1 &&
					strcmp(live->run.setup.recipe->name, WET_CUT_NAME) == 0;
		f->cut = (struct wet_cut_ended){ .run_id = live->id, .wall_ms = f->ended_wall_ms, .uid = live->owner_uid };
		wet_text_copy(f->cut.recipe_hash, sizeof f->cut.recipe_hash, live->frozen->hash);
		wet_text_copy(f->cut.person, sizeof f->cut.person, live->person);
		f->cut.light_s = pieces_light_s(&live->run);
		f->has_pieces = !live->run.setup.is_rehearsal && live->run.setup.recipe->unload_count > 0;
		d->ports.store(d->ports.ctx, &f->job);
	}
	if (!live->run.setup.is_rehearsal && live->run.outcome == 1)
		drying_add(d, live->name, live->run.setup.recipe, d->ports.wall_ms(d->ports.ctx));
	(void)now_ns;
	for (struct wet_live *l = d->oldest, *newer; l && d->ended_count > ENDED_KEPT; l = newer) {
		newer = l->newer;
		if (l != live && l->is_finish_sent && l->stored_seq >= l->seq)
			live_drop(d, l);
	}
}

void live_serve(struct wet_darkroom *d, struct wet_live *live, int64_t now_ns)
{
	int64_t deadline_ns;
	if (wet_run_deadline(&live->run, &deadline_ns) && deadline_ns <= now_ns) {
		if (now_ns - deadline_ns > WET_GAP_NS && now_ns - d->last_turn_ns > WET_GAP_NS) {
			note_gap(d, live, deadline_ns, now_ns);
		} else {
			if (now_ns - deadline_ns > live->late_max_ns)
				live->late_max_ns = now_ns - deadline_ns;
			int wash = wash_stage(&live->run);
			char text[WET_LINE_BYTES] = "";
			wet_run_advance(&live->run, now_ns);
			live_touch(d, live);
			if (wash_stage(&live->run) != 0 && wash_stage(&live->run) != wash)
				wash_join_others(d, live, live->run.setup.pieces, live->owner_uid, text, sizeof text);
		}
	}
	bookings_settle(d, live);
	sound_due_cues(d, live, now_ns);
	tell_doubt(d, live, now_ns);
	if (wet_live_is_over(live) && !live->has_next_cue && !live->is_finish_sent) {
		finish(d, live, now_ns);
		light_settle(d);
		return;
	}
	if (!live->is_finish_sent)
		set_wake(d, live);
}

/* The machine is kept awake while a run is live. */
void inhibitor_settle(struct wet_darkroom *d)
{
	bool is_wanted = d->live_count > 0;
	if (is_wanted == d->has_inhibitor)
		return;
	d->has_inhibitor = is_wanted;
	d->is_kept_awake = d->ports.inhibit(d->ports.ctx, is_wanted) && is_wanted;
}

bool wet_darkroom_may_sleep(const struct wet_darkroom *d)
{
	return d->has_inhibitor && !d->is_kept_awake;
}

int64_t wet_darkroom_turn(struct wet_darkroom *d)
{
	int64_t now_ns = now_of(d);
	struct wet_live *live;
	early_flush(d);
	/* Bounded: each pass moves the top's wake-up past now, or ends the run. */
	for (size_t i = 0; i < WET_RUNS * 4 && (live = heap_top(&d->heap)) && live->wake_ns <= now_ns; i++)
		live_serve(d, live, now_ns);
	writings_expire(d, now_ns);
	light_settle(d);
	settle_sound(d, now_ns);
	inhibitor_settle(d);
	drying_serve(d, now_ns);
	d->last_turn_ns = now_ns;
	return wet_darkroom_wake_ns(d);
}

int64_t wet_darkroom_wake_ns(const struct wet_darkroom *d)
{
	struct wet_live *top = heap_top(&d->heap);
	int64_t wake_ns = top ? top->wake_ns : INT64_MAX;
	int64_t disk_ns = writings_deadline(d), dry_ns = drying_deadline(d);
	if (dry_ns < wake_ns)
		wake_ns = dry_ns;
	if (disk_ns < wake_ns)
		wake_ns = disk_ns;
	return d->sound_wake_ns < wake_ns ? d->sound_wake_ns : wake_ns;
}
