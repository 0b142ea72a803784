/* main.c: the common options, the table of verbs, exit status. */
#include "client/client.h"

#include "base/text.h"
#include "client/screen.h"
#include "wire/place.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const struct verb verbs[] = {
	{ "abandon", "abandon [--run NAME] [--held]",
	  "end a run for good: three times within two seconds, or --held; one that is ready or "
	  "interrupted at once", "wetside abandon --held", verb_act },
	{ "arm",
	  "arm RECIPE | --plan NAME [--pieces N] [--vessel NAME] [--fill T --drain T] [--room NAME] [--person NAME] [--run "
	  "NAME]\n  [--room-temperature 14C] [--cooling T: the vessel's constant, this time]\n  "
	  "[--from-cameras | --piece 7 --piece 9 ...]   (pieces that are known: their cameras are named as they are unloaded)\n"
	  "  [--stale-air]   (the room is hardly aired: under six changes of its air in an hour)\n  [--yes]   (for scripts: nothing is "
	  "asked; the list is recorded as assumed)\n  arm --go-on RUN   (on with the list of a run that is ready)",
	  "from a recipe and a vessel to a run that is ready",
	  "wetside arm direct-positive-fibre-tank --pieces 6", verb_arm },
	{ "bath",
	  "bath [list [--gone] [--size 9x12cm]];  bath add NAME --what SOLUTION --volume V [--from BOTTLE --dilution 1+9] [--mixed DAY] "
	  "\n  "
	  "[--kept bottle|covered|open [--vessel TRAYS | --tray 20x25cm]] [--place P] [--beside LIST|none];\n  "
	  "bath use NAME [V] [--pieces N --size 9x12cm] "
	  "[--as-second AREA];  bath change|discard|history NAME;\n  "
	  "of two fixers: --area AREA done as first, --as-second AREA, --rotations N of the pair before it became the first",
	  "working solutions: what, from what, how much they have done",
	  "wetside bath add fixer-one --what fixer-rapid --volume 600mL --from fixer-stock --dilution 1+4", verb_stock },
	{ "begin", "begin [--run NAME] --heard N | --unheard [--watch [--red --screen NAME]]", "light and screen are off: begin",
	  "wetside begin --heard 3 --watch", verb_act },
	{ "blend",
	  "blend --to T --make V --hot T --cold T [--stock V [--stock-at T]] [--vessel \"400 g glass\" [--vessel-at T]] [--step V];\n"
	  "  blend --bottle T --in T --to T --after TIME --reads T | --constant TIME   (how long a bottle stands in a water bath)\n"
	  "  [--holds V --bath V [--room T --bath-after TIME --bath-reads T | --bath-constant TIME]]   (a small bath, and the room)",
	  "hot and cold water to a temperature; a bottle in a water bath", "wetside blend --to 20C --make 1L --hot 50C --cold 9C", verb_blend },
	{ "bottle",
	  "bottle [list [--gone]];  bottle add NAME --what SOLUTION --volume V [--full V] [--strength 28%] [--opened DAY] "
	  "[--lot L] [--place P] "
	  "[--beside bleach,drain-cleaner,descaler,ammonia,food,children,sun,heat|none];\n"
	  "  bottle use NAME V [--note N];  bottle change|discard|history NAME",
	  "concentrates and stocks: what is left of each", "wetside bottle add fixer-stock --what fixer-rapid --volume 1L",
	  verb_stock },
	{ "camera",
	  "camera [list [--gone]];  camera add NAME --pinhole 0.3mm --distance 72mm | --aperture f/240 [--kind pinhole|lens]\n"
	  "  [--distance D] [--format 9x12cm] [--place P] [--note N];  camera change|discard|history NAME;\n"
	  "  camera load NAME --piece 7 [--box BOX] [--emulsion towards|away] [--safelight TIME] [--size 9x12cm: of one cut before];\n"
	  "  camera unload NAME [--exposed | --unexposed] [--safelight TIME];\n"
	  "  camera boxes;  camera box NAME [--paper P] [--direct-positive | --negative] [--paper-index 3] [--reciprocity LAW]\n"
	  "  [--safelight COLOUR --tested TIME: what your own test of it allowed]",
	  "cameras: their pinhole or lens, and what they take; pieces into and out of them; boxes of paper",
	  "wetside camera add tin-one --pinhole 0.3mm --distance 72mm --format 9x12cm", verb_camera },
	{ "cut",
	  "cut --sheet 24x30cm [--sheets N] --size 9x12cm [--pieces N] [--size 6x9cm --pieces N ...] [--inside [--under 1mm]]\n"
	  "  [--kerf 0.5mm] [--margin 5mm] [--base rc|fibre] [--first N];\n  cut ... --guide [--safelight COLOUR] [--box NAME] [--rehearse] "
	  "[--run NAME] [--room NAME] [--person NAME] [--group] [--watch];\n"
	  "  cut --list   (pieces that were cut)\n"
	  "  (--inside: the sizes are of the cameras' insides, the pieces a little smaller; --first: the number of the first piece)",
	  "pieces out of sheets of paper: a drawing, stops and cuts; a run that leads through it in the dark",
	  "wetside cut --sheet 24x30cm --size 9x12cm", verb_cut },
	{ "dilute",
	  "dilute 1+9 [--then 1+4 ...] --make VOLUME | --have VOLUME [--graduate 100mL ...];  dilute --stock 28% "
	  "[--with 5%] --to 2% [--solute NAME] --make VOLUME | --have VOLUME [--graduate 100mL ...]",
	  "quick dilution", "wetside dilute 1+9 --make 600mL", verb_dilute },
	{ "emergency", "emergency", "lights on; every run is interrupted", "wetside emergency", verb_act },
	{ "formula",
	  "formula [NAME] [--make VOLUME] [--own SUBSTANCE ...] [--scale MASS] [--measure VOLUME];\n  formula NAME --guide "
	  "[--make VOLUME] [...] [--bottle NAME | --bath NAME] [--run NAME] [--room NAME] [--person NAME] [--watch]",
	  "list the formulas, or what to weigh out for one; with --guide: mix it, led step by step",
	  "wetside formula stop-bath-citric --make 1L --scale 0.1g",
	  verb_formula },
	{ "go", "go [--run NAME] [--held]", "the next piece, the next bath, or: pouring now", "wetside go",
	  verb_act },
	{ "graduate",
	  "graduate [list];  graduate add NAME --holds V --marks V [--class A|B];  graduate change|discard|history NAME",
	  "what you measure with", "wetside graduate add tall-one --holds 100mL --marks 1mL --class B", verb_stock },
	{ "hold", "hold [--run NAME]", "the next bath will wait; again: it won't", "wetside hold", verb_act },
	{ "judge",
	  "judge PIECE STOPS lighter|darker --dry|--wet [--flaw fogged|uneven|stained|air-bells|pinhole-leak ...]\n"
	  "  [--direct-positive | --negative];  judge PIECE right --dry;  judge [--paper PAPER]   (what all its results say for the next)",
	  "a piece against what was wanted, and the index for the next", "wetside judge 7 0.5 lighter --dry", verb_judge },
	{ "longer", "longer TIME [--run NAME] [--held]", "more time in this bath", "wetside longer 15s",
	  verb_act },
	{ "meter",
	  "meter --reading R | --bright R --shaded R   (R: \"1/60 at f/8 index 100\", \"EV 14.3\", \"400 cd/m2\", \"8000 lux\")\n"
	  "  --camera NAME | --aperture f/240 | --pinhole 0.3mm --distance 72mm\n"
	  "  | --best rayleigh|airy|petzval --distance 72mm [--wavelength 450]\n"
	  "  --paper-index 3 [--direct-positive | --negative] [--place \"middle|bright|shaded|1 stop from bright\"]\n"
	  "  [--holds \"1.5 stops\"] [--more STOPS | --less STOPS] [--filter 4x|\"2 stops\"|\"density 0.6\" ...]\n"
	  "  [--magnification 0.5 | --bellows 225mm --focal 150mm]\n"
	  "  [--reciprocity none|\"power 1.3\"|\"power 0.86 from 2 s\"|\"added 0.1 1.62\"|\"table 1s 1s, 10s 25s, 100s 400s\"]\n"
	  "  [--bracket \"1/3 stop\"] [--count 5] [--flash \"3 stops\": so far under the middle] [--meter-index 100] [--K 12.5] [--C 250];\n"
	  "  meter --distance 72mm (the sharpest pinhole);  meter --flash-test 2s --direct-positive|--negative [--bracket S] [--count 6]",
	  "from what a meter said to the seconds that are counted, bracketed",
	  "wetside meter --reading \"1/60 at f/8 index 100\" --aperture f/240 --paper-index 3 --direct-positive", verb_meter },
	{ "note",
	  "note PIECE WORDS...   in any order: the time given, the camera, readings, weather, ? for a doubt; all else is the subject\n"
	  "  (a name before it makes it sure: time: camera: reading: bright: shaded: meter: weather: subject: doubt: and \"-\" behind\n"
	  "  it takes that part away);\n"
	  "  note PIECE --change WORDS...;  note PIECE --history;  note [--find WORDS...];  note PIECE --fogged | --left-open | --sound;\n"
	  "  note --meter \"f/128 index 10\"   (where the meter stands: for readings that are a time alone)",
	  "the notebook: one entry a piece, in one line",
	  "wetside note 7 8s tin-box-two \"bright 12s, shaded 60s\" mud bank with posts, overcast", verb_note },
	{ "plan",
	  "plan [RECIPE --vessel NAME --pieces N --size 9x12cm [--pieces N --size S ...] [--trial] [--washer NAME] "
	  "[--mix-lots] [--hot T --cold T] [--stock T] [--room T] [--stale-air] [--keep NAME]]",
	  "what to mix, from the shelf as it stands; alone: the plans that are kept",
	  "wetside plan direct-positive-fibre-tank --vessel creek-tank --pieces 6 --size 9x12cm --keep evening", verb_plan },
	{ "print",
	  "print process RECIPE | times RECIPE | plan NAME | record NUMBER | notes [--find WORDS]\n"
	  "  | cut --sheet SIZE --size SIZE [--pieces N] ...\n"
	  "  | card --paper-index N [--direct-positive | --negative] [--reciprocity LAW] [--camera NAME ...] [--index N --aperture F]\n"
	  "  --output FILE.pdf|FILE.svg [--paper A4|Letter] [--units metric|us]",
	  "pages to hang up, take along or file: process card, time-temperature chart, mixing sheet, record, cutting drawing, "
	  "field card, notebook",
	  "wetside print process direct-positive-fibre-tank --output card.pdf", verb_print },
	{ "reading", "reading TEMPERATURE [--bath NAME] [--before | --after] [--room] [--run NAME]",
	  "a bath's temperature", "wetside reading 19.4C --bath developer", verb_act },
	{ "recipe", "recipe [NAME [--stale-air]]", "list the recipes, or show one", "wetside recipe direct-positive-fibre-tank",
	  verb_recipe },
	{ "record",
	  "record [NUMBER [--with NUMBER]];  record [--find WORDS] [--date 2026-11-20 | --since DAY --until DAY] [--recipe R]\n"
	  "       [--camera NAME] [--paper PAPER]\n"
	  "       wetside record --export [FILE]   the whole ledger as JSON lines; no FILE, or -: standard output\n"
	  "       wetside record --import FILE     in again, here or elsewhere; what is there already is not added, and a\n"
	  "                                        file that is cut, changed or at odds with this ledger changes nothing",
	  "finished runs, or one of them; the whole ledger out and in",
	  "wetside record --export creek.jsonl", verb_record },
	{ "rehearse",
	  "rehearse RECIPE [--rate N] [--rate KIND=N ...] [--pieces N] [--mine] [--wet --vessel NAME];\n  rehearse FORMULA "
	  "[--make VOLUME] [--own SUBSTANCE ...] [--rate N]",
	  "the same run, fast, with its sounds, using nothing",
	  "wetside rehearse direct-positive-fibre-tank --rate 20", verb_rehearse },
	{ "resume", "resume [--run NAME]", "go on after an interruption", "wetside resume", verb_act },
	{ "safety",
	  "safety RECIPE|FORMULA [--acknowledge] [--person NAME] [--stale-air];  safety SUBSTANCE|GAS;  safety room;  each with --sources",
	  "the safety note of a recipe or of mixing a formula, what is known of a substance or a gas, or how to work in the "
	  "room",
	  "wetside safety direct-positive-fibre-tank", verb_safety },
	{ "sound",
	  "sound [TONE];  sound --teach   (plays and names each, then asks; with --no-input: plays and names);\n  sound --device "
	  "default|alsa:NAME|file:PATH|none;  sound --devices",
	  "the sounds and what they mean; plays one, or teaches them all; where they go, also while a run is live", "wetside sound CHANGE",
	  verb_sound },
	{ "status", "status", "every run, the sound, the disk, the shelf", "wetside status", verb_status },
	{ "test", "test [NAME];  test screen-fog --screen NAME --distance D --passed | --fogged",
	  "list the tests of developer, fixer, lamps, screens and washing, or how to do and read one; keep what a screen's test told",
	  "wetside test developer-vigour", verb_test },
	{ "undo", "undo [--run NAME]", "take back the last act in this bath", "wetside undo", verb_act },
	{ "vessel",
	  "vessel [list];  vessel add NAME --kind closed-tank --least V --most V [--pieces N] [--tray 18x24cm] [--fill T "
	  "--drain T]\n  "
	  "[--cooling T: its constant, in which a bath goes 63 % of the way to the room's temperature; readings learn it]\n  "
	  "[--heat \"200 g plastic\": what gets wet of it takes its share of a bath's heat];\n  "
	  "[--piece 18x24cm: the largest, of which it takes --pieces, also one over another in a tray];\n  "
	  "vessel change|discard|history NAME",
	  "tanks and trays: what they take", "wetside vessel add creek-tank --kind closed-tank --least 350mL --most 600mL",
	  verb_stock },
	{ "wash",
	  "wash --base rc|fibre-single|fibre-double|film --pieces N --size 9x12cm [--aid] [--water 14C] [--fill-of 5L]\n"
	  "  [--fill-and-dump] [--washer NAME] [--run NAME] [--plan];  wash --join RUN [--pieces N]",
	  "a wash alone, or its plan; pieces that join one", "wetside wash --base fibre-double --pieces 6 --size 9x12cm --aid",
	  verb_wash },
	{ "watch",
	  "watch [--run NAME] [--red --screen NAME]\n"
	  "  At a terminal the whole screen, led by what the hands do next; with --plain, TERM=dumb or in a pipe: lines.\n"
	  "  While paper lies open not a byte is written. --red: a dim red page instead, on a screen that passed its fog test\n"
	  "  (wetside test screen-fog).\n\n"
	  "  space, Enter  go on; begin       +, l  longer      h  hold        u  undo\n"
	  "  w  where am I                    t  a reading: + and - step it, t or space keeps it, another key leaves\n"
	  "  r  resume                        a  abandon (three times)         e  EMERGENCY\n"
	  "  1 to 9  the tank; when ready, the number you heard                q  leave (not in the dark)   ?  the keys",
	  "what sounds and what the hands do next; keys act", "wetside watch",
	  verb_watch },
	{ "where", "where [--run NAME]", "what the hands do now", "wetside where", verb_act },
	{ NULL, NULL, NULL, NULL, NULL },
};

static void print_help(void)
{
	puts(
		"Usage: wetside [--socket PATH] [--json] [--quiet] [--plain] [--color WHEN] [--no-input] VERB ...\n\n"
		"A timer and planner for the darkroom. Example: wetside rehearse direct-positive-fibre-tank --rate "
		"20\n");
	for (const struct verb *v = verbs; v->name; v++)
		printf("  %-10s %s\n", v->name, v->help);
	puts("\nwetside VERB --help tells more. Exit status: 0 done, 1 refused, 2 wrong usage, 3 no daemon, 4 "
		 "outcome unknown,\n"
		 "5 internal.");
}

/* A verb that was nearly typed: same first letter and nearly the same length, or a prefix. */
static const char *guess(const char *word)
{
	const char *best = NULL;
	for (const struct verb *v = verbs; v->name; v++) {
		size_t same = 0;
		while (word[same] && word[same] == v->name[same])
			same++;
		if (same >= 2 && (!best || same > 3))
			best = v->name;
	}
	return best;
}

static int run_verb(struct session *s, int argc, char **argv)
{
	for (const struct verb *v = verbs; v->name; v++) {
		if (strcmp(v->name, argv[0]) != 0)
			continue;
		for (int i = 1; i < argc; i++) {
			if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
				if (must_be_dark(s))
					return REFUSED;
				printf("Usage: wetside %s\n\n%s\n\nExample: %s\n", v->usage, v->help, v->example);
				return DONE;
			}
		}
		struct wet_fault fault = { 0 };
		if (!s->socket[0] && wet_place_socket(s->socket, sizeof s->socket, &fault) != 0) {
			char line[512];
			return fail(s, NO_DAEMON, wet_fault_line(&fault, line, sizeof line));
		}
		/* Acts and the watch answer by sound (a wash may be one); what else there is to read waits for light. */
		if (v->run != verb_act && v->run != verb_watch && v->run != verb_wash &&
			!(v->run == verb_sound && is_about_device(argc, argv))) {
			bool is_dark = false;
			int rc = look_for_dark(s, "", &is_dark);
			if (rc != DONE || is_dark)
				return rc != DONE ? rc : REFUSED;
		}
		return v->run(s, argc, argv);
	}
	char text[160], word[64];
	const char *best = guess(argv[0]);
	wet_text_clean(word, sizeof word, argv[0]);
	wet_text_format(text, sizeof text, "there is no verb '%s'%s%s%s; wetside --help lists them", word,
					best ? "; did you mean '" : "", best ? best : "", best ? "'" : "");
	return fail(s, USAGE, text);
}

static int set_colours(struct session *s, const char *word)
{
	if (strcmp(word, "auto") == 0)
		s->colours = SCREEN_AUTO;
	else if (strcmp(word, "always") == 0)
		s->colours = SCREEN_ALWAYS;
	else if (strcmp(word, "never") == 0)
		s->colours = SCREEN_NEVER;
	else
		return fail(s, USAGE, "--color can be auto, always or never");
	return DONE;
}

/* The socket's path: 0, or USAGE after saying what is wrong. */
static int set_socket(struct session *s, const char *path)
{
	if (!path || !path[0])
		return fail(s, USAGE, "--socket needs the path of the socket, as in: wetside --socket PATH status");
	if (strlen(path) >= sizeof s->socket)
		return fail(s, USAGE, "the path after --socket is too long; give a shorter one");
	wet_text_copy(s->socket, sizeof s->socket, path);
	return DONE;
}

/* Takes the common options out of argv, wherever they stand before a "--". 0, or USAGE. */
static int take_common(struct session *s, int argc, char **argv, int *ret_kept)
{
	int kept = 1, rc = DONE;
	bool only_words = false;
	for (int i = 1; i < argc && rc == DONE; i++) {
		only_words = only_words || strcmp(argv[i], "--") == 0;
		if (only_words)
			argv[kept++] = argv[i];
		else if (strcmp(argv[i], "--json") == 0)
			s->is_json = true;
		else if (strcmp(argv[i], "--quiet") == 0)
			s->is_quiet = true;
		else if (strcmp(argv[i], "--no-input") == 0)
			s->no_input = true;
		else if (strcmp(argv[i], "--plain") == 0)
			s->is_plain = true;
		else if (strcmp(argv[i], "--color") == 0)
			rc = set_colours(s, i + 1 < argc ? argv[++i] : "");
		else if (strncmp(argv[i], "--color=", 8) == 0)
			rc = set_colours(s, argv[i] + 8);
		else if (strcmp(argv[i], "--socket") == 0)
			rc = set_socket(s, i + 1 < argc ? argv[++i] : NULL);
		else if (strncmp(argv[i], "--socket=", 9) == 0)
			rc = set_socket(s, argv[i] + 9);
		else
			argv[kept++] = argv[i];
	}
	argv[kept] = NULL;
	*ret_kept = kept;
	return rc;
}

int main(int argc, char **argv)
{
	struct session s = { .connection = NULL };
	int kept = 1, rc;
	(void)signal(SIGPIPE, SIG_IGN);
	if (argc < 1)
		return USAGE;
	if ((rc = take_common(&s, argc, argv, &kept)) != DONE)
		return rc;
	bool is_help = kept == 1 || strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0;
	if ((is_help || strcmp(argv[1], "--version") == 0) && must_be_dark(&s))
		return REFUSED;
	if (is_help) {
		print_help();
		return kept == 1 ? USAGE : DONE;
	}
	if (strcmp(argv[1], "--version") == 0) {
		puts("wetside 0.1.0");
		return DONE;
	}
	rc = run_verb(&s, kept - 1, argv + 1);
	wet_connection_close(s.connection);
	if (fflush(stdout) != 0 || ferror(stdout)) {
		fputs("wetside: the output could not be written\n", stderr);
		return rc == DONE ? INTERNAL : rc;
	}
	return rc;
}
