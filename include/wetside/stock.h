/* stock.h: what stands on the shelf: bottles, working solutions (baths), vessels, graduates, cameras. PURE.
 *
 * One item is one thing that a person can point at. What was done to it is a list of events that is never rewritten;
 * the item holds their sum. Volumes are int64 microlitres, areas int64 mm2 of one side of the paper, lengths int64
 * micrometres, dates int64 milliseconds of the Unix epoch (0: not known). Nothing here allocates. */
#ifndef WETSIDE_STOCK_H
#define WETSIDE_STOCK_H

#include "wetside/capacity.h"
#include "wetside/errors.h"
#include "wetside/limits.h"

#include <stdbool.h>
#include <stdint.h>

/* X(NAME, word): stored as numbers, so the order never changes. */
#define WET_STOCK_KINDS(X) \
	X(BOTTLE, "bottle")    \
	X(BATH, "bath")        \
	X(VESSEL, "vessel")    \
	X(GRADUATE, "graduate") \
	X(CAMERA, "camera")

enum wet_stock_kind {
#define WET_STOCK_ENUM(name, word) WET_STOCK_##name,
	WET_STOCK_KINDS(WET_STOCK_ENUM)
#undef WET_STOCK_ENUM
		WET_STOCK_KIND_N
};

/* X(NAME, word): how a bottle or a bath is kept; stored as numbers. */
#define WET_STOCK_KEPTS(X)                                   \
	X(BOTTLE, "bottle") /* closed; full or part full */      \
	X(COVERED, "covered") /* in a tank or tray under a lid */ \
	X(OPEN, "open") /* in an open tray */

enum wet_stock_kept {
#define WET_STOCK_ENUM(name, word) WET_STOCK_KEPT_##name,
	WET_STOCK_KEPTS(WET_STOCK_ENUM)
#undef WET_STOCK_ENUM
		WET_STOCK_KEPT_N
};

struct wet_stock {
	int64_t id; /* the ledger's; 0: not stored yet */
	enum wet_stock_kind kind;
	char name[WET_NAME_BYTES];  /* unique among what stands there of this kind */
	char what[WET_NAME_BYTES];  /* bottle, bath: the solution ("fixer"), as recipes and plans name it; vessel: its
	                               kind ("closed-tank"); camera: "pinhole" or "lens" */
	char strength[24];          /* bottle: as on its label ("28 % w/w"); bath: its dilution ("1+9"); may be empty */
	char lot[WET_NAME_BYTES];   /* as on its label; may be empty */
	char place[WET_NAME_BYTES]; /* where it stands, and what beside it: "low shelf (beside bleach, food)"; may be empty */
	int64_t full_ul;            /* bottle, bath: when full; vessel: the most it takes; graduate: what it holds */
	int64_t volume_ul;          /* bottle, bath: now */
	int64_t least_ul;           /* vessel: the least that covers the pieces; graduate: its least graduation */
	int pieces_max;             /* vessel: a load; 0: not known */
	int64_t width_um, height_um; /* vessel: of a tray; bath: of the tray it is kept in; camera: of its format; 0: none, or not known */
	int64_t piece_width_um, piece_height_um; /* vessel: the largest piece, of which it takes pieces_max; 0: not told */
	int64_t hole_um;            /* camera: its pinhole's diameter; 0: a lens, or not known */
	int64_t distance_um;        /* camera: from the pinhole or lens to the paper; 0: not known */
	int64_t f_number_milli;     /* camera: its aperture number, in thousandths */
	int64_t since_ms;           /* bottle: opened (0: not opened); bath: mixed */
	enum wet_stock_kept kept;   /* bottle, bath: now */
	int64_t area_mm2;           /* bath: done so far; of a fixing bath of two, as the first */
	int64_t second_mm2;         /* bath: passed through it as the second of two */
	int rotations;              /* bath: of its pair, when it becomes or became the first; 0: mixed as one */
	int64_t from_id;            /* bath: the bottle it was drawn from; 0: not known */
	char grade;                 /* graduate: class 'A' or 'B' of ASTM E1272; 0: not known */
	bool is_gone;               /* discarded or used up */
	int64_t gone_ms;
};

/* X(NAME, word): what else can stand at a place, told by people. */
#define WET_BESIDES(X)               \
	X(BLEACH, "bleach")              \
	X(DRAIN_CLEANER, "drain-cleaner") \
	X(DESCALER, "descaler")          \
	X(AMMONIA, "ammonia")            \
	X(FOOD, "food")                  \
	X(CHILDREN, "children") /* they can reach it */ \
	X(SUN, "sun")                    \
	X(HEAT, "heat")

enum wet_beside {
#define WET_STOCK_ENUM(name, word) WET_BESIDE_##name,
	WET_BESIDES(WET_STOCK_ENUM)
#undef WET_STOCK_ENUM
		WET_BESIDE_N
};
const char *wet_beside_word(enum wet_beside beside); /* static; "?" out of range */

/* X(NAME, word): what was done; stored as numbers. */
#define WET_STOCK_ACTS(X) \
	X(ADD, "add")         \
	X(CHANGE, "change")   \
	X(USE, "use")         \
	X(DISCARD, "discard") \
	X(BOOK, "book")

enum wet_stock_act {
#define WET_STOCK_ENUM(name, word) WET_STOCK_ACT_##name,
	WET_STOCK_ACTS(WET_STOCK_ENUM)
#undef WET_STOCK_ENUM
		WET_STOCK_ACT_N
};

/* One line of an item's history. */
struct wet_stock_event {
	int64_t id; /* the ledger's, rising */
	int64_t stock_id;
	enum wet_stock_act act;
	int64_t wall_ms;
	int64_t volume_ul; /* how much more or less there is now; below 0: drawn */
	enum wet_stock_kept kept; /* from then on */
	int64_t area_mm2;  /* done in it */
	int64_t second_mm2; /* passed through it as the second of two baths */
	int64_t run_id;    /* BOOK: the run and its stage; 0: none */
	int stage;
	uint32_t uid;
	char token[WET_TOKEN_BYTES]; /* a client's name for the act: the same once more changes nothing; may be empty */
	char note[WET_LINE_BYTES];
};

const char *wet_stock_kind_word(enum wet_stock_kind kind); /* static; "?" out of range */
const char *wet_stock_act_word(enum wet_stock_act act);    /* static; "?" out of range */
const char *wet_stock_kept_word(enum wet_stock_kept kept); /* static; "?" out of range */
int wet_stock_kept_from_word(const char *word, enum wet_stock_kept *ret_kept, struct wet_fault *reterr);

/* "bleach, food" -> bits of enum wet_beside; "none" and nothing: none. WET_ERR_NOT_FOUND with the words there are. */
int wet_beside_parse(const char *text, unsigned *ret_beside, struct wet_fault *reterr);

/* Where it stands, without what stands beside it, into `place` (WET_NAME_BYTES); returns the bits of that. */
unsigned wet_stock_place(const struct wet_stock *item, char *place);
/* Puts both. WET_ERR_TOO_LONG: they don't fit, the item is as it was. */
int wet_stock_put_place(struct wet_stock *item, const char *place, unsigned beside, struct wet_fault *reterr);

/* Every rule of one item: a name, amounts within reason and within each other, what its kind needs. The fault's `where` is
 * the field as methods name it ("volume"). */
int wet_stock_check(const struct wet_stock *item, struct wet_fault *reterr);

/* A camera whose pinhole and distance are known has their aperture number, rounded to the thousandth. */
void wet_stock_set_aperture(struct wet_stock *camera);

/* Is a bath of the same solution mixed like this (parts in thousandths; water 0: undiluted, which "stock" and "" say too)? */
bool wet_stock_is_mixed(const struct wet_stock *bath, int64_t stock_milli, int64_t water_milli);

/* How long a bottle or a bath has stood, and how: one spell a standing, in which order does not matter. A bottle that was not
 * opened has stood for nothing. */
struct wet_stock_age {
	int64_t age_ns; /* since it was opened or mixed */
	enum wet_standing now;
	struct wet_spell spells[WET_STANDING_N];
};
/* Begins with nothing. */
void wet_stock_age_init(struct wet_stock_age *age);
/* From one moment to another it held so much, and was kept like this; what was before it was opened or mixed does not count.
 * The last spell is the one that it stands in now. */
void wet_stock_age_add(struct wet_stock_age *age, const struct wet_stock *item, int64_t volume_ul, enum wet_stock_kept kept,
					   int64_t from_ms, int64_t to_ms);

/* How many pieces of a size one load of a vessel takes: at most its pieces_max, and none larger than its largest piece, where
 * that is told; else, where its tray is known, side by side in rows and columns; either way round. WET_ERR_FIT: not even one;
 * the fault names the vessel and what it takes. */
int wet_stock_room(const struct wet_stock *vessel, int64_t width_um, int64_t height_um, int *ret_pieces,
				   struct wet_fault *reterr);

/* What an event does: draws its volume, which is 0 or below, and does its areas, 0 or more. Refused without a change:
 * WET_ERR_RANGE where there is less (the fault says how much there is), WET_ERR_REFUSED where it is gone. At nothing left it
 * is gone from the event's time on. */
int wet_stock_use(struct wet_stock *item, const struct wet_stock_event *why, struct wet_fault *reterr);

/* Over any rule of rotation (wetside/capacity.h), so that what people do all the same can be told. */
#define WET_STOCK_ROTATIONS 100

/* "0.52 m2", "324 cm2". Returns buf. */
char *wet_stock_print_area(int64_t area_mm2, char *buf, unsigned buf_bytes);
/* One line for people: "45 mL of 500 mL; opened; lot 7; low shelf". Returns buf. */
char *wet_stock_line(const struct wet_stock *item, char *buf, unsigned buf_bytes);

#endif
