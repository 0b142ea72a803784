/* pour.c: what to measure and pour for a bath, and what comes of it. */
#include "methods/pour.h"

#include "methods/hazard.h"

#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/tempering.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#define LINE 256
#define TOLD_MILLI 500   /* a change of strength by rounding is told from half a percent of it on */
#define WANTED_MILLI 5000 /* ... and from here on a finer graduate is asked for */
#define TOLD_MC 500      /* a temperature that is further off is told */
#define USUAL_MC 20000   /* baths of a recipe without a law are mixed to this */
#define STAND_MC 10000   /* a bottle is stood in water so much warmer: common practice, no source */
#define STAND_LEAST_MC 2000 /* less than this and it takes an evening */

static bool has_temperature(const struct wet_stage *stage)
{
	return stage->law.kind == WET_LAW_FACTOR || stage->law.kind == WET_LAW_TABLE;
}

int32_t pour_wanted_mc(const struct wet_recipe *recipe, int bath)
{
	int32_t first_mc = INT32_MIN;
	for (int i = 0; i < recipe->stage_count; i++) {
		const struct wet_stage *stage = &recipe->stages[i];
		if (has_temperature(stage) && stage->bath == bath)
			return stage->law.tref_mc;
		if (has_temperature(stage) && first_mc == INT32_MIN)
			first_mc = stage->law.tref_mc;
	}
	return first_mc == INT32_MIN ? USUAL_MC : first_mc;
}

/* -- measuring ----------------------------------------------------------------------- */

/* What the marks say of a volume; the volume itself where no graduate is known, or none measures it. */
static int64_t measured_ul(const struct wet_planning *p, int64_t volume_ul)
{
	struct wet_measure m;
	if (p->graduate_count == 0 || volume_ul == 0 ||
		wet_measure(p->graduates, (uint32_t)p->graduate_count, volume_ul, &m, NULL) != 0)
		return volume_ul;
	return m.measured_ul;
}

/* "480 mL: 4 x 100 mL in tall and 80 mL in tall"; "about" where a part is the rest and ends between two marks. */
static char *print_measured(const struct wet_planning *p, int64_t volume_ul, char *buf, unsigned n)
{
	struct wet_measure m;
	struct wet_fault fault = { 0 };
	char a[32], b[32];
	wet_print_volume(volume_ul, buf, n);
	if (p->graduate_count == 0)
		return buf;
	if (wet_measure(p->graduates, (uint32_t)p->graduate_count, volume_ul, &m, &fault) != 0)
		return wet_text_append(buf, n, " (no graduate of yours measures that: %s)", fault.want);
	if (m.last_ul == volume_ul) {
		wet_text_append(buf, n, " in %s", p->graduate_names[m.last]);
	} else {
		wet_text_append(buf, n, ":%s", m.measured_ul == volume_ul ? "" : " about");
		if (m.full_fills > 0)
			wet_text_append(buf, n, " %u x %s in %s", m.full_fills,
							wet_print_volume(p->graduates[m.full].capacity_ul, a, sizeof a), p->graduate_names[m.full]);
		if (m.last_ul > 0)
			wet_text_append(buf, n, "%s %s in %s", m.full_fills > 0 ? " and" : "",
							wet_print_volume(m.last_ul, b, sizeof b), p->graduate_names[m.last]);
	}
	if (m.is_coarse)
		wet_text_append(buf, n, " (its class allows %d.%d %% off)", m.tolerance_milli / 1000,
						m.tolerance_milli % 1000 / 100);
	return buf;
}

/* -- stock --------------------------------------------------------------------------- */

/* The share of a draw that goes into this one of the baths that are mixed alike. */
static int64_t share_ul(const struct pouring *to, const struct wet_planning_part *part, int64_t all_ul)
{
	int n = to->p->alike[part->solution];
	return all_ul / n + (part->among < all_ul % n);
}

/* Of all draws as measured. */
static int64_t measured_stock_ul(const struct pouring *to, const struct wet_planning_part *part,
								 const struct wet_plan_bath *b)
{
	int64_t sum_ul = 0;
	for (int i = 0; i < b->draw_count; i++)
		sum_ul += measured_ul(to->p, share_ul(to, part, to->p->plan.draws[b->first_draw + i].stock_ul));
	return sum_ul;
}

/* `stock_ul` in all: the last draw makes it up, which it does by itself where all are as measured. */
static void say_draws(const struct pouring *to, const struct wet_planning_part *part, const struct wet_plan_bath *b,
					  int64_t stock_ul)
{
	char amount[LINE];
	int last = b->draw_count - 1;
	while (last > 0 && share_ul(to, part, to->p->plan.draws[b->first_draw + last].stock_ul) == 0)
		last--;
	for (int i = 0; i <= last; i++) {
		const struct wet_plan_draw *d = &to->p->plan.draws[b->first_draw + i];
		const struct wet_stock *bottle = &to->p->bottles[d->bottle];
		int64_t ul = i == last ? stock_ul : measured_ul(to->p, share_ul(to, part, d->stock_ul));
		stock_ul -= ul;
		if (ul > 0)
			line_add(to->lines, "[ ] %s%s%s from %s%s%s, %s", bottle->what, bottle->strength[0] ? " of " : "",
					  bottle->strength, bottle->name, bottle->lot[0] ? ", lot " : "", bottle->lot,
					  print_measured(to->p, ul, amount, sizeof amount));
	}
}

/* -- temperature --------------------------------------------------------------------- */

static bool is_tempered(const struct wet_planning_request *q)
{
	return q->hot_mc != INT32_MIN && q->cold_mc != INT32_MIN;
}

/* As told, or as the room, or as the cold tap; INT32_MIN: nothing is known of it. */
static int32_t stock_mc(const struct wet_planning_request *q)
{
	return q->stock_mc != INT32_MIN ? q->stock_mc : q->room_mc != INT32_MIN ? q->room_mc : q->cold_mc;
}

void pour_stock_temperature(const struct pouring *to)
{
	const struct wet_planning_request *q = to->request;
	char t[24];
	if (!is_tempered(q) || q->stock_mc != INT32_MIN)
		return;
	line_add(to->lines, "Bottles are taken to be as warm as %s, %s: read one, and plan again with --stock if it is not so.",
			  q->room_mc != INT32_MIN ? "the room" : "the cold tap", wet_print_temperature(stock_mc(q), t, sizeof t));
}

/* Hot water, as measured, for the target; and why the target is not reached, else "". */
static int64_t hot_for(const struct pouring *to, const struct wet_blend_ask *ask, char *why, unsigned why_bytes)
{
	struct wet_blend blend;
	struct wet_blend_range range;
	struct wet_fault fault = { 0 };
	int64_t water_ul = ask->total_ul - ask->stock_ul, hot_ul = 0;
	why[0] = '\0';
	if (wet_blend(ask, &blend, &fault) == 0) {
		hot_ul = measured_ul(to->p, blend.hot_ul);
	} else {
		wet_text_copy(why, why_bytes, fault.want);
		if (wet_blend_range(ask, &range, NULL) == 0 && range.reach == WET_BLEND_TOO_WARM)
			hot_ul = water_ul;
	}
	return hot_ul > water_ul ? water_ul : hot_ul;
}

/* Hot and cold water for a bath of which stock_ul is no water; and how warm it comes out, where that is not as wanted. */
static void say_tempered(const struct pouring *to, int64_t total_ul, int64_t stock_ul, int32_t target_mc)
{
	const struct wet_planning_request *q = to->request;
	struct wet_blend_ask ask = { .total_ul = total_ul,
								 .target_mc = target_mc,
								 .hot_mc = q->hot_mc,
								 .cold_mc = q->cold_mc,
								 .stock_ul = stock_ul,
								 .stock_mc = stock_mc(q),
								 .step_ul = 1 };
	char amount[LINE], why[LINE], make[48] = "", t[24];
	int64_t hot_ul = hot_for(to, &ask, why, sizeof why), cold_ul = total_ul - stock_ul - hot_ul;
	int32_t comes_mc;
	if (stock_ul > 0 || (hot_ul > 0 && cold_ul > 0))
		wet_text_format(make, sizeof make, " to make %s", wet_print_volume(total_ul, t, sizeof t));
	if (hot_ul > 0)
		line_add(to->lines, "[ ] hot water of %s%s: %s", wet_print_temperature(q->hot_mc, t, sizeof t),
				  cold_ul > 0 ? "" : make, print_measured(to->p, hot_ul, amount, sizeof amount));
	if (cold_ul > 0)
		line_add(to->lines, "[ ] cold water of %s%s: %s", wet_print_temperature(q->cold_mc, t, sizeof t), make,
				  print_measured(to->p, cold_ul, amount, sizeof amount));
	if (wet_blend_temperature(&ask, hot_ul, &comes_mc, NULL) != 0)
		return;
	wet_print_temperature((comes_mc + 50) / 100 * 100, amount, sizeof amount);
	wet_print_temperature(target_mc, t, sizeof t);
	if (why[0])
		line_add(to->lines, "    it comes to %s, all %s; %s is out of reach: %s", amount, hot_ul > 0 ? "hot" : "cold", t, why);
	else if (abs(comes_mc - target_mc) > TOLD_MC)
		line_add(to->lines, "    so measured it comes to %s, not %s", amount, t);
}

/* "12C", as it may be typed. */
static char *print_typed(int32_t mc, char *buf, unsigned n)
{
	wet_print_temperature(mc, buf, n);
	char *blank = strchr(buf, ' ');
	if (blank)
		memmove(blank, blank + 1, strlen(blank));
	return buf;
}

/* Nothing is poured to it: its bottle must be brought to the temperature. */
static void say_standing(const struct pouring *to, int32_t target_mc)
{
	const struct wet_planning_request *q = to->request;
	int32_t is_mc = q->stock_mc != INT32_MIN || q->room_mc != INT32_MIN || is_tempered(q) ? stock_mc(q) : target_mc;
	char from[24], in[24], want[24];
	if (abs(is_mc - target_mc) <= TOLD_MC)
		return;
	bool is_cold = is_mc < target_mc;
	int32_t end_mc = is_cold ? q->hot_mc : q->cold_mc, in_mc = target_mc + (is_cold ? STAND_MC : -STAND_MC);
	if (end_mc != INT32_MIN && (is_cold ? end_mc < in_mc : end_mc > in_mc))
		in_mc = end_mc;
	wet_print_temperature(is_mc, from, sizeof from);
	wet_print_temperature(target_mc, want, sizeof want);
	if (is_cold ? in_mc < target_mc + STAND_LEAST_MC : in_mc > target_mc - STAND_LEAST_MC) {
		line_add(to->lines, "    it is at %s, and no tap is %s enough to bring it to %s: %s", from, is_cold ? "warm" : "cold",
				  want, is_cold ? "heat some water" : "ice round the bottle");
		return;
	}
	wet_print_temperature(in_mc, in, sizeof in);
	line_add(to->lines, "    it is at %s: in a closed bottle, stand it in water of %s until it reads %s. Read it after 5 min;",
			  from, in, want);
	line_add(to->lines, "    how long in all: wetside blend --bottle %s --in %s --to %s --after 5min --reads T",
			  print_typed(is_mc, from, sizeof from), print_typed(in_mc, in, sizeof in),
			  print_typed(target_mc, want, sizeof want));
}

/* -- a bath -------------------------------------------------------------------------- */

void pour_water(const struct pouring *to, int64_t volume_ul, int32_t target_mc)
{
	char amount[LINE];
	if (is_tempered(to->request))
		say_tempered(to, volume_ul, 0, target_mc);
	else
		line_add(to->lines, "[ ] water, %s", print_measured(to->p, volume_ul, amount, sizeof amount));
}

void pour_bath(const struct pouring *to, const struct wet_planning_part *part, const struct wet_plan_bath *b)
{
	int64_t total_ul = b->volume_ul, wanted_ul = share_ul(to, part, b->stock_ul);
	int64_t stock_ul = measured_stock_ul(to, part, b);
	int32_t target_mc = pour_wanted_mc(to->p->recipe, part->recipe_bath);
	char amount[LINE], make[32];
	if (wanted_ul >= total_ul) { /* undiluted: the last draw makes it up */
		say_draws(to, part, b, total_ul);
		say_standing(to, target_mc);
		return;
	}
	if (stock_ul >= total_ul) /* so coarse that no water would be left */
		stock_ul = wanted_ul;
	if (is_tempered(to->request))
		say_tempered(to, total_ul, stock_ul, target_mc);
	else
		line_add(to->lines, "[ ] water to make %s: %s", wet_print_volume(total_ul, make, sizeof make),
				  print_measured(to->p, total_ul - stock_ul, amount, sizeof amount));
	say_draws(to, part, b, stock_ul);
	int32_t off = wet_strength_change_milli(wanted_ul, total_ul - wanted_ul, stock_ul, total_ul - stock_ul);
	int tenths = (abs(off) + 50) / 100;
	if (abs(off) >= TOLD_MILLI)
		line_add(to->lines, "    so measured it is %d.%d %% %s than wanted%s", tenths / 10, tenths % 10,
				  off > 0 ? "stronger" : "weaker", abs(off) >= WANTED_MILLI ? ": a finer graduate is needed" : "");
}
