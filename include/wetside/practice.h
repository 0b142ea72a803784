/* practice.h: how people work safely in the room: rules of practice with their sources. PURE.
 *
 * A rule can have a line in the note of each recipe it is about, and one that is asked before the light goes out. The
 * table is read by somebody else (safety/practice.json); all structs are plain values. */
#ifndef WETSIDE_PRACTICE_H
#define WETSIDE_PRACTICE_H

#include "wetside/hazard.h"
#include "wetside/incompatibility.h"
#include "wetside/recipe.h"

/* Capacities. */
#define WET_PRACTICE_RULES 96   /* of a table; the shipped one has 57 */
#define WET_PRACTICE_SOURCES 66 /* citations of a table: 64 and the two phrases for those that have none */
#define WET_RULE_SOURCES 4      /* of one rule */
#define WET_CITATION_BYTES 512  /* author, title, publisher, year, page; with the NUL */

/* What a rule is about. X(name, word in files, heading) */
#define WET_PRACTICE_TOPICS(X) /* in the order they are told */ \
	X(HANDS, "hands", "Hands and eyes")                         \
	X(AIR, "air", "Air")                                        \
	X(PEOPLE, "people", "People")                               \
	X(MIXING, "mixing", "Mixing")                               \
	X(KEEPING, "keeping", "Keeping")                            \
	X(CLEAN, "clean", "Clean")                                  \
	X(WATER, "water", "Water and floor")                        \
	X(MAINS, "mains", "Mains")                                  \
	X(DARK, "dark", "Before and in the dark")                   \
	X(EMERGENCY, "emergency", "If it happens")                  \
	X(WASTE, "waste", "Afterwards")                             \
	X(AUTHORITY, "who-knows-better", "Who knows better")
/* Those. */
enum wet_practice_topic {
#define WET_TOPIC_ENUM(name, word, heading) WET_TOPIC_##name,
	WET_PRACTICE_TOPICS(WET_TOPIC_ENUM)
#undef WET_TOPIC_ENUM
		WET_TOPIC_N
};
/* The heading, never NULL; static storage. */
const char *wet_practice_heading(int topic);

/* The parts of a note. X(name, word in files) */
#define WET_NOTE_SECTIONS(X) /* in the order of the page */ \
	X(WEAR, "wear-and-open")                                \
	X(HURT, "can-hurt")                                     \
	X(NEVER_MIX, "never-mix")                               \
	X(HAPPENS, "if-it-happens")                             \
	X(DISPOSAL, "disposal")
/* Those. */
enum wet_note_section {
#define WET_SECTION_ENUM(name, word) WET_SECTION_##name,
	WET_NOTE_SECTIONS(WET_SECTION_ENUM)
#undef WET_SECTION_ENUM
		WET_SECTION_N
};

/* What happens to whom. X(name, word in files) */
#define WET_NOTE_ROUTES(X)    \
	X(EYE, "eye")             \
	X(SKIN, "skin")           \
	X(SWALLOWED, "swallowed") \
	X(BREATHED, "breathed")   \
	X(OTHER, "other")
/* Those. */
enum wet_note_route {
#define WET_ROUTE_ENUM(name, word) WET_ROUTE_##name,
	WET_NOTE_ROUTES(WET_ROUTE_ENUM)
#undef WET_ROUTE_ENUM
		WET_ROUTE_N
};

/* One rule. */
struct wet_practice_rule {
	char key[WET_NAME_BYTES];
	uint8_t topic;                    /* enum wet_practice_topic */
	uint8_t vessels;                  /* bits of enum wet_vessel_kind it is about; 0: all */
	uint64_t holds;                   /* bits of enum wet_reaction_class that a bath must hold one of; 0: any */
	char text[WET_HAZARD_TEXT_BYTES]; /* in full */
	uint8_t section, route;           /* of the line in a note: enum wet_note_section, wet_note_route */
	char note[WET_LINE_BYTES];        /* that line, or "" */
	char checklist[WET_LINE_BYTES];   /* what is asked before the light goes out, or "" */
	uint8_t asked;                    /* its place in that list, rising; equal ones in the order of the table */
	bool is_each_load;                /* asked anew for each load, also of a person who went through the list before */
	uint8_t source_count;
	uint8_t sources[WET_RULE_SOURCES]; /* places in the citations */
};

/* All of them. */
struct wet_practice {
	bool is_first_aid_reviewed; /* by somebody trained in it */
	int count, citation_count;
	struct wet_practice_rule rules[WET_PRACTICE_RULES];
	char citations[WET_PRACTICE_SOURCES][WET_CITATION_BYTES];
};

/* Keys are met once. `where` is a JSON pointer. */
int wet_practice_check(const struct wet_practice *practice, struct wet_fault *reterr);
/* The rules that are asked before the light goes out, in that order, into ret_rules[WET_PRACTICE_RULES]; returns how many. */
int wet_practice_asked(const struct wet_practice *practice, int *ret_rules);
/* Is the rule about a recipe for this vessel whose baths hold these classes? */
bool wet_practice_applies(const struct wet_practice_rule *rule, enum wet_vessel_kind vessel, uint64_t classes);

#endif
