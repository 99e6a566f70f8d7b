#!/usr/bin/env python3
"""Breaks the program on purpose, one rule at a time, and wants a red test each time.

usage: tests/mutations/run.py [LIST...] [--only WORD] [--first N] [--jobs J] [--check]

A list (all *.txt beside this file, where none is named) holds blocks:

    ## what is broken
    @ src/path/to/file.rs
    - a piece of the file, as it stands
    + what stands there instead

before them, perhaps, a line `% --test NAME` with what `cargo test` is to run instead of the judge. Several
lines of - and + make one piece each; they are compared without their indentation. A piece has to
stand in its file exactly once: a list that the source has outgrown says so and fails.

The repository is copied to target/mutations and built there, with a test crate that holds the independent
judge and what is compared with it, and nothing else. It is run by hand: a minute or more a mutation, as the library is built anew.
Exit status 1 where a mutation was not noticed, did not compile, or is out of date.
"""
import argparse
import os
import pathlib
import re
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent
REPO = HERE.parent.parent
SCRATCH = REPO / "target" / "mutations"
MAIN = """#![allow(clippy::unwrap_used, clippy::panic, clippy::format_push_string, dead_code, missing_docs)]
mod checker;
mod judged;
mod random;
mod shops;
"""
TARGET = '[[test]]\nname = "judged"\npath = "tests/it/judged_alone.rs"\n\n[[test]]\nname = "it"'


def blocks(path):
    """The mutations of a list: title, file, what stands there, what stands there instead."""
    title, where, old, new = None, None, [], []
    for line in path.read_text().splitlines() + ["## end"]:
        if line.startswith("## "):
            if title:
                yield title, where, old, new
            title, where, old, new = line[3:], None, [], []
        elif line.startswith("@ "):
            where = line[2:].strip()
        elif line.startswith("-"):
            old.append(line[1:].strip())
        elif line.startswith("+"):
            new.append(line[1:].strip())


def mutated(text, old, new):
    """The text with one piece replaced, or why that cannot be."""
    piece = r"\s+".join(re.escape(line) for line in old)
    found = list(re.finditer(piece, text))
    if len(found) != 1:
        return None, f"the piece stands there {len(found)} times"
    at = found[0]
    return text[: at.start()] + "\n".join(new) + text[at.end() :], None


def write(path, content):
    """Writes what differs only: what is as it was need not be built again."""
    if not path.exists() or path.read_bytes() != content:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def copy():
    wanted = {pathlib.Path("tests/it/judged_alone.rs"): MAIN.encode()}
    manifest = (REPO / "Cargo.toml").read_text()
    wanted[pathlib.Path("Cargo.toml")] = manifest.replace('[[test]]\nname = "it"', TARGET, 1).encode()
    for name in ("src", "tests", "catalog", "demo-data", "Cargo.lock", "README.md"):
        top = REPO / name
        for path in top.rglob("*") if top.is_dir() else [top]:
            if path.is_file():
                wanted.setdefault(path.relative_to(REPO), path.read_bytes())
    for name in ("src", "tests"):
        for path in (SCRATCH / name).rglob("*"):
            if path.is_file() and path.relative_to(SCRATCH) not in wanted:
                path.unlink()
    for path, content in wanted.items():
        write(SCRATCH / path, content)


def asks(path):
    """What is run for a list."""
    told = [line[2:].split() for line in path.read_text().splitlines() if line.startswith("% ")]
    return told[0] if told else ["--test", "judged"]


def run(jobs, tests, build_only=False):
    command = ["cargo", "test", "--quiet", "-j", str(jobs), *tests]
    command += ["--no-run"] if build_only else []
    # Dependencies that are built already serve the copy, too.
    environment = {**os.environ, "CARGO_TARGET_DIR": str(REPO / "target")}
    return subprocess.run(command, cwd=SCRATCH, env=environment, capture_output=True, text=True)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("lists", nargs="*", type=pathlib.Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--first", type=int, default=1, help="from which mutation of the list on")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--check", action="store_true", help="only whether the lists are up to date")
    asked = parser.parse_args()
    lists = asked.lists or sorted(HERE.glob("*.txt"))
    if asked.check:
        found = [(path.stem, title, mutated((REPO / where).read_text(), old, new)[1])
                 for path in lists for title, where, old, new in blocks(path)]
        late = [f"{stem}: {title}: {problem}" for stem, title, problem in found if problem]
        sys.exit("\n".join(late) if late else 0)
    copy()
    bad = []
    for path in lists:
        tests = asks(path)
        plain = run(asked.jobs, tests)
        if plain.returncode:
            sys.exit(f"the tests are red before anything is broken\n{plain.stdout[-3000:]}{plain.stderr[-3000:]}")
        for number, (title, where, old, new) in enumerate(blocks(path), 1):
            if asked.only not in title or number < asked.first:
                continue
            source = (SCRATCH / where).read_text()
            text, problem = mutated(source, old, new)
            if not problem:
                (SCRATCH / where).write_text(text)
                built = run(asked.jobs, tests, build_only=True)
                problem = "it does not compile:\n" + built.stderr[-1500:] if built.returncode else None
                if not problem and run(asked.jobs, tests).returncode == 0:
                    problem = "NOT NOTICED"
                (SCRATCH / where).write_text(source)
            print(f"{path.stem} {number}: {title}: {problem or 'noticed'}", flush=True)
            if problem:
                bad.append(title)
    sys.exit(f"{len(bad)} of them: {', '.join(bad)}" if bad else 0)


main()
