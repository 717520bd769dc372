#!/usr/bin/env python3
"""Puts each bug of bugs.toml into a copy of the sources and demands that a test it names fails.

The copy and what is built of it lie under target/bugs, so that each bug builds only what it changes. What came out is kept there
and not done again, unless the entry or the file it changes is another by then. First every named test must pass on the copy as
it is: a test that fails anyway sees nothing.

    tests/bugs/run.py              all that are not done yet
    tests/bugs/run.py --only NAME  one, again
    tests/bugs/run.py --list       what there is
"""

import argparse
import filecmp
import hashlib
import json
import os
import pathlib
import shutil
import subprocess
import sys
import time
import tomllib

ROOT = pathlib.Path(__file__).resolve().parents[2]
HOME = ROOT / "target" / "bugs"
TREE = HOME / "tree"
KEPT = HOME / "results.json"
COPIED = ["Cargo.toml", "Cargo.lock", "README.md", "CHANGELOG.md", "DEVELOPERS.md", "clippy.toml", "src", "tests", "grammar", "procedures", "templates"]
# Fewer corrupted certificates do: each kind still gets its ten.
SETTINGS = {"AUDIT_CASES": "1000", "CARGO_TERM_COLOR": "never", "RUST_BACKTRACE": "0"}
LONGEST = 1800
# A checker that does not come to an end is seen too.
SEEN = ("fails", "takes too long")
# What takes long comes last.
DEAR = ["rules", "geometry", "audit", "print", "readback"]


def copy_tree() -> None:
    """Brings the copy up to date and touches nothing that is the same."""
    wanted = set()
    for name in COPIED:
        top = ROOT / name
        for path in [top] if top.is_file() else sorted(top.rglob("*")):
            if not path.is_file() or "__pycache__" in path.parts:
                continue
            to = TREE / path.relative_to(ROOT)
            wanted.add(to)
            if not to.exists() or not filecmp.cmp(path, to, shallow=False):
                to.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(path, to)
    for path in TREE.rglob("*"):
        if path.is_file() and path not in wanted and "target" not in path.relative_to(TREE).parts:
            path.unlink()


def run(test: str) -> tuple[str, str]:
    """"passes", "fails", "does not build" or "takes too long", and what failed."""
    program, _, part = test.partition(" ")
    which = ["--lib"] if program == "lib" else ["--test", program]
    command = ["cargo", "test", "--offline", "--locked", "--quiet", *which]
    env = os.environ | SETTINGS | {"CARGO_TARGET_DIR": str(HOME / "target")}
    built = subprocess.run([*command, "--profile", "dev", "--no-run"], cwd=TREE, env=env, capture_output=True, text=True)
    if built.returncode != 0:
        return "does not build", built.stderr[-3000:]
    try:
        done = subprocess.run([*command, "--profile", "dev", "--", *part.split()], cwd=TREE, env=env, capture_output=True, text=True, timeout=LONGEST)
    except subprocess.TimeoutExpired:
        return "takes too long", ""
    failed = [line.split()[1] for line in done.stdout.splitlines() if line.startswith("test ") and line.endswith("FAILED")]
    failed += [line.strip() for line in done.stdout.splitlines() if line.startswith("    ") and line.strip().replace("_", "").replace(":", "").isalnum()]
    if done.returncode == 0 and "running 0 tests" in done.stdout and " passed" in done.stdout and not any(
        int(line.split("ok. ")[1].split()[0]) for line in done.stdout.splitlines() if "test result: ok. " in line
    ):
        return "names no test", ""
    return ("passes", "") if done.returncode == 0 else ("fails", failed[0] if failed else "the program ended")


def key(bug: dict) -> str:
    text = json.dumps(bug, sort_keys=True) + (TREE / bug["file"]).read_text()
    return hashlib.sha256(text.encode()).hexdigest()


def state() -> str:
    """Of the copy as it is."""
    sums = (hashlib.sha256(p.read_bytes()).hexdigest() for top in ("src", "tests") for p in sorted((TREE / top).rglob("*.rs")))
    return hashlib.sha256("".join(sums).encode()).hexdigest()


def keep(results: dict) -> None:
    KEPT.write_text(json.dumps(results, indent=1, sort_keys=True) + "\n")


def seen(bug: dict) -> dict:
    path = TREE / bug["file"]
    text = path.read_text()
    if text.count(bug["old"]) != 1:
        return {"came": "the snippet does not stand once in its file"}
    path.write_text(text.replace(bug["old"], bug["new"]))
    try:
        for test in bug["tests"]:
            came, what = run(test)
            if came != "passes":
                return {"came": came, "by": test, "what": what}
        return {"came": "NOT SEEN", "by": ", ".join(bug["tests"])}
    finally:
        path.write_text(text)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", action="append", metavar="NAME", help="do this one, also if it is done")
    parser.add_argument("--list", action="store_true", help="list what there is and what came out")
    args = parser.parse_args()
    bugs = tomllib.loads((ROOT / "tests/bugs/bugs.toml").read_text())["bug"]
    results = json.loads(KEPT.read_text()) if KEPT.exists() else {}
    if args.list:
        for bug in bugs:
            print(f"{bug['name']:42} {results.get(bug['name'], {}).get('came', '-'):16} {bug['breaks']}")
        return 0
    chosen = [b for b in bugs if not args.only or b["name"] in args.only]
    if args.only and len(chosen) != len(set(args.only)):
        print("there is no bug of that name; --list shows them", file=sys.stderr)
        return 2
    HOME.mkdir(parents=True, exist_ok=True)
    copy_tree()
    due = [b for b in chosen if args.only or results.get(b["name"], {}).get("key") != key(b)]
    due.sort(key=lambda b: max(DEAR.index(p) + 1 if (p := t.split()[0]) in DEAR else 0 for t in b["tests"][:1]))
    for bug in due:
        begun = time.time()
        results[bug["name"]] = seen(bug) | {"key": key(bug)}
        keep(results)
        r = results[bug["name"]]
        print(f"{bug['name']:42} {r['came']:16} {r.get('by', '')}: {r.get('what', '')[:100]} ({time.time() - begun:.0f} s)", flush=True)
    # A test that fails anyway sees nothing.
    for test in dict.fromkeys(r["by"] for b in chosen if (r := results.get(b["name"], {})).get("came") in SEEN):
        stamp = results.get("= " + test, {})
        if stamp.get("came") != "passes" or stamp.get("of") != state():
            came, what = run(test)
            results["= " + test] = {"came": came, "of": state()}
            keep(results)
            print(f"without a bug, {test!r} {came} {what}", flush=True)
    good = 0
    for bug in chosen:
        r = results.get(bug["name"], {})
        good += r.get("came") in SEEN and results.get("= " + r["by"], {}).get("came") == "passes"
    print(f"{good} of {len(chosen)} bugs are seen, each by a test that passes without it")
    return 0 if good == len(chosen) else 1


if __name__ == "__main__":
    sys.exit(main())
