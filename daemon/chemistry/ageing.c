/* ageing.c: how much of its life a solution has used by standing. */
#include "wetside/capacity.h"

#include "wetside/limits.h"
#include "wetside/quantity.h"

#include <stddef.h>

__extension__ typedef __int128 wide;

#define PPM 1000000LL
#define HOUR_NS (3600 * WET_NS_PER_S)
#define REFERENCE_DEPTH_UM 25000LL      /* of a tray filled as usual: common practice, no source */
#define ALIKE_NS (60 * WET_NS_PER_S)    /* shares are rounded: so near, the recipe's own word is told */
#define SPELL_NS_MAX (876600 * HOUR_NS) /* a century */
#define SURFACE_MM2_MAX 1000000000000LL

static const int keeps_hours[WET_KEEPING_N][WET_STANDING_N] = {
#define ROW(name, word, unopened, full, part, covered, open, source) { unopened, full, part, covered, open },
	WET_KEEPINGS(ROW)
#undef ROW
};

static const char *const standing_words[WET_STANDING_N] = { "unopened", "in a full bottle",
															"in a part-full bottle", "under a floating lid",
															"in an open tray" };

int wet_keeping_default(enum wet_keeping_of of, struct wet_keeping *ret_keeping)
{
	if ((unsigned)of >= WET_KEEPING_N)
		return WET_ERR_RANGE;
	for (int i = 0; i < WET_STANDING_N; i++)
		ret_keeping->keeps_ns[i] = keeps_hours[of][i] * HOUR_NS;
	return WET_OK;
}

static int check_spell(const struct wet_keeping *keeping, const struct wet_spell *spell,
					   struct wet_fault *reterr)
{
	if ((unsigned)spell->standing >= WET_STANDING_N)
		return wet_fault_set(reterr, WET_ERR_RANGE, "standing", NULL,
							 "how it stands: bottle or tray, full or not");
	const char *word = standing_words[spell->standing];
	if (spell->for_ns < 0 || spell->for_ns > SPELL_NS_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, word, NULL, "a time from nothing to a century");
	if (spell->volume_ul < 0 || spell->surface_mm2 < 0 || spell->surface_mm2 > SURFACE_MM2_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, word, NULL, "a volume and a surface of nothing or more");
	if (spell->for_ns > 0 && keeping->keeps_ns[spell->standing] <= 0)
		return wet_fault_set(reterr, WET_ERR_NOT_FOUND, word, NULL,
							 "its keeping time, as the label gives it: none is known here");
	return WET_OK;
}

/* for / keeps, in millionths, longer where a tray is shallow: depth is volume over surface, and 1 uL/mm2
 * is 1 mm. */
static wide share_ppm(const struct wet_keeping *keeping, const struct wet_spell *spell)
{
	int64_t keeps_ns = keeping->keeps_ns[spell->standing];
	wide n = (wide)spell->for_ns * PPM, d = keeps_ns;
	if (spell->standing == WET_STANDING_OPEN && spell->volume_ul > 0 && spell->surface_mm2 > 0 &&
		(wide)spell->volume_ul * 1000 < (wide)REFERENCE_DEPTH_UM * spell->surface_mm2) {
		/* n, d < 2^82 and 2^62: scaled in double, so that no product passes 128 bits */
		double depth_share =
			(double)spell->volume_ul * 1000.0 / ((double)REFERENCE_DEPTH_UM * (double)spell->surface_mm2);
		double ppm = (double)n / (double)d / depth_share;
		return ppm < 1e15 ? (wide)ppm + 1 : (wide)1000000000000000LL;
	}
	return (n + d - 1) / d;
}

int wet_age_used_ppm(const struct wet_keeping *keeping, const struct wet_spell *spells, int spell_count,
					 int64_t *ret_used_ppm, struct wet_fault *reterr)
{
	wide used = 0;
	for (int i = 0; i < spell_count; i++) {
		int rc = check_spell(keeping, &spells[i], reterr);
		if (rc != 0)
			return rc;
		if (spells[i].for_ns > 0)
			used += share_ppm(keeping, &spells[i]);
	}
	*ret_used_ppm = used > INT64_MAX ? INT64_MAX : (int64_t)used;
	return WET_OK;
}

const char *wet_standing_word(enum wet_standing standing)
{
	return (unsigned)standing < WET_STANDING_N ? standing_words[standing] : "?";
}

/* The same from how it stood; false: nothing is known of that. */
static int end_by_standing(const struct wet_keeping *keeping, enum wet_standing now, const struct wet_spell *spells, int count,
						   struct wet_age_end *ret_end, struct wet_fault *reterr)
{
	int64_t used_ppm = 0, whole_ppm = 0;
	ret_end->left_ns = INT64_MAX;
	for (int i = 0; i < count; i++) {
		struct wet_spell whole = spells[i];
		int64_t ppm = 0, keeps_ns = (unsigned)whole.standing < WET_STANDING_N ? keeping->keeps_ns[whole.standing] : 1;
		if (keeps_ns <= 0)
			continue;
		int rc = wet_age_used_ppm(keeping, &spells[i], 1, &ppm, reterr);
		whole.for_ns = keeps_ns;
		if (rc == 0)
			rc = wet_age_used_ppm(keeping, &whole, 1, &whole_ppm, reterr);
		if (rc != 0)
			return rc;
		used_ppm += ppm;
		if (whole.standing == now) /* a shallow tray has less than it would have */
			ret_end->left_ns = (int64_t)((double)keeps_ns * 1e6 / (double)whole_ppm);
	}
	ret_end->used_ppm = used_ppm;
	if (ret_end->left_ns != INT64_MAX)
		ret_end->left_ns = (int64_t)((double)ret_end->left_ns * (1e6 - (double)used_ppm) / 1e6);
	else if (used_ppm >= PPM)
		ret_end->left_ns = 0;
	return WET_OK;
}

int wet_age_end(const struct wet_keeping *keeping, int64_t recipe_keeps_ns, int64_t age_ns, enum wet_standing now,
				const struct wet_spell *spells, int spell_count, struct wet_age_end *ret_end, struct wet_fault *reterr)
{
	struct wet_age_end by_recipe = { 0 }, by_standing = { .left_ns = INT64_MAX, .is_by_standing = true };
	if (recipe_keeps_ns <= 0 || age_ns < 0 || age_ns > SPELL_NS_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "age", NULL, "a keeping time over nothing, and an age up to a century");
	by_recipe.left_ns = recipe_keeps_ns - age_ns;
	by_recipe.used_ppm = (int64_t)(((wide)age_ns * PPM + recipe_keeps_ns - 1) / recipe_keeps_ns);
	int rc = keeping ? end_by_standing(keeping, now, spells, spell_count, &by_standing, reterr) : WET_OK;
	if (rc == 0)
		*ret_end = by_standing.left_ns < by_recipe.left_ns - ALIKE_NS ? by_standing : by_recipe;
	return rc;
}

int wet_tray_allowance_milli(int64_t surface_mm2, int64_t reference_surface_mm2, int64_t *ret_milli,
							 struct wet_fault *reterr)
{
	/* 1 = a + b and 4/3 = a + b * 238/154: b = (1/3) * 154/84 = 11/18 */
	if (surface_mm2 <= 0 || reference_surface_mm2 <= 0 || surface_mm2 > SURFACE_MM2_MAX ||
		reference_surface_mm2 > SURFACE_MM2_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "surface", NULL, "surfaces of trays, over nothing");
	wide n = 1000 * ((wide)7 * reference_surface_mm2 + (wide)11 * surface_mm2),
		 d = (wide)18 * reference_surface_mm2;
	*ret_milli = (int64_t)((n + d - 1) / d);
	return WET_OK;
}
