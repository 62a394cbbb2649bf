"""SVG lengths, views and transforms (SVG 1.1 §7)."""

from __future__ import annotations

import math
import re

import numpy as np

from artwork.intake.paths import IDENTITY, Matrix, matmul, usable
from artwork.intake.svg_path import NUMBER

MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
PX_PER_MM = 96 / 25.4
"""CSS pixels are 1/96 in (CSS Values 3 §5.2)."""
_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z%]*)\s*$")
_TRANSFORM = re.compile(r"(matrix|translateX|translateY|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")
_FONT_SIZE = 16.0


def length(text: str | None, whole: float, otherwise: float = 0.0) -> float:  # noqa: PLR0911 - one a unit
    """A length in user units; ``whole`` is what 100 % stands for."""
    if text is None:
        return otherwise
    match = _LENGTH.match(text)
    if match is None:
        return otherwise
    value, unit = float(match[1]), match[2].lower()
    if unit == "%":
        return value / 100 * whole
    if unit in MM_PER:
        return value * MM_PER[unit] * PX_PER_MM
    if unit in ("em", "rem"):
        return value * _FONT_SIZE
    if unit == "ex":
        return value * _FONT_SIZE / 2
    return value


def millimetres(text: str | None) -> float | None:
    """A length that names a unit of measure, in mm; pixels and percentages state no true size."""
    match = _LENGTH.match(text or "")
    if match is None or match[2].lower() not in MM_PER:
        return None
    return float(match[1]) * MM_PER[match[2].lower()]


def numbers(text: str | None) -> list[float]:
    """All numbers in a list."""
    return [float(each) for each in NUMBER.findall(text or "")]


def view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """x, y, width, height, or ``None`` where there is none or it is void."""
    found = numbers(text)
    if len(found) != 4 or not all(map(math.isfinite, found)):
        return None
    return found[0], found[1], found[2], found[3]


def view_map(
    view: tuple[float, float, float, float], width: float, height: float, ratio: str | None
) -> Matrix:
    """The map from a viewBox onto a port of ``width`` × ``height`` (``preserveAspectRatio``)."""
    x, y, w, h = view
    sx, sy = width / w, height / h
    words = (ratio or "xMidYMid meet").split()
    align = words[0] if words else "xMidYMid"
    if align == "none":
        return (sx, 0.0, 0.0, sy, -x * sx, -y * sy)
    s = max(sx, sy) if "slice" in words else min(sx, sy)
    across = {"xMin": 0.0, "xMax": 1.0}.get(align[:4], 0.5) * (width - w * s)
    down = {"YMin": 0.0, "YMax": 1.0}.get(align[4:], 0.5) * (height - h * s)
    return (s, 0.0, 0.0, s, across - x * s, down - y * s)


def transform(text: str | None) -> Matrix:
    """A ``transform`` attribute or property as one map."""
    result = IDENTITY
    for name, arguments in _TRANSFORM.findall(text or ""):
        made = _one(name, [_angle_or_number(a) for a in re.split(r"[\s,]+", arguments.strip()) if a])
        if made is not None:
            result = matmul(result, made)
    return result


def _angle_or_number(text: str) -> float:
    match = _LENGTH.match(text)
    if match is None:
        return 0.0
    value, unit = float(match[1]), match[2].lower()
    if unit in MM_PER:
        return value * MM_PER[unit] * PX_PER_MM
    return value * {"rad": 180 / math.pi, "turn": 360.0, "grad": 0.9}.get(unit, 1.0)


def _one(name: str, n: list[float]) -> Matrix | None:  # noqa: PLR0911 - one a function
    usable(np.array(n))
    if not n or (name == "matrix" and len(n) != 6):
        return None
    if name == "matrix":
        return (n[0], n[1], n[2], n[3], n[4], n[5])
    if name.startswith("translate"):
        x, y = (0.0, n[0]) if name == "translateY" else (n[0], n[1] if len(n) > 1 else 0.0)
        return (1.0, 0.0, 0.0, 1.0, x, y)
    if name == "scale":
        return (n[0], 0.0, 0.0, n[1] if len(n) > 1 else n[0], 0.0, 0.0)
    angle = math.radians(n[0])
    if name == "skewX":
        return (1.0, 0.0, math.tan(angle), 1.0, 0.0, 0.0)
    if name == "skewY":
        return (1.0, math.tan(angle), 0.0, 1.0, 0.0, 0.0)
    cos, sin = math.cos(angle), math.sin(angle)
    x, y = (n[1], n[2]) if len(n) > 2 else (0.0, 0.0)
    return (cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)
