/* exchange.c: walks over rows that belong to no run, and taking them in. */
#include "ledger/exchange.h"

#include "base/text.h"
#include "ledger/inside.h"

#include <string.h>

int wet_ledger_schema(void)
{
	return LEDGER_VERSION;
}

static int differs(struct wet_ledger *l, const char *what, const char *which, struct wet_fault *reterr)
{
	return wet_fault_set(reterr, WET_ERR_EXISTS, what, which, "the content that is in %s already", l->path);
}

/* -- recipes ------------------------------------------------------------------------ */
struct taking_recipes {
	wet_ledger_recipe_cb *cb;
	void *ctx;
};

static int take_recipe(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking_recipes *t = ctx;
	char hash[65], name[WET_NAME_BYTES];
	const void *json = sqlite3_column_blob(s, 2);
	int n = sqlite3_column_bytes(s, 2);
	if (!column_text(s, 0, hash, sizeof hash) || !column_text(s, 1, name, sizeof name) ||
		sqlite3_column_type(s, 2) != SQLITE_BLOB || !json || n < 1 || n > WET_RECIPE_FILE_BYTES)
		return ledger_corrupt(l, "a recipe", reterr);
	return t->cb(t->ctx, hash, name, json, (size_t)n);
}

int wet_ledger_each_recipe(struct wet_ledger *l, const char *from_hash, wet_ledger_recipe_cb *cb, void *ctx,
						   struct wet_fault *reterr)
{
	struct taking_recipes t = { cb, ctx };
	char from[65]; /* the callback may move the caller's */
	wet_text_copy(from, sizeof from, from_hash);
	sqlite3_stmt *s =
		ledger_prepare(l, "SELECT hash, name, json FROM recipe WHERE hash >= ? ORDER BY hash", reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, from);
	return ledger_each(l, s, take_recipe, &t, reterr);
}

struct comparing {
	const char *name, *json;
	size_t json_bytes;
	bool is_found, is_same;
};

static int compare_recipe(void *ctx, const char *hash, const char *name, const char *json, size_t n)
{
	struct comparing *c = ctx;
	(void)name; /* the first name of one content stays */
	c->is_found = strcmp(hash, c->name) == 0;
	c->is_same = c->is_found && n == c->json_bytes && memcmp(json, c->json, n) == 0;
	return WET_LEDGER_FULL;
}

int wet_ledger_import_recipe(struct wet_ledger *l, bool is_dry, const char *hash, const char *name,
							 const char *json, size_t json_bytes, bool *ret_is_new, struct wet_fault *reterr)
{
	struct comparing c = { .name = hash, .json = json, .json_bytes = json_bytes };
	int rc = wet_ledger_each_recipe(l, hash, compare_recipe, &c, reterr);
	if (rc != 0 && rc != WET_LEDGER_FULL)
		return rc;
	if (c.is_found && !c.is_same)
		return differs(l, "recipe", name, reterr);
	rc = c.is_found || is_dry ? WET_OK : wet_ledger_put_recipe(l, hash, name, json, json_bytes, reterr);
	if (rc == 0)
		*ret_is_new = !c.is_found;
	return rc;
}

/* -- vessels ------------------------------------------------------------------------ */
struct taking_vessels {
	wet_ledger_vessel_row_cb *cb;
	void *ctx;
};

static int take_vessel(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking_vessels *t = ctx;
	struct wet_vessel v;
	int64_t wall_ms;
	if (!column_vessel(s, 1, &v) || !column_number(s, 11, INT64_MIN, INT64_MAX, &wall_ms))
		return ledger_corrupt(l, "a vessel", reterr);
	return t->cb(t->ctx, sqlite3_column_int64(s, 0), &v, wall_ms);
}

int wet_ledger_each_vessel_row(struct wet_ledger *l, int64_t after_id, wet_ledger_vessel_row_cb *cb,
							   void *ctx, struct wet_fault *reterr)
{
	struct taking_vessels t = { cb, ctx };
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT id, " VESSEL_COLUMNS ", wall_ms FROM vessel"
		" WHERE id > ? ORDER BY id",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, after_id);
	return ledger_each(l, s, take_vessel, &t, reterr);
}

static int take_number(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	(void)l;
	(void)reterr;
	*(int64_t *)ctx = sqlite3_column_int64(s, 0);
	return WET_OK;
}

/* How many rows are equal to this one. */
static int count_vessel(struct wet_ledger *l, const struct wet_vessel *v, int64_t wall_ms, int64_t *ret_count,
						struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT count(*) FROM vessel WHERE name = ? AND kind = ? AND fill_ns = ? AND drain_ns = ?"
		" AND pieces_max = ? AND stagger_ns = ? AND tau_ns = ? AND tau_error_ns = ? AND tau_count = ? AND chill_ppm = ?"
		" AND wall_ms = ?",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, bind_vessel(s, 1, v), wall_ms);
	return ledger_each(l, s, take_number, ret_count, reterr);
}

/* Below the oldest row: the latest of a name is the one that is used. */
static int put_history(struct wet_ledger *l, const struct wet_vessel *v, int64_t wall_ms,
					   struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"INSERT INTO vessel(" VESSEL_COLUMNS ", wall_ms, id)"
		" SELECT ?,?,?,?,?,?,?,?,?,?,?, min(id) - 1 FROM vessel",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, bind_vessel(s, 1, v), wall_ms);
	return ledger_finish(l, s, reterr);
}

struct latest {
	const struct wet_vessel *vessel;
	int64_t wall_ms;
	bool is_any, is_same;
};

static int compare_latest(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct latest *a = ctx;
	struct wet_vessel v;
	if (!column_vessel(s, 0, &v))
		return ledger_corrupt(l, "a vessel", reterr);
	a->is_any = true;
	a->is_same = ledger_same_vessel(&v, a->vessel) && sqlite3_column_int64(s, 10) == a->wall_ms;
	return WET_OK;
}

static int find_latest(struct wet_ledger *l, struct latest *a, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT " VESSEL_COLUMNS ", wall_ms FROM vessel"
		" WHERE name = ? ORDER BY id DESC LIMIT 1",
		reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, a->vessel->name);
	return ledger_each(l, s, compare_latest, a, reterr);
}

int wet_ledger_import_vessel(struct wet_ledger *l, bool is_dry, const struct wet_vessel *v, int64_t wall_ms,
							 bool *is_latest, bool *ret_is_new, struct wet_fault *reterr)
{
	int64_t count = 0;
	struct latest latest = { .vessel = v, .wall_ms = wall_ms };
	int rc =
		v->name[0] ? ledger_check_vessel(v, reterr) : ledger_invalid(l, "a vessel without a name", reterr);
	if (rc == 0)
		rc = count_vessel(l, v, wall_ms, &count, reterr);
	if (rc == 0)
		rc = find_latest(l, &latest, reterr);
	if (rc == 0 && count == 0 && !is_dry)
		rc = latest.is_any && !*is_latest ? put_history(l, v, wall_ms, reterr)
										  : wet_ledger_put_vessel(l, v, wall_ms, reterr);
	if (rc != 0)
		return rc;
	*is_latest = count > 0 ? latest.is_same : !latest.is_any || *is_latest;
	*ret_is_new = count == 0;
	return WET_OK;
}

/* -- acknowledgements ------------------------------------------------------------------ */
struct taking_acknowledgements {
	wet_ledger_acknowledgement_cb *cb;
	void *ctx;
};

static int take_acknowledgement(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking_acknowledgements *t = ctx;
	struct wet_acknowledgement a;
	int64_t version;
	if (!column_text(s, 0, a.person, sizeof a.person) ||
		!column_text(s, 1, a.recipe_name, sizeof a.recipe_name) ||
		!column_number(s, 2, INT32_MIN, INT32_MAX, &version) ||
		!column_number(s, 3, INT64_MIN, INT64_MAX, &a.wall_ms))
		return ledger_corrupt(l, "an acknowledgement", reterr);
	a.version = (int)version;
	return t->cb(t->ctx, &a);
}

int wet_ledger_each_acknowledgement(struct wet_ledger *l, const struct wet_acknowledgement *after,
									wet_ledger_acknowledgement_cb *cb, void *ctx, struct wet_fault *reterr)
{
	struct taking_acknowledgements t = { cb, ctx };
	struct wet_acknowledgement from = { .version = INT32_MIN }; /* the callback may move the caller's */
	if (after)
		from = *after;
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT person, recipe_name, version, wall_ms FROM acknowledgement"
		" WHERE (person, recipe_name, version) > (?, ?, ?) ORDER BY person, recipe_name, version",
		reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, from.person);
	bind_text(s, 2, from.recipe_name);
	(void)sqlite3_bind_int64(s, 3, from.version);
	return ledger_each(l, s, take_acknowledgement, &t, reterr);
}

int wet_ledger_import_acknowledgement(struct wet_ledger *l, bool is_dry, const struct wet_acknowledgement *a,
									  bool *ret_is_new, struct wet_fault *reterr)
{
	bool has = false;
	int rc = wet_ledger_has_acknowledgement(l, a->person, a->recipe_name, a->version, &has, reterr);
	if (rc == 0 && !has && !is_dry)
		rc = wet_ledger_put_acknowledgement(l, a->person, a->recipe_name, a->version, a->wall_ms, reterr);
	if (rc == 0)
		*ret_is_new = !has;
	return rc;
}
