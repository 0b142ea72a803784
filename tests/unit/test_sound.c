/* The tones as samples. Loudness and spectrum are measured with a transform of the tests' own (tests/lib/spectrum.c).
 *
 * Sources: A-weighting IEC 61672-1 (formula and table values from memory); spectrum rule after IEC 60601-1-8:2006 + A1
 * as publishers' pages summarise it: a component in 150..1,000 Hz among the four largest, four or more peaks in
 * 150..4,000 Hz within 15 dB, a defined rise. */
#include "spectrum.h"
#include "wetside/sound.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <criterion/criterion.h>

#define NOTES_MAX 8
#define PIPS 3

struct sound {
	int16_t *samples;
	size_t count;
	struct note_span notes[NOTES_MAX];
	size_t notes_count;
};

static struct sound render(enum wet_tone tone, int pips, uint32_t rate_milli)
{
	struct sound s = { .count = wet_tone_samples(tone, pips, rate_milli) };

	s.samples = malloc((s.count + 1) * sizeof *s.samples);
	cr_assert_not_null(s.samples);
	memset(s.samples, 0x55, (s.count + 1) * sizeof *s.samples);
	wet_tone_render(tone, pips, rate_milli, 1000, s.samples);
	cr_assert_eq(s.samples[s.count], 0x5555, "%s writes beyond its end", wet_tone_name(tone));
	s.notes_count = find_notes(s.samples, s.count, s.notes, NOTES_MAX);
	return s;
}

static int peak_of(const int16_t *samples, size_t from, size_t to)
{
	int peak = 0;

	for (size_t i = from; i < to; i++)
		if (abs(samples[i]) > peak) peak = abs(samples[i]);
	return peak;
}

Test(sound, a_weighting_of_the_tests_is_that_of_the_standard)
{
	/* IEC 61672-1, table of design goals at nominal frequencies (exact ones are powers of 10^0.1); from memory. */
	static const struct {
		double exponent, db;
	} rows[] = { { 20, -19.1 }, { 23, -10.9 }, { 24, -8.6 }, { 27, -3.2 }, { 30, 0.0 }, { 33, 1.2 }, { 36, 1.0 } };

	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		double hz = pow(10, rows[i].exponent / 10);

		cr_expect_lt(fabs(a_weighting_db(hz) - rows[i].db), 0.06, "%.0f Hz: %.2f dB", hz, a_weighting_db(hz));
	}
}

Test(sound, length_is_the_stated_one_to_the_sample)
{
	for (int tone = 0; tone < WET_TONE_N; tone++)
		for (int pips = 1; pips <= WET_PIPS_MAX; pips += 21)
			for (uint32_t rate = 1000; rate <= 7000; rate += 1501) {
				double exact = (double)wet_tone_length_ns((enum wet_tone)tone, pips, rate) * WET_SAMPLE_RATE / 1e9;

				cr_assert_leq(fabs((double)wet_tone_samples((enum wet_tone)tone, pips, rate) - exact), 0.5);
			}
	cr_expect_eq(wet_tone_samples(WET_TONE_BEAT, 1, 1000), 60 * 48);
	cr_expect_eq(wet_tone_samples(WET_TONE_COUNT, 1, 1000), 2100 * 48);
	cr_expect_eq(wet_tone_samples(WET_TONE_N, 1, 1000), 0);
}

Test(sound, begins_at_its_first_sample_and_fills_its_length)
{
	for (int tone = 0; tone < WET_TONE_N; tone++)
		for (uint32_t level = 1; level <= 1000; level += 333) {
			struct sound s = render((enum wet_tone)tone, PIPS, 1000);

			wet_tone_render((enum wet_tone)tone, PIPS, 1000, level, s.samples);
			cr_expect_neq(s.samples[0], 0, "%s at level %u", wet_tone_name((enum wet_tone)tone), level);
			/* A low level ends in zeros: look at the full one. */
			cr_expect_gt(s.notes[s.notes_count - 1].to + 48, s.count, "%s", wet_tone_name((enum wet_tone)tone));
			free(s.samples);
		}
}

Test(sound, level_nothing_is_silence)
{
	int16_t out[60 * 48];

	wet_tone_render(WET_TONE_BEAT, 1, 1000, 0, out);
	cr_expect_eq(peak_of(out, 0, 60 * 48), 0);
}

Test(sound, level_scales)
{
	int16_t loud[60 * 48], soft[60 * 48];

	wet_tone_render(WET_TONE_BEAT, 1, 1000, 1000, loud);
	wet_tone_render(WET_TONE_BEAT, 1, 1000, 250, soft);
	for (int i = 1; i < 60 * 48; i++) cr_assert_leq(abs(loud[i] - 4 * soft[i]), 4);
}

Test(sound, two_at_once_do_not_clip)
{
	for (int tone = 0; tone < WET_TONE_N; tone++) {
		struct sound s = render((enum wet_tone)tone, PIPS, 1000);

		cr_expect_lt(peak_of(s.samples, 0, s.count), INT16_MAX / 2, "%s", wet_tone_name((enum wet_tone)tone));
		free(s.samples);
	}
}

Test(sound, rises_in_ten_to_fifty_ms_and_ends_without_a_click)
{
	for (int tone = 0; tone < WET_TONE_N; tone++) {
		struct sound s = render((enum wet_tone)tone, PIPS, 1000);

		cr_assert_gt(s.notes_count, 0u);
		for (size_t i = 0; i < s.notes_count; i++) {
			size_t from = s.notes[i].from, to = s.notes[i].to;
			int peak = peak_of(s.samples, from, to);

			cr_expect_lt(peak_of(s.samples, from, from + 48 * 5 / 2), 0.5 * peak, "%s", wet_tone_name((enum wet_tone)tone));
			cr_expect_lt(peak_of(s.samples, from, from + 48 * 10), 0.9 * peak, "%s", wet_tone_name((enum wet_tone)tone));
			cr_expect_gt(peak_of(s.samples, from, from + 48 * 50), 0.7 * peak, "%s", wet_tone_name((enum wet_tone)tone));
			/* The first and the last half millisecond; and no step there larger than those inside. */
			cr_expect_leq(peak_of(s.samples, from, from + 24), 0.12 * peak, "%s", wet_tone_name((enum wet_tone)tone));
			cr_expect_leq(peak_of(s.samples, to - 24, to), 0.12 * peak, "%s", wet_tone_name((enum wet_tone)tone));
			cr_expect_leq(abs(s.samples[from]), 0.01 * peak, "%s", wet_tone_name((enum wet_tone)tone));
			cr_expect_leq(abs(s.samples[to - 1]), 0.01 * peak, "%s", wet_tone_name((enum wet_tone)tone));
		}
		free(s.samples);
	}
}

static double power[SPECTRUM_BINS];

Test(sound, every_note_is_equally_loud_within_two_dba)
{
	double least = 1000, most = -1000;

	for (int tone = 0; tone < WET_TONE_N; tone++) {
		struct sound s = render((enum wet_tone)tone, PIPS, 1000);
		size_t sounding = 0;

		for (size_t i = 0; i < s.notes_count; i++) {
			size_t count = s.notes[i].to - s.notes[i].from;
			double level;

			sounding += count;
			cr_assert(spectrum_power(s.samples + s.notes[i].from, count, power));
			level = level_dba(power, count);
			if (level < least) least = level;
			if (level > most) most = level;
		}
		cr_assert(spectrum_power(s.samples, s.count, power));
		cr_expect_gt(level_dba(power, sounding), -22, "%s is too soft to hear", wet_tone_name((enum wet_tone)tone));
		free(s.samples);
	}
	cr_expect_leq(most - least, 2.0, "%.2f dB(A) between the softest and the loudest note", most - least);
}

Test(sound, every_note_keeps_the_spectrum_rule)
{
	for (int tone = 0; tone < WET_TONE_N; tone++) {
		const char *name = wet_tone_name((enum wet_tone)tone);
		struct sound s = render((enum wet_tone)tone, PIPS, 1000);

		for (size_t i = 0; i < s.notes_count; i++) {
			size_t count = s.notes[i].to - s.notes[i].from;
			double all = 0, inside = 0;
			struct peak peaks[8];
			int low = 0, strong = 0;

			cr_assert(spectrum_power(s.samples + s.notes[i].from, count, power));
			cr_assert_eq(find_peaks(power, 100, peaks, 8), 8u);
			for (int k = 0; k < 4; k++) low += peaks[k].hz >= 150 && peaks[k].hz <= 1000;
			for (int k = 0; k < 8; k++)
				strong += peaks[k].hz >= 150 && peaks[k].hz <= 4000
				          && 10 * log10(peaks[0].power / peaks[k].power) <= 15;
			for (size_t k = 0; k < SPECTRUM_BINS; k++) {
				all += power[k];
				if (spectrum_hz(k) >= 150 && spectrum_hz(k) <= 4000) inside += power[k];
			}
			cr_expect_geq(low, 1, "%s: nothing of 150..1,000 Hz among the four strongest", name);
			cr_expect_geq(strong, 4, "%s: %d peaks within 15 dB", name, strong);
			cr_expect_lt(1 - inside / all, 0.01, "%s: %.3f of its power outside 150..4,000 Hz", name, 1 - inside / all);
		}
		free(s.samples);
	}
}

/* The pitch of a note: the lowest of its strong peaks. */
static double pitch(const struct sound *s, size_t note)
{
	struct peak peaks[4];
	double lowest = 1e9;

	cr_assert(spectrum_power(s->samples + s->notes[note].from, s->notes[note].to - s->notes[note].from, power));
	cr_assert_eq(find_peaks(power, 100, peaks, 4), 4u);
	for (int k = 0; k < 4; k++)
		if (peaks[k].hz < lowest && peaks[0].power / peaks[k].power < 10) lowest = peaks[k].hz;
	return lowest;
}

/* The pitch of a note whose lowest partial is not its strongest: how far its partials stand apart. */
static double spacing_of_partials(const struct sound *s)
{
	struct peak peaks[4];
	double least = 1e9;

	cr_assert(spectrum_power(s->samples, s->count, power));
	cr_assert_eq(find_peaks(power, 100, peaks, 4), 4u);
	for (int a = 0; a < 4; a++)
		for (int b = 0; b < a; b++)
			if (fabs(peaks[a].hz - peaks[b].hz) < least) least = fabs(peaks[a].hz - peaks[b].hz);
	return least;
}

Test(sound, rising_is_do_and_falling_or_low_is_dont)
{
	struct sound turn = render(WET_TONE_TURN, 1, 1000), rest = render(WET_TONE_REST, 1, 1000);
	struct sound answer = render(WET_TONE_ANSWER, 1, 1000), refused = render(WET_TONE_REFUSED, 1, 1000);
	struct sound change = render(WET_TONE_CHANGE, 1, 1000);

	cr_expect_gt(pitch(&turn, 2), 1.2 * pitch(&turn, 0));
	cr_expect_lt(1.2 * pitch(&rest, 2), pitch(&rest, 0));
	cr_expect_gt(pitch(&answer, 1), 1.1 * pitch(&answer, 0));
	cr_expect_gt(pitch(&change, 1), 1.2 * pitch(&change, 0));
	/* Two octaves: enough to tell by register alone (Brewster, Wright and Edwards on earcons ask for two to three). */
	cr_expect_gt(pitch(&answer, 0), 3.9 * spacing_of_partials(&refused));
	free(turn.samples);
	free(rest.samples);
	free(answer.samples);
	free(refused.samples);
	free(change.samples);
}

Test(sound, pour_out_is_the_last_note_of_the_count)
{
	struct sound count = render(WET_TONE_COUNT, 1, 1000), pour = render(WET_TONE_POUR_OUT, 1, 1000);

	cr_expect_eq(count.notes_count, (size_t)WET_COUNT_PIPS);
	cr_expect_eq(pour.notes_count, 1u);
	cr_expect_lt(fabs(pitch(&count, 0) - pitch(&pour, 0)), 5);
	/* The same wave: only the loudness of a short note is set a little differently. */
	for (size_t i = 480; i < 3000; i++) cr_assert_lt(abs(count.samples[i] - pour.samples[i]), INT16_MAX / 25);
	free(count.samples);
	free(pour.samples);
}

Test(sound, count_pips_stand_at_their_exact_place)
{
	for (uint32_t rate = 1000; rate <= 9000; rate += 777) {
		struct sound s = render(WET_TONE_COUNT, 1, rate);
		double spacing = (double)wet_tone_spacing_ns(rate) * WET_SAMPLE_RATE / 1e9;

		cr_assert_eq(s.notes_count, (size_t)WET_COUNT_PIPS);
		for (size_t i = 0; i < s.notes_count; i++)
			cr_expect_leq(fabs((double)s.notes[i].from - (double)i * spacing), 0.5, "pip %zu at rate %u", i, rate);
		free(s.samples);
	}
}

Test(sound, pips_can_be_counted)
{
	for (int pips = 1; pips <= NOTES_MAX; pips++) {
		struct sound s = render(WET_TONE_PIPS, pips, 1000);

		cr_assert_eq(s.notes_count, (size_t)pips);
		for (size_t i = 0; i < s.notes_count; i++) cr_expect_eq(s.notes[i].from, i * WET_PIP_SPACING_MS * 48);
		free(s.samples);
	}
}

/* Does the rhythm differ: another number of notes, or a note or a rest over 1.4 times as long? */
static bool rhythm_differs(const struct sound *a, const struct sound *b)
{
	if (a->notes_count != b->notes_count) return true;
	for (size_t i = 0; i < a->notes_count; i++) {
		double la = (double)(a->notes[i].to - a->notes[i].from), lb = (double)(b->notes[i].to - b->notes[i].from);

		if (la > 1.4 * lb || lb > 1.4 * la) return true;
		if (i == 0) continue;
		la = (double)(a->notes[i].from - a->notes[i - 1].from);
		lb = (double)(b->notes[i].from - b->notes[i - 1].from);
		if (la > 1.4 * lb || lb > 1.4 * la) return true;
	}
	return false;
}

/* Similarity of two sounds that begin together: 1 if they are the same but for loudness. */
static double likeness(const struct sound *a, const struct sound *b)
{
	double ab = 0, aa = 0, bb = 0;

	for (size_t i = 0; i < a->count; i++) aa += (double)a->samples[i] * a->samples[i];
	for (size_t i = 0; i < b->count; i++) bb += (double)b->samples[i] * b->samples[i];
	for (size_t i = 0; i < a->count && i < b->count; i++) ab += (double)a->samples[i] * b->samples[i];
	return fabs(ab) / sqrt(aa * bb);
}

Test(sound, every_pair_differs_in_rhythm_and_in_length_register_or_timbre)
{
	struct sound all[WET_TONE_N];
	double pitches[WET_TONE_N];

	for (int tone = 0; tone < WET_TONE_N; tone++) {
		all[tone] = render((enum wet_tone)tone, PIPS, 1000);
		pitches[tone] = pitch(&all[tone], 0);
	}
	for (int a = 0; a < WET_TONE_N; a++)
		for (int b = 0; b < a; b++) {
			const char *one = wet_tone_name((enum wet_tone)a), *other = wet_tone_name((enum wet_tone)b);
			double length = (double)all[a].count / (double)all[b].count, hz = pitches[a] / pitches[b];
			bool is_same_sound = strcmp(wet_tone_sound((enum wet_tone)a), wet_tone_sound((enum wet_tone)b)) == 0;

			cr_expect_lt(likeness(&all[a], &all[b]), 0.5, "%s and %s are alike", one, other);
			if (is_same_sound) continue; /* forms of one sound share what makes it one */
			cr_expect(rhythm_differs(&all[a], &all[b]), "%s and %s have one rhythm", one, other);
			cr_expect(length > 1.3 || length < 1 / 1.3 || hz > 1.3 || hz < 1 / 1.3, "%s and %s differ in rhythm only", one,
			          other);
		}
	for (int tone = 0; tone < WET_TONE_N; tone++) free(all[tone].samples);
}

/* How much the lowest partial goes up and down within a note: its envelope's most over its least, after the rise and
 * before the end. Two copies a few Hz apart beat; one does not, though it may fade. */
static double unsteadiness(const struct sound *s)
{
	const size_t window = 48 * 15, rise = 480, fall = 720;
	size_t from = s->notes[0].from, to = s->notes[0].to;
	double step = 2 * acos(-1.0) * pitch(s, 0) / WET_SAMPLE_RATE, least = 1e18, most = 0;

	for (size_t at = from + rise; at + window + fall <= to; at += 48) {
		double re = 0, im = 0;

		for (size_t i = at; i < at + window; i++) {
			re += s->samples[i] * cos(step * (double)i);
			im += s->samples[i] * sin(step * (double)i);
		}
		least = fmin(least, hypot(re, im));
		most = fmax(most, hypot(re, im));
	}
	return most / least;
}

Test(sound, the_alarm_alone_is_rough)
{
	for (int tone = 0; tone < WET_TONE_N; tone++) {
		struct sound s = render((enum wet_tone)tone, PIPS, 1000);
		double by = unsteadiness(&s);

		if (tone == WET_TONE_ALARM) cr_expect_gt(by, 4, "the alarm beats by %.1f only", by);
		else cr_expect_lt(by, 2.5, "%s beats by %.1f", wet_tone_name((enum wet_tone)tone), by);
		free(s.samples);
	}
}

Test(sound, mix_adds_and_saturates)
{
	int16_t dst[] = { 1, -1, 32000, -32000, 0 };
	const int16_t src[] = { 2, -2, 32000, -32000, 7 };

	wet_mix(dst, src, 5);
	cr_expect_eq(dst[0], 3);
	cr_expect_eq(dst[1], -3);
	cr_expect_eq(dst[2], INT16_MAX);
	cr_expect_eq(dst[3], INT16_MIN);
	cr_expect_eq(dst[4], 7);
}

/* Ten sounds at once, begun a little apart: no sample at full scale for more than an instant, nothing clicks, and where less
 * sounds it is untouched. */
Test(sound, ten_at_once_do_not_clip)
{
	static int32_t sum[2 * WET_SAMPLE_RATE];
	static int16_t out[2 * WET_SAMPLE_RATE], alone[WET_SAMPLE_RATE];
	struct wet_limit limit = { 0 };
	size_t tone = wet_tone_samples(WET_TONE_CHANGE, 1, 1000), clipped = 0;
	int steepest_in = 0, steepest_out = 0;

	wet_tone_render(WET_TONE_CHANGE, 1, 1000, 1000, alone);
	for (size_t k = 0; k < 10; k++)
		for (size_t i = 0; i < tone; i++) sum[4800 + k * 2 + i] += alone[i];
	for (size_t at = 0; at < 2 * WET_SAMPLE_RATE; at += 240) wet_limit_apply(&limit, sum + at, 240, out + at);
	for (size_t i = 1; i < 2 * WET_SAMPLE_RATE; i++) {
		clipped += abs(out[i]) >= INT16_MAX && abs(out[i - 1]) >= INT16_MAX;
		if (abs(sum[i] - sum[i - 1]) > steepest_in) steepest_in = abs(sum[i] - sum[i - 1]);
		if (abs(out[i] - out[i - 1]) > steepest_out) steepest_out = abs(out[i] - out[i - 1]);
	}
	cr_expect_lt(clipped, tone / 1000, "%zu samples at full scale in a row", clipped);
	cr_expect_gt(peak_of(out, 0, 2 * WET_SAMPLE_RATE), INT16_MAX * 9 / 10);
	cr_expect_leq(steepest_out, steepest_in, "%d, of %d", steepest_out, steepest_in);
	cr_expect_eq(out[4799], 0);
	cr_expect_neq(out[4800], 0);
	cr_expect_lt(limit.softer, 1e-9, "it has not come back");
}

Test(sound, one_and_two_at_once_are_left_as_they_are)
{
	int32_t sum[480];
	int16_t out[480];
	struct wet_limit limit = { 0 };

	for (int i = 0; i < 480; i++) sum[i] = (i % 2 ? 1 : -1) * (INT16_MAX - i);
	wet_limit_apply(&limit, sum, 480, out);
	for (int i = 0; i < 480; i++) cr_expect_eq(out[i], sum[i]);
}
