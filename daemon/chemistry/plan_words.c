/* plan_words.c: a plan for people, and why there is none, with the ways out. */
#include "base/text.h"
#include "chemistry/plan_inside.h"
#include "wetside/quantity.h"

#include <string.h>

static const char *plural(int64_t n)
{
	return n == 1 ? "" : "s";
}

static const char *name_or_number(const char *name, const char *what, int64_t id, char *buf, unsigned n)
{
	return name ? name : wet_text_format(buf, n, "%s %lld", what, (long long)id);
}

/* -- why there is none -------------------------------------------------------- */

static char *next_line(struct wet_plan_refusal *r)
{
	return r->line_count < 4 ? r->lines[r->line_count++] : NULL;
}

static char *say_dilution(const struct wet_plan_solution *s, char *buf, unsigned n)
{
	if (s->said_dilution[0])
		return wet_text_copy(buf, n, s->said_dilution);
	return s->water_milli == 0 ? wet_text_copy(buf, n, "full strength")
							   : wet_print_dilution(s->stock_milli, s->water_milli, buf, n);
}

static bool is_dilution_timed(struct search *k, struct wet_plan_refusal *r)
{
	char parts[32];
	for (int i = 0; i < k->ask->solution_count; i++) {
		const struct wet_plan_solution *s = &k->ask->solutions[i];
		if (s->has_time)
			continue;
		r->rule = WET_PLAN_RULE_TIME;
		r->solution = i;
		wet_text_format(next_line(r), WET_LINE_BYTES,
						"%s: no time is published for %s; take a dilution that has one, or test it as a "
						"recipe of your own",
						s->name, say_dilution(s, parts, sizeof parts));
		return false;
	}
	return true;
}

/* A piece that alone breaks a rule of the vessel. */
static bool is_piece_too_large(struct search *k, struct wet_plan_refusal *r)
{
	const struct wet_plan_vessel *v = &k->ask->vessel;
	char needs[32], holds[32];
	for (int i = 0; i < k->ask->size_count; i++) {
		const struct wet_plan_size *s = &k->ask->sizes[i];
		int one[WET_PLAN_SIZES] = { 0 };
		one[i] = 1;
		if (s->count == 0 || plan_type_fits(k, one))
			continue;
		r->size = i;
		r->rule = WET_PLAN_RULE_FIT;
		if (s->slots > v->slots) {
			wet_text_format(next_line(r), WET_LINE_BYTES,
							"a piece of size %d takes %d slots and the vessel has %d; cut it smaller or take "
							"a larger vessel",
							i + 1, s->slots, v->slots);
			return true;
		}
		if (v->area_mm2 > 0 && s->area_mm2 > v->area_mm2) {
			wet_text_format(next_line(r), WET_LINE_BYTES,
							"a piece of size %d has %lld cm2 and the vessel takes %lld; cut it smaller or "
							"take a larger vessel",
							i + 1, (long long)(s->area_mm2 / 100), (long long)(v->area_mm2 / 100));
			return true;
		}
		r->rule = WET_PLAN_RULE_MOST;
		for (int j = 0; j < k->ask->solution_count; j++)
			if (plan_volume(k, j, s->area_mm2) - plan_most_ul(k->ask, j) > r->short_ul) {
				r->solution = j;
				r->need_ul = plan_volume(k, j, s->area_mm2);
				r->have_ul = plan_most_ul(k->ask, j);
				r->short_ul = r->need_ul - r->have_ul;
			}
		wet_text_format(next_line(r), WET_LINE_BYTES,
						"%s: one piece of size %d takes %s and the vessel holds %s; a stronger dilution or a "
						"larger vessel",
						k->ask->solutions[r->solution].name, i + 1,
						wet_print_volume(r->need_ul, needs, sizeof needs),
						wet_print_volume(r->have_ul, holds, sizeof holds));
		return true;
	}
	return false;
}

static bool is_possible(struct search *k)
{
	plan_begin(k);
	plan_search(k);
	return k->has_best;
}

/* Stock that all pieces take at least of one solution. */
static int64_t whole_need(struct search *k, int solution, int *ret_loads)
{
	const struct wet_plan_solution *s = &k->ask->solutions[solution];
	int64_t area = k->area_mm2 + k->trial_mm2, need = 0;
	int loads = plan_least_loads(k), same = -1;
	*ret_loads = loads + (k->trial_mm2 > 0);
	for (int i = 0; i < k->ask->size_count; i++)
		if (k->counts[i] == k->pieces)
			same = i;
	if (!s->is_one_shot) {
		bool has_none = true;
		for (int i = 0; i < k->ask->working_count; i++)
			if (k->ask->workings[i].solution == solution && plan_is_usable(k, &k->ask->workings[i])) {
				area -= plan_working_left(k, &k->ask->workings[i]);
				has_none = false;
			}
		if (s->has_second && has_none) /* a second behind it, for the smallest load */
			need = plan_stock(s, plan_volume_for(k, solution, 0, k->ask->sizes[k->least_size].area_mm2));
		return need + plan_stock(s, plan_volume(k, solution, area > 0 ? area : 0));
	}
	if (same < 0 || loads > k->pieces)
		return plan_least_need(k, solution, area, *ret_loads) + *ret_loads;
	for (int i = 0; i < loads; i++)
		need += plan_stock(
			s, plan_volume(k, solution,
						   (k->pieces / loads + (i < k->pieces % loads)) * k->ask->sizes[same].area_mm2));
	return need + (k->trial_mm2 > 0 ? plan_stock(s, plan_volume(k, solution, k->trial_mm2)) : 0);
}

/* "old-fixer, 213 days old, keeps 180" for each source that is too old to be counted. */
static void tell_old(const struct search *k, int solution, struct wet_plan_refusal *r)
{
	const struct wet_plan_ask *ask = k->ask;
	char one[WET_LINE_BYTES], number[48], age[24], keeps[24], over[24];
	char *line = NULL;
	for (int i = 0; i < ask->bottle_count + ask->working_count; i++) {
		bool is_bottle = i < ask->bottle_count;
		const struct wet_plan_bottle *b = &ask->bottles[is_bottle ? i : 0];
		const struct wet_plan_working *w = &ask->workings[is_bottle ? 0 : i - ask->bottle_count];
		int64_t age_ns = is_bottle ? b->age_ns : w->age_ns, keeps_ns = is_bottle ? b->keeps_ns : w->keeps_ns;
		if ((is_bottle ? b->solution : w->solution) != solution || age_ns <= keeps_ns)
			continue;
		wet_text_format(one, sizeof one, "%s is %s old and keeps %s, %s too old",
						is_bottle ? name_or_number(b->name, "bottle", b->id, number, sizeof number)
								  : name_or_number(w->name, "working solution", w->id, number, sizeof number),
						wet_print_days(age_ns, age, sizeof age), wet_print_days(keeps_ns, keeps, sizeof keeps),
						wet_print_days(age_ns - keeps_ns, over, sizeof over));
		if (line && strlen(line) + strlen(one) + 3 > WET_LINE_BYTES)
			line = NULL;
		if (line)
			wet_text_append(line, WET_LINE_BYTES, "; %s", one);
		else if ((line = next_line(r)) != NULL)
			wet_text_copy(line, WET_LINE_BYTES, one);
		else
			return;
	}
}

/* The stock that must be missing, since nothing else is. */
static void tell_stock(struct search *k, int solution, struct wet_plan_refusal *r)
{
	const struct wet_plan_solution *s = &k->ask->solutions[solution];
	char lacks[32], has[32], makes[32], parts[32], least[32], needs[32];
	int loads;
	r->solution = solution;
	r->rule = WET_PLAN_RULE_STOCK;
	k->only_solution = solution;
	k->ignores_age = true;
	if (is_possible(k))
		r->rule = WET_PLAN_RULE_AGE;
	k->ignores_age = false;
	k->mixes_lots = true;
	if (is_possible(k))
		r->rule = WET_PLAN_RULE_LOTS;
	k->mixes_lots = false;
	plan_begin(k);
	r->have_ul = k->shelves[solution].stock_ul;
	r->need_ul = whole_need(k, solution, &loads);
	r->short_ul = r->need_ul > r->have_ul ? r->need_ul - r->have_ul : 0;
	wet_print_volume(r->have_ul, has, sizeof has);
	wet_print_volume(r->need_ul, needs, sizeof needs);
	wet_print_volume(plan_least_ul(k->ask, solution), least, sizeof least);
	say_dilution(s, parts, sizeof parts);
	wide whole = (wide)r->have_ul * (s->stock_milli + s->water_milli) / s->stock_milli;
	wet_print_volume((int64_t)whole, makes, sizeof makes);
	if (r->have_ul == 0)
		wet_text_format(next_line(r), WET_LINE_BYTES, "%s: there is none%s; %d load%s %s %s of stock", s->name,
						r->rule == WET_PLAN_RULE_AGE ? " that is fresh enough" : "", loads, plural(loads),
						loads == 1 ? "takes" : "take", needs);
	else if (r->short_ul > 0)
		wet_text_format(next_line(r), WET_LINE_BYTES,
						"%s: %s of stock short: the %s you have make %s at %s; %d load%s %s %s of stock",
						s->name, wet_print_volume(r->short_ul, lacks, sizeof lacks), has, makes, parts, loads,
						plural(loads), loads == 1 ? "takes" : "take", needs);
	else
		wet_text_format(
			next_line(r), WET_LINE_BYTES,
			"%s: the %s of stock you have would do in one bottle, but no way to share it out gives every "
			"bath its share at %s; the vessel needs at least %s",
			s->name, has, parts, least);
	if (r->rule == WET_PLAN_RULE_AGE)
		wet_text_format(next_line(r), WET_LINE_BYTES,
						"%s: there would be enough, were none of it too old for unrepeatable work; test the "
						"old one first",
						s->name);
	if (r->rule == WET_PLAN_RULE_AGE || r->short_ul > 0)
		tell_old(k, solution, r);
	if (r->rule == WET_PLAN_RULE_LOTS)
		wet_text_format(next_line(r), WET_LINE_BYTES,
						"%s: mixing its lots would do; allow it (--mix-lots) if both are known good", s->name);
}

static int largest_left(const struct search *k)
{
	int size = -1;
	for (int i = 0; i < k->ask->size_count; i++)
		if (k->counts[i] > 0 && (size < 0 || k->ask->sizes[i].area_mm2 > k->ask->sizes[size].area_mm2))
			size = i;
	return size;
}

/* Without the `left_out` largest pieces. */
static bool is_possible_without(struct search *k, int left_out)
{
	for (int i = 0; i < k->ask->size_count; i++)
		k->counts[i] = k->ask->sizes[i].count;
	if (k->trial_mm2 > 0)
		k->counts[k->trial_size]--;
	for (int i = 0; i < left_out; i++)
		k->counts[largest_left(k)]--;
	return is_possible(k);
}

/* How many pieces there is a plan for today. */
static void tell_fewer(struct search *k, struct wet_plan_refusal *r)
{
	char least[32];
	plan_begin(k);
	int all = k->pieces, low = 0, high = all; /* without high there is a plan, or nothing is left */
	k->only_solution = -1;
	if (all <= WET_PLAN_EXACT_PIECES) {
		high = 1;
		while (high < all && !is_possible_without(k, high))
			high++;
	}
	while (all > WET_PLAN_EXACT_PIECES && high - low > 1) {
		int middle = low + (high - low) / 2;
		if (is_possible_without(k, middle))
			high = middle;
		else
			low = middle;
	}
	char *line = next_line(r);
	if (line == NULL)
		return;
	wet_print_volume(r->solution < 0 ? k->ask->vessel.least_ul : plan_least_ul(k->ask, r->solution), least, sizeof least);
	if (high >= all || !is_possible_without(k, high)) {
		wet_text_format(line, WET_LINE_BYTES,
						"the vessel needs at least %s: not even one piece can be done today", least);
		return;
	}
	r->pieces_now = all - high;
	r->loads_now = k->best_count;
	wet_text_format(line, WET_LINE_BYTES,
					"the vessel needs at least %s: %d load%s with %d piece%s now, %d piece%s another day",
					least, r->loads_now, plural(r->loads_now), r->pieces_now, plural(r->pieces_now), high,
					plural(high));
}

void plan_refuse(struct search *k, struct wet_plan_refusal *ret_refusal)
{
	struct wet_plan_refusal r = { .solution = -1, .size = -1, .is_proven = k->is_proven };
	char needs[32];
	k->work_most = ASIDE_WORK_MOST;
	k->wants_any = true;
	if (!is_dilution_timed(k, &r) || is_piece_too_large(k, &r)) {
		*ret_refusal = r;
		return;
	}
	for (int i = 0; i < k->ask->solution_count && r.rule == WET_PLAN_RULE_NONE; i++) {
		k->only_solution = i;
		if (!is_possible(k))
			tell_stock(k, i, &r);
	}
	if (r.rule == WET_PLAN_RULE_NONE) {
		r.rule = WET_PLAN_RULE_STOCK;
		wet_text_format(next_line(&r), WET_LINE_BYTES,
						"each solution would do by itself, but no split of the pieces suits all of them");
	}
	k->only_solution = -1;
	if (k->trial_mm2 > 0) {
		int64_t trial = k->trial_mm2;
		k->counts[k->trial_size]++;
		k->trial_mm2 = 0;
		if (is_possible(k))
			wet_text_format(next_line(&r), WET_LINE_BYTES,
							"without the trial load there is a plan of %d load%s", k->best_count,
							plural(k->best_count));
		k->counts[k->trial_size]--;
		k->trial_mm2 = trial;
	}
	tell_fewer(k, &r);
	if (r.short_ul > 0 && r.line_count < 4)
		wet_text_format(next_line(&r), WET_LINE_BYTES, "or bring %s more of it, at least",
						wet_print_volume(r.short_ul, needs, sizeof needs));
	*ret_refusal = r;
}

/* -- the plan ----------------------------------------------------------------- */

struct text {
	char *buf;
	unsigned bytes;
};

static int pieces_in(const struct wet_plan_load *load)
{
	int n = 0;
	for (int i = 0; i < WET_PLAN_SIZES; i++)
		n += load->counts[i];
	return n;
}

static void tell_loads(const struct wet_plan_ask *ask, const struct wet_plan *p, struct text *t)
{
	bool is_even = true;
	for (int i = 1; i < p->load_count; i++)
		is_even = is_even && pieces_in(&p->loads[i]) == pieces_in(&p->loads[0]);
	wet_text_append(t->buf, t->bytes, "%d load%s of ", p->load_count, plural(p->load_count));
	for (int i = 0; i < (is_even && ask->size_count == 1 ? 1 : p->load_count); i++) {
		wet_text_append(t->buf, t->bytes, "%s", i > 0 ? ", " : "");
		for (int j = 0, n = 0; j < ask->size_count; j++)
			if (p->loads[i].counts[j] > 0)
				wet_text_append(t->buf, t->bytes, "%s%d%s%.0d", n++ > 0 ? " and " : "", p->loads[i].counts[j],
								ask->size_count > 1 ? " of size " : "", ask->size_count > 1 ? j + 1 : 0);
		if (p->loads[i].is_trial)
			wet_text_append(t->buf, t->bytes, " (trial)");
	}
}

/* Does a piece take more than one slot? Then slots are shares of the vessel, and no number for people. */
static bool has_unequal_slots(const struct wet_plan_ask *ask)
{
	for (int i = 0; i < ask->size_count; i++)
		if (ask->sizes[i].slots != 1)
			return true;
	return false;
}

/* Why not one load fewer: the slots, or the volume that one more piece would take. */
static void tell_why(const struct wet_plan_ask *ask, const struct wet_plan *p, struct text *t)
{
	struct search k = { .ask = ask, .only_solution = -1 };
	char needs[32], holds[32];
	int64_t slots = 0, area = 0, pieces = 0, most = 0;
	int fewer = p->load_count - 1 - (p->loads[0].is_trial ? 1 : 0), worst = -1;
	for (int i = 0; i < ask->size_count; i++) {
		slots += (int64_t)ask->sizes[i].count * ask->sizes[i].slots;
		area += ask->sizes[i].count * ask->sizes[i].area_mm2;
		pieces += ask->sizes[i].count;
	}
	if (fewer < 1)
		return;
	if (slots > (int64_t)fewer * ask->vessel.slots) {
		if (has_unequal_slots(ask))
			wet_text_append(t->buf, t->bytes, ": the vessel has no room for more in a load");
		else
			wet_text_append(t->buf, t->bytes, ": the vessel has %d slot%s a load", ask->vessel.slots,
							plural(ask->vessel.slots));
		return;
	}
	for (int i = 0; i < ask->solution_count; i++) {
		int64_t volume = plan_volume(&k, i, (area + fewer - 1) / fewer);
		if (volume > plan_most_ul(ask, i) && volume > most) {
			most = volume;
			worst = i;
		}
	}
	if (worst < 0) {
		wet_text_append(t->buf, t->bytes, ": fewer would break a rule of the shelf or the vessel");
		return;
	}
	wet_text_append(t->buf, t->bytes, ": the vessel has room for ");
	if (has_unequal_slots(ask))
		wet_text_append(t->buf, t->bytes, "more");
	else
		wet_text_append(t->buf, t->bytes, "%d", ask->vessel.slots);
	wet_text_append(t->buf, t->bytes, ", but one load of %lld would need %s of %s and it holds %s",
					(long long)((pieces + fewer - 1) / fewer), wet_print_volume(most, needs, sizeof needs),
					ask->solutions[worst].name, wet_print_volume(plan_most_ul(ask, worst), holds, sizeof holds));
}

static void tell_range(struct text *t, int first, int count)
{
	wet_text_append(t->buf, t->bytes, "load%s %d", plural(count), first + 1);
	if (count > 1)
		wet_text_append(t->buf, t->bytes, " to %d", first + count);
}

/* What becomes of it: of two baths, the first and then the second. */
static void tell_end(const struct wet_plan_ask *ask, const struct wet_plan *p, const struct wet_plan_bath *b, struct text *t)
{
	bool is_last = b->first_load + b->load_count == p->load_count;
	const struct wet_plan_working *w = b->working >= 0 ? &ask->workings[b->working] : NULL;
	int64_t keeps_ns = w ? w->keeps_ns - w->age_ns : ask->solutions[b->solution].keeps_ns;
	char keeps[24], age[48] = "";
	if (keeps_ns > 0)
		wet_text_format(age, sizeof age, " and keeps %s%s", wet_print_days(keeps_ns, keeps, sizeof keeps), w ? " more" : "");
	if (ask->solutions[b->solution].has_second && b->is_kept)
		wet_text_append(t->buf, t->bytes, "; keep it as the %s, as the first it bears %lld cm2 more%s\n",
						b->load_count == 0 && b[-1].is_kept ? "second" : "first", (long long)(b->left_mm2 / 100), age);
	else if (b->is_kept)
		wet_text_append(t->buf, t->bytes, "; keep it, it bears %lld cm2 more%s\n", (long long)(b->left_mm2 / 100),
						age);
	else if (ask->solutions[b->solution].has_second && !is_last && b->load_count > 0)
		wet_text_append(t->buf, t->bytes, "; it is spent after load %d: discard it, as local rules say%s\n",
						b->first_load + b->load_count, b[1].load_count > 0 ? "; its second becomes the first" : "");
	else
		wet_text_append(t->buf, t->bytes, "; discard it after that, as local rules say\n");
}

static void tell_bath(const struct wet_plan_ask *ask, const struct wet_plan *p, const struct wet_plan_bath *b,
					  struct text *t)
{
	char volume[32], part[32], source[48];
	wet_text_append(t->buf, t->bytes, "%s, ", ask->solutions[b->solution].name);
	if (b->second_count > 0) {
		wet_text_append(t->buf, t->bytes, "second for ");
		tell_range(t, b->second_load, b->second_count);
	}
	if (ask->solutions[b->solution].has_second && b->load_count > 0)
		wet_text_append(t->buf, t->bytes, "%sfirst for ", b->second_count > 0 ? ", then " : "");
	if (b->load_count > 0)
		tell_range(t, b->first_load, b->load_count);
	wet_print_volume(b->volume_ul, volume, sizeof volume);
	if (b->working >= 0)
		wet_text_append(t->buf, t->bytes, ": %s as it stands, %s",
						name_or_number(ask->workings[b->working].name, "working solution",
									   ask->workings[b->working].id, source, sizeof source),
						volume);
	for (int i = 0; i < b->draw_count; i++) {
		const struct wet_plan_draw *d = &p->draws[b->first_draw + i];
		wet_text_append(t->buf, t->bytes, "%s %s from %s", i == 0 ? ":" : " and",
						wet_print_volume(d->stock_ul, part, sizeof part),
						name_or_number(ask->bottles[d->bottle].name, "bottle", ask->bottles[d->bottle].id, source,
									   sizeof source));
	}
	if (b->water_ul > 0)
		wet_text_append(t->buf, t->bytes, ", %s of water, %s in all",
						wet_print_volume(b->water_ul, part, sizeof part), volume);
	tell_end(ask, p, b, t);
}

/* How far from the best it may be, by the first key that is not proven. */
static void tell_gap(const struct wet_plan *p, struct text *t)
{
	int trial = p->load_count > 0 && p->loads[0].is_trial, loads = p->load_count - trial;
	if (p->is_exact)
		return;
	wet_text_append(t->buf, t->bytes, "not proven best: ");
	if (p->loads_bound < loads)
		wet_text_append(t->buf, t->bytes, "%d loads, and no plan has fewer than %d\n", loads, p->loads_bound);
	else if (p->squares_bound < p->squares)
		wet_text_append(t->buf, t->bytes, "no plan has fewer loads; more even ones there may be, by %.1f %% at most\n",
						100.0 * (double)(p->squares - p->squares_bound) / (double)p->squares);
	else
		wet_text_append(t->buf, t->bytes,
						"no plan has fewer loads or more even ones; the choice of bottles may not be the best\n");
}

char *wet_plan_explain(const struct wet_plan_ask *ask, const struct wet_plan *plan, char *buf,
					   unsigned buf_bytes)
{
	struct text t = { buf, buf_bytes };
	char each[32];
	int64_t between = 0;
	wet_text_format(buf, buf_bytes, "%s", "");
	tell_loads(ask, plan, &t);
	tell_why(ask, plan, &t);
	wet_text_append(buf, buf_bytes, "\n");
	for (int i = 0; i < plan->bath_count; i++)
		tell_bath(ask, plan, &plan->baths[i], &t);
	for (int i = 0; i < WET_BETWEEN_N; i++)
		between += wet_between_ns((enum wet_between_step)i);
	if (plan->load_count > 1) {
		wet_text_append(buf, buf_bytes,
						"between loads, %s each time:", wet_print_duration(between, each, sizeof each));
		for (int i = 0; i < WET_BETWEEN_N; i++)
			wet_text_append(buf, buf_bytes, "%s %s", i > 0 ? ";" : "",
							wet_between_text((enum wet_between_step)i));
		wet_text_append(buf, buf_bytes, "\n");
	}
	if (!ask->wants_trial && (plan->load_count > 1 || pieces_in(&plan->loads[0]) > 1))
		wet_text_append(buf, buf_bytes, "one piece can go first as a trial load of its own: ask for it\n");
	tell_gap(plan, &t);
	return buf;
}
