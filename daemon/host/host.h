/* host.h: the loop: socket, clients, deadline, worker, speaker. The only code that includes uv.h. */
#ifndef WET_HOST_H
#define WET_HOST_H

#include "base/phrases.h"
#include "darkroom/darkroom.h"
#include "shelf/config.h"
#include "wire/rpc.h"

struct wet_host;

struct wet_host_options {
	const char *socket_path; /* borrowed for the host's life */
	const char *ledger_path;
	const char *alive_path;
	const char *sound;       /* see speaker.h */
	struct wet_shelf *shelf; /* borrowed for the host's life */
	uint32_t sound_level_milli;
	/* Speech; the texts are borrowed for the host's life. */
	const char *voice; /* NULL or empty: none */
	const char *voice_program; /* a name looked for in PATH, or a path */
	const char *voice_folder;  /* where spoken sentences are kept; empty: nowhere */
	int voice_rate_wpm;
	const struct wet_phrases *phrases; /* what is said for each sentence; NULL: what is printed, in English */
	bool is_english; /* so numbers and times are said our way; another voice says its own */
	uint32_t voice_level_milli; /* of the tones' level */
	/* Foot switches and probes, borrowed for the host's life. */
	const struct wet_switch_setup *switches;
	const struct wet_probe_setup *probes;
	int switch_count, probe_count;
	void (*log)(const char *line); /* one line for the journal */
	/* What to do with a request, and how a run is shown; wired by main, so that nothing here points up. */
	void (*serve)(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, uint64_t client_id, uint32_t uid,
				  const char *method, json_t *params);
	json_t *(*snapshot)(struct wet_darkroom *darkroom, struct wet_live *live);
	void *ctx;
};

/* Opens ledger, socket and speaker, and brings live runs back; nothing is left behind on failure. */
int wet_host_open(struct wet_host **ret_host, const struct wet_host_options *options,
				  struct wet_fault *reterr);
/* Serves until SIGTERM or SIGINT. */
int wet_host_run(struct wet_host *host);
void wet_host_close(struct wet_host *host); /* NULL is fine */

struct wet_darkroom *wet_host_darkroom(struct wet_host *host);
struct wet_rpc *wet_host_find_client(void *host, uint64_t client_id);
void wet_host_follow(void *host, uint64_t client_id);

#endif
