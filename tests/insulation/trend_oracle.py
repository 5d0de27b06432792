"""Line through ln(megohms) with SciPy, an independent program, from lines "years megohms" of standard input.

Arguments: minimum, confidence. Prints slope, its standard error, intercept, Student's t, the standard deviation about the
line, and the roots of |line - ln(minimum)| = band of the line, found by a bracketing search, first and last.
"""
import sys

import numpy
from scipy import optimize, stats

years, megohms = numpy.loadtxt(sys.stdin, unpack=True)
minimum, confidence = float(sys.argv[1]), float(sys.argv[2])
fit = stats.linregress(years, numpy.log(megohms))
freedom = len(years) - 2
t = stats.t.ppf((1 + confidence) / 2, freedom)
residuals = numpy.log(megohms) - fit.intercept - fit.slope * years
s = numpy.sqrt(numpy.sum(residuals**2) / freedom)
mean, squares = years.mean(), numpy.sum((years - years.mean()) ** 2)


def gap(x):
    band = t * s * numpy.sqrt(1 / len(years) + (x - mean) ** 2 / squares)
    return abs(fit.intercept + fit.slope * x - numpy.log(minimum)) - band


crossing = (numpy.log(minimum) - fit.intercept) / fit.slope
ends = [numpy.nan, numpy.nan]
for i, way in enumerate((-1, 1)):
    step = 0.01
    while gap(crossing + way * step) < 0 and step < 1e5:
        step *= 1.5
    if step < 1e5:
        ends[i] = optimize.brentq(gap, crossing, crossing + way * step, xtol=1e-12)
print(fit.slope, fit.stderr, fit.intercept, t, s, *ends)
