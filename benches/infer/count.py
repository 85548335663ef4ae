"""Counts the instructions of the main paths under callgrind and compares them with counts.json.

usage: count.py            compare; exit 1 if any path is more than 3 % over its count
       count.py --write    set the counts

The work of each path is counted against a run that only builds its networks and cases. Without valgrind it says so and
exits 0 (in CI: apt-get install valgrind). A count depends on the compiler, so counts.json names the one it was made with;
under another compiler the tolerance is 15 %."""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.join(HERE, "../..")
FILE = os.path.join(HERE, "counts.json")
PATHS = {
    "anew": "build", "replan": "build", "keep": "build", "leave-one-out": "build", "sequence": "build", "looks": "build", "sensitivities": "build",
    "explain": "build", "conflict": "build", "dense": None,
}
SAME, OTHER = 0.03, 0.15


def binary():
    cmd = ["cargo", "bench", "-q", "-p", "wythe-benches", "--bench", "infer_count", "--no-run", "--message-format=json"]
    out = subprocess.run(cmd, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    for line in out.splitlines():
        message = json.loads(line)
        if message.get("executable") and message["target"]["name"] == "infer_count":
            return message["executable"]
    raise SystemExit("no bench binary")


def instructions(program, path):
    with tempfile.TemporaryDirectory() as folder:
        cmd = ["valgrind", "--tool=callgrind", f"--callgrind-out-file={folder}/out", program, path]
        run = subprocess.run(cmd, capture_output=True, text=True, check=True)
    return int(re.search(r"Collected : (\d+)", run.stderr).group(1))


def main():
    if not shutil.which("valgrind"):
        print("skipped: valgrind is not installed (apt-get install valgrind)")
        return 0
    program = binary()
    rustc = subprocess.run(["rustc", "--version"], capture_output=True, text=True, check=True).stdout.strip()
    raw = {p: instructions(program, p) for p in ["build", *PATHS]}
    counts = {p: raw[p] - (raw[base] if base else 0) for p, base in PATHS.items()}
    if "--write" in sys.argv:
        json.dump(dict(rustc=rustc, counts=counts), open(FILE, "w"), indent=1)
        print(json.dumps(counts, indent=1))
        return 0
    kept = json.load(open(FILE))
    tolerance = SAME if kept["rustc"] == rustc else OTHER
    worst = 0
    for path, count in counts.items():
        change = count / kept["counts"][path] - 1
        worst = max(worst, change)
        print(f"{path:15} {count:>12} {change:+.2%} (at most +{tolerance:.0%})")
    return int(worst > tolerance)


if __name__ == "__main__":
    sys.exit(main())
