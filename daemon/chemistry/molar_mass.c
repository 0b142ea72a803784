/* molar_mass.c: chemical formulas -> counts of elements -> grams per mole. */
#include "wetside/molar_mass.h"

#include "base/text.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#define ELEMENTS 94 /* hydrogen to plutonium */
#define H 0
#define O 7
#define SAME 1e-9 /* relative; counts are small whole numbers and fractions of them */

/* By atomic number; 0: no standard mass. Source in the header. */
static const struct {
	char symbol[3];
	double g_per_mol;
} elements[ELEMENTS] = {
	/* clang-format off */
	{ "H", 1.008 }, { "He", 4.002602 }, { "Li", 6.94 }, { "Be", 9.0121831 }, { "B", 10.81 }, { "C", 12.011 },
	{ "N", 14.007 }, { "O", 15.999 }, { "F", 18.998403162 }, { "Ne", 20.1797 }, { "Na", 22.98976928 },
	{ "Mg", 24.305 }, { "Al", 26.9815384 }, { "Si", 28.085 }, { "P", 30.973761998 }, { "S", 32.06 },
	{ "Cl", 35.45 }, { "Ar", 39.95 }, { "K", 39.0983 }, { "Ca", 40.078 }, { "Sc", 44.955907 }, { "Ti", 47.867 },
	{ "V", 50.9415 }, { "Cr", 51.9961 }, { "Mn", 54.938043 }, { "Fe", 55.845 }, { "Co", 58.933194 },
	{ "Ni", 58.6934 }, { "Cu", 63.546 }, { "Zn", 65.38 }, { "Ga", 69.723 }, { "Ge", 72.630 }, { "As", 74.921595 },
	{ "Se", 78.971 }, { "Br", 79.904 }, { "Kr", 83.798 }, { "Rb", 85.4678 }, { "Sr", 87.62 }, { "Y", 88.905838 },
	{ "Zr", 91.224 }, { "Nb", 92.90637 }, { "Mo", 95.95 }, { "Tc", 0 }, { "Ru", 101.07 }, { "Rh", 102.90549 },
	{ "Pd", 106.42 }, { "Ag", 107.8682 }, { "Cd", 112.414 }, { "In", 114.818 }, { "Sn", 118.710 },
	{ "Sb", 121.760 }, { "Te", 127.60 }, { "I", 126.90447 }, { "Xe", 131.293 }, { "Cs", 132.90545196 },
	{ "Ba", 137.327 }, { "La", 138.90547 }, { "Ce", 140.116 }, { "Pr", 140.90766 }, { "Nd", 144.242 },
	{ "Pm", 0 }, { "Sm", 150.36 }, { "Eu", 151.964 }, { "Gd", 157.25 }, { "Tb", 158.925354 }, { "Dy", 162.500 },
	{ "Ho", 164.930329 }, { "Er", 167.259 }, { "Tm", 168.934219 }, { "Yb", 173.045 }, { "Lu", 174.9668 },
	{ "Hf", 178.486 }, { "Ta", 180.94788 }, { "W", 183.84 }, { "Re", 186.207 }, { "Os", 190.23 },
	{ "Ir", 192.217 }, { "Pt", 195.084 }, { "Au", 196.966570 }, { "Hg", 200.592 }, { "Tl", 204.38 },
	{ "Pb", 207.2 }, { "Bi", 208.98040 }, { "Po", 0 }, { "At", 0 }, { "Rn", 0 }, { "Fr", 0 }, { "Ra", 0 },
	{ "Ac", 0 }, { "Th", 232.0377 }, { "Pa", 231.03588 }, { "U", 238.02891 }, { "Np", 0 }, { "Pu", 0 },
	/* clang-format on */
};

struct reading {
	const char *text;
	size_t at;
	struct wet_fault *fault;
	int depth; /* open brackets */
	char closers[WET_CHEMICAL_DEPTH + 1];
	double counts[WET_CHEMICAL_DEPTH + 1][ELEMENTS]; /* by depth */
};

struct composition {
	double counts[ELEMENTS];
};

/* The fault at a byte of the text, told in characters. */
static int fail(const struct reading *r, size_t at, int err, const char *want)
{
	char where[32];
	int character = 1;
	for (size_t i = 0; i < at; i++)
		character += ((unsigned char)r->text[i] & 0xC0) != 0x80;
	wet_text_format(where, sizeof where, "character %d", character);
	return wet_fault_set(r->fault, err, where, r->text[at] != '\0' ? r->text + at : "the end", "%s", want);
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* A whole number; 1 where none stands. */
static int read_number(struct reading *r, double *ret_number)
{
	size_t from = r->at;
	long n = 0;
	if (!is_digit(r->text[from])) {
		*ret_number = 1;
		return WET_OK;
	}
	for (; is_digit(r->text[r->at]); r->at++) {
		n = n * 10 + (r->text[r->at] - '0');
		if (n > WET_CHEMICAL_COUNT)
			return fail(r, from, WET_ERR_RANGE, "a count of at most 999");
	}
	if (r->text[from] == '0')
		return fail(r, from, WET_ERR_INVALID, "a count without a nought before it");
	*ret_number = (double)n;
	return WET_OK;
}

static int read_element(struct reading *r)
{
	char symbol[3] = { r->text[r->at], '\0', '\0' };
	size_t from = r->at++;
	double n;
	if (r->text[r->at] >= 'a' && r->text[r->at] <= 'z')
		symbol[1] = r->text[r->at++];
	int rc = read_number(r, &n);
	if (rc != 0)
		return rc;
	for (int i = 0; i < ELEMENTS; i++) {
		if (strcmp(elements[i].symbol, symbol) != 0)
			continue;
		if (elements[i].g_per_mol <= 0)
			return fail(r, from, WET_ERR_RANGE, "an element that has a standard atomic mass");
		r->counts[r->depth][i] += n;
		return WET_OK;
	}
	return fail(r, from, WET_ERR_NOT_FOUND,
				"the symbol of an element: a capital, then at most one small letter");
}

static int open_bracket(struct reading *r)
{
	if (r->depth == WET_CHEMICAL_DEPTH)
		return fail(r, r->at, WET_ERR_TOO_MANY, "at most 4 brackets within each other");
	r->closers[++r->depth] = r->text[r->at++] == '(' ? ')' : ']';
	memset(r->counts[r->depth], 0, sizeof r->counts[0]);
	return WET_OK;
}

static int close_bracket(struct reading *r)
{
	double n;
	if (r->depth == 0 || r->closers[r->depth] != r->text[r->at])
		return fail(r, r->at, WET_ERR_INVALID, "a closing bracket only after its opening one");
	if (r->text[r->at - 1] == '(' || r->text[r->at - 1] == '[')
		return fail(r, r->at, WET_ERR_INVALID, "something between the brackets");
	r->at++;
	int rc = read_number(r, &n);
	if (rc != 0)
		return rc;
	for (int i = 0; i < ELEMENTS; i++)
		r->counts[r->depth - 1][i] += n * r->counts[r->depth][i];
	r->depth--;
	return WET_OK;
}

/* "10", "3/2" before a part; 1 where none stands. */
static int read_multiple(struct reading *r, double *ret_multiple)
{
	double above, below = 1;
	bool is_there = is_digit(r->text[r->at]);
	int rc = read_number(r, &above);
	if (rc == 0 && is_there && r->text[r->at] == '/') {
		r->at++;
		if (!is_digit(r->text[r->at]))
			return fail(r, r->at, WET_ERR_INVALID, "a fraction, as in 3/2");
		rc = read_number(r, &below);
	}
	if (rc == 0)
		*ret_multiple = above / below;
	return rc;
}

/* The bytes of a joint at `at`: '.' or U+00B7, blanks around it; 0: none. */
static size_t joint_bytes(const char *text)
{
	size_t n = strspn(text, " ");
	if (text[n] == '.')
		n += 1;
	else if (strncmp(text + n, "\xC2\xB7", 2) == 0)
		n += 2;
	else
		return 0;
	return n + strspn(text + n, " ");
}

static int read_part(struct reading *r, struct composition *sum)
{
	double multiple = 1;
	int rc = read_multiple(r, &multiple);
	size_t from = r->at;
	memset(r->counts[0], 0, sizeof r->counts[0]);
	while (rc == 0) {
		char c = r->text[r->at];
		if (c >= 'A' && c <= 'Z')
			rc = read_element(r);
		else if (c == '(' || c == '[')
			rc = open_bracket(r);
		else if (c == ')' || c == ']')
			rc = close_bracket(r);
		else
			break;
	}
	if (rc != 0)
		return rc;
	if (r->at == from)
		return fail(r, r->at, WET_ERR_INVALID,
					"elements with their counts, as in Na2CO3.10H2O or K2CO3.3/2H2O");
	if (r->depth > 0)
		return fail(r, r->at, WET_ERR_INVALID, "the closing bracket");
	for (int i = 0; i < ELEMENTS; i++)
		sum->counts[i] += multiple * r->counts[0][i];
	return WET_OK;
}

static int read_formula(const char *formula, struct composition *ret_sum, struct wet_fault *reterr)
{
	struct reading r = { .text = formula, .fault = reterr };
	struct composition sum = { { 0 } };
	if (strlen(formula) >= WET_CHEMICAL_BYTES)
		return fail(&r, WET_CHEMICAL_BYTES - 1, WET_ERR_TOO_LONG, "a formula of at most 63 bytes");
	int rc = read_part(&r, &sum);
	for (size_t n; rc == 0 && (n = joint_bytes(formula + r.at)) > 0;) {
		r.at += n;
		rc = read_part(&r, &sum);
	}
	if (rc == 0 && formula[r.at] != '\0')
		return fail(&r, r.at, WET_ERR_INVALID, "elements, counts, brackets and '.' only, as in Na2CO3.10H2O");
	if (rc == 0)
		*ret_sum = sum;
	return rc;
}

static double mass_of(const struct composition *c)
{
	double g = 0;
	for (int i = 0; i < ELEMENTS; i++)
		g += c->counts[i] * elements[i].g_per_mol;
	return g;
}

int wet_molar_mass(const char *formula, double *ret_g_per_mol, struct wet_fault *reterr)
{
	struct composition c;
	int rc = read_formula(formula, &c, reterr);
	if (rc == 0)
		*ret_g_per_mol = mass_of(&c);
	return rc;
}

static bool is_same(double a, double b)
{
	return fabs(a - b) <= SAME * (1 + fabs(a) + fabs(b));
}

int wet_hydrate_factor(const char *from, const char *to, double *ret_factor, struct wet_fault *reterr)
{
	struct composition a, b;
	double units = 0; /* of `to` for one of `from` */
	int rc = read_formula(from, &a, reterr);
	if (rc == 0)
		rc = read_formula(to, &b, reterr);
	if (rc != 0)
		return rc;
	for (int i = 0; i < ELEMENTS && units <= 0; i++) {
		if (i != H && i != O && a.counts[i] > 0 && b.counts[i] > 0)
			units = a.counts[i] / b.counts[i];
	}
	bool is_fine = units > 0;
	for (int i = 0; i < ELEMENTS; i++)
		is_fine = is_fine && (i == H || i == O || is_same(a.counts[i], units * b.counts[i]));
	/* What is more on one side is water: two of hydrogen for each of oxygen. */
	if (!is_fine || !is_same(units * b.counts[H] - a.counts[H], 2 * (units * b.counts[O] - a.counts[O])))
		return wet_fault_set(reterr, WET_ERR_REFUSED, "", to,
							 "the same substance as %s with more or less water", from);
	*ret_factor = units * mass_of(&b) / mass_of(&a);
	return WET_OK;
}
