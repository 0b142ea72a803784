/* fuzz_config.c: any bytes as the configuration file. It is always read to its end: what is told has a place and says what
 * would be right, and what is taken is within its limits. */
#include "shelf/config.h"

#include "base/text.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

static void must(int is_so)
{
	if (!is_so)
		abort();
}

static void must_be_text(const char *text, size_t bytes)
{
	char clean[512];
	must(memchr(text, '\0', bytes) != NULL);
	must(strcmp(wet_text_clean(clean, sizeof clean, text), text) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
	static struct wet_config c;
	wet_config_decode((const char *)bytes, n, "config.json", &c);
	for (int i = 0; i < c.fault_count && i < WET_CONFIG_FAULTS; i++)
		must(c.faults[i].err != WET_OK && c.faults[i].want[0] != '\0' && strstr(c.faults[i].where, "config.json") != NULL);
	must(c.sound_level >= -1 && c.sound_level <= 1000 && c.voice_level >= -1 && c.voice_level <= 1000);
	must(c.voice_rate == -1 || (c.voice_rate >= 80 && c.voice_rate <= 400));
	must(c.voice[0] == '\0' || wet_config_is_voice(c.voice));
	must_be_text(c.sound_where, sizeof c.sound_where);
	must_be_text(c.voice_program, sizeof c.voice_program);
	must(c.recipe_folder_count <= WET_CONFIG_FOLDERS && c.safety_folder_count <= WET_CONFIG_FOLDERS);
	for (int i = 0; i < c.recipe_folder_count; i++)
		must(c.recipe_folders[i][0] == '/');
	must(c.probe_count <= WET_PROBES && c.switch_count <= WET_FOOT_SWITCHES);
	for (int i = 0; i < c.probe_count; i++) {
		const struct wet_probe_setup *p = &c.probes[i];
		must(p->name[0] != '\0' && p->file[0] == '/' && (p->bath[0] == '\0') != (p->room[0] == '\0'));
		must(p->every_ns >= 1000000000LL && p->every_ns <= 600000000000LL);
		must_be_text(p->name, sizeof p->name);
	}
	for (int i = 0; i < c.switch_count; i++) {
		must(c.switches[i].name[0] != '\0' && c.switches[i].device[0] == '/');
		must(c.switches[i].key >= -1 && c.switches[i].key <= 0x2ff);
	}
	return 0;
}
