/* gas.c: gases by their names. */
#include "wetside/gas.h"

#include "base/text.h"

#include <string.h>

static bool is_called(const struct wet_gas *g, const char *name)
{
	if (strcmp(g->key, name) == 0 || strcmp(g->name, name) == 0 || strcmp(g->cas, name) == 0 ||
		strcmp(g->formula, name) == 0)
		return true;
	for (int i = 0; i < WET_HAZARD_NAMES; i++) {
		if (g->also[i][0] != '\0' && strcmp(g->also[i], name) == 0)
			return true;
	}
	return false;
}

const struct wet_gas *wet_gas_find(const struct wet_gas_table *table, const char *name)
{
	for (int i = 0; name[0] != '\0' && i < table->count; i++) {
		if (is_called(&table->gases[i], name))
			return &table->gases[i];
	}
	return NULL;
}

static int fail(struct wet_fault *reterr, int err, int i, const char *member, const char *found, const char *want)
{
	char where[64];
	wet_text_format(where, sizeof where, "/gases/%d/%s", i, member);
	return wet_fault_set(reterr, err, where, found, "%s", want);
}

/* What the gas is called is not what one before it is. */
static int check_name(const struct wet_gas_table *t, int i, const char *member, const char *name,
					  struct wet_fault *reterr)
{
	for (int j = 0; name[0] != '\0' && j < i; j++) {
		if (is_called(&t->gases[j], name))
			return fail(reterr, WET_ERR_EXISTS, i, member, name, "what no gas before it is called");
	}
	return WET_OK;
}

int wet_gases_check(const struct wet_gas_table *t, struct wet_fault *reterr)
{
	double mass;
	for (int i = 0; i < t->count; i++) {
		const struct wet_gas *g = &t->gases[i];
		int rc = check_name(t, i, "key", g->key, reterr);
		if (rc == 0)
			rc = check_name(t, i, "name", g->name, reterr);
		if (rc == 0)
			rc = check_name(t, i, "cas", g->cas, reterr);
		for (int n = 0; rc == 0 && n < WET_HAZARD_NAMES; n++)
			rc = check_name(t, i, "also", g->also[n], reterr);
		if (rc == 0 && !wet_cas_is_valid(g->cas))
			rc = fail(reterr, WET_ERR_INVALID, i, "cas", g->cas, "a CAS number with its check digit");
		if (rc == 0 && wet_molar_mass(g->formula, &mass, NULL) != 0)
			rc = fail(reterr, WET_ERR_INVALID, i, "formula", g->formula, "a chemical formula");
		if (rc != 0)
			return rc;
	}
	return WET_OK;
}
