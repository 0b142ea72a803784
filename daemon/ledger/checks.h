/* checks.h: what was answered to the checklist of a run. Inside the daemon; the same thread as ledger.h. */
#ifndef WET_LEDGER_CHECKS_H
#define WET_LEDGER_CHECKS_H

#include "ledger/ledger.h"

#define WET_CHECKS 256 /* answers of one run, changed ones too; the shipped list has under twenty items */

/* X(NAME, word) */
#define WET_CHECK_ANSWERS(X)                                                        \
	X(CONFIRMED, "confirmed")                                                       \
	X(SKIPPED, "skipped")                                                           \
	X(STANDS, "stands")   /* confirmed for an earlier run of this day, since_ms */ \
	X(ASSUMED, "assumed") /* by an option; nobody was asked */

/* Those. Stored. */
enum wet_check_answer {
#define WET_CHECK_ENUM(name, word) WET_CHECK_##name,
	WET_CHECK_ANSWERS(WET_CHECK_ENUM)
#undef WET_CHECK_ENUM
		WET_CHECK_ANSWER_N
};

/* One answer. */
struct wet_check {
	int64_t run_id, seq;      /* seq: from 1 in each run */
	char key[WET_NAME_BYTES]; /* of the item: "vessel" */
	char text[WET_LINE_BYTES]; /* as it was asked */
	enum wet_check_answer answer;
	char person[WET_NAME_BYTES];
	uint32_t uid;
	int64_t wall_ms, since_ms;
};

/* Gives it the next seq. The same answer to the same item as is there already changes nothing. */
int wet_ledger_put_check(struct wet_ledger *ledger, const struct wet_check *check, struct wet_fault *reterr);
typedef int wet_ledger_check_cb(void *ctx, const struct wet_check *check);
/* In order, seq over after_seq. */
int wet_ledger_each_check(struct wet_ledger *ledger, int64_t run_id, int64_t after_seq, wet_ledger_check_cb *cb, void *ctx,
						  struct wet_fault *reterr);
/* As it is, seq too; for what comes from elsewhere. */
int wet_ledger_insert_check(struct wet_ledger *ledger, const struct wet_check *check, struct wet_fault *reterr);
/* The number of the last run before run_id, no rehearsal, of the same recipe, vessel, person and room; 0: none. */
int wet_ledger_run_before(struct wet_ledger *ledger, const struct wet_ledger_run *run, int64_t *ret_id,
						  struct wet_fault *reterr);

#endif
