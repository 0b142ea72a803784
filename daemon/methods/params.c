/* params.c: parameters that are quantities, as people type them. */
#include "methods/inside.h"

#include "wetside/quantity.h"

#include <string.h>

bool call_fault_at(struct wet_call *c, const char *key, struct wet_fault *fault)
{
	wet_fault_prefix(fault, key);
	call_fault(c, fault);
	return false;
}

/* The text of a quantity is never longer; an empty one is as good as none. */
#define QUANTITY_BYTES 48

bool want_volume(struct wet_call *c, const char *key, bool is_needed, int64_t *ret_ul)
{
	char text[QUANTITY_BYTES] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, is_needed, text, sizeof text))
		return false;
	return !text[0] || wet_parse_volume(text, ret_ul, &fault) == 0 ? true : call_fault_at(c, key, &fault);
}

bool want_temperature(struct wet_call *c, const char *key, bool is_needed, int32_t *ret_mc)
{
	char text[QUANTITY_BYTES] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, is_needed, text, sizeof text))
		return false;
	return !text[0] || wet_parse_temperature(text, ret_mc, &fault) == 0 ? true : call_fault_at(c, key, &fault);
}

bool want_duration(struct wet_call *c, const char *key, int64_t *ret_ns)
{
	char text[QUANTITY_BYTES] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	return !text[0] || wet_parse_duration(text, ret_ns, &fault) == 0 ? true : call_fault_at(c, key, &fault);
}

bool want_length_um(struct wet_call *c, const char *key, int64_t *ret_um)
{
	char text[QUANTITY_BYTES] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	if (!text[0])
		return true;
	if (wet_parse_length(text, ret_um, &fault) != 0)
		return call_fault_at(c, key, &fault);
	if (*ret_um > 0)
		return true;
	wet_fault_set(&fault, WET_ERR_RANGE, key, text, "a length over nothing");
	call_fault(c, &fault);
	return false;
}

bool want_size(struct wet_call *c, const char *key, int64_t *ret_width_um, int64_t *ret_height_um)
{
	char text[QUANTITY_BYTES] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	return !text[0] || wet_parse_size(text, ret_width_um, ret_height_um, &fault) == 0 ? true
																					  : call_fault_at(c, key, &fault);
}

bool want_list(struct wet_call *c, const char *key, size_t most, json_t **ret_list)
{
	struct wet_fault f = { 0 };
	json_t *v = json_object_get(c->params, key);
	size_t i;
	json_t *one;
	*ret_list = json_is_null(v) ? NULL : v;
	if (!*ret_list)
		return true;
	bool is_good = json_is_array(v) && json_array_size(v) <= most;
	if (is_good)
		json_array_foreach(v, i, one) is_good = is_good && json_is_string(one);
	if (is_good)
		return true;
	wet_fault_set(&f, WET_ERR_PARAMS, key, NULL, "a list of at most %d texts", (int)most);
	call_fault(c, &f);
	return false;
}

/* The fluid ounce of a gallon, quart or pint; the unit itself of all others. */
static enum wet_unit smaller_unit(enum wet_unit unit)
{
	switch (unit) {
	case WET_UNIT_US_GAL:
	case WET_UNIT_US_QT:
	case WET_UNIT_US_PINT: return WET_UNIT_US_FL_OZ;
	case WET_UNIT_IMP_GAL:
	case WET_UNIT_IMP_QT:
	case WET_UNIT_IMP_PINT: return WET_UNIT_IMP_FL_OZ;
	default: return unit;
	}
}

char *print_asked_volume(int64_t volume_ul, int asked, char *buf, unsigned n)
{
	enum wet_unit unit = (enum wet_unit)asked, smaller = smaller_unit(unit);
	if (unit == WET_UNIT_L)
		return wet_print_volume(volume_ul, buf, n);
	if (smaller == unit)
		return wet_print_quantity_about((struct wet_quantity){ volume_ul, unit }, 2, buf, n);
	wet_print_quantity_about((struct wet_quantity){ volume_ul, unit }, 4, buf, n);
	const char *point = strchr(buf, '.');
	if (!point || strncmp(point, ".5 ", 3) == 0 || strncmp(point, ".25 ", 4) == 0 || strncmp(point, ".75 ", 4) == 0)
		return buf;
	return wet_print_quantity_about((struct wet_quantity){ volume_ul, smaller }, 2, buf, n);
}
