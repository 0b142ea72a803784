/* unloading.c: a run that is armed of the pieces in the cameras: which, in which order, and how they are called. */
#include "methods/book.h"

#include "base/text.h"

#include <string.h>

static bool is_in_live_run(const struct book *b, const struct wet_piece *p)
{
	for (struct wet_live *l = wet_darkroom_newest(b->call.methods->darkroom); l && p->process_run > 0; l = l->older)
		if (l->id == p->process_run && !wet_live_is_over(l))
			return true;
	return false;
}

static void add(struct wet_arming *a, const char *name, const struct wet_piece *p)
{
	if (a->unload_count == WET_PIECES)
		return;
	struct wet_unloading *u = &a->unload[a->unload_count++];
	wet_text_copy(u->piece, sizeof u->piece, name);
	if (p->is_in_camera)
		wet_text_copy(u->from, sizeof u->from, p->camera);
	else
		wet_text_format(u->from, sizeof u->from, "piece %.50s", name);
}

/* In the cameras' order on the shelf; then what was exposed and is out of its camera. */
static void find_pieces(const struct book *b, struct wet_arming *a)
{
	const char *camera, *name;
	json_t *of, *row;
	struct wet_piece p;
	json_object_foreach(b->cameras, camera, of)
	{
		json_object_foreach(b->rows[BOOK_PIECES], name, row)
		{
			if (book_piece(b, name, &p) && p.is_in_camera && strcmp(p.camera, camera) == 0 && !is_in_live_run(b, &p))
				add(a, name, &p);
		}
	}
	json_object_foreach(b->rows[BOOK_PIECES], name, row)
	{
		if (book_piece(b, name, &p) && !p.is_in_camera && p.state == WET_PIECE_EXPOSED && !is_in_live_run(b, &p))
			add(a, name, &p);
	}
}

/* The pieces that are named, in that order. False: refused, ended. */
static bool named_pieces(struct book *b, json_t *list, struct wet_arming *a)
{
	size_t i;
	json_t *one;
	struct wet_piece p;
	json_array_foreach(list, i, one)
	{
		const char *name = json_string_value(one);
		for (int k = 0; k < a->unload_count; k++)
			if (strcmp(a->unload[k].piece, name) == 0) {
				book_refuse(b, WET_ERR_PARAMS, "unload", name, "each piece once");
				return false;
			}
		if (!book_piece(b, name, &p)) {
			book_refuse(b, WET_ERR_NOT_FOUND, "unload", name, "the number of a piece, as `wetside cut --list` shows them");
			return false;
		}
		if (p.state == WET_PIECE_CUT) {
			book_refuse(b, WET_ERR_REFUSED, "unload", name,
						"piece %s was not exposed: it is in no camera, and no note tells of it", name);
			return false;
		}
		add(a, name, &p);
	}
	return true;
}

static void arm(struct book *b)
{
	bool from_cameras = false;
	json_t *list = NULL;
	struct wet_call call = b->call;
	struct wet_arming *a = calloc(1, sizeof *a);
	if (!a) {
		book_answer(b, NULL);
		return;
	}
	if (!want_bool(&b->call, "from_cameras", &from_cameras) || !want_list(&b->call, "unload", WET_PIECES, &list) ||
		!want_arming(&b->call, a)) {
		book_end(b);
		free(a);
		return;
	}
	if (list && !named_pieces(b, list, a)) {
		free(a);
		return;
	}
	if (!list)
		find_pieces(b, a);
	bool says_pieces = json_object_get(b->call.params, "pieces") != NULL;
	if (a->unload_count == 0) {
		book_refuse(b, WET_ERR_REFUSED, "from_cameras", NULL,
					"no camera holds a piece that is known: wetside camera load NAME --piece 7; or arm with --pieces N");
	} else {
		if (!says_pieces)
			a->pieces = a->unload_count;
		arm_and_reply(&call, a);
		book_end(b);
	}
	free(a);
}

void serve_arm_from_cameras(struct wet_call *c)
{
	book_open(c, arm);
}
