/* inside.h: what the files of the darkroom share. Not for other rooms. */
#ifndef WET_DARKROOM_INSIDE_H
#define WET_DARKROOM_INSIDE_H

#include "darkroom/darkroom.h"
#include "darkroom/stock.h"
#include "ledger/ledger.h"

#define LEAD_NS 150000000LL            /* a planned cue is handed to the speaker so long ahead */
#define COMMITTED_NS 35000000LL        /* what the speaker may have committed already */
#define STORE_PATIENCE_NS 1000000000LL /* a reply waits so long for the disk */
#define ENDED_KEPT 32                  /* ended runs that followers can still see */

/* What a use told of a vessel; error 0: nothing. */
struct lesson {
	struct wet_vessel vessel; /* as the run has it */
	struct wet_cooling_seen seen;
	int64_t run_id, wall_ms;
	uint32_t uid;
};
/* On the ledger's thread. */
int vessel_learn(struct wet_ledger *ledger, const struct lesson *lesson, struct wet_fault *reterr);

/* An act on its way to the ledger. */
struct writing {
	struct wet_job job;
	struct wet_darkroom *darkroom;
	struct wet_live *live;
	struct wet_event event;
	int64_t run_id, seq;
	struct lesson lesson; /* of a reading after a bath */
	struct wet_answer answer;
	wet_acted_cb *cb; /* NULL once answered */
	void *cb_ctx;
	int64_t sent_ns;
	struct writing *newer, *older;
};

struct heap {
	struct wet_live **at; /* from 1 */
	size_t count, room;
};
int heap_reserve(struct heap *heap, size_t n);
void heap_set(struct heap *heap, struct wet_live *live,
			  int64_t wake_ns); /* inserts or moves; room was reserved */
void heap_remove(struct heap *heap, struct wet_live *live);
struct wet_live *heap_top(const struct heap *heap);

struct wet_darkroom {
	struct wet_ports ports;
	struct wet_shelf *shelf;
	struct heap heap;
	struct wet_live *newest, *oldest; /* by change */
	size_t live_count, ended_count;
	size_t lights_waiting; /* runs with lights_wait: mostly none, and then no turn looks through all runs */
	int64_t change_seq;
	uint32_t emergency_seq; /* of the last emergency */
	int64_t last_turn_ns;
	struct wet_frozen *frozen;
	struct writing *oldest_writing, *newest_writing;
	struct arming *armings; /* on their way to the ledger */
	struct wet_fault disk; /* why the disk is behind; err WET_OK: it is not */
	size_t behind_count;
	bool has_inhibitor; /* asked for */
	bool is_kept_awake; /* and got */
	bool is_loading;    /* there is no worker yet: */
	struct wet_job *early, **early_tail; /* what it is to store first */
	bool wants_sound;
	struct wet_drying drying[WET_DRYING];
	int drying_count;
	int64_t sound_wake_ns;   /* when it must be judged anew; INT64_MAX: when something happens */
	int64_t far_cue_ns;      /* the cue over which the device was closed; INT64_MAX: none */
	int64_t digit_played_ns;
	bool is_sound_bad; /* told, if a run was live; its coming back is told too */
	int64_t sound_bad_ns; /* since when */
	wet_switched_cb *switched; /* NULL: no switch is under way */
	void *switched_ctx;
	struct wet_placed placed;
};

int64_t now_of(const struct wet_darkroom *d);
/* Of the ledger, into *placed; on its thread. */
int placed_read(struct wet_ledger *ledger, struct wet_placed *placed, struct wet_fault *reterr);
void placed_take(struct wet_darkroom *d, const struct wet_placed *placed);
struct wet_frozen *frozen_hold(struct wet_darkroom *d, const struct wet_recipe *recipe, const char *hash);
struct wet_live *live_add(struct wet_darkroom *d, int64_t id, struct wet_frozen *frozen);
void live_drop(struct wet_darkroom *d, struct wet_live *live);
void live_touch(struct wet_darkroom *d, struct wet_live *live);
/* Due boundaries and cues at now, then its next wake-up. */
void live_serve(struct wet_darkroom *d, struct wet_live *live, int64_t now_ns);
/* The next turn serves it: for a run that was loaded before there is a worker. */
void live_serve_soon(struct wet_darkroom *d, struct wet_live *live, int64_t now_ns);
/* After an act: what was planned is planned anew. */
void live_replan(struct wet_darkroom *d, struct wet_live *live, int64_t now_ns);
void live_log(struct wet_live *live, const struct wet_heard *heard);
/* Folds and sends an event to the ledger, a step of the wall clock before it. cb may be NULL. */
int live_append(struct wet_darkroom *d, struct wet_live *live, const struct wet_event *event,
				const struct wet_answer *answer, wet_acted_cb *cb, void *cb_ctx);
void stamp_event(struct wet_darkroom *d, struct wet_live *live, struct wet_event *event, int64_t now_ns);
/* The wall's time at boot_ns. */
int64_t wall_at_ms(const struct wet_darkroom *d, int64_t boot_ns);
/* From one wall time to another; held within what nanoseconds can say. */
int64_t wall_apart_ns(int64_t from_ms, int64_t to_ms);
/* If the wall clock has stepped between the run's last event and this one, an event that says so. */
bool live_note_step(struct wet_darkroom *d, struct wet_live *live, const struct wet_event *event);
void early_flush(struct wet_darkroom *d);
void make_resumed(const struct wet_run *run, int64_t alive_boot_ns, struct wet_event *event);
void writings_expire(struct wet_darkroom *d, int64_t now_ns);
int64_t writings_deadline(const struct wet_darkroom *d);
/* The recipe of a run as it was when it was armed; the caller frees it. */
int recipe_of_row(struct wet_ledger *ledger, const struct wet_ledger_run *row, struct wet_recipe **ret_recipe,
				  struct wet_fault *reterr);
void light_settle(struct wet_darkroom *d);
/* Stages that have begun book their baths. */
void bookings_settle(struct wet_darkroom *d, struct wet_live *live);
/* Will this act put pieces into a washer? */
bool wash_begins(const struct wet_run *run, const struct wet_event *event);
/* The live stage, from 1, if it is a wash in a washer; else 0. */
int wash_stage(const struct wet_run *run);
/* The wash of every other run in the washer of `live` begins anew; each is stored and told, and `text` says whose. */
void wash_join_others(struct wet_darkroom *d, struct wet_live *live, int64_t pieces, uint32_t uid, char *text,
					  unsigned text_bytes);
/* Must a run that says "lights may come on" wait for this one? In one room, but never paper for a rehearsal. */
bool light_concerns(const struct wet_live *other, const struct wet_live *live);
/* On the ledger's thread: the name it will have on the shelf, the one that is asked for or the formula's with a number.
 * *number: of the last that was tried, 0 at first. WET_ERR_EXISTS: what is asked for stands there, or was tried. */
int mix_find_name(struct wet_ledger *ledger, struct wet_mixing *mix, int *number, struct wet_fault *reterr);
/* On the ledger's thread: puts it on the shelf, once a run. */
int mix_book(struct wet_ledger *ledger, int64_t run_id, const struct wet_product *makes, int64_t wall_ms, uint32_t uid,
			 struct wet_fault *reterr);
/* A cutting run that has ended. */
struct wet_cut_ended {
	int64_t run_id, wall_ms;
	uint32_t uid;
	char recipe_hash[65];
	char person[WET_NAME_BYTES];
	int64_t light_s; /* under a safelight */
};
/* pieces.c, on the ledger's thread. In the transaction that stores the run: its pieces are tied to it, if all may be. */
int pieces_tie(struct wet_ledger *ledger, const struct wet_arming *want, int64_t run_id, struct wet_fault *reterr);
/* At its end: they are processed; of an abandoned run they are free again. */
int pieces_book(struct wet_ledger *ledger, const struct wet_cut_ended *ended, bool is_finished, struct wet_fault *reterr);
/* How long a run was under a safelight, by its stages. */
int64_t pieces_light_s(const struct wet_run *run);
/* On the ledger's thread: its pieces are entries from now on, once a run. */
int cut_book(struct wet_ledger *ledger, const struct wet_cut_ended *ended, struct wet_fault *reterr);
/* May nothing be mixed in this room, because paper lies open in it? The text says whose. */
bool mix_is_barred(struct wet_darkroom *d, const char *room, char *text, unsigned text_bytes);
/* May this run not make its room dark, because something is being mixed there? */
bool mix_bars_dark(struct wet_darkroom *d, const struct wet_live *live, char *text, unsigned text_bytes);
/* Appends what is foreseen of the hands of whoever runs `live`, whose run is or will be as `run` is: other runs need them too. */
void hands_foresee(struct wet_darkroom *d, const struct wet_live *live, const struct wet_run *run, char *text,
				   unsigned text_bytes);
/* Is this the moment to say so: the begin, or "lid on" before the first bath? The run as it is then. */
bool hands_are_due(const struct wet_run *before, const struct wet_event *event, struct wet_run *ret_after);
void inhibitor_settle(struct wet_darkroom *d);
void drying_add(struct wet_darkroom *d, const char *name, const struct wet_recipe *recipe, int64_t ended_wall_ms);
void drying_serve(struct wet_darkroom *d, int64_t now_ns);
int64_t drying_deadline(const struct wet_darkroom *d);
/* Opens or closes the sound device, after what is known now. */
void settle_sound(struct wet_darkroom *d, int64_t now_ns);
/* What a planned cue says; what is told now; what a run that is armed or comes back will say. */
void say_planned(struct wet_darkroom *d, const struct wet_live *live, const struct wet_cue *cue, const char *text);
void say_now(struct wet_darkroom *d, const struct wet_live *live, enum wet_tone tone, int pips, const char *text);
void say_soon(struct wet_darkroom *d, const struct wet_live *live);
void wet_rehearsal_recipe(struct wet_recipe *ret_recipe, enum wet_vessel_kind kind);
#define WET_REHEARSAL_NAME "wet-rehearsal"

#endif
