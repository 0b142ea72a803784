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
static const struct wet_phrases german = { list, sizeof list / sizeof list[0] };

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
	struct wet_phrases both = { two, 3 };
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
