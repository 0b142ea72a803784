/* shelf.c: folders of recipes and notes -> the shelf. */
#include "shelf/shelf.h"

#include "base/text.h"
#include "shelf/files.h"
#include "shelf/formulary.h"
#include "shelf/note.h"
#include "shelf/reader.h"
#include "shelf/where.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define FILES_MAX 1024 /* of one folder; a school has a few dozen recipes */
#define FORMULA_DIRS 8 /* folders of recipes the daemon takes, and its own */
#define PATH_BYTES 256 /* as in struct wet_shelf_recipe */

struct wet_shelf {
	struct wet_shelf_recipe **recipes; /* sorted by name */
	size_t count, room;
	struct wet_fault *faults;
	size_t fault_count, fault_room;
	char **names; /* file names met so far, without folder: an earlier folder's file hides a later one */
	size_t name_count, name_room;
	struct wet_safety *safety; /* what notes take from elsewhere */
	struct wet_formulary *formulary;
};

/* -- lists ---------------------------------------------------------------------- */

/* The list with room for one more element, perhaps moved; NULL when memory ran out (the old one stays
 * valid). */
static void *grown(void *list, size_t count, size_t *room, size_t element_bytes)
{
	if (count < *room)
		return list;
	size_t more = *room > 0 ? *room * 2 : 16;
	void *bigger = reallocarray(list, more, element_bytes);
	if (bigger != NULL)
		*room = more;
	return bigger;
}

static int add_fault(struct wet_shelf *shelf, const struct wet_fault *fault)
{
	struct wet_fault *list = grown(shelf->faults, shelf->fault_count, &shelf->fault_room, sizeof *list);
	if (list == NULL)
		return WET_ERR_NOMEM;
	shelf->faults = list;
	shelf->faults[shelf->fault_count++] = *fault;
	return WET_OK;
}

static int add_name(struct wet_shelf *shelf, const char *name)
{
	char **list = grown(shelf->names, shelf->name_count, &shelf->name_room, sizeof *list);
	if (list == NULL)
		return WET_ERR_NOMEM;
	shelf->names = list;
	char *copy = strdup(name);
	if (copy == NULL)
		return WET_ERR_NOMEM;
	shelf->names[shelf->name_count++] = copy;
	return WET_OK;
}

static bool has_name(const struct wet_shelf *shelf, const char *name)
{
	for (size_t i = 0; i < shelf->name_count; i++) {
		if (strcmp(shelf->names[i], name) == 0)
			return true;
	}
	return false;
}

static void free_recipe(struct wet_shelf_recipe *item)
{
	if (item == NULL)
		return;
	free(item->json);
	free(item->note);
	free(item->note_sources);
	free(item->note_json);
	free(item);
}

static int add_recipe(struct wet_shelf *shelf, struct wet_shelf_recipe *item)
{
	struct wet_shelf_recipe **list = grown(shelf->recipes, shelf->count, &shelf->room, sizeof *list);
	if (list == NULL)
		return WET_ERR_NOMEM;
	shelf->recipes = list;
	size_t at = shelf->count;
	while (at > 0 && strcmp(shelf->recipes[at - 1]->recipe.name, item->recipe.name) > 0) {
		shelf->recipes[at] = shelf->recipes[at - 1];
		at--;
	}
	shelf->recipes[at] = item;
	shelf->count++;
	return WET_OK;
}

/* -- files ------------------------------------------------------------------------ */

static int fail_io(const char *path, int error, struct wet_fault *fault)
{
	int err = error == ENOENT   ? WET_ERR_NOT_FOUND
			  : error == EACCES ? WET_ERR_PERMISSION
			  : error == ENOMEM ? WET_ERR_NOMEM
								: WET_ERR_IO;
	wet_fault_set(fault, err, "", NULL, "a file that can be read");
	if (fault != NULL)
		wet_where_prefix(fault, path, "");
	return err;
}

static int read_all(int fd, char *buf, size_t bytes, size_t *ret_n)
{
	size_t n = 0;
	while (n < bytes) {
		ssize_t got = read(fd, buf + n, bytes - n);
		if (got < 0 && errno == EINTR)
			continue;
		if (got < 0)
			return errno;
		if (got == 0)
			break;
		n += (size_t)got;
	}
	*ret_n = n;
	return 0;
}

int wet_shelf_read_file(const char *path, size_t bytes_max, char **ret_text, size_t *ret_bytes,
						struct wet_fault *fault)
{
	struct stat st;
	char *text = NULL;
	size_t n = 0;
	int error = 0;
	/* Not blocking: a pipe of that name must not hang the daemon. */
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
	if (fd < 0)
		return fail_io(path, errno, fault);
	if (fstat(fd, &st) != 0)
		error = errno;
	else if (!S_ISREG(st.st_mode))
		error = EINVAL;
	else if ((text = malloc(bytes_max + 1)) == NULL)
		error = ENOMEM;
	else
		error = read_all(fd, text, bytes_max + 1, &n);
	(void)close(fd);
	if (error != 0) {
		free(text);
		return fail_io(path, error, fault);
	}
	*ret_text = text;
	*ret_bytes = n;
	return WET_OK;
}

bool wet_shelf_stem(const char *path, char *stem, size_t stem_bytes)
{
	const char *slash = strrchr(path, '/');
	const char *file = slash != NULL ? slash + 1 : path;
	size_t n = strlen(file);
	if (n <= 5 || strcmp(file + n - 5, ".json") != 0 || n - 5 >= stem_bytes)
		return false;
	memcpy(stem, file, n - 5);
	stem[n - 5] = '\0';
	return true;
}

/* The note of a recipe from the first folder that has a file for it. */
static int load_note(const struct wet_recipe *recipe, const char *const *safety_dirs,
					 const struct note_reference *about, struct note *ret_note, struct wet_fault *fault)
{
	char path[PATH_BYTES + WET_NAME_BYTES];
	char *text;
	size_t n;
	for (size_t i = 0; safety_dirs != NULL && safety_dirs[i] != NULL; i++) {
		if (strlen(safety_dirs[i]) >= PATH_BYTES - 8)
			continue;
		wet_text_format(path, sizeof path, "%s/%s.json", safety_dirs[i], recipe->name);
		int rc = wet_shelf_read_file(path, NOTE_FILE_BYTES, &text, &n, fault);
		if (rc == WET_ERR_NOT_FOUND)
			continue;
		if (rc != 0)
			return rc;
		rc = wet_note_read(text, n, path, recipe, about, ret_note, fault);
		free(text);
		return rc;
	}
	wet_text_format(path, sizeof path, "%s.json", recipe->name);
	return wet_fault_set(fault, WET_ERR_NOTE_MISSING, path, NULL,
						 "a safety note of this name in the folder of notes");
}

/* The canonical text: what a run freezes, and what the hash is of. */
static int make_canonical(const char *text, size_t n, struct wet_shelf_recipe *item)
{
	json_t *root = NULL;
	int rc = wet_reader_parse(text, n, WET_RECIPE_FILE_BYTES, &root, NULL);
	if (rc != 0)
		return rc;
	item->json = wet_reader_canonical(root, &item->json_bytes);
	json_decref(root);
	if (item->json == NULL)
		return WET_ERR_NOMEM;
	wet_shelf_hash(item->json, item->json_bytes, item->hash);
	return WET_OK;
}

static int load_into(const char *path, const char *const *safety_dirs, const struct note_reference *about,
					 struct wet_shelf_recipe *item, struct wet_fault *fault)
{
	char *text;
	size_t n;
	char stem[WET_NAME_BYTES];
	struct note note = { 0 };
	int rc = wet_shelf_read_file(path, WET_RECIPE_FILE_BYTES, &text, &n, fault);
	if (rc != 0)
		return rc;
	rc = wet_recipe_decode(text, n, path, &item->recipe, fault);
	if (rc == 0 && (!wet_shelf_stem(path, stem, sizeof stem) || strcmp(stem, item->recipe.name) != 0)) {
		wet_fault_set(fault, WET_ERR_INVALID, "/name", item->recipe.name, "the name of its file");
		wet_where_prefix(fault, path, "#");
		rc = WET_ERR_INVALID;
	}
	if (rc == 0 && (rc = make_canonical(text, n, item)) != 0)
		wet_fault_set(fault, rc, path, NULL, "more memory");
	free(text);
	if (rc == 0 && (rc = load_note(&item->recipe, safety_dirs, about, &note, fault)) == 0) {
		item->note = note.text;
		item->note_sources = note.sources;
		item->note_json = note.json;
		item->recipe.needs_acknowledgement = note.needs_acknowledgement;
	}
	wet_text_copy(item->path, sizeof item->path, path);
	return rc;
}

static int load_file(const char *path, const char *const *safety_dirs, const struct note_reference *about,
					 struct wet_shelf_recipe **ret_item, struct wet_fault *fault)
{
	struct wet_shelf_recipe *item = calloc(1, sizeof *item);
	if (item == NULL)
		return wet_fault_set(fault, WET_ERR_NOMEM, path, NULL, "more memory");
	int rc = load_into(path, safety_dirs, about, item, fault);
	if (rc != 0) {
		free_recipe(item);
		return rc;
	}
	*ret_item = item;
	return WET_OK;
}

/* -- the shelf ----------------------------------------------------------------------- */

int wet_shelf_is_item(const struct dirent *entry)
{
	size_t n = strlen(entry->d_name);
	bool is_json = n > 5 && strcmp(entry->d_name + n - 5, ".json") == 0;
	bool is_schema = n > 12 && strcmp(entry->d_name + n - 12, ".schema.json") == 0;
	return is_json && !is_schema && entry->d_name[0] != '.' && strcmp(entry->d_name, WET_SUBSTANCES_FILE) != 0;
}

static bool warns(const struct wet_judgement *j)
{
	return j->caution_count > 0 && j->cautions[0].severity >= WET_SEVERITY_WARN;
}

/* By what its formulas hold. */
static void judge(const struct wet_shelf *shelf, struct wet_shelf_recipe *item)
{
	struct wet_judgement stale;
	wet_judge_recipe(&item->recipe, shelf->formulary, shelf->safety, false, &item->judged);
	wet_judge_recipe(&item->recipe, shelf->formulary, shelf->safety, true, &stale);
	item->recipe.needs_acknowledgement |= warns(&item->judged);
	item->warns_in_stale_air = warns(&stale);
}

/* One file: a recipe more, a fault more, or nothing where an earlier folder has the name. */
static int take_file(struct wet_shelf *shelf, const char *dir, const char *file,
					 const char *const *safety_dirs)
{
	char path[PATH_BYTES];
	struct wet_fault fault = { 0 };
	struct wet_shelf_recipe *item = NULL;
	if (has_name(shelf, file))
		return WET_OK;
	int rc = add_name(shelf, file);
	if (rc != 0)
		return rc;
	if (strlen(dir) + strlen(file) + 2 > sizeof path) {
		wet_fault_set(&fault, WET_ERR_TOO_LONG, file, dir, "a path of at most %zu bytes", sizeof path - 1);
		return add_fault(shelf, &fault);
	}
	wet_text_format(path, sizeof path, "%s/%s", dir, file);
	const struct note_reference about = { shelf->safety, shelf->formulary };
	rc = load_file(path, safety_dirs, &about, &item, &fault);
	if (rc == WET_ERR_NOMEM)
		return rc;
	if (rc != 0)
		return add_fault(shelf, &fault);
	judge(shelf, item);
	rc = add_recipe(shelf, item);
	if (rc != 0)
		free_recipe(item);
	return rc;
}

static int take_folder(struct wet_shelf *shelf, const char *dir, const char *const *safety_dirs)
{
	struct dirent **entries;
	struct wet_fault fault = { 0 };
	int n = scandir(dir, &entries, wet_shelf_is_item, alphasort);
	if (n < 0) {
		if (errno == ENOENT || errno == ENOTDIR)
			return WET_OK;
		int rc = fail_io(dir, errno, &fault);
		return rc == WET_ERR_NOMEM ? rc : add_fault(shelf, &fault);
	}
	int rc = WET_OK;
	for (int i = 0; i < n; i++) {
		if (rc == 0 && i < FILES_MAX)
			rc = take_file(shelf, dir, entries[i]->d_name, safety_dirs);
		free(entries[i]);
	}
	free(entries);
	if (rc == 0 && n > FILES_MAX) {
		wet_fault_set(&fault, WET_ERR_TOO_MANY, dir, NULL, "at most %d recipes in a folder", FILES_MAX);
		rc = add_fault(shelf, &fault);
	}
	return rc;
}

int wet_shelf_open(struct wet_shelf **ret_shelf, const char *const *recipe_dirs,
				   const char *const *safety_dirs)
{
	struct wet_shelf *shelf = calloc(1, sizeof *shelf);
	if (shelf == NULL)
		return WET_ERR_NOMEM;
	if (wet_safety_open(&shelf->safety, safety_dirs) != 0 || wet_formulary_open(&shelf->formulary, recipe_dirs) != 0) {
		wet_shelf_free(shelf);
		return WET_ERR_NOMEM;
	}
	for (size_t i = 0; recipe_dirs != NULL && recipe_dirs[i] != NULL; i++) {
		int rc = take_folder(shelf, recipe_dirs[i], safety_dirs);
		if (rc != 0) {
			wet_shelf_free(shelf);
			return rc;
		}
	}
	*ret_shelf = shelf;
	return WET_OK;
}

void wet_shelf_free(struct wet_shelf *shelf)
{
	if (shelf == NULL)
		return;
	for (size_t i = 0; i < shelf->count; i++)
		free_recipe(shelf->recipes[i]);
	for (size_t i = 0; i < shelf->name_count; i++)
		free(shelf->names[i]);
	free(shelf->recipes);
	free(shelf->names);
	free(shelf->faults);
	wet_safety_free(shelf->safety);
	wet_formulary_free(shelf->formulary);
	free(shelf);
}

size_t wet_shelf_count(const struct wet_shelf *shelf)
{
	return shelf->count;
}

const struct wet_shelf_recipe *wet_shelf_at(const struct wet_shelf *shelf, size_t i)
{
	return i < shelf->count ? shelf->recipes[i] : NULL;
}

const struct wet_shelf_recipe *wet_shelf_find(const struct wet_shelf *shelf, const char *name)
{
	for (size_t i = 0; i < shelf->count; i++) {
		if (strcmp(shelf->recipes[i]->recipe.name, name) == 0)
			return shelf->recipes[i];
	}
	return NULL;
}

size_t wet_shelf_fault_count(const struct wet_shelf *shelf)
{
	return shelf->fault_count;
}

const struct wet_fault *wet_shelf_fault(const struct wet_shelf *shelf, size_t i)
{
	return i < shelf->fault_count ? &shelf->faults[i] : NULL;
}

const struct wet_safety *wet_shelf_safety(const struct wet_shelf *shelf)
{
	return shelf->safety;
}

const struct wet_formulary *wet_shelf_formulary(const struct wet_shelf *shelf)
{
	return shelf->formulary;
}

/* One file; its formulas are those beside it, then those of the folders. */
static int load_alone(const char *path, const char *const *recipe_dirs, const char *const *safety_dirs,
					  struct wet_shelf_recipe **ret_item, struct wet_fault *reterr)
{
	char dir[PATH_BYTES];
	const char *slash = strrchr(path, '/');
	const char *dirs[FORMULA_DIRS + 2] = { dir, NULL };
	struct wet_safety *safety = NULL;
	struct wet_formulary *formulary = NULL;
	int rc;
	if (slash != NULL && (size_t)(slash - path) >= sizeof dir)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, path, NULL, "a path of fewer than %d bytes", PATH_BYTES);
	for (int i = 0; recipe_dirs != NULL && i < FORMULA_DIRS && recipe_dirs[i] != NULL; i++)
		dirs[i + 1] = recipe_dirs[i];
	wet_text_format(dir, sizeof dir, "%.*s", slash != NULL ? (int)(slash - path) : 1, slash != NULL ? path : ".");
	if (wet_safety_open(&safety, safety_dirs) != 0 || wet_formulary_open(&formulary, dirs) != 0) {
		rc = wet_fault_set(reterr, WET_ERR_NOMEM, path, NULL, "more memory");
	} else {
		const struct note_reference about = { safety, formulary };
		rc = load_file(path, safety_dirs, &about, ret_item, reterr);
	}
	wet_safety_free(safety);
	wet_formulary_free(formulary);
	return rc;
}

int wet_shelf_note_of_file(const char *path, const char *const *recipe_dirs, const char *const *safety_dirs,
						   char **ret_text, struct wet_fault *reterr)
{
	struct wet_shelf_recipe *item = NULL;
	int rc = load_alone(path, recipe_dirs, safety_dirs, &item, reterr);
	if (rc == 0) {
		*ret_text = item->note;
		item->note = NULL;
		free_recipe(item);
	}
	return rc;
}

int wet_shelf_check_file(const char *path, const char *const *recipe_dirs, const char *const *safety_dirs,
						 struct wet_fault *reterr)
{
	struct wet_shelf_recipe *item = NULL;
	int rc = load_alone(path, recipe_dirs, safety_dirs, &item, reterr);
	if (rc == 0)
		free_recipe(item);
	return rc;
}
