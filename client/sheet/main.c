/* main.c: wetside-sheet: a document as JSON on standard input, a PDF or SVG file out. Exit status: 0 done, 1 it could not be
 * written, 2 wrong usage or a wrong document. What was there before is replaced only by a file that is whole. */
#include "sheet.h"

#include "base/text.h"

#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char help[] =
	"Usage: wetside-sheet --output FILE.pdf|FILE.svg <DOCUMENT.json\n"
	"\n"
	"Sets one document, JSON on standard input, as pages to print. A PDF holds all pages; of an SVG each page after the first\n"
	"gets a file of its own: FILE-2.svg, FILE-3.svg ... What a document may hold stands in client/sheet/document.c; the\n"
	"client makes them: wetside print --help\n"
	"\n"
	"Example: wetside-sheet --output card.pdf <card.json\n";

static int fail(const struct wet_fault *fault, int status)
{
	char line[512], clean[512];
	fprintf(stderr, "wetside-sheet: %s\n", wet_text_clean(clean, sizeof clean, wet_fault_line(fault, line, sizeof line)));
	return status;
}

static bool ends_in(const char *path, const char *end)
{
	size_t n = strlen(path), m = strlen(end);
	return n > m && strcmp(path + n - m, end) == 0;
}

/* Beside its place first, then renamed over it. */
static int write_whole(const char *path, const struct bytes *b, struct wet_fault *reterr)
{
	char beside[4096 + 8];
	wet_text_format(beside, sizeof beside, "%s.XXXXXX", path);
	int fd = mkstemp(beside);
	if (fd < 0)
		return wet_fault_set(reterr, WET_ERR_IO, path, NULL, "a folder that can be written to (%s)", strerror(errno));
	FILE *f = fdopen(fd, "w");
	bool is_well = f && fwrite(b->data, 1, b->count, f) == b->count;
	is_well = f && fflush(f) == 0 && is_well && fchmod(fd, 0644) == 0 && fsync(fd) == 0;
	int error = errno;
	if (f)
		is_well = fclose(f) == 0 && is_well;
	else
		(void)close(fd);
	if (is_well && rename(beside, path) == 0)
		return WET_OK;
	error = is_well ? errno : error;
	(void)unlink(beside);
	return wet_fault_set(reterr, WET_ERR_IO, path, NULL, "room and the right to write it (%s)", strerror(error));
}

static int write_pages(const struct sheet *s, const char *path, struct wet_fault *reterr)
{
	char name[4096];
	int rc = WET_OK;
	for (int i = 0; i < s->done_count && rc == WET_OK; i++) {
		if (i == 0)
			wet_text_copy(name, sizeof name, path);
		else
			wet_text_format(name, sizeof name, "%.*s-%d.svg", (int)(strlen(path) - 4), path, i + 1);
		rc = write_whole(name, &s->done[i], reterr);
	}
	return rc;
}

static int read_options(int argc, char **argv, const char **ret_path)
{
	static const struct option longs[] = { { "output", required_argument, NULL, 'o' },
										   { "help", no_argument, NULL, 'h' },
										   { "version", no_argument, NULL, 'v' },
										   { NULL, 0, NULL, 0 } };
	struct wet_fault fault = { 0 };
	for (int c; (c = getopt_long(argc, argv, "o:h", longs, NULL)) != -1;) {
		switch (c) {
		case 'o': *ret_path = optarg; break;
		case 'h': fputs(help, stdout); return -1;
		case 'v': puts("wetside-sheet 0.1.0"); return -1;
		default: fputs("wetside-sheet: try --help\n", stderr); return 2;
		}
	}
	if (optind < argc || !*ret_path) {
		fputs("wetside-sheet: give --output FILE.pdf or FILE.svg and nothing else; try --help\n", stderr);
		return 2;
	}
	if ((!ends_in(*ret_path, ".pdf") && !ends_in(*ret_path, ".svg")) || strlen(*ret_path) > 4000) {
		wet_fault_set(&fault, WET_ERR_INVALID, "--output", *ret_path, "a name that ends in .pdf or .svg");
		return fail(&fault, 2);
	}
	return 0;
}

int main(int argc, char **argv)
{
	struct sheet s = { .page = 0 };
	struct wet_fault fault = { 0 };
	json_error_t error;
	const char *path = NULL;
	int rc = read_options(argc, argv, &path);
	if (rc != 0)
		return rc < 0 ? 0 : rc;
	json_t *document = json_loadf(stdin, JSON_REJECT_DUPLICATES, &error);
	if (!document) {
		wet_fault_set(&fault, WET_ERR_PARSE, "standard input", NULL, "a document as JSON (line %d: %s)", error.line, error.text);
		return fail(&fault, 2);
	}
	s.is_svg = ends_in(path, ".svg");
	if (document_check(document, &fault) != WET_OK) {
		json_decref(document);
		return fail(&fault, 2);
	}
	rc = document_draw(&s, document, &fault);
	if (rc == WET_OK)
		rc = write_pages(&s, path, &fault);
	sheet_close(&s);
	json_decref(document);
	return rc == WET_OK ? 0 : fail(&fault, 1);
}
