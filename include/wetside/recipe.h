/* recipe.h: recipes and vessels as plain structs, their validation, and the fit of one to the other.
 *
 * PURE. Open value structs: copy freely. Strings are NUL-terminated UTF-8 in fixed buffers.
 * All times are at the recipe's reference temperature; a stage runs from first liquid to
 * "ready to pour": fill lies at its start and drain at its end, both the vessel's. */
#ifndef WETSIDE_RECIPE_H
#define WETSIDE_RECIPE_H

#include "wetside/errors.h"
#include "wetside/heat.h"
#include "wetside/limits.h"

#include <stdbool.h>
#include <stdint.h>

/* X(NAME, word in recipe files, spoken name, is a bath (has a clock), default law) */
#define WET_STAGE_KINDS(X)                                            \
	X(HANDLING, "handling", "Handling", false, WET_LAW_NONE)          \
	X(PRE_SOAK, "pre-soak", "Pre-soak", true, WET_LAW_NONE)           \
	X(DEVELOP, "develop", "Developer", true, WET_LAW_NONE)            \
	X(RINSE, "rinse", "Rinse", true, WET_LAW_NONE)                    \
	X(STOP, "stop", "Stop bath", true, WET_LAW_NONE)                  \
	X(FIX, "fix", "Fixer", true, WET_LAW_FIXING)                      \
	X(SECOND_FIX, "second-fix", "Second fixer", true, WET_LAW_FIXING) \
	X(BLEACH, "bleach", "Bleach", true, WET_LAW_NONE)                 \
	X(CLEAR, "clear", "Clearing bath", true, WET_LAW_NONE)            \
	X(RE_EXPOSE, "re-expose", "Re-exposure", true, WET_LAW_NONE)      \
	X(REDEVELOP, "redevelop", "Redeveloper", true, WET_LAW_NONE)      \
	X(AID, "washing-aid", "Washing aid", true, WET_LAW_NONE)          \
	X(WASH, "wash", "Wash", true, WET_LAW_WASHING)                    \
	X(TONE, "tone", "Toner", true, WET_LAW_NONE)                      \
	X(TEST, "test", "Test", true, WET_LAW_NONE)                       \
	X(MIX, "mix", "Mixing", true, WET_LAW_NONE)                       \
	X(STAND, "stand", "Standing", true, WET_LAW_NONE)

/* The last two are no kinds of a recipe file: they are the timed steps of mixing a solution, a run whose recipe is made
 * from a formula. In MIX something is open; in STAND the bottle is closed. */
enum wet_stage_kind {
#define WET_STAGE_KIND_ENUM(name, word, spoken, bath, law) WET_STAGE_##name,
	WET_STAGE_KINDS(WET_STAGE_KIND_ENUM)
#undef WET_STAGE_KIND_ENUM
		WET_STAGE_KIND_N
};
#define WET_STAGE_FILE_KINDS WET_STAGE_MIX /* kinds of a recipe file: those before it */

enum wet_vessel_kind {
	WET_VESSEL_CLOSED_TANK, /* "closed-tank": dark only until its lid is on */
	WET_VESSEL_OPEN_TANK,   /* "open-tank" */
	WET_VESSEL_TRAYS,       /* "trays" */
	WET_VESSEL_DRUM,        /* "drum" */
	WET_VESSEL_WASHER,      /* "washer": for aid and washes; the first vessel is then free */
	WET_VESSEL_KIND_N
};

enum wet_light_kind {                      /* from the strictest to the freest; REQUIRED stands apart */
					  WET_LIGHT_DARK,      /* "dark" */
					  WET_LIGHT_SAFELIGHT, /* "safelight": tested, of the colour named */
					  WET_LIGHT_WHITE,     /* "white": allowed */
					  WET_LIGHT_REQUIRED,  /* "white-required": re-exposure */
					  WET_LIGHT_KIND_N
};

enum wet_begin_kind {
	WET_BEGIN_STRAIGHT_ON, /* "straight-on": begins by the clock when the bath before ends */
	WET_BEGIN_ON_GO        /* "on-go": waits for a press */
};

enum wet_after_kind { WET_AFTER_BACK, WET_AFTER_WASTE }; /* "back": into its bottle; "waste" */

enum wet_handling_kind {                     /* "each": what an untimed handling stage asks for */
						 WET_HANDLING_ONCE,  /* one press ("Lid on?") */
						 WET_HANDLING_PIECES /* one press a piece ("Camera four, slot three.") */
};

enum wet_developer_class { /* for the policy on temperature */
						   WET_DEVELOPER_OTHER,
						   WET_DEVELOPER_HYDROQUINONE /* holds hydroquinone: nearly inert below 13 C */
};

/* How a bath is made and how long it may work: what a plan needs. */
struct wet_bath_mix {
	char from[WET_NAME_BYTES]; /* the stock it is made from, as bottles name it ("print-developer-stock"); empty: no mix
	                              is told, and nothing is planned for this bath */
	int64_t stock_milli, water_milli; /* parts, in thousandths; water 0: used undiluted */
	char regime[32];                  /* of fixing (wetside/capacity.h), where capacity comes from one; else empty */
	int64_t capacity_mm2_per_l;       /* paper that a litre of it bears; over 0 */
	int64_t least_stock_ul_per_m2;    /* 0: no such rule */
	int64_t keeps_ns;                 /* as mixed */
	int64_t stock_keeps_ns;           /* an opened bottle of its stock, fresh enough for unrepeatable work */
	bool may_mix_lots;
};

struct wet_bath {
	char key[WET_NAME_BYTES];      /* "developer"; unique in the recipe */
	char name[WET_NAME_BYTES];     /* "Developer"; spoken */
	char place[WET_NAME_BYTES];    /* "bottle one, one band"; known by touch; spoken */
	char solution[WET_LINE_BYTES]; /* what it is, with its strength; for people */
	enum wet_after_kind after;
	bool is_water;
	struct wet_bath_mix mix;
};

struct wet_agitation {        /* "30 s, then 10 s each minute" */
	bool is_continuous;       /* "continuous" */
	int64_t opening_ns;       /* 30 s */
	int64_t burst_ns;         /* 10 s; 0: none after the opening */
	int64_t every_ns;         /* 60 s */
	char how[WET_NAME_BYTES]; /* "four slow turns, tap for air bells"; spoken with each turn */
};

struct wet_waters {    /* a wash by fill and dump */
	int count;         /* fills; 0: running water */
	int64_t first_ns;  /* how long the first stands */
	int64_t each_ns;   /* and each of the others */
};

struct wet_stage {
	enum wet_stage_kind kind;
	char name[WET_NAME_BYTES]; /* spoken: "First fixer" */
	int bath;                  /* index into recipe.baths; -1 in handling and re-exposure, and in a test stage that
	                              only waits */
	enum wet_begin_kind begin;
	int64_t least_ns, aim_ns, most_ns; /* 0 < least <= aim <= most in a bath; 0 in handling */
	struct wet_law law;
	struct wet_agitation agitation;
	struct wet_waters waters; /* no recipe file has them: a planned wash by changes */
	enum wet_handling_kind handling;
	bool lid_on;              /* handling: after its last press the closed tank is light-tight */
	bool in_washer;           /* this stage runs in the second vessel */
	char say[WET_LINE_BYTES]; /* handling: the line to speak ("Camera {piece}, slot {piece}."); bath: an extra
	                              sentence spoken at its start ("Vent after the first turn."); may be empty */
};

/* What a run that mixes a solution puts on the shelf at its end. */
struct wet_product {
	bool is_bath;              /* a working solution, else a bottle */
	char name[WET_NAME_BYTES]; /* what it is called there */
	char what[WET_NAME_BYTES]; /* the solution, as recipes and plans name it: the formula's name */
	int64_t volume_ul;         /* 0: this run makes nothing */
};

struct wet_recipe {
	char name[WET_NAME_BYTES]; /* file name without .json; [a-z0-9-] */
	char title[WET_LINE_BYTES];
	bool is_test; /* "kind": "test": a short run on scraps that tells about a bath, a lamp or a print, and makes no
	                 picture: it may do with any stages, end with the look at the result, and lie in white light */
	int version; /* raised when its values change; an acknowledgement belongs to one version */
	enum wet_vessel_kind vessel_kind;
	bool is_direct_positive; /* else a negative paper */
	bool is_resin_coated;    /* else fibre base */
	enum wet_developer_class developer;
	enum wet_light_kind paper_light; /* what the open paper bears: DARK or SAFELIGHT; WHITE in a test
	                                    of prints and baths only */
	char safelight[WET_NAME_BYTES];  /* colour of a tested safelight ("deep red"); empty with DARK */
	int white_after; /* open vessels: white light is allowed after this stage's end; else -1 */
	int bath_count;
	struct wet_bath baths[WET_RECIPE_BATHS];
	int stage_count;
	struct wet_stage stages[WET_RECIPE_STAGES];
	int64_t fill_ns, drain_ns; /* of the usual vessel of this kind, until the user's own is measured */
	int64_t both_fix_most_ns;  /* two-bath fixing: most for both together; 0: not stated */
	int64_t dry_least_ns, dry_most_ns; /* drying as a due date; 0: none */
	char dry_how[WET_LINE_BYTES];
	bool needs_acknowledgement; /* from the safety note: hazardous, not mild */
	struct wet_product makes;   /* no recipe file has it: a mix */
	int unload_count;           /* a run's own copy: what its pieces are unloaded from, in their order; 0: not told */
	char unload[WET_PIECES][WET_NAME_BYTES]; /* "tin-two": said as "Tin two" in place of "Camera {piece}" */
};

struct wet_vessel {
	char name[WET_NAME_BYTES]; /* "creek tank" */
	enum wet_vessel_kind kind;
	int64_t fill_ns;    /* first liquid to full */
	int64_t drain_ns;   /* pour-out to ready to pour */
	int pieces_max;     /* a load; 0: unknown */
	int64_t stagger_ns; /* trays: from one piece in to the next, 5..10 s; 0 in tanks */
	int64_t tau_ns;     /* Newton's constant towards the room; 0: unknown */
	int64_t tau_error_ns; /* its standard error, as learned from use; 0: it was told */
	int tau_count;        /* uses it was learned from */
	int32_t chill_ppm;    /* a bath that is poured in goes this share of the way to the vessel's own temperature; 0: none */
};

bool wet_recipe_is_mix(const struct wet_recipe *recipe);               /* it makes a solution */
const char *wet_stage_kind_word(enum wet_stage_kind kind);             /* as in recipe files; static */
const char *wet_stage_kind_spoken(enum wet_stage_kind kind);           /* as said; static */
bool wet_stage_kind_is_bath(enum wet_stage_kind kind);                 /* it has a clock */
enum wet_law_kind wet_stage_kind_law(enum wet_stage_kind kind);        /* the law of a stage that names none */
const char *wet_vessel_kind_word(enum wet_vessel_kind kind);           /* as in recipe files; static */
const char *wet_light_kind_word(enum wet_light_kind kind);             /* as in recipe files; static */
/* The kind of a word; WET_ERR_NOT_FOUND. */
int wet_vessel_kind_from_word(const char *word, enum wet_vessel_kind *ret_kind);
/* The kind of a word; WET_ERR_NOT_FOUND. */
int wet_light_kind_from_word(const char *word, enum wet_light_kind *ret_kind);
/* The kind of a word; WET_ERR_NOT_FOUND. */
int wet_stage_kind_from_word(const char *word, enum wet_stage_kind *ret_kind);

/* "30 s, then 10 s each minute", "continuous", "30 s", "10 s each minute", "none" -> agitation. */
int wet_parse_agitation(const char *text, struct wet_agitation *ret_agitation, struct wet_fault *reterr);
char *wet_print_agitation(const struct wet_agitation *agitation, char *buf, unsigned buf_bytes);

/* Every rule of a recipe that needs no file: counts, ranges, order, references, laws, light. The fault's
 * `where` is a JSON pointer ("/stages/3/aim"). */
int wet_recipe_check(const struct wet_recipe *recipe, struct wet_fault *reterr);

/* Light needed while `stage` is live (before its end); lid_on_done: the lid is on. */
enum wet_light_kind wet_recipe_light(const struct wet_recipe *recipe, int stage);

/* The stage times in a vessel: what the recipe says, raised where an uncompensated bath must be raised to fit. */
struct wet_times {
	int64_t least_ns, aim_ns, most_ns; /* reference times, after raising */
	bool is_raised;                    /* aim or least was raised; told at arming */
};
struct wet_times wet_stage_times(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel,
								 int pieces);

/* Fill and drain of the vessel in which `stage` runs. Water vessels (washer) and handling have none. */
int64_t wet_stage_fill_ns(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel);
int64_t wet_stage_drain_ns(const struct wet_recipe *recipe, int stage, const struct wet_vessel *vessel);

/* Does the recipe fit the vessel with so many pieces? For every bath: aim >= fill + drain + 20 s, on the
 * aim as compensated for scale_milli[stage] (1000: at the reference; NULL: all 1000); trays: aim >= pieces x stagger.
 * On WET_ERR_FIT the fault names the stage, both numbers and the ways out. Warnings (fill and drain
 * over a third of development; a raised aim) are written one a line into `told`. */
int wet_recipe_fit(const struct wet_recipe *recipe, const struct wet_vessel *vessel, int pieces,
				   const uint32_t *scale_milli, char *told, unsigned told_bytes, struct wet_fault *reterr);

/* Policy on temperature, at arming and begin only (the law refuses nothing): hydroquinone developers
 * below 13 C (55 F: "action practically ceases", Development of the Negative, early manual, gluedideas.com),
 * anything above 27 C (80 F, US Army subcourse SS0509-8), no law given. WET_ERR_POLICY with what to do instead.
 * A bath whose temperature is unknown passes. */
int wet_temperature_policy(const struct wet_recipe *recipe, int stage, int32_t temperature_mc,
						   struct wet_fault *reterr);

#endif
