/* sim_recipes.c: every recipe on the shelf, from arming to its end on virtual time: once as a person presses, once as
 * the rehearsal presses its own keys. Nothing here knows a recipe by name: light, ends and the order of cues are
 * held against what the design asks of any recipe. */
#include "base/text.h"
#include "shelf/phrasebook.h"
#include "shelf/shelf.h"
#include "shelf_files.h"
#include "wetside/cues.h"
#include "wetside/quantity.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S WET_NS_PER_S
#define ARMED (1000 * S)
#define PIECES 3
#define MOVES_MAX 4000

static const char *name; /* of the recipe under test */
static int bad;

static void wrong(const char *what, const char *stage)
{
	printf("%s: %s: %s\n", name, stage, what);
	bad++;
}

struct walk {
	const struct wet_recipe *recipe;
	struct wet_run run;
	struct wet_presses presses;
	int64_t now;                        /* boot time up to which it was heard */
	bool is_named[WET_RECIPE_STAGES];   /* its bath was spoken of before it began */
	bool is_changed[WET_RECIPE_STAGES]; /* it began straight on, with its cue */
	int ready[WET_RECIPE_STAGES];       /* times "ready" was sounded in it */
};

/* What was made ready when the run was armed. */
static struct {
	char text[2000][WET_LINE_BYTES];
	int count;
} ready;

static void note_sentence(void *ctx, const char *text)
{
	(void)ctx;
	if (ready.count < 2000)
		wet_text_copy(ready.text[ready.count++], WET_LINE_BYTES, text);
}

/* The language file lists it, so that it can be translated; or it is the recipe's own text, which is written anew there. */
static struct wet_phrasebook *english;

static void must_be_known(const struct wet_recipe *recipe, const char *text)
{
	char said[WET_LINE_BYTES * 2];
	bool is_known, is_own = false;
	wet_phrases_say(&english->phrases, text, said, sizeof said, &is_known);
	for (int i = 0; i < recipe->stage_count && !is_known && !is_own; i++) {
		const struct wet_stage *s = &recipe->stages[i];
		size_t n = strcspn(s->say, "{"), name_bytes = strlen(s->name);
		is_own = (n > 0 && strstr(text, s->say[n] ? "" : s->say) && (s->say[n] == '\0' || strncmp(text, s->say, n) == 0)) ||
				 (strncmp(text, s->name, name_bytes) == 0 && text[name_bytes] == '.');
	}
	if (strcmp(said, text) != 0)
		wrong("the English file changes a sentence", text);
	if (!is_known && !is_own)
		wrong("no phrase of the language file", text);
}

static bool is_ready(const char *text)
{
	for (int i = 0; i < ready.count; i++)
		if (strcmp(ready.text[i], text) == 0)
			return true;
	return false;
}

static void start(struct walk *w, const struct wet_recipe *recipe, bool is_rehearsal)
{
	struct wet_run_setup setup = { .recipe = recipe,
								   .pieces = PIECES,
								   .tolerance_mc = 500,
								   .is_rehearsal = is_rehearsal,
								   .rules_version = WET_RULES_VERSION };
	memset(w, 0, sizeof *w);
	w->recipe = recipe;
	w->now = ARMED;
	setup.vessel = test_vessel_of(recipe);
	setup.washer.kind = WET_VESSEL_WASHER;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		setup.rate_milli[i] = is_rehearsal ? 20000 : 1000;
	wet_run_init(&w->run, &setup, ARMED);
	ready.count = 0;
	wet_run_sentences(&w->run, note_sentence, NULL);
	for (int i = 0; i < ready.count; i++)
		must_be_known(recipe, ready.text[i]);
}

/* Hears every cue up to `until`. Texts must be there to be spoken, and fit the name of what comes. */
static void listen_to(struct walk *w, int64_t until)
{
	struct wet_cue cue;
	while (wet_cue_next(&w->run, w->now, &cue) && cue.at_boot_ns <= until) {
		w->now = cue.at_boot_ns;
		const char *stage = w->recipe->stages[cue.stage].name;
		if (cue.text[0] && !is_ready(cue.text)) {
			printf("  %s\n", cue.text);
			wrong("a cue says what was not made ready at arming", stage);
		}
		if (strchr(cue.text, '{') || strchr(cue.text, '}'))
			wrong("braces are spoken", stage);
		if (cue.kind == WET_CUE_NEXT || cue.kind == WET_CUE_POUR_READY) {
			int next = cue.stage + 1 < w->recipe->stage_count ? cue.stage + 1 : -1;
			char lower[WET_LINE_BYTES];
			wet_text_copy(lower, sizeof lower, next >= 0 ? w->recipe->stages[next].name : "");
			if (lower[0] && strstr(cue.text, lower + 1))
				w->is_named[next] = true;
			if (next >= 0 && w->recipe->stages[next].bath >= 0 &&
				!strstr(cue.text, w->recipe->baths[w->recipe->stages[next].bath].place))
				wrong("the place of the next bath is not told", stage);
			w->ready[cue.stage] += cue.kind == WET_CUE_POUR_READY;
		}
		if (cue.kind == WET_CUE_STAND_BY)
			w->is_named[cue.stage] = strstr(cue.text, stage) != NULL;
		if (cue.kind == WET_CUE_CHANGE)
			w->is_changed[cue.stage] = true;
	}
	w->now = until;
}

static bool press(struct walk *w, int kind)
{
	struct wet_event e = { .kind = kind, .boot_ns = w->now, .bath = -1, .number = -1 };
	struct wet_answer a;
	wet_run_try(&w->run, &w->presses, &e, &a);
	if (a.kind == WET_ANSWER_DO)
		wet_run_fold(&w->run, &e);
	else
		printf("%s: refused: %s\n", name, a.text);
	return a.kind == WET_ANSWER_DO;
}

/* The light a stage may have, told from the recipe alone and not by wet_recipe_light. */
static void check_light(const struct walk *w, const struct wet_view *v)
{
	const struct wet_recipe *r = w->recipe;
	bool is_closed = r->vessel_kind == WET_VESSEL_CLOSED_TANK || r->vessel_kind == WET_VESSEL_DRUM;
	bool is_safe = false;
	for (int i = 0; i < v->stage; i++)
		is_safe = is_safe || (is_closed ? r->stages[i].lid_on : i == r->white_after);
	bool is_light_stage = r->stages[v->stage].kind == WET_STAGE_RE_EXPOSE;
	if (is_light_stage && v->phase != WET_PHASE_WAITING && v->light != WET_LIGHT_REQUIRED)
		wrong("re-exposure without white light", r->stages[v->stage].name);
	if (!is_light_stage && v->light != (is_safe ? WET_LIGHT_WHITE : r->paper_light))
		wrong(wet_light_kind_word(v->light), r->stages[v->stage].name);
}

static void check_records(const struct walk *w)
{
	const struct wet_recipe *r = w->recipe;
	struct wet_vessel vessel = test_vessel_of(r);
	for (int i = 0; i < r->stage_count; i++) {
		const struct wet_stage *s = &r->stages[i];
		const struct wet_stage_record *record = &w->run.records[i];
		int64_t took_ns = record->end_ns - record->begin_ns;
		if (!(record->flags & WET_STAGE_DONE))
			wrong("never ended", s->name);
		if (!wet_stage_kind_is_bath(s->kind))
			continue;
		struct wet_times times = wet_stage_times(r, i, &vessel, PIECES);
		if (took_ns < times.aim_ns || took_ns > times.most_ns)
			wrong("took another time than aim to most", s->name);
		if (!w->is_named[i])
			wrong("was not named before it began", s->name);
		if (s->begin == WET_BEGIN_STRAIGHT_ON && !w->is_changed[i])
			wrong("began without a cue", s->name);
	}
}

/* As a person does it: a press where something waits, nothing else. */
static void walk_by_hand(const struct wet_recipe *recipe)
{
	static struct walk w;
	struct wet_view v;
	int64_t due;
	start(&w, recipe, false);
	if (!press(&w, WET_ACT_BEGIN))
		wrong("begin is refused", "ready");
	for (int i = 0; i < MOVES_MAX && w.run.outcome == 0; i++) {
		wet_run_view(&w.run, w.now, &v);
		if (v.stage >= 0)
			check_light(&w, &v);
		if (v.doing[0] == '\0')
			wrong("nothing is told of what to do", recipe->stages[v.stage].name);
		bool is_bath = v.phase == WET_PHASE_POURING || v.phase == WET_PHASE_EARLY || v.phase == WET_PHASE_BETWEEN;
		if (is_bath && v.aim_boot_ns == INT64_MAX) {
			wrong("has no end", recipe->stages[v.stage].name);
			return;
		}
		if (is_bath && v.next_waits) {
			listen_to(&w, v.aim_boot_ns + 3 * S);
			wet_run_advance(&w.run, w.now);
			if (w.ready[v.stage] != 1)
				wrong("its end was not sounded once", recipe->stages[v.stage].name);
			(void)press(&w, WET_ACT_GO);
		} else if (is_bath) {
			if (!wet_run_deadline(&w.run, &due)) {
				wrong("the clock never ends it", recipe->stages[v.stage].name);
				return;
			}
			listen_to(&w, due > w.now ? due : v.aim_boot_ns);
			wet_run_advance(&w.run, w.now);
			if (w.run.pos.stage != v.stage && recipe->stages[w.run.pos.stage].begin == WET_BEGIN_ON_GO)
				wrong("began without the press it waits for", recipe->stages[w.run.pos.stage].name);
		} else {
			listen_to(&w, w.now + 10 * S);
			(void)press(&w, WET_ACT_GO);
		}
	}
	if (w.run.outcome != 1)
		wrong("did not come to its end", recipe->stages[w.run.pos.stage].name);
	check_records(&w);
}

/* The rehearsal presses by itself: after begin nobody touches a key. */
static void walk_by_itself(const struct wet_recipe *recipe)
{
	static struct walk w;
	int64_t due;
	start(&w, recipe, true);
	(void)press(&w, WET_ACT_BEGIN);
	int64_t begun = w.now;
	for (int i = 0; i < MOVES_MAX && w.run.outcome == 0; i++) {
		if (!wet_run_deadline(&w.run, &due)) {
			wrong("the rehearsal stands still", recipe->stages[w.run.pos.stage].name);
			return;
		}
		listen_to(&w, due);
		wet_run_advance(&w.run, w.now);
	}
	if (w.run.outcome != 1)
		wrong("the rehearsal did not end", recipe->stages[w.run.pos.stage].name);
	if (w.now - begun > 24 * 3600 * S / 20)
		wrong("the rehearsal took over a day of its time", "all");
}

int main(void)
{
	static const char *const recipes[] = { WET_SOURCE_DIR "/recipes", NULL }, *const safety[] = {
		WET_SOURCE_DIR "/safety", NULL
	};
	struct wet_shelf *shelf;
	char line[600];
	if (wet_shelf_open(&shelf, recipes, safety) != 0 || wet_shelf_count(shelf) == 0)
		return 2;
	struct wet_fault missing = { 0 };
	if (wet_phrasebook_read(WET_SOURCE_DIR "/daemon/ship/speech/en.json", &english, &missing) != 0) {
		puts(wet_fault_line(&missing, line, sizeof line));
		return 2;
	}
	for (size_t i = 0; i < wet_shelf_fault_count(shelf); i++, bad++)
		puts(wet_fault_line(wet_shelf_fault(shelf, i), line, sizeof line));
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_recipe *r = &wet_shelf_at(shelf, i)->recipe;
		struct wet_vessel vessel = test_vessel_of(r);
		struct wet_fault fault = { 0 };
		name = r->name;
		if (wet_recipe_fit(r, &vessel, PIECES, NULL, NULL, 0, &fault) != 0)
			wrong(wet_fault_line(&fault, line, sizeof line), "does not fit its usual vessel");
		walk_by_hand(r);
		walk_by_itself(r);
	}
	printf("%zu recipes walked\n", wet_shelf_count(shelf));
	wet_phrasebook_free(english);
	wet_shelf_free(shelf);
	return bad != 0;
}
