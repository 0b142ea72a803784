/* cutting.h: sheets of paper cut into pieces by straight cuts from edge to edge. PURE: no allocation, no files.
 *
 * A cut goes through the whole of what lies on the table. Its place is set by a stop (or a gauge of card): what lies
 * between stop and blade is measured, what hangs over falls off. The measured part is always a piece, or a strip of pieces
 * side by side, never the waste: sheets differ by a millimetre, and what is cut off by what is left over differs with them.
 *
 * Of all ways to cut, the plan takes the one that is best by these keys, in this order:
 *   one size, as many as a sheet gives        several sizes, or so many of one
 *   1. the most pieces                        1. the fewest sheets
 *   2. the fewest settings of the stop        2. the largest single rectangle left over, by area
 *   3. the fewest cuts                        3. the fewest settings, 4. the fewest cuts
 * A setting that is used again, for the other edge of the sheet or on the next sheet, counts once. `proven` says how many of
 * these keys are proven best; the others are the best found within the limit on work. The same ask gives the same plan.
 *
 * Kerf: what the blade turns to dust. A trimmer's is 0, that of a saw-toothed edge may not be. It is exact to give every piece
 * and the sheet a kerf more in both directions and to cut without one. Margin: the outermost strip of the sheet, which is not
 * used (edges that are fogged or not square): it is cut off all around first, with one setting.
 *
 * Lengths are integers: ticks of 1/192 micrometre, so that millimetres and fractions of an inch down to 1/512, thirds and
 * twelfths are exact (the inch is 25.4 mm exactly: international yard and pound agreement, 1959; ISO 31-1). */
#ifndef WETSIDE_CUTTING_H
#define WETSIDE_CUTTING_H

#include "wetside/errors.h"
#include "wetside/limits.h"
#include "wetside/quantity.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WET_CUT_TICKS_PER_UM 192                           /* of a length here */
#define WET_CUT_TICKS_PER_MM (1000 * WET_CUT_TICKS_PER_UM) /* the same, of a millimetre */
#define WET_CUT_LONGEST_T \
	(3000 * WET_CUT_TICKS_PER_MM) /* no sheet is longer: 3 m; two of them still add up */
#define WET_CUT_SIZES 4           /* sizes in one session */
#define WET_CUT_SHEETS 100        /* sheets in one session: a box */
#define WET_CUT_PIECES 1000       /* pieces in one session */
#define WET_CUT_PER_SHEET 200     /* pieces out of one sheet */
#define WET_CUT_STOPS 12          /* settings in one session */
#define WET_CUT_LAYOUTS 32        /* sheets that are cut differently */
#define WET_CUT_PARTS 1024        /* rectangles that a sheet is taken through */
#define WET_CUT_TEST_STRIP_MM 20  /* an offcut so wide does as a test strip. Common practice, no source */

/* "9x12cm", "8x10 in", "4 1/2 x 6 in" in ticks, exactly, and the unit it was typed in (the second, if there are two).
 * Errors as of wet_parse_size; WET_ERR_RANGE over WET_CUT_LONGEST_T. */
int wet_cut_parse_size(const char *text, int32_t *ret_width_t, int32_t *ret_height_t, enum wet_unit *ret_unit,
					   struct wet_fault *reterr);
/* "1 mm", "1/16 in", also 0. As above. */
int wet_cut_parse_length(const char *text, int32_t *ret_length_t, struct wet_fault *reterr);
char *wet_cut_print_length(int32_t length_t, enum wet_unit unit, char *buf,
						   unsigned buf_bytes); /* "8 1/2 in" */
char *wet_cut_print_size(int32_t width_t, int32_t height_t, enum wet_unit unit, char *buf,
						 unsigned buf_bytes); /* "9 x 12 cm" */

/* One size of pieces; it may lie either way. */
struct wet_cut_size {
	int32_t width_t, height_t; /* over 0 */
	int wanted; /* 1..WET_CUT_PIECES; 0: as many as the sheets give, and then it is the only size */
};

/* What is asked. */
struct wet_cut_ask {
	int32_t sheet_width_t, sheet_height_t; /* over 0 */
	int sheets;       /* that there are, 1..WET_CUT_SHEETS; with wanted counts also 0: as many as it takes */
	int32_t kerf_t;   /* 0.. */
	int32_t margin_t; /* 0, or over the kerf */
	int size_count;   /* 1..WET_CUT_SIZES */
	struct wet_cut_size sizes[WET_CUT_SIZES];
	uint64_t work_most; /* steps of the search; 0: the usual */
};

/* What a rectangle is. */
enum wet_cut_part_kind {
	WET_CUT_TO_CUT, /* it is cut further: the sheet, a strip */
	WET_CUT_PIECE,
	WET_CUT_REST, /* left over, and large enough to be kept: the rest that counts, or a test strip */
	WET_CUT_WASTE
};

/* A rectangle that lies on the sheet, from its lower left corner. Waste may be so narrow that the blade takes it all: 0 wide. */
struct wet_cut_part {
	enum wet_cut_part_kind kind;
	int32_t x_t, y_t, width_t, height_t;
	int size;   /* PIECE: index into sizes; else -1 */
	int number; /* PIECE: from 1 in the order they are cut off, on this sheet; else 0 */
	int strip; /* TO_CUT: 1.. in the order they are made; 0: the sheet, also while its margin is cut off; else 0 */
};

/* One cut. */
struct wet_cut_step {
	int table;        /* index into parts: what lies on the table */
	bool is_across;   /* the cut stands upright in the drawing: it divides the width; else the height */
	int stop;         /* index into stops */
	int stays, falls; /* indexes into parts: measured; hanging over */
	int32_t from_x_t, from_y_t, to_x_t, to_y_t; /* the line of the cut, at the measured part's edge */
	bool
		is_margin; /* a margin is cut off: what hangs over is measured, against a stop beyond the blade, and is waste */
};

/* How a sheet is cut, and how many are cut so. */
struct wet_cut_layout {
	int times;
	int piece_count, counts[WET_CUT_SIZES];
	int part_count, step_count;
	const struct wet_cut_part *parts; /* [0] is the sheet */
	const struct wet_cut_step
		*steps; /* in an order that can always be done: what is on the table has been cut out by then */
	int rest;   /* index into parts of the largest rectangle left over that is kept; -1: none */
};

/* A setting of the stop. */
struct wet_cut_stop {
	int32_t length_t;
	int uses; /* cuts with it, over all sheets */
	bool is_margin;
};

/* The plan. Arrays lie in the workspace and are valid as long as it is. */
struct wet_cut_plan {
	int sheets;       /* that are cut */
	int pieces, cuts; /* over all sheets */
	int counts[WET_CUT_SIZES];
	int stop_count;                           /* with that of the margin */
	struct wet_cut_stop stops[WET_CUT_STOPS]; /* the largest first */
	int layout_count;
	const struct wet_cut_layout *layouts; /* in the order they are cut */
	int64_t rest_mm2;                     /* the largest rest that is kept, rounded down: key 2 of wanted counts */
	int keys, proven;                     /* 3 or 4, and how many of them, from the first, are proven best */
	int sheets_bound;                     /* no plan takes fewer; pieces_bound: none gives more of a sheet */
	int pieces_bound;
	uint64_t work; /* steps of the search; for the bench */
};

size_t wet_cut_workspace_bytes(void); /* of any plan: some megabytes */

/* Plans. The workspace is any memory of that size, aligned as int64_t. WET_ERR_RANGE: the fault's `where` names the
 * field ("sheet", "size", "count", "sheets", "kerf", "margin"); a size larger than the sheet is one. WET_ERR_EXISTS: a size
 * twice. WET_ERR_REFUSED: the sheets there are don't give the wanted counts. WET_ERR_TOO_MANY: pieces too small for the sheet, or
 * more than the limits above. WET_ERR_TOO_LONG: the workspace is too small. ret_plan is untouched but on success. */
int wet_cut_plan(const struct wet_cut_ask *ask, void *workspace, size_t workspace_bytes,
				 struct wet_cut_plan *ret_plan, struct wet_fault *reterr);

/* -- in words ------------------------------------------------------------------------ */

/* How it is told. */
struct wet_cut_words {
	const struct wet_cut_ask *ask;
	const struct wet_cut_plan *plan;
	enum wet_unit unit;   /* lengths are told in it */
	bool is_resin_coated; /* its back takes no pencil: nicks, see below */
	int first_number;     /* of the first piece of the session: 1, or behind those that were cut before */
};

/* "Stop 1: 12 cm, for 6 cuts." Stops from 0. Returns buf, as all of these. */
char *wet_cut_say_stop(const struct wet_cut_words *words, int stop, char *buf, unsigned buf_bytes);

/* A cut as an order, short enough to be spoken (WET_LINE_BYTES): what is on the table, which stop along which side, what stays and
 * what falls, and where each goes. `before`: pieces of the session that come before this sheet's first. */
char *wet_cut_say_step(const struct wet_cut_words *words, const struct wet_cut_layout *layout, int step,
					   int before, char *buf, unsigned buf_bytes);

/* How a piece is marked: "3 on its back", "nicks long 3, short 0", "no code, kept apart". */
char *wet_cut_say_mark(const struct wet_cut_words *words, int number, char *buf, unsigned buf_bytes);

/* The sheet in plain ASCII, at most `columns` (24..120) wide: edges, the numbers of pieces, cuts by their order in brackets; lines
 * end in a newline. */
char *wet_cut_draw(const struct wet_cut_words *words, const struct wet_cut_layout *layout, int before,
				   int columns, char *buf, unsigned buf_bytes);
#define WET_CUT_DRAWING_BYTES (120 * 80 + 256) /* enough for any */

/* The sequence of a session for a person in the dark, one press a step. */
struct wet_cut_guide {
	int step_count;
	int dark_count; /* the light may come on after so many of them */
	struct {
		char name[WET_NAME_BYTES]; /* "Cut 3" */
		char say[WET_LINE_BYTES];
	} steps[WET_RECIPE_STAGES];
};
/* WET_ERR_TOO_MANY: more than WET_RECIPE_STAGES steps; the fault says how many sheets at a time would do. */
int wet_cut_guide_make(const struct wet_cut_words *words, struct wet_cut_guide *ret_guide,
					   struct wet_fault *reterr);

/* -- the code of nicks -----------------------------------------------------------------
 * A scheme of ours for resin-coated paper, whose back takes no pencil. One corner is clipped (5 mm). Small nicks, a finger's
 * width apart, begin beside it: on the long side one counts one, on the short side one counts five. Hold the piece with a long
 * side up and the clipped corner up: at its left the emulsion faces you, at its right it faces away. So a piece that is not
 * square is read whichever way it came into the hand, and tells its emulsion side too. On a square one the sides can't be
 * told apart: the emulsion must be known first (at a corner it clings to a moist fingertip; fibre base curls towards it), then the ones are
 * on the side that is up with the clipped corner at its left. It tells nothing where an edge is torn or cut again. */
#define WET_CUT_CODES \
	34 /* numbers that have a code; the next would take more nicks than can be counted by touch */

/* Number 1..WET_CUT_CODES in nicks. */
struct wet_cut_code {
	int ones;  /* on the long side, 0..4 */
	int fives; /* on the short side, 0..6 */
};
/* WET_ERR_RANGE: it has none. */
int wet_cut_code_of(int number, struct wet_cut_code *ret_code, struct wet_fault *reterr);
char *wet_cut_say_code(struct wet_cut_code code, char *buf, unsigned buf_bytes); /* "long 2, short 1" */

#endif
