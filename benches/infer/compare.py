"""Times the inference core and general-purpose engines side by side, interleaved, and writes the tables of README-infer.md.

usage: compare.py [ROUNDS] [--write]     (pip install pyagrum==3.3.1 pgmpy==1.1.2; cargo bench must be able to build)

Each round (3 unless said, one seed each) runs, for each kind, first our bench and then each peer, one process at a time and
one thread each, on the same networks and cases. Engines are built and warmed before, told their targets (every cause), and
given fresh evidence at every query. Peers are timed in processor time, ours by the clock: on a busy machine that favours the
peers. A figure is the median over the round's cases of single shots; the tables show the median over the rounds. At the end
the batch: 100,000 house cases on one thread and on two, in turn. Prints the tables; with --write puts them into
README-infer.md, between the marks that name them."""
import json
import os
import resource
import statistics
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.join(HERE, "../..")
CASES = {"wall": 40, "house": 30, "plain-house": 30, "big": 20, "small-dense": 10}
MEMORY = 16_000_000_000  # bytes of address space for a peer


def ours(kind, seed):
    cmd = ["cargo", "bench", "-q", "-p", "wythe-benches", "--bench", "infer_time", "--", kind, str(seed), "100"]
    out = subprocess.run(cmd, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return json.loads(out.strip().splitlines()[-1])


def peer(engine, kind, seed, cases, seconds=300):
    def limit():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))

    cmd = [sys.executable, os.path.join(HERE, "peers.py"), engine, kind, str(seed), str(cases)]
    env = dict(os.environ, OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1")
    try:
        run = subprocess.run(cmd, capture_output=True, text=True, preexec_fn=limit, timeout=seconds, env=env)
    except subprocess.TimeoutExpired:
        return dict(engine=engine, kind=kind, failed=f"no answer in {seconds} s")
    if not run.stdout.strip():
        return dict(engine=engine, kind=kind, failed=(run.stderr.strip().splitlines() or ["died"])[-1][:120])
    return json.loads(run.stdout.strip().splitlines()[-1])


ENGINES = {"lazy": "pyagrum, lazy propagation", "shafer": "pyagrum, Shafer-Shenoy"}
ANSWERS = ["leave_one_out", "sequence", "looks", "sensitivities", "explanation", "conflict", "everything"]


def number(x):
    return "–" if x != x else f"{x:,.1f}" if x < 100 else f"{x:,.0f}"


def table(head, rows):
    lines = ["| " + " | ".join(head) + " |", "| --- |" + " ---: |" * (len(head) - 1)]
    return "\n".join(lines + ["| " + " | ".join(row) + " |" for row in rows])


def tables(found, rounds, batch):
    def middle(engine, kind, key):
        values = [x[key] for x in found if x["engine"] == engine and x["kind"] == kind and key in x]
        return statistics.median(values or [float("nan")])

    side = []
    for kind in [*CASES, "dense", "dense-soft"]:
        one, warm, kept = (middle("wythe", kind, k) for k in ("whole_us", "replanned_us", "kept_us"))
        peers = [(middle(e, kind, "whole_us"), middle(e, kind, "bare_us"), e) for e in ENGINES]
        peers = [p for p in peers if p[0] == p[0]]
        row = [kind, *map(number, (one, warm, kept))]
        if not peers:
            side.append(row + ["none in 16 GB"] + [""] * 5)
            continue
        whole, best = min((w, e) for w, _, e in peers)
        bare = min(b for _, b, _ in peers)
        ratios = (whole / one, whole / warm, bare / warm, whole / kept)
        side.append(row + [number(whole) + ("" if best == "shafer" else " (lazy)"), number(bare)] + [f"{r:.0f}" for r in ratios])
    answers = [[kind, *(number(middle("wythe", kind, a + "_us")) for a in ANSWERS)] for kind in CASES if kind != "small-dense"]
    floor = []
    for kind in [k for k in CASES if k != "small-dense"]:
        entries, operations, moved = (middle("wythe", kind, k) for k in ("entries", "operations", "bytes"))
        kept = middle("wythe", kind, "kept_us")
        floor.append([kind, f"{entries:,.0f}", f"{operations:,.0f}", f"{moved / 1000:,.0f} k", number(operations / 3000), number(kept)])
    other = [f"{x['engine']} on *{x['kind']}*: " + (f"{x['whole_us'] / 1000:,.0f} ms" if "whole_us" in x else x["failed"])
             for x in found if x["engine"] == "pgmpy"]
    worst = max(x["worst_us"] for x in found if x["engine"] == "wythe" and x["kind"] == "dense-soft")
    return {
        "side by side": f"Medians over {rounds} rounds, one seed each; µs.\n\n" + table(
            ["kind", "one shot", "warm, planned anew", "plan kept", "best other, whole", "its call",
             "whole / one shot", "whole / warm", "call / warm", "whole / plan kept"], side)
        + f"\n\nWorst of the *dense-soft* cases, planned anew: {worst / 1000:,.1f} ms. " + "; ".join(other) + ".",
        "all answers": f"µs; medians over 40 cases a seed and the same {rounds} rounds.\n\n" + table(
            ["kind", *(a.replace("_", " ") for a in ANSWERS)], answers),
        "floor": table(["kind", "entries", "operations, up and down", "bytes moved", "floor µs", "plan kept µs"], floor),
        "batch": "{batch:,} house cases, a new plan each: {one_core_s:.2f} s on one thread, {cases_a_second:,.0f} cases a second "
                 "and core; {two_cores_s:.2f} s on two threads, {scaling:.2f} times as fast (best of three each, taken in turn).".format(**batch),
    }


def write(blocks):
    path = os.path.join(ROOT, "benches/README-infer.md")
    text = open(path).read()
    for name, block in blocks.items():
        start, end = f"<!-- {name} -->\n", f"<!-- end of {name} -->"
        before, rest = text.split(start)
        text = before + start + block + "\n" + end + rest.split(end, 1)[1]
    open(path, "w").write(text)


def main():
    args = [a for a in sys.argv[1:] if a != "--write"]
    rounds = int(args[0]) if args else 3
    found = []

    def run(kind, seed, cases):
        found.append(ours(kind, seed))
        found.extend(peer(engine, kind, seed, cases) for engine in ENGINES)
        print(*(json.dumps(x) for x in found[-3:]), sep="\n", file=sys.stderr, flush=True)

    for r in range(rounds):
        for kind, cases in CASES.items():
            run(kind, r, cases)
    for kind in ("dense", "dense-soft"):
        run(kind, 0, 1)
    found.append(peer("pgmpy", "wall", 0, 5))
    found.append(peer("pgmpy", "house", 0, 1))
    blocks = tables(found, rounds, ours("batch", 0))
    for name, block in blocks.items():
        print(f"## {name}\n\n{block}\n")
    if "--write" in sys.argv:
        write(blocks)


if __name__ == "__main__":
    main()
