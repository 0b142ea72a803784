/* quantity_time.c: durations as people type them. */
#include "base/number.h"
#include "wetside/quantity.h"

#include <string.h>

struct unit {
	const char *name;
	int64_t ns;
};

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

#define DURATION_NS_MAX (1000LL * 3600 * WET_NS_PER_S)

/* "2:00", "1:02:03" */
static int read_clock(struct reader *r, int64_t *ret_ns)
{
	int64_t parts[3];
	int n = 0;
	for (;;) {
		int64_t v = 0;
		int digits = 0;
		for (; is_digit(*r->p); r->p++) {
			v = v * 10 + (*r->p - '0');
			if (++digits > 6)
				return reader_fail(r, WET_ERR_RANGE);
		}
		if (digits == 0 || (n > 0 && (digits != 2 || v > 59)) || n == 3)
			return reader_fail(r, WET_ERR_INVALID);
		parts[n++] = v;
		if (*r->p != ':')
			break;
		r->p++;
	}
	if (!reader_at_end(r) || n < 2)
		return reader_fail(r, WET_ERR_INVALID);
	int64_t s = n == 3 ? parts[0] * 3600 + parts[1] * 60 + parts[2] : parts[0] * 60 + parts[1];
	if (s > DURATION_NS_MAX / WET_NS_PER_S)
		return reader_fail(r, WET_ERR_RANGE);
	*ret_ns = s * WET_NS_PER_S;
	return WET_OK;
}

/* Parts from large to small, each rounded to the nanosecond. */
int wet_parse_duration(const char *text, int64_t *ret_duration_ns, struct wet_fault *reterr)
{
	static const struct unit units[] = {
		{ "ms", 1000000 },         { "s", 1000000000 },        { "sec", 1000000000 },
		{ "second", 1000000000 },  { "seconds", 1000000000 },  { "min", 60000000000 },
		{ "minute", 60000000000 }, { "minutes", 60000000000 }, { "h", 3600000000000 },
		{ "hour", 3600000000000 }, { "hours", 3600000000000 }, { NULL, 0 },
	};
	struct reader r = { text, text, reterr, "a time with its unit, as in 2:00, 90 s, 3 min or 1 min 30 s" };
	int64_t total_ns = 0, last_factor = INT64_MAX;
	reader_skip_blanks(&r);
	if (strchr(text, ':'))
		return read_clock(&r, ret_duration_ns);
	do {
		struct number v;
		int rc = number_read(&r, &v);
		if (rc != 0)
			return rc;
		if (reader_at_end(&r))
			return reader_fail(&r, WET_ERR_UNIT_MISSING);
		size_t n = 0;
		while ((r.p[n] >= 'a' && r.p[n] <= 'z') || (r.p[n] >= 'A' && r.p[n] <= 'Z'))
			n++;
		const struct unit *found = NULL;
		for (const struct unit *u = units; u->name; u++)
			if (strlen(u->name) == n && strncmp(u->name, r.p, n) == 0)
				found = u;
		if (!found)
			return reader_fail(&r, WET_ERR_UNIT_WRONG);
		if (v.top < 0 || found->ns >= last_factor)
			return reader_fail(&r, WET_ERR_INVALID);
		if (number_is_over(v, found->ns, 1, DURATION_NS_MAX - total_ns))
			return reader_fail(&r, WET_ERR_RANGE);
		last_factor = found->ns;
		total_ns += number_times(v, found->ns, 1);
		r.p += n;
	} while (!reader_at_end(&r));
	*ret_duration_ns = total_ns;
	return WET_OK;
}
