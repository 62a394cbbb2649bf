"""Colours in the words of people, and what was read in one sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np

from artwork.intake.colours import oklab, rgb_of
from artwork.intake.marks import Colour
from artwork.intake.values import Ink, Way

_GREY = 0.035
"""Chroma in OKLab below which a colour is a grey."""
_HUES = ((15, "pink"), (43, "red"), (75, "orange"), (118, "yellow"), (165, "green"), (215, "turquoise"), (278, "blue"),
         (325, "purple"), (361, "pink"))  # fmt: skip
"""Hue angle in OKLab, degrees, up to which a colour has the name."""
_DARK, _LIGHT = 0.44, 0.82
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def colour_name(colour: Colour) -> str:
    """A colour's name: lightness and hue, or a grey."""
    light, a, b = oklab(np.array([colour]))[0].tolist()
    chroma, hue = math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360
    if chroma < _GREY:
        steps = ((0.25, "black"), (0.48, "dark grey"), (0.72, "grey"), (0.93, "light grey"))
        return next((name for most, name in steps if light < most), "white")
    name = next(name for most, name in _HUES if hue < most)
    if name in ("orange", "yellow") and light < 0.68:
        return "brown" if light >= 0.42 else "dark brown"
    if name == "orange" and chroma < 0.09:
        return "beige"
    if name == "pink" and light < 0.6:
        name = "red" if hue < 180 else "purple"
    if name == "yellow":
        return "light yellow" if chroma < 0.09 else "yellow"
    if name == "red" and light > 0.72:
        return "pink"
    return f"dark {name}" if light < _DARK else f"light {name}" if light > _LIGHT else name


def listed(names: Sequence[str]) -> str:
    """“the red”, “the red and the blue”, “the red, the blue and the black”; names that return are counted."""
    counted = dict.fromkeys(names, 0)
    for name in names:
        counted[name] += 1
    words = [
        f"the {name}" if count == 1 else f"the {_number(count)} {name}s" for name, count in counted.items()
    ]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def look_words(inks: Sequence[Colour], carved: Sequence[int], way: Way) -> str:
    """What a look carves, as a label: “The red and the black, a line of wood between them”."""
    if way == "toned":
        return "Its dark parts, with light lines and dark ones where it has edges"
    if not carved:
        return "The drawing as lines"
    names = listed([colour_name(inks[at]) for at in carved])
    named = names[0].upper() + names[1:]
    if way == "parted" and len(carved) > 1:
        return f"{named}, a line of wood where they meet"
    return f"{named}, the rest as lines" if way == "drawn" else named


def read_sentence(inks: Sequence[Ink], way: Way | None, ground: int | None) -> str:
    """“We read 3 colours; the dark blue and the red will be carved.” Empty where nothing is said of colours.

    Args:
        inks: the colours that were read.
        ground: which of them is what the art lies on, if any.
    """
    colours = [rgb_of(ink.colour) for ink in inks]
    art = [at for at in range(len(inks)) if at != ground]
    carved = [at for at in range(len(inks)) if inks[at].carved]
    if not art or not (carved or way in ("drawn", "toned")):
        return ""
    if way == "toned":
        return f"We read {len(art)} colours; its dark parts and its edges will be carved."
    if not carved:
        return f"We read {len(art)} colours; the drawing will be carved as lines."
    if len(art) == 1:
        return f"We read one colour; {listed([colour_name(colours[at]) for at in carved])} will be carved."
    names = listed([colour_name(colours[at]) for at in carved])
    return _of_several(
        len(art), names, "" if way == "parted" and len(carved) == 1 else way, every=carved == art
    )


def _of_several(count: int, names: str, way: Way | Literal[""] | None, *, every: bool) -> str:
    """What becomes of several colours; whole sentences, for a language puts the names where they belong."""
    if way == "drawn":
        return (
            f"We read {count} colours; all will be carved: {names}, the rest drawn as lines."
            if every
            else f"We read {count} colours; {names} will be carved, the rest drawn as lines."
        )
    if way == "parted":
        return (
            f"We read {count} colours; all will be carved: {names}, with a line of wood where they meet."
            if every
            else f"We read {count} colours; {names} will be carved, with a line of wood where they meet."
        )
    return (
        f"We read {count} colours; all will be carved: {names}."
        if every
        else f"We read {count} colours; {names} will be carved."
    )


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)
