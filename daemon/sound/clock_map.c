/* clock_map.c: where on the card's own time line a boot time lies.
 *
 * A look says: at boot time t, frame f was audible. Its anchor is t - f / rate: when frame 0 "was" audible. A pointer
 * read late or moved in steps makes f too small and so the anchor too high, never too low; so the truth is the line
 * under all looks that fits closest. That is the edge of the lower convex hull above the looks' mean time (the sum of
 * the distances to it is the smallest of all lines below the looks). */
#include "wetside/sound.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define NS_PER_S 1e9

void wet_clock_map_init(struct wet_clock_map *map, uint32_t rate_hz)
{
	assert(rate_hz > 0);
	memset(map, 0, sizeof *map);
	map->rate_hz = rate_hz;
}

void wet_clock_map_reset(struct wet_clock_map *map)
{
	wet_clock_map_init(map, map->rate_hz);
}

bool wet_clock_map_ready(const struct wet_clock_map *map)
{
	return map->count > 0;
}

/* The i-th look, oldest first, as a place in the ring. */
static uint32_t ring_at(const struct wet_clock_map *map, uint32_t i)
{
	return (map->head + WET_CLOCK_MAP_LOOKS - map->count + i) % WET_CLOCK_MAP_LOOKS;
}

static void line_from_lowest(struct wet_clock_map *map)
{
	uint32_t lowest = ring_at(map, 0);

	for (uint32_t i = 1; i < map->count; i++)
		if (map->anchor_ns[ring_at(map, i)] < map->anchor_ns[lowest]) lowest = ring_at(map, i);
	map->line_at_ns = map->at_ns[lowest];
	map->line_anchor_ns = map->anchor_ns[lowest];
	map->line_slope = 0;
}

/* Does b lie on or above the straight line from a to c? Then it is no corner of the lower hull. */
static bool is_above(const struct wet_clock_map *map, uint32_t a, uint32_t b, uint32_t c)
{
	return (map->anchor_ns[b] - map->anchor_ns[a]) * (map->at_ns[c] - map->at_ns[a])
	       >= (map->anchor_ns[c] - map->anchor_ns[a]) * (map->at_ns[b] - map->at_ns[a]);
}

static void line_from_hull(struct wet_clock_map *map)
{
	uint16_t hull[WET_CLOCK_MAP_LOOKS];
	uint32_t corners = 0;
	double mean_ns = 0;

	for (uint32_t i = 0; i < map->count; i++) {
		uint32_t look = ring_at(map, i);

		mean_ns += map->at_ns[look];
		while (corners >= 2 && is_above(map, hull[corners - 2], hull[corners - 1], look)) corners--;
		hull[corners++] = (uint16_t)look;
	}
	mean_ns /= map->count;
	for (uint32_t i = 1; i < corners; i++) {
		uint32_t a = hull[i - 1], b = hull[i];
		double slope;

		if (map->at_ns[b] < mean_ns && i + 1 < corners) continue;
		slope = (map->anchor_ns[b] - map->anchor_ns[a]) / (map->at_ns[b] - map->at_ns[a]);
		if (fabs(slope) > WET_CLOCK_MAP_SLOPE_MAX) break;
		map->line_at_ns = map->at_ns[b];
		map->line_anchor_ns = map->anchor_ns[b];
		map->line_slope = slope;
		return;
	}
	line_from_lowest(map);
}

static double anchor_at(const struct wet_clock_map *map, double at_ns)
{
	return map->line_anchor_ns + map->line_slope * (at_ns - map->line_at_ns);
}

void wet_clock_map_look(struct wet_clock_map *map, int64_t at_ns, int64_t frame)
{
	double at, anchor;

	if (map->count == 0) {
		map->origin_ns = at_ns;
		map->origin_frame = frame;
	}
	at = (double)(at_ns - map->origin_ns);
	anchor = at - (double)(frame - map->origin_frame) * NS_PER_S / map->rate_hz;
	if (map->count > 0) {
		/* The hull needs looks in order; a stamp that runs backwards says nothing. */
		if (at <= map->at_ns[ring_at(map, map->count - 1)]) return;
		map->high_looks = anchor - anchor_at(map, at) > WET_CLOCK_MAP_JUMP_NS ? map->high_looks + 1 : 0;
		if (map->high_looks >= WET_CLOCK_MAP_JUMP_LOOKS) {
			wet_clock_map_reset(map);
			wet_clock_map_look(map, at_ns, frame);
			return;
		}
	}
	map->at_ns[map->head] = at;
	map->anchor_ns[map->head] = anchor;
	map->head = (map->head + 1) % WET_CLOCK_MAP_LOOKS;
	if (map->count < WET_CLOCK_MAP_LOOKS) map->count++;
	if (at - map->at_ns[ring_at(map, 0)] < WET_CLOCK_MAP_SPAN_NS)
		line_from_lowest(map);
	else
		line_from_hull(map);
}

int64_t wet_clock_map_frame(const struct wet_clock_map *map, int64_t at_ns)
{
	double at = (double)(at_ns - map->origin_ns);

	assert(map->count > 0);
	return map->origin_frame + llround((at - anchor_at(map, at)) * map->rate_hz / NS_PER_S);
}

int64_t wet_clock_map_at_ns(const struct wet_clock_map *map, int64_t frame)
{
	double played_ns = (double)(frame - map->origin_frame) * NS_PER_S / map->rate_hz;
	double at;

	assert(map->count > 0);
	/* at = played + anchor(at), solved for at. */
	at = (played_ns + map->line_anchor_ns - map->line_slope * map->line_at_ns) / (1.0 - map->line_slope);
	return map->origin_ns + llround(at);
}
