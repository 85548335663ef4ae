"""Times the inference core and general-purpose engines side by side, interleaved, and prints a table of ratios.

usage: compare.py [ROUNDS [OUT.json]]     (pip install pyagrum==3.3.1 pgmpy==1.1.2; cargo bench must be able to build)

Each round runs, for each kind, first our bench and then each peer, one process at a time and one thread each, on the same
networks and cases. Engines are built and warmed before, told their targets (every cause), and given fresh evidence at
every query. Peers are timed in processor time, ours by the clock: on a busy machine that favours the peers. A figure is the median over the round's cases of single shots; the table shows the median over the rounds."""
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


def main():
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    found = []
    for r in range(rounds):
        for kind, cases in CASES.items():
            found.append(ours(kind, r))
            for engine in ("lazy", "shafer"):
                found.append(peer(engine, kind, r, cases))
            print(*(json.dumps(x) for x in found[-3:]), sep="\n", file=sys.stderr, flush=True)
    for kind in ("dense", "dense-soft"):
        found.append(ours(kind, 0))
        for engine in ("lazy", "shafer"):
            found.append(peer(engine, kind, 0, 1))
        print(*(json.dumps(x) for x in found[-3:]), sep="\n", file=sys.stderr, flush=True)
    found.append(peer("pgmpy", "wall", 0, 5))
    found.append(peer("pgmpy", "house", 0, 1))
    if len(sys.argv) > 2:
        json.dump(found, open(sys.argv[2], "w"), indent=1)
    middle = lambda engine, kind, key: statistics.median(
        [x[key] for x in found if x["engine"] == engine and x["kind"] == kind and key in x] or [float("nan")])
    print("| kind | one-shot µs | warm, planned anew µs | plan kept µs | best peer µs | its inference call µs | ratio | ratio to the call | ratio, plan kept |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
    for kind in CASES:
        whole = min(middle(e, kind, "whole_us") for e in ("lazy", "shafer"))
        bare = min(middle(e, kind, "bare_us") for e in ("lazy", "shafer"))
        one, warm, kept = (middle("wythe", kind, k) for k in ("whole_us", "replanned_us", "kept_us"))
        print(f"| {kind} | {one:.1f} | {warm:.1f} | {kept:.1f} | {whole:.0f} | {bare:.0f} | {whole / warm:.0f} | {bare / warm:.0f} | {whole / kept:.0f} |")
    for x in found:
        if "failed" in x or x["engine"] == "pgmpy" or x["kind"].startswith("dense"):
            print(json.dumps(x))


if __name__ == "__main__":
    main()
