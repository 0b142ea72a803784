/* What a voice gave becomes samples as loud as the tones, and is kept in a folder that may be lost or damaged. */
#include "sound/loudness.h"
#include "speech/clip.h"
#include "speech/keep.h"
#include "spectrum.h"
#include "wetside/sound.h"

#include <dirent.h>
#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <criterion/criterion.h>

#define PI 3.14159265358979323846

static char folder[64];

static void make_folder(void)
{
	snprintf(folder, sizeof folder, "/tmp/wet-keep-XXXXXX");
	cr_assert_not_null(mkdtemp(folder));
}

static void remove_folder(void)
{
	DIR *dir = opendir(folder);
	const struct dirent *e;
	while (dir && (e = readdir(dir)) != NULL)
		(void)unlinkat(dirfd(dir), e->d_name, 0);
	if (dir)
		closedir(dir);
	rmdir(folder);
}

static void put(unsigned char *at, uint32_t value, int bytes)
{
	for (int i = 0; i < bytes; i++)
		at[i] = (unsigned char)(value >> (8 * i));
}

/* As a pipe gives it: sizes that are not known yet. Bursts of a sound of two partials, with pauses. */
static unsigned char *make_wav(uint32_t rate_hz, double hz, double peak, size_t frames, size_t *ret_bytes)
{
	unsigned char *wav = calloc(1, 44 + frames * 2);
	memcpy(wav, "RIFF\x24\xf0\xff\x7fWAVEfmt ", 16);
	put(wav + 16, 16, 4);
	put(wav + 20, 1, 2);
	put(wav + 22, 1, 2);
	put(wav + 24, rate_hz, 4);
	put(wav + 28, rate_hz * 2, 4);
	put(wav + 32, 2, 2);
	put(wav + 34, 16, 2);
	memcpy(wav + 36, "data\x00\xf0\xff\x7f", 8);
	for (size_t i = 0; i < frames; i++) {
		double t = (double)i / rate_hz, s = t < 0.2 || fmod(t, 0.4) > 0.3 ? 0 : 0.6 * sin(2 * PI * hz * t) + 0.4 * sin(2 * PI * 3 * hz * t);
		put(wav + 44 + 2 * i, (uint16_t)(int16_t)lrint(s * peak * 32767), 2);
	}
	*ret_bytes = 44 + frames * 2;
	return wav;
}

static double level_db(const int16_t *sample, size_t samples)
{
	float *x = malloc(samples * sizeof *x);
	for (size_t i = 0; i < samples; i++)
		x[i] = (float)sample[i] / 32767;
	double level = wet_speech_level(x, samples);
	free(x);
	return 20 * log10(level);
}

/* A-weighting: the closed form of IEC 61672-1, which tests/lib/spectrum.c holds to the standard's table. */
Test(loudness, the_filter_is_that_of_the_standard)
{
	static float x[WET_SAMPLE_RATE];
	for (double hz = 63; hz < 9000; hz *= 1.25) {
		for (int i = 0; i < WET_SAMPLE_RATE; i++)
			x[i] = (float)(0.5 * sin(2 * PI * hz * i / WET_SAMPLE_RATE));
		double got = 20 * log10(wet_speech_level(x, WET_SAMPLE_RATE) / (0.5 / sqrt(2)));
		cr_assert_float_eq(got, a_weighting_db(hz), hz < 4000 ? 0.5 : 1.5, "%.0f Hz: %.2f dB, not %.2f", hz, got, a_weighting_db(hz));
	}
}

Test(loudness, of_silence_nothing_is_made)
{
	static float x[4800];
	static int16_t out[4800];
	size_t from, to;
	wet_speech_trim(x, 4800, &from, &to);
	cr_assert_eq(from, to);
	wet_speech_settle(x, 4800, out);
	for (int i = 0; i < 4800; i++)
		cr_assert_eq(out[i], 0);
	cr_assert_eq(wet_speech_level(x, 0), 0);
}

Test(loudness, peaks_are_held_and_the_level_stays)
{
	static float x[WET_SAMPLE_RATE];
	static int16_t out[WET_SAMPLE_RATE];
	/* Clicks in a soft sound, as in speech. */
	for (int i = 0; i < WET_SAMPLE_RATE; i++)
		x[i] = (float)((i % 4800 < 20 ? 0.9 : 0.05) * sin(2 * PI * 700 * i / WET_SAMPLE_RATE));
	wet_speech_settle(x, WET_SAMPLE_RATE, out);
	for (int i = 0; i < WET_SAMPLE_RATE; i++)
		cr_assert_leq(abs(out[i]), (int)(WET_SPEECH_PEAK * 32767) + 1);
	cr_assert_float_eq(level_db(out, WET_SAMPLE_RATE), 20 * log10(WET_LOUDNESS), 2);
}

Test(clip, any_rate_and_any_loudness_become_the_level_of_the_tones)
{
	static const uint32_t rates[] = { 8000, 16000, 22050, 44100, 48000, 96000 };
	for (size_t r = 0; r < sizeof rates / sizeof rates[0]; r++) {
		for (double peak = 0.01; peak < 1; peak *= 4) {
			size_t bytes, samples = 0;
			int16_t *sample = NULL;
			unsigned char *wav = make_wav(rates[r], 500, peak, rates[r] * 2, &bytes);
			cr_assert_eq(wet_clip_make(wav, bytes, &sample, &samples), WET_OK);
			cr_assert_float_eq(level_db(sample, samples), 20 * log10(WET_LOUDNESS), 1, "%u Hz, %.2f", rates[r], peak);
			/* The silence at both ends has gone, the pitch and the length are what they were. */
			cr_assert_float_eq((double)samples / WET_SAMPLE_RATE, 1.9 - 0.2, 0.06);
			static double power[SPECTRUM_BINS];
			struct peak top;
			cr_assert_eq(spectrum_power(sample, samples, power), 1);
			cr_assert_eq(find_peaks(power, 50, &top, 1), 1);
			cr_assert_float_eq(top.hz, 500, 2);
			cr_assert(abs(sample[0]) < 50 && abs(sample[samples - 1]) < 50, "it clicks");
			free(sample);
			free(wav);
		}
	}
}

Test(clip, what_is_no_sound_is_refused)
{
	size_t bytes, samples;
	int16_t *sample;
	unsigned char *wav = make_wav(22050, 500, 0.5, 22050, &bytes);
	for (size_t n = 0; n < 46; n++)
		cr_assert_neq(wet_clip_make(wav, n, &sample, &samples), WET_OK, "%zu bytes", n);
	put(wav + 34, 8, 2);
	cr_assert_eq(wet_clip_make(wav, bytes, &sample, &samples), WET_ERR_INVALID, "eight bits");
	put(wav + 34, 16, 2);
	put(wav + 24, 3, 4);
	cr_assert_eq(wet_clip_make(wav, bytes, &sample, &samples), WET_ERR_INVALID, "3 Hz");
	put(wav + 24, 22050, 4);
	memset(wav + 44, 0, bytes - 44);
	cr_assert_eq(wet_clip_make(wav, bytes, &sample, &samples), WET_ERR_INVALID, "silence");
	free(wav);
	wav = make_wav(8000, 500, 0.5, 8000 * 31, &bytes);
	cr_assert_eq(wet_clip_make(wav, bytes, &sample, &samples), WET_ERR_TOO_LONG);
	for (size_t i = 0; i < bytes; i++)
		wav[i] = (unsigned char)(i * 7919 >> 3);
	cr_assert_eq(wet_clip_make(wav, bytes, &sample, &samples), WET_ERR_INVALID, "garbage");
	free(wav);
}

Test(keep, the_key_is_of_all_that_is_heard)
{
	char key[6][WET_KEEP_KEY_BYTES];
	wet_keep_key("p", "en", 165, "Rest.", key[0]);
	wet_keep_key("p", "de", 165, "Rest.", key[1]);
	wet_keep_key("p", "en", 166, "Rest.", key[2]);
	wet_keep_key("p", "en", 165, "Rest", key[3]);
	wet_keep_key("q", "en", 165, "Rest.", key[4]);
	wet_keep_key("p", "en", 165, "Rest.", key[5]);
	for (int i = 1; i < 5; i++)
		cr_assert_str_neq(key[0], key[i]);
	cr_assert_str_eq(key[0], key[5]);
	cr_assert_eq(strspn(key[0], "0123456789abcdef"), 64);
	/* What is kept from before this was reckoned in pieces is still found: printf 'wetside words 1\np\nen\n165\nRest.\n' | sha256sum */
	cr_assert_str_eq(key[0], "84c7c88e625b2799019f432c116e541f81a2596ffac56a269d80091bf77ffe17");
	/* A program as far down as paths go (PATH_MAX): the text counts all the same. */
	static char program[4096];
	memset(program, 'p', sizeof program - 1);
	wet_keep_key(program, "en", 165, "Rest.", key[0]);
	wet_keep_key(program, "en", 165, "Pour out.", key[1]);
	cr_assert_str_neq(key[0], key[1]);
}

Test(keep, what_is_put_comes_back_and_damage_is_noticed, .init = make_folder, .fini = remove_folder)
{
	int16_t in[1000], *out = NULL;
	char key[WET_KEEP_KEY_BYTES], path[192];
	size_t samples = 0;
	for (int i = 0; i < 1000; i++)
		in[i] = (int16_t)(i * 31);
	wet_keep_key("p", "en", 165, "Rest.", key);
	cr_assert_eq(wet_keep_get(folder, key, &out, &samples), WET_ERR_NOT_FOUND);
	snprintf(path, sizeof path, "%s/%s.words", folder, key);
	/* Every byte matters; and any length but the right one. */
	for (long at = 0; at < 2080; at += 13) {
		cr_assert_eq(wet_keep_put(folder, key, in, 1000), WET_OK);
		cr_assert_eq(wet_keep_get(folder, key, &out, &samples), WET_OK);
		cr_assert(samples == 1000 && memcmp(in, out, sizeof in) == 0);
		free(out);
		FILE *f = fopen(path, "r+b");
		cr_assert_not_null(f);
		fseek(f, at, SEEK_SET);
		int byte = fgetc(f);
		fseek(f, at, SEEK_SET);
		fputc(byte ^ 1, f);
		fclose(f);
		cr_assert_eq(wet_keep_get(folder, key, &out, &samples), WET_ERR_NOT_FOUND, "byte %ld", at);
		cr_assert_neq(access(path, F_OK), 0, "the damaged file is still there");
		cr_assert_eq(wet_keep_put(folder, key, in, 1000), WET_OK);
		cr_assert_eq(truncate(path, at), 0);
		cr_assert_eq(wet_keep_get(folder, key, &out, &samples), WET_ERR_NOT_FOUND, "%ld bytes", at);
	}
}

Test(keep, a_folder_that_is_not_there_or_not_writable, .init = make_folder, .fini = remove_folder)
{
	int16_t in[10] = { 1 };
	char away[96];
	snprintf(away, sizeof away, "%s/away", folder);
	cr_assert_eq(wet_keep_put(away, "00", in, 10), WET_ERR_NOT_FOUND);
	cr_assert_eq(wet_keep_put("/proc/self", "00", in, 10) == WET_OK, false);
	wet_keep_trim(away, 0);
}

/* A full disk, as a limit on files gives it: nothing half is kept, and nothing is left beside. */
Test(keep, a_full_disk_keeps_nothing_half, .init = make_folder, .fini = remove_folder)
{
	int16_t in[1000] = { 1 }, *out;
	size_t samples;
	struct rlimit limit = { 500, RLIM_INFINITY }, none = { RLIM_INFINITY, RLIM_INFINITY };
	char key[WET_KEEP_KEY_BYTES];
	int files = 0;
	wet_keep_key("p", "en", 165, "Rest.", key);
	signal(SIGXFSZ, SIG_IGN);
	cr_assert_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
	int rc = wet_keep_put(folder, key, in, 1000);
	cr_assert_eq(setrlimit(RLIMIT_FSIZE, &none), 0);
	cr_assert_eq(rc, WET_ERR_FULL);
	cr_assert_eq(wet_keep_get(folder, key, &out, &samples), WET_ERR_NOT_FOUND);
	DIR *dir = opendir(folder);
	for (const struct dirent *e; (e = readdir(dir)) != NULL;)
		files += e->d_name[0] != '.';
	closedir(dir);
	cr_assert_eq(files, 0);
}

Test(keep, the_oldest_go_when_it_is_too_much, .init = make_folder, .fini = remove_folder)
{
	int16_t in[1000] = { 1 };
	char key[10][WET_KEEP_KEY_BYTES], path[192];
	for (int i = 0; i < 10; i++) {
		char text[16];
		struct timespec times[2] = { { .tv_sec = 1000 + i }, { .tv_sec = 1000 + i } };
		snprintf(text, sizeof text, "%d", i);
		wet_keep_key("p", "en", 165, text, key[i]);
		cr_assert_eq(wet_keep_put(folder, key[i], in, 1000), WET_OK);
		snprintf(path, sizeof path, "%s/%s.words", folder, key[i]);
		cr_assert_eq(utimensat(AT_FDCWD, path, times, 0), 0);
	}
	snprintf(path, sizeof path, "%s/notes.txt", folder);
	fclose(fopen(path, "w"));
	wet_keep_trim(folder, 3 * 2080);
	for (int i = 0; i < 10; i++) {
		int16_t *out;
		size_t samples;
		int rc = wet_keep_get(folder, key[i], &out, &samples);
		cr_assert_eq(rc, i < 7 ? WET_ERR_NOT_FOUND : WET_OK, "%d", i);
		if (rc == 0)
			free(out);
	}
	cr_assert_eq(access(path, F_OK), 0, "what is not ours stays");
}
