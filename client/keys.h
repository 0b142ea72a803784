/* keys.h: single keys and typed lines of a conversation. */
#ifndef WET_CLIENT_KEYS_H
#define WET_CLIENT_KEYS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define KEY_ALARM 'e' /* the emergency */
#define KEY_END (-1) /* a signal, or the terminal has gone */

/* False: there is no terminal to ask at. */
bool keys_begin(void);
/* Gives the terminal back; done at exit, too. */
void keys_end(void);
/* The next key, without echo; return is '\n', letters come as small ones. What was typed before the question does not count. */
int keys_next(void);
/* A line as it was typed and seen. The emergency key ends it at once. */
enum keys_line { LINE_END, LINE_TYPED, LINE_ALARM };
enum keys_line keys_line(char *buf, size_t bytes);

#endif
