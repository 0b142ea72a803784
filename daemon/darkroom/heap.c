/* heap.c: live runs by their next wake-up, a 4-ary heap. Slot 0 is unused, so that index 0 means "not in it". */
#include "darkroom/inside.h"

#include <stdlib.h>

#define ARITY 4

int heap_reserve(struct heap *heap, size_t n)
{
	if (n + 1 <= heap->room)
		return WET_OK;
	size_t room = heap->room ? heap->room * 2 : 64;
	while (room < n + 1)
		room *= 2;
	struct wet_live **at = realloc(heap->at, room * sizeof(*at));
	if (!at)
		return WET_ERR_NOMEM;
	heap->at = at;
	heap->room = room;
	return WET_OK;
}

static void put(struct heap *heap, size_t i, struct wet_live *live)
{
	heap->at[i] = live;
	live->heap_index = i;
}

static size_t parent(size_t i)
{
	return (i - 2) / ARITY + 1;
}

static void sift_up(struct heap *heap, size_t i, struct wet_live *live)
{
	while (i > 1 && heap->at[parent(i)]->wake_ns > live->wake_ns) {
		put(heap, i, heap->at[parent(i)]);
		i = parent(i);
	}
	put(heap, i, live);
}

static void sift_down(struct heap *heap, size_t i, struct wet_live *live)
{
	for (;;) {
		size_t first = (i - 1) * ARITY + 2, best = 0;
		for (size_t c = first; c < first + ARITY && c <= heap->count; c++)
			if (!best || heap->at[c]->wake_ns < heap->at[best]->wake_ns)
				best = c;
		if (!best || heap->at[best]->wake_ns >= live->wake_ns)
			break;
		put(heap, i, heap->at[best]);
		i = best;
	}
	put(heap, i, live);
}

void heap_set(struct heap *heap, struct wet_live *live, int64_t wake_ns)
{
	int64_t old_ns = live->wake_ns;
	live->wake_ns = wake_ns;
	if (live->heap_index == 0)
		sift_up(heap, ++heap->count, live);
	else if (wake_ns < old_ns)
		sift_up(heap, live->heap_index, live);
	else
		sift_down(heap, live->heap_index, live);
}

void heap_remove(struct heap *heap, struct wet_live *live)
{
	size_t i = live->heap_index;
	if (i == 0)
		return;
	live->heap_index = 0;
	struct wet_live *last = heap->at[heap->count--];
	if (last == live)
		return;
	if (i > 1 && heap->at[parent(i)]->wake_ns > last->wake_ns)
		sift_up(heap, i, last);
	else
		sift_down(heap, i, last);
}

struct wet_live *heap_top(const struct heap *heap)
{
	return heap->count ? heap->at[1] : NULL;
}
