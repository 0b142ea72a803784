/* client.h: what the files of the client share. The client sends what was typed and formats what came back. */
#ifndef WET_CLIENT_H
#define WET_CLIENT_H

#include "client/connection.h"

#include <jansson.h>
#include <stdbool.h>

enum { DONE = 0, REFUSED = 1, USAGE = 2, NO_DAEMON = 3, UNKNOWN_OUTCOME = 4, INTERNAL = 5 };

#define CALL_MS 10000

struct session {
	char socket[512];
	struct wet_connection *connection;
	bool is_json, is_quiet, is_plain, no_input;
	int colours; /* enum screen_colours */
	char screen[64]; /* of a red view: what the person calls it; empty: none is wanted */
	bool has_red;    /* and it passed its fog test */
	enum { NOT_LOOKED, LIGHT, DARK } room; /* of the terminal: what may be written to it */
};

struct verb {
	const char *name, *usage, *help, *example;
	int (*run)(struct session *session, int argc, char **argv); /* argv[0] is the verb */
};
extern const struct verb verbs[];

/* A call; prints its fault. Returns an exit status. result may be NULL. */
int ask(struct session *session, const char *method, json_t *params, json_t **ret_result);
/* Is paper open in the room of the run of this name, or with "" in any? Asked only where there is a terminal to keep dark. */
int look_for_dark(struct session *session, const char *name, bool *ret_is_dark);
/* The same, of what status.get said. */
bool is_dark_for(const json_t *status, const char *name);
/* A name for this act: asking again with it is safe. */
void add_token(json_t *params);
/* Local day and time; empty for 0. */
void say_when(json_int_t wall_ms, char *buf, size_t bytes);
/* The same for what fails, or is told, before anybody looked: without a word. A daemon that can't be asked: light. */
bool must_be_dark(struct session *session);
/* Told on standard error; in the dark only where that is no terminal. Returns status. */
int fail(struct session *session, int status, const char *text);
/* An emergency that no daemon hears: its words all the same, on standard error. */
void say_emergency(void);
/* Standard output, cleaned of control bytes, a newline after it. In the dark nothing goes to a terminal. */
/* Who is at the keys: the login's name, or that of the user; "" where neither is known, and the daemon goes by the uid. */
const char *person_name(void);
void say(const char *text);
/* What meets, worst first, under a headline; nothing where it is none. */
void say_meets(const char *head, const json_t *meets);
void say_json(const json_t *json);
/* With --json the result as it is, with --quiet nothing: true, and nothing more is to be said. */
int show(struct session *s, json_t *result);
const char *text_of(const json_t *object, const char *key);
int status_of(int err);

/* Options of one verb: a table of long names that take a value (true) or none. Fills params with texts (or true). */
struct option_row {
	const char *name, *key; /* "--make" -> "make" */
	enum { TEXT, NUMBER, FLAG, LIST } kind;
};
/* Positional arguments go to `keys` in order (NULL-terminated list). 0, or USAGE after saying what is wrong. */
int read_args(struct session *session, int argc, char **argv, const struct option_row *rows,
			  const char *const *keys, json_t *params);

/* lines.c: like say, wrapped to the terminal's width between words; lines behind the first go in as far as its text does. */
void say_wrapped(const char *text);
/* The same of a page that was wrapped already: paragraphs and list items are put together first. */
void say_page(const char *text);
/* The note of safety.get; or what it rests on. */
void say_safety_note(const json_t *result, bool wants_sources);
/* conversation.c: is there somebody at a terminal who can be asked? */
bool can_converse(const struct session *session);
/* From the checklist of a run that is ready to its begin, and its watch. */
int converse(struct session *session, const char *run, const char *person);
/* The note in full, where this person has not acknowledged it, asked for where somebody can be; else a line. */
#define LEFT (-1) /* no exit status: the person does not go on */
int show_note(struct session *session, const char *recipe, const char *person, bool is_stale_air);

/* Before an act that makes the room dark: a screen that can be is cleared to black, and stays so for the watch that follows.
 * False: it can't be. Taken back where the act was refused. */
bool blacken(struct session *session);
void unblacken(void);
/* Is the watch a page on the whole screen? Else lines. */
bool page_is_possible(const struct session *session);
/* --red --screen NAME out of params: may this screen be red in the dark? DONE, or what is wrong was said. */
int take_red(struct session *session, json_t *params);
/* The test that a red view needs, as a recipe. */
#define FOG_TEST "test-screen-fog"
/* lesson.c: plays, names, and asks for each sound. */
int teach_sounds(struct session *session);

int verb_watch(struct session *session, int argc, char **argv);
/* Shows what sounds and what comes next until the run ends (or q). */
int watch_run(struct session *session, const char *run, int64_t id);
/* The same, after run.begin with these params, which are taken: what stands on the screen is blackened before. */
int watch_begin(struct session *session, json_t *begin);
/* Which run to watch: the one named, or the one that lives. Looked up without an act, as an act is heard. */
int find_watched(struct session *session, const char *wanted, char *ret_name, size_t bytes, int64_t *ret_id);

/* "Develop ends at 2:10 +/- 4 s. Cooling 0.4 C a minute; ..."; empty: nothing was read of a live bath. */
const char *course_of(const json_t *run, char *buf, size_t bytes);
int verb_recipe(struct session *s, int argc, char **argv);
int verb_safety(struct session *s, int argc, char **argv);
int verb_cut(struct session *s, int argc, char **argv);
int verb_dilute(struct session *s, int argc, char **argv);
int verb_formula(struct session *s, int argc, char **argv);
int verb_status(struct session *s, int argc, char **argv);
int verb_record(struct session *s, int argc, char **argv);
/* `record --export` and `--import`. */
bool wants_exchange(int argc, char **argv);
int exchange(struct session *s, int argc, char **argv);
int verb_blend(struct session *s, int argc, char **argv);
int verb_meter(struct session *s, int argc, char **argv);
int verb_camera(struct session *s, int argc, char **argv);
int verb_judge(struct session *s, int argc, char **argv);
int verb_note(struct session *s, int argc, char **argv);
int verb_print(struct session *s, int argc, char **argv);
int verb_plan(struct session *s, int argc, char **argv);
int verb_stock(struct session *s, int argc, char **argv);
int verb_wash(struct session *s, int argc, char **argv);
int verb_test(struct session *s, int argc, char **argv);
int verb_sound(struct session *s, int argc, char **argv);
/* Its --device and --devices: does it ask for one? Then do it. */
bool is_about_device(int argc, char **argv);
int sound_device(struct session *s, int argc, char **argv);
int verb_arm(struct session *s, int argc, char **argv);
/* After arming: is there sound for what was armed? */
void warn_of_sound(struct session *s);
int verb_rehearse(struct session *s, int argc, char **argv);
int verb_act(struct session *s, int argc, char **argv);

#endif
