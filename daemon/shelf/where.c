/* where.c: the place of a mistake. */
#include "shelf/where.h"

#include "base/text.h"

#include <string.h>

void wet_where_prefix(struct wet_fault *fault, const char *path, const char *joint)
{
	char prefix[sizeof fault->where];
	path = path != NULL ? path : "";
	size_t used = strlen(fault->where) + strlen(joint) + 1;
	size_t room = used < sizeof prefix ? sizeof prefix - used : 0;
	size_t n = strlen(path);
	if (n > room && room > 3) {
		path += n - (room - 3);
		while (((unsigned char)*path & 0xC0) == 0x80) /* not within a character */
			path++;
		wet_text_format(prefix, sizeof prefix, "...%s%s", path, joint);
	} else {
		wet_text_format(prefix, sizeof prefix, "%s%s", n > room ? "" : path, joint);
	}
	wet_fault_prefix(fault, prefix);
}
