/* capacity.h: how much a bath bears, by area and by age, and what is left of it. PURE.
 *
 * Capacity is a named regime, never one number: published counts for one litre of fixer run from 1.3 to
 * 52.8 sheets of 8 x 10 in, according to how clean the print must be. Here it is computed from the silver
 * that a square metre puts into the bath and from the silver that a litre may hold; the published counts
 * are the checks (tests/outside/test_capacity.c). Ageing has two clocks, area and age; which one ran out
 * is told.
 *
 * Areas are int64 mm2 of one side (the emulsion), volumes int64 microlitres, times int64 ns. What is left
 * is rounded down, what is used up. The label and the safety data sheet outrank every number here. */
#ifndef WETSIDE_CAPACITY_H
#define WETSIDE_CAPACITY_H

#include "wetside/errors.h"

#include <stdbool.h>
#include <stdint.h>

/* -- fixer: silver ---------------------------------------------------------- */

/* X(NAME, word, silver put into the fixer, mg a m2)
 * Paper, 733: both paper rows of G. Haist, Modern Photographic Processing, vol. 1 (Wiley 1979), as quoted
 * second-hand, imply it: 0.3 g/L after 30 and 0.05 g/L after 5 sheets of 8 x 10 in in a US gallon.
 * Undeveloped silver only: a dark picture gives less; coated silver is 1 to 1.7 g/m2 (from memory).
 * Film, 7330: the archival film row of the same source (0.2 g/L after 2 rolls of 80 in2 a gallon). Its
 * commercial row (1.5 g/L after 25) implies 4,400; the two do not agree, and the larger is taken, which
 * errs to the safe side. */
#define WET_EMULSIONS(X)   \
	X(PAPER, "paper", 733) \
	X(FILM, "film", 7330)

/* What is fixed. */
enum wet_emulsion {
#define WET_EMULSION_ENUM(name, word, load) WET_EMULSION_##name,
	WET_EMULSIONS(WET_EMULSION_ENUM)
#undef WET_EMULSION_ENUM
		WET_EMULSION_N
};

/* X(NAME, word, most silver for paper, for film, mg/L; 0: none published)
 * Commercial and archival: Haist 1979 (above). Moderate, 0.5 g/L, and two-bath, 2 g/L in the first bath: a
 * maker's "safe level" and discard level as given second-hand on darkside.photography. The two-bath limit
 * is the "about 200 8 x 10 prints a gallon" of US Navy NAVEDTRA 14209: all these share one constant, so
 * they are one assumption. */
#define WET_FIXER_REGIMES(X)                                  \
	X(SINGLE_COMMERCIAL, "single-bath commercial", 300, 1500) \
	X(SINGLE_ARCHIVAL, "single-bath archival", 50, 200)       \
	X(SINGLE_MODERATE, "single-bath moderate", 500, 0)        \
	X(TWO_BATH, "two-bath", 2000, 0)

/* How clean it must be. TWO_BATH is the limit of the first of two baths. */
enum wet_fixer_regime {
#define WET_FIXER_REGIME_ENUM(name, word, paper, film) WET_FIXER_##name,
	WET_FIXER_REGIMES(WET_FIXER_REGIME_ENUM)
#undef WET_FIXER_REGIME_ENUM
		WET_FIXER_REGIME_N
};

const char *wet_fixer_regime_word(enum wet_fixer_regime regime); /* as above; static; "?" out of range */
/* The regime of a word; WET_ERR_NOT_FOUND, with the words there are. */
int wet_fixer_regime_from_word(const char *word, enum wet_fixer_regime *ret_regime, struct wet_fault *reterr);

/* Silver that an area leaves in the fixer, micrograms, rounded up. WET_ERR_RANGE: negative or over a km2. */
int wet_silver_load_ug(enum wet_emulsion emulsion, int64_t area_mm2, int64_t *ret_silver_ug,
					   struct wet_fault *reterr);
/* Area that a litre of fixer bears in a regime, rounded down. WET_ERR_NOT_FOUND: no limit is published for
 * this emulsion in this regime. */
int wet_fixer_capacity(enum wet_fixer_regime regime, enum wet_emulsion emulsion, int64_t *ret_mm2_per_l,
					   struct wet_fault *reterr);

/* -- capacity as people state it ---------------------------------------------- */

/* Square metres a litre, as typed. WET_ERR_RANGE for zero, negative, not a number, over 100 m2/L. */
int wet_capacity_from_m2(double m2_per_l, int64_t *ret_mm2_per_l, struct wet_fault *reterr);
/* "Thirty of 8 x 10 in in a gallon": a count of sheets of a size in a volume. The same errors. */
int wet_capacity_from_count(double count, int64_t width_um, int64_t height_um, int64_t volume_ul,
							int64_t *ret_mm2_per_l, struct wet_fault *reterr);

/* X(NAME, word, mm2 a litre, what it rests on) Defaults until the user's own: conservative ends. Acid
 * fixer of unknown capacity 20, alkaline 25 sheets of 8 x 10 in a litre: S. Anchell, The Darkroom
 * Cookbook, 3rd ed. (Focal Press 2008), p. 108. Developer 1+2, 20 of 20 to 30; plain acetic stop, 20: from
 * memory, no source found. Stop of acid and sodium sulfate: 12 rolls of 80 in2 a litre, as published with
 * its formula. */
#define WET_CAPACITIES(X)                                                                  \
	X(FIXER_ACID, "acid fixer", 1032256, "The Darkroom Cookbook, 3rd ed., p. 108")         \
	X(FIXER_ALKALINE, "alkaline fixer", 1290320, "The Darkroom Cookbook, 3rd ed., p. 108") \
	X(DEVELOPER, "print developer", 1032256, "from memory")                                \
	X(STOP, "stop bath", 1032256, "from memory")                                           \
	X(STOP_SULFATE, "stop bath with sulfate", 619353, "published with its formula, page not seen again")

/* Solutions with a default capacity. */
enum wet_capacity_of {
#define WET_CAPACITY_ENUM(name, word, mm2, source) WET_CAPACITY_##name,
	WET_CAPACITIES(WET_CAPACITY_ENUM)
#undef WET_CAPACITY_ENUM
		WET_CAPACITY_N
};

/* One default with what it rests on ("from memory" where no source was found). */
struct wet_capacity_default {
	const char *word; /* static */
	int64_t mm2_per_l;
	const char *source; /* static */
};
/* NULL out of range; static. */
const struct wet_capacity_default *wet_capacity_default(enum wet_capacity_of of);

/* -- age ---------------------------------------------------------------------- */

/* How a solution stands. */
enum wet_standing {
	WET_STANDING_UNOPENED,
	WET_STANDING_FULL,    /* opened or mixed, the bottle full */
	WET_STANDING_PART,    /* a part-full bottle, half or less */
	WET_STANDING_COVERED, /* tank or tray under a floating lid */
	WET_STANDING_OPEN,    /* open tray */
	WET_STANDING_N
};

/* X(NAME, word, unopened, full, part-full, covered, open tray: hours; 0: none published; what it rests on)
 * Rapid fixer: a maker's sheet quoted in a 2005 post: working strength full 6 months, part-full 1,
 * floating lid 2, open tray 7 days; concentrate full 2 years, part-full 6 months; working fixer of any
 * kind not over two months (The Darkroom Cookbook, p. 107), which is the shorter and therefore rules.
 * Concentrates: two years from manufacture, and replenisher mixed for at most one week (T.O. 33B-1-1,
 * 6.7). Developer stock and its tray: from memory. A month is 30 days. Nothing was found for stop baths:
 * the label says. */
#define WET_KEEPINGS(X)                                                                                      \
	X(FIXER_CONCENTRATE, "fixer concentrate", 17520, 17520, 4320, 0, 0, "a maker's sheet, quoted in 2005")   \
	X(FIXER_WORKING, "fixer, working strength", 0, 1440, 720, 1440, 168, "the same; full: Cookbook, p. 107") \
	X(DEVELOPER_CONCENTRATE, "developer concentrate", 17520, 0, 0, 0, 0, "T.O. 33B-1-1, 6.7")                \
	X(DEVELOPER_STOCK, "developer stock", 0, 4320, 1440, 0, 24, "from memory")                               \
	X(DEVELOPER_WORKING, "developer, working strength", 0, 0, 0, 24, 24, "from memory")                      \
	X(REPLENISHER, "replenisher", 0, 168, 168, 0, 0, "T.O. 33B-1-1, 6.7")

/* Solutions with known keeping times. */
enum wet_keeping_of {
#define WET_KEEPING_ENUM(name, word, unopened, full, part, covered, open, source) WET_KEEPING_##name,
	WET_KEEPINGS(WET_KEEPING_ENUM)
#undef WET_KEEPING_ENUM
		WET_KEEPING_N
};

/* How long a solution keeps as it stands; 0: no value is known for that. */
struct wet_keeping {
	int64_t keeps_ns[WET_STANDING_N];
};
/* A row of the table above. WET_ERR_RANGE out of range. */
int wet_keeping_default(enum wet_keeping_of of, struct wet_keeping *ret_keeping);

/* A stretch of time in one standing. */
struct wet_spell {
	enum wet_standing standing;
	int64_t for_ns;
	int64_t volume_ul;   /* OPEN: with the surface, makes a shallow tray age faster; 0: unknown */
	int64_t surface_mm2; /* OPEN: open surface; 0: unknown */
};

/* How much of its life a solution has used by age, in millionths, rounded up; over 1,000,000 is spent.
 * Each spell uses its share of the keeping time of its standing, and the shares add up (our model). In a
 * tray shallower than 25 mm the keeping time shrinks with the depth, volume over surface, for air comes in
 * by the surface (Studio Light 1916, "Economy of Developers"; the depth is common practice, no source); a
 * deeper one keeps no longer than published. WET_ERR_NOT_FOUND: no keeping time for a standing, which the
 * fault names. WET_ERR_RANGE: a negative time. */
int wet_age_used_ppm(const struct wet_keeping *keeping, const struct wet_spell *spells, int spell_count,
					 int64_t *ret_used_ppm, struct wet_fault *reterr);

/* When its age runs out, by its recipe or by how it stood, whichever is first. */
struct wet_age_end {
	int64_t left_ns;     /* from now on, if it goes on standing as it does; below 0: over by so much */
	int64_t used_ppm;    /* of its life; over 1,000,000: spent */
	bool is_by_standing; /* how it stood is the stricter */
};
/* keeping: NULL where nothing is known of how it stands; standings without a value there don't count. recipe_keeps_ns: over 0.
 * age_ns: all spells together. WET_ERR_RANGE as above. */
int wet_age_end(const struct wet_keeping *keeping, int64_t recipe_keeps_ns, int64_t age_ns, enum wet_standing now,
				const struct wet_spell *spells, int spell_count, struct wet_age_end *ret_end, struct wet_fault *reterr);
const char *wet_standing_word(enum wet_standing standing); /* "in an open tray"; static; "?" out of range */

/* Developer for the same prints in a tray of another surface, in thousandths of what the first takes: part
 * of it is used by the prints, part by the air. 11 x 14 in with 154 in2 against 14 x 17 in with 238 in2
 * needs "approximately one-third more solution" (Studio Light 1916), so 39 % goes with the prints and 61 %
 * with the surface [computed from that one pair]. */
int wet_tray_allowance_milli(int64_t surface_mm2, int64_t reference_surface_mm2, int64_t *ret_milli,
							 struct wet_fault *reterr);

/* -- what is left ------------------------------------------------------------- */

/* A working solution as the books have it. */
struct wet_working_bath {
	int64_t volume_ul;          /* over 0 */
	int64_t capacity_mm2_per_l; /* over 0 */
	int64_t used_mm2;           /* booked so far; may be over the capacity */
	int64_t age_used_ppm;       /* wet_age_used_ppm; 0: fresh */
};

/* Which clock ran out. */
enum wet_bath_clock {
	WET_BATH_CLOCK_NEITHER = 0,
	WET_BATH_CLOCK_AREA = 1, /* not one more piece by area */
	WET_BATH_CLOCK_AGE = 2,
	WET_BATH_CLOCK_BOTH = 3
};

/* What is left of it, with the numbers of both clocks. */
struct wet_bath_left {
	enum wet_bath_clock spent;
	enum wet_bath_clock nearer; /* of the two, AREA or AGE: the one that has used more of its own */
	int64_t capacity_mm2;       /* of the whole volume */
	int64_t left_mm2;           /* 0 when either clock has run out */
	int64_t pieces_left;        /* of the size asked about; a count, rounded down */
	int64_t area_used_ppm;
	int64_t age_used_ppm;
};

/* WET_ERR_RANGE: a volume, capacity or piece of nothing or less, with the field in `where`. WET_ERR_FIT:
 * not even fresh does so little bear one piece; the fault says how much one takes. */
int wet_bath_left(const struct wet_working_bath *bath, int64_t piece_mm2, struct wet_bath_left *ret_left,
				  struct wet_fault *reterr);
/* One line for people: "3 pieces left; 72 % of its area used, 40 % of its age", "its age ran out: ...".
 * Returns buf. */
char *wet_bath_left_line(const struct wet_bath_left *left, char *buf, unsigned buf_bytes);
/* Least working solution for so much area, fresh: rounded up to the microlitre. */
int wet_capacity_volume(int64_t capacity_mm2_per_l, int64_t area_mm2, int64_t *ret_volume_ul,
						struct wet_fault *reterr);

/* -- two baths ---------------------------------------------------------------- */

/* One fixing bath of two; each keeps its own counts. */
struct wet_fix_bath {
	int64_t as_first_mm2;  /* fixed in it as the first bath */
	int64_t as_second_mm2; /* passed through it as the second */
};

/* A pair; wetside/plan.h plans by it. After the first bath is spent it is discarded, the second becomes the first, keeping its own
 * counts, and a fresh one is mixed as the second (US Navy NAVEDTRA 14209, "Life of a Fixing Bath"). */
struct wet_two_bath {
	int64_t volume_ul;          /* of each */
	int64_t capacity_mm2_per_l; /* of the first: wet_fixer_capacity(TWO_BATH, ...), or fifty 8 x 10 in a litre
	                               (analogue-photography.org, "Fixing prints") */
	int32_t second_share_ppm;   /* how much a piece in the second bath counts against one in the first:
	                               WET_SECOND_SHARE_PPM; 1000000 counts them alike */
	int rotations_most; /* then both are discarded: 3 ("after the third rotation discard both", The Darkroom
	                               Cookbook, p. 107), or 4 (250 prints at 50 a bath, analogue-photography.org) */
	int rotations;      /* done so far */
	struct wet_fix_bath first, second;
};

/* Little silver reaches the second bath; one part in twenty is our model, from memory. */
#define WET_SECOND_SHARE_PPM 50000
/* The stricter of the two published rules. */
#define WET_ROTATIONS_MOST 3

/* What counts in one bath: as the first in full, as the second by its share, rounded up. */
int64_t wet_fix_bath_counted(const struct wet_fix_bath *bath, int32_t second_share_ppm);
/* Area that still may pass before the first bath is spent (0: it is). WET_ERR_RANGE as above. */
int wet_two_bath_left(const struct wet_two_bath *pair, int64_t *ret_left_mm2, struct wet_fault *reterr);
/* Books an area in both. WET_ERR_REFUSED, nothing booked: over what is left; the fault says by how much,
 * and what to do. */
int wet_two_bath_book(struct wet_two_bath *pair, int64_t area_mm2, struct wet_fault *reterr);
/* Discards the first, promotes the second, begins a fresh second. WET_ERR_REFUSED, nothing changed:
 * rotated often enough; both are to be discarded. */
int wet_two_bath_rotate(struct wet_two_bath *pair, struct wet_fault *reterr);

#endif
