"""Reference values for level surveys: planes, tilt, deflection ratios.

Run: python survey.py > survey.json

The planes come from numpy.linalg.lstsq and scipy.linalg.lstsq (they must
agree), the worst lines from a plain triple loop. Nothing here comes from the library under test.
"""

import json
import platform

import numpy as np
import scipy
import scipy.linalg

MIN_SPAN = 6096.0
CORRIDOR = 304.8


def worst(x, y, r):
    """Largest deflection ratio in each sense over every admissible line."""
    n = len(x)
    best = {"hogging": (0.0, None), "sagging": (0.0, None)}
    for a in range(n):
        for b in range(a + 1, n):
            d = np.array([x[b] - x[a], y[b] - y[a]])
            chord = np.hypot(*d)
            if chord < MIN_SPAN:
                continue
            for m in range(n):
                if m in (a, b):
                    continue
                e = np.array([x[m] - x[a], y[m] - y[a]])
                t = e @ d / chord**2
                off = abs(e[0] * d[1] - e[1] * d[0]) / chord
                if not 0 < t < 1 or off > CORRIDOR:
                    continue
                ratio = (r[m] - (1 - t) * r[a] - t * r[b]) / chord
                sense = "hogging" if ratio > 0 else "sagging"
                if abs(ratio) > abs(best[sense][0]):
                    best[sense] = (float(ratio), [a, m, b])
    return best


def survey(rng):
    n = int(rng.integers(5, 36))
    wide, deep = rng.uniform(8000, 20000), rng.uniform(6000, 15000)
    if rng.random() < 0.5:  # a loose grid
        side = max(2, int(np.sqrt(n)))
        gx, gy = np.meshgrid(np.linspace(0, wide, side), np.linspace(0, deep, side))
        x, y = gx.ravel(), gy.ravel()
        x = x + rng.uniform(-150, 150, x.size)
        y = y + rng.uniform(-150, 150, y.size)
    else:
        x, y = rng.uniform(0, wide, n), rng.uniform(0, deep, n)
    x, y = np.round(x, 1), np.round(y, 1)
    z = rng.normal(0, 3, x.size) + rng.normal(0, 0.004) * x + rng.normal(0, 0.004) * y
    z = np.round(z + rng.normal(0, 20) * (x / wide) * (y / deep) + rng.uniform(-500, 500), 2)
    sd = float(np.round(rng.uniform(0.5, 4), 2))

    design = np.column_stack([np.ones_like(x), x - x.mean(), y - y.mean()])
    fit = np.linalg.lstsq(design, z, rcond=None)[0]
    again = scipy.linalg.lstsq(design, z)[0]
    assert np.allclose(fit, again, rtol=1e-10, atol=1e-12)
    cov = np.linalg.inv(design.T @ design) * sd**2
    lines = worst(x, y, z - design @ fit)
    return {
        "sd": sd,
        "x": x.tolist(),
        "y": y.tolist(),
        "z": z.tolist(),
        "plane": fit.tolist(),
        "cov": [cov[1, 1], cov[1, 2], cov[2, 2]],
        "tilt": float(np.hypot(fit[1], fit[2])),
        "hogging": lines["hogging"],
        "sagging": lines["sagging"],
    }


def main():
    rng = np.random.default_rng(20240611)
    out = {
        "made_with": {
            "python": platform.python_version(),
            "numpy": np.__version__,
            "scipy": scipy.__version__,
        },
        "min_span": MIN_SPAN,
        "corridor": CORRIDOR,
        "surveys": [survey(rng) for _ in range(200)],
    }
    print(json.dumps(out, separators=(",", ":")))


if __name__ == "__main__":
    main()
