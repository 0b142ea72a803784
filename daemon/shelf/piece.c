/* piece.c: pieces as JSON, member by member from one table. */
#include "shelf/piece.h"

#include "base/text.h"
#include "shelf/reader.h"

#include <stdlib.h>
#include <string.h>

const char *wet_piece_state_word(enum wet_piece_state state)
{
	static const char *const words[WET_PIECE_STATE_N] = {
#define WET_PIECE_WORD(name, text) text,
		WET_PIECE_STATES(WET_PIECE_WORD)
#undef WET_PIECE_WORD
	};
	return words[state];
}

enum member_kind { A_TEXT, A_FLAG, AN_INT64, AN_INT };

static const struct {
	const char *key;
	enum member_kind kind;
	size_t offset, bytes;
} members[] = {
#define MEMBER(key, kind, m) { key, kind, offsetof(struct wet_piece, m), sizeof(((struct wet_piece *)0)->m) }
	MEMBER("base", A_TEXT, base),
	MEMBER("box", A_TEXT, box),
	MEMBER("camera", A_TEXT, camera),
	MEMBER("cut_light_s", AN_INT64, cut_light_s),
	MEMBER("emulsion", A_TEXT, emulsion),
	MEMBER("height_um", AN_INT64, height_um),
	MEMBER("is_fogged", A_FLAG, is_fogged),
	MEMBER("is_in_camera", A_FLAG, is_in_camera),
	MEMBER("is_left_open", A_FLAG, is_left_open),
	MEMBER("load_light_s", AN_INT64, load_light_s),
	MEMBER("loaded_ms", AN_INT64, loaded_ms),
	MEMBER("mark", A_TEXT, mark),
	MEMBER("number", AN_INT, number),
	MEMBER("process_run", AN_INT64, process_run),
	MEMBER("run", AN_INT64, cut_run),
	MEMBER("run_light_s", AN_INT64, run_light_s),
	MEMBER("slot", AN_INT, slot),
	MEMBER("unloaded_ms", AN_INT64, unloaded_ms),
	MEMBER("width_um", AN_INT64, width_um),
#undef MEMBER
};

int wet_piece_decode(const char *text, struct wet_piece *ret_piece, struct wet_fault *reterr)
{
	json_t *body = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
	struct wet_piece piece = { 0 };
	if (!json_is_object(body)) {
		json_decref(body);
		return wet_fault_set(reterr, WET_ERR_INVALID, "piece", NULL, "a piece as the ledger keeps it");
	}
	for (size_t i = 0; i < COUNT(members); i++) {
		const json_t *value = json_object_get(body, members[i].key);
		char *at = (char *)&piece + members[i].offset;
		if (members[i].kind == A_TEXT && json_is_string(value))
			wet_text_copy(at, members[i].bytes, json_string_value(value));
		else if (members[i].kind == A_FLAG)
			*(bool *)at = json_is_true(value);
		else if (members[i].kind == AN_INT64)
			*(int64_t *)at = json_integer_value(value);
		else if (members[i].kind == AN_INT)
			*(int *)at = (int)json_integer_value(value);
	}
	const char *state = json_string_value(json_object_get(body, "state"));
	for (int i = 0; i < WET_PIECE_STATE_N; i++)
		if (state && strcmp(state, wet_piece_state_word((enum wet_piece_state)i)) == 0)
			piece.state = (enum wet_piece_state)i;
	json_decref(body);
	*ret_piece = piece;
	return WET_OK;
}

int wet_piece_encode(const struct wet_piece *piece, char *buf, size_t buf_bytes, struct wet_fault *reterr)
{
	json_t *body = json_pack("{s:s}", "state", wet_piece_state_word(piece->state));
	int rc = body ? WET_OK : WET_ERR_NOMEM;
	for (size_t i = 0; i < COUNT(members) && rc == 0; i++) {
		const char *at = (const char *)piece + members[i].offset;
		json_t *value = members[i].kind == A_TEXT	  ? json_string(at)
						: members[i].kind == A_FLAG	  ? json_boolean(*(const bool *)at)
						: members[i].kind == AN_INT64 ? json_integer(*(const int64_t *)at)
													  : json_integer(*(const int *)at);
		if (json_object_set_new(body, members[i].key, value) != 0)
			rc = WET_ERR_NOMEM;
	}
	size_t bytes = 0;
	char *text = rc == 0 ? wet_reader_canonical(body, &bytes) : NULL;
	json_decref(body);
	if (!text)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "piece", NULL, "more memory");
	rc = bytes < buf_bytes ? WET_OK : wet_fault_set(reterr, WET_ERR_TOO_LONG, "piece", NULL, "shorter names");
	wet_text_copy(buf, buf_bytes, text);
	free(text);
	return rc;
}

int wet_recipe_unloading(const char *json, size_t json_bytes, const char (*cameras)[WET_NAME_BYTES], int count,
						 char **ret_json, size_t *ret_bytes, struct wet_fault *reterr)
{
	json_t *root = NULL, *list = json_array();
	int rc = wet_reader_parse(json, json_bytes, WET_RECIPE_FILE_BYTES, &root, reterr);
	for (int i = 0; i < count && rc == 0; i++)
		if (json_array_append_new(list, json_string(cameras[i])) != 0)
			rc = WET_ERR_NOMEM;
	if (rc == 0 && json_object_set(root, "unload", list) == 0)
		*ret_json = wet_reader_canonical(root, ret_bytes);
	if (rc == 0 && !*ret_json)
		rc = WET_ERR_NOMEM;
	if (rc == WET_ERR_NOMEM)
		(void)wet_fault_set(reterr, rc, "recipe", NULL, "more memory");
	json_decref(list);
	json_decref(root);
	return rc;
}
