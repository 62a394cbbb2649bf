"""``scripts/faults``: many rounds, half of them over each shape; writes ``bench/faults.json``."""

from __future__ import annotations

import argparse
import contextlib
import json
import random
import signal
import sys
import tempfile
import time
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

from tests.faults.rounds import Found, over_large, over_small

RESULTS = Path(__file__).parents[2] / "bench" / "faults.json"
KEPT = 10
"""Runs that the results hold; the newest is the last."""


def main() -> int:
    parser = argparse.ArgumentParser(prog="scripts/faults", description=__doc__)
    parser.add_argument("--rounds", type=int, default=200, help="how many, in all")
    parser.add_argument(
        "--seed", type=int, default=1, help="of the dice that choose what goes wrong, and when"
    )
    parser.add_argument("--only", choices=("small", "large"), help="over this shape alone")
    given = parser.parse_args()
    kinds = {"large": over_large, "small": over_small}
    chosen = [given.only] if given.only else list(kinds)
    found = {kind: Found() for kind in chosen}
    began = time.monotonic()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    with (
        tempfile.TemporaryDirectory(prefix="slatproof-faults-") as home,
        contextlib.suppress(KeyboardInterrupt),  # then what was done until then is written down
    ):
        for kind in chosen:
            dice = random.Random(f"{given.seed} {kind}")
            kinds[kind](Path(home), given.rounds // len(chosen), dice, found[kind])
    _write(given, found, time.monotonic() - began)
    lost = sum(len(each.losses) for each in found.values())
    print(f"{sum(each.rounds for each in found.values())} rounds, {lost} losses; see {RESULTS}")
    return 1 if lost else 0


def _write(given: argparse.Namespace, found: dict[str, Found], seconds: float) -> None:
    report = {
        "measured": datetime.now(UTC).isoformat(timespec="seconds"),
        "command": f"scripts/faults --rounds {given.rounds} --seed {given.seed}"
        + (f" --only {given.only}" if given.only else ""),
        "seconds": round(seconds),
        "rounds": sum(each.rounds for each in found.values()),
        "losses": sum(len(each.losses) for each in found.values()),
        "shapes": {kind: asdict(each) for kind, each in found.items()},
    }
    before = json.loads(RESULTS.read_text())["runs"] if RESULTS.exists() else []
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps({"runs": [*before, report][-KEPT:]}, indent=1, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    sys.exit(main())
