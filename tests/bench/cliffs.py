#!/usr/bin/env python3
"""Whole processes on shops as real ones are, against reading the same catalog: of many seeds the worst.
One line a question and size: the median and the worst ratio, the seed and job of the worst, its seconds
and the largest memory. Nothing is asserted about times."""

import argparse
import os
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BINARY = ROOT / "target/release/bellstack"
TOOL = ROOT / "target/release/examples/bench_tool"

# Each question with its flags, and the goal: so many times reading, by size.
GOALS = {40: 5, 100: 5, 300: 10, 1000: 20}
CURE = {40: 3, 100: 3, 300: 3, 1000: 3}
QUESTIONS = [
    ("recommend", ["recommend", "JOB"], GOALS),
    ("not counted", ["recommend", "JOB", "--no-counts"], GOALS),
    ("by room", ["recommend", "JOB", "--order", "room"], GOALS),
    ("by price", ["recommend", "JOB", "--order", "price"], GOALS),
    ("by changes", ["recommend", "JOB", "--order", "changes"], GOALS),
    ("by chance", ["recommend", "JOB", "--order", "chance"], GOALS),
    ("on hand", ["recommend", "JOB", "--on-hand"], GOALS),
    ("budget", ["recommend", "JOB", "--budget", "600"], GOALS),
    ("at least likely", ["recommend", "JOB", "--at-least", "likely"], GOALS),
    ("failed shown", ["recommend", "JOB", "--show-failed"], GOALS),
    ("bell opened", ["recommend", "JOB", "--open", "bell_housing"], GOALS),
    ("top 200", ["recommend", "JOB", "--top", "200"], GOALS),
    ("cure", ["cure", "JOB"], CURE),
]


def run(argv, limit, clock):
    """One run: seconds, peak MiB; none where it was stopped at the limit."""
    start = time.perf_counter()
    child = subprocess.Popen(argv, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    stopped = False

    def stop(*_):
        nonlocal stopped
        stopped = True
        child.kill()

    signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, limit)
    told = child.stderr.read().decode()
    _, status, usage = os.wait4(child.pid, 0)
    signal.setitimer(signal.ITIMER_REAL, 0)
    seconds = time.perf_counter() - start
    if clock == "cpu":
        seconds = usage.ru_utime + usage.ru_stime
    child.returncode = os.waitstatus_to_exitcode(status)
    if stopped:
        return None, usage.ru_maxrss / 1024
    if child.returncode not in (0, 1):
        return told.strip().splitlines()[0][:60], usage.ru_maxrss / 1024
    return seconds, usage.ru_maxrss / 1024


def best(argv, args):
    """The best of several runs; where one takes long a second would tell nothing."""
    seconds, peak = run(argv, args.limit, args.clock)
    for _ in range(args.runs - 1):
        if not isinstance(seconds, float) or seconds > 0.5:
            break
        again, more = run(argv, args.limit, args.clock)
        seconds, peak = min(seconds, again), max(peak, more)
    return seconds, peak


class Line:
    """What came of one question at one size."""

    def __init__(self):
        self.ratios, self.peak, self.stopped, self.refused = [], 0.0, [], []

    def add(self, where, seconds, peak, reading):
        self.peak = max(self.peak, peak)
        if seconds is None:
            self.stopped.append(where)
        elif isinstance(seconds, str):
            self.refused.append((where, seconds))
        else:
            self.ratios.append((seconds / reading, where, seconds))

    def show(self, name, n, goal):
        ratios = sorted(self.ratios)
        worst = ratios[-1] if ratios else (0.0, "-", 0.0)
        middle = statistics.median(ratio for ratio, _, _ in ratios) if ratios else 0.0
        missed = sum(ratio > goal for ratio, _, _ in ratios) + len(self.stopped)
        stopped = f"{len(self.stopped)} stopped" if self.stopped else ""
        refused = f"{len(self.refused)} refused" if self.refused else ""
        asked = len(ratios) + len(self.stopped)
        print(
            f"{name:16} {n:5} {middle:7.1f} {worst[0]:7.1f} {goal:5} {missed:4} of {asked:3}"
            f" {worst[2]:8.3f} {self.peak:6.0f}  {worst[1]} {stopped} {refused}".rstrip(),
            flush=True,
        )
        for where, message in self.refused[:3]:
            print(f"    {where}: {message}")


def numbers(text):
    return [int(number) for number in text.split(",")]


def arguments():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=numbers, default=[40, 100, 300, 1000])
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--first", type=int, default=1, help="the first seed")
    parser.add_argument("--jobs", type=int, default=4, help="of each shop; the first is on paper")
    parser.add_argument("--only", default="", help="questions whose name holds this word")
    parser.add_argument("--limit", type=float, default=60, help="seconds until a run is stopped")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--clock", choices=["wall", "cpu"], default="wall", help="cpu where others work too")
    parser.add_argument("--wide", action="store_true", help="shares drawn far and wide")
    parser.add_argument("--off-grid", action="store_true", help="sizes with no common grid")
    parser.add_argument("--binary", type=Path, default=BINARY, help="a program that is there already")
    parser.add_argument("--keep-going", action="store_true", help="ask on after a stop")
    parser.add_argument("--dir", type=Path, help="keep the shops here and use them again")
    return parser.parse_args()


def shop(folder, n, seed, args):
    flags = (["--wide"] if args.wide else []) + (["--off-grid"] if args.off_grid else [])
    file = folder / ("-".join(["real", str(n), str(seed), *flags]) + ".db")
    if not file.exists():
        make = [TOOL, "real", file, str(n), "--seed", str(seed), "--jobs", "10", *flags]
        subprocess.run(make, stdout=subprocess.DEVNULL, check=True)
    return file


def main():
    args = arguments()
    if args.binary == BINARY:
        build = ["cargo", "build", "--quiet", "--release", "--bins", "--examples"]
        subprocess.run(build, cwd=ROOT, check=True)
    with tempfile.TemporaryDirectory() as folder:
        folder = args.dir or Path(folder)
        folder.mkdir(parents=True, exist_ok=True)
        head = "question             n  median   worst  goal   missed        s    MiB  where"
        print(head, "-" * 90, sep="\n")
        for n in args.sizes:
            lines = {name: Line() for name, _, _ in QUESTIONS if args.only in name}
            for seed in range(args.first, args.first + args.seeds):
                file = shop(folder, n, seed, args)
                reading = best([TOOL, "read", file], argparse.Namespace(runs=9, limit=60, clock=args.clock))[0]
                for name, words, _ in QUESTIONS:
                    if name not in lines or (lines[name].stopped and not args.keep_going):
                        continue
                    # Of a shop's ten jobs those asked about differ from seed to seed.
                    jobs = [0] + [1 + (seed + j * 3) % 9 for j in range(args.jobs - 1)]
                    for job in jobs:
                        if words[0] == "cure" and job == 0:
                            continue
                        asked = [word.replace("JOB", f"job{job:04}") for word in words]
                        seconds, peak = best([args.binary, "--catalog", file, *asked], args)
                        lines[name].add(f"{seed}/job{job:04}", seconds, peak, reading)
                        if seconds is None and not args.keep_going:
                            break
            for name, _, goals in QUESTIONS:
                if name in lines:
                    lines[name].show(name, n, goals.get(n, 20))


if __name__ == "__main__":
    sys.exit(main())
