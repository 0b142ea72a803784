/* gas.h: the gases that mixing sets free: what they smell of, what they do, how much of them is too much. PURE.
 *
 * The table is read by somebody else (safety/gases.json); all structs are plain values. */
#ifndef WETSIDE_GAS_H
#define WETSIDE_GAS_H

#include "wetside/hazard.h"

#define WET_GASES 24          /* of a table; the shipped one has 13 */
#define WET_GAS_STATEMENTS 8  /* hazard statements of one; chlorine has 6 */

/* One gas. */
struct wet_gas {
	char key[WET_NAME_BYTES];
	char name[WET_NAME_BYTES];
	char also[WET_HAZARD_NAMES][WET_NAME_BYTES]; /* "" where there are fewer */
	char cas[WET_CAS_BYTES];
	char formula[WET_CHEMICAL_BYTES];
	char smell[WET_LINE_BYTES];       /* it smells ...: "like rotten eggs", "of nothing" */
	char smell_fails[WET_LINE_BYTES]; /* why the nose is no guard, a sentence; or "" */
	int statement_count, exposure_count, first_aid_count;
	char statements[WET_GAS_STATEMENTS][WET_STATEMENT_BYTES];
	struct wet_exposure exposures[WET_HAZARD_EXPOSURES]; /* none where nobody has set one */
	uint8_t first_aid[WET_HAZARD_ADVICE];                /* places in the advice of the hazard table */
};

/* All of them. */
struct wet_gas_table {
	int count;
	struct wet_gas gases[WET_GASES];
};

/* By key, name, other name, formula or CAS number; NULL. */
const struct wet_gas *wet_gas_find(const struct wet_gas_table *table, const char *name);
/* Names are met once, CAS numbers and formulas are some. `where` is a JSON pointer. */
int wet_gases_check(const struct wet_gas_table *table, struct wet_fault *reterr);

#endif
