/* errors.h: every error of the program in one table, and the fault that explains one.
 *
 * Functions return an int: 0 is good, anything else is an enum wet_err. Results come
 * last, are named ret_x, and are untouched on failure. Depends on nothing. */
#ifndef WETSIDE_ERRORS_H
#define WETSIDE_ERRORS_H

/* X(name, wire code, text). Wire codes below -32000 are those of JSON-RPC 2.0; ours are
 * positive and never change once published. */
#define WET_ERRS(X)                                                     \
	X(OK, 0, "done")                                                    \
	X(PARSE, -32700, "not valid JSON")                                  \
	X(REQUEST, -32600, "not a valid request")                           \
	X(METHOD, -32601, "no such method")                                 \
	X(PARAMS, -32602, "wrong parameters")                               \
	X(INTERNAL, -32603, "internal error")                               \
	X(NOMEM, 1001, "out of memory")                                     \
	X(INVALID, 1002, "not understood")                                  \
	X(RANGE, 1003, "out of range")                                      \
	X(UNIT_MISSING, 1004, "the unit is missing")                        \
	X(UNIT_WRONG, 1005, "a unit of another kind is needed")             \
	X(AMBIGUOUS, 1006, "this can be read in two ways")                  \
	X(TOO_LONG, 1007, "too long")                                       \
	X(TOO_MANY, 1008, "too many")                                       \
	X(NOT_FOUND, 1009, "not found")                                     \
	X(EXISTS, 1010, "exists already")                                   \
	X(REFUSED, 1011, "refused")                                         \
	X(STALE, 1012, "something else happened since")                     \
	X(REPEAT, 1013, "please repeat it")                                 \
	X(NOT_STORED, 1014, "heard, but not stored yet")                    \
	X(SAFETY, 1015, "the safety note must be acknowledged first")       \
	X(UNHEARD, 1016, "the sound check is open")                         \
	X(FIT, 1017, "the recipe does not fit the vessel")                  \
	X(POLICY, 1018, "refused for the sake of the picture")              \
	X(WHICH, 1019, "more than one run could be meant")                  \
	X(NOTE_MISSING, 1020, "the safety note is missing or not complete") \
	X(PERMISSION, 1021, "not allowed for this user")                    \
	X(IO, 1030, "input or output failed")                               \
	X(FULL, 1031, "the disk is full")                                   \
	X(READONLY, 1032, "the disk is read-only")                          \
	X(CORRUPT, 1033, "the ledger is damaged")                           \
	X(NEWER, 1034, "the ledger was written by a newer version")         \
	X(LOCKED, 1035, "another daemon holds it")                          \
	X(NO_DEVICE, 1036, "no sound device")                               \
	X(NO_DAEMON, 1037, "no daemon answers")                             \
	X(UNKNOWN, 1038, "the connection broke; the outcome is unknown")

enum wet_err {
#define WET_ERR_ENUM(name, wire, text) WET_ERR_##name,
	WET_ERRS(WET_ERR_ENUM)
#undef WET_ERR_ENUM
		WET_ERR_N,
	WET_OK = WET_ERR_OK
};

/* The text of an error, never NULL; static storage. */
const char *wet_err_text(int err);
/* Its name ("UNIT_MISSING"), never NULL; static storage. */
const char *wet_err_name(int err);
/* Its code on the wire. */
int wet_err_wire(int err);

/* What went wrong, where, what was found, what would be right. A caller's fixed buffer:
 * no ownership. Texts are UTF-8, cut at a character if too long. `where` is a path for
 * people: "file.json#/stages/3/aim" or "--make". */
struct wet_fault {
	int err;         /* enum wet_err */
	char where[160]; /* may be empty */
	char found[96];  /* may be empty */
	char want[224];  /* what would be right; a sentence without the full stop */
};

/* Fills a fault (NULL is allowed and ignored) and returns `err`, so that
 * `return wet_fault_set(f, WET_ERR_RANGE, "aim", text, "from %s to %s", a, b);` reads well.
 * `found` may be NULL. Control bytes in `found` are replaced by '?'. */
int wet_fault_set(struct wet_fault *fault, int err, const char *where, const char *found,
				  const char *want_format, ...) __attribute__((format(printf, 5, 6)));

/* Puts `prefix` in front of fault->where ("recipes/a.json" + "#/stages/3"). */
void wet_fault_prefix(struct wet_fault *fault, const char *prefix);

/* One line for people: "where: text: found; want". Returns buf. */
char *wet_fault_line(const struct wet_fault *fault, char *buf, unsigned buf_bytes);

#endif
