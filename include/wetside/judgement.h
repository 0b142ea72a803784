/* judgement.h: from judged pieces to the next exposure: the index of a paper and its reciprocity, by robust regression.
 * PURE: no clock, no allocation; a fault may be NULL.
 *
 * A piece is judged dry, in stops lighter or darker than wanted. Direct positive: more exposure makes it lighter.
 * Negative: more exposure makes it denser, that is darker. All results are turned into stops of exposure too much.
 *
 * The model: a time t gives as much as t_eff = from (t/from)^p (Schwarzschild, p at most 1; t itself below `from`), and a
 * piece is right where t_eff = N^2 / 2^EV100 * 100 / S. So with y = judged too much - log2(t 2^EV100 / N^2) and
 * x = log2(t / from), 0 below it:   y = log2(S/100) - (1 - p) x + error.
 *
 * The fit: an MM-estimate. First the line of least S-scale (Rousseeuw and Yohai 1984; bisquare, c = 1.54764, half of the
 * results may be bad) of all lines through two results; then iteratively reweighted least squares with Tukey's bisquare,
 * c = 4.685 (Yohai 1987: 95 % efficient for normal errors), the scale going along with the weights and corrected for the
 * parameters (after Koller and Stahel 2011), not under 0.7 of the S-scale nor under WET_JUDGED_STOPS. The interval is 90 %:
 * Student's t of the weight that is left, the scale and the weighted design, with the constants of the normal law,
 * widened by 0.6/n from five results on, as simulation asks. tests/property/prop_judgement.c holds how often it is right. */
#ifndef WETSIDE_JUDGEMENT_H
#define WETSIDE_JUDGEMENT_H

#include "wetside/errors.h"
#include "wetside/exposure.h"

#include <stdbool.h>
#include <stdint.h>

/* X(name, as typed, whether it tells nothing of the exposure any more). */
#define WET_FLAWS(X)               \
	X(FOGGED, "fogged", true)      \
	X(UNEVEN, "uneven", true)      \
	X(STAINED, "stained", false)   \
	X(AIR_BELLS, "air bells", false) \
	X(LEAK, "pinhole leak", true)

enum wet_flaw {
#define WET_FLAW_ENUM(name, text, spoils) WET_FLAW_##name,
	WET_FLAWS(WET_FLAW_ENUM)
#undef WET_FLAW_ENUM
		WET_FLAW_N
};
const char *wet_flaw_text(enum wet_flaw flaw); /* "air bells"; static storage */
/* "fogged, air bells": bits 1 << flaw; an empty text is none. */
int wet_parse_flaws(const char *text, uint32_t *ret_flaws, struct wet_fault *reterr);

/* "right", "1/2 stop lighter", "1 stop too dark", "2/3 stop darker": stops lighter than wanted, darker under 0. More than
 * 4 stops is WET_ERR_RANGE: that is no judgement, but plain white or black. "lighter" alone is WET_ERR_UNIT_MISSING. */
int wet_parse_judged(const char *text, double *ret_lighter_stops, struct wet_fault *reterr);
char *wet_print_judged(double lighter_stops, char *buf, unsigned buf_bytes); /* "1/2 stop lighter than wanted" */
/* Exposure that this piece had too much, by the sense of its paper. */
double wet_judged_too_much_stops(enum wet_sense sense, double lighter_stops);

#define WET_RESULTS 256 /* pieces of one paper that are looked at; the newest, where there are more */
#define WET_RESULTS_FOR_A_FIT 4
#define WET_CONFIDENCE 90     /* per cent, of each interval */
#define WET_JUDGED_STOPS 0.1  /* nobody judges finer: thirds of a stop, rounded */
#define WET_FIT_SPREAD_STOPS 1.0 /* of the times; less says nothing of reciprocity */

/* Development is no exposure: a result outside this is set aside, and told. Recipes are timed for the temperature, so what
 * is left within 3 C is small; a bath in its last tenth is weak (judgement of ours, no source). */
#define WET_NORMAL_OFF_MC 3000
#define WET_NORMAL_USED_MILLI 900

/* For off_mc and used_milli: taken as normal. */
#define WET_NOT_KNOWN INT32_MIN

struct wet_result {
	double ev100;         /* the light it was exposed for */
	double f_number;
	double time_s;        /* given */
	double less_stops;    /* kept from the paper: filters and bellows */
	double lighter_stops; /* judged, than wanted */
	bool is_dry;
	uint32_t flaws;
	int32_t off_mc;     /* developer's temperature from its recipe's, or WET_NOT_KNOWN */
	int32_t used_milli; /* of what the developer bears, by paper or by age, whichever is more: thousandths, or WET_NOT_KNOWN */
};

/* X(name, why, as told of a result). */
#define WET_ASIDES(X)                                              \
	X(NO, "counted")                                               \
	X(WET, "judged wet: it dries darker")                          \
	X(FLAW, "a flaw that hides the exposure")                      \
	X(TEMPERATURE, "developed too far from its temperature")       \
	X(AGE, "developed in a bath that was nearly spent or too old")

enum wet_aside {
#define WET_ASIDE_ENUM(name, text) WET_ASIDE_##name,
	WET_ASIDES(WET_ASIDE_ENUM)
#undef WET_ASIDE_ENUM
		WET_ASIDE_N
};
const char *wet_aside_text(enum wet_aside aside); /* static storage */

/* What became of one result. */
struct wet_verdict {
	enum wet_aside aside;
	double off_stops; /* too much exposure, by this result alone, beside what all of them say */
	double weight;    /* 0..1 in the fit */
	bool is_outlier;  /* over three times the scale away: told, hardly counted, never dropped */
};

enum wet_lesson_kind {
	WET_LESSON_NOTHING,  /* no result counts */
	WET_LESSON_THUMB,    /* fewer than four: the middle of what each says alone, no interval */
	WET_LESSON_INDEX,    /* the index; the times are too alike (or the law is no power) to tell reciprocity */
	WET_LESSON_EXPONENT, /* both */
};

struct wet_lesson {
	enum wet_lesson_kind kind;
	uint32_t counted, outliers;
	uint32_t aside[WET_ASIDE_N]; /* how many for which reason; [NO] is counted */
	double index, index_low, index_high;          /* low = high = index for THUMB */
	double exponent, exponent_low, exponent_high; /* p of t^p, 0.5..1; as held where it was not fitted */
	struct wet_reciprocity law;                   /* to go with the index */
	double scale_stops;                           /* how far one judgement is off, as a rule */
	double middle_s; /* the weighted middle of the times: there the advice is surest ... */
	double middle_low_stops, middle_high_stops; /* ... and this far off, low under 0; 0 for THUMB */
};

/* `held`: the law that is taken where none can be fitted, and for POWER where it sets in; NONE is fitted from 1 s on.
 * ret_verdicts: as many as results. WET_ERR_TOO_MANY over WET_RESULTS; WET_ERR_RANGE names a result that is none. */
int wet_judge(enum wet_sense sense, const struct wet_result *results, uint32_t count, const struct wet_reciprocity *held,
			  struct wet_verdict *ret_verdicts, struct wet_lesson *ret_lesson, struct wet_fault *reterr);

#endif
