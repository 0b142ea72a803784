/* incompatibility.h: what must not meet, where it could, and what then forms. PURE.
 *
 * A rule names two sets of reaction classes; it is met where one thing holds one of the first and another thing one of
 * the second. Things meet within one bath, while mixing, as neighbours in a process (what a print carries over), on a
 * shelf, in a drain. Each rule says how severe that is; overrides say when it is worse or milder (strength, state, what
 * is missing). Of the overrides that apply the last one decides.
 *
 * A part never meets itself: metabisulfite is both an acid salt and a sulfite, and harmless alone. The rules and
 * their sources are data (safety/incompatibilities.json); this is the machine. */
#ifndef WETSIDE_INCOMPATIBILITY_H
#define WETSIDE_INCOMPATIBILITY_H

#include "wetside/hazard.h"

/* Capacities. */
#define WET_INCOMPATIBILITIES 64 /* rules of one table; the shipped one has under 40 */
#define WET_OVERRIDES 6          /* of one rule */
#define WET_RULE_GASES 4 /* gases that one rule can set free; drain cleaner has 4 */

/* What a substance is when it meets another, and what a thing can be that is no substance. X(name, word in files) */
#define WET_REACTION_CLASSES(X)               \
	X(ACID, "acid")                           \
	X(ACID_SALT, "acid-salt")                 \
	X(STRONG_ACID, "strong-acid")             \
	X(WEAK_ACID, "weak-acid")                 \
	X(WEAKEST_ACID, "weakest-acid")           \
	X(WEAK_ACID_SALT, "weak-acid-salt")       \
	X(VOLATILE_ACID, "volatile-acid")         \
	X(ALKALI, "alkali")                       \
	X(STRONG_ALKALI, "strong-alkali")         \
	X(WEAK_ALKALI, "weak-alkali")             \
	X(CARBONATE, "carbonate")                 \
	X(BORATE, "borate")                       \
	X(AMMONIA, "ammonia")                     \
	X(AMMONIUM_SALT, "ammonium-salt")         \
	X(SULFITE, "sulfite")                     \
	X(THIOSULFATE, "thiosulfate")             \
	X(SULFIDE, "sulfide")                     \
	X(SELENITE, "selenite")                   \
	X(THIOUREA, "thiourea")                   \
	X(HALIDE, "halide")                       \
	X(AZOLE, "azole")                         \
	X(ALUM, "alum")                           \
	X(SURFACTANT, "surfactant")               \
	X(DEVELOPING_AGENT, "developing-agent")   \
	X(ORGANIC_REDUCTANT, "organic-reductant") \
	X(ORGANIC_OXIDANT, "organic-oxidant")     \
	X(FERRICYANIDE, "ferricyanide")           \
	X(PERMANGANATE, "permanganate")           \
	X(CHROMIUM_VI, "chromium-vi")             \
	X(PEROXIDE, "peroxide")                   \
	X(HYPOCHLORITE, "hypochlorite")           \
	X(OXIDISER_MILD, "oxidiser-mild")         \
	X(OXIDISER_STRONG, "oxidiser-strong")     \
	X(OXIDISER_SOLID, "oxidiser-solid")       \
	X(NITRATE, "nitrate")                     \
	X(NITRITE, "nitrite")                     \
	X(CHLORATE, "chlorate")                   \
	X(SILVER_SALT, "silver-salt")             \
	X(WATER, "water")                         \
	X(HOT_WATER, "hot-water")                 \
	X(HEAT, "heat")                           \
	X(SUNLIGHT, "sunlight")                   \
	X(METAL, "metal")                         \
	X(AIR, "air")                             \
	X(DRAIN_CLEANER, "drain-cleaner")
/* Those classes; 1 << each is its bit. */
enum wet_reaction_class {
#define WET_REACTION_ENUM(name, word) WET_REACTION_##name,
	WET_REACTION_CLASSES(WET_REACTION_ENUM)
#undef WET_REACTION_ENUM
		WET_REACTION_N
};
/* Its word, never NULL; static storage. */
const char *wet_reaction_class_word(int reaction_class);
/* Its bit. */
#define WET_REACTION_BIT(name) (UINT64_C(1) << WET_REACTION_##name)

/* Where things meet. X(name, word in files) */
#define WET_MEETINGS(X)                                                                                  \
	X(BATH, "bath")             /* parts of one thing */                                                 \
	X(MIXING, "mixing")         /* one is poured onto those before it: also what a bath must not hold */ \
	X(CARRY_OVER, "carry-over") /* neighbours in a process, without a rinse between */                   \
	X(DRAIN, "drain")                                                                                    \
	X(SHELF, "shelf")
/* Those. */
enum wet_meeting {
#define WET_MEETING_ENUM(name, word) WET_MEETING_##name,
	WET_MEETINGS(WET_MEETING_ENUM)
#undef WET_MEETING_ENUM
		WET_MEETING_N
};
/* Its word, never NULL; static storage. */
const char *wet_meeting_word(int meeting);

/* How severe. X(name, word in files) */
#define WET_SEVERITIES(X) /* the last one is the worst */ \
	X(INFORM, "inform")   /* a note */                    \
	X(WARN, "warn")       /* told, and acknowledged */    \
	X(FORBID, "forbid")   /* no plan with it */
/* Those. */
enum wet_severity {
#define WET_SEVERITY_ENUM(name, word) WET_SEVERITY_##name,
	WET_SEVERITIES(WET_SEVERITY_ENUM)
#undef WET_SEVERITY_ENUM
		WET_SEVERITY_N
};
/* Its word, never NULL; static storage. */
const char *wet_severity_word(int severity);

/* How a thing is. X(name, word in files) */
#define WET_STATES(X)                                     \
	X(DRY, "dry")             /* powder, crystals */      \
	X(WARM, "warm")           /* above 40 C */            \
	X(CLOSED, "closed")       /* in a stoppered bottle */ \
	X(STALE_AIR, "stale-air") /* an open tray in a room that is hardly ventilated */
/* Those; 1 << each is its bit. */
enum wet_state {
#define WET_STATE_ENUM(name, word) WET_STATE_##name,
	WET_STATES(WET_STATE_ENUM)
#undef WET_STATE_ENUM
		WET_STATE_N
};
/* Its word, never NULL; static storage. */
const char *wet_state_word(int state);

/* When a rule is worse or milder. All that is set must be so, for one and the same of the two parts; where its classes
 * are of one side of the rule only, for the part on that side. */
struct wet_override {
	uint64_t classes;               /* it is one of these; 0: any */
	char substance[WET_NAME_BYTES]; /* it is this one; "": any */
	int32_t from_ppm, to_ppm;       /* its share, both ends included; 0: any */
	uint8_t states;                 /* bits of enum wet_state: its thing is so */
	uint8_t meetings;               /* bits of enum wet_meeting; 0: any */
	uint64_t lacks;                 /* neither thing holds any of these; 0: not asked */
	uint8_t to;                     /* enum wet_severity */
	char needs[WET_LINE_BYTES];     /* what must be kept for it: "the acid diluted first"; or "" */
};

/* One rule. */
struct wet_incompatibility {
	char key[WET_NAME_BYTES];
	uint64_t a, b;    /* bits of enum wet_reaction_class */
	bool is_ordered;  /* only where b comes onto a: water onto acid */
	uint8_t severity; /* enum wet_severity */
	uint8_t meetings; /* bits of enum wet_meeting */
	int override_count;
	struct wet_override overrides[WET_OVERRIDES];
	char forms[WET_LINE_BYTES];         /* "sulfur dioxide" */
	char gases[WET_RULE_GASES][WET_NAME_BYTES]; /* of that, what can be breathed: keys of gases; "" where fewer */
	char harm[WET_LINE_BYTES];          /* what that does to people */
	char when[WET_LINE_BYTES];          /* how it comes to that */
	char text[WET_LINE_BYTES];          /* the caution, for people */
	char action[WET_HAZARD_TEXT_BYTES]; /* what to do */
	char except[WET_LINE_BYTES];        /* what is ordinary practice all the same; or "" */
	char source[WET_HAZARD_TEXT_BYTES]; /* where that is from */
};

/* The table. */
struct wet_incompatibility_table {
	int count;
	struct wet_incompatibility rules[WET_INCOMPATIBILITIES];
};
/* Keys are met once; both sides, the meetings and the overrides say something. `where` is a JSON pointer. */
int wet_incompatibilities_check(const struct wet_incompatibility_table *table, struct wet_fault *reterr);

/* What can meet: a bath, a bottle, something poured, a place by the sink. Borrowed. */
struct wet_thing {
	const struct wet_component *parts; /* dissolved or lying in it */
	int part_count;
	uint64_t classes; /* what it is beside these: WET_REACTION_BIT(DRAIN_CLEANER), (WATER), (METAL) */
	uint8_t states;   /* bits of enum wet_state */
	bool is_rinse;    /* a rinse or wash: what was carried over ends here */
};

/* One rule that is met. */
struct wet_hit {
	const struct wet_incompatibility *rule; /* of the caller's table */
	const struct wet_override *override;    /* that decided; NULL: the rule's own severity */
	uint8_t severity, meeting;
	int a, b;           /* places of the things */
	int a_part, b_part; /* places of their parts; -1: the thing itself */
};

/* Finds what is met among things: BATH looks within each one; MIXING takes them in the order they are poured, CARRY_OVER
 * in the order of the process; in a DRAIN and on a SHELF each meets each. Hits come worst first, then in the order of
 * the things, then of the rules; one for a rule and two things, the worst. Those beyond `hits_max` are the last of that
 * order: *ret_count counts them too. Two neighbours that each hold both sides anyway (two fixers) are no news. */
int wet_incompatibilities_find(const struct wet_incompatibility_table *table, enum wet_meeting meeting,
							   const struct wet_thing *things, int thing_count, struct wet_hit *hits,
							   int hits_max, int *ret_count);

#endif
