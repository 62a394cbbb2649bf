"""Lines of text set as one outline: one line or several, straight or on an arc."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, sin

import numpy as np

from artwork.curves import Floats
from artwork.errors import EngineError
from artwork.lettering.letterforms import Placed, joined, placed
from artwork.lettering.shaping import GlyphLine, shape_line
from artwork.lettering.typefaces import Typeface
from artwork.outline import Outline

BASELINES = 1.6
"""Distance of baselines, cap heights; signs want 1.35 to 1.70 (ADA/ABA 703.5.9)."""


@dataclass(frozen=True, eq=False)
class Setting:
    """Text as an outline in font units.

    Attributes:
        outline: the letters; the first baseline is at y = 0, lines are centred on x = 0.
        middle: the point that belongs in the middle of the place it is put: across, the middle of the ink;
            upwards, half way between the top of the first line's capitals and the last baseline, so that a
            run of names keeps one baseline whatever their accents and tails.
        letters: glyphs per line, whose number decides what letter spacing adds.
    """

    outline: Outline
    middle: tuple[float, float]
    letters: tuple[int, ...]

    @property
    def reach(self) -> tuple[float, float]:
        """Width of the ink, and twice its farther reach up or down from the middle, font units."""
        left, low, right, high = self.outline.bounds
        return right - left, 2 * max(high - self.middle[1], self.middle[1] - low)


def set_lines(
    lines: Sequence[str],
    face: Typeface,
    *,
    tracking: float = 0.0,
    baselines: float = BASELINES,
    radius: float | None = None,
) -> Setting:
    """The lines, each centred, as one outline in which nothing crosses.

    Args:
        lines: one text each.
        face: the typeface.
        tracking: letter spacing, ems.
        baselines: distance from baseline to baseline, cap heights.
        radius: of the first line's baseline, font units: above 0 arched upwards, below 0 downwards; ``None``
            for straight lines.

    Raises:
        EngineError: ``missing-glyph``; ``empty-text`` where nothing is left to carve;
            ``arc-too-tight`` where a line would run more than half round.
    """
    cap = face.cap_height
    letters: list[Placed] = []
    counts = []
    for at, text in enumerate(lines):
        shaped = shape_line(text, face, tracking)
        counts.append(len(shaped.glyphs))
        drop = at * baselines * cap
        places = _straight(shaped, -drop) if radius is None else _arched(shaped, -drop, radius)
        letters += [
            placed(face, glyph, turn, shift)
            for glyph, (turn, shift) in zip(shaped.glyphs.tolist(), places, strict=True)
        ]
    if not any(letter.contours for letter in letters):
        raise EngineError(
            "empty-text", "There is nothing to carve in this text.", "Write at least one letter."
        )
    outline = Outline(joined(letters))
    left, low, right, high = outline.bounds
    foot = -(len(lines) - 1) * baselines * cap
    upwards = (cap + foot) / 2 if radius is None else (low + high) / 2
    return Setting(outline, ((left + right) / 2, upwards), tuple(counts))


def halves(text: str) -> tuple[str, str] | None:
    """The text broken at the space that leaves the longer line shortest; ``None`` without a space."""
    words = text.split()
    if len(words) < 2:
        return None
    breaks = [(" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words))]
    return min(breaks, key=lambda pair: (max(map(len, pair)), pair))


_Place = tuple[Floats | None, Floats]
"""How a letter is turned (``None``: not at all) and where its origin goes."""


def _straight(line: GlyphLine, baseline: float) -> list[_Place]:
    start = np.array([-line.advance / 2, baseline])
    return [(None, start + at) for at in line.at]


def _arched(line: GlyphLine, baseline: float, radius: float) -> list[_Place]:
    """Each letter stands upright on the arc at the middle of its advance."""
    here = radius + baseline
    if abs(here) * np.pi < line.advance or here * radius <= 0:
        raise EngineError(
            "arc-too-tight",
            "This arc is too tight for so long a text.",
            "Give the arc a larger radius, the letters a smaller size, or set the text straight.",
        )
    places: list[_Place] = []
    for at, middle in zip(line.at, line.middles, strict=True):
        angle = (middle - line.advance / 2) / here
        turn = np.array([[cos(angle), sin(angle)], [-sin(angle), cos(angle)]])
        foot = np.array([here * sin(angle), here * cos(angle) - radius])
        places.append((turn, foot + turn @ np.array([at[0] - middle, at[1]])))
    return places
