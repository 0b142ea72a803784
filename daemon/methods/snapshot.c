/* snapshot.c: the whole state of one run as JSON. Times are microseconds of boot time. */
#include "methods/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <string.h>

#define AHEAD_NS 1000000000LL

static json_int_t us(int64_t ns)
{
	return ns == INT64_MAX || ns >= INT64_MAX / 2 ? -1 : (json_int_t)(ns / 1000);
}

static json_t *cues_json(const struct wet_live *live)
{
	json_t *list = json_array();
	int64_t from = live->log_seq > WET_CUE_LOG ? live->log_seq - WET_CUE_LOG : 0;
	for (int64_t i = from; list && i < live->log_seq; i++) {
		const struct wet_heard *h = &live->log[i % WET_CUE_LOG];
		if (!h->word[0])
			continue; /* planned, and taken back before its time */
		(void)json_array_append_new(
			list, json_pack("{s:I, s:I, s:I, s:s, s:s, s:i, s:s}", "seq", (json_int_t)h->seq, "at_us",
							us(h->at_boot_ns), "run_us", us(h->at_run_ns), "word", h->word, "tone",
							wet_tone_name(h->tone), "pips", h->pips, "text", h->text));
	}
	return list;
}

/* What the hands do next and when; an empty text where the sentence of now comes first. A cue that was handed over is heard
 * before anybody could read of it. */
static void add_hands(json_t *j, const struct wet_live *live, int64_t now_ns)
{
	struct wet_cue cue = { .at_boot_ns = INT64_MAX };
	int64_t after_ns = live->cue_after_ns > now_ns ? live->cue_after_ns : now_ns;
	if (wet_live_is_over(live) || !wet_run_hands(&live->run, after_ns, &cue)) {
		cue.text[0] = '\0';
		cue.at_boot_ns = INT64_MAX;
	}
	(void)json_object_set_new(j, "hands", json_string(cue.text));
	(void)json_object_set_new(j, "hands_us", json_integer(us(cue.at_boot_ns)));
}

/* Acts that would make the room dark. */
static json_t *darkens_json(const struct wet_darkroom *darkroom, const struct wet_live *live)
{
	static const enum wet_act_kind acts[] = { WET_ACT_BEGIN, WET_ACT_GO, WET_ACT_UNDO, WET_ACT_RESUME };
	json_t *list = json_array();
	for (size_t i = 0; i < sizeof acts / sizeof acts[0]; i++)
		if (wet_live_would_darken(darkroom, live, acts[i]))
			(void)json_array_append_new(list, json_string(wet_act_word(acts[i])));
	return list;
}

/* When the first bath began: people count a session from there. */
static int64_t first_bath_ns(const struct wet_run *run)
{
	for (int i = 0; i < run->setup.recipe->stage_count; i++)
		if (wet_stage_kind_is_bath(run->setup.recipe->stages[i].kind) && run->records[i].flags & WET_STAGE_BEGUN)
			return run->records[i].begin_ns;
	return INT64_MAX;
}

static json_t *degrees(int32_t mc)
{
	return mc == INT32_MIN ? json_null() : json_integer(mc);
}

/* The live bath's temperature, how it goes on, and what that makes of the end: the sentence, and its numbers. */
static json_t *warmth_json(const struct wet_run *run, const struct wet_view *v)
{
	static const char *const courses[WET_COURSE_KIND_N] = { "none", "constant", "vessel", "fitted" };
	return json_pack("{s:s, s:s, s:o, s:o, s:o, s:s, s:i, s:i, s:I, s:I, s:o, s:I, s:I}", "warmth", v->warmth, "end", v->end,
					 "temperature_mc", degrees(v->temperature_mc), "settles_mc", degrees(v->settles_mc), "room_mc",
					 degrees(run->room_mc), "course", courses[v->course], "fit_readings", (int)v->fit_readings,
					 "rate_mc_per_min", v->rate_mc_per_min, "constant_us", us(v->tau_ns), "later_us",
					 (json_int_t)(v->later_ns / 1000), "reference_mc", degrees(v->reference_mc), "forecast_band_us",
					 us(v->forecast_band_ns), "reading_age_us", v->reading_age_ns < 0 ? (json_int_t)-1 : us(v->reading_age_ns));
}

/* A stage's time: as it was where it is done, as it is planned now where it is not. */
static void print_stage_time(const struct wet_run *run, int i, char *buf, unsigned n)
{
	const struct wet_stage_record *r = &run->records[i];
	buf[0] = '\0';
	if (r->flags & WET_STAGE_DONE)
		wet_print_duration((r->end_ns - r->begin_ns + 500000000) / 1000000000 * 1000000000, buf, n);
	else if (run->setup.recipe->stages[i].aim_ns > 0)
		wet_print_duration(run->setup.recipe->stages[i].aim_ns, buf, n);
}

json_t *wet_run_stages(struct wet_live *live)
{
	const struct wet_recipe *recipe = live->run.setup.recipe;
	json_t *list = json_array();
	for (int i = 0; list && i < recipe->stage_count; i++) {
		const struct wet_stage *stage = &recipe->stages[i];
		char time[32];
		print_stage_time(&live->run, i, time, sizeof time);
		(void)json_array_append_new(
			list, json_pack("{s:s, s:s, s:s, s:b, s:s, s:s}", "name", stage->name, "kind", wet_stage_kind_word(stage->kind),
							"place", stage->bath >= 0 ? recipe->baths[stage->bath].place : "", "is_done",
							(live->run.records[i].flags & WET_STAGE_DONE) != 0, "time", time, "light",
							wet_light_kind_word(wet_recipe_light(recipe, i))));
	}
	return list;
}

json_t *wet_run_snapshot(struct wet_darkroom *darkroom, struct wet_live *live)
{
	static const char *const outcomes[] = { "", "finished", "abandoned" };
	const struct wet_ports *ports = wet_darkroom_ports(darkroom);
	const struct wet_recipe *recipe = live->run.setup.recipe;
	struct wet_view v, heard;
	char temperature[24] = "", sound[WET_LINE_BYTES] = "";
	int64_t now_ns = ports->now_ns(ports->ctx);
	wet_run_view(&live->run, now_ns, &v);
	/* A cue is told a moment ahead, and no word comes at its time: what the hands do then is told with it. */
	if (live->cue_after_ns > now_ns && live->cue_after_ns - now_ns < AHEAD_NS) {
		wet_run_view(&live->run, live->cue_after_ns, &heard);
		wet_text_copy(v.doing, sizeof v.doing, heard.stage == v.stage ? heard.doing : v.doing);
	}
	if (v.temperature_mc != INT32_MIN && live->run.is_fahrenheit)
		wet_print_quantity_about((struct wet_quantity){ v.temperature_mc, WET_UNIT_F }, 1, temperature, sizeof temperature);
	else if (v.temperature_mc != INT32_MIN)
		wet_print_temperature(v.temperature_mc, temperature, sizeof temperature);
	if (wet_live_is_over(live) || ports->sound_is_well(ports->ctx, sound, sizeof sound))
		sound[0] = '\0'; /* what is wrong with it, for who looks in later; when it changes, a cue tells it too */
	bool is_bath = v.stage >= 0 && v.aim_ns > 0;
	int64_t deadline_ms = ports->wall_ms(ports->ctx) + (v.aim_boot_ns - now_ns) / 1000000;
	json_t *j =
		json_pack("{s:I, s:s, s:s, s:b, s:s, s:s, s:i, s:s, s:s, s:s, s:s, s:s, s:s, s:I}", "id", (json_int_t)live->id,
				  "name", live->name, "recipe", recipe->name, "is_rehearsal", live->run.setup.is_rehearsal,
				  "phase", wet_run_phase_text(v.phase), "outcome", outcomes[live->run.outcome % 3], "stage",
				  v.stage, "stage_name", v.stage >= 0 ? recipe->stages[v.stage].name : "", "doing", v.doing,
				  "left", v.left, "next", v.next, "order", v.order, "doubt", v.doubt, "number", (json_int_t)v.number);
	if (!j)
		return NULL;
	json_t *more = json_pack("{s:I, s:I, s:I, s:I, s:I, s:I, s:I, s:I, s:f, s:I, s:s, s:I}", "now_us", us(now_ns),
							 "run_us", us(v.now_ns), "first_bath_run_us",
							 us(first_bath_ns(&live->run)), "begin_us", us(v.begin_boot_ns), "pour_out_us",
							 is_bath ? us(v.pour_out_boot_ns) : -1, "aim_us",
							 is_bath ? us(v.aim_boot_ns) : -1, "most_us", is_bath ? us(v.most_boot_ns) : -1,
							 "window_us", v.window_ns > 0 ? us(wet_run_boot(&live->run, v.window_ns)) : -1,
							 "rate", live->run.rate_milli / 1000.0, "band_us", us(v.band_ns), "temperature",
							 temperature, "deadline_utc_ms", is_bath ? (json_int_t)deadline_ms : -1);
	json_t *last =
		json_pack("{s:s, s:b, s:b, s:b, s:b, s:b, s:b, s:b, s:i, s:s, s:s, s:I, s:o*}", "light",
				  wet_light_kind_word(v.light), "is_dark", wet_live_is_dark(darkroom, live), "is_stored",
				  live->stored_seq >= live->seq && !live->has_lost_event, "is_overtime", v.is_overtime,
				  "is_uncertain", v.is_uncertain, "is_held", v.is_held, "is_late", v.is_late, "next_waits",
				  v.next_waits, "pieces", live->run.setup.pieces, "room", live->run.setup.room, "sound", sound,
				  "late_max_us", us(live->late_max_ns), "cues", cues_json(live));
	json_t *warmth = warmth_json(&live->run, &v);
	if (!more || !last || !warmth || json_object_update(j, more) != 0 || json_object_update(j, last) != 0 ||
		json_object_update(j, warmth) != 0) {
		json_decref(j);
		j = NULL;
	}
	json_decref(more);
	json_decref(last);
	json_decref(warmth);
	if (j) {
		add_hands(j, live, now_ns);
		(void)json_object_set_new(j, "darkens", darkens_json(darkroom, live));
		(void)json_object_set_new(j, "wants_number", json_boolean(live->digit > 0));
	}
	return j;
}
