/* entries.c: entries and their revisions. */
#include "ledger/entries.h"

#include "ledger/inside.h"

#include "base/text.h"

#include <string.h>

#define COLUMNS "id, kind, name, part, revision, is_gone, wall_ms, uid, person, token, body"

static int check(struct wet_ledger *l, const struct wet_entry *e, struct wet_fault *reterr)
{
	if (!e->kind[0] || !text_fits(e->kind, sizeof e->kind) || !e->name[0] || !text_fits(e->name, sizeof e->name) ||
		!text_fits(e->person, sizeof e->person) || !text_fits(e->token, sizeof e->token) || !text_fits(e->body, sizeof e->body) ||
		e->part < 0 || e->part >= WET_ENTRY_PARTS)
		return ledger_invalid(l, "an entry", reterr);
	return WET_OK;
}

static int take(struct wet_ledger *l, sqlite3_stmt *s, struct wet_entry *e, struct wet_fault *reterr)
{
	int64_t part, revision, gone, uid;
	if (!column_number(s, 0, 1, INT64_MAX, &e->id) || !column_text(s, 1, e->kind, sizeof e->kind) ||
		!column_text(s, 2, e->name, sizeof e->name) || !column_number(s, 3, 0, WET_ENTRY_PARTS - 1, &part) ||
		!column_number(s, 4, 1, INT32_MAX, &revision) || !column_number(s, 5, 0, 1, &gone) ||
		!column_number(s, 6, INT64_MIN, INT64_MAX, &e->wall_ms) || !column_number(s, 7, 0, UINT32_MAX, &uid) ||
		!column_text(s, 8, e->person, sizeof e->person) || !column_text(s, 9, e->token, sizeof e->token) ||
		!column_text(s, 10, e->body, sizeof e->body))
		return ledger_corrupt(l, "an entry", reterr);
	e->part = (int)part;
	e->revision = (int)revision;
	e->is_gone = gone != 0;
	e->uid = (uint32_t)uid;
	return WET_OK;
}

static int take_last(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	return take(l, s, ctx, reterr);
}

/* revision 0: the last. ret_entry->revision stays 0 where there is none. */
static int find(struct wet_ledger *l, const struct wet_entry *key, int revision, struct wet_entry *ret_entry,
				struct wet_fault *reterr)
{
	memset(ret_entry, 0, sizeof *ret_entry);
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT " COLUMNS " FROM entry WHERE kind = ?1 AND name = ?2 AND part = ?3"
									 " AND (?4 = 0 OR revision = ?4) ORDER BY revision DESC LIMIT 1",
									 reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, key->kind);
	bind_text(s, 2, key->name);
	(void)sqlite3_bind_int(s, 3, key->part);
	(void)sqlite3_bind_int(s, 4, revision);
	return ledger_each(l, s, take_last, ret_entry, reterr);
}

static int insert(struct wet_ledger *l, struct wet_entry *e, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l,
									 "INSERT INTO entry(kind, name, part, revision, is_gone, wall_ms, uid, person, token, body)"
									 " VALUES(?,?,?,?,?,?,?,?,?,?)",
									 reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, e->kind);
	bind_text(s, 2, e->name);
	(void)sqlite3_bind_int(s, 3, e->part);
	(void)sqlite3_bind_int(s, 4, e->revision);
	(void)sqlite3_bind_int(s, 5, e->is_gone);
	(void)sqlite3_bind_int64(s, 6, e->wall_ms);
	(void)sqlite3_bind_int64(s, 7, e->uid);
	bind_text(s, 8, e->person);
	bind_text(s, 9, e->token);
	bind_text(s, 10, e->body);
	int rc = ledger_finish(l, s, reterr);
	if (rc == 0)
		e->id = sqlite3_last_insert_rowid(l->db);
	return rc;
}

int wet_ledger_put_entry(struct wet_ledger *l, struct wet_entry *e, int follows, struct wet_fault *reterr)
{
	struct wet_entry last;
	char seen[32];
	int rc = check(l, e, reterr);
	if (rc == 0)
		rc = find(l, e, 0, &last, reterr);
	if (rc != 0)
		return rc;
	if (e->token[0] && last.revision > 0 && strcmp(last.token, e->token) == 0) {
		*e = last;
		return WET_OK;
	}
	if (follows == 0 && last.revision > 0 && !last.is_gone)
		return wet_fault_set(reterr, WET_ERR_EXISTS, "name", e->name, "a name that no %s has", e->kind);
	if (follows > 0 && last.revision != follows) {
		wet_text_format(seen, sizeof seen, "revision %d", follows);
		return wet_fault_set(reterr, WET_ERR_STALE, "revision", seen, "a look at the last one, %d, before it is changed",
							 last.revision);
	}
	e->revision = last.revision + 1;
	return insert(l, e, reterr);
}

int wet_ledger_get_entry(struct wet_ledger *l, const char *kind, const char *name, int part, struct wet_entry *ret_entry,
						 struct wet_fault *reterr)
{
	struct wet_entry key = { .part = part };
	wet_text_copy(key.kind, sizeof key.kind, kind);
	wet_text_copy(key.name, sizeof key.name, name);
	int rc = find(l, &key, 0, ret_entry, reterr);
	if (rc == 0 && (ret_entry->revision == 0 || ret_entry->is_gone))
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "name", name, "the name of a %s that is there", kind);
	return rc;
}

struct taking {
	wet_ledger_entry_cb *cb;
	void *ctx;
};

static int take_one(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking *t = ctx;
	struct wet_entry e;
	int rc = take(l, s, &e, reterr);
	return rc == 0 ? t->cb(t->ctx, &e) : rc;
}

int wet_ledger_each_entry(struct wet_ledger *l, const struct wet_entry_query *q, wet_ledger_entry_cb *cb, void *ctx,
						  struct wet_fault *reterr)
{
	struct taking t = { cb, ctx };
	const struct wet_entry_query query = *q; /* the callback may move the caller's */
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT " COLUMNS " FROM entry e WHERE (?1 = '' OR kind = ?1) AND (?2 = '' OR name = ?2) AND id > ?3"
		" AND (?4 OR NOT EXISTS (SELECT 1 FROM entry n WHERE n.kind = e.kind AND n.name = e.name AND n.part = e.part"
		" AND n.revision > e.revision)) AND (?5 OR NOT is_gone) ORDER BY id LIMIT ?6",
		reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, query.kind);
	bind_text(s, 2, query.name);
	(void)sqlite3_bind_int64(s, 3, query.after_id);
	(void)sqlite3_bind_int(s, 4, query.with_history);
	(void)sqlite3_bind_int(s, 5, query.with_gone);
	(void)sqlite3_bind_int(s, 6, query.limit);
	return ledger_each(l, s, take_one, &t, reterr);
}

static bool is_same(const struct wet_entry *a, const struct wet_entry *b)
{
	return a->is_gone == b->is_gone && a->wall_ms == b->wall_ms && a->uid == b->uid && strcmp(a->person, b->person) == 0 &&
		   strcmp(a->token, b->token) == 0 && strcmp(a->body, b->body) == 0;
}

int wet_ledger_import_entry(struct wet_ledger *l, bool is_dry, const struct wet_entry *e, bool *ret_is_new,
							struct wet_fault *reterr)
{
	struct wet_entry there, before, copy = *e;
	int rc = check(l, e, reterr);
	if (rc == 0)
		rc = find(l, e, e->revision, &there, reterr);
	if (rc != 0)
		return rc;
	*ret_is_new = there.revision == 0;
	if (!*ret_is_new && !is_same(e, &there))
		return wet_fault_set(reterr, WET_ERR_EXISTS, e->kind, e->name, "the content that revision %d has in %s already", e->revision,
							 l->path);
	if (!*ret_is_new || is_dry) /* dry: the one before it may be in the same file */
		return WET_OK;
	rc = e->revision > 1 ? find(l, e, e->revision - 1, &before, reterr) : WET_OK;
	if (rc == 0 && e->revision > 1 && before.revision == 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "/revision", e->name, "the revisions of an entry in their order, from 1 on");
	return rc == 0 ? insert(l, &copy, reterr) : rc;
}
