"""From a painted drawing to a reading: which colours are carved, the outline, the report."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import compress

import cv2
import numpy as np

from artwork.curves import Contour, areas_of, sampled
from artwork.errors import EngineError
from artwork.intake.colour_words import read_sentence
from artwork.intake.colours import (
    SAME_INK,
    STANDS_OUT,
    WHITE,
    distance,
    grouped,
    hex_of,
    oklab,
    rgb_of,
)
from artwork.intake.composing import compose, hides_nothing
from artwork.intake.looks import LINE, SIDE, Art, Judged, Look, offered
from artwork.intake.marks import BLACK, Area, Colour, Mark
from artwork.intake.page_edge import Box, OnPage, on_page, painted_box, rectangle
from artwork.intake.paths import Matrix, of_contours
from artwork.intake.raster import check_size, choices_of
from artwork.intake.separation import Inks, labels
from artwork.intake.stroking import Stroke, stroked
from artwork.intake.thumbnails import PICTURE_SIDE
from artwork.intake.values import Crop, Ink, Limits, Reading, Wishes
from artwork.outline import Outline
from artwork.remark import FileWarning, Severity

Pixels = cv2.typing.MatLike

_WHOLE_GROUND = 0.98
"""A first mark covering this share of the page's width and height is its ground."""
_SPECK = 1e-4
"""Contours smaller than this share of the drawing's larger side, squared, are slivers: 0.06 mm on 600 mm."""

_SHOWN_WORDS = 60
"""Letters of a text without its font that a refusal repeats."""
_FINER = 2
"""The picture is filled this much larger and then reduced: OpenCV's own smoothing of edges is coarse."""
MOST_INKS = 10
"""A drawing of more inks than this is shaded: it is looked at as a picture."""
_MARGIN = 10
_FAINT = 12
"""Levels by which a pixel of the page must differ from its ground to belong to the art."""


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
        inks: which ink each mark has, once they were told apart.
        ground_ink: which of them has the ground's colour, if any.
        words: its text that could not be set, since its font is not there.
        look: how its colours are shown, once that is chosen.
        looks: those to choose from.
        unlike: boxes on the page, left, low, right, high, in which another program may draw something else.
    """

    marks: list[Mark] = field(default_factory=list)
    page: Box | None = None
    stated_mm: float | None = None
    remarks: list[FileWarning] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    pages: int = 1
    paper_carved: bool = False
    inks: list[int] = field(default_factory=list)
    ground_ink: int | None = None
    words: list[str] = field(default_factory=list)
    look: Look | None = None
    looks: tuple[Judged, ...] = ()
    unlike: list[Box] = field(default_factory=list)

    def remark(self, code: str, message: str, severity: Severity = "warns", place: Box | None = None) -> None:
        """Notes something once."""
        if all(each.code != code for each in self.remarks):
            self.remarks.append(FileWarning(code, message, severity, place))

    def show_only(self, crop: Crop | None) -> None:
        """Makes the page smaller: the part of it that is read."""
        if crop is None or self.page is None:
            return
        left, low, right, high = self.page
        wide, tall = right - left, high - low
        self.page = (
            left + crop[0] * wide,
            high - crop[3] * tall,
            left + crop[2] * wide,
            high - crop[1] * tall,
        )
        self.marks = [mark for mark in self.marks if _meets(painted_box(mark), self.page)]

    def look_beside_the_page(self) -> None:
        """Takes art that lies beside its page, all of it: no program shows it, and somebody drew it."""
        if self.page is None or not self.marks:
            return
        page = self.page
        if not any(_meets(painted_box(mark), page) for mark in self.marks):
            self.page = None
            self.remark(
                "all-beside-the-page",
                "All of the drawing lies beside its page, where no program shows it; it was taken from there. "
                "Is it what you meant to send?",
            )

    def turn(self, degrees: int) -> None:
        """Turns the page by quarter turns, counter-clockwise."""
        quarter: Matrix = (0.0, 1.0, -1.0, 0.0, 0.0, 0.0)
        for _ in range(degrees // 90 % 4):
            self.marks = [mark.moved(quarter) for mark in self.marks]
            self.unlike = [(-high, left, -low, right) for left, low, right, high in self.unlike]
            if self.page is not None:
                left, low, right, high = self.page
                self.page = (-high, left, -low, right)


def _meets(box: Box, page: Box) -> bool:
    return box[0] < page[2] and page[0] < box[2] and box[1] < page[3] and page[1] < box[3]


def finish(
    drawing: Drawing, kind: str, wishes: Wishes, limits: Limits, picture: Pixels | None = None
) -> Reading:
    """The reading of a drawing, carved colours merged where they meet. EngineError where it draws nothing or too much.

    Args:
        picture: (h, w, 3) uint8, the page as another program draws it; without one all colours that stand out are
            carved, and no others are offered.
    """
    marks = drawing.marks
    if not marks:
        raise nothing_drawn(drawing.words)
    inks, carved, looks = _chosen(drawing, wishes, picture)
    contours, specks = _without_slivers(compose(*_told_on_page(drawing, carved)))
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
    way = None if drawing.look is None else drawing.look.way
    return Reading(
        outline,
        "vector",
        kind,
        tuple(drawing.remarks),
        inks,
        counts,
        outline_picture(outline),
        drawing.pages,
        read_sentence(inks, way, drawing.ground_ink),
        choices_of(looks, inks, way, wishes),
    )


def parted(reading: Reading, drawing: Drawing) -> Reading:
    """A reading with a line of wood where two carved colours meet; it is taken from the lighter of the two."""
    owners = drawing.inks
    carved = [at for at, ink in enumerate(reading.inks) if ink.carved]
    lightness = oklab(np.array([rgb_of(ink.colour) for ink in reading.inks]))[:, 0]
    width = 2 * LINE * max(reading.outline.size)
    layers: list[Mark] = []
    flags: list[bool] = []
    for ink in sorted(carved, key=lambda at: -lightness[at]):
        page = _on_its_page(drawing, [owner == ink for owner in owners])
        region = of_contours(compose(page.marks, page.carved))
        if region.empty:
            continue
        around = stroked(region, Stroke(width, join="round"), drawing_side=max(reading.outline.size))
        layers += [Mark(around, WHITE), Mark(Area(region), BLACK)]
        flags += [False, True]
    contours, _ = _without_slivers(compose(layers, flags))
    if not contours:
        raise nothing_drawn(drawing.words)
    outline = replace(reading.outline, contours=contours)
    return replace(reading, outline=outline, picture=outline_picture(outline))


def _told_on_page(drawing: Drawing, carved: list[bool]) -> tuple[list[Mark], list[bool]]:
    """As :func:`_on_its_page`; what was cut is counted, and told with its place."""
    found = _on_its_page(drawing, carved)
    if drawing.page is not None:
        drawing.counts |= {"beside-the-page": found.outside, "cut-at-the-edge": found.cut}
    if found.place is not None:
        drawing.remark(
            "cut-at-the-edge",
            "Part of the art runs over the edge of its page and was cut off there, as programs show it. If it "
            "should be carved whole, make the page larger than the art and export it again.",
            place=found.place,
        )
    return found.marks, found.carved


def _on_its_page(drawing: Drawing, carved: list[bool]) -> OnPage:
    """The marks that show on the page, and whether each carves."""
    if drawing.page is None:
        return OnPage(drawing.marks, carved, 0, 0, None)
    return on_page(drawing.marks, carved, drawing.page)


def nothing_drawn(words: list[str]) -> EngineError:
    """The file is sound and empty, or holds nothing but text whose font is not there."""
    if words:
        text = " ".join(" ".join(words).split())
        shown = text if len(text) <= _SHOWN_WORDS else text[:_SHOWN_WORDS].rstrip() + "…"
        return EngineError(
            "text-without-font",
            f"The drawing is text (“{shown}”), and its font is not in the file.",
            "We can set this text: order it as lettering and pick a typeface. For your own letters, turn the text "
            "into outlines (paths) in the program it was drawn in and export it again.",
        )
    return EngineError(
        "nothing-drawn",
        "The drawing holds no filled or stroked shape that could be carved.",
        "If the logo is text, turn the text into outlines and export again; if it is a picture inside the "
        "drawing, send that picture.",
    )


def _chosen(
    drawing: Drawing, wishes: Wishes, picture: Pixels | None
) -> tuple[tuple[Ink, ...], list[bool], list[Judged]]:
    """The drawing's inks, for each mark whether it carves, and the looks to choose from."""
    marks = drawing.marks
    weights = [_box_area(mark) for mark in marks]
    colours, belongs = grouped([mark.colour for mark in marks], weights)
    ground, filled = _ground(drawing)
    chosen = [distance(colour, ground) >= _stands_out(wishes.shade) for colour in colours]
    drawing.inks = belongs
    drawing.ground_ink = next((at for at, c in enumerate(colours) if distance(c, ground) < SAME_INK), None)
    looks: list[Judged] = []
    faint = SAME_INK if sum(chosen) < 2 else _stands_out(wishes.shade)
    if wishes.inks is not None:
        chosen = [i in wishes.inks for i in range(len(colours))]
    plain = picture is not None and not wishes.invert and not wishes.shade
    seen = [at for at, colour in enumerate(colours) if distance(colour, ground) >= faint]
    if plain and picture is not None and len(seen) > 1 and len(colours) <= MOST_INKS:
        wished = Look(wishes.way or "solid", tuple(at for at, each in enumerate(chosen) if each))
        given = wishes.inks is not None or wishes.way is not None
        looks = offered(_small(picture, colours, ground), wished if given else None)
        drawing.looks = tuple(looks)
        drawing.look = wished if given or not looks else looks[0].look
        if drawing.look.inks or drawing.look.way != "drawn":
            chosen = [at in drawing.look.inks for at in range(len(colours))]
    if wishes.inks is None and not any(chosen):
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
    return inks, [chosen[i] for i in belongs], looks


def _small(picture: Pixels, colours: list[Colour], ground: Colour) -> Art:
    """The drawing's page as looks are tried on it: its inks, and its ground as one of them, or as one more."""
    inks, least = _palette(colours, ground)
    away = (
        np.abs(np.asarray(picture).astype(np.int16) - np.round(255 * np.array(ground))).max(axis=2) > _FAINT
    )
    left, top, width, height = cv2.boundingRect(away.astype(np.uint8))
    if width:
        margin = _MARGIN // 2
        picture = np.asarray(picture)[max(0, top - margin) : top + height + margin, max(0, left - margin) :]
        picture = picture[:, : width + 2 * margin]
    scale = min(1.0, SIDE / max(picture.shape[:2]))
    size = (max(1, round(picture.shape[1] * scale)), max(1, round(picture.shape[0] * scale)))
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    return Art(small, labels(small, inks, 0.0), inks.colours, least)


def palette_of(drawing: Drawing, colours: list[Colour]) -> tuple[Inks, int]:
    """The drawing's inks, its ground as one of them or as one more, and which that is."""
    return _palette(colours, _ground(drawing)[0])


def _palette(colours: list[Colour], ground: Colour) -> tuple[Inks, int]:
    near = [at for at, colour in enumerate(colours) if distance(colour, ground) < SAME_INK]
    palette = np.array(colours if near else [*colours, ground])
    return Inks(palette, np.zeros(len(palette))), near[0] if near else len(colours)


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
