/* wash.c: two compartments in water that is changed. */
#include "wetside/wash.h"

#include "base/text.h"
#include "wetside/heat.h"
#include "wetside/quantity.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#define MINUTE_NS (60 * WET_NS_PER_S)
#define AREA_MM2_MAX 100000000000LL /* 0.1 km2 */
#define WATER_UL_MAX 1000000000LL   /* a thousand litres a fill */
#define FILM_COLD_MC 15556          /* 60 F */
#define FILM_COLD_FACTOR \
	3.0                   /* T.O. 33B-1-1, section 6.7: 50 to 60 F takes three times as long as 70 to 75 F */
#define FIRST_CHANGE_SHARE 0.25 /* our model of "the first is short and dirty" */
#define STEPS_MAX 2000000       /* of one reckoning: 138 hours by quarter seconds */

struct base_row {
	const char *word;
	int plain_min, aided_min, aid_min, change_min, fast_s, slow_share_ppm, slow_s, slow_aided_s, surface_ul,
		held_ul;
};

static const struct base_row rows[WET_BASE_N] = {
#define ROW(name, word, plain, aided, aid, change, fast, share, slow, slow_aided, surface, held) \
	{ word, plain, aided, aid, change, fast, share, slow, slow_aided, surface, held },
	WET_BASES(ROW)
#undef ROW
};

const char *wet_base_word(enum wet_base base)
{
	return (unsigned)base < WET_BASE_N ? rows[base].word : "?";
}

int wet_base_from_word(const char *word, enum wet_base *ret_base, struct wet_fault *reterr)
{
	char words[160] = "";
	for (int i = 0; i < WET_BASE_N; i++) {
		if (strcmp(word, rows[i].word) == 0) {
			*ret_base = (enum wet_base)i;
			return WET_OK;
		}
		wet_text_append(words, sizeof words, "%s%s", i > 0 ? "; " : "", rows[i].word);
	}
	return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "base", word, "one of: %s", words);
}

double wet_wash_slower(enum wet_base base, int32_t temperature_mc)
{
	static const struct wet_law washing = { .kind = WET_LAW_WASHING,
											.min_mc = INT32_MIN,
											.max_mc = INT32_MAX };
	double slower = 1.0 / wet_law_rate(&washing, temperature_mc / 1000.0);
	if (base == WET_BASE_FILM && temperature_mc <= FILM_COLD_MC)
		slower = fmax(slower, FILM_COLD_FACTOR);
	return slower;
}

static int check_ask(enum wet_base base, int64_t area_mm2, int32_t temperature_mc, struct wet_fault *reterr)
{
	char found[32];
	if ((unsigned)base >= WET_BASE_N)
		return wet_fault_set(reterr, WET_ERR_RANGE, "base", NULL,
							 "resin-coated, fibre of either weight, or film");
	if (area_mm2 <= 0 || area_mm2 > AREA_MM2_MAX) {
		wet_text_format(found, sizeof found, "%lld mm2", (long long)area_mm2);
		return wet_fault_set(reterr, WET_ERR_RANGE, "area", found, "an area over nothing");
	}
	if (temperature_mc < 0 || temperature_mc > 40000) {
		wet_print_temperature(temperature_mc, found, sizeof found);
		return wet_fault_set(reterr, WET_ERR_RANGE, "temperature", found, "water from 0 to 40 C");
	}
	return WET_OK;
}

int wet_wash_model_of(enum wet_base base, bool is_aided, int64_t area_mm2, int32_t temperature_mc,
					  struct wet_wash_model *ret_model, struct wet_fault *reterr)
{
	int rc = check_ask(base, area_mm2, temperature_mc, reterr);
	if (rc != 0)
		return rc;
	const struct base_row *row = &rows[base];
	double slower = wet_wash_slower(base, temperature_mc), dm2 = (double)area_mm2 / 10000.0;
	double aid = is_aided && row->aid_min > 0 && row->slow_share_ppm == 0
					 ? (double)row->aided_min / row->plain_min
					 : 1.0; /* without a slow term it is the fast one that the aid hastens */
	*ret_model =
		(struct wet_wash_model){ .fast_half_life_s = row->fast_s * slower * aid,
								 .slow_half_life_s = (is_aided ? row->slow_aided_s : row->slow_s) * slower,
								 .slow_share = row->slow_share_ppm / 1e6,
								 .surface_ul = row->surface_ul * dm2,
								 .held_ul = row->held_ul * dm2 };
	return WET_OK;
}

double wet_running_left(const struct wet_wash_model *model, double for_s)
{
	double left = (1 - model->slow_share) * exp2(-for_s / model->fast_half_life_s);
	if (model->slow_share > 0)
		left += model->slow_share * exp2(-for_s / model->slow_half_life_s);
	return left;
}

/* -- fill and dump ------------------------------------------------------------ */

struct lying {
	double fast, slow, water; /* of what was there at the begin, 1 */
};

/* Both compartments lie in one bath whose strength is water / water_ul; each approaches the share it would
 * hold at that strength. Within a step the strength is that of the step's begin for the slow one, and the
 * balance of fast and water is exact. */
static void soak(const struct wet_wash_model *m, double water_ul, double for_s, struct lying *l)
{
	double step_s = fmin(0.25, m->fast_half_life_s / 50);
	double count = ceil(for_s / step_s - 1e-9);
	if (count < 1)
		return;
	step_s = for_s / count;
	double keep =
		m->surface_ul / (m->surface_ul + water_ul); /* the fast compartment's share of both, at rest */
	double fast_step = exp2(-step_s / m->fast_half_life_s);
	double slow_step = m->slow_share > 0 ? exp2(-step_s / m->slow_half_life_s) : 1;
	for (double i = 0; i < count; i++) {
		double both = l->fast + l->water, rest = both * keep;
		l->fast = rest + (l->fast - rest) * fast_step;
		l->water = both - l->fast;
		if (m->slow_share > 0) {
			double slow_rest = l->water / water_ul * m->held_ul;
			double out = (l->slow - slow_rest) * (1 - slow_step);
			l->slow -= out;
			l->water += out;
		}
	}
}

static int check_model(const struct wet_wash_model *m, int64_t water_ul, struct wet_fault *reterr)
{
	bool has_slow = m->slow_share > 0;
	if (!(m->fast_half_life_s > 0 && m->slow_share >= 0 && m->slow_share <= 1 && m->surface_ul >= 0) ||
		(has_slow && !(m->slow_half_life_s > 0 && m->held_ul > 0)))
		return wet_fault_set(reterr, WET_ERR_RANGE, "model", NULL, "half-lives and volumes over nothing");
	if (water_ul <= 0 || water_ul > WATER_UL_MAX) {
		char found[32];
		wet_print_volume(water_ul, found, sizeof found);
		return wet_fault_set(reterr, WET_ERR_RANGE, "water", found, "a fill over nothing, up to 1,000 L");
	}
	return WET_OK;
}

int wet_fill_and_dump(const struct wet_wash_model *model, int64_t water_ul, const int64_t *change_ns,
					  int changes, double *left, struct wet_fault *reterr)
{
	int rc = check_model(model, water_ul, reterr);
	if (rc != 0)
		return rc;
	double all_s = 0;
	for (int i = 0; i < changes; i++) {
		if (change_ns[i] < 0)
			return wet_fault_set(reterr, WET_ERR_RANGE, "change", NULL, "times of nothing or more");
		all_s += (double)change_ns[i] / 1e9;
	}
	if (all_s / fmin(0.25, model->fast_half_life_s / 50) > STEPS_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "change", NULL, "a shorter wash: this is days");
	struct lying l = { .fast = 1 - model->slow_share, .slow = model->slow_share, .water = 0 };
	for (int i = 0; i < changes; i++) {
		soak(model, (double)water_ul, (double)change_ns[i] / 1e9, &l);
		left[i] = l.fast + l.slow;
		l.water = 0;
	}
	return WET_OK;
}

/* -- the plan ----------------------------------------------------------------- */

/* What `changes` changes leave. The model's half-lives already hold the temperature. */
static double left_after(const struct wet_wash_model *m, int64_t water_ul, const int64_t *change_ns,
						 int changes)
{
	double left[WET_WASH_CHANGES];
	if (wet_fill_and_dump(m, water_ul, change_ns, changes, left, NULL) != 0)
		return 1;
	return left[changes - 1];
}

static int64_t least_water(const struct wet_wash_model *m, const int64_t *change_ns, int changes)
{
	int64_t low = 0, high = WATER_UL_MAX; /* low never does, high does or nothing does */
	if (left_after(m, high, change_ns, changes) > WET_WASHED_PPM / 1e6)
		return -1;
	while (high - low > 1000) { /* to the millilitre */
		int64_t middle = low + (high - low) / 2;
		if (left_after(m, middle, change_ns, changes) <= WET_WASHED_PPM / 1e6)
			high = middle;
		else
			low = middle;
	}
	return high;
}

/* The first is short, the others make up for it: as long in all as so many equal ones. */
static void set_changes(struct wet_wash_plan *p, int changes, int64_t each_ns)
{
	int64_t first_ns = changes > 1 ? llround((double)each_ns * FIRST_CHANGE_SHARE) : each_ns;
	p->changes = changes;
	p->change_ns[0] = first_ns;
	p->standing_ns = first_ns;
	for (int i = 1; i < changes; i++) {
		p->change_ns[i] = (changes * each_ns - first_ns) / (changes - 1);
		p->standing_ns += p->change_ns[i];
	}
}

/* More changes until so much water does. */
static int fit_changes(const struct wet_wash_model *m, int least_changes, int64_t each_ns, int64_t water_ul,
					   struct wet_wash_plan *p)
{
	for (int changes = least_changes; changes <= WET_WASH_CHANGES; changes++) {
		set_changes(p, changes, each_ns);
		if (left_after(m, water_ul, p->change_ns, changes) <= WET_WASHED_PPM / 1e6)
			return WET_OK;
	}
	return WET_ERR_REFUSED;
}

static int refuse_water(const struct wet_wash_model *m, int64_t each_ns, int64_t water_ul,
						struct wet_fault *reterr)
{
	struct wet_wash_plan most;
	char has[32], needs[32];
	set_changes(&most, WET_WASH_CHANGES, each_ns);
	wet_print_volume(water_ul, has, sizeof has);
	wet_print_volume(least_water(m, most.change_ns, WET_WASH_CHANGES), needs, sizeof needs);
	return wet_fault_set(reterr, WET_ERR_REFUSED, "water", has,
						 "at least %s a fill, for %d changes; or running water", needs, WET_WASH_CHANGES);
}

int wet_wash_plan(const struct wet_wash_ask *ask, struct wet_wash_plan *ret_plan, struct wet_fault *reterr)
{
	struct wet_wash_plan p = { .slower = 1 };
	struct wet_wash_model m;
	int rc = wet_wash_model_of(ask->base, ask->is_aided, ask->area_mm2, ask->temperature_mc, &m, reterr);
	if (rc == 0 && ask->water_ul != 0)
		rc = check_model(&m, ask->water_ul, reterr);
	if (rc != 0)
		return rc;
	const struct base_row *row = &rows[ask->base];
	bool is_aided = ask->is_aided && row->aid_min > 0;
	p.aid_is_idle = ask->is_aided && !is_aided;
	p.aid_ns = is_aided ? row->aid_min * MINUTE_NS : 0;
	p.slower = wet_wash_slower(ask->base, ask->temperature_mc);
	p.is_too_cold = ask->temperature_mc < WET_WASH_COLD_MC;
	int minutes = is_aided ? row->aided_min : row->plain_min;
	p.running_ns = llround((double)(minutes * MINUTE_NS) * p.slower);
	int64_t each_ns = llround((double)(row->change_min * MINUTE_NS) * p.slower);
	int changes = (minutes + row->change_min - 1) / row->change_min;

	if (fit_changes(&m, changes, each_ns, WATER_UL_MAX, &p) != 0)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "changes", NULL,
							 "running water: fill and dump cannot wash it");
	if (ask->water_ul != 0 && fit_changes(&m, p.changes, each_ns, ask->water_ul, &p) != 0)
		return refuse_water(&m, each_ns, ask->water_ul, reterr);
	p.least_water_ul = least_water(&m, p.change_ns, p.changes);
	p.water_ul = ask->water_ul != 0 ? ask->water_ul : p.least_water_ul;
	p.total_water_ul = p.water_ul * p.changes;
	p.left_ppm = (int32_t)lround(left_after(&m, p.water_ul, p.change_ns, p.changes) * 1e6);
	*ret_plan = p;
	return WET_OK;
}
