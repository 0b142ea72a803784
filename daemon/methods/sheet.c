/* sheet.c: the mixing sheet of a plan. Water first, then the stock into it: that is right for acids too. */
#include "methods/sheet.h"

#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/tempering.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define LINE 256
#define TOLD_MILLI 500 /* a change of strength by rounding is told from half a percent of it on */
#define USUAL_MC 20000 /* baths without a law are mixed to this */

struct sheet {
	const struct wet_planning_request *request;
	const struct wet_planning *p;
	json_t *lines;
};

static void add(const struct sheet *s, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void add(const struct sheet *s, const char *format, ...)
{
	char line[LINE];
	va_list ap;
	va_start(ap, format);
	wet_text_vformat(line, sizeof line, format, ap);
	va_end(ap);
	(void)json_array_append_new(s->lines, json_string(line));
}

/* "480 mL: 4 x 100 mL and 80 mL in tall"; the volume alone where no graduate is known. Returns what is measured. */
static int64_t say_measured(const struct sheet *s, int64_t volume_ul, char *buf, unsigned n)
{
	const struct wet_planning *p = s->p;
	struct wet_measure m;
	struct wet_fault fault = { 0 };
	char a[32], b[32];
	wet_print_volume(volume_ul, buf, n);
	if (p->graduate_count == 0 || volume_ul == 0)
		return volume_ul;
	if (wet_measure(p->graduates, (uint32_t)p->graduate_count, volume_ul, &m, &fault) != 0) {
		wet_text_append(buf, n, " (no graduate of yours measures that: %s)", fault.want);
		return volume_ul;
	}
	wet_print_volume(m.measured_ul, buf, n);
	if (m.full_fills > 0)
		wet_text_append(buf, n, ": %u x %s in %s", m.full_fills,
						wet_print_volume(p->graduates[m.full].capacity_ul, a, sizeof a), p->graduate_names[m.full]);
	if (m.last_ul > 0)
		wet_text_append(buf, n, "%s %s in %s", m.full_fills > 0 ? " and" : ":",
						wet_print_volume(m.last_ul, b, sizeof b), p->graduate_names[m.last]);
	if (m.is_coarse)
		wet_text_append(buf, n, " (its class allows %d.%d %% off)", m.tolerance_milli / 1000,
						m.tolerance_milli % 1000 / 100);
	return m.measured_ul;
}

/* The temperature at which the recipe wants this bath. */
static int32_t wanted_mc(const struct wet_recipe *recipe, int bath)
{
	for (int i = 0; i < recipe->stage_count; i++) {
		const struct wet_stage *stage = &recipe->stages[i];
		if (stage->bath == bath && (stage->law.kind == WET_LAW_FACTOR || stage->law.kind == WET_LAW_TABLE))
			return stage->law.tref_mc;
	}
	return USUAL_MC;
}

/* Hot and cold water that with the stock give the wanted temperature; false: said why not, or nothing was told of them. */
static bool say_tempered(const struct sheet *s, int bath, int64_t total_ul, int64_t stock_ul)
{
	const struct wet_planning_request *q = s->request;
	struct wet_blend blend;
	struct wet_fault fault = { 0 };
	int32_t target_mc = wanted_mc(s->p->recipe, bath);
	char hot[LINE], cold[LINE], t[24], h[24], c[24];
	if (q->hot_mc == INT32_MIN || q->cold_mc == INT32_MIN || stock_ul >= total_ul)
		return false;
	struct wet_blend_ask ask = { .total_ul = total_ul,
								 .target_mc = target_mc,
								 .hot_mc = q->hot_mc,
								 .cold_mc = q->cold_mc,
								 .stock_ul = stock_ul,
								 .stock_mc = q->stock_mc == INT32_MIN ? q->cold_mc : q->stock_mc,
								 .step_ul = s->p->ask.measure_least_ul };
	if (wet_blend(&ask, &blend, &fault) != 0) {
		add(s, "    %s can't be reached: %s", wet_print_temperature(target_mc, t, sizeof t), fault.want);
		return false;
	}
	(void)say_measured(s, blend.hot_ul, hot, sizeof hot);
	(void)say_measured(s, blend.cold_ul, cold, sizeof cold);
	if (blend.hot_ul > 0)
		add(s, "[ ] hot water of %s: %s", wet_print_temperature(q->hot_mc, h, sizeof h), hot);
	if (blend.cold_ul > 0)
		add(s, "[ ] cold water of %s: %s", wet_print_temperature(q->cold_mc, c, sizeof c), cold);
	return true;
}

static void say_draws(const struct sheet *s, const struct wet_planning_part *part, const struct wet_plan_bath *b,
					  int64_t water_ul)
{
	int n = s->p->alike[part->solution];
	int64_t wanted_ul = 0, measured_ul = 0;
	char amount[LINE];
	for (int i = 0; i < b->draw_count; i++) {
		const struct wet_plan_draw *d = &s->p->plan.draws[b->first_draw + i];
		const struct wet_stock *bottle = &s->p->bottles[d->bottle];
		int64_t ul = d->stock_ul / n + (part->among < d->stock_ul % n);
		if (ul == 0)
			continue;
		wanted_ul += ul;
		measured_ul += say_measured(s, ul, amount, sizeof amount);
		add(s, "[ ] %s from %s%s%s, %s", bottle->what, bottle->name, bottle->lot[0] ? ", lot " : "", bottle->lot, amount);
	}
	int32_t off = wet_strength_change_milli(wanted_ul, water_ul, measured_ul, water_ul);
	if (water_ul > 0 && (off >= TOLD_MILLI || off <= -TOLD_MILLI))
		add(s, "    so measured it is %d.%d %% %s than wanted", abs(off) / 1000, abs(off) % 1000 / 100,
			off > 0 ? "stronger" : "weaker");
}

static void say_bath(const struct sheet *s, const struct wet_planning_part *part, const struct wet_plan_bath *b)
{
	const struct wet_planning *p = s->p;
	const struct wet_bath *bath = &p->recipe->baths[part->recipe_bath];
	char volume[32], dilution[32] = "undiluted", loads[32], t[24], amount[LINE];
	bool is_elsewhere = p->washer.id != 0 && p->is_in_washer[part->solution];
	if (bath->mix.water_milli > 0)
		wet_print_dilution(bath->mix.stock_milli, bath->mix.water_milli, dilution, sizeof dilution);
	if (p->plan.load_count == 1)
		loads[0] = '\0';
	else if (b->load_count == 1)
		wet_text_format(loads, sizeof loads, ", load %d", b->first_load + 1);
	else
		wet_text_format(loads, sizeof loads, ", loads %d to %d", b->first_load + 1, b->first_load + b->load_count);
	add(s, "%s (%s)%s: %s, %s, at %s%s%s", bath->name, bath->place, loads,
		wet_print_volume(b->volume_ul, volume, sizeof volume), dilution,
		wet_print_temperature(wanted_mc(p->recipe, part->recipe_bath), t, sizeof t), is_elsewhere ? ", for " : "",
		is_elsewhere ? p->washer.name : "");
	if (b->working >= 0) {
		const struct wet_stock *w = &p->workings[b->working][part->among];
		struct wet_quantity area = { w->area_mm2, WET_UNIT_CM2 };
		add(s, "[ ] take %s as it stands; it has done %s", w->name, wet_print_quantity_about(area, 0, amount, sizeof amount));
		return;
	}
	int n = p->alike[part->solution];
	int64_t stock_ul = b->stock_ul / n + (part->among < b->stock_ul % n), water_ul = b->volume_ul - stock_ul;
	if (water_ul > 0 && !say_tempered(s, part->recipe_bath, b->volume_ul, stock_ul)) {
		(void)say_measured(s, water_ul, amount, sizeof amount);
		add(s, "[ ] water, %s", amount);
	}
	say_draws(s, part, b, water_ul);
	add(s, "[ ] stir; read its temperature; write on it what it is, how strong, and today's day");
}

static void say_load(const struct sheet *s, int load)
{
	const struct wet_planning *p = s->p;
	if (p->plan.load_count > 1) {
		int pieces = 0;
		for (int i = 0; i < p->ask.size_count; i++)
			pieces += p->plan.loads[load].counts[i];
		if (load > 0)
			for (int i = 0; i < WET_BETWEEN_N; i++)
				add(s, "[ ] %s", wet_between_text((enum wet_between_step)i));
		add(s, "LOAD %d: %d piece%s%s", load + 1, pieces, pieces == 1 ? "" : "s",
			p->plan.loads[load].is_trial ? ", as a trial" : "");
	}
	for (int n = 0; n < p->part_count; n++)
		for (int i = 0; i < p->plan.bath_count; i++)
			if (p->plan.baths[i].solution == p->parts[n].solution && p->plan.baths[i].first_load == load)
				say_bath(s, &p->parts[n], &p->plan.baths[i]);
}

/* What was for one load, or bears no more, goes; by local rules. */
static void say_after(const struct sheet *s)
{
	const struct wet_planning *p = s->p;
	for (int n = 0; n < p->part_count; n++)
		for (int i = 0; i < p->plan.bath_count; i++) {
			const struct wet_plan_bath *b = &p->plan.baths[i];
			const struct wet_bath *bath = &p->recipe->baths[p->parts[n].recipe_bath];
			if (b->solution != p->parts[n].solution)
				continue;
			if (b->is_kept)
				add(s, "[ ] keep the %s, closed, named and dated", bath->name);
			else if (bath->mix.regime[0])
				add(s, "[ ] the %s is spent: it holds silver; collect it, never into the drain", bath->name);
			else
				add(s, "[ ] the %s is done with: away as local rules say", bath->name);
		}
}

json_t *wet_mixing_sheet(const struct wet_planning_request *request, const struct wet_planning *planning)
{
	struct sheet s = { request, planning, json_array() };
	if (!s.lines)
		return NULL;
	if (request->hot_mc != INT32_MIN && request->hot_mc > WET_SCALD_MC)
		add(&s, "Hot water scalds: no hands in water over 48 C.");
	add(&s, "Gloves and goggles on, extraction running, white light. Water first, then the stock into it.");
	for (int i = 0; i < planning->plan.load_count; i++)
		say_load(&s, i);
	add(&s, "AFTERWARDS");
	say_after(&s);
	return s.lines;
}
