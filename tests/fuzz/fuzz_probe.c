/* fuzz_probe.c: any bytes as a probe's file. What is read as a temperature is written the same way, and within seven digits. */
#include "wetside/probe.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

static void must(int is_so)
{
	if (!is_so)
		abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
	int32_t mc = INT32_MIN;
	enum wet_probe_fault fault = wet_probe_parse((const char *)bytes, n, &mc);
	must(fault == WET_PROBE_NONE || fault == WET_PROBE_GARBAGE || fault == WET_PROBE_CHECKSUM);
	must((fault == WET_PROBE_NONE) == (mc != INT32_MIN));
	must(fault != WET_PROBE_NONE || (mc > -10000000 && mc < 10000000));
	must(fault != WET_PROBE_NONE || (n > 0 && n <= WET_PROBE_FILE_BYTES && memchr(bytes, '\0', n) == NULL));
	must(fault != WET_PROBE_CHECKSUM || n > 8);
	return 0;
}
