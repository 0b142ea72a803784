/* words.c: the sentences a run speaks. Plain, short, an order first. */
#include "inside.h"

#include "base/spoken.h"
#include "base/text.h"
#include "wetside/quantity.h"

#include <string.h>

char *lower_first(const char *text, char *buf, unsigned buf_bytes)
{
	wet_text_copy(buf, buf_bytes, text);
	if (buf[0] >= 'A' && buf[0] <= 'Z')
		buf[0] = (char)(buf[0] - 'A' + 'a');
	return buf;
}

/* "tin-box-two" as "Tin box two"; within a sentence it keeps its small letter. */
static void say_name(const char *name, bool is_first, char *buf, unsigned buf_bytes)
{
	char said[WET_NAME_BYTES];
	wet_text_copy(said, sizeof said, name);
	for (char *p = said; *p; p++)
		if (*p == '-' || *p == '_')
			*p = ' ';
	if (is_first && said[0] >= 'a' && said[0] <= 'z')
		said[0] = (char)(said[0] - 'a' + 'A');
	wet_text_append(buf, buf_bytes, "%s", said);
}

/* "Camera {piece}, slot {piece}." with the number in words; with the camera's own name, where the run knows it. */
void say_handling(const struct wet_run *run, int stage, int piece, char *buf, unsigned buf_bytes)
{
	const struct wet_stage *s = &run->setup.recipe->stages[stage];
	const struct wet_recipe *recipe = run->setup.recipe;
	const char *text = s->say[0] ? s->say : s->name;
	bool has_name = s->handling == WET_HANDLING_PIECES && piece >= 1 && piece <= recipe->unload_count;
	char word[24];
	buf[0] = '\0';
	wet_number_word(piece, word, sizeof word);
	for (const char *p = text; *p;) {
		if (has_name && (strncmp(p, "Camera {piece}", 14) == 0 || strncmp(p, "camera {piece}", 14) == 0)) {
			say_name(recipe->unload[piece - 1], p == text, buf, buf_bytes);
			p += 14;
		} else if (strncmp(p, "{piece}", 7) == 0) {
			wet_text_append(buf, buf_bytes, "%s", word);
			p += 7;
		} else {
			const char *next = strchr(p + 1, '{');
			int n = next ? (int)(next - p) : (int)strlen(p);
			wet_text_append(buf, buf_bytes, "%.*s", n, p);
			p += n;
		}
	}
}

/* "bottle one", of "bottle one, one band" */
static void short_place(const struct wet_bath *bath, char *buf, unsigned buf_bytes)
{
	wet_text_copy(buf, buf_bytes, bath->place);
	char *comma = strchr(buf, ',');
	if (comma)
		*comma = '\0';
}

static const struct wet_bath *bath_of(const struct wet_run *run, int stage)
{
	int bath = run->setup.recipe->stages[stage].bath;
	return bath >= 0 ? &run->setup.recipe->baths[bath] : NULL;
}

void say_begun(const struct wet_stage *stage, char *buf, unsigned buf_bytes)
{
	if (stage_is_mixing(stage))
		wet_text_format(buf, buf_bytes, "%s: %s.", stage->name, stage->agitation.how);
	else
		wet_text_format(buf, buf_bytes, "%s begins now.", stage->name);
	if (stage_is_quiet(stage))
		wet_text_append(buf, buf_bytes, " No beat now.");
}

void say_pour_out(const struct wet_run *run, int stage, char *buf, unsigned buf_bytes)
{
	const struct wet_bath *bath = bath_of(run, stage);
	char place[WET_NAME_BYTES];
	if (!bath) {
		wet_text_copy(buf, buf_bytes, "Take the pieces out.");
	} else if (bath->after == WET_AFTER_BACK) {
		short_place(bath, place, sizeof place);
		wet_text_format(buf, buf_bytes, "Pour back, %s.", place);
	} else {
		wet_text_copy(buf, buf_bytes, "Pour away.");
	}
}

void say_next(const struct wet_run *run, int stage, char *buf, unsigned buf_bytes)
{
	if (stage < 0) {
		wet_text_copy(buf, buf_bytes, "Then the run ends.");
		return;
	}
	const struct wet_bath *bath = bath_of(run, stage);
	const char *name = run->setup.recipe->stages[stage].name;
	if (bath && bath->place[0] && !stage_is_mixing(&run->setup.recipe->stages[stage]))
		wet_text_format(buf, buf_bytes, "%s next, %s.", name, bath->place);
	else
		wet_text_format(buf, buf_bytes, "%s next.", name);
}

void say_pour_in(const struct wet_run *run, int stage, char *buf, unsigned buf_bytes)
{
	const struct wet_bath *bath = bath_of(run, stage);
	bool has_place = bath && bath->place[0];
	wet_text_format(buf, buf_bytes, "Pour in: %s%s%s.", run->setup.recipe->stages[stage].name, has_place ? ", " : "",
					has_place ? bath->place : "");
}

static bool is_tray(const struct wet_run *run, int stage)
{
	const struct wet_vessel *vessel = stage_vessel(run, stage);
	return vessel->kind == WET_VESSEL_TRAYS || vessel->kind == WET_VESSEL_WASHER;
}

void say_stand_by(const struct wet_run *run, int stage, char *buf, unsigned buf_bytes)
{
	const struct wet_bath *bath = bath_of(run, stage);
	if (stage_is_mixing(&run->setup.recipe->stages[stage])) {
		wet_text_copy(buf, buf_bytes, run->setup.recipe->stages[stage].say);
		return;
	}
	const char *press =
		is_tray(run, stage) ? "Press as the first piece goes in." : "Press as you start to pour.";
	if (run->setup.recipe->stages[stage].kind == WET_STAGE_TEST)
		press = "Press as it begins.";
	if (bath && bath->place[0])
		wet_text_format(buf, buf_bytes, "%s, %s. %s", run->setup.recipe->stages[stage].name, bath->place,
						press);
	else
		wet_text_format(buf, buf_bytes, "%s. Press to begin.", run->setup.recipe->stages[stage].name);
}

static void say_mixed(const struct wet_stage *s, char *buf, unsigned buf_bytes)
{
	if (s->kind == WET_STAGE_STAND)
		wet_text_format(buf, buf_bytes, "%s: long enough. Press, and it goes on the shelf.", s->name);
	else if (s->agitation.is_continuous)
		wet_text_format(buf, buf_bytes, "%s: all dissolved? Then press; else stir on.", s->name);
	else
		wet_text_format(buf, buf_bytes, "%s: wait %s, then press.", s->name, s->agitation.how);
}

/* At aim, where the next waits. */
void say_ready(const struct wet_run *run, char *buf, unsigned buf_bytes)
{
	int next = next_stage(run), stage = run->pos.stage;
	char name[WET_NAME_BYTES], where[WET_NAME_BYTES + 2] = "";
	if (stage_is_mixing(live_stage(run))) {
		say_mixed(live_stage(run), buf, buf_bytes);
		return;
	}
	if (next < 0) {
		wet_text_format(buf, buf_bytes, "%s done. Take the pieces out, then press.", live_stage(run)->name);
		return;
	}
	const struct wet_stage *s = &run->setup.recipe->stages[next];
	const struct wet_bath *bath = bath_of(run, next);
	lower_first(s->name, name, sizeof name);
	if (bath && bath->place[0])
		wet_text_format(where, sizeof where, ", %s", bath->place);
	if (!wet_stage_kind_is_bath(s->kind))
		wet_text_format(buf, buf_bytes, "%s done. Press, then: %s.", live_stage(run)->name, name);
	else if (s->kind == WET_STAGE_RE_EXPOSE)
		wet_text_format(buf, buf_bytes, "Ready. Drain, then the %s; press as the white light comes on.", name);
	else if (s->kind == WET_STAGE_TEST)
		wet_text_format(buf, buf_bytes, "Ready. Next the %s%s; press as it begins.", name, where);
	else if (is_tray(run, stage))
		wet_text_format(buf, buf_bytes, "Ready. Drain, then the %s%s; press as the first piece goes in.",
						name, where);
	else if (is_tray(run, next))
		wet_text_format(buf, buf_bytes, "Ready. Pour out, then press as the pieces go into the %s%s.", name,
						where);
	else
		wet_text_format(buf, buf_bytes, "Ready. Pour out, then press as you pour the %s%s.", name, where);
}

/* The order of a live bath. */
static void say_what_now(const struct wet_run *run, const struct ends *e, int next, int64_t now_ns, char *buf, unsigned buf_bytes)
{
	if (next < 0) {
		wet_text_copy(buf, buf_bytes, "It may go on.");
	} else if (now_ns >= e->aim_ns) {
		const struct wet_bath *bath = bath_of(run, next);
		char lower[WET_NAME_BYTES];
		lower_first(run->setup.recipe->stages[next].name, lower, sizeof lower);
		wet_text_format(buf, buf_bytes, "%s the %s now%s%s: press as you %s.", is_tray(run, next) ? "Into" : "Pour in", lower,
						bath && bath->place[0] ? ", " : "", bath ? bath->place : "", is_tray(run, next) ? "do" : "pour");
	} else if (now_ns >= e->pour_out_ns) {
		say_pour_out(run, run->pos.stage, buf, buf_bytes);
	} else {
		char left[48];
		wet_text_format(buf, buf_bytes, "Go on: pour out in %s.", wet_print_seconds(e->pour_out_ns - now_ns, left, sizeof left));
	}
}

/* What the hands do now, in whatever phase. */
static void say_now_do(const struct wet_run *run, int64_t now_ns, char *buf, unsigned buf_bytes)
{
	char in[48];
	struct ends e;
	if (run->pos.base == WET_PHASE_HANDLING) {
		say_handling(run, run->pos.stage, run->pos.piece + 1, buf, buf_bytes);
	} else if (run->pos.base == WET_PHASE_WAITING) {
		say_stand_by(run, run->pos.stage, buf, buf_bytes);
	} else if (!bath_is_live(run)) {
		wet_text_copy(buf, buf_bytes, run->pos.base == WET_PHASE_READY ? "Begin when ready." : "The run has ended.");
	} else {
		ends_of(run, &e);
		if (!stage_is_mixing(live_stage(run)))
			say_what_now(run, &e, next_stage(run), now_ns, buf, buf_bytes);
		else if (now_ns >= e.aim_ns)
			say_mixed(live_stage(run), buf, buf_bytes);
		else
			wet_text_format(buf, buf_bytes, "%s: %s so far. Go on: %s.", live_stage(run)->name,
							wet_print_seconds(now_ns - run->pos.since_ns, in, sizeof in), live_stage(run)->agitation.how);
	}
}

/* Appends a sentence whole, where there is still room for what must follow, or not at all. */
static void say_if_fits(const char *sentence, size_t must_follow, char *buf, unsigned buf_bytes)
{
	if (strlen(buf) + strlen(sentence) + must_follow < buf_bytes)
		wet_text_append(buf, buf_bytes, "%s", sentence);
}

/* After a gap or an interruption: an order, not a question. It comes last, and is never cut. */
void say_order(const struct wet_run *run, int64_t now_ns, char *buf, unsigned buf_bytes)
{
	char away[48], low[48], name[WET_NAME_BYTES], order[WET_LINE_BYTES] = "", line[WET_LINE_BYTES];
	int64_t gap = run->gap_to_ns - run->gap_from_ns;
	say_now_do(run, now_ns, order, sizeof order);
	size_t n = strlen(order);
	buf[0] = '\0';
	if (run->has_open_paper_seen_light)
		say_if_fits("Open paper saw light. ", n, buf, buf_bytes);
	if (gap > 0) {
		int64_t least = gap - run->uncertain_ns;
		wet_print_seconds(gap, away, sizeof away);
		wet_print_seconds(least > 0 ? least : 0, low, sizeof low);
		wet_text_copy(line, sizeof line, "");
		if (run->uncertain_ns > 0)
			wet_text_format(line, sizeof line, "The clock was off between %s and %s. ", low, away);
		else if (gap >= NS_PER_S)
			wet_text_format(line, sizeof line, "Nobody could hear for %s. ", away);
		say_if_fits(line, n, buf, buf_bytes);
	}
	if (bath_is_live(run) && !stage_is_mixing(live_stage(run))) {
		lower_first(live_stage(run)->name, name, sizeof name);
		wet_text_format(line, sizeof line, "In the %s for %s. ", name,
						wet_print_seconds(now_ns - run->pos.since_ns, away, sizeof away));
		say_if_fits(line, n, buf, buf_bytes);
	}
	wet_text_append(buf, buf_bytes, "%s", order);
}

void say_doubt(const struct wet_run *run, const struct wet_track *track, const struct wet_view *view, char *buf,
			   unsigned buf_bytes)
{
	const struct wet_stage *stage = live_stage(run);
	char at[24], most[32];
	buf[0] = '\0';
	if (view->is_cold) {
		wet_print_duration(view->most_ns - view->begin_ns, most, sizeof most);
		wet_text_format(buf, buf_bytes, "%s is too cold to be done by its most, %s. Warm the bath, or fix again after.",
						stage->name, most);
	} else if (view->is_uncertain && run->heat.track_count == 0) {
		print_degrees(track->default_mc, run->is_fahrenheit, at, sizeof at);
		wet_text_format(buf, buf_bytes, "No reading of the bath: %s is timed as at %s. Type a reading.", stage->name,
						at);
	} else if (view->is_uncertain) {
		print_degrees(view->temperature_mc, run->is_fahrenheit, at, sizeof at);
		wet_text_format(buf, buf_bytes, "%s at %s is outside what its law knows: timed as at the nearest limit.",
						stage->name, at);
	}
}

void say_time_left(const struct wet_view *view, char *buf, unsigned buf_bytes)
{
	char in[48], left[48];
	buf[0] = '\0';
	if (view->aim_ns == 0)
		return; /* no bath is live */
	wet_print_seconds(view->now_ns - view->begin_ns, in, sizeof in);
	wet_text_format(buf, buf_bytes, "%s in", in);
	int64_t due_ns = view->next_waits ? view->aim_ns : view->pour_out_ns;
	if (due_ns > view->now_ns)
		wet_text_append(buf, buf_bytes, "; %s in %s", view->next_waits ? "done" : "pour out",
						wet_print_seconds(due_ns - view->now_ns, left, sizeof left));
	wet_text_append(buf, buf_bytes, ".");
}

/* "19.4 C, read 3 minutes ago." */
static void say_reading(const struct wet_run *run, int32_t temperature_mc, int64_t age_ns, char *buf, unsigned buf_bytes)
{
	char at[24], age[48];
	if (temperature_mc == INT32_MIN || age_ns < 0)
		return;
	print_degrees(temperature_mc, run->is_fahrenheit, at, sizeof at);
	if (age_ns >= 60 * NS_PER_S)
		age_ns = age_ns / (60 * NS_PER_S) * (60 * NS_PER_S);
	if (age_ns < 10 * NS_PER_S)
		wet_text_append(buf, buf_bytes, " %s, just read.", at);
	else
		wet_text_append(buf, buf_bytes, " %s, read %s ago.", at, wet_print_seconds(age_ns, age, sizeof age));
}

void say_where(const struct wet_run *run, const struct wet_view *view, char *buf, unsigned buf_bytes)
{
	int32_t temperature_mc = view->temperature_mc;
	int64_t age_ns = view->reading_age_ns;
	bool is_plain = view->aim_ns != 0 && (view->phase == WET_PHASE_EARLY || view->phase == WET_PHASE_BETWEEN) &&
					(view->now_ns < view->pour_out_ns || view->next_waits);
	int bath = view->phase == WET_PHASE_WAITING ? live_stage(run)->bath : -1;
	if (bath >= 0 && run->read_at_ns[bath] != INT64_MIN) {
		temperature_mc = run->before_mc[bath];
		age_ns = view->now_ns - run->read_at_ns[bath];
	}
	/* Where the hands are needed now, that comes first. What there is no room for is left out whole. */
	char line[WET_LINE_BYTES] = "";
	if (is_plain)
		wet_text_format(buf, buf_bytes, "%s, %s", live_stage(run)->name, view->left);
	else
		wet_text_copy(buf, buf_bytes, view->doing);
	if (!is_plain && view->left[0])
		say_if_fits(wet_text_format(line, sizeof line, " %s", view->left), 0, buf, buf_bytes);
	if (view->next[0] && view->phase != WET_PHASE_PAST && view->phase != WET_PHASE_INTERRUPTED)
		say_if_fits(wet_text_format(line, sizeof line, " %s", view->next), 0, buf, buf_bytes);
	wet_text_copy(line, sizeof line, "");
	say_reading(run, temperature_mc, age_ns, line, sizeof line);
	say_if_fits(line, 0, buf, buf_bytes);
}

void say_warm(const struct wet_run *run, int bath, int32_t temperature_mc, char *buf, unsigned buf_bytes)
{
	const struct wet_recipe *recipe = run->setup.recipe;
	struct wet_fault fault = { 0 };
	buf[0] = '\0';
	for (int i = 0; i < recipe->stage_count; i++) {
		const struct wet_stage *stage = &recipe->stages[i];
		if (stage->bath != bath)
			continue;
		if (run->pos.base == WET_PHASE_READY && wet_temperature_policy(recipe, i, temperature_mc, &fault) != 0) {
			wet_text_format(buf, buf_bytes, " Begin will be refused: %s.", fault.want);
			return;
		}
		if (stage->law.kind != WET_LAW_FIXING)
			continue;
		struct wet_times times = wet_stage_times(recipe, i, stage_vessel(run, i), run->setup.pieces);
		double need_ns = (double)times.aim_ns / wet_law_rate(&stage->law, temperature_mc / 1000.0);
		char need[32], most[32];
		if (need_ns <= (double)times.most_ns)
			continue;
		wet_print_duration((int64_t)(need_ns / 1e9 + 0.5) * NS_PER_S, need, sizeof need);
		wet_print_duration(times.most_ns, most, sizeof most);
		wet_text_format(buf, buf_bytes, " Warm it: so cold, %s needs %s; its most is %s.", stage->name, need, most);
		return;
	}
}
