/* fault_shelf.c: the shelf when memory runs out. Every allocation of the JSON library fails in its turn; each time
 * the shelf says that memory ran out, or each recipe is there with the right hash or told as a fault (jansson blames
 * the text where its memory fails). No crash, no leak, no half recipe, and with memory back all is as before. */
#include "shelf/shelf.h"

#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define TURNS_MAX 20000 /* a load needs under 6,000 */

static long left; /* allocations until one fails; below 0: none does */
static bool has_failed;

static void *failing_malloc(size_t n)
{
	if (left >= 0 && left-- == 0) {
		has_failed = true;
		return NULL;
	}
	return malloc(n);
}

static int fail(long turn, const char *what)
{
	fprintf(stderr, "allocation %ld: %s\n", turn, what);
	return 1;
}

/* Two of the shelf, which between them have every member a file can have: all of it would take too long, for each
 * allocation is one more load. */
static char folder[] = "/tmp/wetside-fault-shelf-XXXXXX";
static const char *const recipes[] = { folder, NULL };
static const char *const two[] = { "direct-positive-fibre-tank.json", "test-clearing-time.json" };
/* Notes that say all by themselves, and a few rules of practice: the tables of the whole house have more allocations than
 * a test has time for. */
static const char *const notes[] = { WET_TEST_DATA "/notes/whole", NULL };

/* Every recipe of `whole` is in `shelf` with the same hash and note, or a fault stands for it. A note lacks what is alike
 * for all where a fault stands for the rules of practice. */
static bool is_sound(const struct wet_shelf *shelf, const struct wet_shelf *whole)
{
	bool has_rules = wet_shelf_safety(shelf)->fault_count == wet_shelf_safety(whole)->fault_count;
	if (wet_shelf_count(shelf) + wet_shelf_fault_count(shelf) != wet_shelf_count(whole))
		return false;
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_shelf_recipe *item = wet_shelf_at(shelf, i);
		const struct wet_shelf_recipe *same = wet_shelf_find(whole, item->recipe.name);
		if (same == NULL || strcmp(item->hash, same->hash) != 0 || strcmp(item->json, same->json) != 0 ||
			strcmp(item->note_json, same->note_json) != 0)
			return false;
		if (has_rules && (strcmp(item->note, same->note) != 0 || strcmp(item->note_sources, same->note_sources) != 0))
			return false;
	}
	return true;
}

static int make_folder(void)
{
	char from[512], to[512];
	if (mkdtemp(folder) == NULL)
		return -1;
	for (int i = 0; i < 2; i++) {
		snprintf(from, sizeof from, WET_SOURCE_DIR "/recipes/%s", two[i]);
		snprintf(to, sizeof to, "%s/%s", folder, two[i]);
		if (symlink(from, to) != 0)
			return -1;
	}
	return 0;
}

static void remove_folder(void)
{
	char path[512];
	for (int i = 0; i < 2; i++) {
		snprintf(path, sizeof path, "%s/%s", folder, two[i]);
		(void)unlink(path);
	}
	(void)rmdir(folder);
}

int main(void)
{
	struct wet_shelf *whole = NULL, *shelf = NULL;
	json_set_alloc_funcs(failing_malloc, free);
	left = -1;
	if (make_folder() != 0)
		return fail(-1, "no folder to work in");
	(void)atexit(remove_folder);
	if (wet_shelf_open(&whole, recipes, notes) != 0 || wet_shelf_count(whole) != 2)
		return fail(-1, "the shelf does not load with memory enough");
	long turn = 0, told = 0, refused = 0;
	for (; turn < TURNS_MAX; turn++) {
		has_failed = false;
		left = turn;
		shelf = NULL;
		int rc = wet_shelf_open(&shelf, recipes, notes);
		left = -1;
		if (!has_failed)
			break; /* further than the last allocation */
		if (rc != 0 && (rc != WET_ERR_NOMEM || shelf != NULL))
			return fail(turn, "an error other than out of memory");
		if (rc == 0 && !is_sound(shelf, whole))
			return fail(turn, "half a recipe");
		refused += rc != 0;
		told += rc == 0 && wet_shelf_fault_count(shelf) > 0;
		wet_shelf_free(shelf);
	}
	if (!is_sound(shelf, whole) || wet_shelf_fault_count(shelf) != 0)
		return fail(turn, "the last load, with memory enough, is not whole");
	wet_shelf_free(shelf);
	wet_shelf_free(whole);
	if (turn < 100 || turn == TURNS_MAX || refused == 0)
		return fail(turn, "that is not the number of allocations of a load");
	printf("%ld allocations failed in turn: %ld out of memory, %ld told as faults\n", turn, refused, told);
	return 0;
}
