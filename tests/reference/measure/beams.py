"""Dips and moments of simply supported beams, by two general solvers.

Writes beams.txt: span (in), E I (lb in2), uniform load (lb/in), total of a
triangular load (lb), then mid-span dip (in) and moment (lb in) by each solver.

usage: python beams.py      (pip install PyNiteFEA==3.2.0 anastruct==1.7.0)
"""
import random

from anastruct import SystemElements
from Pynite import FEModel3D

E = 29.0e6
ELEMENTS = 48


def by_members(span, inertia, uniform, total):
    """One member with distributed loads, exact shape functions."""
    m = FEModel3D()
    m.add_material("steel", E, 11.2e6, 0.3, 0.0)
    m.add_section("s", 10.0, inertia, inertia, 1.0)
    m.add_node("A", 0, 0, 0)
    m.add_node("B", span, 0, 0)
    m.add_member("M", "A", "B", "steel", "s")
    m.def_support("A", True, True, True, True, False, False)
    m.def_support("B", False, True, True, False, False, False)
    peak = 2.0 * total / span
    m.add_member_dist_load("M", "Fy", -uniform, -uniform, 0, span)
    m.add_member_dist_load("M", "Fy", 0.0, -peak, 0, span / 2)
    m.add_member_dist_load("M", "Fy", -peak, 0.0, span / 2, span)
    m.analyze(check_statics=False)
    beam = m.members["M"]
    return -beam.deflection("dy", span / 2), abs(beam.moment("Mz", span / 2))


def by_elements(span, inertia, uniform, total):
    """Many elements with loads that vary along each."""
    s = SystemElements(EA=E * 10.0, EI=E * inertia)
    step = span / ELEMENTS
    peak = 2.0 * total / span

    def load(x):
        return uniform + peak * (1.0 - abs(x - span / 2) / (span / 2))

    for i in range(ELEMENTS):
        s.add_element([[i * step, 0], [(i + 1) * step, 0]])
        s.q_load(element_id=i + 1, q=[-load(i * step), -load((i + 1) * step)], direction="element")
    s.add_support_hinged(1)
    s.add_support_roll(ELEMENTS + 1)
    s.solve()
    middle = ELEMENTS // 2 + 1
    dip = abs(s.get_node_displacements(middle)["uy"])
    bending = s.get_element_results(ELEMENTS // 2, verbose=True)["M"]
    return dip, abs(bending[-1])


def main():
    rng = random.Random(20)
    rows = [(72.0, 2.75, 0.0, 800.0)]
    for _ in range(40):
        span = round(rng.uniform(24.0, 219.0), 2)
        rows.append((span, rng.choice([1.23, 2.75, 5.36, 6.58, 10.9, 20.5]), round(rng.uniform(0.0, 30.0), 3), round(rng.uniform(0.0, 4000.0), 1)))
    with open("beams.txt", "w") as out:
        for span, inertia, uniform, total in rows:
            a, b = by_members(span, inertia, uniform, total), by_elements(span, inertia, uniform, total)
            out.write(" ".join(repr(float(v)) for v in (span, E * inertia, uniform, total, *a, *b)) + "\n")


main()
