"""Times a general-purpose engine on seeded cases: every cause's posterior, fresh evidence at each query.

usage: peers.py ENGINE KIND SEED CASES
ENGINE: lazy or shafer (pyagrum), pgmpy. One process, one thread, engine built and warmed before, targets told.
Times are processor time of the thread, so that a busy machine does not count against the engine.
Prints one JSON line: medians in microseconds of the whole query as its users call it, and of the inference call alone."""
import json
import os
import statistics
import sys
import time

sys.path.insert(0, os.path.join(os.path.dirname(__file__), "../../tests/reference/infer"))
from kinds import KINDS, case, cpt, make  # noqa: E402


def agrum(net, shafer):
    import pyagrum as gum

    gum.setNumberOfThreads(1)
    bn = gum.BayesNet()
    n = net["causes"]
    for i, p in enumerate(net["priors"]):
        bn.add(gum.LabelizedVariable(f"v{i}", "", 2))
        bn.cpt(f"v{i}").fillWith([(10000 - p) / 10000.0, p / 10000.0])
    for j, f in enumerate(net["families"]):
        name = f"v{n + j}"
        bn.add(gum.LabelizedVariable(name, "", len(f["leak"])))
        for p in f["parents"]:
            bn.addArc(f"v{p}", name)
        bn.cpt(name).fillWith([x for r in cpt(f) for x in r])
    engine = (gum.ShaferShenoyInference if shafer else gum.LazyPropagation)(bn)
    return bn, engine


def clue_name(net, j):
    return f"v{net['causes'] + net['responses'] + j}"


def run_agrum(net, cases, shafer):
    bn, engine = agrum(net, shafer)
    targets = [f"v{i}" for i in range(net["causes"])]
    ids = [bn.idFromName(t) for t in targets]
    engine.setTargets(set(targets))
    whole, bare, answers = [], [], []
    for evidence in cases[:3] + cases:
        hard = {clue_name(net, j): (l.index(1.0) if sum(l) == 1.0 else l) for j, l in evidence.items()}
        t0 = time.thread_time()
        engine.setEvidence(hard)
        t1 = time.thread_time()
        engine.makeInference()
        t2 = time.thread_time()
        answers.append([engine.posterior(i)[1] for i in ids])
        t3 = time.thread_time()
        whole.append(t3 - t0)
        bare.append(t2 - t1)
    return whole[3:], bare[3:], answers[3:]


def run_pgmpy(net, cases):
    import logging
    import warnings

    logging.disable(logging.CRITICAL)
    warnings.filterwarnings("ignore")
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

    bn, n, cpds = DiscreteBayesianNetwork(), net["causes"], []
    for i, p in enumerate(net["priors"]):
        bn.add_node(f"v{i}")
        cpds.append(TabularCPD(f"v{i}", 2, [[(10000 - p) / 10000.0], [p / 10000.0]]))
    for j, f in enumerate(net["families"]):
        name, k = f"v{n + j}", len(f["parents"])
        bn.add_node(name)
        for p in f["parents"]:
            bn.add_edge(f"v{p}", name)
        t = cpt(f)
        # Its last evidence variable is fastest.
        cols = [t[int(format(m, f"0{k}b")[::-1], 2)] for m in range(1 << k)]
        values = [[c[g] for c in cols] for g in range(len(f["leak"]))]
        parents = [f"v{p}" for p in f["parents"]]
        cpds.append(TabularCPD(name, len(f["leak"]), values, evidence=parents, evidence_card=[2] * k))
    bn.add_cpds(*cpds)
    engine = VariableElimination(bn)
    whole, answers = [], []
    for evidence in cases:
        hard = {clue_name(net, j): l.index(1.0) for j, l in evidence.items() if sum(l) == 1.0}
        soft = [TabularCPD(clue_name(net, j), len(l), [[x] for x in l]) for j, l in evidence.items() if sum(l) != 1.0]
        t0 = time.thread_time()
        out = []
        for i in range(n):
            q = engine.query([f"v{i}"], evidence=hard, virtual_evidence=soft or None, show_progress=False)
            out.append(float(q.values[1]))
        whole.append(time.thread_time() - t0)
        answers.append(out)
    return whole, whole, answers


def main():
    engine, kind, seed, n = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    net = make(kind, seed)
    cases = [case(net, i) for i in range(n)]
    try:
        whole, bare, _ = run_pgmpy(net, cases) if engine == "pgmpy" else run_agrum(net, cases, engine == "shafer")
        result = dict(whole_us=statistics.median(whole) * 1e6, bare_us=statistics.median(bare) * 1e6)
    except Exception as e:  # an engine that cannot do it is a result too
        result = dict(failed=f"{type(e).__name__}: {e}"[:120])
    print(json.dumps(dict(engine=engine, kind=kind, seed=seed, cases=n, **result)), flush=True)


if __name__ == "__main__":
    main()
