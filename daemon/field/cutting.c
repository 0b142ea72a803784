/* cutting.c: what is asked is checked, and the keys are sought one after the other. */
#include "field/cutting_inside.h"

#include "base/text.h"

#include <assert.h>
#include <string.h>

#define WORKSPACE_BYTES (24u << 20)
#define WORK_USUAL 30000000 /* under a second, mostly milliseconds */

/* -- lengths --------------------------------------------------------------------------- */

static int fits_length(int64_t length, const char *text, struct wet_fault *reterr)
{
	if (length <= WET_CUT_LONGEST_T)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_RANGE, "", text, "a length up to %d mm",
						 WET_CUT_LONGEST_T / WET_CUT_TICKS_PER_MM);
}

int wet_cut_parse_size(const char *text, int32_t *ret_width_t, int32_t *ret_height_t, enum wet_unit *ret_unit,
					   struct wet_fault *reterr)
{
	int64_t width, height;
	enum wet_unit unit;
	int rc = wet_parse_size_fine(text, WET_CUT_TICKS_PER_UM, &width, &height, &unit, reterr);
	if (rc == 0)
		rc = fits_length(width > height ? width : height, text, reterr);
	if (rc != 0)
		return rc;
	*ret_width_t = (int32_t)width;
	*ret_height_t = (int32_t)height;
	*ret_unit = unit;
	return WET_OK;
}

int wet_cut_parse_length(const char *text, int32_t *ret_length_t, struct wet_fault *reterr)
{
	int64_t length;
	enum wet_unit unit;
	int rc = wet_parse_length_fine(text, WET_CUT_TICKS_PER_UM, &length, &unit, reterr);
	if (rc == 0)
		rc = fits_length(length, text, reterr);
	if (rc == 0)
		*ret_length_t = (int32_t)length;
	return rc;
}

static int64_t micrometres(int32_t length_t)
{
	return ((int64_t)length_t + WET_CUT_TICKS_PER_UM / 2) / WET_CUT_TICKS_PER_UM;
}

char *wet_cut_print_length(int32_t length_t, enum wet_unit unit, char *buf, unsigned buf_bytes)
{
	return wet_print_quantity((struct wet_quantity){ micrometres(length_t), unit }, buf, buf_bytes);
}

char *wet_cut_print_size(int32_t width_t, int32_t height_t, enum wet_unit unit, char *buf, unsigned buf_bytes)
{
	char width[48], height[48];
	wet_cut_print_length(width_t, unit, width, sizeof width);
	size_t n = strlen(width), unit_bytes = strlen(wet_unit_text(unit)) + 1;
	if (n > unit_bytes)
		width[n - unit_bytes] = '\0'; /* the unit once, at the end */
	return wet_text_format(buf, buf_bytes, "%s x %s", width,
						   wet_cut_print_length(height_t, unit, height, sizeof height));
}

/* -- what is asked ------------------------------------------------------------------------ */

static int check_lengths(const struct wet_cut_ask *ask, struct wet_fault *reterr)
{
	int32_t shorter = ask->sheet_width_t < ask->sheet_height_t ? ask->sheet_width_t : ask->sheet_height_t;
	if (shorter <= 0 || ask->sheet_width_t > WET_CUT_LONGEST_T || ask->sheet_height_t > WET_CUT_LONGEST_T)
		return wet_fault_set(reterr, WET_ERR_RANGE, "sheet", NULL, "sides over 0, up to %d mm",
							 WET_CUT_LONGEST_T / WET_CUT_TICKS_PER_MM);
	if (ask->kerf_t < 0 || ask->kerf_t > 10 * WET_CUT_TICKS_PER_MM)
		return wet_fault_set(reterr, WET_ERR_RANGE, "kerf", NULL,
							 "what the blade turns to dust, from 0 to 10 mm; a trimmer's is 0");
	if (ask->margin_t < 0 || (ask->margin_t > 0 && ask->margin_t <= ask->kerf_t) ||
		ask->margin_t >= shorter / 2)
		return wet_fault_set(reterr, WET_ERR_RANGE, "margin", NULL,
							 "a margin over the kerf and under half the sheet's shorter side, or 0");
	return WET_OK;
}

static int check_counts(const struct wet_cut_ask *ask, struct wet_fault *reterr)
{
	int total = 0;
	if (ask->size_count < 1 || ask->size_count > WET_CUT_SIZES)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "size", NULL, "one to %d sizes", WET_CUT_SIZES);
	for (int i = 0; i < ask->size_count; i++) {
		int wanted = ask->sizes[i].wanted;
		if (wanted < 0 || wanted > WET_CUT_PIECES || (wanted == 0 && ask->size_count > 1))
			return wet_fault_set(
				reterr, WET_ERR_RANGE, "count", NULL,
				"how many of each size, 1 to %d; one size alone may go without: as many as the sheets give",
				WET_CUT_PIECES);
		total += wanted;
	}
	if (total > WET_CUT_PIECES)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "count", NULL, "at most %d pieces in one session",
							 WET_CUT_PIECES);
	if (ask->sheets < 0 || ask->sheets > WET_CUT_SHEETS || (ask->sheets == 0 && ask->sizes[0].wanted == 0))
		return wet_fault_set(reterr, WET_ERR_RANGE, "sheets", NULL, "how many sheets, 1 to %d",
							 WET_CUT_SHEETS);
	return WET_OK;
}

/* The sizes with a kerf added; how many a sheet could give by area; their order in the ask stays. */
static int take_sizes(struct cut_search *s, int *bounds, struct wet_fault *reterr)
{
	const struct wet_cut_ask *ask = s->ask;
	for (int i = 0; i < s->n; i++) {
		const struct wet_cut_size *size = &ask->sizes[i];
		int32_t longer = size->width_t > size->height_t ? size->width_t : size->height_t;
		int32_t shorter = size->width_t > size->height_t ? size->height_t : size->width_t;
		if (shorter <= 0)
			return wet_fault_set(reterr, WET_ERR_RANGE, "size", NULL, "sides over 0");
		if (longer > WET_CUT_LONGEST_T || longer + ask->kerf_t > (s->x > s->y ? s->x : s->y) ||
			shorter + ask->kerf_t > (s->x > s->y ? s->y : s->x))
			return wet_fault_set(reterr, WET_ERR_RANGE, "size", NULL, "pieces no larger than the sheet%s",
								 ask->margin_t > 0 ? " without its margin" : "");
		s->w[i] = longer + ask->kerf_t;
		s->h[i] = shorter + ask->kerf_t;
		for (int k = 0; k < i; k++)
			if (s->w[k] == s->w[i] && s->h[k] == s->h[i])
				return wet_fault_set(reterr, WET_ERR_EXISTS, "size", NULL,
									 "each size once, with its whole count");
		int64_t bound = (int64_t)((double)s->x * s->y / ((double)s->w[i] * s->h[i]) * (1 + 1e-12));
		if (bound > WET_CUT_PER_SHEET)
			return wet_fault_set(reterr, WET_ERR_TOO_MANY, "size", NULL,
								 "pieces of which a sheet gives no more than %d; cut a smaller sheet",
								 WET_CUT_PER_SHEET);
		bounds[i] = (int)bound;
	}
	return WET_OK;
}

/* -- the keys -------------------------------------------------------------------------------- */

/* What the exact search needs: every count of a sheet and of the session told apart, the points, what each rectangle gives.
 * False: that is too much. */
static bool prepare(struct cut_search *s, const int *bounds)
{
	int caps[WET_CUT_SIZES], wanted[WET_CUT_SIZES];
	for (int i = 0; i < s->n; i++) {
		wanted[i] = s->ask->sizes[i].wanted;
		caps[i] = s->is_most || bounds[i] < wanted[i] ? bounds[i] : wanted[i];
	}
	if ((!s->is_most && !cut_space_make(&s->session, s->n, wanted, CUT_SESSION)) ||
		!cut_space_make(&s->sheet, s->n, caps, CUT_VECTORS))
		return false;
	int count = s->sheet.count;
	s->sums = cut_take(&s->arena, (size_t)count * (size_t)count * sizeof *s->sums);
	for (int u = 0; s->sums && u < count; u++)
		for (int w = 0; w < count; w++)
			s->sums[u * count + w] = (int16_t)cut_sum(&s->sheet, u, w);
	s->all_points = cut_find_points(s, s->x > s->y ? s->x : s->y);
	return s->sums && cut_find_lists(s) == 0;
}

static int find_counts(struct cut_search *s, const int *bounds, struct wet_fault *reterr)
{
	int n;
	if (s->is_most) {
		s->most = s->pieces_bound = cut_list_of(s, s->x, s->y, &n)[0];
		s->sheets = s->ask->sheets;
		s->group_count = 1;
		s->groups[0] = (struct cut_group){ .vector = s->most, .times = s->sheets, .space = s->sheet };
		s->proven = s->all_points;
		return WET_OK;
	}
	s->is_by_lists = s->is_by_lists || !cut_find_sheets(s);
	int rc = s->is_by_lists ? cut_fill_sheets(s, bounds, reterr) : WET_OK;
	s->wants_rest = s->rest > 0;
	if (rc == 0 && s->ask->sheets > 0 && s->sheets > s->ask->sheets)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "sheets", NULL,
							 "All these pieces take %d sheets%s; you have %d. Fewer pieces, or more sheets.",
							 s->sheets, s->sheets == s->sheets_bound ? "" : " as far as the search went",
							 s->ask->sheets);
	return rc;
}

size_t wet_cut_workspace_bytes(void)
{
	return WORKSPACE_BYTES;
}

int wet_cut_plan(const struct wet_cut_ask *ask, void *workspace, size_t workspace_bytes,
				 struct wet_cut_plan *ret_plan, struct wet_fault *reterr)
{
	int bounds[WET_CUT_SIZES];
	uint64_t share = (ask->work_most > 0 ? ask->work_most : WORK_USUAL) / 3;
	int rc = check_lengths(ask, reterr);
	if (rc == 0)
		rc = check_counts(ask, reterr);
	if (rc != 0)
		return rc;
	if (workspace_bytes < WORKSPACE_BYTES)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "workspace", NULL, "a larger one");
	struct cut_arena arena = { workspace, 0, workspace_bytes };
	struct cut_search *s = cut_take(&arena, sizeof *s);
	memset(s, 0, sizeof *s);
	s->ask = ask;
	s->n = ask->size_count;
	s->x = ask->sheet_width_t - 2 * ask->margin_t + ask->kerf_t;
	s->y = ask->sheet_height_t - 2 * ask->margin_t + ask->kerf_t;
	s->is_most = ask->sizes[0].wanted == 0;
	s->arena = arena;
	if ((rc = take_sizes(s, bounds, reterr)) != 0)
		return rc;
	s->work_most = share;
	s->is_by_lists = !prepare(s, bounds);
	if (s->is_by_lists && s->is_most)
		return wet_fault_set(reterr, WET_ERR_TOO_MANY, "size", NULL,
							 "larger pieces: there are too many ways to cut these");
	s->work_most = s->work + share;
	rc = find_counts(s, bounds, reterr);
	s->work_most = s->work + share;
	if (rc == 0 && s->is_by_lists)
		s->stop_count = 0;
	else if (rc == 0)
		rc = cut_find_stops(s, bounds, reterr);
	if (rc == 0 && s->is_by_lists) /* first of all by the sides of the pieces */
		for (int i = 0; i < 2 * s->n; i++)
			s->stops[s->stop_count++] = i % 2 ? s->h[i / 2] : s->w[i / 2];
	if (rc == 0)
		rc = cut_lay_out(s, ret_plan, reterr);
	return rc;
}
