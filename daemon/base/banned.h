/* banned.h: functions that are compile errors here; force-included into every file after the headers that
 * declare them. Each has a better one: wet_text_copy, wet_text_format, the parsers of quantity.h, the clock
 * of the shell. */
#ifndef WET_BANNED_H
#define WET_BANNED_H

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h> /* for the names only: the pure rooms may not call it (symbols.sh) */
#include <unistd.h>

/* Fortified, glibc makes macros of these two, and clang refuses to poison a macro. */
#undef sprintf
#undef vsprintf
#pragma GCC poison strcpy strcat strncpy strncat sprintf vsprintf strtok atoi atol atoll atof gets
#pragma GCC poison localtime gmtime ctime asctime rand srand sleep usleep setlocale system

#endif
