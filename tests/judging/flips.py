"""Varied art at the size where the engine's verdict flips, held against the judge on its grid.

Icons of four sets, typefaces, clip art of the public domain and drawn shapes; upright, turned, mirrored, beside
edges, on tapered and arched slats. Each is brought to the least size at which no line and no land stops.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from shapely import Point

from artwork.axis import study
from artwork.axis.anatomy import Anatomy
from artwork.cut import Cut, Placement
from artwork.errors import EngineError
from artwork.findings import Check, check
from artwork.intake import read_artwork
from artwork.outline import Outline
from artwork.slat_shape import SlatFigures, slat_outline
from artwork.workpiece import Allowances, Bit, Slat
from tests.artwork.drawn import board
from tests.artwork.findings.random_art import blob, strokes
from tests.judging.ground import Ground
from tests.published.corpus import glyph, icons, outline_of

CLIPART = Path("/usr/share/openclipart/svg")
LARGEST = 32.0
"""Longer side of what is judged, mm."""
SMALLEST = 4.0
FINEST = 0.004
"""Share to which the engine's flip is found."""
JUDGED = ("line", "vanishing", "land", "counter", "tip", "land-tip", "round-over")
ENDS = ("tip", "land-tip", "touching", "round-over", "line", "land")
LEEWAY = 0.95
"""Ways over pixels are up to this much too long."""
CONTACT = 2.0
"""A loss so near to where shapes meet, mm, is that place."""
GRANTED = 0.005
"""Share by which the judge's grid may be off."""
LETTERS = "abdeghkmnopqrstwABDEGHKMNPRSTW2345689&"


@dataclass(frozen=True)
class Case:
    """One cut, at the least size at which the engine stops no line and no land.

    Attributes:
        kind: of art and place.
        before: what stops just below.
    """

    number: int
    kind: str
    cut: Cut
    found: Check
    before: frozenset[str]

    @property
    def turned(self) -> bool:
        return self.cut.placement.rotation_deg % 90 != 0


@dataclass(frozen=True)
class Held:
    """A case held against the judge.

    Attributes:
        size: the engine's flip as a share of the judge's; ``None`` where the judge has none nearby.
        unsafe: something is lost that the engine did not tell.
        of: ``"line"`` or ``"land"``, whichever stopped below.
    """

    case: Case
    size: float | None
    unsafe: str
    of: str


@cache
def clipart() -> list[Path]:
    """Flat drawings of the public domain, the same ones each time."""
    files = sorted(path for path in CLIPART.rglob("*.svg") if path.stat().st_size < 25_000)
    chosen = np.random.default_rng(7).permutation(len(files))[:400]
    return [files[i] for i in chosen]


def _drawing(random: np.random.Generator) -> Outline | None:
    path = clipart()[random.integers(len(clipart()))]
    try:
        return read_artwork(path.read_bytes(), path.name).outline
    except EngineError:
        return None


def _letter(random: np.random.Generator) -> Outline:
    font = str(random.choice(["inter", "lobster", "great-vibes"]))
    return glyph(font, str(random.choice(list(LETTERS))))


def _icon(random: np.random.Generator) -> Outline | None:
    return outline_of(icons(800)[random.integers(800)])


MAKERS = {"icon": _icon, "letter": _letter, "clip art": _drawing, "strokes": strokes, "blob": blob}
PLACES = ("flat", "turned", "mirrored", "edge", "tapered", "arched")


def _slat(place: str) -> Slat:
    if place == "tapered":
        return board(outline=slat_outline(SlatFigures(150.0, 400.0, foot_width=110.0)))
    if place == "arched":
        return board(outline=slat_outline(SlatFigures(160.0, 300.0, top_rise=25.0)))
    return board(width=300.0)


def _placement(place: str, random: np.random.Generator, outline: Outline, side: float) -> Placement:
    scale = side / max(outline.size)
    turn = float(random.choice([0.0, 90.0, random.uniform(0, 360)])) if place != "flat" else 0.0
    x, y = 0.0, 200.0
    if place == "edge":
        x = -150.0 + side / 2 + random.uniform(2.0, 8.0)
    elif place == "tapered":
        x = -65.0 + side / 2 + random.uniform(2.0, 8.0)
    elif place == "arched":
        y = 300.0 - side / 2 - random.uniform(4.0, 14.0)
    return Placement(x, y, scale, turn, place == "mirrored")


def cases(count: int, first: int = 0) -> Iterator[Case]:
    """So many cases, the same on every machine.

    Passed over is art that flips at no size between the bounds, or that then lies beside the slat: that is refused.
    """
    number = first
    while count:
        case = _case(number)
        number += 1
        if case is not None:
            count -= 1
            yield case


def _case(number: int) -> Case | None:
    random = np.random.default_rng([15, number])
    art = list(MAKERS)[number % len(MAKERS)]
    place = PLACES[(number // len(MAKERS)) % len(PLACES)]
    outline = MAKERS[art](random)
    if outline is None or len(outline.contours) > 60:
        return None
    anatomy = study(outline)
    shop = replace(Allowances(), edge_margin=0.0, end_margin=0.0)
    where = _placement(place, random, outline, 20.0)
    cut = Cut(outline, _slat(place), where, Bit("v60"), shop)
    flip = _flip(cut, anatomy)
    if flip is None:
        return None
    at, below = flip
    before = frozenset(f.kind for f in check(below, anatomy).findings if f.severity == "stops")
    found = check(at, anatomy)
    if any(each.kind == "off-slat" for each in found.findings):
        return None
    return Case(number, f"{art}, {place}", at, found, before)


def stops(cut: Cut, anatomy: Anatomy) -> bool:
    """Whether a line or a land stops it."""
    found = check(cut, anatomy).findings
    return any(each.severity == "stops" and each.kind in JUDGED for each in found)


def sized(cut: Cut, scale: float) -> Cut:
    return replace(cut, placement=replace(cut.placement, scale=scale))


def _flip(cut: Cut, anatomy: Anatomy) -> tuple[Cut, Cut] | None:
    side = max(cut.outline.size)
    low, high = SMALLEST / side, LARGEST / side
    tried = np.geomspace(low, high, 14)
    good = next((i for i, scale in enumerate(tried) if not stops(sized(cut, scale), anatomy)), None)
    if not good:
        return None
    low, high = tried[good - 1], tried[good]
    while high / low > 1 + FINEST:
        middle = float(np.sqrt(low * high))
        low, high = (middle, high) if stops(sized(cut, middle), anatomy) else (low, middle)
    return sized(cut, float(high)), sized(cut, float(low))


def held(case: Case) -> Held:
    """The case against the judge."""
    of = "line" if case.before & {"line", "vanishing", "tip", "round-over"} else "land"
    ground = Ground(case.cut, sizes=(0.85, 1.18))
    unsafe = _unsafe(case, ground)
    if ground.by_edge:
        return Held(case, _by_edge(case, of), unsafe, of)
    flip = ground.flip(0.97 if of == "line" else 0.95)
    return Held(case, None if flip is None else 1 / flip, unsafe, of)


def _by_edge(case: Case, of: str) -> float | None:
    """There a size changes the place as well: whole at the engine's flip, and not whole a little below."""
    share = 0.97 if of == "line" else 0.95
    smaller = sized(case.cut, case.cut.placement.scale * share)
    return 1.0 if not Ground(smaller, sizes=(0.9, 1.12)).whole() else 1 / share


def _unsafe(case: Case, ground: Ground) -> str:
    """What is lost and was not told, in words: an end is told by its length, a contact by its place."""
    told = max((f.length or 0.0 for f in case.found.findings if f.kind in ENDS), default=0.0)
    contacts = [f.place for f in case.found.findings if f.kind == "touching"]
    untold = []
    for loss in ground.unforgiven(share=-GRANTED):
        told_end = loss.what == "shortened" and LEEWAY * loss.length <= told
        near = any(place.distance(Point(loss.place)) < loss.length + CONTACT for place in contacts)
        if not told_end and not near:
            untold.append(f"{loss.what} {loss.width:.3f} over {loss.length:.2f} at {loss.place}")
    return "; ".join(untold)
