/* memory.h: the memory of the wire, private to this room.
 *
 * It comes from the allocator that jansson uses (malloc unless a program replaced it), so one counter in a
 * test fails every allocation of a request, ours and jansson's, and the product needs no test hook of its
 * own. */
#ifndef WET_WIRE_MEMORY_H
#define WET_WIRE_MEMORY_H

#include <stddef.h>

/* NULL when memory fails. */
void *wet_wire_malloc(size_t bytes);
void wet_wire_free(void *block); /* NULL is fine */
/* A copy of the first `used` bytes in a block of `bytes`; the old block is freed. NULL on failure: the old
 * one is kept. */
void *wet_wire_resize(void *block, size_t used, size_t bytes);

#endif
