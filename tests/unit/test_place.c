/* Where things are, and which folders are private enough. Source of the rules for the variables: XDG Base
 * Directory Specification 0.8 (freedesktop.org): unset or empty means the default, a relative path is
 * ignored. */
#include "wetside/limits.h"
#include "wire/place.h"

#include <criterion/criterion.h>
#include <errno.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char dir[64];

static int remove_one(const char *path, const struct stat *status, int type, struct FTW *at)
{
	(void)status;
	(void)type;
	(void)at;
	return remove(path);
}

static void make_temporary(void)
{
	snprintf(dir, sizeof dir, "/tmp/wet_place_XXXXXX");
	if (!mkdtemp(dir))
		abort();
	umask(022);
	unsetenv("XDG_RUNTIME_DIR");
	unsetenv("XDG_STATE_HOME");
	unsetenv("XDG_CONFIG_HOME");
	unsetenv("XDG_DATA_HOME");
	setenv("TMPDIR", dir, 1);
}

static void remove_temporary(void)
{
	(void)nftw(dir, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

TestSuite(place, .init = make_temporary, .fini = remove_temporary);

static char *path_of(const char *name)
{
	static char path[4][256];
	static int turn;
	char *at = path[turn++ % 4];

	snprintf(at, 256, "%s/%s", dir, name);
	return at;
}

static unsigned mode_of(const char *path)
{
	struct stat status;

	cr_assert_eq(lstat(path, &status), 0, "%s: %s", path, strerror(errno));
	return (unsigned)status.st_mode & 07777u;
}

Test(place, the_variables_come_first)
{
	char path[256];
	struct wet_fault fault = { 0 };

	setenv("XDG_RUNTIME_DIR", "/run/x", 1);
	setenv("XDG_STATE_HOME", "/s", 1);
	setenv("XDG_CONFIG_HOME", "/c", 1);
	setenv("XDG_DATA_HOME", "/d", 1);
	cr_expect_eq(wet_place_socket(path, sizeof path, &fault), 0);
	cr_expect_str_eq(path, "/run/x/wetside/socket");
	cr_expect_eq(wet_place_state_dir(path, sizeof path, &fault), 0);
	cr_expect_str_eq(path, "/s/wetside");
	cr_expect_eq(wet_place_config(path, sizeof path, &fault), 0);
	cr_expect_str_eq(path, "/c/wetside/config.json");
	cr_expect_eq(wet_place_data(path, sizeof path, &fault), 0);
	cr_expect_str_eq(path, "/d/wetside/recipes");
}

Test(place, an_unset_empty_or_relative_variable_means_the_default)
{
	static const char *const values[] = { NULL, "", "relative/path", "./x" };
	char path[256];

	setenv("HOME", "/h/creek", 1);
	for (size_t i = 0; i < 4; i++) {
		if (values[i]) {
			setenv("XDG_STATE_HOME", values[i], 1);
			setenv("XDG_CONFIG_HOME", values[i], 1);
			setenv("XDG_DATA_HOME", values[i], 1);
		}
		cr_expect_eq(wet_place_state_dir(path, sizeof path, NULL), 0);
		cr_expect_str_eq(path, "/h/creek/.local/state/wetside");
		cr_expect_eq(wet_place_config(path, sizeof path, NULL), 0);
		cr_expect_str_eq(path, "/h/creek/.config/wetside/config.json");
		cr_expect_eq(wet_place_data(path, sizeof path, NULL), 0);
		cr_expect_str_eq(path, "/h/creek/.local/share/wetside/recipes");
	}
}

Test(place, without_a_home_the_user_database_tells)
{
	char path[256];
	struct wet_fault fault = { 0 };
	int rc;

	unsetenv("HOME");
	rc = wet_place_state_dir(path, sizeof path, &fault);
	if (rc == 0)
		cr_expect(path[0] == '/' && strstr(path, "/.local/state/wetside"), "%s", path);
	else
		cr_expect_eq(rc, WET_ERR_NOT_FOUND); /* a user without an entry */
}

Test(place, a_buffer_that_is_too_small_is_an_error_and_untouched)
{
	char path[64] = "before";
	struct wet_fault fault = { 0 };

	setenv("XDG_STATE_HOME", "/s", 1);
	cr_expect_eq(wet_place_state_dir(path, strlen("/s/wetside"), &fault), WET_ERR_TOO_LONG);
	cr_expect_eq(fault.err, WET_ERR_TOO_LONG);
	cr_expect_str_eq(path, "before");
	cr_expect_eq(wet_place_state_dir(path, strlen("/s/wetside") + 1, &fault), 0);
	cr_expect_str_eq(path, "/s/wetside");
}

Test(place, a_socket_path_fits_its_address_or_is_refused)
{
	char base[256], path[512] = "before";
	size_t longest = WET_SOCKET_PATH_BYTES - 1 - strlen("/wetside/socket");

	memset(base, 'a', sizeof base);
	base[0] = '/';
	base[longest] = '\0';
	setenv("XDG_RUNTIME_DIR", base, 1);
	cr_expect_eq(wet_place_socket(path, sizeof path, NULL), 0);
	cr_expect_eq(strlen(path), WET_SOCKET_PATH_BYTES - 1);
	snprintf(path, sizeof path, "before");
	base[longest] = 'a';
	base[longest + 1] = '\0';
	setenv("XDG_RUNTIME_DIR", base, 1);
	cr_expect_eq(wet_place_socket(path, sizeof path, NULL), WET_ERR_TOO_LONG);
	cr_expect_str_eq(path, "before");
	unsetenv("XDG_RUNTIME_DIR");
	base[longest + 1] = 'a';
	base[250] = '\0';
	setenv("TMPDIR", base, 1);
	if (access("/run/user", X_OK) != 0 || wet_place_socket(path, sizeof path, NULL) != 0)
		cr_expect_eq(wet_place_socket(path, sizeof path, NULL), WET_ERR_TOO_LONG);
}

/* Whether this machine has /run/user/UID decides; both are right. */
static bool has_run_user(void)
{
	char path[64];
	struct stat status;

	snprintf(path, sizeof path, "/run/user/%lu", (unsigned long)geteuid());
	return lstat(path, &status) == 0 && S_ISDIR(status.st_mode) && status.st_uid == geteuid();
}

Test(place, without_a_runtime_folder_the_temporary_one_must_be_ours)
{
	char path[256], folder[128], want[256];
	struct wet_fault fault = { 0 };

	if (has_run_user()) {
		cr_expect_eq(wet_place_socket(path, sizeof path, &fault), 0);
		snprintf(want, sizeof want, "/run/user/%lu/wetside/socket", (unsigned long)geteuid());
		cr_expect_str_eq(path, want);
		return;
	}
	snprintf(folder, sizeof folder, "%s/wetside-%lu", dir, (unsigned long)geteuid());
	snprintf(want, sizeof want, "%s/socket", folder);
	cr_expect_eq(wet_place_socket(path, sizeof path, &fault), 0, "not there yet is fine");
	cr_expect_str_eq(path, want);
	cr_assert_eq(mkdir(folder, 0755), 0);
	cr_expect_eq(wet_place_socket(path, sizeof path, &fault), WET_ERR_PERMISSION, "open to others");
	cr_assert_eq(chmod(folder, 0700), 0);
	cr_expect_eq(wet_place_socket(path, sizeof path, &fault), 0);
	cr_assert_eq(rmdir(folder), 0);
	cr_assert_eq(symlink(dir, folder), 0);
	cr_expect_eq(wet_place_socket(path, sizeof path, &fault), WET_ERR_INVALID, "a link set by somebody");
}

/* -- folders ------------------------------------------------------------------- */

Test(place, a_private_folder_is_made_with_those_above_it)
{
	struct wet_fault fault = { 0 };

	cr_expect_eq(wet_place_make_private_dir(path_of("a/b//c/"), &fault), 0, "%s %s", fault.where, fault.want);
	cr_expect_eq(mode_of(path_of("a")), 0700);
	cr_expect_eq(mode_of(path_of("a/b")), 0700);
	cr_expect_eq(mode_of(path_of("a/b/c")), 0700);
	cr_expect_eq(wet_place_make_private_dir(path_of("a/b/c"), &fault), 0, "twice is fine");
	umask(0777);
	cr_expect_eq(wet_place_make_private_dir(path_of("hard"), &fault), 0,
				 "a hard umask takes nothing from us");
	umask(022);
	cr_expect_eq(mode_of(path_of("hard")), 0700);
	cr_expect_eq(wet_place_make_dir(path_of("group"), 0750, &fault), 0);
	cr_expect_eq(mode_of(path_of("group")), 0750);
}

Test(place, any_right_of_others_is_refused_and_nothing_is_changed)
{
	static const mode_t modes[] = {
		0701, 0702, 0704, 0710, 0720, 0740, 0755, 0777, 01777, 0600, 0500, 0300, 0
	};

	for (size_t i = 0; i < sizeof modes / sizeof modes[0]; i++) {
		struct wet_fault fault = { 0 };
		char *path = path_of("folder");

		cr_assert_eq(mkdir(path, 0700), 0);
		cr_assert_eq(chmod(path, modes[i]), 0);
		cr_expect_eq(wet_place_make_private_dir(path, &fault), WET_ERR_PERMISSION, "%o", (unsigned)modes[i]);
		cr_expect_eq(fault.err, WET_ERR_PERMISSION);
		cr_expect(strstr(fault.want, "chmod 700 "), "%s", fault.want);
		cr_expect_str_eq(fault.where, path);
		cr_expect_eq(mode_of(path), (unsigned)modes[i], "never repaired behind the owner's back");
		cr_assert_eq(rmdir(path), 0);
	}
}

Test(place, the_sticky_and_group_bits_of_a_mount_do_not_matter)
{
	cr_assert_eq(mkdir(path_of("folder"), 0700), 0);
	cr_assert_eq(chmod(path_of("folder"), 02700), 0); /* set-group-ID is inherited on some file systems */
	cr_expect_eq(wet_place_check_dir(path_of("folder"), 0700, NULL), 0);
}

Test(place, a_link_a_file_or_nothing_is_no_folder)
{
	struct wet_fault fault = { 0 };
	FILE *file = fopen(path_of("file"), "w");

	cr_assert(file);
	fclose(file);
	cr_assert_eq(mkdir(path_of("real"), 0700), 0);
	cr_assert_eq(symlink(path_of("real"), path_of("link")), 0);
	cr_expect_eq(wet_place_make_private_dir(path_of("link"), &fault), WET_ERR_INVALID);
	cr_expect_str_eq(fault.found, "a symbolic link");
	cr_expect_eq(wet_place_make_private_dir(path_of("link/"), &fault), WET_ERR_INVALID,
				 "nor with a slash behind it");
	cr_expect_eq(wet_place_make_private_dir(path_of("link///"), &fault), WET_ERR_INVALID);
	cr_expect_eq(wet_place_make_private_dir(path_of("file"), &fault), WET_ERR_INVALID);
	cr_expect_eq(wet_place_check_dir(path_of("nothing"), 0700, &fault), WET_ERR_NOT_FOUND);
	cr_expect_neq(wet_place_make_private_dir(path_of("file/below"), &fault), 0);
	cr_expect_eq(wet_place_make_private_dir("", &fault), WET_ERR_INVALID);
	cr_assert_eq(symlink(path_of("nowhere"), path_of("dangling")), 0);
	cr_expect_eq(wet_place_make_private_dir(path_of("dangling"), &fault), WET_ERR_INVALID);
	cr_expect_eq(access(path_of("nowhere"), F_OK), -1, "nothing is made through a link");
}

Test(place, a_folder_of_somebody_else_is_refused)
{
	struct wet_fault fault = { 0 };
	char *path = path_of("foreign");

	cr_assert_eq(mkdir(path, 0700), 0);
	if (geteuid() == 0)
		cr_assert_eq(chown(path, 65534, 65534), 0);
	else
		snprintf(path, 2, "/"); /* that of root */
	cr_expect_eq(wet_place_make_private_dir(path, &fault), WET_ERR_PERMISSION);
	cr_expect(strstr(fault.want, "owned by user"), "%s", fault.want);
}
