/* verbs_meter.c: from readings to the seconds that are counted. */
#include "client/client.h"

int verb_meter(struct session *s, int argc, char **argv)
{
	static const struct option_row rows[] = {
		/* clang-format off */
		{ "reading", "reading", TEXT },         { "bright", "bright", TEXT },       { "shaded", "shaded", TEXT },
		{ "meter-index", "meter_index", TEXT }, { "K", "k", TEXT },                 { "C", "c", TEXT },
		{ "camera", "camera", TEXT },
		{ "aperture", "aperture", TEXT },       { "pinhole", "pinhole", TEXT },     { "distance", "distance", TEXT },
		{ "best", "best", TEXT },               { "wavelength", "wavelength", TEXT },
		{ "paper-index", "paper_index", TEXT }, { "direct-positive", "direct_positive", FLAG },
		{ "negative", "negative", FLAG },       { "place", "place", TEXT },         { "holds", "holds", TEXT },
		{ "more", "more", TEXT },               { "less", "less", TEXT },           { "filter", "filters", LIST },
		{ "magnification", "magnification", TEXT }, { "bellows", "bellows", TEXT }, { "focal", "focal", TEXT },
		{ "reciprocity", "reciprocity", TEXT }, { "bracket", "bracket", TEXT },     { "count", "count", NUMBER },
		{ "flash", "flash", TEXT },             { "flash-test", "flash_test", TEXT },
		{ NULL, NULL, TEXT }
		/* clang-format on */
	};
	json_t *params = json_object(), *result = NULL;
	int rc = read_args(s, argc, argv, rows, NULL, params);
	if (rc == DONE && argc < 2)
		rc = fail(s, USAGE, "meter: a reading is missing, as in --reading \"1/60 at f/8 index 100\"; try: wetside meter --help");
	if (rc != DONE) {
		json_decref(params);
		return rc;
	}
	rc = ask(s, "meter.compute", params, &result);
	if (rc == DONE && s->is_json)
		say_json(result);
	else if (rc == DONE)
		say(text_of(result, "text"));
	json_decref(result);
	return rc;
}
