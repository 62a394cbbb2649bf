"""A cure carried out by hand: every number in its sentence typed in, in millimetres or in inches.

Nothing of the proposed cut is used but its words; what is read out of them is what a person would do.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from artwork.axis import study
from artwork.cut import Cut
from artwork.outline import Outline
from artwork.placing import largest_fit
from artwork.remedies import Remedy
from artwork.remedies.reshaping import background, losses, outline_only, thickened, without
from artwork.remedies.search import PANEL_MARGIN
from artwork.scene import Scene
from artwork.workpiece import Bit, Slat

LENGTH = r"([\d.]+) mm \(([^)]*) in\)"
UNITS = ("mm", "in")
ENTRY = 0.01
"""What a form that reckons from a width shown to 0.01 may lose, mm."""


@dataclass(frozen=True)
class Number:
    """One length of a sentence: what it is about, and its two readings, mm."""

    what: str
    mm: float
    inches: float

    def read(self, unit: str) -> float:
        return self.mm if unit == "mm" else self.inches * 25.4


def inches(words: str) -> float:
    return float(sum(Fraction(part) for part in words.split()))


def numbers(sentence: str) -> dict[str, Number]:
    """Every length that a sentence tells people to set."""
    patterns = {
        "width": rf"(?:Make it|make it|,) {LENGTH} wide",
        "widest": rf"up to {LENGTH} wide",
        "gain": rf"(?:Thicken|thicken|Thin|thin) all its lines by {LENGTH}",
        "line": rf"as a line {LENGTH} wide",
    }
    found = {}
    for what, pattern in patterns.items():
        match = re.search(pattern, sentence)
        if match:
            found[what] = Number(what, float(match[1]), inches(match[2]))
    return found


def width_of(cut: Cut) -> float:
    """Width of the art as it lies, at scale 1, from the curves themselves."""
    matrix = replace(cut.placement, scale=1.0).matrix
    points = np.concatenate(
        [contour.polyline(1e-4 * max(cut.outline.size)) for contour in cut.outline.contours]
    )
    return float(np.ptp((points @ matrix.T)[:, 0]))


def carried_out(
    cut: Cut,
    remedy: Remedy,
    unit: str,
    slats: Sequence[Slat],
    bits: Sequence[Bit],
    set_to: dict[str, float] | None = None,
    widest: bool = False,
) -> Cut:
    """The cut that a person makes of a cure's words; ``set_to`` replaces a number, mm."""
    sentence = remedy.sentence
    told = {name: number.read(unit) for name, number in numbers(sentence).items()} | (set_to or {})
    now = cut
    if re.search(r"[Ll]eave out the", sentence):
        now = _rebuilt(now, _cleaned(now))
    slat = re.search(r"on the slat '([^']*)'", sentence)
    if slat:
        now = replace(now, slat=next(s for s in slats if s.key == remedy.change.slat and s.name == slat[1]))
    bit = re.search(r"the bit '([^']*)'", sentence)
    if bit:
        now = replace(now, bit=next(b for b in bits if b.key == bit[1]))
    turn = re.search(r"[Tt]urn it by (\d+)° to the (left|right)", sentence)
    if turn:
        angle = float(turn[1]) * (1 if turn[2] == "left" else -1)
        now = replace(now, placement=replace(now.placement, rotation_deg=now.placement.rotation_deg + angle))
    width = told.get("widest" if widest else "width")
    if width is not None:
        typed = width - (ENTRY if unit == "mm" else 0.0)
        now = replace(now, placement=replace(now.placement, scale=typed / width_of(now)))
    if "gain" in told:
        sign = 1 if re.search(r"[Tt]hicken", sentence) else -1
        outline = thickened(now.outline, study(now.outline), sign * told["gain"] / 2 / now.placement.scale)
        now = _rebuilt(now, outline)
    if "line" in told:
        now = replace(
            now, outline=outline_only(now.outline, study(now.outline), told["line"] / now.placement.scale)
        )
    if "Carve the ground" in sentence:
        now = _rebuilt(now, background(now.outline, study(now.outline), PANEL_MARGIN / now.placement.scale))
    if slat or re.search(r"[Mm]ove it to the middle", sentence) or (turn and _elsewhere(remedy, now)):
        place = largest_fit(
            now.outline, now.slat, now.allowances, now.placement.rotation_deg, now.placement.mirrored
        )
        now = replace(now, placement=replace(now.placement, x=place.x, y=place.y))
    return now


def smaller_change(cut: Cut, remedy: Remedy, share: float = 0.05) -> Iterator[tuple[str, dict[str, float]]]:
    """The numbers of a cure with its change made less by a share, mm; sizes that grow, and offsets."""
    told = numbers(remedy.sentence)
    if "width" in told and remedy.change.size_factor > 1:
        now = width_of(remedy.cut) * cut.placement.scale
        yield "width", {"width": max(told["width"].mm * (1 - share), now)}
    if "gain" in told and "width" not in told:
        yield "gain", {"gain": told["gain"].mm * (1 - share)}


def _elsewhere(remedy: Remedy, now: Cut) -> bool:
    there = remedy.cut.placement
    return bool(np.hypot(there.x - now.placement.x, there.y - now.placement.y) > 0.01)


def _cleaned(cut: Cut) -> Outline:
    anatomy = study(cut.outline)
    outline = without(cut.outline, anatomy, *losses(Scene(cut, anatomy)))
    assert outline is not None
    return outline


def _rebuilt(cut: Cut, outline: Outline) -> Cut:
    """Another outline where the old one's art lies."""
    left, low, right, high = outline.bounds
    x, y = cut.placement.place(np.array([(left + right) / 2, (low + high) / 2]), cut.centre).tolist()
    return replace(cut, outline=outline, placement=replace(cut.placement, x=x, y=y))
