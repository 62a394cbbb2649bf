"""``scripts/load``: a busy season on both shapes at growing crowds, over-load, and a soak; writes bench/load.json."""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import statistics
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tests.faults.rounds import sign_in
from tests.load.season import Heard, crowd
from tests.load.workers import compared
from tests.parts.shape import Shape
from tests.parts.small import SmallShape

RESULTS = Path(__file__).parents[2] / "bench" / "load.json"


def main() -> int:
    parser = argparse.ArgumentParser(prog="scripts/load", description=__doc__)
    parser.add_argument("--only", choices=("small", "large"), help="this shape alone")
    parser.add_argument("--clients", default="1,8,64,256", help="sizes of the crowd")
    parser.add_argument("--seconds", type=float, default=30, help="for each size")
    parser.add_argument(
        "--soak", type=float, default=0, help="minutes of 8 clients on the small shape, instead"
    )
    parser.add_argument("--workers", action="store_true", help="two workers against one, instead")
    given = parser.parse_args()
    known = json.loads(RESULTS.read_text()) if RESULTS.exists() else {}
    with tempfile.TemporaryDirectory(prefix="slatproof-load-") as home:
        if given.soak:
            known["soak"] = soak(Path(home), given.soak * 60)
        elif given.workers:
            known["workers"] = stamp() | compared(Path(home))
            print(json.dumps(known["workers"]))
        else:
            sizes = [int(each) for each in given.clients.split(",")]
            for kind in [given.only] if given.only else ["small", "large"]:
                known[kind] = measured(kind, Path(home), sizes, given.seconds)
    RESULTS.write_text(json.dumps(known, indent=1) + "\n")
    return 0


def measured(kind: str, home: Path, sizes: list[int], seconds: float) -> dict[str, Any]:
    """Each size of crowd in turn on one shape, and one quiet client at the end: has it recovered?"""
    shape = SmallShape(home / "small") if kind == "small" else Shape(home / "large")
    shape.start(seed=True) if isinstance(shape, Shape) else shape.start()
    try:
        maker, rows = sign_in(shape.url), []
        for size in [*sizes, 1]:
            heard = asyncio.run(crowd(shape.url, maker, size, seconds if size in sizes else 5, size))
            rows.append({"clients": size} | told(heard, seconds))
            print(json.dumps(rows[-1]), flush=True)
        return stamp() | {"seconds_each": seconds, "crowds": rows[:-1], "afterwards": rows[-1]}
    finally:
        shape.stop()


def soak(home: Path, seconds: float) -> dict[str, Any]:
    """Eight clients for a long time: does memory go on growing?"""
    shape = SmallShape(home / "small")
    shape.start()
    try:
        maker, memory, end = sign_in(shape.url), [], time.monotonic() + seconds
        while time.monotonic() < end:
            asyncio.run(crowd(shape.url, maker, 8, 60, int(end - time.monotonic())))
            memory.append(round(resident_mb(shape.part.pid)))
            print(f"{memory[-1]} MB", flush=True)
        quarter = max(1, len(memory) // 4)
        growth = statistics.mean(memory[-quarter:]) / statistics.mean(memory[quarter : 2 * quarter] or memory)
        return stamp() | {
            "minutes": round(seconds / 60),
            "mb_every_minute": memory,
            "last_quarter_to_second": round(growth, 3),
        }
    finally:
        shape.stop()


def told(heard: Heard, seconds: float) -> dict[str, Any]:
    """Throughput and waits, in milliseconds."""
    every = [each for waits in heard.seconds.values() for each in waits]
    return {
        "answers_per_second": round(len(every) / seconds, 1),
        "all": percentiles(every),
        "by_what": {
            what: percentiles(waits) | {"n": len(waits)} for what, waits in sorted(heard.seconds.items())
        },
        "told_to_come_back": {str(status): count for status, count in sorted(heard.refused.items())},
        "without_retry_after": heard.bare,
        "wrong": dict(heard.wrong),
        "lost": heard.lost,
    }


def percentiles(waits: list[float]) -> dict[str, int]:
    """50th, 95th and 99th, milliseconds."""
    if len(waits) < 2:
        return {}
    cuts = statistics.quantiles(waits, n=100, method="inclusive")
    return {f"p{at}": round(cuts[at - 1] * 1000) for at in (50, 95, 99)}


def resident_mb(pid: int) -> float:
    """Proportional memory of a process and its children, MB."""
    total = 0.0
    for path in Path("/proc").glob("[0-9]*/status"):
        try:
            fields = dict(line.split(":", 1) for line in path.read_text().splitlines() if ":" in line)
            if pid in (int(fields["Pid"]), int(fields["PPid"])):
                rollup = (path.parent / "smaps_rollup").read_text()
                total += next(int(line.split()[1]) for line in rollup.splitlines() if line.startswith("Pss:"))
        except OSError:
            continue  # it ended meanwhile
    return total / 1024


def stamp() -> dict[str, Any]:
    """When and how, and how busy the machine was with other things before."""
    return {
        "measured": datetime.now(UTC).isoformat(timespec="seconds"),
        "command": "scripts/load " + " ".join(sys.argv[1:]),
        "cores": os.cpu_count(),
        "load_average": round(os.getloadavg()[1], 1),
    }


if __name__ == "__main__":
    sys.exit(main())
