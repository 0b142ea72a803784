/* print.h: what the files of `wetside print` share: documents for wetside-sheet, made of what the daemon answered. */
#ifndef WET_CLIENT_PRINT_H
#define WET_CLIENT_PRINT_H

#include "client/client.h"

struct print {
	struct session *session;
	bool is_us; /* degrees Fahrenheit, inches */
	json_t *document, *blocks;
};

/* Adds a block; takes value. */
void print_block(struct print *p, const char *kind, json_t *value);
void print_text(struct print *p, const char *text);
void print_heading(struct print *p, const char *text);
/* Titles of columns as "left:Stage" or "right:Time", NULL at the end; returns the table, whose "rows" are to be filled. */
json_t *print_table(struct print *p, double size_pt, const char *const *titles);
void print_title(struct print *p, const char *title, const char *subtitle);

/* Each makes one document; an exit status. argv[0] is its name. */
int print_process(struct print *p, int argc, char **argv);
int print_times(struct print *p, int argc, char **argv);
int print_plan(struct print *p, int argc, char **argv);
int print_record(struct print *p, int argc, char **argv);
int print_card(struct print *p, int argc, char **argv);
int print_notes(struct print *p, int argc, char **argv);
int print_cut(struct print *p, int argc, char **argv);

/* verbs_cut.c: what `cut` would send for these words. */
int read_cut(struct session *s, int argc, char **argv, json_t *params);

#endif
