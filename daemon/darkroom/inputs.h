/* inputs.h: what is told of foot switches and probes, and what they bring. The host reads them; here are only plain structs. */
#ifndef WET_DARKROOM_INPUTS_H
#define WET_DARKROOM_INPUTS_H

#include "wetside/limits.h"

#include <stdbool.h>
#include <stdint.h>

struct wet_darkroom;
struct wet_presses;

/* For the status. The texts are the configuration's. */
struct wet_switch_state {
	const char *name, *device, *run; /* run: empty, the one run */
	bool is_well;
	char text[WET_LINE_BYTES]; /* what is wrong; of a well one, what it is */
	int64_t press_count;       /* since the daemon came */
};

/* A foot switch was pressed: begin in a run that is ready, else go, both without a number, so that the rule of two seconds is
 * their only guard; a press so soon after begin is one with it. Every press sounds. `run`: a name, or "" for the one run. */
void wet_darkroom_press(struct wet_darkroom *darkroom, const char *run);

/* -- probes -- */
struct wet_probe_state {
	const char *name, *file, *bath, *room, *run; /* empty where the configuration says nothing */
	bool is_needed;            /* a run is live that it is read for */
	bool is_well;
	char text[WET_LINE_BYTES];
	int32_t temperature_mc;    /* the last that was believed; INT32_MIN: none yet */
	int64_t temperature_ns;    /* when; boot time */
	int64_t read_count;        /* since the daemon came */
};

/* What an input belongs to: a run by its name, a bath by the key or name that its recipe has, a room. Empty: any. */
struct wet_input_place {
	const char *run, *bath, *room;
};

/* Is a real run live that a probe there is to be read for: one that is still to use the bath, or is in the room? */
bool wet_darkroom_needs_probe(const struct wet_darkroom *darkroom, const struct wet_input_place *place);

/* A probe's value, believed (wetside/probe.h), for each of these runs: a reading event with WET_EVENT_PROBE. It makes no sound
 * unless it moves an end by over a tenth; then it is said. Nobody is asked to repeat it: what a person would be asked to
 * repeat is taken when the probe repeats it, within the same time; `doubt` keeps that from call to call, zero it to begin.
 * So that the ledger does not fill, a value is stored only if it has moved by a step that means something, or when it has not
 * been for a while:
 *   0.1 C or a minute of the bath that is live: at a factor of 2.5 per 10 C that is a hundredth of the time, about what a
 *     press of a key is exact to, and no forecast has to reach further than that minute;
 *   0.3 C or ten minutes of a bath that waits, 0.3 C of a room, as a run may be armed for hours.
 * State is what the ledger has: what is not stored moves nothing. Returns true if a value waits to be repeated. */
bool wet_darkroom_probed(struct wet_darkroom *darkroom, const struct wet_input_place *place, int32_t temperature_mc,
						 struct wet_presses *doubt);

/* Puts trouble with an input, or its end, before every live run that it may concern. Returns how many were told. `word` is
 * what followers see: "switch", "probe". */
int wet_darkroom_tell_input(struct wet_darkroom *darkroom, const struct wet_input_place *place, const char *word,
							const char *text);

#endif
