"""``python -m tests.bench``: runs the cases, each in a process of its own, and writes bench/results.json."""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import platform
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tests.bench.apart import load_cases, run
from tests.bench.harness import CASES

ROOT = Path(__file__).parents[2]
RESULTS = ROOT / "bench" / "results.json"


def measure_apart(index: int) -> dict[str, Any]:
    """A case in a fresh process, so that peaks of memory do not leak from one to the next."""
    context = multiprocessing.get_context("spawn")
    mine, theirs = context.Pipe()
    child = context.Process(target=run, args=(index, theirs))
    child.start()
    theirs.close()
    try:
        found: dict[str, Any] = mine.recv()
    except EOFError:
        child.join()
        raise SystemExit(f"bench: case '{CASES[index].name}' ended with exit code {child.exitcode}") from None
    child.join()
    return found


def main() -> int:
    parser = argparse.ArgumentParser(prog="scripts/bench")
    parser.add_argument("--issue", type=int, help="only the cases of this issue")
    parser.add_argument("--only", default="", help="only cases whose name holds these words")
    parser.add_argument("--hostile", action="store_true", help="8,000 damaged files instead of the cases")
    wanted = parser.parse_args()
    if wanted.hostile:
        from tests.hostile import mutants

        return mutants.main(["--count", "8000"])
    load_cases()
    before = json.loads(RESULTS.read_text())["cases"] if RESULTS.exists() else []
    rows = {(old["issue"], old["name"], old["n"]): old for old in before}
    for index, chosen in enumerate(CASES):
        if (wanted.issue in (None, chosen.issue)) and wanted.only.lower() in chosen.name.lower():
            print(f"· {chosen.issue} {chosen.name} ({chosen.n}) …", end=" ", flush=True)
            found = measure_apart(index)
            rows[(chosen.issue, chosen.name, chosen.n)] = found
            verdict = "met" if found["met"] else "MISSED"
            print(f"{found['figure']:.3g} ({chosen.sense} {chosen.target:g}: {verdict})")
    known = {(one.issue, one.name, one.n) for one in CASES}
    write([found for key, found in sorted(rows.items()) if key in known])
    return 0


def write(cases: list[dict[str, Any]]) -> None:
    RESULTS.parent.mkdir(exist_ok=True)
    machine = {"cpu": cpu_name(), "cores": os.cpu_count(), "python": platform.python_version()}
    report = {"measured": datetime.now(UTC).isoformat(timespec="seconds"), "machine": machine, "cases": cases}
    RESULTS.write_text(json.dumps(report, indent=1) + "\n")


def cpu_name() -> str:
    for line in Path("/proc/cpuinfo").read_text().splitlines():
        if line.startswith("model name"):
            return line.split(":", 1)[1].strip()
    return platform.machine()


if __name__ == "__main__":
    sys.exit(main())
