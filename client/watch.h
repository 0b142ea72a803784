/* watch.h: what the files of the watch share: the lines (watch.c), the page (watch_page.c), the keys (watch_keys.c), and the one place
 * that knows whether the room is dark (light.c).
 *
 * While a real run of the same room is in dark or safelight nothing is written at all, and nothing of the terminal is touched:
 * a lit screen fogs paper. Keys still act; sound answers. After the emergency key the lights are on. */
#ifndef WET_CLIENT_WATCH_H
#define WET_CLIENT_WATCH_H

#include "client/client.h"
#include "client/keyboard.h"
#include "client/scene.h"

#include <signal.h>

#define DARK_RUNS 64 /* real runs with open paper at once; with more it stays dark */
#define AGAIN_MS 200 /* between two looks whether the daemon is back */
#define HEARD_LINES 256

struct heard_line {
	int64_t at_us, run_us;
	char word[24], text[320];
};

struct view {
	struct session *session;
	char run[64];
	int64_t id; /* names come again, numbers don't */
	int64_t number;
	bool is_dark, is_over, is_left;
	char outcome[32], room[64];
	char first_room[64]; /* where the screen stands: of the run that was watched first */
	char course[320]; /* the last one told */
	/* The runs that need the dark, in whatever room: one in ours keeps this screen dark too. */
	struct {
		int64_t id;
		char room[64];
	} dark[DARK_RUNS];
	int dark_count;
	bool is_dark_full;
	/* keys */
	struct keyboard keyboard;
	struct presses presses;
	bool is_reading; /* a reading is being stepped */
	char bath[64], temperature[24];
	int64_t heard; /* the number of the sound check as it was typed; -1: none */
	/* lines */
	int64_t seen;
	int64_t bath_us; /* run time when the first bath began; -1: not yet, times are since arming */
	int64_t stage;   /* the last one told; -1: none */
	bool is_first;
	struct heard_line lines[HEARD_LINES];
	int count;
	bool is_sparse;     /* a line at most every half minute that nobody asked for */
	bool has_news;      /* and one waits for it */
	int64_t unasked_us; /* when the last one came */
	/* page */
	bool is_page;
	bool is_owed;   /* an emergency that no daemon took yet */
	bool is_unsure; /* an act that darkens was sent, and nobody said what became of it: it counts as dark */
	int told_stage; /* whose times were asked for */
	int64_t told_sound; /* up to which word the sound device was asked about */
	struct scene scene;
	struct page *shown;
};

extern volatile sig_atomic_t watch_is_stopped;
int64_t boot_us(void);

/* -- light.c -- */
void set_dark(struct view *view, const json_t *run, bool is_dark);
void set_light(struct view *view);
/* Is_dark anew, of the runs that are known: the watched one has become another. */
void judge_dark(struct view *view);
/* Is it the watched run's room, or the one that the screen stands in? */
bool is_here(const struct view *view, const char *room);
/* Asks what there is, and for news of it. Not a word of a failure goes out with is_silent. */
int follow(struct view *view, bool is_silent);
/* Why nothing can be heard, of status.get. */
void take_sound(struct view *view, const json_t *status);
bool may_write(const struct view *view, int fd);

/* -- watch_keys.c -- */
/* One key. False: the watch is left. */
bool press_key(struct view *view, char key, bool is_held);
/* The bytes that have come. False: the watch is left. */
bool take_keys(struct view *view);
/* An act on the watched run; takes params. Blackens the page first where it would darken. */
int send_act(struct view *view, const char *method, json_t *params);
/* All news that came until now; false: the connection is gone. *ret_rc: an error of ours. */
bool take_news(struct view *view, int *ret_rc);

/* -- plain.c -- */
/* True: it was planned, and is no line of its own. */
bool plain_is_news(struct view *view, const struct heard_line *line);
/* All there is to know, each value with its label. */
void plain_state(const struct view *view, char *line, size_t bytes);
/* When the next line that nobody asked for may come; INT64_MAX: there is none. */
int64_t plain_next_us(const struct view *view);

/* -- watch.c -- */
/* Until the daemon (fd, -1: none) or a key has come, or ms are over. is_left is set where nobody can see or type any more: the
 * terminal was hung up, the reader of a pipe has gone. */
void wait_for_input(struct view *view, int fd, bool has_keys, int ms);
void take_run(struct view *view, const json_t *run);

/* -- watch_page.c -- */
/* begin: NULL, or what run.begin is sent with first; taken. */
int watch_on_page(struct view *view, json_t *begin);
/* Shows what may be seen now; blackens what may not. */
void page_paint(struct view *view);
/* Before an act after which nothing may be seen. */
void page_blacken(struct view *view);

#endif
