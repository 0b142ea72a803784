/* exchange_numbers.c: which number of a file is which here. */
#include "base/text.h"
#include "ledger/exchange.h"
#include "ledger/inside.h"

#include <stdlib.h>
#include <string.h>

void wet_known_free(struct wet_known *known)
{
	free(known->runs.rows);
	free(known->items.rows);
	*known = (struct wet_known){ .runs = { .count = 0 } };
}

/* The first place whose number is not below. */
static int find_place(const struct wet_numbers *n, int64_t there)
{
	int low = 0, high = n->count;
	while (low < high) {
		int middle = low + (high - low) / 2;
		if (n->rows[middle].there < there)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

static bool is_at(const struct wet_numbers *n, int place, int64_t there)
{
	return place < n->count && n->rows[place].there == there;
}

int ledger_check_number(const struct wet_numbers *n, const char *where, int64_t there, struct wet_fault *reterr)
{
	char found[24];
	if (!is_at(n, find_place(n, there), there))
		return WET_OK;
	wet_text_format(found, sizeof found, "%lld", (long long)there);
	return wet_fault_set(reterr, WET_ERR_INVALID, where, found, "each number once");
}

int ledger_add_number(struct wet_numbers *n, const char *where, const struct wet_number *number,
					  struct wet_fault *reterr)
{
	int place = find_place(n, number->there);
	int rc = ledger_check_number(n, where, number->there, reterr);
	if (rc != 0)
		return rc;
	if (n->count == WET_NUMBERS_MAX)
		return wet_fault_set(reterr, WET_ERR_INVALID, where, NULL, "at most %d in one file", WET_NUMBERS_MAX);
	if (n->count == n->room) {
		int room = n->room ? n->room * 2 : 64;
		struct wet_number *rows = realloc(n->rows, (size_t)room * sizeof *rows);
		if (!rows)
			return wet_fault_set(reterr, WET_ERR_NOMEM, where, NULL, "more memory");
		n->rows = rows;
		n->room = room;
	}
	memmove(&n->rows[place + 1], &n->rows[place], (size_t)(n->count - place) * sizeof *n->rows);
	n->rows[place] = *number;
	n->count++;
	return WET_OK;
}

const struct wet_number *ledger_number_of(const struct wet_numbers *n, int64_t here)
{
	for (int i = 0; i < n->count; i++) {
		if (n->rows[i].here == here)
			return &n->rows[i];
	}
	return NULL;
}

int wet_numbers_here(const struct wet_numbers *n, const char *where, int64_t *number, struct wet_fault *reterr)
{
	char found[24];
	int place = find_place(n, *number);
	if (*number == 0)
		return WET_OK;
	if (is_at(n, place, *number)) {
		*number = n->rows[place].here;
		return WET_OK;
	}
	wet_text_format(found, sizeof found, "%lld", (long long)*number);
	return wet_fault_set(reterr, WET_ERR_INVALID, where, found, "the number of one that stands in a line before this one");
}

static int take_id(void *ctx, const struct wet_ledger_run *run)
{
	*(int64_t *)ctx = run->id;
	return WET_LEDGER_FULL;
}

int wet_ledger_know_run(struct wet_ledger *l, const struct wet_ledger_run *run, struct wet_known *known,
						struct wet_fault *reterr)
{
	struct wet_number number = { .there = run->id, .here = WET_NUMBER_NEW };
	int rc = ledger_find_armed(l, run, take_id, &number.here, reterr);
	return rc == 0 || rc == WET_LEDGER_FULL ? ledger_add_number(&known->runs, "/run", &number, reterr) : rc;
}
