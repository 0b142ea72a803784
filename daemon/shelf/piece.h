/* piece.h: a piece of paper as the ledger's entries hold it, and the names of cameras in a run's frozen recipe. */
#ifndef WET_SHELF_PIECE_H
#define WET_SHELF_PIECE_H

#include "wetside/errors.h"
#include "wetside/limits.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* X(name, as stored). A piece only goes on; EXPOSED is one that must not be exposed again. */
#define WET_PIECE_STATES(X) \
	X(CUT, "cut")           \
	X(LOADED, "loaded")     \
	X(EXPOSED, "exposed")   \
	X(PROCESSED, "processed") \
	X(JUDGED, "judged")

enum wet_piece_state {
#define WET_PIECE_ENUM(name, text) WET_PIECE_##name,
	WET_PIECE_STATES(WET_PIECE_ENUM)
#undef WET_PIECE_ENUM
		WET_PIECE_STATE_N
};
const char *wet_piece_state_word(enum wet_piece_state state); /* static storage */

struct wet_piece {
	int number; /* 0: its name is none */
	enum wet_piece_state state;
	int64_t width_um, height_um; /* 0: not known */
	int64_t cut_run;             /* 0: cut before anybody wrote it down */
	char base[16], mark[WET_NAME_BYTES];
	char box[WET_NAME_BYTES];    /* of the paper it was cut from; empty: not told */
	char camera[WET_NAME_BYTES]; /* it is in, or was last in; empty: none */
	char emulsion[16];           /* "towards" or "away" from the light, as it was told; else empty */
	bool is_in_camera;
	bool is_fogged, is_left_open;
	int64_t loaded_ms, unloaded_ms;
	int64_t process_run; /* that it is or was in; 0: none */
	int slot;            /* its place in that run, from 1 */
	int64_t cut_light_s, load_light_s, run_light_s; /* under a safelight */
};

/* The body of its entry. What is missing in the text is nothing; WET_ERR_INVALID: no object. */
int wet_piece_decode(const char *text, struct wet_piece *ret_piece, struct wet_fault *reterr);
/* WET_ERR_NOMEM; WET_ERR_TOO_LONG. */
int wet_piece_encode(const struct wet_piece *piece, char *buf, size_t buf_bytes, struct wet_fault *reterr);

/* A recipe's text with the cameras that a run of it unloads, in their order: canonical, the caller's to free. */
int wet_recipe_unloading(const char *json, size_t json_bytes, const char (*cameras)[WET_NAME_BYTES], int count,
						 char **ret_json, size_t *ret_bytes, struct wet_fault *reterr);

#endif
