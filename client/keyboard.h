/* keyboard.h: bytes of a terminal as keys. Pure.
 *
 * Cursor and function keys come as several bytes, some of which would be keys of ours: such a sequence is one wrong key. The
 * emergency key counts wherever it comes. */
#ifndef WET_CLIENT_KEYBOARD_H
#define WET_CLIENT_KEYBOARD_H

#include <stdbool.h>
#include <stdint.h>

#define KEY_WRONG '\a'
#define KEY_EMERGENCY 'e'

struct keyboard {
	enum { KEYBOARD_PLAIN, KEYBOARD_ESCAPE, KEYBOARD_SEQUENCE } state;
	int more; /* bytes of a character that are still to come */
};

/* 0: none yet. Letters come as small ones, Enter as a space, KEY_WRONG for what no letter, digit or sign is. */
char keyboard_take(struct keyboard *keyboard, unsigned char byte);

/* A key kept down repeats by itself, 10 to 40 times a second after a first pause. */
struct presses {
	char key;
	int64_t at_us, sent_us;
	int repeats;
};
enum press { PRESS_NEW, PRESS_HELD, PRESS_REPEAT };
/* HELD once, at the third repeat; where, and emergency, are new presses again each second. */
enum press presses_take(struct presses *presses, char key, int64_t now_us);

#endif
