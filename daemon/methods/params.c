/* params.c: parameters that are quantities, as people type them. */
#include "methods/inside.h"

#include "wetside/quantity.h"

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

bool want_size(struct wet_call *c, const char *key, int64_t *ret_width_um, int64_t *ret_height_um)
{
	char text[QUANTITY_BYTES] = "";
	struct wet_fault fault = { 0 };
	if (!want_text(c, key, false, text, sizeof text))
		return false;
	return !text[0] || wet_parse_size(text, ret_width_um, ret_height_um, &fault) == 0 ? true
																					  : call_fault_at(c, key, &fault);
}
