/* prop_args.c */
#include "prop_args.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void test_prop_args(int argc, char **argv, unsigned long long *seed, long *count)
{
	for (int i = 1; i < argc; i += 2) {
		bool is_seed = strcmp(argv[i], "--seed") == 0;
		if (i + 1 == argc || (!is_seed && strcmp(argv[i], "--count") != 0)) {
			fprintf(stderr, "%s: --seed S --count N, not %s\n", argv[0], argv[i]);
			exit(2);
		}
		if (is_seed)
			*seed = strtoull(argv[i + 1], NULL, 10);
		else
			*count = strtol(argv[i + 1], NULL, 10);
	}
}
