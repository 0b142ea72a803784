/* checklist.h: what is gone through before a run's light goes out: what was answered, what the shelf knows of its baths, and
 * whether the answers of the run before may stand. Answers come through the callback, on the loop, once. */
#ifndef WET_CHECKLIST_H
#define WET_CHECKLIST_H

#include "darkroom/darkroom.h"
#include "ledger/checks.h"

#define WET_CHECK_ITEMS 48                    /* of one list; the shipped one has seventeen */
#define WET_WORKING_DAY_MS (10 * 3600000LL)   /* an answer stands no longer. Our decision */

/* Static storage; never NULL. */
const char *wet_check_answer_word(int answer);
int wet_check_answer_from_word(const char *word, enum wet_check_answer *ret_answer);

/* The last answer to each item. */
struct wet_answers {
	int count;
	struct wet_check list[WET_CHECK_ITEMS];
};
/* NULL: none. */
const struct wet_check *wet_answer_to(const struct wet_answers *answers, const char *key);
void wet_answers_add(struct wet_answers *answers, const struct wet_check *check);
/* Was this confirmed, at this moment no longer ago than a working day? */
bool wet_check_stands(const struct wet_check *check, int64_t wall_ms);

struct wet_checklist {
	int64_t run_id;
	struct wet_answers now, before;   /* before: of the last run of the same recipe, vessel, person and room */
	int64_t before_id, before_wall_ms; /* that run, and when it was armed; 0: there is none */
	char baths[WET_RECIPE_BATHS][WET_LINE_BYTES]; /* what the shelf knows of each: "fix-a, mixed 2 days ago, ..."; or empty */
};
/* checklist is valid during the call; NULL on a fault. */
typedef void wet_checklist_cb(void *ctx, const struct wet_checklist *checklist, const struct wet_fault *fault);
void wet_darkroom_checklist(struct wet_darkroom *darkroom, const struct wet_live *live, wet_checklist_cb *cb, void *ctx);
/* Stores answers to items of this run, all or none; key, text, answer and since_ms (0: now) are given, the rest is filled here. cb
 * gets the list as it is then; it may be NULL. */
void wet_darkroom_check(struct wet_darkroom *darkroom, const struct wet_live *live, const char *person, uint32_t uid,
						const struct wet_check *checks, int count, wet_checklist_cb *cb, void *ctx);

#endif
