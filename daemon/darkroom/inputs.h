/* inputs.h: what is told of foot switches and probes, and what they bring. The host reads them; here are only plain structs. */
#ifndef WET_DARKROOM_INPUTS_H
#define WET_DARKROOM_INPUTS_H

#include "wetside/limits.h"

#include <stdbool.h>
#include <stdint.h>

struct wet_darkroom;

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

/* Puts trouble with an input, or its end, before every live run that it may concern: of that name, or ("") all. Returns how
 * many were told. `word` is what followers see: "switch", "probe". */
int wet_darkroom_tell_input(struct wet_darkroom *darkroom, const char *run, const char *word, const char *text);

#endif
