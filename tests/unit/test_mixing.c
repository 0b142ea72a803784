/* test_mixing.c: a formula led through step by step, as text for the ledger, and what is no such text. */
#include "shelf/mixing.h"

#include "base/text.h"
#include "formula_files.h"
#include "shelf/shelf.h"
#include "shelf_files.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static struct wet_mixing mixing_of(const char *name, int64_t make_ul)
{
	struct wet_mixing m = { .table = test_substances(), .formula = test_formula(name) };
	struct wet_formula_want want = { .make_ul = make_ul, .scale_step_mg = 100, .measure_step_ul = 500 };
	cr_assert_eq(wet_formula_compute(m.table, m.formula, &want, &m.list, NULL), 0);
	wet_text_copy(m.called, sizeof m.called, "creek fixer");
	return m;
}

static char *text_of(const struct wet_mixing *m, size_t *ret_bytes)
{
	char *json = NULL;
	struct wet_fault fault = { 0 };
	cr_assert_eq(wet_mixing_text(m, &json, ret_bytes, &fault), 0, "%s", fault.want);
	return json;
}

Test(mixing, a_fixer_is_led_through_from_the_room_to_the_label)
{
	static const struct {
		enum wet_stage_kind kind;
		const char *name, *say;
	} want[] = {
		{ WET_STAGE_HANDLING, "The room",
		  "White light, extraction on. No food, no drink, no flame. In a school an adult mixes, pupils stand back." },
		{ WET_STAGE_HANDLING, "Wear",
		  "Goggles, gloves, apron, closed shoes on; a dust mask for powders. Find the tap to rinse an eye. Press when all is "
		  "on." },
		{ WET_STAGE_HANDLING, "Lay out",
		  "Scale, graduate, thermometer, stirring rod, a clean bottle with a blank label; then what goes in, in its order." },
		{ WET_STAGE_HANDLING, "Water", "Water, 600 mL at 32 C (90 F), into the mixing vessel. Press when it is in; so at each step." },
		{ WET_STAGE_MIX, "Sodium thiosulfate, pentahydrate",
		  "Sodium thiosulfate, pentahydrate, 240 g: press as it goes in; stir until all is dissolved." },
		{ WET_STAGE_HANDLING, "Sodium sulfite, anhydrous", "Sodium sulfite, anhydrous, 15 g: stir until all is dissolved." },
		{ WET_STAGE_HANDLING, "Cool", "Read the thermometer: wait until it is below 27 C (81 F). Press when it is." },
		{ WET_STAGE_HANDLING, "Acetic acid, 28 %",
		  "Acetic acid, 28 %, 48 mL. Acid into the solution, slowly, never the other way round: stir until all is mixed." },
		{ WET_STAGE_MIX, "Boric acid, crystals", "Boric acid, crystals, 7.5 g: press as it goes in; stir until all is dissolved." },
		{ WET_STAGE_MIX, "Potassium alum, dodecahydrate",
		  "Potassium alum, dodecahydrate, 15 g: press as it goes in; stir until all is dissolved." },
		{ WET_STAGE_HANDLING, "Water to the mark", "Cold water to make 1 L. Stir once more." },
		{ WET_STAGE_HANDLING, "Bottle",
		  "Into its bottle, to the neck, and closed: none that ever held food or drink. Wipe up, rinse what was used." },
		{ WET_STAGE_HANDLING, "Label",
		  "Write on it what it is: Acid hardening fixer with alum. On the shelf it will be creek fixer." },
		{ WET_STAGE_HANDLING, "Label", "Write today's day on it too. How strong: As it is. Out of reach of children." },
	};
	static struct wet_recipe r;
	struct wet_mixing m = mixing_of("fixer-acid-hardening", 1000000);
	struct wet_fault fault = { 0 };
	size_t bytes;
	char *json = text_of(&m, &bytes);
	cr_assert_eq(wet_mixing_decode(json, bytes, "ledger", &r, &fault), 0, "%s: %s", fault.where, fault.want);
	cr_assert_eq(r.stage_count, (int)(sizeof want / sizeof want[0]));
	for (int i = 0; i < r.stage_count; i++) {
		cr_expect_eq(r.stages[i].kind, want[i].kind, "%d", i);
		cr_expect_str_eq(r.stages[i].name, want[i].name);
		cr_expect_str_eq(r.stages[i].say, want[i].say);
	}
	cr_expect_str_eq(r.name, "mix-fixer-acid-hardening");
	cr_expect_str_eq(r.makes.name, "creek fixer");
	cr_expect_str_eq(r.makes.what, "fixer-acid-hardening");
	cr_expect_eq(r.makes.volume_ul, 1000000);
	cr_expect_not(r.makes.is_bath);
	cr_expect_eq(r.stages[4].aim_ns, 300000000000LL);
	cr_expect(r.stages[4].agitation.is_continuous);
	cr_expect_eq(r.paper_light, WET_LIGHT_WHITE);
	free(json);
}

Test(mixing, its_text_is_no_recipe_and_a_recipe_is_no_mix)
{
	static struct wet_recipe r;
	struct wet_mixing m = mixing_of("fixer-plain", 250000);
	size_t bytes, recipe_bytes;
	char *json = text_of(&m, &bytes), *recipe = test_file_text(TEST_CREEK_RECIPE, &recipe_bytes);
	cr_expect_neq(wet_recipe_decode(json, bytes, "x", &r, NULL), 0);
	cr_expect_neq(wet_mixing_decode(recipe, recipe_bytes, "x", &r, NULL), 0);
	free(json);
	free(recipe);
}

/* One text in it is put in place of another: the damaged one is refused at its place. */
Test(mixing, a_damaged_text_is_refused_at_its_place)
{
	static const struct {
		const char *from, *to, *where;
	} rows[] = {
		{ "\"volume_ul\":250000", "\"volume_ul\":0", "#/makes/volume_ul" },
		{ "\"volume_ul\":250000", "\"volume_ul\":\"250 mL\"", "#/makes/volume_ul" },
		{ "\"as\":\"bottle\"", "\"as\":\"bucket\"", "#/makes/as" },
		{ "\"aim_ms\":300000", "\"aim_ms\":30000000", "#/steps/4" },
		{ "\"aim_ms\":300000,", "", "#/steps/4" },
		{ "\"aim_ms\":300000", "\"aim_ms\":-1", "#/steps/4/aim_ms" },
		{ "\"do\":\"stir\"", "\"do\":\"handle\"", "#/steps/4" },
		{ "\"version\":1", "\"version\":0", "#/version" },
		{ "\"called\":\"creek fixer\"", "\"called\":\"\"", "#/makes/called" },
		{ "\"what\":\"fixer-plain\"", "\"who\":\"fixer-plain\"", "#/makes/who" },
	};
	static struct wet_recipe r;
	struct wet_mixing m = mixing_of("fixer-plain", 250000);
	size_t bytes;
	char *json = text_of(&m, &bytes);
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct wet_fault fault = { 0 };
		const char *at = strstr(json, rows[i].from);
		cr_assert_not_null(at, "%s", rows[i].from);
		char *bad = malloc(bytes + 64);
		wet_text_format(bad, bytes + 64, "%.*s%s%s", (int)(at - json), json, rows[i].to, at + strlen(rows[i].from));
		cr_expect_neq(wet_mixing_decode(bad, strlen(bad), "x", &r, &fault), 0, "%s", rows[i].to);
		const char *where = strchr(fault.where, '#');
		cr_expect_str_eq(where ? where : fault.where, rows[i].where, "%s: %s", rows[i].to, fault.where);
		free(bad);
	}
	for (size_t n = 0; n < bytes; n += 7)
		cr_expect_neq(wet_mixing_decode(json, n, "x", &r, NULL), 0, "cut after %zu bytes", n);
	free(json);
}

Test(mixing, a_formula_of_too_long_a_name_is_told)
{
	struct wet_mixing m = mixing_of("fixer-plain", 250000);
	static struct wet_formula f;
	char *json = NULL;
	size_t bytes = 0;
	struct wet_fault fault = { 0 };
	f = *m.formula;
	memset(f.name, 'a', 61);
	m.formula = &f;
	cr_expect_eq(wet_mixing_text(&m, &json, &bytes, &fault), WET_ERR_TOO_LONG);
	cr_expect_null(json);
	cr_expect(strstr(fault.want, "59 letters") != NULL, "%s", fault.want);
}
