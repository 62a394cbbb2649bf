"""Sections, as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class SectionBody:
    """A straight cut across the face. Lists have one value per sample; depths are mm below the face as
    bought.

    `face` is the finished face without art; `even`, `low` and `high` what is left on an even board, and on
    one that lies lower or higher than the bit's zero by the unevenness allowed for. `depth_left` is sure to
    be left.
    """

    x: float
    y: float
    turn_deg: float
    offsets: tuple[float, ...]
    face: tuple[float, ...]
    even: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    depth_left: float
    least_depth: float
    thickness: float


def section_body(found: Mapping[str, Any]) -> SectionBody:
    """From the engine's section as plain values."""
    given: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in found.items()}
    return SectionBody(**given)
