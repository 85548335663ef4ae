"""Constant, linear, seasonal and combined fits of dated readings, by weighted
least squares of a statistics library.

Writes trends.txt. A line of readings: `day value sd` triples after `R`; then
four lines `F model chi2 parameters... errors...`, parameters in the order
middle, rate (mm per year), cosine, sine, as the model has them. Errors are for
known standard deviations (not scaled by the scatter).

usage: python trends.py      (pip install numpy==2.4.6 statsmodels==0.15.0)
"""
import numpy as np
import statsmodels.api as sm

rng = np.random.default_rng(343)


def number(x):
    return repr(float(x))


def fits(day, value, sd):
    t = (day - 0.5 * (day[0] + day[-1])) / 365.25
    one, wave = np.ones_like(t), 2 * np.pi * t
    season = [np.cos(wave), np.sin(wave)]
    for name, columns in [("Constant", [one]), ("Linear", [one, t]), ("Seasonal", [one, *season]), ("Both", [one, t, *season])]:
        fit = sm.WLS(value, np.column_stack(columns), weights=1 / sd**2).fit(cov_type="fixed scale")
        chi2 = np.sum((fit.resid / sd) ** 2)
        yield " ".join(["F", name, number(chi2), *map(number, fit.params), *map(number, fit.bse)])


with open("trends.txt", "w") as out:
    for _ in range(100):
        n = int(rng.integers(14, 40))
        span = rng.uniform(370, 1500)
        day = np.unique(np.round(np.sort(rng.uniform(0, span, n))))
        day[-1] = max(day[-1], day[0] + 366)
        sd = np.round(rng.uniform(0.2, 0.6, len(day)), 3)
        t = day / 365.25
        value = rng.uniform(0, 8) + rng.normal(0, 1) * t + rng.normal(0, 1) * np.sin(2 * np.pi * t + rng.uniform(0, 6))
        # Little noise, so that the stated errors are not widened.
        value = np.round(value + 0.3 * sd * rng.normal(size=len(day)), 4)
        out.write("R " + " ".join(number(x) for row in zip(day, value, sd) for x in row) + "\n")
        for line in fits(day, value, sd):
            out.write(line + "\n")
