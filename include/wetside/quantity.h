/* quantity.h: quantities as people write them, integers inside.
 *
 * Inside: int64 microlitres, int64 milligrams, int32 millidegrees Celsius, int32
 * micrometres, int64 nanoseconds. All parsers take a NUL-terminated UTF-8 text, skip
 * blanks around it, need the unit ("19.4 C", "600mL", "2:00", "1 1/2 in"), accept a
 * decimal point or comma, a fraction ("3/4", "8 1/2", "8-1/2"), compute without rounding
 * until the end, and on failure fill the fault (which may be NULL) with what would be right. A comma before exactly three
 * digits ("1,000 mL") is WET_ERR_AMBIGUOUS: a thousand to one reader, one to another
 * ("0,125 L" is plain). None allocates.
 *
 * Conversion factors are the exact legal ones: international yard and pound (1959);
 * US gallon of 231 cubic inches; imperial gallon of 4.54609 L. */
#ifndef WETSIDE_QUANTITY_H
#define WETSIDE_QUANTITY_H

#include "wetside/errors.h"

#include <stdint.h>

#define WET_NS_PER_S 1000000000LL /* nanoseconds of a second */
#define WET_NS_PER_MS 1000000LL   /* nanoseconds of a millisecond */

/* -- units ------------------------------------------------------------------------
 * The inner unit of a kind is what one of it counts: microlitres, milligrams, micrometres,
 * square millimetres, milligrams per litre, thousandths of a degree Celsius. */
enum wet_quantity_kind {
	WET_QUANTITY_VOLUME,        /* ul */
	WET_QUANTITY_MASS,          /* mg */
	WET_QUANTITY_LENGTH,        /* um */
	WET_QUANTITY_AREA,          /* mm2 */
	WET_QUANTITY_CONCENTRATION, /* mg/L */
	WET_QUANTITY_TEMPERATURE,   /* mC, a reading */
	WET_QUANTITY_DIFFERENCE,    /* mC, without the offset: 9 F apart is 5 C apart */
	WET_QUANTITY_N
};

/* X(name, kind, as printed, inner units of one: top, bottom; units at the inner zero). Exact by the legal
 * definitions above: the grain is 64.79891 mg (the 7000th of the pound), the troy ounce 480 grains, the
 * apothecaries' dram 60 grains, the avoirdupois dram the 16th of the ounce. A US fluid ounce is the 128th of
 * the US gallon, an imperial one the 160th of the imperial gallon, a minim the 480th of either.
 * Checked against GNU units 2.22 (tests/data/units.json). */
#define WET_UNITS(X)                                                                 \
	X(ML, VOLUME, "mL", 1000, 1, 0)                                                  \
	X(L, VOLUME, "L", 1000000, 1, 0)                                                 \
	X(US_FL_OZ, VOLUME, "US fl oz", 473176473, 16000, 0)                             \
	X(IMP_FL_OZ, VOLUME, "imp fl oz", 454609, 16, 0)                                 \
	X(US_GAL, VOLUME, "US gal", 473176473, 125, 0)                                   \
	X(IMP_GAL, VOLUME, "imp gal", 4546090, 1, 0)                                     \
	X(US_QT, VOLUME, "US qt", 473176473, 500, 0)                                     \
	X(IMP_QT, VOLUME, "imp qt", 2273045, 2, 0)                                       \
	X(US_PINT, VOLUME, "US pint", 473176473, 1000, 0)                                \
	X(IMP_PINT, VOLUME, "imp pint", 2273045, 4, 0)                                   \
	X(US_MINIM, VOLUME, "US minims", 157725491, 2560000, 0)                          \
	X(IMP_MINIM, VOLUME, "imp minims", 454609, 7680, 0)                              \
	X(MG, MASS, "mg", 1, 1, 0)                                                       \
	X(G, MASS, "g", 1000, 1, 0)                                                      \
	X(KG, MASS, "kg", 1000000, 1, 0)                                                 \
	X(OZ_AV, MASS, "oz av", 45359237, 1600, 0)                                       \
	X(OZ_TROY, MASS, "oz troy", 19439673, 625, 0)                                    \
	X(DRAM_AV, MASS, "dram av", 45359237, 25600, 0)                                  \
	X(DRAM_AP, MASS, "dram ap", 19439673, 5000, 0)                                   \
	X(GRAIN, MASS, "grains", 6479891, 100000, 0)                                     \
	X(LB, MASS, "lb", 45359237, 100, 0)                                              \
	X(MM, LENGTH, "mm", 1000, 1, 0)                                                  \
	X(CM, LENGTH, "cm", 10000, 1, 0)                                                 \
	X(M, LENGTH, "m", 1000000, 1, 0)                                                 \
	X(IN, LENGTH, "in", 25400, 1, 0)                                                 \
	X(MM2, AREA, "mm2", 1, 1, 0)                                                     \
	X(CM2, AREA, "cm2", 100, 1, 0)                                                   \
	X(M2, AREA, "m2", 1000000, 1, 0)                                                 \
	X(IN2, AREA, "in2", 16129, 25, 0)                                                \
	X(MG_PER_L, CONCENTRATION, "mg/L", 1, 1, 0)                                      \
	X(G_PER_L, CONCENTRATION, "g/L", 1000, 1, 0)                                     \
	X(G_PER_100_ML, CONCENTRATION, "g/100 mL", 10000, 1, 0)                          \
	X(OZ_PER_US_GAL, CONCENTRATION, "oz av/US gal", 46021953125, 6145149, 0)         \
	X(OZ_PER_US_QT, CONCENTRATION, "oz av/US qt", 184087812500, 6145149, 0)          \
	X(GRAIN_PER_IMP_FL_OZ, CONCENTRATION, "grains/imp fl oz", 1036782560, 454609, 0) \
	X(C, TEMPERATURE, "C", 1000, 1, 0)                                               \
	X(F, TEMPERATURE, "F", 5000, 9, 32)                                              \
	X(C_APART, DIFFERENCE, "C", 1000, 1, 0)                                          \
	X(F_APART, DIFFERENCE, "F", 5000, 9, 0)

enum wet_unit {
#define WET_UNIT_ENUM(name, kind, text, top, bottom, zero) WET_UNIT_##name,
	WET_UNITS(WET_UNIT_ENUM)
#undef WET_UNIT_ENUM
		WET_UNIT_N
};

enum wet_quantity_kind wet_unit_kind(enum wet_unit unit); /* what it measures */
const char *wet_unit_text(enum wet_unit unit); /* as printed; static storage */

/* What was typed: how much, in the inner unit of its kind, and in which unit the person thinks. */
struct wet_quantity {
	int64_t value;
	enum wet_unit unit;
};

/* A quantity of this kind with its unit. Bare "oz", "fl oz", "pint", "qt", "gal", "minim" and "dram" are
 * WET_ERR_AMBIGUOUS, with both readings worked out in the fault. The ranges are those of the parsers below. */
int wet_parse_quantity(const char *text, enum wet_quantity_kind kind, struct wet_quantity *ret_quantity,
					   struct wet_fault *reterr);
/* In its own unit, with the fewest digits (or, in inches, the coarsest fraction down to 1/64) that read back
 * as the same value: 59,147 ul in US fl oz is "2 US fl oz", 215,900 um in inches "8 1/2 in". Holds for values
 * up to 10^12; buf of 48 bytes is enough. */
char *wet_print_quantity(struct wet_quantity quantity, char *buf, unsigned buf_bytes);
/* To at most `places` (0..8) decimals, for measuring out: "2.03 US fl oz". */
char *wet_print_quantity_about(struct wet_quantity quantity, int places, char *buf, unsigned buf_bytes);

/* Shares a total out in proportion to `count` (1..64) weights of 0 or more, in integers that sum to it exactly:
 * by largest remainder, ties to the earlier part. WET_ERR_RANGE: a negative, no weight at all, too many. */
int wet_share(int64_t total, const int64_t *weights, uint32_t count, int64_t *ret_shares);

/* -- reading ------------------------------------------------------------------------ */

/* mL, ml, cc, L, l, litre(s), liter(s), "US fl oz", "imp fl oz", and so gal, qt, pint, minims; bare "fl oz" and "oz" are
 * WET_ERR_AMBIGUOUS (US, imperial, or a mass), with both readings in the fault. 0..1e9 L. */
int wet_parse_volume(const char *text, int64_t *ret_volume_ul, struct wet_fault *reterr);
/* mg, g, kg, "oz av" or "ounce av", "oz troy", "dram av", "dram ap", gr or grain(s), lb. Bare "oz" is
 * ambiguous. */
int wet_parse_mass(const char *text, int64_t *ret_mass_mg, struct wet_fault *reterr);
/* As wet_parse_mass, in milligrams that are not rounded: a grain is 64.79891. */
int wet_parse_mass_exact(const char *text, double *ret_mg, enum wet_unit *ret_unit, struct wet_fault *reterr);
/* A reading: C, °C, F, °F, with or without blank. A bare number is WET_ERR_UNIT_MISSING,
 * and the fault shows it both ways ("19.4 C or 67 F"). Range -50..150 C. */
int wet_parse_temperature(const char *text, int32_t *ret_temperature_mc, struct wet_fault *reterr);
/* A difference (no offset): "2 C", "3.6 F". */
int wet_parse_temperature_difference(const char *text, int32_t *ret_difference_mc, struct wet_fault *reterr);
/* mm, cm, m, in, inch(es), ", with fractions "3 1/2 in". 0..100 m. */
int wet_parse_length(const char *text, int64_t *ret_length_um, struct wet_fault *reterr);
/* mm2, cm2, m2, in2 or "sq in". 0..10^15 mm2. */
int wet_parse_area(const char *text, int64_t *ret_area_mm2, struct wet_fault *reterr);
/* g/L, mg/L, "g/100 mL", "oz av/US gal", "oz av/US qt", "grains/imp fl oz". 0..10 kg/L. */
int wet_parse_concentration(const char *text, int64_t *ret_mg_per_l, struct wet_fault *reterr);
/* "9x12cm", "9 x 12 cm", "4x5 in", "4 1/2 x 6 in": the unit once, at the end, or with each. */
int wet_parse_size(const char *text, int64_t *ret_width_um, int64_t *ret_height_um, struct wet_fault *reterr);
/* The same in parts of a micrometre, 1..192 to one, and the unit: a 64th of an inch is no whole number of micrometres, and what
 * is cut from a sheet must add up. Of two units the second. */
int wet_parse_size_fine(const char *text, int64_t parts_per_um, int64_t *ret_width, int64_t *ret_height,
						enum wet_unit *ret_unit, struct wet_fault *reterr);
/* A length likewise, 0..100 m. */
int wet_parse_length_fine(const char *text, int64_t parts_per_um, int64_t *ret_length, enum wet_unit *ret_unit,
						  struct wet_fault *reterr);
/* "2:00" (m:ss), "1:02:03" (h:mm:ss), "90 s", "15s", "3 min", "1 min 30 s", "2 h", "250 ms".
 * A bare number is WET_ERR_UNIT_MISSING. 0..1000 h. */
int wet_parse_duration(const char *text, int64_t *ret_duration_ns, struct wet_fault *reterr);
/* "28%", "28 %", "0.5 %": thousandths of a percent, 0..100 %. */
int wet_parse_percent(const char *text, int32_t *ret_percent_milli, struct wet_fault *reterr);
/* "1+9", "1 + 9", "1+2.5": parts in thousandths. "1:9" is WET_ERR_AMBIGUOUS and the fault
 * gives both readings ("1+9" and "1+8"). Parts over 0..100000. */
int wet_parse_dilution(const char *text, int64_t *ret_a_milli, int64_t *ret_b_milli,
					   struct wet_fault *reterr);
/* Parts of more than two: "1+1+10", stock solutions in the order typed and the water last. */
#define WET_PARTS 8 /* a working solution of more bottles than this was never published */
struct wet_parts {
	uint32_t count; /* 2..WET_PARTS */
	int64_t milli[WET_PARTS];
};
/* As wet_parse_dilution; every part but the last is over 0. */
int wet_parse_parts(const char *text, struct wet_parts *ret_parts, struct wet_fault *reterr);
/* "1:9" in both readings: [0] parts and parts (1+9), [1] the part in the whole (1+8). WET_ERR_INVALID if the
 * text is no such thing, or its second number is below the first. */
int wet_parse_colon(const char *text, struct wet_parts ret_readings[2], struct wet_fault *reterr);
char *wet_print_parts(const struct wet_parts *parts, char *buf, unsigned buf_bytes); /* "1+1+10" */

/* What a percentage is of. Percent "w/v" is grams in 100 mL of the final solution, "v/v" mL in 100 mL of it,
 * "w/w" grams in 100 g of it (definitions of the pharmacopoeias). */
enum wet_percent_kind { WET_PERCENT_UNSAID, WET_PERCENT_WV, WET_PERCENT_VV, WET_PERCENT_WW };
struct wet_strength {
	int32_t milli; /* thousandths of a percent */
	enum wet_percent_kind kind;
};
/* "28%", "28 % w/w", "10 % v/v", "79.5 % w/v": over 0; w/v up to 200 %, others up to 100 %. */
int wet_parse_strength(const char *text, struct wet_strength *ret_strength, struct wet_fault *reterr);
char *wet_print_strength(struct wet_strength strength, char *buf, unsigned buf_bytes);

/* "20", "1.5": times faster, in thousandths; 0.001..1000. */
int wet_parse_rate(const char *text, uint32_t *ret_rate_milli, struct wet_fault *reterr);

/* The number at the front of a text, without blanks inside: "1/60s" is 1/60, and *ret_rest stands at "s". For those who
 * read words around numbers. A comma before three digits is ambiguous here too. */
int wet_read_number(const char *text, double *ret_value, const char **ret_rest, struct wet_fault *reterr);

/* Printers write at most buf_bytes with the NUL and return buf. */
char *wet_print_volume(int64_t volume_ul, char *buf, unsigned buf_bytes); /* "600 mL", "1.5 L", "37.5 mL" */
char *wet_print_mass(int64_t mass_mg, char *buf, unsigned buf_bytes);     /* "3.1 g" */
char *wet_print_temperature(int32_t temperature_mc, char *buf, unsigned buf_bytes); /* "19.4 C" */
char *wet_print_length(int64_t length_um, char *buf, unsigned buf_bytes);           /* "90 mm" */
char *wet_print_days(int64_t duration_ns, char *buf, unsigned buf_bytes); /* of keeping: "40 days", "24 hours"; down */
char *wet_print_duration(int64_t duration_ns, char *buf,
						 unsigned buf_bytes); /* "2:00", "1:02:03"; "-0:20"; rounded to the second */
char *
wet_print_seconds(int64_t duration_ns, char *buf,
				  unsigned buf_bytes); /* "40 seconds", "3 minutes", "1 minute 30 seconds": for speech */
char *wet_print_dilution(int64_t a_milli, int64_t b_milli, char *buf, unsigned buf_bytes); /* "1+9" */
char *wet_print_percent(int32_t percent_milli, char *buf, unsigned buf_bytes);             /* "28 %" */

/* Fahrenheit for showing beside Celsius; rounded to a tenth, in thousandths of a degree F. */
int32_t wet_fahrenheit_mf(int32_t temperature_mc);

#endif
