/* heat.h: the temperature laws of developing, fixing and washing, the dose integral over
 * a temperature track, and the forecast after the last reading.
 *
 * PURE: no clock, no allocation. The law itself is unrounded and refuses nothing;
 * refusing is policy (wetside/recipe.h) and rounding is the run's (wetside/run.h).
 * Times are int64 ns on any common axis; temperatures int32 millidegrees Celsius. */
#ifndef WETSIDE_HEAT_H
#define WETSIDE_HEAT_H

#include "wetside/limits.h"

#include <stdbool.h>
#include <stdint.h>

enum wet_law_kind {
	WET_LAW_NONE,    /* rate 1 at every temperature */
	WET_LAW_FACTOR,  /* r = Q^((T - Tref)/10); Ferguson & Howard 1905, as cited in French Wikibooks,
	                    "Traitements argentiques monochromes/Developpement": log-linear in T */
	WET_LAW_TABLE,   /* a published table of (T, time), linear in log time between rows */
	WET_LAW_FIXING,  /* r = min(1, 2^((T - 20)/10)): "below 68 F, double the fixing time for every
	                    18 F decrease", US Army TM 11-2323, para. 33 */
	WET_LAW_WASHING, /* time factor 1 at 18.3 C and above, 2 at 10 C, 4 at 1.7 C and below, log-linear
	                    between: US Army TM 11-2323, para. 33 (50 F: twice, 35 F: four times) */
	WET_LAW_N
};

/* One row of a published time-temperature table. */
struct wet_law_row {
	int32_t temperature_mc;
	int64_t time_ns;
};

struct wet_law {
	enum wet_law_kind kind;
	double factor_per_10c; /* WET_LAW_FACTOR: Q, over 0 */
	int32_t tref_mc;       /* WET_LAW_FACTOR and WET_LAW_TABLE: the reference, where the rate is 1 */
	int32_t min_mc;        /* outside [min, max] the rate is that of the nearest limit; */
	int32_t max_mc;        /* INT32_MIN and INT32_MAX mean unlimited */
	uint8_t row_count;     /* WET_LAW_TABLE: 2..WET_LAW_ROWS, rising temperatures */
	struct wet_law_row rows[WET_LAW_ROWS];
};

/* The rate at a temperature: equivalent seconds at the reference a second. Always > 0. For a table the
 * rate is time(Tref)/time(T); a Tref between rows is interpolated, beyond the rows the end row rules. */
double wet_law_rate(const struct wet_law *law, double temperature_c);
/* False where wet_law_rate had to use the nearest limit (range or table ends). */
bool wet_law_covers(const struct wet_law *law, double temperature_c);

/* One reading on the track. */
struct wet_track_point {
	int64_t at_ns;
	int32_t temperature_mc;
};

/* What the temperature does after the last reading. */
enum wet_forecast_kind {
	WET_FORECAST_CONSTANT,
	WET_FORECAST_NEWTON,
	WET_FORECAST_ROOM /* told at arming: constant, as long as only the room's temperature is known */
};

/* After the last point: constant, or Newton's cooling T = room + (T0 - room) exp(-t/tau). */
struct wet_forecast {
	enum wet_forecast_kind kind;
	int32_t room_mc;
	int64_t tau_ns; /* over 0 for NEWTON */
	/* NEWTON: at the last point the course lies so much above it, as a fit through many readings does. */
	int32_t over_mc;
};

/* Linear between points, constant before the first, the forecast after the last. With no
 * point at all the temperature is `default_mc`. Points rise in time (equal times: the later
 * one in the array rules from there on). */
struct wet_track {
	const struct wet_track_point *points; /* borrowed */
	uint32_t point_count;
	int32_t default_mc;
	struct wet_forecast forecast;
};

/* Temperature of the track at a time, degrees Celsius. */
double wet_track_c(const struct wet_track *track, int64_t at_ns);

/* Dose: the integral of the rate from from_ns to to_ns, in equivalent seconds at the reference. Closed form on
 * every linear piece (pieces are cut where the law bends), adaptive quadrature on Newton's tail; relative
 * error under 1e-9. from <= to. */
double wet_dose_s(const struct wet_law *law, const struct wet_track *track, int64_t from_ns, int64_t to_ns);

/* The first time at or after from_ns at which the dose reaches target_s, unrounded but for the nanosecond
 * (nearest). Never fails: rates are positive; the result is capped at from_ns + WET_STAGE_NS_MAX.
 * target_s <= 0 gives from_ns. */
int64_t wet_dose_root_ns(const struct wet_law *law, const struct wet_track *track, int64_t from_ns,
						 double target_s);

/* Newton's law alone: T after `for_ns`. */
double wet_newton_c(double t0_c, double room_c, double tau_s, double for_s);

/* An older convention states a factor per 7 C: Q = f^(10/7) (H. E. Ives, Airplane Photography, 1920). */
double wet_factor_from_per_7c(double factor_per_7c);

#endif
