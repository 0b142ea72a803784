/* contents.h: what a solution holds, by the share of each substance. PURE.
 *
 * A formula says what is weighed; hazards and what must not meet go by what is in the bath. Nothing is kept; pointers
 * are borrowed from the tables. */
#ifndef WETSIDE_CONTENTS_H
#define WETSIDE_CONTENTS_H

#include "wetside/formula.h"
#include "wetside/hazard.h"

/* The substances of a solution. */
struct wet_contents {
	int component_count, unknown_count;
	struct wet_component components[WET_FORMULA_INGREDIENTS];  /* of the hazard table; never more than the whole */
	const struct wet_substance *unknown[WET_FORMULA_INGREDIENTS]; /* in the formula, but not to be counted */
	bool is_dry; /* a powder or crystals; no formula's */
};

/* What the formula makes, thinned with `water` parts of water to `stock` parts (stock over 0; water 0: as it is). A
 * substance that is weighed twice is one component; a pinch counts as nothing. Shares are by mass of a solution taken
 * to weigh a gram a millilitre; a real one weighs more, so that they err to the safe side. */
void wet_formula_contents(const struct wet_hazard_table *hazards, const struct wet_substances *substances,
						  const struct wet_formula *formula, int64_t stock, int64_t water,
						  struct wet_contents *ret_contents);

/* The pH of acids in water at 25 C, by the balance of charges; activities are taken for concentrations, which is a
 * tenth or two off at half a mole in a litre. False: there is no acid in it whose strength is known, or something is
 * there beside acids that takes up protons (sulfite, borate, a developing agent ...), so that it can't be said; or it is
 * dry. */
bool wet_contents_ph(const struct wet_contents *contents, int32_t *ret_ph_milli);

/* Classifies what is in it, with its pH where that can be said. ret_mixture borrows the contents. Errors as
 * wet_mixture_classify. */
int wet_contents_classify(const struct wet_contents *contents, struct wet_mixture *ret_mixture,
						  struct wet_classification *ret_classification, struct wet_fault *reterr);

/* What a jar or a bottle of a form holds, as a chemical is bought. */
void wet_form_contents(const struct wet_hazard_table *hazards, const struct wet_substances *substances, int form,
					   struct wet_contents *ret_contents);

/* As much of the hazard table's substance, in milligrams, as so much of a form holds (mg; uL of a liquid); below 0: its
 * chemical formula can't be brought to that of the table. */
double wet_form_pure_mg(const struct wet_form *form, int64_t amount, const struct wet_hazards *hazards);

/* Bits of enum wet_reaction_class of all that is in it. */
uint64_t wet_contents_classes(const struct wet_contents *contents);
/* What the planner refuses to work with at all; NULL: nothing of it. */
const struct wet_hazards *wet_contents_refused(const struct wet_contents *contents);

#endif
