/* safety.h: files -> the hazards of substances and gases, what must not meet, the wording of statements and the
 * rules of practice, with exact errors.
 *
 * Beside the notes: DIR/substances.json, gases.json, incompatibilities.json, statements.json, practice.json; the first
 * folder that has a file has its say. A file that is bad or missing leaves its table empty and is in the list of faults. */
#ifndef WET_SAFETY_H
#define WET_SAFETY_H

#include "wetside/gas.h"
#include "wetside/incompatibility.h"
#include "wetside/practice.h"

#include <stddef.h>

#define WET_HAZARDS_FILE "substances.json"
#define WET_INCOMPATIBILITIES_FILE "incompatibilities.json"
#define WET_STATEMENTS_FILE "statements.json"
#define WET_GASES_FILE "gases.json"
#define WET_PRACTICE_FILE "practice.json"
#define WET_SAFETY_FILES 5

/* All that is known. Immutable once loaded. */
struct wet_safety {
	struct wet_hazard_table hazards;
	struct wet_gas_table gases;
	struct wet_incompatibility_table incompatibilities;
	struct wet_statement_table statements;
	struct wet_practice practice;
	int fault_count;
	struct wet_fault faults[WET_SAFETY_FILES];
};

/* Loads from the folders (NULL-terminated). 0 even if files were bad; WET_ERR_NOMEM only. Freed with
 * wet_safety_free. */
int wet_safety_open(struct wet_safety **ret_safety, const char *const *safety_dirs);
void wet_safety_free(struct wet_safety *safety); /* NULL is fine */

/* Decode one file's text: parse, read, and the check of the core. `where` prefixes faults (a path). The rules name
 * substances and gases of the tables, a gas names first aid of the hazard table. */
int wet_hazards_decode(const char *json, size_t json_bytes, const char *where,
					   struct wet_hazard_table *ret_table, struct wet_fault *reterr);
int wet_gases_decode(const char *json, size_t json_bytes, const char *where, const struct wet_hazard_table *hazards,
					 struct wet_gas_table *ret_table, struct wet_fault *reterr);
int wet_incompatibilities_decode(const char *json, size_t json_bytes, const char *where,
								 const struct wet_hazard_table *hazards, const struct wet_gas_table *gases,
								 struct wet_incompatibility_table *ret_table, struct wet_fault *reterr);
int wet_statements_decode(const char *json, size_t json_bytes, const char *where,
						  struct wet_statement_table *ret_table, struct wet_fault *reterr);
int wet_practice_decode(const char *json, size_t json_bytes, const char *where, struct wet_practice *ret_practice,
						struct wet_fault *reterr);

#endif
