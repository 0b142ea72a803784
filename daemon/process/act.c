/* act.c: the table of acts (state x act, every cell filled) and the decision on one act.
 *
 *   cell    meaning
 *   DO      done, unless the act's own condition below refuses it with a reason
 *   HELD    done if held (three presses within two real seconds, or autorepeat for one), else refused
 *   REFUSE  a low answer, with the reason
 *   IGNORE  an answer, nothing happens
 */
#include "inside.h"

#include "base/spoken.h"
#include "base/text.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

#define D WET_CELL_DO
#define R WET_CELL_REFUSE
#define I WET_CELL_IGNORE
#define H WET_CELL_HELD

static const enum wet_cell table[WET_PHASE_N][WET_ACT_N] = {
	/*                          begin go longer hold undo reading where emergency resume abandon join */
	[WET_PHASE_READY] = { D, R, R, R, R, D, D, D, R, D, R },
	[WET_PHASE_HANDLING] = { R, D, R, R, D, D, D, D, R, H, R },
	[WET_PHASE_WAITING] = { R, D, R, R, D, D, D, D, R, H, D },
	[WET_PHASE_POURING] = { R, D, D, D, D, D, D, D, R, H, D },
	[WET_PHASE_EARLY] = { R, H, D, D, D, D, D, D, R, H, D },
	[WET_PHASE_BETWEEN] = { R, D, D, D, D, D, D, D, R, H, D },
	[WET_PHASE_PAST] = { R, D, D, I, D, D, D, D, R, H, D },
	[WET_PHASE_INTERRUPTED] = { R, R, R, R, R, D, D, D, D, D, R },
	[WET_PHASE_ENDED] = { R, I, R, R, R, D, D, D, R, I, R },
};

#undef D
#undef R
#undef I
#undef H

enum wet_cell wet_run_cell(enum wet_run_phase phase, enum wet_act_kind act)
{
	return table[phase][act];
}

const char *wet_run_phase_text(enum wet_run_phase phase)
{
	static const char *const texts[WET_PHASE_N] = {
#define X(name, text) text,
		WET_RUN_PHASES(X)
#undef X
	};
	return (unsigned)phase < WET_PHASE_N ? texts[phase] : "unknown";
}

static const char *const act_words[WET_EVENT_KIND_N] = {
#define X(name, word) word,
	WET_ACTS(X)
#undef X
		"resumed",
	"clock",
};

const char *wet_act_word(int kind)
{
	return kind >= 0 && kind < WET_EVENT_KIND_N ? act_words[kind] : "unknown";
}

int wet_act_from_word(const char *word, int *ret_kind)
{
	for (int i = 0; i < WET_EVENT_KIND_N; i++) {
		if (strcmp(word, act_words[i]) == 0) {
			*ret_kind = i;
			return WET_OK;
		}
	}
	return WET_ERR_NOT_FOUND;
}

/* -- answers ---------------------------------------------------------------- */

static void refuse(struct wet_answer *a, int err, const char *text)
{
	a->kind = WET_ANSWER_REFUSE;
	a->err = err;
	wet_text_copy(a->text, sizeof a->text, text);
}

static void ignore(struct wet_answer *a, const char *text)
{
	a->kind = WET_ANSWER_IGNORE;
	a->err = WET_OK;
	wet_text_copy(a->text, sizeof a->text, text);
}

static void refuse_cell(const struct wet_run *run, enum wet_run_phase phase, int act, struct wet_answer *a)
{
	char name[WET_NAME_BYTES];
	switch (phase) {
	case WET_PHASE_READY:
		refuse(a, WET_ERR_REFUSED, act == WET_ACT_UNDO ? "Nothing to undo." : "Begin first.");
		return;
	case WET_PHASE_INTERRUPTED:
		refuse(a, WET_ERR_REFUSED,
			   act == WET_ACT_BEGIN ? "The run was interrupted: resume it." : "Interrupted. Resume first.");
		return;
	case WET_PHASE_ENDED: refuse(a, WET_ERR_REFUSED, "The run has ended."); return;
	default: break;
	}
	if (act == WET_ACT_BEGIN) {
		refuse(a, WET_ERR_REFUSED, "The run has begun already.");
	} else if (act == WET_ACT_RESUME) {
		refuse(a, WET_ERR_REFUSED, "Nothing was interrupted.");
	} else {
		lower_first(live_stage(run)->name, name, sizeof name);
		a->kind = WET_ANSWER_REFUSE;
		a->err = WET_ERR_REFUSED;
		wet_text_format(a->text, sizeof a->text, "Not while %s: there is no bath yet.",
						phase == WET_PHASE_WAITING ? "waiting" : "handling");
	}
}

/* Notes a press that asks to be held; true with the third within two real seconds. */
static bool is_third_press(struct wet_presses *presses, int kind, int64_t boot_ns)
{
	memmove(&presses->boot_ns[0], &presses->boot_ns[1], sizeof presses->boot_ns[0] * 2);
	memmove(&presses->kind[0], &presses->kind[1], 2);
	presses->boot_ns[2] = boot_ns;
	presses->kind[2] = (uint8_t)(kind + 1);
	for (int i = 0; i < 3; i++) {
		if (presses->kind[i] != kind + 1 || boot_ns - presses->boot_ns[i] > WET_GUARD_NS)
			return false;
	}
	memset(presses->kind, 0, sizeof presses->kind);
	return true;
}

static bool is_held_act(struct wet_presses *presses, struct wet_event *event)
{
	if (event->flags & WET_EVENT_HELD)
		return true;
	if (!presses || !is_third_press(presses, event->kind, event->boot_ns))
		return false;
	event->flags |= WET_EVENT_HELD;
	return true;
}

/* -- the acts' own conditions ------------------------------------------------- */

static void try_begin(const struct wet_run *run, struct wet_answer *a)
{
	const struct wet_recipe *recipe = run->setup.recipe;
	uint32_t scale[WET_RECIPE_STAGES];
	struct wet_fault fault = { 0 };
	char told[WET_LINE_BYTES];
	for (int i = 0; i < recipe->stage_count; i++) {
		const struct wet_stage *stage = &recipe->stages[i];
		scale[i] = 1000;
		if (stage->bath < 0 || run->before_mc[stage->bath] == INT32_MIN)
			continue;
		int32_t mc = run->before_mc[stage->bath];
		if (wet_temperature_policy(recipe, i, mc, &fault) != 0) {
			wet_text_format(a->text, sizeof a->text, "Not at %s: %s.", fault.found, fault.want);
			a->kind = WET_ANSWER_REFUSE;
			a->err = WET_ERR_POLICY;
			return;
		}
		scale[i] = (uint32_t)(1000.0 / wet_law_rate(&stage->law, mc / 1000.0));
	}
	if (wet_recipe_fit(recipe, &run->setup.vessel, run->setup.pieces, scale, told, sizeof told, &fault) !=
		0) {
		wet_fault_line(&fault, a->text, sizeof a->text);
		a->kind = WET_ANSWER_REFUSE;
		a->err = WET_ERR_FIT;
		return;
	}
	struct wet_run after = *run;
	press_go(&after, 0, false);
	if (after.pos.base == WET_PHASE_HANDLING)
		say_handling(&after, after.pos.stage, 1, a->text, sizeof a->text);
	else
		say_stand_by(&after, after.pos.stage, a->text, sizeof a->text);
	say_apart(run, -1, told, sizeof told);
	if (told[0] && strlen(a->text) + strlen(told) + 1 < sizeof a->text)
		wet_text_append(a->text, sizeof a->text, " %s", told);
}

static void try_go(const struct wet_run *run, enum wet_run_phase phase, struct wet_event *event,
				   int64_t now_ns, struct wet_answer *a)
{
	if (phase == WET_PHASE_POURING) {
		if (run->pos.was_shifted && !(event->flags & WET_EVENT_HELD)) {
			ignore(a, "The start has been moved already.");
			return;
		}
		event->flags |= WET_EVENT_SHIFTED;
		wet_text_format(a->text, sizeof a->text, "%s begins now.", live_stage(run)->name);
		return;
	}
	struct wet_run after = *run;
	press_go(&after, now_ns, false);
	if (after.pos.base == WET_PHASE_HANDLING) {
		int piece = after.pos.piece + 1;
		say_handling(&after, after.pos.stage, piece, a->text, sizeof a->text);
		if (run->pos.base == WET_PHASE_HANDLING && live_stage(run)->handling == WET_HANDLING_PIECES)
			a->pips = run->pos.piece + 1;
	} else if (after.pos.base == WET_PHASE_WAITING) {
		if (run->pos.base == WET_PHASE_HANDLING && live_stage(run)->handling == WET_HANDLING_PIECES)
			a->pips = run->pos.piece + 1;
		if (light_now(&after) == WET_LIGHT_WHITE && light_now(run) != WET_LIGHT_WHITE)
			wet_text_copy(a->text, sizeof a->text, LIGHTS_TEXT);
		else
			say_stand_by(&after, after.pos.stage, a->text, sizeof a->text);
	} else if (after.pos.base == WET_PHASE_ENDED) {
		wet_text_copy(a->text, sizeof a->text, "Done. The run has ended.");
	} else {
		say_begun(live_stage(&after), a->text, sizeof a->text);
	}
}

static void try_longer(const struct wet_run *run, struct wet_presses *presses, struct wet_event *event,
					   int64_t now_ns, struct wet_answer *a)
{
	struct ends e;
	ends_of(run, &e);
	if (event->a_ns <= 0 || event->a_ns > WET_STAGE_NS_MAX) {
		refuse(a, WET_ERR_RANGE, "Longer by how much? From one second to a day, as in 15 s.");
		return;
	}
	if (!next_waits(run) && now_ns >= e.pour_out_ns) {
		refuse(a, WET_ERR_REFUSED, "Pouring out is due already: go on.");
		return;
	}
	int64_t aim_ns = (now_ns > e.aim_ns ? now_ns : e.aim_ns) + event->a_ns;
	if (aim_ns - run->pos.since_ns > WET_STAGE_NS_MAX) {
		refuse(a, WET_ERR_RANGE, "No bath is longer than a day.");
		return;
	}
	if (aim_ns > e.most_ns && !is_held_act(presses, event)) {
		char most[32];
		wet_print_duration(e.most_ns - run->pos.since_ns, most, sizeof most);
		a->kind = WET_ANSWER_REFUSE;
		a->err = WET_ERR_REFUSED;
		wet_text_format(a->text, sizeof a->text,
						"That passes the most for %s, %s. Press three times to do it all the same.",
						live_stage(run)->name, most);
		return;
	}
	char by[48], end[32];
	wet_print_seconds(event->a_ns, by, sizeof by);
	wet_print_duration(aim_ns - run->pos.since_ns, end, sizeof end);
	wet_text_format(a->text, sizeof a->text, "Longer by %s: %s ends at %s.", by, live_stage(run)->name, end);
}

static bool hold_is_harmless(enum wet_stage_kind kind)
{
	switch (kind) {
	case WET_STAGE_PRE_SOAK:
	case WET_STAGE_RINSE:
	case WET_STAGE_STOP:
	case WET_STAGE_FIX:
	case WET_STAGE_SECOND_FIX:
	case WET_STAGE_CLEAR:
	case WET_STAGE_AID:
	case WET_STAGE_WASH: return true;
	default: return false;
	}
}

static void try_hold(const struct wet_run *run, int64_t now_ns, struct wet_answer *a)
{
	const struct wet_stage *stage = live_stage(run);
	char name[WET_NAME_BYTES];
	lower_first(stage->name, name, sizeof name);
	struct ends e;
	ends_of(run, &e);
	if (run->pos.is_held) {
		if (now_ns >= e.pour_out_ns)
			ignore(a, "Held. Only go begins the next bath now.");
		else
			wet_text_copy(a->text, sizeof a->text, "Not held any more: the next bath begins by the clock.");
		return;
	}
	if (next_waits(run)) {
		ignore(a, "The next one waits for you anyway.");
		return;
	}
	if (!hold_is_harmless(stage->kind)) {
		a->kind = WET_ANSWER_REFUSE;
		a->err = WET_ERR_REFUSED;
		wet_text_format(a->text, sizeof a->text,
						"Not after the %s: it would go on working. Use longer instead.", name);
		return;
	}
	wet_text_format(a->text, sizeof a->text, "Held after the %s: the next bath waits for you.", name);
}

static void try_join(const struct wet_run *run, const struct wet_event *event, struct wet_answer *a)
{
	char name[WET_NAME_BYTES], count[24], who[64] = "", time[32];
	lower_first(live_stage(run)->name, name, sizeof name);
	if (!stage_is_joinable(live_stage(run))) {
		a->kind = WET_ANSWER_REFUSE;
		a->err = WET_ERR_REFUSED;
		wet_text_format(a->text, sizeof a->text, "Only a wash can be joined, not the %s.", name);
		return;
	}
	if (event->a_ns < 0 || event->a_ns > WET_PIECES) {
		refuse(a, WET_ERR_RANGE, "How many pieces joined? At most 64 at once.");
		return;
	}
	if (event->a_ns > 0) {
		wet_number_word((int)event->a_ns, count, sizeof count);
		count[0] = (char)(count[0] - 'a' + 'A');
		wet_text_format(who, sizeof who, "%s more piece%s joined: ", count, event->a_ns > 1 ? "s" : "");
	}
	if (run->pos.base == WET_PHASE_WAITING) {
		wet_text_format(a->text, sizeof a->text, "%s%s %s begins with your press.", who,
						event->a_ns > 0 ? "the" : "The", name);
		return;
	}
	struct wet_run after = *run;
	struct ends e;
	restart_bath(&after, wet_run_time(run, event->boot_ns));
	ends_of(&after, &e);
	wet_print_duration(e.aim_ns - after.pos.since_ns, time, sizeof time);
	wet_text_format(a->text, sizeof a->text, "%s%s %s begins anew, %s.", who, event->a_ns > 0 ? "the" : "The", name,
					time);
	if (event->a_ns > 0 && live_stage(run)->waters.count > 0)
		wet_text_append(a->text, sizeof a->text, " The water was planned for %s.",
						wet_number_word(run->setup.pieces, count, sizeof count));
}

static bool same_reading(const struct wet_presses *p, const struct wet_event *event)
{
	return p->has_doubt && p->doubt_bath == event->bath && abs(p->doubt_mc - event->temperature_mc) <= 200 &&
		   event->boot_ns - p->doubt_boot_ns <= WET_REPEAT_NS;
}

/* A reading that is out of the ordinary, or would move an end by over a tenth, is asked for twice. `after`: as folded. */
static bool is_doubted(const struct wet_run *run, const struct wet_run *after, int32_t temperature_mc)
{
	struct ends old, new;
	bool moves = false;
	if (bath_is_live(run) && bath_is_live(after) && after->pos.stage == run->pos.stage) {
		ends_of(run, &old);
		ends_of(after, &new);
		moves = llabs(new.aim_ns - old.aim_ns) * 10 > old.aim_ns - run->pos.since_ns;
	}
	/* Water to dissolve in is warmer than any bath: up to what a formula may ask for. */
	int32_t most_mc = wet_recipe_is_mix(run->setup.recipe) ? 60000 : 30000;
	return moves || temperature_mc < 5000 || temperature_mc > most_mc;
}

static void ask_again(struct wet_presses *presses, const struct wet_event *event, const char *value, struct wet_answer *a)
{
	if (presses) {
		presses->has_doubt = true;
		presses->doubt_mc = event->temperature_mc;
		presses->doubt_bath = event->bath;
		presses->doubt_boot_ns = event->boot_ns;
	}
	a->kind = WET_ANSWER_REFUSE;
	a->err = WET_ERR_REPEAT;
	if (event->temperature_mc >= 41000 && event->temperature_mc <= 86000 && !(event->flags & WET_EVENT_FAHRENHEIT)) {
		/* What was typed as Celsius is a plausible bath in Fahrenheit. */
		char celsius[24];
		wet_print_temperature((int32_t)((event->temperature_mc - 32000) * 5LL / 9), celsius, sizeof celsius);
		wet_text_format(a->text, sizeof a->text,
						"%s? If you read Fahrenheit, that is %s: give F. Else repeat it within 30 seconds.", value, celsius);
	} else {
		wet_text_format(a->text, sizeof a->text, "%s? Read again; repeat it within 30 seconds if it is right.", value);
	}
}

/* What was read, said back, and what follows from it. */
static void say_back(const struct wet_run *after, const struct wet_event *event, const char *value, struct wet_answer *a)
{
	const struct wet_recipe *recipe = after->setup.recipe;
	bool is_room = event->flags & WET_EVENT_ROOM, is_after = event->flags & WET_EVENT_AFTER;
	char more[WET_LINE_BYTES] = "", end[32], motion[64];
	struct wet_view view;
	wet_text_format(a->text, sizeof a->text, "%s %s.", is_room ? "Room" : recipe->baths[event->bath].name, value);
	if (bath_is_live(after) && !is_after && (is_room || event->bath == live_stage(after)->bath)) {
		wet_run_view(after, event->boot_ns, &view);
		wet_print_duration(view.aim_ns - view.begin_ns, end, sizeof end);
		say_later(after, &view, more, sizeof more);
		wet_text_append(a->text, sizeof a->text, " %s ends at %s%s.", live_stage(after)->name, end, more);
		say_motion(after, &view, motion, sizeof motion);
		if (view.course == WET_COURSE_FITTED || view.course == WET_COURSE_VESSEL)
			wet_text_append(a->text, sizeof a->text, " %s.", motion);
	} else if (!is_room && !is_after) {
		say_warm(after, event->bath, event->temperature_mc, more, sizeof more);
		wet_text_append(a->text, sizeof a->text, "%s", more);
	}
	if (is_room || is_after || more[0] == ' ')
		return;
	say_apart(after, event->bath, more, sizeof more);
	if (more[0] && strlen(a->text) + strlen(more) + 1 < sizeof a->text)
		wet_text_append(a->text, sizeof a->text, " %s", more);
}

static void try_reading(const struct wet_run *run, struct wet_presses *presses, struct wet_event *event,
						struct wet_answer *a)
{
	const struct wet_recipe *recipe = run->setup.recipe;
	char value[24];
	print_degrees(event->temperature_mc, event->flags & WET_EVENT_FAHRENHEIT, value, sizeof value);
	if (!(event->flags & WET_EVENT_ROOM) && (event->bath < 0 || event->bath >= recipe->bath_count)) {
		refuse(a, WET_ERR_NOT_FOUND, "Which bath? Name one of the recipe's baths.");
		return;
	}
	if (event->temperature_mc < -5000 || event->temperature_mc > 100000) {
		refuse(a, WET_ERR_RANGE, event->flags & WET_EVENT_FAHRENHEIT ? "No bath is that cold or hot: from 23 F to 212 F."
																	  : "No bath is that cold or hot: from -5 C to 100 C.");
		return;
	}
	struct wet_run after = *run;
	wet_run_fold(&after, event);
	if (is_doubted(run, &after, event->temperature_mc) && !(presses && same_reading(presses, event))) {
		ask_again(presses, event, value, a);
		return;
	}
	if (presses)
		presses->has_doubt = false;
	say_back(&after, event, value, a);
}

static void try_held_cell(const struct wet_run *run, enum wet_run_phase phase, int act, int64_t now_ns,
						  struct wet_answer *a)
{
	a->kind = WET_ANSWER_REFUSE;
	a->err = WET_ERR_REFUSED;
	if (act == WET_ACT_ABANDON) {
		wet_text_copy(a->text, sizeof a->text, "Abandon the run? Press three times within two seconds.");
		return;
	}
	struct ends e;
	char left[48];
	ends_of(run, &e);
	(void)phase;
	wet_print_seconds(e.least_ns - now_ns, left, sizeof left);
	wet_text_format(a->text, sizeof a->text, "%s: %s to the least. Press three times to end it early.",
					live_stage(run)->name, left);
}

static void try_rest(const struct wet_run *run, enum wet_run_phase phase, struct wet_event *event,
					 int64_t now_ns, struct wet_answer *a)
{
	struct wet_view view;
	switch (event->kind) {
	case WET_ACT_UNDO:
		if (run->undo_count == 0)
			refuse(a, WET_ERR_REFUSED, "Nothing to undo: the clock has gone on since the last act.");
		else
			wet_text_format(a->text, sizeof a->text, "Undone: %s.",
							wet_act_word(run->undo[run->undo_count - 1].act));
		break;
	case WET_ACT_WHERE:
		wet_run_view(run, event->boot_ns, &view);
		say_where(run, &view, a->text, sizeof a->text);
		break;
	case WET_ACT_EMERGENCY:
		wet_text_copy(a->text, sizeof a->text, WET_EMERGENCY_TEXT);
		break;
	case WET_ACT_RESUME: {
		struct wet_run after = *run;
		after.is_interrupted = false;
		if (bath_is_live(&after) && boundary_ns(&after) <= now_ns)
			after.pos.is_late = true;
		after.gap_from_ns = run->interrupted_ns;
		after.gap_to_ns = now_ns;
		say_order(&after, now_ns, a->text, sizeof a->text);
		break;
	}
	case WET_ACT_ABANDON: wet_text_copy(a->text, sizeof a->text, "Abandoned."); break;
	default: break;
	}
	(void)phase;
}

/* "already in the stop bath": what its sender saw has passed. */
static bool is_stale(const struct wet_run *run, const struct wet_event *event, struct wet_answer *a)
{
	if (event->number < 0 || event->number == run_number(run) || event->kind == WET_ACT_EMERGENCY ||
		event->kind == WET_ACT_READING || event->kind == WET_ACT_WHERE)
		return false;
	char name[WET_NAME_BYTES];
	a->kind = WET_ANSWER_REFUSE;
	a->err = WET_ERR_STALE;
	if (run->pos.base == WET_PHASE_ENDED) {
		wet_text_copy(a->text, sizeof a->text, "The run has ended already.");
	} else if (run->pos.base == WET_PHASE_READY) {
		wet_text_copy(a->text, sizeof a->text, "Something else was done since. Look again.");
	} else {
		lower_first(live_stage(run)->name, name, sizeof name);
		wet_text_format(a->text, sizeof a->text, "Something was done since: already %s the %s.",
						run->pos.base == WET_PHASE_WAITING ? "waiting for" : "in", name);
	}
	return true;
}

void wet_run_try(const struct wet_run *before, struct wet_presses *presses, struct wet_event *event,
				 struct wet_answer *ret_answer)
{
	struct wet_run copy = *before;
	struct wet_run *run = &copy;
	struct wet_answer a = { .kind = WET_ANSWER_DO };
	wet_run_advance(run, event->boot_ns);
	int64_t now_ns = wet_run_time(run, event->boot_ns);
	enum wet_run_phase phase = phase_at(run, now_ns);

	if (event->kind < 0 || event->kind >= WET_ACT_N) {
		refuse(&a, WET_ERR_INVALID, "There is no such act.");
	} else if (is_stale(run, event, &a)) {
		/* refused */
	} else if (event->kind == WET_ACT_GO && event->boot_ns - run->last_go_boot_ns < WET_GUARD_NS &&
			   table[phase][WET_ACT_GO] != WET_CELL_REFUSE) {
		ignore(&a, "Heard already: one press is enough.");
	} else {
		enum wet_cell cell = table[phase][event->kind];
		if (cell == WET_CELL_HELD && is_held_act(presses, event))
			cell = WET_CELL_DO;
		if (cell == WET_CELL_REFUSE)
			refuse_cell(run, phase, event->kind, &a);
		else if (cell == WET_CELL_IGNORE)
			ignore(&a,
				   phase == WET_PHASE_ENDED ? "The run has ended." : "The next bath waits for you already.");
		else if (cell == WET_CELL_HELD)
			try_held_cell(run, phase, event->kind, now_ns, &a);
		else if (event->kind == WET_ACT_BEGIN)
			try_begin(run, &a);
		else if (event->kind == WET_ACT_GO)
			try_go(run, phase, event, now_ns, &a);
		else if (event->kind == WET_ACT_LONGER)
			try_longer(run, presses, event, now_ns, &a);
		else if (event->kind == WET_ACT_HOLD)
			try_hold(run, now_ns, &a);
		else if (event->kind == WET_ACT_READING)
			try_reading(run, presses, event, &a);
		else if (event->kind == WET_ACT_JOIN)
			try_join(run, event, &a);
		else
			try_rest(run, phase, event, now_ns, &a);
	}
	*ret_answer = a;
}
