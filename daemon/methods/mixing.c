/* mixing.c: a solution mixed as a run that leads through it, for real or as a rehearsal. */
#include "methods/inside.h"

#include "base/text.h"
#include "shelf/formula_note.h"

#include <string.h>

/* The formula as it is mixed, with what is owned and at this volume: what goes in decides who must have read its note. */
static struct wet_formula as_mixed(const struct wet_mixing *m)
{
	struct wet_formula f = *m->formula;
	for (int i = 0; i < m->list.step_count; i++) {
		const struct wet_weigh_step *s = &m->list.steps[i];
		if (s->ingredient < 0 || s->kind == WET_WEIGH_PINCH)
			continue;
		f.ingredients[s->ingredient].form = s->form;
		f.ingredients[s->ingredient].amount = s->exact;
	}
	f.makes_ul = m->list.steps[m->list.step_count - 1].shown;
	return f;
}

bool want_mixing(struct wet_call *c, const struct wet_formula *formula, struct wet_arming *arming)
{
	struct wet_mixing *m = &arming->mix;
	m->table = wet_formulary_substances(c->methods->formulary);
	m->formula = formula;
	struct wet_pouring pouring;
	if (!want_weigh_out(c, formula, &m->list, &pouring))
		return false;
	struct wet_formula mixed = as_mixed(m);
	m->needs_acknowledgement = wet_formula_is_hazardous(c->methods->safety, m->table, formula) ||
							   wet_formula_is_hazardous(c->methods->safety, m->table, &mixed);
	arming->is_mix = true;
	arming->pieces = 1;
	return true;
}

void serve_mix(struct wet_call *c)
{
	struct wet_arming arming = {
		.fill_ns = -1, .drain_ns = -1, .stagger_ns = -1, .room_mc = INT32_MIN, .uid = c->uid
	};
	struct wet_fault fault = { 0 };
	char bath[WET_NAME_BYTES] = "";
	const struct wet_formula *formula = want_formula(c);
	if (!formula || !want_mixing(c, formula, &arming) || !want_name(c, "run", arming.run_name, sizeof arming.run_name) ||
		!want_name(c, "room", arming.room, sizeof arming.room) ||
		!want_person(c, arming.person, sizeof arming.person) ||
		!want_name(c, "bottle", arming.mix.called, sizeof arming.mix.called) ||
		!want_name(c, "bath", bath, sizeof bath) || !want_bool(c, "group", &arming.group_controls) ||
		!want_bool(c, "no_beat", &arming.no_beat))
		return;
	if (bath[0] && arming.mix.called[0]) {
		wet_fault_set(&fault, WET_ERR_PARAMS, "bath", bath, "a bottle or a bath: it becomes one of them");
		call_fault(c, &fault);
		return;
	}
	if (bath[0]) {
		arming.mix.is_bath = true;
		wet_text_copy(arming.mix.called, sizeof arming.mix.called, bath);
	}
	arm_and_begin(c, &arming, "title", json_string(formula->title));
}
