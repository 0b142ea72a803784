/* hazard_label.c: what of a mixture's classes is printed, with which pictograms, and why it is of a class.
 *
 * Precedence: UN GHS Rev.7, 1.4.10.5.3, and CLP, Articles 26 and 27 (from memory): the skull stands for the
 * exclamation mark; corrosion for the exclamation mark of irritated skin or eyes; the health hazard of an allergy of the
 * airways for the exclamation mark of an allergy or irritation; "Danger" for "Warning"; burns for damaged eyes; the
 * long-lasting harm to water of category 1 for the acute one. */
#include "chemistry/hazard_inside.h"

#include "base/text.h"

#define PICTOGRAM_BIT(n) (1u << (n))
#define CORROSION 5
#define SKULL 6
#define EXCLAMATION 7

static const struct wet_mixture_class *class_at(const struct wet_classification *c, int endpoint)
{
	for (int i = 0; i < c->class_count; i++) {
		if (wet_hazard_fact(c->classes[i].kind)->endpoint == endpoint)
			return &c->classes[i];
	}
	return NULL;
}

void make_label(struct wet_classification *c)
{
	const struct wet_mixture_class *skin = class_at(c, WET_ENDPOINT_SKIN),
								   *eye = class_at(c, WET_ENDPOINT_EYE),
								   *water = class_at(c, WET_ENDPOINT_WATER_LONG);
	bool burns = skin != NULL && skin->kind <= WET_HAZARD_SKIN_CORR_1;
	bool corrodes = burns || (eye != NULL && eye->kind == WET_HAZARD_EYE_DAM_1);
	bool is_airway_allergy = class_at(c, WET_ENDPOINT_AIRWAY_ALLERGY) != NULL;
	unsigned pictograms = 0;
	for (int i = 0; i < c->class_count; i++) {
		struct wet_mixture_class *one = &c->classes[i];
		const struct wet_hazard_fact *fact = wet_hazard_fact(one->kind);
		bool irritates = one->kind == WET_HAZARD_SKIN_IRRIT_2 || one->kind == WET_HAZARD_EYE_IRRIT_2;
		bool is_said = fact->pictogram == EXCLAMATION &&
					   ((irritates && (corrodes || is_airway_allergy)) ||
						(fact->endpoint == WET_ENDPOINT_SKIN_ALLERGY && is_airway_allergy));
		one->is_on_label = !(fact->endpoint == WET_ENDPOINT_EYE && burns) &&
						   !(fact->endpoint == WET_ENDPOINT_WATER_AT_ONCE && water != NULL &&
							 water->kind == WET_HAZARD_AQUATIC_CHRONIC_1);
		if (fact->pictogram != 0 && !is_said)
			pictograms |= PICTOGRAM_BIT(fact->pictogram);
		if (fact->signal > c->signal)
			c->signal = fact->signal;
	}
	if (pictograms & PICTOGRAM_BIT(SKULL))
		pictograms &= ~PICTOGRAM_BIT(EXCLAMATION);
	c->pictograms = (uint16_t)pictograms;
}

/* "1.2 %": parts per million as percent, without needless zeros. */
static void append_percent(char *buf, unsigned buf_bytes, int64_t ppm)
{
	int places = 4;
	int64_t rest = ppm % 10000;
	while (places > 0 && rest % 10 == 0) {
		rest /= 10;
		places--;
	}
	wet_text_append(buf, buf_bytes, "%lld", (long long)(ppm / 10000));
	if (places > 0)
		wet_text_append(buf, buf_bytes, ".%0*lld", places, (long long)rest);
	wet_text_append(buf, buf_bytes, " %%");
}

char *wet_mixture_class_why(const struct wet_mixture *mixture, const struct wet_mixture_class *class_of_it,
							char *buf, unsigned buf_bytes)
{
#define WORDS(name, words) words,
	static const char *const rule_words[] = { WET_HAZARD_RULES(WORDS) };
#undef WORDS
	const struct wet_mixture_class *c = class_of_it;
	wet_text_format(buf, buf_bytes, "%s: ", wet_hazard_fact(c->kind)->title);
	if (c->component >= 0) {
		int64_t share = 0;
		const struct wet_hazards *s = mixture->components[c->component].substance;
		for (int i = 0; i < mixture->component_count; i++) {
			if (mixture->components[i].substance == s)
				share += mixture->components[i].share_ppm;
		}
		wet_text_append(buf, buf_bytes, "%s, ", s->name);
		append_percent(buf, buf_bytes, share);
		wet_text_append(buf, buf_bytes,
						"%s: ", (c->components & (c->components - 1)) != 0 ? " with others" : "");
	}
	wet_text_append(buf, buf_bytes, "%s", rule_words[c->rule]);
	if (c->limit_ppm > 0) {
		wet_text_append(buf, buf_bytes, ", ");
		append_percent(buf, buf_bytes, c->limit_ppm);
	}
	return buf;
}
