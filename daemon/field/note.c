/* note.c: a line of the notebook into its parts, and back. */
#include "field/inside.h"

#include "base/text.h"
#include "wetside/notebook.h"
#include "wetside/quantity.h"

#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#define WORDS 200

enum item_kind { WORD, QUOTED, COMMA };

struct parsing {
	struct wet_note *note;
	const struct wet_note_known *known;
	struct wet_fault *fault;
	char text[2 * WET_NOTE_TEXT_BYTES]; /* the items, each with its NUL */
	struct {
		enum item_kind kind;
		const char *text;
	} items[WORDS];
	int count, at;
	char phrase[2 * WET_LINE_BYTES];
};

static const struct {
	const char *label;
	size_t offset, bytes;
} parts[WET_NOTE_PART_N] = {
#define PART_ROW(name, label, member, size) [WET_NOTE_##name] = { label, offsetof(struct wet_note, member), size },
	WET_NOTE_TEXTS(PART_ROW)
#undef PART_ROW
		[WET_NOTE_TIME] = { "time", 0, 0 },
};

static char lower(char c)
{
	return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

static bool is_one_of(const char *text, const char *const *list)
{
	while (*list && !field_same_word(text, *list))
		list++;
	return *list != NULL;
}

/* -- items --------------------------------------------------------------------------- */

static int split(struct parsing *p, const char *text)
{
	size_t n = 0;
	char clean[WET_NOTE_TEXT_BYTES];
	if (strlen(text) >= WET_NOTE_TEXT_BYTES)
		return wet_fault_set(p->fault, WET_ERR_TOO_LONG, "text", NULL, "at most %d bytes", WET_NOTE_TEXT_BYTES - 1);
	if (strcmp(wet_text_clean(clean, sizeof clean, text), text) != 0)
		return wet_fault_set(p->fault, WET_ERR_INVALID, "text", NULL, "a line without control characters");
	while (*text) {
		size_t length = 1;
		enum item_kind kind = COMMA;
		const char *end = text + 1;
		if (*text == ' ') {
			text++;
			continue;
		}
		if (p->count == WORDS)
			return wet_fault_set(p->fault, WET_ERR_TOO_LONG, "text", NULL, "at most %d words", WORDS);
		if (*text == '"') {
			const char *close = strchr(++text, '"');
			if (!close)
				return wet_fault_set(p->fault, WET_ERR_INVALID, "text", text, "a \" at the end of what is quoted");
			kind = QUOTED;
			length = (size_t)(close - text);
			end = close + 1;
		} else if (*text != ',' && *text != ';') {
			kind = WORD;
			length = strcspn(text, " ,;\"");
			/* "1,5s": a comma between digits is a decimal one */
			while (text[length] == ',' && is_digit(text[length - 1]) && is_digit(text[length + 1]))
				length += 1 + strcspn(text + length + 1, " ,;\"");
			end = text + length;
		}
		p->items[p->count].kind = kind;
		p->items[p->count++].text = p->text + n;
		memcpy(p->text + n, text, length);
		p->text[n + length] = '\0';
		n += length + 1;
		text = end;
	}
	return WET_OK;
}

static const char *word_at(const struct parsing *p, int i)
{
	return i < p->count && p->items[i].kind == WORD ? p->items[i].text : "";
}

/* -- parts --------------------------------------------------------------------------- */

static char *member_of(struct wet_note *note, int part)
{
	return (char *)note + parts[part].offset;
}

static int too_long(struct parsing *p, int part)
{
	return wet_fault_set(p->fault, WET_ERR_TOO_LONG, parts[part].label, NULL, "at most %d bytes", (int)parts[part].bytes - 1);
}

/* What is told twice: the weather and the subject go on, all else is a doubt of ours. */
static int set(struct parsing *p, int part, const char *value)
{
	char *to = member_of(p->note, part);
	bool goes_on = part == WET_NOTE_WEATHER || part == WET_NOTE_SUBJECT;
	bool was_told = p->note->told & 1u << part;
	if (strlen(value) + (goes_on && to[0] ? strlen(to) + 2 : 0) >= parts[part].bytes)
		return too_long(p, part);
	if (was_told && !goes_on && strcmp(to, value) != 0 && part != WET_NOTE_DOUBT)
		return wet_fault_set(p->fault, WET_ERR_AMBIGUOUS, parts[part].label, value, "one %s, not also '%s'", parts[part].label, to);
	p->note->told |= 1u << part;
	if (strcmp(value, "-") == 0)
		to[0] = '\0';
	else if (goes_on && to[0])
		wet_text_append(to, parts[part].bytes, ", %s", value);
	else if (part != WET_NOTE_DOUBT || !to[0] || strcmp(to, "?") == 0)
		wet_text_copy(to, parts[part].bytes, value);
	return WET_OK;
}

static int set_time(struct parsing *p, const char *text)
{
	int64_t ns;
	if (strcmp(text, "-") == 0) {
		p->note->told |= 1u << WET_NOTE_TIME;
		p->note->given_ms = 0;
		return WET_OK;
	}
	if (wet_parse_duration(text, &ns, p->fault) != 0) {
		wet_fault_prefix(p->fault, "time");
		return p->fault ? p->fault->err : WET_ERR_INVALID;
	}
	int64_t ms = (ns + 500000) / 1000000;
	if (ms < 1 || ms > WET_NOTE_GIVEN_MS_MAX)
		return wet_fault_set(p->fault, WET_ERR_RANGE, "time", text, "over nothing, and at most 1000 h");
	if (p->note->told & 1u << WET_NOTE_TIME && p->note->given_ms != ms)
		return wet_fault_set(p->fault, WET_ERR_AMBIGUOUS, "time", text,
							 "one time that was given; a reading begins with bright, shaded or reading, as in bright 12s");
	p->note->told |= 1u << WET_NOTE_TIME;
	p->note->given_ms = ms;
	return WET_OK;
}

static bool is_time(const char *text)
{
	int64_t ns;
	return is_digit(text[0]) && wet_parse_duration(text, &ns, NULL) == 0;
}

/* -- readings ------------------------------------------------------------------------- */

/* As it is read by the parser of readings: a time alone gets the meter's aperture and index. */
static int read_light(const char *text, const char *meter, struct wet_reading *ret, struct wet_fault *fault)
{
	struct wet_meter none = { 0 };
	char whole[3 * WET_NAME_BYTES];
	bool is_bare = is_time(text);
	if (is_bare && !meter[0])
		return wet_fault_set(fault, WET_ERR_UNIT_MISSING, "reading", text,
							 "at which aperture and index, as in 12s f/128 index 10; told once: wetside note --meter \"f/128 index 10\"");
	wet_text_format(whole, sizeof whole, "%s%s%s", text, is_bare ? " " : "", is_bare ? meter : "");
	return wet_parse_reading(whole, &none, ret, fault);
}

static int set_reading(struct parsing *p, int part, const char *text)
{
	struct wet_reading reading;
	if (strcmp(text, "-") != 0 && !is_time(text) && read_light(text, "", &reading, p->fault) != 0)
		return p->fault ? p->fault->err : WET_ERR_INVALID;
	return set(p, part, text);
}

static int part_of_reading(const char *word)
{
	return field_same_word(word, "bright")    ? WET_NOTE_BRIGHT
		   : field_same_word(word, "shaded")  ? WET_NOTE_SHADED
		   : field_same_word(word, "reading") ? WET_NOTE_READING
									  : -1;
}

static bool is_light_unit(const char *word)
{
	static const char *const units[] = { "lux", "lx", "fc", "cd/m2", NULL };
	return is_one_of(word, units);
}

/* "EV 14", "EV14.3", "8000lx", "400 cd/m2", "1/60 at f/8": a reading begins here that says so itself. */
static bool is_light(const struct parsing *p, int i)
{
	const char *word = word_at(p, i), *next = word_at(p, i + 1);
	if (lower(word[0]) == 'e' && lower(word[1]) == 'v')
		return is_digit(word[2]) || (word[2] == '-' && is_digit(word[3])) ||
			   (!word[2] && (is_digit(next[0]) || (next[0] == '-' && is_digit(next[1]))));
	if (!is_digit(word[0]))
		return false;
	if ((lower(next[0]) == 'f' && next[1] == '/') || is_light_unit(next))
		return true;
	if (field_same_word(next, "at"))
		return lower(word_at(p, i + 2)[0]) == 'f' && is_digit(word_at(p, i + 2)[word_at(p, i + 2)[1] == '/' ? 2 : 1]);
	return is_light_unit(word + strspn(word, "0123456789."));
}

static bool goes_on_reading(const char *word)
{
	static const char *const words[] = { "at", "index", "iso", "s", "sec", "min", "ev", "m", NULL };
	return is_digit(word[0]) || (lower(word[0]) == 'f' && (word[1] == '/' || is_digit(word[1]))) || is_one_of(word, words) ||
		   is_light_unit(word);
}

/* Takes the words of a bare reading, from `at` on. */
static int take_reading(struct parsing *p, int part)
{
	char text[WET_NAME_BYTES] = "";
	while (goes_on_reading(word_at(p, p->at)) || (!text[0] && word_at(p, p->at)[0])) {
		if (strlen(text) + strlen(word_at(p, p->at)) + 2 > sizeof text)
			return too_long(p, part);
		wet_text_append(text, sizeof text, "%s%s", text[0] ? " " : "", word_at(p, p->at++));
		/* a whole time: what follows is another one, if it doesn't say its aperture */
		const char *next = word_at(p, p->at);
		if (is_time(text) && !(field_same_word(next, "at") || (next[0] && next[1] == '/')))
			break;
	}
	return set_reading(p, part, text);
}

/* What stands in quotes: "bright 12s, shaded 60s", "EV 14", or something else. */
static int take_quoted(struct parsing *p, const char *text)
{
	struct parsing inner = { .note = p->note, .known = p->known, .fault = p->fault };
	if (split(&inner, text) != 0)
		return p->fault ? p->fault->err : WET_ERR_INVALID;
	int part = part_of_reading(word_at(&inner, 0));
	int first = part >= 0;
	bool is_reading = part >= 0 ? is_digit(word_at(&inner, 1)[0]) || is_light(&inner, 1) : is_light(&inner, 0);
	if (!is_reading) {
		char subject[WET_NOTE_TEXT_BYTES];
		size_t n = strlen(wet_text_copy(subject, sizeof subject, text));
		while (n > 0 && strchr(" ,;", subject[n - 1]))
			subject[--n] = '\0';
		return subject[0] ? set(p, WET_NOTE_SUBJECT, subject) : WET_OK;
	}
	inner.at = first;
	for (int rc;;) {
		rc = take_reading(&inner, part >= 0 ? part : WET_NOTE_READING);
		while (inner.at < inner.count && inner.items[inner.at].kind == COMMA)
			inner.at++;
		if (rc != 0 || inner.at >= inner.count)
			return rc;
		part = part_of_reading(word_at(&inner, inner.at));
		if (part < 0)
			return wet_fault_set(p->fault, WET_ERR_INVALID, "reading", text, "bright and shaded, as in \"bright 12s, shaded 60s\"");
		inner.at++;
	}
}

/* -- weather and subject ------------------------------------------------------------------- */

/* Weather wherever it ends a part ... */
static const char *const sure_weather[] = { "overcast", "sunny", "cloudy", "hazy",	"rainy",  "windy", "foggy",
											"misty",	"drizzle", "cloudless", "showery", NULL };
/* ... and only where a part holds nothing else. */
static const char *const maybe_weather[] = { "sun",	 "cloud", "clouds", "rain",	 "mist", "fog",	 "snow", "wind",
											 "calm", "clear", "dull",   "haze",	 "storm", "showers", "frost", "still", NULL };
static const char *const with_weather[] = { "thin", "light", "heavy", "high", "low", "some", "no", "and", "then", "strong", "full",
											"broken", "sky", "with", "in", "very", "weak", NULL };

static bool is_weather(const char *word)
{
	return is_one_of(word, sure_weather) || is_one_of(word, maybe_weather);
}

/* The part is over: which words of it are weather? */
static int flush(struct parsing *p)
{
	char words[sizeof p->phrase], *word[WORDS];
	int n = 0, real = 0, all = 0, from, rc = WET_OK;
	wet_text_copy(words, sizeof words, p->phrase);
	for (char *at = words; *at && n < WORDS; n++) {
		word[n] = at;
		at += strcspn(at, " ");
		if (*at)
			*at++ = '\0';
		real += is_weather(word[n]);
		all += is_weather(word[n]) || is_one_of(word[n], with_weather);
	}
	from = real > 0 && all == n ? 0 : n;
	while (from > 0 && is_one_of(word[from - 1], sure_weather))
		from--;
	size_t cut = from < n ? (size_t)(word[from] - words) : strlen(p->phrase);
	char weather[sizeof p->phrase];
	wet_text_copy(weather, sizeof weather, p->phrase + cut);
	while (cut > 0 && p->phrase[cut - 1] == ' ')
		cut--;
	p->phrase[cut] = '\0';
	if (p->phrase[0])
		rc = set(p, WET_NOTE_SUBJECT, p->phrase);
	if (rc == 0 && weather[0])
		rc = set(p, WET_NOTE_WEATHER, weather);
	p->phrase[0] = '\0';
	return rc;
}

/* -- cameras ---------------------------------------------------------------------------------- */

/* How many words from i on are this name; 0: they are not. '-' and a blank are the same. */
static int name_words(const struct parsing *p, int i, const char *name)
{
	int used = 0;
	while (*name) {
		const char *word = word_at(p, i + used);
		if (!*word)
			return 0;
		while (*word && (lower(*word) == lower(*name) || (*word == '-' && *name == ' ') || (*word == '_' && *name == '-')))
			word++, name++;
		if (*word && !(*name == '\0' && strcmp(word, "?") == 0))
			return 0;
		used++;
		if (*name == '-' || *name == ' ')
			name++;
		else if (*name)
			return 0;
	}
	return used;
}

static int longest_camera(const struct parsing *p, int i, const char **ret_name)
{
	int best = 0;
	for (int c = 0; c < p->known->camera_count; c++) {
		int used = name_words(p, i, p->known->cameras[c]);
		if (used > best) {
			best = used;
			*ret_name = p->known->cameras[c];
		}
	}
	return best;
}

/* -- the line ---------------------------------------------------------------------------------- */

static int label_of(const char *word)
{
	size_t n = strcspn(word, ":");
	if (word[n] != ':')
		return -1;
	for (int i = 0; i < WET_NOTE_PART_N; i++) {
		char label[16];
		wet_text_format(label, sizeof label, "%.*s", n < 15 ? (int)n : 15, word);
		if (field_same_word(label, parts[i].label))
			return i;
	}
	return -1;
}

static int set_part(struct parsing *p, int part, const char *value)
{
	if (part == WET_NOTE_TIME)
		return set_time(p, value);
	if (part == WET_NOTE_READING || part == WET_NOTE_BRIGHT || part == WET_NOTE_SHADED)
		return set_reading(p, part, value);
	return set(p, part, value);
}

/* From behind the label to the comma, or one quoted text. */
static int take_label(struct parsing *p, int part, const char *rest)
{
	char value[2 * WET_LINE_BYTES] = "";
	if (!rest[0] && p->at < p->count && p->items[p->at].kind == QUOTED)
		return set_part(p, part, p->items[p->at++].text);
	wet_text_copy(value, sizeof value, rest);
	while (word_at(p, p->at)[0] && label_of(word_at(p, p->at)) < 0) {
		if (strlen(value) + strlen(word_at(p, p->at)) + 2 > sizeof value)
			return too_long(p, part);
		wet_text_append(value, sizeof value, "%s%s", value[0] ? " " : "", word_at(p, p->at++));
	}
	if (!value[0])
		return wet_fault_set(p->fault, WET_ERR_INVALID, parts[part].label, NULL, "something behind %s:, or - to take it away",
							 parts[part].label);
	return set_part(p, part, value);
}

/* A doubt at the end of a word: the word without it. */
static int take_doubt(struct parsing *p, char *word)
{
	size_t n = strlen(word);
	if (n == 0 || word[n - 1] != '?')
		return WET_OK;
	while (n > 0 && word[n - 1] == '?')
		word[--n] = '\0';
	return set(p, WET_NOTE_DOUBT, "?");
}

static bool is_time_unit(const char *word)
{
	static const char *const units[] = { "s", "sec", "secs", "second", "seconds", "min", "mins", "minute", "minutes", "h", NULL };
	return is_one_of(word, units);
}

static int take_word(struct parsing *p)
{
	char word[2 * WET_LINE_BYTES];
	const char *camera = NULL;
	static const char *const before_camera[] = { "in", "with", "camera", NULL };
	int label = label_of(word_at(p, p->at)), used, rc;
	wet_text_copy(word, sizeof word, word_at(p, p->at));
	if (strlen(word_at(p, p->at)) >= sizeof word)
		return too_long(p, WET_NOTE_SUBJECT);
	if (label >= 0) {
		p->at++;
		rc = flush(p);
		return rc == 0 ? take_label(p, label, strchr(word, ':') + 1) : rc;
	}
	if (is_one_of(word, before_camera) && longest_camera(p, p->at + 1, &camera) > 0)
		wet_text_copy(word, sizeof word, word_at(p, ++p->at));
	if ((used = longest_camera(p, p->at, &camera)) > 0) {
		char last[WET_NAME_BYTES * 2];
		wet_text_copy(last, sizeof last, word_at(p, p->at + used - 1));
		p->at += used;
		rc = take_doubt(p, last);
		return rc == 0 ? set(p, WET_NOTE_CAMERA, camera) : rc;
	}
	int part = part_of_reading(word);
	if (part >= 0 && (is_digit(word_at(p, p->at + 1)[0]) || is_light(p, p->at + 1))) {
		p->at++;
		return take_reading(p, part);
	}
	if (is_light(p, p->at))
		return take_reading(p, WET_NOTE_READING);
	p->at++;
	if ((rc = take_doubt(p, word)) != 0 || !word[0])
		return rc;
	if (is_digit(word[0]) && is_time_unit(word_at(p, p->at)) && strspn(word, "0123456789.,") == strlen(word))
		wet_text_append(word, sizeof word, " %s", word_at(p, p->at++));
	if (is_time(word))
		return set_time(p, word);
	if (strlen(p->phrase) + strlen(word) + 2 > sizeof p->phrase)
		return too_long(p, WET_NOTE_SUBJECT);
	wet_text_append(p->phrase, sizeof p->phrase, "%s%s", p->phrase[0] ? " " : "", word);
	return WET_OK;
}

int wet_note_parse(const char *text, const struct wet_note_known *known, struct wet_note *ret_note, struct wet_fault *reterr)
{
	struct wet_note note = { 0 };
	struct wet_fault own = { 0 };
	struct parsing p = { .note = &note, .known = known, .fault = reterr ? reterr : &own };
	int rc = split(&p, text);
	while (rc == 0 && p.at < p.count) {
		if (p.items[p.at].kind == WORD) {
			rc = take_word(&p);
			continue;
		}
		rc = flush(&p);
		if (rc == 0 && p.items[p.at].kind == QUOTED)
			rc = take_quoted(&p, p.items[p.at].text);
		p.at++;
	}
	if (rc == 0)
		rc = flush(&p);
	if (rc == 0 && note.told == 0)
		rc = wet_fault_set(p.fault, WET_ERR_INVALID, "text", NULL,
						   "an entry, as in 8s tin-two \"bright 12s, shaded 60s\" mud bank with posts, overcast");
	if (rc == 0) {
		bool is_bare = is_time(note.reading) || is_time(note.bright) || is_time(note.shaded);
		if (is_bare && !note.meter[0] && known->meter)
			wet_text_copy(note.meter, sizeof note.meter, known->meter);
		*ret_note = note;
	}
	return rc;
}

char *wet_note_print(const struct wet_note *n, char *buf, unsigned buf_bytes)
{
	buf[0] = '\0';
	if (n->given_ms > 0) {
		wet_text_format(buf, buf_bytes, "time: %lld", (long long)(n->given_ms / 1000));
		if (n->given_ms % 1000)
			wet_text_append(buf, buf_bytes, ".%03d", (int)(n->given_ms % 1000));
		wet_text_append(buf, buf_bytes, " s");
	}
	for (int i = 0; i < WET_NOTE_TIME; i++) {
		const char *value = (const char *)n + parts[i].offset;
		if (value[0])
			wet_text_append(buf, buf_bytes, "%s%s: \"%s\"", buf[0] ? ", " : "", parts[i].label, value);
	}
	return buf;
}

void wet_note_change(struct wet_note *note, const struct wet_note *change)
{
	if (change->told & 1u << WET_NOTE_TIME)
		note->given_ms = change->given_ms;
	for (int i = 0; i < WET_NOTE_TIME; i++)
		if (change->told & 1u << i)
			wet_text_copy(member_of(note, i), parts[i].bytes, (const char *)change + parts[i].offset);
	if (!note->meter[0])
		wet_text_copy(note->meter, sizeof note->meter, change->meter);
	note->told |= change->told;
}

int wet_note_light(const struct wet_note *n, enum wet_sense sense, double *ret_ev100, struct wet_fault *reterr)
{
	const char *one = n->reading[0] ? n->reading : n->bright[0] ? n->bright : n->shaded;
	struct wet_reading first, second;
	int rc;
	if (!one[0])
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "reading", NULL, "a reading, as in bright 12s, shaded 60s");
	if ((rc = read_light(one, n->meter, &first, reterr)) != 0)
		return rc;
	*ret_ev100 = first.ev100;
	if (n->reading[0] || !n->bright[0] || !n->shaded[0])
		return WET_OK;
	if ((rc = read_light(n->shaded, n->meter, &second, reterr)) != 0)
		return rc;
	/* Aperture and index only make a time of the light. */
	struct wet_exposure_ask ask = { .sense = sense,
									.f_number = 128,
									.index = 3,
									.bright_ev100 = first.ev100,
									.shaded_ev100 = second.ev100,
									.place = sense == WET_SENSE_UNSAID ? WET_PLACE_MIDDLE : WET_PLACE_GOVERNED,
									.holds_stops = WET_HOLDS_STOPS };
	struct wet_exposed exposed;
	if (second.ev100 > first.ev100)
		return wet_fault_set(reterr, WET_ERR_INVALID, "shaded", n->shaded, "less light than the bright reading; are they exchanged?");
	if ((rc = wet_expose(&ask, &exposed, reterr)) == 0)
		*ret_ev100 = exposed.ev100;
	return rc;
}
