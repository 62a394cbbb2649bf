"""In which order the letters of a line stand, left to right: mixed directions put in order."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from itertools import groupby

import bidi
from fontTools import unicodedata as scripts

_RIGHT_TO_LEFT = frozenset({"R", "AL"})
_MARKS = frozenset({"NSM", "BN"})
"""Marks and joiners: they belong to the letter beside them."""
_COMMON = frozenset({"Zyyy", "Zinh", "Zzzz"})
"""Codes of what is used with every script."""

_JOINERS = "\u200c\u200d"


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
    """The line from left to right as it is seen.

    The order is that of the Unicode bidirectional algorithm (UAX #9, by the ``unicode-bidi`` crate).
    Right-to-left letters are then handed on in reading order, since a shaper wants them so; spaces, digits and punctuation,
    already mirrored where needed, stand on their own.
    """
    seen = bidi.get_display(line)
    found: list[Stretch] = []
    for leftward, run in groupby(_leftward(seen)):
        length = len(list(run))
        text, seen = seen[:length], seen[length:]
        parts = _by_script(text[::-1] if leftward else text)
        found += [
            Stretch(part, not leftward, script) for part, script in (parts[::-1] if leftward else parts)
        ]
    return tuple(found)


def _leftward(seen: str) -> list[bool]:
    """Which characters of a line in visual order belong to a right-to-left letter."""
    classes = [unicodedata.bidirectional(character) for character in seen]
    flags = [kind in _RIGHT_TO_LEFT for kind in classes]
    # In visual order a mark stands left of its right-to-left letter, but right of its left-to-right one.
    for at in range(len(seen) - 2, -1, -1):
        if classes[at] in _MARKS and _goes_leftward(seen[at]):
            flags[at] = flags[at + 1]
    return flags


def _goes_leftward(mark: str) -> bool:
    """Whether a mark or joiner is used with right-to-left scripts."""
    return mark in _JOINERS or any(
        script not in _COMMON and scripts.script_horizontal_direction(script) == "RTL"
        for script in scripts.script_extension(mark)
    )


def _by_script(text: str) -> list[tuple[str, str]]:
    """Runs of one script; common characters and marks go with what stands before them."""
    kinds = [scripts.script(character) for character in text]
    first = next((kind for kind in kinds if kind not in _COMMON), "Zyyy")
    current, resolved = first, []
    for kind in kinds:
        current = current if kind in _COMMON else kind
        resolved.append(current)
    parts, at = [], 0
    for kind, group in groupby(resolved):
        length = len(list(group))
        parts.append((text[at : at + length], kind))
        at += length
    return parts
