/* test_config.c: the configuration file: what is right is taken, what is wrong is told and takes nothing with it. */
#include "shelf/config.h"

#include "shelf_files.h"
#include "wetside/errors.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static struct wet_config c;

static void decode(const char *json)
{
	wet_config_decode(json, strlen(json), "config.json", &c);
}

Test(config, all_of_it)
{
	size_t n;
	char *text = test_file_text(WET_TEST_DATA "/config/good/full.json", &n);
	cr_assert_not_null(text);
	wet_config_decode(text, n, "config.json", &c);
	free(text);
	cr_assert_eq(c.fault_count, 0, "%s", c.faults[0].where);
	cr_expect_str_eq(c.sound_where, "alsa:plughw:1,0");
	cr_expect_eq(c.sound_level, 700);
	cr_expect_str_eq(c.voice, "en-gb");
	cr_expect_eq(c.voice_rate, 150);
	cr_expect_eq(c.voice_level, 900);
	cr_expect_str_eq(c.voice_program, "espeak-ng");
	cr_expect_str_eq(c.language, "de");
	cr_expect_str_eq(c.recipe_folders[0], "/usr/local/share/wetside/recipes");
	cr_expect_str_eq(c.safety_folders[0], "/usr/local/share/wetside/safety");
	cr_assert_eq(c.probe_count, 3);
	cr_expect_str_eq(c.probes[0].bath, "developer");
	cr_expect_str_eq(c.probes[0].run, "creek-tank");
	cr_expect_eq(c.probes[0].every_ns, 5000000000LL);
	cr_expect_str_eq(c.probes[1].room, "darkroom");
	cr_expect_eq(c.probes[1].every_ns, 60000000000LL);
	cr_expect_eq(c.probes[2].every_ns, 30000000000LL);
	cr_assert_eq(c.switch_count, 3);
	cr_expect_eq(c.switches[0].key, -1);
	cr_expect_str_eq(c.switches[0].run, "creek-tank");
	cr_expect_eq(c.switches[1].key, 49);
}

Test(config, nothing_said)
{
	decode("{}");
	cr_expect_eq(c.fault_count, 0);
	cr_expect_eq(c.sound_level, -1);
	cr_expect_eq(c.voice_rate, -1);
	cr_expect_str_empty(c.sound_where);
	decode("{\"probes\": [{\"name\": \"a\", \"file\": \"/a\", \"bath\": \"fixer\"}]}");
	cr_assert_eq(c.probe_count, 1);
	cr_expect_eq(c.probes[0].every_ns, WET_PROBE_EVERY_NS);
}

/* Each wrong file of the corpus: the place, the kind of error. */
Test(config, corpus_of_mistakes)
{
	static struct test_expected rows[128];
	char path[300];
	int count = test_expected_rows(WET_TEST_DATA "/config/bad/expected.tsv", rows, 128);
	cr_assert_geq(count, 55);
	for (int i = 0; i < count; i++) {
		size_t n;
		snprintf(path, sizeof path, "%s/config/bad/%s.json", WET_TEST_DATA, rows[i].file);
		char *text = test_file_text(path, &n);
		cr_assert_not_null(text, "%s", path);
		wet_config_decode(text, n, "config.json", &c);
		free(text);
		cr_assert_eq(c.fault_count, 1, "%s: %d faults", rows[i].file, c.fault_count);
		const struct wet_fault *f = &c.faults[0];
		cr_expect_str_eq(wet_err_name(f->err), rows[i].error, "%s: %s", rows[i].file, wet_err_name(f->err));
		cr_expect_eq(strncmp(f->where, "config.json", 11), 0, "%s: %s", rows[i].file, f->where);
		if (strcmp(rows[i].where, "-") == 0)
			cr_expect_str_eq(f->where, "config.json", "%s", f->where);
		else if (strcmp(rows[i].where, ":") == 0)
			cr_expect_eq(f->where[11], ':', "%s", f->where);
		else
			cr_expect_str_eq(f->where + 11, rows[i].where, "%s: %s", rows[i].file, f->where);
		cr_expect_str_not_empty(f->want, "%s", rows[i].file);
	}
}

Test(config, a_bad_part_takes_nothing_with_it)
{
	decode("{\"sound\": {\"where\": 3, \"level\": 500, \"loud\": 1}, \"bogus\": 1, \"voice\": [], \"recipes\": [\"/a\", \"b\", \"/c\"],"
		   "\"probes\": [{\"name\": \"a\"}, {\"name\": \"b\", \"file\": \"/b\", \"bath\": \"fixer\"}, 7],"
		   "\"foot_switches\": [{\"name\": \"l\", \"device\": \"/d\"}, {\"name\": \"l\", \"device\": \"/e\"}]}");
	cr_expect_eq(c.fault_count, 8);
	cr_expect_eq(c.sound_level, 500);
	cr_expect_str_empty(c.sound_where);
	cr_assert_eq(c.recipe_folder_count, 2);
	cr_expect_str_eq(c.recipe_folders[1], "/c");
	cr_assert_eq(c.probe_count, 1);
	cr_expect_str_eq(c.probes[0].name, "b");
	cr_assert_eq(c.switch_count, 1);
}

Test(config, more_faults_than_are_kept_are_counted)
{
	char json[4096] = "{\"recipes\": [";
	decode("{\"probes\": [1, 2, 3, 4, 5, 6, 7, 8, 9], \"foot_switches\": [1, 2, 3, 4, 5, 6, 7, 8, 9], \"a\": 1}");
	cr_expect_eq(c.fault_count, 19);
	cr_expect_eq(c.faults[WET_CONFIG_FAULTS - 1].err, WET_ERR_INVALID);
	snprintf(json, sizeof json, "%s]}", "{\"recipes\": [");
	decode(json);
	cr_expect_eq(c.fault_count, 0);
}

Test(config, a_file_that_cannot_be_read_is_told_and_no_more)
{
	char folder[] = "/tmp/wetside-config-XXXXXX", path[128], pipe_path[128];
	cr_assert_not_null(mkdtemp(folder));
	snprintf(path, sizeof path, "%s/none.json", folder);
	wet_config_read(path, false, &c);
	cr_expect_eq(c.fault_count, 0);
	cr_expect_str_empty(c.path);
	wet_config_read(path, true, &c);
	cr_assert_eq(c.fault_count, 1);
	cr_expect_eq(c.faults[0].err, WET_ERR_NOT_FOUND);
	cr_expect_not_null(strstr(c.faults[0].where, "none.json"));
	wet_config_read(folder, false, &c);
	cr_expect_eq(c.fault_count, 1, "a folder");
	wet_config_read("/dev/zero", false, &c);
	cr_expect_eq(c.fault_count, 1, "a device");
	snprintf(pipe_path, sizeof pipe_path, "%s/pipe", folder);
	cr_assert_eq(mkfifo(pipe_path, 0600), 0);
	wet_config_read(pipe_path, false, &c); /* does not hang */
	cr_expect_eq(c.fault_count, 1, "a pipe");
	FILE *file = fopen(path, "wb");
	cr_assert_not_null(file);
	for (int i = 0; i <= WET_CONFIG_BYTES; i++)
		fputc(' ', file);
	fclose(file);
	wet_config_read(path, false, &c);
	cr_assert_eq(c.fault_count, 1);
	cr_expect_eq(c.faults[0].err, WET_ERR_TOO_LONG);
	cr_expect_eq(c.sound_level, -1);
	unlink(path);
	unlink(pipe_path);
	rmdir(folder);
}

Test(config, a_fault_that_shows_later)
{
	struct wet_fault fault = { 0 };
	decode("{}");
	wet_fault_set(&fault, WET_ERR_IO, "elsewhere", "/x", "a file that can be written");
	wet_config_add_fault(&c, "/sound/where", &fault);
	cr_assert_eq(c.fault_count, 1);
	cr_expect_str_eq(c.faults[0].where, "config.json#/sound/where");
}
