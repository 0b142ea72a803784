/* incompatibility.c: which rules are met among things. */
#include "wetside/incompatibility.h"

#include "base/text.h"

#include <string.h>

#define WORD(name, word) word,
static const char *const class_words[] = { WET_REACTION_CLASSES(WORD) };
static const char *const meeting_words[] = { WET_MEETINGS(WORD) };
static const char *const severity_words[] = { WET_SEVERITIES(WORD) };
static const char *const state_words[] = { WET_STATES(WORD) };
#undef WORD

const char *wet_reaction_class_word(int reaction_class)
{
	return reaction_class >= 0 && reaction_class < WET_REACTION_N ? class_words[reaction_class] : "";
}

const char *wet_meeting_word(int meeting)
{
	return meeting >= 0 && meeting < WET_MEETING_N ? meeting_words[meeting] : "";
}

const char *wet_severity_word(int severity)
{
	return severity >= 0 && severity < WET_SEVERITY_N ? severity_words[severity] : "";
}

const char *wet_state_word(int state)
{
	return state >= 0 && state < WET_STATE_N ? state_words[state] : "";
}

/* -- parts ------------------------------------------------------------------------------- */

/* A part of a thing; -1 is the thing itself. */
static uint64_t classes_of(const struct wet_thing *t, int part)
{
	return part < 0 ? t->classes : t->parts[part].share_ppm > 0 ? t->parts[part].substance->classes : 0;
}

static uint64_t classes_in(const struct wet_thing *t)
{
	uint64_t all = t->classes;
	for (int i = 0; i < t->part_count; i++)
		all |= classes_of(t, i);
	return all;
}

static bool fits_part(const struct wet_override *o, const struct wet_thing *t, int part)
{
	if (o->classes != 0 && (classes_of(t, part) & o->classes) == 0)
		return false;
	if (o->states != 0 && (t->states & o->states) != o->states)
		return false;
	if (o->substance[0] != '\0' && (part < 0 || strcmp(t->parts[part].substance->key, o->substance) != 0))
		return false;
	if (o->from_ppm == 0 && o->to_ppm == 0)
		return true;
	if (part < 0)
		return false;
	int32_t share = t->parts[part].share_ppm;
	return share >= o->from_ppm && (o->to_ppm == 0 || share <= o->to_ppm);
}

/* -- hits ---------------------------------------------------------------------------------- */

struct search {
	const struct wet_incompatibility_table *table;
	const struct wet_thing *things;
	enum wet_meeting meeting;
	unsigned meetings; /* bits of those whose rules are asked */
	struct wet_hit *hits;
	int hits_max, kept, count;
};

static bool applies(const struct search *s, const struct wet_override *o, const struct wet_hit *hit)
{
	const struct wet_thing *a = &s->things[hit->a], *b = &s->things[hit->b];
	if (o->meetings != 0 && (o->meetings & s->meetings) == 0)
		return false;
	if (o->lacks != 0 && ((classes_in(a) | classes_in(b)) & o->lacks) != 0)
		return false;
	/* Classes of one side only are asked of that side: metabisulfite, poured in as the acid, is no dry sulfite. */
	bool is_of_a = (o->classes & hit->rule->a) != 0, is_of_b = (o->classes & hit->rule->b) != 0;
	return ((is_of_a || !is_of_b) && fits_part(o, a, hit->a_part)) ||
		   ((is_of_b || !is_of_a) && fits_part(o, b, hit->b_part));
}

static void judge(const struct search *s, struct wet_hit *hit)
{
	hit->severity = hit->rule->severity;
	for (int i = 0; i < hit->rule->override_count; i++) {
		const struct wet_override *o = &hit->rule->overrides[i];
		if (applies(s, o, hit)) {
			hit->severity = o->to;
			hit->override = o;
		}
	}
}

/* Is x told before y? Rules are told apart by their place in one table. */
static bool is_before(const struct wet_hit *x, const struct wet_hit *y)
{
	int xa = x->a < x->b ? x->a : x->b, xb = x->a < x->b ? x->b : x->a;
	int ya = y->a < y->b ? y->a : y->b, yb = y->a < y->b ? y->b : y->a;
	if (x->severity != y->severity)
		return x->severity > y->severity;
	if (xa != ya || xb != yb)
		return xa != ya ? xa < ya : xb < yb;
	return x->rule < y->rule;
}

static void keep(struct search *s, const struct wet_hit *hit)
{
	s->count++;
	int at = s->kept;
	while (at > 0 && is_before(hit, &s->hits[at - 1]))
		at--;
	if (at == s->hits_max)
		return;
	int last = s->kept < s->hits_max ? s->kept++ : s->kept - 1;
	for (int i = last; i > at; i--)
		s->hits[i] = s->hits[i - 1];
	s->hits[at] = *hit;
}

/* The worst way in which a part of thing x is one side of the rule and a part of thing y the other. */
static bool worst_of(const struct search *s, const struct wet_incompatibility *rule, int x, int y,
					 struct wet_hit *ret_hit)
{
	bool found = false;
	for (int i = -1; i < s->things[x].part_count; i++) {
		if ((classes_of(&s->things[x], i) & rule->a) == 0)
			continue;
		for (int j = -1; j < s->things[y].part_count; j++) {
			bool is_itself =
				x == y && (i == j || (i >= 0 && j >= 0 &&
									  s->things[x].parts[i].substance == s->things[y].parts[j].substance));
			if (is_itself || (classes_of(&s->things[y], j) & rule->b) == 0)
				continue;
			struct wet_hit hit = {
				.rule = rule, .meeting = (uint8_t)s->meeting, .a = x, .b = y, .a_part = i, .b_part = j
			};
			judge(s, &hit);
			if (!found || hit.severity > ret_hit->severity)
				*ret_hit = hit;
			found = true;
		}
	}
	return found;
}

static bool holds_both(const struct search *s, const struct wet_incompatibility *rule, int thing)
{
	struct wet_hit hit;
	return worst_of(s, rule, thing, thing, &hit);
}

/* Thing y comes to thing x. */
static void meet(struct search *s, int x, int y)
{
	for (int i = 0; i < s->table->count; i++) {
		const struct wet_incompatibility *rule = &s->table->rules[i];
		struct wet_hit there, back;
		if ((rule->meetings & s->meetings) == 0)
			continue;
		bool goes = worst_of(s, rule, x, y, &there);
		bool comes = x != y && !rule->is_ordered && worst_of(s, rule, y, x, &back);
		if (!goes && !comes)
			continue;
		if (s->meeting == WET_MEETING_CARRY_OVER && holds_both(s, rule, x) && holds_both(s, rule, y))
			continue;
		keep(s, !goes || (comes && back.severity > there.severity) ? &back : &there);
	}
}

int wet_incompatibilities_find(const struct wet_incompatibility_table *table, enum wet_meeting meeting,
							   const struct wet_thing *things, int thing_count, struct wet_hit *hits,
							   int hits_max, int *ret_count)
{
	struct search s = { .table = table,
						.things = things,
						.meeting = meeting,
						.meetings = 1u << meeting,
						.hits = hits,
						.hits_max = hits_max };
	if (meeting == WET_MEETING_MIXING) /* what is mixed is one bath then */
		s.meetings |= 1u << WET_MEETING_BATH;
	for (int x = 0; x < thing_count; x++) {
		for (int y = x + 1; y < thing_count; y++) {
			if (meeting == WET_MEETING_BATH || (meeting == WET_MEETING_CARRY_OVER && y > x + 1))
				break;
			if (meeting != WET_MEETING_CARRY_OVER || (!things[x].is_rinse && !things[y].is_rinse))
				meet(&s, x, y);
		}
		if (meeting == WET_MEETING_BATH)
			meet(&s, x, x);
	}
	*ret_count = s.count;
	return WET_OK;
}

/* -- a table --------------------------------------------------------------------------------- */

int wet_incompatibilities_check(const struct wet_incompatibility_table *table, struct wet_fault *reterr)
{
	char where[64];
	for (int i = 0; i < table->count; i++) {
		const struct wet_incompatibility *rule = &table->rules[i];
		for (int j = 0; j < i; j++) {
			if (strcmp(table->rules[j].key, rule->key) != 0)
				continue;
			wet_text_format(where, sizeof where, "/incompatibilities/%d/key", i);
			return wet_fault_set(reterr, WET_ERR_EXISTS, where, rule->key,
								 "a key that no rule before it has");
		}
		if (rule->a == 0 || rule->b == 0 || rule->meetings == 0) {
			wet_text_format(where, sizeof where, "/incompatibilities/%d", i);
			return wet_fault_set(reterr, WET_ERR_INVALID, where, NULL, "two sides and where they meet");
		}
		for (int j = 0; j < rule->override_count; j++) {
			const struct wet_override *o = &rule->overrides[j];
			bool says = o->classes != 0 || o->substance[0] != '\0' || o->from_ppm != 0 || o->to_ppm != 0 ||
						o->states != 0 || o->lacks != 0 || o->meetings != 0;
			bool is_span = o->to_ppm == 0 || o->from_ppm <= o->to_ppm;
			if (says && is_span)
				continue;
			wet_text_format(where, sizeof where, "/incompatibilities/%d/overrides/%d", i, j);
			return wet_fault_set(reterr, WET_ERR_INVALID, where, NULL,
								 says ? "a span that begins below its end" : "when it applies");
		}
	}
	return WET_OK;
}
