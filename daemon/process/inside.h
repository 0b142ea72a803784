/* inside.h: what the files of the process room share. Not for other rooms. */
#ifndef WET_PROCESS_INSIDE_H
#define WET_PROCESS_INSIDE_H

#include "wetside/cues.h"
#include "wetside/run.h"

#define NS_PER_S 1000000000LL
#define NS_PER_MS 1000000LL

#define AUTO_NS (10 * NS_PER_S) /* the rehearsal's own key: a handling act, or after a stage that waits */
#define AUTO_POUR_NS (20 * NS_PER_S) /* and from "lid on" to the first pour */
#define WINDOW_NS (20 * NS_PER_S)    /* the pouring window goes so far past the fill */

/* Times of the live bath, in run time. Only where bath_is_live(). */
struct ends {
	int64_t least_ns, aim_ns, most_ns; /* most: INT64_MAX where the recipe gives none that can be passed */
	int64_t pour_out_ns;               /* aim - drain; aim itself where nothing drains */
	int64_t fill_ns, drain_ns;
	bool is_cold; /* too cold to be done by `most`: it ends there all the same */
};

#define QUIET_END_NS (10 * NS_PER_S) /* no agitation in the last 10 s before pour-out */

/* When the live bath is turned, and rests; none where it is rocked all the time. */
struct turns {
	int64_t opening_ns, opening_rest_ns; /* INT64_MIN: there is none */
	int64_t first_ns, last_ns;           /* of the series: every_ns apart, burst_ns long; last: at the latest */
	int64_t every_ns, burst_ns;          /* every 0: there is none */
};

bool bath_is_live(const struct wet_run *run);
const struct wet_stage *live_stage(const struct wet_run *run);
const struct wet_vessel *stage_vessel(const struct wet_run *run, int stage);
void ends_of(const struct wet_run *run, struct ends *ret_ends);
/* On another track, and with another dose of its folded head. */
void ends_on(const struct wet_run *run, const struct wet_track *track, double folded_s, struct ends *ret_ends);
void track_of(const struct wet_run *run, struct wet_track *ret_track);
bool stage_most_is_scaled(const struct wet_stage *stage);
/* Where the rate of its law is 1; INT32_MIN: it has none. */
int32_t stage_reference_mc(const struct wet_stage *stage);
/* How much later it ends than at the reference; below 0: sooner. */
int64_t later_ns(const struct wet_run *run, const struct ends *ends);

/* warmth.c. After a change of the live bath's readings, of its begin, or of the room: the course after the last reading. */
void settle_course(struct wet_run *run);
/* The bath before is left for that of stage `next`: what was read of it is kept. Returns the empty vessel's temperature. */
int32_t heat_leave(struct wet_run *run, int next, int64_t at_ns);
void heat_begin(struct wet_run *run, int64_t at_ns, int32_t vessel_mc); /* pos says which bath */
void heat_shift(struct wet_run *run, int64_t from_ns, int64_t to_ns);   /* its begin was another */
void heat_return(struct wet_run *run);                                   /* to what was kept */
void track_add(struct wet_run *run, int64_t at_ns, int32_t temperature_mc);
/* A reading of the live bath, or of the room. */
void heat_read(struct wet_run *run, const struct wet_event *event, int64_t now_ns);
/* How far the end is off if readings are by the tolerance; and for what is not known of the course, two standard errors. */
int64_t tolerance_ns(const struct wet_run *run, int64_t aim_ns);
int64_t forecast_band_ns(const struct wet_run *run, int64_t aim_ns);
/* The stage that a reading after a bath belongs to; -1: none. */
int after_stage(const struct wet_run *run, const struct wet_event *event);
void turns_of(const struct wet_run *run, const struct ends *ends, struct turns *ret_turns);
bool stage_is_compensated(const struct wet_stage *stage);
/* A wash in the second vessel, where other pieces may come in. */
bool stage_is_joinable(const struct wet_stage *stage);
/* Its bath is silent between its begin and its end: a wash, an aid, and mixing but for stirring. */
bool stage_is_quiet(const struct wet_stage *stage);
/* A timed step of mixing a solution: no piece is in it, and nothing is poured. */
bool stage_is_mixing(const struct wet_stage *stage);
/* The next stage waits for a press: held, late, on go, handling, or there is none. */
bool next_waits(const struct wet_run *run);
int next_stage(const struct wet_run *run);                             /* -1: none */
int64_t attend_ns(const struct wet_run *run, const struct ends *ends); /* when NEXT is due */
enum wet_run_phase phase_at(const struct wet_run *run, int64_t now_ns);
enum wet_run_phase phase_under(const struct wet_run *run, int64_t now_ns); /* as if not interrupted */
enum wet_light_kind light_now(const struct wet_run *run);
bool paper_is_open(const struct wet_run *run);
int64_t run_number(const struct wet_run *run);

/* What the clock does next by itself: run time, or INT64_MAX. */
int64_t boundary_ns(const struct wet_run *run);
void advance_run(struct wet_run *run, int64_t now_ns);
/* A press of go, or the rehearsal's own. */
void press_go(struct wet_run *run, int64_t now_ns, bool is_auto);
/* The live bath begins anew; the track before it is kept for an undo. */
void restart_bath(struct wet_run *run, int64_t now_ns);
/* Which fill of a wash by changes is in the washer, from 1; 0: it has none. */
int water_at(const struct wet_run *run, int64_t now_ns);

/* Words. */
char *lower_first(const char *text, char *buf, unsigned buf_bytes);
void say_handling(const struct wet_run *run, int stage, int piece, char *buf, unsigned buf_bytes);
void say_pour_out(const struct wet_run *run, int stage, char *buf, unsigned buf_bytes);
void say_pour_in(const struct wet_run *run, int stage, char *buf, unsigned buf_bytes);
void say_next(const struct wet_run *run, int stage, char *buf, unsigned buf_bytes);
/* It was begun with a press: what is heard then. */
void say_begun(const struct wet_stage *stage, char *buf, unsigned buf_bytes);
void say_stand_by(const struct wet_run *run, int stage, char *buf, unsigned buf_bytes);
void say_ready(const struct wet_run *run, char *buf, unsigned buf_bytes);
void say_order(const struct wet_run *run, int64_t now_ns, char *buf, unsigned buf_bytes);
/* Why the live bath's end is in doubt, and what to do; empty: it isn't. */
void say_doubt(const struct wet_run *run, const struct wet_track *track, const struct wet_view *view, char *buf,
			   unsigned buf_bytes);
/* "2 minutes in; pour out in 40 seconds.", of a live bath; else empty. */
void say_time_left(const struct wet_view *view, char *buf, unsigned buf_bytes);
/* "Begin will be refused: ...", or "Warm it: ...", of a bath at a temperature at which it can't be done by `most`; empty:
 * all is well. */
void say_warm(const struct wet_run *run, int bath, int32_t temperature_mc, char *buf, unsigned buf_bytes);
/* "Cooling 0.4 C a minute; ends 12 s later than at 20 C; fitted from 4 readings."; empty: nothing was read. */
void say_warmth(const struct wet_run *run, const struct wet_view *view, char *buf, unsigned buf_bytes);
/* "2:10 +/- 4 s" */
void say_end(const struct wet_view *view, char *buf, unsigned buf_bytes);
/* "Cooling 0.4 C a minute", "Steady" */
void say_motion(const struct wet_run *run, const struct wet_view *view, char *buf, unsigned buf_bytes);
/* ", 12 seconds later than at 20 C", or nothing where it isn't. */
void say_later(const struct wet_run *run, const struct wet_view *view, char *buf, unsigned buf_bytes);
/* "Fixer is 4.2 C colder than developer: ..."; of this bath and the others, or with -1 of any two; empty: they are near enough. */
void say_apart(const struct wet_run *run, int bath, char *buf, unsigned buf_bytes);
/* In the unit that people type. */
char *print_degrees(int32_t temperature_mc, bool is_fahrenheit, char *buf, unsigned buf_bytes);
/* Where am I: stage, time left, what comes next, the bath's temperature and how old that is. */
void say_where(const struct wet_run *run, const struct wet_view *view, char *buf, unsigned buf_bytes);
/* What a cue says, of the stage that the run is in. */
void say_cue(const struct wet_run *run, enum wet_cue_kind kind, int64_t at_ns, char *buf, unsigned n);
#define LIGHTS_TEXT "Lights may come on if the paper box is shut and no piece is open."

#endif
