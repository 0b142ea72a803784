/* The tones' files as SoX 14.4 reads them (Debian package sox): that it can, how long they are, how loud, and their pitch.
 * Without SoX these fail, unless WET_WITHOUT_SOX is set. */
#include "speaker/speaker.h"
#include "spectrum.h"
#include "wav_read.h"
#include "wetside/sound.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <criterion/criterion.h>

#define ORIGIN_NS 1234567890123LL

static int64_t clock_ns = ORIGIN_NS;
static char folder[64], path[96];

static int64_t now_ns(void *ctx)
{
	(void)ctx;
	return clock_ns;
}

/* A file with nothing but one tone. */
static void write_tone(enum wet_tone tone, int pips)
{
	struct wet_speaker_options options = { .now_ns = now_ns, .level_milli = 1000 };
	struct wet_speaker *speaker;
	char where[112];

	snprintf(folder, sizeof folder, "/tmp/wet-sox-XXXXXX");
	cr_assert_not_null(mkdtemp(folder));
	snprintf(path, sizeof path, "%s/tone.wav", folder);
	snprintf(where, sizeof where, "file:%s", path);
	options.where = where;
	cr_assert_eq(wet_speaker_open(&speaker, &options, NULL), WET_OK);
	cr_assert_eq(wet_speaker_now(speaker, tone, pips), WET_OK);
	wet_speaker_close(speaker);
}

static void remove_tone(void)
{
	unlink(path);
	rmdir(folder);
}

/* Runs a command and gives what it says. */
static void run(const char *command, char *said, size_t said_bytes)
{
	FILE *pipe = popen(command, "r");
	size_t got;

	cr_assert_not_null(pipe);
	got = fread(said, 1, said_bytes - 1, pipe);
	said[got] = '\0';
	cr_assert_eq(pclose(pipe), 0, "%s: %s", command, said);
}

static bool has_sox(void)
{
	FILE *pipe = popen("command -v sox >/dev/null 2>&1", "r");
	bool is_there = pipe && pclose(pipe) == 0;

	if (!is_there) cr_assert_not_null(getenv("WET_WITHOUT_SOX"), "sox is not installed; WET_WITHOUT_SOX=1 leaves this out");
	return is_there;
}

/* One number of `sox FILE -n [effect] stat`. */
static double stat_of(const char *effect, const char *name)
{
	char command[256], said[4096], *line;

	snprintf(command, sizeof command, "sox %s -n %s stat 2>&1", path, effect);
	run(command, said, sizeof said);
	line = strstr(said, name);
	cr_assert_not_null(line, "no %s in: %s", name, said);
	line = strchr(line, ':');
	cr_assert_not_null(line);
	return strtod(line + 1, NULL);
}

Test(tones_sox, every_file_is_as_long_as_the_table_of_tones_says)
{
	if (!has_sox()) return;
	for (int tone = 0; tone < WET_TONE_N; tone++) {
		double want_s = (double)wet_tone_length_ns((enum wet_tone)tone, 2, 1000) / 1e9;

		write_tone((enum wet_tone)tone, 2);
		cr_expect_lt(fabs(stat_of("", "Length (seconds)") - want_s), 1.0 / 48000 + 1e-6, "%s", wet_tone_name((enum wet_tone)tone));
		cr_expect_lt(fabs(stat_of("", "Samples read") - want_s * 48000), 0.51, "%s", wet_tone_name((enum wet_tone)tone));
		cr_expect_lt(stat_of("", "Maximum amplitude"), 0.5, "%s", wet_tone_name((enum wet_tone)tone));
		cr_expect_gt(stat_of("", "Maximum amplitude"), 0.2, "%s", wet_tone_name((enum wet_tone)tone));
		remove_tone();
	}
}

/* SoX's rough frequency is the root mean square of the spectrum's frequencies; below the second partial only the pitch is
 * left. The pitches are those of the table in daemon/sound/render.c. */
Test(tones_sox, pitches_are_those_claimed)
{
	static const struct {
		enum wet_tone tone;
		double hz;
	} rows[] = {
		{ WET_TONE_POUR_OUT, 880 },
		{ WET_TONE_COUNT, 880 },
		{ WET_TONE_ATTEND, 262 },
		{ WET_TONE_PIPS, 659 },
		{ WET_TONE_REFUSED, 165 },
	};

	if (!has_sox()) return;
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		char effect[64];
		double hz;

		write_tone(rows[i].tone, 2);
		snprintf(effect, sizeof effect, "sinc -t 60 %.0f-%.0f", rows[i].hz * 0.6, rows[i].hz * 1.4);
		hz = stat_of(effect, "Rough   frequency");
		cr_expect_lt(fabs(hz / rows[i].hz - 1), 0.03, "%s: %.0f Hz", wet_tone_name(rows[i].tone), hz);
		remove_tone();
	}
}

/* The tests' own transform and SoX agree on what is in a tone; so the loudness and spectrum tests measure rightly. */
Test(tones_sox, the_transform_of_the_tests_agrees_with_sox)
{
	static double power[SPECTRUM_BINS];

	if (!has_sox()) return;
	for (int tone = 0; tone < WET_TONE_N; tone++) {
		double sum = 0, square = 0, ours_hz, sox_hz, ours_rms, sox_rms;
		size_t frames;
		unsigned rate;
		int16_t *samples;

		write_tone((enum wet_tone)tone, 2);
		samples = wav_read(path, &frames, &rate, NULL, 0);
		cr_assert_not_null(samples);
		cr_assert(spectrum_power(samples, frames, power));
		for (size_t k = 0; k < SPECTRUM_BINS; k++) {
			/* SoX takes the difference of neighbours for the slope: 2 sin(w/2) for w. */
			double slope = 2 * sin(acos(-1.0) * spectrum_hz(k) / 48000) * 48000 / (2 * acos(-1.0));

			sum += power[k];
			square += power[k] * slope * slope;
		}
		ours_hz = sqrt(square / sum);
		ours_rms = sqrt(sum / (double)frames);
		sox_hz = stat_of("", "Rough   frequency");
		sox_rms = stat_of("", "RMS     amplitude");
		cr_expect_lt(fabs(ours_hz - sox_hz), 1.5, "%s: %.1f Hz, SoX says %.1f", wet_tone_name((enum wet_tone)tone), ours_hz,
		             sox_hz);
		cr_expect_lt(fabs(ours_rms - sox_rms), 2e-6, "%s: %.6f, SoX says %.6f", wet_tone_name((enum wet_tone)tone), ours_rms,
		             sox_rms);
		free(samples);
		remove_tone();
	}
}

Test(tones_sox, a_file_is_what_it_says_with_the_comment_in_front_of_the_data)
{
	char command[160], said[4096];

	if (!has_sox()) return;
	write_tone(WET_TONE_BEAT, 1);
	snprintf(command, sizeof command, "sox --i %s 2>&1", path);
	run(command, said, sizeof said);
	cr_expect_not_null(strstr(said, "Channels       : 1\n"), "%s", said);
	cr_expect_not_null(strstr(said, "Sample Rate    : 48000\n"), "%s", said);
	cr_expect_not_null(strstr(said, "= 2880 samples"), "%s", said);
	cr_expect_not_null(strstr(said, "16-bit Signed Integer PCM"), "%s", said);
	cr_expect_null(strstr(said, "WARN"), "%s", said);
	remove_tone();
}
