/* oracle.h: asks a Python script of tests/outside/, run by Debian's own /usr/bin/python3, for numbers. */
#ifndef WET_TESTS_ORACLE_H
#define WET_TESTS_ORACLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* Another seed in each run, printed; WET_ORACLE_SEED=77 in the environment brings one back. */
uint64_t test_oracle_seed(void);

/* A file for the questions, which test_oracle_answers closes. NULL: none can be had. */
FILE *test_oracle_questions(void);

/* The script that knows water, blends, baths and fits. */
#define TEST_TEMPERING_ORACLE WET_SOURCE_DIR "/tests/outside/tempering_oracle.py"

/* Runs SCRIPT TOPIC with the questions on its standard input and reads exactly n numbers from its
 * standard output. False (with a line on standard error) when Python, the script or a library of it is
 * missing, it fails, or the numbers are fewer or more: a caller fails then, for silence proves nothing. */
bool test_oracle_answers(const char *script, const char *topic, FILE *questions, double *ret_answers,
						 size_t n);

#endif
