/* errors.c: the table of errors and the fault that explains one. */
#include "wetside/errors.h"

#include "base/text.h"

#include <stdarg.h>
#include <string.h>

static const struct {
	const char *name, *text;
	int wire;
} errs[WET_ERR_N] = {
#define X(name, wire, text) { #name, text, wire },
	WET_ERRS(X)
#undef X
};

const char *wet_err_text(int err)
{
	return err >= 0 && err < WET_ERR_N ? errs[err].text : "unknown error";
}

const char *wet_err_name(int err)
{
	return err >= 0 && err < WET_ERR_N ? errs[err].name : "UNKNOWN_ERROR";
}

int wet_err_wire(int err)
{
	return err >= 0 && err < WET_ERR_N ? errs[err].wire : errs[WET_ERR_INTERNAL].wire;
}

int wet_fault_set(struct wet_fault *fault, int err, const char *where, const char *found,
				  const char *want_format, ...)
{
	if (!fault)
		return err;
	fault->err = err;
	wet_text_clean(fault->where, sizeof fault->where, where ? where : "");
	wet_text_clean(fault->found, sizeof fault->found, found ? found : "");
	va_list ap;
	va_start(ap, want_format);
	wet_text_vformat(fault->want, sizeof fault->want, want_format, ap);
	va_end(ap);
	return err;
}

void wet_fault_prefix(struct wet_fault *fault, const char *prefix)
{
	char old[sizeof fault->where];
	if (!fault)
		return;
	wet_text_copy(old, sizeof old, fault->where);
	wet_text_format(fault->where, sizeof fault->where, "%s%s", prefix, old);
}

char *wet_fault_line(const struct wet_fault *fault, char *buf, unsigned buf_bytes)
{
	wet_text_copy(buf, buf_bytes, "");
	if (fault->where[0])
		wet_text_append(buf, buf_bytes, "%s: ", fault->where);
	wet_text_append(buf, buf_bytes, "%s", wet_err_text(fault->err));
	if (fault->found[0])
		wet_text_append(buf, buf_bytes, ": %s", fault->found);
	if (fault->want[0])
		wet_text_append(buf, buf_bytes, "; %s", fault->want);
	return buf;
}
