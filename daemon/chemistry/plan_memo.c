/* plan_memo.c: what a search has learnt of the states that it has been in, in the caller's workspace. A state is told by
 * words, which are compared as a whole, so that nothing is ever mistaken for another. When it is full, nothing more is
 * learnt.
 *
 * A state that was gone through to the end need not be gone through again on the same ages, with as much gone or more:
 * searches meet sources as old in the order of their ids, so that the ids of the second time are the higher ones. */
#include "chemistry/plan_inside.h"

#include <string.h>

void plan_memo_clear(struct memo *m)
{
	m->stamp++;
	m->used = 0;
	m->words_used = 0;
}

static uint64_t mixed(const uint64_t *words, int count)
{
	uint64_t h = (uint64_t)count;
	for (int i = 0; i < count; i++) {
		h = (h ^ words[i]) * 0x9e3779b97f4a7c15u;
		h ^= h >> 29;
	}
	return h;
}

struct learnt *plan_memo_of(struct memo *m, const uint64_t *words, int count, int spare)
{
	if (m->slot_count == 0)
		return NULL;
	size_t bytes = (size_t)count * sizeof *words, at = mixed(words, count) & (m->slot_count - 1);
	for (; m->slots[at].stamp == m->stamp; at = (at + 1) & (m->slot_count - 1)) {
		struct learnt *l = &m->slots[at];
		if (l->count == count && memcmp(&m->words[l->first], words, bytes) == 0)
			return l;
	}
	if (m->used >= m->slot_count / 4 * 3 || m->words_used + (size_t)(count + spare) > m->word_count)
		return NULL;
	m->slots[at] = (struct learnt){ .stamp = m->stamp, .first = (uint32_t)m->words_used, .count = count };
	memcpy(&m->words[m->words_used], words, bytes);
	m->words_used += (size_t)(count + spare);
	m->used++;
	return &m->slots[at];
}

/* -- a shelf in words --------------------------------------------------------- */

bool plan_head(const struct search *k, int lot, struct head *ret_head)
{
	const struct lot *l = &k->lots[lot];
	int64_t drawn = l->drawn_ul;
	for (int i = 0; i < l->count; i++) {
		const struct wet_plan_bottle *b = &k->ask->bottles[k->order[l->first + i]];
		if (drawn < b->stock_ul) {
			*ret_head = (struct head){ b->age_ns, b->id, l->stock_ul - l->drawn_ul, b->stock_ul - drawn, i == l->count - 1 };
			return true;
		}
		drawn -= b->stock_ul;
	}
	return false;
}

bool plan_is_taken(const struct draws *now, int working)
{
	for (int i = 0; i < now->turn_count; i++)
		if (now->turns[i].is_working && now->turns[i].source == working)
			return true;
	return false;
}

/* The lot as it now stands: lots of the same word serve alike but for the ids. Its last bottle is told by its age, what is
 * in it and whether it was drawn from; a lot of several by itself. */
static uint64_t lot_word(const struct search *k, int lot, const struct head *h)
{
	uint64_t kind = (uint64_t)lot + WET_PLAN_SOURCES;
	bool is_touched = false;
	if (h->is_last) {
		int last = k->order[k->lots[lot].first + k->lots[lot].count - 1];
		for (kind = 0; k->ask->bottles[k->order[kind]].age_ns != h->age_ns;)
			kind++;
		is_touched = h->left_ul < k->ask->bottles[last].stock_ul;
	}
	return kind << 48 | (uint64_t)is_touched << 47 | (uint64_t)h->left_ul;
}

int plan_state_words(const struct search *k, int solution, int64_t least_ul, uint64_t *words, int n, int64_t *gone_ul)
{
	int from = n + 1;
	words[n++] = 0;
	for (int i = 0; i < k->ask->working_count; i++)
		if (k->ask->workings[i].solution == solution && plan_is_usable(k, &k->ask->workings[i]) &&
			!plan_is_taken(&k->tried[solution], i))
			words[from - 1] |= 1ull << i;
	for (int i = 0; i < k->shelves[solution].lot_count; i++) {
		int lot = k->shelves[solution].first_lot + i, at = n;
		struct head h;
		if (!plan_head(k, lot, &h))
			continue;
		if (h.left_ul < least_ul) {
			*gone_ul += plan_too_little_in(k, &k->lots[lot]);
			continue;
		}
		uint64_t word = lot_word(k, lot, &h);
		for (; at > from && words[at - 1] > word; at--)
			words[at] = words[at - 1];
		words[at] = word;
		n++;
	}
	return n;
}
