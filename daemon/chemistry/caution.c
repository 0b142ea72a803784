/* caution.c: the rules of what must not meet, asked of processes, pots, drains and shelves. */
#include "wetside/caution.h"

#include <string.h>

#define HITS 96 /* before what is met twice is told once; worst first */

const char *wet_caution_needs(const struct wet_caution *c)
{
	return c->override != NULL ? c->override->needs : "";
}

/* -- lists of cautions --------------------------------------------------------------- */

struct list {
	struct wet_caution *cautions;
	int count;
};

static bool is_same(const struct wet_caution *a, const struct wet_caution *b)
{
	return a->rule == b->rule && ((a->first == b->first && a->then == b->then) || (a->first == b->then && a->then == b->first));
}

/* Worst first, and what is as bad in the order in which it comes. One that is there already is only made worse. */
static void keep(struct list *list, const struct wet_caution *c)
{
	int at = list->count;
	for (int i = 0; i < list->count; i++) {
		if (!is_same(&list->cautions[i], c))
			continue;
		if (list->cautions[i].severity >= c->severity)
			return;
		memmove(&list->cautions[i], &list->cautions[i + 1], (size_t)(--list->count - i) * sizeof *c);
		break;
	}
	for (at = list->count; at > 0 && list->cautions[at - 1].severity < c->severity;)
		at--;
	if (at == WET_CAUTIONS)
		return;
	if (list->count < WET_CAUTIONS)
		list->count++;
	memmove(&list->cautions[at + 1], &list->cautions[at], (size_t)(list->count - 1 - at) * sizeof *c);
	list->cautions[at] = *c;
}

/* A note about one bath is news only with its condition. */
static bool is_told(const struct wet_caution *c)
{
	bool is_within = c->meeting == WET_MEETING_BATH || c->meeting == WET_MEETING_MIXING;
	return !is_within || c->severity > WET_SEVERITY_INFORM || wet_caution_needs(c)[0] != '\0';
}

static int kept(int count, int most)
{
	return count < most ? count : most;
}

/* `places` are what the things are places of; NULL: of themselves. */
static void take_hits(struct list *list, const struct wet_hit *hits, int count, const int *places)
{
	for (int i = 0; i < kept(count, HITS); i++) {
		const struct wet_hit *h = &hits[i];
		int low = h->a < h->b ? h->a : h->b, high = h->a < h->b ? h->b : h->a;
		struct wet_caution c = { .rule = h->rule,
								 .override = h->override,
								 .severity = h->severity,
								 .meeting = h->meeting,
								 .first = (int16_t)(places ? places[low] : low),
								 .then = (int16_t)(places ? places[high] : high) };
		if (is_told(&c))
			keep(list, &c);
	}
}

int wet_cautions_among(const struct wet_incompatibility_table *table, enum wet_meeting meeting,
					   const struct wet_thing *things, int thing_count, struct wet_caution ret_cautions[WET_CAUTIONS])
{
	struct wet_hit hits[HITS];
	struct list list = { .cautions = ret_cautions };
	int count;
	(void)wet_incompatibilities_find(table, meeting, things, thing_count, hits, HITS, &count);
	take_hits(&list, hits, count, NULL);
	return list.count;
}

/* -- a process ------------------------------------------------------------------------- */

static struct wet_thing thing_of(const struct wet_contents *c)
{
	return c == NULL ? (struct wet_thing){ .parts = NULL }
					 : (struct wet_thing){ .parts = c->components,
										   .part_count = c->component_count,
										   .states = c->is_dry ? 1u << WET_STATE_DRY : 0 };
}

static struct wet_thing thing_of_stage(const struct wet_process *p, const struct wet_stage *stage)
{
	const struct wet_recipe *r = p->recipe;
	if (r->baths[stage->bath].is_water || stage->kind == WET_STAGE_RINSE || stage->kind == WET_STAGE_WASH)
		return (struct wet_thing){ .classes = WET_REACTION_BIT(WATER), .is_rinse = true };
	struct wet_thing t = thing_of(p->baths[stage->bath]);
	bool is_open = r->vessel_kind == WET_VESSEL_TRAYS || r->vessel_kind == WET_VESSEL_OPEN_TANK;
	if (p->is_stale_air && is_open)
		t.states |= 1u << WET_STATE_STALE_AIR;
	return t;
}

int wet_process_cautions(const struct wet_process *p, struct wet_caution ret_cautions[WET_CAUTIONS])
{
	struct wet_thing things[WET_RECIPE_STAGES], baths[WET_RECIPE_BATHS];
	int places[WET_RECIPE_STAGES], n = 0, count;
	struct wet_hit hits[HITS];
	struct list list = { .cautions = ret_cautions };
	for (int i = 0; i < p->recipe->bath_count; i++)
		baths[i] = thing_of(p->baths[i]);
	for (int i = 0; i < p->recipe->stage_count; i++) {
		if (p->recipe->stages[i].bath < 0)
			continue; /* a look, a lamp: the print brings along what it had */
		places[n] = p->recipe->stages[i].bath;
		things[n++] = thing_of_stage(p, &p->recipe->stages[i]);
	}
	(void)wet_incompatibilities_find(p->table, WET_MEETING_BATH, baths, p->recipe->bath_count, hits, HITS, &count);
	take_hits(&list, hits, count, NULL);
	(void)wet_incompatibilities_find(p->table, WET_MEETING_CARRY_OVER, things, n, hits, HITS, &count);
	take_hits(&list, hits, count, places);
	return list.count;
}

/* -- a list of weighing ------------------------------------------------------------------ */

/* What is in the vessel so far, in milligrams of what the table of hazards has. */
struct pot {
	const struct wet_incompatibility_table *table;
	struct wet_component parts[WET_WEIGH_STEPS];
	double mg[WET_WEIGH_STEPS];
	int count;
	double volume_ul;
	bool is_hot;
};

static struct wet_thing thing_of_pot(struct pot *pot)
{
	for (int i = 0; i < pot->count; i++) {
		double ppm = pot->volume_ul > 0 ? pot->mg[i] / pot->volume_ul * 1e6 : WET_PPM;
		pot->parts[i].share_ppm = ppm >= WET_PPM ? WET_PPM : (int32_t)(ppm + 0.5);
	}
	return (struct wet_thing){ .parts = pot->parts,
							   .part_count = pot->count,
							   .classes = WET_REACTION_BIT(WATER) | (pot->is_hot ? WET_REACTION_BIT(HOT_WATER) : 0),
							   .states = pot->is_hot ? 1u << WET_STATE_WARM : 0 };
}

/* The worst that pouring it in would do. */
static int pour(struct pot *pot, const struct wet_thing *poured, struct wet_hit hits[HITS], int *ret_count)
{
	struct wet_thing things[2] = { thing_of_pot(pot), *poured };
	(void)wet_incompatibilities_find(pot->table, WET_MEETING_MIXING, things, 2, hits, HITS, ret_count);
	return *ret_count > 0 ? hits[0].severity : -1;
}

/* Inhaled, or what it does by touch and dust over the years: what a scoop raised too high gives to who weighs it. */
static bool harms_as_dust(const struct wet_hazards *h)
{
	static const uint8_t endpoints[] = { WET_ENDPOINT_INHALATION, WET_ENDPOINT_AIRWAY,       WET_ENDPOINT_AIRWAY_ALLERGY,
										 WET_ENDPOINT_SKIN_ALLERGY, WET_ENDPOINT_MUTAGEN, WET_ENDPOINT_CARCINOGEN,
										 WET_ENDPOINT_REPRODUCTION, WET_ENDPOINT_ORGAN_REPEATED };
	for (int i = 0; i < h->hazard_count; i++)
		if (memchr(endpoints, wet_hazard_fact(h->hazards[i].kind)->endpoint, sizeof endpoints) != NULL)
			return true;
	return false;
}

static void take_pour(struct list *list, const struct wet_hit *hits, int count, int step)
{
	struct wet_caution cautions[WET_CAUTIONS];
	struct list here = { .cautions = cautions };
	take_hits(&here, hits, count, NULL);
	for (int i = 0; i < here.count; i++) {
		struct wet_caution c = here.cautions[i];
		bool is_news = true;
		for (int k = 0; k < list->count && is_news; k++)
			is_news = list->cautions[k].rule != c.rule || list->cautions[k].severity < c.severity;
		for (int k = list->count - 1; k >= 0 && is_news; k--)
			if (list->cautions[k].rule == c.rule)
				memmove(&list->cautions[k], &list->cautions[k + 1], (size_t)(--list->count - k) * sizeof c);
		c.first = -1;
		c.then = (int16_t)step;
		if (is_news)
			keep(list, &c);
	}
}

static void pour_form(struct pot *pot, const struct wet_contents *in, int step, struct list *list,
					  struct wet_pouring *ret)
{
	struct wet_hit hits[HITS];
	struct wet_contents weaker = *in;
	struct wet_thing poured = thing_of(in);
	int count, worst = pour(pot, &poured, hits, &count);
	bool is_acid = !in->is_dry && (wet_contents_classes(in) & WET_REACTION_BIT(ACID)) != 0;
	if (worst == WET_SEVERITY_FORBID && is_acid) {
		for (int i = 0; i < weaker.component_count; i++)
			weaker.components[i].share_ppm /= 1 + WET_POUR_WATER_PARTS;
		poured = thing_of(&weaker);
		worst = pour(pot, &poured, hits, &count);
		ret->is_diluted[step] = worst < WET_SEVERITY_FORBID;
		if (!ret->is_diluted[step]) { /* no way round: as it is */
			poured = thing_of(in);
			(void)pour(pot, &poured, hits, &count);
		}
	}
	take_pour(list, hits, count, step);
	for (int i = 0; i < in->component_count && in->is_dry; i++)
		ret->is_dust[step] |= harms_as_dust(in->components[i].substance);
}

static void add_to_pot(struct pot *pot, const struct wet_substances *t, const struct wet_weigh_step *s,
					   const struct wet_contents *in)
{
	bool is_liquid = wet_form_is_liquid(&t->forms[s->form]);
	for (int i = 0; i < in->component_count; i++) {
		pot->parts[pot->count].substance = in->components[i].substance;
		pot->mg[pot->count++] = wet_form_pure_mg(&t->forms[s->form], s->exact, in->components[i].substance);
	}
	if (is_liquid)
		pot->volume_ul += (double)s->exact;
}

void wet_pouring_cautions(const struct wet_incompatibility_table *table, const struct wet_hazard_table *hazards,
						  const struct wet_substances *substances, const struct wet_weigh_out *w,
						  struct wet_pouring *ret)
{
	struct pot pot = { .table = table };
	struct wet_hit hits[HITS];
	memset(ret, 0, sizeof *ret);
	struct list list = { .cautions = ret->cautions };
	for (int i = 0; i < w->step_count; i++) {
		const struct wet_weigh_step *s = &w->steps[i];
		struct wet_thing water = { .classes = WET_REACTION_BIT(WATER) };
		struct wet_contents in;
		int count;
		if (s->kind == WET_WEIGH_WATER) {
			pot.volume_ul += (double)s->exact;
			pot.is_hot = s->temperature_mc >= WET_POUR_HOT_MC;
		} else if (s->kind == WET_WEIGH_FILL_UP) {
			(void)pour(&pot, &water, hits, &count);
			take_pour(&list, hits, count, i);
		} else if (s->kind != WET_WEIGH_PINCH) {
			if (s->has_below && s->temperature_mc <= WET_POUR_HOT_MC)
				pot.is_hot = false;
			wet_form_contents(hazards, substances, s->form, &in);
			if (s->kind == WET_WEIGH_STOCK)
				in.is_dry = false; /* a percent solution, made beside */
			pour_form(&pot, &in, i, &list, ret);
			add_to_pot(&pot, substances, s, &in);
		}
	}
	ret->count = list.count;
}
