/* page.c: what is said on the page, line by line, in the order of what matters; grid.c puts the lines into cells. */
#include "client/page_inside.h"

#include "base/text.h"
#include "wetside/run.h"

#include <string.h>

/* What goes first where there is no room, the highest number before all others. */
enum {
	MUST = 0,
	SHOULD = 2,
	WARNING = 4,
	DETAIL = 10,
	TANKS = 30,
	HEADER = 45,
	KEYS = 46,
	STAGES = 50,
	BLANK = 110,
	DIGITS = 120,
	FAR = 150 /* stages far from the live one */
};
#define TANKS_SHOWN 8 /* each counts down: more would not fit into what a second may write */
#define DIGIT_ROWS_FROM 20
#define DIGIT_COLUMNS_FROM 36
#define KEYS_ROWS_FROM 16 /* below: where to find them, and the one that matters */
#define STAGES_NEAR 3
#define NEVER INT64_MAX

/* -- time -------------------------------------------------------------------- */

char *page_time(int64_t us, bool is_up, char *buf, size_t bytes)
{
	int64_t s = us <= 0 ? 0 : is_up ? us / 1000000 : (us + 999999) / 1000000;
	if (s >= 3600)
		return wet_text_format(buf, bytes, "%lld:%02d:%02d", (long long)(s / 3600), (int)(s / 60 % 60), (int)(s % 60));
	return wet_text_format(buf, bytes, "%lld:%02d", (long long)(s / 60), (int)(s % 60));
}

/* In the run's own time, which passes faster in a rehearsal. */
static int64_t run_us(const struct scene_tank *t, int64_t us)
{
	double run = (double)us * t->rate;
	return run > 1e15 ? (int64_t)1e15 : run < -1e15 ? (int64_t)-1e15 : (int64_t)run;
}

static bool is_phase(const struct scene_tank *t, const char *phase)
{
	return strcmp(t->phase, phase) == 0;
}

struct lead {
	char text[WET_LINE_BYTES];
	int64_t at_us; /* of the time beside it; NEVER: none */
	bool is_up;    /* counts up from there */
	const char *before, *after;
	enum page_ink ink;
};

static void lead_of_tank(const struct scene *s, const struct scene_tank *t, struct lead *lead)
{
	bool is_over = t->outcome[0] != '\0';
	wet_text_copy(lead->text, sizeof lead->text, t->doing);
	if (is_phase(t, "interrupted")) {
		wet_text_copy(lead->text, sizeof lead->text, WET_EMERGENCY_TEXT);
		lead->ink = INK_WARN;
	} else if (t->order[0] && !is_over) {
		wet_text_copy(lead->text, sizeof lead->text, t->order);
		lead->ink = INK_WARN;
	} else if (t->hands[0] && t->hands_us > s->now_us) {
		wet_text_copy(lead->text, sizeof lead->text, t->hands);
		lead->at_us = t->hands_us;
		lead->before = "in ";
	} else if (!is_over && (is_phase(t, "waiting") || is_phase(t, "handling")) && t->begin_us > 0) {
		lead->at_us = t->begin_us;
		lead->is_up = true;
		lead->before = "now; waiting ";
	}
	if (lead->at_us == NEVER && !is_over && !is_phase(t, "interrupted") && t->aim_us > 0) {
		lead->at_us = t->is_overtime ? t->aim_us : t->pour_out_us > s->now_us && !t->next_waits ? t->pour_out_us : t->aim_us;
		lead->is_up = t->is_overtime || t->aim_us <= s->now_us;
		lead->before = lead->is_up ? "now; over by " : t->next_waits ? "now; done in " : "now; pour out in ";
		if (!lead->is_up && !t->next_waits && t->pour_out_us <= s->now_us)
			lead->before = "now; the next begins in ";
	}
}

static void find_lead(const struct scene *s, struct lead *lead)
{
	const struct scene_tank *t = scene_tank(s);
	*lead = (struct lead){ .at_us = NEVER, .before = "", .after = "", .ink = INK_LEAD };
	if (s->is_emergency) {
		wet_text_copy(lead->text, sizeof lead->text, WET_EMERGENCY_TEXT);
		lead->ink = INK_WARN;
	} else if (s->is_gone) {
		wet_text_copy(lead->text, sizeof lead->text,
					  "The daemon has gone. The run goes on when it comes back; start it: wetsided");
		lead->ink = INK_WARN;
	} else if (t) {
		lead_of_tank(s, t, lead);
	} else {
		wet_text_copy(lead->text, sizeof lead->text, "No run is watched.");
	}
}

int64_t page_next_us(const struct scene *s)
{
	struct lead lead;
	const struct scene_tank *t = scene_tank(s);
	find_lead(s, &lead);
	int64_t from_us = lead.at_us;
	for (int i = 0; i < s->count && from_us == NEVER; i++)
		if (s->tanks[i].aim_us > 0 && !s->tanks[i].outcome[0])
			from_us = s->tanks[i].aim_us;
	if (from_us == NEVER)
		return -1;
	/* Where a rehearsal's seconds are shorter than this they are not all shown. */
	int64_t second_us = (int64_t)(1e6 / (t ? t->rate : 1));
	second_us = second_us < 250000 ? 250000 : second_us;
	int64_t into_us = (s->now_us - from_us) % second_us;
	return s->now_us + second_us - (into_us < 0 ? into_us + second_us : into_us);
}

/* -- lines -------------------------------------------------------------------- */

static void put_blank(struct page *p)
{
	page_put(p, "", INK_PLAIN, BLANK);
}

static void put_labelled(struct page *p, const char *label, const char *text, int priority)
{
	char line[400];
	if (!text[0])
		return;
	wet_text_format(line, sizeof line, "%s%s", label, text);
	page_put(p, line, INK_PLAIN, priority);
}

static void put_warning(struct page *p, const char *text, int priority)
{
	char line[400];
	if (!text[0])
		return;
	wet_text_format(line, sizeof line, "! %s", text);
	page_put(p, line, INK_WARN, priority);
}

static void put_header(struct page *p, const struct scene *s, const struct scene_tank *t)
{
	char line[300];
	wet_text_copy(line, sizeof line, t->name);
	if (t->is_rehearsal && strcmp(t->name, "rehearsal") != 0)
		wet_text_append(line, sizeof line, ", rehearsal");
	if (t->is_rehearsal && t->rate != 1)
		wet_text_append(line, sizeof line, ", %g times faster", t->rate);
	if (!t->outcome[0] && !is_phase(t, "interrupted") && !t->is_rehearsal)
		wet_text_append(line, sizeof line, ". Light: %s",
						strcmp(t->light, "white") == 0            ? "white allowed"
						: strcmp(t->light, "white-required") == 0 ? "white NEEDED"
																  : t->light);
	if (s->is_red)
		wet_text_append(line, sizeof line, ". Red view");
	page_put(p, line, INK_FAINT, HEADER);
}

static void put_time(struct page *p, const struct scene *s, const struct scene_tank *t, const struct lead *lead)
{
	char time[32], line[120];
	if (lead->at_us == NEVER)
		return;
	int64_t us = lead->is_up ? s->now_us - lead->at_us : lead->at_us - s->now_us;
	page_time(run_us(t, us), lead->is_up, time, sizeof time);
	wet_text_format(line, sizeof line, "%s%s%s", lead->before, time, lead->after);
	page_put(p, line, INK_LEAD, MUST);
	if (p->rows >= DIGIT_ROWS_FROM && p->columns >= DIGIT_COLUMNS_FROM)
		page_put_digits(p, time, INK_LEAD, DIGITS);
}

/* "Developer, 1:36 of 3:00" and what the clock does with it. */
static void put_stage(struct page *p, const struct scene *s, const struct scene_tank *t, const struct lead *lead)
{
	char in[32], all[32], line[240];
	if (t->outcome[0] || !t->stage_name[0] || is_phase(t, "ready"))
		return;
	if (t->aim_us <= 0) {
		page_put(p, t->stage_name, INK_PLAIN, MUST + 1);
		return;
	}
	page_time(run_us(t, s->now_us - t->begin_us), true, in, sizeof in);
	page_time(run_us(t, t->aim_us - t->begin_us) - 500000, false, all, sizeof all);
	wet_text_format(line, sizeof line, "%s, %s of %s", t->stage_name, in, all);
	page_put(p, line, INK_PLAIN, MUST + 1);
	if (t->pour_out_us > s->now_us && !t->next_waits && t->pour_out_us != lead->at_us) {
		page_time(run_us(t, t->pour_out_us - s->now_us), false, in, sizeof in);
		put_labelled(p, "Pour out in ", in, SHOULD);
	} else if (t->next_waits && t->aim_us > s->now_us && t->aim_us != lead->at_us) {
		page_time(run_us(t, t->aim_us - s->now_us), false, in, sizeof in);
		put_labelled(p, "Done in ", in, SHOULD);
	}
}

static void put_temperature(struct page *p, const struct scene_tank *t)
{
	char line[400] = "";
	if (t->temperature[0])
		wet_text_format(line, sizeof line, "Bath at %s", t->temperature);
	if (line[0] && t->end[0])
		wet_text_append(line, sizeof line, "; ends at %s", t->end);
	if (line[0])
		page_put(p, line, INK_PLAIN, DETAIL);
	if (t->forecast[0])
		page_put(p, t->forecast, INK_PLAIN, DETAIL + 1);
}

static void put_warnings(struct page *p, const struct scene *s, const struct scene_tank *t)
{
	char line[300];
	if (t->is_behind && !t->outcome[0])
		put_warning(p, "Not stored yet: the disk is behind; the run goes on.", WARNING);
	if (s->sound[0]) {
		wet_text_format(line, sizeof line, "NO SOUND: %s", s->sound);
		put_warning(p, line, WARNING);
	}
	put_warning(p, t->doubt, WARNING + 1);
	if (t->is_held)
		page_put(p, "Held: the next bath waits for you.", INK_LEAD, SHOULD + 1);
}

static void put_stages(struct page *p, const struct scene *s, const struct scene_tank *t)
{
	char line[200];
	if (s->stage_count == 0)
		return;
	put_blank(p);
	for (int i = 0; i < s->stage_count; i++) {
		const struct scene_stage *stage = &s->stages[i];
		bool is_live = i == t->stage && !t->outcome[0];
		int away = i > t->stage ? i - t->stage : t->stage - i;
		wet_text_format(line, sizeof line, "%-5s%-*s %s", stage->is_done ? "done" : is_live ? "now" : "",
						p->columns < 44 ? 22 : 28, stage->name, stage->time);
		page_put(p, line, is_live ? INK_PLAIN : INK_FAINT, t->stage >= 0 && away > STAGES_NEAR ? FAR + away : STAGES + away);
	}
}

static void put_tank(struct page *p, const struct scene *s, const struct scene_tank *t, int nth)
{
	char time[32] = "", line[300];
	if (t->hands[0] && t->hands_us > s->now_us)
		page_time(run_us(t, t->hands_us - s->now_us), false, time, sizeof time);
	wet_text_format(line, sizeof line, "%d %s: %s%s%s", nth, t->name, time[0] ? time : "now", ", ",
					time[0] ? t->hands : t->order[0] ? t->order : t->doing);
	page_put(p, line, INK_PLAIN, TANKS + nth);
}

static void put_tanks(struct page *p, const struct scene *s)
{
	int nth = 0, shown = 0;
	char line[80];
	if (scene_live_count(s) < 2)
		return;
	put_blank(p);
	page_put(p, "Other tanks, chosen by digit:", INK_FAINT, TANKS + 1);
	for (int i = 0; i < s->count; i++) {
		if (s->tanks[i].outcome[0])
			continue;
		nth++;
		if (i == s->watched)
			continue;
		if (shown++ < TANKS_SHOWN)
			put_tank(p, s, &s->tanks[i], nth);
	}
	if (shown > TANKS_SHOWN) {
		wet_text_format(line, sizeof line, "and %d more: wetside status", shown - TANKS_SHOWN);
		page_put(p, line, INK_FAINT, TANKS + 9);
	}
}

static const char *const help[] = {
	"space or Enter: go on (when ready: begin)",
	"+ or l: fifteen seconds longer",
	"h: hold the next bath back, or let it go",
	"u: undo the last press",
	"w: say where we are",
	"t: a reading; then + and - step it, t or space keeps it, another key leaves",
	"r: resume after an emergency",
	"a: abandon the run (three times)",
	"e: EMERGENCY",
	"1 to 9: the tank; when ready, the number you heard",
	"q: leave the watch, the run goes on (not in the dark)",
	"Three presses within two seconds, or a key kept down, press harder.",
};

static void put_keys(struct page *p, const struct scene *s, const struct scene_tank *t)
{
	char line[300];
	const char *go = is_phase(t, "ready") ? "begin" : "go on";
	wet_text_format(line, sizeof line,
					"space %s | + longer | h hold | u undo | w where | t reading | r resume | e EMERGENCY%s | q leave | ? keys", go,
					scene_live_count(s) > 1 ? " | 1-9 tank" : "");
	bool is_short = p->rows < KEYS_ROWS_FROM;
	int from = p->count;
	page_put(p, is_short ? "e EMERGENCY | ? keys" : line, INK_FAINT, is_short ? DETAIL - 1 : KEYS);
	for (int i = from; i < p->count; i++)
		p->lines[i].is_bottom = true;
}

static void put_tank_page(struct page *p, const struct scene *s, const struct scene_tank *t, const struct lead *lead)
{
	put_header(p, s, t);
	put_blank(p);
	page_put(p, lead->text, lead->ink, MUST);
	if (is_phase(t, "interrupted"))
		put_labelled(p, "", "Everything is interrupted. Resume with r when all is well.", SHOULD);
	put_time(p, s, t, lead);
	if (s->entry[0])
		page_put(p, s->entry, INK_LEAD, MUST);
	put_warning(p, s->told, SHOULD);
	put_blank(p);
	put_stage(p, s, t, lead);
	put_warnings(p, s, t);
	put_temperature(p, t);
	if (strcmp(lead->text, t->hands) == 0)
		put_labelled(p, "Now: ", t->doing, DETAIL + 2);
	if (strcmp(lead->text, t->next) != 0 && !is_phase(t, "waiting")) /* what is waited for leads already */
		put_labelled(p, "Then: ", t->next, DETAIL + 3);
	put_labelled(p, "Heard: ", t->heard, DETAIL + 5);
	put_tanks(p, s);
	put_stages(p, s, t);
	put_keys(p, s, t);
}

void page_fill(struct page *p, const struct scene *s, int rows, int columns, bool is_unicode)
{
	const struct scene_tank *t = scene_tank(s);
	struct lead lead;
	p->count = 0;
	p->rows = rows < 1 ? 1 : rows > PAGE_ROWS_MAX ? PAGE_ROWS_MAX : rows;
	p->columns = columns < 1 ? 1 : columns > PAGE_COLUMNS_MAX ? PAGE_COLUMNS_MAX : columns;
	p->is_unicode = is_unicode;
	find_lead(s, &lead);
	if (s->is_help) {
		for (size_t i = 0; i < sizeof help / sizeof help[0]; i++)
			page_put(p, help[i], INK_PLAIN, (int)i);
	} else if (s->is_emergency || s->is_gone || !t) {
		page_put(p, lead.text, lead.ink, MUST);
		if (s->is_emergency && s->is_gone)
			page_put(p, "No daemon heard it; it is told as soon as one is there. Start it: wetsided", INK_PLAIN, SHOULD);
		put_warning(p, s->told, SHOULD);
		page_put(p, "e EMERGENCY | q leave", INK_FAINT, KEYS);
		p->lines[p->count - 1].is_bottom = true;
	} else {
		put_tank_page(p, s, t, &lead);
	}
	page_to_cells(p);
}
