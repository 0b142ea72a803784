/* agitation.c: agitation as people say it, "30 s, then 10 s each minute".
 *
 *   agitation = "none" | "continuous" | D | D [","] "then" D each | D each
 *   each      = ("each" | "every") ("minute" | D)
 *   D         = a duration as wet_parse_duration reads it, over 0 and up to an hour */
#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/recipe.h"

#include <string.h>

#define WANTED "\"30 s, then 10 s each minute\", \"10 s each minute\", \"30 s\", \"continuous\" or \"none\""
#define TEXT_BYTES 96 /* the longest sensible text is under 40 */
#define MINUTE_NS (60 * WET_NS_PER_S)
#define PART_NS_MAX (60 * MINUTE_NS)

static bool is_blank(char c)
{
	return c == ' ' || c == '\t';
}

/* Cuts blanks at both ends, in place; returns the start. */
static char *trim(char *text)
{
	while (is_blank(*text))
		text++;
	size_t n = strlen(text);
	while (n > 0 && is_blank(text[n - 1]))
		text[--n] = '\0';
	return text;
}

/* The first place of `word` that has blanks (or an end) around it, else NULL. */
static char *find_word(char *text, const char *word)
{
	size_t n = strlen(word);
	for (char *at = strstr(text, word); at != NULL; at = strstr(at + 1, word)) {
		bool starts = at == text || is_blank(at[-1]) || at[-1] == ',';
		bool ends = at[n] == '\0' || is_blank(at[n]);
		if (starts && ends)
			return at;
	}
	return NULL;
}

static int parse_part(char *text, const char *whole, int64_t *ret_ns, struct wet_fault *reterr)
{
	int64_t ns = 0;
	int rc = wet_parse_duration(trim(text), &ns, reterr);
	if (rc != 0)
		return wet_fault_set(reterr, rc, "", whole, "%s", WANTED);
	if (ns <= 0 || ns > PART_NS_MAX || ns % WET_NS_PER_MS != 0)
		return wet_fault_set(reterr, WET_ERR_RANGE, "", whole,
							 "times over 0 s, up to an hour, in whole milliseconds; or \"none\"");
	*ret_ns = ns;
	return WET_OK;
}

/* "10 s each minute" */
static int parse_bursts(char *text, const char *whole, struct wet_agitation *a, struct wet_fault *reterr)
{
	size_t skip = 4;
	char *each = find_word(text, "each");
	if (each == NULL) {
		skip = 5;
		each = find_word(text, "every");
	}
	if (each == NULL)
		return wet_fault_set(reterr, WET_ERR_INVALID, "", whole, "%s", WANTED);
	char *period = trim(each + skip);
	*each = '\0';
	int rc = parse_part(text, whole, &a->burst_ns, reterr);
	if (rc != 0)
		return rc;
	if (strcmp(period, "minute") == 0)
		a->every_ns = MINUTE_NS;
	else if ((rc = parse_part(period, whole, &a->every_ns, reterr)) != 0)
		return rc;
	if (a->burst_ns > a->every_ns)
		return wet_fault_set(reterr, WET_ERR_RANGE, "", whole,
							 "a burst no longer than its period; \"continuous\" if it never rests");
	return WET_OK;
}

int wet_parse_agitation(const char *text, struct wet_agitation *ret_agitation, struct wet_fault *reterr)
{
	char buf[TEXT_BYTES];
	struct wet_agitation a;
	memset(&a, 0, sizeof a);
	if (text == NULL)
		return wet_fault_set(reterr, WET_ERR_INVALID, "", NULL, "%s", WANTED);
	if (strlen(text) >= sizeof buf)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "", text, "%s", WANTED);
	wet_text_copy(buf, sizeof buf, text);
	char *at = trim(buf);
	int rc = WET_OK;
	if (strcmp(at, "continuous") == 0) {
		a.is_continuous = true;
	} else if (strcmp(at, "none") != 0) {
		char *then = find_word(at, "then");
		char *bursts = find_word(at, "each") != NULL || find_word(at, "every") != NULL ? at : NULL;
		char *opening = bursts == NULL ? at : NULL;
		if (then != NULL) {
			*then = '\0';
			bursts = then + 4;
			opening = trim(at);
			size_t n = strlen(opening);
			if (n > 0 && opening[n - 1] == ',')
				opening[n - 1] = '\0';
		}
		if (opening != NULL)
			rc = parse_part(opening, text, &a.opening_ns, reterr);
		if (rc == 0 && bursts != NULL)
			rc = parse_bursts(bursts, text, &a, reterr);
	}
	if (rc == 0)
		*ret_agitation = a;
	return rc;
}

/* A duration that wet_parse_duration reads back to the same value, whole milliseconds. */
static char *print_part(int64_t ns, char *buf, unsigned buf_bytes)
{
	if (ns % WET_NS_PER_S != 0)
		return wet_text_format(buf, buf_bytes, "%lld ms", (long long)(ns / WET_NS_PER_MS));
	if (ns >= 2 * MINUTE_NS && ns % MINUTE_NS == 0)
		return wet_text_format(buf, buf_bytes, "%lld min", (long long)(ns / MINUTE_NS));
	return wet_text_format(buf, buf_bytes, "%lld s", (long long)(ns / WET_NS_PER_S));
}

char *wet_print_agitation(const struct wet_agitation *agitation, char *buf, unsigned buf_bytes)
{
	char opening[32], burst[32], every[32];
	if (agitation->is_continuous)
		return wet_text_copy(buf, buf_bytes, "continuous");
	if (agitation->opening_ns <= 0 && agitation->burst_ns <= 0)
		return wet_text_copy(buf, buf_bytes, "none");
	print_part(agitation->opening_ns, opening, sizeof opening);
	if (agitation->burst_ns <= 0)
		return wet_text_copy(buf, buf_bytes, opening);
	print_part(agitation->burst_ns, burst, sizeof burst);
	if (agitation->every_ns == MINUTE_NS)
		wet_text_copy(every, sizeof every, "minute");
	else
		print_part(agitation->every_ns, every, sizeof every);
	if (agitation->opening_ns <= 0)
		return wet_text_format(buf, buf_bytes, "%s each %s", burst, every);
	return wet_text_format(buf, buf_bytes, "%s, then %s each %s", opening, burst, every);
}
