/* scene.h: what the watch knows of the runs, as plain data: filled by scene.c from the daemon's answers, laid out by page.c.
 *
 * Times are microseconds of boot time, -1: none. Every text is as the daemon told it, made safe for a terminal. */
#ifndef WET_CLIENT_SCENE_H
#define WET_CLIENT_SCENE_H

#include "wetside/limits.h"

#include <jansson.h>
#include <stdbool.h>
#include <stdint.h>

#define SCENE_TANKS 16 /* runs that are kept; the digits name nine of them */

struct scene_stage {
	char name[WET_NAME_BYTES], kind[24], time[24];
	bool is_done;
};

struct scene_tank {
	int64_t id, number, now_us, begin_us, hands_us, pour_out_us, aim_us, most_us;
	double rate;
	int stage;
	int64_t sound_seq; /* of the last word about the sound device */
	char name[WET_NAME_BYTES], recipe[WET_NAME_BYTES], stage_name[WET_NAME_BYTES], room[WET_NAME_BYTES];
	char phase[24], outcome[16], light[24], temperature[24], end[48];
	char doing[WET_LINE_BYTES], hands[WET_LINE_BYTES], next[WET_LINE_BYTES], order[WET_LINE_BYTES], doubt[WET_LINE_BYTES],
		forecast[WET_LINE_BYTES], heard[WET_LINE_BYTES];
	bool is_rehearsal, is_dark, is_behind, is_overtime, is_uncertain, is_held, is_late, next_waits, wants_number;
	bool begin_darkens, go_darkens, undo_darkens, resume_darkens;
};

struct scene {
	struct scene_tank tanks[SCENE_TANKS]; /* by id, rising */
	int count, watched;                   /* watched: index; -1: none yet */
	struct scene_stage stages[WET_RECIPE_STAGES];
	int stage_count;
	int64_t now_us;
	bool is_gone;      /* no daemon answers */
	bool is_emergency; /* raised here, and nobody took it yet */
	bool is_help;      /* the keys fill the page */
	bool is_red;       /* the view of a screen that passed its fog test */
	char told[WET_LINE_BYTES];  /* of the last key, where the daemon could not say it */
	char entry[WET_LINE_BYTES]; /* a reading or a number that is being put in; empty: none */
	char sound[WET_LINE_BYTES]; /* why nothing can be heard; empty: it can */
};

/* Takes a run's whole state in; one that has ended and is not the watched one leaves. Returns its index, -1 if it is not kept. */
int scene_take(struct scene *scene, const json_t *run, int64_t watched_id);
void scene_take_stages(struct scene *scene, const json_t *stages);
/* The watched tank, or NULL. */
const struct scene_tank *scene_tank(const struct scene *scene);
/* The index of the nth live one, from 1; -1: there is none. */
int scene_nth(const struct scene *scene, int nth);
int scene_live_count(const struct scene *scene);

#endif
