#include "client/screen.h"

#include "client/palette.h"

#include <curses.h>
#include <langinfo.h>
#include <locale.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <term.h>
#undef columns /* macros of its, over everybody's words */
#undef lines
#include <termios.h>
#include <unistd.h>

/* Prepared before any signal, for what may be called in a handler: write and tcsetattr. */
static struct termios found_mode;
static char goodbye[256];
static size_t goodbye_bytes;
static volatile sig_atomic_t is_begun, is_lit, is_red_lit, was_resized, wants_stop;

static SCREEN *library;
static enum screen_colours colours;
static bool is_unicode, has_pairs;
static bool is_black; /* what stands there was cleared by us, and nothing came after */
static int rows_known, columns_known;

/* -- what a terminal can ------------------------------------------------------------ */

bool screen_is_possible(void)
{
	const char *term = getenv("TERM");
	int rc = 0;
	if (library)
		return true; /* asked anew it would take the mode of now for the page's */
	if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO) || !term || !term[0] || strcmp(term, "dumb") == 0)
		return false;
	return setupterm(term, STDOUT_FILENO, &rc) == OK && tigetstr("cup") && tigetstr("clear") && !tigetflag("hc");
}

static bool wants_colours(void)
{
	const char *no = getenv("NO_COLOR");
	return colours == SCREEN_ALWAYS || (colours == SCREEN_AUTO && !(no && no[0]));
}

bool screen_has_red(enum screen_colours wanted)
{
	colours = wanted;
	return wants_colours() && tigetnum("colors") >= 256;
}

bool screen_is_unicode(void)
{
	return is_unicode;
}

/* -- signals -------------------------------------------------------------------------- */

static void die(int number)
{
	if (is_lit && !is_red_lit && goodbye_bytes > 0)
		(void)!write(STDOUT_FILENO, goodbye, goodbye_bytes);
	if (is_begun)
		(void)tcsetattr(STDIN_FILENO, TCSANOW, &found_mode);
	(void)signal(number, SIG_DFL);
	(void)raise(number);
}

static void note(int number)
{
	if (number == SIGWINCH)
		was_resized = 1;
	else
		wants_stop = 1;
}

static bool ends_us(int number)
{
	switch (number) {
	case SIGKILL:
	case SIGSTOP:
	case SIGCHLD:
	case SIGCONT:
	case SIGURG:
	case SIGWINCH:
	case SIGTSTP:
	case SIGTTIN:
	case SIGTTOU:
	case SIGPIPE: return false;
	default: return true;
	}
}

/* Before the library is opened: it leaves alone what is caught already. */
static void catch_signals(void)
{
	static char stack[16384]; /* a handler must run also where the stack is at its end */
	stack_t other = { .ss_sp = stack, .ss_size = sizeof stack };
	struct sigaction action;
	memset(&action, 0, sizeof action);
	(void)sigaltstack(&other, NULL);
	action.sa_handler = die;
	action.sa_flags = SA_ONSTACK | (int)SA_RESETHAND;
	for (int i = 1; i <= SIGRTMAX; i++)
		if (ends_us(i))
			(void)sigaction(i, &action, NULL); /* those of the library itself can't be had */
	action.sa_handler = note;
	action.sa_flags = 0;
	(void)sigaction(SIGWINCH, &action, NULL);
	(void)sigaction(SIGTSTP, &action, NULL);
	(void)signal(SIGTTOU, SIG_IGN);
}

bool screen_was_resized(void)
{
	bool was = was_resized;
	was_resized = 0;
	return was;
}

bool screen_wants_stop(void)
{
	bool wants = wants_stop;
	wants_stop = 0;
	return wants;
}

/* -- opening ---------------------------------------------------------------------------- */

/* On top of the mode that is set: the library's own, once it is open, counts on its lines not being translated. */
static void set_keys(void)
{
	struct termios keys;
	if (tcgetattr(STDIN_FILENO, &keys) != 0)
		return;
	keys.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
	keys.c_iflag &= ~(tcflag_t)(IXON | IXOFF); /* Ctrl-S would stop the screen, and with it the keys */
	keys.c_cc[VMIN] = 0;
	keys.c_cc[VTIME] = 0;
	(void)tcsetattr(STDIN_FILENO, TCSANOW, &keys);
}

bool screen_begin(enum screen_colours wanted)
{
	if (is_begun)
		return true;
	if (!screen_is_possible() || tcgetattr(STDIN_FILENO, &found_mode) != 0)
		return false;
	colours = wanted;
	locale_t characters = newlocale(LC_CTYPE_MASK, "", (locale_t)0); /* numbers stay as they are */
	if (characters)
		(void)uselocale(characters);
	is_unicode = strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
	is_begun = 1;
	catch_signals();
	set_keys();
	return true;
}

void screen_size(int *ret_rows, int *ret_columns)
{
	struct winsize size = { 0 };
	if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_row == 0 || size.ws_col == 0) {
		size.ws_row = (unsigned short)(tigetnum("lines") > 0 ? tigetnum("lines") : 24);
		size.ws_col = (unsigned short)(tigetnum("cols") > 0 ? tigetnum("cols") : 80);
	}
	*ret_rows = size.ws_row > PAGE_ROWS_MAX ? PAGE_ROWS_MAX : size.ws_row;
	*ret_columns = size.ws_col > PAGE_COLUMNS_MAX ? PAGE_COLUMNS_MAX : size.ws_col;
}

static int keep_byte(int byte)
{
	if (goodbye_bytes < sizeof goodbye)
		goodbye[goodbye_bytes++] = (char)byte;
	return byte;
}

static void prepare_goodbye(void)
{
	static const char *const names[] = { "sgr0", "op", "cnorm", "rmcup" };
	goodbye_bytes = 0;
	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
		const char *text = tigetstr(names[i]);
		if (text && text != (const char *)-1)
			(void)tputs(text, 1, keep_byte);
	}
}

/* Pairs of palette k are 1 + k * INK_N + ink; the last one is black on black. */
#define BLACK_PAIR (1 + PALETTE_N * INK_N)

static void make_pairs(void)
{
	bool is_wide = COLORS >= 256;
	for (int k = 0; k < PALETTE_N; k++)
		for (int ink = 0; ink < INK_N && (is_wide || k == PALETTE_8); ink++)
			(void)init_pair((short)(1 + k * INK_N + ink), palettes[k].ink[ink].index, palettes[k].ground.index);
	short black = palettes[is_wide ? PALETTE_256 : PALETTE_8].ground.index;
	(void)init_pair(BLACK_PAIR, black, black);
}

/* The first byte is written here, so it comes as late as it can. */
static bool open_library(void)
{
	if (library)
		return true;
	library = newterm(NULL, stdout, stdin);
	if (!library)
		return false;
	prepare_goodbye();
	has_pairs = has_colors() && start_color() == OK && COLOR_PAIRS > BLACK_PAIR;
	if (has_pairs) {
		if (!wants_colours())
			(void)use_default_colors();
		make_pairs();
	}
	(void)curs_set(0);
	(void)leaveok(stdscr, FALSE);
	(void)scrollok(stdscr, FALSE);
	(void)nonl();
	(void)typeahead(-1); /* a page is shown whole, whatever keys wait */
	set_keys();
	(void)def_prog_mode();
	getmaxyx(stdscr, rows_known, columns_known);
	return true;
}

static void fit(int rows, int columns)
{
	if (rows == rows_known && columns == columns_known)
		return;
	(void)resizeterm(rows, columns);
	getmaxyx(stdscr, rows_known, columns_known);
	(void)clearok(curscr, TRUE);
}

/* -- showing ---------------------------------------------------------------------------- */

static void set_cell(cchar_t *out, const struct cell *in, enum palette_kind kind)
{
	attr_t attributes = palettes[kind].is_bold[in->ink] ? A_BOLD : A_NORMAL;
	short pair = (short)(1 + (int)kind * INK_N + (int)in->ink);
	bool is_coloured = has_pairs && (kind == PALETTE_RED || wants_colours());
	(void)setcchar(out, in->text, attributes, is_coloured ? pair : 0, NULL);
}

bool screen_put(const struct page *page, bool is_red)
{
	static cchar_t row[PAGE_COLUMNS_MAX + 1];
	bool was_lit = is_lit;
	if (is_red && !screen_has_red(colours))
		return false;
	is_red_lit = is_red; /* given back, the terminal would be white */
	is_lit = 1;          /* from the first byte on it is to be given back */
	is_black = false;
	if (!open_library()) {
		is_lit = 0;
		return false;
	}
	fit(page->rows, page->columns);
	if (!was_lit)
		(void)clearok(curscr, TRUE); /* nothing is taken for granted of what stood there meanwhile */
	enum palette_kind kind = is_red ? PALETTE_RED : COLORS >= 256 ? PALETTE_256 : PALETTE_8;
	for (int y = 0; y < page->rows && y < rows_known; y++) {
		int n = 0;
		for (int x = 0; x < page->columns && x < columns_known; x++) {
			const struct cell *cell = &page->cells[y * page->columns + x];
			if (cell->text[0]) /* else the right half of a wide one */
				set_cell(&row[n++], cell, kind);
		}
		(void)mvadd_wchnstr(y, 0, row, n);
	}
	(void)move(0, 0);
	(void)refresh();
	return true;
}

void screen_black(void)
{
	cchar_t blank;
	if (is_black)
		return;
	is_lit = 1;
	if (!open_library()) {
		is_lit = 0;
		return;
	}
	int rows, columns;
	screen_size(&rows, &columns);
	fit(rows, columns);
	(void)setcchar(&blank, L" ", A_NORMAL, has_pairs ? BLACK_PAIR : 0, NULL);
	(void)bkgrndset(&blank);
	(void)erase();
	(void)clearok(curscr, TRUE);
	if (curs_set(0) == ERR)
		(void)move(rows - 1, columns - 1); /* as far away as it goes */
	(void)refresh();
	(void)tcdrain(STDOUT_FILENO);
	(void)setcchar(&blank, L" ", A_NORMAL, 0, NULL);
	(void)bkgrndset(&blank);
	is_lit = 0;
	is_black = true;
}

bool screen_is_lit(void)
{
	return is_lit;
}

void screen_stop(void)
{
	if (library)
		(void)endwin();
	is_lit = 0;
	is_black = false;
	(void)tcsetattr(STDIN_FILENO, TCSANOW, &found_mode);
	(void)raise(SIGSTOP);
	set_keys();
}

void screen_end(bool is_light)
{
	if (!is_begun)
		return;
	if (library && is_light) {
		(void)endwin();
		is_black = false; /* the shell's, or a conversation's: another act may darken it again */
	}
	is_lit = 0;
	(void)tcsetattr(STDIN_FILENO, TCSANOW, &found_mode);
	is_begun = 0;
}
