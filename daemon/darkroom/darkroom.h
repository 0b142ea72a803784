/* darkroom.h: where things meet: live runs, their deadlines, their cues, the room's light, what waits for the disk.
 *
 * Depends on ports and the rooms below. One wake-up is one turn: the clock is read once; due runs; sound; then whoever
 * called serves requests; then wet_darkroom_wake_ns says when to come again. An act is folded and heard at
 * once; its `stored` comes when the ledger has it. */
#ifndef WET_DARKROOM_H
#define WET_DARKROOM_H

#include "darkroom/ports.h"
#include "darkroom/wash.h"
#include "shelf/mixing.h"
#include "wetside/cues.h"
#include "wetside/run.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct wet_darkroom;
struct wet_shelf;

#define WET_CUE_LOG 16 /* last cues of a run, for followers that print them */

struct wet_heard {
	int64_t seq; /* counts from 1 in each run */
	int64_t at_boot_ns, at_run_ns;
	char word[24]; /* the cue's word, or "answer", "refused", "alarm", "order" */
	enum wet_tone tone;
	int pips;
	char text[WET_LINE_BYTES];
};

/* A picture that dries: no live run, a due date. */
#define WET_DRYING 32 /* remembered at once */
struct wet_drying {
	char name[WET_NAME_BYTES]; /* of the run */
	char how[WET_LINE_BYTES];
	int64_t due_wall_ms, most_wall_ms; /* dry at the earliest, and surely */
	int64_t due_boot_ns;
	bool is_told; /* its one sound was made, or it was due before this daemon came */
};

/* A recipe shared by content hash. */
struct wet_frozen {
	struct wet_recipe recipe;
	char hash[65];
	int users;
	struct wet_frozen *next;
};

struct wet_live {
	int64_t id;
	char name[WET_NAME_BYTES];
	char person[WET_NAME_BYTES];
	uint32_t owner_uid;
	bool group_controls;
	struct wet_frozen *frozen;
	struct wet_run run;
	struct wet_presses presses;
	int64_t seq;        /* last event's number */
	int64_t stored_seq; /* last event known to be in the ledger */
	bool has_lost_event; /* one that can never be stored: told, and never "stored again" */
	bool is_not_stored; /* told: the disk is behind */
	int digit;          /* sound check: pips to be named back; 0: passed or waived */
	bool has_inhibitor;
	uint8_t told_stage; /* the stage whose doubts were told, + 1 */
	bool told_cold, told_outside, told_no_reading; /* in that stage; no reading: in this run */
	bool lights_wait; /* white is allowed for this run, but the room waits for another */
	bool is_finish_sent;
	bool has_bookings;      /* armed from a plan: each stage's begin books its bath */
	uint64_t booked_stages; /* asked for since this daemon came; asking again is safe */
	uint32_t emergency_seq; /* the last one it was told of */
	int64_t begun_ns;       /* when it was begun, if this daemon saw it: a foot switch's press so soon is the same one */
	int64_t armed_wall_ms, last_wall_ms, last_boot_ns;
	/* cues */
	struct wet_cue next_cue;
	bool has_next_cue;
	int64_t cue_after_ns; /* cues up to here were handed over */
	struct wet_heard log[WET_CUE_LOG];
	int64_t log_seq;
	/* deadlines */
	int64_t wake_ns;
	size_t heap_index; /* 0: not in the heap */
	/* followers */
	int64_t change_seq;
	struct wet_live *newer, *older; /* by change */
	/* tokens of the last acts */
	struct {
		char token[WET_TOKEN_BYTES];
		struct wet_answer answer;
		int64_t seq;
	} tokens[16];
	unsigned token_head;
	/* lateness of boundaries, for the bench and the log */
	int64_t late_max_ns;
};

int wet_darkroom_new(struct wet_darkroom **ret_darkroom, const struct wet_ports *ports,
					 struct wet_shelf *shelf);
void wet_darkroom_free(struct wet_darkroom *darkroom);

/* At start, on the ledger's thread before others use it: live runs come back, each with the order to its operator.
 * alive_boot_ns/alive_boot_id: when the daemon before was last alive (boot_ns 0: unknown). Bad rows are skipped and
 * counted; their runs stay in the ledger. */
int wet_darkroom_load(struct wet_darkroom *darkroom, struct wet_ledger *ledger, int64_t alive_boot_ns,
					  const char *alive_boot_id, int *ret_bad, struct wet_fault *reterr);

/* Due runs and cues at now. Returns the boot time of the next wake-up (INT64_MAX: none). */
int64_t wet_darkroom_turn(struct wet_darkroom *darkroom);
int64_t wet_darkroom_wake_ns(const struct wet_darkroom *darkroom);
/* The sound may have been lost, be muted, or be back: told to every live run when it is. Back, it says what was missed. */
void wet_darkroom_sound_changed(struct wet_darkroom *darkroom);
/* To another device, while runs are live or not; cb is called once, maybe at once. One at a time. */
typedef void wet_switched_cb(void *ctx, const struct wet_fault *fault);
void wet_darkroom_sound_switch(struct wet_darkroom *darkroom, const char *where, wet_switched_cb *cb, void *cb_ctx);
/* The host's: that is over. */
void wet_darkroom_sound_switched(struct wet_darkroom *darkroom, const struct wet_fault *fault);
/* The host's: there is a voice only now, since the sound goes somewhere. Takes the ports of speech. */
void wet_darkroom_sound_voiced(struct wet_darkroom *darkroom, const struct wet_ports *ports);
/* The wall clock may have been set: each live run whose last event tells another time gets an event that says by how much.
 * Nothing moves by it, deadlines are boot time; but over a reboot elapsed time is counted from the last event's wall time. */
void wet_darkroom_wall_changed(struct wet_darkroom *darkroom);

/* -- arming -- */
struct wet_cutting; /* shelf/cutting.h */
/* A piece of the ledger that a run processes, and what it is unloaded from, as it is said. */
struct wet_unloading {
	char piece[WET_NAME_BYTES], from[WET_NAME_BYTES];
};
struct wet_arming {
	char recipe_name[WET_NAME_BYTES];
	char run_name[WET_NAME_BYTES];    /* empty: made from the recipe's vessel */
	char vessel_name[WET_NAME_BYTES]; /* empty: the recipe's usual one */
	char washer_name[WET_NAME_BYTES]; /* empty: "washer"; runs of a room that name one washer share it */
	char room[WET_NAME_BYTES];
	char person[WET_NAME_BYTES];
	char plan_name[WET_NAME_BYTES]; /* the next load of a kept plan: it says recipe, vessel and pieces; empty: none */
	int pieces;
	int64_t fill_ns, drain_ns, stagger_ns; /* -1: the vessel's */
	int64_t tau_ns;                        /* 0: unknown */
	int32_t room_mc;                       /* INT32_MIN: unknown */
	bool is_rehearsal, is_mine, is_wet, no_beat, group_controls;
	bool is_stale_air; /* the room is hardly aired */
	bool is_number_later; /* the sound check waits until it is asked for */
	bool is_wash;               /* a wash alone: `wash` in place of a recipe's name; no sound check */
	struct wet_washing wash;
	bool is_mix;           /* a solution mixed: `mix` in place of a recipe's name; no sound check */
	struct wet_mixing mix; /* called "": the formula's name, with a number where that stands on the shelf */
	const struct wet_cutting *cut; /* a cutting sequence in place of a recipe's name, borrowed for the call; else NULL */
	int unload_count; /* pieces that are known, in the order of their slots; 0: not told which. More than `pieces`: the first */
	struct wet_unloading unload[WET_PIECES];
	uint32_t rate_milli[WET_STAGE_KIND_N];
	uint32_t uid;
};
/* What arming told; valid during the callback. */
struct wet_armed {
	struct wet_live *live; /* NULL on failure */
	char told[512];        /* warnings, one a line */
	bool is_stale_air;     /* as it was asked for */
};
typedef void wet_armed_cb(void *ctx, const struct wet_armed *armed, const struct wet_fault *fault);
/* Answers through cb, now or later. */
void wet_darkroom_arm(struct wet_darkroom *darkroom, const struct wet_arming *arming, wet_armed_cb *cb,
					  void *ctx);

/* -- acting -- */
typedef void wet_acted_cb(void *ctx, struct wet_live *live, const struct wet_answer *answer, bool is_stored);
/* `event` needs kind, flags, a_ns, temperature, bath, number, token, uid; time stamps are made here. cb is called once:
 * at once for what is not stored (refused, ignored, where), else when the ledger has it, or after a second without. */
void wet_darkroom_act(struct wet_darkroom *darkroom, struct wet_live *live, struct wet_event *event,
					  wet_acted_cb *cb, void *ctx);
/* The sound check: right: passes; wrong: WET_ERR_UNHEARD. heard < 0: waived, recorded. */
int wet_darkroom_heard(struct wet_darkroom *darkroom, struct wet_live *live, int heard,
					   struct wet_fault *reterr);
void wet_darkroom_play_digit(struct wet_darkroom *darkroom, struct wet_live *live);
/* Emergency for every live run, or for none. cb once per call when all is stored or a second has passed (live is the first or NULL). */
void wet_darkroom_emergency(struct wet_darkroom *darkroom, uint32_t uid, wet_acted_cb *cb, void *ctx);

/* -- reading -- */
struct wet_live *wet_darkroom_find(struct wet_darkroom *darkroom, const char *name);
/* The run an unnamed act belongs to: the one in ready, handling or a bath; WET_ERR_WHICH with the names, WET_ERR_NOT_FOUND. */
int wet_darkroom_the_run(struct wet_darkroom *darkroom, struct wet_live **ret_live, struct wet_fault *reterr);
bool wet_live_is_over(const struct wet_live *live);
/* Newest change first. */
struct wet_live *wet_darkroom_newest(struct wet_darkroom *darkroom);
size_t wet_darkroom_count(const struct wet_darkroom *darkroom); /* live ones */
int64_t wet_darkroom_change_seq(const struct wet_darkroom *darkroom);
/* The strictest need of all live runs in a room. */
enum wet_light_kind wet_darkroom_light(const struct wet_darkroom *darkroom, const char *room);
/* Paper of this run lies open, so no screen may light up: a real run that is live. After the emergency the lights are on. */
bool wet_live_is_dark(const struct wet_darkroom *darkroom, const struct wet_live *live);
/* It is not dark now, but would be after this act (begin, go, undo, resume): who is about to send it blackens a screen first. */
bool wet_live_would_darken(const struct wet_darkroom *darkroom, const struct wet_live *live, enum wet_act_kind act);
bool wet_darkroom_is_dark_anywhere(const struct wet_darkroom *darkroom);
struct wet_shelf *wet_darkroom_shelf(struct wet_darkroom *darkroom);
const struct wet_ports *wet_darkroom_ports(const struct wet_darkroom *darkroom);
/* What dries, or became dry within the last twelve hours; valid until the next turn. Returns the count. */
int wet_darkroom_drying(struct wet_darkroom *darkroom, const struct wet_drying **ret_list);
/* Nothing keeps the machine awake although a run is live: no login manager. */
bool wet_darkroom_may_sleep(const struct wet_darkroom *darkroom);
bool wet_darkroom_disk_is_behind(const struct wet_darkroom *darkroom, char *text, unsigned text_bytes);
/* Puts a sentence and its tone before the person and the followers at once. */
void wet_live_tell(struct wet_darkroom *darkroom, struct wet_live *live, const char *word, enum wet_tone tone,
				   int pips, const char *text);

#endif
