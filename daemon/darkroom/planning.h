/* planning.h: "what do I mix?": the shelf as it stands, a recipe and some pieces to a plan. One job of the ledger; the
 * answer comes through the callback, on the loop, once. */
#ifndef WET_DARKROOM_PLANNING_H
#define WET_DARKROOM_PLANNING_H

#include "darkroom/darkroom.h"
#include "wetside/graduate.h"
#include "wetside/plan.h"
#include "wetside/stock.h"

struct wet_planning_request {
	char recipe_name[WET_NAME_BYTES];
	char vessel_name[WET_NAME_BYTES];
	char washer_name[WET_NAME_BYTES]; /* for what is treated in a washer; empty: counted as if in the vessel, and said */
	char keep[WET_NAME_BYTES];        /* empty: the plan is told and forgotten */
	int size_count;
	struct {
		int count;
		int64_t width_um, height_um;
	} sizes[WET_PLAN_SIZES];
	bool wants_trial;
	bool is_stale_air; /* the room is hardly aired: for what is told of the recipe; the plan is the same */
	/* Of the tap (both or neither), the bottles and the room; INT32_MIN: not told. Nothing is tempered without a tap. */
	int32_t hot_mc, cold_mc, stock_mc, room_mc;
	bool mixes_lots; /* one bath may be drawn from several lots: the person's word for all of them */
	int own_count;
	struct {
		char what[WET_NAME_BYTES];
		int32_t percent_milli; /* w/v, as its formula makes it */
	} own[WET_PLAN_SOLUTIONS]; /* solutions of the recipe that are one substance in water */
};

/* A bath of the recipe in the plan. A first and a second fixer that are mixed alike are one solution of two baths that rotate:
 * `among` is 0 for the first and 1 for the second. Others that are mixed alike are planned as one solution of `alike`. */
struct wet_planning_part {
	int solution;     /* index into ask.solutions */
	int recipe_bath;  /* index into recipe->baths */
	int among;        /* 0 ...: which of its solution's baths it is */
};

struct wet_planning {
	const struct wet_recipe *recipe;
	struct wet_stock vessel;
	struct wet_stock washer; /* id 0: none was named */
	int most_pieces;         /* of any size in one load: the vessel's and the washer's */
	int room[WET_PLAN_SIZES]; /* by size: so many in one load */
	bool is_in_washer[WET_PLAN_SOLUTIONS]; /* by solution: all of its stages are */
	struct wet_plan_ask ask;
	int part_count;
	struct wet_planning_part parts[WET_PLAN_SOLUTIONS];
	int alike[WET_PLAN_SOLUTIONS]; /* by solution: baths that are mixed alike for each load, of which none rotates */
	int bottle_count, working_count, graduate_count;
	struct wet_stock bottles[WET_PLAN_SOURCES];                       /* as ask.bottles */
	struct wet_stock workings[WET_PLAN_SOURCES][WET_PLAN_SOLUTIONS]; /* as ask.workings: `alike` of each */
	struct wet_graduate graduates[WET_GRADUATES];
	char graduate_names[WET_GRADUATES][WET_NAME_BYTES];
	int32_t own[WET_PLAN_SOURCES], has[WET_PLAN_SOURCES]; /* by bottle: it counts as volume * has / own of the stock */
	char told[2048]; /* of the shelf, line by line: what is left out of it, and why */
	bool is_feasible;
	struct wet_plan plan;             /* is_feasible */
	struct wet_plan_refusal refusal;  /* else */
	char text[8192];                  /* is_feasible: the plan explained, line by line */
	/* inside */
	struct wet_plan_bottle plan_bottles[WET_PLAN_SOURCES];
	struct wet_plan_working plan_workings[WET_PLAN_SOURCES];
};
/* The item of the shelf that a bath of the plan is for a part of the recipe; NULL: it is mixed. */
const struct wet_stock *wet_planning_working(const struct wet_planning *planning, const struct wet_planning_part *part,
											 const struct wet_plan_bath *bath);
/* The name of a bath of two, for people: the shelf's, or what it will be called there once a kept plan is armed. Returns buf. */
char *wet_planning_bath_name(const struct wet_planning_request *request, const struct wet_planning *planning,
							 const struct wet_plan_bath *bath, char *buf, unsigned buf_bytes);

/* planning is valid during the call; NULL where the fault says why. A plan that is not feasible is no fault. */
typedef void wet_planned_cb(void *ctx, const struct wet_planning_request *request,
							const struct wet_planning *planning, const struct wet_fault *fault);

void wet_darkroom_plan(struct wet_darkroom *darkroom, const struct wet_planning_request *request, wet_planned_cb *cb,
					   void *ctx);

/* A graduate of the shelf, as it measures. */
struct wet_graduate wet_planning_graduate(const struct wet_stock *item);

/* Names of kept plans. */
struct wet_plan_names {
	int count;
	struct {
		char name[WET_NAME_BYTES], recipe[WET_NAME_BYTES];
		int64_t wall_ms;
	} rows[WET_PAGE];
};
typedef void wet_plan_names_cb(void *ctx, const struct wet_plan_names *names, const struct wet_fault *fault);
void wet_darkroom_list_plans(struct wet_darkroom *darkroom, wet_plan_names_cb *cb, void *ctx);

#endif
