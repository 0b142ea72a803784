/* capacity.c: silver, area and what is left of a bath. */
#include "wetside/capacity.h"

#include "base/text.h"
#include "wetside/quantity.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

__extension__ typedef __int128 wide;

#define PPM 1000000LL
#define AREA_MM2_MAX 1000000000000LL       /* a square kilometre: nobody's evening */
#define VOLUME_UL_MAX 1000000000000LL      /* a million litres */
#define CAPACITY_MM2_PER_L_MAX 100000000LL /* 100 m2/L: forty times the most ever published */

static const int silver_mg_per_m2[WET_EMULSION_N] = {
#define ROW(name, word, load) load,
	WET_EMULSIONS(ROW)
#undef ROW
};

static const struct {
	const char *word;
	int most_mg_per_l[WET_EMULSION_N];
} regimes[WET_FIXER_REGIME_N] = {
#define ROW(name, word, paper, film) { word, { paper, film } },
	WET_FIXER_REGIMES(ROW)
#undef ROW
};

static const struct wet_capacity_default defaults[WET_CAPACITY_N] = {
#define ROW(name, word, mm2, source) { word, mm2, source },
	WET_CAPACITIES(ROW)
#undef ROW
};

static int64_t ceil_div(wide n, int64_t d)
{
	return (int64_t)((n + d - 1) / d);
}

/* 1 <= value <= most, else the fault names the field and shows the number. */
static int check_over_0(int64_t value, int64_t most, const char *where, const char *want,
						struct wet_fault *reterr)
{
	if (value > 0 && value <= most)
		return WET_OK;
	char found[32];
	wet_text_format(found, sizeof found, "%lld", (long long)value);
	return wet_fault_set(reterr, WET_ERR_RANGE, where, found, "%s", want);
}

static int check_area(int64_t area_mm2, struct wet_fault *reterr)
{
	if (area_mm2 >= 0 && area_mm2 <= AREA_MM2_MAX)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_RANGE, "area", NULL, "an area from nothing to a square kilometre");
}

static int check_capacity(int64_t mm2_per_l, struct wet_fault *reterr)
{
	return check_over_0(mm2_per_l, CAPACITY_MM2_PER_L_MAX, "capacity",
						"an area a litre over nothing, up to 100 m2; take the label's or a named regime's",
						reterr);
}

static int check_volume(int64_t volume_ul, struct wet_fault *reterr)
{
	return check_over_0(volume_ul, VOLUME_UL_MAX, "volume", "a volume over nothing, as in 600 mL", reterr);
}

const char *wet_fixer_regime_word(enum wet_fixer_regime regime)
{
	return (unsigned)regime < WET_FIXER_REGIME_N ? regimes[regime].word : "?";
}

int wet_fixer_regime_from_word(const char *word, enum wet_fixer_regime *ret_regime, struct wet_fault *reterr)
{
	char words[160] = "";
	for (int i = 0; i < WET_FIXER_REGIME_N; i++) {
		if (strcmp(word, regimes[i].word) == 0) {
			*ret_regime = (enum wet_fixer_regime)i;
			return WET_OK;
		}
		wet_text_append(words, sizeof words, "%s%s", i > 0 ? ", " : "", regimes[i].word);
	}
	return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "regime", word, "one of: %s", words);
}

int wet_silver_load_ug(enum wet_emulsion emulsion, int64_t area_mm2, int64_t *ret_silver_ug,
					   struct wet_fault *reterr)
{
	if ((unsigned)emulsion >= WET_EMULSION_N)
		return wet_fault_set(reterr, WET_ERR_RANGE, "emulsion", NULL, "paper or film");
	int rc = check_area(area_mm2, reterr);
	if (rc != 0)
		return rc;
	*ret_silver_ug = ceil_div((wide)area_mm2 * silver_mg_per_m2[emulsion], 1000); /* mg/m2 is ug/1000 mm2 */
	return WET_OK;
}

int wet_fixer_capacity(enum wet_fixer_regime regime, enum wet_emulsion emulsion, int64_t *ret_mm2_per_l,
					   struct wet_fault *reterr)
{
	if ((unsigned)regime >= WET_FIXER_REGIME_N || (unsigned)emulsion >= WET_EMULSION_N)
		return wet_fault_set(reterr, WET_ERR_RANGE, "regime", NULL, "a named regime, and paper or film");
	int most = regimes[regime].most_mg_per_l[emulsion];
	if (most == 0)
		return wet_fault_set(
			reterr, WET_ERR_NOT_FOUND, "regime", regimes[regime].word,
			"a regime with a published silver limit for film: single-bath commercial or archival");
	*ret_mm2_per_l = most * PPM / silver_mg_per_m2[emulsion];
	return WET_OK;
}

int wet_capacity_from_m2(double m2_per_l, int64_t *ret_mm2_per_l, struct wet_fault *reterr)
{
	double mm2 = m2_per_l * 1e6;
	if (!(mm2 >= 1.0 && mm2 <= (double)CAPACITY_MM2_PER_L_MAX)) { /* not a number is none of both */
		char found[48];
		wet_text_format(found, sizeof found, "%g m2 a litre", m2_per_l);
		return wet_fault_set(
			reterr, WET_ERR_RANGE, "capacity", isnan(m2_per_l) ? "not a number" : found,
			"an area a litre over nothing, up to 100 m2; take the label's or a named regime's");
	}
	*ret_mm2_per_l = (int64_t)floor(mm2 + 1e-6); /* 1.03 m2 must not become 1,029,999 mm2 */
	return WET_OK;
}

int wet_capacity_from_count(double count, int64_t width_um, int64_t height_um, int64_t volume_ul,
							int64_t *ret_mm2_per_l, struct wet_fault *reterr)
{
	static const char size[] = "sides over nothing, up to 100 m";
	int rc = check_over_0(width_um, 100 * PPM, "width", size, reterr);
	if (rc == 0)
		rc = check_over_0(height_um, 100 * PPM, "height", size, reterr);
	if (rc == 0)
		rc = check_volume(volume_ul, reterr);
	if (rc != 0)
		return rc;
	double m2 = (double)width_um * 1e-6 * (double)height_um * 1e-6;
	return wet_capacity_from_m2(count * m2 / ((double)volume_ul * 1e-6), ret_mm2_per_l, reterr);
}

const struct wet_capacity_default *wet_capacity_default(enum wet_capacity_of of)
{
	return (unsigned)of < WET_CAPACITY_N ? &defaults[of] : NULL;
}

int wet_capacity_volume(int64_t capacity_mm2_per_l, int64_t area_mm2, int64_t *ret_volume_ul,
						struct wet_fault *reterr)
{
	int rc = check_capacity(capacity_mm2_per_l, reterr);
	if (rc == 0)
		rc = check_area(area_mm2, reterr);
	if (rc != 0)
		return rc;
	*ret_volume_ul = ceil_div((wide)area_mm2 * PPM, capacity_mm2_per_l);
	return WET_OK;
}

/* -- what is left ------------------------------------------------------------- */

static int check_bath(const struct wet_working_bath *bath, int64_t piece_mm2, struct wet_fault *reterr)
{
	int rc = check_volume(bath->volume_ul, reterr);
	if (rc == 0)
		rc = check_capacity(bath->capacity_mm2_per_l, reterr);
	if (rc == 0)
		rc = check_over_0(piece_mm2, AREA_MM2_MAX, "piece", "a piece with an area, as in 9x12cm", reterr);
	if (rc == 0 && (bath->used_mm2 < 0 || bath->used_mm2 > AREA_MM2_MAX))
		rc = wet_fault_set(reterr, WET_ERR_RANGE, "used", NULL, "an area of nothing or more");
	if (rc == 0 && bath->age_used_ppm < 0)
		rc = wet_fault_set(reterr, WET_ERR_RANGE, "age", NULL, "an age of nothing or more");
	return rc;
}

int wet_bath_left(const struct wet_working_bath *bath, int64_t piece_mm2, struct wet_bath_left *ret_left,
				  struct wet_fault *reterr)
{
	int rc = check_bath(bath, piece_mm2, reterr);
	if (rc != 0)
		return rc;
	struct wet_bath_left left = { .age_used_ppm = bath->age_used_ppm };
	left.capacity_mm2 = (int64_t)((wide)bath->capacity_mm2_per_l * bath->volume_ul / PPM);
	if (left.capacity_mm2 < piece_mm2) {
		char has[32], needs[32];
		wet_print_volume(bath->volume_ul, has, sizeof has);
		wet_print_volume(ceil_div((wide)piece_mm2 * PPM, bath->capacity_mm2_per_l), needs, sizeof needs);
		return wet_fault_set(reterr, WET_ERR_FIT, "volume", has,
							 "at least %s: so much working solution one piece takes, fresh", needs);
	}
	left.area_used_ppm = ceil_div((wide)bath->used_mm2 * PPM, left.capacity_mm2);
	left.left_mm2 = bath->used_mm2 < left.capacity_mm2 ? left.capacity_mm2 - bath->used_mm2 : 0;
	left.pieces_left = left.left_mm2 / piece_mm2;
	left.nearer = left.area_used_ppm >= left.age_used_ppm ? WET_BATH_CLOCK_AREA : WET_BATH_CLOCK_AGE;
	int spent = left.pieces_left == 0 ? WET_BATH_CLOCK_AREA : 0;
	if (bath->age_used_ppm >= PPM) {
		spent |= WET_BATH_CLOCK_AGE;
		left.left_mm2 = left.pieces_left = 0;
	}
	left.spent = (enum wet_bath_clock)spent;
	*ret_left = left;
	return WET_OK;
}

char *wet_bath_left_line(const struct wet_bath_left *left, char *buf, unsigned buf_bytes)
{
	static const char *const ran_out[] = { "", "its area is used up", "its age ran out",
										   "area and age ran out" };
	long long area = (long long)((left->area_used_ppm + 9999) / 10000);
	long long age = (long long)((left->age_used_ppm + 9999) / 10000);
	if (left->spent != WET_BATH_CLOCK_NEITHER)
		wet_text_format(buf, buf_bytes, "%s: ", ran_out[left->spent & 3]);
	else
		wet_text_format(buf, buf_bytes, "%lld piece%s left: ", (long long)left->pieces_left,
						left->pieces_left == 1 ? "" : "s");
	return wet_text_append(buf, buf_bytes, "%lld %% of the area used, %lld %% of the age", area, age);
}

/* -- two baths ---------------------------------------------------------------- */

static int check_pair(const struct wet_two_bath *pair, struct wet_fault *reterr)
{
	int rc = check_volume(pair->volume_ul, reterr);
	if (rc == 0)
		rc = check_capacity(pair->capacity_mm2_per_l, reterr);
	if (rc == 0 && (pair->second_share_ppm < 0 || pair->second_share_ppm > PPM))
		rc = wet_fault_set(reterr, WET_ERR_RANGE, "second share", NULL, "from 0 to 1,000,000 millionths");
	if (rc == 0 && (pair->rotations < 0 || pair->rotations_most < 0))
		rc = wet_fault_set(reterr, WET_ERR_RANGE, "rotations", NULL, "a count of nothing or more");
	const int64_t counts[] = { pair->first.as_first_mm2, pair->first.as_second_mm2, pair->second.as_first_mm2,
							   pair->second.as_second_mm2 };
	for (int i = 0; rc == 0 && i < 4; i++)
		rc = check_area(counts[i], reterr);
	return rc;
}

int64_t wet_fix_bath_counted(const struct wet_fix_bath *bath, int32_t second_share_ppm)
{
	return bath->as_first_mm2 + ceil_div((wide)bath->as_second_mm2 * second_share_ppm, PPM);
}

int wet_two_bath_left(const struct wet_two_bath *pair, int64_t *ret_left_mm2, struct wet_fault *reterr)
{
	int rc = check_pair(pair, reterr);
	if (rc != 0)
		return rc;
	int64_t whole = (int64_t)((wide)pair->capacity_mm2_per_l * pair->volume_ul / PPM);
	int64_t used = wet_fix_bath_counted(&pair->first, pair->second_share_ppm);
	*ret_left_mm2 = used < whole ? whole - used : 0;
	return WET_OK;
}

int wet_two_bath_book(struct wet_two_bath *pair, int64_t area_mm2, struct wet_fault *reterr)
{
	int64_t left;
	int rc = wet_two_bath_left(pair, &left, reterr);
	if (rc == 0)
		rc = check_area(area_mm2, reterr);
	if (rc != 0)
		return rc;
	if (area_mm2 > left) {
		const char *then = pair->rotations < pair->rotations_most
							   ? "discard the first bath, the second becomes the first, mix a fresh second"
							   : "discard both baths and mix two";
		return wet_fault_set(reterr, WET_ERR_REFUSED, "first fixer", NULL,
							 "%lld cm2 less than the %lld cm2 asked for: %lld cm2 are left; then %s",
							 (long long)ceil_div(area_mm2 - left, 100), (long long)ceil_div(area_mm2, 100),
							 (long long)(left / 100), then);
	}
	if (pair->second.as_second_mm2 > AREA_MM2_MAX - area_mm2)
		return check_area(AREA_MM2_MAX + 1, reterr);
	pair->first.as_first_mm2 += area_mm2;
	pair->second.as_second_mm2 += area_mm2;
	return WET_OK;
}

int wet_two_bath_rotate(struct wet_two_bath *pair, struct wet_fault *reterr)
{
	int rc = check_pair(pair, reterr);
	if (rc != 0)
		return rc;
	if (pair->rotations >= pair->rotations_most) {
		char found[40];
		wet_text_format(found, sizeof found, "%d rotations", pair->rotations);
		return wet_fault_set(reterr, WET_ERR_REFUSED, "fixers", found,
							 "at most %d: discard both baths, as local rules say about silver, and mix two",
							 pair->rotations_most);
	}
	pair->first = pair->second;
	pair->second = (struct wet_fix_bath){ 0, 0 };
	pair->rotations++;
	return WET_OK;
}
