#!/usr/bin/env python3
"""Whole processes, measured from outside as a user starts them: time, peak memory, and how both
grow with the library. One table comes out, 100 columns wide. Nothing is asserted about times:
machines are shared and noisy. What is asserted is that equal questions got equal answers."""

import argparse
import json
import math
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BINARY = ROOT / "target/release/bellstack"
TOOL = ROOT / "target/release/examples/bench_tool"
SIZES = [30, 100, 300, 1000, 3000, 10_000]

RECOMMEND = ["recommend", "paper", "--top", "20", "--format", "json"]
CURE = ["--top", "20", "--format", "json"]

# What is asked, of which shop, and by which command line; `read` and `count` are the tool's.
QUESTIONS = [
    ("reading", "plain", ["read"]),
    ("exact counts alone", "plain", ["count", "paper"]),
    ("recommend", "plain", RECOMMEND),
    ("recommend, not counted", "plain", [*RECOMMEND, "--no-counts"]),
    ("recommend, 20 groups", "groups", RECOMMEND),
    ("recommend, adversarial prices", "adversarial", RECOMMEND),
    ("recommend, cheap is loose", "loose", RECOMMEND),
    ("recommend, no prices", "unpriced", RECOMMEND),
    ("recommend, no tolerances", "untoleranced", RECOMMEND),
    ("recommend, mixed units", "mixed", RECOMMEND),
    ("recommend, every check known", "checked", RECOMMEND),
    ("recommend by room", "plain", [*RECOMMEND, "--order", "room"]),
    ("recommend by price", "plain", [*RECOMMEND, "--order", "price"]),
    ("cure, single changes", "plain", ["cure", "tight", *CURE]),
    ("cure, pairs", "plain", ["cure", "far", *CURE]),
    ("cure, pairs, mixed units", "mixed", ["cure", "far", *CURE]),
]
DAY = [
    ("cure --all, table", ["cure", "--all"]),
    ("cure --all, json", ["cure", "--all", "--format", "json"]),
]


class Slow(Exception):
    """A run that was stopped at the limit."""


def run(argv, limit):
    """One run: its seconds. Status 1 is a true answer that holds nothing."""
    start = time.perf_counter()
    try:
        done = subprocess.run(
            argv, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, timeout=limit, check=False
        )
    except subprocess.TimeoutExpired:
        raise Slow from None
    seconds = time.perf_counter() - start
    if done.returncode not in (0, 1):
        sys.exit(f"{argv}: status {done.returncode}: {done.stderr.decode()}")
    return seconds


def look(argv, limit):
    """One run beside the timed ones: its peak memory in KiB (None where nothing tells it), and
    what it printed."""
    clock = shutil.which("time")
    with tempfile.NamedTemporaryFile("r") as told:
        around = [clock, "-q", "-f", "%M", "-o", told.name] if clock else []
        try:
            done = subprocess.run(
                [*around, *argv], capture_output=True, timeout=limit, check=False
            )
        except subprocess.TimeoutExpired:
            raise Slow from None
        return (int(told.read()) if clock else None), done.stdout


def measure(argv, args):
    """Best and median seconds, how many runs, peak memory, and the answer."""
    times = [run(argv, args.limit)]
    while len(times) < args.runs and sum(times) + times[0] < args.seconds:
        times.append(run(argv, args.limit))
    peak, out = look(argv, args.limit)
    return min(times), statistics.median(times), len(times), peak, out


def command(words, file):
    if words[0] in ("read", "count"):
        return [TOOL, words[0], file, *words[1:]]
    return [BINARY, "--catalog", file, *words]


class Shops:
    """Makes each shop once."""

    def __init__(self, folder):
        self.folder = folder
        self.reading = {}

    def make(self, *words):
        file = self.folder / ("-".join(str(word).strip("-") for word in words) + ".db")
        if not file.exists():
            subprocess.run(
                [TOOL, "make", file, *map(str, words)], stdout=subprocess.DEVNULL, check=True
            )
        return file

    def seconds_to_read(self, file, args):
        """Best of several, as all ratios are of best times."""
        if file not in self.reading:
            self.reading[file] = measure([TOOL, "read", file], args)[0]
        return self.reading[file]


ROW = "{:31} {:>6} {:>9} {:>9} {:>4} {:>7} {:>9} {:>6}"
HEAD = ROW.format("question", "parts", "best", "median", "runs", "peak", "times", "growth")
UNITS = ROW.format("", "n", "s", "s", "", "MiB", "reading", "n^")


def line(question, n, got, reading, before):
    best, median, runs, peak, _ = got
    memory = f"{peak / 1024:.1f}" if peak else "?"
    growth = f"{math.log(best / before[1]) / math.log(n / before[0]):.2f}" if before else ""
    ratio = f"{best / reading:.1f}"
    return ROW.format(question, n, f"{best:.4f}", f"{median:.4f}", runs, memory, ratio, growth)


def beyond(args):
    return f"> {args.limit:g}".rjust(9)


def told(words, out):
    """What an answer says of itself, for the second table and to compare."""
    if words[0] == "read":
        return None
    if words[0] == "count":
        considered, in_window = out.split()
        return considered.decode(), in_window.decode().replace("-", ""), ""
    answer = json.loads(out)
    stacks = answer["stacks"]
    best = f"{stacks[0]['grade']} {stacks[0]['to_buy']['amount']}" if stacks else "none"
    return answer["considered"] or "", answer["in_window"] or "", best


def ask(question, variant, words, shops, args, answers):
    before = None
    for n in args.sizes:
        file = shops.make(n, variant)
        try:
            got = measure(command(words, file), args)
        except Slow:
            print(f"{question:31} {n:6} {beyond(args)}   larger shops were not tried", flush=True)
            return
        reading = shops.seconds_to_read(file, args)
        print(line(question, n, got, reading, before), flush=True)
        before = (n, got[0])
        if answer := told(words, got[4]):
            answers.append((question, n, *answer))


def day(question, words, shops, args):
    """A desk's day: every job of a catalog in one run."""
    for cars in args.cars:
        file = shops.make(args.day, "plain", "--even", "--cars", cars)
        name = f"{question}, {cars} jobs"
        try:
            got = measure(command(words, file), args)
        except Slow:
            print(f"{name:31} {args.day:6} {beyond(args)}", flush=True)
            continue
        print(line(name, args.day, got, shops.seconds_to_read(file, args), None))
        print(f"{'':31} {'':6} {cars / got[0]:9.1f} jobs a second", flush=True)


def compare(answers):
    """Counted alone or with the search, the counts are the same."""
    alone = {n: counts for question, n, *counts, _ in answers if question == "exact counts alone"}
    for question, n, *counts, _ in answers:
        if question == "recommend" and alone.get(n, counts) != counts:
            sys.exit(f"the counts differ at {n} parts: {alone[n]} and {counts}")


def arguments():
    def numbers(text):
        return [int(number) for number in text.split(",")]

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=numbers, default=SIZES, help="such as 30,100,300")
    parser.add_argument("--only", default="", help="questions whose name holds this word")
    parser.add_argument("--limit", type=float, default=120, help="seconds until a run is stopped")
    parser.add_argument("--runs", type=int, default=15, help="timed runs at most")
    parser.add_argument("--seconds", type=float, default=10, help="seconds for all runs of a line")
    parser.add_argument("--day", type=int, default=300, help="parts a kind for `cure --all`")
    parser.add_argument("--cars", type=numbers, default=[50, 1000], help="jobs for `cure --all`")
    parser.add_argument("--dir", type=Path, help="keep the shops here and use them again")
    return parser.parse_args()


def main():
    args = arguments()
    build = ["cargo", "build", "--quiet", "--release", "--bins", "--examples"]
    subprocess.run(build, cwd=ROOT, check=True)
    with tempfile.TemporaryDirectory() as folder:
        if args.dir:
            args.dir.mkdir(parents=True, exist_ok=True)
        shops = Shops(args.dir or Path(folder))
        print(HEAD, UNITS, "-" * len(HEAD), sep="\n")
        answers = []
        for question, variant, words in QUESTIONS:
            if args.only in question:
                ask(question, variant, words, shops, args, answers)
        for question, words in DAY:
            if args.only in question:
                day(question, words, shops, args)
        print(f"\n{'answer':31} {'n':>6} {'considered':>22} {'in the window':>22}  first of 20")
        for question, n, considered, in_window, best in answers:
            print(f"{question:31} {n:6} {considered:>22} {in_window:>22}  {best}")
        compare(answers)


if __name__ == "__main__":
    main()
