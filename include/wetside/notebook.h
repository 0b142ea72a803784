/* notebook.h: the entry of one piece, typed in one line in any order, and read back as the same. PURE.
 *
 * No clock, no allocation; a fault may be NULL. What a line may hold, parted by commas or not:
 *   8s, 2:00, 90 s             the exposure that was given
 *   tin-two, "tin two"         a camera of the shelf, by its name
 *   bright 12s, shaded 60s     readings, as wet_parse_reading takes them: bare or in quotes. A time alone is one at the
 *   EV 14.3, 400 cd/m2         meter's own aperture and index, which are told once
 *   overcast, thin cloud       weather: a part between commas of weather words only, or the last words of a part
 *   ?                          a doubt; also at the end of a word
 *   all other words            the subject; what stands in quotes and is no reading, too
 * Labels take what follows up to a comma, or one text in quotes: time: camera: reading: bright: shaded: meter: weather:
 * subject: doubt: and "-" behind one takes its part away. */
#ifndef WETSIDE_NOTEBOOK_H
#define WETSIDE_NOTEBOOK_H

#include "wetside/errors.h"
#include "wetside/exposure.h"
#include "wetside/limits.h"

#include <stdbool.h>
#include <stdint.h>

/* X(name, label, member, bytes of the member) of the parts that are texts. */
#define WET_NOTE_TEXTS(X)                             \
	X(CAMERA, "camera", camera, WET_NAME_BYTES)       \
	X(READING, "reading", reading, WET_NAME_BYTES)    \
	X(BRIGHT, "bright", bright, WET_NAME_BYTES)       \
	X(SHADED, "shaded", shaded, WET_NAME_BYTES)       \
	X(METER, "meter", meter, WET_NAME_BYTES)          \
	X(WEATHER, "weather", weather, WET_LINE_BYTES)    \
	X(SUBJECT, "subject", subject, 2 * WET_LINE_BYTES) \
	X(DOUBT, "doubt", doubt, WET_LINE_BYTES)

enum wet_note_part {
#define WET_NOTE_ENUM(name, label, member, bytes) WET_NOTE_##name,
	WET_NOTE_TEXTS(WET_NOTE_ENUM)
#undef WET_NOTE_ENUM
		WET_NOTE_TIME, /* the only part that is no text */
	WET_NOTE_PART_N
};

struct wet_note {
	unsigned told;    /* bits 1 << enum wet_note_part: what a line said, taken away included */
	int64_t given_ms; /* 0: not told */
#define WET_NOTE_MEMBER(name, label, member, bytes) char member[bytes];
	WET_NOTE_TEXTS(WET_NOTE_MEMBER)
#undef WET_NOTE_MEMBER
};

#define WET_NOTE_TEXT_BYTES 1600 /* of a line */
#define WET_NOTE_GIVEN_MS_MAX (1000LL * 3600 * 1000)

/* What else is known when a line is read. */
struct wet_note_known {
	const char (*cameras)[WET_NAME_BYTES]; /* of the shelf */
	int camera_count;
	const char *meter; /* "f/128 index 10": of readings that are a time alone; NULL or empty: not known */
};

/* WET_ERR_AMBIGUOUS: two times or two cameras; WET_ERR_INVALID: a quote without its end, a control character, a reading that
 * is none; WET_ERR_TOO_LONG. Nothing told is WET_ERR_INVALID too. A doubt without words is the text "?". */
int wet_note_parse(const char *text, const struct wet_note_known *known, struct wet_note *ret_note, struct wet_fault *reterr);
/* With every label: read again it is the same note. buf of WET_NOTE_TEXT_BYTES is enough. */
char *wet_note_print(const struct wet_note *note, char *buf, unsigned buf_bytes);
/* The parts that `change` told take the place of those in `note`. */
void wet_note_change(struct wet_note *note, const struct wet_note *change);
/* The light it was exposed for, by its readings: two are placed as wet_expose does by itself. WET_ERR_NOT_FOUND: no reading;
 * WET_ERR_UNIT_MISSING: a time alone, and no meter's aperture and index. */
int wet_note_light(const struct wet_note *note, enum wet_sense sense, double *ret_ev100, struct wet_fault *reterr);

#endif
