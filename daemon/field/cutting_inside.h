/* cutting_inside.h: what the files of the cutting plan share.
 *
 * Inside, a kerf is added to each piece and to the sheet in both directions and cuts take nothing. Lengths that are such sums
 * of pieces are *points*; some best plan cuts at points only (push every piece down and left). */
#ifndef WET_FIELD_CUTTING_INSIDE_H
#define WET_FIELD_CUTTING_INSIDE_H

#include "wetside/cutting.h"

#define CUT_POINTS 160      /* sums of pieces; beyond, the plan is the best found */
#define CUT_VECTORS 512     /* counts out of one sheet that are told apart */
#define CUT_FILLED 1024     /* the same, where sheet after sheet is filled */
#define CUT_SESSION 4096    /* counts out of the session that are told apart */
#define CUT_BEST 64         /* counts out of one rectangle of which none holds another */
#define CUT_NEVER (1 << 28) /* cost of what can't be cut */
#define CUT_PIECE (1 << 16) /* what a piece is worth in cuts, where the most pieces are wanted */

/* Counts of each size up to `caps`, as one number. */
struct cut_space {
	int n;
	int caps[WET_CUT_SIZES], stride[WET_CUT_SIZES];
	int count;
};
/* False: over `most`. */
bool cut_space_make(struct cut_space *space, int n, const int *caps, int most);
int cut_digit(const struct cut_space *space, int v, int i);
/* u + w, or -1 where it is over a cap. */
int cut_sum(const struct cut_space *space, int u, int w);
/* v - u, no digit under 0. */
int cut_minus(const struct cut_space *space, int v, int u);
/* The same counts in another space; -1: over its caps. */
int cut_moved(const struct cut_space *from, int v, const struct cut_space *to);

/* Memory of the caller's, taken from the front; given back by setting `used` back. */
struct cut_arena {
	unsigned char *base;
	size_t used, bytes;
};
void *cut_take(struct cut_arena *arena, size_t bytes); /* aligned as int64_t; NULL: no more */

/* Counts out of a rectangle of points i >= j of which none holds another: into `lists`. */
struct cut_list {
	uint32_t first;
	uint16_t n;
};

/* One kind of sheet in the session. */
struct cut_group {
	int vector; /* in `space` */
	int times;
	bool has_rest; /* the rest that counts is of this one; then times is 1 */
	struct cut_space space;
};

struct cut_search {
	const struct wet_cut_ask *ask;
	int32_t x, y; /* of the sheet without its margin */
	int n;
	int32_t w[WET_CUT_SIZES], h[WET_CUT_SIZES]; /* w >= h */
	bool is_most;                               /* one size, as many as a sheet gives */
	struct cut_space sheet, session;
	int point_count;
	int32_t points[CUT_POINTS];
	bool all_points; /* none is missing */
	struct cut_arena arena;
	struct cut_list *lists;
	uint16_t *vectors; /* of the lists */
	uint32_t vector_count, vector_room;
	uint64_t work, work_most;
	/* what is found */
	int sheets, sheets_bound, most, pieces_bound;
	int64_t rest; /* area of the rest, in square ticks */
	bool wants_rest;
	bool
		is_by_lists; /* no stops are sought: cut by what halves can give, and nothing of the settings is proven */
	int16_t *sums; /* [u][w] -> u + w, or -1 */
	int proven;
	int stop_count;
	int32_t stops[WET_CUT_STOPS]; /* with a kerf added */
	int group_count;
	struct cut_group groups[WET_CUT_SHEETS];
};

/* The node of a rectangle, or -1, and its slot. */
int cut_find_key(const int32_t *hash, int hash_size, const int32_t *keys, int32_t x, int32_t y,
				 int *ret_slot);
int cut_point_at(const struct cut_search *s,
				 int32_t length); /* the largest point that is no longer; [0] is 0 */
int64_t cut_area(const struct cut_search *s, int32_t x, int32_t y); /* of paper: without the kerfs */
bool cut_find_points(struct cut_search *s, int32_t longest);        /* false: some are missing */
/* What every rectangle of points gives. WET_ERR_TOO_MANY: no room, or too much work. */
int cut_find_lists(struct cut_search *s);
const uint16_t *cut_list_of(const struct cut_search *s, int32_t x, int32_t y, int *ret_n);

/* Fewest sheets of all counts, and the largest rest; false: the counts are too many, or the work. */
bool cut_find_sheets(struct cut_search *s);
/* Sheet by sheet, with as much paper as can be used: the best found. */
int cut_fill_sheets(struct cut_search *s, const int *bounds, struct wet_fault *reterr);
/* Points and lists of a space, in the arena. False: too much. */
bool cut_use_space(struct cut_search *s, const struct cut_space *space);

/* Fewest settings, then fewest cuts. */
int cut_find_stops(struct cut_search *s, const int *bounds, struct wet_fault *reterr);

/* Cuts of a rectangle with these stops only. */
struct cut_stops {
	struct cut_search *s;
	int count;
	int32_t stops[WET_CUT_STOPS];
	size_t mark; /* of the arena */
	int node_count, node_room, hash_size;
	int32_t *hash;
	int32_t *keys;  /* x, y of each node */
	int32_t *costs; /* [node][2][vectors]: least cuts; [1] with the rest that counts in it */
	bool is_full;   /* no room, or no more work */
};
bool cut_stops_begin(struct cut_stops *t, struct cut_search *s, const int32_t *stops, int count);
void cut_stops_end(struct cut_stops *t);
/* The node of a rectangle; -1: full. */
int cut_node(struct cut_stops *t, int32_t x, int32_t y);
int32_t *cut_costs(const struct cut_stops *t, int node, bool has_rest);
int cut_leaf(const struct cut_search *s, int32_t x, int32_t y); /* the size it is; -1 */

/* Into layouts and sequences; the arena holds what the plan points to. */
int cut_lay_out(struct cut_search *s, struct wet_cut_plan *ret_plan, struct wet_fault *reterr);

#endif
