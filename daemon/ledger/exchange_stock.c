/* exchange_stock.c: taking in one item of the shelf with its history, all or nothing. */
#include "base/text.h"
#include "ledger/exchange.h"
#include "ledger/inside.h"

#include <string.h>

/* See RUN_ID_MAX of exchange_run.c. */
#define ITEM_ID_MAX (INT64_C(1) << 52)
/* No sum on the way passes it, so that none can run over. */
#define AMOUNT_MAX (INT64_C(1) << 53)

/* What is in this ledger of the item. */
struct known_item {
	const struct wet_ledger_item *in;
	const struct wet_known *known;
	struct wet_stock item; /* id 0: nothing */
	int count;             /* lines of its history */
	int odd;               /* the first that differs, from 1; 0: none */
	bool is_changed;       /* in a line that the file does not have */
	struct wet_ledger *ledger;
};

/* -- what a file may say ----------------------------------------------------------------- */

static int check_sum(const char *where, int64_t found, int64_t want, struct wet_fault *reterr)
{
	char text[24];
	if (found == want)
		return WET_OK;
	wet_text_format(text, sizeof text, "%lld", (long long)found);
	return wet_fault_set(reterr, WET_ERR_INVALID, where, text, "the sum of its history, which is %lld", (long long)want);
}

static int check_history(const struct wet_ledger_item *in, struct wet_fault *reterr)
{
	int64_t volume_ul = 0, area_mm2 = 0, second_mm2 = 0;
	if (in->event_count == 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "item", in->item.name, "its history in the lines behind it");
	for (int i = 0; i < in->event_count; i++) {
		const struct wet_stock_event *e = &in->events[i];
		if (e->volume_ul < -volume_ul || e->volume_ul > AMOUNT_MAX - volume_ul || e->area_mm2 < -area_mm2 ||
			e->area_mm2 > AMOUNT_MAX - area_mm2 || e->second_mm2 < -second_mm2 ||
			e->second_mm2 > AMOUNT_MAX - second_mm2)
			return wet_fault_set(reterr, WET_ERR_INVALID, "item", in->item.name,
								 "a history that never falls below nothing; its line %d does", i + 1);
		volume_ul += e->volume_ul;
		area_mm2 += e->area_mm2;
		second_mm2 += e->second_mm2;
	}
	if (in->events[in->event_count - 1].kept != in->item.kept)
		return wet_fault_set(reterr, WET_ERR_INVALID, "/kept", wet_stock_kept_word(in->item.kept),
							 "as the last line of its history has it: %s",
							 wet_stock_kept_word(in->events[in->event_count - 1].kept));
	int rc = check_sum("/volume_ul", in->item.volume_ul, volume_ul, reterr);
	if (rc == 0)
		rc = check_sum("/area_mm2", in->item.area_mm2, area_mm2, reterr);
	return rc == 0 ? check_sum("/second_mm2", in->item.second_mm2, second_mm2, reterr) : rc;
}

static int translate(struct wet_ledger_item *in, const struct wet_known *known, struct wet_fault *reterr)
{
	char where[48];
	int rc = wet_numbers_here(&known->items, "/from", &in->item.from_id, reterr);
	for (int i = 0; i < in->event_count && rc == 0; i++) {
		wet_text_format(where, sizeof where, "line %d of its history, /run", i + 1);
		rc = wet_numbers_here(&known->runs, where, &in->events[i].run_id, reterr);
	}
	return rc;
}

/* -- what is here ------------------------------------------------------------------------- */

static bool same_line(const struct wet_stock_event *a, const struct wet_stock_event *b)
{
	return a->act == b->act && a->wall_ms == b->wall_ms && a->volume_ul == b->volume_ul && a->area_mm2 == b->area_mm2 &&
		   a->second_mm2 == b->second_mm2 && a->kept == b->kept && a->run_id == b->run_id && a->stage == b->stage && a->uid == b->uid &&
		   strcmp(a->token, b->token) == 0 && strcmp(a->note, b->note) == 0;
}

static int compare_line(void *ctx, const struct wet_stock_event *here)
{
	struct known_item *k = ctx;
	int at = k->count++;
	if (at >= k->in->event_count)
		k->is_changed |= here->act == WET_STOCK_ACT_CHANGE;
	else if (k->odd == 0 && !same_line(here, &k->in->events[at]))
		k->odd = at + 1;
	return WET_OK;
}

/* Has one of the two a change that the other has not, and was all else the same? */
static bool is_renamed(const struct known_item *k)
{
	bool is_changed = k->is_changed;
	for (int i = k->count; i < k->in->event_count; i++)
		is_changed |= k->in->events[i].act == WET_STOCK_ACT_CHANGE;
	return is_changed && k->odd == 0;
}

static int take_candidate(struct wet_ledger *l, sqlite3_stmt *s, void *ctx, struct wet_fault *reterr)
{
	struct known_item *k = ctx;
	struct wet_stock item;
	int rc = wet_ledger_get_stock_by_id(l, sqlite3_column_int64(s, 0), &item, reterr);
	if (rc != 0 || ledger_number_of(&k->known->items, item.id))
		return rc;
	k->count = k->odd = 0;
	k->is_changed = false;
	rc = wet_ledger_each_stock_event_after(l, item.id, 0, INT64_MAX, compare_line, k, reterr);
	if (rc != 0 || (strcmp(item.name, k->in->item.name) != 0 && !is_renamed(k)))
		return rc;
	k->item = item;
	return WET_LEDGER_FULL;
}

static int find_known(struct wet_ledger *l, struct known_item *k, struct wet_fault *reterr)
{
	sqlite3_stmt *s = ledger_prepare(
		l,
		"SELECT s.id FROM stock AS s WHERE s.kind = ?1 AND EXISTS (SELECT 1 FROM stock_event AS e WHERE e.id ="
		" (SELECT min(id) FROM stock_event WHERE stock_id = s.id) AND e.wall_ms = ?2 AND e.token = ?3)"
		" ORDER BY s.name <> ?4, s.id",
		reterr);
	if (!s)
		return ledger_err(l);
	(void)sqlite3_bind_int(s, 1, (int)k->in->item.kind);
	(void)sqlite3_bind_int64(s, 2, k->in->events[0].wall_ms);
	bind_text(s, 3, k->in->events[0].token);
	bind_text(s, 4, k->in->item.name);
	int rc = ledger_each(l, s, take_candidate, k, reterr);
	return rc == WET_LEDGER_FULL ? WET_OK : rc;
}

/* The name of the first member that differs; NULL: none. */
static const char *odd_item(const struct wet_stock *a, const struct wet_stock *b)
{
	const struct {
		const char *name;
		bool is_same;
	} parts[] = {
		{ "name", strcmp(a->name, b->name) == 0 },
		{ "what", strcmp(a->what, b->what) == 0 },
		{ "strength", strcmp(a->strength, b->strength) == 0 },
		{ "lot", strcmp(a->lot, b->lot) == 0 },
		{ "place", strcmp(a->place, b->place) == 0 },
		{ "full_ul", a->full_ul == b->full_ul },
		{ "least_ul", a->least_ul == b->least_ul },
		{ "pieces_max", a->pieces_max == b->pieces_max },
		{ "size", a->width_um == b->width_um && a->height_um == b->height_um },
		{ "since_ms", a->since_ms == b->since_ms },
		{ "from", a->from_id == b->from_id },
		{ "class", a->grade == b->grade },
		{ "rotations", a->rotations == b->rotations },
		{ "kept", a->kept == b->kept },
		{ "piece", a->piece_width_um == b->piece_width_um && a->piece_height_um == b->piece_height_um },
		{ "pinhole", a->hole_um == b->hole_um },
		{ "distance", a->distance_um == b->distance_um },
		{ "aperture", a->f_number_milli == b->f_number_milli },
		{ "end", a->is_gone == b->is_gone && a->gone_ms == b->gone_ms },
	};
	for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
		if (!parts[i].is_same)
			return parts[i].name;
	}
	return NULL;
}

static int judge_known(const struct known_item *k, bool *ret_goes_on, struct wet_fault *reterr)
{
	const struct wet_stock *there = &k->in->item, *here = &k->item;
	char text[96];
	wet_text_format(text, sizeof text, "%s, number %lld here", there->name, (long long)here->id);
	*ret_goes_on = k->count < k->in->event_count;
	if (k->odd != 0)
		return wet_fault_set(reterr, WET_ERR_EXISTS, "item", text,
							 "the content in %s: line %d of its history differs", k->ledger->path, k->odd);
	/* Where it came from is no matter of its history. */
	const char *odd = there->from_id != here->from_id ? "from" : NULL;
	if (!odd && k->count == k->in->event_count)
		odd = odd_item(there, here);
	if (odd)
		return wet_fault_set(reterr, WET_ERR_EXISTS, "item", text, "the content in %s: its %s differs", k->ledger->path,
							 odd);
	return WET_OK;
}

/* Nothing else may stand here by its name; what an earlier line renames or discards does not. */
static int check_name(struct wet_ledger *l, const struct known_item *k, struct wet_fault *reterr)
{
	struct wet_stock other;
	const struct wet_stock *item = &k->in->item;
	if (item->is_gone)
		return WET_OK;
	int rc = wet_ledger_get_stock(l, item->kind, item->name, &other, NULL);
	if (rc == WET_ERR_NOT_FOUND || (rc == 0 && (other.is_gone || other.id == k->item.id)))
		return WET_OK;
	if (rc != 0)
		return wet_fault_set(reterr, rc, "item", item->name, "a ledger that can be read");
	const struct wet_number *number = ledger_number_of(&k->known->items, other.id);
	if (number && number->is_changed)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_EXISTS, "item", item->name,
						 "another name: another %s of this name stands here; rename or discard it first",
						 wet_stock_kind_word(item->kind));
}

/* -- in -------------------------------------------------------------------------------------- */

static int put_from(struct wet_ledger *l, const struct known_item *k, int64_t *ret_id, struct wet_fault *reterr)
{
	struct wet_stock item = k->in->item;
	bool is_own;
	int rc = ledger_several_begin(l, &is_own, reterr);
	if (rc != 0)
		return rc;
	int64_t wanted = item.id <= ITEM_ID_MAX ? item.id : 0;
	item.id = k->item.id;
	rc = item.id ? ledger_update_stock(l, &item, reterr) : ledger_insert_stock(l, &item, wanted, &item.id, reterr);
	for (int i = k->count; i < k->in->event_count && rc == 0; i++)
		rc = ledger_put_stock_event(l, item.id, &k->in->events[i], reterr);
	rc = ledger_several_end(l, is_own, rc, reterr);
	if (rc == 0)
		*ret_id = item.id;
	return rc;
}

int wet_ledger_import_item(struct wet_ledger *l, bool is_dry, struct wet_ledger_item *in, struct wet_known *known,
						   bool *ret_is_new, struct wet_fault *reterr)
{
	struct known_item k = { .in = in, .known = known, .ledger = l };
	bool is_new = true;
	int rc = ledger_check_stock(l, &in->item, reterr);
	if (rc == 0)
		rc = ledger_check_number(&known->items, "/item", in->item.id, reterr);
	if (rc == 0)
		rc = check_history(in, reterr);
	if (rc == 0)
		rc = translate(in, known, reterr);
	if (rc == 0)
		rc = find_known(l, &k, reterr);
	if (rc == 0 && k.item.id == 0)
		k.count = 0; /* of one that was not it */
	if (rc == 0 && k.item.id != 0)
		rc = judge_known(&k, &is_new, reterr);
	if (rc == 0 && is_new)
		rc = check_name(l, &k, reterr);
	struct wet_number number = { .there = in->item.id,
								 .here = k.item.id ? k.item.id : WET_NUMBER_NEW,
								 .is_changed = k.item.id != 0 && is_new };
	if (rc == 0 && is_new && !is_dry)
		rc = put_from(l, &k, &number.here, reterr);
	if (rc == 0)
		rc = ledger_add_number(&known->items, "/item", &number, reterr);
	if (rc == 0)
		*ret_is_new = is_new;
	return rc;
}
