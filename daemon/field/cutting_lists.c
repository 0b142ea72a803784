/* cutting_lists.c: counts as numbers, sums of pieces, and what a rectangle of such sums can give. */
#include "field/cutting_inside.h"

#include <string.h>

/* -- counts ------------------------------------------------------------------------- */

bool cut_space_make(struct cut_space *space, int n, const int *caps, int most)
{
	int64_t count = 1;
	space->n = n;
	for (int i = 0; i < n; i++) {
		space->caps[i] = caps[i];
		space->stride[i] = (int)count;
		count *= caps[i] + 1;
		if (count > most)
			return false;
	}
	space->count = (int)count;
	return true;
}

int cut_digit(const struct cut_space *space, int v, int i)
{
	return v / space->stride[i] % (space->caps[i] + 1);
}

int cut_sum(const struct cut_space *space, int u, int w)
{
	for (int i = 0; i < space->n; i++)
		if (cut_digit(space, u, i) + cut_digit(space, w, i) > space->caps[i])
			return -1;
	return u + w;
}

int cut_minus(const struct cut_space *space, int v, int u)
{
	int left = 0;
	for (int i = 0; i < space->n; i++) {
		int d = cut_digit(space, v, i) - cut_digit(space, u, i);
		left += (d > 0 ? d : 0) * space->stride[i];
	}
	return left;
}

int cut_moved(const struct cut_space *from, int v, const struct cut_space *to)
{
	int moved = 0;
	for (int i = 0; i < from->n; i++) {
		int d = cut_digit(from, v, i);
		if (d > to->caps[i])
			return -1;
		moved += d * to->stride[i];
	}
	return moved;
}

void *cut_take(struct cut_arena *arena, size_t bytes)
{
	size_t whole = (bytes + 15) & ~(size_t)15;
	if (whole < bytes || whole > arena->bytes - arena->used)
		return NULL;
	void *p = arena->base + arena->used;
	arena->used += whole;
	return p;
}

/* -- points ------------------------------------------------------------------------- */

int cut_point_at(const struct cut_search *s, int32_t length)
{
	int low = 0, high = s->point_count; /* points[low] <= length < points[high] */
	while (high - low > 1) {
		int mid = (low + high) / 2;
		if (s->points[mid] <= length)
			low = mid;
		else
			high = mid;
	}
	return low;
}

int64_t cut_area(const struct cut_search *s, int32_t x, int32_t y)
{
	int32_t k = s->ask->kerf_t;
	return x > k && y > k ? (int64_t)(x - k) * (y - k) : 0;
}

/* False: no room. */
static bool add_point(struct cut_search *s, int32_t p)
{
	int at = cut_point_at(s, p);
	if (s->points[at] == p)
		return true;
	if (s->point_count == CUT_POINTS)
		return false;
	for (int i = s->point_count++; i > at + 1; i--)
		s->points[i] = s->points[i - 1];
	s->points[at + 1] = p;
	return true;
}

bool cut_find_points(struct cut_search *s, int32_t longest)
{
	bool is_whole = true;
	s->point_count = 1;
	s->points[0] = 0;
	for (int i = 0; i < s->point_count && is_whole; i++) {
		for (int k = 0; k < 2 * s->n && is_whole; k++) {
			int64_t p = (int64_t)s->points[i] + (k % 2 ? s->h[k / 2] : s->w[k / 2]);
			is_whole = p > longest || add_point(s, (int32_t)p);
		}
	}
	if (is_whole)
		return true;
	/* Strips of one side, so that the largest are not those that are missing; then sums of few pieces while there is room. */
	s->point_count = 1;
	for (int64_t times = 1; times * s->h[0] <= longest || times == 1; times++)
		for (int k = 0; k < 2 * s->n; k++) {
			int64_t p = times * (k % 2 ? s->h[k / 2] : s->w[k / 2]);
			if (p <= longest && !add_point(s, (int32_t)p))
				return false;
		}
	for (int i = 1; i < s->point_count; i++)
		for (int k = 0; k < 2 * s->n; k++) {
			int64_t p = (int64_t)s->points[i] + (k % 2 ? s->h[k / 2] : s->w[k / 2]);
			if (p <= longest && !add_point(s, (int32_t)p))
				return false;
		}
	return false;
}

/* -- lists -------------------------------------------------------------------------- */

static struct cut_list *list_at(const struct cut_search *s, int i, int j)
{
	int high = i > j ? i : j, low = i > j ? j : i;
	return &s->lists[high * (high + 1) / 2 + low];
}

const uint16_t *cut_list_of(const struct cut_search *s, int32_t x, int32_t y, int *ret_n)
{
	const struct cut_list *list = list_at(s, cut_point_at(s, x), cut_point_at(s, y));
	*ret_n = list->n;
	return s->vectors + list->first;
}

/* Sums of what two rectangles give, over the caps cut down to them: a piece that is not wanted is left over. */
static void mark_sums(struct cut_search *s, const struct cut_list *a, const struct cut_list *b,
					  uint8_t *marks)
{
	const struct cut_space *space = &s->sheet;
	s->work += (uint64_t)a->n * b->n;
	for (int i = 0; i < a->n; i++) {
		for (int j = 0; j < b->n; j++) {
			int sum = 0;
			for (int k = 0; k < space->n; k++) {
				int d = cut_digit(space, s->vectors[a->first + (uint32_t)i], k) +
						cut_digit(space, s->vectors[b->first + (uint32_t)j], k);
				sum += (d > space->caps[k] ? space->caps[k] : d) * space->stride[k];
			}
			marks[sum] = 1;
		}
	}
}

/* Of the marked ones those that no other holds; the marks are wiped. False: no room. */
static bool keep_best(struct cut_search *s, uint8_t *marks, struct cut_list *list)
{
	const struct cut_space *space = &s->sheet;
	list->first = s->vector_count;
	list->n = 0;
	s->work += (uint64_t)space->count;
	for (int v = space->count - 1; v >= 0; v--) {
		bool is_held = false;
		for (int k = 0; k < space->n; k++)
			if (cut_digit(space, v, k) < space->caps[k] && marks[v + space->stride[k]])
				is_held = true;
		if (marks[v] && !is_held) {
			if (s->vector_count == s->vector_room || list->n == CUT_BEST)
				return false;
			s->vectors[s->vector_count++] = (uint16_t)v;
			list->n++;
		}
		marks[v] = marks[v] || is_held;
	}
	memset(marks, 0, (size_t)space->count);
	return true;
}

static void mark_rectangle(struct cut_search *s, int i, int j, uint8_t *marks)
{
	int32_t x = s->points[i], y = s->points[j];
	marks[0] = 1;
	for (int k = 0; k < s->n; k++)
		if (s->w[k] <= x && s->h[k] <= y && s->sheet.caps[k] > 0)
			marks[s->sheet.stride[k]] = 1;
	for (int p = 1; p < i && s->points[p] <= x / 2; p++)
		mark_sums(s, list_at(s, p, j), list_at(s, cut_point_at(s, x - s->points[p]), j), marks);
	for (int p = 1; p < j && s->points[p] <= y / 2; p++)
		mark_sums(s, list_at(s, i, p), list_at(s, i, cut_point_at(s, y - s->points[p])), marks);
}

int cut_find_lists(struct cut_search *s)
{
	int n = s->point_count;
	uint8_t *marks = cut_take(&s->arena, (size_t)s->sheet.count);
	s->lists = cut_take(&s->arena, (size_t)(n * (n + 1) / 2) * sizeof *s->lists);
	size_t room = (s->arena.bytes - s->arena.used) / 4 / sizeof *s->vectors;
	s->vectors = cut_take(&s->arena, room * sizeof *s->vectors);
	if (!marks || !s->lists || !s->vectors)
		return WET_ERR_TOO_MANY;
	s->vector_room = (uint32_t)room;
	s->vector_count = 0;
	memset(marks, 0, (size_t)s->sheet.count);
	for (int i = 0; i < n; i++) {
		for (int j = 0; j <= i; j++) {
			mark_rectangle(s, i, j, marks);
			if (!keep_best(s, marks, list_at(s, i, j)) || s->work > s->work_most)
				return WET_ERR_TOO_MANY;
		}
	}
	return WET_OK;
}
