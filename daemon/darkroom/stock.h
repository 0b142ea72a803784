/* stock.h: the shelf's verbs: one request, one job of the ledger. Answers come through the callback, on the loop, once. */
#ifndef WET_DARKROOM_STOCK_H
#define WET_DARKROOM_STOCK_H

#include "darkroom/darkroom.h"
#include "wetside/recipe.h"
#include "wetside/stock.h"

enum wet_stock_op {
	WET_STOCK_OP_ADD,
	WET_STOCK_OP_CHANGE,
	WET_STOCK_OP_USE,
	WET_STOCK_OP_DISCARD,
	WET_STOCK_OP_LIST,
	WET_STOCK_OP_HISTORY
};

/* Which fields of `item` a change brings. */
enum wet_stock_field {
	WET_STOCK_HAS_WHAT = 1 << 0,
	WET_STOCK_HAS_STRENGTH = 1 << 1,
	WET_STOCK_HAS_LOT = 1 << 2,
	WET_STOCK_HAS_PLACE = 1 << 3,
	WET_STOCK_HAS_FULL = 1 << 4,
	WET_STOCK_HAS_VOLUME = 1 << 5,
	WET_STOCK_HAS_LEAST = 1 << 6,
	WET_STOCK_HAS_PIECES = 1 << 7,
	WET_STOCK_HAS_TRAY = 1 << 8,
	WET_STOCK_HAS_SINCE = 1 << 9,
	WET_STOCK_HAS_AREA = 1 << 10,
	WET_STOCK_HAS_GRADE = 1 << 11,
	WET_STOCK_HAS_BESIDE = 1 << 12,
	WET_STOCK_HAS_SECOND = 1 << 13,
	WET_STOCK_HAS_ROTATIONS = 1 << 14,
	WET_STOCK_HAS_KEPT = 1 << 15,
	WET_STOCK_HAS_PIECE = 1 << 16,
	WET_STOCK_HAS_HOLE = 1 << 17,
	WET_STOCK_HAS_DISTANCE = 1 << 18,
	WET_STOCK_HAS_APERTURE = 1 << 19
};

struct wet_stock_request {
	enum wet_stock_op op;
	struct wet_stock item;           /* kind and name always; the rest as the op needs */
	unsigned fields;                 /* enum wet_stock_field: CHANGE */
	unsigned beside;                 /* ADD, CHANGE: bits of enum wet_beside; the item's place is the place alone */
	char rename[WET_NAME_BYTES];     /* CHANGE: its new name; empty: as before */
	struct wet_stock_event why;      /* USE: volume_ul below 0 is drawn, areas done; note, token, uid */
	char from[WET_NAME_BYTES];       /* ADD of a bath: the bottle it is drawn from; empty: none */
	int64_t draw_ul;                 /* ... and how much */
	char vessel[WET_NAME_BYTES];     /* ADD and CHANGE of a bath: that in which it is kept; empty: not told */
	int64_t fill_ns, drain_ns;       /* ADD and CHANGE of a vessel: both or neither; -1: not told */
	int64_t tau_ns;                  /* ... how it cools; -1: not told */
	int32_t heat_j_per_k;            /* ... what it takes up; -1: not told */
	bool with_gone;                  /* LIST */
	int64_t cursor;                  /* LIST: after this id (0: from the first); HISTORY: before (INT64_MAX: newest) */
};

struct wet_stock_answer {
	int item_count, event_count; /* one page */
	struct wet_stock items[WET_PAGE];
	struct wet_stock_age ages[WET_PAGE]; /* LIST: how long each has stood */
	struct wet_vessel vessels[WET_PAGE]; /* LIST of vessels: as measured, told and learned; no name: neither */
	struct wet_stock_event events[WET_PAGE];
};
/* answer is valid during the call; NULL without memory. */
typedef void wet_stock_cb(void *ctx, const struct wet_stock_answer *answer, const struct wet_fault *fault);

#define WET_PLACED 64 /* bottles and baths of known places; more are not looked at */

/* The bottles and baths of which it is known where they stand, as the ledger had them when the shelf was last looked at: at
 * the start, and with every verb of the shelf. `version` rises with each look. */
struct wet_placed {
	uint64_t version;
	int count;
	struct wet_stock items[WET_PLACED];
};
const struct wet_placed *wet_darkroom_placed(const struct wet_darkroom *darkroom);

/* How long a bath of the recipe keeps as it stands, or the stock it is made from; false: nothing is known of that. */
bool wet_recipe_keeping(const struct wet_recipe *recipe, int bath, bool is_stock, struct wet_keeping *ret_keeping);

/* When a bath of the recipe, or a bottle of its stock, that has stood so long, is out. */
int wet_recipe_age_end(const struct wet_recipe *recipe, int bath, bool is_stock, const struct wet_stock_age *age,
					   struct wet_age_end *ret_end, struct wet_fault *reterr);

/* "goes halfway to the room's temperature in 36:00: constant 52:00 +/- 8:00, from 3 uses"; empty: not known. */
char *wet_vessel_cooling(const struct wet_vessel *vessel, char *buf, unsigned buf_bytes);

void wet_darkroom_stock(struct wet_darkroom *darkroom, const struct wet_stock_request *request, wet_stock_cb *cb,
						void *ctx);

#endif
