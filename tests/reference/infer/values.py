"""Makes values.txt: posteriors and ln P(evidence) of seeded networks by general-purpose libraries.

usage: values.py > values.txt      (pip install pyagrum==3.3.1 pgmpy==1.1.2)

Every line: engine kind seed case, then ln P(evidence) by the chain rule (or - where not computed), then P(present)
of every cause in order. For pyagrum: also the distribution of three clues not looked at, as clue:p0,p1,...
Only the numbers of the libraries are kept; the Rust tests build the same networks from the same seeds."""
import math
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "../../../benches/infer"))
from kinds import case, make  # noqa: E402
from peers import agrum, clue_name, run_pgmpy  # noqa: E402

PLAN = [("wall", 20, 2), ("house", 20, 2), ("big", 16, 2), ("small-dense", 12, 1)]
PGMPY = [("wall", 20, 1), ("house", 2, 1)]


def number(x):
    return repr(float(x))


def ln_evidence(gum, bn, net, evidence):
    """Chain rule: P(e1) P(e2 | e1) ..., each a posterior of one clue given those before."""
    total, so_far = 0.0, {}
    for j, like in sorted(evidence.items()):
        name = clue_name(net, j)
        engine = gum.LazyPropagation(bn)
        engine.setTargets({name})
        engine.setEvidence(so_far)
        engine.makeInference()
        p = engine.posterior(name).tolist()
        total += math.log(sum(a * b for a, b in zip(p, like)))
        so_far[name] = like.index(1.0) if sum(like) == 1.0 else like
    return total


def main():
    import pgmpy
    import pyagrum as gum

    print(f"# pyagrum {gum.__version__}, pgmpy {pgmpy.__version__}; made by values.py")
    for kind, seeds, cases in PLAN:
        for seed in range(seeds):
            net = make(kind, seed)
            bn, engine = agrum(net, False)
            for number_of in range(cases):
                evidence = case(net, number_of)
                n_clues = len(net["families"]) - net["responses"]
                spare = [j for j in range(n_clues) if j not in evidence][:3]
                names = [f"v{i}" for i in range(net["causes"])]
                engine.setTargets(set(names) | {clue_name(net, j) for j in spare})
                hard = {clue_name(net, j): (l.index(1.0) if sum(l) == 1.0 else l) for j, l in evidence.items()}
                engine.setEvidence(hard)
                engine.makeInference()
                p = [number(engine.posterior(n)[1]) for n in names]
                clues = [f"{j}:" + ",".join(number(x) for x in engine.posterior(clue_name(net, j)).tolist()) for j in spare]
                ln = number(ln_evidence(gum, bn, net, evidence)) if number_of == 0 else "-"
                print("pyagrum", kind, seed, number_of, ln, *p, *clues, flush=True)
    for kind, seeds, cases in PGMPY:
        for seed in range(seeds):
            net = make(kind, seed)
            _, _, answers = run_pgmpy(net, [case(net, i) for i in range(cases)])
            for i, p in enumerate(answers):
                print("pgmpy", kind, seed, i, "-", *(number(x) for x in p), flush=True)


if __name__ == "__main__":
    main()
