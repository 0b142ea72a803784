/* stock.c: the rules of what stands on the shelf. */
#include "wetside/stock.h"

#include "base/text.h"
#include "wetside/quantity.h"
#include "wetside/recipe.h"

#include <string.h>

__extension__ typedef __int128 wide;

#define VOLUME_UL_MAX 1000000000LL   /* a tonne of solution is no darkroom's */
#define AREA_MM2_MAX 100000000000LL  /* the same in paper: a hectare and more */
#define LENGTH_UM_MAX 5000000LL      /* five metres */
#define HOLE_UM_MAX 10000            /* a hole of a centimetre makes no picture */
#define APERTURE_MILLI_MIN 500
#define APERTURE_MILLI_MAX 10000000
#define MS_NS 1000000LL
#define SPELL_MS_MAX (876600LL * 3600 * 1000) /* a century */

const char *wet_stock_kind_word(enum wet_stock_kind kind)
{
	static const char *const words[WET_STOCK_KIND_N] = {
#define X(name, word) word,
		WET_STOCK_KINDS(X)
#undef X
	};
	return (unsigned)kind < WET_STOCK_KIND_N ? words[kind] : "?";
}

const char *wet_stock_act_word(enum wet_stock_act act)
{
	static const char *const words[WET_STOCK_ACT_N] = {
#define X(name, word) word,
		WET_STOCK_ACTS(X)
#undef X
	};
	return (unsigned)act < WET_STOCK_ACT_N ? words[act] : "?";
}

const char *wet_beside_word(enum wet_beside beside)
{
	static const char *const words[WET_BESIDE_N] = {
#define X(name, word) word,
		WET_BESIDES(X)
#undef X
	};
	return (unsigned)beside < WET_BESIDE_N ? words[beside] : "?";
}

/* -- places: what stands beside is kept in the place's own text, so that an older wetside reads it too ------- */

#define BESIDE " (beside "

/* Words and commas, up to `end`. False: another word is among them. */
static bool read_beside(const char *text, const char *end, unsigned *ret_beside)
{
	unsigned bits = 0;
	while (text < end) {
		size_t n = strcspn(text, ", )");
		int found = -1;
		for (int i = 0; i < WET_BESIDE_N; i++)
			if (strlen(wet_beside_word((enum wet_beside)i)) == n && strncmp(wet_beside_word((enum wet_beside)i), text, n) == 0)
				found = i;
		if (found < 0)
			return false;
		bits |= 1u << found;
		text += n;
		text += strspn(text, ", ");
	}
	*ret_beside = bits;
	return true;
}

int wet_beside_parse(const char *text, unsigned *ret_beside, struct wet_fault *reterr)
{
	char want[WET_LINE_BYTES] = "none, or any of:";
	unsigned bits = 0;
	text += strspn(text, ", ");
	if (strcmp(text, "none") == 0 || read_beside(text, text + strlen(text), &bits)) {
		*ret_beside = bits;
		return WET_OK;
	}
	for (int i = 0; i < WET_BESIDE_N; i++)
		wet_text_append(want, sizeof want, "%s %s", i > 0 ? "," : "", wet_beside_word((enum wet_beside)i));
	return wet_fault_set(reterr, WET_ERR_NOT_FOUND, "beside", text, "%s", want);
}

unsigned wet_stock_place(const struct wet_stock *item, char *place)
{
	unsigned bits = 0;
	size_t n = strlen(item->place);
	const char *text = item->place[0] == '(' ? item->place : strstr(item->place, BESIDE);
	const char *words = text == NULL ? NULL : text + strlen(BESIDE) - (*text == '(');
	bool is_told = words != NULL && n > 0 && item->place[n - 1] == ')' && strlen(text) > strlen(BESIDE) &&
				   strncmp(text + (*text == ' '), BESIDE + 1, strlen(BESIDE) - 1) == 0 &&
				   read_beside(words, item->place + n - 1, &bits);
	wet_text_copy(place, WET_NAME_BYTES, item->place);
	if (is_told)
		place[text - item->place] = '\0';
	return is_told ? bits : 0;
}

int wet_stock_put_place(struct wet_stock *item, const char *place, unsigned beside, struct wet_fault *reterr)
{
	char text[2 * WET_LINE_BYTES];
	int count = 0;
	wet_text_copy(text, sizeof text, place);
	for (int i = 0; i < WET_BESIDE_N; i++) {
		if (!(beside & 1u << i))
			continue;
		wet_text_append(text, sizeof text, "%s%s", count++ > 0 ? ", " : place[0] ? BESIDE : BESIDE + 1,
						wet_beside_word((enum wet_beside)i));
	}
	if (count > 0)
		wet_text_append(text, sizeof text, ")");
	if (strlen(text) >= sizeof item->place)
		return wet_fault_set(reterr, WET_ERR_TOO_LONG, "place", NULL,
							 "a shorter name of the place: with what stands beside it %d characters at most",
							 (int)sizeof item->place - 1);
	wet_text_copy(item->place, sizeof item->place, text);
	return WET_OK;
}

static const char *const kept_words[WET_STOCK_KEPT_N] = {
#define X(name, word) word,
	WET_STOCK_KEPTS(X)
#undef X
};

const char *wet_stock_kept_word(enum wet_stock_kept kept)
{
	return (unsigned)kept < WET_STOCK_KEPT_N ? kept_words[kept] : "?";
}

int wet_stock_kept_from_word(const char *word, enum wet_stock_kept *ret_kept, struct wet_fault *reterr)
{
	for (int i = 0; i < WET_STOCK_KEPT_N; i++) {
		if (strcmp(word, kept_words[i]) == 0) {
			*ret_kept = (enum wet_stock_kept)i;
			return WET_OK;
		}
	}
	return wet_fault_set(reterr, WET_ERR_INVALID, "kept", word,
						 "bottle (closed), covered (a tank or tray under a lid) or open (an open tray)");
}

static int refuse_volume(const char *where, int64_t found_ul, const char *want, int64_t want_ul,
						 struct wet_fault *reterr)
{
	char found[32], limit[32];
	return wet_fault_set(reterr, WET_ERR_RANGE, where, wet_print_volume(found_ul, found, sizeof found), "%s %s", want,
						 wet_print_volume(want_ul, limit, sizeof limit));
}

static int check_name(const struct wet_stock *item, struct wet_fault *reterr)
{
	char clean[WET_NAME_BYTES];
	if (!item->name[0])
		return wet_fault_set(reterr, WET_ERR_INVALID, "name", NULL, "a name to point at it by");
	wet_text_clean(clean, sizeof clean, item->name);
	if (strcmp(clean, item->name) != 0 || item->name[0] == '-')
		return wet_fault_set(reterr, WET_ERR_INVALID, "name", item->name,
							 "plain letters, digits and blanks, not beginning with a dash");
	return WET_OK;
}

/* Bottle or bath. */
static int check_liquid(const struct wet_stock *item, struct wet_fault *reterr)
{
	if (!item->what[0])
		return wet_fault_set(reterr, WET_ERR_INVALID, "what", NULL,
							 "which solution it holds, as recipes name it (\"fixer\")");
	if (item->full_ul <= 0 || item->full_ul > VOLUME_UL_MAX)
		return refuse_volume("volume", item->full_ul, "over nothing, and at most", VOLUME_UL_MAX, reterr);
	if (item->volume_ul < 0 || item->volume_ul > item->full_ul)
		return refuse_volume("volume", item->volume_ul, "at most what it holds when full,", item->full_ul, reterr);
	if (item->area_mm2 < 0 || item->area_mm2 > AREA_MM2_MAX || item->second_mm2 < 0 || item->second_mm2 > AREA_MM2_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "area", NULL, "an area from nothing to ten hectares");
	if ((unsigned)item->kept >= WET_STOCK_KEPT_N)
		return wet_fault_set(reterr, WET_ERR_INVALID, "kept", NULL, "bottle, covered or open");
	if (item->rotations < 0 || item->rotations > WET_STOCK_ROTATIONS)
		return wet_fault_set(reterr, WET_ERR_RANGE, "rotations", NULL, "from 0 to %d: how often its pair had rotated",
							 WET_STOCK_ROTATIONS);
	return WET_OK;
}

static int check_vessel(const struct wet_stock *item, struct wet_fault *reterr)
{
	enum wet_vessel_kind kind;
	if (wet_vessel_kind_from_word(item->what, &kind) != 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "kind", item->what,
							 "closed-tank, open-tank, trays, drum or washer");
	if (item->full_ul <= 0 || item->full_ul > VOLUME_UL_MAX)
		return refuse_volume("most", item->full_ul, "over nothing, and at most", VOLUME_UL_MAX, reterr);
	if (item->least_ul < 0 || item->least_ul > item->full_ul)
		return refuse_volume("least", item->least_ul, "from nothing to the most it takes,", item->full_ul, reterr);
	if (item->pieces_max < 0 || item->pieces_max > WET_PIECES)
		return wet_fault_set(reterr, WET_ERR_RANGE, "pieces", NULL, "from 1 to %d a load", WET_PIECES);
	if (item->width_um < 0 || item->width_um > LENGTH_UM_MAX || item->height_um < 0 ||
		item->height_um > LENGTH_UM_MAX || (item->width_um > 0) != (item->height_um > 0))
		return wet_fault_set(reterr, WET_ERR_RANGE, "tray", NULL, "the inside of the tray, as in 18x24cm");
	if (item->piece_width_um < 0 || item->piece_width_um > LENGTH_UM_MAX || item->piece_height_um < 0 ||
		item->piece_height_um > LENGTH_UM_MAX || (item->piece_width_um > 0) != (item->piece_height_um > 0))
		return wet_fault_set(reterr, WET_ERR_RANGE, "piece", NULL, "the largest piece it takes, as in 10x13cm");
	return WET_OK;
}

static int check_graduate(const struct wet_stock *item, struct wet_fault *reterr)
{
	if (item->full_ul <= 0 || item->full_ul > VOLUME_UL_MAX)
		return refuse_volume("holds", item->full_ul, "over nothing, and at most", VOLUME_UL_MAX, reterr);
	if (item->least_ul <= 0 || item->least_ul > item->full_ul)
		return refuse_volume("marks", item->least_ul, "its least graduation, over nothing and at most",
							 item->full_ul, reterr);
	if (item->grade != 0 && item->grade != 'A' && item->grade != 'B')
		return wet_fault_set(reterr, WET_ERR_INVALID, "class", NULL, "A or B, as printed on it");
	return WET_OK;
}

static int64_t aperture_milli(const struct wet_stock *camera)
{
	return (camera->distance_um * 1000 + camera->hole_um / 2) / camera->hole_um;
}

void wet_stock_set_aperture(struct wet_stock *camera)
{
	if (camera->hole_um > 0 && camera->distance_um > 0 && camera->distance_um <= LENGTH_UM_MAX)
		camera->f_number_milli = aperture_milli(camera);
}

static int check_camera(const struct wet_stock *item, struct wet_fault *reterr)
{
	bool is_pinhole = strcmp(item->what, "pinhole") == 0;
	if (!is_pinhole && strcmp(item->what, "lens") != 0)
		return wet_fault_set(reterr, WET_ERR_INVALID, "kind", item->what, "pinhole or lens");
	if (item->hole_um < 0 || item->hole_um > HOLE_UM_MAX || (item->hole_um > 0 && !is_pinhole))
		return wet_fault_set(reterr, WET_ERR_RANGE, "pinhole", NULL, "a pinhole of up to 10 mm, and none beside a lens");
	if (item->distance_um < 0 || item->distance_um > LENGTH_UM_MAX || (item->hole_um > 0 && item->distance_um == 0))
		return wet_fault_set(reterr, WET_ERR_RANGE, "distance", NULL, "how far the paper is from the pinhole or lens, up to 5 m");
	if (item->f_number_milli < APERTURE_MILLI_MIN || item->f_number_milli > APERTURE_MILLI_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "aperture", NULL,
							 "an aperture number from f/0.5 to f/10000, or a pinhole and its distance that make one");
	if (item->hole_um > 0 && item->f_number_milli != aperture_milli(item))
		return wet_fault_set(reterr, WET_ERR_INVALID, "aperture", NULL, "the distance over the pinhole's diameter");
	if (item->width_um < 0 || item->width_um > LENGTH_UM_MAX || item->height_um < 0 || item->height_um > LENGTH_UM_MAX ||
		(item->width_um > 0) != (item->height_um > 0))
		return wet_fault_set(reterr, WET_ERR_RANGE, "format", NULL, "the piece it takes, as in 9x12cm");
	return WET_OK;
}

int wet_stock_check(const struct wet_stock *item, struct wet_fault *reterr)
{
	int rc = check_name(item, reterr);
	if (rc != 0)
		return rc;
	switch (item->kind) {
	case WET_STOCK_BOTTLE:
	case WET_STOCK_BATH: return check_liquid(item, reterr);
	case WET_STOCK_VESSEL: return check_vessel(item, reterr);
	case WET_STOCK_GRADUATE: return check_graduate(item, reterr);
	case WET_STOCK_CAMERA: return check_camera(item, reterr);
	default: return wet_fault_set(reterr, WET_ERR_INVALID, "kind", NULL, "bottle, bath, vessel, graduate or camera");
	}
}

bool wet_stock_is_mixed(const struct wet_stock *bath, int64_t stock_milli, int64_t water_milli)
{
	int64_t a, b;
	if (!bath->strength[0] || strcmp(bath->strength, "stock") == 0)
		return water_milli == 0;
	return wet_parse_dilution(bath->strength, &a, &b, NULL) == 0 && (wide)a * water_milli == (wide)b * stock_milli;
}

void wet_stock_age_init(struct wet_stock_age *age)
{
	*age = (struct wet_stock_age){ .now = WET_STANDING_UNOPENED };
	for (int i = 0; i < WET_STANDING_N; i++)
		age->spells[i].standing = (enum wet_standing)i;
}

void wet_stock_age_add(struct wet_stock_age *age, const struct wet_stock *item, int64_t volume_ul, enum wet_stock_kept kept,
					   int64_t from_ms, int64_t to_ms)
{
	if (item->since_ms == 0)
		return;
	age->now = kept == WET_STOCK_KEPT_OPEN		? WET_STANDING_OPEN
			   : kept == WET_STOCK_KEPT_COVERED ? WET_STANDING_COVERED
			   : volume_ul <= item->full_ul / 2 ? WET_STANDING_PART
												: WET_STANDING_FULL;
	struct wet_spell *spell = &age->spells[age->now];
	from_ms = from_ms < item->since_ms ? item->since_ms : from_ms;
	if (to_ms > from_ms && to_ms - from_ms < SPELL_MS_MAX - age->age_ns / MS_NS) {
		spell->for_ns += (to_ms - from_ms) * MS_NS;
		age->age_ns += (to_ms - from_ms) * MS_NS;
	}
	if (age->now == WET_STANDING_OPEN && (spell->volume_ul == 0 || volume_ul < spell->volume_ul)) {
		spell->volume_ul = volume_ul; /* the shallowest it has stood */
		spell->surface_mm2 = item->width_um / 1000 * (item->height_um / 1000);
	}
}

/* Does a piece go into a frame, either way round? */
static bool goes_into(int64_t width_um, int64_t height_um, int64_t frame_w, int64_t frame_h)
{
	return (width_um <= frame_w && height_um <= frame_h) || (width_um <= frame_h && height_um <= frame_w);
}

int wet_stock_room(const struct wet_stock *vessel, int64_t width_um, int64_t height_um, int *ret_pieces,
				   struct wet_fault *reterr)
{
	bool has_piece = vessel->piece_width_um > 0;
	int64_t w = has_piece ? vessel->piece_width_um : vessel->width_um;
	int64_t h = has_piece ? vessel->piece_height_um : vessel->height_um;
	int64_t room = vessel->pieces_max;
	char found[64], a[32], b[32];
	if (has_piece) {
		room = goes_into(width_um, height_um, w, h) ? room : 0;
	} else if (w > 0) {
		int64_t one = (w / width_um) * (h / height_um), other = (w / height_um) * (h / width_um);
		int64_t most = one > other ? one : other;
		room = most < room ? most : room;
	}
	if (room < 1) {
		wet_text_format(found, sizeof found, "%s x %s", wet_print_length(width_um, a, sizeof a),
						wet_print_length(height_um, b, sizeof b));
		return wet_fault_set(reterr, WET_ERR_FIT, "size", found,
							 "at most %s x %s, either way round: so large is %s of %s; cut the paper smaller, or take a larger "
							 "vessel",
							 wet_print_length(w, a, sizeof a), wet_print_length(h, b, sizeof b),
							 has_piece ? "the largest piece" : "the tray", vessel->name);
	}
	*ret_pieces = (int)room;
	return WET_OK;
}

int wet_stock_use(struct wet_stock *item, const struct wet_stock_event *why, struct wet_fault *reterr)
{
	int64_t volume_ul = -why->volume_ul;
	if (item->kind != WET_STOCK_BOTTLE && item->kind != WET_STOCK_BATH)
		return wet_fault_set(reterr, WET_ERR_INVALID, "kind", wet_stock_kind_word(item->kind),
							 "a bottle or a bath: nothing else is used up");
	if (item->is_gone)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "name", item->name, "%s is gone; name one that is still there",
							 item->name);
	if (volume_ul < 0 || volume_ul > VOLUME_UL_MAX || why->area_mm2 < 0 ||
		why->area_mm2 > AREA_MM2_MAX - item->area_mm2 || why->second_mm2 < 0 ||
		why->second_mm2 > AREA_MM2_MAX - item->second_mm2)
		return wet_fault_set(reterr, WET_ERR_RANGE, "volume", NULL, "an amount from nothing up");
	if (volume_ul > item->volume_ul)
		return refuse_volume("volume", volume_ul, "at most what is left,", item->volume_ul, reterr);
	if (item->kind == WET_STOCK_BOTTLE && item->since_ms == 0 && volume_ul > 0)
		item->since_ms = why->wall_ms; /* drawing from it opens it */
	item->volume_ul -= volume_ul;
	item->area_mm2 += why->area_mm2;
	item->second_mm2 += why->second_mm2;
	if (item->volume_ul == 0) {
		item->is_gone = true;
		item->gone_ms = why->wall_ms;
	}
	return WET_OK;
}

/* "; has done 540 cm2", or of two baths "; fixed 0.52 m2 as first, 0.3 m2 as second; pair rotated 1 time". The rotation that
 * makes a second the first is not told before it has been one. */
static void say_done(const struct wet_stock *item, char *buf, unsigned n)
{
	char a[48], b[48];
	struct wet_quantity first = { item->area_mm2, WET_UNIT_CM2 };
	if (item->second_mm2 == 0 && item->rotations == 0) {
		if (item->area_mm2 > 0)
			wet_text_append(buf, n, "; has done %s", wet_print_quantity_about(first, 0, a, sizeof a));
		return;
	}
	bool was_first = item->area_mm2 > 0;
	int rotations = was_first || item->rotations == 0 ? item->rotations : item->rotations - 1;
	if (was_first)
		wet_text_append(buf, n, "; fixed %s as first", wet_stock_print_area(item->area_mm2, a, sizeof a));
	wet_text_append(buf, n, "%s%s as second%s", was_first ? ", " : "; fixed ",
					wet_stock_print_area(item->second_mm2, b, sizeof b), was_first ? "" : ", nothing yet as first");
	if (rotations > 0 || was_first)
		wet_text_append(buf, n, "; pair rotated %d time%s", rotations, rotations == 1 ? "" : "s");
}

char *wet_stock_print_area(int64_t area_mm2, char *buf, unsigned n)
{
	bool is_large = area_mm2 >= 100000;
	struct wet_quantity area = { area_mm2, is_large ? WET_UNIT_M2 : WET_UNIT_CM2 };
	return wet_print_quantity_about(area, is_large ? 2 : 0, buf, n);
}

static void say_camera(const struct wet_stock *item, char *buf, unsigned n)
{
	char a[48], b[48];
	wet_text_format(buf, n, "%s", item->what);
	if (item->hole_um > 0)
		wet_text_append(buf, n, " of %s", wet_print_length(item->hole_um, a, sizeof a));
	if (item->distance_um > 0)
		wet_text_append(buf, n, " at %s", wet_print_length(item->distance_um, a, sizeof a));
	/* As apertures are written: tenths under ten, none above. */
	if (item->f_number_milli < 9950 && item->f_number_milli % 1000 >= 50)
		wet_text_append(buf, n, ", f/%.1f", (double)item->f_number_milli / 1000);
	else
		wet_text_append(buf, n, ", f/%lld", (long long)(item->f_number_milli + 500) / 1000);
	if (item->width_um > 0)
		wet_text_append(buf, n, "; takes %s x %s", wet_print_length(item->width_um, a, sizeof a),
						wet_print_length(item->height_um, b, sizeof b));
}

char *wet_stock_line(const struct wet_stock *item, char *buf, unsigned n)
{
	char a[48], b[48];
	buf[0] = '\0';
	switch (item->kind) {
	case WET_STOCK_BOTTLE:
	case WET_STOCK_BATH:
		wet_text_format(buf, n, "%s%s%s: %s of %s", item->what, item->strength[0] ? ", " : "", item->strength,
						wet_print_volume(item->volume_ul, a, sizeof a), wet_print_volume(item->full_ul, b, sizeof b));
		say_done(item, buf, n);
		break;
	case WET_STOCK_VESSEL:
		wet_text_format(buf, n, "%s: %s to %s", item->what, wet_print_volume(item->least_ul, a, sizeof a),
						wet_print_volume(item->full_ul, b, sizeof b));
		if (item->pieces_max > 0)
			wet_text_append(buf, n, "; %d piece%s a load", item->pieces_max, item->pieces_max == 1 ? "" : "s");
		if (item->piece_width_um > 0)
			wet_text_append(buf, n, " of at most %s x %s", wet_print_length(item->piece_width_um, a, sizeof a),
							wet_print_length(item->piece_height_um, b, sizeof b));
		if (item->width_um > 0)
			wet_text_append(buf, n, "; tray %s x %s", wet_print_length(item->width_um, a, sizeof a),
							wet_print_length(item->height_um, b, sizeof b));
		break;
	case WET_STOCK_GRADUATE:
		wet_text_format(buf, n, "holds %s, marked each %s", wet_print_volume(item->full_ul, a, sizeof a),
						wet_print_volume(item->least_ul, b, sizeof b));
		if (item->grade)
			wet_text_append(buf, n, ", class %c", item->grade);
		break;
	case WET_STOCK_CAMERA: say_camera(item, buf, n); break;
	default: break;
	}
	if (item->lot[0])
		wet_text_append(buf, n, "; lot %s", item->lot);
	if (item->place[0])
		wet_text_append(buf, n, "; %s", item->place);
	if (item->is_gone)
		wet_text_append(buf, n, "; gone");
	return buf;
}
