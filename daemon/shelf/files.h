/* files.h: reading the shelf's files. Inside the shelf only. */
#ifndef WET_SHELF_FILES_H
#define WET_SHELF_FILES_H

#include "wetside/errors.h"

#include <dirent.h>
#include <stdbool.h>
#include <stddef.h>

/* Reads a regular file, one byte more than allowed at most (so that too long is seen). The caller frees. */
int wet_shelf_read_file(const char *path, size_t bytes_max, char **ret_text, size_t *ret_bytes,
						struct wet_fault *fault);

/* "recipes/creek.json" -> "creek"; false if it does not end so, or is too long for a name. */
bool wet_shelf_stem(const char *path, char *stem, size_t stem_bytes);

/* For scandir: "*.json", but not the schemas and the substances that lie beside them, nor hidden files. */
int wet_shelf_is_item(const struct dirent *entry);

#endif
