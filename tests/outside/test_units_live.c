/* Quantities against GNU units (Debian package units), asked now, about random numbers in every unit. Its
 * factors are the legal definitions, kept by others. Without it these fail: nothing is left out. */
#include "base/random.h"
#include "wetside/quantity.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define ROWS 2000

/* How GNU units writes a unit of ours and the inner unit of its kind, and inner units of one of what it
 * answers in. Its "floz" would be the US one; a reading of a thermometer is a function, tempF(). */
static const struct {
	enum wet_unit unit;
	const char *before, *after, *want;
	double inner;
} names[] = {
	{ WET_UNIT_ML, "", " ml", "mm^3", 1 },
	{ WET_UNIT_L, "", " l", "mm^3", 1 },
	{ WET_UNIT_US_FL_OZ, "", " usfloz", "mm^3", 1 },
	{ WET_UNIT_IMP_FL_OZ, "", " brfloz", "mm^3", 1 },
	{ WET_UNIT_US_GAL, "", " usgallon", "mm^3", 1 },
	{ WET_UNIT_IMP_GAL, "", " brgallon", "mm^3", 1 },
	{ WET_UNIT_US_QT, "", " usquart", "mm^3", 1 },
	{ WET_UNIT_IMP_QT, "", " brquart", "mm^3", 1 },
	{ WET_UNIT_US_PINT, "", " uspint", "mm^3", 1 },
	{ WET_UNIT_IMP_PINT, "", " brpint", "mm^3", 1 },
	{ WET_UNIT_US_MINIM, "", " usfluidounce/480", "mm^3", 1 },
	{ WET_UNIT_IMP_MINIM, "", " brminim", "mm^3", 1 },
	{ WET_UNIT_MG, "", " mg", "mg", 1 },
	{ WET_UNIT_G, "", " g", "mg", 1 },
	{ WET_UNIT_KG, "", " kg", "mg", 1 },
	{ WET_UNIT_OZ_AV, "", " oz", "mg", 1 },
	{ WET_UNIT_OZ_TROY, "", " troyounce", "mg", 1 },
	{ WET_UNIT_DRAM_AV, "", " dram", "mg", 1 },
	{ WET_UNIT_DRAM_AP, "", " apdram", "mg", 1 },
	{ WET_UNIT_GRAIN, "", " grain", "mg", 1 },
	{ WET_UNIT_LB, "", " lb", "mg", 1 },
	{ WET_UNIT_MM, "", " mm", "um", 1 },
	{ WET_UNIT_CM, "", " cm", "um", 1 },
	{ WET_UNIT_M, "", " m", "um", 1 },
	{ WET_UNIT_IN, "", " inch", "um", 1 },
	{ WET_UNIT_MM2, "", " mm^2", "mm^2", 1 },
	{ WET_UNIT_CM2, "", " cm^2", "mm^2", 1 },
	{ WET_UNIT_M2, "", " m^2", "mm^2", 1 },
	{ WET_UNIT_IN2, "", " in^2", "mm^2", 1 },
	{ WET_UNIT_MG_PER_L, "", " mg/l", "mg/l", 1 },
	{ WET_UNIT_G_PER_L, "", " g/l", "mg/l", 1 },
	{ WET_UNIT_G_PER_100_ML, "", " g/(100 ml)", "mg/l", 1 },
	{ WET_UNIT_OZ_PER_US_GAL, "", " oz/usgallon", "mg/l", 1 },
	{ WET_UNIT_OZ_PER_US_QT, "", " oz/usquart", "mg/l", 1 },
	{ WET_UNIT_GRAIN_PER_IMP_FL_OZ, "", " grain/brfloz", "mg/l", 1 },
	{ WET_UNIT_C, "tempC(", ")", "tempC", 1000 },
	{ WET_UNIT_F, "tempF(", ")", "tempC", 1000 },
	{ WET_UNIT_C_APART, "", " degC", "degC", 1000 },
	{ WET_UNIT_F_APART, "", " degF", "degC", 1000 },
};

static struct {
	char typed[64];
	int64_t ours;
	double inner, theirs;
} rows[ROWS];

/* A number as people type it, with up to five decimals or, for lengths, a fraction; both spellings. */
static void random_number(struct wet_random *r, enum wet_unit unit, char *ours, char *theirs)
{
	bool is_temperature = wet_unit_kind(unit) == WET_QUANTITY_TEMPERATURE;
	int places = (int)wet_random_below(r, 6), one = 1;
	for (int i = 0; i < places; i++)
		one *= 10;
	enum wet_quantity_kind kind = wet_unit_kind(unit);
	bool is_bounded = is_temperature || kind == WET_QUANTITY_DIFFERENCE || kind == WET_QUANTITY_LENGTH;
	/* Large ones too: they show the last digits of a factor. */
	int64_t top = is_temperature ? 100 : is_bounded || wet_random_below(r, 2) ? 90 : 300000;
	if (unit == WET_UNIT_GRAIN_PER_IMP_FL_OZ && top == 300000)
		top = 4000000; /* its range in grains goes so far */
	int64_t n = wet_random_between(r, is_temperature ? -40LL * one : 0, top * one);
	if (unit == WET_UNIT_IN && wet_random_below(r, 2)) {
		int parts = 2 << wet_random_below(r, 6), k = (int)wet_random_between(r, 1, parts - 1);
		int whole = (int)wet_random_below(r, 60);
		if (whole)
			sprintf(ours, "%d%c%d/%d", whole, wet_random_below(r, 2) ? ' ' : '-', k, parts);
		else
			sprintf(ours, "%d/%d", k, parts);
		sprintf(theirs, "(%d+%d|%d)", whole, k, parts);
		return;
	}
	sprintf(ours, "%s%lld.%0*lld", n < 0 ? "-" : "", llabs(n) / one, places, places ? llabs(n) % one : 0);
	if (places == 0)
		*strchr(ours, '.') = '\0';
	strcpy(theirs, ours);
}

static void ask(uint64_t seed, const char *path)
{
	struct wet_random r;
	wet_random_seed(&r, seed);
	FILE *f = fopen(path, "w");
	cr_assert_not_null(f);
	for (size_t i = 0; i < ROWS; i++) {
		size_t u = i % (sizeof names / sizeof names[0]);
		char number[48], theirs[48];
		struct wet_quantity q = { -1, WET_UNIT_N };
		struct wet_fault fault = { 0 };
		random_number(&r, names[u].unit, number, theirs);
		snprintf(rows[i].typed, sizeof rows[i].typed, "%s %s", number, wet_unit_text(names[u].unit));
		int rc = wet_parse_quantity(rows[i].typed, wet_unit_kind(names[u].unit), &q, &fault);
		cr_assert_eq(rc, 0, "%s: %s (seed %llu)", rows[i].typed, fault.want, (unsigned long long)seed);
		cr_assert_eq(q.unit, names[u].unit, "%s", rows[i].typed);
		rows[i].ours = q.value;
		rows[i].inner = names[u].inner;
		fprintf(f, "%s%s%s\n%s\n", names[u].before, theirs, names[u].after, names[u].want);
	}
	cr_assert_eq(fclose(f), 0);
}

Test(units_live, random_quantities_agree_with_gnu_units)
{
	cr_assert_eq(system("command -v units >/dev/null 2>&1"), 0,
				 "GNU units is not installed: apt-get install units");
	const char *fixed = getenv("WET_UNITS_SEED");
	uint64_t seed = fixed ? strtoull(fixed, NULL, 10) : (uint64_t)time(NULL) ^ (uint64_t)getpid() << 32;
	printf("again: WET_UNITS_SEED=%llu\n", (unsigned long long)seed);
	fflush(stdout);
	char path[] = "/tmp/wet-units-XXXXXX", command[96], line[96];
	int fd = mkstemp(path);
	cr_assert(fd >= 0);
	close(fd);
	ask(seed, path);
	snprintf(command, sizeof command, "units -q -t -o %%.17g <%s", path);
	FILE *p = popen(command, "r");
	cr_assert_not_null(p);
	size_t count = 0;
	while (count < ROWS && fgets(line, sizeof line, p)) {
		char *end;
		rows[count].theirs = strtod(line, &end);
		cr_assert(end > line && *end == '\n', "%s: units says %s", rows[count].typed, line);
		count++;
	}
	cr_assert_eq(pclose(p), 0);
	unlink(path);
	cr_assert_eq(count, ROWS);
	for (size_t i = 0; i < ROWS; i++) {
		double theirs = rows[i].theirs * rows[i].inner;
		/* Ours is theirs rounded once; theirs is a double. */
		cr_assert_leq(fabs((double)rows[i].ours - theirs), 0.5 + fabs(theirs) * 1e-13 + 1e-9,
					  "%s: ours %lld, units %.17g (seed %llu)", rows[i].typed, (long long)rows[i].ours,
					  theirs, (unsigned long long)seed);
	}
	/* The list above has every unit there is. */
	cr_assert_eq(sizeof names / sizeof names[0], WET_UNIT_N);
	for (size_t i = 0; i < WET_UNIT_N; i++)
		cr_assert_eq(names[i].unit, (enum wet_unit)i);
}
