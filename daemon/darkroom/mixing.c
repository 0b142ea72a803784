/* mixing.c: a solution mixed as a run: what it is called on the shelf, when it may begin, and what it leaves there. */
#include "darkroom/inside.h"

#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/stock.h"

#include <string.h>

#define NAMES_TRIED 1000 /* "fixer-plain-999": then the shelf wants tidying */

static void item_of(const struct wet_product *makes, int64_t wall_ms, struct wet_stock *ret_item)
{
	*ret_item = (struct wet_stock){ .kind = makes->is_bath ? WET_STOCK_BATH : WET_STOCK_BOTTLE,
									.full_ul = makes->volume_ul,
									.volume_ul = makes->volume_ul,
									.since_ms = wall_ms };
	wet_text_copy(ret_item->name, sizeof ret_item->name, makes->name);
	wet_text_copy(ret_item->what, sizeof ret_item->what, makes->what);
}

/* The name itself, then "NAME-2", "NAME-3": always a name that fits. */
static void numbered(const char *name, int number, char *buf, unsigned buf_bytes)
{
	char tail[16] = "";
	if (number > 1)
		wet_text_format(tail, sizeof tail, "-%d", number);
	wet_text_copy(buf, buf_bytes - (unsigned)strlen(tail), name);
	wet_text_append(buf, buf_bytes, "%s", tail);
}

static int is_name_free(struct wet_ledger *ledger, enum wet_stock_kind kind, const char *name, bool *ret_is_free,
						struct wet_fault *reterr)
{
	struct wet_stock item;
	int rc = wet_ledger_get_stock(ledger, kind, name, &item, reterr);
	*ret_is_free = rc == WET_ERR_NOT_FOUND || (rc == 0 && item.is_gone);
	return rc == WET_ERR_NOT_FOUND ? WET_OK : rc;
}

int mix_find_name(struct wet_ledger *ledger, struct wet_mixing *mix, int *number, struct wet_fault *reterr)
{
	struct wet_product makes = { .is_bath = mix->is_bath, .volume_ul = mix->list.steps[mix->list.step_count - 1].shown };
	struct wet_stock item;
	bool is_named = mix->called[0] != '\0', is_free = false;
	char name[WET_NAME_BYTES];
	wet_text_copy(makes.what, sizeof makes.what, mix->formula->name);
	wet_text_copy(makes.name, sizeof makes.name, is_named ? mix->called : mix->formula->name);
	wet_text_copy(name, sizeof name, makes.name);
	item_of(&makes, 0, &item);
	int rc = wet_stock_check(&item, reterr); /* what can't be put there at the end is not begun */
	enum wet_stock_kind kind = item.kind;
	while (rc == 0 && !is_free && *number < (is_named ? 1 : NAMES_TRIED)) {
		numbered(is_named ? mix->called : mix->formula->name, ++*number, name, sizeof name);
		rc = is_name_free(ledger, kind, name, &is_free, reterr);
	}
	if (rc == 0 && !is_free)
		rc = wet_fault_set(reterr, WET_ERR_EXISTS, wet_stock_kind_word(kind), name,
						   "another name: a %s of this name stands there", wet_stock_kind_word(kind));
	if (rc == 0)
		wet_text_copy(mix->called, sizeof mix->called, name);
	return rc;
}

int mix_book(struct wet_ledger *ledger, int64_t run_id, const struct wet_product *makes, int64_t wall_ms, uint32_t uid,
			 struct wet_fault *reterr)
{
	struct wet_stock item;
	struct wet_stock_event why = { .act = WET_STOCK_ACT_ADD, .wall_ms = wall_ms, .uid = uid };
	item_of(makes, wall_ms, &item);
	/* With its time: a run of another ledger whose history was taken in may have had the number. */
	wet_text_format(why.token, sizeof why.token, "mix-%lld-%lld", (long long)run_id, (long long)wall_ms);
	wet_text_format(why.note, sizeof why.note, "mixed by run %lld", (long long)run_id);
	int rc = WET_ERR_EXISTS;
	/* Its name was free when it was armed. Somebody who took it since is not written over; the same booking once more
	 * finds its own. */
	for (int i = 1; rc == WET_ERR_EXISTS && i <= NAMES_TRIED; i++) {
		numbered(makes->name, i, item.name, sizeof item.name);
		rc = wet_ledger_add_stock(ledger, &item, &why, reterr);
	}
	return rc;
}

/* Powders or an open vessel, between begin and the label. */
static bool is_open(const struct wet_live *l)
{
	const struct wet_run *run = &l->run;
	return !wet_live_is_over(l) && !run->setup.is_rehearsal && wet_recipe_is_mix(run->setup.recipe) &&
		   run->pos.base != WET_PHASE_READY && run->setup.recipe->stages[run->pos.stage].kind != WET_STAGE_STAND;
}

bool mix_is_barred(struct wet_darkroom *d, const char *room, char *text, unsigned text_bytes)
{
	for (const struct wet_live *l = d->newest; l; l = l->older) {
		if (strcmp(l->run.setup.room, room) != 0 || !wet_live_is_dark(d, l))
			continue;
		wet_text_format(text, text_bytes,
						"No powders and no concentrates in the dark: %s has open paper in this room. Mix when its lights "
						"may come on.",
						l->name);
		return true;
	}
	return false;
}

bool mix_bars_dark(struct wet_darkroom *d, const struct wet_live *live, char *text, unsigned text_bytes)
{
	const struct wet_recipe *recipe = live->run.setup.recipe;
	if (live->run.setup.is_rehearsal || wet_recipe_light(recipe, 0) >= WET_LIGHT_WHITE)
		return false;
	for (const struct wet_live *l = d->newest; l; l = l->older) {
		if (l == live || !is_open(l) || strcmp(l->run.setup.room, live->run.setup.room) != 0)
			continue;
		wet_text_format(text, text_bytes,
						"No powders and no concentrates in the dark: %s mixes in this room. Finish it, to its label, or abandon it.",
						l->name);
		return true;
	}
	return false;
}
