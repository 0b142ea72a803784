/* contact.c: presses out of edges. */
#include "host/contact.h"

enum contact_verdict contact_edge(struct contact *c, bool is_down, int64_t now_ns)
{
	bool is_bounce = c->edge_ns != 0 && now_ns - c->edge_ns < WET_BOUNCE_NS;
	c->edge_ns = now_ns;
	if (!is_down || is_bounce)
		return CONTACT_NOTHING;
	int64_t *slot = &c->press_ns[c->press_head % WET_CHATTER_PRESSES]; /* the oldest */
	int64_t last_ns = c->press_ns[(c->press_head + WET_CHATTER_PRESSES - 1) % WET_CHATTER_PRESSES];
	bool is_too_fast = *slot != 0 && now_ns - *slot < WET_CHATTER_NS;
	c->press_head++;
	*slot = now_ns;
	if (c->is_chattering && now_ns - last_ns < WET_CHATTER_NS)
		return CONTACT_NOTHING; /* not quiet yet */
	c->is_chattering = is_too_fast;
	return is_too_fast ? CONTACT_CHATTER : CONTACT_PRESS;
}
