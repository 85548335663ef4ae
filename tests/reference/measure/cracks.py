"""Rigid-block movements of random cracks, and leans of random walls, by the
least squares of numerical libraries.

Writes cracks.txt. `C moved s1 z1 s2 z2 lower upper slip sd` is a crack (mm);
`B s0 z0 spread rise rotation` and `E` its errors close a set, errors for known
standard deviations, both about the mean place of the readings. `W h o h o ...`
is a wall and `L lean error` its lean for a standard deviation of 1 mm.

usage: python cracks.py      (pip install numpy==2.4.6 scipy==1.17.1)
"""
import numpy as np
from scipy import linalg, stats

rng = np.random.default_rng(251)


def number(x):
    return repr(float(x))


def block(out):
    rows, values, sds, places = [], [], [], []
    for _ in range(rng.integers(2, 6)):
        moved = rng.choice(["Left", "Right"])
        a = np.round(rng.uniform(0, 8000, 2), 3)
        b = np.round(a + rng.uniform([-900, 300], [900, 2500]), 3)
        lower, upper, slip = np.round(rng.normal(3, 3, 3), 3)
        sd = round(rng.uniform(0.2, 3.0), 3)
        out.write(" ".join(["C", moved, *map(number, [*a, *b, lower, upper, slip, sd])]) + "\n")
        along = (b - a) / np.linalg.norm(b - a)
        normal = np.array([along[1], -along[0]]) * (1 if moved == "Right" else -1)
        for place, way, value in [(a, normal, lower), (b, normal, upper), ((a + b) / 2, along, slip)]:
            places.append(place), rows.append(way), values.append(value), sds.append(sd)
    places, rows, values, sds = map(np.array, (places, rows, values, sds))
    middle = places.mean(axis=0)
    arm = places - middle
    design = np.column_stack([rows, arm[:, 0] * rows[:, 1] - arm[:, 1] * rows[:, 0]])
    scaled = design / sds[:, None]
    found = linalg.lstsq(scaled, values / sds, lapack_driver="gelsd")[0]
    errors = np.sqrt(np.diag(linalg.inv(scaled.T @ scaled)))
    out.write(" ".join(["B", *map(number, [*middle, *found])]) + "\n")
    misfit = np.sqrt(np.sum(((values - design @ found) / sds) ** 2) / (len(values) - 3))
    out.write(" ".join(["E", number(misfit), *map(number, errors)]) + "\n")


def wall(out):
    n = rng.integers(3, 9)
    heights = np.round(np.sort(rng.uniform(0, 6000, n)), 3)
    offsets = np.round(40 + 0.01 * heights * rng.normal() + rng.normal(size=n), 3)
    out.write("W " + " ".join(number(x) for pair in zip(heights, offsets) for x in pair) + "\n")
    lean = stats.linregress(heights, offsets).slope
    error = 1 / np.sqrt(np.sum((heights - heights.mean()) ** 2))
    out.write(f"L {number(lean)} {number(error)}\n")


with open("cracks.txt", "w") as out:
    for _ in range(100):
        block(out)
    for _ in range(100):
        wall(out)
