#include "wire/place.h"

#include "base/text.h"
#include "wetside/limits.h"

#include <errno.h>
#include <limits.h>
#include <pwd.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* The value of a variable that holds an absolute path, or NULL. */
static const char *absolute_env(const char *name)
{
	const char *value = getenv(name);

	return value && value[0] == '/' ? value : NULL;
}

static int join(char *ret_path, size_t path_bytes, const char *first, const char *rest,
				struct wet_fault *reterr)
{
	size_t first_n = strlen(first), rest_n = strlen(rest);

	if (first_n + rest_n >= path_bytes)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, first, NULL, "at most %zu bytes together with %s",
							 path_bytes > 0 ? path_bytes - 1 : 0, rest);
	memcpy(ret_path, first, first_n);
	memcpy(ret_path + first_n, rest, rest_n + 1);
	return 0;
}

/* The home folder by $HOME, else by the user database. */
static int find_home(char *ret_path, size_t path_bytes, struct wet_fault *reterr)
{
	const char *home = absolute_env("HOME");
	struct passwd entry, *found = NULL;
	char names[2048];

	if (home)
		return join(ret_path, path_bytes, home, "", reterr);
	if (getpwuid_r(geteuid(), &entry, names, sizeof names, &found) == 0 && found && found->pw_dir[0] == '/')
		return join(ret_path, path_bytes, found->pw_dir, "", reterr);
	return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "HOME", NULL, "an absolute path in HOME");
}

static int find_place(const char *variable, const char *under_home, const char *rest, char *ret_path,
					  size_t path_bytes, struct wet_fault *reterr)
{
	const char *base = absolute_env(variable);
	char home[PATH_MAX];
	int rc;

	if (base)
		return join(ret_path, path_bytes, base, rest, reterr);
	if ((rc = find_home(home, sizeof home, reterr)) != 0)
		return rc;
	if (strlen(home) + strlen(under_home) >= sizeof home)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "HOME", NULL, "a shorter path");
	(void)wet_text_append(home, sizeof home, "%s", under_home);
	return join(ret_path, path_bytes, home, rest, reterr);
}

int wet_place_state_dir(char *ret_path, size_t path_bytes, struct wet_fault *reterr)
{
	return find_place("XDG_STATE_HOME", "/.local/state", "/wetside", ret_path, path_bytes, reterr);
}

int wet_place_config(char *ret_path, size_t path_bytes, struct wet_fault *reterr)
{
	return find_place("XDG_CONFIG_HOME", "/.config", "/wetside/config.json", ret_path, path_bytes, reterr);
}

int wet_place_data(char *ret_path, size_t path_bytes, struct wet_fault *reterr)
{
	return find_place("XDG_DATA_HOME", "/.local/share", "/wetside/recipes", ret_path, path_bytes, reterr);
}

int wet_place_cache_dir(char *ret_path, size_t path_bytes, struct wet_fault *reterr)
{
	return find_place("XDG_CACHE_HOME", "/.cache", "/wetside", ret_path, path_bytes, reterr);
}

static bool is_own_dir(const char *path)
{
	struct stat status;

	return lstat(path, &status) == 0 && S_ISDIR(status.st_mode) && status.st_uid == geteuid();
}

int wet_place_socket(char *ret_path, size_t path_bytes, struct wet_fault *reterr)
{
	size_t bytes = path_bytes < WET_SOCKET_PATH_BYTES ? path_bytes : WET_SOCKET_PATH_BYTES;
	const char *base = absolute_env("XDG_RUNTIME_DIR");
	char folder[PATH_MAX];
	int rc;

	if (base)
		return join(ret_path, bytes, base, "/wetside/socket", reterr);
	(void)wet_text_format(folder, sizeof folder, "/run/user/%lu", (unsigned long)geteuid());
	if (is_own_dir(folder))
		return join(ret_path, bytes, folder, "/wetside/socket", reterr);
	base = absolute_env("TMPDIR");
	if (!base)
		base = "/tmp";
	if (strlen(base) >= WET_SOCKET_PATH_BYTES)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "TMPDIR", NULL, "a path of at most %d bytes",
							 WET_SOCKET_PATH_BYTES - 1);
	(void)wet_text_format(folder, sizeof folder, "%s/wetside-%lu", base, (unsigned long)geteuid());
	/* Anyone can make that name there first: an existing folder must be ours and closed to others. */
	rc = wet_place_check_dir(folder, 0700, reterr);
	if (rc != 0 && rc != WET_ERR_NOT_FOUND)
		return rc;
	return join(ret_path, bytes, folder, "/socket", reterr);
}

/* -- folders -------------------------------------------------------------- */

static int copy_without_slashes(char dst[PATH_MAX], const char *path, struct wet_fault *reterr)
{
	size_t n = strlen(path);

	while (n > 1 && path[n - 1] == '/')
		n--; /* lstat of "folder/" would follow a link */
	if (n == 0 || n >= PATH_MAX)
		return wet_fault_set(reterr, n == 0 ? WET_ERR_INVALID : WET_ERR_TOO_LONG, "", path,
							 "a path of 1 to %d bytes", PATH_MAX - 1);
	memcpy(dst, path, n);
	dst[n] = '\0';
	return 0;
}

int wet_place_check_dir(const char *path, unsigned allowed_mode, struct wet_fault *reterr)
{
	char folder[PATH_MAX], found[64];
	struct stat status;
	int rc;

	if ((rc = copy_without_slashes(folder, path, reterr)) != 0)
		return rc;
	if (lstat(folder, &status) != 0)
		return wet_fault_set(reterr,
							 errno == ENOENT   ? WET_ERR_NOT_FOUND
							 : errno == EACCES ? WET_ERR_PERMISSION
											   : WET_ERR_IO,
							 folder, strerror(errno), "a folder");
	if (!S_ISDIR(status.st_mode))
		return wet_fault_set(reterr, WET_ERR_INVALID, folder,
							 S_ISLNK(status.st_mode) ? "a symbolic link" : "something else", "a folder");
	(void)wet_text_format(found, sizeof found, "owner %lu, mode %04o", (unsigned long)status.st_uid,
						  (unsigned)status.st_mode & 07777u);
	if (status.st_uid != geteuid())
		return wet_fault_set(reterr, WET_ERR_PERMISSION, folder, found, "a folder owned by user %lu",
							 (unsigned long)geteuid());
	if (((unsigned)status.st_mode & 0777u & ~allowed_mode) != 0 || (status.st_mode & 0700) != 0700)
		return wet_fault_set(reterr, WET_ERR_PERMISSION, folder, found, "mode %04o: chmod %o %s",
							 allowed_mode, allowed_mode, folder);
	return 0;
}

int wet_place_make_dir(const char *path, unsigned mode, struct wet_fault *reterr)
{
	char folder[PATH_MAX];
	int rc;

	if ((rc = copy_without_slashes(folder, path, reterr)) != 0)
		return rc;
	for (char *slash = strchr(folder + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
		*slash = '\0';
		/* EROFS and EACCES too can stand for a folder that is there: what counts is the last one. */
		(void)mkdir(folder, 0700);
		*slash = '/';
	}
	if (mkdir(folder, mode) == 0) {
		/* A hard umask may have taken our own rights, or those of the group. Nobody else can have put another
		 * thing in its place except in a folder without the sticky bit, and the check below would see it. */
		if (chmod(folder, mode) != 0)
			return wet_fault_set(reterr, WET_ERR_IO, folder, strerror(errno), "mode %04o", mode);
	} else if (errno != EEXIST) {
		int err = errno == EACCES || errno == EPERM ? WET_ERR_PERMISSION
				  : errno == EROFS                  ? WET_ERR_READONLY
				  : errno == ENOSPC                 ? WET_ERR_FULL
													: WET_ERR_IO;

		return wet_fault_set(reterr, err, folder, strerror(errno), "a place where this folder can be made");
	}
	return wet_place_check_dir(folder, mode, reterr);
}

int wet_place_make_private_dir(const char *path, struct wet_fault *reterr)
{
	return wet_place_make_dir(path, 0700, reterr);
}
