"""Repair: how many drawings that stop get a version that carves, and what that costs. One core.

``SLATPROOF_REPAIR_PIECES`` sets how many pieces are looked at (330 for the whole list).
"""

from __future__ import annotations

import os
import pickle
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from tests.bench.harness import Measured, case
from tests.repairing.reading import PRESENT, plain, read
from tests.repairing.sheet import Tried, chosen, slat, tried, verdicts

PIECES = int(os.environ.get("SLATPROOF_REPAIR_PIECES", "40"))
N = f"{PIECES} pieces"


@dataclass(frozen=True)
class Looked:
    """What the cases ask about one piece that stops.

    Attributes:
        piece: its name.
        ways: of the versions offered, the first one first.
        farthest_mm: of the first version; 0 without any.
        seconds, first: of a processor, until all versions and until the first one is known.
        read: of a wordmark whether the word is read as it was sent, and in the first version; ``None`` for other art.
    """

    piece: str
    ways: tuple[str, ...]
    farthest_mm: float
    seconds: float
    first: float
    read: tuple[bool, bool] | None


def found(name: str) -> list[Looked]:
    """Every piece of the list that stops on the slat: worked out once for all cases of a run, each its own process."""
    kept = Path(tempfile.gettempdir()) / f"repair-{os.getppid()}-{name}-{PIECES}.pickle"
    if kept.exists():
        return pickle.loads(kept.read_bytes())  # our own, of this run
    looked = [_looked(each) for each in tried(chosen(PIECES), slat(name))]
    kept.write_bytes(pickle.dumps(looked))
    return looked


def _looked(each: Tried) -> Looked:
    versions = each.answer.repairs
    return Looked(
        each.piece.name,
        tuple(version.way for version in versions),
        versions[0].farthest_mm if versions else 0.0,
        each.seconds,
        each.first,
        _read(each) if versions and each.piece.words and PRESENT else None,
    )


def _read(each: Tried) -> tuple[bool, bool]:
    first, word = each.answer.repairs[0], plain(each.piece.words)
    lines = 2 if ", lines" in each.piece.name else 1
    upright = replace(first.cut, placement=replace(first.cut.placement, rotation_deg=0.0))
    sent = read(each.cut.placed().contours, lines)
    return sent == word, read(upright.placed().contours, 2 if first.way == "stacked" else lines) == word


def offered(name: str, ways: set[str] | None = None) -> Measured:
    """Share of those that stop with a version; the figure is no verdict of likeness, which people give."""
    looked = found(name)
    good = [each for each in looked if any(not ways or way in ways for way in each.ways)]
    seconds = float(np.median([each.seconds for each in looked]))
    return Measured(
        seconds, figure=len(good) / len(looked), unit="share", note=f"{len(good)} of {len(looked)}"
    )


@case(
    issue=17, name="wide slat: a version with the present bit, as placed", n=N, target=0.75, sense="at least"
)
def wide_as_placed() -> Measured:
    return offered("wide", {"as-placed"})


@case(issue=17, name="wide slat: any version", n=N, target=0.90, sense="at least")
def wide_any() -> Measured:
    return offered("wide")


@case(issue=17, name="rail: any version", n=N, target=0.97, sense="at least")
def rail_any() -> Measured:
    return offered("rail")


@case(issue=17, name="rail: a version with the present bit, as placed", n=N, target=0.92, sense="at least")
def rail_as_placed() -> Measured:
    return offered("rail", {"as-placed"})


@case(
    issue=17,
    name="narrow slat: a version with the present bit, as placed",
    n=N,
    target=0.45,
    sense="at least",
)
def narrow_as_placed() -> Measured:
    return offered("narrow", {"as-placed"})


@case(issue=17, name="narrow slat: any version", n=N, target=0.75, sense="at least")
def narrow_any() -> Measured:
    return offered("narrow")


@case(issue=17, name="processor time to the first version, median", n=N, target=1.0)
def first_version() -> Measured:
    seconds = np.array([each.first for each in found("wide") if each.ways])
    told = ", ".join(f"{value:.2f} s" for value in np.percentile(seconds, [50, 95, 100]))
    return Measured(float(np.median(seconds)), note=f"median, 95 %, worst: {told}")


@case(issue=17, name="processor time for all versions, 95 %", n=N, target=8.0)
def slowest() -> Measured:
    seconds = np.array([each.seconds for each in found("wide")])
    told = ", ".join(f"{value:.2f} s" for value in np.percentile(seconds, [50, 95, 100]))
    return Measured(float(np.percentile(seconds, 95)), note=f"median, 95 %, worst: {told}")


@case(issue=17, name="farthest boundary moved, median over pieces, mm", n=N, target=1.2)
def farthest() -> Measured:
    first = [each.farthest_mm for each in found("wide") if each.ways]
    return Measured(float(np.median(first)), unit="mm")


@case(
    issue=17,
    name="first versions judged 'still the logo', of those looked at",
    n=N,
    target=0.92,
    sense="at least",
)
def still_the_logo() -> Measured:
    said = verdicts()
    first = [
        said.get((name, each.piece, each.ways[0]))
        for name in ("wide", "rail", "narrow")
        for each in found(name)
        if each.ways
    ]
    looked = [each for each in first if each is not None]
    share = float(np.mean([each == "yes" for each in looked]))
    return Measured(0.0, figure=share, unit="share", note=f"{len(looked)} of {len(first)} looked at")


@case(
    issue=17,
    name="wordmarks read as the word when repaired, of those read as sent",
    n=N,
    target=0.95,
    sense="at least",
)
def words_read() -> Measured:
    """By Debian's tesseract, on the first version of each wordmark that stops on the wide slat."""
    kept = [now for sent, now in (each.read for each in found("wide") if each.read) if sent]
    return Measured(0.0, figure=float(np.mean(kept)), unit="share", note=f"{sum(kept)} of {len(kept)}")
