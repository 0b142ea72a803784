/* clients.c: connections: bytes in, requests out, replies and news back, each within its budget. */
#include "host/clock.h"
#include "host/inside.h"
#include "host/listen.h"

#include <stdlib.h>
#include <string.h>

#define OWED_NS 1000000000LL /* so soon it is tried again to accept where there was no memory for it */

static struct client *find(struct wet_host *host, uint64_t id)
{
	for (struct client *c = host->clients; c; c = c->next)
		if (c->id == id && !c->is_closing)
			return c;
	return NULL;
}

struct wet_rpc *wet_host_find_client(void *ctx, uint64_t client_id)
{
	struct client *c = find(ctx, client_id);
	return c ? c->rpc : NULL;
}

void wet_host_follow(void *ctx, uint64_t client_id)
{
	struct client *c = find(ctx, client_id);
	if (c)
		c->is_following = true;
}

static void close_cb(uv_handle_t *handle)
{
	struct client *c = handle->data;
	struct wet_host *host = c->host;
	for (struct client **p = &host->clients; *p; p = &(*p)->next) {
		if (*p == c) {
			*p = c->next;
			break;
		}
	}
	host->client_count--;
	wet_rpc_free(c->rpc);
	free(c);
}

static void begin_close(struct client *c)
{
	if (c->is_closing)
		return;
	c->is_closing = true;
	uv_close((uv_handle_t *)&c->pipe, close_cb);
}

static void alloc_cb(uv_handle_t *handle, size_t wanted, uv_buf_t *buf)
{
	static char shared[16 * 1024]; /* one read at a time on one thread */
	(void)handle;
	(void)wanted;
	*buf = uv_buf_init(shared, sizeof shared);
}

static void read_cb(uv_stream_t *stream, ssize_t n, const uv_buf_t *buf)
{
	struct client *c = stream->data;
	if (n < 0) {
		/* A half-closed peer may still wait for its answers. */
		if (n == UV_EOF)
			c->ends_after_output = true;
		else
			begin_close(c);
		uv_read_stop(stream);
		c->is_reading = false;
		return;
	}
	if (wet_rpc_feed(c->rpc, buf->base, (size_t)n) != 0) {
		uv_read_stop(stream);
		c->is_reading = false;
		c->ends_after_output = true;
	}
}

static void request(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, const char *method, json_t *params)
{
	struct wet_host *host = ctx;
	struct client *c = wet_rpc_owner(rpc);
	host->options.serve(host->options.ctx, rpc, ticket, c->id, c->uid, method, params);
}

static int64_t rpc_now(void *ctx)
{
	(void)ctx;
	return wet_clock_boot_ns();
}

static void refuse_cb(uv_handle_t *handle)
{
	free(handle);
}

static void refuse(struct wet_host *host, uv_stream_t *server)
{
	uv_pipe_t *pipe = malloc(sizeof *pipe);
	/* What isn't accepted stands in the way of all that come later: libuv asks for no other before. */
	host->is_accept_owed = !pipe;
	if (!pipe)
		return;
	uv_pipe_init(&host->loop, pipe, 0);
	(void)uv_accept(server, (uv_stream_t *)pipe);
	uv_close((uv_handle_t *)pipe, refuse_cb);
}

void clients_accept(uv_stream_t *server, int status)
{
	struct wet_host *host = server->data;
	host->is_accept_owed = false;
	if (status < 0)
		return;
	if (host->client_count >= WET_CLIENTS) {
		refuse(host, server);
		return;
	}
	struct client *c = calloc(1, sizeof *c);
	struct wet_rpc_dispatch dispatch = { .request = request, .now_ns = rpc_now, .ctx = host };
	if (!c || wet_rpc_new(&c->rpc, &dispatch, c) != 0) {
		free(c);
		refuse(host, server);
		return;
	}
	c->host = host;
	c->id = ++host->next_client_id;
	uv_pipe_init(&host->loop, &c->pipe, 0);
	c->pipe.data = c;
	c->next = host->clients;
	host->clients = c;
	host->client_count++;
	uv_os_fd_t fd;
	uid_t uid;
	gid_t gid;
	pid_t pid;
	if (uv_accept(server, (uv_stream_t *)&c->pipe) != 0 || uv_fileno((uv_handle_t *)&c->pipe, &fd) != 0 ||
		wet_listen_peer(fd, &uid, &gid, &pid) != 0) {
		begin_close(c);
		return;
	}
	c->uid = uid;
	c->is_reading = uv_read_start((uv_stream_t *)&c->pipe, alloc_cb, read_cb) == 0;
	if (!c->is_reading)
		begin_close(c);
}

/* A client that asks faster than it is served, or doesn't read its answers, waits in the kernel's buffer. */
static void settle_reading(struct client *c)
{
	bool wants = wet_rpc_wants_input(c->rpc) && !c->ends_after_output;
	if (wants == c->is_reading)
		return;
	if (wants)
		c->is_reading = uv_read_start((uv_stream_t *)&c->pipe, alloc_cb, read_cb) == 0;
	else
		c->is_reading = uv_read_stop((uv_stream_t *)&c->pipe) != 0;
}

/* Newest state to a follower: what changed since it was last told, oldest change first, while it keeps up. */
static void tell(struct client *c)
{
	struct wet_host *host = c->host;
	struct wet_live *first = NULL;
	if (c->sent_seq >= wet_darkroom_change_seq(host->darkroom))
		return;
	for (struct wet_live *l = wet_darkroom_newest(host->darkroom); l && l->change_seq > c->sent_seq;
		 l = l->older)
		first = l;
	for (struct wet_live *l = first; l && wet_rpc_wants_more(c->rpc); l = l->newer) {
		json_t *snapshot = host->options.snapshot(host->darkroom, l);
		if (!snapshot || wet_rpc_notify(c->rpc, "run.changed", snapshot) != 0)
			return; /* no memory now: told with the next change */
		c->sent_seq = l->change_seq;
	}
}

static void write_cb(uv_write_t *write, int status)
{
	struct client *c = write->data;
	c->is_writing = false;
	if (status < 0)
		begin_close(c);
}

/* At most one turn's bytes; what the kernel doesn't take at once waits in the client's own buffer. */
static void flush(struct client *c)
{
	const char *bytes;
	size_t n = wet_rpc_pending(c->rpc, &bytes);
	if (n == 0 || c->is_writing)
		return;
	if (n > sizeof c->out)
		n = sizeof c->out;
	memcpy(c->out, bytes, n);
	uv_buf_t buf = uv_buf_init(c->out, (unsigned)n);
	c->write.data = c;
	if (uv_write(&c->write, (uv_stream_t *)&c->pipe, &buf, 1, write_cb) != 0) {
		begin_close(c);
		return;
	}
	c->is_writing = true;
	wet_rpc_sent(c->rpc, n);
}

/* Between two requests the clock is compared with the next deadline. */
static void between(void *ctx)
{
	struct wet_host *host = ctx;
	if (wet_darkroom_wake_ns(host->darkroom) <= wet_clock_boot_ns())
		(void)wet_darkroom_turn(host->darkroom);
}

bool clients_turn(struct wet_host *host)
{
	bool is_left = false;
	int64_t now_ns = wet_clock_boot_ns();
	if (host->is_accept_owed)
		clients_accept((uv_stream_t *)&host->server, 0);
	for (struct client *c = host->clients, *next; c; c = next) {
		next = c->next;
		if (c->is_closing)
			continue;
		if (wet_rpc_has_work(c->rpc))
			is_left = wet_rpc_serve(c->rpc, between, host) || is_left;
		if (c->is_following)
			tell(c);
		flush(c);
		settle_reading(c);
		const char *bytes;
		if (!wet_rpc_is_fit(c->rpc, now_ns, c->is_writing ? sizeof c->out : 0))
			begin_close(c);
		else if (c->ends_after_output && !wet_rpc_has_work(c->rpc) && !c->is_writing &&
				 wet_rpc_pending(c->rpc, &bytes) == 0)
			begin_close(c);
		else if (!c->is_writing && wet_rpc_pending(c->rpc, &bytes) > 0)
			is_left = true;
	}
	return is_left;
}

int64_t clients_deadline(const struct wet_host *host)
{
	int64_t at = host->is_accept_owed ? wet_clock_boot_ns() + OWED_NS : INT64_MAX;
	for (const struct client *c = host->clients; c; c = c->next) {
		int64_t d = c->is_closing ? INT64_MAX : wet_rpc_deadline_ns(c->rpc);
		if (d < at)
			at = d;
	}
	return at;
}

void clients_close_all(struct wet_host *host)
{
	for (struct client *c = host->clients; c; c = c->next) {
		flush(c);
		begin_close(c);
	}
}
