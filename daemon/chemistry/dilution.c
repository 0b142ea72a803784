/* dilution.c: parts that always sum to the whole. */
#include "wetside/dilution.h"

#include "wetside/quantity.h"

#include <stddef.h>

__extension__ typedef __int128 wide;

#define VOLUME_UL_MAX 1000000000000000LL

/* n * a / d, rounded half up; all positive. */
static int64_t scale(int64_t n, int64_t a, int64_t d)
{
	return (int64_t)(((wide)n * a * 2 + d) / ((wide)d * 2));
}

static int check_volume(int64_t volume_ul, const char *where, struct wet_fault *reterr)
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
	int64_t stock = scale(total_ul, a_milli, a_milli + b_milli);
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
	int64_t water = scale(stock_ul, b_milli, a_milli);
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
