/* wash.c: a wash as a run of its own, and runs that share one washer. */
#include "darkroom/wash.h"

#include "base/text.h"
#include "darkroom/inside.h"
#include "wetside/quantity.h"

#include <stdlib.h>
#include <string.h>

/* -- what was planned, as text ---------------------------------------------------- */

static const char *const base_keys[WET_BASE_N] = {
	[WET_BASE_RC] = "rc",
	[WET_BASE_FIBRE_SINGLE] = "fibre-single",
	[WET_BASE_FIBRE_DOUBLE] = "fibre-double",
	[WET_BASE_FILM] = "film",
};

const char *wet_wash_base_key(enum wet_base base)
{
	return (unsigned)base < WET_BASE_N ? base_keys[base] : "?";
}

int wet_wash_base_from_key(const char *key, enum wet_base *ret_base, struct wet_fault *reterr)
{
	char keys[96] = "";
	for (int i = 0; i < WET_BASE_N; i++) {
		if (strcmp(key, base_keys[i]) == 0) {
			*ret_base = (enum wet_base)i;
			return WET_OK;
		}
		wet_text_append(keys, sizeof keys, "%s%s", i > 0 ? ", " : "", base_keys[i]);
	}
	if (wet_base_from_word(key, ret_base, NULL) == 0)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "base", key, "one of: %s", keys);
}

void wet_washing_of(const struct wet_wash_ask *ask, const struct wet_wash_plan *plan, bool by_changes,
					struct wet_washing *ret_washing)
{
	struct wet_washing w = { .base = ask->base,
							 .temperature_mc = ask->temperature_mc,
							 .aid_ns = plan->aid_ns };
	w.wash_ns = plan->running_ns;
	if (by_changes) {
		w.wash_ns = plan->standing_ns;
		w.water_ul = plan->water_ul;
		w.waters.count = plan->changes;
		w.waters.first_ns = plan->change_ns[0];
		w.waters.each_ns = plan->changes > 1 ? plan->change_ns[1] : plan->change_ns[0];
	}
	*ret_washing = w;
}

char *wet_washing_text(const struct wet_washing *w, char *buf, unsigned buf_bytes)
{
	return wet_text_format(buf, buf_bytes,
						   "{\"aid_ns\":%lld,\"base\":\"%s\",\"each_ns\":%lld,\"first_ns\":%lld,"
						   "\"temperature_mc\":%d,\"wash_ns\":%lld,\"water_ul\":%lld,\"waters\":%d}",
						   (long long)w->aid_ns, wet_wash_base_key(w->base), (long long)w->waters.each_ns,
						   (long long)w->waters.first_ns, (int)w->temperature_mc, (long long)w->wash_ns,
						   (long long)w->water_ul, w->waters.count);
}

/* The number behind "key": in our own text; -1 where there is none. */
static int64_t number_of(const char *text, const char *key)
{
	char mark[32];
	wet_text_format(mark, sizeof mark, "\"%s\":", key);
	const char *at = strstr(text, mark);
	return at ? strtoll(at + strlen(mark), NULL, 10) : -1;
}

int wet_washing_from_text(const char *text, size_t text_bytes, struct wet_washing *ret_washing)
{
	struct wet_washing w = { .base = WET_BASE_N };
	char copy[WET_WASHING_BYTES], again[WET_WASHING_BYTES], mark[48];
	if (text_bytes >= sizeof copy)
		return WET_ERR_CORRUPT;
	memcpy(copy, text, text_bytes);
	copy[text_bytes] = '\0';
	for (int i = 0; i < WET_BASE_N; i++) {
		wet_text_format(mark, sizeof mark, "\"base\":\"%s\"", base_keys[i]);
		if (strstr(copy, mark))
			w.base = (enum wet_base)i;
	}
	int64_t waters = number_of(copy, "waters"), mc = number_of(copy, "temperature_mc");
	w.aid_ns = number_of(copy, "aid_ns");
	w.wash_ns = number_of(copy, "wash_ns");
	w.waters.first_ns = number_of(copy, "first_ns");
	w.waters.each_ns = number_of(copy, "each_ns");
	w.water_ul = number_of(copy, "water_ul");
	if (w.base == WET_BASE_N || waters < 0 || waters > WET_WASH_CHANGES || mc < 0 || mc > 40000 ||
		w.aid_ns < 0 || w.aid_ns > WET_STAGE_NS_MAX || w.wash_ns <= 0 || w.wash_ns > WET_STAGE_NS_MAX ||
		w.waters.first_ns < 0 || w.waters.each_ns < 0)
		return WET_ERR_CORRUPT;
	w.waters.count = (int)waters;
	w.temperature_mc = (int32_t)mc;
	/* Whatever else the text may be, it is not ours unless it is written the same way again. */
	if (strcmp(copy, wet_washing_text(&w, again, sizeof again)) != 0)
		return WET_ERR_CORRUPT;
	*ret_washing = w;
	return WET_OK;
}

/* -- as a recipe ---------------------------------------------------------------------- */

/* Its time was planned for the water as it is, so no law stretches it again. */
static struct wet_stage *add_stage(struct wet_recipe *r, enum wet_stage_kind kind, int64_t aim_ns,
								   const char *say)
{
	struct wet_stage *s = &r->stages[r->stage_count++];
	s->kind = kind;
	wet_text_copy(s->name, sizeof s->name, wet_stage_kind_spoken(kind));
	s->bath = r->bath_count++;
	s->begin = WET_BEGIN_ON_GO;
	s->least_ns = s->aim_ns = aim_ns;
	s->most_ns = aim_ns * 2 < WET_STAGE_NS_MAX ? aim_ns * 2 : WET_STAGE_NS_MAX;
	s->law.min_mc = INT32_MIN;
	s->law.max_mc = INT32_MAX;
	s->in_washer = true;
	wet_text_copy(s->say, sizeof s->say, say);
	return s;
}

void wet_wash_recipe(const struct wet_washing *w, struct wet_recipe *ret_recipe)
{
	struct wet_recipe *r = ret_recipe;
	char fill[32];
	memset(r, 0, sizeof *r);
	wet_text_copy(r->name, sizeof r->name, WET_WASH_NAME);
	wet_text_format(r->title, sizeof r->title, "Wash: %s", wet_base_word(w->base));
	r->version = 1;
	r->vessel_kind = WET_VESSEL_WASHER;
	r->is_resin_coated = w->base == WET_BASE_RC;
	r->paper_light = WET_LIGHT_WHITE;
	r->white_after = -1;
	if (w->aid_ns > 0) {
		struct wet_bath *b = &r->baths[r->bath_count];
		wet_text_copy(b->key, sizeof b->key, "washing-aid");
		wet_text_copy(b->name, sizeof b->name, "Washing aid");
		wet_text_copy(b->solution, sizeof b->solution, "washing aid, fresh");
		b->after = WET_AFTER_WASTE;
		(void)add_stage(r, WET_STAGE_AID, w->aid_ns, "Pieces apart.");
	}
	struct wet_bath *b = &r->baths[r->bath_count];
	wet_text_copy(b->key, sizeof b->key, "wash-water");
	wet_text_copy(b->name, sizeof b->name, "Wash water");
	wet_text_copy(b->place, sizeof b->place, "washer");
	b->after = WET_AFTER_WASTE;
	b->is_water = true;
	wet_text_copy(b->solution, sizeof b->solution, "running water");
	struct wet_stage *s = add_stage(r, WET_STAGE_WASH, w->wash_ns, "Pieces apart, water running.");
	if (w->waters.count > 0) {
		s->waters = w->waters;
		wet_print_volume(w->water_ul, fill, sizeof fill);
		wet_text_format(b->solution, sizeof b->solution, "%d fills of fresh water, %s each", w->waters.count,
						fill);
		wet_text_copy(s->say, sizeof s->say, "Pieces apart; pour away and fill anew at each change.");
	}
}

/* -- one washer ----------------------------------------------------------------------- */

int wash_stage(const struct wet_run *run)
{
	const struct wet_stage *s = &run->setup.recipe->stages[run->pos.stage];
	return run->pos.base == WET_PHASE_EARLY && s->kind == WET_STAGE_WASH && s->in_washer ? run->pos.stage + 1
																						 : 0;
}

bool wash_begins(const struct wet_run *run, const struct wet_event *event)
{
	struct wet_run after = *run;
	if (event->kind != WET_ACT_GO && event->kind != WET_ACT_JOIN)
		return false;
	wet_run_advance(&after, event->boot_ns);
	int before = wash_stage(&after);
	wet_run_fold(&after, event);
	return wash_stage(&after) != 0 && (event->kind == WET_ACT_JOIN || wash_stage(&after) != before);
}

static bool shares_washer(const struct wet_live *a, const struct wet_live *b)
{
	const struct wet_run_setup *x = &a->run.setup, *y = &b->run.setup;
	return x->is_rehearsal == y->is_rehearsal && strcmp(x->room, y->room) == 0 &&
		   strcmp(x->washer.name, y->washer.name) == 0;
}

/* One that washes already; false: it could not be restarted. */
static bool join_one(struct wet_darkroom *d, struct wet_live *live, int64_t pieces, uint32_t uid,
					 int64_t now_ns)
{
	struct wet_event event = { .kind = WET_ACT_JOIN, .a_ns = pieces, .bath = -1, .number = -1, .uid = uid };
	struct wet_answer a = { .kind = WET_ANSWER_DO };
	stamp_event(d, live, &event, now_ns);
	wet_run_try(&live->run, NULL, &event, &a);
	if (a.kind != WET_ANSWER_DO || live_append(d, live, &event, &a, NULL, NULL) != 0)
		return false;
	wet_live_tell(d, live, "joined", WET_TONE_ANSWER, 1, a.text);
	live_replan(d, live, event.boot_ns);
	return true;
}

void wash_join_others(struct wet_darkroom *d, struct wet_live *live, int64_t pieces, uint32_t uid, char *text,
					  unsigned text_bytes)
{
	int64_t now_ns = now_of(d);
	char joined[96] = "", not_joined[96] = "";
	int count = 0;
	/* Touching moves a run to the newest end: every run is met once in so many steps. */
	size_t left = d->live_count + d->ended_count;
	for (struct wet_live *l = d->oldest, *next; l && left > 0; l = next, left--) {
		next = l->newer;
		if (l == live || wet_live_is_over(l) || !shares_washer(l, live))
			continue;
		struct wet_run now = l->run;
		wet_run_advance(&now, now_ns);
		if (wash_stage(&now) == 0)
			continue;
		if (join_one(d, l, pieces, uid, now_ns)) {
			wet_text_append(joined, sizeof joined, "%s%s", count > 0 ? ", " : "", l->name);
			count++;
		} else {
			wet_text_append(not_joined, sizeof not_joined, "%s%s", not_joined[0] ? ", " : "", l->name);
		}
	}
	if (count > 0)
		wet_text_append(text, text_bytes, " The wash of %s begins anew for %s.", joined,
						count == 1 ? "both" : "all");
	if (not_joined[0])
		wet_text_append(text, text_bytes, " Not for %s: join it when it goes on.", not_joined);
}
