/* ports.h: what the darkroom needs from the outside, as a small struct of functions. host fills it, tests fill it
 * with fakes. Nothing points up. All calls are made from the loop's thread. */
#ifndef WET_PORTS_H
#define WET_PORTS_H

#include "wetside/errors.h"
#include "wetside/tones.h"

#include <stdbool.h>
#include <stdint.h>

struct wet_ledger;
struct wet_switch_state;
struct wet_probe_state;

/* One piece of work for the ledger's worker. `work` runs there, in a transaction with others if it writes; `done` runs on
 * the loop afterwards, once, and frees the job. A write that fails is kept by the worker, in order, and tried
 * again until it succeeds; `delayed` tells so once, on the loop. With is_once a failure is final, and so is always an error
 * that trying again cannot help (ledger.h): done gets it, and the writes behind it go on. */
struct wet_job {
	struct wet_job *next; /* the worker's */
	int (*work)(struct wet_job *job, struct wet_ledger *ledger, struct wet_fault *reterr);
	void (*delayed)(struct wet_job *job, const struct wet_fault *fault); /* may be NULL */
	void (*done)(struct wet_job *job,
				 const struct wet_fault *fault); /* fault->err is WET_OK if it went well */
	void *ctx;
	bool is_write, is_once;
	/* The worker's own. */
	struct wet_job *next_told; /* a delayed job keeps its place among the writes while the loop is told */
	bool was_delayed;
	struct wet_fault fault, told;
};

/* What is said after a tone; see sound/talk.h for which of several is said. */
struct wet_saying {
	uint64_t owner; /* the run's id; 0: none */
	enum wet_tone tone;
	bool is_planned;
	int64_t cue_ns, from_ns, until_ns; /* when the tone begins, when it has ended, and when the words must be over */
	int pips;                          /* played instead where it can't be said; 0: nothing is */
	const char *name;                  /* whose, said before it; empty: nobody's */
	const char *text;
};

/* A device that sound could go to. */
#define WET_SOUND_DEVICES 128
struct wet_sound_device {
	char name[128]; /* as sound_switch takes it */
	char text[256]; /* what is known of it, in one line */
};
/* Called once, on the loop; the list is valid during the call. */
typedef void wet_sound_devices_cb(void *ctx, const struct wet_sound_device *list, int count);

struct wet_ports {
	void *ctx;
	int64_t (*now_ns)(void *ctx); /* boot time */
	int64_t (*wall_ms)(void *ctx);
	const char *(*boot_id)(void *ctx);  /* valid for the process's life */
	bool (*is_wall_trusted)(void *ctx); /* kept over power-off, or synchronised since */
	uint64_t (*random)(void *ctx);
	void (*store)(void *ctx, struct wet_job *job);
	/* Sound; see speaker.h. Owner is the run's id. */
	void (*cue_at)(void *ctx, uint64_t owner, int64_t at_ns, enum wet_tone tone, int pips,
				   uint32_t rate_milli);
	void (*cue_now)(void *ctx, enum wet_tone tone, int pips);
	void (*cue_cancel)(void *ctx, uint64_t owner, int64_t from_ns);
	/* The device is open and fed silence. Wanted again two seconds ahead of a cue that follows a long silence, while the
	 * cue itself is handed over only when no act can take it back any more. */
	void (*sound_want)(void *ctx, bool is_wanted);
	bool (*sound_is_well)(void *ctx, char *text, unsigned text_bytes); /* text says what is wrong */
	/* These may be NULL. It sounds, but whether the device is muted nobody can see from here. */
	bool (*sound_is_unseen)(void *ctx);
	/* Where the sound goes, as it was asked for; valid until the next turn. */
	const char *(*sound_where)(void *ctx);
	/* Begins to switch; wet_darkroom_sound_switched tells the end, if this gives WET_OK. */
	int (*sound_switch)(void *ctx, const char *where, struct wet_fault *reterr);
	/* What there is to switch to. */
	int (*sound_devices)(void *ctx, wet_sound_devices_cb *cb, void *cb_ctx);
	/* Speech: the three are NULL where no voice is wanted. Nothing waits for it, and what can't be said in time is not. */
	void (*say)(void *ctx, const struct wet_saying *saying);
	/* A run that is armed will say it: it is made ready. NULL: no run is live any more, and nothing need be kept ready. */
	void (*say_soon)(void *ctx, const char *text);
	bool (*voice_is_well)(void *ctx, char *text, unsigned text_bytes); /* text says what is wrong */
	/* What the configuration names, each with its health, for the status (inputs.h); NULL: none. */
	const struct wet_switch_state *(*switches)(void *ctx, int *ret_count);
	const struct wet_probe_state *(*probes)(void *ctx, int *ret_count);
	/* Keeps the machine awake while a run is live; false: no login manager. */
	bool (*inhibit)(void *ctx, bool is_wanted);
};

#endif
