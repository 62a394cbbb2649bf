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
from tests.load import hosts
from tests.load.idle import idle
from tests.load.memory import Memory, memory_of
from tests.load.season import Begun, crowd
from tests.load.workers import compared
from tests.parts.shape import Shape
from tests.parts.small import SmallShape

RESULTS = Path(__file__).parents[2] / "bench" / "load.json"
PACE = 1.0
"""Mean seconds between two requests of one client: a quick person's; slower ones only ask for less."""
OVERLOAD_CLIENTS, OVERLOAD_SECONDS = 256, 20.0
AFTERWARDS_SECONDS = 10.0
SOAK_CLIENTS = 8
LONGEST_FAULT = 2000


def main() -> int:
    parser = argparse.ArgumentParser(prog="scripts/load", description=__doc__)
    parser.add_argument("--only", choices=("small", "large"), help="this shape alone")
    parser.add_argument("--clients", default="1,8,64,256", help="sizes of the crowd")
    parser.add_argument("--seconds", type=float, default=60, help="for each size")
    parser.add_argument("--pace", type=float, default=PACE, help="mean seconds between requests of a client")
    parser.add_argument(
        "--soak", type=float, default=0, help="minutes of 8 clients on the small shape, instead"
    )
    parser.add_argument("--workers", action="store_true", help="two workers against one, instead")
    parser.add_argument(
        "--idle", action="store_true", help="what the database is asked while nobody acts, instead"
    )
    parser.add_argument("--hosts", action="store_true", help="simulate hosts of many shops, instead")
    given = parser.parse_args()
    known = json.loads(RESULTS.read_text()) if RESULTS.exists() else {}
    with tempfile.TemporaryDirectory(prefix="slatproof-load-") as home:
        if given.soak:
            known["soak"] = soak(Path(home), given.soak * 60, given.pace)
        elif given.workers:
            known["workers"] = stamp() | compared(Path(home))
            print(json.dumps(known["workers"]))
        elif given.hosts:
            known["hosts"] = stamp() | hosts.told()
            print(json.dumps(known["hosts"], indent=1))
        elif given.idle:
            known["idle"] = stamp() | idle(Path(home))
            print(json.dumps(known["idle"], indent=1))
        else:
            sizes = [int(each) for each in given.clients.split(",")]
            for kind in [given.only] if given.only else ["small", "large"]:
                known[kind] = measured(kind, Path(home), sizes, given.seconds, given.pace)
    RESULTS.write_text(json.dumps(known, indent=1) + "\n")
    return 0


def measured(kind: str, home: Path, sizes: list[int], seconds: float, pace: float) -> dict[str, Any]:
    """Each size of crowd in turn on one shape; then too many who never pause; then one: has it recovered?"""
    shape = SmallShape(home / "small") if kind == "small" else Shape(home / "large")
    shape.start(seed=True) if isinstance(shape, Shape) else shape.start()
    try:
        maker, parts = sign_in(shape.url), shape.parts

        begun: list[Begun] = []

        def heard_of(clients: int, seconds: float, pace: float) -> dict[str, Any]:
            nonlocal begun
            heard, begun = asyncio.run(crowd(shape.url, maker, clients, seconds, pace, begun))
            row = {"clients": clients, "seconds": seconds, "pace": pace} | heard.told(seconds)
            print(json.dumps(row), flush=True)
            for part in parts:
                part.must_run()
            return row

        return stamp() | {
            "crowds": [heard_of(size, seconds, pace) for size in sizes],
            "overload": heard_of(OVERLOAD_CLIENTS, OVERLOAD_SECONDS, 0.0),
            "afterwards": heard_of(1, AFTERWARDS_SECONDS, pace),
            "faults_logged": [fault for part in parts for fault in faults_in(part.log)],
        }
    finally:
        shape.stop()


def faults_in(log: Path) -> list[str]:
    """What a process logged as an error, and what of."""
    lines = (json.loads(line) for line in log.read_text().splitlines() if line.startswith('{"at"'))
    return [
        f"{line['words']}: {line.get('trace', '')}"[-LONGEST_FAULT:]
        for line in lines
        if line["level"] == "error"
    ]


def soak(home: Path, seconds: float, pace: float) -> dict[str, Any]:
    """Eight clients for a long time: does memory go on growing?"""
    shape = SmallShape(home / "small")
    shape.start()
    try:
        maker, end = sign_in(shape.url), time.monotonic() + seconds
        every: list[Memory] = []
        answers, begun = 0, list[Begun]()
        while time.monotonic() < end:
            heard, begun = asyncio.run(crowd(shape.url, maker, SOAK_CLIENTS, 60, pace, begun))
            answers += sum(map(len, heard.seconds.values()))
            shape.part.must_run()
            every.append(memory_of(shape.part.pid))
            print(every[-1], flush=True)
        return (
            stamp()
            | {"minutes": round(seconds / 60), "answers": answers, "clients": SOAK_CLIENTS, "pace": pace}
            | grown(every)
        )
    finally:
        shape.stop()


def grown(every: list[Memory]) -> dict[str, Any]:
    """Memory every minute, and its last quarter against its second."""
    quarter = max(1, len(every) // 4)

    def ratio(of: list[float]) -> float:
        return round(statistics.mean(of[-quarter:]) / statistics.mean(of[quarter : 2 * quarter] or of), 3)

    return {
        "mb_every_minute": [round(each.whole) for each in every],
        "service_mb_every_minute": [round(each.service) for each in every],
        "processes_every_minute": [each.others for each in every],
        "last_quarter_to_second": ratio([each.whole for each in every]),
        "service_last_quarter_to_second": ratio([each.service for each in every]),
    }


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
