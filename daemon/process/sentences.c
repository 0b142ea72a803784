/* sentences.c: what a cue says, and all that a run may say as planned, so that it can be spoken beforehand. */
#include "inside.h"

#include "base/spoken.h"
#include "base/text.h"

void say_cue(const struct wet_run *run, enum wet_cue_kind kind, int64_t at_ns, char *buf, unsigned n)
{
	const struct wet_stage *stage = &run->setup.recipe->stages[run->pos.stage];
	buf[0] = '\0';
	switch (kind) {
	case WET_CUE_HANDLE: say_handling(run, run->pos.stage, run->pos.piece + 1, buf, n); break;
	case WET_CUE_LIGHTS: wet_text_copy(buf, n, LIGHTS_TEXT); break;
	case WET_CUE_STAND_BY: say_stand_by(run, run->pos.stage, buf, n); break;
	case WET_CUE_NEXT: say_next(run, next_stage(run), buf, n); break;
	case WET_CUE_POUR_READY: say_ready(run, buf, n); break;
	case WET_CUE_LAST_MINUTE: wet_text_copy(buf, n, "Last minute."); break;
	case WET_CUE_POUR_OUT: say_pour_out(run, run->pos.stage, buf, n); break;
	case WET_CUE_CHANGE:
		wet_text_format(buf, n, "%s.%s%s", stage->name, stage->say[0] ? " " : "", stage->say);
		break;
	case WET_CUE_TURN:
		if (stage->agitation.is_continuous)
			wet_text_format(buf, n, "Keep it moving%s%s.", stage->agitation.how[0] ? ": " : "",
							stage->agitation.how);
		else if (stage->agitation.how[0])
			wet_text_format(buf, n, "Turn: %s.", stage->agitation.how);
		else
			wet_text_copy(buf, n, "Turn.");
		break;
	case WET_CUE_REST: wet_text_copy(buf, n, "Rest."); break;
	case WET_CUE_WATER: {
		char which[32], all[24];
		wet_text_format(buf, n, "Change the water: %s of %s.", wet_ordinal_word(water_at(run, at_ns), which, sizeof which),
						wet_number_word(stage->waters.count, all, sizeof all));
		break;
	}
	case WET_CUE_PAST_MOST: wet_text_format(buf, n, "%s is past its most. Go on now.", stage->name); break;
	case WET_CUE_KEY:
		if (run->pos.base == WET_PHASE_HANDLING)
			say_handling(run, run->pos.stage, run->pos.piece + 1, buf, n);
		else if (run->pos.base == WET_PHASE_EARLY) {
			say_begun(stage, buf, n);
			if (stage->say[0] && !stage_is_mixing(stage)) /* there it was what stood by */
				wet_text_append(buf, n, " %s", stage->say);
		} else if (run->pos.base == WET_PHASE_WAITING)
			wet_text_copy(buf, n, "Heard.");
		else
			wet_text_copy(buf, n, "Done. The run has ended.");
		break;
	default: break;
	}
}

/* Between two of them lie a count, a last minute, and beats: of a long stage many. */
#define HANDS_LOOKS 24

bool wet_run_hands(const struct wet_run *run, int64_t after_boot_ns, struct wet_cue *ret_cue)
{
	struct wet_run now = *run;
	wet_run_advance(&now, after_boot_ns);
	enum wet_run_phase phase = phase_at(&now, wet_run_time(&now, after_boot_ns));
	struct wet_cue cue = { .at_boot_ns = after_boot_ns };
	struct ends e = { .pour_out_ns = INT64_MAX };
	if (bath_is_live(&now))
		ends_of(&now, &e);
	if (!next_waits(&now) && wet_run_time(&now, after_boot_ns) >= e.pour_out_ns)
		return false;
	if (phase == WET_PHASE_PAST || !bath_is_live(&now) || now.is_interrupted ||
		(phase == WET_PHASE_POURING && !now.pos.was_shifted))
		return false;
	for (int i = 0; i < HANDS_LOOKS && wet_cue_next(run, cue.at_boot_ns, &cue); i++) {
		if (cue.kind == WET_CUE_COUNT || cue.kind == WET_CUE_BEAT || cue.kind == WET_CUE_LAST_MINUTE ||
			cue.kind == WET_CUE_PAST_MOST || cue.kind == WET_CUE_KEY)
			continue;
		if (cue.kind == WET_CUE_CHANGE)
			say_pour_in(run, cue.stage, cue.text, sizeof cue.text);
		*ret_cue = cue;
		return true;
	}
	return false;
}

struct taking {
	const struct wet_run *run; /* put into the stage that is asked about */
	void (*take)(void *ctx, const char *text);
	void *ctx;
};

static void take(const struct taking *t, enum wet_cue_kind kind, int64_t at_ns)
{
	char text[WET_LINE_BYTES];
	say_cue(t->run, kind, at_ns, text, sizeof text);
	if (text[0])
		t->take(t->ctx, text);
}

static void take_handling(struct taking *t, struct wet_run *run)
{
	bool is_each = live_stage(run)->handling == WET_HANDLING_PIECES;
	run->pos.base = WET_PHASE_HANDLING;
	for (int piece = 0; piece < (is_each ? run->setup.pieces : 1); piece++) {
		run->pos.piece = (uint8_t)piece;
		take(t, WET_CUE_HANDLE, 0);
	}
	run->pos.piece = 0;
}

static void take_bath(struct taking *t, struct wet_run *run)
{
	static const enum wet_cue_kind always[] = { WET_CUE_NEXT,   WET_CUE_POUR_READY, WET_CUE_POUR_OUT,
												WET_CUE_CHANGE, WET_CUE_TURN,       WET_CUE_REST,
												WET_CUE_KEY,    WET_CUE_LAST_MINUTE };
	const struct wet_stage *stage = live_stage(run);
	char text[WET_LINE_BYTES];
	run->pos.base = WET_PHASE_WAITING;
	take(t, WET_CUE_STAND_BY, 0);
	run->pos.base = WET_PHASE_EARLY;
	for (unsigned i = 0; i < sizeof always / sizeof always[0]; i++)
		take(t, always[i], 0);
	if (stage->most_ns > 0)
		take(t, WET_CUE_PAST_MOST, 0);
	for (int i = 0; i + 1 < stage->waters.count; i++)
		take(t, WET_CUE_WATER, run->pos.since_ns + stage->waters.first_ns + i * stage->waters.each_ns);
	/* Begun with a press. */
	say_begun(stage, text, sizeof text);
	t->take(t->ctx, text);
}

void wet_run_sentences(const struct wet_run *before, void (*cb)(void *ctx, const char *text), void *ctx)
{
	struct wet_run run = *before;
	struct taking t = { &run, cb, ctx };
	run.is_interrupted = false;
	run.pos.is_held = false;
	for (int i = 0; i < run.setup.recipe->stage_count; i++) {
		run.pos.stage = (uint8_t)i;
		if (wet_stage_kind_is_bath(live_stage(&run)->kind))
			take_bath(&t, &run);
		else
			take_handling(&t, &run);
	}
	take(&t, WET_CUE_LIGHTS, 0);
	run.pos.base = WET_PHASE_WAITING;
	take(&t, WET_CUE_KEY, 0);
	run.pos.base = WET_PHASE_ENDED;
	take(&t, WET_CUE_KEY, 0);
}
