#!/usr/bin/env python3
"""General tools beside the program, on the same catalog and the same question: the twenty cheapest
stacks that are in the window as computed, and how many there are in all. The shop is a plain one:
everything mates, so that faces need no saying, and no check beside the window has what it needs.
Every run is a whole process and is stopped after a minute; answers are compared."""

import argparse
import json
import sqlite3
import subprocess
import sys
import tempfile
import time
from itertools import product
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BINARY = ROOT / "target/release/bellstack"
TOOL = ROOT / "target/release/examples/bench_tool"
SIZES = [30, 100, 300, 1000, 3000, 10_000]
TOP = 20
THOU = 25_400
RECOMMEND = ["recommend", "paper", "--order", "price", "--top", str(TOP), "--format", "json"]


def rounded(micro):
    """Whole nanometres from millionths of them, half away from zero."""
    whole = (abs(micro) + 500_000) // 1_000_000
    return whole if micro > 0 else -whole


def parts(file):
    """Each kind's parts: what a stack of them costs and measures, in cents and nanometres."""
    catalog = sqlite3.connect(file)
    found = {}
    for number, kind, cents in catalog.execute("SELECT number, kind, price_cents FROM part"):
        found[number] = (kind, {"cents": cents})
    for number, key, value in catalog.execute("SELECT part, key, value FROM dimension"):
        found[number][1][key] = value
    kinds = {}
    for kind, part in found.values():
        kinds.setdefault(kind, []).append(part)
    return kinds


def tables(file):
    """The question as plain tables of whole numbers, as any tool may be given it."""
    kinds = parts(file)
    fixed = {kind: kinds[kind][0] for kind in ("engine", "bell_housing", "gearbox")}
    base = fixed["engine"]["crank_protrusion"] + fixed["gearbox"]["seat_height"]
    base -= fixed["bell_housing"]["depth"]
    plates = [
        (
            part["cents"],
            part["finger_height"] + base,
            part["set_gap"],
            part["finger_ratio"],
            part["release_travel"] + 100 * THOU,
            rounded(part["finger_ratio"] * part["wear_allowance"]) + 30 * THOU,
        )
        for part in kinds["pressure_plate"]
    ]
    thick = {
        kind: [(part["cents"], part["thickness"]) for part in kinds[kind]]
        for kind in kinds
        if "thickness" in kinds[kind][0]
    }
    shims = [(0, 0), *thick["bearing_shim"]]
    for index, first in enumerate(thick["bearing_shim"]):
        for second in thick["bearing_shim"][index:]:
            shims.append((first[0] + second[0], first[1] + second[1]))
    bearings = [
        (part["cents"], part["extended_height"], part["retracted_height"], part["max_shim"])
        for part in kinds["bearing"]
    ]
    return {
        "p": (plates, "cents, height, set_gap, ratio, preload_min, reserve_min"),
        "f": (thick["flywheel"], "cents, thickness"),
        "d": (thick["disc"], "cents, thickness"),
        "k": ([(0, 0), *thick["block_plate"]], "cents, thickness"),
        "s": ([(0, 0), *thick["bell_spacer"]], "cents, thickness"),
        "x": ([(0, 0), *thick["gearbox_spacer"]], "cents, thickness"),
        "b": (bearings, "cents, extended, retracted, max_shim"),
        "z": (shims, "cents, thickness"),
    }


# The preload is what the fingers stand beyond the extended bearing; what is left of the travel is
# the reserve. The ratio's product is rounded once.
STACKS = """
  FROM (SELECT p.rowid AS p_id, f.rowid AS f_id, d.rowid AS d_id, p.preload_min, p.reserve_min,
          p.cents + f.cents + d.cents AS cents, p.height + f.thickness
          - sign(p.ratio * (d.thickness - p.set_gap))
            * ((abs(p.ratio * (d.thickness - p.set_gap)) + 500000) {div} 1000000) AS finger
        FROM p CROSS JOIN f CROSS JOIN d) c
  CROSS JOIN b CROSS JOIN k CROSS JOIN s CROSS JOIN x CROSS JOIN z
  WHERE z.thickness <= b.max_shim
    AND c.finger + b.extended - (k.thickness + s.thickness + x.thickness - z.thickness)
        >= c.preload_min
    AND k.thickness + s.thickness + x.thickness - z.thickness - b.retracted - c.finger
        >= c.reserve_min
"""
BEST = """SELECT c.cents + b.cents + k.cents + s.cents + x.cents + z.cents AS cents
{stacks} ORDER BY 1, f_id, d_id, p_id, k.rowid, s.rowid, x.rowid, b.rowid, z.rowid LIMIT {top}"""


def by_sql(connection, file, wanted, div):
    for name, (rows, columns) in tables(file).items():
        typed = ", ".join(f"{column} BIGINT" for column in columns.split(", "))
        connection.execute(f"CREATE TABLE {name} ({typed})")
        marks = ", ".join("?" for _ in rows[0])
        connection.executemany(f"INSERT INTO {name} VALUES ({marks})", rows)
    stacks = STACKS.format(div=div)
    if wanted == "count":
        return {"count": connection.execute(f"SELECT count(*) {stacks}").fetchone()[0]}
    found = connection.execute(BEST.format(stacks=stacks, top=TOP)).fetchall()
    return {"cents": [row[0] for row in found]}


def sqlite(file, wanted):
    return by_sql(sqlite3.connect(":memory:"), file, wanted, "/")


def duckdb(file, wanted):
    import duckdb as tool

    return by_sql(tool.connect(), file, wanted, "//")


def cp_sat(file, wanted):
    """One choice a slot, and one of every plate with a disc, as their product is no sum."""
    from ortools.sat.python import cp_model as cp

    if wanted == "count":
        return None
    all_rows = {name: rows for name, (rows, _) in tables(file).items()}
    model = cp.CpModel()

    def choose(count):
        picks = [model.new_bool_var("") for _ in range(count)]
        model.add_exactly_one(picks)
        return picks

    def column(picks, rows, index):
        return cp.LinearExpr.weighted_sum(picks, [row[index] for row in rows])

    slots = {name: choose(len(rows)) for name, rows in all_rows.items()}

    def of(name, index):
        return column(slots[name], all_rows[name], index)

    pairs, moved = [], []
    for at_plate, plate in enumerate(all_rows["p"]):
        for at_disc, disc in enumerate(all_rows["d"]):
            pair = model.new_bool_var("")
            model.add_implication(pair, slots["p"][at_plate])
            model.add_implication(pair, slots["d"][at_disc])
            pairs.append(pair)
            moved.append(rounded(plate[3] * (disc[1] - plate[2])))
    model.add_exactly_one(pairs)
    finger = of("p", 1) + of("f", 1) - cp.LinearExpr.weighted_sum(pairs, moved)
    rear = of("k", 1) + of("s", 1) + of("x", 1) - of("z", 1)
    model.add(finger - rear + of("b", 1) >= of("p", 4))
    model.add(rear - of("b", 2) - finger >= of("p", 5))
    model.add(of("z", 1) <= of("b", 3))
    model.minimize(sum(of(name, 0) for name in slots))
    solver = cp.CpSolver()
    solver.parameters.num_workers = 2
    if solver.solve(model) != cp.OPTIMAL:
        sys.exit(f"CP-SAT ended with {solver.status_name()}")
    return {"cents": [round(solver.objective_value)]}


def python_loops(file, wanted):
    """Every combination, one by one."""
    all_rows = {name: rows for name, (rows, _) in tables(file).items()}
    count, best = 0, []
    rears = [
        (k[0] + s[0] + x[0] + z[0], k[1] + s[1] + x[1] - z[1], z[1])
        for k, s, x, z in product(*(all_rows[name] for name in "ksxz"))
    ]
    for plate in all_rows["p"]:
        for disc in all_rows["d"]:
            moved = rounded(plate[3] * (disc[1] - plate[2]))
            for flywheel in all_rows["f"]:
                finger = plate[1] + flywheel[1] - moved
                cents = plate[0] + disc[0] + flywheel[0]
                for price, extended, retracted, most in all_rows["b"]:
                    high, low = finger + extended - plate[4], finger + retracted + plate[5]
                    for more, rear, shims in rears:
                        if low <= rear <= high and shims <= most:
                            count += 1
                            if wanted == "best":
                                best.append(cents + price + more)
                    if len(best) > 100_000:
                        best = sorted(best)[:TOP]
    return {"count": count} if wanted == "count" else {"cents": sorted(best)[:TOP]}


def answer(out):
    """The program's own answer."""
    told = json.loads(out)
    cents = [stack["to_buy"]["amount"].replace(".", "") for stack in told["stacks"]]
    return {"cents": [int(amount) for amount in cents]}


def counted(out):
    found = out.split()[1]
    return {} if found == b"-" else {"count": int(found)}


def script(name, file, wanted):
    return [sys.executable, __file__, "--one", name, "--file", file, "--wanted", wanted]


METHODS = {
    "bellstack": lambda file, wanted: (
        ([TOOL, "count", file, "paper"], counted)
        if wanted == "count"
        else ([BINARY, "--catalog", file, *RECOMMEND, "--no-counts"], answer)
    ),
    "nested loops, Rust": lambda file, _: ([TOOL, "loops", file, str(TOP)], json.loads),
    "nested loops, Python": lambda file, wanted: (script("python_loops", file, wanted), json.loads),
    "SQLite cross join": lambda file, wanted: (script("sqlite", file, wanted), json.loads),
    "DuckDB cross join": lambda file, wanted: (script("duckdb", file, wanted), json.loads),
    "CP-SAT, the cheapest one": lambda file, wanted: (script("cp_sat", file, wanted), json.loads),
}


def timed(command, read, limit):
    """Best of three, or of as many as fit into the limit: seconds and answer; None where it took
    longer."""
    best, found, spent = None, None, 0.0
    for _ in range(3):
        start = time.perf_counter()
        try:
            done = subprocess.run(command, capture_output=True, timeout=limit, check=False)
        except subprocess.TimeoutExpired:
            break
        seconds = time.perf_counter() - start
        if done.returncode not in (0, 1) or not done.stdout:
            sys.exit(f"{command}: status {done.returncode}: {done.stderr.decode()}")
        best, found = min(seconds, best or seconds), read(done.stdout)
        spent += seconds
        if spent + seconds > limit:
            break
    return best, found


def check(known, found, n, name):
    """Equal questions have equal answers, as far as a tool answers them."""
    for key, value in found.items():
        full = known.setdefault((n, key), value)
        if key == "cents":
            shorter = min(len(full), len(value))
            full, value = full[:shorter], value[:shorter]
        if full != value:
            sys.exit(f"{name} differs at {n} parts: {key} {value}, and before {full}")


ROW = "{:25} {:>6} {:>12} {:>12} {:>12} {:>26}"


def side_by_side(args, folder):
    head = ("best of 3 runs", "parts", "cheapest 20", "count alone", "least", "in the window")
    print(ROW.format(*head))
    print(ROW.format("", "n", "s", "s", "cents", "stacks"))
    known = {}
    for name, method in METHODS.items():
        tired = set()
        for n in args.sizes:
            file = folder / f"{n}-plain.db"
            if not file.exists():
                make = [TOOL, "make", file, str(n), "plain"]
                subprocess.run(make, stdout=subprocess.DEVNULL, check=True)
            cells, told = [], {}
            for wanted in ("best", "count"):
                if wanted in tired:
                    cells.append("")
                    continue
                seconds, found = timed(*method(str(file), wanted), args.limit)
                if seconds is None:
                    tired.add(wanted)
                    cells.append(f"> {args.limit:g}")
                elif found is None:
                    cells.append("cannot")
                else:
                    cells.append(f"{seconds:.3f}")
                    check(known, found, n, name)
                    told |= found
            least = told["cents"][0] if "cents" in told else ""
            print(ROW.format(name, n, *cells, least, told.get("count", "")), flush=True)
            if all(cell in ("", "cannot") or cell.startswith(">") for cell in cells):
                break


def main():
    def numbers(text):
        return [int(number) for number in text.split(",")]

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=numbers, default=SIZES, help="such as 30,100")
    parser.add_argument("--limit", type=float, default=60, help="seconds until a run is stopped")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    parser.add_argument("--file", help=argparse.SUPPRESS)
    parser.add_argument("--wanted", help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.one:
        print(json.dumps(globals()[args.one](args.file, args.wanted)))
        return
    build = ["cargo", "build", "--quiet", "--release", "--bins", "--examples"]
    subprocess.run(build, cwd=ROOT, check=True)
    with tempfile.TemporaryDirectory() as folder:
        side_by_side(args, Path(folder))


if __name__ == "__main__":
    main()
