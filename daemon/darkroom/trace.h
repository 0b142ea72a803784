/* trace.h: how warm the baths of a run were: the readings, thinned, and the course that they were taken for. */
#ifndef WET_TRACE_H
#define WET_TRACE_H

#include "wetside/run.h"

#define WET_TRACE_POINTS 16 /* of one stage; of more readings every second, fourth ... is kept */

struct wet_trace {
	uint32_t readings, stride; /* taken while the bath was in; all are counted */
	int count;
	struct wet_track_point points[WET_TRACE_POINTS]; /* run time */
	int32_t in_mc, out_mc;     /* at pour-in and at the end, read or by its course; INT32_MIN: unknown */
	enum wet_course_kind course;
	int32_t settles_mc;
	int64_t tau_ns;
	uint32_t fit_readings;
	char text[WET_LINE_BYTES]; /* the last sentence about it; empty: nothing was read */
};

struct wet_tracing {
	struct wet_run run;
	struct wet_trace stages[WET_RECIPE_STAGES];
};

/* setup's recipe lives as long. */
void trace_begin(struct wet_tracing *tracing, const struct wet_run_setup *setup, int64_t armed_boot_ns);
void trace_event(struct wet_tracing *tracing, const struct wet_event *event);

#endif
