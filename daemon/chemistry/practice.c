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
		const struct wet_practice_rule *rule = &p->rules[i];
		if (!rule->checklist[0] && (rule->asked != 0 || rule->is_each_load))
			return wet_fault_set(reterr, WET_ERR_INVALID, wet_text_format(where, sizeof where, "/rules/%d/asked", i), NULL,
								 "a checklist's line; without one nothing is asked");
		for (int j = 0; j < i; j++) {
			if (strcmp(p->rules[j].key, p->rules[i].key) == 0)
				return wet_fault_set(reterr, WET_ERR_EXISTS,
									 wet_text_format(where, sizeof where, "/rules/%d/key", i), p->rules[i].key,
									 "a key that no rule before it has");
		}
	}
	return WET_OK;
}

int wet_practice_asked(const struct wet_practice *p, int *ret_rules)
{
	int count = 0;
	for (int i = 0; i < p->count; i++) {
		if (!p->rules[i].checklist[0])
			continue;
		int at = count++;
		for (; at > 0 && p->rules[ret_rules[at - 1]].asked > p->rules[i].asked; at--)
			ret_rules[at] = ret_rules[at - 1];
		ret_rules[at] = i;
	}
	return count;
}

bool wet_practice_applies(const struct wet_practice_rule *rule, enum wet_vessel_kind vessel, uint64_t classes)
{
	return (rule->vessels == 0 || (rule->vessels & 1u << vessel)) && (rule->holds == 0 || (rule->holds & classes));
}
