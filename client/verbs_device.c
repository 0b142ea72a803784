/* verbs_device.c: where the sound goes. */
#include "client/client.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const struct option_row rows[] = { { "device", "device", TEXT }, { "devices", "devices", FLAG }, { NULL, NULL, TEXT } };

bool is_about_device(int argc, char **argv)
{
	for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++)
		if (strncmp(argv[i], "--device", 8) == 0 && (argv[i][8] == '\0' || argv[i][8] == '=' || strcmp(argv[i] + 8, "s") == 0))
			return true;
	return false;
}

/* A file's path is meant from here, not from where the daemon is. */
static void make_absolute(json_t *params)
{
	char path[512];
	const char *device = text_of(params, "device");
	char *here = strncmp(device, "file:", 5) == 0 && device[5] && device[5] != '/' ? getcwd(NULL, 0) : NULL;
	if (!here)
		return;
	wet_text_format(path, sizeof path, "file:%s/%s", here, device + 5);
	free(here);
	(void)json_object_set_new(params, "device", json_string(path));
}

static void say_sound(const json_t *sound)
{
	char line[512];
	wet_text_format(line, sizeof line, "Sound: %s, %s.", text_of(sound, "health"), text_of(sound, "text"));
	say(line);
}

static int list_devices(struct session *s)
{
	json_t *result = NULL, *row;
	size_t i;
	char line[512];
	bool is_dark = false;
	int rc = look_for_dark(s, "", &is_dark);
	if (rc != DONE || is_dark)
		return rc != DONE ? rc : REFUSED;
	rc = ask(s, "sound.devices", NULL, &result);
	if (rc == DONE && !show(s, result)) {
		const json_t *sound = json_object_get(result, "sound");
		if (json_array_size(json_object_get(result, "devices")) == 0)
			say("ALSA names no device for playing on this machine.");
		json_array_foreach(json_object_get(result, "devices"), i, row)
		{
			bool is_now = strcmp(text_of(row, "device"), text_of(sound, "device")) == 0;
			wet_text_format(line, sizeof line, "%s%s%s%s", text_of(row, "device"), is_now ? "  (now)" : "",
							text_of(row, "text")[0] ? "  " : "", text_of(row, "text"));
			say(line);
		}
		wet_text_format(line, sizeof line, "The sound goes to %s. Another: wetside sound --device NAME", text_of(sound, "device"));
		say(line);
		say_sound(sound);
	}
	json_decref(result);
	return rc;
}

int sound_device(struct session *s, int argc, char **argv)
{
	json_t *params = json_object(), *result = NULL;
	int rc = read_args(s, argc, argv, rows, NULL, params);
	if (rc == DONE && json_is_true(json_object_get(params, "devices"))) {
		rc = json_object_get(params, "device") ? fail(s, USAGE, "--device or --devices, not both") : list_devices(s);
		json_decref(params);
		return rc;
	}
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	make_absolute(params);
	rc = ask(s, "sound.device", params, &result);
	/* It is done in the dark too, and heard; what there is to read waits for light. */
	if (rc == DONE && !must_be_dark(s) && !show(s, result)) {
		char line[320];
		const json_t *sound = json_object_get(result, "sound");
		wet_text_format(line, sizeof line, "The sound goes to %s now. %s", text_of(sound, "device"), text_of(result, "told"));
		say(line);
		say_sound(sound);
	}
	json_decref(result);
	return rc;
}
