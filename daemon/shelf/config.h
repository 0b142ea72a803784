/* config.h: the configuration file: what the daemon's options can say, and its probes and foot switches.
 *
 *   { "sound": { "where": "alsa:default", "level": 800 },
 *     "voice": { "name": "en", "rate": 165, "level": 1000 },
 *     "probes": [ { "name": "jacket", "file": "/sys/class/hwmon/hwmon1/temp1_input", "bath": "developer" } ],
 *     "foot_switches": [ { "name": "left", "device": "/dev/input/by-id/usb-pedal-event-kbd", "run": "tank" } ] }
 *
 * daemon/ship/config.schema.json describes it (JSON Schema 2020-12), and a test holds the two to one verdict. Each part is
 * read for itself: what is wrong is left out and told with file, JSON pointer, what was found and what is allowed, and the
 * rest counts. No file stops the daemon, not even one that is no JSON: the timer of a live run comes back with what it has.
 * So neither socket nor ledger can be named here: a slip of the pen must not hide the ledger that a live run is in.
 * Probes and foot switches, which the host reads, are plain structs; shelf alone knows JSON. */
#ifndef WET_SHELF_CONFIG_H
#define WET_SHELF_CONFIG_H

#include "wetside/errors.h"
#include "wetside/limits.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WET_CONFIG_BYTES (64 << 10) /* of a file; a full one has under 8 KiB */
#define WET_CONFIG_PATH_BYTES 256
#define WET_CONFIG_FAULTS 16 /* kept to be told; of more, their count */
#define WET_CONFIG_FOLDERS 6
#define WET_PROBES 8        /* a bath each of the longest shipped recipe, and the room */
#define WET_FOOT_SWITCHES 8 /* one a tank */
#define WET_PROBE_EVERY_NS 10000000000LL /* how often one is read where nothing is said */

struct wet_probe_setup {
	char name[WET_NAME_BYTES];
	char file[WET_CONFIG_PATH_BYTES]; /* holds millidegrees Celsius */
	/* One of the two: the key or name of a recipe's bath, or the name of a room, as run.arm has it. */
	char bath[WET_NAME_BYTES], room[WET_NAME_BYTES];
	char run[WET_NAME_BYTES]; /* with a bath: of this run only; empty: of every live run that has it */
	int64_t every_ns;         /* 1 s to 10 min */
};

struct wet_switch_setup {
	char name[WET_NAME_BYTES];
	char device[WET_CONFIG_PATH_BYTES]; /* an input device (evdev), or a pipe of the same events */
	char run[WET_NAME_BYTES];           /* empty: the one run */
	int key;                            /* its code in linux/input-event-codes.h; -1: every key of the device */
};

struct wet_config {
	char path[512]; /* of the file; empty: there is none */
	/* Empty or -1: not said. */
	char sound_where[WET_CONFIG_PATH_BYTES];
	int sound_level;
	char voice[WET_NAME_BYTES], voice_program[WET_CONFIG_PATH_BYTES], language[WET_CONFIG_PATH_BYTES];
	int voice_rate, voice_level;
	int recipe_folder_count, safety_folder_count;
	char recipe_folders[WET_CONFIG_FOLDERS][WET_CONFIG_PATH_BYTES];
	char safety_folders[WET_CONFIG_FOLDERS][WET_CONFIG_PATH_BYTES];
	int probe_count, switch_count;
	struct wet_probe_setup probes[WET_PROBES];
	struct wet_switch_setup switches[WET_FOOT_SWITCHES];
	int fault_count; /* all of them */
	struct wet_fault faults[WET_CONFIG_FAULTS];
};

/* Never fails: what could not be read is in the faults, and the rest as if nothing had been said. A file that is absent is
 * a fault only if it is_wanted, that is, named on the command line. */
void wet_config_read(const char *path, bool is_wanted, struct wet_config *ret_config);
void wet_config_decode(const char *json, size_t json_bytes, const char *path, struct wet_config *ret_config);
/* One more: of a value that was well written and could not be used. `member` as a JSON pointer, "/sound/where". */
void wet_config_add_fault(struct wet_config *config, const char *member, const struct wet_fault *fault);

/* Nothing that a program could take for an option or a path of somewhere else. */
bool wet_config_is_voice(const char *name);

#endif
