"""Colours that CSS states in other spaces than sRGB (Lab, OKLab, display-p3 …), and mixtures of them → sRGB.

tinycss2 reads the colours, coloraide converts and mixes them (W3C, CSS Color Module Level 4 §§9-10; Level 5 §3
``color-mix()``). What the screen cannot show is clipped per channel, as browsers do, not mapped.
"""

from __future__ import annotations

import math

from coloraide import Color as Spaces
from coloraide.spaces.rec2020_oetf import Rec2020OETF
from tinycss2 import parse_component_value_list, parse_one_component_value
from tinycss2.ast import Node
from tinycss2.color4 import Color
from tinycss2.color5 import parse_color


class Spaced(Spaces):
    """A colour in one of the spaces that CSS names."""


Spaced.register(Rec2020OETF())
_LONGEST = 500
"""Characters of a colour: mixtures may hold mixtures, but not without end."""
_PRINTERS = {"icc-color", "icc-named-color", "cielab", "cielch", "device-cmyk", "device-gray", "device-rgb"}
"""Colours that SVG lets stand after one for screens."""
_MIXED_IN = {"srgb", "srgb-linear", "xyz", "xyz-d65", "oklab", "lab", "oklch", "lch", "hsl"}
_OTHER_NAMES = {"xyz": "xyz-d65", "rec2020": "rec2020-oetf"}
"""Where coloraide's name differs; of rec2020 it is the curve that CSS Color 4 had until 2025, as resvg has it."""
_IN_HUNDREDTHS = {"hsl": (1, 2), "hwb": (1, 2)}
"""Coordinates that CSS states from 0 to 100 and coloraide from 0 to 1."""


def css_colour(text: str) -> tuple[float, float, float, float] | None:
    """A CSS colour in any space, or a ``color-mix()`` of two, as sRGB and opacity, 0 to 1; ``None`` if neither."""
    if len(text) > _LONGEST:
        return None
    try:
        colour = _colour(_on_screen(text))
        shown = None if colour is None else colour.convert("srgb").coords(nans=False)
    except (ValueError, OverflowError):  # no space named, numbers beyond what can be worked with
        return None
    if colour is None or shown is None or not all(map(math.isfinite, shown)):
        return None
    red, green, blue = (min(max(part, 0.0), 1.0) for part in shown)
    return red, green, blue, colour.alpha(nans=False)


def _on_screen(text: str) -> Node:
    """The token of a colour; of a colour with a printer's beside it, the one that is for screens.

    SVG 1.1 §12.3 and SVG Color 1.2: ``#cd853f icc-color(press, 0.1, 0.4, 0.7, 0)``, ``#cd853f device-cmyk(…)``.
    """
    first, *rest = _parts(parse_component_value_list(text, skip_comments=True))[0] or [None]
    if len(rest) == 1 and rest[0].type == "function" and rest[0].lower_name in _PRINTERS:
        return first
    return parse_one_component_value(text, skip_comments=True)


def _colour(token: Node) -> Spaced | None:
    """Of a printer's inks, what is to be shown instead of them, where that is stated (CSS Color 4, draft of 2019)."""
    if token.type == "function" and token.lower_name == "color-mix":
        return _mixture(_parts(token.arguments))
    if token.type == "function" and token.lower_name == "device-cmyk":
        last = _parts(token.arguments)[-1]
        return _colour(last[0]) if len(last) == 1 and last[0].type != "number" else None
    found = parse_color(token)
    return _spaced(found) if isinstance(found, Color) else None


def _spaced(colour: Color) -> Spaced | None:
    """A colour that tinycss2 has read; ``None`` in a space of no screen."""
    space = _OTHER_NAMES.get(colour.space, colour.space)
    if space not in Spaced.CS_MAP:
        return None
    parts = [math.nan if part is None else part for part in colour.coordinates]
    for at in _IN_HUNDREDTHS.get(space, ()):
        parts[at] /= 100
    return Spaced(space, parts, colour.alpha)


def _parts(tokens: list[Node]) -> list[list[Node]]:
    """The arguments between commas, without space and comments."""
    parts: list[list[Node]] = [[]]
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            parts.append([])
        elif token.type not in ("whitespace", "comment"):
            parts[-1].append(token)
    return parts


def _mixture(parts: list[list[Node]]) -> Spaced | None:
    """``in SPACE, A p%, B q%``: the hue, where there is one, goes the shorter way; opacity weighs the rest."""
    if len(parts) != 3 or [token.type for token in parts[0]] != ["ident", "ident"]:
        return None
    word, space = (token.lower_value for token in parts[0])
    ends, stated = [], []
    for part in parts[1:]:
        shares = [token.value / 100 for token in part if token.type == "percentage"]
        rest = [token for token in part if token.type != "percentage"]
        ends.append(_colour(rest[0]) if len(rest) == 1 and len(shares) < 2 else None)
        stated.append(shares[0] if shares else None)
    first, second = ends
    weights = _weights(*stated)
    if word != "in" or space not in _MIXED_IN or first is None or second is None or weights is None:
        return None
    if space == "hsl":  # which has no words for what sRGB has none for
        first, second = (end.convert("srgb").clip() for end in (first, second))
    share, kept = weights
    inner = _OTHER_NAMES.get(space, space)
    mixed = first.mix(second, share, space=inner, hue="shorter", premultiplied=True, powerless=True)
    mixed[-1] = mixed.alpha(nans=False) * kept
    return mixed


def _weights(first: float | None, second: float | None) -> tuple[float, float] | None:
    """Share of the second colour, and what is left of the opacity (CSS Color 5 §3.1)."""
    p = first if first is not None else (0.5 if second is None else 1 - second)
    q = second if second is not None else 1 - p
    if not (0 <= p <= 1 and 0 <= q <= 1) or p + q == 0:
        return None
    return q / (p + q), min(p + q, 1.0)
