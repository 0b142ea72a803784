/* palette.h: the colours that the watch uses, and no others; a test computes their contrast.
 *
 * Of 256 colours, those from 16 on have fixed values in the common terminals (6 x 6 x 6 steps of 0, 95, 135, 175, 215, 255 and
 * 24 greys 8 + 10 n); the first 16 are changed by themes, and used only where there are no more. Their values here are those
 * of the terminal emulator's manual, from memory. */
#ifndef WET_CLIENT_PALETTE_H
#define WET_CLIENT_PALETTE_H

#include "client/page.h"

struct colour {
	short index;
	unsigned char r, g, b;
};
struct palette {
	struct colour ground, ink[INK_N];
	bool is_bold[INK_N];
};

enum palette_kind { PALETTE_256, PALETTE_8, PALETTE_RED, PALETTE_N };

static const struct palette palettes[PALETTE_N] = {
	[PALETTE_256] = { { 16, 0, 0, 0 },
					  { [INK_PLAIN] = { 231, 255, 255, 255 },
						[INK_FAINT] = { 250, 188, 188, 188 },
						[INK_LEAD] = { 231, 255, 255, 255 },
						[INK_WARN] = { 214, 255, 175, 0 } },
					  { [INK_LEAD] = true, [INK_WARN] = true } },
	[PALETTE_8] = { { 0, 0, 0, 0 },
					{ [INK_PLAIN] = { 7, 229, 229, 229 },
					  [INK_FAINT] = { 7, 229, 229, 229 },
					  [INK_LEAD] = { 7, 229, 229, 229 },
					  [INK_WARN] = { 3, 205, 205, 0 } },
					{ [INK_LEAD] = true, [INK_WARN] = true } },
	/* One red and nothing else: a darker one is not read at 4.5:1, and what is bold is not brighter. */
	[PALETTE_RED] = { { 16, 0, 0, 0 },
					  { [INK_PLAIN] = { 196, 255, 0, 0 },
						[INK_FAINT] = { 196, 255, 0, 0 },
						[INK_LEAD] = { 196, 255, 0, 0 },
						[INK_WARN] = { 196, 255, 0, 0 } },
					  { [INK_LEAD] = true, [INK_WARN] = true } },
};

#endif
