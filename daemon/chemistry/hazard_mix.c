/* hazard_mix.c: what a mixture is. Every sum is of integers, rounded to the cautious side, so the order of the
 * components is nothing and a share at a limit reaches it. */
#include "chemistry/hazard_inside.h"

#include "base/text.h"

#include <string.h>

#define WEIGHT_ONE \
	100000000LL /* a component at its limit weighs this; times 10^10 ppm (with M) it still fits */
#define DOSE_ONE 1000000000000LL /* likewise for ppm over ATE */
#define M_FACTOR_MOST 10000
#define CATEGORY_4_LEAST_PPM 10000 /* CLP Annex I Table 1.1: below 1 % a category 4 does not count */
#define UNKNOWN_TOLD_PPM 10000     /* GHS 3.1.3.6.2.2: from 1 % it is an ingredient ... */
#define UNKNOWN_MOST_PPM 100000 /* ... and beyond 10 % in all the known rest bears the whole: 3.1.3.6.2.3 */
#define ELICITS 10 /* CLP Table 3.4.6, note: from a tenth of the limit a sensitised person reacts */

enum how { ALONE, SUM, WATER, WATER_M };

/* A component of kinds `from` to `to` makes a mixture `result` from `limit_ppm` on; with less, others may add to it.
 * "10 times these and those add up to 10 %" is: these weigh by 1 %, those by 10 %. CLP Annex I: Tables 3.2.3, 3.3.3
 * (skin, eyes), 3.10.3.3 (aspiration), 3.4.5 (allergies), 3.5.2, 3.6.2, 3.7.2, 3.8.3 and 3.8.3.4.5 (organs; airways
 * 20 %), 4.1.1 and 4.1.2 (water). What burns or feeds fire is told of the undiluted substance, or from its own limit
 * on: no sum says it. */
#define K(name) WET_HAZARD_##name
static const struct row {
	uint8_t result, from, to, how;
	int32_t limit_ppm;
} rows[] = {
	{ K(FLAM_LIQ_1), K(FLAM_LIQ_1), K(FLAM_LIQ_1), ALONE, WET_PPM },
	{ K(FLAM_LIQ_2), K(FLAM_LIQ_2), K(FLAM_LIQ_2), ALONE, WET_PPM },
	{ K(FLAM_LIQ_3), K(FLAM_LIQ_3), K(FLAM_LIQ_3), ALONE, WET_PPM },
	{ K(OX_LIQ_1), K(OX_LIQ_1), K(OX_LIQ_1), ALONE, WET_PPM },
	{ K(OX_LIQ_2), K(OX_LIQ_2), K(OX_LIQ_2), ALONE, WET_PPM },
	{ K(OX_LIQ_3), K(OX_LIQ_3), K(OX_LIQ_3), ALONE, WET_PPM },
	{ K(OX_SOL_1), K(OX_SOL_1), K(OX_SOL_1), ALONE, WET_PPM },
	{ K(OX_SOL_2), K(OX_SOL_2), K(OX_SOL_2), ALONE, WET_PPM },
	{ K(OX_SOL_3), K(OX_SOL_3), K(OX_SOL_3), ALONE, WET_PPM },
	{ K(MET_CORR_1), K(MET_CORR_1), K(MET_CORR_1), ALONE, WET_PPM },
	{ K(ASP_1), K(ASP_1), K(ASP_1), SUM, 100000 },
	{ K(SKIN_CORR_1A), K(SKIN_CORR_1A), K(SKIN_CORR_1A), SUM, 50000 },
	{ K(SKIN_CORR_1B), K(SKIN_CORR_1A), K(SKIN_CORR_1B), SUM, 50000 },
	{ K(SKIN_CORR_1C), K(SKIN_CORR_1A), K(SKIN_CORR_1C), SUM, 50000 },
	{ K(SKIN_CORR_1), K(SKIN_CORR_1A), K(SKIN_CORR_1), SUM, 50000 },
	{ K(SKIN_IRRIT_2), K(SKIN_CORR_1A), K(SKIN_CORR_1), SUM, 10000 },
	{ K(SKIN_IRRIT_2), K(SKIN_IRRIT_2), K(SKIN_IRRIT_2), SUM, 100000 },
	{ K(SKIN_SENS_1A), K(SKIN_SENS_1A), K(SKIN_SENS_1A), ALONE, 1000 },
	{ K(SKIN_SENS_1), K(SKIN_SENS_1), K(SKIN_SENS_1), ALONE, 10000 },
	{ K(SKIN_SENS_1B), K(SKIN_SENS_1B), K(SKIN_SENS_1B), ALONE, 10000 },
	{ K(EYE_DAM_1), K(SKIN_CORR_1A), K(SKIN_CORR_1), SUM, 30000 },
	{ K(EYE_DAM_1), K(EYE_DAM_1), K(EYE_DAM_1), SUM, 30000 },
	{ K(EYE_IRRIT_2), K(SKIN_CORR_1A), K(SKIN_CORR_1), SUM, 10000 },
	{ K(EYE_IRRIT_2), K(EYE_DAM_1), K(EYE_DAM_1), SUM, 10000 },
	{ K(EYE_IRRIT_2), K(EYE_IRRIT_2), K(EYE_IRRIT_2), SUM, 100000 },
	{ K(RESP_SENS_1A), K(RESP_SENS_1A), K(RESP_SENS_1A), ALONE, 1000 },
	{ K(RESP_SENS_1), K(RESP_SENS_1), K(RESP_SENS_1), ALONE, 10000 },
	{ K(RESP_SENS_1B), K(RESP_SENS_1B), K(RESP_SENS_1B), ALONE, 10000 },
	{ K(STOT_SE_3), K(STOT_SE_3), K(STOT_SE_3), SUM, 200000 },
	{ K(STOT_SE_3_DROWSY), K(STOT_SE_3_DROWSY), K(STOT_SE_3_DROWSY), SUM, 200000 },
	{ K(MUTA_1A), K(MUTA_1A), K(MUTA_1A), ALONE, 1000 },
	{ K(MUTA_1B), K(MUTA_1B), K(MUTA_1B), ALONE, 1000 },
	{ K(MUTA_2), K(MUTA_2), K(MUTA_2), ALONE, 10000 },
	{ K(CARC_1A), K(CARC_1A), K(CARC_1A), ALONE, 1000 },
	{ K(CARC_1B), K(CARC_1B), K(CARC_1B), ALONE, 1000 },
	{ K(CARC_2), K(CARC_2), K(CARC_2), ALONE, 10000 },
	{ K(REPR_1A), K(REPR_1A), K(REPR_1A), ALONE, 3000 },
	{ K(REPR_1B), K(REPR_1B), K(REPR_1B), ALONE, 3000 },
	{ K(REPR_2), K(REPR_2), K(REPR_2), ALONE, 30000 },
	{ K(LACT), K(LACT), K(LACT), ALONE, 3000 },
	{ K(STOT_SE_1), K(STOT_SE_1), K(STOT_SE_1), ALONE, 100000 },
	{ K(STOT_SE_2), K(STOT_SE_1), K(STOT_SE_1), ALONE, 10000 },
	{ K(STOT_SE_2), K(STOT_SE_2), K(STOT_SE_2), ALONE, 100000 },
	{ K(STOT_RE_1), K(STOT_RE_1), K(STOT_RE_1), ALONE, 100000 },
	{ K(STOT_RE_2), K(STOT_RE_1), K(STOT_RE_1), ALONE, 10000 },
	{ K(STOT_RE_2), K(STOT_RE_2), K(STOT_RE_2), ALONE, 100000 },
	{ K(AQUATIC_ACUTE_1), K(AQUATIC_ACUTE_1), K(AQUATIC_ACUTE_1), WATER_M, 250000 },
	{ K(AQUATIC_CHRONIC_1), K(AQUATIC_CHRONIC_1), K(AQUATIC_CHRONIC_1), WATER_M, 250000 },
	{ K(AQUATIC_CHRONIC_2), K(AQUATIC_CHRONIC_1), K(AQUATIC_CHRONIC_1), WATER_M, 25000 },
	{ K(AQUATIC_CHRONIC_2), K(AQUATIC_CHRONIC_2), K(AQUATIC_CHRONIC_2), WATER, 250000 },
	{ K(AQUATIC_CHRONIC_3), K(AQUATIC_CHRONIC_1), K(AQUATIC_CHRONIC_1), WATER_M, 2500 },
	{ K(AQUATIC_CHRONIC_3), K(AQUATIC_CHRONIC_2), K(AQUATIC_CHRONIC_2), WATER, 25000 },
	{ K(AQUATIC_CHRONIC_3), K(AQUATIC_CHRONIC_3), K(AQUATIC_CHRONIC_3), WATER, 250000 },
	{ K(AQUATIC_CHRONIC_4), K(AQUATIC_CHRONIC_1), K(AQUATIC_CHRONIC_4), WATER, 250000 },
};
#define ROWS (sizeof rows / sizeof rows[0])

/* Corrosive or irritant where sums do not tell. CLP Annex I Tables 3.2.4 and 3.3.4. */
#define NOT_ADDITIVE_CORROSIVE_PPM 10000
#define NOT_ADDITIVE_IRRITANT_PPM 30000

/* Converted acute toxicity point estimates and the upper ends of the categories, ug/kg and ug/L. CLP Annex I Tables
 * 3.1.2 and 3.1.1 (UN GHS the same). */
static const struct way {
	uint8_t first; /* category 1's kind */
	int64_t estimate_milli[4], most_milli[4];
} ways[WET_ACUTE_N] = {
	{ K(ORAL_1), { 500, 5000, 100000, 500000 }, { 5000, 50000, 300000, 2000000 } },
	{ K(DERMAL_1), { 5000, 50000, 300000, 1100000 }, { 50000, 200000, 1000000, 2000000 } },
	{ K(INHALED_1), { 5, 50, 500, 1500 }, { 50, 500, 1000, 5000 } },
};

/* The mixture with each substance once: shares by place, 0 where an earlier component is the same one. */
struct mixing {
	const struct wet_mixture *mixture;
	int32_t shares_ppm[WET_MIXTURE_COMPONENTS];
	struct wet_mixture_class found[WET_ENDPOINT_N];
	bool has[WET_ENDPOINT_N];
};

static const struct wet_hazards *substance_at(const struct mixing *m, int i)
{
	return m->mixture->components[i].substance;
}

static int endpoint_of(int kind)
{
	return wet_hazard_fact(kind)->endpoint;
}

static bool is_corrosive(int kind)
{
	return kind >= K(SKIN_CORR_1A) && kind <= K(SKIN_CORR_1);
}

static const struct wet_hazard *hazard_within(const struct wet_hazards *s, int from, int to)
{
	for (int i = 0; i < s->hazard_count; i++) {
		if (s->hazards[i].kind >= from && s->hazards[i].kind <= to)
			return &s->hazards[i];
	}
	return NULL;
}

static int64_t divided_up(int64_t n, int64_t d)
{
	return n / d + (n % d != 0);
}

/* -- limits ----------------------------------------------------------------------------- */

/* The share from which one component alone makes a mixture of a kind, and why. */
struct limit {
	int32_t ppm;   /* 0: never */
	int32_t times; /* M-factor */
	uint8_t rule;
};

/* The substance's own limit for a kind. False: it has none for that endpoint. */
static bool own_limit(const struct wet_hazards *s, int kind, struct limit *ret)
{
	bool has = false;
	int endpoint = endpoint_of(kind);
	*ret = (struct limit){ 0, 1, WET_HAZARD_RULE_OWN_LIMIT };
	for (int i = 0; i < s->limit_count; i++) {
		const struct wet_hazard_limit *own = &s->limits[i];
		bool is_for_eyes = endpoint == WET_ENDPOINT_EYE && is_corrosive(own->kind);
		if (endpoint_of(own->kind) != endpoint && !is_for_eyes)
			continue;
		has = true;
		if ((is_for_eyes || own->kind <= kind) && (ret->ppm == 0 || own->from_ppm < ret->ppm))
			ret->ppm = own->from_ppm;
	}
	return has;
}

/* What sums do not tell, for skin and eyes. */
static struct limit not_additive(const struct wet_hazards *s, int kind)
{
	struct limit limit = { 0, 1, WET_HAZARD_RULE_NOT_ADDITIVE };
	bool is_eye = endpoint_of(kind) == WET_ENDPOINT_EYE;
	bool is_severe = kind <= K(SKIN_CORR_1) || kind == K(EYE_DAM_1);
	int worst = is_eye || kind > K(SKIN_CORR_1) ? K(SKIN_CORR_1) : kind;
	if (hazard_within(s, K(SKIN_CORR_1A), worst) != NULL ||
		(is_eye && hazard_within(s, K(EYE_DAM_1), K(EYE_DAM_1)) != NULL))
		limit.ppm = NOT_ADDITIVE_CORROSIVE_PPM;
	else if (!is_severe && hazard_within(s, kind, kind) != NULL)
		limit.ppm = NOT_ADDITIVE_IRRITANT_PPM;
	return limit;
}

static struct limit limit_of(const struct wet_hazards *s, int kind)
{
	struct limit limit;
	int endpoint = endpoint_of(kind);
	if (own_limit(s, kind, &limit))
		return limit;
	if (s->is_not_additive && (endpoint == WET_ENDPOINT_SKIN || endpoint == WET_ENDPOINT_EYE))
		return not_additive(s, kind);
	limit = (struct limit){ 0, 1, WET_HAZARD_RULE_LIMIT };
	for (size_t i = 0; i < ROWS; i++) {
		const struct wet_hazard *h =
			rows[i].result == kind ? hazard_within(s, rows[i].from, rows[i].to) : NULL;
		if (h == NULL || (limit.ppm != 0 && limit.ppm <= rows[i].limit_ppm))
			continue;
		limit.ppm = rows[i].limit_ppm;
		limit.times = rows[i].how == WATER_M && h->m_factor > 1 ? h->m_factor : 1;
		limit.rule = rows[i].how == ALONE ? WET_HAZARD_RULE_LIMIT
					 : rows[i].how == SUM ? WET_HAZARD_RULE_SUM
										  : WET_HAZARD_RULE_WATER_SUM;
	}
	if (limit.times > M_FACTOR_MOST)
		limit.times = M_FACTOR_MOST;
	return limit;
}

/* -- classes ------------------------------------------------------------------------------ */

/* The code of all that count, if they have one in common. */
static void choose_statement(const struct mixing *m, struct wet_mixture_class *c)
{
	const char *chosen = NULL;
	bool agree = true;
	for (int i = 0; i < m->mixture->component_count; i++) {
		const struct wet_hazard *h =
			c->components >> i & 1 ? hazard_within(substance_at(m, i), c->kind, c->kind) : NULL;
		if (h == NULL)
			continue;
		agree = agree && (chosen == NULL || strcmp(chosen, h->statement) == 0);
		chosen = h->statement;
	}
	bool is_plain = !agree || chosen == NULL || chosen[0] == '\0';
	wet_text_copy(c->statement, sizeof c->statement, is_plain ? wet_hazard_fact(c->kind)->statement : chosen);
}

static void keep(struct mixing *m, const struct wet_mixture_class *c)
{
	int endpoint = endpoint_of(c->kind);
	if (m->has[endpoint] && m->found[endpoint].kind <= c->kind)
		return;
	m->has[endpoint] = true;
	m->found[endpoint] = *c;
	m->found[endpoint].is_on_label = true;
	choose_statement(m, &m->found[endpoint]);
}

/* Is the mixture of this kind by limits and sums? */
static void judge_kind(struct mixing *m, int kind, bool is_sum)
{
	struct wet_mixture_class c = { .kind = (uint8_t)kind, .component = -1 };
	int64_t total = 0, most = 0;
	for (int i = 0; i < m->mixture->component_count; i++) {
		struct limit limit =
			m->shares_ppm[i] > 0 ? limit_of(substance_at(m, i), kind) : (struct limit){ 0, 1, 0 };
		if (limit.ppm == 0)
			continue;
		int64_t weight = divided_up((int64_t)m->shares_ppm[i] * limit.times * WEIGHT_ONE, limit.ppm);
		total += weight;
		if (is_sum || weight >= WEIGHT_ONE)
			c.components |= UINT32_C(1) << i;
		if (weight > most) {
			most = weight;
			c.component = (int8_t)i;
			c.limit_ppm = limit.ppm;
			c.rule = limit.rule;
		}
	}
	if ((is_sum ? total : most) >= WEIGHT_ONE)
		keep(m, &c);
}

static void judge_limits(struct mixing *m)
{
	for (size_t i = 0; i < ROWS; i++) {
		if (i == 0 || rows[i].result != rows[i - 1].result)
			judge_kind(m, rows[i].result, rows[i].how != ALONE);
	}
}

/* -- acute toxicity ------------------------------------------------------------------------- */

/* The estimate of a substance, and its category 1..4; 0: it does not count. */
static int64_t estimate_of(const struct wet_hazards *s, int way, int *ret_category)
{
	const struct way *w = &ways[way];
	const struct wet_hazard *h = hazard_within(s, w->first, w->first + 3);
	int64_t ate = s->ate_milli[way];
	if (ate == 0 && h == NULL)
		return 0;
	*ret_category = h != NULL ? h->kind - w->first + 1 : 1;
	if (ate == 0)
		return w->estimate_milli[*ret_category - 1];
	while (h == NULL && *ret_category <= 4 && ate > w->most_milli[*ret_category - 1])
		++*ret_category;
	return *ret_category <= 4 ? ate : 0;
}

static void judge_acute(struct mixing *m, int way, struct wet_classification *out)
{
	int category = 0;
	int64_t dose = 0, most = 0, unknown = 0;
	struct wet_mixture_class c = { .rule = WET_HAZARD_RULE_ESTIMATE, .component = -1 };
	for (int i = 0; i < m->mixture->component_count; i++) {
		int32_t share = m->shares_ppm[i];
		const struct wet_hazards *s = substance_at(m, i);
		int64_t ate = share > 0 ? estimate_of(s, way, &category) : 0;
		if (ate == 0 && s->unknown_ways >> way & 1 && share >= UNKNOWN_TOLD_PPM)
			unknown += share;
		if (ate == 0 || (category == 4 && share < CATEGORY_4_LEAST_PPM))
			continue;
		int64_t part = divided_up(share * DOSE_ONE, ate);
		dose += part;
		c.components |= UINT32_C(1) << i;
		if (part > most) {
			most = part;
			c.component = (int8_t)i;
		}
	}
	out->unknown_ppm[way] = (int32_t)unknown;
	if (dose == 0)
		return;
	int64_t known = unknown > UNKNOWN_MOST_PPM ? WET_PPM - unknown : WET_PPM;
	out->ate_milli[way] = known * DOSE_ONE / dose;
	for (int k = 0; k < 4; k++) {
		if (dose < known * DOSE_ONE / ways[way].most_milli[k])
			continue;
		c.kind = (uint8_t)(ways[way].first + k);
		keep(m, &c);
		return;
	}
}

/* -- pH and lines --------------------------------------------------------------------------- */

static void judge_ph(struct mixing *m, struct wet_classification *out)
{
	const struct wet_mixture *mix = m->mixture;
	out->is_ph_extreme =
		mix->has_ph && (mix->ph_milli <= WET_PH_ACID_MILLI || mix->ph_milli >= WET_PH_ALKALI_MILLI);
	if (!out->is_ph_extreme || mix->is_ph_known_gentle)
		return;
	struct wet_mixture_class c = { .kind = K(SKIN_CORR_1),
								   .rule = WET_HAZARD_RULE_EXTREME_PH,
								   .component = -1 };
	keep(m, &c);
	c.kind = K(EYE_DAM_1);
	keep(m, &c);
}

static void add_line(struct wet_classification *out, const char *code, int component)
{
	struct wet_mixture_line *line = &out->lines[out->line_count++];
	wet_text_copy(line->code, sizeof line->code, code);
	line->component = (int8_t)component;
}

/* May somebody who is sensitised react to it, though it does not make the class of the mixture? CLP Annex II 2.8. */
static bool may_elicit(const struct mixing *m, int i, int endpoint, int first, int last)
{
	const struct wet_hazard *h = hazard_within(substance_at(m, i), first, last);
	if (h == NULL || (m->has[endpoint] && m->found[endpoint].components >> i & 1))
		return false;
	return (int64_t)m->shares_ppm[i] * ELICITS >= limit_of(substance_at(m, i), h->kind).ppm;
}

static void tell_lines(const struct mixing *m, struct wet_classification *out)
{
	for (int i = 0; i < m->mixture->component_count; i++) {
		const struct wet_hazards *s = substance_at(m, i);
		if (m->shares_ppm[i] == 0)
			continue;
		for (int j = 0; j < s->supplement_count; j++) {
			if (m->shares_ppm[i] >= s->supplements[j].from_ppm)
				add_line(out, s->supplements[j].code, i);
		}
		if (may_elicit(m, i, WET_ENDPOINT_SKIN_ALLERGY, K(SKIN_SENS_1A), K(SKIN_SENS_1B)) ||
			may_elicit(m, i, WET_ENDPOINT_AIRWAY_ALLERGY, K(RESP_SENS_1A), K(RESP_SENS_1B)))
			add_line(out, "EUH208", i);
	}
}

/* -- the whole -------------------------------------------------------------------------------- */

static int check_mixture(const struct wet_mixture *mixture, struct wet_fault *fault)
{
	char where[48];
	int64_t whole = 0;
	if (mixture->component_count < 0 || mixture->component_count > WET_MIXTURE_COMPONENTS)
		return wet_fault_set(fault, WET_ERR_TOO_MANY, "components", NULL, "at most %d components",
							 WET_MIXTURE_COMPONENTS);
	for (int i = 0; i < mixture->component_count; i++) {
		int32_t share = mixture->components[i].share_ppm;
		whole += share;
		if (share < 0 || share > WET_PPM)
			return wet_fault_set(fault, WET_ERR_RANGE,
								 wet_text_format(where, sizeof where, "component %d", i + 1), NULL,
								 "a share of 0 to 100 %%");
	}
	if (whole > WET_PPM)
		return wet_fault_set(fault, WET_ERR_RANGE, "components", NULL, "at most 100 %% in all");
	if (mixture->has_ph && (mixture->ph_milli < 0 || mixture->ph_milli > 14000))
		return wet_fault_set(fault, WET_ERR_RANGE, "pH", NULL, "0 to 14");
	return WET_OK;
}

static void gather(struct mixing *m)
{
	for (int i = 0; i < m->mixture->component_count; i++) {
		int first = 0;
		while (substance_at(m, first) != substance_at(m, i))
			first++;
		m->shares_ppm[first] += m->mixture->components[i].share_ppm;
	}
}

int wet_mixture_classify(const struct wet_mixture *mixture, struct wet_classification *ret_classification,
						 struct wet_fault *reterr)
{
	struct mixing m = { .mixture = mixture };
	struct wet_classification out = { 0 };
	int rc = check_mixture(mixture, reterr);
	if (rc != 0)
		return rc;
	gather(&m);
	judge_limits(&m);
	for (int way = 0; way < WET_ACUTE_N; way++)
		judge_acute(&m, way, &out);
	judge_ph(&m, &out);
	for (int e = 0; e < WET_ENDPOINT_N; e++) {
		if (m.has[e])
			out.classes[out.class_count++] = m.found[e];
	}
	tell_lines(&m, &out);
	make_label(&out);
	*ret_classification = out;
	return WET_OK;
}
#undef K
