/* safety_files.h: the repository's safety data, for tests. */
#ifndef WET_TESTS_SAFETY_FILES_H
#define WET_TESTS_SAFETY_FILES_H

#include "shelf/safety.h"

/* The shipped data, read once; the process ends with what is wrong if it can't be. */
const struct wet_safety *test_safety(void);

/* The files, in the order they are read; what each names of the others is the shipped data. */
enum test_safety_file { TEST_HAZARDS, TEST_GASES, TEST_INCOMPATIBILITIES, TEST_STATEMENTS, TEST_PRACTICE, TEST_SAFETY_N };
int test_safety_decode(int which, const char *text, size_t n, const char *where, struct wet_safety *into,
					   struct wet_fault *fault);

/* A shipped substance by key; ends the process if there is none. */
const struct wet_hazards *test_hazards(const char *key);

/* A substance made of one kind, for rules; `name` is borrowed as its key. */
struct wet_hazards test_made_hazard(const char *name, int kind);

/* Has the classification that endpoint's class? -1: none, else the kind. */
int test_kind_of(const struct wet_classification *c, int endpoint);

#endif
