/* exposure.h: from what a meter said to the seconds that are counted at the camera. PURE.
 *
 * No clock, no allocation; a fault may be NULL. Laws compute in double, in the units of their names; what a person
 * does with them (times) is rounded once, at the end. Index: an ISO speed, or the exposure index a paper is metered at.
 *
 * EV = log2(N^2/t) and Av + Tv = EV (ASA PH2.5-1960 as summarised by D. A. Kerr, The Additive System of Photographic
 * Exposure, 2007). N^2/t = L S / K = E S / C (ISO 2720:1974, by secondary pages; not read in the original). Checked row
 * by row against tests/data/exposure.json, where each source stands. */
#ifndef WETSIDE_EXPOSURE_H
#define WETSIDE_EXPOSURE_H

#include "wetside/errors.h"

#include <stdbool.h>
#include <stdint.h>

/* -- laws ------------------------------------------------------------------------- */

/* Reflected-light constant, cd s/(m2 ISO): ISO 2720:1974 allows 10.6 to 13.4; 12.5 and 14 are in use. */
#define WET_METER_K 12.5
/* Incident-light constant of a flat receptor, lx s/ISO (ISO 2720:1974); domes have 320 to 340. */
#define WET_METER_C 250.0
/* What is taken for one of the two: the standard's range and a little around it. */
#define WET_METER_K_LOW 10.0
#define WET_METER_K_HIGH 15.0
#define WET_METER_C_LOW 200.0
#define WET_METER_C_HIGH 540.0

double wet_av(double f_number); /* log2(N^2) */
double wet_tv(double time_s);   /* log2(1/t) */
double wet_ev(double f_number, double time_s);
double wet_ev_time_s(double ev, double f_number); /* N^2 / 2^EV */
/* The EV of the same light for another index: one stop more sensitive is one EV more. */
double wet_ev_for_index(double ev, double from_index, double to_index);
double wet_luminance_cd_m2(double ev, double index, double k); /* K 2^EV / S */
double wet_illuminance_lx(double ev, double index, double c);  /* C 2^EV / S */
double wet_ev_of_luminance(double luminance_cd_m2, double index, double k);
double wet_ev_of_illuminance(double illuminance_lx, double index, double c);

double wet_index_degrees(double index); /* 10 log10 S + 1, unrounded (ISO 6): 100 is 21 degrees */
double wet_index_of_degrees(double degrees);
double wet_stops_of_factor(double factor);   /* log2: factor 4 is 2 stops */
double wet_factor_of_stops(double stops);    /* 2^stops */
double wet_stops_of_density(double density); /* D / log10(2) */
/* How much longer for a subject so near that its picture is `magnification` times its size: (1+m)^2, of a
 * symmetric lens. A pinhole needs none: its distance counts in its aperture number already. */
double wet_bellows_factor(double magnification);

/* Engraved marks are rounded: f/11 stands for 2^3.5, 1/60 s for 1/64 s. The exact value of a mark of the third- or
 * half-stop series from f/1 to f/90 (f/1.2 and f/13 belong to both: the nearer), and of the third-stop series of
 * times from 1/500 to 1/2 s; what is no such mark comes back as it is. Seconds that are counted are no marks. */
double wet_f_number_of_mark(double f_number);
double wet_time_of_mark_s(double time_s);

/* -- pinholes ---------------------------------------------------------------------- */

/* X(name, constant c of d = c sqrt(distance wavelength), as written, source). Rayleigh 1891 as quoted in
 * henricvs.blogspot.de 2012-04; the other two by the rows of tests/data/exposure.json. */
#define WET_PINHOLES(X)                                                                                                \
	X(RAYLEIGH, 1.9, "1.9 sqrt(distance wavelength)", "Rayleigh 1891")                                                  \
	X(AIRY, 1.5620499351813308, "sqrt(2.44 distance wavelength)", "as wide as the disc that diffraction makes (Airy)")   \
	X(PETZVAL, 1.4142135623730951, "sqrt(2 distance wavelength)", "Petzval")

enum wet_pinhole_formula {
#define WET_PINHOLE_ENUM(name, constant, text, source) WET_PINHOLE_##name,
	WET_PINHOLES(WET_PINHOLE_ENUM)
#undef WET_PINHOLE_ENUM
		WET_PINHOLE_N
};
const char *wet_pinhole_name(enum wet_pinhole_formula formula);   /* "rayleigh"; static storage */
const char *wet_pinhole_text(enum wet_pinhole_formula formula);   /* the formula as written */
const char *wet_pinhole_source(enum wet_pinhole_formula formula); /* whose it is */
double wet_pinhole_constant(enum wet_pinhole_formula formula);

/* Paper that sees blue is sharpest with a smaller hole than the eye's 550 nm asks for (inference of ours). */
#define WET_PAPER_NM 450
/* The best diameter, micrometres, of the constant for a distance and a wavelength: all over 0. */
double wet_pinhole_best_um(double constant, double distance_um, double wavelength_nm);
/* Distance over diameter; both over 0. */
double wet_f_number(double distance_um, double diameter_um);

/* -- what a person reads and types --------------------------------------------------- */

/* What kind of meter it came from. */
enum wet_reading_kind { WET_READING_TIME, WET_READING_EV, WET_READING_LUMINANCE, WET_READING_ILLUMINANCE };

/* The meter behind a reading. */
struct wet_meter {
	double index; /* as it is set, where a reading doesn't say; 0: unsaid */
	double k, c;  /* calibration; 0: the values above */
};

struct wet_reading {
	enum wet_reading_kind kind;
	double ev100;            /* at ISO 100: what all of them come to */
	double index;            /* the index it was taken at; 0 for a luminance or an illuminance */
	double time_s, f_number; /* of a TIME, as computed with: exact where they are marks */
	double value;            /* EV at the index, cd/m2 or lx */
	bool is_mark;            /* a mark was made exact */
	bool is_iso_100;         /* an EV without an index: taken as at ISO 100 */
};

/* "1/60 at f/8 index 100", "f/16 8 s ISO 10", "2:00 at f/128 index 3" (a bare number or fraction beside an aperture is
 * in seconds); "EV 14.3", "EV 11 index 10"; "400 cd/m2"; "81920 lx", "8000 lux" (1 foot-candle, "fc", is 10.7639104
 * lx). Words in any order. A time without an index (in the text or the meter's) is WET_ERR_UNIT_MISSING. EV at ISO 100
 * from -20 to 30. */
int wet_parse_reading(const char *text, const struct wet_meter *meter, struct wet_reading *ret_reading,
					  struct wet_fault *reterr);
/* "f/240", "f240", "240": 0.5..10000, as typed. */
int wet_parse_f_number(const char *text, double *ret_f_number, struct wet_fault *reterr);
/* "3", "ISO 100", "21 deg" or with the sign of a degree: 0.001..1000000. */
int wet_parse_index(const char *text, double *ret_index, struct wet_fault *reterr);
/* "1 stop", "-1/2 stop", "1.5 stops": up to 20 either way. A bare number is WET_ERR_UNIT_MISSING. */
int wet_parse_stops(const char *text, double *ret_stops, struct wet_fault *reterr);
/* A filter: "4x", "factor 4", "2 stops", "density 0.6". A bare number is WET_ERR_AMBIGUOUS (a factor or stops), with
 * both readings. Never under 0 stops, at most 20. */
int wet_parse_filter(const char *text, double *ret_stops, struct wet_fault *reterr);
/* "f/240", "f/5.6": as people write it, three figures. buf of 24 bytes is enough. */
char *wet_print_f_number(double f_number, char *buf, unsigned buf_bytes);
/* "+1/3 stop", "-2 stops", "0.4 stops": thirds and halves as fractions, else tenths. buf of 32 bytes is enough. */
char *wet_print_stops(double stops, bool with_sign, char *buf, unsigned buf_bytes);
/* A time as it is counted or read off a dial: "1/60 s", "0.6 s", "8.3 s", "22 s", "2:15". 24 bytes. */
char *wet_print_exposure(double time_s, char *buf, unsigned buf_bytes);

/* -- reciprocity ---------------------------------------------------------------------- */

enum wet_reciprocity_kind {
	WET_RECIPROCITY_NONE,
	WET_RECIPROCITY_POWER, /* t given = from (t/from)^exponent above `from`; exponent = 1/p of E = I t^p (Schwarzschild 1900) */
	WET_RECIPROCITY_ADDED, /* t + added t^exponent, in seconds */
	WET_RECIPROCITY_TABLE  /* between its rows a straight line in log time against log time */
};

#define WET_RECIPROCITY_ROWS 16 /* published tables have three to six */

struct wet_reciprocity {
	enum wet_reciprocity_kind kind;
	double from_s; /* POWER: where it sets in; 1 s where nobody says */
	double exponent;
	double added;
	uint32_t count; /* TABLE: rows, both columns rising */
	double metered_s[WET_RECIPROCITY_ROWS];
	double given_s[WET_RECIPROCITY_ROWS];
};

/* "none"; "power 1.3" (the exponent of the time) or "power 0.86" (Schwarzschild's p: the same as 1/0.86), "power 1.3
 * from 2 s"; "added 0.1 1.62"; "table 1s 1s, 10s 25s, 100s 400s" (metered, given; two rows or more). POWER: 0.5..2. */
int wet_parse_reciprocity(const char *text, struct wet_reciprocity *ret_law, struct wet_fault *reterr);
char *wet_print_reciprocity(const struct wet_reciprocity *law, char *buf, unsigned buf_bytes); /* 96 bytes */

struct wet_given {
	double time_s;
	bool is_clamped; /* the law would have shortened it */
	bool is_beyond;  /* outside the table: its end slope is carried on */
};
/* The time to give for a metered time over 0. Never shorter than metered, and longer for a longer one. */
struct wet_given wet_reciprocity_give(const struct wet_reciprocity *law, double metered_s);
/* The metered time that a given one was enough for: the inverse. */
double wet_reciprocity_metered_s(const struct wet_reciprocity *law, double given_s);

/* -- placement and exposure --------------------------------------------------------------- */

/* Ordinary paper gives a negative: more exposure, darker. Direct-positive paper: more exposure, lighter. */
enum wet_sense { WET_SENSE_UNSAID, WET_SENSE_NEGATIVE, WET_SENSE_DIRECT_POSITIVE };
/* "negative", "direct positive"; static storage */
const char *wet_sense_name(enum wet_sense sense);

/* Stops a paper holds on each side of the middle, if the person doesn't know better. A careful choice of ours: reversal
 * materials hold about 1:25 in all, 4.6 stops, with half a stop of error (fotografia-tajchman.eu, of reversal film). */
#define WET_HOLDS_STOPS 1.5

enum wet_place {
	WET_PLACE_GOVERNED, /* the middle, but the reading that governs stays within what the paper holds */
	WET_PLACE_MIDDLE,   /* the middle in stops: the geometric mean of the times */
	WET_PLACE_BRIGHT,   /* so many stops from the bright reading's own exposure towards the shaded one's */
	WET_PLACE_SHADED    /* so many stops from the shaded one's towards the bright one's */
};

/* "middle", "bright", "shaded", "1 stop from bright", "1/2 stop from shaded": between the two readings. */
int wet_parse_place(const char *text, enum wet_place *ret_place, double *ret_stops, struct wet_fault *reterr);

struct wet_exposure_ask {
	enum wet_sense sense; /* needed for GOVERNED with two readings */
	double f_number;
	double index;                      /* the paper's */
	double bright_ev100, shaded_ev100; /* the same where there is one reading; bright is not under shaded */
	enum wet_place place;
	double place_stops;  /* of BRIGHT and SHADED; may be negative */
	double holds_stops;  /* over 0 */
	double more_stops;   /* on purpose; negative: less */
	double filter_stops; /* of all filters, not under 0 */
	double bellows_stops;
	double flash_under_stops; /* a flash of the whole sheet, so many stops under the middle; 0: none */
	struct wet_reciprocity reciprocity;
};

struct wet_exposed {
	double ev100;                      /* what it is exposed for, at ISO 100 */
	double metered_s;                  /* with filters, bellows, flash and what was wanted more: before reciprocity */
	struct wet_given given;            /* after it */
	double bright_stops, shaded_stops; /* where the readings fall: over 0 gets more than the middle; flash included */
	double range_stops;                /* between the two readings, as metered */
	double flash_range_stops;          /* ... and on the paper, after the flash */
	double flash_less_stops;           /* the camera's exposure is this much less for the flash; not under 0 */
	bool is_held_back;                 /* GOVERNED: the governing reading asked for another exposure than the middle's */
	bool loses_bright, loses_shaded;   /* it falls outside what the paper holds */
};

/* WET_ERR_RANGE names the value. Direct positive: the bright reading governs, for highlights that were lost do not come
 * back (techniklexikon.net on reversal film). Negative: the shaded one. A time over 1000 h is WET_ERR_RANGE. */
int wet_expose(const struct wet_exposure_ask *ask, struct wet_exposed *ret_exposure, struct wet_fault *reterr);

/* The nearest time a person can count: whole seconds, from 100 s on fives, then tens, ... up to whole minutes, so that
 * from 20 s on it is never off by over 1/25 stop. Under half a second none: returns 0. */
int64_t wet_count_ns(double time_s);

#define WET_BRACKET 11 /* more pieces than that is a test of the paper, not a bracket */
struct wet_bracket {
	double stops; /* more than the middle one */
	struct wet_given given;
	int64_t counted_ns; /* 0: too short to count */
	double off_stops;   /* what counting makes of it: more light than asked is over 0 */
};
/* `count` (odd, 1..WET_BRACKET) exposures around it, step_stops (over 0..3) apart in light, each through reciprocity; over 1000 h is
 * WET_ERR_RANGE. */
int wet_bracket(const struct wet_exposure_ask *ask, const struct wet_exposed *middle, double step_stops, uint32_t count,
				struct wet_bracket ret_rows[WET_BRACKET], struct wet_fault *reterr);

/* -- pre-flash ------------------------------------------------------------------------- */

#define WET_FLASH_STEPS 12 /* strips of one test piece */
/* The strips of a flash test, in whole seconds: total_s[i] is what strip i has had, each about step_stops (over 0..2)
 * more than the one before, from first_s (1..600) on; add_s[i] is what is added while strips i and later are open. One
 * more strip stays covered: to compare with. The longest flash that still gives full black is the one to use (negative:
 * that still leaves the paper white). */
int wet_flash_steps(double first_s, double step_stops, uint32_t count, int32_t ret_total_s[WET_FLASH_STEPS],
					int32_t ret_add_s[WET_FLASH_STEPS], struct wet_fault *reterr);

#endif
