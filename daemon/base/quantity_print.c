/* quantity_print.c: quantities as people read them. */
#include "wetside/quantity.h"

#include "base/text.h"

#include <string.h>

/* v / 10^places, without trailing zeros. */
static char *print_decimal(int64_t v, int places, const char *unit, char *buf, unsigned buf_bytes)
{
	int64_t one = 1;
	for (int i = 0; i < places; i++)
		one *= 10;
	uint64_t a = v < 0 ? (uint64_t)0 - (uint64_t)v : (uint64_t)v;
	wet_text_format(buf, buf_bytes, "%s%llu", v < 0 ? "-" : "", (unsigned long long)(a / (uint64_t)one));
	uint64_t rest = a % (uint64_t)one;
	if (rest > 0) {
		char digits[24];
		wet_text_format(digits, sizeof digits, "%0*llu", places, (unsigned long long)rest);
		size_t n = strlen(digits);
		while (n > 0 && digits[n - 1] == '0')
			digits[--n] = '\0';
		wet_text_append(buf, buf_bytes, ".%s", digits);
	}
	return wet_text_append(buf, buf_bytes, "%s%s", unit[0] ? " " : "", unit);
}

static int64_t round_to(int64_t v, int64_t step)
{
	int64_t half = step / 2;
	if (v > INT64_MAX - half)
		v = INT64_MAX - half;
	if (v < -INT64_MAX + half)
		v = -INT64_MAX + half;
	return v < 0 ? -((-v + half) / step * step) : (v + half) / step * step;
}

char *wet_print_volume(int64_t volume_ul, char *buf, unsigned buf_bytes)
{
	if (volume_ul >= 1000000)
		return print_decimal(round_to(volume_ul, 100), 6, "L", buf, buf_bytes);
	return print_decimal(round_to(volume_ul, 10), 3, "mL", buf, buf_bytes);
}

char *wet_print_mass(int64_t mass_mg, char *buf, unsigned buf_bytes)
{
	return print_decimal(mass_mg, 3, "g", buf, buf_bytes);
}

char *wet_print_temperature(int32_t temperature_mc, char *buf, unsigned buf_bytes)
{
	return print_decimal(round_to(temperature_mc, 100), 3, "C", buf, buf_bytes);
}

char *wet_print_length(int64_t length_um, char *buf, unsigned buf_bytes)
{
	return print_decimal(round_to(length_um, 10), 3, "mm", buf, buf_bytes);
}

char *wet_print_days(int64_t duration_ns, char *buf, unsigned buf_bytes)
{
	int64_t hours = ((duration_ns < 0 ? 0 : duration_ns) / WET_NS_PER_S + 1800) / 3600;
	if (hours < 48)
		return wet_text_format(buf, buf_bytes, "%d hour%s", (int)hours, hours == 1 ? "" : "s");
	return wet_text_format(buf, buf_bytes, "%lld days", (long long)(hours / 24));
}

char *wet_print_duration(int64_t duration_ns, char *buf, unsigned buf_bytes)
{
	int64_t s = round_to(duration_ns, WET_NS_PER_S) / WET_NS_PER_S;
	const char *sign = s < 0 ? "-" : "";
	if (s < 0)
		s = -s;
	if (s >= 3600)
		return wet_text_format(buf, buf_bytes, "%s%lld:%02d:%02d", sign, (long long)(s / 3600),
							   (int)(s / 60 % 60), (int)(s % 60));
	return wet_text_format(buf, buf_bytes, "%s%d:%02d", sign, (int)(s / 60), (int)(s % 60));
}

char *wet_print_seconds(int64_t duration_ns, char *buf, unsigned buf_bytes)
{
	int64_t s = round_to(duration_ns < 0 ? 0 : duration_ns, WET_NS_PER_S) / WET_NS_PER_S;
	int64_t h = s / 3600, m = s / 60 % 60;
	s %= 60;
	wet_text_copy(buf, buf_bytes, "");
	if (h > 0)
		wet_text_append(buf, buf_bytes, "%lld %s", (long long)h, h == 1 ? "hour" : "hours");
	if (m > 0)
		wet_text_append(buf, buf_bytes, "%s%d %s", h > 0 ? " " : "", (int)m, m == 1 ? "minute" : "minutes");
	if (s > 0 || (h == 0 && m == 0))
		wet_text_append(buf, buf_bytes, "%s%d %s", h > 0 || m > 0 ? " " : "", (int)s,
						s == 1 ? "second" : "seconds");
	return buf;
}

char *wet_print_dilution(int64_t a_milli, int64_t b_milli, char *buf, unsigned buf_bytes)
{
	char b[32];
	print_decimal(b_milli, 3, "", b, sizeof b);
	print_decimal(a_milli, 3, "", buf, buf_bytes);
	return wet_text_append(buf, buf_bytes, "+%s", b);
}

char *wet_print_percent(int32_t percent_milli, char *buf, unsigned buf_bytes)
{
	return print_decimal(percent_milli, 3, "%", buf, buf_bytes);
}

int32_t wet_fahrenheit_mf(int32_t temperature_mc)
{
	return (int32_t)round_to((int64_t)temperature_mc * 9 / 5 + 32000, 100);
}
