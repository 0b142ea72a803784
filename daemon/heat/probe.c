/* probe.c: what a probe's file says, and whether it is believed. */
#include "wetside/probe.h"

#include <stdlib.h>
#include <string.h>

#define DIGITS 7        /* of millidegrees: up to 9999 C, far past any sensor */
#define NS_PER_MIN 60000000000LL

const char *wet_probe_fault_text(enum wet_probe_fault fault)
{
	static const char *const texts[WET_PROBE_FAULT_N] = {
#define X(name, text) text,
		WET_PROBE_FAULTS(X)
#undef X
	};
	return (unsigned)fault < WET_PROBE_FAULT_N ? texts[fault] : "unknown";
}

/* -- the file ---------------------------------------------------------------------- */

static bool is_blank(char c)
{
	return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

/* A whole number, and nothing else. */
static bool read_number(const char *text, size_t n, int32_t *ret)
{
	int32_t number = 0;
	size_t digits = 0;
	bool is_negative = n > 0 && text[0] == '-';
	for (size_t i = is_negative || (n > 0 && text[0] == '+') ? 1 : 0; i < n; i++) {
		if (text[i] < '0' || text[i] > '9' || ++digits > DIGITS)
			return false;
		number = number * 10 + (text[i] - '0');
	}
	if (digits == 0)
		return false;
	*ret = is_negative ? -number : number;
	return true;
}

static size_t trim(const char **text, size_t n)
{
	while (n > 0 && is_blank((*text)[n - 1]))
		n--;
	while (n > 0 && is_blank(**text)) {
		(*text)++;
		n--;
	}
	return n;
}

static bool ends_with(const char *text, size_t n, const char *end)
{
	size_t m = strlen(end);
	return n >= m && memcmp(text + n - m, end, m) == 0;
}

/* "b9 01 4b 46 7f ff 0c 10 f2 : crc=f2 YES", a line end, "b9 01 4b 46 7f ff 0c 10 f2 t=27562" */
static enum wet_probe_fault read_two_lines(const char *first, size_t first_bytes, const char *second, size_t second_bytes,
										   int32_t *ret_mc)
{
	first_bytes = trim(&first, first_bytes);
	second_bytes = trim(&second, second_bytes);
	bool is_right = ends_with(first, first_bytes, " YES");
	if ((!is_right && !ends_with(first, first_bytes, " NO")) || memchr(first, ':', first_bytes) == NULL)
		return WET_PROBE_GARBAGE;
	size_t at = second_bytes;
	while (at > 0 && !is_blank(second[at - 1]))
		at--;
	int32_t mc;
	if (second_bytes - at < 3 || memcmp(second + at, "t=", 2) != 0 ||
		!read_number(second + at + 2, second_bytes - at - 2, &mc))
		return WET_PROBE_GARBAGE;
	if (!is_right)
		return WET_PROBE_CHECKSUM;
	*ret_mc = mc;
	return WET_PROBE_NONE;
}

enum wet_probe_fault wet_probe_parse(const char *text, size_t bytes, int32_t *ret_mc)
{
	size_t n = trim(&text, bytes);
	if (n == 0 || bytes > WET_PROBE_FILE_BYTES)
		return WET_PROBE_GARBAGE;
	const char *line_end = memchr(text, '\n', n);
	if (line_end != NULL) {
		size_t first = (size_t)(line_end - text);
		if (memchr(line_end + 1, '\n', n - first - 1) != NULL)
			return WET_PROBE_GARBAGE;
		return read_two_lines(text, first, line_end + 1, n - first - 1, ret_mc);
	}
	return read_number(text, n, ret_mc) ? WET_PROBE_NONE : WET_PROBE_GARBAGE;
}

/* -- believing it ------------------------------------------------------------------ */

void wet_probe_init(struct wet_probe *probe, bool is_room)
{
	*probe = (struct wet_probe){ .is_room = is_room, .fault = WET_PROBE_NEW };
}

/* Can it have come from one to the other in that time? */
static bool is_near(int32_t a_mc, int64_t a_ns, int32_t b_mc, int64_t b_ns)
{
	int64_t apart_mc = llabs((int64_t)a_mc - b_mc);
	int64_t for_ns = b_ns > a_ns ? b_ns - a_ns : 0;
	if (for_ns > 60 * NS_PER_MIN)
		return true; /* an hour: nothing is known any more */
	return apart_mc <= WET_PROBE_NOISE_MC + WET_PROBE_RATE_MC_PER_MIN * for_ns / NS_PER_MIN;
}

static bool is_stuck(struct wet_probe *p, int32_t mc, int64_t now_ns)
{
	bool is_same = p->same_ns != 0 && mc == p->same_mc && now_ns - p->same_ns <= WET_PROBE_PAUSE_NS;
	if (!is_same) {
		p->same_mc = mc;
		p->same_since_ns = now_ns;
	}
	p->same_ns = now_ns;
	return now_ns - p->same_since_ns >= (mc % 1000 == 0 ? WET_PROBE_STUCK_COARSE_NS : WET_PROBE_STUCK_NS);
}

void wet_probe_fail(struct wet_probe *p, enum wet_probe_fault fault)
{
	p->fault = fault;
	p->good_reads = 0;
	if (p->fail_reads < WET_PROBE_FAIL_READS)
		p->fail_reads++;
	if (p->fail_reads == WET_PROBE_FAIL_READS)
		p->is_telling = true;
}

static bool is_confirmed(struct wet_probe *p, int32_t mc, int64_t now_ns)
{
	bool repeats = p->doubt_reads > 0 && is_near(p->doubt_mc, p->doubt_ns, mc, now_ns);
	p->doubt_reads = repeats ? p->doubt_reads + 1 : 1;
	p->doubt_mc = mc;
	p->doubt_ns = now_ns;
	return p->doubt_reads >= (p->has_value ? WET_PROBE_JUMP_READS : WET_PROBE_FIRST_READS);
}

bool wet_probe_take(struct wet_probe *p, int32_t mc, int64_t now_ns)
{
	int32_t least = p->is_room ? WET_PROBE_ROOM_MC_MIN : WET_PROBE_BATH_MC_MIN;
	int32_t most = p->is_room ? WET_PROBE_ROOM_MC_MAX : WET_PROBE_BATH_MC_MAX;
	if (mc < least || mc > most) {
		p->doubt_reads = 0;
		wet_probe_fail(p, WET_PROBE_RANGE);
		return false;
	}
	bool is_new = !p->has_value;
	bool is_jump = !is_new && !is_near(p->value_mc, p->value_ns, mc, now_ns);
	if ((is_new || is_jump) && !is_confirmed(p, mc, now_ns)) {
		if (is_jump) { /* sure enough: what is shown now is not what was shown before */
			p->fault = WET_PROBE_JUMP;
			p->is_telling = true;
			p->good_reads = 0;
		}
		return false;
	}
	p->doubt_reads = 0;
	p->has_value = true;
	p->value_mc = mc;
	p->value_ns = now_ns;
	if (is_stuck(p, mc, now_ns)) {
		p->fault = WET_PROBE_STUCK;
		p->is_telling = true;
		p->good_reads = 0;
		return false;
	}
	p->fail_reads = 0;
	if (p->is_telling && ++p->good_reads < WET_PROBE_BACK_READS)
		return true;
	p->fault = WET_PROBE_NONE;
	p->is_telling = false;
	return true;
}

bool wet_probe_is_doubted(const struct wet_probe *p)
{
	return p->doubt_reads > 0 || (p->fail_reads > 0 && p->fail_reads < WET_PROBE_FAIL_READS);
}
