/* dilution.c: parts that always sum to the whole. */
#include "chemistry/dilution_inside.h"

#include <stddef.h>

int64_t scale_volume(int64_t n, int64_t a, int64_t d)
{
	return (int64_t)(((wide)n * a * 2 + d) / ((wide)d * 2));
}

int check_volume(int64_t volume_ul, const char *where, struct wet_fault *reterr)
{
	if (volume_ul > 0 && volume_ul <= VOLUME_UL_MAX)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_RANGE, where, NULL, "a volume over nothing, as in 600 mL");
}

static int check_parts(int64_t a, int64_t b, struct wet_fault *reterr)
{
	if (a > 0 && b >= 0 && a <= 100000000 && b <= 100000000)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_RANGE, "ratio", NULL, "parts, as in 1+9");
}

int wet_dilute_make(int64_t a_milli, int64_t b_milli, int64_t total_ul, struct wet_dilution *ret_dilution,
					struct wet_fault *reterr)
{
	int rc = check_parts(a_milli, b_milli, reterr);
	if (rc == 0)
		rc = check_volume(total_ul, "make", reterr);
	if (rc != 0)
		return rc;
	int64_t stock = scale_volume(total_ul, a_milli, a_milli + b_milli);
	if (stock == 0)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "make", NULL,
							 "more: the stock for so little cannot be measured");
	*ret_dilution = (struct wet_dilution){ stock, total_ul - stock, total_ul };
	return WET_OK;
}

int wet_dilute_have(int64_t a_milli, int64_t b_milli, int64_t stock_ul, struct wet_dilution *ret_dilution,
					struct wet_fault *reterr)
{
	int rc = check_parts(a_milli, b_milli, reterr);
	if (rc == 0)
		rc = check_volume(stock_ul, "have", reterr);
	if (rc != 0)
		return rc;
	if ((wide)stock_ul * b_milli / a_milli > VOLUME_UL_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "have", NULL,
							 "less: the whole would pass a million litres");
	int64_t water = scale_volume(stock_ul, b_milli, a_milli);
	*ret_dilution = (struct wet_dilution){ stock_ul, water, stock_ul + water };
	return WET_OK;
}

static int check_strengths(int32_t stock, int32_t target, struct wet_fault *reterr)
{
	char a[24], b[24];
	if (stock <= 0 || stock > 100000 || target <= 0)
		return wet_fault_set(reterr, WET_ERR_RANGE, "stock", NULL, "strengths over 0 up to 100 %%");
	if (target <= stock)
		return WET_OK;
	wet_print_percent(stock, a, sizeof a);
	wet_print_percent(target, b, sizeof b);
	return wet_fault_set(reterr, WET_ERR_REFUSED, "to", b, "no stronger than the stock, which is %s", a);
}

int wet_dilute_percent_make(int32_t stock_percent_milli, int32_t target_percent_milli, int64_t total_ul,
							struct wet_dilution *ret_dilution, struct wet_fault *reterr)
{
	int rc = check_strengths(stock_percent_milli, target_percent_milli, reterr);
	if (rc != 0)
		return rc;
	return wet_dilute_make(target_percent_milli, stock_percent_milli - target_percent_milli, total_ul,
						   ret_dilution, reterr);
}

int wet_dilute_percent_have(int32_t stock_percent_milli, int32_t target_percent_milli, int64_t stock_ul,
							struct wet_dilution *ret_dilution, struct wet_fault *reterr)
{
	int rc = check_strengths(stock_percent_milli, target_percent_milli, reterr);
	if (rc != 0)
		return rc;
	return wet_dilute_have(target_percent_milli, stock_percent_milli - target_percent_milli, stock_ul,
						   ret_dilution, reterr);
}

/* -- more than two parts ----------------------------------------------------------- */

int wet_dilute_parts_make(const struct wet_parts *parts, int64_t total_ul, int64_t ret_volumes_ul[WET_PARTS],
						  struct wet_fault *reterr)
{
	int64_t volumes[WET_PARTS];
	int rc = check_volume(total_ul, "make", reterr);
	if (rc != 0)
		return rc;
	if (parts->count < 2 || parts->count > WET_PARTS ||
		wet_share(total_ul, parts->milli, parts->count, volumes) != 0)
		return wet_fault_set(reterr, WET_ERR_RANGE, "ratio", NULL, "parts, as in 1+1+10");
	for (uint32_t i = 0; i < parts->count; i++)
		if (volumes[i] == 0 && parts->milli[i] > 0)
			return wet_fault_set(reterr, WET_ERR_REFUSED, "make", NULL,
								 "more: part %d of so little cannot be measured", (int)i + 1);
	for (uint32_t i = 0; i < parts->count; i++)
		ret_volumes_ul[i] = volumes[i];
	return WET_OK;
}

int wet_dilute_parts_most(const struct wet_parts *parts, const int64_t have_ul[WET_PARTS],
						  int64_t ret_volumes_ul[WET_PARTS], struct wet_fault *reterr)
{
	int first = -1; /* to run out */
	wide total = 0;
	if (parts->count < 2 || parts->count > WET_PARTS)
		return wet_fault_set(reterr, WET_ERR_RANGE, "ratio", NULL, "parts, as in 1+1+10");
	for (int i = 0; i < (int)parts->count; i++) {
		if (parts->milli[i] == 0 || have_ul[i] == -1)
			continue;
		int rc = check_volume(have_ul[i], "have", reterr);
		if (rc != 0)
			return rc;
		if (first < 0 || (wide)have_ul[i] * parts->milli[first] < (wide)have_ul[first] * parts->milli[i])
			first = i;
	}
	if (first < 0)
		return wet_fault_set(reterr, WET_ERR_RANGE, "have", NULL, "how much there is of one part at least");
	for (uint32_t i = 0; i < parts->count; i++)
		total += (wide)have_ul[first] * parts->milli[i] / parts->milli[first] + 1;
	if (total > VOLUME_UL_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "have", NULL,
							 "less: the whole would pass a million litres");
	for (uint32_t i = 0; i < parts->count; i++)
		ret_volumes_ul[i] = scale_volume(have_ul[first], parts->milli[i], parts->milli[first]);
	return WET_OK;
}
