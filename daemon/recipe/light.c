/* light.c: which light a stage needs; a function of vessel and stage. */
#include "wetside/recipe.h"

static bool is_closed(enum wet_vessel_kind kind)
{
	return kind == WET_VESSEL_CLOSED_TANK || kind == WET_VESSEL_DRUM;
}

/* Closed vessel: the paper's own light up to and with the stage that puts the lid on; inside, light does not
 * matter any more. A recipe that never puts it on (wet_recipe_check refuses it) stays dark. */
static enum wet_light_kind light_closed(const struct wet_recipe *recipe, int stage)
{
	for (int i = 0; i < stage; i++) {
		if (recipe->stages[i].kind == WET_STAGE_HANDLING && recipe->stages[i].lid_on)
			return WET_LIGHT_WHITE;
	}
	return recipe->paper_light;
}

enum wet_light_kind wet_recipe_light(const struct wet_recipe *recipe, int stage)
{
	if (stage < 0 || recipe->stage_count <= 0)
		return recipe->paper_light;
	if (stage >= recipe->stage_count)
		stage = recipe->stage_count - 1;
	if (recipe->stages[stage].kind == WET_STAGE_RE_EXPOSE)
		return WET_LIGHT_REQUIRED;
	if (is_closed(recipe->vessel_kind))
		return light_closed(recipe, stage);
	/* Open: white when the fix that the recipe names has ended. "No light but darkroom until fixing is
	 * complete", The Wellington Photographic Handbook, p. 69. */
	return recipe->white_after >= 0 && stage > recipe->white_after ? WET_LIGHT_WHITE : recipe->paper_light;
}
