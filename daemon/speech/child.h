/* child.h: the last step before another program runs: it must not outlive the daemon, nor run for ever.
 *
 * The daemon starts itself again with WET_CHILD_WORD in front, and that process becomes the program: a process can only
 * ask for its own death with its parent, so this step is needed. */
#ifndef WET_SPEECH_CHILD_H
#define WET_SPEECH_CHILD_H

#define WET_CHILD_WORD "--become"
#define WET_CHILD_MISSING 127 /* its status where the program isn't there, or may not be run */
#define WET_CHILD_SECONDS 5   /* whatever happens to the daemon, it ends after this */

/* argv: of the program, NULL-terminated; parent: the daemon's process id. Ends the process where it can't. */
_Noreturn void wet_child_become(char *const argv[], int parent);

#endif
