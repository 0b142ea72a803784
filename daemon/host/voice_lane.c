/* voice_lane.c: one sentence made: looked for in the folder; else spoken by a child; its samples made ready and kept. */
#include "host/voice_inside.h"
#include "speech/child.h"
#include "speech/clip.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define OUTPUT_FIRST (256 << 10)

static void run_child(struct lane *l);

static void lane_over(struct lane *l, const char *why, bool is_final)
{
	struct voice *v = l->voice;
	struct words *w = l->words;
	l->words = NULL;
	if (l->sample)
		words_ready(v, w, l->sample, l->samples);
	else
		w->state = WORDS_FAILED;
	free(l->sample);
	free(l->output);
	l->sample = NULL;
	l->output = NULL;
	if (why || l->status >= 0)
		voice_judge(v, is_final, why);
	lanes_turn(v);
}

/* -- on a thread ------------------------------------------------------------- */

static void look_work(uv_work_t *work)
{
	struct lane *l = work->data;
	l->rc = wet_keep_get(l->folder, l->key, &l->sample, &l->samples);
}

static void make_work(uv_work_t *work)
{
	struct lane *l = work->data;
	l->keep_rc = WET_OK;
	l->rc = wet_clip_make(l->output, l->output_bytes, &l->sample, &l->samples);
	if (l->rc != 0 || !l->folder)
		return;
	l->keep_rc = wet_keep_put(l->folder, l->key, l->sample, l->samples);
	if (l->keep_rc == WET_ERR_FULL) { /* ours may be what fills it */
		wet_keep_trim(l->folder, WET_KEEP_BYTES_MAX / 2);
		l->keep_rc = wet_keep_put(l->folder, l->key, l->sample, l->samples);
	}
}

/* -- and back on the loop ---------------------------------------------------------- */

static void make_done(uv_work_t *work, int status)
{
	struct lane *l = work->data;
	struct voice *v = l->voice;
	(void)status;
	if (v->is_closing)
		return;
	if (l->keep_rc != 0 && !v->is_keep_bad) {
		char line[WET_LINE_BYTES];
		snprintf(line, sizeof line, "spoken sentences are not kept for the next time: %s: %s", l->folder, wet_err_text(l->keep_rc));
		v->is_keep_bad = true;
		if (v->host->options.log)
			v->host->options.log(line);
	}
	lane_over(l, l->sample ? NULL : "it writes no sound that can be played", false);
}

static void look_done(uv_work_t *work, int status)
{
	struct lane *l = work->data;
	(void)status;
	if (l->voice->is_closing)
		return;
	if (l->sample)
		lane_over(l, NULL, false);
	else
		run_child(l);
}

/* -- the child ----------------------------------------------------------------------- */

static void kill_child(struct lane *l)
{
	if (l->pid > 0 && (!l->has_exited || !l->has_ended))
		(void)kill(-l->pid, SIGKILL); /* it leads a group of its own: what it started goes too */
	l->was_killed = true;
}

static void child_over(struct lane *l)
{
	char why[96];
	l->is_running = false;
	if (l->voice->is_closing)
		return;
	if (l->status == WET_CHILD_MISSING) {
		lane_over(l, "it is not there", true);
	} else if (l->was_too_long) {
		lane_over(l, "it writes no end", false);
	} else if (l->was_killed) {
		snprintf(why, sizeof why, "a sentence takes it over %d.%d s", WET_VOICE_LIMIT_MS / 1000, WET_VOICE_LIMIT_MS / 100 % 10);
		lane_over(l, why, false);
	} else if (l->status != 0 || l->signal != 0) {
		snprintf(why, sizeof why, l->signal ? "it ended by signal %d" : "it ended with status %d",
				 l->signal ? l->signal : (int)l->status);
		lane_over(l, why, false);
	} else if (uv_queue_work(&l->voice->host->loop, &l->work, make_work, make_done) != 0) {
		lane_over(l, "more memory is needed", false);
	}
}

static void closed_cb(uv_handle_t *handle)
{
	struct lane *l = handle->data;
	if (--l->open_handles == 0 && !l->voice->is_closing)
		child_over(l);
}

static void close_handle(uv_handle_t *handle)
{
	if (!uv_is_closing(handle))
		uv_close(handle, closed_cb);
}

/* It has exited, and nothing more can come; or time is over. */
static void settle_child(struct lane *l)
{
	if (!l->has_exited || (!l->has_ended && !l->was_killed))
		return;
	close_handle((uv_handle_t *)&l->process);
	close_handle((uv_handle_t *)&l->in);
	close_handle((uv_handle_t *)&l->out);
	close_handle((uv_handle_t *)&l->timer);
}

static void exit_cb(uv_process_t *process, int64_t status, int signal)
{
	struct lane *l = process->data;
	l->has_exited = true;
	l->status = status;
	l->signal = signal;
	settle_child(l);
}

static void timer_cb(uv_timer_t *timer)
{
	struct lane *l = timer->data;
	kill_child(l);
	settle_child(l);
}

static void alloc_cb(uv_handle_t *handle, size_t suggested, uv_buf_t *buf)
{
	struct lane *l = handle->data;
	(void)suggested;
	if (l->output_bytes == l->output_room && l->output_room < WET_VOICE_OUTPUT_BYTES) {
		size_t room = l->output_room ? l->output_room * 2 : OUTPUT_FIRST;
		char *more = realloc(l->output, room);
		if (more) {
			l->output = more;
			l->output_room = room;
		}
	}
	buf->base = l->output ? l->output + l->output_bytes : NULL;
	buf->len = l->output_room - l->output_bytes; /* 0: libuv says UV_ENOBUFS */
}

static void read_cb(uv_stream_t *stream, ssize_t got, const uv_buf_t *buf)
{
	struct lane *l = stream->data;
	(void)buf;
	if (got > 0) {
		l->output_bytes += (size_t)got;
	} else if (got < 0) {
		l->has_ended = true;
		(void)uv_read_stop(stream);
		l->was_too_long = got == UV_ENOBUFS;
		if (l->was_too_long)
			kill_child(l);
		settle_child(l);
	}
}

static void write_cb(uv_write_t *write, int status)
{
	struct lane *l = write->data;
	(void)status; /* one that doesn't read is judged by what it writes */
	if (!l->voice->is_closing)
		close_handle((uv_handle_t *)&l->in);
}

static void open_handles(struct lane *l)
{
	uv_loop_t *loop = &l->voice->host->loop;
	(void)uv_pipe_init(loop, &l->in, 0);
	(void)uv_pipe_init(loop, &l->out, 0);
	(void)uv_timer_init(loop, &l->timer);
	l->process.data = l->in.data = l->out.data = l->timer.data = l->write.data = l;
	l->open_handles = 4;
	l->is_running = true;
	l->pid = 0;
	l->status = l->signal = 0;
	l->output_bytes = l->output_room = 0;
	l->has_exited = l->has_ended = l->was_killed = l->was_too_long = false;
}

/* The text goes through a pipe: no shell sees it, and it can't be an option. */
static void run_child(struct lane *l)
{
	const struct wet_host_options *o = &l->voice->host->options;
	char parent[16], rate[16];
	snprintf(parent, sizeof parent, "%d", (int)getpid());
	snprintf(rate, sizeof rate, "%d", o->voice_rate_wpm);
	char *args[] = { (char *)"wetsided", (char *)WET_CHILD_WORD, parent,       (char *)o->voice_program,
					 (char *)"--stdin",  (char *)"--stdout",     (char *)"-z", (char *)"-b",
					 (char *)"1",        (char *)"-s",           rate,         (char *)"-v",
					 (char *)o->voice,   NULL };
	uv_stdio_container_t stdio[3] = {
		{ .flags = UV_CREATE_PIPE | UV_READABLE_PIPE, .data.stream = (uv_stream_t *)&l->in },
		{ .flags = UV_CREATE_PIPE | UV_WRITABLE_PIPE, .data.stream = (uv_stream_t *)&l->out },
		{ .flags = UV_IGNORE },
	};
	uv_process_options_t options = { .file = "/proc/self/exe",
									 .args = args,
									 .exit_cb = exit_cb,
									 .stdio = stdio,
									 .stdio_count = 3,
									 .flags = UV_PROCESS_DETACHED };
	open_handles(l);
	int rc = uv_spawn(&l->voice->host->loop, &l->process, &options);
	if (rc != 0) {
		l->has_exited = l->has_ended = true;
		l->status = 1;
		settle_child(l);
		return;
	}
	l->pid = uv_process_get_pid(&l->process);
	(void)uv_timer_start(&l->timer, timer_cb, WET_VOICE_LIMIT_MS, 0);
	(void)uv_read_start((uv_stream_t *)&l->out, alloc_cb, read_cb);
	snprintf(l->line, sizeof l->line, "%s\n", l->words->text);
	uv_buf_t buf = uv_buf_init(l->line, (unsigned)strlen(l->line));
	if (uv_write(&l->write, (uv_stream_t *)&l->in, &buf, 1, write_cb) != 0)
		close_handle((uv_handle_t *)&l->in);
}

/* -- lanes ----------------------------------------------------------------------------- */

static void lane_begin(struct lane *l, struct words *w)
{
	const struct wet_host_options *o = &l->voice->host->options;
	l->words = w;
	l->status = -1; /* no child has run */
	l->folder = o->voice_folder[0] ? o->voice_folder : NULL;
	wet_keep_key(o->voice_program, o->voice, o->voice_rate_wpm, w->text, l->key);
	if (!l->folder || w->is_probe)
		run_child(l);
	else if (uv_queue_work(&l->voice->host->loop, &l->work, look_work, look_done) != 0)
		lane_over(l, NULL, false);
}

void lanes_open(struct voice *voice)
{
	for (int i = 0; i < VOICE_LANES; i++) {
		voice->lane[i].voice = voice;
		voice->lane[i].work.data = &voice->lane[i];
	}
}

void lanes_turn(struct voice *voice)
{
	for (int i = 0; i < VOICE_LANES && !voice->is_closing; i++) {
		struct lane *l = &voice->lane[i];
		struct words *w = l->words ? NULL : words_next(voice, i > 0);
		if (w)
			lane_begin(l, w);
	}
}

void lanes_stop(struct voice *voice)
{
	for (int i = 0; i < VOICE_LANES; i++) {
		struct lane *l = &voice->lane[i];
		if (!l->words)
			continue;
		if (l->is_running)
			kill_child(l);
		else
			(void)uv_cancel((uv_req_t *)&l->work);
	}
}

void lanes_free(struct voice *voice)
{
	for (int i = 0; i < VOICE_LANES; i++) {
		free(voice->lane[i].sample);
		free(voice->lane[i].output);
	}
}
