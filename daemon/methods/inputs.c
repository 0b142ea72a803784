/* inputs.c: the configuration, and what it names. Beside the status, whose reply the runs may fill. */
#include "methods/inside.h"

#include "shelf/config.h"

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

void serve_inputs(struct wet_call *c)
{
	call_result(c, json_pack("{s:o}", "config", config_json(c->methods->config)));
}
