/* dilution_inside.h: what the files on dilution share. */
#ifndef WET_CHEMISTRY_DILUTION_INSIDE_H
#define WET_CHEMISTRY_DILUTION_INSIDE_H

#include "wetside/dilution.h"

__extension__ typedef __int128 wide;

#define VOLUME_UL_MAX 1000000000000000LL

/* n * a / d, rounded half up; all positive. */
int64_t scale_volume(int64_t n, int64_t a, int64_t d);
/* Over nothing, and no more than the inner limit. */
int check_volume(int64_t volume_ul, const char *where, struct wet_fault *reterr);

#endif
