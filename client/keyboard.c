#include "client/keyboard.h"

#define REPEAT_US 120000 /* closer together than fingers tap */
#define AGAIN_US 1000000
#define HELD_REPEATS 3

static char plain(struct keyboard *k, unsigned char byte)
{
	if (byte == 0x1b) {
		k->state = KEYBOARD_ESCAPE;
		return KEY_WRONG; /* answered now: nothing may follow */
	}
	if (byte >= 0xc2 && byte <= 0xf4)
		k->more = byte >= 0xf0 ? 3 : byte >= 0xe0 ? 2 : 1;
	if (byte == '\r' || byte == '\n')
		return ' ';
	if (byte >= 'A' && byte <= 'Z')
		return (char)(byte - 'A' + 'a');
	return byte >= ' ' && byte < 0x7f ? (char)byte : KEY_WRONG;
}

char keyboard_take(struct keyboard *k, unsigned char byte)
{
	if (k->more > 0 && byte >= 0x80 && byte < 0xc0) {
		k->more--;
		return 0;
	}
	k->more = 0;
	if (byte == KEY_EMERGENCY || byte == 'E') {
		k->state = KEYBOARD_PLAIN;
		return KEY_EMERGENCY;
	}
	if (k->state == KEYBOARD_ESCAPE && (byte == '[' || byte == 'O')) {
		k->state = KEYBOARD_SEQUENCE;
		return 0;
	}
	if (k->state == KEYBOARD_SEQUENCE && byte > ' ' && byte < 0x7f) {
		if (byte >= '@' && byte != '[') /* its last; the Linux console doubles the bracket */
			k->state = KEYBOARD_PLAIN;
		return 0;
	}
	k->state = KEYBOARD_PLAIN;
	return plain(k, byte);
}

enum press presses_take(struct presses *p, char key, int64_t now_us)
{
	bool is_repeat = key == p->key && now_us - p->at_us < REPEAT_US;
	p->key = key;
	p->at_us = now_us;
	p->repeats = is_repeat ? p->repeats + 1 : 0;
	if (is_repeat && p->repeats == HELD_REPEATS)
		return PRESS_HELD;
	if (is_repeat && !((key == 'w' || key == KEY_EMERGENCY) && now_us - p->sent_us >= AGAIN_US))
		return PRESS_REPEAT;
	p->sent_us = now_us;
	return PRESS_NEW;
}
