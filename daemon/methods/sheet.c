/* sheet.c: the mixing sheet of a plan. Water first, then the stock into it: that is right for acids too. */
#include "methods/sheet.h"

#include "methods/caution.h"
#include "methods/hazard.h"
#include "methods/pour.h"

#include "base/text.h"
#include "wetside/capacity.h"
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

/* " (bottle three, one band), loads 2 to 4" */
static void say_place(const struct sheet *s, const struct wet_planning_part *part, int first, int count, char *buf, unsigned n)
{
	wet_text_format(buf, n, "%s (%s)", s->p->recipe->baths[part->recipe_bath].name, s->p->recipe->baths[part->recipe_bath].place);
	if (s->p->plan.load_count > 1 && count == 1)
		wet_text_append(buf, n, ", load %d", first + 1);
	else if (s->p->plan.load_count > 1)
		wet_text_append(buf, n, ", loads %d to %d", first + 1, first + count);
}

static void say_done(const struct wet_stock *w, char *buf, unsigned n)
{
	char first[48], second[48];
	wet_stock_print_area(w->area_mm2, first, sizeof first);
	if (w->second_mm2 > 0)
		wet_text_format(buf, n, "%s as first, %s as second", first, wet_stock_print_area(w->second_mm2, second, sizeof second));
	else
		wet_text_copy(buf, n, first);
}

/* A bath that is taken or mixed for loads from `first` on. */
static void say_bath(const struct sheet *s, const struct wet_planning_part *part, const struct wet_plan_bath *b, int first,
					 int count)
{
	const struct wet_planning *p = s->p;
	const struct wet_bath *bath = &p->recipe->baths[part->recipe_bath];
	const struct wet_stock *w = wet_planning_working(p, part, b);
	char volume[32], dilution[32] = "undiluted", place[LINE], t[24], amount[LINE];
	bool is_elsewhere = p->washer.id != 0 && p->is_in_washer[part->solution];
	if (bath->mix.water_milli > 0)
		wet_print_dilution(bath->mix.stock_milli, bath->mix.water_milli, dilution, sizeof dilution);
	say_place(s, part, first, count, place, sizeof place);
	add(s, "%s: %s, %s, at %s%s%s", place, wet_print_volume(b->volume_ul, volume, sizeof volume), dilution,
		wet_print_temperature(pour_wanted_mc(p->recipe, part->recipe_bath), t, sizeof t), is_elsewhere ? ", for " : "",
		is_elsewhere ? p->washer.name : "");
	if (w) {
		say_done(w, amount, sizeof amount);
		add(s, "[ ] take %s as it stands%s; it has done %s", w->name,
			part->among == 0 && w->area_mm2 == 0 && w->second_mm2 > 0 ? ", which was the second" : "", amount);
		return;
	}
	pour_bath(&(struct pouring){ s->request, p, s->lines }, part, b);
	if (bath->mix.water_milli > 0 && s->care->shelved && (s->care->shelved->judged.acid & 1u << part->recipe_bath))
		add(s, "    it holds acid: into the water, slowly, never water onto it");
	if (p->ask.solutions[part->solution].has_second && s->request->keep[0])
		add(s, "[ ] stir; read its temperature; write on it its name, %s, how strong, and today's day",
			wet_planning_bath_name(s->request, p, b, amount, sizeof amount));
	else
		add(s, "[ ] stir; read its temperature; write on it what it is, how strong, and today's day");
}

/* -- two fixers ---------------------------------------------------------------------- */

#define SILVER "it holds silver; into its marked bottle, never into the drain"

static int64_t counted(const struct wet_plan_solution *solution, const struct wet_plan_working *w)
{
	const struct wet_fix_bath done = { w->used_mm2, w->second_mm2 };
	return wet_fix_bath_counted(&done, solution->second_share_ppm);
}

/* Those that stand there and have done more than the first of this plan, or may be used no more: their time is over. */
static void say_passed_over(const struct sheet *s, const struct wet_planning_part *part, const struct wet_plan_bath *first)
{
	const struct wet_planning *p = s->p;
	const struct wet_plan_solution *solution = &p->ask.solutions[part->solution];
	for (int i = 0; i < p->working_count; i++) {
		const struct wet_plan_working *w = &p->plan_workings[i];
		bool is_used = false;
		for (int n = 0; n < p->plan.bath_count; n++)
			is_used = is_used || p->plan.baths[n].working == i;
		if (is_used || w->solution != part->solution)
			continue;
		const struct wet_plan_working *taken = first->working >= 0 ? &p->plan_workings[first->working] : NULL;
		int64_t done_mm2 = counted(solution, w), first_mm2 = taken ? counted(solution, taken) : 0;
		const char *why = NULL;
		if (w->age_ns > w->keeps_ns)
			why = "is too old";
		else if (w->rotations > solution->rotations_most)
			why = "was rotated often enough";
		else if (w->volume_ul >= p->ask.vessel.least_ul && done_mm2 > first_mm2)
			why = "is spent: it can't take load 1";
		if (why)
			add(s, "[ ] %s %s; " SILVER "; then: wetside bath discard \"%s\"", w->name, why, w->name);
	}
}

/* A first in its place from this load on: it begins a pair, or was the second until now. */
static void say_first(const struct sheet *s, const struct wet_planning_part *part, const struct wet_plan_bath *b)
{
	char name[WET_NAME_BYTES], place[LINE];
	if (b->second_count == 0) {
		if (b->first_load == 0)
			say_passed_over(s, part, b);
		say_bath(s, part, b, b->first_load, b->load_count);
		return;
	}
	say_place(s, part, b->first_load, b->load_count, place, sizeof place);
	add(s, "%s: %s, which was the second", place, wet_planning_bath_name(s->request, s->p, b, name, sizeof name));
	add(s, "[ ] %s takes the first fixer's place", name);
}

static void say_pair(const struct sheet *s, const struct wet_planning_part *part, int load)
{
	const struct wet_planning *p = s->p;
	for (int i = 0; i < p->plan.bath_count; i++) {
		const struct wet_plan_bath *b = &p->plan.baths[i];
		if (b->solution != part->solution)
			continue;
		if (part->among == 0 && b->load_count > 0 && b->first_load == load)
			say_first(s, part, b);
		if (part->among == 1 && b->second_count > 0 && b->second_load == load)
			say_bath(s, part, b, b->second_load, b->second_count);
	}
}

/* The end of a first, with the second behind it; false: it is not discarded. */
static bool say_pair_end(const struct sheet *s, const struct wet_plan_bath *first)
{
	const struct wet_plan_bath *second = first + 1;
	bool is_last = first->first_load + first->load_count == s->p->plan.load_count;
	char a[WET_NAME_BYTES], b[WET_NAME_BYTES], left[48];
	wet_planning_bath_name(s->request, s->p, first, a, sizeof a);
	wet_planning_bath_name(s->request, s->p, second, b, sizeof b);
	if (first->is_kept) {
		add(s, "[ ] keep %s, closed, named and dated: the first fixer next time too; it bears %s more", a,
			wet_stock_print_area(first->left_mm2, left, sizeof left));
		add(s, "[ ] keep %s with it: the second fixer", b);
	} else if (is_last && second->is_kept) {
		add(s, "[ ] %s is spent: " SILVER "; then: wetside bath discard \"%s\"", a, a);
		add(s, "[ ] keep %s, closed, named and dated: the first fixer next time; it bears %s", b,
			wet_stock_print_area(second->left_mm2, left, sizeof left));
	} else if (second->load_count > 0) {
		add(s, "[ ] %s is spent: " SILVER, a);
	} else {
		add(s, "[ ] %s and %s are both done with: they hold silver; into their marked bottle, never into the drain", a, b);
	}
	return !first->is_kept;
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
	char keeps[24];
	unsigned discarded = 0, silver = shelved ? wet_silver_baths(shelved) : 0;
	for (int n = 0; n < p->part_count; n++)
		for (int i = 0; i < p->plan.bath_count; i++) {
			const struct wet_plan_bath *b = &p->plan.baths[i];
			const struct wet_bath *bath = &p->recipe->baths[p->parts[n].recipe_bath];
			if (b->solution != p->parts[n].solution || b->first_load + b->load_count - 1 != load)
				continue;
			unsigned bit = 1u << p->parts[n].recipe_bath;
			if (p->ask.solutions[b->solution].has_second) {
				if (p->parts[n].among == 0 && b->load_count > 0 && say_pair_end(s, b))
					discarded |= bit;
				continue;
			}
			discarded |= b->is_kept ? 0 : bit;
			if (b->is_kept)
				add(s, "[ ] keep the %s, closed, named and dated; it keeps %s from its mixing", bath->name,
					wet_print_days(bath->mix.keeps_ns, keeps, sizeof keeps));
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
	for (int n = 0; n < p->part_count; n++) {
		if (p->ask.solutions[p->parts[n].solution].has_second)
			say_pair(s, &p->parts[n], load);
		for (int i = 0; i < p->plan.bath_count; i++) {
			const struct wet_plan_bath *b = &p->plan.baths[i];
			if (b->solution == p->parts[n].solution && b->first_load == load && !p->ask.solutions[b->solution].has_second)
				say_bath(s, &p->parts[n], b, b->first_load, b->load_count);
		}
	}
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
