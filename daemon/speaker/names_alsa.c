/* names_alsa.c: what ALSA names for playing. */
#include "speaker/speaker.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

#include <alsa/asoundlib.h>

/* Several lines become one. */
static void join_lines(char *dst, size_t dst_bytes, const char *text)
{
	dst[0] = '\0';
	while (*text) {
		size_t n = strcspn(text, "\n");

		if (n > 0) wet_text_append(dst, dst_bytes, "%s%.*s", dst[0] ? "; " : "", (int)n, text);
		text += n + (text[n] == '\n');
	}
}

/* What plays nothing, and what needs a parameter that a list can't give. */
static bool is_of_use(const char *name, const char *direction)
{
	static const char *const idle[] = { "null", "file", "tee" };

	if (direction && strcmp(direction, "Output") != 0) return false;
	for (size_t i = 0; i < sizeof idle / sizeof idle[0]; i++)
		if (strcmp(name, idle[i]) == 0) return false;
	return true;
}

int wet_speaker_devices(struct wet_sound_device *ret_list, int max)
{
	void **hints = NULL;
	int count = 0;

	if (snd_device_name_hint(-1, "pcm", &hints) < 0) return 0;
	for (void **hint = hints; *hint && count < max; hint++) {
		struct wet_sound_device *device = &ret_list[count];
		char *name = snd_device_name_get_hint(*hint, "NAME"), *text = snd_device_name_get_hint(*hint, "DESC");
		char *direction = snd_device_name_get_hint(*hint, "IOID");
		bool is_default = name && strcmp(name, "default") == 0;

		if (name && is_of_use(name, direction) && strlen(name) + sizeof "alsa:" <= sizeof device->name) {
			wet_text_format(device->name, sizeof device->name, "%s%s", is_default ? "" : "alsa:", name);
			join_lines(device->text, sizeof device->text, text ? text : "");
			count++;
		}
		free(name);
		free(text);
		free(direction);
	}
	(void)snd_device_name_free_hint(hints);
	return count;
}
