/* table.c: dispatch, parameters, replies. */
#include "methods/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

static void serve_go(struct wet_call *c)
{
	serve_act(c, WET_ACT_GO);
}
static void serve_hold(struct wet_call *c)
{
	serve_act(c, WET_ACT_HOLD);
}
static void serve_longer(struct wet_call *c)
{
	serve_act(c, WET_ACT_LONGER);
}
static void serve_undo(struct wet_call *c)
{
	serve_act(c, WET_ACT_UNDO);
}
static void serve_where(struct wet_call *c)
{
	serve_act(c, WET_ACT_WHERE);
}
static void serve_resume(struct wet_call *c)
{
	serve_act(c, WET_ACT_RESUME);
}
static void serve_abandon(struct wet_call *c)
{
	serve_act(c, WET_ACT_ABANDON);
}

static void serve_join(struct wet_call *c)
{
	serve_act(c, WET_ACT_JOIN);
}

static void serve_follow(struct wet_call *c)
{
	if (!want_only(c, ""))
		return;
	c->methods->follow(c->methods->ctx, c->client_id);
	call_result(c, json_pack("{s:b}", "following", 1));
}

static void serve_discover(struct wet_call *c);

static const struct wet_method table[] = {
	{ "bath.add", serve_bath_add,
	  "name,what,volume,full,dilution,mixed,area,pieces,size,as_second,rotations,kept,tray,vessel,place,beside,from,note,token",
	  "A working solution that stands there from now on." },
	{ "bath.change", serve_bath_change,
	  "name,rename,what,volume,full,dilution,mixed,area,pieces,size,as_second,rotations,kept,tray,vessel,place,beside,note,token",
	  "What is known of a working solution is put right." },
	{ "bath.discard", serve_bath_discard, "name,note,token",
	  "A working solution is gone; its history stays." },
	{ "bath.history", serve_bath_history, "name,before",
	  "What was done to a working solution, newest first." },
	{ "bath.list", serve_bath_list, "gone,after,size",
	  "Every working solution that stands there." },
	{ "bath.use", serve_bath_use, "name,volume,area,pieces,size,as_second,note,token",
	  "So much paper went through a working solution, or so much was lost of it." },
	{ "blend.compute", serve_blend, "to,make,hot,cold,stock,stock_at,step,vessel,vessel_at",
	  "Hot and cold water, and stock, to a temperature." },
	{ "blend.time", serve_blend_time, "bottle,in,to,constant,after,reads,holds,bath,room,bath_constant,bath_after,bath_reads",
	  "How long a bottle stands in a water bath until it has a temperature." },
	{ "bottle.add", serve_bottle_add, "name,what,volume,full,strength,opened,lot,place,beside,note,token",
	  "A bottle that stands there from now on." },
	{ "bottle.change", serve_bottle_change, "name,rename,what,volume,full,strength,opened,lot,place,beside,note,token",
	  "What is known of a bottle is put right." },
	{ "bottle.discard", serve_bottle_discard, "name,note,token",
	  "A bottle is gone; its history stays." },
	{ "bottle.history", serve_bottle_history, "name,before",
	  "What was done to a bottle, newest first." },
	{ "bottle.list", serve_bottle_list, "gone,after",
	  "Every bottle that stands there." },
	{ "bottle.use", serve_bottle_use, "name,volume,note,token",
	  "So much was drawn from a bottle." },
	{ "box.change", serve_box_change, "name,paper,paper_index,reciprocity,direct_positive,negative,safelight,tested,person,token",
	  "What is known of a box of paper." },
	{ "box.list", serve_box_list, "", "Boxes of paper, and the safelight they had." },
	{ "camera.add", serve_camera_add, "name,kind,pinhole,distance,aperture,format,place,note,token",
	  "A camera that is used from now on." },
	{ "camera.change", serve_camera_change, "name,rename,kind,pinhole,distance,aperture,format,place,note,token",
	  "What is known of a camera is put right." },
	{ "camera.discard", serve_camera_discard, "name,note,token",
	  "A camera is gone; its history stays." },
	{ "camera.history", serve_camera_history, "name,before",
	  "What was done to a camera, newest first." },
	{ "camera.list", serve_camera_list, "gone,after",
	  "Every camera that is used." },
	{ "camera.load", serve_camera_load, "name,piece,box,size,emulsion,safelight,person,token",
	  "A piece is in a camera from now on." },
	{ "camera.unload", serve_camera_unload, "name,exposed,unexposed,safelight,person,token",
	  "What was in a camera is out of it." },
	{ "changes.follow", serve_follow, "",
	  "From now on notifications run.changed carry the whole new state of what changed." },
	{ "checklist.answer", serve_checklist_answer, "run,key,answer,number,person",
	  "An item of the list before the light goes out is confirmed or skipped." },
	{ "checklist.get", serve_checklist_get, "run,person", "What is gone through before the light goes out, and what was answered." },
	{ "checklist.repeat", serve_checklist_repeat, "run,number,person",
	  "The answers of the same load before, within a working day, stand; the number was heard." },
	{ "cut.compute", serve_cut_compute, "sheet,sheets,pieces,inside,under,kerf,margin,base,first,layout,columns",
	  "Pieces out of sheets of paper, by cuts from edge to edge." },
	{ "dilution.compute", serve_dilution,
	  "ratio,then,make,have,stock,with,to,solute,graduates,reading", "Quick dilution." },
	{ "emergency.raise", serve_emergency, "", "Lights on; every run is interrupted." },
	{ "formula.compute", serve_formula_compute, "name,make,own,scale,measure",
	  "What to weigh out for a volume, in the order of dissolving." },
	{ "formula.get", serve_formula_get, "name", "One formula in full." },
	{ "formula.list", serve_formula_list, "", "The formulas, and the files that could not be used." },
	{ "graduate.add", serve_graduate_add, "name,holds,marks,class,place,note,token",
	  "A graduate that stands there from now on." },
	{ "graduate.change", serve_graduate_change, "name,rename,holds,marks,class,place,note,token",
	  "What is known of a graduate is put right." },
	{ "graduate.discard", serve_graduate_discard, "name,note,token",
	  "A graduate is gone; its history stays." },
	{ "graduate.history", serve_graduate_history, "name,before",
	  "What was done to a graduate, newest first." },
	{ "graduate.list", serve_graduate_list, "gone,after",
	  "Every graduate that stands there." },
	{ "inputs.get", serve_inputs, "", "The configuration and what is wrong with it; the foot switches and probes that it names." },
	{ "judgement.put", serve_judgement_put, "piece,judged,dry,wet,flaws,direct_positive,negative,person,token",
	  "A piece against what was wanted, and what all of its paper teach." },
	{ "judgement.suggest", serve_judgement_suggest, "paper", "Index and reciprocity for the next exposures of a paper." },
	{ "meter.card", serve_meter_card, "cameras,paper_index,direct_positive,negative,holds,reciprocity,index,aperture",
	  "A card for the pocket: the times of each camera for each light." },
	{ "meter.compute", serve_meter,
	  "reading,bright,shaded,meter_index,k,c,camera,aperture,pinhole,distance,best,wavelength,paper_index,direct_positive,negative,"
	  "place,holds,more,less,filters,magnification,bellows,focal,reciprocity,bracket,count,flash,flash_test",
	  "From readings to the seconds that are counted." },
	{ "note.history", serve_note_history, "piece", "An entry as it was written, and each correction." },
	{ "note.list", serve_note_list, "find,after", "The notebook; with words only what holds them all." },
	{ "note.mark", serve_note_mark, "piece,fogged,left_open,sound,person,token", "What befell a piece." },
	{ "note.meter", serve_note_meter, "text,person,token", "Aperture and index of readings that are a time alone." },
	{ "note.put", serve_note_put, "piece,text,change,person,token", "The entry of a piece, in one line, or its correction." },
	{ "piece.list", serve_piece_list, "after",
	  "Pieces that were cut, by their numbers; next: the place behind the last of the page, or null." },
	{ "plan.compute", serve_plan, "recipe,vessel,washer,pieces,keep,trial,mix_lots,hot,cold,stock,room,stale_air",
	  "What to mix for how many loads, from the shelf as it stands." },
	{ "plan.get", serve_plan_get, "name", "A kept plan with its mixing sheet, as they were told then." },
	{ "plan.list", serve_plan_list, "", "The plans that were kept." },
	{ "reading.step", serve_reading_step, "run,bath,from,step",
	  "The temperature to begin a reading with, or half a degree above or below one; it is spoken, and not yet read." },
	{ "recipe.get", serve_recipe_get, "name,stale_air", "One recipe in full." },
	{ "recipe.list", serve_recipe_list, "", "The recipes, and the files that could not be used." },
	{ "recipe.times", serve_recipe_times, "name,fahrenheit", "How long its stages take at each temperature." },
	{ "record.compare", serve_record_compare, "run,with", "Two finished runs side by side." },
	{ "record.export", serve_record_export, "cursor",
	  "The whole ledger as lines of JSON, a page at a time; next: the cursor of the page behind, or null." },
	{ "record.find", serve_record_find, "date,since,until,recipe,camera,paper,words,before",
	  "Finished runs that hold what is asked, newest first." },
	{ "record.get", serve_record_get, "run", "One finished run: what was done, when, how warm." },
	{ "record.import", serve_record_import, "lines,check",
	  "Lines of an exported ledger, in order, batch by batch; with check nothing is stored." },
	{ "record.list", serve_record_list, "before", "Finished runs, newest first." },
	{ "record.pieces", serve_record_pieces, "run", "The pieces of a run, with their notes and judgements." },
	{ "rpc.discover", serve_discover, "", "This table." },
	{ "run.abandon", serve_abandon, "run,held,number,token", "Ends a run for good." },
	{ "run.arm", serve_arm,
	  "recipe,plan,run,vessel,washer,pieces,room,person,fill,drain,stagger,room_temperature,cooling,no_beat,group,stale_air,"
	  "number_later,from_cameras,unload",
	  "From a recipe and a vessel, or the next load of a plan, to a run that is ready." },
	{ "run.begin", serve_act_begin, "run,heard,unheard,number,token", "Light and screen are off: begin." },
	{ "run.cut", serve_cut,
	  "sheet,sheets,pieces,inside,under,kerf,margin,base,first,layout,columns,safelight,box,run,room,person,group,rehearse",
	  "Sheets cut in the dark, as a run that leads through it." },
	{ "run.go", serve_go, "run,held,number,token", "The next piece, the next bath, or: pouring now." },
	{ "run.hold", serve_hold, "run,number,token", "The next bath will wait; again: it won't." },
	{ "run.join", serve_join, "run,pieces,number,token",
	  "Other pieces came into the washer: the wash begins anew for every run in it." },
	{ "run.longer", serve_longer, "run,by,held,number,token", "More time in this bath." },
	{ "run.mix", serve_mix, "name,make,own,scale,measure,bottle,bath,run,room,person,no_beat,group",
	  "A formula mixed, as a run that leads through it; at its end the bottle or bath is on the shelf." },
	{ "run.reading", serve_reading, "run,temperature,bath,when,room,token", "A bath's temperature." },
	{ "run.rehearse", serve_rehearse, "recipe,run,rate,rates,pieces,mine,wet,vessel,washer,no_beat,fill,drain,make,own,scale,measure",
	  "The same run, fast, using nothing; of a formula: its mixing." },
	{ "run.resume", serve_resume, "run,number,token", "After an interruption." },
	{ "run.stages", serve_stages, "run", "The stages of a run, with the times they took or are planned to take." },
	{ "run.undo", serve_undo, "run,number,token", "Takes back the last act of the live stage." },
	{ "run.wash", serve_wash, "base,pieces,size,area,aid,water,fill_of,fill_and_dump,run,washer,room,person,group",
	  "A wash alone, as a run that waits for go." },
	{ "run.where", serve_where, "run", "Where am I?" },
	{ "safety.acknowledge", serve_acknowledge, "name,person", "The note was read." },
	{ "safety.acknowledged", serve_acknowledged, "name,person", "Did this person read the note as it is now?" },
	{ "safety.get", serve_safety_get, "name,stale_air", "The safety note of a recipe or of mixing a formula." },
	{ "screen.judge", serve_screen_judge, "name,distance,passed,person,token",
	  "What the fog test of a screen told: passed is all quarters one black." },
	{ "screen.list", serve_screen_list, "name,after", "The screens whose fog test was done, as it was last." },
	{ "sound.device", serve_sound_device, "device",
	  "Where the sound goes; with a device: from now on, until the daemon ends." },
	{ "sound.devices", serve_sound_devices, "", "What ALSA names for playing." },
	{ "sound.play", serve_sound, "tone,run,say",
	  "The tones and what they mean; plays one, or a run's sound check." },
	{ "sound.refuse", serve_refuse, "run", "A key that means nothing here: the low answer." },
	{ "status.get", serve_status, "", "Every run, the sound, the disk, the shelf." },
	{ "stock.warnings", serve_stock_warnings, "", "Bottles and baths that are past their age, or spent." },
	{ "units.us", serve_us_units, "lines", "The same sentences with the US measure behind each metric one." },
	{ "vessel.add", serve_vessel_add, "name,kind,least,most,pieces,piece,tray,fill,drain,cooling,heat,place,note,token",
	  "A vessel that stands there from now on." },
	{ "vessel.change", serve_vessel_change, "name,rename,kind,least,most,pieces,piece,tray,fill,drain,cooling,heat,place,note,token",
	  "What is known of a vessel is put right." },
	{ "vessel.discard", serve_vessel_discard, "name,note,token",
	  "A vessel is gone; its history stays." },
	{ "vessel.history", serve_vessel_history, "name,before",
	  "What was done to a vessel, newest first." },
	{ "vessel.list", serve_vessel_list, "gone,after",
	  "Every vessel that stands there." },
	{ "wash.compute", serve_wash_compute, "base,pieces,size,area,aid,water,fill_of,fill_and_dump",
	  "How long, how often and with how much water to wash." },
};

const struct wet_method *wet_method_table(size_t *ret_count)
{
	*ret_count = sizeof table / sizeof table[0];
	return table;
}

static void serve_discover(struct wet_call *c)
{
	json_t *list = json_array();
	for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
		(void)json_array_append_new(list, json_pack("{s:s, s:s, s:s}", "name", table[i].name, "params",
													table[i].params, "help", table[i].help));
	call_result(c, json_pack("{s:o}", "methods", list));
}

void wet_methods_serve(struct wet_methods *methods, struct wet_rpc *rpc, wet_rpc_ticket ticket,
					   uint64_t client_id, uint32_t uid, const char *method, json_t *params)
{
	struct wet_call call = {
		.methods = methods, .rpc = rpc, .ticket = ticket, .client_id = client_id, .uid = uid
	};
	size_t low = 0, high = sizeof table / sizeof table[0];
	while (low < high) {
		size_t mid = (low + high) / 2;
		int order = strcmp(method, table[mid].name);
		if (order == 0) {
			if (params && !json_is_object(params)) {
				wet_rpc_error(rpc, ticket, wet_err_wire(WET_ERR_PARAMS), "params must be an object", NULL);
				return;
			}
			call.params = params ? json_incref(params) : json_object();
			if (!call.params)
				wet_rpc_error(rpc, ticket, wet_err_wire(WET_ERR_NOMEM), wet_err_text(WET_ERR_NOMEM), NULL);
			else if (want_only(&call, table[mid].params))
				table[mid].serve(&call);
			json_decref(call.params);
			return;
		}
		if (order < 0)
			high = mid;
		else
			low = mid + 1;
	}
	struct wet_fault fault = { 0 };
	wet_fault_set(&fault, WET_ERR_METHOD, "method", method, "one of those that rpc.discover lists");
	wet_rpc_fault(rpc, ticket, &fault);
}

/* -- parameters ---------------------------------------------------------------- */

bool want_only(struct wet_call *call, const char *keys)
{
	const char *key;
	json_t *value;
	struct wet_fault fault = { 0 };
	json_object_foreach(call->params, key, value)
	{
		size_t n = strlen(key);
		const char *p = keys;
		bool is_known = false;
		while (*p && !is_known) {
			size_t m = strcspn(p, ",");
			is_known = m == n && strncmp(p, key, n) == 0;
			p += m + (p[m] == ',');
		}
		if (!is_known) {
			wet_fault_set(&fault, WET_ERR_PARAMS, "params", key, keys[0] ? "only: %s" : "no parameters%s",
						  keys);
			call_fault(call, &fault);
			return false;
		}
	}
	return true;
}

static bool wrong(struct wet_call *call, const char *key, const char *want)
{
	struct wet_fault fault = { 0 };
	wet_fault_set(&fault, WET_ERR_PARAMS, key, NULL, "%s", want);
	call_fault(call, &fault);
	return false;
}

bool want_text(struct wet_call *call, const char *key, bool is_needed, char *ret_text, size_t text_bytes)
{
	json_t *v = json_object_get(call->params, key);
	struct wet_fault fault = { 0 };
	if (!v || json_is_null(v))
		return is_needed ? wrong(call, key, "this parameter, a text") : true;
	if (!json_is_string(v))
		return wrong(call, key, "a text");
	if (json_string_length(v) >= text_bytes) {
		wet_fault_set(&fault, WET_ERR_TOO_LONG, key, NULL, "at most %d bytes", (int)text_bytes - 1);
		call_fault(call, &fault);
		return false;
	}
	wet_text_copy(ret_text, text_bytes, json_string_value(v));
	return true;
}

bool want_name(struct wet_call *call, const char *key, char *ret_text, size_t text_bytes)
{
	char name[WET_NAME_BYTES] = "", clean[WET_NAME_BYTES];
	if (!want_text(call, key, false, name, sizeof name))
		return false;
	if (strcmp(wet_text_clean(clean, sizeof clean, name), name) != 0)
		return wrong(call, key, "a name without control characters");
	if (name[0])
		wet_text_copy(ret_text, text_bytes, name);
	return true;
}

bool want_person(struct wet_call *call, char *ret_person, size_t person_bytes)
{
	wet_text_format(ret_person, (unsigned)person_bytes, "uid %u", (unsigned)call->uid);
	return want_name(call, "person", ret_person, person_bytes);
}

bool want_int(struct wet_call *call, const char *key, int64_t low, int64_t high, int64_t *ret_value)
{
	json_t *v = json_object_get(call->params, key);
	struct wet_fault fault = { 0 };
	if (!v || json_is_null(v))
		return true;
	if (json_is_integer(v) && json_integer_value(v) >= low && json_integer_value(v) <= high) {
		*ret_value = json_integer_value(v);
		return true;
	}
	wet_fault_set(&fault, WET_ERR_PARAMS, key, NULL, "a whole number from %lld to %lld", (long long)low,
				  (long long)high);
	call_fault(call, &fault);
	return false;
}

bool want_bool(struct wet_call *call, const char *key, bool *ret_value)
{
	json_t *v = json_object_get(call->params, key);
	if (!v || json_is_null(v))
		return true;
	if (!json_is_boolean(v))
		return wrong(call, key, "true or false");
	*ret_value = json_is_true(v);
	return true;
}

/* -- replies ------------------------------------------------------------------- */

void call_fault(struct wet_call *call, const struct wet_fault *fault)
{
	wet_rpc_fault(call->rpc, call->ticket, fault);
}

void call_result(struct wet_call *call, json_t *result)
{
	if (result)
		wet_rpc_result(call->rpc, call->ticket, result);
	else
		wet_rpc_error(call->rpc, call->ticket, wet_err_wire(WET_ERR_NOMEM), wet_err_text(WET_ERR_NOMEM),
					  NULL);
}

struct pending *hold_reply(const struct wet_call *call)
{
	struct pending *p = malloc(sizeof *p);
	if (!p) {
		wet_rpc_error(call->rpc, call->ticket, wet_err_wire(WET_ERR_NOMEM), wet_err_text(WET_ERR_NOMEM),
					  NULL);
		return NULL;
	}
	*p = (struct pending){ call->methods, call->client_id, call->ticket, call->uid };
	return p;
}

void reply_result(struct pending *p, json_t *result)
{
	struct wet_rpc *rpc = p->methods->find_client(p->methods->ctx, p->client_id);
	if (rpc && result)
		wet_rpc_result(rpc, p->ticket, result);
	else if (rpc)
		wet_rpc_error(rpc, p->ticket, wet_err_wire(WET_ERR_NOMEM), wet_err_text(WET_ERR_NOMEM), NULL);
	else
		json_decref(result);
	free(p);
}

void reply_fault(struct pending *p, const struct wet_fault *fault)
{
	struct wet_rpc *rpc = p->methods->find_client(p->methods->ctx, p->client_id);
	if (rpc)
		wet_rpc_fault(rpc, p->ticket, fault);
	free(p);
}
