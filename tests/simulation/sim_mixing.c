/* sim_mixing.c: every formula on the shelf mixed as a run, at odd volumes and with every other form of each substance that
 * somebody could own: as text for the ledger and back, then from begin to end on virtual time, once as a person presses,
 * once as the rehearsal presses its own keys. Amounts and their order are held against the weigh-out list. */
#include "base/text.h"
#include "formula_files.h"
#include "shelf/mixing.h"
#include "wetside/cues.h"
#include "wetside/quantity.h"
#include "wetside/run.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define S WET_NS_PER_S
#define ARMED (1000 * S)
#define MOVES_MAX 400

static char name[160]; /* of what is under test */
static int bad, mixes;

static void wrong(const char *what, const char *where)
{
	printf("%s: %s: %s\n", name, where, what);
	bad++;
}

struct walk {
	const struct wet_recipe *recipe;
	struct wet_run run;
	struct wet_presses presses;
	int64_t now;
	int told[WET_RECIPE_STAGES];  /* times its line was heard before it was done */
	int ready[WET_RECIPE_STAGES]; /* times its end was heard */
	int begun[WET_RECIPE_STAGES]; /* times a key's answer began it */
};

static void start(struct walk *w, const struct wet_recipe *recipe, bool is_rehearsal)
{
	struct wet_run_setup setup = {
		.recipe = recipe, .pieces = 1, .tolerance_mc = 500, .is_rehearsal = is_rehearsal, .rules_version = WET_RULES_VERSION
	};
	struct wet_fault fault = { 0 };
	char line[400];
	memset(w, 0, sizeof *w);
	w->recipe = recipe;
	w->now = ARMED;
	setup.vessel.kind = recipe->vessel_kind;
	setup.washer.kind = WET_VESSEL_WASHER;
	for (int i = 0; i < WET_STAGE_KIND_N; i++)
		setup.rate_milli[i] = is_rehearsal ? 5000 : 1000; /* faster, an answer would be left out for what stands by */
	if (wet_recipe_fit(recipe, &setup.vessel, 1, NULL, NULL, 0, &fault) != 0)
		wrong(wet_fault_line(&fault, line, sizeof line), "does not fit");
	wet_run_init(&w->run, &setup, ARMED);
}

static void listen_to(struct walk *w, int64_t until)
{
	struct wet_cue cue;
	while (wet_cue_next(&w->run, w->now, &cue) && cue.at_boot_ns <= until) {
		const struct wet_stage *s = &w->recipe->stages[cue.stage];
		w->now = cue.at_boot_ns;
		if (cue.text[0] == '\0' && cue.kind != WET_CUE_BEAT && cue.kind != WET_CUE_COUNT)
			wrong(wet_cue_word(cue.kind), "a cue without a word");
		if (cue.kind == WET_CUE_CHANGE || cue.kind == WET_CUE_POUR_OUT || cue.kind == WET_CUE_LIGHTS ||
			strstr(cue.text, "piece") || strstr(cue.text, "Pour out"))
			wrong(cue.text[0] ? cue.text : wet_cue_word(cue.kind), "as if something were developed");
		w->told[cue.stage] += strcmp(cue.text, s->say) == 0;
		w->ready[cue.stage] += cue.kind == WET_CUE_POUR_READY && strstr(cue.text, s->name) != NULL;
		w->begun[cue.stage] += cue.kind == WET_CUE_KEY && strstr(cue.text, s->agitation.how) != NULL;
		if (cue.kind == WET_CUE_BEAT && !s->agitation.is_continuous)
			wrong("a beat where nothing is stirred", s->name);
	}
	w->now = until;
}

static bool press(struct walk *w, int kind, char *text)
{
	struct wet_event e = { .kind = kind, .boot_ns = w->now, .bath = -1, .number = -1 };
	struct wet_answer a;
	wet_run_try(&w->run, &w->presses, &e, &a);
	wet_text_copy(text, WET_LINE_BYTES, a.text);
	if (a.kind == WET_ANSWER_DO)
		wet_run_fold(&w->run, &e);
	else
		wrong(a.text, "refused");
	return a.kind == WET_ANSWER_DO;
}

static void check_records(const struct walk *w, bool by_hand)
{
	for (int i = 0; i < w->recipe->stage_count; i++) {
		const struct wet_stage *s = &w->recipe->stages[i];
		const struct wet_stage_record *r = &w->run.records[i];
		bool is_timed = wet_stage_kind_is_bath(s->kind);
		if (!(r->flags & WET_STAGE_DONE))
			wrong("never ended", s->name);
		if (by_hand && w->told[i] < 1)
			wrong("was not told before it was done", s->name);
		if (!is_timed)
			continue;
		if (r->end_ns - r->begin_ns < s->aim_ns || r->end_ns - r->begin_ns > s->most_ns)
			wrong("took another time than aim to most", s->name);
		if (w->ready[i] != 1)
			wrong("its end was not sounded once", s->name);
	}
}

/* As a person does it: listens ten seconds, then presses; where something is timed, when its end was heard. */
static void walk_by_hand(const struct wet_recipe *recipe)
{
	static struct walk w;
	struct wet_view v;
	char text[WET_LINE_BYTES];
	start(&w, recipe, false);
	(void)press(&w, WET_ACT_BEGIN, text);
	for (int i = 0; i < MOVES_MAX && w.run.outcome == 0; i++) {
		wet_run_view(&w.run, w.now, &v);
		if (v.light != WET_LIGHT_WHITE || v.is_paper_open)
			wrong(wet_light_kind_word(v.light), "the light");
		bool is_live = v.phase == WET_PHASE_EARLY || v.phase == WET_PHASE_BETWEEN;
		if (v.doing[0] == '\0' || (!is_live && strcmp(v.doing, recipe->stages[v.stage].say) != 0))
			wrong("what to do now is not its line", recipe->stages[v.stage].name);
		if (is_live && (v.left[0] == '\0' || !strstr(v.doing, recipe->stages[v.stage].agitation.how)))
			wrong("neither how nor how long is told", recipe->stages[v.stage].name);
		listen_to(&w, is_live ? v.aim_boot_ns + 3 * S : w.now + 10 * S);
		if (!press(&w, WET_ACT_GO, text))
			return;
		wet_run_view(&w.run, w.now, &v);
		bool is_waiting = v.phase == WET_PHASE_WAITING || v.phase == WET_PHASE_HANDLING;
		if (is_waiting && strcmp(text, recipe->stages[v.stage].say) != 0)
			wrong("the press is not answered with the next line", recipe->stages[v.stage].name);
		if (v.phase == WET_PHASE_EARLY && !strstr(text, recipe->stages[v.stage].agitation.how))
			wrong("the press is not answered with how to go on", recipe->stages[v.stage].name);
	}
	if (w.run.outcome != 1)
		wrong("did not come to its end", recipe->stages[w.run.pos.stage].name);
	check_records(&w, true);
}

/* After begin nobody touches a key. */
static void walk_by_itself(const struct wet_recipe *recipe)
{
	static struct walk w;
	int64_t due;
	char text[WET_LINE_BYTES];
	start(&w, recipe, true);
	(void)press(&w, WET_ACT_BEGIN, text);
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
	check_records(&w, false);
	for (int i = 0; i < recipe->stage_count; i++)
		if (wet_stage_kind_is_bath(recipe->stages[i].kind) && w.begun[i] != 1)
			wrong("its begin was not sounded once", recipe->stages[i].name);
}

/* Each amount of the list is said, in the list's order; what must be cool is cooled straight before. */
static void check_lines(const struct wet_mixing *m, const struct wet_recipe *recipe)
{
	int at = 0;
	char amount[32], form[WET_NAME_BYTES + 16];
	for (int i = 0; i < m->list.step_count; i++) {
		const struct wet_weigh_step *s = &m->list.steps[i];
		bool is_mass = s->kind == WET_WEIGH_MASS, is_pinch = s->kind == WET_WEIGH_PINCH;
		if (is_mass)
			wet_print_mass(s->shown, amount, sizeof amount);
		else
			wet_print_volume(s->shown, amount, sizeof amount);
		const char *what = s->ingredient < 0 ? "ater" : m->table->forms[s->form].name + 1; /* its first letter is a capital */
		wet_text_format(form, sizeof form, "%s", what);
		while (at < recipe->stage_count && !(strstr(recipe->stages[at].say, form) &&
											 !strstr(recipe->stages[at].say, "First a ") &&
											 (is_pinch ? strstr(recipe->stages[at].say, "pinch") != NULL
													   : strstr(recipe->stages[at].say, amount) != NULL)))
			at++;
		if (at == recipe->stage_count) {
			wrong(amount, what);
			return;
		}
		const char *before = at > 0 ? recipe->stages[at - 1].say : "";
		if (s->has_below && !strstr(before, "below"))
			wrong("nothing is read or cooled before it", what);
		if (s->kind == WET_WEIGH_STOCK) {
			bool is_made = false;
			for (int j = 0; j < at; j++)
				is_made = is_made || (strstr(recipe->stages[j].say, "First a ") && strstr(recipe->stages[j].say, form));
			if (!is_made)
				wrong("its percent solution is not made before", what);
		}
		at++;
	}
	for (int i = 0; i < recipe->stage_count; i++) {
		const char *say = recipe->stages[i].say;
		size_t n = strlen(say);
		if (n < 10 || say[n - 1] != '.' || n >= WET_LINE_BYTES - 1)
			wrong(say, "a line that is cut");
	}
}

static void mix_it(const struct wet_formula *f, int64_t make_ul, int owned)
{
	static struct wet_recipe recipe;
	struct wet_mixing m = { .table = test_substances(), .formula = f };
	struct wet_formula_want want = { .make_ul = make_ul, .scale_step_mg = 100, .measure_step_ul = 500 };
	struct wet_fault fault = { 0 };
	char *json = NULL, line[400], volume[32];
	size_t bytes = 0;
	wet_text_format(name, sizeof name, "%s, %s%s%s", f->name, wet_print_volume(make_ul, volume, sizeof volume),
					owned >= 0 ? ", " : "", owned >= 0 ? m.table->forms[owned].key : "");
	wet_text_copy(m.called, sizeof m.called, "creek");
	if (owned >= 0) {
		want.owned[0] = (uint8_t)owned;
		want.owned_count = 1;
	}
	int rc = wet_formula_compute(m.table, f, &want, &m.list, &fault);
	if (rc == WET_ERR_RANGE) { /* too little to weigh on a kitchen scale: with a better one */
		want.scale_step_mg = want.measure_step_ul = 10;
		rc = wet_formula_compute(m.table, f, &want, &m.list, &fault);
	}
	if (rc == WET_ERR_REFUSED && owned >= 0)
		return; /* no room for water: told, and no run */
	if (rc != 0) {
		wrong(wet_fault_line(&fault, line, sizeof line), "weigh-out");
		return;
	}
	if (wet_mixing_text(&m, &json, &bytes, &fault) != 0 || wet_mixing_decode(json, bytes, "ledger", &recipe, &fault) != 0) {
		wrong(wet_fault_line(&fault, line, sizeof line), "as text and back");
		free(json);
		return;
	}
	free(json);
	mixes++;
	if (!wet_recipe_is_mix(&recipe) || recipe.makes.volume_ul != make_ul || strcmp(recipe.makes.what, f->name) != 0)
		wrong("makes something else", "product");
	check_lines(&m, &recipe);
	walk_by_hand(&recipe);
	walk_by_itself(&recipe);
}

int main(void)
{
	static const int64_t volumes_ul[] = { 250000, 1000000, 3700000 };
	const struct wet_substances *table = test_substances();
	int plain = 0;
	for (const char *const *n = test_formula_names(); *n != NULL; n++) {
		const struct wet_formula *f = test_formula(*n);
		mix_it(f, f->makes_ul, -1);
		plain++;
		for (size_t v = 0; v < sizeof volumes_ul / sizeof volumes_ul[0]; v++) {
			int before = mixes;
			mix_it(f, volumes_ul[v], -1);
			if (mixes == before)
				wrong("can't be mixed at this volume", f->name);
			for (int i = 0; i < f->ingredient_count; i++)
				for (int form = 0; form < table->form_count && !f->ingredients[i].is_pinch; form++)
					if (form != f->ingredients[i].form &&
						table->forms[form].substance == table->forms[f->ingredients[i].form].substance)
						mix_it(f, volumes_ul[v], form);
		}
	}
	printf("%d formulas mixed %d times\n", plain, mixes);
	return bad != 0 || plain < 13 || mixes < 4 * plain;
}
