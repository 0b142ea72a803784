/* Is the screen's room dark? A digit that chooses a tank of another room does not carry the screen there. */
#include "client/watch.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void tell(struct view *v, int id, const char *room, bool is_dark)
{
	json_t *run = json_pack("{s:i, s:s}", "id", id, "room", room);
	set_dark(v, run, is_dark);
	json_decref(run);
}

static void watch_in(struct view *v, const char *room)
{
	(void)snprintf(v->room, sizeof v->room, "%s", room);
	judge_dark(v);
}

Test(light, the_screen_stays_where_it_was)
{
	struct view *v = calloc(1, sizeof *v);
	(void)snprintf(v->first_room, sizeof v->first_room, "annex");
	watch_in(v, "annex");
	tell(v, 1, "annex", true);
	cr_assert(v->is_dark);
	watch_in(v, "cellar");
	cr_assert(v->is_dark, "paper still lies open where the screen stands");
	tell(v, 1, "annex", false);
	cr_assert_not(v->is_dark);
	tell(v, 2, "cellar", true);
	cr_assert(v->is_dark, "and the watched one's counts too");
	watch_in(v, "annex");
	cr_assert_not(v->is_dark);
	tell(v, 3, "loft", true);
	cr_assert_not(v->is_dark, "of a third room nothing is seen here");
	free(v);
}

Test(light, more_than_can_be_kept_is_dark_everywhere)
{
	struct view *v = calloc(1, sizeof *v);
	watch_in(v, "annex");
	for (int id = 1; id <= DARK_RUNS; id++)
		tell(v, id, "cellar", true);
	cr_assert_not(v->is_dark);
	tell(v, DARK_RUNS + 1, "cellar", true);
	cr_assert(v->is_dark);
	tell(v, 1, "cellar", false);
	cr_assert(v->is_dark, "who was not kept may be in this room");
	free(v);
}
