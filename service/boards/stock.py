"""Boards as bought, parts as wanted, and how parts lie on a board."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite

from service.orders.errors import FieldError, InvalidError

STEP = 0.5
"""Lengths are reckoned in whole steps, mm: parts and kerf rounded up, boards rounded down."""
_EXACT = 1e-9
"""What whole numbers of steps may miss by in floating point."""
SAME_THICKNESS = 0.5
"""A part is cut from boards of its thickness within this, mm."""


@dataclass(frozen=True)
class Stock:
    """One kind of board.

    The defaults are an 8-foot 5/4×6 decking board cut out with a quarter-inch straight bit; kerf, trim and
    spare are common practice, no source.

    Attributes:
        name: what people ask for in the yard.
        length, width, thickness: mm.
        kerf: width lost between two parts, mm.
        end_trim: cut off each end before anything else, mm.
        spare_share: extra boards bought for knots, splits and mistakes, as a share.
        wood: key of the wood; empty for any.
        on_hand: whole boards on the rack; ``None`` where nobody counts them.
    """

    name: str = "5/4×6 board, 8 ft"
    length: float = 2438.4
    width: float = 139.7
    thickness: float = 25.4
    kerf: float = 6.35
    end_trim: float = 12.7
    spare_share: float = 0.1
    wood: str = ""
    on_hand: int | None = None

    def __post_init__(self) -> None:
        sizes = (self.length, self.width, self.thickness, self.kerf, self.end_trim, self.spare_share)
        good = (
            all(isfinite(size) for size in sizes)
            and min(self.length, self.width, self.thickness) > 0
            and self.length <= 50_000
            and 0 <= self.kerf < self.width
            and self.end_trim >= 0
            and 2 * self.end_trim < self.length
            and 0 <= self.spare_share <= 5
        )
        if not good:
            raise InvalidError(
                FieldError(
                    "stock", "stock-figures", f"These figures make no board: {self.name}. Check its sizes."
                )
            )

    @property
    def steps(self) -> int:
        """Usable length plus one kerf, in steps: every part takes its length plus one kerf of it."""
        return floor((self.length - 2 * self.end_trim) / STEP + _EXACT) + self._kerf

    def taken(self, length: float) -> int:
        """Steps that a part of that length takes with its kerf."""
        return ceil(length / STEP - _EXACT) + self._kerf

    @property
    def _kerf(self) -> int:
        return ceil(self.kerf / STEP - _EXACT)


@dataclass(frozen=True)
class Wanted:
    """So many parts of one size; length along the grain, mm."""

    key: str
    name: str
    length: float
    width: float
    thickness: float
    count: int
    wood: str = ""


@dataclass(frozen=True)
class Size:
    """All wanted parts of one size, whatever they are for.

    Attributes:
        length, width: mm.
        count: how many.
        names: what they are, each named once.
    """

    length: float
    width: float
    count: int
    names: tuple[str, ...]


@dataclass(frozen=True)
class Lying:
    """A part where it lies on a board.

    Attributes:
        length, width: its size, mm.
        along, across: its corner nearest the board's start, mm from the start and from one edge.
    """

    length: float
    width: float
    along: float
    across: float


@dataclass(frozen=True)
class Pattern:
    """How one board is cut, and how many boards are cut so."""

    parts: tuple[Lying, ...]
    boards: int


def comes_out_of(part: Wanted | Size, stock: Stock) -> bool:
    """Whether a part is no longer or wider than what a board gives; its thickness is another matter."""
    return part.width <= stock.width + _EXACT and stock.taken(part.length) <= stock.steps


def refuse_impossible(parts: Sequence[Wanted], stock: Stock) -> None:
    """Raises Invalid naming every part that no board of the stock can give."""
    problems = []
    for part in parts:
        sizes = (part.length, part.width)
        if not all(isfinite(size) and size > 0 for size in sizes) or part.count < 0:
            problems.append(
                FieldError(part.key, "part-figures", f"“{part.name}” has no proper size or count.")
            )
        elif not comes_out_of(part, stock):
            problems.append(
                FieldError(
                    part.key,
                    "part-too-large",
                    f"“{part.name}” of {part.length:g} × {part.width:g} mm does not come out of a "
                    f"{stock.name}. Choose a larger board or glue it up from two parts.",
                )
            )
        elif abs(part.thickness - stock.thickness) > SAME_THICKNESS:
            problems.append(
                FieldError(
                    part.key,
                    "other-thickness",
                    f"“{part.name}” is {part.thickness:g} mm thick and a {stock.name} {stock.thickness:g} mm: no "
                    "boards are planned for this order. Plan its material by hand.",
                )
            )
    if problems:
        raise InvalidError(*problems)


def sizes_of(parts: Iterable[Wanted]) -> tuple[Size, ...]:
    """Parts of one size counted together, longest first."""
    found: dict[tuple[float, float], list[Wanted]] = {}
    for part in parts:
        if part.count:
            found.setdefault((part.length, part.width), []).append(part)
    return tuple(
        Size(
            length,
            width,
            sum(part.count for part in alike),
            tuple(dict.fromkeys(part.name for part in alike)),
        )
        for (length, width), alike in sorted(found.items(), reverse=True)
    )
