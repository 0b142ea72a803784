/* plan_memo.c: what a search has learnt of the states that it has been in, in the caller's workspace. A state is told by
 * words, which are compared as a whole, so that nothing is ever mistaken for another. When it is full, nothing more is
 * learnt. */
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

struct learnt *plan_memo_of(struct memo *m, const uint64_t *words, int count)
{
	if (m->slot_count == 0)
		return NULL;
	size_t bytes = (size_t)count * sizeof *words, at = mixed(words, count) & (m->slot_count - 1);
	for (; m->slots[at].stamp == m->stamp; at = (at + 1) & (m->slot_count - 1)) {
		struct learnt *l = &m->slots[at];
		if (l->count == count && memcmp(&m->words[l->first], words, bytes) == 0)
			return l;
	}
	if (m->used >= m->slot_count / 4 * 3 || m->words_used + (size_t)count > m->word_count)
		return NULL;
	m->slots[at] = (struct learnt){ .stamp = m->stamp, .first = (uint32_t)m->words_used, .count = count };
	memcpy(&m->words[m->words_used], words, bytes);
	m->words_used += (size_t)count;
	m->used++;
	return &m->slots[at];
}
