"""From a painted drawing to a reading: which colours are carved, the outline, the report."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import compress

import cv2
import numpy as np

from artwork.curves import Contour, areas_of, sampled
from artwork.intake.colours import STANDS_OUT, WHITE, distance, grouped, hex_of
from artwork.intake.composing import compose, hides_nothing
from artwork.intake.marks import Area, Colour, Mark
from artwork.intake.page_edge import Box, on_page, painted_box, rectangle
from artwork.intake.paths import Matrix
from artwork.intake.raster import PICTURE_SIDE, check_size
from artwork.intake.values import Ink, Limits, Reading, Wishes
from artwork.outline import Outline
from artwork.refusal import Refusal
from artwork.remark import Remark, Severity

_WHOLE_GROUND = 0.98
"""A first mark covering this share of the page's width and height is its ground."""
_SPECK = 1e-4
"""Contours smaller than this share of the drawing's larger side, squared, are slivers: 0.06 mm on 600 mm."""

_SHOWN_WORDS = 60
"""Letters of a text without its font that a refusal repeats."""
_FINER = 4
"""The picture is filled this much larger and then reduced: OpenCV's own smoothing of edges is coarse."""
_MARGIN = 10


@dataclass(eq=False)
class Drawing:
    """What a drawing file was found to hold, y upwards.

    Attributes:
        marks: what it paints, in order.
        page: left, low, right, high of the page, where it has one.
        stated_mm: mm per drawing unit, where the file truly states it.
        remarks: what was noticed so far.
        counts: what was counted so far.
        pages: how many pages the file has.
        paper_carved: whether what nothing is painted on is carved.
        words: its text that could not be set, since its font is not there.
        unlike: boxes on the page, left, low, right, high, in which another program may draw something else.
    """

    marks: list[Mark] = field(default_factory=list)
    page: Box | None = None
    stated_mm: float | None = None
    remarks: list[Remark] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    pages: int = 1
    paper_carved: bool = False
    words: list[str] = field(default_factory=list)
    unlike: list[Box] = field(default_factory=list)

    def remark(self, code: str, message: str, severity: Severity = "warns", place: Box | None = None) -> None:
        """Notes something once."""
        if all(each.code != code for each in self.remarks):
            self.remarks.append(Remark(code, message, severity, place))

    def turn(self, degrees: int) -> None:
        """Turns the page by quarter turns, counter-clockwise."""
        quarter: Matrix = (0.0, 1.0, -1.0, 0.0, 0.0, 0.0)
        for _ in range(degrees // 90 % 4):
            self.marks = [mark.moved(quarter) for mark in self.marks]
            self.unlike = [(-high, left, -low, right) for left, low, right, high in self.unlike]
            if self.page is not None:
                left, low, right, high = self.page
                self.page = (-high, left, -low, right)


def finish(drawing: Drawing, kind: str, wishes: Wishes, limits: Limits) -> Reading:
    """The reading of a drawing. Refusal where it draws nothing or too much."""
    marks = drawing.marks
    if not marks:
        raise nothing_drawn(drawing.words)
    inks, carved = _chosen(drawing, wishes)
    contours, specks = _without_slivers(compose(*_on_page(drawing, carved)))
    if not contours:
        raise nothing_drawn(drawing.words)
    check_size(contours, limits)
    outline = Outline(contours, None, drawing.stated_mm)
    counts = {
        **drawing.counts,
        "marks": len(marks),
        "nodes-before": sum(len(mark.area.path.verbs) for mark in marks),
        "slivers-dropped": specks,
        "contours": len(contours),
        "nodes": outline.nodes,
    }
    return Reading(
        outline, "vector", kind, tuple(drawing.remarks), inks, counts, outline_picture(outline), drawing.pages
    )


def _on_page(drawing: Drawing, carved: list[bool]) -> tuple[list[Mark], list[bool]]:
    """The marks that show on the page, and whether each carves; what was cut is counted, and told with its place."""
    if drawing.page is None:
        return drawing.marks, carved
    found = on_page(drawing.marks, carved, drawing.page)
    drawing.counts |= {"beside-the-page": found.outside, "cut-at-the-edge": found.cut}
    if found.place is not None:
        drawing.remark(
            "cut-at-the-edge",
            "Part of the art runs over the edge of its page and was cut off there, as programs show it. If it "
            "should be carved whole, make the page larger than the art and export it again.",
            place=found.place,
        )
    return found.marks, found.carved


def nothing_drawn(words: list[str]) -> Refusal:
    """The file is sound and empty, or holds nothing but text whose font is not there."""
    if words:
        text = " ".join(" ".join(words).split())
        shown = text if len(text) <= _SHOWN_WORDS else text[:_SHOWN_WORDS].rstrip() + "…"
        return Refusal(
            "text-without-font",
            f"The drawing is text (“{shown}”), and its font is not in the file.",
            "We can set this text: order it as lettering and pick a typeface. For your own letters, turn the text "
            "into outlines (paths) in the program it was drawn in and export it again.",
        )
    return Refusal(
        "nothing-drawn",
        "The drawing holds no filled or stroked shape that could be carved.",
        "If the logo is text, turn the text into outlines and export again; if it is a picture inside the "
        "drawing, send that picture.",
    )


def _chosen(drawing: Drawing, wishes: Wishes) -> tuple[tuple[Ink, ...], list[bool]]:
    """The drawing's inks, and for each mark whether it carves."""
    marks = drawing.marks
    weights = [_box_area(mark) for mark in marks]
    colours, belongs = grouped([mark.colour for mark in marks], weights)
    ground, filled = _ground(drawing)
    chosen = [distance(colour, ground) >= _stands_out(wishes.shade) for colour in colours]
    if wishes.inks is not None:
        chosen = [i in wishes.inks for i in range(len(colours))]
    elif not any(chosen):
        chosen = [True] * len(colours)
        drawing.remark(
            "light-art", "All of the drawing is as light as its ground; all of it was taken.", "tells"
        )
    if wishes.invert:
        chosen = [not each for each in chosen]
        if not filled:
            drawing.marks, drawing.paper_carved = [_paper(drawing), *marks], True
            belongs, chosen = [len(colours), *belongs], [*chosen, True]
    total = sum(weights) or 1.0
    shares = [0.0] * (len(colours) + 1)
    for ink, weight in zip(belongs[-len(marks) :], weights, strict=True):
        shares[ink] += weight / total
    inks = tuple(Ink(hex_of(c), shares[i], chosen[i]) for i, c in enumerate(colours))
    return inks, [chosen[i] for i in belongs]


def _stands_out(shade: int) -> float:
    """Darker takes fainter colours as art too."""
    return STANDS_OUT * 2.0**-shade


def _ground(drawing: Drawing) -> tuple[Colour, bool]:
    """The colour of a first mark that fills the page, and whether there is one; else white."""
    first = drawing.marks[0]
    left, low, right, high = first.area.path.box
    clipped = any(not hides_nothing(clip, first.area.path) for clip in first.clips)
    if len(drawing.marks) == 1 or clipped:
        return WHITE, False
    page = _page(drawing)
    slack = [(1 - _WHOLE_GROUND) * (page[at + 2] - page[at]) / 2 for at in (0, 1)]
    fills = (
        left <= page[0] + slack[0]
        and low <= page[1] + slack[1]
        and right >= page[2] - slack[0]
        and high >= page[3] - slack[1]
    )
    area = abs(sum(contour.area for contour in first.area.path.contours()))
    upright = area >= _WHOLE_GROUND * (right - left) * (high - low)
    return (first.colour, True) if fills and upright else (WHITE, False)


def _page(drawing: Drawing) -> Box:
    """The file's page, or the box around all that is painted."""
    if drawing.page is not None:
        return drawing.page
    boxes = np.array([mark.area.path.box for mark in drawing.marks])
    left, low = boxes[:, :2].min(axis=0).tolist()
    right, high = boxes[:, 2:].max(axis=0).tolist()
    return left, low, right, high


def _paper(drawing: Drawing) -> Mark:
    """A mark behind all others, as large as the page."""
    return Mark(Area(rectangle(_page(drawing))), WHITE)


def _box_area(mark: Mark) -> float:
    left, low, right, high = painted_box(mark)
    return max(right - left, 0.0) * max(high - low, 0.0)


def _without_slivers(contours: tuple[Contour, ...]) -> tuple[tuple[Contour, ...], int]:
    """Contours too small to be seen at any size are left out; how many is counted."""
    if not contours:
        return (), 0
    side = max(Outline(contours).size)
    large = np.abs(areas_of(contours)) > (_SPECK * side) ** 2
    return tuple(compress(contours, large)), int((~large).sum())


def outline_picture(outline: Outline) -> bytes:
    """PNG of the outline, black on white, longer side at most :data:`PICTURE_SIDE`."""
    left, low, right, high = outline.bounds
    scale = _FINER * (PICTURE_SIDE - 2 * _MARGIN) / max(right - left, high - low)
    edge = _FINER * _MARGIN
    width, height = (max(1, round(side * scale)) + 2 * edge for side in (right - left, high - low))
    samples = sampled(outline.contours, 0.3 / scale)
    points = (samples.points - (left, low)) * scale + edge
    points[:, 1] = height - points[:, 1]
    rings = np.split(np.round(points).astype(np.int32), samples.starts[1:-1])
    sheet = np.full((height, width), 255, np.uint8)
    cv2.fillPoly(sheet, rings, 0)
    size = (-(-width // _FINER), -(-height // _FINER))
    done, encoded = cv2.imencode(".png", cv2.resize(sheet, size, interpolation=cv2.INTER_AREA))
    if not done:
        raise RuntimeError("the picture of the outline could not be encoded")
    return bytes(encoded)
