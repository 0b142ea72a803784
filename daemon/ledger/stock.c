/* stock.c: what stands on the shelf, and its history. The item's row and the line of its history are one transaction. */
#include "ledger/inside.h"

#include "base/text.h"

#include <string.h>

/* Stored as numbers: see inside.h. */
static_assert(WET_STOCK_BOTTLE == 0 && WET_STOCK_BATH == 1 && WET_STOCK_VESSEL == 2 && WET_STOCK_GRADUATE == 3 &&
				  WET_STOCK_CAMERA == 4,
			  "stored");
static_assert(WET_STOCK_ACT_ADD == 0 && WET_STOCK_ACT_CHANGE == 1 && WET_STOCK_ACT_USE == 2, "stored");
static_assert(WET_STOCK_ACT_DISCARD == 3 && WET_STOCK_ACT_BOOK == 4, "stored");

#define STOCK_COLUMNS                                                                                           \
	"id, kind, name, what, strength, lot, place, full_ul, volume_ul, least_ul, pieces_max, width_um, height_um," \
	" since_ms, area_mm2, from_id, grade, is_gone, gone_ms, second_mm2, rotations," \
	" kept, piece_width_um, piece_height_um, hole_um, distance_um, f_number_milli"

#define EVENT_COLUMNS "id, stock_id, act, wall_ms, volume_ul, area_mm2, run_id, stage, uid, token, note, second_mm2, kept"

static bool is_storable(const struct wet_stock *i)
{
	return text_fits(i->name, sizeof i->name) && text_fits(i->what, sizeof i->what) &&
		   text_fits(i->strength, sizeof i->strength) && text_fits(i->lot, sizeof i->lot) &&
		   text_fits(i->place, sizeof i->place);
}

/* From the name on; the next column. */
static int bind_item(sqlite3_stmt *s, int c, const struct wet_stock *i)
{
	const int64_t numbers[] = { i->full_ul,   i->volume_ul, i->least_ul, i->pieces_max, i->width_um, i->height_um,
								i->since_ms,  i->area_mm2,  i->from_id,  i->grade,      i->is_gone,  i->gone_ms,
								i->second_mm2, i->rotations, i->kept,       i->piece_width_um, i->piece_height_um,
								i->hole_um, i->distance_um, i->f_number_milli };
	bind_text(s, c++, i->name);
	bind_text(s, c++, i->what);
	bind_text(s, c++, i->strength);
	bind_text(s, c++, i->lot);
	bind_text(s, c++, i->place);
	for (size_t n = 0; n < sizeof numbers / sizeof numbers[0]; n++)
		(void)sqlite3_bind_int64(s, c++, numbers[n]);
	return c;
}

static bool read_item(sqlite3_stmt *s, struct wet_stock *i)
{
	int64_t kind, pieces, grade, gone, rotations, kept;
	memset(i, 0, sizeof *i);
	if (!column_number(s, 0, 1, INT64_MAX, &i->id) || !column_number(s, 1, 0, WET_STOCK_KIND_N - 1, &kind) ||
		!column_text(s, 2, i->name, sizeof i->name) || !column_text(s, 3, i->what, sizeof i->what) ||
		!column_text(s, 4, i->strength, sizeof i->strength) || !column_text(s, 5, i->lot, sizeof i->lot) ||
		!column_text(s, 6, i->place, sizeof i->place) || !column_number(s, 7, 0, INT64_MAX, &i->full_ul) ||
		!column_number(s, 8, 0, INT64_MAX, &i->volume_ul) || !column_number(s, 9, 0, INT64_MAX, &i->least_ul) ||
		!column_number(s, 10, 0, INT32_MAX, &pieces) || !column_number(s, 11, 0, INT64_MAX, &i->width_um) ||
		!column_number(s, 12, 0, INT64_MAX, &i->height_um) || !column_number(s, 13, 0, INT64_MAX, &i->since_ms) ||
		!column_number(s, 14, 0, INT64_MAX, &i->area_mm2) || !column_number(s, 15, 0, INT64_MAX, &i->from_id) ||
		!column_number(s, 16, 0, 127, &grade) || !column_number(s, 17, 0, 1, &gone) ||
		!column_number(s, 18, 0, INT64_MAX, &i->gone_ms) || !column_number(s, 19, 0, INT64_MAX, &i->second_mm2) ||
		!column_number(s, 20, 0, INT32_MAX, &rotations) || !column_number(s, 21, 0, WET_STOCK_KEPT_N - 1, &kept) ||
		!column_number(s, 22, 0, INT64_MAX, &i->piece_width_um) || !column_number(s, 23, 0, INT64_MAX, &i->piece_height_um) ||
		!column_number(s, 24, 0, INT64_MAX, &i->hole_um) || !column_number(s, 25, 0, INT64_MAX, &i->distance_um) ||
		!column_number(s, 26, 0, INT64_MAX, &i->f_number_milli))
		return false;
	i->kept = (enum wet_stock_kept)kept;
	i->kind = (enum wet_stock_kind)kind;
	i->pieces_max = (int)pieces;
	i->grade = (char)grade;
	i->is_gone = gone != 0;
	i->rotations = (int)rotations;
	return true;
}

/* -- reading ------------------------------------------------------------------------ */

struct taking {
	wet_ledger_stock_cb *cb;
	wet_ledger_stock_event_cb *event_cb;
	void *ctx;
};

static int take_item(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking *t = ctx;
	struct wet_stock item;
	return read_item(s, &item) ? t->cb(t->ctx, &item) : ledger_corrupt(l, "an item of the shelf", reterr);
}

static int take_one(void *ctx, const struct wet_stock *item)
{
	*(struct wet_stock *)ctx = *item;
	return WET_OK;
}

int wet_ledger_each_stock(struct wet_ledger *l, int kind, bool with_gone, int64_t after_id, int limit,
						  wet_ledger_stock_cb *cb, void *ctx, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT " STOCK_COLUMNS " FROM stock WHERE (?1 < 0 OR kind = ?1) AND"
									 " (?2 OR is_gone = 0) AND id > ?3 ORDER BY id LIMIT ?4",
									 reterr);
	struct taking t = { .cb = cb, .ctx = ctx };
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int(s, 1, kind);
	(void)sqlite3_bind_int(s, 2, with_gone);
	(void)sqlite3_bind_int64(s, 3, after_id);
	(void)sqlite3_bind_int(s, 4, limit > 0 ? limit : 0);
	return ledger_each(l, s, take_item, &t, reterr);
}

static int get_item(struct wet_ledger *l, sqlite3_stmt *s, struct wet_stock *ret_item, struct wet_fault *reterr)
{
	struct wet_stock item = { .id = 0 };
	struct taking t = { .cb = take_one, .ctx = &item };
	int rc = ledger_each(l, s, take_item, &t, reterr);
	if (rc == 0 && item.id == 0)
		rc = WET_ERR_NOT_FOUND;
	if (rc == 0)
		*ret_item = item;
	return rc;
}

int wet_ledger_get_stock(struct wet_ledger *l, enum wet_stock_kind kind, const char *name,
						 struct wet_stock *ret_item, struct wet_fault *reterr)
{
	/* What stands there first; then the last one that did. */
	sqlite3_stmt *s = ledger_prepare(
		l, "SELECT " STOCK_COLUMNS " FROM stock WHERE kind = ? AND name = ? ORDER BY is_gone, id DESC LIMIT 1", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int(s, 1, (int)kind);
	bind_text(s, 2, name);
	int rc = get_item(l, s, ret_item, reterr);
	if (rc == WET_ERR_NOT_FOUND)
		(void)wet_fault_set(reterr, rc, "name", name, "one of those that `wetside %s list` shows",
							wet_stock_kind_word(kind));
	return rc;
}

int wet_ledger_get_stock_by_id(struct wet_ledger *l, int64_t id, struct wet_stock *ret_item,
							   struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, "SELECT " STOCK_COLUMNS " FROM stock WHERE id = ?", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, id);
	int rc = get_item(l, s, ret_item, reterr);
	if (rc == WET_ERR_NOT_FOUND)
		(void)wet_fault_set(reterr, rc, "id", NULL, "the number of something on the shelf");
	return rc;
}

static int take_event(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking *t = ctx;
	struct wet_stock_event e;
	int64_t act, stage, uid, kept;
	memset(&e, 0, sizeof e);
	if (!column_number(s, 0, 1, INT64_MAX, &e.id) || !column_number(s, 1, 1, INT64_MAX, &e.stock_id) ||
		!column_number(s, 2, 0, WET_STOCK_ACT_N - 1, &act) || !column_number(s, 3, INT64_MIN, INT64_MAX, &e.wall_ms) ||
		!column_number(s, 4, INT64_MIN, INT64_MAX, &e.volume_ul) || !column_number(s, 5, INT64_MIN, INT64_MAX, &e.area_mm2) ||
		!column_number(s, 6, 0, INT64_MAX, &e.run_id) || !column_number(s, 7, 0, INT32_MAX, &stage) ||
		!column_number(s, 8, 0, UINT32_MAX, &uid) || !column_text(s, 9, e.token, sizeof e.token) ||
		!column_text(s, 10, e.note, sizeof e.note) || !column_number(s, 11, INT64_MIN, INT64_MAX, &e.second_mm2) ||
		!column_number(s, 12, 0, WET_STOCK_KEPT_N - 1, &kept))
		return ledger_corrupt(l, "a line of the shelf's history", reterr);
	e.act = (enum wet_stock_act)act;
	e.stage = (int)stage;
	e.kept = (enum wet_stock_kept)kept;
	e.uid = (uint32_t)uid;
	return t->event_cb(t->ctx, &e);
}

int wet_ledger_each_stock_event(struct wet_ledger *l, int64_t stock_id, int64_t before_id, int limit,
								wet_ledger_stock_event_cb *cb, void *ctx, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT " EVENT_COLUMNS " FROM stock_event WHERE stock_id = ? AND id < ? ORDER BY id DESC LIMIT ?",
									 reterr);
	struct taking t = { .event_cb = cb, .ctx = ctx };
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, stock_id);
	(void)sqlite3_bind_int64(s, 2, before_id);
	(void)sqlite3_bind_int(s, 3, limit > 0 ? limit : 0);
	return ledger_each(l, s, take_event, &t, reterr);
}

int wet_ledger_each_stock_event_after(struct wet_ledger *l, int64_t stock_id, int64_t after_id, int64_t to_id,
									  wet_ledger_stock_event_cb *cb, void *ctx, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT " EVENT_COLUMNS " FROM stock_event WHERE stock_id = ? AND id > ? AND id <= ? ORDER BY id",
									 reterr);
	struct taking t = { .event_cb = cb, .ctx = ctx };
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, stock_id);
	(void)sqlite3_bind_int64(s, 2, after_id);
	(void)sqlite3_bind_int64(s, 3, to_id);
	return ledger_each(l, s, take_event, &t, reterr);
}

/* What was held from when on, and how it was kept. */
struct ageing {
	const struct wet_stock *item;
	struct wet_stock_age *age;
	int64_t volume_ul, from_ms;
	enum wet_stock_kept kept;
	bool is_begun;
};

static int take_ageing(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct ageing *a = ctx;
	int64_t wall_ms, volume_ul, kept;
	if (!column_number(s, 0, INT64_MIN, INT64_MAX, &wall_ms) || !column_number(s, 1, INT64_MIN, INT64_MAX, &volume_ul) ||
		!column_number(s, 2, 0, WET_STOCK_KEPT_N - 1, &kept))
		return ledger_corrupt(l, "a line of the shelf's history", reterr);
	if (a->is_begun && wall_ms > a->from_ms) { /* a clock that was set back makes no spell */
		wet_stock_age_add(a->age, a->item, a->volume_ul, a->kept, a->from_ms, wall_ms);
		a->from_ms = wall_ms;
	}
	a->volume_ul += volume_ul;
	a->kept = (enum wet_stock_kept)kept;
	a->is_begun = true; /* as it was added it had stood since it was opened */
	return WET_OK;
}

int wet_ledger_stock_age_before(struct wet_ledger *l, const struct wet_stock *item, const struct wet_stock_event *before,
								struct wet_stock_age *ret_age, struct wet_fault *reterr)
{
	struct wet_stock_age age;
	struct ageing a = { .item = item, .age = &age, .from_ms = INT64_MIN, .kept = item->kept };
	sqlite3_stmt *s = ledger_prepare(
		l, "SELECT wall_ms, volume_ul, kept FROM stock_event WHERE stock_id = ?1 AND (volume_ul <> 0 OR act <= ?2)"
		   " AND id < ?3 ORDER BY id",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, item->id);
	(void)sqlite3_bind_int(s, 2, WET_STOCK_ACT_CHANGE);
	(void)sqlite3_bind_int64(s, 3, before->id);
	wet_stock_age_init(&age);
	int rc = ledger_each(l, s, take_ageing, &a, reterr);
	if (rc != 0)
		return rc;
	bool is_now = before->id == INT64_MAX || !a.is_begun;
	wet_stock_age_add(&age, item, is_now ? item->volume_ul : a.volume_ul, is_now ? item->kept : a.kept, a.from_ms,
					  before->wall_ms);
	*ret_age = age;
	return WET_OK;
}

int wet_ledger_stock_age(struct wet_ledger *l, const struct wet_stock *item, int64_t wall_ms, struct wet_stock_age *ret_age,
						 struct wet_fault *reterr)
{
	const struct wet_stock_event now = { .id = INT64_MAX, .wall_ms = wall_ms };
	return wet_ledger_stock_age_before(l, item, &now, ret_age, reterr);
}

/* -- writing ------------------------------------------------------------------------ */

int ledger_check_stock(struct wet_ledger *l, const struct wet_stock *item, struct wet_fault *reterr)
{
	int rc = wet_stock_check(item, reterr);
	return rc == 0 && !is_storable(item) ? ledger_invalid(l, "an item of the shelf", reterr) : rc;
}

/* Was this act stored before? Then its item is in *ret_item. */
static int find_done(struct wet_ledger *l, int64_t stock_id, const struct wet_stock_event *why, bool *ret_is_done,
					 struct wet_fault *reterr)
{
	*ret_is_done = false;
	if (!why->token[0] && why->run_id == 0)
		return WET_OK;
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT 1 FROM stock_event WHERE stock_id = ?1 AND ((?2 <> '' AND token = ?2) OR"
									 " (?3 <> 0 AND run_id = ?3 AND stage = ?4))",
									 reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, stock_id);
	bind_text(s, 2, why->token);
	(void)sqlite3_bind_int64(s, 3, why->run_id);
	(void)sqlite3_bind_int(s, 4, why->stage);
	return ledger_ask(l, s, ret_is_done, reterr);
}

int ledger_put_stock_event(struct wet_ledger *l, int64_t stock_id, const struct wet_stock_event *why,
						   struct wet_fault *reterr)
{
	if (!text_fits(why->token, sizeof why->token) || !text_fits(why->note, sizeof why->note))
		return ledger_invalid(l, "a line of the shelf's history", reterr);
	sqlite3_stmt *s = ledger_prepare(l,
									 "INSERT INTO stock_event(stock_id, act, wall_ms, volume_ul, area_mm2, run_id, stage,"
									 " uid, token, note, second_mm2, kept) VALUES(?,?,?,?,?,?,?,?,?,?,?,?)",
									 reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, stock_id);
	(void)sqlite3_bind_int(s, 2, (int)why->act);
	(void)sqlite3_bind_int64(s, 3, why->wall_ms);
	(void)sqlite3_bind_int64(s, 4, why->volume_ul);
	(void)sqlite3_bind_int64(s, 5, why->area_mm2);
	(void)sqlite3_bind_int64(s, 6, why->run_id);
	(void)sqlite3_bind_int(s, 7, why->stage);
	(void)sqlite3_bind_int64(s, 8, why->uid);
	bind_text(s, 9, why->token);
	bind_text(s, 10, why->note);
	(void)sqlite3_bind_int64(s, 11, why->second_mm2);
	(void)sqlite3_bind_int(s, 12, (int)why->kept);
	return ledger_finish(l, s, reterr);
}

int ledger_update_stock(struct wet_ledger *l, const struct wet_stock *item, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"UPDATE stock SET name=?, what=?, strength=?, lot=?, place=?, full_ul=?, volume_ul=?, least_ul=?, pieces_max=?,"
		" width_um=?, height_um=?, since_ms=?, area_mm2=?, from_id=?, grade=?, is_gone=?, gone_ms=?, second_mm2=?,"
		" rotations=?, kept=?, piece_width_um=?, piece_height_um=?, hole_um=?, distance_um=?, f_number_milli=? WHERE id = ?",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, bind_item(s, 1, item), item->id);
	return ledger_finish(l, s, reterr);
}

int ledger_insert_stock(struct wet_ledger *l, const struct wet_stock *item, int64_t least_id, int64_t *ret_id,
						struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"INSERT INTO stock(kind, name, what, strength, lot, place, full_ul, volume_ul, least_ul, pieces_max, width_um,"
		" height_um, since_ms, area_mm2, from_id, grade, is_gone, gone_ms, second_mm2, rotations,"
		" kept, piece_width_um, piece_height_um, hole_um, distance_um, f_number_milli, id)"
		" SELECT ?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?, max(?, ifnull(max(id), 0) + 1) FROM stock",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int(s, 1, (int)item->kind);
	(void)sqlite3_bind_int64(s, bind_item(s, 2, item), least_id);
	int rc = ledger_finish(l, s, reterr);
	if (rc == 0)
		*ret_id = sqlite3_last_insert_rowid(l->db);
	return rc;
}

/* No second one of this name may stand there. */
static int check_name_free(struct wet_ledger *l, const struct wet_stock *item, struct wet_fault *reterr)
{
	struct wet_stock other;
	struct wet_fault fault = { 0 };
	int rc = wet_ledger_get_stock(l, item->kind, item->name, &other, &fault);
	if (rc == WET_ERR_NOT_FOUND || (rc == 0 && (other.is_gone || other.id == item->id)))
		return WET_OK;
	if (rc != 0) {
		if (reterr)
			*reterr = fault;
		return rc;
	}
	return wet_fault_set(reterr, WET_ERR_EXISTS, "name", item->name, "another name: a %s of this name stands there",
						 wet_stock_kind_word(item->kind));
}

int wet_ledger_add_stock(struct wet_ledger *l, struct wet_stock *item, const struct wet_stock_event *why,
						 struct wet_fault *reterr)
{
	bool is_own, is_done = false;
	struct wet_stock same;
	int64_t id = 0;
	int rc = ledger_check_stock(l, item, reterr);
	if (rc != 0)
		return rc;
	if (why->token[0] && wet_ledger_get_stock(l, item->kind, item->name, &same, NULL) == 0) {
		rc = find_done(l, same.id, why, &is_done, reterr);
		if (rc != 0)
			return rc;
		if (is_done) {
			*item = same;
			return WET_OK;
		}
	}
	rc = check_name_free(l, item, reterr);
	if (rc == 0)
		rc = ledger_several_begin(l, &is_own, reterr);
	if (rc != 0)
		return rc;
	rc = ledger_insert_stock(l, item, 0, &id, reterr);
	struct wet_stock_event event = *why;
	event.volume_ul = item->volume_ul; /* an item is the sum of its history */
	event.area_mm2 = item->area_mm2;
	event.second_mm2 = item->second_mm2;
	event.kept = item->kept;
	if (rc == 0)
		rc = ledger_put_stock_event(l, id, &event, reterr);
	rc = ledger_several_end(l, is_own, rc, reterr);
	if (rc == 0)
		item->id = id;
	return rc;
}

/* The new row and its line of history. */
static int store_change(struct wet_ledger *l, const struct wet_stock *item, const struct wet_stock_event *why,
						struct wet_fault *reterr)
{
	bool is_own;
	struct wet_stock_event event = *why;
	event.kept = item->kept;
	int rc = ledger_several_begin(l, &is_own, reterr);
	if (rc != 0)
		return rc;
	rc = ledger_update_stock(l, item, reterr);
	if (rc == 0)
		rc = ledger_put_stock_event(l, item->id, &event, reterr);
	return ledger_several_end(l, is_own, rc, reterr);
}

int wet_ledger_change_stock(struct wet_ledger *l, const struct wet_stock *item, const struct wet_stock_event *why,
							struct wet_fault *reterr)
{
	bool is_done = false;
	struct wet_stock old;
	struct wet_stock_event event = *why;
	int rc = ledger_check_stock(l, item, reterr);
	if (rc == 0)
		rc = wet_ledger_get_stock_by_id(l, item->id, &old, reterr);
	if (rc == 0)
		rc = find_done(l, item->id, why, &is_done, reterr);
	if (rc == 0 && !is_done)
		rc = check_name_free(l, item, reterr);
	if (rc != 0 || is_done)
		return rc;
	event.volume_ul = item->volume_ul - old.volume_ul;
	event.area_mm2 = item->area_mm2 - old.area_mm2;
	event.second_mm2 = item->second_mm2 - old.second_mm2;
	return store_change(l, item, &event, reterr);
}

int wet_ledger_use_stock(struct wet_ledger *l, int64_t id, const struct wet_stock_event *why,
						 struct wet_stock *ret_item, struct wet_fault *reterr)
{
	struct wet_stock item;
	bool is_done = false;
	int rc = wet_ledger_get_stock_by_id(l, id, &item, reterr);
	if (rc == 0)
		rc = find_done(l, id, why, &is_done, reterr);
	if (rc == 0 && !is_done)
		rc = wet_stock_use(&item, why, reterr);
	if (rc == 0 && !is_done)
		rc = store_change(l, &item, why, reterr);
	if (rc == 0 && ret_item)
		*ret_item = item;
	return rc;
}

int wet_ledger_discard_stock(struct wet_ledger *l, int64_t id, const struct wet_stock_event *why,
							 struct wet_stock *ret_item, struct wet_fault *reterr)
{
	struct wet_stock item;
	struct wet_stock_event event = *why;
	bool is_done = false;
	int rc = wet_ledger_get_stock_by_id(l, id, &item, reterr);
	if (rc == 0)
		rc = find_done(l, id, why, &is_done, reterr);
	if (rc == 0 && !is_done && item.is_gone)
		rc = wet_fault_set(reterr, WET_ERR_REFUSED, "name", item.name, "%s is gone; name one that is still there",
						   item.name);
	if (rc == 0 && !is_done) {
		if (item.kind == WET_STOCK_BOTTLE || item.kind == WET_STOCK_BATH) {
			event.volume_ul = -item.volume_ul;
			item.volume_ul = 0;
		}
		item.is_gone = true;
		item.gone_ms = why->wall_ms;
		rc = store_change(l, &item, &event, reterr);
	}
	if (rc == 0 && ret_item)
		*ret_item = item;
	return rc;
}

int wet_ledger_add_stock_from(struct wet_ledger *l, struct wet_stock *item, int64_t bottle_id, int64_t draw_ul,
							  const struct wet_stock_event *why, struct wet_fault *reterr)
{
	bool is_own;
	struct wet_stock made = *item;
	struct wet_stock_event draw = *why;
	int rc = ledger_several_begin(l, &is_own, reterr);
	if (rc != 0)
		return rc;
	made.from_id = bottle_id;
	draw.act = WET_STOCK_ACT_USE;
	draw.volume_ul = -draw_ul;
	draw.area_mm2 = draw.second_mm2 = 0;
	wet_text_format(draw.note, sizeof draw.note, "for %s", item->name);
	rc = wet_ledger_use_stock(l, bottle_id, &draw, NULL, reterr);
	if (rc == 0)
		rc = wet_ledger_add_stock(l, &made, why, reterr);
	rc = ledger_several_end(l, is_own, rc, reterr);
	if (rc == 0)
		*item = made;
	return rc;
}
