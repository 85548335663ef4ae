"""Makes dense.txt: the dense kind by signed inclusion-exclusion in 60 digits (mpmath 1.4.1), hard evidence only.

usage: dense.py > dense.txt
Every line: seed case, ln P(evidence), P(present) of every cause. A finding of grade g > 0 is C_g - C_(g-1), so P(evidence)
is a sum of 2^positives signed products over independent causes: exact but for rounding, hopeless in double precision."""
from mpmath import log, mp, mpf, nstr

from kinds import case, make

mp.dps = 60


def main():
    print("# inclusion-exclusion in 60 digits; made by dense.py")
    for seed in range(3):
        net = make("dense", seed)
        evidence = case(net, 0)
        weight = [[mpf(10000 - p) / 10000, mpf(p) / 10000] for p in net["priors"]]
        constant, positives = mpf(1), []
        for j, like in evidence.items():
            f, g = net["families"][j], like.index(1.0)
            cum = lambda r, k: mpf(sum(r[: k + 1])) / 10000
            if g == 0:
                constant *= cum(f["leak"], 0)
                for i, r in zip(f["parents"], f["rows"]):
                    weight[i][1] *= cum(r, 0)
            else:
                by = [dict(zip(f["parents"], [cum(r, k) for r in f["rows"]])) for k in (g, g - 1)]
                positives.append(([cum(f["leak"], g), cum(f["leak"], g - 1)], by))
        total, present = mpf(0), [mpf(0)] * len(weight)
        for m in range(1 << len(positives)):
            term, factor = constant, [mpf(1)] * len(weight)
            for b, (leak, by) in enumerate(positives):
                k = m >> b & 1
                term *= -leak[1] if k else leak[0]
                for i, c in by[k].items():
                    factor[i] *= c
            on = [w[1] * f for w, f in zip(weight, factor)]
            sums = [w[0] + x for w, x in zip(weight, on)]
            for s in sums:
                term *= s
            total += term
            for i, x in enumerate(on):
                present[i] += term * x / sums[i]
        print(seed, 0, nstr(log(total), 20), *(nstr(p / total, 20) for p in present), flush=True)


if __name__ == "__main__":
    main()
