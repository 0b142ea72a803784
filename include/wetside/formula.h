/* formula.h: solutions from raw chemicals: what to weigh, in which order to dissolve it. PURE.
 *
 * The substances and their forms are a table (struct wet_substances), read once from a file by somebody else; a formula
 * names forms by their place in that table. Order of use: wet_substances_check, wet_formula_check, then
 * wet_formula_compute as often as wanted, then wet_weigh_step_text for each step. All structs are plain values.
 *
 * Masses are int64 milligrams, volumes int64 microlitres. An amount is scaled in exact integers; one that is exchanged
 * for another form is computed in double from molar masses and rounded once. */
#ifndef WETSIDE_FORMULA_H
#define WETSIDE_FORMULA_H

#include "wetside/errors.h"
#include "wetside/limits.h"
#include "wetside/molar_mass.h"

#include <assert.h>
#include <stdbool.h>
#include <stdint.h>

/* Capacities. */
#define WET_SUBSTANCES 64          /* substances of one table; the shipped one has under 40 */
#define WET_FORMS 128              /* forms of all of them */
#define WET_FORM_ALIASES 3         /* other names of one form */
#define WET_FORMULA_INGREDIENTS 16 /* the longest published formulas have about ten */
#define WET_FORMULA_CAUTIONS 12    /* sentences of caution of one formula */
#define WET_FORMULA_OWNED 8        /* forms told as owned in one question */
#define WET_WEIGH_STEPS (WET_FORMULA_INGREDIENTS + 2) /* water first, water last */

/* Policies of ours. */
#define WET_SCALE_STEPS_LEAST 20   /* fewer steps of the scale: half a step is more than 2.5 % */
#define WET_STOCK_STEPS_LEAST 10   /* of the graduate, for a percent solution: half a step is at most 5 % */
#define WET_STOCK_USE_UL 5000      /* least of a percent solution that is measured well */
#define WET_STOCK_VOLUME_UL 100000 /* a percent solution is made in this volume or a multiple of it */
#define WET_MAKE_UL_LEAST 10000    /* 10 mL */
#define WET_MAKE_UL_MOST 1000000000LL /* 1000 L */

/* Temperatures for mixing. US Navy NAVEDTRA 14209, Photography (Basic): developers are mixed at 90 to 125 F, fixers
 * not much above 80 F. S. Anchell, The Darkroom Cookbook (2008), p. 268: crystals of thiosulfate chill the water,
 * start at 90 F or more. */
#define WET_MIX_DEVELOPER_MC_LEAST 32000 /* 90 F, rounded down */
#define WET_MIX_DEVELOPER_MC_MOST 52000  /* 125 F, rounded up as its metric reprints do */
#define WET_MIX_CRYSTALS_MC_MOST 33000   /* 90 F, rounded up: thiosulfate crystals then cool it below 80 F */
#define WET_MIX_FIXER_MC_MOST 27000      /* 80 F, rounded up */

/* What a substance does in a solution, as far as the order of dissolving asks. X(name, word in files) */
#define WET_CHEMICAL_CLASSES(X)                                    \
	X(OTHER, "other")                                              \
	X(SULFITE, "sulfite")                                          \
	X(ACID_SULFITE, "acid-sulfite") /* bisulfite, metabisulfite */ \
	X(METOL, "metol")                                              \
	X(HYDROQUINONE, "hydroquinone")                                \
	X(PHENIDONE, "phenidone")                                      \
	X(ASCORBATE, "ascorbate")                                      \
	X(ALKALI, "alkali")   /* carbonates, borates */                \
	X(CAUSTIC, "caustic") /* hydroxides: they heat the water */    \
	X(RESTRAINER, "restrainer")                                    \
	X(ACID, "acid")                                                \
	X(THIOSULFATE, "thiosulfate")                                  \
	X(HARDENER, "hardener") /* alums */                            \
	X(SILVER, "silver")                                            \
	X(SULFIDE, "sulfide")                                          \
	X(OXIDISER, "oxidiser")
/* Those classes. */
enum wet_chemical_class {
#define WET_CLASS_ENUM(name, word) WET_CLASS_##name,
	WET_CHEMICAL_CLASSES(WET_CLASS_ENUM)
#undef WET_CLASS_ENUM
		WET_CLASS_N
};
/* Its word in files, never NULL; static storage. */
const char *wet_chemical_class_word(int chemical_class);

/* In what a substance may be kept as a percent solution. X(name, word in files) */
#define WET_SOLVENTS(X)                      \
	X(NONE, "none") /* it spoils in solution */ \
	X(WATER, "water")                           \
	X(ALCOHOL, "alcohol")
/* Those kinds. */
enum wet_solvent {
#define WET_SOLVENT_ENUM(name, word) WET_SOLVENT_##name,
	WET_SOLVENTS(WET_SOLVENT_ENUM)
#undef WET_SOLVENT_ENUM
		WET_SOLVENT_N
};
/* Its word in files, never NULL; static storage. */
const char *wet_solvent_word(int stock);

/* One form a substance is sold in: a hydrate, or a solution of it. */
struct wet_form {
	char key[WET_NAME_BYTES];                    /* "sodium-carbonate-monohydrate" */
	char name[WET_NAME_BYTES];                   /* "sodium carbonate, monohydrate" */
	char also[WET_FORM_ALIASES][WET_NAME_BYTES]; /* other names; "" where there are fewer */
	char formula[WET_CHEMICAL_BYTES];            /* of what is dissolved in it, or of the solid */
	int32_t percent_milli;     /* strength of a solution; 0: a solid, or a pure liquid with a density */
	bool is_by_volume;         /* that strength is w/v (grams in 100 mL), else w/w */
	int32_t density_ug_per_ml; /* at 20 C; 0: a solid, or w/v */
	uint8_t substance;         /* place in the table */
};
/* Is it measured by volume? */
bool wet_form_is_liquid(const struct wet_form *form);

/* A substance: what all its forms are once they are dissolved. */
struct wet_substance {
	char key[WET_NAME_BYTES];
	char name[WET_NAME_BYTES];
	uint8_t chemical_class; /* enum wet_chemical_class */
	uint8_t stock;          /* enum wet_solvent */
	int32_t soluble_milli;  /* of the first form, g in 100 mL of that at 20 C, in thousandths; 0: not known */
};

/* The table; forms of one substance stand together, in the order of the substances. */
struct wet_substances {
	int substance_count, form_count;
	struct wet_substance substances[WET_SUBSTANCES];
	struct wet_form forms[WET_FORMS];
};

/* Every formula is one, every form of a substance differs from its first by water only, keys and names are met once,
 * solutions have what computing needs. The fault's `where` is a JSON pointer of the file. */
int wet_substances_check(const struct wet_substances *table, struct wet_fault *reterr);
/* The form of that key, name or other name; -1: none. */
int wet_form_find(const struct wet_substances *table, const char *name);
/* As much of `to` as holds what `amount` (mg, or uL of a liquid) of `from` holds, unrounded. Both are places in the
 * table; WET_ERR_REFUSED if they are forms of two substances. */
int wet_form_convert(const struct wet_substances *table, int from, int to, double amount, double *ret_amount,
					 struct wet_fault *reterr);

/* A timed step of mixing: over 0, least <= aim <= most, at most a day; aim WET_MIX_AIM_NS_LEAST or more. All 0: none. */
struct wet_mix_time {
	int64_t least_ns, aim_ns, most_ns;
};
#define WET_MIX_AIM_NS_LEAST 20000000000LL /* of any bath: what a person needs to be ready for its end */

/* One line of a formula. */
struct wet_ingredient {
	uint8_t form;   /* place in the table */
	bool is_pinch;  /* as much as goes between two fingers, of what is weighed for a later line; no amount */
	bool has_below; /* add it only when the solution is below ... */
	int32_t below_mc; /* ... this */
	int64_t amount;   /* mg; uL of a liquid */
	struct wet_mix_time cool; /* how long the solution takes to come below that; only with has_below */
	struct wet_mix_time stir; /* how long to stir it in; none: until it is dissolved, by the eye */
};

/* A formula, in the order of dissolving. */
struct wet_formula {
	char name[WET_NAME_BYTES];
	char title[WET_LINE_BYTES];
	int version;
	char use[WET_LINE_BYTES]; /* how the solution is used, for people: "1+2 for prints" */
	int64_t makes_ul;
	int64_t start_ul;  /* water to begin with */
	int32_t start_mc;  /* how warm */
	bool is_distilled; /* only with distilled water */
	int ingredient_count;
	struct wet_ingredient ingredients[WET_FORMULA_INGREDIENTS];
	struct wet_mix_time stand; /* closed and labelled, before it is used */
	int caution_count;
	char cautions[WET_FORMULA_CAUTIONS][WET_LINE_BYTES];
};

/* One rule of the order, for showing: what it asks, why, and where that is from. */
struct wet_order_rule {
	const char *text, *why, *source;
};
/* The rules that wet_formula_check holds a formula to; static storage. */
const struct wet_order_rule *wet_order_rules(int *ret_count);

/* Amounts, volumes and temperatures fit each other, and the order of dissolving keeps every rule. The fault's `where`
 * is a JSON pointer of the formula's file; WET_ERR_REFUSED where a rule of the order is broken. */
int wet_formula_check(const struct wet_substances *table, const struct wet_formula *formula,
					  struct wet_fault *reterr);

/* What is asked. */
struct wet_formula_want {
	int64_t make_ul;         /* WET_MAKE_UL_LEAST..WET_MAKE_UL_MOST */
	int64_t scale_step_mg;   /* what the scale can show: 1..100,000 mg */
	int64_t measure_step_ul; /* what the graduate can show: 1..100,000 uL */
	/* A scale that shows another unit than grams: what scale_step_mg is to the nearest, and one of the unit, in mg. */
	struct wet_scale {
		char unit[16]; /* "grains"; empty: grams */
		double step_mg, unit_mg;
	} scale;
	int owned_count;
	uint8_t owned[WET_FORMULA_OWNED]; /* forms one has instead; at most one of a substance */
};

/* What one does in one step. */
enum wet_weigh_kind {
	WET_WEIGH_WATER,  /* measure `shown` uL of water at temperature_mc */
	WET_WEIGH_PINCH,  /* a pinch of what is weighed later */
	WET_WEIGH_MASS,   /* weigh `shown` mg */
	WET_WEIGH_VOLUME, /* measure `shown` uL of the form, a liquid */
	WET_WEIGH_STOCK,  /* too little to weigh: measure `shown` uL of a percent solution */
	WET_WEIGH_FILL_UP /* water to `shown` uL */
};

/* One step. */
struct wet_weigh_step {
	enum wet_weigh_kind kind;
	int8_t ingredient; /* its line in the formula; -1: water */
	uint8_t form;      /* what is weighed or measured: the owned form */
	bool is_replaced;  /* instead of the form the formula names */
	bool is_coarse; /* fewer than WET_SCALE_STEPS_LEAST steps of the scale or graduate, and no way around */
	int64_t exact;  /* mg, or uL of a liquid, to the nearest */
	int64_t shown;  /* as the scale or graduate can show it; uL with STOCK */
	int64_t least_make_ul;       /* with is_coarse: the least volume for which it is not */
	int32_t stock_percent_milli; /* w/v, with STOCK */
	int64_t stock_mg, stock_ul;  /* with STOCK: weigh this and fill up to that */
	int32_t temperature_mc;      /* water: how warm; else: below this, if has_below */
	bool has_below;
};

/* The list to work down. */
struct wet_weigh_out {
	struct wet_scale scale; /* as wanted */
	int step_count;
	struct wet_weigh_step steps[WET_WEIGH_STEPS];
};

/* Takes a name that somebody owns: a form of a substance the formula needs, or WET_ERR_NOT_FOUND with the forms that
 * are known, WET_ERR_REFUSED for a substance it does not need, WET_ERR_EXISTS for the second form of one. */
int wet_formula_own(const struct wet_substances *table, const struct wet_formula *formula, const char *name,
					struct wet_formula_want *want, struct wet_fault *reterr);

/* The list for a volume. WET_ERR_RANGE with what would be right: a volume or step out of range, or so small that the
 * scale would show nothing at all. */
int wet_formula_compute(const struct wet_substances *table, const struct wet_formula *formula,
						const struct wet_formula_want *want, struct wet_weigh_out *ret_list,
						struct wet_fault *reterr);

/* One step as a sentence or more for people, with the caution that belongs into it. Returns buf. */
char *wet_weigh_step_text(const struct wet_substances *table, const struct wet_formula *formula,
						  const struct wet_weigh_out *list, int step, char *buf, unsigned buf_bytes);

/* -- led through it ------------------------------------------------------------------ */

/* What one does in one step of mixing. */
enum wet_mix_kind {
	WET_MIX_HANDLE, /* not timed: goes on with a press */
	WET_MIX_STIR,   /* in, and stirred for so long */
	WET_MIX_COOL,   /* until it is below a temperature */
	WET_MIX_STAND   /* closed and labelled: nothing is open any more */
};

/* The most steps: each line may want a percent solution, cooling and itself; beside them room, water, bottle, label. */
#define WET_MIX_STEPS (3 * WET_FORMULA_INGREDIENTS + 10)
static_assert(WET_MIX_STEPS <= WET_RECIPE_STAGES, "a step is a stage of a run");

/* One step. Texts are whole sentences for people, never cut. */
struct wet_mix_step {
	enum wet_mix_kind kind;
	char name[WET_NAME_BYTES]; /* "Metol" */
	char say[WET_LINE_BYTES];  /* what to do, and when to press */
	char how[WET_NAME_BYTES];  /* how long, for the eye: "stir until all is dissolved"; may be empty */
	struct wet_mix_time time;  /* all 0 with WET_MIX_HANDLE */
};

/* All of them, in order. */
struct wet_mix_guide {
	int step_count;
	struct wet_mix_step steps[WET_MIX_STEPS];
};

/* The list as steps that lead through it, from the room to the label. `called`: the name of the bottle on the shelf, under
 * WET_NAME_BYTES. WET_ERR_INVALID: no list of this formula. */
int wet_formula_guide(const struct wet_substances *table, const struct wet_formula *formula,
					  const struct wet_weigh_out *list, const char *called, struct wet_mix_guide *ret_guide);

#endif
