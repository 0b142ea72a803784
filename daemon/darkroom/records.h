/* records.h: what is asked of the ledger for people. Answers come through the callback, on the loop, once. */
#ifndef WET_RECORDS_H
#define WET_RECORDS_H

#include "darkroom/checklist.h"
#include "darkroom/trace.h"
#include "ledger/ledger.h"

#define WET_RECORD_EVENTS 256 /* shown of one run; the ledger keeps all */

struct wet_records {
	int run_count, event_count;
	bool is_acknowledged;
	struct wet_ledger_run runs[WET_PAGE];
	struct wet_event events[WET_RECORD_EVENTS];
	struct wet_stage_record stages[WET_RECIPE_STAGES];
	struct wet_tracing tracing; /* of one run: how warm its baths were */
	struct wet_answers answers; /* to its checklist */
	/* Of one run, as it was armed; empty where its recipe can't be read. */
	char stage_names[WET_RECIPE_STAGES][WET_NAME_BYTES];
	char bath_names[WET_RECIPE_BATHS][WET_NAME_BYTES];
	int64_t planned_ns[WET_RECIPE_STAGES]; /* its aim at the reference temperature, as it was armed; 0: none */
	bool is_direct_positive;               /* the recipe's paper */
	int developing;                        /* the first stage that develops; -1: none, or not readable */
	int32_t reference_mc;                  /* at which it is timed; INT32_MIN: not known */
	int gap_count;                         /* in which nobody could hear */
	int64_t gap_ns;                        /* all of them */
	int missed_count;                      /* cues that were due in them, beats and counts aside */
	char missed[WET_LINE_BYTES];           /* the first of them, as they would have been said */
	int used_count;                        /* baths of the shelf that it was booked on */
	struct wet_used_bath {
		int stage;
		char name[WET_NAME_BYTES], what[WET_NAME_BYTES];
		int64_t area_mm2; /* of this run, as the first or as the second of two */
		int32_t used_milli; /* of what the bath bears, this run included; INT32_MIN: not known */
		int32_t aged_milli; /* of its keeping time, as the stage began; INT32_MIN: not known */
	} used[WET_RECIPE_BATHS];
};
/* records is valid during the call; NULL without memory. */
typedef void wet_records_cb(void *ctx, const struct wet_records *records, const struct wet_fault *fault);

/* Finished runs with id < before_id, newest first, one page. */
void wet_darkroom_list_records(struct wet_darkroom *darkroom, int64_t before_id, wet_records_cb *cb,
							   void *ctx);
/* One run with its events and the ends of its stages. */
void wet_darkroom_get_record(struct wet_darkroom *darkroom, int64_t run_id, wet_records_cb *cb, void *ctx);
/* Did this person acknowledge that version? records->is_acknowledged. */
void wet_darkroom_acknowledged(struct wet_darkroom *darkroom, const char *person, const char *recipe, int version,
							   wet_records_cb *cb, void *ctx);
void wet_darkroom_acknowledge(struct wet_darkroom *darkroom, const char *person, const char *recipe,
							  int version, wet_records_cb *cb, void *ctx);

#endif
