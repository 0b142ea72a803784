/* inside.h: what the files of the methods room share. */
#ifndef WET_METHODS_INSIDE_H
#define WET_METHODS_INSIDE_H

#include "methods/methods.h"
#include "wetside/caution.h"

/* A reply that comes later. */
struct pending {
	struct wet_methods *methods;
	uint64_t client_id;
	wet_rpc_ticket ticket;
	uint32_t uid; /* who asked */
};
struct pending *hold_reply(const struct wet_call *call);    /* NULL: answered with NOMEM */
void reply_result(struct pending *pending, json_t *result); /* frees pending, takes result */
void reply_fault(struct pending *pending, const struct wet_fault *fault);

void call_fault(struct wet_call *call, const struct wet_fault *fault);
void call_result(struct wet_call *call, json_t *result);

/* Parameters. False: the fault was answered. Absent optional ones leave *ret untouched. */
bool want_text(struct wet_call *call, const char *key, bool is_needed, char *ret_text, size_t text_bytes);
/* A text that will be stored and shown, and must be typed again to be found: without control characters. */
bool want_name(struct wet_call *call, const char *key, char *ret_text, size_t text_bytes);
/* Who it is, by "person"; who gives no name is the user of the connection, "uid 1000", and nobody else. */
bool want_person(struct wet_call *call, char *ret_person, size_t person_bytes);
bool want_int(struct wet_call *call, const char *key, int64_t low, int64_t high, int64_t *ret_value);
bool want_bool(struct wet_call *call, const char *key, bool *ret_value);
/* A list of at most so many texts, borrowed; NULL where it is absent. */
bool want_list(struct wet_call *call, const char *key, size_t most, json_t **ret_list);
/* As people type them, with their units; an empty text is as good as none. */
bool want_volume(struct wet_call *call, const char *key, bool is_needed, int64_t *ret_ul);
bool want_temperature(struct wet_call *call, const char *key, bool is_needed, int32_t *ret_mc);
bool want_duration(struct wet_call *call, const char *key, int64_t *ret_ns);
bool want_length_um(struct wet_call *call, const char *key, int64_t *ret_um); /* over nothing */
bool want_size(struct wet_call *call, const char *key, int64_t *ret_width_um, int64_t *ret_height_um);
/* In the unit that was asked in, as a graduate shows it: a litre's parts in millilitres, a gallon's or pint's in fluid
 * ounces of the same country. */
char *print_asked_volume(int64_t volume_ul, int unit, char *buf, unsigned buf_bytes);
/* Answers with the fault, the key in front of its place; returns false. */
bool call_fault_at(struct wet_call *call, const char *key, struct wet_fault *fault);
/* A row into a list that must stay within so many bytes of JSON; takes it. False: there is no room any more, or no memory. */
bool add_within(json_t *list, json_t *value, size_t *left);
/* No member but those in the comma-separated list. */
bool want_only(struct wet_call *call, const char *keys);

/* acts.c: the run that is named, or the one an unnamed act belongs to. False: answered. */
bool find_run(struct wet_call *call, struct wet_live **ret_live);
/* A run belongs to who armed it; the group may control it if its owner said so. Emergency is everyone's. False: answered. */
bool may_control(struct wet_call *call, const struct wet_live *live);
/* checklist.c */
struct wet_answers;
void serve_checklist_get(struct wet_call *call);
void serve_checklist_answer(struct wet_call *call);
void serve_checklist_repeat(struct wet_call *call);
/* The number was heard (or begun unheard) with the begin itself: for the record. */
void checklist_heard(struct wet_call *call, const struct wet_live *live, bool is_unheard);
json_t *wet_answers_json(const struct wet_answers *answers);

void serve_act_begin(struct wet_call *call);
void serve_act(struct wet_call *call, int kind);
void serve_reading(struct wet_call *call);
void serve_reading_step(struct wet_call *call);
void serve_refuse(struct wet_call *call);
void serve_screen_judge(struct wet_call *call);
void serve_screen_list(struct wet_call *call);
void serve_stages(struct wet_call *call);
void serve_emergency(struct wet_call *call);
void serve_arm(struct wet_call *call);
/* The parameters of arming; and the run that is armed of them, with its checklist. */
bool want_arming(struct wet_call *call, struct wet_arming *ret_arming);
void arm_and_reply(struct wet_call *call, const struct wet_arming *arming);
void serve_arm_from_cameras(struct wet_call *call); /* unloading.c */
void serve_rehearse(struct wet_call *call);
void serve_recipe_list(struct wet_call *call);
void serve_recipe_get(struct wet_call *call);
void serve_recipe_times(struct wet_call *call); /* times.c */
/* The recipe of "name"; NULL: the fault was answered. shelf.c */
const struct wet_shelf_recipe *find_recipe(struct wet_call *call);
void serve_safety_get(struct wet_call *call);
void serve_acknowledge(struct wet_call *call);
void serve_acknowledged(struct wet_call *call);
void serve_dilution(struct wet_call *call);
void serve_meter(struct wet_call *call);
void serve_us_units(struct wet_call *call); /* us_units.c */
void serve_meter_card(struct wet_call *call); /* card.c */
void serve_formula_list(struct wet_call *call);
void serve_formula_get(struct wet_call *call);
void serve_formula_compute(struct wet_call *call);
void serve_sound(struct wet_call *call); /* sound.c, the three */
void serve_sound_device(struct wet_call *call);
void serve_sound_devices(struct wet_call *call);
json_t *sound_json(const struct wet_ports *ports);
void serve_status(struct wet_call *call);
void serve_stock_warnings(struct wet_call *call);
void serve_record_list(struct wet_call *call);
void serve_record_get(struct wet_call *call);
void serve_record_export(struct wet_call *call);
void serve_record_import(struct wet_call *call);

void serve_inputs(struct wet_call *call); /* inputs.c */

/* blend.c */
void serve_blend(struct wet_call *call);
void serve_blend_time(struct wet_call *call);

/* formula.c: the formula of "name", and what to weigh out for "make", "own", "scale", "measure", with
 * what that meets, none of it forbidden. NULL, false: answered. */
const struct wet_formula *want_formula(struct wet_call *call);
bool want_weigh_out(struct wet_call *call, const struct wet_formula *formula, struct wet_weigh_out *ret_list,
					struct wet_pouring *ret_pouring);
/* mixing.c: that list as what is to be mixed. */
bool want_mixing(struct wet_call *call, const struct wet_formula *formula, struct wet_arming *arming);
void serve_mix(struct wet_call *call);

/* wash.c: a run that needs no sound check and no dark: it begins by itself and waits for the go. `more` is taken, and
 * stands in the reply under `key`; NULL: no memory. */
void arm_and_begin(struct wet_call *call, const struct wet_arming *arming, const char *key, json_t *more);

/* cut.c */
void serve_cut_compute(struct wet_call *call);
void serve_cut(struct wet_call *call);
void serve_piece_list(struct wet_call *call);

/* loading.c, notebook.c: pieces in cameras, boxes of paper, the notebook */
void serve_camera_load(struct wet_call *call);
void serve_camera_unload(struct wet_call *call);
void serve_box_list(struct wet_call *call);
void serve_box_change(struct wet_call *call);
void serve_note_put(struct wet_call *call);
void serve_note_mark(struct wet_call *call);
void serve_note_meter(struct wet_call *call);
void serve_note_list(struct wet_call *call);
void serve_note_history(struct wet_call *call);
void serve_judgement_put(struct wet_call *call); /* judging.c */
void serve_judgement_suggest(struct wet_call *call);
/* record_view.c: looking back: one run with its pieces, finding, comparing */
struct wet_records;
struct wet_ledger_run;
json_t *record_row_json(const struct wet_ledger_run *run); /* shelf.c */
json_t *record_baths_json(const struct wet_records *records);
json_t *record_gaps_json(const struct wet_records *records);
void serve_record_pieces(struct wet_call *call);
void serve_record_find(struct wet_call *call);
void serve_record_compare(struct wet_call *call);
/* Does the line hold each of the words, or the beginning of longer ones? */
bool has_all_words(const char *line, const char *words);

/* plan.c */
void serve_plan(struct wet_call *call);
void serve_plan_get(struct wet_call *call); /* plan_kept.c */
void serve_plan_list(struct wet_call *call);
void serve_wash(struct wet_call *call); /* wash.c */
void serve_wash_compute(struct wet_call *call);

/* stock.c */
void serve_bottle_add(struct wet_call *call);
void serve_bottle_change(struct wet_call *call);
void serve_bottle_discard(struct wet_call *call);
void serve_bottle_history(struct wet_call *call);
void serve_bottle_list(struct wet_call *call);
void serve_bottle_use(struct wet_call *call);
void serve_bath_add(struct wet_call *call);
void serve_bath_change(struct wet_call *call);
void serve_bath_discard(struct wet_call *call);
void serve_bath_history(struct wet_call *call);
void serve_bath_list(struct wet_call *call);
void serve_bath_use(struct wet_call *call);
void serve_vessel_add(struct wet_call *call);
void serve_vessel_change(struct wet_call *call);
void serve_vessel_discard(struct wet_call *call);
void serve_vessel_history(struct wet_call *call);
void serve_vessel_list(struct wet_call *call);
void serve_camera_add(struct wet_call *call);
void serve_camera_change(struct wet_call *call);
void serve_camera_discard(struct wet_call *call);
void serve_camera_history(struct wet_call *call);
void serve_camera_list(struct wet_call *call);
void serve_graduate_add(struct wet_call *call);
void serve_graduate_change(struct wet_call *call);
void serve_graduate_discard(struct wet_call *call);
void serve_graduate_history(struct wet_call *call);
void serve_graduate_list(struct wet_call *call);

#endif
