/* contact.h: what came of a switch's contact, purely. Contacts bounce: what comes within WET_BOUNCE_NS of the last edge is part
 * of it and nothing of its own, so that three bounces are no held press. A person taps no faster than WET_CHATTER_PRESSES in
 * WET_CHATTER_NS: what does is broken, and deaf until it has been quiet for that long. Inside the host room. */
#ifndef WET_CONTACT_H
#define WET_CONTACT_H

#include <stdbool.h>
#include <stdint.h>

#define WET_BOUNCE_NS 40000000LL /* common practice, no source: contacts settle in under 10 ms, a foot needs over 80 */
#define WET_CHATTER_PRESSES 12   /* common practice, no source: a foot taps five or six times a second at most */
#define WET_CHATTER_NS 2000000000LL

/* Zero it to begin. Times are boot time, rising. */
struct contact {
	int64_t edge_ns;                       /* the last edge; 0: none yet */
	int64_t press_ns[WET_CHATTER_PRESSES]; /* the last presses, a ring */
	unsigned press_head;
	bool is_chattering;
};
enum contact_verdict { CONTACT_NOTHING, CONTACT_PRESS, CONTACT_CHATTER /* it begins: told once */ };
enum contact_verdict contact_edge(struct contact *contact, bool is_down, int64_t now_ns);

#endif
