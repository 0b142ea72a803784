/* pieces.c: pieces of the ledger that a run processes: tied to it as it is armed, processed at its end. */
#include "darkroom/inside.h"
#include "ledger/entries.h"
#include "shelf/piece.h"

#include "base/text.h"
#include "darkroom/cutting.h"

#include <stdlib.h>
#include <string.h>

static int put_piece(struct wet_ledger *ledger, struct wet_entry *e, const struct wet_piece *piece, struct wet_fault *reterr)
{
	int follows = e->revision;
	e->token[0] = '\0';
	int rc = wet_piece_encode(piece, e->body, sizeof e->body, reterr);
	return rc == 0 ? wet_ledger_put_entry(ledger, e, follows, reterr) : rc;
}

/* Is it in another run that lives? */
static int check_free(struct wet_ledger *ledger, const char *name, const struct wet_piece *p, struct wet_fault *reterr)
{
	struct wet_ledger_run *row = p->process_run > 0 ? calloc(1, sizeof *row) : NULL;
	struct wet_fault ignored = { 0 };
	bool is_taken = row && wet_ledger_get_run(ledger, p->process_run, row, &ignored) == 0 && row->is_live;
	char run[WET_NAME_BYTES];
	wet_text_copy(run, sizeof run, row ? row->name : "");
	free(row);
	if (p->state >= WET_PIECE_PROCESSED)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "piece", name,
							 "piece %s was processed already; `wetside note --find %s` shows it", name, name);
	if (is_taken)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "piece", name, "piece %s is in the run %s", name, run);
	return WET_OK;
}

int pieces_tie(struct wet_ledger *ledger, const struct wet_arming *want, int64_t run_id, struct wet_fault *reterr)
{
	int64_t wall_ms = 0;
	struct wet_entry *e = calloc(1, sizeof *e);
	struct wet_ledger_run *row = calloc(1, sizeof *row);
	int rc = e && row ? wet_ledger_get_run(ledger, run_id, row, reterr)
					  : wet_fault_set(reterr, WET_ERR_NOMEM, "piece", NULL, "more memory");
	if (rc == 0)
		wall_ms = row->armed_wall_ms;
	for (int i = 0; i < want->unload_count && rc == 0; i++) {
		struct wet_piece piece;
		rc = wet_ledger_get_entry(ledger, WET_PIECE_KIND, want->unload[i].piece, 0, e, reterr);
		if (rc == 0)
			rc = wet_piece_decode(e->body, &piece, reterr);
		if (rc == 0)
			rc = check_free(ledger, e->name, &piece, reterr);
		if (rc != 0)
			break;
		piece.process_run = run_id;
		piece.slot = i + 1;
		e->wall_ms = wall_ms;
		e->uid = want->uid;
		wet_text_copy(e->person, sizeof e->person, want->person);
		rc = put_piece(ledger, e, &piece, reterr);
	}
	free(row);
	free(e);
	return rc;
}

/* The names of a run's pieces: they are changed behind the looking. */
struct tied {
	int64_t run_id, after_id;
	int seen, count;
	char names[WET_PIECES][WET_NAME_BYTES];
};

static int take_tied(void *ctx, const struct wet_entry *entry)
{
	struct tied *t = ctx;
	struct wet_piece piece;
	t->after_id = entry->id;
	t->seen++;
	if (t->count < WET_PIECES && wet_piece_decode(entry->body, &piece, NULL) == 0 && piece.process_run == t->run_id)
		wet_text_copy(t->names[t->count++], WET_NAME_BYTES, entry->name);
	return WET_OK;
}

int pieces_book(struct wet_ledger *ledger, const struct wet_cut_ended *ended, bool is_finished, struct wet_fault *reterr)
{
	struct tied *t = calloc(1, sizeof *t);
	struct wet_entry *e = calloc(1, sizeof *e);
	int rc = t && e ? WET_OK : wet_fault_set(reterr, WET_ERR_NOMEM, "piece", NULL, "more memory");
	if (rc == 0)
		t->run_id = ended->run_id;
	do {
		struct wet_entry_query query = { .kind = WET_PIECE_KIND, .after_id = t ? t->after_id : 0, .limit = WET_PAGE };
		if (rc == 0)
			t->seen = 0;
		rc = rc == 0 ? wet_ledger_each_entry(ledger, &query, take_tied, t, reterr) : rc;
	} while (rc == 0 && t->seen == WET_PAGE);
	for (int i = 0; rc == 0 && i < t->count; i++) {
		struct wet_piece piece;
		rc = wet_ledger_get_entry(ledger, WET_PIECE_KIND, t->names[i], 0, e, reterr);
		if (rc == 0)
			rc = wet_piece_decode(e->body, &piece, reterr);
		if (rc != 0 || piece.state >= WET_PIECE_PROCESSED)
			continue;
		piece.run_light_s += ended->light_s;
		piece.process_run = is_finished ? ended->run_id : 0;
		piece.slot = is_finished ? piece.slot : 0;
		if (is_finished) {
			piece.state = WET_PIECE_PROCESSED;
			piece.unloaded_ms = piece.is_in_camera ? ended->wall_ms : piece.unloaded_ms;
			piece.is_in_camera = false;
		}
		e->wall_ms = ended->wall_ms;
		e->uid = ended->uid;
		wet_text_copy(e->person, sizeof e->person, ended->person);
		rc = put_piece(ledger, e, &piece, reterr);
	}
	free(t);
	free(e);
	return rc;
}

int64_t pieces_light_s(const struct wet_run *run)
{
	int64_t ns = 0;
	for (int i = 0; i < run->setup.recipe->stage_count; i++)
		if (run->records[i].flags && wet_recipe_light(run->setup.recipe, i) == WET_LIGHT_SAFELIGHT &&
			run->records[i].end_ns > run->records[i].begin_ns)
			ns += run->records[i].end_ns - run->records[i].begin_ns;
	return (ns + 500000000) / 1000000000;
}
