/* frame.h: lines in, bytes out, and the rules for clients that send or read badly. Private to this room.
 *
 * Input: whole lines wait in one buffer until they are taken; the tail is a line begun. Output: one buffer.
 * Both are bounded, grow on demand and shrink when empty, so that an idle client costs about a kilobyte. */
#ifndef WET_WIRE_FRAME_H
#define WET_WIRE_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WET_FRAME_NEVER INT64_MAX

struct wet_frame {
	char *in;
	size_t in_cap, in_n; /* bytes held */
	size_t in_at;        /* first byte of the first whole line */
	size_t tail_at;      /* first byte of the line begun */
	size_t line_n;       /* whole lines between the two */
	char *out;
	size_t out_cap, out_n, out_at; /* waiting: out_at..out_n */
	size_t also_waiting;           /* output the transport held when we were last told */
	int64_t line_since_ns;         /* when the line begun was begun, or could go on */
	int64_t soft_since_ns;         /* when the output crossed the soft limit */
	int64_t closing_since_ns;      /* when the input was given up */
	bool is_dead;                  /* close at once: an answer owed is lost, or the hard limit crossed */
};

/* Output keeps this much at all times, so that a short answer needs no memory. */
#define WET_FRAME_OUT_BYTES 1024

int wet_frame_init(struct wet_frame *f);
void wet_frame_release(struct wet_frame *f);

/* Takes bytes. WET_ERR_TOO_LONG (a line), WET_ERR_TOO_MANY (unserved bytes), WET_ERR_NOMEM: the input is
 * given up from here on; lines already whole stay. Blank lines vanish here. */
int wet_frame_feed(struct wet_frame *f, const char *bytes, size_t n, int64_t now_ns);
/* The next whole line without its end; false if there is none. Valid until wet_frame_drop_line or feed. */
bool wet_frame_line(const struct wet_frame *f, const char **ret_line, size_t *ret_n);
void wet_frame_drop_line(struct wet_frame *f);
bool wet_frame_has_tail(const struct wet_frame *f);

/* Room for n more bytes of output, to be filled at once; NULL: the frame is dead. */
char *wet_frame_put(struct wet_frame *f, size_t n, int64_t now_ns);
size_t wet_frame_waiting(const struct wet_frame *f);
void wet_frame_sent(struct wet_frame *f, size_t n);

#endif
