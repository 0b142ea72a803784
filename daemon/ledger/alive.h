/* alive.h: the mark of life: a small mapped file that holds the boot time at which the daemon was last alive. A store to
 * it costs nothing and survives kill -9 (the page cache keeps it); a restarted daemon learns how long nobody could hear.
 *
 * The file's bytes are really written before it is mapped, so that a full disk is an error here and not a SIGBUS. Should
 * the page go away later (another program cuts the file, the disk fails), a handler of SIGBUS puts plain memory in its
 * place; faults elsewhere go to whoever had the signal before. So there can be one mark a process. */
#ifndef WET_ALIVE_H
#define WET_ALIVE_H

#include "wetside/errors.h"

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

struct wet_alive;

/* Falls back to ordinary memory where the file can't be made or is longer than ours (is_kept: false). boot_id: 36
 * characters. */
int wet_alive_open(struct wet_alive **ret_alive, const char *path, const char *boot_id,
				   struct wet_fault *reterr);
void wet_alive_close(struct wet_alive *alive); /* NULL is fine */
/* Would it survive a kill? False from the start, or once the page went away. */
bool wet_alive_is_kept(const struct wet_alive *alive);
/* What the process before left; 0 and an empty id where there was none. */
void wet_alive_previous(const struct wet_alive *alive, int64_t *ret_boot_ns, char ret_boot_id[37]);
/* Where to store boot time, from any thread. Until the first store it holds the mark of the process before, if that was of
 * the same boot, else 0. */
_Atomic int64_t *wet_alive_mark(struct wet_alive *alive);

#endif
