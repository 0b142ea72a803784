#include "paced_card.h"

#include <dirent.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

const char *paced_card_plugin(void)
{
	static char path[512];
	const char *given = getenv("WET_RTFILE"), *build = getenv("WET_BUILD_DIR");

	if (given) return given;
#ifdef WET_BUILD_DIR
	if (!build) build = WET_BUILD_DIR;
#endif
	snprintf(path, sizeof path, "%s/tests/libasound_module_pcm_rtfile.so", build ? build : ".");
	return path;
}

static bool make_card(struct paced_card *card, const char *plugin, long ppm, long step_frames, long opening_ms)
{
	char config[192];
	FILE *file;

	if (access(plugin, R_OK) != 0) return false;
	snprintf(card->folder, sizeof card->folder, "/tmp/wet-card-XXXXXX");
	if (!mkdtemp(card->folder)) return false;
	snprintf(card->raw, sizeof card->raw, "%s/card.raw", card->folder);
	snprintf(card->gone, sizeof card->gone, "%s/gone", card->folder);
	snprintf(config, sizeof config, "%s/asound.conf", card->folder);
	if (!(file = fopen(config, "w"))) return false;
	fprintf(file,
	        "pcm_type.rtfile { lib \"%s\" }\n"
	        "pcm.card { type rtfile file \"%s\" gone \"%s\" ppm %ld step %ld opening %ld }\n"
	        "pcm.!default { type plug slave.pcm card }\n",
	        plugin, card->raw, card->gone, ppm, step_frames, opening_ms);
	if (fclose(file) != 0) return false;
	return setenv("ALSA_CONFIG_PATH", config, 1) == 0;
}

bool paced_card_make(struct paced_card *card, const char *plugin, long ppm, long step_frames)
{
	return make_card(card, plugin, ppm, step_frames, 0);
}

bool paced_card_make_slow(struct paced_card *card, const char *plugin, long opening_ms)
{
	return make_card(card, plugin, 0, 1, opening_ms);
}

void paced_card_unplug(const struct paced_card *card, bool is_unplugged)
{
	FILE *file;

	if (!is_unplugged)
		unlink(card->gone);
	else if ((file = fopen(card->gone, "w")))
		fclose(file);
}

bool paced_card_bench(struct paced_card *card, const char *plugin, const char *config)
{
	char path[192];
	const char *name = strrchr(plugin, '/');
	FILE *file;

	if (access(plugin, R_OK) != 0 || !name) return false;
	snprintf(card->folder, sizeof card->folder, "/tmp/wet-card-XXXXXX");
	if (!mkdtemp(card->folder)) return false;
	snprintf(card->raw, sizeof card->raw, "%s/card.raw", card->folder);
	snprintf(card->gone, sizeof card->gone, "%s/gone", card->folder);
	snprintf(path, sizeof path, "%s/asound.conf", card->folder);
	if (!(file = fopen(path, "w"))) return false;
	fprintf(file,
	        "pcm.plug { @args [ SLAVE ] @args.SLAVE { type string } type plug slave.pcm $SLAVE }\n"
	        "pcm.null { type null }\n"
	        "pcm_type.rtfile { lib \"%s\" }\n"
	        "ctl_type.rtmixer { lib \"%.*s/libasound_module_ctl_rtmixer.so\" }\n",
	        plugin, (int)(name - plugin), plugin);
	for (; *config; config++) {
		if (*config == '@') fputs(card->folder, file);
		else fputc(*config, file);
	}
	fputc('\n', file);
	return fclose(file) == 0 && setenv("ALSA_CONFIG_PATH", path, 1) == 0;
}

void paced_card_put(const struct paced_card *card, const char *name, const char *text)
{
	char path[192], beside[200];
	FILE *file;

	snprintf(path, sizeof path, "%s/%s", card->folder, name);
	snprintf(beside, sizeof beside, "%s.new", path);
	if (!text) {
		unlink(path);
		return;
	}
	if (!(file = fopen(beside, "w"))) return;
	fputs(text, file);
	if (fclose(file) == 0) rename(beside, path);
}

void paced_card_remove(const struct paced_card *card)
{
	DIR *folder = opendir(card->folder);
	struct dirent *entry;

	while (folder && (entry = readdir(folder))) (void)unlinkat(dirfd(folder), entry->d_name, 0);
	if (folder) closedir(folder);
	rmdir(card->folder);
}

/* Boot time minus monotonic: the narrowest of a few readings. */
static int64_t boot_offset_ns(void)
{
	int64_t best_width = INT64_MAX, best = 0;

	for (int i = 0; i < 9; i++) {
		struct timespec a, b, c;
		int64_t before, after;

		clock_gettime(CLOCK_MONOTONIC, &a);
		clock_gettime(CLOCK_BOOTTIME, &b);
		clock_gettime(CLOCK_MONOTONIC, &c);
		before = a.tv_sec * INT64_C(1000000000) + a.tv_nsec;
		after = c.tv_sec * INT64_C(1000000000) + c.tv_nsec;
		if (after - before >= best_width) continue;
		best_width = after - before;
		best = b.tv_sec * INT64_C(1000000000) + b.tv_nsec - before - best_width / 2;
	}
	return best;
}

int paced_card_onsets(const struct paced_card *card, size_t quiet_frames, int64_t *ret_boot_ns, int max)
{
	char path[192];
	int16_t block[4096];
	int64_t origin_ns, frame = 0, offset_ns = boot_offset_ns();
	size_t quiet = quiet_frames, got;
	double rate;
	int found = 0;
	FILE *file;

	snprintf(path, sizeof path, "%s.clock", card->raw);
	if (!(file = fopen(path, "r"))) return -1;
	if (fscanf(file, "%" SCNd64 " %lf", &origin_ns, &rate) != 2) rate = 0;
	fclose(file);
	if (rate <= 0 || !(file = fopen(card->raw, "r"))) return -1;
	while ((got = fread(block, sizeof block[0], 4096, file)) > 0) {
		for (size_t i = 0; i < got; i++, frame++) {
			if (block[i] == 0) {
				quiet++;
				continue;
			}
			if (quiet >= quiet_frames && found < max)
				ret_boot_ns[found++] = origin_ns + offset_ns + llround((double)frame * 1e9 / rate);
			quiet = 0;
		}
	}
	fclose(file);
	return found;
}
