/* prop_args.h: what each run of random cases takes: --seed S --count N. */
#ifndef WET_TESTS_PROP_ARGS_H
#define WET_TESTS_PROP_ARGS_H

/* Takes both out of the command line; anything else ends the program with status 2, so that a long campaign does not run on
 * numbers that nobody asked for. */
void test_prop_args(int argc, char **argv, unsigned long long *seed, long *count);

#endif
