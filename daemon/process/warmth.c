/* warmth.c: what is known of the live bath's temperature: the track of its readings, and its course after the last one.
 *
 * The course follows from the readings and is settled with each event that changes them, so that looking at the run
 * only reads it. Pouring in cools or warms the bath by the vessel's share, where that was told. */
#include "inside.h"

#include "wetside/tempering.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RULES_COURSE 2 /* the first rules that know of a course */

/* Thermometers are read to a tenth, and one reading differs from the next by as much either way (design rule). */
#define RESOLUTION_C 0.2
/* So far off the fitted course something was done to the bath: what was read before tells no more how it goes on. */
#define JUMP_C 0.6
#define ROOM_ERROR_C 0.5 /* standard error of the room beside the vessel (design rule) */
/* Of a bath of which nothing is known: it drifts no faster than one with a constant of half an hour that is 10 C from its room,
 * if that isn't known either. Small tanks in air have an hour to an hour and a half (an estimate, no source). */
#define DRIFT_MC 10000
#define DRIFT_TAU_NS (1800 * NS_PER_S)

static bool has_course(const struct wet_run *run)
{
	return run->setup.rules_version >= RULES_COURSE;
}

/* Water in the second vessel runs or is changed: it has no course of its own. */
static bool is_in_vessel(const struct wet_run *run, int stage)
{
	const struct wet_stage *s = &run->setup.recipe->stages[stage];
	return !s->in_washer && !wet_recipe_is_mix(run->setup.recipe) && s->kind != WET_STAGE_WASH;
}

static int64_t known_tau_ns(const struct wet_run *run)
{
	int64_t tau_ns = stage_vessel(run, run->pos.stage)->tau_ns;
	if (tau_ns == 0 && run->setup.forecast.kind == WET_FORECAST_NEWTON && !live_stage(run)->in_washer)
		tau_ns = run->setup.forecast.tau_ns;
	return tau_ns;
}

/* -- the course ------------------------------------------------------------------------ */

/* Root of a covariance by Cholesky's rows; what rounding made negative is 0. */
static void root_of(double c[3][3], float ret_rows[6])
{
	double l[3][3] = { { 0 } };
	for (int i = 0; i < 3; i++)
		for (int j = 0; j <= i; j++) {
			double sum = c[i][j];
			for (int k = 0; k < j; k++)
				sum -= l[i][k] * l[j][k];
			if (i == j)
				l[i][i] = sum > 0 ? sqrt(sum) : 0;
			else
				l[i][j] = l[j][j] > 0 ? sum / l[j][j] : 0;
			ret_rows[i * (i + 1) / 2 + j] = (float)l[i][j];
		}
}

/* The fit's covariance, with the temperature at the first reading replaced by that at the last. */
static void move_to_last(const struct wet_newton_fit *fit, double for_s, double ret[3][3])
{
	double x = for_s / fit->tau_s, e = exp(-x), way = (fit->t0_c - fit->surround_c) * x * e;
	double a[3][3] = { { e, way, 1 - e }, { 0, 1, 0 }, { 0, 0, 1 } };
	memset(ret, 0, 9 * sizeof ret[0][0]);
	for (int i = 0; i < 3; i++)
		for (int j = 0; j < 3; j++)
			for (int k = 0; k < 3; k++)
				for (int l = 0; l < 3; l++)
					ret[i][j] += a[i][k] * fit->covariance[k][l] * a[j][l];
}

/* Towards the room as it was read; or towards what the readings tend to, where they tell that, and that it is another. */
static bool fit_readings(const struct wet_run *run, struct wet_newton_fit *ret_fit, bool *ret_is_free)
{
	const struct wet_bath_heat *h = &run->heat;
	struct wet_newton_fit told, found;
	double room_c = run->room_mc / 1000.0;
	bool is_told = run->room_mc != INT32_MIN &&
				   wet_newton_fit_bins(h->bins, h->bin_count, &room_c, RESOLUTION_C, &told, NULL) == 0;
	/* What they tend to is never told by less than one constant: then it need not be looked for. */
	double window_s = h->bin_count > 0 ? h->bins[h->bin_count - 1].at_s - h->bins[0].at_s : 0;
	bool may_find = !is_told || window_s > 0.5 * told.tau_s;
	bool is_found = may_find && wet_newton_fit_bins(h->bins, h->bin_count, NULL, RESOLUTION_C, &found, NULL) == 0;
	if (is_found && is_told && fabs(found.surround_c - room_c) <= 2 * found.surround_error_c)
		is_found = false;
	if (is_found)
		*ret_fit = found;
	else if (is_told)
		*ret_fit = told;
	*ret_is_free = is_found;
	return is_found || is_told;
}

static bool take_fit(struct wet_run *run)
{
	const struct wet_bath_heat *h = &run->heat;
	const struct wet_track_point *last = &h->track[h->track_count - 1];
	struct wet_newton_fit fit;
	double covariance[3][3];
	bool is_free;
	uint32_t readings = 0;
	if (!is_in_vessel(run, run->pos.stage) || !fit_readings(run, &fit, &is_free))
		return false;
	for (int i = 0; i < h->bin_count; i++)
		readings += h->bins[i].count;
	double for_s = (double)(last->at_ns - h->origin_ns) / 1e9 - h->bins[0].at_s;
	double at_last_c = wet_newton_c(fit.t0_c, fit.surround_c, fit.tau_s, for_s);
	if (!(fit.surround_c > -50 && fit.surround_c < 150 && at_last_c > -50 && at_last_c < 150 && fit.tau_s >= 1))
		return false;
	move_to_last(&fit, for_s, covariance);
	run->course = (struct wet_course){ .kind = WET_COURSE_FITTED,
									   .over_mc = (int32_t)lround(at_last_c * 1000) - last->temperature_mc,
									   .room_mc = (int32_t)lround(fit.surround_c * 1000),
									   .tau_ns = llround(fit.tau_s * 1e9),
									   .readings = readings,
									   .is_free = is_free };
	root_of(covariance, run->course.spread);
	/* The best known of a run tells of its vessel. */
	double rate = 1 / fit.tau_s, error = fit.tau_error_s * rate * rate;
	if (run->seen.error_per_s == 0 || error * run->seen.rate_per_s < run->seen.error_per_s * rate)
		run->seen = (struct wet_cooling_seen){ rate, error };
	return true;
}

static void take_constant(struct wet_run *run, int64_t tau_ns)
{
	const struct wet_vessel *vessel = stage_vessel(run, run->pos.stage);
	double share = WET_CONSTANT_TOLD_SHARE;
	if (vessel->tau_ns > 0 && vessel->tau_error_ns > 0)
		share = hypot((double)vessel->tau_error_ns / (double)vessel->tau_ns, WET_CONSTANT_SPREAD);
	run->course = (struct wet_course){
		.kind = WET_COURSE_VESSEL,
		.room_mc = run->room_mc,
		.tau_ns = tau_ns,
		.spread = { (float)(WET_READING_ERROR_MC / 1000.0), 0, (float)share, 0, 0, (float)ROOM_ERROR_C },
	};
}

void settle_course(struct wet_run *run)
{
	memset(&run->course, 0, sizeof run->course);
	if (!bath_is_live(run) || run->heat.track_count == 0)
		return;
	if (has_course(run) && take_fit(run))
		return;
	int64_t tau_ns = known_tau_ns(run);
	if (tau_ns > 0 && run->room_mc != INT32_MIN)
		take_constant(run, tau_ns);
	else
		run->course.kind = WET_COURSE_CONSTANT;
}

/* -- the track -------------------------------------------------------------------------- */

static void forecast_of(const struct wet_run *run, struct wet_forecast *ret_forecast)
{
	const struct wet_course *c = &run->course;
	*ret_forecast = (struct wet_forecast){ .kind = WET_FORECAST_CONSTANT };
	if (c->kind == WET_COURSE_VESSEL || c->kind == WET_COURSE_FITTED)
		*ret_forecast = (struct wet_forecast){ WET_FORECAST_NEWTON, c->room_mc, c->tau_ns, c->over_mc };
}

void track_of(const struct wet_run *run, struct wet_track *ret_track)
{
	const struct wet_stage *stage = live_stage(run);
	*ret_track = (struct wet_track){
		.points = run->heat.track,
		.point_count = run->heat.track_count,
		.default_mc = stage_most_is_scaled(stage) ? stage->law.tref_mc : 20000,
	};
	forecast_of(run, &ret_track->forecast);
}

static struct wet_track shifted(const struct wet_track *track, struct wet_track_point points[WET_TRACK_POINTS],
								int32_t delta_mc)
{
	struct wet_track t = *track;
	for (uint32_t i = 0; i < t.point_count; i++) {
		points[i] = track->points[i];
		points[i].temperature_mc += delta_mc;
	}
	t.points = points;
	t.default_mc += delta_mc;
	t.forecast.room_mc += delta_mc; /* by the same thermometer */
	return t;
}

/* The oldest stretch becomes a number; the tail stays. */
static void fold_head(struct wet_run *run)
{
	struct wet_bath_heat *h = &run->heat;
	struct wet_track track;
	struct wet_track_point points[WET_TRACK_POINTS];
	track_of(run, &track);
	int64_t to_ns = h->track[1].at_ns;
	if (to_ns > h->folded_to_ns) {
		const struct wet_law *law = &live_stage(run)->law;
		int32_t off_mc = run->setup.tolerance_mc;
		struct wet_track warm = shifted(&track, points, off_mc);
		h->folded_s += wet_dose_s(law, &track, h->folded_to_ns, to_ns);
		h->folded_warm_s += wet_dose_s(law, &warm, h->folded_to_ns, to_ns);
		struct wet_track cold = shifted(&track, points, -off_mc);
		h->folded_cold_s += wet_dose_s(law, &cold, h->folded_to_ns, to_ns);
		h->folded_to_ns = to_ns;
	}
	memmove(&h->track[0], &h->track[1], sizeof h->track[0] * (WET_TRACK_POINTS - 1));
	h->track_count--;
}

void track_add(struct wet_run *run, int64_t at_ns, int32_t temperature_mc)
{
	if (run->heat.track_count == WET_TRACK_POINTS)
		fold_head(run);
	run->heat.track[run->heat.track_count++] = (struct wet_track_point){ at_ns, temperature_mc };
}

static void add_to_fit(struct wet_run *run, int64_t at_ns, int32_t temperature_mc)
{
	struct wet_bath_heat *h = &run->heat;
	uint32_t count = h->bin_count;
	wet_newton_bins_add(h->bins, &count, WET_FIT_BINS, (double)(at_ns - h->origin_ns) / 1e9, temperature_mc / 1000.0);
	h->bin_count = (uint16_t)count;
}

/* What a bath of this temperature has in the vessel. */
static int32_t chilled_mc(const struct wet_run *run, int32_t bath_mc)
{
	const struct wet_vessel *v = stage_vessel(run, run->pos.stage);
	if (!has_course(run) || v->chill_ppm <= 0 || run->heat.vessel_mc == INT32_MIN || bath_mc == INT32_MIN)
		return bath_mc;
	return bath_mc + (int32_t)llround((double)(run->heat.vessel_mc - bath_mc) * v->chill_ppm / 1e6);
}

/* The empty vessel has the temperature of the bath that was in it, or, if none was, of the room. */
static int32_t vessel_now_mc(const struct wet_run *run, int64_t at_ns, int next)
{
	struct wet_track track;
	if (!is_in_vessel(run, next) || stage_vessel(run, next)->kind == WET_VESSEL_TRAYS)
		return INT32_MIN;
	if (!bath_is_live(run) || !is_in_vessel(run, run->pos.stage))
		return run->room_mc;
	if (run->heat.track_count == 0)
		return INT32_MIN;
	track_of(run, &track);
	return (int32_t)lround(wet_track_c(&track, at_ns) * 1000);
}

int32_t heat_leave(struct wet_run *run, int next, int64_t at_ns)
{
	int32_t vessel_mc = vessel_now_mc(run, at_ns, next);
	memcpy(&run->kept, &run->heat, sizeof run->kept);
	memset(&run->heat, 0, sizeof run->heat);
	return vessel_mc;
}

void heat_begin(struct wet_run *run, int64_t at_ns, int32_t vessel_mc)
{
	struct wet_bath_heat *h = &run->heat;
	int bath = live_stage(run)->bath;
	h->origin_ns = h->folded_to_ns = at_ns;
	h->vessel_mc = vessel_mc;
	if (bath >= 0 && run->before_mc[bath] != INT32_MIN) {
		run->poured_mc[bath] = chilled_mc(run, run->before_mc[bath]);
		track_add(run, at_ns, run->poured_mc[bath]);
		/* A tray's bath lay in it before. A tank's came from its bottle, and what the tank took of its heat isn't its
		 * cooling. */
		if (has_course(run) && stage_vessel(run, run->pos.stage)->kind == WET_VESSEL_TRAYS)
			add_to_fit(run, at_ns, run->poured_mc[bath]);
	} else if (bath >= 0) {
		run->poured_mc[bath] = INT32_MIN;
	}
	settle_course(run);
}

void heat_shift(struct wet_run *run, int64_t from_ns, int64_t to_ns)
{
	struct wet_bath_heat *h = &run->heat;
	if (h->track_count > 0 && h->track[0].at_ns == from_ns)
		h->track[0].at_ns = to_ns;
	if (h->folded_to_ns == from_ns)
		h->folded_to_ns = to_ns;
	settle_course(run);
}

void heat_return(struct wet_run *run)
{
	memcpy(&run->heat, &run->kept, sizeof run->heat);
}

/* -- readings ----------------------------------------------------------------------------- */

/* The temperature at the live bath's pour-in, told while it is in. */
static void read_before(struct wet_run *run, int32_t temperature_mc)
{
	struct wet_bath_heat *h = &run->heat;
	int32_t in_mc = chilled_mc(run, temperature_mc);
	if (h->track_count > 0 && h->track[0].at_ns == run->pos.since_ns) {
		h->track[0].temperature_mc = in_mc;
	} else if (h->folded_to_ns == run->pos.since_ns && h->track_count < WET_TRACK_POINTS) {
		memmove(&h->track[1], &h->track[0], sizeof h->track[0] * h->track_count);
		h->track[0] = (struct wet_track_point){ run->pos.since_ns, in_mc };
		h->track_count++;
	} else {
		return; /* too many readings came since */
	}
	run->poured_mc[live_stage(run)->bath] = in_mc;
}

static void read_now(struct wet_run *run, int64_t now_ns, int32_t temperature_mc)
{
	struct wet_track track;
	track_of(run, &track);
	if (run->course.kind == WET_COURSE_FITTED &&
		fabs(wet_track_c(&track, now_ns) - temperature_mc / 1000.0) > JUMP_C + 3 * (double)run->course.spread[0]) {
		memset(run->heat.bins, 0, sizeof run->heat.bins);
		run->heat.bin_count = 0;
	}
	track_add(run, now_ns, temperature_mc);
	if (has_course(run) && is_in_vessel(run, run->pos.stage))
		add_to_fit(run, now_ns, temperature_mc);
}

void heat_read(struct wet_run *run, const struct wet_event *event, int64_t now_ns)
{
	if (event->flags & WET_EVENT_BEFORE)
		read_before(run, event->temperature_mc);
	else if (!(event->flags & WET_EVENT_ROOM))
		read_now(run, now_ns, event->temperature_mc);
	settle_course(run);
}

/* -- how far the end may be off --------------------------------------------------------------- */

static int64_t aim_on(const struct wet_run *run, const struct wet_track *track, double folded_s)
{
	struct ends e;
	ends_on(run, track, folded_s, &e);
	return e.aim_ns;
}

int64_t tolerance_ns(const struct wet_run *run, int64_t aim_ns)
{
	struct wet_track track;
	struct wet_track_point points[WET_TRACK_POINTS];
	track_of(run, &track);
	struct wet_track t = shifted(&track, points, run->setup.tolerance_mc);
	int64_t down = aim_ns - aim_on(run, &t, run->heat.folded_warm_s);
	t = shifted(&track, points, -run->setup.tolerance_mc);
	int64_t up = aim_on(run, &t, run->heat.folded_cold_s) - aim_ns;
	return up > down ? up : down;
}

/* The course with one of its unknowns off by one standard error, the others along with it. */
static int64_t aim_bent(const struct wet_run *run, const struct wet_track *track, int column)
{
	const float *s = run->course.spread;
	static const int at[3][3] = { { 0, 1, 3 }, { -1, 2, 4 }, { -1, -1, 5 } };
	struct wet_track t = *track;
	double by[3];
	for (int row = 0; row < 3; row++)
		by[row] = at[column][row] >= 0 ? (double)s[at[column][row]] : 0;
	t.forecast.over_mc += (int32_t)lround(by[0] * 1000);
	t.forecast.tau_ns = llround(fmin((double)t.forecast.tau_ns * exp(by[1]), WET_FIT_TAU_S_MAX * 1e9));
	t.forecast.room_mc += (int32_t)lround(by[2] * 1000);
	return aim_on(run, &t, run->heat.folded_s);
}

/* A bath of which nothing is known goes on as it was; it may as well drift. */
static int64_t drift_ns(const struct wet_run *run, const struct wet_track *track, int64_t aim_ns)
{
	int32_t last_mc = track->points[track->point_count - 1].temperature_mc;
	int64_t off = 0;
	for (int way = -1; way <= 1; way += 2) {
		struct wet_track t = *track;
		int32_t room_mc = run->room_mc != INT32_MIN ? run->room_mc : last_mc + way * DRIFT_MC;
		t.forecast = (struct wet_forecast){ WET_FORECAST_NEWTON, room_mc, DRIFT_TAU_NS, 0 };
		int64_t by = llabs(aim_on(run, &t, run->heat.folded_s) - aim_ns);
		off = by > off ? by : off;
	}
	return off;
}

int64_t forecast_band_ns(const struct wet_run *run, int64_t aim_ns)
{
	struct wet_track track;
	double sum = 0;
	track_of(run, &track);
	switch (run->course.kind) {
	case WET_COURSE_CONSTANT: return has_course(run) ? drift_ns(run, &track, aim_ns) : 0;
	case WET_COURSE_VESSEL:
	case WET_COURSE_FITTED:
		for (int column = 0; column < 3; column++) {
			double off = (double)(aim_bent(run, &track, column) - aim_ns);
			sum += off * off;
		}
		return llround(2 * sqrt(sum));
	default: return 0;
	}
}

/* -- what it tells of the vessel ------------------------------------------------------------------ */

/* The last stage with this bath that is done; -1: none. */
static int last_use(const struct wet_run *run, int bath)
{
	for (int i = run->setup.recipe->stage_count - 1; i >= 0; i--)
		if (run->setup.recipe->stages[i].bath == bath && run->records[i].flags & WET_STAGE_DONE)
			return i;
	return -1;
}

int after_stage(const struct wet_run *run, const struct wet_event *event)
{
	if (!(event->flags & WET_EVENT_AFTER) || event->flags & WET_EVENT_ROOM || event->bath < 0 ||
		event->bath >= run->setup.recipe->bath_count)
		return -1;
	return last_use(run, event->bath);
}

bool wet_run_seen_after(const struct wet_run *run, const struct wet_event *event, struct wet_cooling_seen *ret_seen)
{
	struct wet_run now = *run;
	wet_run_advance(&now, event->boot_ns);
	int stage = after_stage(&now, event);
	bool is_live = stage >= 0 && bath_is_live(&now) && live_stage(&now)->bath == event->bath;
	if (stage < 0 || is_live || !is_in_vessel(&now, stage) || now.after_stages & UINT64_C(1) << stage ||
		now.setup.is_rehearsal || now.poured_mc[event->bath] == INT32_MIN || now.room_mc == INT32_MIN)
		return false;
	const struct wet_stage_record *r = &now.records[stage];
	int64_t drain_ns = wet_stage_drain_ns(now.setup.recipe, stage, stage_vessel(&now, stage));
	return wet_cooling_from_two(now.poured_mc[event->bath], event->temperature_mc, now.room_mc,
								r->end_ns - drain_ns - r->begin_ns, ret_seen, NULL) == 0;
}
