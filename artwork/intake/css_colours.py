"""Colours that CSS states in other spaces than sRGB (Lab, OKLab, display-p3 …), and mixtures of them → sRGB.

W3C, CSS Color Module Level 4 (§§9-10, §16: sample conversions) and Level 5 (§3 ``color-mix()``). What the screen
cannot show is clipped per channel, as browsers do, not mapped.
"""

from __future__ import annotations

import colorsys
from collections.abc import Callable

import numpy as np
from tinycss2 import parse_component_value_list, parse_one_component_value
from tinycss2.ast import Node
from tinycss2.color4 import D50, D65, Color
from tinycss2.color5 import parse_color

from artwork.curves import Floats

_PRIMARIES = {
    "srgb": ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06)),
    "display-p3": ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
    "a98-rgb": ((0.64, 0.33), (0.21, 0.71), (0.15, 0.06)),
    "rec2020": ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046)),
    "prophoto-rgb": ((0.734699, 0.265301), (0.159597, 0.840403), (0.036598, 0.000105)),
}
"""Chromaticities x, y of red, green, blue; white is D65, for ProPhoto D50."""
_BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
_XYZ_TO_LMS = np.array(
    [
        [0.8190224379967030, 0.3619062600528904, -0.1288737815209879],
        [0.0329836539323885, 0.9292868615863434, 0.0361446663506424],
        [0.0481771893596242, 0.2642395317527308, 0.6335478284694309],
    ]
)
_LMS_TO_OKLAB = np.array(
    [
        [0.2104542683093140, 0.7936177747023054, -0.0040720430116193],
        [1.9779985324311684, -2.4285922420485799, 0.4505937096174110],
        [0.0259040424655478, 0.7827717124575296, -0.8086757549230774],
    ]
)
_LAB_EDGE, _LAB_SLOPE = 216 / 24389, 24389 / 27
_REC2020_A, _REC2020_B = 1.09929682680944, 0.018053968510807
_LONGEST = 500
"""Characters of a colour: mixtures may hold mixtures, but not without end."""
_GREY = {"lch": 0.02, "oklch": 4e-6}
"""Chroma below which a hue means nothing, and the other colour's is taken."""
_PRINTERS = {"icc-color", "icc-named-color", "cielab", "cielch", "device-cmyk", "device-gray", "device-rgb"}
"""Colours that SVG lets stand after one for screens."""
_UNDER_D50 = {"lab", "lch", "xyz-d50", "prophoto-rgb"}


def _to_xyz(space: str) -> Floats:
    """Linear RGB of a space → XYZ of its own white (columns scaled so that 1, 1, 1 is white)."""
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in _PRIMARIES[space]]).T
    white = np.array(D50 if space == "prophoto-rgb" else D65)
    return np.asarray(columns * np.linalg.solve(columns, white))


_MATRICES = {space: _to_xyz(space) for space in _PRIMARIES}
_ADAPTED = np.linalg.inv(_BRADFORD) @ np.diag(_BRADFORD @ D65 / (_BRADFORD @ D50)) @ _BRADFORD
"""XYZ under D50 → under D65."""


def _signed(curve: Callable[[Floats], Floats]) -> Callable[[Floats], Floats]:
    return lambda values: np.sign(values) * curve(np.abs(values))


def _srgb_light(v: Floats) -> Floats:
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def _rec2020_light(v: Floats) -> Floats:
    return np.where(v < _REC2020_B * 4.5, v / 4.5, ((v + _REC2020_A - 1) / _REC2020_A) ** (1 / 0.45))


_LIGHT: dict[str, Callable[[Floats], Floats]] = {
    "srgb": _signed(_srgb_light),
    "display-p3": _signed(_srgb_light),
    "a98-rgb": _signed(lambda v: v ** (563 / 256)),
    "rec2020": _signed(_rec2020_light),
    "prophoto-rgb": _signed(lambda v: np.where(v <= 16 / 512, v / 16, v**1.8)),
}
"""Stated value → linear light."""


def _xyz(colour: Color) -> Floats | None:
    """XYZ under D65 of a colour in any space that has one (a printer's inks have none)."""
    if colour.space in ("hsl", "hwb"):
        colour = colour.to("srgb")
    values, space = np.array([part or 0.0 for part in colour.coordinates]), colour.space
    if space in ("oklab", "oklch"):
        found = np.array(colour.to("xyz-d65").coordinates)
    elif space in ("lab", "lch"):
        found = np.array(colour.to("xyz-d50").coordinates)
    elif space in ("xyz-d50", "xyz-d65"):
        found = values
    elif space == "srgb-linear":
        found = _MATRICES["srgb"] @ values
    elif space in _LIGHT:
        found = _MATRICES[space] @ _LIGHT[space](values)
    else:
        return None
    return np.asarray(_ADAPTED @ found if space in _UNDER_D50 else found)


def _srgb(xyz: Floats) -> Floats:
    linear = np.linalg.solve(_MATRICES["srgb"], xyz)
    size = np.abs(linear)
    curve = np.where(size > 0.0031308, 1.055 * size ** (1 / 2.4) - 0.055, 12.92 * size)
    return np.asarray(np.sign(linear) * curve)


def _oklab(xyz: Floats) -> Floats:
    return np.asarray(_LMS_TO_OKLAB @ np.cbrt(_XYZ_TO_LMS @ xyz))


def _lab(xyz: Floats) -> Floats:
    share = np.linalg.solve(_ADAPTED, xyz) / D50
    f = np.where(share > _LAB_EDGE, np.cbrt(share), (_LAB_SLOPE * share + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def _polar(lab: Floats) -> Floats:
    return np.array([lab[0], np.hypot(lab[1], lab[2]), np.degrees(np.arctan2(lab[2], lab[1])) % 360])


def _hsl(xyz: Floats) -> Floats:
    hue, light, saturation = colorsys.rgb_to_hls(*np.clip(_srgb(xyz), 0, 1).tolist())
    return np.array([hue * 360, saturation * 100, light * 100])


_MIXED_IN: dict[str, Callable[[Floats], Floats]] = {
    "srgb": _srgb,
    "srgb-linear": lambda xyz: np.asarray(np.linalg.solve(_MATRICES["srgb"], xyz)),
    "xyz": lambda xyz: xyz,
    "xyz-d65": lambda xyz: xyz,
    "oklab": _oklab,
    "lab": _lab,
    "oklch": lambda xyz: _polar(_oklab(xyz)),
    "lch": lambda xyz: _polar(_lab(xyz)),
    "hsl": _hsl,
}
_HUE_AT = {"oklch": 2, "lch": 2, "hsl": 0}


def css_colour(text: str) -> tuple[float, float, float, float] | None:
    """A CSS colour in any space, or a ``color-mix()`` of two, as sRGB and opacity, 0 to 1; ``None`` if neither."""
    if len(text) > _LONGEST:
        return None
    try:
        colour = _colour(_on_screen(text))
        values = None if colour is None else _shown(colour)
    except (ValueError, OverflowError):  # tinycss2: no space named, numbers beyond what can be cubed
        return None
    if colour is None or values is None or not np.isfinite(values).all():
        return None
    red, green, blue = np.clip(values, 0.0, 1.0).tolist()
    return red, green, blue, colour.alpha


def _on_screen(text: str) -> Node:
    """The token of a colour; of a colour with a printer's beside it, the one that is for screens.

    SVG 1.1 §12.3 and SVG Color 1.2: ``#cd853f icc-color(press, 0.1, 0.4, 0.7, 0)``, ``#cd853f device-cmyk(…)``.
    """
    first, *rest = _parts(parse_component_value_list(text, skip_comments=True))[0] or [None]
    if len(rest) == 1 and rest[0].type == "function" and rest[0].lower_name in _PRINTERS:
        return first
    return parse_one_component_value(text, skip_comments=True)


def _shown(colour: Color) -> Floats | None:
    if colour.space in ("srgb", "hsl", "hwb"):
        return np.array(colour.to("srgb").coordinates)
    with np.errstate(all="ignore"):  # what overflows is not finite, and no colour
        xyz = _xyz(colour)
        return None if xyz is None else _srgb(xyz)


def _colour(token: Node) -> Color | None:
    """Of a printer's inks, what is to be shown instead of them, where that is stated (CSS Color 4, draft of 2019)."""
    if token.type == "function" and token.lower_name == "color-mix":
        return _mixture(_parts(token.arguments))
    if token.type == "function" and token.lower_name == "device-cmyk":
        last = _parts(token.arguments)[-1]
        return _colour(last[0]) if len(last) == 1 and last[0].type != "number" else None
    found = parse_color(token)
    return found if isinstance(found, Color) else None


def _parts(tokens: list[Node]) -> list[list[Node]]:
    """The arguments between commas, without space and comments."""
    parts: list[list[Node]] = [[]]
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            parts.append([])
        elif token.type not in ("whitespace", "comment"):
            parts[-1].append(token)
    return parts


def _mixture(parts: list[list[Node]]) -> Color | None:
    """``in SPACE, A p%, B q%``: the hue, where there is one, goes the shorter way; opacity weighs the rest."""
    if len(parts) != 3 or [token.type for token in parts[0]] != ["ident", "ident"]:
        return None
    word, space = (token.lower_value for token in parts[0])
    ends, stated = [], []
    for part in parts[1:]:
        shares = [token.value / 100 for token in part if token.type == "percentage"]
        rest = [token for token in part if token.type != "percentage"]
        colour = _colour(rest[0]) if len(rest) == 1 and len(shares) < 2 else None
        ends.append(colour)
        stated.append(shares[0] if shares else None)
    first, second = ends
    weights = _weights(*stated)
    if word != "in" or space not in _MIXED_IN or first is None or second is None or weights is None:
        return None
    return _mixed(space, first, second, *weights)


def _weights(first: float | None, second: float | None) -> tuple[float, float] | None:
    """Share of the second colour, and what is left of the opacity (CSS Color 5 §3.1)."""
    p = first if first is not None else (0.5 if second is None else 1 - second)
    q = second if second is not None else 1 - p
    if not (0 <= p <= 1 and 0 <= q <= 1) or p + q == 0:
        return None
    return q / (p + q), min(p + q, 1.0)


def _mixed(space: str, first: Color, second: Color, share: float, kept: float) -> Color | None:
    ends = [_xyz(first), _xyz(second)]
    if ends[0] is None or ends[1] is None:
        return None
    a, b = (_MIXED_IN[space](xyz) for xyz in ends if xyz is not None)
    alpha = (1 - share) * first.alpha + share * second.alpha
    # opacity weighs every coordinate but the hue; of nothing at all, no colour is asked for
    weight = share * second.alpha / alpha if alpha else share
    mixed = a + weight * (b - a)
    if space in _HUE_AT:
        at = _HUE_AT[space]
        mixed[at] = _hue(a, b, at, share, _GREY.get(space, 1e-3))
    return Color(space if space != "xyz" else "xyz-d65", mixed.tolist(), alpha * kept)


def _hue(a: Floats, b: Floats, at: int, share: float, grey: float) -> float:
    if a[1] < grey or b[1] < grey:
        return float(b[at] if a[1] < grey else a[at])
    return float(a[at] + share * ((b[at] - a[at] + 180) % 360 - 180)) % 360
