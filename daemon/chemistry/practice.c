/* practice.c: which rules of practice a recipe is in for. */
#include "wetside/practice.h"

#include "base/text.h"

#include <string.h>

const char *wet_practice_heading(int topic)
{
#define HEADING(name, word, heading) heading,
	static const char *const headings[] = { WET_PRACTICE_TOPICS(HEADING) };
#undef HEADING
	return topic >= 0 && topic < WET_TOPIC_N ? headings[topic] : "";
}

int wet_practice_check(const struct wet_practice *p, struct wet_fault *reterr)
{
	char where[32];
	for (int i = 0; i < p->count; i++) {
		for (int j = 0; j < i; j++) {
			if (strcmp(p->rules[j].key, p->rules[i].key) == 0)
				return wet_fault_set(reterr, WET_ERR_EXISTS,
									 wet_text_format(where, sizeof where, "/rules/%d/key", i), p->rules[i].key,
									 "a key that no rule before it has");
		}
	}
	return WET_OK;
}

bool wet_practice_applies(const struct wet_practice_rule *rule, enum wet_vessel_kind vessel, uint64_t classes)
{
	return (rule->vessels == 0 || (rule->vessels & 1u << vessel)) && (rule->holds == 0 || (rule->holds & classes));
}
