/* water.c: density and enthalpy of liquid water, and what mixtures with it settle at. */
#include "wetside/tempering.h"

#include "heat/mixture.h"

#include <assert.h>

/* Kell's equation is of IPTS-68, on which 0..100 C read higher than on ITS-90 by this factor. */
#define ITS90_TO_IPTS68 1.00024

double wet_water_density(double temperature_c)
{
	static const double k[] = { 999.83952,     16.945176,    -7.9870401e-3,
								-46.170461e-6, 105.56302e-9, -280.54253e-12 };
	double t = temperature_c * ITS90_TO_IPTS68, sum = 0;
	for (int i = 5; i >= 0; i--)
		sum = sum * t + k[i];
	return sum / (1 + 16.879850e-3 * t);
}

/* J/kg of powers of t/100 C. Least squares on IAPWS R6-95 (Debian's python3-iapws 1.5.3) at 101.325 kPa, at 0
 * C and 80 Chebyshev points of 0..100 C; above 99.9 C, where that boils, the saturated liquid. */
static const double h[] = { 61.181814,   421916.994, -16600.8254, 36681.2972,
							-49572.9339, 43642.18,   -21633.3193, 4671.60504 };
#define H_POWERS 7

double wet_water_enthalpy(double temperature_c)
{
	double u = temperature_c / 100, sum = 0;
	for (int i = H_POWERS; i >= 0; i--)
		sum = sum * u + h[i];
	return sum;
}

double wet_water_heat_capacity(double temperature_c)
{
	double u = temperature_c / 100, sum = 0;
	for (int i = H_POWERS; i >= 1; i--)
		sum = sum * u + i * h[i];
	return sum / 100;
}

void mixture_add_water(struct mixture *m, double kg, double c)
{
	m->water_kg += kg;
	m->heat_j += kg * wet_water_enthalpy(c);
}

void mixture_add_other(struct mixture *m, double j_per_k, double c)
{
	m->other_j_per_k += j_per_k;
	m->heat_j += j_per_k * c;
}

double mixture_surplus_j(const struct mixture *m, double c)
{
	return m->heat_j - m->water_kg * wet_water_enthalpy(c) - m->other_j_per_k * c;
}

double mixture_settle_c(const struct mixture *m)
{
	double low = -60, high = 160;
	assert(m->water_kg > 0 || m->other_j_per_k > 0);
	/* The heat held rises with the temperature in all of this range: halving always ends, at the last bit. */
	for (int i = 0; i < 64; i++) {
		double mid = low + (high - low) / 2;
		if (mixture_surplus_j(m, mid) > 0)
			low = mid;
		else
			high = mid;
	}
	return low + (high - low) / 2;
}
