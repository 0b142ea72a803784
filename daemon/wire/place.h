/* place.h: where things are, for the daemon and the client alike. Follows the XDG Base Directory
 * Specification 0.8: a variable that is unset, empty or not an absolute path does not count. Nothing is made
 * here except by the one function that says so. */
#ifndef WET_PLACE_H
#define WET_PLACE_H

#include "wetside/errors.h"

#include <stddef.h>

/* The socket: $XDG_RUNTIME_DIR/wetside/socket; else /run/user/UID/wetside/socket if /run/user/UID is a folder
 * of ours; else wetside-UID/socket in $TMPDIR or /tmp, refused (WET_ERR_PERMISSION) when that folder exists
 * and is not a private one of ours. WET_ERR_TOO_LONG when it does not fit a socket address or the buffer. */
int wet_place_socket(char *ret_path, size_t path_bytes, struct wet_fault *reterr);
/* The ledger's folder: $XDG_STATE_HOME/wetside, else ~/.local/state/wetside. */
int wet_place_state_dir(char *ret_path, size_t path_bytes, struct wet_fault *reterr);
/* The configuration file: $XDG_CONFIG_HOME/wetside/config.json, else ~/.config/wetside/config.json. */
int wet_place_config(char *ret_path, size_t path_bytes, struct wet_fault *reterr);
/* Own recipes: $XDG_DATA_HOME/wetside/recipes, else ~/.local/share/wetside/recipes. */
int wet_place_data(char *ret_path, size_t path_bytes, struct wet_fault *reterr);

/* What can be lost: $XDG_CACHE_HOME/wetside, else ~/.cache/wetside. */
int wet_place_cache_dir(char *ret_path, size_t path_bytes, struct wet_fault *reterr);

/* Is `path` a folder (no symbolic link), owned by us, with all rights for us and, outside `allowed_mode`
 * (0700, or 0750 for a system service), none for others? WET_ERR_NOT_FOUND, WET_ERR_PERMISSION,
 * WET_ERR_INVALID, WET_ERR_IO. */
int wet_place_check_dir(const char *path, unsigned allowed_mode, struct wet_fault *reterr);
/* Makes the folder, and missing ones above it, with mode 0700, then checks it as above. */
int wet_place_make_private_dir(const char *path, struct wet_fault *reterr);
/* The same with another mode for the last folder. */
int wet_place_make_dir(const char *path, unsigned mode, struct wet_fault *reterr);

#endif
