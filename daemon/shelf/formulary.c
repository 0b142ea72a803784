/* formulary.c: folders of formulas -> the formulary. */
#include "shelf/formulary.h"

#include "base/text.h"
#include "shelf/files.h"
#include "shelf/reader.h"
#include "shelf/where.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#define FILE_BYTES (256 * 1024) /* a complete formula is under 10 KiB, the substances under 32 */
#define ITEMS_MAX 512           /* a school has a few dozen */
#define FAULTS_MAX 64           /* after so many the rest is not told */
#define PATH_BYTES 256          /* as in struct wet_formulary_item */
#define FOLDER "formulas"

struct wet_formulary {
	struct wet_substances table;
	bool has_table;
	size_t count, fault_count, name_count;
	struct wet_formulary_item *items[ITEMS_MAX]; /* sorted by name */
	struct wet_fault faults[FAULTS_MAX];
	char names[ITEMS_MAX]
			  [WET_NAME_BYTES]; /* of files met so far: an earlier folder's file hides a later one */
};

static void add_fault(struct wet_formulary *f, const struct wet_fault *fault)
{
	if (f->fault_count < FAULTS_MAX)
		f->faults[f->fault_count++] = *fault;
}

static void free_item(struct wet_formulary_item *item)
{
	if (item != NULL)
		free(item->json);
	free(item);
}

static void add_item(struct wet_formulary *f, struct wet_formulary_item *item)
{
	size_t at = f->count++;
	for (; at > 0 && strcmp(f->items[at - 1]->formula.name, item->formula.name) > 0; at--)
		f->items[at] = f->items[at - 1];
	f->items[at] = item;
}

/* True the first time a file's name is met. */
static bool is_new(struct wet_formulary *f, const char *name)
{
	for (size_t i = 0; i < f->name_count; i++) {
		if (strcmp(f->names[i], name) == 0)
			return false;
	}
	wet_text_copy(f->names[f->name_count++], sizeof f->names[0], name);
	return true;
}

static int load_table(struct wet_formulary *f, const char *dir)
{
	char path[PATH_BYTES], *text;
	size_t n;
	struct wet_fault fault = { 0 };
	if (strlen(dir) + sizeof WET_SUBSTANCES_FILE + 1 > sizeof path)
		return WET_OK; /* the shelf tells of such a folder */
	wet_text_format(path, sizeof path, "%s/%s", dir, WET_SUBSTANCES_FILE);
	int rc = wet_shelf_read_file(path, FILE_BYTES, &text, &n, &fault);
	if (rc == WET_ERR_NOT_FOUND)
		return WET_OK;
	if (rc == 0) {
		rc = wet_substances_decode(text, n, path, &f->table, &fault);
		free(text);
	}
	f->has_table = rc == 0;
	if (rc != 0 && rc != WET_ERR_NOMEM)
		add_fault(f, &fault);
	return rc == WET_ERR_NOMEM ? rc : WET_OK;
}

static int make_canonical(const char *text, size_t n, struct wet_formulary_item *item)
{
	json_t *root = NULL;
	int rc = wet_reader_parse(text, n, FILE_BYTES, &root, NULL);
	if (rc != 0)
		return rc;
	item->json = wet_reader_canonical(root, &item->json_bytes);
	json_decref(root);
	return item->json != NULL ? WET_OK : WET_ERR_NOMEM;
}

static int load_item(const struct wet_formulary *f, struct wet_formulary_item *item, struct wet_fault *fault)
{
	char stem[WET_NAME_BYTES], *text;
	size_t n;
	int rc = wet_shelf_read_file(item->path, FILE_BYTES, &text, &n, fault);
	if (rc != 0)
		return rc;
	rc = wet_formula_decode(text, n, item->path, &f->table, &item->formula, fault);
	if (rc == 0 &&
		(!wet_shelf_stem(item->path, stem, sizeof stem) || strcmp(stem, item->formula.name) != 0)) {
		rc = wet_fault_set(fault, WET_ERR_INVALID, "/name", item->formula.name, "the name of its file");
		wet_where_prefix(fault, item->path, "#");
	}
	if (rc == 0)
		rc = make_canonical(text, n, item);
	free(text);
	return rc;
}

static int take_file(struct wet_formulary *f, const char *dir, const char *file)
{
	struct wet_fault fault = { 0 };
	if (f->name_count == ITEMS_MAX || strlen(dir) + strlen(file) + sizeof FOLDER + 2 > PATH_BYTES ||
		strlen(file) >= WET_NAME_BYTES) {
		wet_fault_set(&fault, WET_ERR_TOO_LONG, file, NULL,
					  "at most %d formulas, names of %d and paths of %d bytes", ITEMS_MAX, WET_NAME_BYTES - 1,
					  PATH_BYTES - 1);
		add_fault(f, &fault);
		return WET_OK;
	}
	if (!is_new(f, file))
		return WET_OK;
	struct wet_formulary_item *item = calloc(1, sizeof *item);
	if (item == NULL)
		return WET_ERR_NOMEM;
	wet_text_format(item->path, sizeof item->path, "%s/" FOLDER "/%s", dir, file);
	int rc = load_item(f, item, &fault);
	if (rc == 0) {
		add_item(f, item);
		return WET_OK;
	}
	free_item(item);
	if (rc != WET_ERR_NOMEM)
		add_fault(f, &fault);
	return rc == WET_ERR_NOMEM ? rc : WET_OK;
}

static int take_folder(struct wet_formulary *f, const char *dir)
{
	char path[PATH_BYTES];
	struct dirent **entries;
	struct wet_fault fault = { 0 };
	if (strlen(dir) + sizeof FOLDER + 1 > sizeof path)
		return WET_OK;
	wet_text_format(path, sizeof path, "%s/" FOLDER, dir);
	int n = scandir(path, &entries, wet_shelf_is_item, alphasort), rc = WET_OK;
	if (n < 0 && errno == ENOMEM)
		return WET_ERR_NOMEM;
	if (n < 0 && errno != ENOENT && errno != ENOTDIR) {
		wet_fault_set(&fault, errno == EACCES ? WET_ERR_PERMISSION : WET_ERR_IO, path, NULL,
					  "a folder that can be read");
		add_fault(f, &fault);
	}
	if (n < 0)
		return WET_OK;
	for (int i = 0; i < n; i++) {
		if (rc == 0)
			rc = take_file(f, dir, entries[i]->d_name);
		free(entries[i]);
	}
	free(entries);
	return rc;
}

int wet_formulary_open(struct wet_formulary **ret_formulary, const char *const *recipe_dirs)
{
	struct wet_formulary *f = calloc(1, sizeof *f);
	int rc = f != NULL ? WET_OK : WET_ERR_NOMEM;
	for (size_t i = 0; rc == 0 && recipe_dirs[i] != NULL && !f->has_table && f->fault_count == 0; i++)
		rc = load_table(f, recipe_dirs[i]);
	if (rc == 0 && !f->has_table && f->fault_count == 0 && recipe_dirs[0] != NULL) {
		struct wet_fault fault = { 0 };
		wet_fault_set(&fault, WET_ERR_NOT_FOUND, WET_SUBSTANCES_FILE, NULL,
					  "a file of that name in a folder of recipes: without it there are no formulas");
		add_fault(f, &fault);
	}
	for (size_t i = 0; rc == 0 && recipe_dirs[i] != NULL && f->has_table; i++)
		rc = take_folder(f, recipe_dirs[i]);
	if (rc != 0) {
		wet_formulary_free(f);
		return rc;
	}
	*ret_formulary = f;
	return WET_OK;
}

void wet_formulary_free(struct wet_formulary *formulary)
{
	if (formulary == NULL)
		return;
	for (size_t i = 0; i < formulary->count; i++)
		free_item(formulary->items[i]);
	free(formulary);
}

const struct wet_substances *wet_formulary_substances(const struct wet_formulary *formulary)
{
	return &formulary->table;
}

size_t wet_formulary_count(const struct wet_formulary *formulary)
{
	return formulary->count;
}

const struct wet_formulary_item *wet_formulary_at(const struct wet_formulary *formulary, size_t i)
{
	return i < formulary->count ? formulary->items[i] : NULL;
}

const struct wet_formulary_item *wet_formulary_find(const struct wet_formulary *formulary, const char *name)
{
	for (size_t i = 0; i < formulary->count; i++) {
		if (strcmp(formulary->items[i]->formula.name, name) == 0)
			return formulary->items[i];
	}
	return NULL;
}

size_t wet_formulary_fault_count(const struct wet_formulary *formulary)
{
	return formulary->fault_count;
}

const struct wet_fault *wet_formulary_fault_of(const struct wet_formulary *formulary, const char *name)
{
	char mark[WET_NAME_BYTES + 16];
	wet_text_format(mark, sizeof mark, "/%s.json", name);
	for (size_t i = 0; i < formulary->fault_count; i++) {
		const char *at = strstr(formulary->faults[i].where, mark);
		if (at && (at[strlen(mark)] == '#' || at[strlen(mark)] == ':' || at[strlen(mark)] == '\0'))
			return &formulary->faults[i];
	}
	return NULL;
}

const struct wet_fault *wet_formulary_fault(const struct wet_formulary *formulary, size_t i)
{
	return i < formulary->fault_count ? &formulary->faults[i] : NULL;
}
