/* run.h: a run is its recipe, what the operator did, and the clock; everything else is derived.
 *
 * PURE: no clock, no allocation, no I/O. `wet_run_fold` takes one event, `wet_run_view` only reads, and a run
 * replayed from its events is equal to the one that lived. Nothing ticks.
 *
 * Two time axes. Boot time: int64 ns of CLOCK_BOOTTIME. Run time: int64 ns since arming; in a rehearsal it passes
 * faster than boot time (by stage kind), after a reboot it is continued by the *resumed* event. Stage ends are rounded to the millisecond.
 *
 * Call order: init once; then advance/fold/view/deadline in rising time. */
#ifndef WETSIDE_RUN_H
#define WETSIDE_RUN_H

#include "wetside/errors.h"
#include "wetside/heat.h"
#include "wetside/recipe.h"
#include "wetside/tempering.h"

#include <stdbool.h>
#include <stdint.h>

/* Of compensation, table of acts and cues; frozen with a run. 2: after the last reading the temperature follows what the
 * readings tell, and a cold vessel takes its share at pour-in. */
#define WET_RULES_VERSION 2

/* -- setup, frozen at arming ---------------------------------------------- */
struct wet_run_setup {
	const struct wet_recipe *recipe;       /* borrowed for the run's life; shared by content hash */
	struct wet_vessel vessel;              /* baths of the tank or trays */
	struct wet_vessel washer;              /* second vessel of aid and washes */
	int pieces;                            /* 1..WET_PIECES */
	char room[WET_NAME_BYTES];             /* which room's light this run needs; "darkroom" */
	struct wet_forecast forecast;          /* after the last reading, for the vessel */
	int32_t tolerance_mc;                  /* of a reading, for the band; 500 */
	bool is_rehearsal;                     /* uses no chemistry, kept apart in the record */
	bool is_mine;                          /* rehearsal: the keys are left to the person */
	bool is_wet;                           /* wet rehearsal: water, rate 1, measures fill and drain */
	bool is_unheard;                       /* begun without the sound check; recorded */
	bool no_beat;                          /* heartbeat off */
	uint32_t rate_milli[WET_STAGE_KIND_N]; /* rehearsal: times faster, by kind of stage; 1000 in a real run */
	int rules_version;
};

/* -- acts and events ------------------------------------------------------- */
/* X(NAME, word) */
#define WET_ACTS(X)           \
	X(BEGIN, "begin")         \
	X(GO, "go")               \
	X(LONGER, "longer")       \
	X(HOLD, "hold")           \
	X(UNDO, "undo")           \
	X(READING, "reading")     \
	X(WHERE, "where")         \
	X(EMERGENCY, "emergency") \
	X(RESUME, "resume")       \
	X(ABANDON, "abandon")     \
	X(JOIN, "join")

/* Told at once, with no run and with no daemon too. Fifteen minutes: the safety notes, "In the eye"; the safety data sheet
 * and the poison centre go before it. */
#define WET_EMERGENCY_TEXT \
	"Lights on. Get out, or rinse the eye for fifteen minutes. Call the emergency number."

enum wet_act_kind {
#define WET_ACT_ENUM(name, word) WET_ACT_##name,
	WET_ACTS(WET_ACT_ENUM)
#undef WET_ACT_ENUM
		WET_ACT_N,
	/* events that no operator makes */
	WET_EVENT_RESUMED =
		WET_ACT_N,   /* a gap nobody could hear in: a_ns = last run time alive, b_ns = run time now (most),
	                                  c_ns = run time now (least; differs from b_ns where the wall clock is not trusted) */
	WET_EVENT_CLOCK, /* the wall clock stepped by a_ns; recorded, moves nothing */
	WET_EVENT_KIND_N
};

enum wet_event_flags {
	WET_EVENT_HELD = 1 << 0,      /* three presses within two real seconds, or autorepeat for one */
	WET_EVENT_BEFORE = 1 << 1,    /* reading: at the bath's next (or this) pour-in */
	WET_EVENT_AFTER = 1 << 2,     /* reading: at its last pour-out */
	WET_EVENT_ROOM = 1 << 3,      /* reading of the room, not of a bath */
	WET_EVENT_REBOOT = 1 << 4,    /* resumed: boot time started anew; boot_ns is on the new axis */
	WET_EVENT_UNCERTAIN = 1 << 5, /* resumed: elapsed time is a range */
	WET_EVENT_SHIFTED = 1 << 6,   /* go: moved the start of a stage that had begun straight on */
	WET_EVENT_FAHRENHEIT = 1 << 7, /* reading: typed in Fahrenheit, and answered so; or a probe's, where the last was */
	WET_EVENT_PROBE = 1 << 8      /* reading: from a probe, not typed */
};

struct wet_event {
	int kind;                    /* enum wet_act_kind or WET_EVENT_x */
	uint32_t flags;              /* enum wet_event_flags */
	int64_t boot_ns;             /* when it was stamped */
	int64_t wall_ms;             /* Unix epoch; for display, and for elapsed time over a reboot */
	char boot_id[37];            /* which boot */
	int64_t a_ns, b_ns, c_ns;    /* longer: a_ns; join: a_ns is the count of pieces, 0: not said; resumed: see above */
	int32_t temperature_mc;      /* reading */
	int bath;                    /* reading: index, -1 for the room */
	int64_t number;              /* stage and count of acts its sender saw; -1: none */
	char token[WET_TOKEN_BYTES]; /* a client's name for the act; may be empty */
	uint32_t uid;                /* who */
};

/* -- state ----------------------------------------------------------------- */
/* X(NAME, text): the columns of the table of acts. */
#define WET_RUN_PHASES(X)               \
	X(READY, "ready")                   \
	X(HANDLING, "handling")             \
	X(WAITING, "waiting")               \
	X(POURING, "pouring")               \
	X(EARLY, "before least")            \
	X(BETWEEN, "between least and aim") \
	X(PAST, "past aim")                 \
	X(INTERRUPTED, "interrupted")       \
	X(ENDED, "ended")

enum wet_run_phase {
#define WET_RUN_PHASE_ENUM(name, text) WET_PHASE_##name,
	WET_RUN_PHASES(WET_RUN_PHASE_ENUM)
#undef WET_RUN_PHASE_ENUM
		WET_PHASE_N
};
const char *wet_run_phase_text(enum wet_run_phase phase);
const char *wet_act_word(int kind); /* of acts and events; never NULL */
int wet_act_from_word(const char *word, int *ret_kind);

enum wet_stage_flags {
	WET_STAGE_BEGUN = 1 << 0,
	WET_STAGE_DONE = 1 << 1,
	WET_STAGE_EARLY = 1 << 2,     /* ended by hand before `least` */
	WET_STAGE_OVERTIME = 1 << 3,  /* ended past `most` */
	WET_STAGE_UNCERTAIN = 1 << 4, /* no reading, outside the law's range, or clock not trusted */
	WET_STAGE_UNHEARD = 1 << 5    /* its end came due while nobody could hear it */
};
struct wet_stage_record {
	int64_t begin_ns, end_ns; /* run time */
	int32_t
		late_pour_ms; /* the next bath was poured so much after this one's end; an upper bound of carry-over's work */
	uint32_t flags; /* enum wet_stage_flags */
};

/* What acts change; small, because undo keeps copies. Fields are the core's own: read through wet_run_view. */
struct wet_run_pos {
	uint8_t base;       /* enum wet_run_phase: READY, HANDLING, WAITING, EARLY (for any live bath) or ENDED */
	uint8_t stage;      /* live stage, or the one to begin next while waiting */
	uint8_t piece;      /* handling: pieces done */
	uint8_t is_held;    /* the next stage waits for go */
	uint8_t is_late;    /* the end came due unheard: only go begins the next */
	uint8_t has_window; /* begun straight on: a press may still move the start */
	uint8_t was_shifted; /* a press did */
	uint8_t is_auto;     /* begun by the rehearsal's own key */
	int64_t since_ns;    /* stage begin, or since when it is waited or handled; run time */
	int64_t window_ns;   /* end of the pouring window; run time */
	int64_t longer_ns;   /* clock seconds added */
	int64_t
		floor_ns; /* aim may not fall before this (the arrival of the reading that moved it, or an undo) */
};

struct wet_undo {
	struct wet_run_pos pos;
	struct wet_stage_record before, live; /* records of the stage before pos.stage, and of it */
	bool has_open_paper_seen_light;
	uint8_t act;
};

/* What was read of the live bath. */
struct wet_bath_heat {
	struct wet_track_point track[WET_TRACK_POINTS]; /* run time; the first is the pour-in, if it is known */
	struct wet_newton_bin bins[WET_FIT_BINS];       /* readings taken in the vessel, for the fit; since origin_ns */
	int64_t origin_ns;
	int64_t folded_to_ns;                           /* where the track's folded head ends; the stage's begin if none */
	double folded_s, folded_warm_s, folded_cold_s;  /* its dose; and with all readings off by the tolerance */
	int32_t vessel_mc;                              /* of the empty vessel at pour-in; INT32_MIN: unknown */
	uint16_t track_count, bin_count;
};

/* How the temperature goes on after the last reading, and how that is known. */
enum wet_course_kind {
	WET_COURSE_NONE,     /* no bath is live, or nothing was read of it */
	WET_COURSE_CONSTANT, /* nothing is known: as it was read last */
	WET_COURSE_VESSEL,   /* by the vessel's constant, towards the room */
	WET_COURSE_FITTED,   /* by the fit of this bath's readings */
	WET_COURSE_KIND_N
};
struct wet_course {
	int32_t over_mc; /* FITTED: at the last reading, above it */
	int32_t room_mc; /* what it tends to */
	int64_t tau_ns;
	/* How it is known: lower triangle, by rows, of the root of the covariance of the temperature at the last reading (C), of
	 * log tau, of what it tends to (C). */
	float spread[6];
	uint32_t readings; /* FITTED: from so many */
	uint8_t kind;      /* enum wet_course_kind */
	bool is_free;      /* FITTED: what it tends to was found from the readings, too */
	uint16_t unused;
};

struct wet_run {
	struct wet_run_setup setup; /* as frozen */
	struct wet_run_pos pos;
	struct wet_undo undo[WET_UNDO_DEPTH];
	uint8_t undo_count;
	bool is_interrupted;
	bool has_open_paper_seen_light;
	uint8_t outcome; /* 0 live, 1 finished, 2 abandoned */
	int64_t act_count;
	int64_t event_count;
	/* boot time <-> run time */
	int64_t anchor_boot_ns, anchor_run_ns;
	uint32_t rate_milli;
	int64_t uncertain_ns;           /* width of the range after a reboot with an untrusted clock */
	int64_t gap_from_ns, gap_to_ns; /* the last gap, run time; 0, 0: none */
	int64_t interrupted_ns;         /* since when; run time */
	int64_t last_go_boot_ns;        /* accepted; for the guard */
	int64_t first_boot_ns;
	/* readings */
	struct wet_bath_heat heat, kept; /* of the live bath; of the one before, for an undo of the go that left it */
	struct wet_course course;        /* follows from `heat` and the room */
	int32_t poured_mc[WET_RECIPE_BATHS]; /* as it was in the vessel at its last pour-in; INT32_MIN: unknown */
	uint64_t after_stages;           /* bits of stages of which a reading after was taken */
	struct wet_cooling_seen seen;    /* the best that a fit told of how the vessel cools; error 0: nothing yet */
	bool is_fahrenheit;              /* the last reading was typed so */
	int32_t before_mc[WET_RECIPE_BATHS];  /* the next pour-in's temperature; INT32_MIN: unknown */
	int64_t read_at_ns[WET_RECIPE_BATHS]; /* when last read; run time; INT64_MIN: never */
	int32_t room_mc;
	struct wet_stage_record records[WET_RECIPE_STAGES];
};
static_assert(sizeof(struct wet_run) <= WET_RUN_BYTES, "a run must stay small");

/* Starts a run in READY. setup is copied; its recipe is borrowed for the run's life. */
void wet_run_init(struct wet_run *run, const struct wet_run_setup *setup, int64_t boot_ns);

/* -- acting ---------------------------------------------------------------- */
/* X(NAME, text): why an act was refused or ignored, or what it did. */
enum wet_answer_kind { WET_ANSWER_DO, WET_ANSWER_REFUSE, WET_ANSWER_IGNORE };

struct wet_answer {
	enum wet_answer_kind kind;
	int err; /* WET_OK, WET_ERR_REFUSED, WET_ERR_STALE, WET_ERR_REPEAT, WET_ERR_POLICY, WET_ERR_FIT */
	char text[WET_LINE_BYTES]; /* for people: what happened or what to do; "Begin first." */
	int pips;                  /* handling: piece number to count in pips; else 0 */
};

/* Presses that were not accepted yet, to notice three within two real seconds, and a reading that waits for its
 * repetition. Lives beside the run, is not stored and may be lost: zero it to begin. */
struct wet_presses {
	int64_t boot_ns[3];
	uint8_t kind[3];
	bool has_doubt;
	int32_t doubt_mc;
	int doubt_bath;
	int64_t doubt_boot_ns;
};

/* Decides on an act at event->boot_ns without changing the run: fills `answer`, may set flags and texts in `event`
 * (HELD after the third press, SHIFTED). DO means: store and fold the event. Nothing is stored otherwise.
 * The table state x act is complete; see wet_run_cell. */
void wet_run_try(const struct wet_run *run, struct wet_presses *presses, struct wet_event *event,
				 struct wet_answer *ret_answer);

/* Folds an event that wet_run_try allowed (or RESUMED, CLOCK). Total: an event that does not fit the state (a
 * damaged ledger) is counted and changes nothing. event->boot_ns must not be before the last one's on the same boot. */
void wet_run_fold(struct wet_run *run, const struct wet_event *event);

/* Lets the clock begin the stages that are due by boot_ns. Idempotent; fold and view do it themselves. */
void wet_run_advance(struct wet_run *run, int64_t boot_ns);

/* The next boot time at which the clock changes something by itself (a boundary, the end of a pouring window, the
 * rehearsal's own key). False: nothing will without an act. */
bool wet_run_deadline(const struct wet_run *run, int64_t *ret_boot_ns);

/* Would a boundary come due in (from, to] of boot time? For the rule of gaps: then RESUMED is to be appended. */
bool wet_run_has_boundary(const struct wet_run *run, int64_t from_boot_ns, int64_t to_boot_ns);

/* The table itself, for tests and documentation: what an act does in a phase. */
enum wet_cell { WET_CELL_DO, WET_CELL_REFUSE, WET_CELL_IGNORE, WET_CELL_HELD /* do if held */ };
enum wet_cell wet_run_cell(enum wet_run_phase phase, enum wet_act_kind act);

/* -- clock ------------------------------------------------------------------ */
int64_t wet_run_time(const struct wet_run *run, int64_t boot_ns); /* within the live stage's rate */
int64_t wet_run_boot(const struct wet_run *run,
					 int64_t run_ns); /* first boot ns at which run time is reached */

/* -- what a run tells of its vessel ------------------------------------------ */
/* What a reading after a bath (WET_EVENT_AFTER) tells, before it is folded: from pour-in to pour-out. False: nothing, because
 * pour-in or room are not known, the bath was not in the vessel, or it was told before. */
bool wet_run_seen_after(const struct wet_run *run, const struct wet_event *event, struct wet_cooling_seen *ret_seen);

/* -- reading it ------------------------------------------------------------- */
struct wet_view {
	enum wet_run_phase phase;
	enum wet_run_phase under; /* INTERRUPTED: the phase below; else equal to phase */
	int stage;                /* live, or next while waiting; -1 when ended */
	int next_stage;           /* -1: none */
	int piece;                /* handling: the piece to do now, from 1; else 0 */
	int64_t number;           /* stage and count of acts: an act may carry it */
	int64_t now_ns, begin_ns; /* run time */
	int64_t least_ns, aim_ns, most_ns, pour_out_ns,
		window_ns; /* run times of the live bath; most INT64_MAX: none */
	int64_t begin_boot_ns, least_boot_ns, aim_boot_ns, most_boot_ns,
		pour_out_boot_ns;   /* the same in boot time */
	int64_t band_ns;        /* the end could be off by this, for the stated tolerance of a reading and for what is not
	                           known of the temperature to come (two standard errors); 0: not compensated */
	int64_t forecast_band_ns; /* the part of it that the forecast makes */
	int64_t later_ns;       /* the end is so much later than at the reference temperature; below 0: sooner */
	int32_t reference_mc;   /* where the law's rate is 1; INT32_MIN: not compensated */
	enum wet_course_kind course; /* how the temperature after the last reading is known */
	uint32_t fit_readings;  /* course FITTED: from so many */
	int32_t rate_mc_per_min; /* of the forecast, now; below 0: cooling */
	int32_t settles_mc;     /* what it tends to; INT32_MIN: not known */
	int64_t tau_ns;         /* 0: not known */
	int32_t temperature_mc; /* of the live bath now, read or forecast; INT32_MIN: unknown */
	int64_t reading_age_ns; /* since it was last read; -1: never */
	bool is_compensated, is_uncertain, is_held, next_waits, is_overtime, is_past_most, is_late,
		can_press_pouring;
	bool is_cold; /* a fix too cold to be done by `most`, where it ends all the same */
	char doubt[WET_LINE_BYTES]; /* why the end is uncertain or too soon, and what to do; else empty */
	char warmth[WET_LINE_BYTES]; /* "Cooling 0.4 C a minute; ends 12 s later than at 20 C; fitted from 4 readings." */
	char end[48];               /* "2:10 +/- 4 s", of a live bath; shown, never spoken */
	enum wet_light_kind light; /* what this run needs now */
	bool is_paper_open;
	int64_t uncertain_ns;
	char doing[WET_LINE_BYTES]; /* one sentence: what the hands do now */
	char left[WET_LINE_BYTES];  /* of a live bath: "2 minutes in; pour out in 40 seconds."; else empty */
	char next[WET_LINE_BYTES];  /* one sentence: what comes next, with its place */
	char order[WET_LINE_BYTES]; /* after a gap or an interruption: the order; else empty */
};
void wet_run_view(const struct wet_run *run, int64_t boot_ns, struct wet_view *ret_view);

#endif
