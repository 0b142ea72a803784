/* check.c: every rule of a recipe that needs no file. The first broken one is told, in the order of the
 * file. */
#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/recipe.h"

#include <stdarg.h>
#include <string.h>

#define FILL_NS_MAX (3600 * WET_NS_PER_S)
#define DRY_NS_MAX (30LL * 24 * 3600 * WET_NS_PER_S)
#define BETWEEN_NS (20 * WET_NS_PER_S) /* the rule of fit.c, on the usual vessel */
#define FACTOR_MAX 10.0                /* published factors per 10 C lie between 1.25 and 4 */
#define TREF_MIN_MC 10000              /* no published table has its reference outside */
#define TREF_MAX_MC 30000

struct check {
	const struct wet_recipe *recipe;
	struct wet_fault *fault;
};

/* A fault at /LIST/INDEX/MEMBER; index -1: /MEMBER; member may be empty. */
static int refuse(const struct check *c, int err, const char *list, int index, const char *member,
				  const char *found, const char *want, ...) __attribute__((format(printf, 7, 8)));

static int refuse(const struct check *c, int err, const char *list, int index, const char *member,
				  const char *found, const char *want, ...)
{
	char where[96], text[224];
	va_list ap;
	va_start(ap, want);
	wet_text_vformat(text, sizeof text, want, ap);
	va_end(ap);
	if (index < 0)
		wet_text_format(where, sizeof where, "/%s", member);
	else
		wet_text_format(where, sizeof where, "/%s/%d%s%s", list, index, member[0] ? "/" : "", member);
	return wet_fault_set(c->fault, err, where, found, "%s", text);
}

static int refuse_stage(const struct check *c, int err, int stage, const char *member, const char *found,
						const char *want)
{
	return refuse(c, err, "stages", stage, member, found, "%s", want);
}

static int refuse_time(const struct check *c, int stage, const char *member, int64_t ns, const char *want)
{
	char found[24];
	return refuse_stage(c, WET_ERR_RANGE, stage, member, wet_print_duration(ns, found, sizeof found), want);
}

static int refuse_temperature(const struct check *c, int stage, const char *member, int32_t mc,
							  const char *want)
{
	char found[24];
	return refuse_stage(c, WET_ERR_RANGE, stage, member, wet_print_temperature(mc, found, sizeof found),
						want);
}

static bool is_closed(const struct wet_recipe *recipe)
{
	return recipe->vessel_kind == WET_VESSEL_CLOSED_TANK || recipe->vessel_kind == WET_VESSEL_DRUM;
}

static bool is_fix(const struct wet_stage *s)
{
	return s->kind == WET_STAGE_FIX || s->kind == WET_STAGE_SECOND_FIX;
}

/* Index of the first stage of a kind from `from` on, or -1. */
static int find_kind(const struct wet_recipe *recipe, int from, enum wet_stage_kind kind)
{
	for (int i = from; i < recipe->stage_count; i++) {
		if (recipe->stages[i].kind == kind)
			return i;
	}
	return -1;
}

/* [a-z0-9] and '-', which is neither first nor last. */
static bool is_key(const char *text)
{
	size_t n = strlen(text);
	for (size_t i = 0; i < n; i++) {
		bool is_plain = (text[i] >= 'a' && text[i] <= 'z') || (text[i] >= '0' && text[i] <= '9');
		if (!is_plain && !(text[i] == '-' && i > 0 && i + 1 < n))
			return false;
	}
	return n > 0;
}

static int check_head(const struct check *c)
{
	const struct wet_recipe *r = c->recipe;
	char found[24];
	if (!is_key(r->name))
		return refuse(c, WET_ERR_INVALID, "", -1, "name", r->name,
					  "small letters, digits and '-' between them");
	if (r->title[0] == '\0')
		return refuse(c, WET_ERR_INVALID, "", -1, "title", "", "a title for people");
	if (r->version < 1)
		return refuse(c, WET_ERR_RANGE, "", -1, "version",
					  wet_text_format(found, sizeof found, "%d", r->version), "1 or more");
	if ((unsigned)r->vessel_kind >= WET_VESSEL_KIND_N || r->vessel_kind == WET_VESSEL_WASHER)
		return refuse(c, WET_ERR_INVALID, "", -1, "vessel/kind", wet_vessel_kind_word(r->vessel_kind),
					  "closed-tank, open-tank, trays or drum");
	int64_t least_ns = is_closed(r) ? 1 : 0;
	if (r->fill_ns < least_ns || r->fill_ns > FILL_NS_MAX)
		return refuse(c, WET_ERR_RANGE, "", -1, "vessel/fill",
					  wet_print_duration(r->fill_ns, found, sizeof found),
					  "over 0 s in a closed vessel, up to 1 h");
	if (r->drain_ns < least_ns || r->drain_ns > FILL_NS_MAX)
		return refuse(c, WET_ERR_RANGE, "", -1, "vessel/drain",
					  wet_print_duration(r->drain_ns, found, sizeof found),
					  "over 0 s in a closed vessel, up to 1 h");
	bool is_white = r->is_test && r->paper_light == WET_LIGHT_WHITE;
	if (r->paper_light != WET_LIGHT_DARK && r->paper_light != WET_LIGHT_SAFELIGHT && !is_white)
		return refuse(c, WET_ERR_INVALID, "", -1, "paper/light", wet_light_kind_word(r->paper_light),
					  "dark or safelight: what the open paper bears; white in a test only");
	if ((r->paper_light == WET_LIGHT_SAFELIGHT) != (r->safelight[0] != '\0'))
		return refuse(c, WET_ERR_INVALID, "", -1, "paper/safelight", r->safelight,
					  "the colour of a tested safelight with \"light\": \"safelight\", and only there");
	return WET_OK;
}

static int check_baths(const struct check *c)
{
	const struct wet_recipe *r = c->recipe;
	char found[24];
	if (r->bath_count < 1 || r->bath_count > WET_RECIPE_BATHS)
		return refuse(c, r->bath_count < 1 ? WET_ERR_RANGE : WET_ERR_TOO_MANY, "", -1, "baths",
					  wet_text_format(found, sizeof found, "%d", r->bath_count), "1 to %d baths",
					  WET_RECIPE_BATHS);
	for (int i = 0; i < r->bath_count; i++) {
		const struct wet_bath *b = &r->baths[i];
		if (!is_key(b->key))
			return refuse(c, WET_ERR_INVALID, "baths", i, "key", b->key,
						  "small letters, digits and '-' between them");
		if (b->name[0] == '\0')
			return refuse(c, WET_ERR_INVALID, "baths", i, "name", "", "a name to speak");
		if (b->place[0] == '\0')
			return refuse(c, WET_ERR_INVALID, "baths", i, "place", "", "a place known by touch");
		if (b->solution[0] == '\0')
			return refuse(c, WET_ERR_INVALID, "baths", i, "solution", "", "what it is, with its strength");
		for (int j = 0; j < i; j++) {
			if (strcmp(b->key, r->baths[j].key) == 0)
				return refuse(c, WET_ERR_EXISTS, "baths", i, "key", b->key,
							  "a key of its own; /baths/%d has it", j);
		}
	}
	return WET_OK;
}

static int check_law_table(const struct check *c, int stage, const struct wet_law *law)
{
	char member[40];
	if (law->row_count < 2 || law->row_count > WET_LAW_ROWS)
		return refuse_stage(c, WET_ERR_RANGE, stage, "law/table", NULL, "2 to 16 rows");
	for (int i = 0; i < law->row_count; i++) {
		wet_text_format(member, sizeof member, "law/table/%d/time", i);
		if (law->rows[i].time_ns <= 0 || law->rows[i].time_ns > WET_STAGE_NS_MAX)
			return refuse_time(c, stage, member, law->rows[i].time_ns, "over 0 s, up to a day");
		if (i == 0)
			continue;
		if (law->rows[i].time_ns > law->rows[i - 1].time_ns)
			return refuse_time(c, stage, member, law->rows[i].time_ns,
							   "no longer than in the cooler row before");
		wet_text_format(member, sizeof member, "law/table/%d/at", i);
		if (law->rows[i].temperature_mc <= law->rows[i - 1].temperature_mc)
			return refuse_temperature(c, stage, member, law->rows[i].temperature_mc,
									  "warmer than the row before");
	}
	if (law->tref_mc < law->rows[0].temperature_mc ||
		law->tref_mc > law->rows[law->row_count - 1].temperature_mc)
		return refuse_temperature(c, stage, "law/reference", law->tref_mc, "a temperature within the table");
	return WET_OK;
}

/* Which law a kind of stage may have: only development has one of its own; fixing and washing have theirs. */
static bool law_suits(enum wet_stage_kind kind, enum wet_law_kind law)
{
	switch (law) {
	case WET_LAW_NONE: return true;
	case WET_LAW_FACTOR:
	case WET_LAW_TABLE: return kind == WET_STAGE_DEVELOP || kind == WET_STAGE_REDEVELOP;
	default: return law == wet_stage_kind_law(kind);
	}
}

static int check_law(const struct check *c, int stage)
{
	const struct wet_stage *s = &c->recipe->stages[stage];
	const struct wet_law *law = &s->law;
	if (!law_suits(s->kind, law->kind))
		return refuse_stage(c, WET_ERR_INVALID, stage, "law", wet_stage_kind_word(s->kind),
							"a factor or table in develop and redevelop only");
	if (law->kind != WET_LAW_FACTOR && law->kind != WET_LAW_TABLE)
		return WET_OK;
	if (law->tref_mc < TREF_MIN_MC || law->tref_mc > TREF_MAX_MC)
		return refuse_temperature(c, stage, "law/reference", law->tref_mc, "from 10 C to 30 C");
	if (law->min_mc > law->tref_mc)
		return refuse_temperature(c, stage, "law/from", law->min_mc, "no warmer than the reference");
	if (law->max_mc < law->tref_mc)
		return refuse_temperature(c, stage, "law/to", law->max_mc, "no cooler than the reference");
	if (law->kind == WET_LAW_TABLE)
		return check_law_table(c, stage, law);
	if (!(law->factor_per_10c >= 1.0 && law->factor_per_10c <= FACTOR_MAX)) {
		char found[32];
		return refuse_stage(c, WET_ERR_RANGE, stage, "law/factor",
							wet_text_format(found, sizeof found, "%g per 10 C", law->factor_per_10c),
							"from 1 to 10 per 10 C; warmer is never longer");
	}
	return WET_OK;
}

static int check_agitation(const struct check *c, int stage)
{
	const struct wet_agitation *a = &c->recipe->stages[stage].agitation;
	bool is_sound = a->opening_ns >= 0 && a->burst_ns >= 0 && a->every_ns >= 0 &&
					(a->burst_ns > 0) == (a->every_ns > 0) && a->burst_ns <= a->every_ns &&
					!(a->is_continuous && (a->opening_ns > 0 || a->burst_ns > 0));
	return is_sound ? WET_OK
					: refuse_stage(c, WET_ERR_RANGE, stage, "agitation", NULL,
								   "times from 0 s, a burst no longer than its period");
}

/* The only thing to fill in is the piece's number, in handling. */
static bool say_is_sound(const struct wet_stage *s)
{
	const char *piece = s->kind == WET_STAGE_HANDLING ? "{piece}" : "";
	size_t n = strlen(piece);
	for (const char *at = s->say; *at != '\0'; at++) {
		if (*at == '{' && n > 0 && strncmp(at, piece, n) == 0)
			at += n - 1;
		else if (*at == '{' || *at == '}')
			return false;
	}
	return true;
}

static int check_handling(const struct check *c, int stage)
{
	const struct wet_stage *s = &c->recipe->stages[stage];
	if (s->bath != -1 || s->least_ns != 0 || s->aim_ns != 0 || s->most_ns != 0 || s->in_washer)
		return refuse_stage(c, WET_ERR_INVALID, stage, "", NULL, "no bath and no times in handling");
	if (s->handling == WET_HANDLING_PIECES && s->lid_on)
		return refuse_stage(c, WET_ERR_INVALID, stage, "lid_on", "true",
							"a stage of its own, once, after all pieces are in");
	if (s->say[0] == '\0')
		return refuse_stage(c, WET_ERR_INVALID, stage, "say", "", "the line to speak");
	return WET_OK;
}

static int check_times(const struct check *c, int stage)
{
	const struct wet_recipe *r = c->recipe;
	const struct wet_stage *s = &r->stages[stage];
	char found[24];
	if (s->least_ns <= 0)
		return refuse_time(c, stage, "least", s->least_ns, "over 0 s");
	if (s->aim_ns < s->least_ns)
		return refuse_time(c, stage, "aim", s->aim_ns, "no shorter than least");
	if (s->most_ns < s->aim_ns)
		return refuse_time(c, stage, "most", s->most_ns, "no shorter than aim");
	if (s->most_ns > WET_STAGE_NS_MAX)
		return refuse_time(c, stage, "most", s->most_ns, "up to a day");
	if (s->kind == WET_STAGE_RE_EXPOSE || s->bath < 0)
		return WET_OK;
	int64_t need_ns = (s->in_washer ? 0 : r->fill_ns + r->drain_ns) + BETWEEN_NS;
	if (s->aim_ns < need_ns) {
		char need[24];
		return refuse(c, WET_ERR_FIT, "stages", stage, "aim",
					  wet_print_duration(s->aim_ns, found, sizeof found),
					  "at least %s: fill and drain of the recipe's vessel and 20 s between",
					  wet_print_duration(need_ns, need, sizeof need));
	}
	return WET_OK;
}

static int check_bath_of(const struct check *c, int stage)
{
	const struct wet_recipe *r = c->recipe;
	const struct wet_stage *s = &r->stages[stage];
	if (s->kind == WET_STAGE_RE_EXPOSE) {
		if (s->bath != -1)
			return refuse_stage(c, WET_ERR_INVALID, stage, "bath", NULL, "none: light is no bath");
		return WET_OK;
	}
	if (s->kind == WET_STAGE_TEST && !r->is_test)
		return refuse_stage(c, WET_ERR_INVALID, stage, "kind", "test", "a recipe of \"kind\": \"test\" around it");
	if (s->kind == WET_STAGE_TEST && s->bath >= -1 && s->bath < r->bath_count)
		return WET_OK;
	if (s->bath < 0 || s->bath >= r->bath_count)
		return refuse_stage(c, WET_ERR_NOT_FOUND, stage, "bath", NULL, "the key of one of /baths");
	bool is_water = r->baths[s->bath].is_water;
	bool wants_water = s->kind == WET_STAGE_RINSE || s->kind == WET_STAGE_WASH;
	if (s->kind != WET_STAGE_PRE_SOAK && is_water != wants_water)
		return refuse_stage(c, WET_ERR_INVALID, stage, "bath", r->baths[s->bath].key,
							wants_water ? "a bath of water" : "a solution, not water");
	return WET_OK;
}

/* The stage before, handling left out: -1 if none. */
static int bath_before(const struct wet_recipe *recipe, int stage)
{
	for (int i = stage - 1; i >= 0; i--) {
		if (wet_stage_kind_is_bath(recipe->stages[i].kind))
			return i;
	}
	return -1;
}

static int check_begin(const struct check *c, int stage)
{
	const struct wet_recipe *r = c->recipe;
	const struct wet_stage *s = &r->stages[stage];
	bool follows_bath = stage > 0 && wet_stage_kind_is_bath(r->stages[stage - 1].kind);
	bool waits = !follows_bath || s->in_washer || s->kind == WET_STAGE_WASH || s->kind == WET_STAGE_AID ||
				 s->kind == WET_STAGE_RE_EXPOSE || r->vessel_kind == WET_VESSEL_TRAYS ||
				 r->stages[stage - 1].kind == WET_STAGE_RE_EXPOSE ||
				 r->stages[stage - 1].kind == WET_STAGE_WASH;
	if (waits && s->begin != WET_BEGIN_ON_GO)
		return refuse_stage(
			c, WET_ERR_INVALID, stage, "begin", "straight-on",
			"on-go: the first bath after handling, a wash, an aid, re-exposure and trays wait");
	bool is_chain =
		s->kind == WET_STAGE_DEVELOP || s->kind == WET_STAGE_RINSE || s->kind == WET_STAGE_STOP || is_fix(s);
	if (!waits && is_closed(r) && is_chain && s->begin != WET_BEGIN_STRAIGHT_ON)
		return refuse_stage(c, WET_ERR_INVALID, stage, "begin", "on-go",
							"straight-on in a closed vessel, from develop to the last fixer");
	return WET_OK;
}

static int check_washer(const struct check *c, int stage)
{
	const struct wet_recipe *r = c->recipe;
	const struct wet_stage *s = &r->stages[stage];
	bool may_wash = s->kind == WET_STAGE_RINSE || s->kind == WET_STAGE_WASH || s->kind == WET_STAGE_AID ||
					s->kind == WET_STAGE_TONE || s->kind == WET_STAGE_CLEAR;
	if (s->in_washer && !may_wash)
		return refuse_stage(c, WET_ERR_INVALID, stage, "in_washer", "true",
							"rinse, clear, washing aid, tone and wash only");
	int before = bath_before(r, stage);
	if (!s->in_washer && before >= 0 && r->stages[before].in_washer)
		return refuse_stage(c, WET_ERR_INVALID, stage, "in_washer", "false",
							"once in the washer, every bath is");
	return WET_OK;
}

static int check_stage(const struct check *c, int stage)
{
	const struct wet_stage *s = &c->recipe->stages[stage];
	int rc;
	if ((unsigned)s->kind >= WET_STAGE_FILE_KINDS)
		return refuse_stage(c, WET_ERR_INVALID, stage, "kind", NULL, "a kind of stage");
	if (s->name[0] == '\0')
		return refuse_stage(c, WET_ERR_INVALID, stage, "name", "", "a name to speak");
	if (!say_is_sound(s))
		return refuse_stage(c, WET_ERR_INVALID, stage, "say", s->say, "no braces but {piece}, in handling");
	if (s->kind == WET_STAGE_HANDLING)
		return check_handling(c, stage);
	if ((rc = check_bath_of(c, stage)) != 0 || (rc = check_begin(c, stage)) != 0 ||
		(rc = check_times(c, stage)) != 0 || (rc = check_agitation(c, stage)) != 0 ||
		(rc = check_law(c, stage)) != 0)
		return rc;
	return check_washer(c, stage);
}

/* Does a bath's text speak of a substance? Small letters or capitals. */
static bool speaks_of(const struct wet_bath *b, const char *word)
{
	const char *const texts[] = { b->solution, b->mix.from };
	size_t n = strlen(word);
	for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
		for (const char *at = texts[i]; *at != '\0'; at++) {
			size_t same = 0;
			while (same < n && at[same] != '\0' && (at[same] | 0x20) == word[same])
				same++;
			if (same == n)
				return true;
		}
	}
	return false;
}

/* Dichromate: toxic, a carcinogen, barred from private sale in many places (REACH, annexes XIV and XVII, from memory);
 * permanganate does its work. Ferricyanide with bromide gives silver bromide back: after the re-exposure it
 * would develop with the rest, so no positive comes. */
static int check_bleaches(const struct check *c)
{
	const struct wet_recipe *r = c->recipe;
	bool is_reversal = find_kind(r, 0, WET_STAGE_RE_EXPOSE) >= 0;
	for (int i = 0; i < r->bath_count; i++) {
		const struct wet_bath *b = &r->baths[i];
		if (speaks_of(b, "dichromate") || speaks_of(b, "bichromate"))
			return refuse(c, WET_ERR_REFUSED, "baths", i, "solution", b->solution,
						  "no dichromate: dilute permanganate with sodium bisulfate bleaches as well");
		if (is_reversal && speaks_of(b, "ferricyanide"))
			return refuse(c, WET_ERR_REFUSED, "baths", i, "solution", b->solution,
						  "no rehalogenating bleach in a reversal, it gives back bromide that develops again: "
						  "dilute permanganate with sodium bisulfate");
	}
	return WET_OK;
}

/* A test is free in its stages, but something in it is timed. */
static int check_order_test(const struct check *c)
{
	for (int i = 0; i < c->recipe->stage_count; i++) {
		if (wet_stage_kind_is_bath(c->recipe->stages[i].kind))
			return WET_OK;
	}
	return refuse(c, WET_ERR_INVALID, "", -1, "stages", NULL, "a stage with a time");
}

/* What must come before what. */
static int check_order(const struct check *c)
{
	const struct wet_recipe *r = c->recipe;
	int develop = find_kind(r, 0, WET_STAGE_DEVELOP);
	int fix = find_kind(r, 0, WET_STAGE_FIX);
	int second = find_kind(r, 0, WET_STAGE_SECOND_FIX);
	int light = find_kind(r, 0, WET_STAGE_RE_EXPOSE);
	int bleach = find_kind(r, 0, WET_STAGE_BLEACH);
	if (develop < 0)
		return refuse(c, WET_ERR_INVALID, "", -1, "stages", NULL, "a develop stage");
	if (fix < 0 && light < 0)
		return refuse(c, WET_ERR_INVALID, "", -1, "stages", NULL,
					  "a fix stage; only a reversal may go without");
	if (fix >= 0 && fix < develop)
		return refuse_stage(c, WET_ERR_INVALID, fix, "kind", "fix", "develop before fix");
	if (second >= 0 && (fix < 0 || second < fix))
		return refuse_stage(c, WET_ERR_INVALID, second, "kind", "second-fix", "a fix stage before it");
	if (light >= 0 && (bleach < 0 || bleach > light || bleach < develop))
		return refuse_stage(c, WET_ERR_INVALID, light, "kind", "re-expose", "develop and bleach before it");
	if (light >= 0 && fix >= 0 && fix < light)
		return refuse_stage(c, WET_ERR_INVALID, fix, "kind", "fix",
							"no fix before the re-exposure: it takes away what becomes the picture");
	if (light >= 0 && find_kind(r, light, WET_STAGE_REDEVELOP) < 0)
		return refuse_stage(c, WET_ERR_INVALID, light, "kind", "re-expose", "a redevelop stage after it");
	const struct wet_stage *last = &r->stages[r->stage_count - 1];
	if (last->kind != WET_STAGE_WASH)
		return refuse_stage(c, WET_ERR_INVALID, r->stage_count - 1, "kind", wet_stage_kind_word(last->kind),
							"a wash as the last stage");
	return WET_OK;
}

static int check_light_closed(const struct check *c)
{
	const struct wet_recipe *r = c->recipe;
	int lid = -1;
	for (int i = 0; i < r->stage_count; i++) {
		const struct wet_stage *s = &r->stages[i];
		if (s->lid_on && lid >= 0)
			return refuse_stage(c, WET_ERR_INVALID, i, "lid_on", "true", "one stage that puts the lid on");
		if (wet_stage_kind_is_bath(s->kind) && lid < 0)
			return refuse_stage(c, WET_ERR_INVALID, i, "kind", wet_stage_kind_word(s->kind),
								"a handling stage with \"lid_on\": true before the first bath");
		if (s->lid_on)
			lid = i;
	}
	if (r->white_after != -1)
		return refuse_stage(c, WET_ERR_INVALID, r->white_after, "white_after", "true",
							"open vessels only; the lid decides in a closed one");
	return WET_OK;
}

static int check_light_open(const struct check *c)
{
	const struct wet_recipe *r = c->recipe;
	int light = find_kind(r, 0, WET_STAGE_RE_EXPOSE);
	for (int i = 0; i < r->stage_count; i++) {
		if (r->stages[i].lid_on)
			return refuse_stage(c, WET_ERR_INVALID, i, "lid_on", "true", "a closed tank or drum only");
	}
	if (r->paper_light == WET_LIGHT_WHITE && r->white_after == -1)
		return WET_OK;
	if (r->white_after < 0 || r->white_after >= r->stage_count)
		return refuse(c, WET_ERR_INVALID, "", -1, "stages", NULL,
					  "one stage with \"white_after\": true, the fix after which white light is allowed");
	const struct wet_stage *s = &r->stages[r->white_after];
	if (light >= 0 ? r->white_after > light : !is_fix(s))
		return refuse_stage(c, WET_ERR_INVALID, r->white_after, "white_after", wet_stage_kind_word(s->kind),
							light >= 0 ? "a stage before the re-exposure" : "a fix or second-fix stage");
	return WET_OK;
}

static int check_rest(const struct check *c)
{
	const struct wet_recipe *r = c->recipe;
	char found[24];
	int second = find_kind(r, 0, WET_STAGE_SECOND_FIX);
	for (int i = 0; i < r->bath_count; i++) {
		bool is_used = false;
		for (int j = 0; j < r->stage_count; j++)
			is_used = is_used || r->stages[j].bath == i;
		if (!is_used)
			return refuse(c, WET_ERR_INVALID, "baths", i, "key", r->baths[i].key,
						  "a bath that some stage uses");
	}
	if (r->both_fix_most_ns != 0) {
		wet_print_duration(r->both_fix_most_ns, found, sizeof found);
		if (second < 0)
			return refuse(c, WET_ERR_INVALID, "", -1, "both_fixers", found, "a second-fix stage");
		int64_t aim_ns = r->stages[find_kind(r, 0, WET_STAGE_FIX)].aim_ns + r->stages[second].aim_ns;
		if (r->both_fix_most_ns < aim_ns)
			return refuse(c, WET_ERR_RANGE, "", -1, "both_fixers/most", found,
						  "no shorter than both aims together");
	}
	if (r->dry_least_ns < 0 || r->dry_least_ns > r->dry_most_ns)
		return refuse(c, WET_ERR_RANGE, "", -1, "dry/least",
					  wet_print_duration(r->dry_least_ns, found, sizeof found), "no longer than most");
	if (r->dry_most_ns > DRY_NS_MAX)
		return refuse(c, WET_ERR_RANGE, "", -1, "dry/most",
					  wet_print_duration(r->dry_most_ns, found, sizeof found), "up to 30 days");
	if (r->dry_most_ns > 0 && r->dry_how[0] == '\0')
		return refuse(c, WET_ERR_INVALID, "", -1, "dry/how", "", "how to dry");
	return WET_OK;
}

int wet_recipe_check(const struct wet_recipe *recipe, struct wet_fault *reterr)
{
	const struct check c = { .recipe = recipe, .fault = reterr };
	char found[24];
	int rc;
	if ((rc = check_head(&c)) != 0 || (rc = check_baths(&c)) != 0)
		return rc;
	if (recipe->stage_count < 1 || recipe->stage_count > WET_RECIPE_STAGES)
		return refuse(&c, recipe->stage_count < 1 ? WET_ERR_RANGE : WET_ERR_TOO_MANY, "", -1, "stages",
					  wet_text_format(found, sizeof found, "%d", recipe->stage_count), "1 to %d stages",
					  WET_RECIPE_STAGES);
	for (int i = 0; i < recipe->stage_count; i++) {
		if ((rc = check_stage(&c, i)) != 0)
			return rc;
	}
	rc = recipe->is_test ? check_order_test(&c) : check_order(&c);
	if (rc == 0)
		rc = check_bleaches(&c);
	if (rc != 0)
		return rc;
	rc = is_closed(recipe) ? check_light_closed(&c) : check_light_open(&c);
	return rc != 0 ? rc : check_rest(&c);
}
