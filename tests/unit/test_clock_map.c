/* The clock map: from looks at a card to the frame that is audible at a boot time. */
#include "wetside/sound.h"

#include <math.h>
#include <stdlib.h>

#include <criterion/criterion.h>

#define PERIOD_NS 5000000LL
#define SAMPLE_NS (1e9 / WET_SAMPLE_RATE)

/* A card as the tests imagine it: crystal off by ppm, pointer in steps, looks at uneven times. */
struct card {
	int64_t start_ns;
	double ppm;
	int64_t step;
	uint64_t state;
};

static double uneven(struct card *card) /* 0..1 */
{
	card->state = card->state * 6364136223846793005u + 1442695040888963407u;
	return (double)(card->state >> 11) / 9007199254740992.0;
}

static double true_frame(const struct card *card, int64_t at_ns)
{
	return (double)(at_ns - card->start_ns) * WET_SAMPLE_RATE * (1 + card->ppm / 1e6) / 1e9;
}

static int64_t take_looks(struct wet_clock_map *map, struct card *card, int64_t from_ns, int looks)
{
	int64_t at_ns = from_ns;

	for (int i = 0; i < looks; i++) {
		int64_t frame;

		at_ns = from_ns + i * PERIOD_NS + (int64_t)(uneven(card) * 400000);
		frame = (int64_t)true_frame(card, at_ns);
		wet_clock_map_look(map, at_ns, frame - frame % card->step);
	}
	return at_ns;
}

Test(clock_map, is_not_ready_before_the_first_look_nor_after_a_reset)
{
	struct wet_clock_map map;

	wet_clock_map_init(&map, WET_SAMPLE_RATE);
	cr_expect_not(wet_clock_map_ready(&map));
	wet_clock_map_look(&map, 1000000, 48);
	cr_expect(wet_clock_map_ready(&map));
	wet_clock_map_reset(&map);
	cr_expect_not(wet_clock_map_ready(&map));
	cr_expect_eq(map.rate_hz, (uint32_t)WET_SAMPLE_RATE);
}

Test(clock_map, one_look_is_enough_to_place_a_tone)
{
	struct wet_clock_map map;

	wet_clock_map_init(&map, WET_SAMPLE_RATE);
	wet_clock_map_look(&map, 7000000000LL, 4800);
	cr_expect_eq(wet_clock_map_frame(&map, 7000000000LL), 4800);
	cr_expect_eq(wet_clock_map_frame(&map, 7030000000LL), 4800 + 1440);
	cr_expect_eq(wet_clock_map_at_ns(&map, 4800 + 48000), 8000000000LL);
}

Test(clock_map, stays_within_two_samples_or_five_where_the_pointer_jumps_by_64)
{
	static const double ppm[] = { -200, -50, 0, 20, 200 };
	static const int64_t steps[] = { 1, 8, 64 };

	for (size_t p = 0; p < 5; p++)
		for (size_t s = 0; s < 3; s++) {
			struct card card = { .start_ns = 400LL * 86400 * 1000000000, .ppm = ppm[p], .step = steps[s], .state = 7 };
			struct wet_clock_map map;
			/* A pointer in steps of 64 frames (1.3 ms) needs the whole window to be seen through. */
			int64_t warm = steps[s] == 64 ? 512 : 200, from_ns = card.start_ns + 1000000;
			double worst = 0;

			wet_clock_map_init(&map, WET_SAMPLE_RATE);
			take_looks(&map, &card, from_ns, (int)warm);
			for (int64_t i = warm; i < warm + 2000; i++) {
				int64_t at_ns = take_looks(&map, &card, from_ns + i * PERIOD_NS, 1) + 30000000;
				double error = (double)wet_clock_map_frame(&map, at_ns) - true_frame(&card, at_ns);

				worst = fmax(worst, fabs(error));
			}
			cr_expect_leq(worst, steps[s] == 64 ? 5.0 : 2.0, "%.0f ppm, steps of %d: %.2f samples", ppm[p], (int)steps[s],
			              worst);
		}
}

Test(clock_map, a_late_look_moves_nothing)
{
	struct card card = { .start_ns = 1000, .step = 1, .state = 3 };
	struct wet_clock_map map;
	int64_t last_ns, frame;

	wet_clock_map_init(&map, WET_SAMPLE_RATE);
	last_ns = take_looks(&map, &card, 1000000, 300);
	frame = wet_clock_map_frame(&map, last_ns + 40000000);
	/* The stamp is 8 ms later than the pointer that goes with it. */
	wet_clock_map_look(&map, last_ns + 9000000, (int64_t)true_frame(&card, last_ns + 1000000));
	cr_expect_leq(llabs(wet_clock_map_frame(&map, last_ns + 40000000) - frame), 1);
}

Test(clock_map, a_stamp_that_runs_backwards_is_left_out)
{
	struct wet_clock_map map;

	wet_clock_map_init(&map, WET_SAMPLE_RATE);
	wet_clock_map_look(&map, 1000000000, 48000);
	wet_clock_map_look(&map, 999999999, 10);
	wet_clock_map_look(&map, 1000000000, 10);
	cr_expect_eq(map.count, 1u);
	cr_expect_eq(wet_clock_map_frame(&map, 1000000000), 48000);
}

Test(clock_map, follows_a_path_that_becomes_longer_or_shorter)
{
	for (int direction = -1; direction <= 1; direction += 2) {
		struct card card = { .start_ns = 0, .step = 1, .state = 5 };
		struct wet_clock_map map;
		int64_t last_ns;

		wet_clock_map_init(&map, WET_SAMPLE_RATE);
		last_ns = take_looks(&map, &card, 1000000000, 600);
		card.start_ns += direction * 80000000LL; /* a wireless loudspeaker was chosen */
		last_ns = take_looks(&map, &card, last_ns + PERIOD_NS, WET_CLOCK_MAP_JUMP_LOOKS + 2);
		cr_expect_leq(fabs((double)wet_clock_map_frame(&map, last_ns) - true_frame(&card, last_ns)), 2.0, "direction %d",
		              direction);
	}
}

Test(clock_map, there_and_back_is_the_same_frame)
{
	struct card card = { .start_ns = 123456789, .ppm = 77, .step = 1, .state = 11 };
	struct wet_clock_map map;

	wet_clock_map_init(&map, WET_SAMPLE_RATE);
	take_looks(&map, &card, 200000000, 700);
	for (int64_t frame = -100000; frame < 10000000; frame += 99991)
		cr_assert_eq(wet_clock_map_frame(&map, wet_clock_map_at_ns(&map, frame)), frame);
}

Test(clock_map, time_runs_forward_between_two_looks)
{
	struct card card = { .start_ns = 0, .ppm = -120, .step = 32, .state = 1 };
	struct wet_clock_map map;
	int64_t at_ns = 1000000, frame = -1;

	wet_clock_map_init(&map, WET_SAMPLE_RATE);
	for (int i = 0; i < 1500; i++) {
		take_looks(&map, &card, at_ns, 1);
		for (int64_t ahead = 0; ahead <= 30000000; ahead += 5000000) {
			int64_t next = wet_clock_map_frame(&map, at_ns + ahead);

			if (ahead > 0) cr_assert_gt(next, frame);
			frame = next;
		}
		at_ns += PERIOD_NS;
	}
}
