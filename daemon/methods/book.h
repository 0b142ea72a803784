/* book.h: what the notebook's methods share: pieces, notes, judgements, boxes and cameras as they stand, looked at before each
 * decision; what is decided is stored only if they still stand so. */
#ifndef WET_METHODS_BOOK_H
#define WET_METHODS_BOOK_H

#include "darkroom/entries.h"
#include "methods/inside.h"
#include "shelf/piece.h"
#include "wetside/judgement.h"
#include "wetside/notebook.h"

#include <stdlib.h>

/* X(name, kind of the ledger's entries). */
#define WET_BOOK_KINDS(X) \
	X(PIECES, "piece")    \
	X(NOTES, "note")      \
	X(JUDGED, "judgement") \
	X(BOXES, "box")       \
	X(SETTINGS, "notebook")

enum book_kind {
#define WET_BOOK_ENUM(name, kind) BOOK_##name,
	WET_BOOK_KINDS(WET_BOOK_ENUM)
#undef WET_BOOK_ENUM
		BOOK_KIND_N
};

struct book {
	struct wet_call call;       /* params are held; rpc is looked up anew before `then` */
	json_t *rows[BOOK_KIND_N];  /* by name: {"body", "revision", "wall_ms", "person", "token"} */
	json_t *cameras;            /* by name: {"f_number_milli", "is_gone"} */
	void (*then)(struct book *book); /* answers, or goes on with book_put; what answered ends with book_end */
	int kind;
	int64_t after_id;
	struct wet_entry puts[2];   /* at most a piece and what was written of it */
	int follows[2];
	int put_count;
	json_t *result;             /* of what is being put */
	struct wet_piece piece;     /* for the caller */
	char name[WET_NAME_BYTES];
	json_t *more;               /* for the caller; released with the book */
};

/* The name is the method's; `then` is called once, later; or the call is answered. */
void book_open(struct wet_call *call, void (*then)(struct book *book));
void book_end(struct book *book);
void book_answer(struct book *book, json_t *result); /* takes it; ends */
void book_refuse(struct book *book, int err, const char *key, const char *found, const char *want, ...)
	__attribute__((format(printf, 5, 6)));           /* ends */
void book_fault(struct book *book, const struct wet_fault *fault); /* ends */
/* Is the client still there? Looks for it anew. False: ended. */
bool book_is_wanted(struct book *book);

const json_t *book_row(const struct book *book, enum book_kind kind, const char *name); /* NULL: none */
const char *book_body(const json_t *row);
json_t *book_object(const json_t *row); /* the body, as new; an empty object where it is none */
bool book_piece(const struct book *book, const char *name, struct wet_piece *ret_piece);
/* "piece" of the parameters: a piece that is there, into book->name and book->piece. False: refused, ended. */
bool book_want_piece(struct book *book);
/* Was this very act stored already? By the token of the parameters and that of the entry. */
bool book_is_repeat(const struct book *book, enum book_kind kind, const char *name);

/* Adds to what will be put; body is copied. */
bool book_add(struct book *book, enum book_kind kind, const char *name, const char *body);
bool book_add_json(struct book *book, enum book_kind kind, const char *name, json_t *body); /* takes it */
bool book_add_piece(struct book *book, const char *name, const struct wet_piece *piece);
/* Stores all of it or nothing, then answers with result, which is taken; ends. */
void book_put(struct book *book, json_t *result);

/* The paper of a piece: the box's, or the box itself; "" where nothing is told. */
char *book_paper(const struct book *book, const struct wet_piece *piece, char *buf, unsigned buf_bytes);
enum wet_sense book_sense(const struct book *book, const struct wet_piece *piece);
/* A note as it was stored. False: it has none. */
bool book_note(const struct book *book, const char *name, struct wet_note *ret_note);
/* Shown back as it was understood. notebook.c */
char *note_text(const struct wet_note *note, char *buf, unsigned buf_bytes);
/* The piece as people and programs read it. */
json_t *book_piece_json(const struct book *book, const char *name, const struct wet_piece *piece);
int64_t book_now_ms(const struct book *book);

#endif
