/* molar_mass.h: the molar mass of a chemical formula, and one form of a salt in place of another. PURE.
 *
 * A formula is text: elements with counts, round or square brackets, and parts joined by '.' or U+00B7, each with
 * a number before it ("Na2CO3.10H2O", "KAl(SO4)2.12H2O", "K2CO3.3/2H2O", "2NaCl"). A '.' always joins: half
 * numbers are written as fractions. Isotopes, charges and unknown counts ("K2Sx") are errors.
 *
 * Masses are standard atomic masses: IUPAC Commission on Isotopic Abundances and Atomic Weights, Standard Atomic
 * Weights 2021 (Pure Appl. Chem. 94 (2022) 573), the single conventional value where it gives an interval.
 * Elements without one (all their isotopes decay) are refused. */
#ifndef WETSIDE_MOLAR_MASS_H
#define WETSIDE_MOLAR_MASS_H

#include "wetside/errors.h"

#define WET_CHEMICAL_BYTES 64  /* of a formula's text, with the NUL; EDTA's sodium salt has 24 */
#define WET_CHEMICAL_DEPTH 4   /* brackets within brackets */
#define WET_CHEMICAL_COUNT 999 /* largest number of an element, bracket or part */

/* Grams per mole. WET_ERR_INVALID: malformed; WET_ERR_NOT_FOUND: no such element; WET_ERR_RANGE: an element
 * without a standard mass, or a count too large; WET_ERR_TOO_LONG. The fault's `where` is "character 7". */
int wet_molar_mass(const char *formula, double *ret_g_per_mol, struct wet_fault *reterr);

/* How many grams of `to` hold what one gram of `from` holds, if the two are the same but for water: hydrates
 * (1.170 from Na2CO3 to Na2CO3.H2O), doubled formulas (Na2B2O4.8H2O is NaBO2.4H2O), and what water makes into the
 * other when dissolved (Na2S2O5 and NaHSO3). WET_ERR_REFUSED: another substance. */
int wet_hydrate_factor(const char *from, const char *to, double *ret_factor, struct wet_fault *reterr);

#endif
