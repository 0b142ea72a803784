/* hazard.h: what a substance can do to people and water, and what a mixture of such substances is. PURE.
 *
 * The classes, categories, limits and rules are those of the UN Globally Harmonized System (ST/SG/AC.10/30, Rev.7,
 * 2017) in the choice of building blocks that Regulation (EC) 1272/2008 (CLP, Annex I) makes; the EUH lines are CLP's
 * own. The numbers are CLP's Tables 3.1.2 (converted acute toxicity estimates), 3.2.3, 3.3.3, 3.4.5, 3.4.6, 3.5.2,
 * 3.6.2, 3.7.2, 3.8.3, 4.1.1 and 4.1.2. Of these 5 % (3.2.3), 3 % (3.3.3), 0.3 and 3 % (3.7.2) and the pH of 2 and
 * 11.5 (3.2.3.1.2) were read; the others are from memory.
 *
 * It advises a person who mixes at home. It is no classification in the sense of a law: the safety data sheet and the
 * label of the product outrank it. Where the rules leave a choice the stricter side is taken; small shares are not
 * left out of sums.
 *
 * Shares are parts of the whole by mass in parts per million (1 % is 10,000); limits are exact integers, so a value
 * at a limit reaches it. Order of use: a table of struct wet_hazards (read by somebody else), wet_mixture_classify,
 * then the texts. Nothing is kept; pointers are borrowed for the call. */
#ifndef WETSIDE_HAZARD_H
#define WETSIDE_HAZARD_H

#include "wetside/errors.h"
#include "wetside/limits.h"
#include "wetside/molar_mass.h"

#include <stdbool.h>
#include <stdint.h>

/* Capacities. */
#define WET_HAZARD_SUBSTANCES 64   /* of one table; the shipped one has about 40 */
#define WET_HAZARDS_OF_ONE 16      /* classes of one substance; dichromate has 13 */
#define WET_HAZARD_LIMITS 10       /* own limits of one substance; peroxide has 8 */
#define WET_HAZARD_SUPPLEMENTS 2   /* EUH lines of one substance */
#define WET_HAZARD_PKAS 3          /* pKa values of one acid */
#define WET_HAZARD_EXPOSURES 4     /* exposure limits of one substance */
#define WET_HAZARD_ADVICE 8        /* pieces of advice of one kind for one substance */
#define WET_HAZARD_NAMES 4         /* other names of one substance */
#define WET_ADVICE 96              /* pieces of advice of a table */
#define WET_HAZARD_TEXT_BYTES 384  /* a sentence or three of advice; with the NUL */
#define WET_CAS_BYTES 13           /* nine digits, two dashes; with the NUL, and room */
#define WET_STATEMENT_BYTES 16     /* "P303+P361+P353"; with the NUL */
#define WET_STATEMENTS 160         /* statements of a table */
#define WET_MIXTURE_COMPONENTS 32  /* hazardous components of one mixture: bits of a mask */
#define WET_PPM 1000000            /* the whole */

/* pH at or beyond which a mixture counts as corrosive. CLP Annex I 3.2.3.1.2. In thousandths. */
#define WET_PH_ACID_MILLI 2000
#define WET_PH_ALKALI_MILLI 11500

/* What is judged on its own. Of the kinds of one endpoint a mixture has the severest. X(name) */
#define WET_HAZARD_ENDPOINTS(X) /* one after the other, as statements are printed */ \
	X(FLAMMABLE)                                                                     \
	X(OXIDISING_LIQUID)                                                              \
	X(OXIDISING_SOLID)                                                               \
	X(CORRODES_METAL)                                                                \
	X(ORAL)                                                                          \
	X(ASPIRATION)                                                                    \
	X(DERMAL)                                                                        \
	X(SKIN)                                                                          \
	X(SKIN_ALLERGY)                                                                  \
	X(EYE)                                                                           \
	X(INHALATION)                                                                    \
	X(AIRWAY_ALLERGY)                                                                \
	X(AIRWAY)                                                                        \
	X(DROWSY)                                                                        \
	X(MUTAGEN)                                                                       \
	X(CARCINOGEN)                                                                    \
	X(REPRODUCTION)                                                                  \
	X(LACTATION)                                                                     \
	X(ORGAN_ONCE)                                                                    \
	X(ORGAN_REPEATED)                                                                \
	X(WATER_AT_ONCE)                                                                 \
	X(WATER_LONG)
/* Those endpoints. */
enum wet_hazard_endpoint {
#define WET_ENDPOINT_ENUM(name) WET_ENDPOINT_##name,
	WET_HAZARD_ENDPOINTS(WET_ENDPOINT_ENUM)
#undef WET_ENDPOINT_ENUM
		WET_ENDPOINT_N
};

/* Hazard classes with their categories; within an endpoint the severest first. Code, pictogram and signal word: UN GHS
 * Rev.7, Annex 1. X(name, endpoint, word in files, class for people, statement, pictogram or 0, signal) */
#define WET_HAZARD_KINDS(X)                                                                                  \
	X(FLAM_LIQ_1, FLAMMABLE, "flam-liq-1", "Flam. Liq. 1", "H224", 2, DANGER)                                \
	X(FLAM_LIQ_2, FLAMMABLE, "flam-liq-2", "Flam. Liq. 2", "H225", 2, DANGER)                                \
	X(FLAM_LIQ_3, FLAMMABLE, "flam-liq-3", "Flam. Liq. 3", "H226", 2, WARNING)                               \
	X(OX_LIQ_1, OXIDISING_LIQUID, "ox-liq-1", "Ox. Liq. 1", "H271", 3, DANGER)                               \
	X(OX_LIQ_2, OXIDISING_LIQUID, "ox-liq-2", "Ox. Liq. 2", "H272", 3, DANGER)                               \
	X(OX_LIQ_3, OXIDISING_LIQUID, "ox-liq-3", "Ox. Liq. 3", "H272", 3, WARNING)                              \
	X(OX_SOL_1, OXIDISING_SOLID, "ox-sol-1", "Ox. Sol. 1", "H271", 3, DANGER)                                \
	X(OX_SOL_2, OXIDISING_SOLID, "ox-sol-2", "Ox. Sol. 2", "H272", 3, DANGER)                                \
	X(OX_SOL_3, OXIDISING_SOLID, "ox-sol-3", "Ox. Sol. 3", "H272", 3, WARNING)                               \
	X(MET_CORR_1, CORRODES_METAL, "met-corr-1", "Met. Corr. 1", "H290", 5, WARNING)                          \
	X(ORAL_1, ORAL, "acute-oral-1", "Acute Tox. 1 (oral)", "H300", 6, DANGER)                                \
	X(ORAL_2, ORAL, "acute-oral-2", "Acute Tox. 2 (oral)", "H300", 6, DANGER)                                \
	X(ORAL_3, ORAL, "acute-oral-3", "Acute Tox. 3 (oral)", "H301", 6, DANGER)                                \
	X(ORAL_4, ORAL, "acute-oral-4", "Acute Tox. 4 (oral)", "H302", 7, WARNING)                               \
	X(ASP_1, ASPIRATION, "asp-1", "Asp. Tox. 1", "H304", 8, DANGER)                                          \
	X(DERMAL_1, DERMAL, "acute-dermal-1", "Acute Tox. 1 (dermal)", "H310", 6, DANGER)                        \
	X(DERMAL_2, DERMAL, "acute-dermal-2", "Acute Tox. 2 (dermal)", "H310", 6, DANGER)                        \
	X(DERMAL_3, DERMAL, "acute-dermal-3", "Acute Tox. 3 (dermal)", "H311", 6, DANGER)                        \
	X(DERMAL_4, DERMAL, "acute-dermal-4", "Acute Tox. 4 (dermal)", "H312", 7, WARNING)                       \
	X(SKIN_CORR_1A, SKIN, "skin-corr-1a", "Skin Corr. 1A", "H314", 5, DANGER)                                \
	X(SKIN_CORR_1B, SKIN, "skin-corr-1b", "Skin Corr. 1B", "H314", 5, DANGER)                                \
	X(SKIN_CORR_1C, SKIN, "skin-corr-1c", "Skin Corr. 1C", "H314", 5, DANGER)                                \
	X(SKIN_CORR_1, SKIN, "skin-corr-1", "Skin Corr. 1", "H314", 5, DANGER)                                   \
	X(SKIN_IRRIT_2, SKIN, "skin-irrit-2", "Skin Irrit. 2", "H315", 7, WARNING)                               \
	X(SKIN_SENS_1A, SKIN_ALLERGY, "skin-sens-1a", "Skin Sens. 1A", "H317", 7, WARNING)                       \
	X(SKIN_SENS_1, SKIN_ALLERGY, "skin-sens-1", "Skin Sens. 1", "H317", 7, WARNING)                          \
	X(SKIN_SENS_1B, SKIN_ALLERGY, "skin-sens-1b", "Skin Sens. 1B", "H317", 7, WARNING)                       \
	X(EYE_DAM_1, EYE, "eye-dam-1", "Eye Dam. 1", "H318", 5, DANGER)                                          \
	X(EYE_IRRIT_2, EYE, "eye-irrit-2", "Eye Irrit. 2", "H319", 7, WARNING)                                   \
	X(INHALED_1, INHALATION, "acute-inhaled-1", "Acute Tox. 1 (inhalation)", "H330", 6, DANGER)              \
	X(INHALED_2, INHALATION, "acute-inhaled-2", "Acute Tox. 2 (inhalation)", "H330", 6, DANGER)              \
	X(INHALED_3, INHALATION, "acute-inhaled-3", "Acute Tox. 3 (inhalation)", "H331", 6, DANGER)              \
	X(INHALED_4, INHALATION, "acute-inhaled-4", "Acute Tox. 4 (inhalation)", "H332", 7, WARNING)             \
	X(RESP_SENS_1A, AIRWAY_ALLERGY, "resp-sens-1a", "Resp. Sens. 1A", "H334", 8, DANGER)                     \
	X(RESP_SENS_1, AIRWAY_ALLERGY, "resp-sens-1", "Resp. Sens. 1", "H334", 8, DANGER)                        \
	X(RESP_SENS_1B, AIRWAY_ALLERGY, "resp-sens-1b", "Resp. Sens. 1B", "H334", 8, DANGER)                     \
	X(STOT_SE_3, AIRWAY, "stot-se-3", "STOT SE 3", "H335", 7, WARNING)                                       \
	X(STOT_SE_3_DROWSY, DROWSY, "stot-se-3-drowsy", "STOT SE 3 (narcotic)", "H336", 7, WARNING)              \
	X(MUTA_1A, MUTAGEN, "muta-1a", "Muta. 1A", "H340", 8, DANGER)                                            \
	X(MUTA_1B, MUTAGEN, "muta-1b", "Muta. 1B", "H340", 8, DANGER)                                            \
	X(MUTA_2, MUTAGEN, "muta-2", "Muta. 2", "H341", 8, WARNING)                                              \
	X(CARC_1A, CARCINOGEN, "carc-1a", "Carc. 1A", "H350", 8, DANGER)                                         \
	X(CARC_1B, CARCINOGEN, "carc-1b", "Carc. 1B", "H350", 8, DANGER)                                         \
	X(CARC_2, CARCINOGEN, "carc-2", "Carc. 2", "H351", 8, WARNING)                                           \
	X(REPR_1A, REPRODUCTION, "repr-1a", "Repr. 1A", "H360", 8, DANGER)                                       \
	X(REPR_1B, REPRODUCTION, "repr-1b", "Repr. 1B", "H360", 8, DANGER)                                       \
	X(REPR_2, REPRODUCTION, "repr-2", "Repr. 2", "H361", 8, WARNING)                                         \
	X(LACT, LACTATION, "lact", "Lact.", "H362", 0, NONE)                                                     \
	X(STOT_SE_1, ORGAN_ONCE, "stot-se-1", "STOT SE 1", "H370", 8, DANGER)                                    \
	X(STOT_SE_2, ORGAN_ONCE, "stot-se-2", "STOT SE 2", "H371", 8, WARNING)                                   \
	X(STOT_RE_1, ORGAN_REPEATED, "stot-re-1", "STOT RE 1", "H372", 8, DANGER)                                \
	X(STOT_RE_2, ORGAN_REPEATED, "stot-re-2", "STOT RE 2", "H373", 8, WARNING)                               \
	X(AQUATIC_ACUTE_1, WATER_AT_ONCE, "aquatic-acute-1", "Aquatic Acute 1", "H400", 9, WARNING)              \
	X(AQUATIC_CHRONIC_1, WATER_LONG, "aquatic-chronic-1", "Aquatic Chronic 1", "H410", 9, WARNING)           \
	X(AQUATIC_CHRONIC_2, WATER_LONG, "aquatic-chronic-2", "Aquatic Chronic 2", "H411", 9, NONE)              \
	X(AQUATIC_CHRONIC_3, WATER_LONG, "aquatic-chronic-3", "Aquatic Chronic 3", "H412", 0, NONE)              \
	X(AQUATIC_CHRONIC_4, WATER_LONG, "aquatic-chronic-4", "Aquatic Chronic 4", "H413", 0, NONE)
/* Those kinds. */
enum wet_hazard_kind {
#define WET_KIND_ENUM(name, endpoint, word, title, code, pictogram, signal) WET_HAZARD_##name,
	WET_HAZARD_KINDS(WET_KIND_ENUM)
#undef WET_KIND_ENUM
		WET_HAZARD_N
};

/* Signal words; the last one outranks. */
enum wet_signal { WET_SIGNAL_NONE, WET_SIGNAL_WARNING, WET_SIGNAL_DANGER };

/* What is told of a kind; static storage. */
struct wet_hazard_fact {
	const char *word, *title, *statement;
	uint8_t endpoint, pictogram, signal; /* pictogram: 1..9 of the UN list ("GHS05"), 0: none */
};
/* Of a kind, or NULL. */
const struct wet_hazard_fact *wet_hazard_fact(int kind);
/* "Danger", "Warning", ""; static storage. */
const char *wet_signal_word(int signal);
/* "corrosion" for 5; "" for what is none; static storage. UN GHS Rev.7, Annex 1. */
const char *wet_pictogram_name(int pictogram);

/* The ways of acute toxicity. Inhaled as dust or mist: what a bath can do without being heated. */
enum wet_acute_way { WET_ACUTE_ORAL, WET_ACUTE_DERMAL, WET_ACUTE_INHALED, WET_ACUTE_N };

/* One class of a substance. */
struct wet_hazard {
	uint8_t kind;      /* enum wet_hazard_kind */
	uint16_t m_factor; /* of an aquatic class in category 1: 1, 10, 100, ...; 0 counts as 1 */
	char statement[8]; /* a code narrower than the kind's ("H360FD"), or "" */
	bool is_harmonised; /* as Annex VI of CLP has it; else suppliers say so */
};

/* A concentration limit of the substance's own: from this share on a mixture is of this kind. It takes the place of
 * the general ones for that endpoint; limits of a corrosion of the skin stand for the eyes too. */
struct wet_hazard_limit {
	uint8_t kind;
	int32_t from_ppm; /* 1..1,000,000 */
};

/* A line that is told of a mixture whatever its class ("EUH031"). */
struct wet_supplement {
	char code[8];
	int32_t from_ppm; /* 1..1,000,000 */
};

/* One exposure limit, as printed. */
struct wet_exposure {
	char who[WET_NAME_BYTES];   /* whose: "NIOSH REL" */
	char limit[WET_LINE_BYTES]; /* "TWA 2 mg/m3" */
};

/* What a piece of advice is about. X(name, word in files, member of a substance) */
#define WET_ADVICE_KINDS(X) /* in the order they are told */ \
	X(FIRST_AID, "first-aid", "first_aid")                   \
	X(PROTECTION, "protection", "protection")                \
	X(STORAGE, "storage", "storage")                         \
	X(DISPOSAL, "disposal", "disposal")
/* Those. */
enum wet_advice_kind {
#define WET_ADVICE_ENUM(name, word, member) WET_ADVICE_##name,
	WET_ADVICE_KINDS(WET_ADVICE_ENUM)
#undef WET_ADVICE_ENUM
		WET_ADVICE_N
};

/* One piece of advice, for any number of substances. */
struct wet_advice {
	char key[WET_NAME_BYTES];
	uint8_t kind; /* enum wet_advice_kind */
	char text[WET_HAZARD_TEXT_BYTES];
};

/* A substance. Shares of it are shares of what `formula` is ("Na2S.9H2O": of the crystals); another hydrate is
 * converted with wet_hydrate_factor first. */
struct wet_hazards {
	char key[WET_NAME_BYTES];
	char name[WET_NAME_BYTES];
	char also[WET_HAZARD_NAMES][WET_NAME_BYTES]; /* "" where there are fewer */
	char cas[WET_CAS_BYTES];                     /* "" if it has none */
	char formula[WET_CHEMICAL_BYTES];            /* "" if it has none */
	bool is_refused;                             /* the planner refuses recipes with it */
	bool is_not_additive; /* corrosive in a way that sums do not tell: CLP Annex I 3.2.3.3.4, Table 3.2.4 */
	uint8_t unknown_ways; /* bit of each enum wet_acute_way for which nothing is known */
	uint64_t classes;     /* bits of enum wet_reaction_class in incompatibility.h */
	int pka_count;        /* of an acid: beside the proton that a strong one always gives */
	int32_t pka_milli[WET_HAZARD_PKAS]; /* in water at 25 C, rising */
	int hazard_count, limit_count, supplement_count, exposure_count;
	struct wet_hazard hazards[WET_HAZARDS_OF_ONE];
	struct wet_hazard_limit limits[WET_HAZARD_LIMITS];
	struct wet_supplement supplements[WET_HAZARD_SUPPLEMENTS];
	struct wet_exposure exposures[WET_HAZARD_EXPOSURES];
	/* Acute toxicity estimates, ug/kg, inhaled ug/L (4 h, dust or mist); 0: the class's converted value. */
	int64_t ate_milli[WET_ACUTE_N];
	int advice_count[WET_ADVICE_N];
	uint8_t advice[WET_ADVICE_N][WET_HAZARD_ADVICE]; /* places in the table's advice */
};

/* The table. */
struct wet_hazard_table {
	int substance_count, advice_count;
	struct wet_hazards substances[WET_HAZARD_SUBSTANCES];
	struct wet_advice advice[WET_ADVICE];
};
/* By key, name, other name or CAS number; NULL: none. */
const struct wet_hazards *wet_hazards_find(const struct wet_hazard_table *table, const char *name);
/* Keys and names are met once, CAS numbers have the right check digit, formulas are some, a class is met once and its
 * codes fit, no endpoint's severer limit is below a milder one's. The fault's `where` is a JSON pointer of the file. */
int wet_hazards_check(const struct wet_hazard_table *table, struct wet_fault *reterr);
/* Is it a CAS number with the right check digit? (The last digit is the sum of the others, the last of them once, the
 * one before it twice and so on, modulo 10: Chemical Abstracts Service, Check Digit Verification of CAS RN.) */
bool wet_cas_is_valid(const char *cas);

/* One statement's wording. */
struct wet_statement {
	char code[WET_STATEMENT_BYTES];
	char text[WET_LINE_BYTES];
};
/* All of them. */
struct wet_statement_table {
	int count;
	struct wet_statement statements[WET_STATEMENTS];
};
/* The wording of a code, or NULL. */
const char *wet_statement_text(const struct wet_statement_table *table, const char *code);

/* One component and its share of the whole. */
struct wet_component {
	const struct wet_hazards *substance;
	int32_t share_ppm; /* 0..1,000,000 by mass */
};

/* A mixture: its components; the rest is water and what does no harm. */
struct wet_mixture {
	const struct wet_component *components;
	int component_count; /* up to WET_MIXTURE_COMPONENTS; one substance may be met twice: shares add up */
	bool has_ph;
	int32_t ph_milli;        /* 0..14,000 */
	bool is_ph_known_gentle; /* tested, or so weakly buffered that an extreme pH does no such harm */
};

/* Why a mixture is of a class. X(name, words) */
#define WET_HAZARD_RULES(X)                                                                    \
	X(LIMIT, "at or above the general limit for one component")                                \
	X(OWN_LIMIT, "at or above the substance's own limit")                                      \
	X(SUM, "the shares of such components, weighed by their limits, add up")                   \
	X(WATER_SUM, "the shares of such components, times their M-factors, add up")               \
	X(ESTIMATE, "the acute toxicity estimate of the mixture, by additivity")                   \
	X(NOT_ADDITIVE, "at or above the limit for what sums do not tell")                         \
	X(EXTREME_PH, "a pH of 2 and less or 11.5 and more counts as corrosive")
/* Those rules. */
enum wet_hazard_rule {
#define WET_RULE_ENUM(name, words) WET_HAZARD_RULE_##name,
	WET_HAZARD_RULES(WET_RULE_ENUM)
#undef WET_RULE_ENUM
		WET_HAZARD_RULE_N
};

/* One class of a mixture and what made it. */
struct wet_mixture_class {
	uint8_t kind, rule;  /* enum wet_hazard_kind, enum wet_hazard_rule */
	int8_t component;    /* the one that weighs most; -1: the pH */
	uint32_t components; /* bit of each one that counts */
	int32_t limit_ppm;   /* with a limit: that component's */
	char statement[8];   /* "H360FD" */
	bool is_on_label;    /* else another statement says more */
};

/* One line beside the classes, and the component it is about. */
struct wet_mixture_line {
	char code[8]; /* "EUH208" */
	int8_t component;
};

/* What the mixture is. */
struct wet_classification {
	int class_count, line_count;
	struct wet_mixture_class classes[WET_ENDPOINT_N]; /* in the order of the endpoints */
	struct wet_mixture_line lines[WET_MIXTURE_COMPONENTS * (WET_HAZARD_SUPPLEMENTS + 1)]; /* by component */
	uint8_t signal;       /* enum wet_signal */
	uint16_t pictograms;  /* bit of each: 1 << 5 is corrosion */
	bool is_ph_extreme;   /* also where it is known to be gentle */
	int64_t ate_milli[WET_ACUTE_N];   /* of the mixture, rounded down; 0: nothing in it counts, or beyond a ton */
	int32_t unknown_ppm[WET_ACUTE_N]; /* share of unknown acute toxicity */
};

/* Classifies. WET_ERR_RANGE: a share or pH out of range, or more than the whole; WET_ERR_TOO_MANY. */
int wet_mixture_classify(const struct wet_mixture *mixture, struct wet_classification *ret_classification,
						 struct wet_fault *reterr);

/* Why, in one sentence: "Carc. 2: hydroquinone, 1.2 %: at or above the general limit for one component, 1 %". Returns
 * buf. */
char *wet_mixture_class_why(const struct wet_mixture *mixture, const struct wet_mixture_class *class_of_it,
							char *buf, unsigned buf_bytes);

#endif
