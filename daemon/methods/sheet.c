/* sheet.c: the mixing sheet of a plan. Water first, then the stock into it: that is right for acids too. */
#include "methods/sheet.h"

#include "methods/caution.h"
#include "methods/hazard.h"
#include "methods/pour.h"

#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/tempering.h"


#define LINE 256

struct sheet {
	const struct wet_planning_request *request;
	const struct wet_planning *p;
	const struct wet_sheet_care *care;
	json_t *lines;
};

#define add(s, ...) line_add((s)->lines, __VA_ARGS__)

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
		wet_print_temperature(pour_wanted_mc(p->recipe, part->recipe_bath), t, sizeof t), is_elsewhere ? ", for " : "",
		is_elsewhere ? p->washer.name : "");
	if (b->working >= 0) {
		const struct wet_stock *w = &p->workings[b->working][part->among];
		struct wet_quantity area = { w->area_mm2, WET_UNIT_CM2 };
		add(s, "[ ] take %s as it stands; it has done %s", w->name, wet_print_quantity_about(area, 0, amount, sizeof amount));
		return;
	}
	pour_bath(&(struct pouring){ s->request, p, s->lines }, part, b);
	if (bath->mix.water_milli > 0 && s->care->shelved && (s->care->shelved->judged.acid & 1u << part->recipe_bath))
		add(s, "    it holds acid: into the water, slowly, never water onto it");
	add(s, "[ ] stir; read its temperature; write on it what it is, how strong, and today's day");
}

/* Water for the rinses in the vessel, which are to be as warm as the developer. */
static void say_rinses(const struct sheet *s, int load)
{
	const struct wet_planning *p = s->p;
	const struct wet_recipe *r = p->recipe;
	char volume[32], t[24], loads[32] = "";
	for (int bath = 0; bath < r->bath_count; bath++) {
		int fills = 0;
		for (int i = 0; i < r->stage_count; i++)
			fills += r->stages[i].bath == bath && r->stages[i].kind == WET_STAGE_RINSE && !r->stages[i].in_washer;
		if (fills == 0 || !r->baths[bath].is_water)
			continue;
		int32_t target_mc = pour_wanted_mc(r, bath);
		int64_t volume_ul = p->vessel.least_ul * fills;
		if (p->plan.load_count > 1)
			wet_text_format(loads, sizeof loads, ", load %d", load + 1);
		add(s, "%s (%s)%s: %s for %d rinse%s, at %s", r->baths[bath].name, r->baths[bath].place, loads,
			wet_print_volume(volume_ul, volume, sizeof volume), fills, fills == 1 ? "" : "s",
			wet_print_temperature(target_mc, t, sizeof t));
		pour_water(&(struct pouring){ s->request, p, s->lines }, volume_ul, target_mc);
	}
}

/* What was for one load, or bears no more, goes after the load that was its last; by local rules, and not all of it down
 * one drain. */
static void say_done_with(const struct sheet *s, int load)
{
	const struct wet_planning *p = s->p;
	const struct wet_shelf_recipe *shelved = s->care->shelved;
	unsigned discarded = 0, silver = shelved ? wet_silver_baths(shelved) : 0;
	for (int n = 0; n < p->part_count; n++)
		for (int i = 0; i < p->plan.bath_count; i++) {
			const struct wet_plan_bath *b = &p->plan.baths[i];
			const struct wet_bath *bath = &p->recipe->baths[p->parts[n].recipe_bath];
			if (b->solution != p->parts[n].solution || b->first_load + b->load_count - 1 != load)
				continue;
			unsigned bit = 1u << p->parts[n].recipe_bath;
			discarded |= b->is_kept ? 0 : bit;
			if (b->is_kept)
				add(s, "[ ] keep the %s, closed, named and dated", bath->name);
			else if (silver & bit)
				add(s, "[ ] the %s is spent: it holds silver; into its marked bottle, never into the drain", bath->name);
			else
				add(s, "[ ] the %s is done with: away as local rules say", bath->name);
		}
	if (shelved)
		wet_discard_lines(p->recipe, s->care->formulary, s->care->safety, discarded, silver, s->lines);
	if (shelved && load == p->plan.load_count - 1)
		wet_cleaner_line(p->recipe, s->care->formulary, s->care->safety, s->lines);
}

static void say_between(const struct sheet *s, enum wet_between_step first, enum wet_between_step end)
{
	for (int i = first; i < (int)end; i++)
		add(s, "[ ] %s", wet_between_text((enum wet_between_step)i));
}

/* Between loads what is spent goes first; the next baths are mixed with wet hands, and read when hands are dry. */
static void say_load(const struct sheet *s, int load)
{
	const struct wet_planning *p = s->p;
	if (load > 0) {
		add(s, "BETWEEN LOAD %d AND LOAD %d", load, load + 1);
		say_done_with(s, load - 1);
		say_between(s, WET_BETWEEN_LEAVE, WET_BETWEEN_HANDS);
	}
	if (p->plan.load_count > 1) {
		int pieces = 0;
		for (int i = 0; i < p->ask.size_count; i++)
			pieces += p->plan.loads[load].counts[i];
		add(s, "LOAD %d: %d piece%s%s", load + 1, pieces, pieces == 1 ? "" : "s",
			p->plan.loads[load].is_trial ? ", as a trial" : "");
	}
	for (int n = 0; n < p->part_count; n++)
		for (int i = 0; i < p->plan.bath_count; i++)
			if (p->plan.baths[i].solution == p->parts[n].solution && p->plan.baths[i].first_load == load)
				say_bath(s, &p->parts[n], &p->plan.baths[i]);
	say_rinses(s, load);
	if (load > 0)
		say_between(s, WET_BETWEEN_HANDS, WET_BETWEEN_N);
}

json_t *wet_mixing_sheet(const struct wet_planning_request *request, const struct wet_planning *planning,
						 const struct wet_sheet_care *care)
{
	struct sheet s = { request, planning, care, json_array() };
	if (!s.lines)
		return NULL;
	if (request->hot_mc != INT32_MIN && request->hot_mc > WET_SCALD_MC)
		add(&s, "Hot water scalds: no hands in water over 48 C.");
	add(&s, "Gloves and goggles on, extraction running, white light. Water first, then the stock into it.");
	add(&s, "The parts sum to the volume named: water makes it up. Where it stands lower at the end, fill up with water.");
	pour_stock_temperature(&(struct pouring){ request, planning, s.lines });
	for (int i = 0; i < planning->plan.load_count; i++)
		say_load(&s, i);
	add(&s, "AFTERWARDS");
	say_done_with(&s, planning->plan.load_count - 1);
	return s.lines;
}
