"""In which order the letters of a line stand, left to right: mixed directions put in order."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import groupby

import bidi
from fontTools import unicodedata as scripts

_COMMON = frozenset({"Zyyy", "Zinh", "Zzzz"})
"""Codes of what is used with every script."""
_LEVELS_BEGIN = "\n    levels: [\n"
"""In the library's report; a line break in the text itself is written ``\\n`` there."""


@dataclass(frozen=True)
class Stretch:
    """Letters of one script and direction that are shaped together.

    Attributes:
        text: in reading order.
        rightward: read from left to right.
        script: ISO 15924 code (``"Latn"``).
    """

    text: str
    rightward: bool
    script: str


def stretches(line: str) -> tuple[Stretch, ...]:
    """The line from left to right as it is seen, by the Unicode bidirectional algorithm (UAX #9).

    The embedding levels are those of the ``unicode-bidi`` crate; brackets in right-to-left text are left to
    the shaper to mirror.
    """
    parts: list[tuple[Stretch, int]] = []
    at = 0
    for (level, script), run in groupby(zip(_levels(line), _scripts(line), strict=True)):
        length = len(list(run))
        parts.append((Stretch(line[at : at + length], level % 2 == 0, script), level))
        at += length
    return tuple(part for part, _ in _reordered(parts))


def _levels(line: str) -> list[int]:
    """The embedding level of every character."""
    if not line:
        return []
    report = str(bidi.get_display(line, debug=True))
    listed = report.partition(_LEVELS_BEGIN)[2].partition("]")[0]
    per_byte = [int(number) for number in re.findall(r"\d+", listed)]
    found, at = [], 0
    for character in line:
        found.append(per_byte[at])
        at += len(character.encode())
    return found


def _reordered(parts: list[tuple[Stretch, int]]) -> list[tuple[Stretch, int]]:
    """Rule L2: from the highest level down, whatever is at that level or above is turned round."""
    highest = max((level for _, level in parts), default=0)
    for level in range(highest, 0, -1):
        parts = _turned(parts, level)
    return parts


def _turned(parts: list[tuple[Stretch, int]], level: int) -> list[tuple[Stretch, int]]:
    """Every run at that level or above turned round."""
    turned: list[tuple[Stretch, int]] = []
    for above, run in groupby(parts, lambda part: part[1] >= level):
        together = list(run)
        turned += together[::-1] if above else together
    return turned


def _scripts(line: str) -> list[str]:
    """The script of every character; common characters and marks go with what stands before them."""
    kinds = [scripts.script(character) for character in line]
    current = next((kind for kind in kinds if kind not in _COMMON), "Zyyy")
    resolved = []
    for kind in kinds:
        current = current if kind in _COMMON else kind
        resolved.append(current)
    return resolved
