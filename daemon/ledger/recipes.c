/* recipes.c: recipes as they were frozen, by the hash of their content. */
#include "ledger/inside.h"

#include <stdlib.h>
#include <string.h>

int wet_ledger_put_recipe(struct wet_ledger *l, const char *hash, const char *name, const char *json,
						  size_t json_bytes, struct wet_fault *reterr)
{
	if (!hash[0] || !text_fits(hash, 65) || !text_fits(name, WET_NAME_BYTES))
		return ledger_invalid(l, "the name or hash of a recipe", reterr);
	if (json_bytes < 1 || json_bytes > WET_RECIPE_FILE_BYTES)
		return ledger_invalid(l, "the size of a recipe", reterr);
	/* Not OR IGNORE, which would ignore more than a recipe that is there already. */
	sqlite3_stmt *s = ledger_prepare(
		l, "INSERT INTO recipe(hash, name, json) VALUES(?,?,?) ON CONFLICT DO NOTHING", reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, hash);
	bind_text(s, 2, name);
	(void)sqlite3_bind_blob64(s, 3, json, json_bytes, SQLITE_STATIC);
	return ledger_finish(l, s, reterr);
}

struct text {
	char *bytes;
	size_t n;
};

static int take_json(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct text *text = ctx;
	const void *blob = sqlite3_column_blob(s, 0);
	int n = sqlite3_column_bytes(s, 0);
	if (sqlite3_column_type(s, 0) != SQLITE_BLOB || !blob || n < 1 || n > WET_RECIPE_FILE_BYTES)
		return ledger_corrupt(l, "a recipe", reterr);
	text->bytes = malloc((size_t)n + 1);
	if (!text->bytes)
		return wet_fault_set(reterr, WET_ERR_NOMEM, l->path, NULL, "more memory");
	memcpy(text->bytes, blob, (size_t)n);
	text->bytes[n] = '\0';
	text->n = (size_t)n;
	return WET_OK;
}

int wet_ledger_get_recipe(struct wet_ledger *l, const char *hash, char **ret_json, size_t *ret_json_bytes,
						  struct wet_fault *reterr)
{
	struct text text = { 0 };
	sqlite3_stmt *s = ledger_prepare(l, "SELECT json FROM recipe WHERE hash = ?", reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, hash);
	int rc = ledger_each(l, s, take_json, &text, reterr);
	if (rc == 0 && !text.bytes)
		rc = wet_fault_set(reterr, WET_ERR_NOT_FOUND, "recipe", hash, "a recipe of this ledger");
	if (rc != 0) {
		free(text.bytes);
		return rc;
	}
	*ret_json = text.bytes;
	*ret_json_bytes = text.n;
	return WET_OK;
}
