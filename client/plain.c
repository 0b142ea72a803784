/* plain.c: the watch for ears and for terminals that only append: each value has its label, and what nobody asked for comes at most
 * twice a minute. What answers a key, and what is wrong, comes at once. */
#include "client/watch.h"

#include "base/text.h"
#include "client/page.h"

#include <string.h>
#include <unistd.h>

#define APART_US 30000000 /* accessible modes of command lines: no line more often that nobody asked for */

/* Cues that the run's own clock planned. They are heard; here they only say that something is new. */
static bool is_planned(const char *word)
{
	static const char words[] = " begin stage handle lights stand-by next pour-ready last-minute count pour-out change turn rest beat key "
								"water warmth ";
	char with_blanks[40];
	wet_text_format(with_blanks, sizeof with_blanks, " %s ", word);
	return strstr(words, with_blanks) != NULL;
}

bool plain_is_news(struct view *v, const struct heard_line *l)
{
	if (!is_planned(l->word))
		return false;
	if (strcmp(l->word, "beat") != 0 && strcmp(l->word, "count") != 0)
		v->has_news = true;
	return true;
}

static void add_left(char *line, size_t bytes, const char *label, const struct scene_tank *t, int64_t at_us)
{
	char time[32];
	int64_t now_us = boot_us();
	if (at_us > now_us)
		wet_text_append(line, bytes, " %s %s.", label, page_time((int64_t)((double)(at_us - now_us) * t->rate), false, time, sizeof time));
}

/* "Run: creek. Stage: Developer. In it for: 0:36. Now: ... Hands: ... In: 0:24. Pour out in: 1:04. Temperature: ..." */
void plain_state(const struct view *v, char *line, size_t bytes)
{
	const struct scene_tank *t = scene_tank(&v->scene);
	char time[32];
	line[0] = '\0';
	if (!t)
		return;
	wet_text_format(line, bytes, "Run: %s.", t->name);
	if (t->stage_name[0])
		wet_text_append(line, bytes, " Stage: %s.", t->stage_name);
	if (t->aim_us > 0 && t->begin_us > 0)
		wet_text_append(line, bytes, " In it for: %s.",
						page_time((int64_t)((double)(boot_us() - t->begin_us) * t->rate), true, time, sizeof time));
	wet_text_append(line, bytes, " Now: %s", t->order[0] ? t->order : t->doing);
	if (t->hands[0] && t->hands_us > boot_us()) {
		wet_text_append(line, bytes, " Hands: %s", t->hands);
		add_left(line, bytes, "In:", t, t->hands_us);
	}
	add_left(line, bytes, t->next_waits ? "Done in:" : "Pour out in:", t, t->next_waits ? t->aim_us : t->pour_out_us);
	if (t->temperature[0])
		wet_text_append(line, bytes, " Bath at: %s.", t->temperature);
	if (t->end[0])
		wet_text_append(line, bytes, " Ends at: %s.", t->end);
	if (t->next[0])
		wet_text_append(line, bytes, " Then: %s", t->next);
}

int64_t plain_next_us(const struct view *v)
{
	return v->has_news && may_write(v, STDOUT_FILENO) ? v->unasked_us + APART_US : INT64_MAX;
}
