/* exchange_plan.c: taking in kept plans, and what stages of runs are booked on. */
#include "base/text.h"
#include "ledger/exchange.h"
#include "ledger/inside.h"

#include <stdlib.h>
#include <string.h>

/* -- out -------------------------------------------------------------------------------- */
struct taking_bookings {
	wet_ledger_booking_cb *cb;
	void *ctx;
};

static int take_booking(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking_bookings *t = ctx;
	struct wet_booking b;
	int64_t stage;
	if (!column_number(s, 0, 1, INT64_MAX, &b.run_id) || !column_number(s, 1, 0, WET_RECIPE_STAGES - 1, &stage) ||
		!column_number(s, 2, 1, INT64_MAX, &b.stock_id) || !column_number(s, 3, 0, INT64_MAX, &b.area_mm2) ||
		!column_number(s, 4, 0, INT64_MAX, &b.volume_ul) || !column_number(s, 5, 0, INT64_MAX, &b.second_mm2))
		return ledger_corrupt(l, "a booking", reterr);
	b.stage = (int)stage;
	return t->cb(t->ctx, &b);
}

int wet_ledger_each_booking(struct wet_ledger *l, const struct wet_booking *after, int64_t to_run,
							wet_ledger_booking_cb *cb, void *ctx, struct wet_fault *reterr)
{
	struct taking_bookings t = { cb, ctx };
	sqlite3_stmt *s = ledger_prepare(l,
									 "SELECT run_id, stage, stock_id, area_mm2, volume_ul, second_mm2 FROM booking"
									 " WHERE (run_id, stage, stock_id) > (?, ?, ?) AND run_id <= ?"
									 " ORDER BY run_id, stage, stock_id",
									 reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, 1, after->run_id);
	(void)sqlite3_bind_int(s, 2, after->stage);
	(void)sqlite3_bind_int64(s, 3, after->stock_id);
	(void)sqlite3_bind_int64(s, 4, to_run);
	return ledger_each(l, s, take_booking, &t, reterr);
}

/* -- plans ------------------------------------------------------------------------------- */

/* By bottle, as they are read, whatever numbers those got here. */
static void sort_draws(struct wet_kept_bath *b)
{
	for (int i = 1; i < b->draw_count; i++) {
		for (int n = i; n > 0 && b->draws[n].bottle_id < b->draws[n - 1].bottle_id; n--) {
			int64_t id = b->draws[n].bottle_id, ul = b->draws[n].stock_ul;
			b->draws[n] = b->draws[n - 1];
			b->draws[n - 1].bottle_id = id;
			b->draws[n - 1].stock_ul = ul;
		}
	}
}

static int translate(struct wet_kept_plan *p, const struct wet_known *known, struct wet_fault *reterr)
{
	int rc = WET_OK;
	for (int i = 0; i < p->load_count && rc == 0; i++)
		rc = wet_numbers_here(&known->runs, "/run", &p->loads[i].run_id, reterr);
	for (int i = 0; i < p->bath_count && rc == 0; i++) {
		struct wet_kept_bath *b = &p->baths[i];
		rc = wet_numbers_here(&known->items, "/item", &b->stock_id, reterr);
		for (int n = 0; n < b->draw_count && rc == 0; n++)
			rc = wet_numbers_here(&known->items, "/bottle", &b->draws[n].bottle_id, reterr);
		sort_draws(b);
	}
	return rc;
}

static const char *odd_bath(const struct wet_kept_bath *a, const struct wet_kept_bath *b)
{
	if (strcmp(a->key, b->key) != 0 || strcmp(a->what, b->what) != 0 || strcmp(a->strength, b->strength) != 0 ||
		a->first_load != b->first_load || a->load_count != b->load_count || a->volume_ul != b->volume_ul ||
		a->is_one_shot != b->is_one_shot || strcmp(a->second_key, b->second_key) != 0 || a->second_load != b->second_load ||
		a->second_count != b->second_count || a->rotations != b->rotations)
		return "baths";
	if (a->draw_count != b->draw_count)
		return "draws";
	for (int i = 0; i < a->draw_count; i++) {
		if (a->draws[i].bottle_id != b->draws[i].bottle_id || a->draws[i].stock_ul != b->draws[i].stock_ul)
			return "draws";
	}
	return NULL;
}

/* Two that were both set, to different numbers. */
static bool is_odd(int64_t a, int64_t b)
{
	return a != b && a != 0 && b != 0;
}

/* The name of the first part that differs, and goes on neither here nor there; NULL: none. */
static const char *odd_plan(const struct wet_kept_plan *a, const struct wet_kept_plan *b)
{
	if (strcmp(a->recipe_name, b->recipe_name) != 0 || strcmp(a->recipe_hash, b->recipe_hash) != 0 ||
		strcmp(a->vessel, b->vessel) != 0 || a->wall_ms != b->wall_ms)
		return "recipe, vessel or time";
	if (a->load_count != b->load_count)
		return "loads";
	for (int i = 0; i < a->load_count; i++) {
		if (a->loads[i].pieces != b->loads[i].pieces || a->loads[i].area_mm2 != b->loads[i].area_mm2)
			return "loads";
		if (is_odd(a->loads[i].run_id, b->loads[i].run_id))
			return "armed loads";
	}
	if (a->bath_count != b->bath_count)
		return "baths";
	for (int i = 0; i < a->bath_count; i++) {
		const char *odd = odd_bath(&a->baths[i], &b->baths[i]);
		if (odd)
			return odd;
		if (is_odd(a->baths[i].stock_id, b->baths[i].stock_id))
			return "mixed baths";
	}
	return NULL;
}

static int set_number(struct wet_ledger *l, const char *sql, int64_t plan_id, int index, int64_t number,
					  struct wet_fault *reterr)
{
	const int64_t values[] = { number, plan_id, index };
	return ledger_run_numbers(l, sql, values, 3, reterr);
}

/* What was armed or mixed there since; *ret_is_new: was there any? */
static int put_rest(struct wet_ledger *l, bool is_dry, const struct wet_kept_plan *in, const struct wet_kept_plan *here,
					bool *ret_is_new, struct wet_fault *reterr)
{
	int rc = WET_OK;
	bool is_new = false;
	for (int i = 0; i < in->load_count && rc == 0; i++) {
		if (in->loads[i].run_id == 0 || here->loads[i].run_id != 0)
			continue;
		is_new = true;
		if (!is_dry)
			rc = set_number(l, "UPDATE plan_load SET run_id = ? WHERE plan_id = ? AND load = ?", here->id, i,
							in->loads[i].run_id, reterr);
	}
	for (int i = 0; i < in->bath_count && rc == 0; i++) {
		if (in->baths[i].stock_id == 0 || here->baths[i].stock_id != 0)
			continue;
		is_new = true;
		if (!is_dry)
			rc = set_number(l, "UPDATE plan_bath SET stock_id = ? WHERE plan_id = ? AND bath = ?", here->id, i,
							in->baths[i].stock_id, reterr);
	}
	*ret_is_new = is_new;
	return rc;
}

static int complete(struct wet_ledger *l, bool is_dry, const struct wet_kept_plan *in, const struct wet_kept_plan *here,
					bool *ret_is_new, struct wet_fault *reterr)
{
	bool is_own = false;
	const char *odd = odd_plan(in, here);
	if (odd)
		return wet_fault_set(reterr, WET_ERR_EXISTS, "plan", in->name, "the content in %s: its %s differ", l->path, odd);
	int rc = is_dry ? WET_OK : ledger_several_begin(l, &is_own, reterr);
	if (rc != 0)
		return rc;
	rc = put_rest(l, is_dry, in, here, ret_is_new, reterr);
	return is_dry ? rc : ledger_several_end(l, is_own, rc, reterr);
}

static int check_plan(const struct wet_kept_plan *p, struct wet_fault *reterr)
{
	if (!p->name[0] || p->load_count < 1)
		return wet_fault_set(reterr, WET_ERR_INVALID, "plan", p->name, "a name, and its loads in the lines behind it");
	for (int i = 0; i < p->bath_count; i++) {
		const struct wet_kept_bath *b = &p->baths[i];
		if (b->load_count + b->second_count == 0)
			return wet_fault_set(reterr, WET_ERR_INVALID, "plan", p->name, "baths for a load or more; bath %d is for none", i);
		if (b->first_load + b->load_count > p->load_count || b->second_load + b->second_count > p->load_count)
			return wet_fault_set(reterr, WET_ERR_INVALID, "plan", p->name,
								 "baths for the %d loads it has; bath %d is for more", p->load_count, i);
	}
	return WET_OK;
}

int wet_ledger_import_plan(struct wet_ledger *l, bool is_dry, struct wet_kept_plan *p, struct wet_known *known,
						   bool *ret_is_new, struct wet_fault *reterr)
{
	struct wet_fault fault;
	bool is_new = true;
	int rc = check_plan(p, reterr);
	if (rc == 0)
		rc = translate(p, known, reterr);
	if (rc != 0)
		return rc;
	struct wet_kept_plan *here = calloc(1, sizeof *here);
	if (!here)
		return wet_fault_set(reterr, WET_ERR_NOMEM, "plan", p->name, "more memory");
	rc = wet_ledger_get_plan(l, p->name, here, &fault);
	if (rc == 0)
		rc = complete(l, is_dry, p, here, &is_new, reterr);
	else if (rc == WET_ERR_NOT_FOUND)
		rc = is_dry ? WET_OK : wet_ledger_put_plan(l, p, reterr);
	else
		*reterr = fault;
	free(here);
	if (rc == 0)
		*ret_is_new = is_new;
	return rc;
}

/* -- bookings ------------------------------------------------------------------------------ */

static int take_one(void *ctx, const struct wet_booking *booking)
{
	*(struct wet_booking *)ctx = *booking;
	return WET_LEDGER_FULL;
}

int wet_ledger_import_booking(struct wet_ledger *l, bool is_dry, const struct wet_booking *booking, struct wet_known *known,
							  bool *ret_is_new, struct wet_fault *reterr)
{
	struct wet_booking b = *booking, here = { .run_id = 0 };
	int rc = wet_numbers_here(&known->runs, "/run", &b.run_id, reterr);
	if (rc == 0)
		rc = wet_numbers_here(&known->items, "/item", &b.stock_id, reterr);
	/* The next one at or over it. */
	const struct wet_booking before = { .run_id = b.run_id, .stage = b.stage, .stock_id = b.stock_id - 1 };
	if (rc == 0 && b.run_id > 0 && b.stock_id > 0)
		rc = wet_ledger_each_booking(l, &before, b.run_id, take_one, &here, reterr);
	if (rc != 0 && rc != WET_LEDGER_FULL)
		return rc;
	bool is_there = here.run_id == b.run_id && here.stage == b.stage && here.stock_id == b.stock_id;
	if (is_there && (here.area_mm2 != b.area_mm2 || here.volume_ul != b.volume_ul || here.second_mm2 != b.second_mm2))
		return wet_fault_set(reterr, WET_ERR_EXISTS, "booking", NULL, "the area and the volume that are in %s already",
							 l->path);
	const int64_t values[] = { b.run_id, b.stage, b.stock_id, b.area_mm2, b.volume_ul, b.second_mm2 };
	rc = is_there || is_dry
			 ? WET_OK
			 : ledger_run_numbers(l,
								  "INSERT INTO booking(run_id, stage, stock_id, area_mm2, volume_ul, second_mm2)"
								  " VALUES(?,?,?,?,?,?)",
								  values, 6, reterr);
	if (rc == 0)
		*ret_is_new = !is_there;
	return rc;
}
