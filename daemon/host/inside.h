/* inside.h: what the files of the host share. */
#ifndef WET_HOST_INSIDE_H
#define WET_HOST_INSIDE_H

#include "host/host.h"
#include "host/worker.h"
#include "speaker/speaker.h"

#include <stdatomic.h>
#include <uv.h>

struct client {
	struct wet_host *host;
	uv_pipe_t pipe;
	struct wet_rpc *rpc;
	uint64_t id;
	uint32_t uid;
	bool is_reading, is_following, is_closing, ends_after_output, is_writing;
	int64_t sent_seq; /* changes up to here were told */
	uv_write_t write;
	char out[WET_TURN_BYTES]; /* on its way to the kernel */
	struct client *next;
};

struct wet_host {
	struct wet_host_options options;
	uv_loop_t loop;
	uv_pipe_t server;
	bool is_accept_owed; /* a connection that there was no memory for */
	uv_poll_t timer, step;
	uv_async_t wake;      /* the worker or the feeder has something */
	uv_prepare_t prepare; /* end of each turn */
	uv_idle_t again;      /* requests are left for the next turn */
	uv_signal_t sigterm, sigint;
	int timer_fd, step_fd, listen_fd, lock_fd;
	int64_t armed_ns; /* the timer's deadline */
	struct wet_darkroom *darkroom;
	struct wet_ledger *ledger;
	struct wet_worker *worker;
	struct wet_speaker *speaker;
	struct wet_alive *alive;
	struct voice *voice; /* NULL: none was asked for */
	struct switches *switches; /* NULL: none */
	struct probes *probes;     /* NULL: none */
	struct client *clients;
	size_t client_count;
	uint64_t next_client_id;
	atomic_bool sound_changed;
	enum wet_speaker_health told_health; /* the one in the journal */
	uv_work_t listing;    /* what devices there are */
	struct sound_listing *is_listing; /* NULL: nobody asks */
	int inhibit_fd;
	bool is_stopping;
	bool has_watchdog;
	int64_t watchdog_ns; /* the next sign of life to the service manager */
	int opened; /* handles of the loop that were opened */
};

void clients_accept(uv_stream_t *server, int status);
/* Between begin and end of a turn: requests, notifications, output, the sweep. True: work is left. */
bool clients_turn(struct wet_host *host);
void clients_close_all(struct wet_host *host);
int64_t clients_deadline(const struct wet_host *host);

/* sound.c: once a turn, what became of the device. */
void sound_settle(struct wet_host *host);
void fill_sound_ports(struct wet_host *host, struct wet_ports *ports);

void log_line(const struct wet_host *host, const char *line);
void fill_ports(struct wet_host *host, struct wet_ports *ports);
bool set_inhibitor(struct wet_host *host, bool is_wanted);
void notify_manager(const char *state);
/* The end of a turn: a sign of life while a run is live. Returns when the next is due, INT64_MAX: never. */
int64_t watchdog_serve(struct wet_host *host, int64_t now_ns);

#endif
