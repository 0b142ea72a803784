/* config.c: the configuration, JSON text -> struct wet_config. The tables are the file's format, and the schema says the
 * same to outside validators. */
#include "shelf/config.h"

#include "base/text.h"
#include "shelf/files.h"
#include "shelf/reader.h"
#include "shelf/where.h"

#include <stdlib.h>
#include <string.h>

#define EVERY_NS_MIN 1000000000LL
#define EVERY_NS_MAX 600000000000LL
#define KEY_MOST 0x2ff /* KEY_MAX of linux/input-event-codes.h */

static struct wet_config *whole(struct reader *r)
{
	return r->whole;
}

static void keep_fault(struct wet_config *c, const struct wet_fault *fault)
{
	if (c->fault_count < WET_CONFIG_FAULTS) {
		c->faults[c->fault_count] = *fault;
		wet_where_prefix(&c->faults[c->fault_count], c->path, fault->where[0] == '/' ? "#" : "");
	}
	c->fault_count++;
}

/* What went wrong is told, and reading goes on behind it. */
static void pass_over(struct reader *r, size_t mark)
{
	keep_fault(whole(r), r->fault);
	*r->fault = (struct wet_fault){ 0 };
	wet_reader_leave(r, mark);
}

/* -- values ------------------------------------------------------------------------ */

static int read_whole(struct reader *r, const json_t *value, void *object, const struct field *field, int low, int high)
{
	double n = json_number_value(value); /* JSON Schema counts 1.0 as an integer, and so do we */
	bool is_within = json_is_number(value) && n >= low && n <= high;
	int number = is_within ? (int)n : 0;
	if (!is_within || n != (double)number)
		return wet_reader_fail(r, json_is_number(value) ? WET_ERR_RANGE : WET_ERR_INVALID, NULL, value,
							   "a whole number from %d to %d", low, high);
	memcpy((char *)object + field->offset, &number, sizeof number);
	return WET_OK;
}

static int read_level(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_whole(r, value, object, field, 0, 1000);
}

static int read_rate(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_whole(r, value, object, field, 80, 400);
}

static int read_switch_key(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	return read_whole(r, value, object, field, 0, KEY_MOST);
}

/* Where the daemon was started says nothing about where a file is: paths begin at the root. */
static int read_path(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	if (text[0] != '/' || text[1] == '\0')
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a path from the root: \"/...\"");
	return wet_read_text(r, value, object, field);
}

static int read_where(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	bool is_fine = strcmp(text, "default") == 0 || strcmp(text, "none") == 0 ||
				   (strncmp(text, "alsa:", 5) == 0 && text[5] != '\0') ||
				   (strncmp(text, "file:/", 6) == 0 && text[6] != '\0');
	if (!is_fine)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "default, none, alsa:NAME or file:/PATH");
	return wet_read_text(r, value, object, field);
}

bool wet_config_is_voice(const char *name)
{
	size_t n = strlen(name);
	return n > 0 && n < WET_NAME_BYTES && name[0] != '-' && name[0] != '/' &&
		   strspn(name, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+-_/") == n;
}

static int read_voice_name(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	if (!wet_config_is_voice(text))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value,
							   "a voice's name, of letters, digits and + - _ /, as in en-gb; or none");
	return wet_read_text(r, value, object, field);
}

/* A name that is looked for, or a path. */
static int read_name_or_path(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	const char *text = wet_reader_string(r, value);
	if (text == NULL)
		return WET_ERR_INVALID;
	if (text[0] == '/' ? text[1] == '\0' : strchr(text, '/') != NULL)
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a name, or a path from the root: \"/...\"");
	return wet_read_text(r, value, object, field);
}

static int read_every(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	int64_t ns = 0;
	struct field inner = { .offset = 0 };
	int rc = wet_read_duration(r, value, &ns, &inner);
	if (rc != 0)
		return rc;
	if (ns < EVERY_NS_MIN || ns > EVERY_NS_MAX)
		return wet_reader_fail(r, WET_ERR_RANGE, NULL, value, "from 1 s to 10 min");
	memcpy((char *)object + field->offset, &ns, sizeof ns);
	return WET_OK;
}

/* -- parts ------------------------------------------------------------------------- */

/* Each member for itself: one that is wrong takes none of the others with it. */
static int read_each(struct reader *r, const json_t *value, const struct field *fields, size_t field_count, const char *what,
					 void *object)
{
	const char *name;
	json_t *member;
	if (!json_is_object(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "an object: %s", what);
	json_object_foreach((json_t *)(uintptr_t)value, name, member)
	{
		size_t mark = strlen(r->pointer);
		json_t *alone = json_pack("{s:O}", name, member);
		if (alone == NULL)
			return wet_reader_fail(r, WET_ERR_NOMEM, NULL, NULL, "more memory");
		if (wet_reader_object(r, alone, fields, field_count, what, object) != 0)
			pass_over(r, mark);
		json_decref(alone);
	}
	return WET_OK;
}

static const struct field sound_fields[] = {
	{ "where", read_where, 0, offsetof(struct wet_config, sound_where), WET_CONFIG_PATH_BYTES },
	VALUE(struct wet_config, "level", sound_level, read_level, 0),
};

static int read_sound(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return read_each(r, value, sound_fields, COUNT(sound_fields), "\"sound\"", object);
}

static const struct field voice_fields[] = {
	{ "name", read_voice_name, 0, offsetof(struct wet_config, voice), WET_NAME_BYTES },
	{ "program", read_name_or_path, 0, offsetof(struct wet_config, voice_program), WET_CONFIG_PATH_BYTES },
	{ "language", read_name_or_path, 0, offsetof(struct wet_config, language), WET_CONFIG_PATH_BYTES },
	VALUE(struct wet_config, "rate", voice_rate, read_rate, 0),
	VALUE(struct wet_config, "level", voice_level, read_level, 0),
};

static int read_voice(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)field;
	return read_each(r, value, voice_fields, COUNT(voice_fields), "\"voice\"", object);
}

/* The list of a part: its elements one by one, by `take`; of too many the first ones count. */
static int read_list(struct reader *r, const json_t *value, size_t most, int (*take)(struct reader *r, const json_t *value))
{
	if (!json_is_array(value))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, value, "a list of at most %zu", most);
	for (size_t i = 0; i < json_array_size(value) && i < most; i++) {
		size_t mark = wet_reader_enter_index(r, i);
		if (take(r, json_array_get(value, i)) != 0)
			pass_over(r, mark);
		wet_reader_leave(r, mark);
	}
	if (json_array_size(value) > most)
		return wet_reader_fail(r, WET_ERR_TOO_MANY, NULL, NULL, "at most %zu, not %zu; the others are left out", most,
							   json_array_size(value));
	return WET_OK;
}

static int take_folder(struct reader *r, const json_t *value, char (*folders)[WET_CONFIG_PATH_BYTES], int *count)
{
	struct field folder = { .bytes = WET_CONFIG_PATH_BYTES };
	int rc = read_path(r, value, folders[*count], &folder);
	*count += rc == 0;
	return rc;
}

static int take_recipes(struct reader *r, const json_t *value)
{
	return take_folder(r, value, whole(r)->recipe_folders, &whole(r)->recipe_folder_count);
}

static int take_safety(struct reader *r, const json_t *value)
{
	return take_folder(r, value, whole(r)->safety_folders, &whole(r)->safety_folder_count);
}

static int read_recipes(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return read_list(r, value, WET_CONFIG_FOLDERS, take_recipes);
}

static int read_safety(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return read_list(r, value, WET_CONFIG_FOLDERS, take_safety);
}

static const struct field probe_fields[] = {
	TEXT(struct wet_probe_setup, "name", name, FIELD_NEEDED),
	{ "file", read_path, FIELD_NEEDED, offsetof(struct wet_probe_setup, file), WET_CONFIG_PATH_BYTES },
	TEXT(struct wet_probe_setup, "bath", bath, 0),
	TEXT(struct wet_probe_setup, "room", room, 0),
	TEXT(struct wet_probe_setup, "run", run, 0),
	VALUE(struct wet_probe_setup, "every", every_ns, read_every, 0),
};

static int take_probe(struct reader *r, const json_t *value)
{
	struct wet_config *c = whole(r);
	struct wet_probe_setup *p = &c->probes[c->probe_count];
	struct wet_probe_setup probe = { .every_ns = WET_PROBE_EVERY_NS };
	int rc = wet_reader_object(r, value, probe_fields, COUNT(probe_fields), "a probe", &probe);
	if (rc != 0)
		return rc;
	if ((probe.bath[0] == '\0') == (probe.room[0] == '\0'))
		return wet_reader_fail(r, WET_ERR_INVALID, NULL, NULL, "one of bath and room: where the probe is");
	if (probe.run[0] != '\0' && probe.bath[0] == '\0')
		return wet_reader_fail(r, WET_ERR_INVALID, "run", NULL, "with a bath only: a room is every run's that is in it");
	for (int i = 0; i < c->probe_count; i++)
		if (strcmp(c->probes[i].name, probe.name) == 0)
			return wet_reader_fail(r, WET_ERR_EXISTS, "name", NULL, "another name than \"%s\", which a probe above has",
								   probe.name);
	*p = probe;
	c->probe_count++;
	return WET_OK;
}

static int read_probes(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return read_list(r, value, WET_PROBES, take_probe);
}

static const struct field switch_fields[] = {
	TEXT(struct wet_switch_setup, "name", name, FIELD_NEEDED),
	{ "device", read_path, FIELD_NEEDED, offsetof(struct wet_switch_setup, device), WET_CONFIG_PATH_BYTES },
	TEXT(struct wet_switch_setup, "run", run, 0),
	VALUE(struct wet_switch_setup, "key", key, read_switch_key, 0),
};

static int take_switch(struct reader *r, const json_t *value)
{
	struct wet_config *c = whole(r);
	struct wet_switch_setup pedal = { .key = -1 };
	int rc = wet_reader_object(r, value, switch_fields, COUNT(switch_fields), "a foot switch", &pedal);
	if (rc != 0)
		return rc;
	for (int i = 0; i < c->switch_count; i++) {
		const struct wet_switch_setup *other = &c->switches[i];
		if (strcmp(other->name, pedal.name) == 0)
			return wet_reader_fail(r, WET_ERR_EXISTS, "name", NULL,
								   "another name than \"%s\", which a foot switch above has", pedal.name);
		/* One press must not be two acts. */
		if (strcmp(other->device, pedal.device) == 0 && (other->key < 0 || pedal.key < 0 || other->key == pedal.key))
			return wet_reader_fail(r, WET_ERR_EXISTS, "key", NULL,
								   "a key of its own for each of two switches on one device, as \"%s\" is on it too",
								   other->name);
	}
	c->switches[c->switch_count++] = pedal;
	return WET_OK;
}

static int read_switches(struct reader *r, const json_t *value, void *object, const struct field *field)
{
	(void)object;
	(void)field;
	return read_list(r, value, WET_FOOT_SWITCHES, take_switch);
}

static const struct field config_fields[] = {
	PART("$schema", wet_read_schema, 0), PART("sound", read_sound, 0),   PART("voice", read_voice, 0),
	PART("recipes", read_recipes, 0),    PART("safety", read_safety, 0), PART("probes", read_probes, 0),
	PART("foot_switches", read_switches, 0),
};

/* -- the file ---------------------------------------------------------------------- */

static void clear(struct wet_config *c, const char *path)
{
	*c = (struct wet_config){ .sound_level = -1, .voice_rate = -1, .voice_level = -1 };
	wet_text_copy(c->path, sizeof c->path, path);
}

void wet_config_decode(const char *json, size_t json_bytes, const char *path, struct wet_config *ret_config)
{
	struct wet_fault fault = { 0 };
	json_t *root = NULL;
	struct reader r = { .whole = ret_config, .fault = &fault };
	clear(ret_config, path);
	if (wet_reader_parse(json, json_bytes, WET_CONFIG_BYTES, &root, &fault) != 0) {
		keep_fault(ret_config, &fault);
		return;
	}
	r.root = root;
	if (read_each(&r, root, config_fields, COUNT(config_fields), "the configuration", ret_config) != 0)
		keep_fault(ret_config, &fault);
	json_decref(root);
}

void wet_config_read(const char *path, bool is_wanted, struct wet_config *ret_config)
{
	struct wet_fault fault = { 0 };
	char *text = NULL;
	size_t bytes = 0;
	int rc = wet_shelf_read_file(path, WET_CONFIG_BYTES, &text, &bytes, &fault);
	if (rc == 0) {
		wet_config_decode(text, bytes, path, ret_config);
		free(text);
		return;
	}
	bool is_absent = rc == WET_ERR_NOT_FOUND && !is_wanted;
	clear(ret_config, is_absent ? "" : path);
	if (is_absent)
		return;
	ret_config->faults[ret_config->fault_count++] = fault; /* says the path already */
}

void wet_config_add_fault(struct wet_config *config, const char *member, const struct wet_fault *fault)
{
	struct wet_fault more = *fault;
	wet_text_copy(more.where, sizeof more.where, member);
	keep_fault(config, &more);
}
