/* test_hearing.c: can the tones be told apart by ear, over running water? A listener that knows them by heart (matched filters
 * of python3-numpy and python3-scipy, which share no code with the renderer) hears each of them again and again in noise.
 * Asked: 99.9 % right at 0 dB in white, pink and running-water-like noise, 99 % at -5 dB. That any two differ in rhythm and in
 * one thing more is test_sound's business. WET_HEARING_TRIALS=N hears each tone N times. */
#include "oracle.h"
#include "wetside/sound.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>

#define LISTENER WET_SOURCE_DIR "/tests/outside/hearing_oracle.py"
#define NOISES 3
#define PIPS 5 /* of PIPS: a number to count */
#define TRIALS 24

static const char *const noise_words[NOISES] = { "white", "pink", "running water" };

static FILE *ask(int trials, double db)
{
	static int16_t samples[WET_SAMPLE_RATE * 4];
	FILE *q = test_oracle_questions();
	cr_assert_not_null(q);
	fprintf(q, "%llu %d %g\n", (unsigned long long)test_oracle_seed(), trials, db);
	for (int i = 0; i < WET_TONE_N; i++) {
		size_t n = wet_tone_samples((enum wet_tone)i, PIPS, 1000);
		cr_assert_leq(n, sizeof samples / sizeof samples[0]);
		wet_tone_render((enum wet_tone)i, PIPS, 1000, 1000, samples);
		for (size_t k = 0; k < n; k++)
			fprintf(q, "%d ", samples[k]);
		fprintf(q, "\n");
	}
	return q;
}

static void print_matrix(const double *matrix)
{
	for (int i = 0; i < WET_TONE_N; i++) {
		printf("  %-9s", wet_tone_name((enum wet_tone)i));
		for (int j = 0; j < WET_TONE_N; j++)
			printf(" %5.0f", matrix[i * WET_TONE_N + j]);
		printf("\n");
	}
}

static void hear(double db, int trials, double right_least)
{
	static double matrix[NOISES * WET_TONE_N * WET_TONE_N];
	const int cells = WET_TONE_N * WET_TONE_N;
	cr_assert(test_oracle_answers(LISTENER, "confusion", ask(trials, db), matrix, (size_t)(NOISES * cells)));
	for (int noise = 0; noise < NOISES; noise++) {
		double right = 0, all = 0;
		for (int i = 0; i < cells; i++) {
			all += matrix[noise * cells + i];
			right += i % (WET_TONE_N + 1) == 0 ? matrix[noise * cells + i] : 0;
		}
		printf("%g dB, %s: %.0f of %.0f right\n", db, noise_words[noise], right, all);
		print_matrix(&matrix[noise * cells]);
		cr_assert_eq((int)all, trials * WET_TONE_N);
		cr_expect_geq(right, right_least * all, "%s at %g dB", noise_words[noise], db);
	}
}

static int trials(void)
{
	const char *told = getenv("WET_HEARING_TRIALS");
	return told && atoi(told) > 0 ? atoi(told) : TRIALS;
}

Test(hearing, at_0_db)
{
	hear(0, trials(), 0.999);
}

Test(hearing, at_minus_5_db)
{
	hear(-5, trials() / 2 + 1, 0.99);
}
