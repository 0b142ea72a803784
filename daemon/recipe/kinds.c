/* kinds.c: the words of a recipe file and what they stand for. */
#include "wetside/recipe.h"

#include <string.h>

struct stage_kind {
	const char *word;
	const char *spoken;
	bool is_bath;
	enum wet_law_kind law;
};

static const struct stage_kind stage_kinds[WET_STAGE_KIND_N] = {
#define STAGE_KIND_ROW(name, word, spoken, bath, law) [WET_STAGE_##name] = { word, spoken, bath, law },
	WET_STAGE_KINDS(STAGE_KIND_ROW)
#undef STAGE_KIND_ROW
};

static const char *const vessel_words[WET_VESSEL_KIND_N] = {
	[WET_VESSEL_CLOSED_TANK] = "closed-tank",
	[WET_VESSEL_OPEN_TANK] = "open-tank",
	[WET_VESSEL_TRAYS] = "trays",
	[WET_VESSEL_DRUM] = "drum",
	[WET_VESSEL_WASHER] = "washer",
};

static const char *const light_words[WET_LIGHT_KIND_N] = {
	[WET_LIGHT_DARK] = "dark",
	[WET_LIGHT_SAFELIGHT] = "safelight",
	[WET_LIGHT_WHITE] = "white",
	[WET_LIGHT_REQUIRED] = "white-required",
};

/* Names for a value that is none of the enum's: never NULL, and visible. */
#define NOT_A_KIND "unknown"

const char *wet_stage_kind_word(enum wet_stage_kind kind)
{
	return (unsigned)kind < WET_STAGE_KIND_N ? stage_kinds[kind].word : NOT_A_KIND;
}

const char *wet_stage_kind_spoken(enum wet_stage_kind kind)
{
	return (unsigned)kind < WET_STAGE_KIND_N ? stage_kinds[kind].spoken : NOT_A_KIND;
}

bool wet_stage_kind_is_bath(enum wet_stage_kind kind)
{
	return (unsigned)kind < WET_STAGE_KIND_N && stage_kinds[kind].is_bath;
}

enum wet_law_kind wet_stage_kind_law(enum wet_stage_kind kind)
{
	return (unsigned)kind < WET_STAGE_KIND_N ? stage_kinds[kind].law : WET_LAW_NONE;
}

bool wet_recipe_is_mix(const struct wet_recipe *recipe)
{
	return recipe->makes.volume_ul > 0;
}

const char *wet_vessel_kind_word(enum wet_vessel_kind kind)
{
	return (unsigned)kind < WET_VESSEL_KIND_N ? vessel_words[kind] : NOT_A_KIND;
}

const char *wet_light_kind_word(enum wet_light_kind kind)
{
	return (unsigned)kind < WET_LIGHT_KIND_N ? light_words[kind] : NOT_A_KIND;
}

int wet_vessel_kind_from_word(const char *word, enum wet_vessel_kind *ret_kind)
{
	for (int i = 0; word != NULL && i < WET_VESSEL_KIND_N; i++) {
		if (strcmp(word, vessel_words[i]) == 0) {
			*ret_kind = (enum wet_vessel_kind)i;
			return WET_OK;
		}
	}
	return WET_ERR_INVALID;
}

int wet_light_kind_from_word(const char *word, enum wet_light_kind *ret_kind)
{
	for (int i = 0; word != NULL && i < WET_LIGHT_KIND_N; i++) {
		if (strcmp(word, light_words[i]) == 0) {
			*ret_kind = (enum wet_light_kind)i;
			return WET_OK;
		}
	}
	return WET_ERR_INVALID;
}

int wet_stage_kind_from_word(const char *word, enum wet_stage_kind *ret_kind)
{
	for (int i = 0; word != NULL && i < WET_STAGE_KIND_N; i++) {
		if (strcmp(word, stage_kinds[i].word) == 0) {
			*ret_kind = (enum wet_stage_kind)i;
			return WET_OK;
		}
	}
	return WET_ERR_INVALID;
}
