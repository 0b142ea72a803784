/* prop_note.c: random entries of the notebook: printed and read again they are the same; typed as people do, in any order,
 * they come to the same; the longest are read again too; a change touches what it tells and nothing else; random bytes are
 * refused or come to an entry that can be printed and read again.
 *   prop_note --seed S --count N */
#include "base/random.h"
#include "base/text.h"
#include "prop_args.h"
#include "wetside/notebook.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case;

static const char cameras[][WET_NAME_BYTES] = { "tin-one", "tin-two", "tin-box-two", "Old Box", "creek-6" };
static const struct wet_note_known known = { cameras, 5, "f/128 index 10" };

static void holds(bool is_so, const char *law, const char *a, const char *b)
{
	if (is_so)
		return;
	printf("broken in case %ld: %s\n  %s\n  %s\nagain: prop_note --seed %llu --count %ld\n", this_case, law, a, b, seed,
		   this_case + 1);
	exit(1);
}

static const char *pick(const char *const *list, uint64_t n)
{
	return list[wet_random_below(&rnd, n)];
}

#define PICK(list) pick(list, sizeof list / sizeof list[0])

static bool one_in(uint64_t n)
{
	return wet_random_below(&rnd, n) == 0;
}

static bool same(const struct wet_note *a, const struct wet_note *b)
{
	bool is_same = a->given_ms == b->given_ms;
#define SAME(name, label, member, bytes) is_same = is_same && strcmp(a->member, b->member) == 0;
	WET_NOTE_TEXTS(SAME)
#undef SAME
	return is_same;
}

static const char *const subjects[] = { "mud bank with posts", "wind pump",       "two boats", "bright sail at the mouth",
										"the 3 posts",		   "creek, low tide", "gull",		"shaded landing stage" };
static const char *const weathers[] = { "overcast", "thin cloud", "rain", "sun and wind", "hazy", "clear" };
static const char *const lights[] = { "12s", "60 s", "2:00", "EV 11", "400 cd/m2", "8000 lx", "8 s f/16 index 10" };

static void some_note(struct wet_note *n)
{
	memset(n, 0, sizeof *n);
	n->given_ms = one_in(4) ? 0 : (int64_t)wet_random_below(&rnd, 600000) + 1;
	if (!one_in(3))
		wet_text_copy(n->camera, sizeof n->camera, cameras[wet_random_below(&rnd, 5)]);
	if (one_in(3))
		wet_text_copy(n->reading, sizeof n->reading, PICK(lights));
	if (one_in(3))
		wet_text_copy(n->bright, sizeof n->bright, PICK(lights));
	if (one_in(3))
		wet_text_copy(n->shaded, sizeof n->shaded, PICK(lights));
	wet_text_copy(n->meter, sizeof n->meter, "f/64 index 5");
	if (one_in(2))
		wet_text_copy(n->weather, sizeof n->weather, PICK(weathers));
	if (one_in(2))
		wet_text_copy(n->subject, sizeof n->subject, PICK(subjects));
	if (one_in(3))
		wet_text_copy(n->doubt, sizeof n->doubt, one_in(2) ? "?" : "it may have moved, twice");
}

static void fill(char *to, size_t bytes)
{
	for (size_t i = 0; i + 1 < bytes; i++)
		to[i] = i % 9 == 8 && i + 2 < bytes ? ' ' : (char)('a' + i % 9);
	to[bytes - 1] = '\0';
}

/* Every text as long as it may be: the ledger keeps what is printed, so it must be read again. */
static void to_the_brim(void)
{
	struct wet_note n = { .given_ms = WET_NOTE_GIVEN_MS_MAX - 1 }, back;
	char text[WET_NOTE_TEXT_BYTES], again[WET_NOTE_TEXT_BYTES], halves[WET_NOTE_TEXT_BYTES] = "";
	struct wet_fault fault = { 0 };
	fill(n.camera, sizeof n.camera);
	fill(n.meter, sizeof n.meter);
	fill(n.weather, sizeof n.weather);
	fill(n.subject, sizeof n.subject);
	fill(n.doubt, sizeof n.doubt);
	wet_text_copy(n.reading, sizeof n.reading, PICK(lights));
	wet_note_print(&n, text, sizeof text);
	holds(wet_note_parse(text, &known, &back, &fault) == 0, "the longest that is printed is read", text, fault.want);
	holds(same(&n, &back), "read again the longest is the same", text, wet_note_print(&back, again, sizeof again));
	/* A subject that two parts of a line make, up to its last byte. */
	size_t half = (sizeof n.subject - 3) / 2;
	char first[sizeof n.subject], second[sizeof n.subject];
	fill(first, half + 1);
	fill(second, sizeof n.subject - 2 - half);
	wet_text_format(halves, sizeof halves, "\"%s\" \"%s\"", first, second);
	holds(wet_note_parse(halves, &known, &n, &fault) == 0 && strlen(n.subject) == sizeof n.subject - 1, "two parts fill it",
		  halves, fault.want);
	wet_note_print(&n, text, sizeof text);
	holds(wet_note_parse(text, &known, &back, &fault) == 0, "what two parts filled is read", text, fault.want);
	holds(same(&n, &back), "and is the same as typed", text, wet_note_print(&back, again, sizeof again));
}

static void there_and_back(void)
{
	struct wet_note n, back, changed;
	char text[WET_NOTE_TEXT_BYTES], again[WET_NOTE_TEXT_BYTES];
	struct wet_fault fault = { 0 };
	some_note(&n);
	wet_note_print(&n, text, sizeof text);
	holds(wet_note_parse(text, &known, &back, &fault) == 0, "what is printed is read", text, fault.want);
	holds(same(&n, &back), "read again it is the same", text, wet_note_print(&back, again, sizeof again));
	some_note(&changed);
	struct wet_note change = { .told = 1u << WET_NOTE_WEATHER | 1u << WET_NOTE_TIME, .given_ms = changed.given_ms };
	wet_text_copy(change.weather, sizeof change.weather, changed.weather);
	wet_note_change(&back, &change);
	wet_text_copy(n.weather, sizeof n.weather, changed.weather);
	n.given_ms = changed.given_ms;
	holds(same(&n, &back), "a change touches what it tells", text, wet_note_print(&back, again, sizeof again));
}

/* As people type it: the parts in any order, with commas between. */
static void in_any_order(void)
{
	static const char *const times[] = { "8s", "8 s", "0:08", "8 sec" };
	const char *part[6] = { PICK(times), one_in(2) ? "tin-box-two" : "in Tin box two", "mud bank with posts",
							one_in(2) ? "\"bright 12s, shaded 60s\"" : "bright 12s shaded 60s", PICK(weathers), "?" };
	const char *weather = part[4];
	char text[400] = "", shown[WET_NOTE_TEXT_BYTES];
	struct wet_note n;
	struct wet_fault fault = { 0 };
	for (int left = 6; left > 0; left--) {
		uint64_t i = wet_random_below(&rnd, (uint64_t)left);
		wet_text_append(text, sizeof text, "%s%s", text[0] ? ", " : "", part[i]);
		part[i] = part[left - 1];
	}
	holds(wet_note_parse(text, &known, &n, &fault) == 0, "any order is read", text, fault.want);
	wet_note_print(&n, shown, sizeof shown);
	holds(n.given_ms == 8000 && strcmp(n.camera, "tin-box-two") == 0 && strcmp(n.bright, "12s") == 0 &&
			  strcmp(n.shaded, "60s") == 0 && strcmp(n.weather, weather) == 0 && strcmp(n.doubt, "?") == 0 &&
			  strcmp(n.subject, "mud bank with posts") == 0 && strcmp(n.meter, "f/128 index 10") == 0,
		  "and understood the same", text, shown);
}

static void any_bytes(void)
{
	static const char *const bits[] = { "8s", " ", " ", ",", "\"", "?", "bright ", "EV", "tin-two", ":", "time:", "subject:", "1/60",
										" at ", "f/8", "index", "rain", "posts", "-", "12", ".", "\xc3\xa9", "camera:", "doubt:" };
	char text[300] = "", shown[WET_NOTE_TEXT_BYTES], again[WET_NOTE_TEXT_BYTES];
	struct wet_note n, back;
	struct wet_fault fault = { 0 };
	for (uint64_t i = 0, most = wet_random_below(&rnd, 14); i < most; i++)
		wet_text_append(text, sizeof text, "%s", PICK(bits));
	if (wet_note_parse(text, &known, &n, &fault) != 0) {
		holds(fault.err != 0 && fault.want[0], "a refusal says what would be right", text, "");
		return;
	}
	wet_note_print(&n, shown, sizeof shown);
	if (!shown[0])
		return; /* only taken away */
	holds(wet_note_parse(shown, &known, &back, &fault) == 0, "what any line came to is read again", text, shown);
	holds(same(&n, &back), "and is the same", shown, wet_note_print(&back, again, sizeof again));
}

int main(int argc, char **argv)
{
	test_prop_args(argc, argv, &seed, &count);
	for (this_case = 0; this_case < count; this_case++) {
		wet_random_seed(&rnd, seed + (unsigned long long)this_case);
		if (this_case == 0)
			to_the_brim();
		there_and_back();
		in_any_order();
		any_bytes();
	}
	printf("%ld cases\n", count);
	return 0;
}
