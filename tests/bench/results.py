#!/usr/bin/env python3
"""Measures everything anew and writes it into README.md beside this file, as it was printed.

Run it with a Python that has what requirements.txt names. It takes most of an hour."""

import datetime
import os
import re
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
README = HERE / "README.md"


def machine():
    memory = re.search(r"MemTotal: +(\d+)", Path("/proc/meminfo").read_text())
    gib = round(int(memory[1]) / 2**20)
    return f"{datetime.date.today()}, {os.cpu_count()} cores, {gib} GiB, shared with other work"


def block(title, command):
    print(title, flush=True)
    done = subprocess.run(command, cwd=HERE, stdout=subprocess.PIPE, text=True, check=True)
    lines = [line.rstrip() for line in done.stdout.splitlines()]
    return f"### {title}\n\n{machine()}\n\n```text\n" + "\n".join(lines) + "\n```\n"


def main():
    bench = ["cargo", "bench", "--quiet", "--bench", "inner", "--", "--max-time", "2"]
    blocks = [
        block("Whole processes", [sys.executable, "whole.py"]),
        block("Shops as real ones are", [sys.executable, "cliffs.py", "--keep-going", "--limit", "20"]),
        block("The bench page", [sys.executable, "page.py"]),
        block("Side by side", [sys.executable, "side_by_side.py"]),
        block("The parts of an answer", bench),
    ]
    before, _ = README.read_text().split("## Results\n")
    README.write_text(before + "## Results\n\n" + "\n".join(blocks))


if __name__ == "__main__":
    main()
