/* The table of methods is what dispatch, help and discovery come from. */
#include "methods/methods.h"

#include <criterion/criterion.h>
#include <string.h>

Test(methods, table_is_sorted_and_complete)
{
	size_t n;
	const struct wet_method *t = wet_method_table(&n);
	cr_assert_geq(n, 20);
	for (size_t i = 0; i < n; i++) {
		cr_assert_not_null(t[i].serve);
		cr_assert(t[i].help[0], "%s", t[i].name);
		cr_assert_not_null(strchr(t[i].name, '.'), "noun.verb: %s", t[i].name);
		if (i > 0)
			cr_assert_lt(strcmp(t[i - 1].name, t[i].name), 0, "%s", t[i].name);
	}
}
