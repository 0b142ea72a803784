/* plans.c: kept plans and bookings. */
#include "ledger/plans.h"

#include "ledger/inside.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

int ledger_run_numbers(struct wet_ledger *l, const char *sql, const int64_t *values, int count,
					   struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, sql, reterr);
	if (!s)
		return ledger_err(l);
	for (int i = 0; i < count; i++)
		(void)sqlite3_bind_int64(s, i + 1, values[i]);
	return ledger_finish(l, s, reterr);
}

/* -- storing a plan ------------------------------------------------------------------ */

static int put_head(struct wet_ledger *l, const struct wet_kept_plan *p, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l, "INSERT INTO plan(name, recipe_name, recipe_hash, vessel, wall_ms) VALUES(?,?,?,?,?)", reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, p->name);
	bind_text(s, 2, p->recipe_name);
	bind_text(s, 3, p->recipe_hash);
	bind_text(s, 4, p->vessel);
	(void)sqlite3_bind_int64(s, 5, p->wall_ms);
	return ledger_finish(l, s, reterr);
}

static int put_load(struct wet_ledger *l, int64_t id, int index, const struct wet_kept_load *load,
					struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l, "INSERT INTO plan_load(plan_id, load, pieces, area_mm2, run_id) VALUES(?,?,?,?,?)", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, id);
	(void)sqlite3_bind_int(s, 2, index);
	(void)sqlite3_bind_int(s, 3, load->pieces);
	(void)sqlite3_bind_int64(s, 4, load->area_mm2);
	(void)sqlite3_bind_int64(s, 5, load->run_id);
	return ledger_finish(l, s, reterr);
}

static int put_draw(struct wet_ledger *l, int64_t id, int bath, int64_t bottle_id, int64_t stock_ul,
					struct wet_fault *reterr)
{
	sqlite3_stmt *s =
		ledger_prepare(l, "INSERT INTO plan_draw(plan_id, bath, bottle_id, stock_ul) VALUES(?,?,?,?)", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, id);
	(void)sqlite3_bind_int(s, 2, bath);
	(void)sqlite3_bind_int64(s, 3, bottle_id);
	(void)sqlite3_bind_int64(s, 4, stock_ul);
	return ledger_finish(l, s, reterr);
}

static int put_bath(struct wet_ledger *l, int64_t id, int index, const struct wet_kept_bath *b, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l,
									 "INSERT INTO plan_bath(plan_id, bath, key, what, strength, first_load, load_count,"
									 " stock_id, volume_ul, is_one_shot, second_key, second_load, second_count, rotations)"
									 " VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
									 reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, id);
	(void)sqlite3_bind_int(s, 2, index);
	bind_text(s, 3, b->key);
	bind_text(s, 4, b->what);
	bind_text(s, 5, b->strength);
	(void)sqlite3_bind_int(s, 6, b->first_load);
	(void)sqlite3_bind_int(s, 7, b->load_count);
	(void)sqlite3_bind_int64(s, 8, b->stock_id);
	(void)sqlite3_bind_int64(s, 9, b->volume_ul);
	(void)sqlite3_bind_int(s, 10, b->is_one_shot);
	bind_text(s, 11, b->second_key);
	(void)sqlite3_bind_int(s, 12, b->second_load);
	(void)sqlite3_bind_int(s, 13, b->second_count);
	(void)sqlite3_bind_int(s, 14, b->rotations);
	int rc = ledger_finish(l, s, reterr);
	for (int i = 0; i < b->draw_count && rc == 0; i++)
		rc = put_draw(l, id, index, b->draws[i].bottle_id, b->draws[i].stock_ul, reterr);
	return rc;
}

/* -- reading it ------------------------------------------------------------------------ */

static int take_head(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct wet_kept_plan *p = ctx;
	if (!column_number(s, 0, 1, INT64_MAX, &p->id) || !column_text(s, 1, p->name, sizeof p->name) ||
		!column_text(s, 2, p->recipe_name, sizeof p->recipe_name) ||
		!column_text(s, 3, p->recipe_hash, sizeof p->recipe_hash) || !column_text(s, 4, p->vessel, sizeof p->vessel) ||
		!column_number(s, 5, INT64_MIN, INT64_MAX, &p->wall_ms))
		return ledger_corrupt(l, "a plan", reterr);
	return WET_OK;
}

static int take_load(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct wet_kept_plan *p = ctx;
	struct wet_kept_load *load = &p->loads[p->load_count];
	int64_t index, pieces;
	if (p->load_count == WET_KEPT_LOADS || !column_number(s, 0, p->load_count, p->load_count, &index) ||
		!column_number(s, 1, 1, WET_PIECES, &pieces) || !column_number(s, 2, 0, INT64_MAX, &load->area_mm2) ||
		!column_number(s, 3, 0, INT64_MAX, &load->run_id))
		return ledger_corrupt(l, "a load of a plan", reterr);
	load->pieces = (int)pieces;
	p->load_count++;
	return WET_OK;
}

static int take_bath(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct wet_kept_plan *p = ctx;
	struct wet_kept_bath *b = &p->baths[p->bath_count];
	int64_t index, first, count, once, second, second_count, rotations;
	if (p->bath_count == WET_KEPT_BATHS || !column_number(s, 0, p->bath_count, p->bath_count, &index) ||
		!column_text(s, 1, b->key, sizeof b->key) || !column_text(s, 2, b->what, sizeof b->what) ||
		!column_text(s, 3, b->strength, sizeof b->strength) || !column_number(s, 4, 0, WET_KEPT_LOADS, &first) ||
		!column_number(s, 5, 0, WET_KEPT_LOADS, &count) || !column_number(s, 6, 0, INT64_MAX, &b->stock_id) ||
		!column_number(s, 7, 1, INT64_MAX, &b->volume_ul) || !column_number(s, 8, 0, 1, &once) ||
		!column_text(s, 9, b->second_key, sizeof b->second_key) || !column_number(s, 10, 0, WET_KEPT_LOADS, &second) ||
		!column_number(s, 11, 0, WET_KEPT_LOADS, &second_count) || !column_number(s, 12, 0, INT32_MAX, &rotations) ||
		count + second_count == 0)
		return ledger_corrupt(l, "a bath of a plan", reterr);
	b->first_load = (int)first;
	b->load_count = (int)count;
	b->is_one_shot = once != 0;
	b->second_load = (int)second;
	b->second_count = (int)second_count;
	b->rotations = (int)rotations;
	p->bath_count++;
	return WET_OK;
}

static int take_draw(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct wet_kept_plan *p = ctx;
	int64_t bath, bottle, ul;
	if (!column_number(s, 0, 0, p->bath_count - 1, &bath) || !column_number(s, 1, 1, INT64_MAX, &bottle) ||
		!column_number(s, 2, 0, INT64_MAX, &ul) || p->baths[bath].draw_count == WET_PLAN_SOURCES)
		return ledger_corrupt(l, "a draw of a plan", reterr);
	struct wet_kept_bath *b = &p->baths[bath];
	b->draws[b->draw_count].bottle_id = bottle;
	b->draws[b->draw_count++].stock_ul = ul;
	return WET_OK;
}

static int read_part(struct wet_ledger *l, const char *sql, ledger_take *take, struct wet_kept_plan *p,
					 struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, sql, reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, p->id);
	return ledger_each(l, s, take, p, reterr);
}

int wet_ledger_get_plan(struct wet_ledger *l, const char *name, struct wet_kept_plan *ret_plan, struct wet_fault *reterr)
{
	struct wet_kept_plan *p = calloc(1, sizeof *p);
	if (!p)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "plan", NULL, "more memory");
	sqlite3_stmt *s = ledger_prepare(
		l, "SELECT id, name, recipe_name, recipe_hash, vessel, wall_ms FROM plan WHERE name = ?", reterr);
	int rc = s ? WET_OK : ledger_err(l);
	if (rc == 0) {
		bind_text(s, 1, name);
		rc = ledger_each(l, s, take_head, p, reterr);
	}
	if (rc == 0 && p->id == 0)
		rc = wet_fault_set(reterr, WET_ERR_NOT_FOUND, "plan", name, "one of those that `wetside plan` lists");
	if (rc == 0)
		rc = read_part(l, "SELECT load, pieces, area_mm2, run_id FROM plan_load WHERE plan_id = ? ORDER BY load",
					   take_load, p, reterr);
	if (rc == 0)
		rc = read_part(l,
					   "SELECT bath, key, what, strength, first_load, load_count, stock_id, volume_ul, is_one_shot,"
					   " second_key, second_load, second_count, rotations FROM plan_bath WHERE plan_id = ? ORDER BY bath",
					   take_bath, p, reterr);
	if (rc == 0)
		rc = read_part(l,
					   "SELECT bath, bottle_id, stock_ul FROM plan_draw WHERE plan_id = ? ORDER BY bath, bottle_id",
					   take_draw, p, reterr);
	if (rc == 0)
		*ret_plan = *p;
	free(p);
	return rc;
}

struct taking_plans {
	wet_ledger_plan_cb *cb;
	void *ctx;
};

static int take_name(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking_plans *t = ctx;
	int64_t id, wall_ms;
	char name[WET_NAME_BYTES], recipe[WET_NAME_BYTES];
	if (!column_number(s, 0, 1, INT64_MAX, &id) || !column_text(s, 1, name, sizeof name) ||
		!column_text(s, 2, recipe, sizeof recipe) || !column_number(s, 3, INT64_MIN, INT64_MAX, &wall_ms))
		return ledger_corrupt(l, "a plan", reterr);
	return t->cb(t->ctx, id, name, recipe, wall_ms);
}

int wet_ledger_each_plan(struct wet_ledger *l, int64_t after_id, int limit, wet_ledger_plan_cb *cb, void *ctx,
						 struct wet_fault *reterr)
{
	struct taking_plans t = { cb, ctx };
	sqlite3_stmt *s = ledger_prepare(
		l, "SELECT id, name, recipe_name, wall_ms FROM plan WHERE id > ? ORDER BY id LIMIT ?", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, after_id);
	(void)sqlite3_bind_int(s, 2, limit > 0 ? limit : 0);
	return ledger_each(l, s, take_name, &t, reterr);
}

static int check_name_free(struct wet_ledger *l, const char *name, struct wet_fault *reterr)
{
	bool is_there;
	sqlite3_stmt *s = ledger_prepare(l, "SELECT 1 FROM plan WHERE name = ?", reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, name);
	int rc = ledger_ask(l, s, &is_there, reterr);
	if (rc == 0 && is_there)
		return wet_fault_set(reterr, WET_ERR_EXISTS, "keep", name, "another name: a plan of this name is kept");
	return rc;
}

int wet_ledger_put_plan(struct wet_ledger *l, const struct wet_kept_plan *p, struct wet_fault *reterr)
{
	bool is_own;
	if (!p->name[0] || !text_fits(p->name, sizeof p->name) || !text_fits(p->vessel, sizeof p->vessel))
		return ledger_invalid(l, "a plan", reterr);
	int rc = check_name_free(l, p->name, reterr);
	if (rc == 0)
		rc = ledger_several_begin(l, &is_own, reterr);
	if (rc != 0)
		return rc;
	rc = put_head(l, p, reterr);
	int64_t id = sqlite3_last_insert_rowid(l->db);
	for (int i = 0; i < p->load_count && rc == 0; i++)
		rc = put_load(l, id, i, &p->loads[i], reterr);
	for (int i = 0; i < p->bath_count && rc == 0; i++)
		rc = put_bath(l, id, i, &p->baths[i], reterr);
	return ledger_several_end(l, is_own, rc, reterr);
}

/* -- arming a load ----------------------------------------------------------------------- */

/* One of two baths changes its place: it is named after what it is. */
static const char *name_of(const struct wet_kept_bath *b)
{
	return b->second_key[0] ? b->what : b->key;
}

char *wet_kept_bath_name(const char *plan_name, const char *place, int nth, char *buf, unsigned n)
{
	wet_text_format(buf, n, "%.30s %.24s", plan_name, place);
	return nth > 1 ? wet_text_append(buf, n, " %d", nth) : buf;
}

/* "lots 4 and 7", as far as it has come; bottles of one lot are one. */
static void add_lot(char *buf, unsigned n, char *last, const char *lot)
{
	const char *name = lot[0] ? lot : "unknown";
	if (strcmp(last, name) == 0)
		return;
	wet_text_append(buf, n, "%s%s", last[0] ? " and " : "", name);
	wet_text_copy(last, WET_NAME_BYTES, name);
}

/* The bath as it stands on the shelf from now on, drawn from its bottles. */
static int mix_bath(struct wet_ledger *l, const struct wet_kept_plan *p, int index, uint32_t uid, int64_t wall_ms,
					int64_t *ret_stock_id, struct wet_fault *reterr)
{
	const struct wet_kept_bath *b = &p->baths[index];
	struct wet_stock_event why = { .act = WET_STOCK_ACT_USE, .wall_ms = wall_ms, .uid = uid };
	struct wet_stock item = {
		.kind = WET_STOCK_BATH, .full_ul = b->volume_ul, .volume_ul = b->volume_ul, .since_ms = wall_ms
	};
	struct wet_stock bottle = { .id = 0 };
	char lots[WET_LINE_BYTES] = "", lot[WET_NAME_BYTES] = "";
	int rc = WET_OK, nth = 1;
	const char *place = name_of(b);
	for (int i = 0; i < index; i++)
		nth += strcmp(name_of(&p->baths[i]), place) == 0 && p->baths[i].draw_count > 0;
	item.rotations = b->rotations;
	wet_kept_bath_name(p->name, place, nth, item.name, sizeof item.name);
	wet_text_copy(item.what, sizeof item.what, b->what);
	wet_text_copy(item.strength, sizeof item.strength, b->strength);
	wet_text_format(why.note, sizeof why.note, "for %s", item.name);
	item.from_id = b->draw_count == 1 ? b->draws[0].bottle_id : 0;
	for (int i = 0; i < b->draw_count && rc == 0; i++) {
		why.volume_ul = -b->draws[i].stock_ul;
		rc = wet_ledger_use_stock(l, b->draws[i].bottle_id, &why, &bottle, reterr);
		add_lot(lots, sizeof lots, lot, bottle.lot);
	}
	why.act = WET_STOCK_ACT_ADD;
	wet_text_format(why.note, sizeof why.note, "plan %s", p->name);
	if (strcmp(lots, lot) != 0)
		wet_text_append(why.note, sizeof why.note, "; lots %s", lots);
	if (rc == 0)
		rc = wet_ledger_add_stock(l, &item, &why, reterr);
	const int64_t values[] = { item.id, p->id, index };
	if (rc == 0)
		rc = ledger_run_numbers(l, "UPDATE plan_bath SET stock_id = ? WHERE plan_id = ? AND bath = ?", values, 3, reterr);
	if (rc == 0)
		*ret_stock_id = item.id;
	return rc;
}

static bool is_within(int load, int first, int count)
{
	return load >= first && load < first + count;
}

static int tie_stages(struct wet_ledger *l, const struct wet_kept_bath *b, const struct wet_booking *booking,
					  const struct wet_recipe *recipe, struct wet_fault *reterr)
{
	const char *key = booking->second_mm2 > 0 ? b->second_key : b->key;
	int rc = WET_OK;
	for (int i = 0; i < recipe->stage_count && rc == 0; i++) {
		int bath = recipe->stages[i].bath;
		if (bath < 0 || strcmp(recipe->baths[bath].key, key) != 0)
			continue;
		const int64_t values[] = { booking->run_id,   i, booking->stock_id, booking->area_mm2,
								   booking->volume_ul, booking->second_mm2 };
		rc = ledger_run_numbers(l,
								"INSERT INTO booking(run_id, stage, stock_id, area_mm2, volume_ul, second_mm2)"
								" VALUES(?,?,?,?,?,?)",
								values, 6, reterr);
	}
	return rc;
}

/* A bath that stood there and is put behind another takes the count of its pair's rotations. */
static int note_rotations(struct wet_ledger *l, const struct wet_kept_plan *p, const struct wet_kept_bath *b, uint32_t uid,
						  int64_t wall_ms, struct wet_fault *reterr)
{
	struct wet_stock_event why = { .act = WET_STOCK_ACT_CHANGE, .wall_ms = wall_ms, .uid = uid };
	struct wet_stock item;
	int rc = wet_ledger_get_stock_by_id(l, b->stock_id, &item, reterr);
	if (rc != 0 || item.is_gone || item.rotations >= b->rotations)
		return rc;
	item.rotations = b->rotations;
	wet_text_format(why.note, sizeof why.note, "the second, by plan %s", p->name);
	return wet_ledger_change_stock(l, &item, &why, reterr);
}

int wet_ledger_arm_load(struct wet_ledger *l, const struct wet_kept_plan *p, int load, int64_t run_id,
						const struct wet_recipe *recipe, uint32_t uid, int64_t wall_ms, struct wet_fault *reterr)
{
	int rc = WET_OK;
	for (int i = 0; i < p->bath_count && rc == 0; i++) {
		const struct wet_kept_bath *b = &p->baths[i];
		struct wet_booking booking = { .run_id = run_id, .stock_id = b->stock_id };
		bool is_second = is_within(load, b->second_load, b->second_count);
		if (!is_second && !is_within(load, b->first_load, b->load_count))
			continue;
		*(is_second ? &booking.second_mm2 : &booking.area_mm2) = p->loads[load].area_mm2;
		booking.volume_ul = b->is_one_shot ? b->volume_ul : 0;
		if (booking.stock_id == 0)
			rc = mix_bath(l, p, i, uid, wall_ms, &booking.stock_id, reterr);
		else if (is_second)
			rc = note_rotations(l, p, b, uid, wall_ms, reterr);
		if (rc == 0)
			rc = tie_stages(l, b, &booking, recipe, reterr);
	}
	const int64_t values[] = { run_id, p->id, load };
	return rc == 0 ? ledger_run_numbers(l, "UPDATE plan_load SET run_id = ? WHERE plan_id = ? AND load = ?", values, 3, reterr)
				   : rc;
}

/* -- booking ------------------------------------------------------------------------------- */

struct promised {
	int64_t area_mm2, second_mm2;
};

static int take_promised(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct promised *p = ctx;
	if (!column_number(s, 0, 0, INT64_MAX, &p->area_mm2) || !column_number(s, 1, 0, INT64_MAX, &p->second_mm2))
		return ledger_corrupt(l, "a booking", reterr);
	return WET_OK;
}

int wet_ledger_promised(struct wet_ledger *l, int64_t stock_id, int64_t *ret_area_mm2, int64_t *ret_second_mm2,
						struct wet_fault *reterr)
{
	struct promised p = { 0 };
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT ifnull(sum(b.area_mm2), 0), ifnull(sum(b.second_mm2), 0) FROM booking AS b"
									 " JOIN run AS r ON r.id = b.run_id AND r.is_live = 1 WHERE b.stock_id = ?1 AND NOT EXISTS"
									 " (SELECT 1 FROM stock_event AS e WHERE e.run_id = b.run_id AND e.stage = b.stage"
									 " AND e.stock_id = b.stock_id)",
									 reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, stock_id);
	int rc = ledger_each(l, s, take_promised, &p, reterr);
	if (rc == 0) {
		*ret_area_mm2 = p.area_mm2;
		*ret_second_mm2 = p.second_mm2;
	}
	return rc;
}

int wet_ledger_has_bookings(struct wet_ledger *l, int64_t run_id, bool *ret_has, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(l, "SELECT 1 FROM booking WHERE run_id = ? LIMIT 1", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	return ledger_ask(l, s, ret_has, reterr);
}

struct bookings {
	int count;
	struct wet_booking rows[WET_PLAN_SOLUTIONS];
};

static int take_booking(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct bookings *b = ctx;
	struct wet_booking *row = &b->rows[b->count];
	if (b->count == WET_PLAN_SOLUTIONS || !column_number(s, 0, 1, INT64_MAX, &row->stock_id) ||
		!column_number(s, 1, 0, INT64_MAX, &row->area_mm2) || !column_number(s, 2, 0, INT64_MAX, &row->volume_ul) ||
		!column_number(s, 3, 0, INT64_MAX, &row->second_mm2))
		return ledger_corrupt(l, "a booking", reterr);
	b->count++;
	return WET_OK;
}

struct retired {
	int count;
	int64_t ids[WET_KEPT_BATHS];
};

static int take_retired(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct retired *r = ctx;
	if (r->count == WET_KEPT_BATHS || !column_number(s, 0, 1, INT64_MAX, &r->ids[r->count]))
		return ledger_corrupt(l, "a bath of a plan", reterr);
	r->count++;
	return WET_OK;
}

/* This one is the first of two now: the baths before it in the plan's row are spent. */
static int retire_before(struct wet_ledger *l, const struct wet_booking *first, int64_t run_id, int64_t wall_ms,
						 struct wet_fault *reterr)
{
	struct wet_stock_event why = { .act = WET_STOCK_ACT_DISCARD, .wall_ms = wall_ms, .note = "spent; the next one is the first" };
	struct retired r = { .count = 0 };
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT e.stock_id FROM plan_load AS o"
									 " JOIN plan_bath AS x ON x.plan_id = o.plan_id AND x.stock_id = ?2 AND x.second_key <> ''"
									 " JOIN plan_bath AS e ON e.plan_id = o.plan_id AND e.bath < x.bath AND"
									 " e.second_key = x.second_key JOIN stock ON stock.id = e.stock_id"
									 " WHERE o.run_id = ?1 AND stock.is_gone = 0 AND e.stock_id <> ?2",
									 reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	(void)sqlite3_bind_int64(s, 2, first->stock_id);
	int rc = ledger_each(l, s, take_retired, &r, reterr);
	for (int i = 0; i < r.count && rc == 0; i++)
		rc = wet_ledger_discard_stock(l, r.ids[i], &why, NULL, reterr);
	return rc;
}

int wet_ledger_book_stage(struct wet_ledger *l, int64_t run_id, int stage, int64_t wall_ms, struct wet_fault *reterr)
{
	struct bookings b = { .count = 0 };
	sqlite3_stmt *s =
		ledger_prepare(l, "SELECT stock_id, area_mm2, volume_ul, second_mm2 FROM booking WHERE run_id = ? AND stage = ?", reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, run_id);
	(void)sqlite3_bind_int(s, 2, stage);
	int rc = ledger_each(l, s, take_booking, &b, reterr);
	for (int i = 0; i < b.count && rc == 0; i++) {
		struct wet_stock item;
		struct wet_stock_event why = { .act = WET_STOCK_ACT_BOOK,
									   .wall_ms = wall_ms,
									   .area_mm2 = b.rows[i].area_mm2,
									   .second_mm2 = b.rows[i].second_mm2,
									   .run_id = run_id,
									   .stage = stage };
		rc = wet_ledger_get_stock_by_id(l, b.rows[i].stock_id, &item, reterr);
		if (rc != 0 || item.is_gone)
			continue;
		why.volume_ul = -(b.rows[i].volume_ul < item.volume_ul ? b.rows[i].volume_ul : item.volume_ul);
		rc = wet_ledger_use_stock(l, item.id, &why, NULL, reterr);
		if (rc == 0 && why.area_mm2 > 0)
			rc = retire_before(l, &b.rows[i], run_id, wall_ms, reterr);
	}
	return rc;
}
