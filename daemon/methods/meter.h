/* meter.h: a question about an exposure, and its answer. */
#ifndef WET_METHODS_METER_H
#define WET_METHODS_METER_H

#include "methods/inside.h"
#include "wetside/exposure.h"

struct metering {
	struct wet_meter meter;
	struct wet_reading bright, shaded; /* the same where there is one reading */
	bool has_reading, has_two;
	int64_t distance_um, diameter_um; /* 0: not told */
	double wavelength_nm;
	int best; /* enum wet_pinhole_formula, or -1 */
	char camera[WET_NAME_BYTES]; /* of the shelf; empty: not told */
	bool is_pinhole;
	bool has_aperture;
	bool is_mark; /* the aperture is an engraved one, made exact */
	bool has_index, has_holds;
	double magnification; /* over 0: closer than the far */
	struct wet_exposure_ask ask;
	bool has_reciprocity;
	double bracket_stops;
	uint32_t count;
	double flash_test_s; /* 0: none */
};

/* Index, sense, what it holds and reciprocity of the paper; false: answered. */
bool meter_want_paper(struct wet_call *call, struct metering *m);
/* One parameter through a parser that makes a number of it; absent: untouched. */
bool meter_want_number(struct wet_call *call, const char *key, int (*parse)(const char *, double *, struct wet_fault *),
					   double *ret_value);

/* The answers, each with its "text"; NULL: no memory. */
json_t *meter_pinholes(const struct metering *m);
json_t *meter_light(const struct metering *m);
json_t *meter_exposure(const struct metering *m, const struct wet_exposed *e, const struct wet_bracket *rows);
json_t *meter_flash(const struct metering *m, const int32_t *total_s, const int32_t *add_s);

#endif
