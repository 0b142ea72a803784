/* vessels.c: vessels as measured or told; the latest row of a name wins, the older ones are its history. */
#include "ledger/inside.h"

#include <string.h>

/* Stored as numbers: see inside.h. */
static_assert(WET_VESSEL_CLOSED_TANK == 0 && WET_VESSEL_OPEN_TANK == 1 && WET_VESSEL_TRAYS == 2, "stored");
static_assert(WET_VESSEL_DRUM == 3 && WET_VESSEL_WASHER == 4, "stored");

static bool is_stage_time(int64_t ns)
{
	return ns >= 0 && ns <= WET_STAGE_NS_MAX;
}

int ledger_check_vessel(const struct wet_vessel *v, struct wet_fault *reterr)
{
	if (!text_fits(v->name, sizeof v->name))
		return wet_fault_set(reterr, WET_ERR_INVALID, "vessel", NULL, "a name in UTF-8 of under 64 bytes");
	if (!is_stage_time(v->fill_ns) || !is_stage_time(v->drain_ns) || !is_stage_time(v->stagger_ns))
		return wet_fault_set(reterr, WET_ERR_RANGE, "vessel", v->name,
							 "fill, drain and stagger of at most a day");
	if ((unsigned)v->kind >= WET_VESSEL_KIND_N || v->pieces_max < 0 || v->tau_ns < 0 || v->tau_error_ns < 0 ||
		v->tau_count < 0 || v->chill_ppm < 0 || v->chill_ppm > 1000000)
		return wet_fault_set(reterr, WET_ERR_RANGE, "vessel", v->name,
							 "a kind, a load and a constant that exist");
	return WET_OK;
}

int bind_vessel(sqlite3_stmt *s, int i, const struct wet_vessel *v)
{
	bind_text(s, i++, v->name);
	(void)sqlite3_bind_int(s, i++, (int)v->kind);
	(void)sqlite3_bind_int64(s, i++, v->fill_ns);
	(void)sqlite3_bind_int64(s, i++, v->drain_ns);
	(void)sqlite3_bind_int(s, i++, v->pieces_max);
	(void)sqlite3_bind_int64(s, i++, v->stagger_ns);
	(void)sqlite3_bind_int64(s, i++, v->tau_ns);
	(void)sqlite3_bind_int64(s, i++, v->tau_error_ns);
	(void)sqlite3_bind_int(s, i++, v->tau_count);
	(void)sqlite3_bind_int(s, i++, v->chill_ppm);
	return i;
}

bool ledger_same_vessel(const struct wet_vessel *a, const struct wet_vessel *b)
{
	return strcmp(a->name, b->name) == 0 && a->kind == b->kind && a->fill_ns == b->fill_ns &&
		   a->drain_ns == b->drain_ns && a->pieces_max == b->pieces_max && a->stagger_ns == b->stagger_ns &&
		   a->tau_ns == b->tau_ns && a->tau_error_ns == b->tau_error_ns && a->tau_count == b->tau_count &&
		   a->chill_ppm == b->chill_ppm;
}

bool column_vessel(sqlite3_stmt *s, int column, struct wet_vessel *ret_vessel)
{
	struct wet_vessel v;
	int64_t kind, pieces_max, tau_count, chill_ppm;
	memset(&v, 0, sizeof v);
	if (!column_text(s, column, v.name, sizeof v.name) ||
		!column_number(s, column + 1, 0, WET_VESSEL_KIND_N - 1, &kind) ||
		!column_number(s, column + 2, 0, WET_STAGE_NS_MAX, &v.fill_ns) ||
		!column_number(s, column + 3, 0, WET_STAGE_NS_MAX, &v.drain_ns) ||
		!column_number(s, column + 4, 0, INT32_MAX, &pieces_max) ||
		!column_number(s, column + 5, 0, WET_STAGE_NS_MAX, &v.stagger_ns) ||
		!column_number(s, column + 6, 0, INT64_MAX, &v.tau_ns) ||
		!column_number(s, column + 7, 0, INT64_MAX, &v.tau_error_ns) ||
		!column_number(s, column + 8, 0, INT32_MAX, &tau_count) ||
		!column_number(s, column + 9, 0, 1000000, &chill_ppm))
		return false;
	v.kind = (enum wet_vessel_kind)kind;
	v.pieces_max = (int)pieces_max;
	v.tau_count = (int)tau_count;
	v.chill_ppm = (int32_t)chill_ppm;
	*ret_vessel = v;
	return true;
}

int wet_ledger_put_vessel(struct wet_ledger *l, const struct wet_vessel *v, int64_t wall_ms,
						  struct wet_fault *reterr)
{
	int rc =
		v->name[0] ? ledger_check_vessel(v, reterr) : ledger_invalid(l, "a vessel without a name", reterr);
	if (rc != 0)
		return rc;
	sqlite3_stmt *s = ledger_prepare(
		l,
		"INSERT INTO vessel(" VESSEL_COLUMNS ", wall_ms) VALUES(?,?,?,?,?,?,?,?,?,?,?)",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int64(s, bind_vessel(s, 1, v), wall_ms);
	return ledger_finish(l, s, reterr);
}

struct taking_vessels {
	wet_ledger_vessel_cb *cb;
	void *ctx;
};

static int take_vessel(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct taking_vessels *t = ctx;
	struct wet_vessel v;
	return column_vessel(s, 0, &v) ? t->cb(t->ctx, &v) : ledger_corrupt(l, "a vessel", reterr);
}

static int take_one(void *ctx, const struct wet_vessel *vessel)
{
	*(struct wet_vessel *)ctx = *vessel;
	return WET_OK;
}

int wet_ledger_get_vessel(struct wet_ledger *l, const char *name, struct wet_vessel *ret_vessel,
						  struct wet_fault *reterr)
{
	struct wet_vessel v = { .name = "" };
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT " VESSEL_COLUMNS " FROM vessel WHERE name = ?"
		" ORDER BY id DESC LIMIT 1",
		reterr);
	if (!s)
		return ledger_err(l);
	bind_text(s, 1, name);
	struct taking_vessels t = { take_one, &v };
	int rc = ledger_each(l, s, take_vessel, &t, reterr);
	if (rc == 0 && !v.name[0])
		rc = wet_fault_set(reterr, WET_ERR_NOT_FOUND, "vessel", name, "a vessel that was measured or told");
	if (rc == 0)
		*ret_vessel = v;
	return rc;
}

int wet_ledger_each_vessel(struct wet_ledger *l, wet_ledger_vessel_cb *cb, void *ctx,
						   struct wet_fault *reterr)
{
	sqlite3_stmt *s =
		ledger_prepare(l,
					   "SELECT " VESSEL_COLUMNS " FROM vessel"
					   " WHERE id IN (SELECT max(id) FROM vessel GROUP BY name) ORDER BY name",
					   reterr);
	struct taking_vessels t = { cb, ctx };
	return s ? ledger_each(l, s, take_vessel, &t, reterr) : ledger_err(l);
}
