"""What holds in a program until it is changed (NISTIR 6556, 3.4): the modal state that lines are read in."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isnan, nan

from artwork.program.moves import Point

NOWHERE: Point = (nan, nan, nan)


@dataclass
class State:
    """What holds until it is changed; the report's own start values where it names them."""

    at: Point = NOWHERE
    motion: int | None = None
    absolute: bool = True
    centre_absolute: bool = False
    unit: float = 1.0
    plane: int = 170
    feed: float = nan
    inverse_time: bool = False
    tool: int = 0
    next_tool: int = 0
    offset: str = "G54"
    return_to_r: bool = False
    cycle: dict[str, float] = field(default_factory=dict)
    ended: bool = False


def unknown(point: Point) -> bool:
    """Whether a place is not known."""
    return isnan(point[0]) or isnan(point[1]) or isnan(point[2])
