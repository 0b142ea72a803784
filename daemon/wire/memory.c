#include "wire/memory.h"

#include <jansson.h>
#include <string.h>

void *wet_wire_malloc(size_t bytes)
{
	json_malloc_t take;
	json_free_t give;

	json_get_alloc_funcs(&take, &give);
	return take(bytes);
}

void wet_wire_free(void *block)
{
	json_malloc_t take;
	json_free_t give;

	if (!block)
		return;
	json_get_alloc_funcs(&take, &give);
	give(block);
}

void *wet_wire_resize(void *block, size_t used, size_t bytes)
{
	void *copy = wet_wire_malloc(bytes);

	if (!copy)
		return NULL;
	if (used > 0)
		memcpy(copy, block, used);
	wet_wire_free(block);
	return copy;
}
