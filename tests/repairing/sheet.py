"""The sheet of repairs: sent, as carved, repaired, what changed; and the figures (``python -m tests.repairing.sheet``).

    python -m tests.repairing.sheet --slat wide --pieces 100 --out DIR [--only WORDS]

Each page is looked at by a person; the verdicts are kept in ``bench/repair-verdicts.tsv``.
"""

from __future__ import annotations

import argparse
import csv
import json
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from artwork.axis import Anatomy, study
from artwork.curves import Contour, bounds_of
from artwork.cut import Cut
from artwork.errors import EngineError
from artwork.findings import Check, check
from artwork.outline import Outline
from artwork.placing import largest_fit
from artwork.repair import (
    AS_PLACED,
    OTHERWISE,
    Answer,
    Budget,
    Repair,
    foremost,
    much_larger_turned,
    repairs,
)
from artwork.shapes import polygonal
from artwork.workpiece import Slat
from seeds.shop import load
from tests.judging import judge
from tests.repairing.pieces import Piece, pieces

SHOP = load()
SLATS = {
    "wide": ("fernhollow-chair", "back-centre"),
    "narrow": ("fernhollow-chair", "back-outer-left"),
    "rail": ("longwalk-bench", "back-rail"),
}
VERDICTS = Path(__file__).parents[2] / "bench" / "repair-verdicts.tsv"
MIX = np.array([80, 110, 70, 40, 30])
WIDTH, ROWS = 380, 8
WHITE, BLACK, STAYS, GONE, NEW, STOPS = 255, 0, (160, 160, 160), (40, 40, 230), (200, 120, 0), (30, 30, 220)


@dataclass(frozen=True, eq=False)
class Tried:
    """One piece that stops, and what is offered for it.

    Attributes:
        seconds, first: of a processor, until all versions and until the first one is known.
        lost: versions in which the fine judge finds a loss.
    """

    piece: Piece
    cut: Cut
    check: Check
    answer: Answer
    seconds: float
    first: float
    lost: tuple[str, ...] = ()


def slat(name: str) -> Slat:
    model, key = SLATS[name]
    return SHOP.model(model).slat(key)


def laid(outline: Outline, on: Slat) -> Cut:
    """An outline at its largest fit, with the shop's usual bit. EngineError."""
    return Cut(outline, on, largest_fit(outline, on, SHOP.allowances), SHOP.bits[0], SHOP.allowances)


def verdicts() -> dict[tuple[str, str, str], str]:
    """What was seen on the sheets: ``yes``, ``no`` or ``-`` by slat, piece and way."""
    with VERDICTS.open(newline="", encoding="utf-8") as file:
        return {
            (row["slat"], row["piece"], row["way"]): row["still_the_logo"]
            for row in csv.DictReader(file, delimiter="\t")
        }


def chosen(count: int) -> list[Piece]:
    """So many pieces in the mix of the whole list."""
    counts = np.maximum(np.rint(MIX * count / MIX.sum()), 1).astype(int).tolist()
    return pieces(*counts)


def tried(
    found: Iterable[Piece], on: Slat, seconds: float = 17.0, *, finely: bool = False
) -> Iterable[Tried]:
    """Every piece that stops at its largest fit; ``finely``: the first version goes before the fine judge too."""
    for piece in found:
        outline = piece.make()
        if outline is None:
            continue
        try:
            placed = laid(outline, on)
        except EngineError:
            continue
        anatomy = study(outline)
        before = check(placed, anatomy)
        if before.verdict != "will-not-carve":
            continue
        answer, first, took = _in_steps(placed, anatomy, before, seconds)
        lost = tuple(each.way for each in answer.repairs[:1] if not judge(each.cut).whole) if finely else ()
        yield Tried(piece, placed, before, answer, took, first, lost)


def _in_steps(placed: Cut, anatomy: Anatomy, before: Check, seconds: float) -> tuple[Answer, float, float]:
    """What is offered, found step by step as the service does; processor seconds to the first and to all."""
    start = time.thread_time()
    width, height = before.figures.width, before.figures.height
    every: list[Repair] = []
    enough, first, spent = False, 0.0, 0.0
    otherwise = OTHERWISE
    if much_larger_turned(width, height, placed.slat):
        turned = repairs(placed, anatomy, (), Budget(seconds), {"turned"})
        every, enough, otherwise = [*turned.repairs], turned.enough, OTHERWISE - {"turned"}
        spent = time.thread_time() - start
        first = spent if every else 0.0
    answer = repairs(placed, anatomy, (), Budget(seconds), AS_PLACED)
    every += answer.repairs
    if every and not first:
        first = time.thread_time() - start
    if not (enough or answer.enough):
        answer = repairs(placed, anatomy, SHOP.bits, Budget(seconds, spent), otherwise)
        every += answer.repairs
    took = time.thread_time() - start
    ranked = sorted(every, key=lambda each: each.cost)
    offered = foremost(ranked, lambda repair: repair.way == "as-placed")
    return Answer(offered, None if every else answer.reason), first or took, took


def figures(found: Sequence[Tried]) -> dict[str, object]:
    """Shares and processor times."""
    if not found:
        return {"stopped": 0}
    seconds = np.array([each.seconds for each in found])
    ways = [[repair.way for repair in each.answer.repairs] for each in found]
    first = [each.answer.repairs[0] for each in found if each.answer.repairs]
    return {
        "stopped": len(found),
        "with a version": round(sum(map(bool, ways)) / len(found), 3),
        "with the present bit, as placed": round(sum("as-placed" in way for way in ways) / len(found), 3),
        "first versions in which the fine judge finds a loss": [
            each.piece.name for each in found if each.lost
        ],
        "seconds to the first, median / 95 % / worst": np.percentile(
            [each.first for each in found if each.answer.repairs] or [0], [50, 95, 100]
        )
        .round(2)
        .tolist(),
        "seconds for all, median / 95 % / worst": np.percentile(seconds, [50, 95, 100]).round(2).tolist(),
        "farthest boundary moved, median mm": round(
            float(np.median([each.farthest_mm for each in first] or [0])), 2
        ),
        "by group": {
            group: [
                sum(bool(each.answer.repairs) for each in found if each.piece.group == group),
                sum(each.piece.group == group for each in found),
            ]
            for group in sorted({each.piece.group for each in found})
        },
    }


def _drawn(contours: Sequence[Contour], box: tuple[float, float, float, float], unit: float) -> np.ndarray:
    left, low, right, high = box
    grid = np.zeros((int((high - low) * unit * 2) + 2, int((right - left) * unit * 2) + 2), np.uint8)
    rings = [np.rint((each.polyline(0.03) - (left, low)) * unit * 32).astype(np.int32) for each in contours]
    cv2.fillPoly(grid, rings, WHITE, cv2.LINE_8, 4)
    return np.asarray(cv2.resize(grid, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA))[::-1]


def row(each: Tried) -> np.ndarray:
    """Sent; where it stops; the first version; what it changes."""
    before = each.cut.placed().contours
    offered = each.answer.repairs[:1]
    after = offered[0].cut.placed().contours if offered else ()
    pictures = []
    for contours in (before, before, after, after):
        box = bounds_of(contours) if contours else bounds_of(before)
        if contours is after and contours and offered[0].way in {"as-placed", "finer-bit"}:
            box = bounds_of((*before, *after))
        unit = WIDTH / max(box[2] - box[0], box[3] - box[1])
        picture = cv2.cvtColor(WHITE - _drawn(contours, box, unit), cv2.COLOR_GRAY2BGR)
        if len(pictures) == 1:
            picture = _stops(picture, each.check, box, unit)
        if len(pictures) == 3 and offered and offered[0].way in {"as-placed", "finer-bit"}:
            picture = _changed(_drawn(before, box, unit) > 127, _drawn(after, box, unit) > 127)
        pictures.append(picture)
    said = offered[0].sentence if offered else each.answer.reason.sentence if each.answer.reason else ""
    way = f"{offered[0].way}, likeness {offered[0].likeness.least:.2f}" if offered else "nothing offered"
    high = max(picture.shape[0] for picture in pictures)
    sheet = np.full((high + 40, 4 * (WIDTH + 16), 3), WHITE, np.uint8)
    for at, picture in enumerate(pictures):
        sheet[40 : 40 + picture.shape[0], at * (WIDTH + 16) : at * (WIDTH + 16) + picture.shape[1]] = picture
    for line, text in enumerate((f"{each.piece.name}: {way}, {each.seconds:.1f} s", said)):
        cv2.putText(
            sheet, text[:210], (4, 15 + 17 * line), cv2.FONT_HERSHEY_SIMPLEX, 0.42, (0, 0, 0), 1, cv2.LINE_AA
        )
    return sheet


def _stops(
    picture: np.ndarray, judged: Check, box: tuple[float, float, float, float], unit: float
) -> np.ndarray:
    for finding in judged.findings:
        if finding.severity == "stops":
            for part in polygonal(finding.place.buffer(0.35)).geoms:
                ring = (np.asarray(part.exterior.coords) - box[:2]) * unit
                ring[:, 1] = picture.shape[0] - ring[:, 1]
                cv2.polylines(picture, [np.rint(ring).astype(np.int32)], True, STOPS, 1)
    return picture


def _changed(before: np.ndarray, after: np.ndarray) -> np.ndarray:
    picture = np.full((*before.shape, 3), WHITE, np.uint8)
    picture[before & after], picture[before & ~after], picture[~before & after] = STAYS, GONE, NEW
    return picture


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--slat", choices=sorted(SLATS), default="wide")
    parser.add_argument("--pieces", type=int, default=100)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--only", nargs="*", default=())
    parser.add_argument("--finely", action="store_true")
    asked = parser.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    wanted = [p for p in chosen(asked.pieces) if not asked.only or any(word in p.name for word in asked.only)]
    found, rows = [], []
    for each in tried(wanted, slat(asked.slat), finely=asked.finely):
        found.append(each)
        rows.append(row(each))
        print(f"{each.piece.name}\t{[r.way for r in each.answer.repairs]}\t{each.seconds:.2f}", flush=True)  # noqa: T201
        if len(rows) % ROWS == 0:
            _page(asked.out / f"{asked.slat}-{len(rows) // ROWS:02d}.png", rows[-ROWS:])
    if len(rows) % ROWS:
        _page(asked.out / f"{asked.slat}-{len(rows) // ROWS + 1:02d}.png", rows[-(len(rows) % ROWS) :])
    told = figures(found)
    (asked.out / f"{asked.slat}.json").write_text(json.dumps(told, indent=1))
    print(json.dumps(told, indent=1))  # noqa: T201


def _page(path: Path, rows: Sequence[np.ndarray]) -> None:
    cv2.imwrite(str(path), np.vstack(rows))


if __name__ == "__main__":
    main()
