/* bath.c: how a bottle or tank comes to the temperature of its bath. */
#include "wetside/tempering.h"

#include "wetside/heat.h"
#include "wetside/quantity.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

static int check_mc(int32_t mc, const char *where, struct wet_fault *reterr)
{
	if (mc >= -50000 && mc <= 150000)
		return WET_OK;
	return wet_fault_set(reterr, WET_ERR_RANGE, where, NULL, "a temperature of -50 C to 150 C");
}

static int check_newton(int32_t from_mc, int32_t bath_mc, int64_t tau_ns, struct wet_fault *reterr)
{
	int rc = check_mc(from_mc, "from", reterr);
	if (rc == 0)
		rc = check_mc(bath_mc, "bath", reterr);
	if (rc == 0 && (tau_ns <= 0 || tau_ns > WET_TAU_NS_MAX))
		rc = wet_fault_set(reterr, WET_ERR_RANGE, "time constant", NULL,
						   "over nothing, at most a hundred days");
	return rc;
}

int wet_newton_time(int32_t from_mc, int32_t to_mc, int32_t bath_mc, int64_t tau_ns, int64_t *ret_time_ns,
					struct wet_fault *reterr)
{
	char found[24], from[24], bath[24];
	int rc = check_newton(from_mc, bath_mc, tau_ns, reterr);
	if (rc == 0)
		rc = check_mc(to_mc, "to", reterr);
	if (rc != 0)
		return rc;
	if (to_mc == from_mc) {
		*ret_time_ns = 0;
		return WET_OK;
	}
	double all = (double)from_mc - bath_mc, left = (double)to_mc - bath_mc;
	if (left * all > 0 && fabs(left) < fabs(all)) {
		*ret_time_ns = llround((double)tau_ns * log(all / left));
		return WET_OK;
	}
	wet_print_temperature(to_mc, found, sizeof found);
	wet_print_temperature(from_mc, from, sizeof from);
	wet_print_temperature(bath_mc, bath, sizeof bath);
	if (from_mc == bath_mc)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "to", found,
							 "another bath: at %s as it is, nothing changes", bath);
	if (to_mc == bath_mc)
		return wet_fault_set(reterr, WET_ERR_REFUSED, "to", found,
							 "a temperature short of the bath's, which is only come near to, or a %s bath",
							 from_mc < bath_mc ? "warmer" : "cooler");
	return wet_fault_set(reterr, WET_ERR_REFUSED, "to", found,
						 "between %s and the bath's %s; this is never reached without a %s bath", from, bath,
						 to_mc > bath_mc ? "warmer" : "cooler");
}

int wet_newton_after(int32_t from_mc, int32_t bath_mc, int64_t tau_ns, int64_t for_ns,
					 int32_t *ret_temperature_mc, struct wet_fault *reterr)
{
	int rc = check_newton(from_mc, bath_mc, tau_ns, reterr);
	if (rc != 0)
		return rc;
	if (for_ns < 0)
		return wet_fault_set(reterr, WET_ERR_RANGE, "for", NULL, "a time from now on");
	double c = wet_newton_c(from_mc / 1000.0, bath_mc / 1000.0, (double)tau_ns / 1e9, (double)for_ns / 1e9);
	*ret_temperature_mc = (int32_t)lround(c * 1000);
	return WET_OK;
}

/* -- two bodies ------------------------------------------------------------------- */

/* Of the room's temperature: the tank above it after t is fast exp(-fast_rate t) + slow exp(-slow_rate t). */
struct modes {
	double a, b, c;      /* k12/C1, k12/C2, k2r/C2, 1/s */
	double slow, spread; /* the slow rate, and the fast one less the slow one */
	double tank, bath;   /* above the room at the beginning */
	double room_c;
};

static int check_two(const struct wet_two_body *two, struct wet_fault *reterr)
{
	int rc;
	if (!(two->tank_j_per_k > 0) || !isfinite(two->tank_j_per_k) || !(two->bath_j_per_k > 0) ||
		!isfinite(two->bath_j_per_k))
		return wet_fault_set(reterr, WET_ERR_RANGE, "heat capacity", NULL,
							 "over nothing, in J/K; 1 L of water has 4180");
	if (!(two->tank_bath_w_per_k >= 0) || !isfinite(two->tank_bath_w_per_k) ||
		!(two->bath_room_w_per_k >= 0) || !isfinite(two->bath_room_w_per_k))
		return wet_fault_set(reterr, WET_ERR_RANGE, "coupling", NULL, "in W/K, not negative");
	if ((rc = check_mc(two->tank_mc, "tank", reterr)) != 0 ||
		(rc = check_mc(two->bath_mc, "bath", reterr)) != 0)
		return rc;
	return check_mc(two->room_mc, "room", reterr);
}

static struct modes modes_of(const struct wet_two_body *two)
{
	struct modes m = { .a = two->tank_bath_w_per_k / two->tank_j_per_k,
					   .b = two->tank_bath_w_per_k / two->bath_j_per_k,
					   .c = two->bath_room_w_per_k / two->bath_j_per_k,
					   .tank = (two->tank_mc - two->room_mc) / 1000.0,
					   .bath = (two->bath_mc - two->room_mc) / 1000.0,
					   .room_c = two->room_mc / 1000.0 };
	/* Rates are the roots of r^2 - (a+b+c) r + a c; under the root stands (a-b-c)^2 + 4ab, which no
	 * cancellation can make negative; the slow root is taken from the product for the same reason. */
	double sum = m.a + m.b + m.c;
	m.spread = hypot(m.a - m.b - m.c, 2 * sqrt(m.a * m.b));
	m.slow = m.a > 0 && m.c > 0 ? 2 * m.a * m.c / (sum + m.spread) : 0;
	return m;
}

/* exp(A t) = exp(-slow t) [ (1 + q)/2 + (1 - q)/spread (A + sum/2) ], q = exp(-spread t), by the two
 * eigenvalues; (1 - q)/spread goes to t where they meet. */
static void modes_at(const struct modes *m, double t, double *ret_tank_c, double *ret_bath_c)
{
	double sum = m->a + m->b + m->c;
	double less = -expm1(-m->spread * t);                      /* 1 - q */
	double per = m->spread * t > 1e-12 ? less / m->spread : t; /* (1 - q)/spread */
	double same = 1 - less / 2, decay = exp(-m->slow * t);
	double tank = (same + per * (sum / 2 - m->a)) * m->tank + per * m->a * m->bath;
	double bath = per * m->b * m->tank + (same + per * (m->a - sum / 2)) * m->bath;
	*ret_tank_c = m->room_c + decay * tank;
	*ret_bath_c = m->room_c + decay * bath;
}

int wet_two_body_after(const struct wet_two_body *two, double for_s, double *ret_tank_c, double *ret_bath_c,
					   struct wet_fault *reterr)
{
	int rc = check_two(two, reterr);
	if (rc != 0)
		return rc;
	if (!(for_s >= 0) || !isfinite(for_s))
		return wet_fault_set(reterr, WET_ERR_RANGE, "for", NULL, "a time from now on");
	struct modes m = modes_of(two);
	modes_at(&m, for_s, ret_tank_c, ret_bath_c);
	return WET_OK;
}

static double tank_at(const struct modes *m, double t)
{
	double tank, bath;
	modes_at(m, t, &tank, &bath);
	return tank;
}

/* The tank turns at most once, where its rate, a (bath - tank), changes sign: the difference is, but for the
 * decay, (1 + q)/2 D + (1 - q)/spread E, which is zero for one q. In [0, end]; end if it doesn't turn
 * before. */
static double turn_s(const struct modes *m, double end)
{
	double d = m->bath - m->tank;
	double e = (m->a + m->b - m->c) * m->tank - (m->a + m->b + m->c) * m->bath; /* 2 E */
	double over = e + m->spread * d, under = e - m->spread * d;
	if (m->spread <= 0 || under == 0)
		return end;
	double q = over / under;
	return q > 0 && q < 1 ? fmin(end, -log(q) / m->spread) : end;
}

/* The first time in [low, high], on which the tank only rises or only falls, at which it has c; -1 if
 * none. */
static double crossing_s(const struct modes *m, double c, double low, double high)
{
	double first = tank_at(m, low) - c, last = tank_at(m, high) - c;
	if (first == 0)
		return low;
	if ((first > 0) == (last > 0) && last != 0)
		return -1;
	for (int i = 0; i < 100; i++) {
		double mid = low + (high - low) / 2;
		if ((tank_at(m, mid) - c > 0) == (first > 0) && tank_at(m, mid) != c)
			low = mid;
		else
			high = mid;
	}
	return high;
}

int wet_two_body_time(const struct wet_two_body *two, int32_t target_mc, int64_t within_ns,
					  int64_t *ret_time_ns, struct wet_fault *reterr)
{
	char found[24], nearest[24], when[24];
	int rc = check_two(two, reterr);
	if (rc == 0)
		rc = check_mc(target_mc, "target", reterr);
	if (rc != 0)
		return rc;
	if (within_ns <= 0 || within_ns > WET_TAU_NS_MAX)
		return wet_fault_set(reterr, WET_ERR_RANGE, "within", NULL, "over nothing, at most a hundred days");
	struct modes m = modes_of(two);
	double end = (double)within_ns / 1e9, target_c = target_mc / 1000.0, turn = turn_s(&m, end);
	double at = crossing_s(&m, target_c, 0, turn);
	if (at < 0 && turn < end)
		at = crossing_s(&m, target_c, turn, end);
	if (at >= 0) {
		*ret_time_ns = llround(at * 1e9);
		return WET_OK;
	}
	double first = two->tank_mc / 1000.0, turned = tank_at(&m, turn), last = tank_at(&m, end);
	double best = first, best_s = 0;
	if (fabs(turned - target_c) < fabs(best - target_c)) {
		best = turned;
		best_s = turn;
	}
	if (fabs(last - target_c) < fabs(best - target_c)) {
		best = last;
		best_s = end;
	}
	wet_print_temperature(target_mc, found, sizeof found);
	wet_print_temperature((int32_t)lround(best * 1000), nearest, sizeof nearest);
	wet_print_duration(llround(best_s * 1e9), when, sizeof when);
	return wet_fault_set(reterr, WET_ERR_REFUSED, "target", found,
						 "a %s bath: the tank comes no nearer than %s, after %s",
						 target_c > best ? "warmer" : "cooler", nearest, when);
}
