/* Bytes as keys: sequences are one wrong key, the emergency key counts wherever it comes, a key kept down is held once. */
#include "client/keyboard.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

static const char *keys_of(const char *bytes)
{
	static char out[64];
	struct keyboard k = { 0 };
	size_t n = 0;
	for (const char *p = bytes; *p; p++) {
		char key = keyboard_take(&k, (unsigned char)*p);
		if (key)
			out[n++] = key == KEY_WRONG ? '!' : key;
	}
	out[n] = '\0';
	return out;
}

Test(keyboard, letters_signs_and_enter)
{
	cr_assert_str_eq(keys_of(" \r\n+-uWhT9?q"), "   +-uwht9?q");
	cr_assert_str_eq(keys_of("\x01\x7f"), "!!");
}

Test(keyboard, cursor_and_function_keys_are_one_wrong_key)
{
	static const char *const sequences[] = { "\033[A", "\033OP", "\033[3~", "\033[1;5C", "\033[[A", "\033[15;2~" };
	char both[32];
	for (size_t i = 0; i < sizeof sequences / sizeof sequences[0]; i++) {
		cr_assert_str_eq(keys_of(sequences[i]), "!", "sequence %zu", i);
		(void)snprintf(both, sizeof both, "%sw", sequences[i]);
		cr_assert_str_eq(keys_of(both), "!w", "a key after sequence %zu", i);
	}
	cr_assert_str_eq(keys_of("\033w"), "!w", "escape alone hides no key");
	cr_assert_str_eq(keys_of("\033O "), "! ");
}

Test(keyboard, a_character_of_several_bytes_is_one_wrong_key)
{
	cr_assert_str_eq(keys_of("\xC3\xA9w\xE6\x9A\x97h\xF0\x9F\x93\xB7u"), "!w!h!u");
	cr_assert_str_eq(keys_of("\xC3w"), "!w", "also one that is cut");
	cr_assert_str_eq(keys_of("\x9bw"), "!w");
}

Test(keyboard, nothing_hides_the_emergency)
{
	char bytes[4] = "";
	for (int a = 1; a < 256; a++)
		for (int b = 1; b < 256; b++) {
			bytes[0] = (char)a;
			bytes[1] = (char)b;
			bytes[2] = b % 2 ? 'e' : 'E';
			const char *keys = keys_of(bytes);
			cr_assert(keys[0] && keys[strlen(keys) - 1] == 'e', "%02x %02x", a, b);
		}
}

Test(keyboard, a_key_kept_down_is_a_press_then_held_once)
{
	struct presses p = { 0 };
	int64_t us = 5000000;
	int held = 0, presses = 0;
	cr_assert_eq(presses_take(&p, '+', us), PRESS_NEW);
	us += 500000; /* the pause before a key repeats */
	cr_assert_eq(presses_take(&p, '+', us), PRESS_NEW);
	for (int i = 0; i < 300; i++) {
		enum press press = presses_take(&p, '+', us += 33000);
		held += press == PRESS_HELD;
		presses += press == PRESS_NEW;
	}
	cr_assert_eq(held, 1);
	cr_assert_eq(presses, 0, "ten seconds add no minutes");
	cr_assert_eq(presses_take(&p, '+', us += 400000), PRESS_NEW, "let go, and pressed again");
	cr_assert_eq(presses_take(&p, 'h', us += 20000), PRESS_NEW, "another key is another press");
}

Test(keyboard, fast_fingers_are_presses)
{
	struct presses p = { 0 };
	for (int i = 0; i < 20; i++)
		cr_assert_eq(presses_take(&p, 'a', 1000000 + i * 140000), PRESS_NEW);
}

Test(keyboard, where_and_emergency_come_through_each_second)
{
	struct presses p = { 0 };
	int presses = 0;
	for (int i = 0; i < 100; i++) {
		enum press press = presses_take(&p, KEY_EMERGENCY, 1000000 + i * 33000);
		presses += press == PRESS_NEW;
	}
	cr_assert_geq(presses, 3);
	cr_assert_leq(presses, 5);
}
