/* Numbers, times and units as they are said. */
#include "base/spoken.h"

#include <string.h>

#include <criterion/criterion.h>

#define IS(text, want)                                                 \
	do {                                                               \
		char buf[256];                                                 \
		cr_assert_str_eq(wet_spoken(text, buf, sizeof buf), want, "%s", buf); \
	} while (0)

Test(spoken, times)
{
	IS("Developer ends at 2:10.", "Developer ends at two minutes ten.");
	IS("2 minutes 10 seconds in; pour out in 40 seconds.", "two minutes ten in; pour out in forty seconds.");
	IS("1 minute in", "one minute in");
	IS("1 hour 2 minutes", "one hour two minutes");
	IS("1:02:03", "one hour two minutes three");
	IS("0:01", "one second");
	IS("0:00", "zero seconds");
	IS("61 minutes", "sixty-one minutes");
}

Test(spoken, quantities)
{
	IS("19.4 C, read 3 minutes ago.", "nineteen point four degrees, read three minutes ago.");
	IS("at -3 C", "at minus three degrees");
	IS("68 F", "sixty-eight degrees Fahrenheit");
	IS("605 mL, 1.05 L", "six hundred and five millilitres, one point zero five litres");
	IS("1+9", "one plus nine");
	IS("5 Cameras", "five Cameras");
	IS("12345 g", "12345 grams");
	IS("1912", "one thousand nine hundred and twelve");
}

Test(spoken, names_and_what_a_voice_could_take_for_an_order)
{
	IS("tank-2", "tank two");
	IS("forty-five", "forty-five");
	IS("C2 bottle", "C2 bottle");
	IS("a [[h@l]] <b> \x1b{x}\n|", "a   h l    b    x   ");
	IS("Ströme, schön", "Ströme, schön");
	IS("", "");
}

Test(spoken, never_longer_than_its_buffer)
{
	char buf[8];
	cr_assert_str_eq(wet_spoken("777 777", buf, sizeof buf), "seven h");
}

Test(spoken, numbers_and_ordinals_are_read_back)
{
	char word[64];
	int back = -1;
	for (int n = 0; n <= 9999; n++) {
		wet_number_word(n, word, sizeof word);
		cr_assert(wet_number_from_words(word, strlen(word), &back) && back == n, "%s", word);
	}
	for (int n = 1; n < 70; n++) {
		wet_ordinal_word(n, word, sizeof word);
		cr_assert(wet_ordinal_from_word(word, strlen(word), &back) && back == n, "%s", word);
	}
	static const char *const none[] = { "", "band", "one band", "twenty one", "hundred", "one and two", "ten one", "and", "one-", " one" };
	for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
		cr_assert_not(wet_number_from_words(none[i], strlen(none[i]), &back), "%s", none[i]);
	cr_assert_not(wet_ordinal_from_word("one", 3, &back));
	cr_assert(wet_number_from_words("Twenty-one", 10, &back) && back == 21, "at the head of a sentence");
}
