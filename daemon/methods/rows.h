/* rows.h: rows of the ledger as lines of JSON, by tables that are read in both directions.
 *
 * Whole numbers that can pass 2^53 are texts of digits, because JSON's readers elsewhere may keep 53 bits only: every
 * member in ns, and every number of a run or an act. Unknown or missing members are mistakes: the header's format says
 * what there is.
 *
 *   {"wetside":"ledger","format":1,"schema":9}     first; schema: of the tables
 *   {"row":"recipe",...}                           its text in parts; hash: SHA-256 of the whole text
 *   {"row":"vessel",...}                           as measured, with the history: the last of a name is in use
 *   {"row":"acknowledgement",...}
 *   {"row":"run",...}                              followed by its events and answers and, if it has ended, its stages' ends
 *   {"row":"event",...}
 *   {"row":"check",...}                            what was answered to its checklist
 *   {"row":"stage",...}
 *   {"row":"item",...}                             something of the shelf, gone or not; followed by its history, first line first,
 *                                                  of which it is the sum; run: the booked run, "0" for none
 *   {"row":"history",...}
 *   {"row":"plan",...}                             a kept plan; followed by its loads (run: armed as), and by each of its baths
 *   {"row":"load",...}                             (item: mixed as; "0": not yet) with the draws for it
 *   {"row":"bath",...}
 *   {"row":"draw",...}
 *   {"row":"booking",...}                          by run, stage and item: what a stage's begin books
 *   {"row":"entry",...}                            what people wrote down, each revision of it; body: its text
 *   {"row":"end","lines":N,"check":"..."}          last; N lines before it; without a check none is made
 *
 * Schemas 1 and 2 had no rows from item to booking, 3 no second baths: second_mm2, rotations, and what begins with second_ in a
 * bath; 4 not how a thing is kept, nor a vessel's largest piece; 5 no answers, 6 not how well it is known how a vessel
 * cools, 7 no entries, 8 no cameras. The numbers of runs, items and bottles hold
 * within a file: a row names one of a line before it. A run may stand between two items, if it was armed while the ledger was
 * told.
 *
 * Times are boot time in ns, as they are replayed, and UTC beside in ms since 1970. */
#ifndef WET_METHODS_ROWS_H
#define WET_METHODS_ROWS_H

#include "darkroom/exchange.h"

#include <jansson.h>

#define WET_LEDGER_FORMAT 1
/* The longest line: a part of a recipe. */
#define WET_LEDGER_LINE_BYTES 24000

const char *row_word(enum wet_row_kind kind);
/* NULL without memory, or for a text that is not UTF-8. */
json_t *row_encode(const struct wet_row *row);

/* `line` is borrowed and its member "row" known. The texts of a recipe's part are borrowed from `line`. A fault's `where`
 * is the member: "/armed_boot_ns". schema: of the file; what came later may be missing. */
int row_decode(const json_t *line, enum wet_row_kind kind, int schema, struct wet_row *ret_row,
			   struct wet_fault *reterr);

/* The check of a file up to this line: SHA-256, in hex, of the check up to the line before ("" at first) and the line. */
int row_check(char check[65], const char *line, size_t bytes);

#endif
