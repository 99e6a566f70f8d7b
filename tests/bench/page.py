#!/usr/bin/env python3
"""The bench page, measured from outside as a browser asks it: a what-if beside reading the catalog,
what pages weigh, memory over many requests, many at once. Nothing is asserted about times. What is
asserted is that every request is answered and that nothing that was stored is lost."""

import argparse
import html
import http.client
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse
from pathlib import Path

from whole import BINARY, ROOT, TOOL, Shops, run

JOB = "tight"
# Every page, as somebody comes to it; what stands in braces is taken from the shop.
PAGES = [
    ("Today", "/"),
    ("A car", "/car?job={job}"),
    ("A car, another flywheel tried", "/car?job={job}&flywheel={flywheel}"),
    ("the same, as a piece", "/car?job={job}&flywheel={flywheel}&piece=1"),
    ("A car: smallest changes", "/car/cures?job={job}"),
    ("A build on paper, ranked", "/car/cures?job=paper"),
    ("A car: keep what is tried", "/car/keep?job={job}&flywheel={flywheel}"),
    ("A car: everything in one form", "/car/edit?job={job}"),
    ("A car: sheet", "/car/sheet?job={job}"),
    ("A car: blank sheet", "/car/sheet?job={job}&blank=1"),
    ("A new car", "/new"),
    ("A new car: a question", "/car/enter?job={job}&step=finger_depth"),
    ("Parts", "/parts"),
    ("Parts of a kind", "/parts?kind=flywheel"),
    ("A part", "/part?id={flywheel}"),
    ("A part: everything in one form", "/part/edit?id={flywheel}"),
    ("Measure", "/measure"),
    ("Measure a part", "/measure?part={flywheel}"),
    ("Look through", "/look"),
    ("On record", "/record"),
    ("Devices", "/devices"),
]
ROW = "{:34} {:>9} {:>9} {:>5} {:>9} {:>9}"


class Page:
    """The server as a process, and one device that was let in."""

    def __init__(self, file):
        argv = [BINARY, "--catalog", file, "serve", "--port", "0"]
        self.process = subprocess.Popen(argv, stdout=subprocess.PIPE, text=True)
        for line in self.process.stdout:
            if address := re.search(r"http://([\d.]+:\d+)/in/(\S+)", line):
                break
        else:
            sys.exit("the server tells no address")
        self.at, self.cookie = address[1], ""
        status, head, _ = self.ask("/in", {"code": address[2]})
        assert status == 303, status
        self.cookie = head["set-cookie"].split(";")[0]
        self.token = field(self.get("/"), "token")
        threading.Thread(target=self.process.stdout.read, daemon=True).start()

    def ask(self, path, form=None, link=None):
        """One request, over a connection of its own unless one is given."""
        link = link or http.client.HTTPConnection(self.at, timeout=60)
        head = {"Cookie": self.cookie}
        body = None
        if form is not None:
            body = urllib.parse.urlencode(form)
            head |= {
                "Origin": f"http://{self.at}",
                "Content-Type": "application/x-www-form-urlencoded",
            }
        link.request("POST" if body is not None else "GET", path, body, head)
        answer = link.getresponse()
        return answer.status, answer.headers, answer.read()

    def get(self, path, link=None):
        status, _, body = self.ask(path, link=link)
        assert status == 200, (path, status, body[-2000:])
        return body

    def send(self, path, **form):
        return self.ask(path, {"token": self.token, "by": "bench", **form})

    def resident(self):
        """Resident memory in MiB."""
        told = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", told)[1]) / 1024

    def stop(self):
        begun = time.perf_counter()
        self.process.send_signal(signal.SIGTERM)
        self.process.wait(timeout=20)
        return time.perf_counter() - begun


def field(body, name):
    return html.unescape(re.search(f'name="{name}" value="([^"]*)"', body.decode())[1])


def say(*cells):
    print(ROW.format(*cells), flush=True)


def seconds(what, runs):
    times = []
    for _ in range(runs):
        begun = time.perf_counter()
        what()
        times.append(time.perf_counter() - begun)
    return times


def reading(file, runs):
    """Best seconds of a whole process that reads the catalog, and of the reading within it."""
    told = subprocess.run([TOOL, "read", file, "--times", str(runs)], stdout=subprocess.PIPE, check=True)
    within = float(re.search(rb"best ([\d.]+) s", told.stdout)[1])
    return min(run([TOOL, "read", file], 60) for _ in range(runs)), within


def times(page, file, flywheels, args):
    process, within = reading(file, args.runs)
    say("reading the catalog", "best", "median", "runs", "times", "times")
    say("", "s", "s", "", "process", "within")
    print("-" * 80)
    say("a process that reads it", f"{process:.4f}", "", args.runs, "1.0", f"{process / within:.1f}")
    say("the reading within it", f"{within:.4f}", "", args.runs, f"{within / process:.1f}", "1.0")
    link = http.client.HTTPConnection(page.at, timeout=60)

    def line(name, paths):
        paths = iter(paths)
        got = seconds(lambda: page.get(next(paths), link), args.runs)
        best, median = min(got), statistics.median(got)
        say(name, f"{best:.4f}", f"{median:.4f}", args.runs, f"{best / process:.1f}", f"{best / within:.1f}")

    def tried(slot, ids, piece):
        return [f"/car?job={JOB}&{slot}={id}{piece}" for id in ids[: args.runs]]

    for slot, ids in flywheels.items():
        line(f"what-if: another {slot.replace('_', ' ')}", tried(slot, ids, "&piece=1"))
    line("the same with the whole page", tried("flywheel", flywheels["flywheel"], ""))
    line("the car as it is", [f"/car?job={JOB}"] * args.runs)
    line("its smallest changes", [f"/car/cures?job={JOB}&piece=1"] * args.runs)
    line("Today", ["/"] * args.runs)
    print()


def weights(page, flywheel, cars):
    shell = page.get("/").decode()
    files = [len(page.get(path)) for path in re.findall(r'"(/fixed/[^"]+)"', shell)]
    print(f"{'page':34} {'KB':>9} {'and once':>9}   style, script and sign are kept by the browser")
    print("-" * 80)
    for name, path in PAGES:
        weight = len(page.get(path.format(job=JOB, flywheel=flywheel)))
        print(f"{name:34} {weight / 1000:9.1f} {(weight + sum(files)) / 1000:9.1f}")
    weight = len(cars.get("/"))
    print(f"{'Today with 300 cars':34} {weight / 1000:9.1f} {(weight + sum(files)) / 1000:9.1f}\n")


def memory(page, flywheels, args):
    """Resident memory while the pages are asked for again and again, a device on one connection."""
    paths = [path for name, path in PAGES if "smallest" not in name and "ranked" not in name]
    link = http.client.HTTPConnection(page.at, timeout=60)
    every = max(args.requests // 10, 1)
    print(f"{'requests':>9} {'resident MiB':>13}")
    print("-" * 80)
    ids = flywheels["flywheel"]
    for count in range(1, args.requests + 1):
        path = paths[count % len(paths)].format(job=JOB, flywheel=ids[count % len(ids)])
        page.get(path, link)
        if count in (1, 100) or count % every == 0:
            print(f"{count:9} {page.resident():13.1f}", flush=True)
    print()


def crowd(page, ids, args):
    """Fifty who read and two who write at once: everything stored is there and on record."""
    stop, read, failed = threading.Event(), [], []
    paths = ["/", f"/car?job={JOB}", "/parts?kind=disc", "/record"]

    def reads(at):
        mine = 0
        try:
            while not stop.is_set():
                page.get(paths[(at + mine) % len(paths)])
                mine += 1
        except Exception as error:  # noqa: BLE001: whatever it is, it is a loss
            failed.append(error)
        read.append(mine)

    def writes(part):
        try:
            for count in range(1, args.writes + 1):
                form = page.get(f"/part/edit?id={part}")
                was, seen = field(form, "was.on_hand"), field(form, "seen")
                told = {"id": part, "seen": seen, "was.on_hand": was, "on_hand": 1000 + count}
                status, _, body = page.send("/part/edit", **told)
                assert status == 303, (part, count, status, body[-2000:])
        except Exception as error:  # noqa: BLE001
            failed.append(error)

    readers = [threading.Thread(target=reads, args=(at,)) for at in range(50)]
    writers = [threading.Thread(target=writes, args=(part,)) for part in ids[:2]]
    begun = time.perf_counter()
    for thread in readers + writers:
        thread.start()
    for thread in writers:
        thread.join()
    stop.set()
    for thread in readers:
        thread.join()
    took = time.perf_counter() - begun
    if failed:
        sys.exit(f"{len(failed)} failed: {failed[0]}")
    return took, sum(read)


def stored(file, part, writes):
    """How many changes are on record, each of them once."""
    told = subprocess.run(
        [BINARY, "--catalog", file, "history", "--part", part, "--limit", "100000", "--width", "400"],
        stdout=subprocess.PIPE, text=True, check=True,
    )
    found = sorted(int(to) for to in re.findall(r"on_hand: \S+ -> (\d+)", told.stdout))
    if found != list(range(1001, 1001 + writes)):
        sys.exit(f"{part}: {len(found)} of {writes} changes are on record")
    return len(found)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--parts", type=int, default=300, help="parts of every kind")
    parser.add_argument("--runs", type=int, default=30)
    parser.add_argument("--requests", type=int, default=10_000)
    parser.add_argument("--writes", type=int, default=100, help="of each of the two who write")
    parser.add_argument("--dir", type=Path, help="keep the shops here and use them again")
    args = parser.parse_args()
    build = ["cargo", "build", "--quiet", "--release", "--bins", "--examples"]
    subprocess.run(build, cwd=ROOT, check=True)
    with tempfile.TemporaryDirectory() as folder:
        if args.dir:
            args.dir.mkdir(parents=True, exist_ok=True)
        shops = Shops(args.dir or Path(folder))
        file = shops.make(args.parts, "plain", "--even")
        with_cars = shops.make(args.parts, "plain", "--even", "--cars", 300)
        page, cars = Page(file), Page(with_cars)
        try:
            ids = {}
            for slot in ["flywheel", "pressure_plate", "block_plate", "bearing"]:
                form = page.get(f"/parts?kind={slot}").decode()
                ids[slot] = re.findall(r'href="/part\?id=([^"]+)"', form)
            times(page, file, ids, args)
            weights(page, ids["flywheel"][0], cars)
            memory(page, ids, args)
            took, read = crowd(page, ids["flywheel"], args)
        finally:
            ended = [page.stop(), cars.stop()]
        kept = sum(stored(file, part, args.writes) for part in ids["flywheel"][:2])
        print("50 who read and 2 who write at once")
        print("-" * 80)
        print(f"{read} pages read and {kept} changes stored in {took:.1f} s, all of them on record")
        print(f"the server ended {max(ended):.2f} s after it was told to")


if __name__ == "__main__":
    main()
