/* probe.h: a thermometer that the kernel reads: what its file says, and whether that is believed.
 *
 * PURE: no file, no clock. Temperatures are int32 millidegrees Celsius, times int64 ns on any common axis that rises.
 *
 * A probe is one of many things that may be wrong in a wash-house: it falls out of the bath, its wire breaks, it is read badly.
 * So a value is believed only if a bath can be so warm and can have come there since the value before; one that can't is
 * believed when it repeats itself, as a person is asked to repeat a reading that moves an end by much. What is not believed
 * changes nothing: the forecast of the run carries on. */
#ifndef WETSIDE_PROBE_H
#define WETSIDE_PROBE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WET_PROBE_FILE_BYTES 256 /* of its file; the two lines of a one-wire thermometer have 75 */

/* -- limits --------------------------------------------------------------------- */
#define WET_PROBE_BATH_MC_MIN 0     /* water freezes */
#define WET_PROBE_BATH_MC_MAX 60000 /* the warmest water that a formula asks for is under it */
#define WET_PROBE_ROOM_MC_MIN (-20000) /* common practice, no source: nobody works in a colder or hotter one */
#define WET_PROBE_ROOM_MC_MAX 50000
/* How fast a bath can change: Newton's law gives (T - room) / tau, and with 15 C between them and the quickest small tray, five
 * minutes, that is 3 C a minute. Beside that the steps of a coarse sensor and its noise. (From memory; no source.) */
#define WET_PROBE_RATE_MC_PER_MIN 3000
#define WET_PROBE_NOISE_MC 600
#define WET_PROBE_FIRST_READS 2 /* the first value is believed when it was read so often: it could be any */
#define WET_PROBE_JUMP_READS 3  /* and one that jumped: it was put into the bath, or the bath was changed */
#define WET_PROBE_BACK_READS 3  /* and so many good ones in a row are its coming back, or one that jumps would be told all the time */
#define WET_PROBE_FAIL_READS 3  /* so many failures in a row are told: one bad check sum is everyday on a long wire */
/* The same value to the last digit for so long, where a live sensor shows its noise; of whole degrees, longer. (Common
 * practice, no source.) */
#define WET_PROBE_STUCK_NS 1800000000000LL
#define WET_PROBE_STUCK_COARSE_NS 14400000000000LL
#define WET_PROBE_PAUSE_NS 1500000000000LL /* read more seldom than this, it is not known to have stood still: over twice 10 min */

/* X(NAME, text): what is wrong with it, for people. */
#define WET_PROBE_FAULTS(X)                                              \
	X(NONE, "well")                                                      \
	X(NEW, "not read yet")                                               \
	X(ABSENT, "its file is not there")                                   \
	X(NO_FILE, "what is there is no file")                               \
	X(UNREADABLE, "its file can't be read")                              \
	X(SILENT, "it does not answer")                                      \
	X(GARBAGE, "what its file holds is no temperature in millidegrees")  \
	X(CHECKSUM, "its check sum is wrong: the wire, mostly")              \
	X(RANGE, "what it shows is too cold or too hot to be true")          \
	X(JUMP, "it jumped, and is not believed until it holds")             \
	X(STUCK, "it has not moved by a digit for long: does it still work?")

enum wet_probe_fault {
#define WET_PROBE_FAULT_ENUM(name, text) WET_PROBE_##name,
	WET_PROBE_FAULTS(WET_PROBE_FAULT_ENUM)
#undef WET_PROBE_FAULT_ENUM
		WET_PROBE_FAULT_N
};
/* The text of a fault, never NULL; static storage. */
const char *wet_probe_fault_text(enum wet_probe_fault fault);

/* What is in a probe's file: a whole number of millidegrees on one line, as hwmon and the one-wire `temperature` have it
 * (Documentation/hwmon/sysfs-interface and w1/slaves/w1_therm of the Linux kernel), or the two lines of `w1_slave`, where the
 * first ends in YES or NO, the kernel's verdict on the check sum, and the second in "t=" and the millidegrees. Blanks and line
 * ends around it, CRLF too, are fine; anything else is GARBAGE. NONE: *ret_mc is set; else it is untouched. */
enum wet_probe_fault wet_probe_parse(const char *text, size_t bytes, int32_t *ret_mc);

/* -- believing it ------------------------------------------------------------------ */
struct wet_probe {
	bool is_room;
	enum wet_probe_fault fault; /* what is wrong now */
	bool is_telling;            /* it has been so often or is so sure that people are told */
	bool has_value;             /* the last one that was believed: */
	int32_t value_mc;
	int64_t value_ns;
	/* inside */
	int doubt_reads, fail_reads, good_reads;
	int32_t doubt_mc, same_mc;
	int64_t doubt_ns, same_since_ns, same_ns;
};

/* Nothing is known of it yet. */
void wet_probe_init(struct wet_probe *probe, bool is_room);
/* A value was read. True: it is believed, and is the probe's value now. */
bool wet_probe_take(struct wet_probe *probe, int32_t temperature_mc, int64_t now_ns);
/* It could not be read, or what was read is none. */
void wet_probe_fail(struct wet_probe *probe, enum wet_probe_fault fault);
/* Is something in doubt, so that it had better be read again soon? */
bool wet_probe_is_doubted(const struct wet_probe *probe);

#endif
