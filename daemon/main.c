/* main.c: options, wiring, exit status (0 done, 1 failed, 2 wrong usage). */
#include "base/text.h"
#include "host/host.h"
#include "ledger/ledger.h"
#include "methods/methods.h"
#include "shelf/config.h"
#include "shelf/formulary.h"
#include "shelf/phrasebook.h"
#include "shelf/safety.h"
#include "shelf/shelf.h"
#include "speech/child.h"
#include "speech/keep.h"
#include "wire/place.h"

#include <fcntl.h>
#include <getopt.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>


static const char help[] = "Usage: wetsided [options]\n"
						   "\n"
						   "The darkroom's timer. Runs in the foreground, tells its troubles on standard "
						   "error, stops on SIGTERM; live runs go on\n"
						   "at the next start.\n"
						   "\n"
						   "  --socket PATH        where clients find it\n"
						   "  --ledger PATH        what must not be forgotten\n"
						   "  --config PATH        the configuration file (~/.config/wetside/config.json); options go before it\n"
						   "  --recipes DIR        recipes (repeatable; your own folder comes first anyway)\n"
						   "  --safety DIR         their safety notes (repeatable)\n"
						   "  --sound WHERE        default, alsa:NAME, file:PATH (a WAV file), or none\n"
						   "  --level N            loudness, 0 to 1000 (800)\n"
						   "  --voice NAME         who speaks the words: one of `espeak-ng --voices`, or none (en)\n"
						   "  --language WHICH     a language file, or a short name as in speech/en.json (English)\n"
						   "  --voice-rate N       words a minute, 80 to 400 (165)\n"
						   "  --voice-level N      loudness beside the tones, 0 to 1000 (1000)\n"
						   "  --voice-program P    what is run to speak (espeak-ng)\n"
						   "  --check              check the ledger and end\n"
						   "  --check-config FILE  check a configuration file and end\n"
						   "  --check-recipe FILE  check one recipe and its note and end\n"
						   "  --print-note FILE    the safety note of one recipe, as safety/NAME.md holds it, and end\n"
						   "  --help, --version\n"
						   "\n"
						   "Example: wetsided --sound file:session.wav\n";

static struct wet_methods methods;

static void serve(void *ctx, struct wet_rpc *rpc, wet_rpc_ticket ticket, uint64_t client_id, uint32_t uid,
				  const char *method, json_t *params)
{
	wet_methods_serve(ctx, rpc, ticket, client_id, uid, method, params);
}

static void log_line(const char *line)
{
	char clean[512];
	fprintf(stderr, "wetsided: %s\n", wet_text_clean(clean, sizeof clean, line));
}

static int fail(const struct wet_fault *fault)
{
	char line[512];
	log_line(wet_fault_line(fault, line, sizeof line));
	return 1;
}

#define DIRS 9

struct options {
	char socket[512], ledger[512], alive[520], own_recipes[512];
	const char *recipes[DIRS], *safety[DIRS];
	int recipe_count, safety_count;
	/* NULL or -1: not said; the configuration file may. */
	const char *config, *sound, *voice, *voice_program, *language;
	const char *check_recipe, *check_config, *print_note;
	char voice_folder[512];
	int level, voice_level, voice_rate;
	bool is_check;
};

static int find_places(struct options *o, struct wet_fault *fault)
{
	int rc = WET_OK;
	char dir[400];
	if (!o->socket[0])
		rc = wet_place_socket(o->socket, sizeof o->socket, fault);
	if (rc == 0 && !o->ledger[0]) {
		rc = wet_place_state_dir(dir, sizeof dir, fault);
		if (rc == 0)
			rc = wet_place_make_private_dir(dir, fault);
		if (rc == 0)
			wet_text_format(o->ledger, sizeof o->ledger, "%s/ledger.sqlite", dir);
	}
	wet_text_format(o->alive, sizeof o->alive, "%s.alive", o->ledger);
	if (rc == 0 && wet_place_data(o->own_recipes, sizeof o->own_recipes, NULL) == 0) {
		for (int i = o->recipe_count; i > 0; i--)
			o->recipes[i] = o->recipes[i - 1];
		o->recipes[0] = o->own_recipes;
		o->recipe_count++;
	}
	if (o->recipe_count <= 1)
		o->recipes[o->recipe_count++] = WET_SHARE_DIR "/recipes";
	if (o->safety_count == 0)
		o->safety[o->safety_count++] = WET_SHARE_DIR "/safety";
	o->recipes[o->recipe_count] = NULL;
	o->safety[o->safety_count] = NULL;
	return rc;
}

static bool read_number(const char *option, long low, long high, int *ret)
{
	char *end, line[80];
	long n = strtol(optarg, &end, 10);
	*ret = (int)n;
	if (!*end && end != optarg && n >= low && n <= high)
		return true;
	wet_text_format(line, sizeof line, "%s: a whole number from %ld to %ld", option, low, high);
	log_line(line);
	return false;
}

static int read_options(int argc, char **argv, struct options *o)
{
	enum {
		SOCKET = 1, LEDGER, RECIPES, SAFETY, SOUND, LEVEL, VOICE, LANGUAGE, VOICE_RATE, VOICE_LEVEL, VOICE_PROGRAM, CONFIG,
		 CHECK, CHECK_CONFIG, CHECK_RECIPE, PRINT_NOTE, HELP, VERSION
	};
	static const struct option longs[] = {
		{ "socket", required_argument, NULL, SOCKET },
		{ "ledger", required_argument, NULL, LEDGER },
		{ "recipes", required_argument, NULL, RECIPES },
		{ "safety", required_argument, NULL, SAFETY },
		{ "sound", required_argument, NULL, SOUND },
		{ "level", required_argument, NULL, LEVEL },
		{ "voice", required_argument, NULL, VOICE },
		{ "language", required_argument, NULL, LANGUAGE },
		{ "voice-rate", required_argument, NULL, VOICE_RATE },
		{ "voice-level", required_argument, NULL, VOICE_LEVEL },
		{ "voice-program", required_argument, NULL, VOICE_PROGRAM },
		{ "config", required_argument, NULL, CONFIG },
		{ "check", no_argument, NULL, CHECK },
		{ "check-config", required_argument, NULL, CHECK_CONFIG },
		{ "check-recipe", required_argument, NULL, CHECK_RECIPE },
		{ "print-note", required_argument, NULL, PRINT_NOTE },
		{ "help", no_argument, NULL, HELP },
		{ "version", no_argument, NULL, VERSION },
		{ NULL, 0, NULL, 0 },
	};
	for (int c; (c = getopt_long(argc, argv, "h", longs, NULL)) != -1;) {
		switch (c) {
		case SOCKET: wet_text_copy(o->socket, sizeof o->socket, optarg); break;
		case LEDGER: wet_text_copy(o->ledger, sizeof o->ledger, optarg); break;
		case RECIPES:
		case SAFETY:
			if ((c == RECIPES ? o->recipe_count : o->safety_count) >= DIRS - 3) {
				log_line("at most six folders of a kind");
				return 2;
			}
			if (c == RECIPES)
				o->recipes[o->recipe_count++] = optarg;
			else
				o->safety[o->safety_count++] = optarg;
			break;
		case SOUND: o->sound = optarg; break;
		case LEVEL:
			if (!read_number("--level", 0, 1000, &o->level))
				return 2;
			break;
		case VOICE_LEVEL:
			if (!read_number("--voice-level", 0, 1000, &o->voice_level))
				return 2;
			break;
		case VOICE_RATE:
			if (!read_number("--voice-rate", 80, 400, &o->voice_rate))
				return 2;
			break;
		case VOICE:
			o->voice = optarg;
			if (!wet_config_is_voice(optarg)) {
				log_line("--voice: a voice's name, of letters, digits and + - _ /, as in en-gb; or none");
				return 2;
			}
			break;
		case LANGUAGE: o->language = optarg; break;
		case VOICE_PROGRAM: o->voice_program = optarg; break;
		case CONFIG: o->config = optarg; break;
		case CHECK: o->is_check = true; break;
		case CHECK_CONFIG: o->check_config = optarg; break;
		case CHECK_RECIPE: o->check_recipe = optarg; break;
		case PRINT_NOTE: o->print_note = optarg; break;
		case 'h':
		case HELP: fputs(help, stdout); return -1;
		case VERSION: puts("wetsided 0.1.0"); return -1;
		default: fputs("wetsided: try --help\n", stderr); return 2;
		}
	}
	if (optind < argc) {
		log_line("no arguments beside the options; try --help");
		return 2;
	}
	return 0;
}

/* What the options left open. */
static void take_config(struct options *o, const struct wet_config *c)
{
	for (int i = 0; o->recipe_count == 0 && i < c->recipe_folder_count; i++)
		o->recipes[i] = c->recipe_folders[i];
	for (int i = 0; o->safety_count == 0 && i < c->safety_folder_count; i++)
		o->safety[i] = c->safety_folders[i];
	o->recipe_count += o->recipe_count == 0 ? c->recipe_folder_count : 0;
	o->safety_count += o->safety_count == 0 ? c->safety_folder_count : 0;
	if (!o->sound && c->sound_where[0])
		o->sound = c->sound_where;
	if (!o->voice && c->voice[0])
		o->voice = c->voice;
	if (!o->voice_program)
		o->voice_program = c->voice_program[0] ? c->voice_program : "espeak-ng";
	if (o->level < 0)
		o->level = c->sound_level >= 0 ? c->sound_level : 800;
	if (o->voice_level < 0)
		o->voice_level = c->voice_level >= 0 ? c->voice_level : 1000;
	if (o->voice_rate < 0)
		o->voice_rate = c->voice_rate >= 0 ? c->voice_rate : 165;
}

/* Sound that only the configuration asks for and that can't be had: the usual device, rather than no daemon. */
static void check_sound(struct options *o, struct wet_config *config)
{
	if (!o->sound)
		o->sound = "default";
	if (o->sound != config->sound_where || strncmp(o->sound, "file:", 5) != 0)
		return;
	int fd = open(o->sound + 5, O_WRONLY | O_CREAT | O_CLOEXEC | O_NONBLOCK | O_NOCTTY, 0644);
	if (fd >= 0) {
		close(fd);
		return;
	}
	struct wet_fault fault = { 0 };
	(void)wet_fault_set(&fault, WET_ERR_IO, "", o->sound, "a file that can be written; the sound goes to the usual device");
	wet_config_add_fault(config, "/sound/where", &fault);
	o->sound = "default";
}

static int read_language(const char *language, struct wet_phrasebook **ret_book, struct wet_fault *fault)
{
	char path[512];
	bool is_path = strchr(language, '/') != NULL;
	wet_text_format(path, sizeof path, "%s%s%s", is_path ? "" : WET_SHARE_DIR "/speech/", language, is_path ? "" : ".json");
	int rc = wet_phrasebook_read(path, ret_book, fault);
	if (rc != 0 || wet_config_is_voice((*ret_book)->voice))
		return rc;
	rc = wet_fault_set(fault, WET_ERR_INVALID, "voice", (*ret_book)->voice, "a voice's name, as in en-gb");
	wet_phrasebook_free(*ret_book);
	*ret_book = NULL;
	return rc;
}

/* Who speaks, and what is said: English as it is printed, unless a language is asked for. One that only the configuration
 * asks for and that can't be used is told, and English is spoken. */
static int find_language(struct options *o, struct wet_config *config, struct wet_phrasebook **ret_book,
						 struct wet_fault *fault)
{
	if (o->language) {
		int rc = read_language(o->language, ret_book, fault);
		if (rc != 0)
			return rc;
	} else if (config->language[0] && read_language(config->language, ret_book, fault) != 0) {
		wet_config_add_fault(config, "/voice/language", fault);
		*fault = (struct wet_fault){ 0 };
	}
	if (!o->voice)
		o->voice = *ret_book ? (*ret_book)->voice : "en";
	if (strcmp(o->voice, "none") == 0)
		o->voice = "";
	return WET_OK;
}

/* Without it every sentence is spoken anew; that is no fault, but told. */
static void find_voice_folder(struct options *o)
{
	struct wet_fault fault = { 0 };
	char line[640], why[480];
	if (!o->voice[0])
		return;
	int rc = wet_place_cache_dir(o->voice_folder, sizeof o->voice_folder, &fault);
	if (rc == 0)
		rc = wet_place_make_private_dir(o->voice_folder, &fault);
	if (rc == 0) {
		wet_keep_trim(o->voice_folder, WET_KEEP_BYTES_MAX);
		return;
	}
	o->voice_folder[0] = '\0';
	wet_text_format(line, sizeof line, "spoken sentences are not kept for the next time: %s",
					wet_fault_line(&fault, why, sizeof why));
	log_line(line);
}

static void tell_config(const struct wet_config *config)
{
	char line[80];
	for (int i = 0; i < config->fault_count && i < WET_CONFIG_FAULTS; i++)
		(void)fail(&config->faults[i]);
	if (config->fault_count > WET_CONFIG_FAULTS) {
		wet_text_format(line, sizeof line, "and %d more in the configuration", config->fault_count - WET_CONFIG_FAULTS);
		log_line(line);
	}
}

static void find_config(struct options *o, struct wet_config *config)
{
	char path[512];
	struct wet_fault fault = { 0 };
	if (o->config)
		wet_text_copy(path, sizeof path, o->config);
	else if (wet_place_config(path, sizeof path, &fault) != 0)
		path[0] = '\0'; /* nobody's home: no configuration */
	if (path[0])
		wet_config_read(path, o->config != NULL, config);
	take_config(o, config);
}

/* What is asked of a file and answered at once. */
static int look(const struct options *o, struct wet_config *config, struct wet_fault *fault)
{
	struct wet_ledger *ledger;
	if (o->check_config) {
		wet_config_read(o->check_config, true, config);
		tell_config(config);
		if (config->fault_count == 0)
			printf("%s: sound\n", o->check_config);
		return config->fault_count == 0 ? 0 : 1;
	}
	if (o->check_recipe) {
		if (wet_shelf_check_file(o->check_recipe, o->recipes, o->safety, fault) != 0)
			return fail(fault);
		printf("%s: complete\n", o->check_recipe);
		return 0;
	}
	if (o->print_note) {
		char *text;
		if (wet_shelf_note_of_file(o->print_note, o->recipes, o->safety, &text, fault) != 0)
			return fail(fault);
		bool is_written = fputs(text, stdout) >= 0 && fflush(stdout) == 0;
		free(text);
		return is_written ? 0 : 1;
	}
	if (access(o->ledger, F_OK) != 0) { /* opening would make an empty one, and that is sound */
		wet_fault_set(fault, WET_ERR_NOT_FOUND, o->ledger, NULL, "the path of a ledger that is there");
		return fail(fault);
	}
	if (wet_ledger_open(&ledger, o->ledger, fault) != 0)
		return fail(fault);
	int rc = wet_ledger_check(ledger, fault);
	wet_ledger_close(ledger);
	if (rc != 0)
		return fail(fault);
	printf("%s: sound\n", o->ledger);
	return 0;
}

/* What the shelf found wrong with its files. */
static void tell_faults(struct wet_shelf *shelf, const struct options *o)
{
	const struct wet_formulary *formulary = wet_shelf_formulary(shelf);
	const struct wet_safety *safety = wet_shelf_safety(shelf);
	struct wet_fault fault = { 0 };
	if (wet_shelf_count(shelf) == 0) {
		char line[512];
		snprintf(line, sizeof line, "no recipe was found; looked last in %s; give --recipes FOLDER and --safety FOLDER",
				 o->recipes[o->recipe_count - 1]);
		log_line(line);
	}
	for (size_t i = 0; i < wet_shelf_fault_count(shelf); i++)
		(void)fail(wet_shelf_fault(shelf, i));
	for (size_t i = 0; i < wet_formulary_fault_count(formulary); i++)
		(void)fail(wet_formulary_fault(formulary, i));
	for (int i = 0; i < safety->fault_count; i++)
		(void)fail(&safety->faults[i]);
	for (size_t i = 0; i < wet_shelf_count(shelf); i++) {
		const struct wet_shelf_recipe *r = wet_shelf_at(shelf, i);
		if (r->judged.forbidden[0] == '\0')
			continue;
		(void)wet_fault_set(&fault, WET_ERR_REFUSED, r->path, r->recipe.name, "%s", r->judged.forbidden);
		(void)fail(&fault);
	}
}

int main(int argc, char **argv)
{
	static struct options o = { .level = -1, .voice_level = -1, .voice_rate = -1 };
	static struct wet_config config = { .sound_level = -1, .voice_level = -1, .voice_rate = -1 };
	struct wet_fault fault = { 0 };
	if (argc > 3 && strcmp(argv[1], WET_CHILD_WORD) == 0) /* not a daemon: a step towards the voice's program */
		wet_child_become(argv + 3, (int)strtol(argv[2], NULL, 10));
	struct wet_shelf *shelf = NULL;
	const struct wet_formulary *formulary;
	const struct wet_safety *safety;
	struct wet_host *host = NULL;
	int rc = read_options(argc, argv, &o);
	if (rc != 0)
		return rc < 0 ? 0 : rc;
	(void)signal(SIGPIPE, SIG_IGN);
	(void)signal(SIGXFSZ, SIG_IGN);
	find_config(&o, &config);
	if (find_places(&o, &fault) != 0)
		return fail(&fault);
	if (o.check_recipe || o.check_config || o.print_note || o.is_check)
		return look(&o, &config, &fault);
	if (wet_shelf_open(&shelf, o.recipes, o.safety) != 0) {
		log_line("out of memory");
		return 1;
	}
	struct wet_phrasebook *book = NULL;
	if (find_language(&o, &config, &book, &fault) != 0) {
		wet_shelf_free(shelf);
		return fail(&fault);
	}
	check_sound(&o, &config);
	find_voice_folder(&o);
	tell_config(&config);
	formulary = wet_shelf_formulary(shelf);
	safety = wet_shelf_safety(shelf);
	tell_faults(shelf, &o);
	struct wet_host_options options = {
		.socket_path = o.socket,
		.ledger_path = o.ledger,
		.alive_path = o.alive,
		.sound = o.sound,
		.shelf = shelf,
		.sound_level_milli = (uint32_t)o.level,
		.voice = o.voice,
		.phrases = book ? &book->phrases : NULL,
		.is_english = !book || strncmp(book->language, "en", 2) == 0,
		.voice_program = o.voice_program,
		.voice_folder = o.voice_folder,
		.voice_rate_wpm = o.voice_rate,
		.voice_level_milli = (uint32_t)o.voice_level,
		.switches = config.switches,
		.switch_count = config.switch_count,
		.probes = config.probes,
		.probe_count = config.probe_count,
		.log = log_line,
		.serve = serve,
		.snapshot = wet_run_snapshot,
		.ctx = &methods,
	};
	rc = wet_host_open(&host, &options, &fault);
	if (rc == 0) {
		methods = (struct wet_methods){ .darkroom = wet_host_darkroom(host),
										.find_client = wet_host_find_client,
										.follow = wet_host_follow,
										.ctx = host,
										.formulary = formulary,
										.safety = safety,
										.config = &config };
		rc = wet_host_run(host);
		wet_host_close(host);
		wet_methods_release(&methods);
	} else {
		(void)fail(&fault);
	}
	wet_phrasebook_free(book);
	wet_shelf_free(shelf);
	return rc == 0 ? 0 : 1;
}
