/* English sentences said in another language, and the file that says how. */
#include "base/phrases.h"
#include "shelf/phrasebook.h"
#include "shelf_files.h"

#include <stdlib.h>
#include <string.h>

#include <criterion/criterion.h>

static const struct wet_phrase list[] = {
	{ "{1} next, {2}.", "Danach {1}: {2}." },
	{ "{1} next.", "Danach {1}." },
	{ "Stop bath", "Stoppbad" },
	{ "{1} in; pour out in {2}.", "Seit {1}; in {2} abgießen." },
	{ "{1} minutes {2} seconds", "{1} Minuten {2}" },
	{ "{1} seconds", "{1} Sekunden" },
	{ "{1} C, read {2} ago.", "Vor {2} gemessen: {1} Grad." },
	{ "Rest.", "Ruhe." },
};
static const struct wet_phrases german = { .list = list, .count = sizeof list / sizeof list[0] };

static void is(const char *text, const char *want, bool want_known)
{
	char buf[256];
	bool is_known;
	cr_assert_str_eq(wet_phrases_say(&german, text, buf, sizeof buf, &is_known), want, "%s", buf);
	cr_assert_eq(is_known, want_known, "%s", text);
}

Test(phrases, sentences_with_holes_and_what_is_in_them)
{
	is("Rest.", "Ruhe.", true);
	is("Stop bath next, bottle two, two bands.", "Danach Stoppbad: bottle two, two bands.", true);
	is("Rinse next.", "Danach Rinse.", true);
	is("2 minutes 10 seconds in; pour out in 40 seconds.", "Seit 2 Minuten 10; in 40 Sekunden abgießen.", true);
}

static void spoken(const struct wet_phrases *phrases, const char *text, const char *want, const char *want_left)
{
	char buf[256], left[64];
	wet_phrases_say_all(phrases, text, buf, sizeof buf, left, sizeof left);
	cr_assert_str_eq(buf, want, "%s: %s", text, buf);
	cr_assert_str_eq(left, want_left, "%s: %s", text, left);
}

Test(phrases, a_language_says_numbers_its_own_way)
{
	static const struct wet_phrase own[] = { { "Camera {1}, slot {2}.", "Kamera {1}, Fach {2}." },
											 { "bottle {1}, one band", "Flasche {1}, ein Ring" },
											 { "{1} of {2}.", "{1} von {2}." },
											 { "{1} minutes {2} seconds", "{1} Minuten {2}" },
											 { "1 minute {1} seconds", "eine Minute {1}" },
											 { "{1} seconds", "{1} Sekunden" },
											 { "1 hour {1} minutes {2} seconds", "eine Stunde {1} Minuten {2}" },
											 { "{1} C", "{1} Grad" },
											 { "Ends at {1}.", "Endet bei {1}." },
											 { "Into the {1}.", "Hinein: {1}." },
											 { "Stop bath", "Stoppbad" } };
	static const struct wet_number_name numbers[] = { { 1, "eins" }, { 2, "zwei" } }, ordinals[] = { { 2, "zweite" } };
	const struct wet_phrases own_numbers = { .list = own, .count = sizeof own / sizeof own[0], .says_numbers = true,
										.numbers = numbers, .number_count = 2, .ordinals = ordinals, .ordinal_count = 1,
										.decimal = "," };
	spoken(&own_numbers, "Camera one, slot two.", "Kamera eins, Fach zwei.", "");
	spoken(&own_numbers, "Camera twenty-one, slot one hundred and seven.", "Kamera 21, Fach 107.", "");
	spoken(&own_numbers, "second of 2.", "zweite von zwei.", "");
	spoken(&own_numbers, "thirty-first of forty.", "31. von 40.", "");
	spoken(&own_numbers, "Ends at 2:10.", "Endet bei zwei Minuten 10.", "");
	spoken(&own_numbers, "Ends at 1:10.", "Endet bei eine Minute 10.", "");
	spoken(&own_numbers, "Ends at 0:45.", "Endet bei 45 Sekunden.", "");
	spoken(&own_numbers, "Ends at 1:02:10.", "Endet bei eine Stunde zwei Minuten 10.", "");
	spoken(&own_numbers, "Ends at -5.5 C.", "Endet bei -5,5 Grad.", "");
	spoken(&own_numbers, "Ends at 19.4 C.", "Endet bei 19,4 Grad.", "");
	spoken(&own_numbers, "Ends at 123456.", "Endet bei 123456.", "");
	spoken(&own_numbers, "Ends at 2:1.", "Endet bei 2:1.", ""); /* no time: as it stands */
	spoken(&own_numbers, "Into the stop bath.", "Hinein: Stoppbad.", "");
	spoken(&own_numbers, "Stop bath.", "Stoppbad.", "");
	spoken(&own_numbers, "2.", "zwei.", "");
	spoken(&own_numbers, "Into the tide pool.", "Hinein: tide pool.", "tide pool");
	spoken(&own_numbers, "Mind the tide. Stop bath.", "Mind the tide. Stoppbad.", "Mind the tide.");
	struct wet_phrases silent = own_numbers;
	silent.says_numbers = false;
	spoken(&silent, "Camera one, slot two.", "Kamera one, Fach two.", "one");
}

Test(phrases, several_sentences_one_by_one_and_what_is_not_known_stays)
{
	is("20 seconds in; pour out in 40 seconds. Stop bath next, bottle two. 19.4 C, read 40 seconds ago.",
	   "Seit 20 Sekunden; in 40 Sekunden abgießen. Danach Stoppbad: bottle two. Vor 40 Sekunden gemessen: 19.4 Grad.", true);
	is("Camera one, slot one.", "Camera one, slot one.", false);
	is("Camera one. Rest.", "Camera one. Ruhe.", false);
	is("", "", true);
}

Test(phrases, the_pattern_with_the_most_letters_counts_whatever_the_order)
{
	static const struct wet_phrase two[] = { { "{1}.", "short {1}" }, { "{1} at {2}.", "long {2} {1}" }, { "{1}", "any" } };
	struct wet_phrases both = { .list = two, .count = 3 };
	char buf[64];
	cr_assert_str_eq(wet_phrases_say(&both, "x at y.", buf, sizeof buf, NULL), "long any any");
	cr_assert_str_eq(wet_phrases_say(&both, "x", buf, 3, NULL), "an", "cut to its buffer");
}

Test(phrases, holes_that_are_none)
{
	static const struct {
		struct wet_phrase phrase;
		bool is_sound;
	} rows[] = { { { "a {1} b", "b {1}" }, true },   { { "a {1} b", "b" }, true },        { { "a {1} b", "{1} {1}" }, true },
				 { { "a", "b {1}" }, false },        { { "{1}{2}", "x" }, false },        { { "{1} {1}", "x" }, false },
				 { { "a {0}", "x" }, false },        { { "a {piece}", "x" }, false },     { { "a", "b }" }, false },
				 { { "", "x" }, false } };
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		cr_assert_eq(wet_phrase_is_sound(&rows[i].phrase), rows[i].is_sound, "%s", rows[i].phrase.say);
}

static int decode(const char *json, struct wet_fault *fault)
{
	struct wet_phrasebook *book = NULL;
	int rc = wet_phrasebook_decode(json, strlen(json), &book, fault);
	cr_assert_eq(rc == 0, book != NULL);
	wet_phrasebook_free(book);
	return rc;
}

Test(phrasebook, a_file_is_read_and_mistakes_are_named)
{
	static const struct {
		const char *json, *where;
	} bad[] = { { "{", "" },
				{ "[]", "" },
				{ "{\"language\":\"de\",\"phrases\":{}}", "voice" },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"phrases\":[]}", "/phrases" },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"phrases\":{\"Rest.\":7}}", "/phrases/Rest." },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"phrases\":{\"Rest.\":\"{1}\"}}", "/phrases/Rest." },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"phrases\":{\"Rest.\":\"\\u0007\"}}", "/phrases/Rest." },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"phrases\":{\"Rest.\":\"a\",\"Rest.\":\"b\"}}", "" },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"numbers\":{\"one\":\"eins\"},\"phrases\":{}}", "/numbers/one" },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"numbers\":{\"01\":\"eins\"},\"phrases\":{}}", "/numbers/01" },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"ordinals\":{\"1\":1},\"phrases\":{}}", "/ordinals/1" },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"decimal\":7,\"phrases\":{}}", "/decimal" },
				{ "{\"language\":\"de\",\"voice\":\"de\",\"phrases\":{},\"vioce\":\"x\"}", "vioce" } };
	struct wet_fault fault = { 0 };
	cr_assert_eq(decode("{\"language\":\"de\",\"voice\":\"de\",\"phrases\":{\"Rest.\":\"Ruhe.\"}}", &fault), WET_OK);
	for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
		memset(&fault, 0, sizeof fault);
		cr_assert_neq(decode(bad[i].json, &fault), WET_OK, "%s", bad[i].json);
		cr_assert_not_null(strstr(fault.where, bad[i].where), "%s: %s", bad[i].json, fault.where);
	}
	cr_assert_eq(wet_phrasebook_read("/nonexistent/de.json", &(struct wet_phrasebook *){ NULL }, &fault), WET_ERR_NOT_FOUND);
}

Test(phrasebook, the_english_file_says_what_is_printed)
{
	struct wet_phrasebook *book = NULL;
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_phrasebook_read(WET_SOURCE_DIR "/daemon/ship/speech/en.json", &book, &fault), WET_OK, "%s %s", fault.where,
				 fault.want);
	cr_assert_gt(book->phrases.count, 100);
	for (size_t i = 0; i < book->phrases.count; i++)
		cr_assert_str_eq(book->list[i].say, book->list[i].as);
	wet_phrasebook_free(book);
}

/* Of each English pattern, the German file has one, with the same holes but for those it gives up. */
Test(phrasebook, the_german_file_has_every_pattern)
{
	struct wet_phrasebook *english = NULL, *other = NULL;
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_phrasebook_read(WET_SOURCE_DIR "/daemon/ship/speech/en.json", &english, &fault), WET_OK);
	cr_assert_eq(wet_phrasebook_read(WET_SOURCE_DIR "/daemon/ship/speech/de.json", &other, &fault), WET_OK, "%s %s", fault.where,
				 fault.want);
	for (size_t i = 0; i < english->phrases.count; i++) {
		bool is_there = false;
		for (size_t j = 0; j < other->phrases.count && !is_there; j++)
			is_there = strcmp(other->list[j].say, english->list[i].say) == 0;
		cr_expect(is_there, "%s", english->list[i].say);
	}
	for (size_t i = 0; i < other->phrases.count; i++)
		for (int hole = 1; hole <= 9; hole++) {
			char mark[4] = { '{', (char)('0' + hole), '}', 0 };
			cr_expect_eq(strstr(other->list[i].say, mark) == NULL, strstr(other->list[i].as, mark) == NULL, "%s",
						 other->list[i].say);
		}
	wet_phrasebook_free(english);
	wet_phrasebook_free(other);
}
