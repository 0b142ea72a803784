/* cut.h: what the files on cutting share. */
#ifndef WET_METHODS_CUT_H
#define WET_METHODS_CUT_H

#include "methods/inside.h"
#include "shelf/cutting.h"

/* A request on its way to the plan, and to the run. */
struct cut_request {
	struct pending *pending;
	struct wet_cut_ask ask;
	struct wet_cut_words words;
	bool is_inside;  /* the sizes were those of the cameras' insides, */
	int32_t under_t; /* and the pieces are smaller by this */
	int layout;      /* that is told in full; those before and behind it too where there is room */
	int columns;     /* of the drawing */
	/* of a run */
	json_t *plan;
	char told[512];
	struct wet_cutting cutting;
	struct wet_arming arming;
};

int64_t cut_um(int32_t length_t); /* micrometres, rounded */
bool want_cut(struct wet_call *call, struct cut_request *ret_request);
/* The plan as data and in words; NULL: no memory. */
json_t *cut_plan_json(const struct cut_request *request);

#endif
