/* plans.h: plans that were kept, and the bookings of runs that were armed from them.
 *
 * Depends on ledger.h. A plan's baths become items of the shelf when the first load that needs them is armed; a stage's
 * begin books its bath, once, whatever dies in between. */
#ifndef WET_LEDGER_PLANS_H
#define WET_LEDGER_PLANS_H

#include "ledger/ledger.h"
#include "wetside/plan.h"

/* One load of a kept plan. */
struct wet_kept_load {
	int pieces;
	int64_t area_mm2;
	int64_t run_id; /* 0: not armed yet */
};

/* A bath of a kept plan. */
struct wet_kept_bath {
	char key[WET_NAME_BYTES];      /* of the recipe's bath */
	char what[WET_NAME_BYTES];     /* the stock it is made from */
	char strength[24];             /* "1+4" */
	int first_load, load_count;    /* the loads it serves; of two baths, as the first, perhaps none */
	char second_key[WET_NAME_BYTES]; /* of two baths: of the recipe's second one; else empty */
	int second_load, second_count; /* the loads it serves as that, perhaps none */
	int rotations;                 /* of two baths */
	int64_t stock_id;              /* of the shelf; 0: to be mixed */
	int64_t volume_ul;
	bool is_one_shot;
	int draw_count;
	struct {
		int64_t bottle_id, stock_ul;
	} draws[WET_PLAN_SOURCES];
};

/* The name that a bath gets when it is mixed: the `nth` (from 1) of those of its plan that are called after `place`. */
char *wet_kept_bath_name(const char *plan_name, const char *place, int nth, char *buf, unsigned buf_bytes);

#define WET_KEPT_LOADS 200 /* as many as pieces in one plan */
#define WET_KEPT_BATHS 256

struct wet_kept_plan {
	int64_t id;
	char name[WET_NAME_BYTES];
	char recipe_name[WET_NAME_BYTES];
	char recipe_hash[65];
	char vessel[WET_NAME_BYTES];
	int64_t wall_ms;
	int load_count, bath_count;
	struct wet_kept_load loads[WET_KEPT_LOADS];
	struct wet_kept_bath baths[WET_KEPT_BATHS];
};

/* A stage of a run and the bath that it is booked on when it begins. */
struct wet_booking {
	int64_t run_id;
	int stage;
	int64_t stock_id;
	int64_t area_mm2;
	int64_t second_mm2; /* instead, of a bath that is the second of two */
	int64_t volume_ul;  /* poured away with it */
};

/* Stores a new plan, whose loads may have been armed elsewhere; WET_ERR_EXISTS. */
int wet_ledger_put_plan(struct wet_ledger *ledger, const struct wet_kept_plan *plan, struct wet_fault *reterr);
/* WET_ERR_NOT_FOUND. */
int wet_ledger_get_plan(struct wet_ledger *ledger, const char *name, struct wet_kept_plan *ret_plan,
						struct wet_fault *reterr);
/* Names only, rising ids over after_id. */
typedef int wet_ledger_plan_cb(void *ctx, int64_t id, const char *name, const char *recipe_name, int64_t wall_ms);
int wet_ledger_each_plan(struct wet_ledger *ledger, int64_t after_id, int limit, wet_ledger_plan_cb *cb, void *ctx,
						 struct wet_fault *reterr);

/* The run `run_id` is the plan's load `load`: what this load needs is mixed (items of the shelf, drawn from their
 * bottles), and each of the recipe's stages is tied to its bath. To be called inside the transaction that stores the run. */
int wet_ledger_arm_load(struct wet_ledger *ledger, const struct wet_kept_plan *plan, int load, int64_t run_id,
						const struct wet_recipe *recipe, uint32_t uid, int64_t wall_ms, struct wet_fault *reterr);

/* What live runs will do in a bath, as the first and as the second of two, in stages that have not begun. */
int wet_ledger_promised(struct wet_ledger *ledger, int64_t stock_id, int64_t *ret_area_mm2, int64_t *ret_second_mm2,
						struct wet_fault *reterr);

/* Has the run baths to book on? */
int wet_ledger_has_bookings(struct wet_ledger *ledger, int64_t run_id, bool *ret_has, struct wet_fault *reterr);
/* A stage has begun: its bath has done the load's area. Once more changes nothing; a bath that is gone is passed over. Where
 * it is the first of two, those of its plan that were first before it, or a second that goes with them, are spent: they are
 * discarded. */
int wet_ledger_book_stage(struct wet_ledger *ledger, int64_t run_id, int stage, int64_t wall_ms,
						  struct wet_fault *reterr);

#endif
