/* hazard_inside.h: what the files about hazards share. */
#ifndef WET_CHEMISTRY_HAZARD_INSIDE_H
#define WET_CHEMISTRY_HAZARD_INSIDE_H

#include "wetside/hazard.h"

/* From the classes: which are printed, which pictograms, which signal word. */
void make_label(struct wet_classification *classification);

#endif
