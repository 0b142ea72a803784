/* keys.c: single keys without echo, and typed lines, for a conversation in the light. The terminal is given back whatever happens. */
#include "client/keys.h"

#include <ctype.h>
#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#define HASTE_MS 200 /* nobody has read a line sooner: a key held down, or pressed twice, answers nothing */

static struct termios saved;
static volatile sig_atomic_t is_set, is_stopped;

static void stop(int signum)
{
	(void)signum;
	is_stopped = 1;
}

void keys_end(void)
{
	if (is_set)
		(void)tcsetattr(STDIN_FILENO, TCSANOW, &saved);
	is_set = 0;
}

bool keys_begin(void)
{
	static const int signals[] = { SIGINT, SIGTERM, SIGHUP, SIGQUIT };
	struct sigaction action;
	if (!isatty(STDIN_FILENO) || tcgetattr(STDIN_FILENO, &saved) != 0)
		return false;
	memset(&action, 0, sizeof action);
	action.sa_handler = stop; /* no SA_RESTART: a wait for a key ends */
	for (size_t i = 0; i < sizeof signals / sizeof signals[0]; i++)
		(void)sigaction(signals[i], &action, NULL);
	(void)signal(SIGTSTP, SIG_IGN);
	(void)atexit(keys_end);
	is_set = 1;
	return true;
}

static void set_mode(bool is_line)
{
	struct termios mode = saved;
	mode.c_iflag &= ~(tcflag_t)(IXON | IXOFF); /* Ctrl-S would stop what is said, and with it the keys */
	mode.c_cc[VEOL] = KEY_ALARM; /* in a line, too, it counts at once */
	mode.c_cc[VEOL2] = KEY_ALARM - 'a' + 'A';
	if (!is_line) {
		mode.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
		mode.c_cc[VMIN] = 1;
		mode.c_cc[VTIME] = 0;
	}
	(void)tcsetattr(STDIN_FILENO, TCSADRAIN, &mode);
}

static int64_t now_ms(void)
{
	struct timespec t;
	(void)clock_gettime(CLOCK_BOOTTIME, &t);
	return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

/* False: the end of it: a signal, or nobody is there any more. */
static bool wait_for_input(void)
{
	struct pollfd fd = { STDIN_FILENO, POLLIN, 0 };
	while (!is_stopped) {
		/* A signal just before the poll is seen a second later at most. */
		int n = poll(&fd, 1, 1000);
		if (n > 0)
			return (fd.revents & POLLIN) != 0;
		if (n < 0 && errno != EINTR)
			return false;
	}
	return false;
}

int keys_next(void)
{
	unsigned char key;
	set_mode(false);
	(void)fflush(stdout);
	int64_t since_ms = now_ms();
	while (wait_for_input()) {
		if (read(STDIN_FILENO, &key, 1) != 1)
			return KEY_END;
		if (now_ms() - since_ms < HASTE_MS)
			continue;
		(void)tcflush(STDIN_FILENO, TCIFLUSH); /* the rest of an arrow key, a second press */
		return key == '\r' ? '\n' : key >= 'A' && key <= 'Z' ? key - 'A' + 'a' : key;
	}
	return KEY_END;
}

/* Not within a word, as in "20 degrees". */
static bool is_alarm(const char *line, size_t n)
{
	return n > 0 && (line[n - 1] | 0x20) == KEY_ALARM && (n == 1 || !isalpha((unsigned char)line[n - 2]));
}

enum keys_line keys_line(char *buf, size_t bytes)
{
	size_t at = 0;
	set_mode(true);
	(void)fflush(stdout);
	while (at + 1 < bytes && wait_for_input()) {
		ssize_t n = read(STDIN_FILENO, buf + at, bytes - 1 - at);
		if (n <= 0)
			return LINE_END;
		at += (size_t)n;
		buf[at] = '\0';
		if (is_alarm(buf, at))
			return LINE_ALARM;
		if (buf[at - 1] == '\n') {
			buf[at - 1] = '\0';
			return LINE_TYPED;
		}
	}
	(void)tcflush(STDIN_FILENO, TCIFLUSH); /* the rest of it is no answer to what is asked next */
	return at + 1 < bytes ? LINE_END : LINE_TYPED;
}
