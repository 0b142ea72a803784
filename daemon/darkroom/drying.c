/* drying.c: drying is a due date in the status and one sound, no live stage. */
#include "darkroom/inside.h"

#include "base/text.h"

#include <string.h>

#define SHOWN_AFTER_MS (12LL * 3600 * 1000) /* a dry picture is still listed for so long */

/* A full list forgets what was due first. */
static struct wet_drying *free_slot(struct wet_darkroom *d)
{
	if (d->drying_count < WET_DRYING)
		return &d->drying[d->drying_count++];
	struct wet_drying *first = &d->drying[0];
	for (int i = 1; i < WET_DRYING; i++)
		if (d->drying[i].due_wall_ms < first->due_wall_ms)
			first = &d->drying[i];
	return first;
}

void drying_add(struct wet_darkroom *d, const char *name, const struct wet_recipe *recipe, int64_t ended_wall_ms)
{
	int64_t wall_ms = d->ports.wall_ms(d->ports.ctx);
	int64_t most_ms = ended_wall_ms + recipe->dry_most_ns / 1000000;
	int64_t due_ms = ended_wall_ms + recipe->dry_least_ns / 1000000;
	if (recipe->dry_most_ns == 0 || most_ms + SHOWN_AFTER_MS < wall_ms)
		return;
	struct wet_drying *w = free_slot(d);
	memset(w, 0, sizeof *w);
	wet_text_copy(w->name, sizeof w->name, name);
	wet_text_copy(w->how, sizeof w->how, recipe->dry_how);
	w->due_wall_ms = due_ms;
	w->most_wall_ms = most_ms;
	w->due_boot_ns = now_of(d) + wall_apart_ns(wall_ms, due_ms);
	w->is_told = due_ms <= wall_ms; /* nobody was there to hear it: the status shows it */
}

static void forget_old(struct wet_darkroom *d, int64_t wall_ms)
{
	int kept = 0;
	for (int i = 0; i < d->drying_count; i++)
		if (d->drying[i].most_wall_ms + SHOWN_AFTER_MS >= wall_ms)
			d->drying[kept++] = d->drying[i];
	d->drying_count = kept;
}

void drying_serve(struct wet_darkroom *d, int64_t now_ns)
{
	for (int i = 0; i < d->drying_count; i++) {
		struct wet_drying *w = &d->drying[i];
		if (w->is_told || w->due_boot_ns > now_ns)
			continue;
		w->is_told = true;
		d->ports.cue_now(d->ports.ctx, WET_TONE_ATTEND, 1);
		char text[WET_LINE_BYTES];
		wet_text_format(text, sizeof text, "The pieces of %s may be dry.", w->name);
		say_now(d, NULL, WET_TONE_ATTEND, 1, text);
	}
}

int64_t drying_deadline(const struct wet_darkroom *d)
{
	int64_t first_ns = INT64_MAX;
	for (int i = 0; i < d->drying_count; i++)
		if (!d->drying[i].is_told && d->drying[i].due_boot_ns < first_ns)
			first_ns = d->drying[i].due_boot_ns;
	return first_ns;
}

int wet_darkroom_drying(struct wet_darkroom *d, const struct wet_drying **ret_list)
{
	forget_old(d, d->ports.wall_ms(d->ports.ctx));
	*ret_list = d->drying;
	return d->drying_count;
}
