/* safety_files.c: the repository's safety data, for tests. */
#include "safety_files.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const struct wet_safety *test_safety(void)
{
	static struct wet_safety *safety;
	static const char *const dirs[] = { WET_SOURCE_DIR "/safety", NULL };
	char line[600];
	if (safety == NULL && wet_safety_open(&safety, dirs) != 0)
		abort();
	if (safety->fault_count > 0) {
		fprintf(stderr, "%s\n", wet_fault_line(&safety->faults[0], line, sizeof line));
		abort();
	}
	return safety;
}

int test_safety_decode(int which, const char *text, size_t n, const char *where, struct wet_safety *into,
					   struct wet_fault *fault)
{
	const struct wet_safety *known = test_safety();
	switch (which) {
	case TEST_HAZARDS: return wet_hazards_decode(text, n, where, &into->hazards, fault);
	case TEST_GASES: return wet_gases_decode(text, n, where, &known->hazards, &into->gases, fault);
	case TEST_INCOMPATIBILITIES:
		return wet_incompatibilities_decode(text, n, where, &known->hazards, &known->gases, &into->incompatibilities,
											fault);
	case TEST_STATEMENTS: return wet_statements_decode(text, n, where, &into->statements, fault);
	case TEST_PRACTICE: return wet_practice_decode(text, n, where, &into->practice, fault);
	default: abort();
	}
}

const struct wet_hazards *test_hazards(const char *key)
{
	const struct wet_hazards *found = wet_hazards_find(&test_safety()->hazards, key);
	if (found == NULL) {
		fprintf(stderr, "there is no substance %s\n", key);
		abort();
	}
	return found;
}

struct wet_hazards test_made_hazard(const char *name, int kind)
{
	struct wet_hazards s = { .hazard_count = 1 };
	snprintf(s.key, sizeof s.key, "%s", name);
	snprintf(s.name, sizeof s.name, "%s", name);
	s.hazards[0].kind = (uint8_t)kind;
	return s;
}

int test_kind_of(const struct wet_classification *c, int endpoint)
{
	for (int i = 0; i < c->class_count; i++) {
		if (wet_hazard_fact(c->classes[i].kind)->endpoint == endpoint)
			return c->classes[i].kind;
	}
	return -1;
}
