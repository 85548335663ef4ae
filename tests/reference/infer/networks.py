"""Published networks against pyagrum: every posterior of ten seeded cases each.

usage: networks.py > networks.txt     (pip install pyagrum==3.3.1 pgmpy==1.1.2; cargo must be able to build the example)

The networks (Asia, Alarm, Insurance, Hailfinder, ...) are read from the files the pgmpy package carries, at run time; they
are not kept here. Both engines get the tables pgmpy's reader gives, their rounded rows made to sum to 1. A case fixes about a fifth of the
variables to states sampled from the network. Printed: variables, cases, values compared, largest difference, and median
microseconds of a whole query (all posteriors) of either, ours timed inside the process, pyagrum's through Python."""
import gzip
import importlib.resources
import logging
import os
import random
import statistics
import subprocess
import time
import warnings

logging.disable(logging.CRITICAL)
warnings.filterwarnings("ignore")
NAMES = ["asia", "cancer", "earthquake", "survey", "sachs", "child", "insurance", "alarm", "water", "hailfinder", "hepar2",
         "win95pts", "andes"]
ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../..")


def bif(name):
    root = importlib.resources.files("pgmpy")
    for path in root.rglob(f"{name}.bif.gz"):
        return gzip.decompress(path.read_bytes()).decode()
    raise SystemExit(f"no {name}")


def main():
    import numpy
    import pgmpy
    import pyagrum as gum
    from pgmpy.readwrite import BIFReader

    gum.setNumberOfThreads(1)
    run = ["cargo", "run", "-q", "--release", "-p", "wythe-infer", "--example", "posteriors"]
    print(f"# pyagrum {gum.__version__}, networks from pgmpy {pgmpy.__version__}; made by networks.py")
    print("# name variables cases values largest_difference ours_us pyagrum_us")
    for name in NAMES:
        text = bif(name)
        model = BIFReader(string=text).get_model()
        import networkx

        order = list(networkx.topological_sort(model))
        place = {v: i for i, v in enumerate(order)}
        cpds = {v: model.get_cpds(v) for v in order}
        names = {v: cpds[v].state_names[v] for v in order}
        lines = []
        for v in order:
            c = cpds[v]
            parents = c.variables[1:]
            rows = c.get_values().T  # one row a configuration, the last parent fastest
            rows = rows / rows.sum(axis=1, keepdims=True)
            numbers = " ".join(repr(float(x)) for x in rows.ravel())
            lines.append(f"var {len(names[v])} {' '.join(str(place[p]) for p in parents)} : {numbers}")
        rng = random.Random(name)
        cases = []
        for _ in range(10):
            state = {}
            for v in order:
                c = cpds[v]
                at = tuple(state[p] for p in c.variables[1:])
                column = c.values[(slice(None), *at)]
                state[v] = rng.choices(range(len(names[v])), weights=list(column))[0]
            cases.append({v: state[v] for v in order if rng.random() < 0.2})
            lines.append("case " + " ".join(f"{place[v]}={s}" for v, s in cases[-1].items()))
        answer = subprocess.run(run, cwd=ROOT, input="\n".join(lines), capture_output=True, text=True, check=True).stdout
        # pyagrum's own reader of this format keeps single precision only, so it is given the same tables.
        bn = gum.BayesNet()
        for v in order:
            bn.add(gum.LabelizedVariable(v, "", len(names[v])))
        for v in order:
            for p in cpds[v].variables[1:]:
                bn.addArc(p, v)
        for v in order:
            table = cpds[v].values / cpds[v].values.sum(axis=0, keepdims=True)
            parents = cpds[v].variables[1:]
            for at in numpy.ndindex(*table.shape[1:]):
                row = [float(x) for x in table[(slice(None), *at)]]
                if parents:
                    bn.cpt(v)[{p: int(s) for p, s in zip(parents, at)}] = row
                else:
                    bn.cpt(v).fillWith(row)
        engine = gum.LazyPropagation(bn)
        worst, compared, ours, theirs = 0.0, 0, [], []
        for case, line in zip(cases, answer.strip().splitlines()):
            words = line.split()
            if words[0] == "none":
                raise SystemExit(f"{name}: {line}")
            ours.append(int(words[0]))
            values = [float(w) for w in words[2:]]
            t = time.perf_counter()
            engine.setEvidence(dict(case))
            engine.makeInference()
            found = {v: engine.posterior(v) for v in order}
            theirs.append((time.perf_counter() - t) * 1e6)
            at = 0
            for v in order:
                for expected in found[v].tolist():
                    worst = max(worst, abs(values[at] - expected))
                    at += 1
                    compared += 1
            assert at == len(values)
        print(name, len(order), len(cases), compared, f"{worst:.1e}", f"{statistics.median(ours):.0f}",
              f"{statistics.median(theirs):.0f}", flush=True)
        assert worst < 1e-9, name


if __name__ == "__main__":
    main()
