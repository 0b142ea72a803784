/* mixture.h: things of different temperatures that come to one. Within heat. */
#ifndef WET_HEAT_MIXTURE_H
#define WET_HEAT_MIXTURE_H

/* What was put together. Heat is counted from the zero of water's enthalpy, and for the rest from 0 C. */
struct mixture {
	double water_kg;
	double other_j_per_k;
	double heat_j;
};

void mixture_add_water(struct mixture *m, double kg, double c);
void mixture_add_other(struct mixture *m, double j_per_k, double c);
/* Heat beyond what the mixture would hold at c; positive: it is warmer. */
double mixture_surplus_j(const struct mixture *m, double c);
/* The temperature it settles at; it holds something. Beyond -60..160 C, that. */
double mixture_settle_c(const struct mixture *m);

#endif
