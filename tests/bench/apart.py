"""What a measuring process does; apart, because a spawned process cannot import a package's main."""

from __future__ import annotations

import ctypes
import importlib
import signal
import sys
from pathlib import Path
from typing import Any

from tests.bench.harness import CASES, Case, process_peak_mb

_PDEATHSIG = 1
"""prctl(2): the signal a process gets when the thread that started it ends."""


def load_cases() -> None:
    """Imports every bench_*.py beside this file: importing registers its cases."""
    for path in sorted(Path(__file__).parent.glob("bench_*.py")):
        importlib.import_module(f"tests.bench.{path.stem}")


def run(index: int, answer: Any) -> None:
    """Child process: measures one case and sends its row; where the bench is killed, it tidies up and ends."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("bench: ended from outside"))
    ctypes.CDLL(None).prctl(_PDEATHSIG, signal.SIGTERM, 0, 0, 0)
    load_cases()
    answer.send(row(CASES[index]))


def row(chosen: Case) -> dict[str, Any]:
    measured = chosen.measure()
    figure = measured.figure if measured.figure is not None else measured.ratio
    figure = measured.ours if figure is None else figure
    met = figure <= chosen.target if chosen.sense == "at most" else figure >= chosen.target
    return {
        "issue": chosen.issue,
        "name": chosen.name,
        "n": chosen.n,
        "ours": measured.ours,
        "rival": measured.rival,
        "ratio": measured.ratio,
        "figure": figure,
        "target": chosen.target,
        "sense": chosen.sense,
        "met": met,
        "unit": measured.unit,
        "peak_mb": round(measured.peak_mb or process_peak_mb(), 1),
        "note": measured.note,
    }
