/* inputs.c: the configuration, and what it names. Beside the status, whose reply the runs may fill. */
#include "methods/inside.h"

#include "darkroom/inputs.h"
#include "shelf/config.h"
#include "wetside/quantity.h"

/* {"path": "", "faults": ["config.json#/sound/level: ..."], "fault_count": 1}; null: no file and nothing wrong. */
static json_t *config_json(const struct wet_config *config)
{
	if (!config || (!config->path[0] && config->fault_count == 0))
		return json_null();
	json_t *faults = json_array();
	size_t left = WET_REPLY_BYTES / 4;
	for (int i = 0; i < config->fault_count && i < WET_CONFIG_FAULTS; i++) {
		char line[512];
		if (!add_within(faults, json_string(wet_fault_line(&config->faults[i], line, sizeof line)), &left))
			break;
	}
	return json_pack("{s:s, s:o, s:i}", "path", config->path, "faults", faults, "fault_count", config->fault_count);
}

static json_t *switches_json(const struct wet_ports *ports)
{
	int count = 0;
	const struct wet_switch_state *s = ports->switches ? ports->switches(ports->ctx, &count) : NULL;
	json_t *list = json_array();
	for (int i = 0; i < count; i++, s++)
		(void)json_array_append_new(list, json_pack("{s:s, s:s, s:s, s:s, s:s, s:I}", "name", s->name, "device", s->device,
													"run", s->run, "health", s->is_well ? "well" : "not well", "text",
													s->text, "presses", (json_int_t)s->press_count));
	return list;
}

static json_t *probes_json(const struct wet_ports *ports)
{
	int count = 0;
	const struct wet_probe_state *s = ports->probes ? ports->probes(ports->ctx, &count) : NULL;
	int64_t now_ns = ports->now_ns(ports->ctx);
	json_t *list = json_array();
	for (int i = 0; i < count; i++, s++) {
		char temperature[24] = "";
		bool has_value = s->temperature_mc != INT32_MIN;
		const char *health = s->read_count == 0 && !s->is_needed ? "idle" : s->is_well ? "well" : "not well";
		json_int_t age_us = has_value ? (json_int_t)((now_ns - s->temperature_ns) / 1000) : -1;
		if (has_value)
			wet_print_temperature(s->temperature_mc, temperature, sizeof temperature);
		(void)json_array_append_new(
			list, json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:b, s:s, s:I, s:I}", "name", s->name, "file", s->file, "bath",
							s->bath, "room", s->room, "run", s->run, "health", health, "text", s->text, "is_needed",
							s->is_needed, "temperature", temperature, "age_us", age_us, "reads",
							(json_int_t)s->read_count));
	}
	return list;
}

void serve_inputs(struct wet_call *c)
{
	const struct wet_ports *ports = wet_darkroom_ports(c->methods->darkroom);
	call_result(c, json_pack("{s:o, s:o, s:o}", "config", config_json(c->methods->config), "switches", switches_json(ports),
							 "probes", probes_json(ports)));
}
