/* paced_card.h: for tests, ALSA's "default" as a card that keeps time and records (pcm_rtfile.c), and where tones began
 * in what it recorded. */
#ifndef WET_TESTS_PACED_CARD_H
#define WET_TESTS_PACED_CARD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct paced_card {
	char folder[128]; /* made by paced_card_make, removed by paced_card_remove */
	char raw[160];    /* the recording: S16 mono */
	char gone[160];   /* while this exists, the card is unplugged */
};

/* The plug-in as the build makes it ($WET_BUILD_DIR/tests/libasound_module_pcm_rtfile.so), or $WET_RTFILE. */
const char *paced_card_plugin(void);
/* Writes the configuration and sets ALSA_CONFIG_PATH for this process. False: the plug-in is not there, or no folder. */
bool paced_card_make(struct paced_card *card, const char *plugin, long ppm, long step_frames);
/* The same, but opening it takes so long. */
bool paced_card_make_slow(struct paced_card *card, const char *plugin, long opening_ms);
/* A bench of cards: ALSA's converter, its null device and `config`, in which @ stands for the card's folder. Plug-ins
 * are known: "pcm.x { type rtfile file "@/x.raw" ... }", "ctl.x { type rtmixer file "@/mixer" }". What is in the folder is
 * removed with it. */
bool paced_card_bench(struct paced_card *card, const char *plugin, const char *config);
/* Writes a file of the folder as a whole; NULL removes it. */
void paced_card_put(const struct paced_card *card, const char *name, const char *text);
void paced_card_unplug(const struct paced_card *card, bool is_unplugged);
void paced_card_remove(const struct paced_card *card);

/* Onsets in the recording, after at least quiet_frames of silence, as CLOCK_BOOTTIME ns of their first sample. Gives
 * their number, at most max; -1 if there is no recording. */
int paced_card_onsets(const struct paced_card *card, size_t quiet_frames, int64_t *ret_boot_ns, int max);

#endif
