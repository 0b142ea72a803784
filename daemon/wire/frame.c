#include "wire/frame.h"

#include "wire/memory.h"
#include "wire/rpc.h"

#include <string.h>

#define KEEP_BYTES 4096 /* an empty buffer larger than this is given back */

int wet_frame_init(struct wet_frame *f)
{
	*f = (struct wet_frame){
		.line_since_ns = WET_FRAME_NEVER,
		.soft_since_ns = WET_FRAME_NEVER,
		.closing_since_ns = WET_FRAME_NEVER,
	};
	f->out = wet_wire_malloc(WET_FRAME_OUT_BYTES);
	if (!f->out)
		return WET_ERR_NOMEM;
	f->out_cap = WET_FRAME_OUT_BYTES;
	return 0;
}

void wet_frame_release(struct wet_frame *f)
{
	wet_wire_free(f->in);
	wet_wire_free(f->out);
	f->in = f->out = NULL;
}

/* -- input ---------------------------------------------------------------- */

/* Moves what is held to the front of its buffer and makes room for n more bytes. */
static int reserve_in(struct wet_frame *f, size_t n)
{
	size_t cap = f->in_cap > 0 ? f->in_cap : 512;
	char *grown;

	if (f->in_at > 0) {
		memmove(f->in, f->in + f->in_at, f->in_n - f->in_at);
		f->in_n -= f->in_at;
		f->tail_at -= f->in_at;
		f->in_at = 0;
	}
	if (f->in_n + n <= f->in_cap)
		return 0;
	while (cap < f->in_n + n)
		cap *= 2;
	grown = wet_wire_resize(f->in, f->in_n, cap);
	if (!grown)
		return WET_ERR_NOMEM;
	f->in = grown;
	f->in_cap = cap;
	return 0;
}

static void shrink_in(struct wet_frame *f)
{
	if (f->in_at < f->in_n)
		return;
	f->in_at = f->in_n = f->tail_at = 0;
	if (f->in_cap > KEEP_BYTES) {
		wet_wire_free(f->in);
		f->in = NULL;
		f->in_cap = 0;
	}
}

static bool is_blank(const char *bytes, size_t n)
{
	for (size_t i = 0; i < n; i++)
		if (bytes[i] != ' ' && bytes[i] != '\t' && bytes[i] != '\r')
			return false;
	return true;
}

static int give_up(struct wet_frame *f, int err, int64_t now_ns)
{
	f->in_n = f->tail_at;
	f->line_since_ns = WET_FRAME_NEVER;
	f->closing_since_ns = now_ns;
	shrink_in(f);
	return err;
}

/* The line at the tail is whole, its end at the end of what is held. */
static void finish_line(struct wet_frame *f)
{
	if (is_blank(f->in + f->tail_at, f->in_n - 1 - f->tail_at)) {
		f->in_n = f->tail_at;
	} else {
		f->line_n++;
		f->tail_at = f->in_n;
	}
	f->line_since_ns = WET_FRAME_NEVER;
}

int wet_frame_feed(struct wet_frame *f, const char *bytes, size_t n, int64_t now_ns)
{
	while (n > 0) {
		const char *end = memchr(bytes, '\n', n);
		size_t piece = end ? (size_t)(end - bytes) + 1 : n;
		size_t line = f->in_n - f->tail_at + piece - (end ? 1 : 0);
		bool has_return = end ? (piece > 1 ? end[-1] == '\r' : line > 0 && f->in[f->in_n - 1] == '\r')
							  : bytes[n - 1] == '\r';

		if (line > WET_REQUEST_BYTES + (has_return ? 1u : 0u))
			return give_up(f, WET_ERR_TOO_LONG, now_ns);
		if (f->in_n - f->in_at + piece > WET_RPC_IN_BYTES)
			return give_up(f, WET_ERR_TOO_MANY, now_ns);
		if (reserve_in(f, piece) != 0)
			return give_up(f, WET_ERR_NOMEM, now_ns);
		if (f->in_n == f->tail_at)
			f->line_since_ns = now_ns;
		memcpy(f->in + f->in_n, bytes, piece);
		f->in_n += piece;
		if (end)
			finish_line(f);
		bytes += piece;
		n -= piece;
	}
	shrink_in(f);
	return 0;
}

bool wet_frame_line(const struct wet_frame *f, const char **ret_line, size_t *ret_n)
{
	const char *line = f->in + f->in_at, *end;

	if (f->line_n == 0)
		return false;
	end = memchr(line, '\n', f->tail_at - f->in_at);
	*ret_n = (size_t)(end - line);
	if (*ret_n > 0 && end[-1] == '\r')
		(*ret_n)--;
	*ret_line = line;
	return true;
}

void wet_frame_drop_line(struct wet_frame *f)
{
	const char *end;

	if (f->line_n == 0)
		return;
	end = memchr(f->in + f->in_at, '\n', f->tail_at - f->in_at);
	f->in_at = (size_t)(end - f->in) + 1;
	f->line_n--;
	shrink_in(f);
}

bool wet_frame_has_tail(const struct wet_frame *f)
{
	return f->in_n > f->tail_at;
}

/* -- output --------------------------------------------------------------- */

size_t wet_frame_waiting(const struct wet_frame *f)
{
	return f->out_n - f->out_at;
}

char *wet_frame_put(struct wet_frame *f, size_t n, int64_t now_ns)
{
	size_t waiting = wet_frame_waiting(f), cap = f->out_cap;

	if (f->is_dead)
		return NULL;
	if (waiting + n > WET_OUT_HARD_BYTES) {
		f->is_dead = true;
		return NULL;
	}
	if (f->out_n + n > f->out_cap && f->out_at > 0) {
		memmove(f->out, f->out + f->out_at, waiting);
		f->out_at = 0;
		f->out_n = waiting;
	}
	if (f->out_n + n > f->out_cap) {
		char *grown;

		while (cap < f->out_n + n)
			cap *= 2;
		grown = wet_wire_resize(f->out, f->out_n, cap);
		if (!grown) {
			f->is_dead = true;
			return NULL;
		}
		f->out = grown;
		f->out_cap = cap;
	}
	f->out_n += n;
	if (f->soft_since_ns == WET_FRAME_NEVER && wet_frame_waiting(f) > WET_OUT_SOFT_BYTES)
		f->soft_since_ns = now_ns;
	return f->out + f->out_n - n;
}

/* An empty buffer goes back to its least size; if that fails, the large one serves as well. */
static void shrink_out(struct wet_frame *f)
{
	char *small;

	f->out_at = f->out_n = 0;
	if (f->out_cap <= KEEP_BYTES)
		return;
	small = wet_wire_resize(f->out, 0, WET_FRAME_OUT_BYTES);
	if (small) {
		f->out = small;
		f->out_cap = WET_FRAME_OUT_BYTES;
	}
}

void wet_frame_sent(struct wet_frame *f, size_t n)
{
	size_t waiting = wet_frame_waiting(f);

	f->out_at += n < waiting ? n : waiting;
	/* Bytes handed to a transport that holds some are not read yet: then only the next look at the sum can
	 * tell. */
	if (f->also_waiting == 0 && wet_frame_waiting(f) <= WET_OUT_SOFT_BYTES)
		f->soft_since_ns = WET_FRAME_NEVER;
	if (f->out_at == f->out_n)
		shrink_out(f);
}
