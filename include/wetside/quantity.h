/* quantity.h: quantities as people write them, integers inside.
 *
 * Inside: int64 microlitres, int64 milligrams, int32 millidegrees Celsius, int32
 * micrometres, int64 nanoseconds. All parsers take a NUL-terminated UTF-8 text, skip
 * blanks around it, need the unit ("19.4 C", "600mL", "2:00", "1 1/2 in"), accept a
 * decimal point or comma, compute without rounding until the end, and on failure fill
 * the fault (which may be NULL) with what would be right. A comma before exactly three
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

/* mL, ml, cc, L, l, litre(s), liter(s), "US fl oz", "imp fl oz"; bare "fl oz" and "oz" are
 * WET_ERR_AMBIGUOUS (US, imperial, or a mass), with both readings in the fault. 0..1e9 L. */
int wet_parse_volume(const char *text, int64_t *ret_volume_ul, struct wet_fault *reterr);
/* mg, g, kg, "oz av" or "ounce av", gr or grain(s), lb. Bare "oz" is ambiguous. */
int wet_parse_mass(const char *text, int64_t *ret_mass_mg, struct wet_fault *reterr);
/* A reading: C, °C, F, °F, with or without blank. A bare number is WET_ERR_UNIT_MISSING,
 * and the fault shows it both ways ("19.4 C or 67 F"). Range -50..150 C. */
int wet_parse_temperature(const char *text, int32_t *ret_temperature_mc, struct wet_fault *reterr);
/* A difference (no offset): "2 C", "3.6 F". */
int wet_parse_temperature_difference(const char *text, int32_t *ret_difference_mc, struct wet_fault *reterr);
/* mm, cm, m, in, inch(es), ", with fractions "3 1/2 in". 0..100 m. */
int wet_parse_length(const char *text, int64_t *ret_length_um, struct wet_fault *reterr);
/* "9x12cm", "9 x 12 cm", "4x5 in", "4 1/2 x 6 in": the unit once, at the end, or with each. */
int wet_parse_size(const char *text, int64_t *ret_width_um, int64_t *ret_height_um, struct wet_fault *reterr);
/* "2:00" (m:ss), "1:02:03" (h:mm:ss), "90 s", "15s", "3 min", "1 min 30 s", "2 h", "250 ms".
 * A bare number is WET_ERR_UNIT_MISSING. 0..1000 h. */
int wet_parse_duration(const char *text, int64_t *ret_duration_ns, struct wet_fault *reterr);
/* "28%", "28 %", "0.5 %": thousandths of a percent, 0..100 %. */
int wet_parse_percent(const char *text, int32_t *ret_percent_milli, struct wet_fault *reterr);
/* "1+9", "1 + 9", "1+2.5": parts in thousandths. "1:9" is WET_ERR_AMBIGUOUS and the fault
 * gives both readings ("1+9" and "1+8"). Parts over 0..100000. */
int wet_parse_dilution(const char *text, int64_t *ret_a_milli, int64_t *ret_b_milli,
					   struct wet_fault *reterr);
/* "20", "1.5": times faster, in thousandths; 0.001..1000. */
int wet_parse_rate(const char *text, uint32_t *ret_rate_milli, struct wet_fault *reterr);

/* Printers write at most buf_bytes with the NUL and return buf. */
char *wet_print_volume(int64_t volume_ul, char *buf, unsigned buf_bytes); /* "600 mL", "1.5 L", "37.5 mL" */
char *wet_print_mass(int64_t mass_mg, char *buf, unsigned buf_bytes);     /* "3.1 g" */
char *wet_print_temperature(int32_t temperature_mc, char *buf, unsigned buf_bytes); /* "19.4 C" */
char *wet_print_length(int64_t length_um, char *buf, unsigned buf_bytes);           /* "90 mm" */
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
