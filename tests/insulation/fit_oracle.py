"""Fits i(t) = A t^-n + C with SciPy, an independent program, to the lines "seconds microamps samples" of standard input.

Prints A, n, C, their standard errors, and the least and greatest i(60 s) / i(600 s) over the 95 % region of the weighted
squares with A and C not below 0.
"""
import sys

import numpy
from scipy import optimize, stats

seconds, microamps, samples = numpy.loadtxt(sys.stdin, unpack=True)
sigma = microamps / numpy.sqrt(samples)  # the first time; the second time by the curve


def law(t, a, n, c):
    return a * t**-n + c


def jacobian(t, a, n, c):
    return numpy.stack([t**-n, -a * numpy.log(t) * t**-n, numpy.ones_like(t)], axis=1)


start = [microamps[0] * seconds[0] ** 0.7, 0.7, microamps[-1] / 2]
for _ in range(2):
    best, covariance = optimize.curve_fit(law, seconds, microamps, p0=start, sigma=sigma, jac=jacobian, xtol=1e-14,
                                          ftol=1e-14, gtol=1e-14, maxfev=20000)
    start, used = best, sigma
    sigma = law(seconds, *best) / numpy.sqrt(samples)
sigma = used


def squares(p):
    return numpy.sum(((microamps - law(seconds, *p)) / sigma) ** 2)


freedom = len(seconds) - 3
least = squares(best)
allowed = least * (1 + stats.t.ppf(0.975, freedom) ** 2 / freedom)


def ratio(p):
    return law(60.0, *p) / law(600.0, *p)


# In scaled parameters, from several starts, as the region is a bent and narrow one.
scale = numpy.sqrt(numpy.diag(covariance))
ends = []
for way in (1, -1):
    reached = []
    for shift in (-1.5, -0.5, 0.0, 0.5, 1.5):
        found = optimize.minimize(
            lambda x: -way * numpy.log(ratio(best + x * scale)), [0.1 * way * shift, shift, shift],
            constraints=[
                {"type": "ineq", "fun": lambda x: (allowed - squares(best + x * scale)) / least},
                {"type": "ineq", "fun": lambda x: best[0] / scale[0] + x[0]},
                {"type": "ineq", "fun": lambda x: best[2] / scale[2] + x[2]},
            ], method="SLSQP", options={"maxiter": 2000, "ftol": 1e-12})
        if found.success and squares(best + found.x * scale) <= allowed * (1 + 1e-6):
            reached.append(ratio(best + found.x * scale))
    ends.append(max(reached) if way == 1 else min(reached))
print(*best, *numpy.sqrt(numpy.diag(covariance)), ends[1], ends[0])
