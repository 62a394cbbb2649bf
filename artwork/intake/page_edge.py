"""Art that runs over the page: what is on it is taken, as every program shows it; what was cut off is told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce

from artwork.intake.marks import Area, Mark
from artwork.intake.paths import Builder, Path

Box = tuple[float, float, float, float]
"""Left, low, right, high."""
_OVER = 0.005
"""Art that runs over the page's edge by more than this share of its larger side has lost something."""
_NEGLIGIBLE = 1e-4
"""Art that runs over by less than this share is left whole: programs round coordinates by as much."""


@dataclass(frozen=True, eq=False)
class OnPage:
    """What is left of a drawing's marks on its page.

    Attributes:
        marks, carved: those that show on it, cut at its edge, and whether each carves.
        outside: how many lay wholly beside it.
        cut: how many of those that carve run over its edge.
        place: the box around what was cut of these, before cutting; ``None`` where nothing was.
    """

    marks: list[Mark]
    carved: list[bool]
    outside: int
    cut: int
    place: Box | None


def on_page(marks: list[Mark], carved: list[bool], page: Box) -> OnPage:
    """The marks cut at the edge of a page. A mark that covers all of the page is its ground, with or without bleed."""
    edge = (Area(rectangle(page)),)
    side = max(page[2] - page[0], page[3] - page[1])
    allowed = _OVER * side
    shown: list[Mark] = []
    kept: list[bool] = []
    over: list[Box] = []
    for mark, carves in zip(marks, carved, strict=True):
        box = painted_box(mark)
        if not _meet(box, page):
            continue
        whole = _within(box, page, 0.0) or _within(box := curve_box(mark), page, _NEGLIGIBLE * side)
        shown.append(mark if whole else replace(mark, clips=(*mark.clips, edge)))
        kept.append(carves)
        if carves and not _within(box, page, allowed) and not _within(page, box, 0.0):
            over.append(box)
    return OnPage(shown, kept, len(marks) - len(shown), len(over), reduce(_around, over) if over else None)


def rectangle(box: Box) -> Path:
    """An upright rectangle as a path."""
    builder = Builder()
    builder.rectangle(box[0], box[1], box[2] - box[0], box[3] - box[1])
    return builder.path()


def painted_box(mark: Mark) -> Box:
    """A box around a mark, control points of its curves with it, within those around its clips."""
    return _clipped(
        mark.area.path.box, [[a.path.box for a in clip if not a.path.empty] for clip in mark.clips]
    )


def curve_box(mark: Mark) -> Box:
    """The box around a mark's curves themselves, within those around its clips'."""
    clips = [[area.path.curve_box for area in clip if not area.path.empty] for clip in mark.clips]
    return _clipped(mark.area.path.curve_box, clips)


def _clipped(box: Box, clips: list[list[Box]]) -> Box:
    for boxes in clips:
        if boxes:
            box = _common(box, reduce(_around, boxes))
    return box


def _common(a: Box, b: Box) -> Box:
    return max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3])


def _around(a: Box, b: Box) -> Box:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


def _meet(a: Box, b: Box) -> bool:
    left, low, right, high = _common(a, b)
    return left <= right and low <= high


def _within(inner: Box, outer: Box, allowed: float) -> bool:
    return all(
        (o - i if at < 2 else i - o) <= allowed for at, (i, o) in enumerate(zip(inner, outer, strict=True))
    )
