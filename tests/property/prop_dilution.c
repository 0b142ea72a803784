/* prop_dilution.c: random dilutions against the laws of dilution: parts sum exactly and are the nearest
 * integers; the most of what one has uses up what runs out first; criss-cross gives the strength; what is
 * printed reads back; a measure is within half a graduation a fill.
 *   prop_dilution --seed S --count N */
#include "base/random.h"
#include "wetside/dilution.h"
#include "wetside/graduate.h"
#include "prop_args.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

__extension__ typedef __int128 wide;

static struct wet_random rnd;
static unsigned long long seed = 1;
static long count = 2000, this_case;

static void broken(const char *law, long long a, long long b)
{
	printf("broken in case %ld: %s (%lld, %lld)\nagain: prop_dilution --seed %llu --count %ld\n", this_case,
		   law, a, b, seed, this_case + 1);
	exit(1);
}

static void hold(int is_true, const char *law, long long a, long long b)
{
	if (!is_true)
		broken(law, a, b);
}

static int64_t between(int64_t low, int64_t high)
{
	return wet_random_between(&rnd, low, high);
}

static struct wet_parts random_parts(void)
{
	struct wet_parts p = { .count = (uint32_t)between(2, WET_PARTS) };
	for (uint32_t i = 0; i < p.count; i++)
		p.milli[i] = wet_random_below(&rnd, 2) ? between(1, 100) * 1000 : between(1, 100000);
	if (wet_random_below(&rnd, 8) == 0)
		p.milli[p.count - 1] = 0; /* no water */
	return p;
}

static void check_sharing(void)
{
	struct wet_parts p = random_parts();
	int64_t total = between(1, wet_random_below(&rnd, 2) ? 1000 : 10000000), v[WET_PARTS], sum = 0;
	wide weight = 0;
	if (wet_share(total, p.milli, p.count, v) != 0)
		broken("every total can be shared", total, 0);
	for (uint32_t i = 0; i < p.count; i++) {
		sum += v[i];
		weight += p.milli[i];
	}
	hold(sum == total, "parts sum to the whole", sum, total);
	for (uint32_t i = 0; i < p.count; i++) {
		wide off = (wide)v[i] * weight - (wide)total * p.milli[i];
		hold(off < weight && -off < weight, "no part is a microlitre off", v[i], total);
		/* Largest remainder: nobody who was rounded down has more left than one who was rounded up. */
		for (uint32_t j = 0; j < p.count; j++) {
			wide rest_i = (wide)total * p.milli[i] % weight, rest_j = (wide)total * p.milli[j] % weight;
			if (off > 0 && (wide)v[j] * weight < (wide)total * p.milli[j])
				hold(rest_i >= rest_j, "the largest remainders are rounded up", i, j);
		}
	}
}

static void check_most(void)
{
	struct wet_parts p = random_parts();
	int64_t have[WET_PARTS], v[WET_PARTS], sum = 0;
	wide weight = 0;
	bool is_used_up = false;
	for (uint32_t i = 0; i < p.count; i++)
		have[i] = i > 0 && wet_random_below(&rnd, 3) == 0 ? -1 : between(1, 1000000);
	if (wet_dilute_parts_most(&p, have, v, NULL) != 0)
		broken("something can be made of what one has", have[0], 0);
	for (uint32_t i = 0; i < p.count; i++) {
		hold(have[i] == -1 || p.milli[i] == 0 || v[i] <= have[i], "no more than one has", v[i], have[i]);
		sum += v[i];
		weight += p.milli[i];
	}
	/* Maximal: of one part all is used, and the whole is what that part allows to half a microlitre a part; so
	 * a whole greater by what one microlitre of it makes would need more of it than there is. */
	for (uint32_t i = 0; i < p.count; i++) {
		if (have[i] == -1 || p.milli[i] == 0 || v[i] != have[i])
			continue;
		wide off = (wide)sum * p.milli[i] - (wide)have[i] * weight;
		if (off < 0)
			off = -off;
		is_used_up = is_used_up || off * 2 <= (wide)p.milli[i] * p.count;
	}
	hold(is_used_up, "what runs out first is used up", sum, p.count);
	if (p.count == 2 && have[1] == -1) {
		struct wet_dilution d;
		if (wet_dilute_have(p.milli[0], p.milli[1], have[0], &d, NULL) != 0)
			broken("the two ways agree", have[0], 0);
		hold(d.stock_ul == v[0] && d.water_ul == v[1], "the two ways agree", d.water_ul, v[1]);
	}
}

static void check_criss_cross(void)
{
	int32_t low = (int32_t)between(0, 99000), high = (int32_t)between(low + 1, 100000), want, a, b, got;
	want = (int32_t)between(low > 0 ? low : 1, high);
	struct wet_mix m;
	int64_t total = between(100000, 100000000);
	if (wet_criss_cross(high, low, want, &a, &b, NULL) != 0)
		broken("a strength between two can be mixed", low, high);
	hold(a >= 0 && b >= 0 && a + b > 0, "parts", a, b);
	hold((wide)a * (high - want) == (wide)b * (want - low), "parts cross", a, b);
	hold((wide)a * high + (wide)b * low == (wide)want * (a + b), "the parts give the strength exactly", a, b);
	int rc = wet_mix_make(high, low, want, total, &m, NULL);
	if (rc == WET_ERR_REFUSED) /* one of the two would be nothing */
		return;
	hold(rc == 0 && m.high_ul + m.low_ul == total && m.total_ul == total, "a mix sums", m.high_ul, total);
	const int32_t strengths[] = { high, low };
	const int64_t volumes[] = { m.high_ul, m.low_ul };
	hold(wet_mix_strength(strengths, volumes, 2, &got) == 0, "a mix has a strength", 0, 0);
	/* Half a microlitre in over 0.1 L, between strengths at most 100 % apart, is under half a thousandth. */
	hold(abs(got - want) <= 1, "the mix has the strength", got, want);
	int64_t have_high = between(1000, 1000000), have_low = between(1000, 1000000);
	hold(wet_mix_most(high, low, want, have_high, have_low, &m, NULL) == 0, "the most of two", 0, 0);
	hold(m.high_ul <= have_high && m.low_ul <= have_low && (m.high_ul == have_high || m.low_ul == have_low),
		 "one of the two is used up", m.high_ul, m.low_ul);
}

static void check_printing(void)
{
	char text[160];
	struct wet_parts p = random_parts(), back;
	if (wet_parse_parts(wet_print_parts(&p, text, sizeof text), &back, NULL) != 0)
		broken(text, p.count, 0);
	hold(back.count == p.count && memcmp(back.milli, p.milli, sizeof p.milli) == 0, "parts read back",
		 p.count, back.count);
	enum wet_unit unit = (enum wet_unit)wet_random_below(&rnd, WET_UNIT_N);
	bool is_degrees =
		wet_unit_kind(unit) == WET_QUANTITY_TEMPERATURE || wet_unit_kind(unit) == WET_QUANTITY_DIFFERENCE;
	struct wet_quantity q = { is_degrees ? between(-50000, 150000) : between(0, 100000000), unit }, r;
	if (wet_parse_quantity(wet_print_quantity(q, text, sizeof text), wet_unit_kind(unit), &r, NULL) != 0)
		broken(text, q.value, unit);
	hold(r.value == q.value && r.unit == q.unit, "a quantity reads back", q.value, r.value);
	struct wet_strength s = { (int32_t)between(1, 100000), (enum wet_percent_kind)wet_random_below(&rnd, 4) },
						t;
	if (wet_parse_strength(wet_print_strength(s, text, sizeof text), &t, NULL) != 0)
		broken(text, s.milli, s.kind);
	hold(t.milli == s.milli && t.kind == s.kind, "a strength reads back", s.milli, t.milli);
}

static int64_t doubt(const struct wet_graduate *g, int64_t volume_ul)
{
	int64_t tolerance;
	return wet_graduate_tolerance(g, volume_ul, &tolerance) == 0 ? tolerance : g->step_ul;
}

static void check_measure(void)
{
	struct wet_graduate set[WET_GRADUATES];
	uint32_t n = (uint32_t)between(1, WET_GRADUATES);
	for (uint32_t i = 0; i < n; i++) {
		int64_t step = between(1, 50) * 100;
		set[i] = (struct wet_graduate){ WET_GRADUATE_CYLINDER, WET_CLASS_UNSAID, step * between(5, 100), step,
										WET_UNIT_ML };
	}
	int64_t volume = between(1, 1000000);
	struct wet_measure m;
	if (wet_measure(set, n, volume, &m, NULL) != 0)
		return;
	hold(m.last_ul % set[m.last].step_ul == 0 && m.last_ul <= set[m.last].capacity_ul, "a mark that is there",
		 m.last_ul, set[m.last].step_ul);
	hold(m.measured_ul == m.last_ul + (int64_t)m.full_fills * set[m.full].capacity_ul, "the fills sum",
		 m.measured_ul, m.last_ul);
	hold(llabs(m.measured_ul - volume) * 2 <= set[m.last].step_ul, "within half a graduation", m.measured_ul,
		 volume);
	/* What this way may be off, against every single fill: known tolerances by the table, else a graduation. */
	int64_t off = llabs(m.measured_ul - volume) + m.full_fills * doubt(&set[m.full], set[m.full].capacity_ul) +
				  (m.last_ul > 0 ? doubt(&set[m.last], m.last_ul) : 0);
	for (uint32_t i = 0; i < n; i++) {
		int64_t mark = (volume + set[i].step_ul / 2) / set[i].step_ul * set[i].step_ul;
		if (mark == 0 || mark > set[i].capacity_ul)
			continue;
		int64_t other = llabs(mark - volume) + doubt(&set[i], mark);
		bool is_good = off * 100000 <= volume * WET_MEASURE_GOOD_MILLI;
		bool is_other_good = other * 100000 <= volume * WET_MEASURE_GOOD_MILLI;
		hold(off <= other || is_good, "no single fill is better, but where this is good enough", off, other);
		hold(!is_other_good || m.full_fills + (m.last_ul > 0) == 1, "one fill where one is good enough", other, volume);
	}
}

int main(int argc, char **argv)
{
	test_prop_args(argc, argv, &seed, &count);
	printf("prop_dilution --seed %llu --count %ld\n", seed, count);
	wet_random_seed(&rnd, seed);
	for (this_case = 0; this_case < count; this_case++) {
		check_sharing();
		check_most();
		check_criss_cross();
		check_printing();
		check_measure();
	}
	return 0;
}
